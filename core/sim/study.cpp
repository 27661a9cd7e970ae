#include "sim/study.hpp"

#include "base/sums.hpp"
#include "base/units.hpp"
#include "climate/synthetic_year.hpp"
#include "codes/check.hpp"
#include "codes/code_minimum.hpp"
#include "codes/zones.hpp"
#include "energy/estimate.hpp"
#include "energy/shapley.hpp"
#include "sim/claims.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/explain.hpp"
#include "sim/light_states.hpp"
#include "sim/space_year.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using domain::Design;

/// Synthetic weather years that replicates draw from when the site names no file.
constexpr std::size_t kSyntheticYears = 4;

const char* name_of(Accuracy accuracy) {
  switch (accuracy) {
    case Accuracy::draft:
      return "draft";
    case Accuracy::design:
      return "design";
    case Accuracy::proof:
      return "proof";
  }
  return "design";
}

std::vector<domain::WeatherYear> weather_of(const StudyInputs& inputs, std::uint32_t seed) {
  if (!inputs.weather_years.empty()) return inputs.weather_years;
  std::vector<domain::WeatherYear> years;
  for (std::uint32_t y = 0; y < kSyntheticYears; ++y)
    years.push_back(climate::synthetic_year(inputs.normals, seed * 1000U + y,
                                            inputs.project.site.calendar_year,
                                            climate::SyntheticKind::natural));
  return years;
}

double share_of(double part, double whole) { return whole > 0.0 ? part / whole : 0.0; }

/// Replicates of one space, in columns.
struct SpaceRuns {
  std::vector<ReplicateRun> runs;
  [[nodiscard]] double total_wh(std::size_t replicate, std::size_t c) const {
    const CaseRun& run = runs[replicate].cases[c];
    return run.light_wh + run.standby_wh;
  }
};

constexpr std::array<const char*, 7> kShareNames = {
    "lamp_replacement", "schedule", "occupancy", "scenes", "trim", "daylight", "standby"};

/// What each cause takes off the energy as found, Wh; sums to as found minus proposal.
std::array<double, 7> shares_of(const ReplicateRun& run) {
  std::array<double, 32> worth{};
  for (std::size_t mask = 0; mask < 32; ++mask) worth[mask] = -run.coalition_wh[mask];
  const std::vector<double> strategy = energy::shapley(worth);
  return {run.cases[0].light_wh - run.cases[1].light_wh,
          strategy[0],
          strategy[1],
          strategy[2],
          strategy[3],
          strategy[4],
          run.cases[0].standby_wh - run.cases[3].standby_wh};
}

/// When the sun rises and sets, to the minute of standard time; -1 on days without.
struct SunUp {
  std::vector<Seconds> rises = std::vector<Seconds>(365, -1);
  std::vector<Seconds> sets = std::vector<Seconds>(365, -1);

  explicit SunUp(const climate::SunTrack& track) {
    for (std::size_t day = 0; day < 365; ++day) {
      const Seconds midnight = static_cast<Seconds>(day) * kDay;
      bool up = track.at(midnight).direction.z > 0.0;
      for (Seconds t = midnight + kMinute; t < midnight + kDay; t += kMinute) {
        const bool now = track.at(t).direction.z > 0.0;
        if (now && !up && rises[day] < 0) rises[day] = t;
        if (!now && up) sets[day] = t;
        up = now;
      }
    }
  }
};

results::YearPicture power_picture(const SpaceModel& model, const std::vector<float>& half_hour_w,
                                   double connected_w, const SunUp& sun) {
  results::YearPicture picture;
  picture.quantity = "power, share of connected";
  picture.unit = "fraction";
  picture.per_day = 48;
  picture.values.assign(half_hour_w.size(), 0.0F);
  for (std::size_t i = 0; i < picture.values.size(); ++i) {
    // Drawn by the clock; in the hour that clocks skip, standard time stands.
    const Seconds standard =
        std::clamp<Seconds>(model.clock.standard(static_cast<Seconds>(i) * 1800), 0, kYear - 1);
    picture.values[i] = connected_w > 0.0 ? half_hour_w[static_cast<std::size_t>(standard / 1800)] /
                                                static_cast<float>(connected_w)
                                          : 0.0F;
  }
  const auto by_the_clock = [&](const std::vector<Seconds>& instants) {
    std::vector<float> hours;
    for (const Seconds t : instants)
      hours.push_back(t < 0 ? -1.0F
                            : static_cast<float>(static_cast<double>(t % kDay + model.clock.shift_at(t)) /
                                                 kSecondsPerHour));
    return hours;
  };
  picture.sunrise_h = by_the_clock(sun.rises);
  picture.sunset_h = by_the_clock(sun.sets);
  return picture;
}

/// A weekday of March in the afternoon: sun, people and control all at work in most rooms.
Seconds telling_moment(const CivilTime& clock) {
  int day = day_of_year({3, 17});
  while (clock.weekday_of(day) > 4) ++day;
  return day * kDay + 14 * kHour + 35 * kMinute;
}

double connected(const SpaceModel& model, Design::Role role) {
  const Design* design = domain::find_design(*model.project, role);
  double sum = 0.0;
  for (const lightresponse::ChannelColumn& column : model.lit->scene.columns)
    if (&model.project->designs[column.design] == design) sum += input_w(*model.project, column);
  return sum;
}

std::string contents_of_relamped(const std::string& as_found) {
  return "The proposal's luminaires at full output, controlled as found: " + as_found;
}

std::string contents_as_found(const domain::Sequence& sequence) {
  std::string text;
  switch (sequence.on.by) {
    case domain::OnRule::By::hand:
      text = "lights by hand, by habit";
      break;
    case domain::OnRule::By::occupancy:
      text = "lights by motion";
      break;
    case domain::OnRule::By::schedule:
      text = "lights on while open";
      break;
    case domain::OnRule::By::always:
      text = "lights always on";
      break;
  }
  if (sequence.vacancy)
    text += fmt::format("; after {:.0f} min without motion down", sequence.vacancy->delay_s / 60.0);
  if (sequence.schedule && sequence.schedule->sweeps_off) text += "; swept off at closing";
  if (!sequence.daylight.empty()) text += "; daylight response";
  return text;
}

/// Estimates over replicates; their standard errors come from the scrambles.
class Estimates {
 public:
  Estimates(std::size_t replicates, int scrambles) : replicates_(replicates), scrambles_(scrambles) {}

  /// `value(r)` of every replicate.
  template <class Value>
  [[nodiscard]] results::Estimate of(Value value) const {
    return energy::estimate(column(value), scrambles_);
  }
  /// `part(r)` over `whole(r)`, as the ratio of totals.
  template <class Part, class Whole>
  [[nodiscard]] results::Estimate of_ratio(Part part, Whole whole) const {
    return energy::ratio_estimate(column(part), column(whole), scrambles_);
  }
  /// Savings of the proposal against each case, `total_wh(replicate, case)`, and against as found with the
  /// faults that such systems are found with, `found_wh(replicate)`.
  template <class Total, class Found>
  [[nodiscard]] std::pair<results::Savings, results::Estimate> savings(Total total_wh, Found found_wh) const {
    const auto against = [&](std::size_t c, auto remaining_wh) {
      return of_ratio([&](std::size_t r) { return total_wh(r, c) - remaining_wh(r); },
                      [&](std::size_t r) { return total_wh(r, c); });
    };
    const auto proposed = [&](std::size_t r) { return total_wh(r, 3); };
    return {results::Savings{against(0, proposed), against(1, proposed), against(2, proposed)},
            against(0, found_wh)};
  }

 private:
  std::size_t replicates_;
  int scrambles_;
  template <class Value>
  [[nodiscard]] std::vector<double> column(Value value) const {
    std::vector<double> values(replicates_);
    for (std::size_t r = 0; r < replicates_; ++r) values[r] = value(r);
    return values;
  }
};

void add_assumptions(const domain::Project& project, const Uncertainty& uncertainty,
                     const std::vector<double>& saving, results::Study& study) {
  std::vector<std::vector<double>> columns;
  for (const UncertainInput& input : uncertainty.inputs) columns.push_back(input.values);
  const std::vector<double> effect = energy::effects(saving, columns);
  const auto effect_of = [&](std::string_view part) {
    for (std::size_t k = 0; k < uncertainty.inputs.size(); ++k)
      if (uncertainty.inputs[k].path.find(part) != std::string::npos) return std::abs(effect[k]);
    return 0.0;
  };
  for (std::size_t k = 0; k < uncertainty.inputs.size(); ++k)
    study.assumptions.push_back({uncertainty.inputs[k].path, uncertainty.inputs[k].value,
                                 uncertainty.inputs[k].source, std::abs(effect[k]), "", false});
  for (const domain::DefaultTaken& taken : project.defaults_taken) {
    results::Assumption assumption{taken.pointer, taken.value, taken.source, 0.0, taken.typical, false};
    // A default moves the saving through the uncertain input that it is part of; others were not varied.
    struct Part {
      const char* of_default;
      const char* of_input;
    };
    for (const Part part : {Part{"/reflectances", "reflectances"}, Part{"/occupancy/", "/occupancy"},
                            Part{"_depreciation", "lumen_depreciation"}, Part{"/calendars", "calendars"}})
      if (taken.pointer.find(part.of_default) != std::string::npos)
        assumption.effect = effect_of(part.of_input);
    study.assumptions.push_back(std::move(assumption));
  }
  for (results::Assumption& assumption : study.assumptions)
    for (const domain::Confirmation& confirmation : project.confirmations)
      if (confirmation.pointer == assumption.path) {
        assumption.confirmed = true;
        assumption.source =
            fmt::format("confirmed by {} on {}, {}", confirmation.by, confirmation.on, confirmation.how);
      }
  std::stable_sort(study.assumptions.begin(), study.assumptions.end(),
                   [](const auto& a, const auto& b) { return a.effect > b.effect; });
}

/// What the runs of a study have left, for the results of each space.
struct StudyParts {
  const domain::Project& project;
  const domain::Library& library;
  const Design& design;
  const std::vector<domain::CodeRule>& rules;
  const Estimates& estimates;
  const Uncertainty& uncertainty;
  const SunUp& sun_up;
  // By studied space, except the first index of daylight_by_year.
  const std::vector<SpaceModel>& models;
  const std::vector<std::vector<results::DaylightZone>>& zones;
  const std::vector<std::vector<SpaceDaylight>>& daylight_by_year;
  const std::vector<SpaceRuns>& runs;
};

/// Fills in the results of studied space number `s`; `pointer` is where they stand in the study.
void describe_space(const StudyParts& parts, std::size_t s, const std::string& pointer,
                    results::SpaceStudy& one) {
  const SpaceModel& model = parts.models[s];
  const SpaceRuns& mine = parts.runs[s];
  one.connected_w = connected(model, Design::Role::proposal);
  one.connected_as_found_w = connected(model, Design::Role::as_found);
  one.lpd_w_m2 = one.connected_w / one.area_m2;
  one.electric = electric_light(model);
  one.scenes = scene_states(model);
  const domain::SpaceKind* kind = domain::find_by_id(parts.library.kinds, model.space->kind);
  one.egress = egress_light(model, parts.rules, kind != nullptr && kind->is_egress_component);
  one.grids.push_back(plan_grid(model));
  one.daylight_zones = parts.zones[s];
  for (std::size_t t = 0; t < model.space->task_areas.size(); ++t) {
    one.daylight_intervals.push_back(
        parts.estimates.of([&](std::size_t r) { return mine.runs[r].daylight_hours_fraction[t]; }));
    one.daylight.push_back({model.space->task_areas[t].id, one.daylight_intervals.back().mean});
  }
  for (std::size_t r = 0; r < model.calibrations.size(); ++r) {
    const controls::Calibration& c = model.calibrations[r];
    const domain::DaylightRule& rule = model.proposal.sequence.daylight[r];
    one.sensors.push_back({rule.photosensor, rule.group, c.night_signal_lx, c.day_ratio, c.night_ratio,
                           c.gain, c.correlation, c.usable});
    if (!c.usable)
      one.findings.push_back(
          {"photosensor-sees-too-little", "", "", "", "Photosensor cannot govern its group",
           results::Finding::Verdict::fail,
           fmt::format("{}: signal per lux at the task is {:.3f} by day and {:.3f} from the "
                       "electric light; a closed loop needs more by day",
                       rule.photosensor, c.day_ratio, c.night_ratio),
           "move the photosensor towards the window or choose an open loop",
           results::Finding::Confidence::confirmed, false});
  }
  const controls::Coupling coupling = coupling_of_loops(
      model, model.proposal.sequence, trim_to_target(model, model.proposal.sequence, 1.0, 1.0));
  if (coupling.hunts())
    one.findings.push_back(
        {"photosensors-govern-one-another", "", "", "", "Photosensors settle to one state",
         results::Finding::Verdict::fail,
         fmt::format("what the groups add to one another's signals leaves more than one settled state; the "
                     "largest answer to an answer is {:.2f}, and 1 or more swings",
                     coupling.spectral_radius),
         "shield each photosensor from the other groups' light, or let one photosensor govern both groups",
         results::Finding::Confidence::confirmed, false});
  for (std::size_t c = 0; c < 4; ++c) {
    results::CaseYear& year = one.cases[c];
    year.lighting_kwh =
        parts.estimates.of([&](std::size_t r) { return mine.runs[r].cases[c].light_wh / 1000.0; });
    year.standby_kwh =
        parts.estimates.of([&](std::size_t r) { return mine.runs[r].cases[c].standby_wh / 1000.0; });
    year.lit_hours = parts.estimates.of([&](std::size_t r) { return mine.runs[r].cases[c].lit_h; });
    year.peak_w = parts.estimates.of([&](std::size_t r) { return mine.runs[r].cases[c].peak_w; });
  }
  one.cases[0].contents = contents_as_found(model.as_found.sequence);
  one.cases[1].contents = contents_of_relamped(one.cases[0].contents);
  one.cases[2].contents = model.code_minimum.contents;
  one.cases[3].contents = "The sequence of this report.";
  std::tie(one.saving, one.saving_as_usually_found) = parts.estimates.savings(
      [&](std::size_t r, std::size_t c) { return mine.total_wh(r, c); },
      [&](std::size_t r) {
        return mine.runs[r].as_usually_found.light_wh + mine.runs[r].as_usually_found.standby_wh;
      });
  std::vector<std::array<double, 7>> shares;
  for (const ReplicateRun& run : mine.runs) shares.push_back(shares_of(run));
  for (std::size_t k = 0; k < kShareNames.size(); ++k)
    one.shares.push_back(
        {kShareNames[k], parts.estimates.of([&](std::size_t r) { return shares[r][k] / 1000.0; })});
  const Draws& drawn = parts.uncertainty.draws.front();
  one.pictures.push_back(power_picture(model, mine.runs[0].half_hour_w, one.connected_w, parts.sun_up));
  one.moments.push_back(explain_moment(model, parts.daylight_by_year[drawn.weather_year][s], drawn,
                                       telling_moment(model.clock)));
  for (results::Finding& finding :
       codes::check_space(parts.project, parts.library, parts.design, *model.space, one, parts.rules))
    one.findings.push_back(std::move(finding));
  one.claims = claims_of(model, one, pointer, mine.runs[0].half_hour_w, parts.uncertainty);
}

}  // namespace

results::Study run_study(const StudyInputs& inputs, const StudyOptions& options, const Context& context) {
  const domain::Project& project = inputs.project;
  results::Study study;
  study.project_id = project.id;
  study.project_name = project.name;
  study.replicates = options.scrambles * options.points_per_scramble;
  study.seed = options.seed;
  study.accuracy = name_of(options.accuracy);

  const lightresponse::LightOptions light = light_options(options.accuracy);
  const climate::SkyDivision sky(light.sky_division);
  const climate::SunTrack track(climate::place_of(project.site), project.site.utc_offset_h * kSecondsPerHour,
                                project.site.calendar_year);
  const SunnySteps sunny = sunny_steps(track, options.seed);
  const std::vector<domain::WeatherYear> weather = weather_of(inputs, options.seed);
  study.climate = fmt::format("{}: {}", weather.front().name, weather.front().source);

  // Light, one space after another; each uses every thread.
  std::vector<std::size_t> chosen;
  for (std::size_t i = 0; i < project.spaces.size(); ++i)
    if (options.spaces.empty() ||
        std::find(options.spaces.begin(), options.spaces.end(), project.spaces[i].id) != options.spaces.end())
      chosen.push_back(i);
  std::vector<daylight::Outside> outside_of;
  for (const domain::Space& space : project.spaces) {
    const domain::Storey* storey = domain::find_by_id(project.storeys, space.storey);
    outside_of.emplace_back(sky, daylight::Compass(project.site.plan_north_deg), project.obstructions,
                            storey == nullptr ? 0.0 : storey->elevation_m);
  }
  lightresponse::StageLog log;
  std::vector<LitSpace> lit;
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    context.report("light", i, chosen.size());
    const domain::Space& space = project.spaces[chosen[i]];
    results::SpaceStudy one;
    one.id = space.id;
    one.number = space.number;
    one.name = space.name;
    one.kind = space.kind;
    one.storey = space.storey;
    one.typical = space.typical;
    one.area_m2 = area(space.floor);
    one.step_s = static_cast<int>(kStep_s);
    if (Result<LitSpace> made =
            light_space(inputs, chosen[i], outside_of[chosen[i]], light, sunny.sun, context, log)) {
      lit.push_back(*std::move(made));
    } else {
      one.studied = false;
      for (const Diagnostic& d : made.error())
        one.not_studied_because += (one.not_studied_because.empty() ? "" : "; ") + to_text(d);
    }
    study.spaces.push_back(std::move(one));
  }
  context.report("light", chosen.size(), chosen.size());

  std::vector<std::vector<SpaceDaylight>> daylight_by_year;
  for (std::size_t y = 0; y < weather.size(); ++y) {
    context.report("daylight", y, weather.size());
    daylight_by_year.push_back(daylight_year(project, lit, outside_of, sky, weather[y], sunny, context));
  }
  context.report("daylight", weather.size(), weather.size());

  const Design* proposal = domain::find_design(project, Design::Role::proposal);
  const Design empty_design;
  const Design& design = proposal == nullptr ? empty_design : *proposal;
  const std::vector<domain::CodeRule> rules = codes::rules_in_force(project, inputs.code_rules);
  const domain::DaylightZoneRule* zone_rule = codes::adopted_zone_rule(project, rules);
  std::vector<SpaceModel> models(lit.size());
  std::vector<std::vector<results::DaylightZone>> zones(lit.size());
  context.executor.for_each(lit.size(), [&](std::size_t s) {
    const domain::Space& space = project.spaces[lit[s].index];
    if (zone_rule != nullptr) zones[s] = codes::daylight_zones(project, design, space, *zone_rule);
    CaseControl minimum;
    minimum.sequence = codes::code_minimum_sequence(project, inputs.library, design, space, rules, zones[s],
                                                    &minimum.contents);
    models[s] = make_space_model(project, lit[s], sunny, minimum, daylight_by_year.front()[s], options.seed);
  });

  const Uncertainty uncertainty = draw_uncertainty(
      project, options.seed, options.scrambles, options.points_per_scramble, weather.size(), options.spread);
  const std::size_t replicates = uncertainty.draws.size();
  std::vector<SpaceRuns> runs(lit.size());
  for (std::size_t s = 0; s < lit.size(); ++s) {
    context.report("years of use", s, lit.size());
    runs[s].runs.resize(replicates);
    context.executor.for_each(replicates, [&](std::size_t r) {
      context.check_cancelled();
      const Draws& draws = uncertainty.draws[r];
      runs[s].runs[r] = run_replicate(models[s], daylight_by_year[draws.weather_year][s], draws, r == 0);
    });
  }
  context.report("years of use", lit.size(), lit.size());

  const Estimates estimates(replicates, options.scrambles);
  const SunUp sun_up(track);
  const StudyParts parts{project, inputs.library, design,           rules, estimates, uncertainty, sun_up,
                         models,  zones,          daylight_by_year, runs};
  std::vector<std::size_t> studied;
  for (std::size_t i = 0; i < study.spaces.size(); ++i)
    if (study.spaces[i].studied) studied.push_back(i);
  context.executor.for_each(studied.size(), [&](std::size_t s) {
    describe_space(parts, s, fmt::format("/spaces/{}", studied[s]), study.spaces[studied[s]]);
  });
  for (const results::SpaceStudy& one : study.spaces)
    for (const results::Finding& finding : one.findings)
      if (finding.blocks_issue && finding.verdict == results::Finding::Verdict::fail)
        study.not_to_be_issued_because.push_back(
            fmt::format("{} {}: {}", one.number, one.name, finding.evidence));
  study.may_be_issued = study.not_to_be_issued_because.empty();

  // The building: totals are formed in each replicate, in the order of the spaces.
  const auto building_wh = [&](std::size_t r, std::size_t c) {
    CompensatedSum sum;
    for (const SpaceRuns& space : runs) sum.add(space.total_wh(r, c));
    return sum.value();
  };
  const auto building_found_wh = [&](std::size_t r) {
    CompensatedSum sum;
    for (const SpaceRuns& space : runs)
      sum.add(space.runs[r].as_usually_found.light_wh + space.runs[r].as_usually_found.standby_wh);
    return sum.value();
  };
  for (const results::SpaceStudy& one : study.spaces) {
    study.totals.area_m2 += one.area_m2;
    study.totals.connected_w += one.connected_w;
  }
  for (std::size_t c = 0; c < 4; ++c)
    study.totals.kwh[c] = estimates.of([&](std::size_t r) { return building_wh(r, c) / 1000.0; });
  std::tie(study.totals.saving, study.totals.saving_as_usually_found) =
      estimates.savings(building_wh, building_found_wh);
  std::vector<std::array<double, 7>> total_shares(replicates);
  for (std::size_t r = 0; r < replicates; ++r)
    for (const SpaceRuns& space : runs) {
      const std::array<double, 7> part = shares_of(space.runs[r]);
      for (std::size_t k = 0; k < part.size(); ++k) total_shares[r][k] += part[k];
    }
  for (std::size_t k = 0; k < kShareNames.size(); ++k)
    study.totals.shares.push_back(
        {kShareNames[k], estimates.of([&](std::size_t r) { return total_shares[r][k] / 1000.0; })});

  std::vector<double> saving(replicates);
  for (std::size_t r = 0; r < replicates; ++r)
    saving[r] = share_of(building_wh(r, 0) - building_wh(r, 3), building_wh(r, 0));
  add_assumptions(project, uncertainty, saving, study);
  for (const auto& [stage, count] : log.counts())
    study.cache.stages.push_back({stage, count.computed, count.reused});
  return study;
}

}  // namespace halflight::sim
