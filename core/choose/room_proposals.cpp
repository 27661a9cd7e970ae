#include "choose/room_proposals.hpp"

#include "choose/controller_part.hpp"
#include "choose/device_of_kind.hpp"
#include "choose/existing_wiring.hpp"
#include "choose/occupancy_part.hpp"
#include "choose/partition_sensor.hpp"
#include "choose/scene_set.hpp"
#include "choose/starting_control.hpp"
#include "choose/usual_sequence.hpp"
#include "energy/estimate.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <iterator>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::choose {

namespace {

using domain::DeviceKind;

constexpr std::size_t kMostStations = 3;
/// From a station this near nobody walks to another (common practice, no source).
constexpr double kWithinReach_m = 2.0;
/// Of one space, as a document may have them.
constexpr std::size_t kMostSwitchLegs = 4;

PhotosensorOffer photosensors_on_offer(const domain::Project& project, const domain::Library& library,
                                       const domain::Space& space) {
  const auto of_loop = [&](domain::Photosensor::Loop loop) {
    return cheapest_kind(project, library, space, [&](const DeviceKind& kind) {
      return kind.light && kind.light->loop == loop && kind.mounting == DeviceKind::Mounting::ceiling &&
             !kind.occupancy && !kind.load;
    });
  };
  return {of_loop(domain::Photosensor::Loop::closed), of_loop(domain::Photosensor::Loop::open)};
}

/// How the light comes on: as is usual for the kind, or otherwise.
enum class Coming { usually, by_hand, half_by_motion };
/// ASHRAE 90.1 and IECC let half of the power come on by itself; drivers draw a little more than their share
/// of light.
constexpr double kHalf = 0.45;

/// Puts the room together from what is kept and what is chosen.
class Assembly {
 public:
  Assembly(const sim::StudyInputs& inputs, std::size_t space, const RoomControls& kept,
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

  /// Scenes for a room without any whose light can be told its level.
  void take_scenes(SceneSet scenes) { scenes_ = std::move(scenes); }
  /// Whether the document leaves scenes and their groups open, and something dims.
  [[nodiscard]] bool wants_scenes() const {
    return kind_ != nullptr && !has_scenes(kept_) && !luminaires_.empty() && any_dims(ids());
  }
  [[nodiscard]] const domain::SpaceKind& kind() const { return *kind_; }
  [[nodiscard]] const std::vector<domain::Luminaire>& luminaires() const { return luminaires_; }
  void take_columns(const std::vector<lightresponse::ChannelColumn>& columns) { columns_ = &columns; }
  void keep_for_the_way_out(std::vector<std::string> luminaires) { for_the_way_out_ = std::move(luminaires); }

  [[nodiscard]] const std::set<std::string>& taken() const { return taken_; }
  [[nodiscard]] const std::string& id_stem() const { return stem_; }

  /// Scenes and their groups where the document has none: those that are usual for the kind where the light
  /// `dims`, else everything together or, where it is switched by the wires that are there, by leg.
  [[nodiscard]] RoomControls with_scene(RoomControls controls, std::set<std::string>& taken, bool dims,
                                        bool by_leg = false) const {
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
    const auto add = [&](const std::string& stem, const std::string& name,
                         std::vector<std::string> channels) {
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

  /// The kind of a set's sensors where each is a load controller too and may command the room; null where
  /// others have to.
  [[nodiscard]] const DeviceKind* that_carries(const OccupancyPart& part) const {
    if (part.sensors.empty() || !free_.contains(Part::controllers)) return nullptr;
    const DeviceKind* kind = device_kind_of(project_, library_, part.sensors.front().device_kind);
    const bool are_alike = std::all_of(part.sensors.begin(), part.sensors.end(), [&](const auto& sensor) {
      return sensor.device_kind == part.sensors.front().device_kind;
    });
    return are_alike && kind != nullptr && kind->load ? kind : nullptr;
  }
  /// Whether a set switches the light in the boxes of its switches, where nothing dims.
  [[nodiscard]] bool is_in_boxes(const OccupancyPart* part) const {
    const DeviceKind* kind = part == nullptr ? nullptr : that_carries(*part);
    return kind != nullptr && kind->mounting == DeviceKind::Mounting::wall_box;
  }

  [[nodiscard]] RoomDesign design(const OccupancyPart* occupancy, const DaylightPart* daylight,
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

  /// Of devices and new luminaires. Loads that are to be commanded and that no controller drives have no
  /// price.
  [[nodiscard]] FirstCost cost_of(const RoomControls& controls) const {
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

  /// Ways beside the usual one.
  [[nodiscard]] std::vector<Coming> other_ways_of_coming(const OccupancyPart& part) const {
    if (kind_ == nullptr || kind_->start.on.by == domain::OnRule::By::hand) return {};
    std::vector<Coming> ways = {Coming::by_hand};
    if (!part.sensors.empty() && can_dim(&part) && project_.requirements.automatic_on_allowed)
      ways.push_back(Coming::half_by_motion);
    return ways;
  }
  /// Whether the luminaires dim and something that the room can have commands them to.
  [[nodiscard]] bool can_dim(const OccupancyPart* part) const {
    const bool can_be_told = !wiring_stays_ || !free_.contains(Part::controllers) ||
                             (part != nullptr && that_carries(*part) != nullptr);
    return any_dims(ids()) && !is_in_boxes(part) && can_be_told;
  }

 private:
  [[nodiscard]] std::vector<std::string> ids() const {
    std::vector<std::string> all;
    for (const domain::Luminaire& luminaire : luminaires_) all.push_back(luminaire.id);
    std::sort(all.begin(), all.end());
    return all;
  }
  [[nodiscard]] bool any_dims(const std::vector<std::string>& luminaires) const {
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
  /// Whether a room whose wiring stays is left to its switches.
  [[nodiscard]] bool is_switched_by_hand(const OccupancyPart* occupancy, const DaylightPart* daylight) const {
    return wiring_stays_ && free_.contains(Part::controllers) && daylight == nullptr &&
           kept_.photosensors.empty() && kept_.occupancy_sensors.empty() &&
           (occupancy == nullptr || occupancy->sensors.empty());
  }

  /// Whether each scene group holds whole switch legs, or there is but one.
  [[nodiscard]] bool follows_legs(const RoomControls& controls) const {
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

  void add_occupancy(const OccupancyPart& part, Coming coming, RoomControls& controls,
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

  /// Without one, a divided room's sides stay apart while the wall is open.
  void add_partition_sensor(RoomControls& controls, std::set<std::string>& taken,
                            std::vector<std::string>& why) const {
    if (!controls.partition_sensors.empty()) return;
    std::optional<domain::Interface> sensor = partition_sensor(project_, library_, space_);
    if (!sensor) return;
    if (wiring_stays_) {
      why.push_back(fmt::format(
          "No new wire reaches {}: what tells the controls how it stands is left to the installer.",
          wall_->id));
      return;
    }
    sensor->id = fresh_id(stem_ + "P", taken);
    why.push_back(fmt::format("{} tells the controls how {} stands.", sensor->id, wall_->id));
    controls.partition_sensors.push_back(*std::move(sensor));
  }

  /// What only switches has no level between off and full.
  static void take_steps_out(domain::Sequence& sequence, std::vector<std::string>& why) {
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

  /// A box in the place of each leg's switch.
  void add_boxes(const OccupancyPart& part, RoomControls& controls, std::set<std::string>& taken,
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
        made.why.push_back(fmt::format("{} switches the leg {}: {}.", sensor.id, group.name,
                                       fmt::join(group.channels, ", ")));
    }
  }

  /// Of each sensor the luminaires that are nearer to it than to any other, of a divided room to any on their
  /// side of the wall; sorted.
  [[nodiscard]] std::vector<std::vector<std::string>> nearest_luminaires(
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

  void add_daylight(const DaylightPart& part, RoomControls& controls, std::vector<std::string>& why) const {
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

  /// The switches that are there: of each leg one, where there are several.
  void keep_switches(RoomControls& controls, std::set<std::string>& taken,
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
  static bool has_scenes(const RoomControls& controls) {
    return !controls.scenes.empty() || !scene_groups(controls).empty();
  }
  static std::vector<std::string> scene_groups(const RoomControls& controls) {
    std::vector<std::string> ids;
    for (const domain::Group& group : controls.groups)
      if (group.strategy == domain::Strategy::scene) ids.push_back(group.id);
    return ids;
  }

  /// `box`: the kind in the boxes of the switches that is the room's station too; null: one is chosen.
  void add_stations(const DeviceKind* box, bool dims, RoomControls& controls, std::set<std::string>& taken,
                    std::vector<std::string>& why) const {
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
      return one.buttons > 0 && one.mounting == DeviceKind::Mounting::wall_box && !one.occupancy &&
             !one.load && (!sends || one.buttons > 2);
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

  const domain::Project& project_;
  const domain::Library& library_;
  const domain::Space& space_;
  const domain::Design& design_;
  const domain::SpaceKind* kind_;
  RoomControls kept_;
  std::set<Part> free_;
  std::string stem_;
  std::set<std::string> taken_;
  bool wiring_stays_;
  const domain::Partition* wall_;  // by which bookings divide the room
  std::vector<SwitchLeg> legs_;
  std::vector<domain::Luminaire> luminaires_;
  std::vector<std::string> for_the_way_out_;
  SceneSet scenes_;
  const std::vector<lightresponse::ChannelColumn>* columns_ = nullptr;
};

/// Takes the step towards keeping ways out lit that the failing states ask for, of what is free to choose;
/// nothing where there is none.
bool light_the_way_out(domain::Sequence& sequence, const sim::DesignTrial& trial, const std::set<Part>& free,
                       bool dims) {
  constexpr double kStep = 0.1;
  constexpr double kMost = 0.6;
  const auto fails = [&](std::string_view state) {
    return std::any_of(trial.egress.begin(), trial.egress.end(), [&](const results::EgressState& one) {
      return !one.holds && (one.state == state || one.state.starts_with(fmt::format("{} ", state)));
    });
  };
  if (free.contains(Part::daylight) && fails("dimmed by daylight") && !sequence.daylight.empty()) {
    // What only switches would never go off.
    if (sequence.daylight.front().minimum_level >= 1.0) return false;
    const bool switches = std::any_of(sequence.daylight.begin(), sequence.daylight.end(),
                                      [](const domain::DaylightRule& rule) { return rule.may_switch_off; });
    if (!switches && sequence.daylight.front().minimum_level >= kMost) return false;
    for (domain::DaylightRule& rule : sequence.daylight) {
      if (!switches) rule.minimum_level += kStep;
      rule.may_switch_off = false;
    }
    return true;
  }
  if (!free.contains(Part::occupancy)) return false;
  if (sequence.vacancy && fails("vacant")) {
    if (!dims || sequence.vacancy->step_level >= kMost) return false;
    sequence.vacancy->step_level += kStep;
    return true;
  }
  if (sequence.vacancy && fails("vacant, later") && sequence.vacancy->off_after_s >= 0.0) {
    sequence.vacancy->off_after_s = -1.0;
    return true;
  }
  if (sequence.schedule && fails("vacant, swept after closing") && sequence.schedule->sweeps_off) {
    sequence.schedule->sweeps_off = false;
    return true;
  }
  return false;
}

/// Runs a design through its years, once its ways out are lit in every state as far as its sequence can.
void try_out(RoomDesign& design, const sim::DesignTrials& trials, const domain::Project& project,
             const std::set<Part>& free, bool dims) {
  const std::string& space = design.controls.sequence.space;
  const domain::Sequence before = design.controls.sequence;
  domain::Sequence& sequence = design.controls.sequence;
  sim::DesignTrial judged = trials.judge(with_controls(project, space, design.controls));
  while (light_the_way_out(sequence, judged, free, dims))
    judged = trials.judge(with_controls(project, space, design.controls));
  if (!sequence.daylight.empty() && !before.daylight.empty() && sequence.daylight != before.daylight)
    design.why.push_back(fmt::format("Daylight leaves at least {:.0f} %, so that the way out stays lit.",
                                     100.0 * sequence.daylight.front().minimum_level));
  if (sequence.vacancy && sequence.vacancy != before.vacancy)
    design.why.push_back(fmt::format("An empty room keeps {:.0f} %, so that the way out stays lit.",
                                     100.0 * sequence.vacancy->step_level));
  if (sequence.schedule != before.schedule)
    design.why.emplace_back("The clock does not turn the light off, so that the way out stays lit.");
  design.trial = judged.refused_because().empty() ? trials.of(with_controls(project, space, design.controls))
                                                  : std::move(judged);
  for (std::string& because : design.trial.refused_because()) design.refused.push_back(std::move(because));
}

/// "12 % more energy", "240 more to buy": what another design has over this one.
std::vector<std::string> has_over(const Merits& other, const Merits& mine, const std::string& currency) {
  std::vector<std::string> words;
  const Merits a = rounded(other);
  const Merits b = rounded(mine);
  if (a.cost < b.cost) words.push_back(fmt::format("{:.0f} {} less to buy", b.cost - a.cost, currency));
  if (a.kwh < b.kwh) words.push_back(fmt::format("{:.1f} kWh a year less", b.kwh - a.kwh));
  if (a.under_lit_h < b.under_lit_h)
    words.push_back(fmt::format("{:.1f} h a year less of too little light", b.under_lit_h - a.under_lit_h));
  if (a.taken < b.taken)
    words.push_back(fmt::format("takes the light from people {:.1f} times a year less", b.taken - a.taken));
  if (a.set_up_h < b.set_up_h)
    words.push_back(fmt::format("{:.1f} h less to set up", b.set_up_h - a.set_up_h));
  return words;
}

/// The front of those designs of whose devices the fewest have no price: what is not known to cost anything
/// is not cheap.
Front front_of_priced(const std::vector<RoomDesign>& designs, const std::vector<Merits>& merits) {
  std::size_t fewest = designs.front().cost.unpriced.size();
  for (const RoomDesign& design : designs) fewest = std::min(fewest, design.cost.unpriced.size());
  std::vector<std::size_t> priced;
  std::vector<Merits> of_priced;
  for (std::size_t i = 0; i < designs.size(); ++i)
    if (designs[i].cost.unpriced.size() == fewest) {
      priced.push_back(i);
      of_priced.push_back(merits[i]);
    }
  Front front = front_of(of_priced);
  std::vector<std::optional<std::size_t>> dominated_by(designs.size());
  for (std::size_t p = 0; p < priced.size(); ++p)
    if (front.dominated_by[p]) dominated_by[priced[p]] = priced[*front.dominated_by[p]];
  front.dominated_by = std::move(dominated_by);
  for (std::size_t& member : front.members) member = priced[member];
  for (std::size_t& member : front.hull) member = priced[member];
  front.knee = priced[front.knee];
  return front;
}

void make_offers(RoomProposals& found, const std::string& currency) {
  std::vector<Merits> merits;
  for (const RoomDesign& design : found.designs) merits.push_back(design.merits());
  if (merits.empty()) return;
  found.front = front_of_priced(found.designs, merits);
  const std::vector<std::size_t>& members = found.front.members;
  const auto least = [&](auto figure) {
    return *std::min_element(members.begin(), members.end(), [&](std::size_t a, std::size_t b) {
      return figure(rounded(merits[a])) < figure(rounded(merits[b]));
    });
  };
  const std::vector<std::pair<std::size_t, Pick>> chosen = {
      {members.front(), Pick::least_cost},
      {found.front.knee, Pick::most_for_the_money},
      {least([](const Merits& m) { return m.kwh; }), Pick::least_energy},
      {least([](const Merits& m) { return m.taken; }), Pick::least_light_taken},
  };
  for (const auto& [design, pick] : chosen) {
    const auto known = std::find_if(found.offers.begin(), found.offers.end(),
                                    [&](const auto& offer) { return offer.design == design; });
    if (known != found.offers.end())
      known->picked.push_back(pick);
    else
      found.offers.push_back({design, {pick}});
  }
  std::stable_sort(found.offers.begin(), found.offers.end(), [&](const auto& a, const auto& b) {
    return merits[a.design].cost < merits[b.design].cost;
  });
  std::set<std::size_t> shown(members.begin(), members.end());
  if (found.has_own) shown.insert(0);
  for (const std::size_t design : shown)
    for (const RoomProposals::Offer& other : found.offers) {
      if (other.design == design) continue;
      std::string words;
      for (const std::string& one : has_over(merits[other.design], merits[design], currency))
        words += (words.empty() ? "" : ", ") + one;
      if (!words.empty())
        found.designs[design].gives_up.push_back(found.designs[other.design].name + ": " + words);
    }
}

/// Gives the document's own design, those that are offered and those on the hull what takes the power of what
/// is plugged in. Designs with the same sensors get the same.
void choose_receptacles(RoomProposals& found, const sim::StudyInputs& inputs, const domain::Space& space,
                        int outlets_asked, const sim::DesignTrials& trials, int scrambles,
                        const Context& context) {
  std::set<std::size_t> wanted(found.front.hull.begin(), found.front.hull.end());
  for (const RoomProposals::Offer& offer : found.offers) wanted.insert(offer.design);
  if (found.has_own) wanted.insert(0);
  std::vector<std::vector<std::size_t>> alike;
  for (const std::size_t design : wanted) {
    const auto same = std::find_if(alike.begin(), alike.end(), [&](const std::vector<std::size_t>& some) {
      return found.designs[some.front()].controls.occupancy_sensors ==
             found.designs[design].controls.occupancy_sensors;
    });
    if (same == alike.end())
      alike.push_back({design});
    else
      same->push_back(design);
  }
  context.executor.for_each(alike.size(), [&](std::size_t i) {
    context.check_cancelled();
    RoomControls controls = found.designs[alike[i].front()].controls;
    const bool has_sensors = !controls.occupancy_sensors.empty();
    if (!has_sensors) controls.plug_loads.off_when = domain::PlugLoads::OffWhen::closed;
    domain::Space there = space;
    there.plug_loads = controls.plug_loads;
    const ReceptaclePart part =
        receptacle_part(inputs.project, inputs.library, there, outlets_asked,
                        trials.plugs(with_controls(inputs.project, space.id, controls)), scrambles);
    for (const std::size_t design : alike[i]) {
      found.designs[design].controls.plug_loads = part.loads;
      found.designs[design].receptacles = part;
    }
  });
}

}  // namespace

const char* name_of(Pick pick) {
  switch (pick) {
    case Pick::least_cost:
      return "least cost";
    case Pick::most_for_the_money:
      return "most for the money";
    case Pick::least_energy:
      return "least energy";
    case Pick::least_light_taken:
      return "least light taken from people";
  }
  return "least cost";
}

Result<RoomProposals> propose_room(const sim::StudyInputs& inputs, std::size_t space_index,
                                   const ProposalWish& wish, const Context& context,
                                   lightresponse::StageLog& log) {
  const domain::Project& project = inputs.project;
  const domain::Space& space = project.spaces[space_index];
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  if (design == nullptr)
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "", "/designs", "the project has no proposal",
                     "add a design whose role is \"proposal\""}});
  RoomProposals found;
  found.space = space.id;
  const RoomControls own = controls_of(project, *design, space.id);
  RoomControls kept = own;
  std::set<Part> free;
  for (const Part part : kParts) {
    if (wish.kept.contains(part)) continue;
    kept = without(std::move(kept), part);
    free.insert(part);
    found.free.push_back(part);
  }

  const Result<DaylightPlaces> places =
      free.contains(Part::daylight)
          ? daylight_places(inputs, space_index, photosensors_on_offer(project, inputs.library, space),
                            sim::light_options(wish.options.accuracy))
          : Result<DaylightPlaces>(DaylightPlaces{});
  if (!places) return tl::unexpected(places.error());
  RoomControls fitted = own;
  const std::vector<domain::Photosensor> tried = places->all();
  fitted.photosensors.insert(fitted.photosensors.end(), tried.begin(), tried.end());
  const domain::Project bench_project = with_controls(project, space.id, fitted);
  const sim::StudyInputs bench{.project = bench_project,
                               .library = inputs.library,
                               .code_rules = inputs.code_rules,
                               .photometry_files = inputs.photometry_files,
                               .weather_years = inputs.weather_years,
                               .normals = inputs.normals,
                               .content_keys = {}};
  const sim::DesignTrials trials(bench, wish.options, space_index, context, log);
  if (!trials.why_dark().empty())
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "", fmt::format("/spaces/{}", space_index),
                     trials.why_dark(), "see what validate says of the room"}});

  RoomControls own_filled = own;
  int outlets_asked = 0;
  if (free.contains(Part::receptacles)) {
    outlets_asked = outlets_asked_for(
        own.plug_loads,
        trials.judge(with_controls(project, space.id, without(own, Part::receptacles))).findings,
        trials.ready().rules);
    kept.plug_loads.controlled_receptacles = outlets_asked;
    own_filled.plug_loads = kept.plug_loads;
  }
  Assembly assembly(inputs, space_index, kept, free);
  if (assembly.wants_scenes())
    assembly.take_scenes(scene_set(trials, project, assembly.kind(), kept, assembly.luminaires(),
                                   assembly.id_stem(), assembly.taken()));
  std::set<std::string> taken = assembly.taken();
  if (free.contains(Part::daylight))
    found.daylight = daylight_choice(trials, project, assembly.with_scene(kept, taken, true), *places,
                                     assembly.id_stem(), assembly.taken(), context);
  assembly.take_columns(trials.ready().lit().front().scene.columns);
  assembly.keep_for_the_way_out(found.daylight.for_the_way_out);

  struct Candidate {
    RoomDesign design;
    bool dims = false;
  };
  std::vector<Candidate> candidates(1);
  candidates.front().design.name = "the document's own";
  candidates.front().design.controls = own_filled;
  candidates.front().design.cost = assembly.cost_of(own_filled);
  const auto add = [&](RoomDesign made, bool dims) {
    const std::string name = made.name;
    const auto is_taken = [&] {
      return std::any_of(candidates.begin(), candidates.end(),
                         [&](const Candidate& known) { return known.design.name == made.name; });
    };
    for (int other = 2; is_taken(); ++other) made.name = fmt::format("{} ({})", name, other);
    candidates.push_back({std::move(made), dims});
  };
  const bool only_receptacles = free == std::set<Part>{Part::receptacles};
  std::vector<OccupancyPart> occupancy;
  if (free.contains(Part::occupancy)) occupancy = occupancy_parts(project, inputs.library, *design, space);
  std::vector<const DaylightPart*> daylight = {nullptr};
  for (const DaylightPart& part : found.daylight.parts) daylight.push_back(&part);
  // With nothing else to choose, any other design would be the document's own.
  if (only_receptacles) daylight.clear();
  for (const DaylightPart* by_day : daylight) {
    if (occupancy.empty()) add(assembly.design(nullptr, by_day, Coming::usually), assembly.can_dim(nullptr));
    for (const OccupancyPart& part : occupancy) {
      // Boxes that switch follow no photosensor.
      if (by_day != nullptr && assembly.is_in_boxes(&part)) continue;
      const bool dims = assembly.can_dim(&part);
      add(assembly.design(&part, by_day, Coming::usually), dims);
      for (const Coming coming : assembly.other_ways_of_coming(part))
        add(assembly.design(&part, by_day, coming), dims);
    }
  }

  const auto try_as_it_is = [&](RoomDesign& one) {
    one.trial = trials.of(with_controls(project, space.id, one.controls));
    one.refused = one.trial.refused_because();
  };
  try_as_it_is(candidates.front().design);
  std::size_t known = 1;
  if (!candidates.front().design.refused.empty() && wish.mend)
    if (std::optional<MendedControls> mended = wish.mend(candidates.front().design.trial.findings)) {
      Candidate fixed;
      fixed.design.name = "the document's own with code fixes";
      fixed.design.controls = std::move(mended->controls);
      fixed.design.cost = candidates.front().design.cost;
      fixed.design.why = std::move(mended->why);
      try_as_it_is(fixed.design);
      candidates.insert(candidates.begin() + 1, std::move(fixed));
      ++known;
    }
  std::atomic<std::size_t> done = known;
  context.executor.for_each(candidates.size() - known, [&](std::size_t i) {
    context.check_cancelled();
    Candidate& one = candidates[known + i];
    if (one.design.refused.empty()) try_out(one.design, trials, project, free, one.dims);
    context.report("designs of " + space.number, ++done, candidates.size());
  });
  found.as_found = trials.as_found();
  found.new_luminaires = trials.new_luminaires_only();
  found.luminaires = luminaire_cost(project, inputs.library, *design, space.id);
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    RoomDesign& one = candidates[i].design;
    if (one.refused.empty() && i == 0) found.has_own = true;
    (one.refused.empty() ? found.designs : found.refused).push_back(std::move(one));
  }
  make_offers(found, project.estimate.currency);
  if (free.contains(Part::receptacles))
    choose_receptacles(found, inputs, space, outlets_asked, trials, wish.options.scrambles, context);
  return found;
}

results::Estimate saving_of(const sim::DesignTrial& design, const sim::DesignTrial& against, int scrambles) {
  std::vector<double> saved;
  for (std::size_t r = 0; r < design.kwh.size(); ++r) saved.push_back(against.kwh[r] - design.kwh[r]);
  return energy::ratio_estimate(saved, against.kwh, scrambles);
}

}  // namespace halflight::choose
