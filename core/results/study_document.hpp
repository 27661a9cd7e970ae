#pragma once
#include "results/study.hpp"

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

// The names of a study, stated once. `walk_study` visits every value that other programs may read, in the
// order in which study.schema.json lists them; writing JSON (formats/study_json) and following a claim's
// pointer
// (`StudyNumbers`) are two visitors of the same walk, so that a claim can never point at a name the file does
// not have.
//
// A visitor has these members; `name` is empty inside an array:
//   void begin_object(std::string_view name);  void end_object();
//   void begin_array(std::string_view name);   void end_array();
//   void number(std::string_view name, double value);
//   void text(std::string_view name, std::string_view value);
//   void boolean(std::string_view name, bool value);

namespace halflight::results {

inline constexpr const char* kStudyFormat = "halflight-study/1";

namespace walk_detail {

template <class Visitor, class Items, class Each>
void array(Visitor& v, std::string_view name, const Items& items, Each each) {
  v.begin_array(name);
  for (const auto& item : items) each(item);
  v.end_array();
}

template <class Visitor>
void texts(Visitor& v, std::string_view name, const std::vector<std::string>& items) {
  array(v, name, items, [&](const std::string& item) { v.text("", item); });
}

template <class Visitor>
void estimate(Visitor& v, std::string_view name, const Estimate& e) {
  v.begin_object(name);
  v.number("mean", e.mean);
  v.number("low", e.low);
  v.number("high", e.high);
  v.number("standard_error", e.standard_error);
  v.end_object();
}

/// A mean under its own name, its interval under names built from it.
template <class Visitor>
void flat_estimate(Visitor& v, const std::string& name, const Estimate& e) {
  v.number(name, e.mean);
  v.number(name + "_low", e.low);
  v.number(name + "_high", e.high);
  v.number(name + "_standard_error", e.standard_error);
}

template <class Visitor>
void savings(Visitor& v, std::string_view name, const Savings& s, const Estimate& as_usually_found) {
  v.begin_object(name);
  estimate(v, "against_as_found", s.against_as_found);
  estimate(v, "against_relamped", s.against_relamped);
  estimate(v, "against_code_minimum", s.against_code_minimum);
  estimate(v, "as_usually_found", as_usually_found);
  v.end_object();
}

template <class Visitor>
void shares(Visitor& v, const std::vector<Share>& items) {
  array(v, "shares", items, [&](const Share& s) {
    v.begin_object("");
    v.text("strategy", s.strategy);
    v.number("kwh", s.kwh.mean);
    v.number("low", s.kwh.low);
    v.number("high", s.kwh.high);
    v.number("standard_error", s.kwh.standard_error);
    v.end_object();
  });
}

template <class Visitor>
void plug_loads(Visitor& v, const PlugLoadsYear& p) {
  v.begin_object("plug_loads");
  array(v, "devices", p.devices, [&](const PlugDeviceYear& d) {
    v.begin_object("");
    v.text("kind", d.kind);
    v.number("count", d.count);
    v.text("switched_by", d.switched_by);
    v.text("must_stay_on", d.must_stay_on);
    estimate(v, "found_kwh", d.found_kwh);
    estimate(v, "proposed_kwh", d.proposed_kwh);
    estimate(v, "saved_kwh", d.saved_kwh);
    estimate(v, "cut_with_people_h", d.cut_with_people_h);
    v.end_object();
  });
  estimate(v, "found_kwh", p.found_kwh);
  estimate(v, "proposed_kwh", p.proposed_kwh);
  estimate(v, "saved_kwh", p.saved_kwh);
  estimate(v, "saving", p.saving);
  v.end_object();
}

template <class Visitor>
void shed_signal(Visitor& v, const ShedSignal& signal) {
  v.begin_object("shed_signal");
  v.text("interface", signal.interface);
  v.number("level", signal.level);
  texts(v, "groups", signal.groups);
  v.number("before_w", signal.before_w);
  v.number("shed_w", signal.shed_w);
  array(v, "tasks", signal.tasks, [&](const ShedSignal::Task& task) {
    v.begin_object("");
    v.text("task_area", task.task_area);
    v.number("target_lx", task.target_lx);
    v.number("left_lx", task.left_lx);
    v.end_object();
  });
  array(v, "ways", signal.ways, [&](const ShedSignal::Way& way) {
    v.begin_object("");
    v.text("path", way.path);
    v.text("state", way.state);
    v.number("min_lx", way.min_lx);
    v.number("limit_lx", way.limit_lx);
    v.boolean("holds", way.holds);
    v.end_object();
  });
  v.end_object();
}

template <class Visitor>
void load_shed(Visitor& v, const LoadShed& shed) {
  v.begin_object("load_shed");
  v.number("cap", shed.cap);
  estimate(v, "before_w", shed.before_w);
  estimate(v, "shed_w", shed.shed_w);
  estimate(v, "least_shed_w", shed.least_shed_w);
  array(v, "tasks", shed.tasks, [&](const LoadShed::Task& t) {
    v.begin_object("");
    v.text("task_area", t.task_area);
    v.number("target_lx", t.target_lx);
    estimate(v, "left_lx", t.left_lx);
    estimate(v, "least_lx", t.least_lx);
    v.end_object();
  });
  v.end_object();
}

template <class Visitor>
void load_shed(Visitor& v, const BuildingShed& b) {
  v.begin_object("load_shed");
  texts(v, "events", b.events);
  estimate(v, "before_kw", b.before_kw);
  estimate(v, "shed_kw", b.shed_kw);
  estimate(v, "least_shed_kw", b.least_shed_kw);
  v.end_object();
}

template <class Visitor>
void hvac_zone(Visitor& v, const HvacZoneYear& z) {
  v.begin_object("");
  v.text("id", z.id);
  v.text("name", z.name);
  texts(v, "spaces", z.spaces);
  texts(v, "not_heard", z.not_heard);
  v.boolean("standby_allowed", z.standby_allowed);
  v.number("scheduled_h", z.scheduled_h);
  estimate(v, "occupied_h", z.occupied_h);
  estimate(v, "set_back_h", z.set_back_h);
  estimate(v, "out_of_hours_h", z.out_of_hours_h);
  v.end_object();
}

template <class Visitor>
void totals(Visitor& v, const BuildingTotals& t) {
  v.begin_object("totals");
  v.number("area_m2", t.area_m2);
  v.number("connected_w", t.connected_w);
  v.begin_object("kwh");
  for (std::size_t c = 0; c < kCaseNames.size(); ++c) v.number(kCaseNames[c], t.kwh[c].mean);
  v.end_object();
  v.begin_object("kwh_interval");
  for (std::size_t c = 0; c < kCaseNames.size(); ++c) estimate(v, kCaseNames[c], t.kwh[c]);
  v.end_object();
  savings(v, "saving", t.saving, t.saving_as_usually_found);
  shares(v, t.shares);
  plug_loads(v, t.plug_loads);
  if (t.load_shed) load_shed(v, *t.load_shed);
  array(v, "shed_signals", t.shed_signals, [&](const BuildingShedSignal& signal) {
    v.begin_object("");
    v.text("interface", signal.interface);
    texts(v, "spaces", signal.spaces);
    v.number("before_w", signal.before_w);
    v.number("shed_w", signal.shed_w);
    v.end_object();
  });
  v.end_object();
}

template <class Visitor>
void proof(Visitor& v, const Proof& p) {
  v.begin_object("proof");
  array(v, "readings", p.readings, [&](const ReadingCheck& r) {
    v.begin_object("");
    v.text("id", r.id);
    v.text("of", r.of);
    v.text("unit", r.unit);
    v.number("value", r.value);
    estimate(v, "before", r.before);
    estimate(v, "after", r.after);
    v.number("residual", r.residual);
    v.text("not_used_because", r.not_used_because);
    v.end_object();
  });
  v.number("effective_replicates", p.effective_replicates);
  v.number("widened", p.widened);
  array(v, "logging", p.logging, [&](const Logging& l) {
    v.begin_object("");
    v.text("space", l.space);
    v.text("from", date_text(l.from));
    v.text("to", date_text(l.to));
    v.number("narrowing", l.narrowing);
    v.end_object();
  });
  array(v, "convergence", p.convergence, [&](const ConvergenceStep& c) {
    v.begin_object("");
    v.number("replicates", c.replicates);
    estimate(v, "saving", c.saving);
    v.end_object();
  });
  v.number("variance_of_the_rest", p.variance_of_the_rest);
  v.end_object();
}

template <class Visitor>
void light_for_people(Visitor& v, const LightForPeople& p) {
  v.begin_object("light_for_people");
  array(v, "seats", p.seats, [&](const SeatNotice& seat) {
    v.begin_object("");
    v.number("x_m", seat.x_m);
    v.number("y_m", seat.y_m);
    v.text("group", seat.group);
    v.number("movements_per_h", seat.movements_per_h);
    v.number("delay_s", seat.delay_s);
    v.number("taken_per_h", seat.taken_per_h);
    v.end_object();
  });
  estimate(v, "lit_for_nobody_h", p.lit_for_nobody_h);
  estimate(v, "lit_for_nobody_as_found_h", p.lit_for_nobody_as_found_h);
  estimate(v, "taken_from_people", p.taken_from_people);
  estimate(v, "dips_on_people", p.dips_on_people);
  v.end_object();
}

template <class Visitor>
void electric(Visitor& v, const GroupLight& g) {
  v.begin_object("");
  v.text("group", g.group);
  v.number("power_w", g.power_w);
  array(v, "task_areas", g.task_areas, [&](const TaskAreaLight& t) {
    v.begin_object("");
    v.text("id", t.id);
    v.text("state", t.state);
    v.text("plane", t.plane);
    v.number("mean_lx", t.mean_lx);
    v.number("min_lx", t.min_lx);
    v.number("max_lx", t.max_lx);
    v.number("uniformity", t.uniformity);
    v.number("error_lx", t.error_lx);
    v.number("input_spread_lx", t.input_spread_lx);
    v.number("target_lx", t.target_lx);
    v.end_object();
  });
  v.end_object();
}

template <class Visitor>
void eye_light(Visitor& v, const EyeLight& e) {
  v.begin_object("");
  v.text("task_area", e.task_area);
  v.text("state", e.state);
  v.number("eye_height_m", e.eye_height_m);
  v.number("positions", e.positions);
  v.number("directions", e.directions);
  if (e.glare) {
    v.begin_object("glare");
    v.number("ugr", e.glare->ugr);
    v.number("x_m", e.glare->x_m);
    v.number("y_m", e.glare->y_m);
    v.number("looking_deg", e.glare->looking_deg);
    v.number("sources", e.glare->sources);
    v.number("too_small", e.glare->too_small);
    v.number("too_large", e.glare->too_large);
    v.end_object();
  }
  v.number("luminaires_left_out", e.luminaires_left_out);
  if (e.ugr_limit) v.number("ugr_limit", *e.ugr_limit);
  v.number("cylindrical_mean_lx", e.cylindrical_mean_lx);
  v.number("cylindrical_min_lx", e.cylindrical_min_lx);
  v.number("modelling_index", e.modelling_index);
  v.end_object();
}

template <class Visitor>
void room_surface(Visitor& v, const RoomSurfaceLight& r) {
  v.begin_object("");
  v.text("surface", r.surface);
  v.text("state", r.state);
  v.number("points", r.points);
  v.number("mean_lx", r.mean_lx);
  v.number("min_lx", r.min_lx);
  v.number("uniformity", r.uniformity);
  v.number("luminance_cd_m2", r.luminance_cd_m2);
  v.end_object();
}

template <class Visitor>
void screen(Visitor& v, const ScreenLight& s) {
  v.begin_object("");
  v.text("task_area", s.task_area);
  v.text("state", s.state);
  v.number("spill_mean_lx", s.spill_mean_lx);
  v.number("spill_max_lx", s.spill_max_lx);
  v.number("contrast", s.contrast);
  v.number("contrast_at_worst", s.contrast_at_worst);
  v.number("contrast_alone", s.contrast_alone);
  v.end_object();
}

template <class Visitor>
void annual(Visitor& v, const SpaceStudy& s) {
  v.begin_object("annual");
  v.number("step_s", s.step_s);
  v.begin_object("cases");
  for (std::size_t c = 0; c < kCaseNames.size(); ++c) {
    const CaseYear& year = s.cases[c];
    v.begin_object(kCaseNames[c]);
    flat_estimate(v, "lighting_kwh", year.lighting_kwh);
    flat_estimate(v, "standby_kwh", year.standby_kwh);
    flat_estimate(v, "lit_hours", year.lit_hours);
    flat_estimate(v, "peak_w", year.peak_w);
    v.text("contents", year.contents);
    v.end_object();
  }
  v.end_object();
  savings(v, "saving", s.saving, s.saving_as_usually_found);
  shares(v, s.shares);
  v.end_object();
}

template <class Visitor>
void finding(Visitor& v, const Finding& f) {
  v.begin_object("");
  v.text("rule", f.rule);
  v.text("code", f.code);
  v.text("edition", f.edition);
  v.text("section", f.section);
  v.text("title", f.title);
  v.text("verdict", name_of(f.verdict));
  v.text("evidence", f.evidence);
  v.text("fix", f.fix);
  v.text("confirmed", name_of(f.confirmed));
  v.boolean("blocks_issue", f.blocks_issue);
  v.end_object();
}

template <class Visitor>
void claim(Visitor& v, const Claim& c) {
  v.begin_object("");
  v.text("id", c.id);
  v.text("text", c.text);
  v.text("result", c.result);
  v.text("unit", c.unit);
  v.number("low", c.low);
  v.number("high", c.high);
  v.text("method", c.method);
  texts(v, "inputs", c.inputs);
  texts(v, "assumptions", c.assumptions);
  v.begin_object("test");
  v.text("measure", c.test.measure);
  v.number("expected", c.test.expected);
  v.number("tolerance", c.test.tolerance);
  v.number("duration_days", c.test.duration_days);
  v.text("shortfall", c.test.shortfall);
  v.number("chance_of_noticing", c.test.chance_of_noticing);
  v.text("remark", c.test.remark);
  v.end_object();
  v.end_object();
}

template <class Visitor>
void space(Visitor& v, const SpaceStudy& s) {
  v.begin_object("");
  v.text("id", s.id);
  v.text("number", s.number);
  v.text("name", s.name);
  v.text("kind", s.kind);
  v.text("storey", s.storey);
  v.text("typical", s.typical);
  v.boolean("studied", s.studied);
  v.text("not_studied_because", s.not_studied_because);
  v.number("area_m2", s.area_m2);
  v.number("connected_w", s.connected_w);
  v.number("connected_as_found_w", s.connected_as_found_w);
  v.number("lpd_w_m2", s.lpd_w_m2);
  array(v, "electric", s.electric, [&](const GroupLight& g) { electric(v, g); });
  array(v, "eye_light", s.eye_light, [&](const EyeLight& e) { eye_light(v, e); });
  array(v, "room_surfaces", s.room_surfaces, [&](const RoomSurfaceLight& r) { room_surface(v, r); });
  array(v, "screens", s.screens, [&](const ScreenLight& screen_light) { screen(v, screen_light); });
  array(v, "daylight", s.daylight, [&](const DaylightOnTask& d) {
    v.begin_object("");
    v.text("task_area", d.task_area);
    v.number("hours_above_target_fraction", d.hours_above_target_fraction);
    v.end_object();
  });
  if (s.daylight_availability) {
    const DaylightAvailability& a = *s.daylight_availability;
    v.begin_object("daylight_availability");
    v.number("points", a.points);
    v.number("height_m", a.height_m);
    v.number("border_m", a.border_m);
    v.number("spacing_m", a.spacing_m);
    v.number("spatial_daylight_autonomy", a.spatial_daylight_autonomy);
    v.number("annual_sunlight_exposure", a.annual_sunlight_exposure);
    v.number("below_100_lx", a.below_100_lx);
    v.number("from_100_to_300_lx", a.from_100_to_300_lx);
    v.number("from_300_to_3000_lx", a.from_300_to_3000_lx);
    v.number("above_3000_lx", a.above_3000_lx);
    v.number("half_of_points_lx", a.half_of_points_lx);
    v.number("nearly_all_points_lx", a.nearly_all_points_lx);
    v.text("recommendation", a.recommendation);
    v.end_object();
  }
  array(v, "daylight_zones", s.daylight_zones, [&](const DaylightZone& z) {
    static constexpr const char* kKinds[] = {"primary", "secondary", "toplit"};
    v.begin_object("");
    v.text("id", z.id);
    v.text("kind", kKinds[static_cast<int>(z.kind)]);
    texts(v, "openings", z.openings);
    v.number("depth_m", z.depth_m);
    v.number("head_height_m", z.head_height_m);
    v.number("area_m2", z.area_m2);
    v.number("general_lighting_w", z.general_lighting_w);
    v.end_object();
  });
  array(v, "photosensors", s.sensors, [&](const SensorCalibration& c) {
    v.begin_object("");
    v.text("photosensor", c.photosensor);
    v.text("group", c.group);
    v.number("night_signal_lx", c.night_signal_lx);
    v.number("day_ratio", c.day_ratio);
    v.number("night_ratio", c.night_ratio);
    v.number("gain", c.gain);
    v.number("correlation", c.correlation);
    v.boolean("usable", c.usable);
    v.number("daylight_factor", c.daylight_factor);
    v.number("electric_factor", c.electric_factor);
    v.end_object();
  });
  array(v, "daylight_loops", s.loops, [&](const DaylightLoopYear& loop) {
    v.begin_object("");
    v.text("photosensor", loop.photosensor);
    v.text("group", loop.group);
    v.text("task_area", loop.task_area);
    estimate(v, "hours", loop.hours);
    estimate(v, "under_lit_hours", loop.under_lit_hours);
    estimate(v, "shortfall_lx_h", loop.shortfall_lx_h);
    estimate(v, "over_lit_hours", loop.over_lit_hours);
    estimate(v, "over_lit_kwh", loop.over_lit_kwh);
    estimate(v, "realised_share", loop.realised_share);
    v.end_object();
  });
  light_for_people(v, s.light_for_people);
  if (s.divided) {
    v.begin_object("divided_room");
    v.text("partition", s.divided->partition);
    estimate(v, "hours", s.divided->hours);
    v.boolean("controls_know", s.divided->controls_know);
    v.end_object();
  }
  array(v, "faults", s.faults, [&](const FaultCost& f) {
    v.begin_object("");
    v.text("fault", f.fault);
    v.text("name", f.name);
    estimate(v, "kwh", f.kwh);
    estimate(v, "under_lit_hours", f.under_lit_hours);
    estimate(v, "taken_from_people", f.taken_from_people);
    v.end_object();
  });
  plug_loads(v, s.plug_loads);
  if (s.load_shed) load_shed(v, *s.load_shed);
  if (s.shed_signal) shed_signal(v, *s.shed_signal);
  array(v, "scenes", s.scenes, [&](const SceneState& scene) {
    v.begin_object("");
    v.text("name", scene.name);
    v.number("power_w", scene.power_w);
    array(v, "levels", scene.levels, [&](const std::pair<std::string, double>& level) {
      v.begin_object("");
      v.text("group", level.first);
      v.number("level", level.second);
      v.end_object();
    });
    v.end_object();
  });
  array(v, "egress", s.egress, [&](const EgressState& e) {
    v.begin_object("");
    v.text("path", e.path);
    v.text("state", e.state);
    v.number("min_lx", e.min_lx);
    v.number("mean_lx", e.mean_lx);
    v.number("limit_lx", e.limit_lx);
    v.boolean("holds", e.holds);
    v.text("why", e.why);
    v.end_object();
  });
  annual(v, s);
  array(v, "findings", s.findings, [&](const Finding& f) { finding(v, f); });
  array(v, "claims", s.claims, [&](const Claim& c) { claim(v, c); });
  v.end_object();
}

}  // namespace walk_detail

/// Visits the study as one object.
template <class Visitor>
void walk_study(Visitor& v, const Study& study) {
  using namespace walk_detail;
  v.begin_object("");
  v.text("format", kStudyFormat);
  v.begin_object("project");
  v.text("id", study.project_id);
  v.text("name", study.project_name);
  v.end_object();
  v.number("replicates", study.replicates);
  v.number("seed", study.seed);
  v.text("accuracy", study.accuracy);
  v.text("climate", study.climate);
  v.boolean("may_be_issued", study.may_be_issued);
  texts(v, "not_to_be_issued_because", study.not_to_be_issued_because);
  totals(v, study.totals);
  proof(v, study.proof);
  array(v, "spaces", study.spaces, [&](const SpaceStudy& s) { space(v, s); });
  array(v, "hvac_zones", study.hvac_zones, [&](const HvacZoneYear& z) { hvac_zone(v, z); });
  array(v, "assumptions", study.assumptions, [&](const Assumption& a) {
    v.begin_object("");
    v.text("path", a.path);
    v.text("value", a.value);
    v.text("source", a.source);
    v.number("effect", a.effect);
    v.number("share_of_variance", a.share_of_variance);
    v.text("typical", a.typical);
    v.boolean("confirmed", a.confirmed);
    v.end_object();
  });
  v.end_object();
}

/// Every number of a study by its JSON pointer: what a claim's `result` is looked up in.
class StudyNumbers {
 public:
  explicit StudyNumbers(const Study& study) { walk_study(*this, study); }

  /// The number at `pointer`; a pointer at an estimate (an object with a mean) gives its mean. Nothing when
  /// the study has no such number.
  [[nodiscard]] std::optional<double> at(const std::string& pointer) const {
    for (const std::string& key : {pointer, pointer + "/mean"})
      if (const auto found = numbers_.find(key); found != numbers_.end()) return found->second;
    return std::nullopt;
  }

  // The visitor's side.
  void begin_object(std::string_view name) { enter(name, false); }
  void end_object() { levels_.pop_back(); }
  void begin_array(std::string_view name) { enter(name, true); }
  void end_array() { levels_.pop_back(); }
  void number(std::string_view name, double value) { numbers_[place(name)] = value; }
  void text(std::string_view name, std::string_view) { place(name); }
  void boolean(std::string_view name, bool) { place(name); }

 private:
  struct Level {
    std::string path;
    bool is_array = false;
    int next = 0;
  };

  /// Path of a value called `name`, or of the next element of the array that is open.
  std::string place(std::string_view name) {
    if (levels_.empty()) return "";
    Level& open = levels_.back();
    return open.path + "/" + (open.is_array ? std::to_string(open.next++) : std::string(name));
  }
  void enter(std::string_view name, bool is_array) { levels_.push_back({place(name), is_array, 0}); }

  std::vector<Level> levels_;
  std::map<std::string, double> numbers_;
};

}  // namespace halflight::results
