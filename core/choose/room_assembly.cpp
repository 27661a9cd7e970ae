#include "choose/room_assembly.hpp"

#include "choose/controller_part.hpp"
#include "choose/device_of_kind.hpp"
#include "choose/partition_sensor.hpp"
#include "choose/starting_control.hpp"
#include "choose/usual_sequence.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::choose {

namespace {

constexpr std::size_t kMostStations = 3;
/// From a station this near nobody walks to another (common practice, no source).
constexpr double kWithinReach_m = 2.0;
/// Of one space, as a document may have them.
constexpr std::size_t kMostSwitchLegs = 4;
/// ASHRAE 90.1 and IECC let half of the power come on by itself; drivers draw a little more than their share
/// of light.
constexpr double kHalf = 0.45;

}  // namespace

using domain::DeviceKind;

RoomAssembly::RoomAssembly(const sim::StudyInputs& inputs, std::size_t space, const RoomControls& kept,
                           const std::set<Part>& free)
    : project_(inputs.project),
      library_(inputs.library),
      space_(inputs.project.spaces[space]),
      design_(*domain::find_design(inputs.project, domain::Design::Role::proposal)),
      kind_(domain::find_by_id(inputs.library.kinds, space_.kind)),
      kept_(kept),
      free_(free),
      // Ids in the block of a typical stand behind the room's and a point.
      stem_(space_.id + (inherits_design(space_, design_) ? "." : "-")),
      taken_(ids_beside(design_, space_.id)),
      wiring_stays_(wiring_stays(project_, space_)),
      wall_(domain::wall_in_use(space_)),
      legs_(switch_legs(project_, design_, space_.id)) {
  for (const domain::Group& group : kept.groups) taken_.insert(group.id);
  for (const domain::Scene& scene : kept.scenes) taken_.insert(scene.id);
  const auto take = [&](const auto& devices) {
    for (const auto& device : devices) taken_.insert(device.id);
  };
  take(kept.occupancy_sensors);
  take(kept.photosensors);
  take(kept.stations);
  take(kept.load_controllers);
  take(kept.partition_sensors);
  luminaires_ = fixed_luminaires(project_, design_, space_.id);
}

bool RoomAssembly::wants_scenes() const {
  return kind_ != nullptr && !has_scenes(kept_) && !luminaires_.empty() && any_dims(ids());
}

RoomControls RoomAssembly::with_scene(RoomControls controls, std::set<std::string>& taken, bool dims,
                                      bool by_leg) const {
  if (has_scenes(controls) || luminaires_.empty()) return controls;
  if (dims && !by_leg && !scenes_.scenes.empty()) {
    for (const domain::Group& group : scenes_.groups) taken.insert(group.id);
    for (const domain::Scene& scene : scenes_.scenes) taken.insert(scene.id);
    controls.groups.insert(controls.groups.end(), scenes_.groups.begin(), scenes_.groups.end());
    controls.scenes = scenes_.scenes;
    controls.sequence.normal_scene = scenes_.scenes.front().id;
    return controls;
  }
  domain::Scene scene;
  const auto add = [&](const std::string& stem, const std::string& name, std::vector<std::string> channels) {
    domain::Group& group = controls.groups.emplace_back();
    group.id = fresh_id(stem_ + stem, taken);
    group.space = space_.id;
    group.strategy = domain::Strategy::scene;
    group.name = name;
    group.channels = std::move(channels);
    scene.levels.push_back({group.id, 1.0});
  };
  if (by_leg && legs_.size() > 1)
    for (const SwitchLeg& leg : legs_) add("leg-", leg.name.empty() ? "others" : leg.name, leg.luminaires);
  else
    add("all-", "a", ids());
  scene.id = fresh_id(stem_ + "normal-", taken);
  scene.space = space_.id;
  scene.name = "Normal";
  controls.sequence.normal_scene = scene.id;
  controls.scenes.push_back(std::move(scene));
  return controls;
}

const DeviceKind* RoomAssembly::that_carries(const OccupancyPart& part) const {
  if (part.sensors.empty() || !free_.contains(Part::controllers)) return nullptr;
  const DeviceKind* kind = device_kind_of(project_, library_, part.sensors.front().device_kind);
  const bool are_alike = std::all_of(part.sensors.begin(), part.sensors.end(), [&](const auto& sensor) {
    return sensor.device_kind == part.sensors.front().device_kind;
  });
  return are_alike && kind != nullptr && kind->load ? kind : nullptr;
}

bool RoomAssembly::is_in_boxes(const OccupancyPart* part) const {
  const DeviceKind* kind = part == nullptr ? nullptr : that_carries(*part);
  return kind != nullptr && kind->mounting == DeviceKind::Mounting::wall_box;
}

RoomDesign RoomAssembly::design(const OccupancyPart* occupancy, const DaylightPart* daylight,
                                Coming coming) const {
  std::set<std::string> taken = taken_;
  RoomDesign made;
  std::string words;
  const auto say = [&](const std::string& part) { words += (words.empty() ? "" : ", ") + part; };
  RoomControls& controls = made.controls;
  const DeviceKind* carrier = occupancy == nullptr ? nullptr : that_carries(*occupancy);
  const bool by_switches = is_switched_by_hand(occupancy, daylight);
  const bool dims = can_dim(occupancy);
  controls = with_scene(kept_, taken, dims, by_switches || is_in_boxes(occupancy));
  if (controls.scenes.size() > 1 && !has_scenes(kept_)) made.why = scenes_.why;
  const bool decides_levels = free_.contains(Part::occupancy) || free_.contains(Part::daylight);
  if (dims && !by_switches && decides_levels && !controls.sequence.trim) controls.sequence.trim.emplace();
  if (occupancy != nullptr) {
    add_occupancy(*occupancy, coming, controls, taken, made);
    say(occupancy->words);
    if (coming == Coming::by_hand) say("on by hand");
    if (coming == Coming::half_by_motion) say("half on by motion");
  }
  if (free_.contains(Part::daylight)) {
    if (daylight != nullptr) add_daylight(*daylight, controls, made.why);
    if (daylight != nullptr && !for_the_way_out_.empty())
      made.why.push_back(fmt::format("{} stay{} out of daylight control and light{} the way out by day.",
                                     fmt::join(for_the_way_out_, ", "),
                                     for_the_way_out_.size() == 1 ? "s" : "",
                                     for_the_way_out_.size() == 1 ? "s" : ""));
    say(daylight == nullptr ? "no daylight control"
                            : fmt::format("{} daylight group{}", daylight->groups.size(),
                                          daylight->groups.size() == 1 ? "" : "s"));
  }
  if (by_switches && !follows_legs(controls))
    made.refused.emplace_back(
        "scene groups part luminaires of one switch leg, and nothing could switch them apart without a new "
        "wire");
  if (free_.contains(Part::stations)) {
    if (by_switches)
      keep_switches(controls, taken, made.why);
    else
      add_stations(is_in_boxes(occupancy) ? carrier : nullptr, dims, controls, taken, made.why);
  }
  if (occupancy != nullptr && !lengthen_delay(space_, luminaires_, controls, made.why))
    made.refused.emplace_back("somebody who sits still would lose the light even after 20 min");
  if (free_.contains(Part::controllers)) {
    ControllerPart part =
        controller_part(project_, library_, space_.id, controls, *columns_, stem_, taken, carrier);
    std::move(part.controllers.begin(), part.controllers.end(),
              std::back_inserter(controls.load_controllers));
    made.why.insert(made.why.end(), part.why.begin(), part.why.end());
    made.refused.insert(made.refused.end(), part.uncarried.begin(), part.uncarried.end());
  }
  made.name = words.empty() ? "as decided" : words;
  made.cost = cost_of(controls);
  return made;
}

FirstCost RoomAssembly::cost_of(const RoomControls& controls) const {
  FirstCost cost =
      first_cost(project_, library_, controls) + luminaire_cost(project_, library_, design_, space_.id);
  if (is_commanded(controls)) {
    const domain::Project with = with_controls(project_, space_.id, controls);
    const domain::Design& design = *domain::find_design(with, domain::Design::Role::proposal);
    if (!decided_parts(with, design, space_.id).contains(Part::controllers))
      cost.unpriced.emplace_back("what commands the light");
  }
  return cost;
}

std::vector<Coming> RoomAssembly::other_ways_of_coming(const OccupancyPart& part) const {
  if (kind_ == nullptr || kind_->start.on.by == domain::OnRule::By::hand) return {};
  std::vector<Coming> ways = {Coming::by_hand};
  if (!part.sensors.empty() && can_dim(&part) && project_.requirements.automatic_on_allowed)
    ways.push_back(Coming::half_by_motion);
  return ways;
}

bool RoomAssembly::can_dim(const OccupancyPart* part) const {
  const bool can_be_told = !wiring_stays_ || !free_.contains(Part::controllers) ||
                           (part != nullptr && that_carries(*part) != nullptr);
  return any_dims(ids()) && !is_in_boxes(part) && can_be_told;
}

std::vector<std::string> RoomAssembly::ids() const {
  std::vector<std::string> all;
  for (const domain::Luminaire& luminaire : luminaires_) all.push_back(luminaire.id);
  std::sort(all.begin(), all.end());
  return all;
}

bool RoomAssembly::any_dims(const std::vector<std::string>& luminaires) const {
  return std::any_of(luminaires.begin(), luminaires.end(), [&](const std::string& id) {
    const domain::Luminaire* luminaire = domain::find_by_id(luminaires_, id);
    const auto* type =
        luminaire == nullptr ? nullptr : domain::find_by_id(project_.luminaire_types, luminaire->type);
    return type != nullptr &&
           std::any_of(type->channels.begin(), type->channels.end(), [&](const domain::Channel& channel) {
             return domain::driver_of(project_, channel.driver).dims;
           });
  });
}

bool RoomAssembly::is_switched_by_hand(const OccupancyPart* occupancy, const DaylightPart* daylight) const {
  return wiring_stays_ && free_.contains(Part::controllers) && daylight == nullptr &&
         kept_.photosensors.empty() && kept_.occupancy_sensors.empty() &&
         (occupancy == nullptr || occupancy->sensors.empty());
}

bool RoomAssembly::follows_legs(const RoomControls& controls) const {
  if (scene_groups(controls).size() < 2) return true;
  return std::all_of(controls.groups.begin(), controls.groups.end(), [&](const domain::Group& group) {
    return group.strategy != domain::Strategy::scene ||
           std::all_of(legs_.begin(), legs_.end(), [&](const SwitchLeg& leg) {
             const auto in_group = std::count_if(
                 leg.luminaires.begin(), leg.luminaires.end(), [&](const std::string& luminaire) {
                   return std::any_of(group.channels.begin(), group.channels.end(),
                                      [&](const std::string& channel) {
                                        return channel.substr(0, channel.find('/')) == luminaire;
                                      });
                 });
             return in_group == 0 || static_cast<std::size_t>(in_group) == leg.luminaires.size();
           });
  });
}

void RoomAssembly::add_occupancy(const OccupancyPart& part, Coming coming, RoomControls& controls,
                                 std::set<std::string>& taken, RoomDesign& made) const {
  std::vector<std::string>& why = made.why;
  const bool has_sensors = !part.sensors.empty();
  const bool in_boxes = is_in_boxes(&part);
  const bool had_schedule = controls.sequence.schedule.has_value();
  if (kind_ != nullptr) apply_usual_rules(project_, space_, *kind_, has_sensors, controls.sequence, why);
  // No clock reaches a box or a switch.
  if ((in_boxes || is_switched_by_hand(&part, nullptr)) && !had_schedule) {
    controls.sequence.schedule.reset();
    if (controls.sequence.on.by == domain::OnRule::By::schedule) controls.sequence.on = {};
  }
  if (controls.sequence.on.by == domain::OnRule::By::occupancy && controls.sequence.on.level < 1.0)
    controls.sequence.on.level = std::min(controls.sequence.on.level, kHalf);
  if (coming == Coming::by_hand) controls.sequence.on = {};
  if (coming == Coming::half_by_motion)
    controls.sequence.on = {domain::OnRule::By::occupancy, kHalf, controls.sequence.on.fade_s};
  if (!can_dim(&part)) take_steps_out(controls.sequence, why);
  if (!part.why.empty()) why.push_back(part.why);
  if (!has_sensors) return;
  if (in_boxes) {
    add_boxes(part, controls, taken, made);
    return;
  }
  std::vector<std::vector<std::string>> groups = {ids()};
  if (!part.group_of.empty()) {
    const std::vector<std::vector<std::string>> nearest = nearest_luminaires(part.sensors);
    groups.assign(1 + *std::max_element(part.group_of.begin(), part.group_of.end()), {});
    for (std::size_t s = 0; s < nearest.size(); ++s)
      groups[part.group_of[s]].insert(groups[part.group_of[s]].end(), nearest[s].begin(), nearest[s].end());
    for (std::vector<std::string>& group : groups) std::sort(group.begin(), group.end());
  }
  std::vector<std::string> group_ids;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    if (groups[g].empty()) {
      group_ids.emplace_back();
      continue;
    }
    domain::Group& group = controls.groups.emplace_back();
    group.id = fresh_id(stem_ + "occupancy-", taken);
    group.space = space_.id;
    group.strategy = domain::Strategy::occupancy;
    group.name = groups.size() == 1 ? "whole room" : fmt::format("part {}", g + 1);
    group.channels = groups[g];
    group_ids.push_back(group.id);
  }
  for (std::size_t s = 0; s < part.sensors.size(); ++s) {
    domain::OccupancySensor sensor = part.sensors[s];
    sensor.id = fresh_id(stem_ + "O", taken);
    sensor.groups = {group_ids[part.group_of.empty() ? 0 : part.group_of[s]]};
    // No luminaire is nearest to it: it reports to all.
    if (sensor.groups.front().empty()) {
      sensor.groups = group_ids;
      std::erase(sensor.groups, std::string());
    }
    controls.occupancy_sensors.push_back(std::move(sensor));
  }
  add_partition_sensor(controls, taken, why);
}

void RoomAssembly::add_partition_sensor(RoomControls& controls, std::set<std::string>& taken,
                                        std::vector<std::string>& why) const {
  if (!controls.partition_sensors.empty()) return;
  std::optional<domain::Interface> sensor = partition_sensor(project_, library_, space_);
  if (!sensor) return;
  if (wiring_stays_) {
    why.push_back(
        fmt::format("No new wire reaches {}: what tells the controls how it stands is left to the installer.",
                    wall_->id));
    return;
  }
  sensor->id = fresh_id(stem_ + "P", taken);
  why.push_back(fmt::format("{} tells the controls how {} stands.", sensor->id, wall_->id));
  controls.partition_sensors.push_back(*std::move(sensor));
}

void RoomAssembly::take_steps_out(domain::Sequence& sequence, std::vector<std::string>& why) {
  if (sequence.on.by == domain::OnRule::By::occupancy && sequence.on.level < 1.0) {
    sequence.on = {};
    why.emplace_back("Nothing here dims to half: light is brought on by hand.");
  }
  if (sequence.vacancy && sequence.vacancy->step_level > 0.0) {
    sequence.vacancy->step_level = 0.0;
    sequence.vacancy->off_after_s = -1.0;
    why.emplace_back("Nothing here dims: an empty room goes dark.");
  }
}

void RoomAssembly::add_boxes(const OccupancyPart& part, RoomControls& controls, std::set<std::string>& taken,
                             RoomDesign& made) const {
  if (part.sensors.size() > 1) made.refused.emplace_back("boxes in several places cannot switch one light");
  for (const SwitchLeg& leg : legs_) {
    domain::Group& group = controls.groups.emplace_back();
    group.id = fresh_id(stem_ + "occupancy-", taken);
    group.space = space_.id;
    group.strategy = domain::Strategy::occupancy;
    group.name = legs_.size() == 1 ? "whole room" : leg.name.empty() ? "others" : leg.name;
    group.channels = leg.luminaires;
    domain::OccupancySensor& sensor = controls.occupancy_sensors.emplace_back(part.sensors.front());
    sensor.id = fresh_id(stem_ + "O", taken);
    sensor.groups = {group.id};
    if (legs_.size() > 1)
      made.why.push_back(
          fmt::format("{} switches the leg {}: {}.", sensor.id, group.name, fmt::join(group.channels, ", ")));
  }
}

std::vector<std::vector<std::string>> RoomAssembly::nearest_luminaires(
    const std::vector<domain::OccupancySensor>& sensors) const {
  std::vector<std::vector<std::string>> groups(sensors.size());
  for (const domain::Luminaire& luminaire : luminaires_) {
    const auto away = [&](const domain::OccupancySensor& s) {
      const Point2 hangs{luminaire.at.x, luminaire.at.y};
      const Point2 looks{s.at.x, s.at.y};
      const bool is_behind_wall =
          wall_ != nullptr && domain::side_of(*wall_, looks) != domain::side_of(*wall_, hangs);
      return std::pair(is_behind_wall, std::lround(1000.0 * length(looks - hangs)));
    };
    const auto nearest = std::min_element(sensors.begin(), sensors.end(),
                                          [&](const auto& a, const auto& b) { return away(a) < away(b); });
    groups[static_cast<std::size_t>(nearest - sensors.begin())].push_back(luminaire.id);
  }
  for (std::vector<std::string>& group : groups) std::sort(group.begin(), group.end());
  return groups;
}

void RoomAssembly::add_daylight(const DaylightPart& part, RoomControls& controls,
                                std::vector<std::string>& why) const {
  for (const GovernedGroup& governed : part.groups) {
    controls.groups.push_back(governed.group);
    if (domain::find_by_id(controls.photosensors, governed.photosensor.id) == nullptr)
      controls.photosensors.push_back(governed.photosensor);
    domain::DaylightRule rule = governed.rule;
    const bool dims = any_dims(governed.group.channels);
    if (kind_ != nullptr) {
      rule.minimum_level = kind_->start.daylight_minimum_level;
      rule.may_switch_off = kind_->start.daylight_may_switch_off && !space_.automatic_off_refused;
    }
    if (!dims) {
      rule.minimum_level = 1.0;
      rule.may_switch_off = !space_.automatic_off_refused;
    }
    controls.sequence.daylight.push_back(rule);
    why.push_back(fmt::format(
        "{}: {} luminaire{} {}{}; the photosensor {} and is off what is wanted by {:.0f} % of the "
        "target on average.",
        governed.group.name, governed.group.channels.size(), governed.group.channels.size() == 1 ? "" : "s",
        dims ? "dim" : "switch",
        governed.group.channels.size() > 1 ? " together"
        : dims                             ? "s alone"
                                           : "es alone",
        governed.rule.method == domain::DaylightRule::Method::open_loop_proportional
            ? "looks out of the window"
            : "looks down between them",
        100.0 * governed.held.rms));
  }
}

void RoomAssembly::keep_switches(RoomControls& controls, std::set<std::string>& taken,
                                 std::vector<std::string>& why) const {
  domain::Station station;
  station.id = fresh_id(stem_ + "S", taken);
  station.space = space_.id;
  station.status = domain::Status::remain;
  const Point2 at = station_place(space_, space_.doors.empty() ? nullptr : &space_.doors.front());
  station.at = {at.x, at.y, kStationHeight_m};
  station.buttons = {"on", "off"};
  const std::vector<std::string> of_legs = scene_groups(controls);
  if (of_legs.size() > 1 && of_legs.size() <= kMostSwitchLegs) station.switch_legs = of_legs;
  domain::ManualRule manual = controls.sequence.manual.value_or(domain::ManualRule{});
  manual.stations = {station.id};
  manual.holds_until = domain::ManualRule::HoldsUntil::schedule;
  controls.sequence.manual = manual;
  controls.stations.push_back(std::move(station));
  why.emplace_back("The switches that are there stay.");
}

bool RoomAssembly::has_scenes(const RoomControls& controls) {
  return !controls.scenes.empty() || !scene_groups(controls).empty();
}

std::vector<std::string> RoomAssembly::scene_groups(const RoomControls& controls) {
  std::vector<std::string> ids;
  for (const domain::Group& group : controls.groups)
    if (group.strategy == domain::Strategy::scene) ids.push_back(group.id);
  return ids;
}

void RoomAssembly::add_stations(const DeviceKind* box, bool dims, RoomControls& controls,
                                std::set<std::string>& taken, std::vector<std::string>& why) const {
  std::vector<std::string> buttons;
  const bool chooses = controls.scenes.size() > 1;
  if (chooses)
    for (const domain::Scene& scene : controls.scenes)
      if (scene.calendar.empty()) buttons.push_back(scene.id);
  const std::size_t scenes = buttons.size();
  if (!chooses) buttons.emplace_back("on");
  buttons.emplace_back("off");
  if (dims) {
    buttons.emplace_back("raise");
    buttons.emplace_back("lower");
  }
  // Raise and lower share a rocker and count as one.
  const int count = static_cast<int>(buttons.size()) - (dims ? 1 : 0);
  // What only switches the mains cannot raise, lower or call a scene.
  const bool sends = chooses || dims;
  const auto is_station = [&](const DeviceKind& one) {
    return one.buttons > 0 && one.mounting == DeviceKind::Mounting::wall_box && !one.occupancy && !one.load &&
           (!sends || one.buttons > 2);
  };
  const DeviceKind* kind = cheapest_kind(project_, library_, space_, [&](const DeviceKind& one) {
    return is_station(one) && one.buttons >= count;
  });
  if (kind == nullptr) {
    int most = 0;
    for (const DeviceKind* one : kinds_for(project_, library_, space_))
      if (is_station(*one)) most = std::max(most, one->buttons);
    kind = cheapest_kind(project_, library_, space_,
                         [&](const DeviceKind& one) { return is_station(one) && one.buttons == most; });
    if (kind != nullptr) {
      // The scenes that come last have no button.
      const auto beyond = buttons.begin() + (most - (count - static_cast<int>(scenes)));
      why.push_back(
          fmt::format("No station has more than {} buttons: there is none for {}.", most,
                      fmt::join(beyond, buttons.begin() + static_cast<std::ptrdiff_t>(scenes), ", ")));
      buttons.erase(beyond, buttons.begin() + static_cast<std::ptrdiff_t>(scenes));
    }
  }
  std::vector<const domain::Door*> doors;
  for (const domain::Door& door : space_.doors) doors.push_back(&door);
  if (doors.empty()) doors.push_back(nullptr);
  if (doors.size() > kMostStations) doors.resize(kMostStations);
  if (box != nullptr) {
    kind = box;
    doors.resize(1);
  }
  domain::ManualRule manual = controls.sequence.manual.value_or(domain::ManualRule{});
  manual.stations.clear();
  std::vector<Point2> places;
  for (const domain::Door* door : doors) places.push_back(station_place(space_, door));
  std::size_t by_screens = 0;
  if (chooses && box == nullptr)
    for (const domain::TaskArea& task : space_.task_areas)
      if (const auto beside = task.screen ? place_beside_screen(space_, task) : std::nullopt) {
        const bool is_reached = std::any_of(places.begin(), places.end(), [&](Point2 place) {
          return length(place - *beside) < kWithinReach_m;
        });
        if (is_reached) continue;
        places.push_back(*beside);
        ++by_screens;
      }
  for (const Point2 at : places) {
    domain::Station& station = controls.stations.emplace_back();
    station.id = fresh_id(stem_ + "S", taken);
    station.space = space_.id;
    station.at = {at.x, at.y, kStationHeight_m};
    if (box != nullptr) {
      station.at = controls.occupancy_sensors.front().at;
      if (legs_.size() > 1 && legs_.size() <= kMostSwitchLegs) station.switch_legs = scene_groups(controls);
    }
    station.buttons = buttons;
    if (kind != nullptr) {
      take_kind(station, *kind);
      if (box != nullptr) station.standby_w = 0.0;  // its sensor draws it
    }
    manual.stations.push_back(station.id);
  }
  if (!controls.sequence.vacancy) manual.holds_until = domain::ManualRule::HoldsUntil::schedule;
  controls.sequence.manual = manual;
  if (box == nullptr)
    why.push_back(
        fmt::format("A station by the latch of {}.",
                    doors.size() == 1 ? "the door" : fmt::format("each of {} doors", doors.size())));
  if (by_screens > 0) why.emplace_back("A station on the wall of the screen, for whoever presents.");
}

}  // namespace halflight::choose
