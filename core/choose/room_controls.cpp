#include "choose/room_controls.hpp"

#include <algorithm>
#include <utility>

namespace halflight::choose {

namespace {

template <class T>
std::vector<T> of_space(const std::vector<T>& all, const std::string& space) {
  std::vector<T> some;
  std::copy_if(all.begin(), all.end(), std::back_inserter(some),
               [&](const T& one) { return one.space == space; });
  return some;
}

/// Whether it is on the list for the drawings alone.
template <class T>
bool is_removed(const T& one) {
  if constexpr (requires { one.status; })
    return one.status == domain::Status::remove;
  else
    return false;
}

template <class T>
std::vector<T> standing(const std::vector<T>& all, const std::string& space) {
  std::vector<T> some = of_space(all, space);
  std::erase_if(some, is_removed<T>);
  return some;
}

bool is_partition_sensor(const domain::Interface& interface) {
  return interface.kind == domain::Interface::Kind::partition_sensor;
}

/// In the place of what stands of a space, of those that `is_among`, where the first of that stood.
template <class T>
void replace(
    std::vector<T>& all, const std::string& space, const std::vector<T>& by,
    bool (*is_among)(const T&) = [](const T&) { return true; }) {
  const auto is_own = [&](const T& one) { return one.space == space && !is_removed(one) && is_among(one); };
  const auto at = std::find_if(all.begin(), all.end(), is_own) - all.begin();
  std::erase_if(all, is_own);
  all.insert(all.begin() + at, by.begin(), by.end());
}

/// Takes groups off a controller; the luminaires that it drove by them it then drives by name.
void drive_by_name(domain::LoadController& controller, const std::vector<domain::Group>& groups,
                   const std::set<std::string>& gone) {
  for (const domain::Group& group : groups) {
    if (!gone.contains(group.id) || std::erase(controller.groups, group.id) == 0) continue;
    for (const std::string& channel : group.channels) {
      const std::string luminaire = channel.substr(0, channel.find('/'));
      if (std::find(controller.luminaires.begin(), controller.luminaires.end(), luminaire) ==
          controller.luminaires.end())
        controller.luminaires.push_back(luminaire);
    }
  }
}

/// Whether all that a controller drives is in a space.
bool drives_only(const domain::Project& project, const domain::Design& design,
                 const domain::LoadController& controller, const std::string& space) {
  const std::vector<std::string> driven = domain::driven_luminaires(project, design, controller);
  return !driven.empty() && std::all_of(driven.begin(), driven.end(), [&](const std::string& id) {
    const domain::Luminaire* luminaire = domain::find_by_id(design.luminaires, id);
    return luminaire != nullptr && luminaire->space == space;
  });
}

bool drives_any(const domain::Project& project, const domain::Design& design,
                const domain::LoadController& controller, const std::string& space) {
  const std::vector<std::string> driven = domain::driven_luminaires(project, design, controller);
  return std::any_of(driven.begin(), driven.end(), [&](const std::string& id) {
    const domain::Luminaire* luminaire = domain::find_by_id(design.luminaires, id);
    return luminaire != nullptr && luminaire->space == space;
  });
}

/// Whether a controller is one that a proposal may choose: not a task lamp's own, nor a contact for others.
bool is_of_part(const domain::LoadController& controller) {
  return controller.mounting != domain::LoadController::Mounting::plug_in &&
         controller.action != domain::LoadController::Action::volt_free_contact;
}

bool is_of(domain::Strategy strategy, Part part) {
  return (part == Part::occupancy && strategy == domain::Strategy::occupancy) ||
         (part == Part::daylight && strategy == domain::Strategy::daylight);
}

/// Whether something says what takes the power of plugged-in devices, or there is nothing to say.
bool are_decided(const domain::PlugLoads& loads) {
  using domain::PlugDevice;
  const bool has_any = loads.controlled_receptacles > 0 || loads.controlled_fraction > 0.0 ||
                       std::any_of(loads.devices.begin(), loads.devices.end(), [](const PlugDevice& device) {
                         return device.switched_by != PlugDevice::SwitchedBy::nothing;
                       });
  return has_any || (loads.receptacles == 0 &&
                     std::none_of(loads.devices.begin(), loads.devices.end(), domain::may_be_switched));
}

template <class T>
void add_ids(const std::vector<T>& all, const std::string& space, std::set<std::string>& ids) {
  for (const T& one : all)
    if (one.space != space || is_removed(one)) ids.insert(one.id);
}

}  // namespace

const char* name_of(Part part) {
  switch (part) {
    case Part::occupancy:
      return "occupancy";
    case Part::daylight:
      return "daylight";
    case Part::stations:
      return "stations";
    case Part::controllers:
      return "controllers";
    case Part::receptacles:
      return "receptacles";
  }
  return "occupancy";
}

RoomControls controls_of(const domain::Project& project, const domain::Design& design,
                         const std::string& space) {
  RoomControls controls;
  controls.groups = of_space(design.groups, space);
  controls.scenes = of_space(design.scenes, space);
  controls.occupancy_sensors = standing(design.occupancy_sensors, space);
  controls.photosensors = standing(design.photosensors, space);
  controls.stations = standing(design.stations, space);
  for (const domain::LoadController& controller : design.load_controllers)
    if (!is_removed(controller) && drives_only(project, design, controller, space))
      controls.load_controllers.push_back(controller);
  controls.partition_sensors = standing(design.interfaces, space);
  std::erase_if(controls.partition_sensors,
                [](const domain::Interface& interface) { return !is_partition_sensor(interface); });
  controls.sequence.space = space;
  if (const domain::Sequence* sequence = domain::find_sequence(design, space)) controls.sequence = *sequence;
  controls.plug_loads = domain::find_by_id(project.spaces, space)->plug_loads;
  return controls;
}

std::set<Part> decided_parts(const domain::Project& project, const domain::Design& design,
                             const std::string& space) {
  const RoomControls controls = controls_of(project, design, space);
  std::set<Part> parts;
  const auto has_group = [&](domain::Strategy strategy) {
    return std::any_of(controls.groups.begin(), controls.groups.end(),
                       [&](const domain::Group& group) { return group.strategy == strategy; });
  };
  if (!controls.occupancy_sensors.empty() || controls.sequence.vacancy ||
      has_group(domain::Strategy::occupancy))
    parts.insert(Part::occupancy);
  if (!controls.photosensors.empty() || !controls.sequence.daylight.empty() ||
      has_group(domain::Strategy::daylight))
    parts.insert(Part::daylight);
  if (!controls.stations.empty()) parts.insert(Part::stations);
  if (std::any_of(design.load_controllers.begin(), design.load_controllers.end(),
                  [&](const domain::LoadController& controller) {
                    return !is_removed(controller) && is_of_part(controller) &&
                           drives_any(project, design, controller, space);
                  }))
    parts.insert(Part::controllers);
  if (are_decided(controls.plug_loads)) parts.insert(Part::receptacles);
  return parts;
}

RoomControls without(RoomControls controls, Part part) {
  std::set<std::string> gone;
  for (const domain::Group& group : controls.groups)
    if (is_of(group.strategy, part)) gone.insert(group.id);
  for (domain::LoadController& controller : controls.load_controllers)
    drive_by_name(controller, controls.groups, gone);
  std::erase_if(controls.groups, [&](const domain::Group& group) { return gone.contains(group.id); });
  switch (part) {
    case Part::occupancy:
      controls.occupancy_sensors.clear();
      controls.sequence.vacancy.reset();
      if (controls.sequence.on.by == domain::OnRule::By::occupancy) controls.sequence.on = {};
      break;
    case Part::daylight:
      controls.photosensors.clear();
      controls.sequence.daylight.clear();
      break;
    case Part::stations:
      controls.stations.clear();
      controls.sequence.manual.reset();
      break;
    case Part::controllers:
      std::erase_if(controls.load_controllers, is_of_part);
      break;
    case Part::receptacles:
      controls.plug_loads.controlled_receptacles = 0;
      controls.plug_loads.controlled_fraction = 0.0;
      for (domain::PlugDevice& device : controls.plug_loads.devices) {
        device.switched_by = domain::PlugDevice::SwitchedBy::nothing;
        device.switch_w = 0.0;
      }
      break;
  }
  return controls;
}

RoomControls with_parts_of(RoomControls controls, const RoomControls& design, const std::set<Part>& parts) {
  domain::Sequence& sequence = controls.sequence;
  if (controls.scenes.empty()) {
    controls.scenes = design.scenes;
    for (const domain::Group& group : design.groups)
      if (group.strategy == domain::Strategy::scene &&
          domain::find_by_id(controls.groups, group.id) == nullptr)
        controls.groups.push_back(group);
  }
  if (sequence.normal_scene.empty()) sequence.normal_scene = design.sequence.normal_scene;
  if (!sequence.trim) sequence.trim = design.sequence.trim;
  for (const Part part : parts) {
    controls = without(std::move(controls), part);
    for (const domain::Group& group : design.groups)
      if (is_of(group.strategy, part)) controls.groups.push_back(group);
    switch (part) {
      case Part::occupancy:
        controls.occupancy_sensors = design.occupancy_sensors;
        if (controls.partition_sensors.empty()) controls.partition_sensors = design.partition_sensors;
        sequence.on = design.sequence.on;
        sequence.vacancy = design.sequence.vacancy;
        sequence.schedule = design.sequence.schedule;
        break;
      case Part::daylight:
        controls.photosensors = design.photosensors;
        sequence.daylight = design.sequence.daylight;
        break;
      case Part::stations:
        controls.stations = design.stations;
        sequence.manual = design.sequence.manual;
        break;
      case Part::controllers:
        controls.load_controllers = design.load_controllers;
        break;
      case Part::receptacles:
        controls.plug_loads = design.plug_loads;
        break;
    }
  }
  return controls;
}

domain::Project with_controls(const domain::Project& project, const std::string& space,
                              const RoomControls& controls) {
  domain::Project other = project;
  for (domain::Space& one : other.spaces)
    if (one.id == space) one.plug_loads = controls.plug_loads;
  const auto proposal = std::find_if(
      other.designs.begin(), other.designs.end(),
      [](const domain::Design& design) { return design.role == domain::Design::Role::proposal; });
  if (proposal == other.designs.end()) return other;
  domain::Design& design = *proposal;
  std::erase_if(design.load_controllers, [&](const domain::LoadController& controller) {
    return !is_removed(controller) && drives_only(project, design, controller, space);
  });
  std::set<std::string> gone;
  for (const domain::Group& group : design.groups)
    if (group.space == space) gone.insert(group.id);
  const bool has_own =
      std::any_of(controls.load_controllers.begin(), controls.load_controllers.end(), is_of_part);
  if (!has_own)
    for (const domain::Group& group : controls.groups) gone.erase(group.id);
  for (domain::LoadController& controller : design.load_controllers) {
    std::erase_if(controller.groups, [&](const std::string& id) { return gone.contains(id); });
    if (!has_own) continue;
    std::erase_if(controller.luminaires, [&](const std::string& id) {
      const domain::Luminaire* luminaire = domain::find_by_id(design.luminaires, id);
      return luminaire != nullptr && luminaire->space == space;
    });
  }
  replace(design.groups, space, controls.groups);
  replace(design.scenes, space, controls.scenes);
  replace(design.occupancy_sensors, space, controls.occupancy_sensors);
  replace(design.photosensors, space, controls.photosensors);
  replace(design.stations, space, controls.stations);
  replace(design.interfaces, space, controls.partition_sensors, is_partition_sensor);
  design.load_controllers.insert(design.load_controllers.end(), controls.load_controllers.begin(),
                                 controls.load_controllers.end());
  replace(design.sequences, space, {controls.sequence});
  return other;
}

std::vector<domain::Luminaire> fixed_luminaires(const domain::Project& project, const domain::Design& design,
                                                const std::string& space) {
  std::vector<domain::Luminaire> luminaires;
  for (const domain::Luminaire& luminaire : design.luminaires)
    if (luminaire.space == space && domain::stands_in(design, luminaire.status) &&
        !domain::plugs_in(project, luminaire))
      luminaires.push_back(luminaire);
  return luminaires;
}

bool inherits_design(const domain::Space& space, const domain::Design& design) {
  return !space.typical.empty() && std::any_of(design.luminaires.begin(), design.luminaires.end(),
                                               [&](const domain::Luminaire& luminaire) {
                                                 return luminaire.space == space.id &&
                                                        luminaire.id.starts_with(space.id + ".");
                                               });
}

std::vector<std::string> rooms_alike(const domain::Project& project, const domain::Design& design,
                                     const domain::Space& space) {
  std::vector<std::string> ids = {space.id};
  if (!inherits_design(space, design)) return ids;
  for (const domain::Space& other : project.spaces)
    if (other.typical == space.typical && other.id != space.id && inherits_design(other, design))
      ids.push_back(other.id);
  return ids;
}

std::string fresh_id(const std::string& stem, std::set<std::string>& taken) {
  for (int number = 1;; ++number) {
    std::string id = stem + std::to_string(number);
    if (taken.insert(id).second) return id;
  }
}

std::set<std::string> ids_beside(const domain::Design& design, const std::string& space) {
  std::set<std::string> ids;
  add_ids(design.luminaires, "", ids);
  add_ids(design.groups, space, ids);
  add_ids(design.scenes, space, ids);
  add_ids(design.occupancy_sensors, space, ids);
  add_ids(design.photosensors, space, ids);
  add_ids(design.stations, space, ids);
  add_ids(design.load_controllers, "", ids);
  add_ids(design.time_clocks, "", ids);
  add_ids(design.interfaces, "", ids);
  add_ids(design.infrastructure, "", ids);
  return ids;
}

}  // namespace halflight::choose
