#include "sim/space_results.hpp"

#include "codes/check.hpp"
#include "energy/shapley.hpp"
#include "photometry/spectrum.hpp"
#include "sim/capacity.hpp"
#include "sim/claims.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/divided_room.hpp"
#include "sim/electric_states.hpp"
#include "sim/explain.hpp"
#include "sim/light_states.hpp"
#include "sim/scene_targets.hpp"
#include "sim/shed_signal.hpp"
#include "sim/task_lamps.hpp"
#include "sim/visual_comfort.hpp"

#include <algorithm>
#include <optional>
#include <tuple>

#include <fmt/format.h>

namespace halflight::sim {

using domain::Design;

std::array<double, 7> shares_of(const ReplicateRun& run) {
  // The old luminaires under new controls were never there: they would draw what they draw more under the old
  // ones, in proportion.
  const double relamped_wh = run.cases[1].light_wh;
  const double as_found_wh = run.cases[0].light_wh;
  constexpr std::size_t kNewLuminaires = 32;
  std::array<double, 2 * kNewLuminaires> worth{};
  for (std::size_t mask = 0; mask < kNewLuminaires; ++mask) {
    const double wh = run.coalition_wh[mask];
    worth[kNewLuminaires + mask] = -wh;
    worth[mask] = relamped_wh > 0.0 ? -wh * (as_found_wh / relamped_wh) : -(wh + as_found_wh);
  }
  const std::vector<double> share = energy::shapley(worth);
  return {share[5],
          share[0],
          share[1],
          share[2],
          share[3],
          share[4],
          run.cases[0].standby_wh - run.cases[3].standby_wh};
}

SunUp::SunUp(const climate::SunTrack& track) {
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

std::vector<float> hours_by_the_clock(std::span<const Seconds> instants, const CivilTime& clock) {
  std::vector<float> hours;
  for (const Seconds t : instants)
    hours.push_back(
        t < 0 ? -1.0F
              : static_cast<float>(static_cast<double>(t % kDay + clock.shift_at(t)) / kSecondsPerHour));
  return hours;
}

namespace {

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
  picture.sunrise_h = hours_by_the_clock(sun.rises, model.clock);
  picture.sunset_h = hours_by_the_clock(sun.sets, model.clock);
  return picture;
}

/// A weekday of March in the afternoon: sun, people and control all at work in most rooms.
Seconds telling_moment(const CivilTime& clock) {
  int day = day_of_year({3, 17});
  while (clock.weekday_of(day) > 4) ++day;
  return day * kDay + 14 * kHour + 35 * kMinute;
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

/// Daylight on the task, as a share of its target, in which a loop should be set by day; assumption.
constexpr double kLeastDayShare = 0.3;
constexpr double kMostDayShare = 0.8;

/// What a sensor that reads daylight and lamp light differently does to its loop; nothing for one that reads
/// them alike.
std::optional<results::Finding> colour_finding(const results::SensorCalibration& sensor,
                                               domain::DaylightRule::Method method) {
  if (sensor.electric_factor <= 0.0) return std::nullopt;
  const double ratio = sensor.daylight_factor / sensor.electric_factor;
  if (ratio <= photometry::kReadsAlikeWithin && ratio >= 1.0 / photometry::kReadsAlikeWithin)
    return std::nullopt;
  const bool only_by_night = method == domain::DaylightRule::Method::integral_reset;
  return results::Finding{
      "photosensor-reads-colours-differently",
      "",
      "",
      "",
      "Photosensor reads daylight and lamp light alike",
      only_by_night ? results::Finding::Verdict::fail : results::Finding::Verdict::needs_evidence,
      fmt::format(
          "{}: reads {:.2f} lx per lux of daylight and {:.2f} lx per lux of its group's light, {:.2f} "
          "times as much; up to {:.1f} times either way is alike; {}",
          sensor.photosensor, sensor.daylight_factor, sensor.electric_factor, ratio,
          photometry::kReadsAlikeWithin,
          only_by_night ? fmt::format("set at night alone, the loop takes the daylight for {} than it is",
                                      ratio > 1.0 ? "more" : "less")
                        : "a loop that is set by day as well allows for it"),
      only_by_night ? "specify photopic correction, or a loop that is set by day as well"
                    : "specify photopic correction, or record the setting by day",
      results::Finding::Confidence::low,
      false};
}

void describe_light_for_people(const StudyParts& parts, std::size_t s, results::SpaceStudy& one) {
  const SpaceModel& model = parts.models[s];
  const std::vector<ReplicateRun>& runs = parts.runs[s].runs;
  results::LightForPeople& found = one.light_for_people;
  found.lit_for_nobody_h =
      parts.estimates.of([&](std::size_t r) { return runs[r].cases[3].lit_for_nobody_h; });
  found.lit_for_nobody_as_found_h =
      parts.estimates.of([&](std::size_t r) { return runs[r].cases[0].lit_for_nobody_h; });
  found.taken_from_people =
      parts.estimates.of([&](std::size_t r) { return runs[r].cases[3].taken_from_people; });
  found.dips_on_people = parts.estimates.of([&](std::size_t r) { return runs[r].cases[3].dips_on_people; });
  const std::size_t proposal = design_index(model, Design::Role::proposal);
  const std::vector<NoticedSeat> seats =
      seat_notices(model.watched, model.proposal.sequence, parts.design, proposal);
  found.seats.assign(seats.begin(), seats.end());
  if (auto finding = seats_finding(seats, model.watched, proposal))
    one.findings.push_back(*std::move(finding));
}

/// What is wrong with the instant at which a loop was set by day; nothing where that was done as one should,
/// or it was not set at an instant. Daylight between 30 and 80 % of the target is an assumption; no direct
/// sun: tutorials on photosensors (docs/methods/controls.md).
std::optional<results::Finding> day_setting_finding(const SpaceModel& model, std::size_t rule) {
  const std::optional<DaySetUp>& found = model.day_set_up[rule];
  const domain::DaylightRule& its = model.proposal.sequence.daylight[rule];
  if (!found || !its.calibrated_at || its.method == domain::DaylightRule::Method::integral_reset)
    return std::nullopt;
  const double target_lx = model.space->task_areas[model.rule_task[rule]].target_lx;
  const double share = target_lx > 0.0 ? found->task_lx / target_lx : 0.0;
  std::string wrong;
  const auto add = [&](const std::string& what) { wrong += (wrong.empty() ? "" : "; ") + what; };
  if (share < kLeastDayShare || share > kMostDayShare)
    add(fmt::format("daylight on the task was {:.0f} lx, {:.0f} % of the target; {:.0f} to {:.0f} % is good",
                    found->task_lx, 100.0 * share, 100.0 * kLeastDayShare, 100.0 * kMostDayShare));
  if (found->sun_on_task) add("the sun shone on the task");
  if (found->sun_may_reach_sensor)
    add("the sun stood so that it reaches the photosensor where no cloud hides it");
  if (wrong.empty()) return std::nullopt;
  return results::Finding{
      "photosensor-set-in-odd-light",
      "",
      "",
      "",
      "Photosensor is set by day in typical light",
      results::Finding::Verdict::needs_evidence,
      fmt::format("{}, set on {}: {}", its.photosensor,
                  civil_text(day_of_year(its.calibrated_at->on) * kDay + its.calibrated_at->at_s), wrong),
      "set it again under a steady sky without direct sun, when daylight on the task is about half of the "
      "target",
      results::Finding::Confidence::low,
      false};
}

/// A rule that asks of its load controllers or drivers what they cannot do: what they do instead.
std::optional<results::Finding> switching_finding(const SpaceModel& model, const domain::DaylightRule& rule) {
  if (rule.minimum_level >= 1.0 || !only_switches(model, rule.group)) return std::nullopt;
  return results::Finding{
      kDaylightCannotDim,
      "",
      "",
      "",
      "Daylight rule asks for what its group can do",
      results::Finding::Verdict::fail,
      fmt::format(
          "{} is to dim {} to {:.0f} %, which load controllers or drivers can only switch; the light {}",
          rule.photosensor, rule.group, 100.0 * rule.minimum_level,
          rule.may_switch_off ? "stays at full output until daylight switches it off"
                              : "stays at full output, for the rule may not switch it off"),
      rule.may_switch_off ? "choose load controllers and drivers that dim, or say minimum_level 1"
                          : "choose load controllers and drivers that dim, or say minimum_level 1 and "
                            "may_switch_off",
      results::Finding::Confidence::confirmed,
      false};
}

/// What is wrong with a daylight rule's photosensor where it cannot govern its group.
std::optional<results::Finding> blind_photosensor_finding(const SpaceModel& model, std::size_t rule) {
  const controls::Calibration& c = model.calibrations[rule];
  if (c.usable) return std::nullopt;
  return results::Finding{
      "photosensor-sees-too-little",
      "",
      "",
      "",
      "Photosensor cannot govern its group",
      results::Finding::Verdict::fail,
      fmt::format("{}: signal per lux at the task is {:.3f} by day and {:.3f} from the "
                  "electric light; a closed loop needs more by day",
                  model.proposal.sequence.daylight[rule].photosensor, c.day_ratio, c.night_ratio),
      "move the photosensor towards the window or choose an open loop",
      results::Finding::Confidence::confirmed,
      false};
}

/// A daylight rule's photosensor as it is set up.
results::SensorCalibration calibration_of(const SpaceModel& model, std::size_t rule) {
  const controls::Calibration& c = model.calibrations[rule];
  const domain::DaylightRule& its = model.proposal.sequence.daylight[rule];
  results::SensorCalibration sensor{its.photosensor, its.group, c.night_signal_lx, c.day_ratio,
                                    c.night_ratio,   c.gain,    c.correlation,     c.usable};
  if (const std::size_t s = model.rule_sensor[rule]; s < model.lit->sensors.size()) {
    sensor.daylight_factor = model.sensor_scales[s].daylight;
    sensor.electric_factor = reading_of_group(model, s, its.group);
  }
  return sensor;
}

/// What each fault costs, against the sound proposal of the same building-year.
void describe_faults(const StudyParts& parts, std::size_t s, results::SpaceStudy& one) {
  const std::vector<Fault> faults = faults_of(parts.models[s]);
  const std::vector<ReplicateRun>& runs = parts.runs[s].runs;
  for (std::size_t f = 0; f < faults.size(); ++f) {
    const auto more = [&](auto figure) {
      std::vector<double> values;
      for (const ReplicateRun& run : runs)
        if (!run.faults.empty()) values.push_back(figure(run.faults[f]) - figure(run.faults.back()));
      return energy::estimate(values, 1);
    };
    one.faults.push_back({faults[f].id, faults[f].name, more([](const FaultRun& run) {
                            return (run.year.light_wh + run.year.standby_wh) / 1000.0;
                          }),
                          more([](const FaultRun& run) { return run.under_lit_h; }),
                          more([](const FaultRun& run) { return run.year.taken_from_people; })});
  }
  std::stable_sort(one.faults.begin(), one.faults.end(),
                   [](const auto& a, const auto& b) { return a.kwh.mean > b.kwh.mean; });
}

}  // namespace

std::vector<results::Finding> daylight_rule_findings(const SpaceModel& model, std::size_t rule) {
  std::vector<results::Finding> findings;
  const auto add = [&](std::optional<results::Finding> finding) {
    if (finding) findings.push_back(*std::move(finding));
  };
  add(colour_finding(calibration_of(model, rule), model.proposal.sequence.daylight[rule].method));
  add(switching_finding(model, model.proposal.sequence.daylight[rule]));
  add(day_setting_finding(model, rule));
  add(blind_photosensor_finding(model, rule));
  return findings;
}

std::optional<results::Finding> hunting_finding(const SpaceModel& model) {
  const controls::Coupling coupling = coupling_of_loops(model, model.proposal.sequence);
  if (!coupling.hunts()) return std::nullopt;
  return results::Finding{
      "photosensors-govern-one-another",
      "",
      "",
      "",
      "Photosensors settle to one state",
      results::Finding::Verdict::fail,
      fmt::format("what the groups add to one another's signals leaves more than one settled state; the "
                  "largest answer to an answer is {:.2f}, and 1 or more swings",
                  coupling.spectral_radius),
      "shield each photosensor from the other groups' light, or let one photosensor govern both groups",
      results::Finding::Confidence::confirmed,
      false};
}

void describe_space(const StudyParts& parts, std::size_t s, const std::string& pointer,
                    results::SpaceStudy& one) {
  const SpaceModel& model = parts.models[s];
  const SpaceRuns& mine = parts.runs[s];
  one.connected_w = connected_w(model, Design::Role::proposal);
  one.connected_as_found_w = connected_w(model, Design::Role::as_found);
  one.lpd_w_m2 = one.connected_w / one.area_m2;
  one.electric = electric_light(model);
  one.eye_light = eye_light(model);
  one.room_surfaces = room_surface_light(model);
  one.screens = screen_light(model);
  one.scenes = scene_states(model);
  const domain::SpaceKind* kind = domain::find_by_id(parts.library.kinds, model.space->kind);
  one.egress = egress_light(model, parts.rules, kind != nullptr && kind->is_egress_component);
  one.points = point_values(model);
  one.grids.push_back(plan_grid(model));
  if (one.daylight_availability) one.grids.push_back(one.daylight_availability->half_the_time);
  one.daylight_zones = parts.zones[s];
  for (std::size_t t = 0; t < model.space->task_areas.size(); ++t) {
    one.daylight_intervals.push_back(
        parts.estimates.of([&](std::size_t r) { return mine.runs[r].daylight_hours_fraction[t]; }));
    one.daylight.push_back({model.space->task_areas[t].id, one.daylight_intervals.back().mean});
  }
  for (std::size_t r = 0; r < model.calibrations.size(); ++r) {
    const domain::DaylightRule& rule = model.proposal.sequence.daylight[r];
    one.sensors.push_back(calibration_of(model, r));
    const auto of_rule = [&](double RuleYear::*figure, double unit) {
      return parts.estimates.of([&](std::size_t k) { return mine.runs[k].rules[r].*figure / unit; });
    };
    one.loops.push_back(
        {rule.photosensor, rule.group, rule.task_area, of_rule(&RuleYear::hours, 1.0),
         of_rule(&RuleYear::under_h, 1.0), of_rule(&RuleYear::shortfall_lx_h, 1.0),
         of_rule(&RuleYear::over_h, 1.0), of_rule(&RuleYear::over_wh, 1000.0),
         parts.estimates.of_ratio([&](std::size_t k) { return mine.runs[k].rules[r].saved_wh; },
                                  [&](std::size_t k) { return mine.runs[k].rules[r].ideal_saved_wh; })});
    for (results::Finding& finding : daylight_rule_findings(model, r))
      one.findings.push_back(std::move(finding));
  }
  describe_light_for_people(parts, s, one);
  one.divided = divided_room(model, mine, parts.estimates);
  if (auto finding = divided_room_finding(model)) one.findings.push_back(*std::move(finding));
  if (auto finding = plugged_in_finding(model)) one.findings.push_back(*std::move(finding));
  describe_faults(parts, s, one);
  one.plug_loads = plug_loads_year(model, mine, parts.estimates);
  one.load_shed = load_shed(model, mine, parts.estimates);
  one.shed_signal = shed_signal(model, one.egress);
  if (one.shed_signal) one.findings.push_back(shed_finding(*one.shed_signal));
  for (results::Finding& finding : scene_target_findings(model, one))
    one.findings.push_back(std::move(finding));
  for (results::Finding& finding : visual_findings(model, one)) one.findings.push_back(std::move(finding));
  for (results::Finding& finding :
       capacity_findings(parts.project, parts.library, parts.design, model.space->id))
    one.findings.push_back(std::move(finding));
  if (auto finding = hunting_finding(model)) one.findings.push_back(*std::move(finding));
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
  std::tie(one.saving, one.saving_as_usually_found) =
      parts.estimates.savings([&](std::size_t r, std::size_t c) { return mine.total_wh(r, c); },
                              [&](std::size_t r) { return mine.as_usually_found_wh(r); });
  std::vector<std::array<double, 7>> shares;
  for (const ReplicateRun& run : mine.runs) shares.push_back(shares_of(run));
  for (std::size_t k = 0; k < kShareNames.size(); ++k)
    one.shares.push_back(
        {kShareNames[k], parts.estimates.of([&](std::size_t r) { return shares[r][k] / 1000.0; })});
  const Draws& drawn = parts.uncertainty.draws.front();
  one.pictures.push_back(power_picture(model, mine.runs[0].half_hour_w, one.connected_w, parts.sun_up));
  one.moments.push_back(explain_moment(model, parts.daylight_by_year[drawn.weather_year][s], drawn,
                                       model.clock.standard(telling_moment(model.clock))));
  for (results::Finding& finding :
       codes::check_space(parts.project, parts.library, parts.design, *model.space, one, parts.rules))
    one.findings.push_back(std::move(finding));
  one.claims = claims_of(model, one, pointer, mine.runs[0].half_hour_w, parts.uncertainty);
}

}  // namespace halflight::sim
