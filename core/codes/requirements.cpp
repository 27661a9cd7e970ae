#include "codes/requirements.hpp"

#include "codes/check.hpp"
#include "codes/figures.hpp"
#include "codes/zones.hpp"
#include "geometry/polygon.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::Figure;
using domain::Requirement;
using results::DaylightZone;
using Verdict = results::Finding::Verdict;

Outcome pass(std::string evidence) { return {Verdict::pass, std::move(evidence), ""}; }
Outcome fail(std::string evidence, std::string fix) {
  return {Verdict::fail, std::move(evidence), std::move(fix)};
}
Outcome missing(std::string evidence, std::string fix) {
  return {Verdict::needs_evidence, std::move(evidence), std::move(fix)};
}
Outcome inapplicable(std::string evidence) { return {Verdict::does_not_apply, std::move(evidence), ""}; }

// A duration in the unit of the limit it is compared with.
std::string time_text(double s, const CodeRule& rule, const std::string& limit) {
  return value_text(s, rule.limits.at(limit));
}

// ---------------------------------------------------------------------------------------------------------
// Automatic shut-off

constexpr double kNever = std::numeric_limits<double>::infinity();

// Seconds from the last motion to full off; infinite when the rule never turns off.
double off_after_s(const domain::VacancyRule& rule) {
  if (rule.step_level <= 0.0) return rule.delay_s;
  return rule.off_after_s >= 0.0 ? rule.delay_s + rule.off_after_s : kNever;
}

std::set<std::string> groups_of(const domain::VacancyRule& rule) {
  return {rule.groups.begin(), rule.groups.end()};
}

double watts_outside(const SpaceFacts& f, const std::set<std::string>& groups) {
  double outside_w = 0.0;
  for (const LuminaireFacts& luminaire : f.luminaires)
    for (const LuminaireFacts::Channel& channel : luminaire.channels) {
      const bool in = std::any_of(groups.begin(), groups.end(),
                                  [&](const std::string& g) { return channel.groups.contains(g); });
      if (!in) outside_w += channel.input_w;
    }
  return outside_w;
}

// What is wrong or missing with a vacancy rule before its times and levels are judged; nothing when they can
// be.
std::optional<Outcome> cannot_judge_vacancy(const SpaceFacts& f) {
  if (!f.sequence) return missing("The space has no sequence of operations.", "Write the space's sequence.");
  if (!f.sequence->vacancy)
    return fail("Nothing in the sequence follows the room becoming empty.", "Add a vacancy rule.");
  if (!f.vacancy_delay_given)
    return missing(
        "The vacancy delay is not stated; a default that nobody has confirmed stands in its place.",
        "State the vacancy delay, or confirm the default.");
  return std::nullopt;
}

// Whether every luminaire is reached by the vacancy rule and by a sensor.
std::optional<Outcome> vacancy_reach(const SpaceFacts& f) {
  const domain::VacancyRule& rule = *f.sequence->vacancy;
  if (!rule.groups.empty()) {
    const double outside_w = watts_outside(f, groups_of(rule));
    if (outside_w > 0.0)
      return fail(fmt::format("{} W of {} W of lighting is in no group of the vacancy rule.",
                              number_text(outside_w), number_text(f.general_lighting_w)),
                  "Bring all luminaires into the groups of the vacancy rule.");
  }
  bool placed = false;
  bool reports_to_all = false;
  std::set<std::string> sensed;
  for (const domain::OccupancySensor& sensor : f.design->occupancy_sensors) {
    if (sensor.space != f.space->id || sensor.status == domain::Status::remove) continue;
    placed = true;
    reports_to_all = reports_to_all || sensor.groups.empty();
    sensed.insert(sensor.groups.begin(), sensor.groups.end());
  }
  if (!placed)
    return missing("The sequence answers vacancy, but no occupancy sensor is placed in the space.",
                   "Place an occupancy sensor and show its coverage.");
  const double unsensed_w = reports_to_all ? 0.0 : watts_outside(f, sensed);
  if (unsensed_w > 0.0)
    return missing(fmt::format("{} W of lighting is in no group that an occupancy sensor reports to.",
                               number_text(unsensed_w)),
                   "Name the groups that each sensor reports to.");
  return std::nullopt;
}

Outcome vacancy_off(const SpaceFacts& f, const CodeRule& rule) {
  if (const auto early = cannot_judge_vacancy(f)) return *early;
  const double limit_s = rule.limits.at("delay_max").si;
  const double off_s = off_after_s(*f.sequence->vacancy);
  const std::string limit = value_text(limit_s, rule.limits.at("delay_max"));
  const std::string fix = fmt::format("Turn the lights off within {} of the last motion.", limit);
  if (off_s == kNever)
    return fail(fmt::format("Empty, the lights stay at {} and never go off; they must be off within {}.",
                            percent_text(f.sequence->vacancy->step_level), limit),
                fix);
  const std::string evidence = fmt::format("Off {} after the last motion; the limit is {}.",
                                           time_text(off_s, rule, "delay_max"), limit);
  if (!at_most(off_s, limit_s)) return fail(evidence, fix);
  if (auto reach = vacancy_reach(f)) {
    reach->evidence = evidence + " " + reach->evidence;
    return *reach;
  }
  return pass(evidence);
}

Outcome vacancy_reduction(const SpaceFacts& f, const CodeRule& rule) {
  if (const auto early = cannot_judge_vacancy(f)) return *early;
  const domain::VacancyRule& vacancy = *f.sequence->vacancy;
  const double delay_max_s = rule.limits.at("delay_max").si;
  const double reduction_min = rule.limits.at("reduction_min").si;
  const double cut = 1.0 - f.power_fraction(vacancy.step_level, groups_of(vacancy));
  const double off_s = off_after_s(vacancy);
  const std::string limits = fmt::format("at least {} within {} is asked", percent_text(reduction_min),
                                         value_text(delay_max_s, rule.limits.at("delay_max")));
  const bool off_in_time = at_most(off_s, delay_max_s);
  const std::string evidence =
      off_in_time ? fmt::format("Off {} after the last motion; {}, and full off complies.",
                                time_text(off_s, rule, "delay_max"), limits)
                  : fmt::format("Power falls by {} (to level {}) {} after the last motion; {}.",
                                percent_text(cut), percent_text(vacancy.step_level),
                                time_text(vacancy.delay_s, rule, "delay_max"), limits);
  if (!off_in_time && !(at_least(cut, reduction_min) && at_most(vacancy.delay_s, delay_max_s)))
    return fail(evidence, fmt::format("Cut the power of the empty space: {}.", limits));
  if (auto reach = vacancy_reach(f)) {
    reach->evidence = evidence + " " + reach->evidence;
    return *reach;
  }
  return pass(evidence);
}

// The part of a polygon on the near side of the line halfway between two points. The polygon need not be
// convex: edges that double back along the line enclose nothing.
Polygon nearer_part(const Polygon& polygon, Point2 near, Point2 far) {
  const Vector2 across = far - near;
  const Point2 middle = near + 0.5 * across;
  const auto depth = [&](Point2 p) { return dot(p - middle, across); };
  Polygon kept;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 a = polygon[i];
    const Point2 b = polygon[(i + 1) % polygon.size()];
    const double da = depth(a);
    const double db = depth(b);
    if (da <= 0.0) kept.push_back(a);
    if ((da < 0.0 && db > 0.0) || (da > 0.0 && db < 0.0)) kept.push_back(a + (da / (da - db)) * (b - a));
  }
  return kept;
}

// Floor area of each occupancy group: the floor nearest to one of its luminaires. The key "" holds what is
// nearest to a luminaire in no occupancy group.
std::map<std::string, double> occupancy_zone_areas(const SpaceFacts& f) {
  std::set<std::string> occupancy_groups;
  for (const domain::Group& group : f.design->groups)
    if (group.space == f.space->id && group.strategy == domain::Strategy::occupancy)
      occupancy_groups.insert(group.id);
  const auto group_of = [&](const LuminaireFacts& luminaire) -> std::string {
    for (const LuminaireFacts::Channel& channel : luminaire.channels)
      for (const std::string& g : channel.groups)
        if (occupancy_groups.contains(g)) return g;
    return "";
  };
  std::map<std::string, double> areas;
  for (std::size_t i = 0; i < f.luminaires.size(); ++i) {
    Polygon cell = f.space->floor;
    for (std::size_t j = 0; j < f.luminaires.size(); ++j) {
      const bool same_place = f.luminaires[j].at == f.luminaires[i].at;
      if (same_place && j < i) cell.clear();  // the first luminaire at a place stands for all there
      if (!same_place) cell = nearer_part(cell, f.luminaires[i].at, f.luminaires[j].at);
    }
    areas[group_of(f.luminaires[i])] += area(cell);
  }
  return areas;
}

bool sweeps_off(const SpaceFacts& f) {
  return f.sequence && f.sequence->schedule && f.sequence->schedule->sweeps_off;
}

Outcome vacancy_zones(const SpaceFacts& f, const CodeRule& rule) {
  if (const auto early = cannot_judge_vacancy(f)) return *early;
  if (f.luminaires.empty()) return missing("No luminaires are placed in the space.", "Place the luminaires.");
  const Figure& zone_limit = rule.limits.at("zone_area_max");
  const double delay_max_s = rule.limits.at("delay_max").si;
  const double reduction_min = rule.limits.at("reduction_min").si;

  double largest_m2 = 0.0;
  const auto areas = occupancy_zone_areas(f);
  for (const auto& [group, zone_m2] : areas) largest_m2 = std::max(largest_m2, zone_m2);
  const int least_count = static_cast<int>(std::ceil(f.area_m2 / zone_limit.si * (1.0 - kRelativeSlack)));
  std::string evidence =
      fmt::format("{} occupancy zone(s), the largest {}; at most {} each, so at least {} in {}.",
                  areas.size(), value_text(largest_m2, zone_limit), value_text(zone_limit.si, zone_limit),
                  least_count, value_text(f.area_m2, zone_limit));
  if (areas.contains("") && areas.size() > 1)
    return fail(evidence + fmt::format(" {} belongs to luminaires in no occupancy group.",
                                       value_text(areas.at(""), zone_limit)),
                "Bring every luminaire into an occupancy group.");
  if (!at_most(largest_m2, zone_limit.si))
    return fail(evidence, fmt::format("Divide the space into at least {} occupancy groups of at most {}.",
                                      least_count, value_text(zone_limit.si, zone_limit)));

  const domain::VacancyRule& vacancy = *f.sequence->vacancy;
  const double cut = 1.0 - f.power_fraction(vacancy.step_level, groups_of(vacancy));
  const std::string delay = time_text(vacancy.delay_s, rule, "delay_max");
  const std::string limit = value_text(delay_max_s, rule.limits.at("delay_max"));
  evidence += fmt::format(" An empty zone falls by {} after {}; at least {} within {} is asked.",
                          percent_text(cut), delay, percent_text(reduction_min), limit);
  if (!at_least(cut, reduction_min) || !at_most(vacancy.delay_s, delay_max_s))
    return fail(evidence,
                fmt::format("Cut each empty zone by {} within {}.", percent_text(reduction_min), limit));

  const bool by_sensors = at_most(off_after_s(vacancy), delay_max_s);
  const bool by_schedule = limit_of(rule, "schedule_may_turn_off").value_or(0.0) > 0.0 && sweeps_off(f);
  if (!by_sensors && !by_schedule)
    return fail(evidence + " Nothing turns the whole space off when the last person has left.",
                fmt::format("Turn the whole space off within {} of the last motion.", limit));
  evidence += by_sensors ? fmt::format(" The whole space is off {} after the last motion.",
                                       time_text(off_after_s(vacancy), rule, "delay_max"))
                         : " The schedule turns the whole space off.";
  if (auto reach = vacancy_reach(f)) {
    reach->evidence = evidence + " " + reach->evidence;
    return *reach;
  }
  return pass(evidence);
}

Outcome scheduled_off(const SpaceFacts& f, const CodeRule& rule) {
  if (!f.sequence) return missing("The space has no sequence of operations.", "Write the space's sequence.");
  if (!sweeps_off(f))
    return fail("No schedule turns the lights off outside the open hours.",
                "Add a schedule that sweeps off.");
  const domain::ScheduleRule& schedule = *f.sequence->schedule;
  if (domain::find_by_id(f.project->calendars, schedule.calendar) == nullptr)
    return missing("The schedule names no calendar of the project.", "Name the calendar of open hours.");
  std::string evidence = "A schedule turns the lights off outside the open hours.";

  const Figure& override_max = rule.limits.at("override_max");
  evidence +=
      fmt::format(" Override by hand lasts {}; at most {}.", value_text(schedule.override_s, override_max),
                  value_text(override_max.si, override_max));
  if (!at_most(schedule.override_s, override_max.si))
    return fail(evidence,
                fmt::format("Limit the override to {}.", value_text(override_max.si, override_max)));

  if (const auto area_max = limit_of(rule, "override_area_max"); area_max && !at_most(f.area_m2, *area_max)) {
    const Figure& figure = rule.limits.at("override_area_max");
    return missing(evidence + fmt::format(" The space has {}, and one override may hold at most {}.",
                                          value_text(f.area_m2, figure), value_text(figure.si, figure)),
                   "Show the override areas on the plan.");
  }
  if (const auto backup_min_s = limit_of(rule, "backup_min")) {
    const Figure& figure = rule.limits.at("backup_min");
    double best_s = -1.0;
    for (const domain::TimeClock& clock : f.design->time_clocks)
      if (clock.status != domain::Status::remove) best_s = std::max(best_s, clock.backup_h * 3600.0);
    if (best_s < 0.0)
      return missing(evidence + " No time clock is in the design to carry the schedule.",
                     "Place the time clock.");
    evidence += fmt::format(" The clock keeps time {} without power; at least {}.",
                            value_text(best_s, figure), value_text(figure.si, figure));
    if (!at_least(best_s, *backup_min_s)) return fail(evidence, "Choose a clock with longer back-up.");
  }
  return pass(evidence);
}

Outcome vacancy_or_scheduled_off(const SpaceFacts& f, const CodeRule& rule) {
  const Outcome vacancy = vacancy_off(f, rule);
  if (vacancy.verdict == Verdict::pass) return vacancy;
  const Outcome schedule = scheduled_off(f, rule);
  if (schedule.verdict == Verdict::pass) return schedule;
  const std::string evidence =
      fmt::format("Neither way holds. By vacancy: {} By schedule: {}", vacancy.evidence, schedule.evidence);
  const bool both_fail = vacancy.verdict == Verdict::fail && schedule.verdict == Verdict::fail;
  return {both_fail ? Verdict::fail : Verdict::needs_evidence, evidence,
          vacancy.fix + " Or: " + schedule.fix};
}

// ---------------------------------------------------------------------------------------------------------
// Manual control, automatic on, light reduction

Outcome automatic_on_limit(const SpaceFacts& f, const CodeRule& rule) {
  using By = domain::OnRule::By;
  if (!f.sequence) return missing("The space has no sequence of operations.", "Write the space's sequence.");
  const double power_max = rule.limits.at("power_max").si;
  const domain::OnRule& on = f.sequence->on;
  if (on.by == By::hand) return pass("The light comes on by hand only.");
  if (on.by == By::always)
    return fail("The light is never switched.",
                "Bring the light on by hand, or by itself to a part of its power.");
  const double power = f.power_fraction(on.level);
  const std::string evidence =
      fmt::format("{} brings the light on at level {}, {} of full power; at most {} may come on by itself.",
                  on.by == By::occupancy ? "Occupancy" : "The schedule", percent_text(on.level),
                  percent_text(power), percent_text(power_max));
  if (at_most(power, power_max)) return pass(evidence);
  return fail(evidence, fmt::format("Bring the light on by hand, or by itself to at most {} of full power.",
                                    percent_text(power_max)));
}

Outcome manual_control(const SpaceFacts& f, const CodeRule&) {
  if (f.stations.empty())
    return fail("No manual control is placed in the space.",
                "Place a wall station that can turn the lights off.");
  std::string unknown;
  for (const StationFacts& station : f.stations) {
    if (station.can_turn_off) return pass(fmt::format("Station {} can turn the lights off.", station.id));
    if (!station.buttons_known) unknown = station.id;
  }
  if (!unknown.empty())
    return missing(fmt::format("The buttons of station {} are not stated.", unknown),
                   "State the station's buttons.");
  return fail("No station of the space has a button that turns the lights off.",
              "Give a station an \"off\" button.");
}

/// What a station's switch legs leave lit with some of them off, each as a scene that is named by those on.
std::vector<domain::Scene> partly_on(const StationFacts& station) {
  std::vector<domain::Scene> found;
  const std::size_t legs = station.switch_legs.size();
  for (std::size_t on = 1; on + 1 < std::size_t{1} << legs; ++on) {
    domain::Scene& scene = found.emplace_back();
    for (std::size_t leg = 0; leg < legs; ++leg) {
      const bool lit = (on >> leg & 1U) != 0;
      if (lit) scene.name += (scene.name.empty() ? "" : " and ") + station.switch_legs[leg];
      scene.levels.push_back({station.switch_legs[leg], lit ? 1.0 : 0.0});
    }
  }
  return found;
}

Outcome light_reduction(const SpaceFacts& f, const CodeRule& rule) {
  if (f.luminaires.empty()) return missing("No luminaires are placed in the space.", "Place the luminaires.");
  const double step_min = rule.limits.at("step_min").si;
  const double step_max = rule.limits.at("step_max").si;
  const auto dim_below = limit_of(rule, "dim_power_below");

  bool all_dim = true;
  for (const LuminaireFacts& luminaire : f.luminaires)
    for (const LuminaireFacts::Channel& channel : luminaire.channels) all_dim = all_dim && channel.dims;
  const bool station_dims =
      std::any_of(f.stations.begin(), f.stations.end(), [](const auto& s) { return s.can_dim; });
  constexpr double kBarelyOn = 1e-9;
  const double lowest = f.power_fraction(kBarelyOn);
  const std::string dim_limit = dim_below ? fmt::format("below {} is asked", percent_text(*dim_below))
                                          : std::string("any continuous dimming complies");
  std::string evidence;
  if (all_dim)
    evidence = fmt::format("All drivers dim, to {} of full power; {}.", percent_text(lowest), dim_limit);
  if (all_dim && station_dims && (!dim_below || holds(lowest, domain::Comparison::below, *dim_below)))
    return pass(evidence + " A station raises and lowers.");

  for (const domain::Scene& scene : f.design->scenes) {
    if (scene.space != f.space->id) continue;
    const bool on_a_station =
        std::any_of(f.design->stations.begin(), f.design->stations.end(), [&](const domain::Station& s) {
          return std::count(s.buttons.begin(), s.buttons.end(), scene.id) > 0 &&
                 std::any_of(f.stations.begin(), f.stations.end(),
                             [&](const auto& known) { return known.id == s.id; });
        });
    const double power = f.scene_power_fraction(scene);
    if (on_a_station && at_least(power, step_min) && at_most(power, step_max))
      return pass(
          fmt::format("Scene \"{}\" on a station takes {} of full power; a step of {} to {} is asked.",
                      scene.name, percent_text(power), percent_text(step_min), percent_text(step_max)));
  }
  for (const StationFacts& station : f.stations)
    for (const domain::Scene& legs_on : partly_on(station)) {
      const double power = f.scene_power_fraction(legs_on);
      if (at_least(power, step_min) && at_most(power, step_max))
        return pass(fmt::format(
            "Switch leg {} of station {} alone takes {} of full power; a step of {} to {} is asked.",
            legs_on.name, station.id, percent_text(power), percent_text(step_min), percent_text(step_max)));
    }
  if (std::any_of(f.stations.begin(), f.stations.end(), [](const auto& s) { return !s.buttons_known; }))
    return missing(evidence + " The buttons of a station are not stated.", "State the station's buttons.");
  return fail(
      evidence + fmt::format(" No station lowers the light or calls a scene of {} to {} of full power.",
                             percent_text(step_min), percent_text(step_max)),
      "Give people \"raise\" and \"lower\" on dimming drivers, or a scene at about half the power.");
}

// ---------------------------------------------------------------------------------------------------------
// Daylight

const char* word_of(DaylightZone::Kind kind) {
  switch (kind) {
    case DaylightZone::Kind::primary:
      return "primary";
    case DaylightZone::Kind::secondary:
      return "secondary";
    case DaylightZone::Kind::toplit:
      return "toplit";
  }
  return "";
}

Outcome no_zones() {
  return missing("The code's definition of daylight zones is missing from the rule data.",
                 "Add the definition to the rule data.");
}

Outcome daylight_control(const SpaceFacts& f, const CodeRule& rule) {
  if (!f.zones_known) return no_zones();
  double zone_w = 0.0;
  double governed_w = 0.0;
  std::set<std::string> absent_sensors;
  for (const LuminaireFacts& luminaire : f.luminaires) {
    if (luminaire.zone < 0) continue;
    const auto kind = f.zones[static_cast<std::size_t>(luminaire.zone)].kind;
    if (std::count(rule.zone_kinds.begin(), rule.zone_kinds.end(), word_of(kind)) == 0) continue;
    for (const LuminaireFacts::Channel& channel : luminaire.channels) {
      zone_w += channel.input_w;
      const domain::DaylightRule* governing = f.daylight_rule_of(channel);
      if (governing == nullptr) continue;
      governed_w += channel.input_w;
      const auto* sensor = domain::find_by_id(f.design->photosensors, governing->photosensor);
      if (sensor == nullptr || sensor->status == domain::Status::remove)
        absent_sensors.insert(governing->photosensor.empty() ? "(unnamed)" : governing->photosensor);
    }
  }
  if (zone_w == 0.0)
    return missing("No luminaire's outline lies in the zone, so its lighting cannot be told.",
                   "Place the luminaires of the zone.");
  const std::string evidence = fmt::format("{} W of {} W follows daylight by a rule of the sequence.",
                                           number_text(governed_w), number_text(zone_w));
  if (!f.sequence) return missing(evidence + " The space has no sequence.", "Write the space's sequence.");
  if (!at_least(governed_w, zone_w))
    return fail(evidence, "Put every luminaire of the zone into a daylight group with a photosensor.");
  if (!absent_sensors.empty())
    return missing(evidence + fmt::format(" Photosensor {} is not placed.", *absent_sensors.begin()),
                   "Place the photosensor and show its zone.");
  return pass(evidence);
}

// Calls `visit(rule, luminaire, channel)` for all channels under daylight control in a zone.
void each_governed(const SpaceFacts& f,
                   const std::function<void(const domain::DaylightRule&, const LuminaireFacts&,
                                            const LuminaireFacts::Channel&)>& visit) {
  for (const LuminaireFacts& luminaire : f.luminaires)
    if (luminaire.zone >= 0)
      for (const LuminaireFacts::Channel& channel : luminaire.channels)
        if (const domain::DaylightRule* rule = f.daylight_rule_of(channel)) visit(*rule, luminaire, channel);
}

Outcome nothing_governed() {
  return inapplicable("No lighting in a daylight zone is under daylight control.");
}

Outcome daylight_zones_apart(const SpaceFacts& f, const CodeRule&) {
  if (!f.zones_known) return no_zones();
  std::map<std::string, std::set<std::string>> kinds_by_group;
  each_governed(f, [&](const auto& rule, const LuminaireFacts& luminaire, const auto&) {
    kinds_by_group[rule.group].insert(word_of(f.zones[static_cast<std::size_t>(luminaire.zone)].kind));
  });
  if (kinds_by_group.empty()) return nothing_governed();
  for (const auto& [group, kinds] : kinds_by_group)
    if (kinds.size() > 1)
      return fail(fmt::format("Daylight group {} has luminaires in the {} and the {} zone.", group,
                              *kinds.begin(), *std::next(kinds.begin())),
                  "Split the group by zone.");
  return pass(fmt::format("Each of {} daylight group(s) keeps to one kind of zone.", kinds_by_group.size()));
}

Outcome daylight_orientations_apart(const SpaceFacts& f, const CodeRule& rule) {
  if (!f.zones_known) return no_zones();
  std::map<std::string, std::map<std::string, double>> watts;  // group -> direction -> W
  std::map<std::string, double> by_direction_w;
  each_governed(f, [&](const auto& daylight, const LuminaireFacts& luminaire, const auto& channel) {
    const DaylightZone& zone = f.zones[static_cast<std::size_t>(luminaire.zone)];
    if (zone.kind == DaylightZone::Kind::toplit) return;
    const std::string direction = zone.id.substr(zone.id.find(' ') + 1);
    watts[daylight.group][direction] += channel.input_w;
    by_direction_w[direction] += channel.input_w;
  });
  if (watts.empty()) return nothing_governed();
  const Figure& exempt = rule.limits.at("exempt_power_max");
  for (const auto& [group, directions] : watts) {
    if (directions.size() < 2) continue;
    // All but the largest direction of the group join it, and each may only if it is small in the whole
    // space.
    const auto largest = std::max_element(directions.begin(), directions.end(),
                                          [](const auto& a, const auto& b) { return a.second < b.second; });
    for (const auto& [direction, joined_w] : directions)
      if (direction != largest->first && !at_most(by_direction_w[direction], exempt.si))
        return fail(
            fmt::format(
                "Daylight group {} joins windows facing {} and {}; {} W faces {}, and up to {} may join.",
                group, largest->first, direction, number_text(by_direction_w[direction]), direction,
                value_text(exempt.si, exempt)),
            "Split the group by the direction that the windows face.");
  }
  return pass(
      fmt::format("Each of {} sidelit daylight group(s) keeps to one direction, or joins at most {} to it.",
                  watts.size(), value_text(exempt.si, exempt)));
}

Outcome daylight_dims(const SpaceFacts& f, const CodeRule& rule) {
  if (!f.zones_known) return no_zones();
  const auto light_max = limit_of(rule, "light_max");
  bool any = false;
  bool all_dim = true;
  double highest_floor = 0.0;
  each_governed(
      f, [&](const domain::DaylightRule& daylight, const auto&, const LuminaireFacts::Channel& channel) {
        any = true;
        all_dim = all_dim && channel.dims;
        highest_floor = std::max({highest_floor, daylight.minimum_level, channel.minimum_light});
      });
  if (!any) return nothing_governed();
  if (!all_dim)
    return fail("A luminaire under daylight control does not dim.",
                "Choose drivers that dim, and load controllers that dim them.");
  if (!light_max) return pass("All drivers under daylight control dim continuously.");
  const std::string evidence = fmt::format("Daylight dims to {} of full light; at most {} is asked.",
                                           percent_text(highest_floor), percent_text(*light_max));
  if (at_most(highest_floor, *light_max)) return pass(evidence);
  return fail(evidence, fmt::format("Let daylight dim to {} of full light.", percent_text(*light_max)));
}

Outcome daylight_off(const SpaceFacts& f, const CodeRule&) {
  if (!f.zones_known) return no_zones();
  std::set<std::string> staying_on;
  bool any = false;
  each_governed(f, [&](const domain::DaylightRule& daylight, const auto&, const auto&) {
    any = true;
    if (!daylight.may_switch_off) staying_on.insert(daylight.group);
  });
  if (!any) return nothing_governed();
  if (staying_on.empty()) return pass("Daylight control can turn all its lights off.");
  return fail(fmt::format("Daylight control of group {} never turns off.", *staying_on.begin()),
              "Let daylight switch the group off when daylight alone holds the target.");
}

// ---------------------------------------------------------------------------------------------------------
// Power, receptacles, egress, safety

Outcome lighting_power(const SpaceFacts& f, const CodeRule& rule) {
  const auto allowance = rule.by_space_type.find(f.code_space_type);
  if (allowance == rule.by_space_type.end())
    return missing(fmt::format("The table has no allowance for space type \"{}\".", f.code_space_type),
                   "Give the kind of space a space type of the table.");
  if (f.area_m2 <= 0.0) return missing("The floor area is unknown.", "Draw the floor.");
  const double allowed_w = allowance->second.si * f.area_m2;
  const std::string evidence = fmt::format(
      "{} W installed, {}; the space's own allowance is {}, {} W.", number_text(f.general_lighting_w),
      value_text(f.general_lighting_w / f.area_m2, allowance->second),
      value_text(allowance->second.si, allowance->second), number_text(allowed_w));
  if (at_most(f.general_lighting_w, allowed_w)) return pass(evidence);
  return missing(evidence + " Other spaces may make up for it: the sum over the building decides.",
                 "Lower the installed power, or show the sum over the building.");
}

Outcome receptacle_control(const SpaceFacts& f, const CodeRule& rule) {
  const domain::PlugLoads& plugs = f.space->plug_loads;
  if (plugs.receptacles <= 0)
    return missing("The number of receptacles is not stated.", "State how many receptacles the space has.");
  const double share = rule.limits.at("controlled_min").si;
  const int least = receptacles_to_control(rule, plugs.receptacles);
  const std::string evidence =
      fmt::format("{} of {} receptacles are controlled; at least {} ({} rounded up) is asked.",
                  plugs.controlled_receptacles, plugs.receptacles, least, percent_text(share));
  if (plugs.controlled_receptacles >= least) return pass(evidence);
  return fail(evidence, fmt::format("Control at least {} receptacles.", least));
}

Outcome egress(const SpaceFacts& f, const CodeRule& rule) {
  if (f.space->egress_paths.empty()) {
    if (!f.is_egress_component) return inapplicable("No way out is drawn through the space.");
    return missing("The space is a way out, but no egress path is drawn in it.", "Draw the egress path.");
  }
  const bool emergency = rule.requirement == Requirement::egress_emergency;
  int judged = 0;
  std::string failing;
  std::string least_text;
  double least_lx = 0.0;
  for (const results::EgressState& state : f.egress) {
    const StateClass state_class = state_class_of(state.state);
    if ((state_class == StateClass::emergency) != emergency) continue;
    const domain::EgressPath* path = domain::find_by_id(f.space->egress_paths, state.path);
    // The states carry no maximum: max:min was judged when they were made, and stands in `holds`.
    EgressLight light{state.min_lx,
                      state.mean_lx,
                      state.min_lx,
                      state_class,
                      path != nullptr ? path->surface : domain::EgressPath::Surface::level,
                      f.is_egress_component};
    const EgressVerdict verdict = judge_egress(light, {rule});
    const bool holds_here = verdict.holds && (state.holds || !emergency);
    const std::string text = fmt::format("Path {}, {}: {}", state.path, state.state,
                                         verdict.holds && !holds_here ? state.why : verdict.why);
    if (!holds_here) failing += (failing.empty() ? "" : " ") + text;
    if (judged == 0 || state.min_lx < least_lx) {
      least_lx = state.min_lx;
      least_text = text;
    }
    ++judged;
  }
  if (judged == 0)
    return missing(emergency ? "Light on the egress path on emergency power has not been computed."
                             : "Light on the egress path has not been computed.",
                   "Run the study of this space.");
  if (!failing.empty())
    return fail(failing, emergency ? "Add or raise luminaires on emergency power along the path."
                                   : "Raise the lowest level that the sequence allows along the path.");
  return pass(fmt::format("Holds in {} state(s). Least light: {}", judged, least_text));
}

Outcome no_automatic_off(const SpaceFacts& f, const CodeRule&) {
  if (!f.automatic_off_refused) return inapplicable("Automatic off is not refused in this space.");
  if (!f.sequence) return missing("The space has no sequence of operations.", "Write the space's sequence.");
  std::string what;
  if (f.sequence->vacancy && off_after_s(*f.sequence->vacancy) < kNever)
    what = "The vacancy rule turns the lights off.";
  if (sweeps_off(f)) what += std::string(what.empty() ? "" : " ") + "The schedule turns the lights off.";
  for (const domain::DaylightRule& rule : f.sequence->daylight)
    if (rule.may_switch_off) what += std::string(what.empty() ? "" : " ") + "Daylight turns the lights off.";
  if (what.empty()) return pass("Nothing turns the lights off by itself.");
  return fail(what + " Sudden darkness is dangerous here.", "Leave off to the hand in this space.");
}

Outcome loss_leaves_light(const SpaceFacts& f, const CodeRule&) {
  if (!f.sequence) return missing("The space has no sequence of operations.", "Write the space's sequence.");
  using domain::Trouble;
  // Dark is a space of which no scene group has light; without groups it is lit as a whole.
  const auto leaves_dark = [&](Trouble trouble) {
    bool grouped = false;
    for (const domain::Group& group : f.design->groups) {
      if (group.space != f.space->id || group.strategy != domain::Strategy::scene) continue;
      grouped = true;
      if (domain::level_in(f.sequence->loss, trouble, group.id) > 0.0) return false;
    }
    return grouped || domain::level_in(f.sequence->loss, trouble, "") <= 0.0;
  };
  std::string dark;
  for (const auto& [name, trouble] :
       {std::pair{"a sensor", Trouble::sensor_lost}, std::pair{"a controller", Trouble::controller_lost},
        std::pair{"the network", Trouble::network_lost}, std::pair{"the clock", Trouble::clock_lost}})
    if (leaves_dark(trouble)) dark += fmt::format("Loss of {} leaves the space dark. ", name);
  if (leaves_dark(Trouble::power_return)) dark += "The space stays dark when power returns. ";
  if (!dark.empty()) {
    dark.pop_back();
    return fail(dark, "Give every loss a level above 0, for one group at least.");
  }
  return pass("Every loss, and the return of power, leaves light.");
}

Outcome warning_before_off(const SpaceFacts& f, const CodeRule& rule) {
  if (!f.sequence || !f.sequence->vacancy || off_after_s(*f.sequence->vacancy) == kNever)
    return inapplicable("Vacancy does not turn the lights off.");
  const domain::VacancyRule& vacancy = *f.sequence->vacancy;
  const Figure& least = rule.limits.at("warning_min");
  const std::string evidence = fmt::format(
      "The light dips to {} of its level {} before off; at least {} is asked.",
      percent_text(vacancy.warning_level), value_text(vacancy.warning_s, least), value_text(least.si, least));
  const bool dips = vacancy.warning_level > 0.0 && vacancy.warning_level < 1.0;
  if (dips && at_least(vacancy.warning_s, least.si)) return pass(evidence);
  return fail(evidence, fmt::format("Warn by a dip at least {} before off.", value_text(least.si, least)));
}

}  // namespace

int receptacles_to_control(const CodeRule& rule, int receptacles) {
  return static_cast<int>(std::ceil(rule.limits.at("controlled_min").si * receptacles - kRelativeSlack));
}

Outcome judge_requirement(const SpaceFacts& f, const CodeRule& rule) {
  for (const std::string_view name : domain::required_limits(rule.requirement))
    if (!rule.limits.contains(std::string(name)))
      return missing(fmt::format("The rule data lacks the figure \"{}\".", name), "Complete the rule data.");
  switch (rule.requirement) {
    case Requirement::vacancy_off:
      return vacancy_off(f, rule);
    case Requirement::vacancy_reduction:
      return vacancy_reduction(f, rule);
    case Requirement::vacancy_zones:
      return vacancy_zones(f, rule);
    case Requirement::scheduled_off:
      return scheduled_off(f, rule);
    case Requirement::vacancy_or_scheduled_off:
      return vacancy_or_scheduled_off(f, rule);
    case Requirement::automatic_on_limit:
      return automatic_on_limit(f, rule);
    case Requirement::manual_control:
      return manual_control(f, rule);
    case Requirement::light_reduction:
      return light_reduction(f, rule);
    case Requirement::daylight_control:
      return daylight_control(f, rule);
    case Requirement::daylight_zones_apart:
      return daylight_zones_apart(f, rule);
    case Requirement::daylight_orientations_apart:
      return daylight_orientations_apart(f, rule);
    case Requirement::daylight_dims:
      return daylight_dims(f, rule);
    case Requirement::daylight_off:
      return daylight_off(f, rule);
    case Requirement::lighting_power:
      return lighting_power(f, rule);
    case Requirement::egress_normal:
    case Requirement::egress_emergency:
      return egress(f, rule);
    case Requirement::receptacle_control:
      return receptacle_control(f, rule);
    case Requirement::no_automatic_off:
      return no_automatic_off(f, rule);
    case Requirement::loss_leaves_light:
      return loss_leaves_light(f, rule);
    case Requirement::warning_before_off:
      return warning_before_off(f, rule);
    case Requirement::daylight_zone_definition:
      return inapplicable("Defines daylight zones.");
  }
  return {};
}

}  // namespace halflight::codes
