#include "choose/controller_part.hpp"

#include "choose/controller_packing.hpp"
#include "choose/device_of_kind.hpp"
#include "choose/existing_wiring.hpp"
#include "choose/first_cost.hpp"
#include "choose/starting_control.hpp"
#include "controls/load_capacity.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

Point3 place_above_door(const domain::Space& space) {
  const Point2 at = station_place(space, space.doors.empty() ? nullptr : &space.doors.front());
  return {at.x, at.y, domain::height_over(space, {at})};
}

bool is_commanded(const RoomControls& controls) {
  const domain::Sequence& sequence = controls.sequence;
  return !controls.occupancy_sensors.empty() || !controls.photosensors.empty() || sequence.schedule ||
         controls.scenes.size() > 1 || sequence.trim || sequence.on.by == domain::OnRule::By::schedule ||
         sequence.on.by == domain::OnRule::By::occupancy;
}

namespace {

/// Whether any level of a cell lies between off and full.
bool must_dim(const RoomControls& controls, const sim::ControlCell& cell) {
  if (controls.sequence.trim || !cell.daylight_group.empty()) return true;
  return std::any_of(controls.scenes.begin(), controls.scenes.end(), [&](const domain::Scene& scene) {
    const double level = sim::level_in(&scene, cell.scene_group, 1.0);
    return level > 0.0 && level < 1.0;
  });
}

}  // namespace

bool can_be_installed(const domain::Project& project, const domain::Space& space,
                      const domain::DeviceKind& kind) {
  using Mounting = domain::DeviceKind::Mounting;
  if (kind.link == domain::Link::radio && (!project.requirements.radio_allowed || !project.radio))
    return false;
  if (kind.needs_neutral && !space.neutral_in_boxes) return false;
  if (!wiring_stays(project, space)) return true;
  if (kind.switches_plugs == domain::PlugDevice::SwitchedBy::controlled_receptacle) return false;
  const bool is_fixed_to_surface = kind.mounting == Mounting::ceiling || kind.mounting == Mounting::wall;
  return kind.mounting != Mounting::ceiling_void && kind.mounting != Mounting::panel && kind.bus_ma <= 0.0 &&
         !(is_fixed_to_surface && kind.link == domain::Link::wired);
}

std::vector<const domain::DeviceKind*> kinds_for(const domain::Project& project,
                                                 const domain::Library& library, const domain::Space& space) {
  std::vector<const domain::DeviceKind*> kinds;
  for (const domain::DeviceKind& kind : project.device_kinds)
    if (can_be_installed(project, space, kind)) kinds.push_back(&kind);
  for (const domain::DeviceKind& kind : library.device_kinds)
    if (domain::find_by_id(project.device_kinds, kind.id) == nullptr &&
        can_be_installed(project, space, kind))
      kinds.push_back(&kind);
  return kinds;
}

const domain::DeviceKind* cheapest_kind(const domain::Project& project, const domain::Library& library,
                                        const domain::Space& space,
                                        const std::function<bool(const domain::DeviceKind&)>& fits) {
  const domain::DeviceKind* best = nullptr;
  double best_cost = 0.0;
  for (const domain::DeviceKind* kind : kinds_for(project, library, space)) {
    if (!fits(*kind)) continue;
    const double cost = middle(unit_cost(project, kind->id, kind->price).cost);
    if (best != nullptr && (cost > best_cost || (cost == best_cost && kind->id > best->id))) continue;
    best = kind;
    best_cost = cost;
  }
  return best;
}

std::vector<PackingLoad> loads_of_room(const domain::Project& project, const domain::Library& library,
                                       const std::string& space, const RoomControls& controls,
                                       const std::vector<lightresponse::ChannelColumn>& columns) {
  const domain::Design& design = *domain::find_design(project, domain::Design::Role::proposal);
  std::vector<PackingLoad> loads;
  for (const sim::ControlCell& cell : sim::control_cells(project, space, columns)) {
    if (project.designs[cell.design].role != domain::Design::Role::proposal || !cell.lamp.empty()) continue;
    std::vector<std::string> entries;
    for (const std::size_t column : cell.columns) entries.push_back(columns[column].id);
    PackingLoad load;
    load.id = fmt::format("load {} of {}", loads.size() + 1, space);
    load.space = space;
    load.channels = controls::channel_loads(project, library, design, entries);
    load.must_dim = must_dim(controls, cell) &&
                    std::any_of(load.channels.begin(), load.channels.end(),
                                [](const controls::ChannelLoad& channel) { return channel.dims; });
    if (!load.channels.empty()) loads.push_back(std::move(load));
  }
  return loads;
}

domain::LoadController load_controller_of(const domain::DeviceKind& kind, const PackedController& packed) {
  domain::LoadController device;
  take_kind(device, kind);
  device.action = kind.load->action;
  device.mounting =
      kind.mounting == domain::DeviceKind::Mounting::wall_box ? domain::LoadController::Mounting::wall_box
      : kind.mounting == domain::DeviceKind::Mounting::in_luminaire
          ? domain::LoadController::Mounting::in_luminaire
      : kind.mounting == domain::DeviceKind::Mounting::panel ? domain::LoadController::Mounting::panel
                                                             : domain::LoadController::Mounting::ceiling_void;
  device.limit_a = kind.load->limit_a;
  device.bus_limit_ma = kind.load->bus_limit_ma;
  std::set<std::string> luminaires;
  for (const PackedOutput& output : packed.outputs)
    for (const std::string& channel : output.channels)
      luminaires.insert(channel.substr(0, channel.find('/')));
  device.luminaires.assign(luminaires.begin(), luminaires.end());
  return device;
}

ControllerPart controller_part(const domain::Project& project, const domain::Library& library,
                               const std::string& space_id, const RoomControls& controls,
                               const std::vector<lightresponse::ChannelColumn>& columns,
                               const std::string& id_stem, std::set<std::string>& taken,
                               const domain::DeviceKind* with_sensors) {
  ControllerPart part;
  if (!is_commanded(controls)) return part;
  const domain::Project with = with_controls(project, space_id, controls);
  const domain::Space& space = *domain::find_by_id(with.spaces, space_id);
  const domain::Design& design = *domain::find_design(with, domain::Design::Role::proposal);

  PackingProblem problem;
  problem.spare = project.requirements.spare;
  problem.loads = loads_of_room(with, library, space_id, controls, columns);
  std::map<std::string, const domain::DeviceKind*> kinds;
  for (const domain::DeviceKind* kind : kinds_for(project, library, space)) {
    using Mounting = domain::DeviceKind::Mounting;
    if (!kind->load || kind->mounting == Mounting::plug_in ||
        kind->load->action == domain::LoadController::Action::volt_free_contact)
      continue;
    if (with_sensors == nullptr ? kind->occupancy.has_value() : kind->id != with_sensors->id) continue;
    problem.candidates.push_back({*kind, middle(unit_cost(project, kind->id, kind->price).cost), false});
    kinds[kind->id] = kind;
  }
  if (problem.candidates.empty()) {
    part.uncarried.emplace_back(
        wiring_stays(project, space)
            ? "nothing that could command the light can be put in without opening the "
              "ceiling or a new wire"
            : "no kind of load controller can be put in");
    return part;
  }
  const Result<ControllerPacking> packed = pack_controllers(problem);
  if (!packed) {
    part.uncarried.push_back(to_text(packed.error().front()));
    return part;
  }
  for (const UncarriedLoad& load : packed->uncarried) part.uncarried.push_back(load.reason);
  const bool is_in_boxes =
      with_sensors != nullptr && with_sensors->mounting == domain::DeviceKind::Mounting::wall_box;
  if (is_in_boxes && packed->controllers.size() != controls.occupancy_sensors.size()) {
    part.uncarried.push_back(fmt::format("{} of {} would be needed to carry the loads, and {} see the room",
                                         packed->controllers.size(), with_sensors->name,
                                         controls.occupancy_sensors.size()));
    return part;
  }
  for (const PackedController& one : packed->controllers) {
    const domain::DeviceKind& kind = *kinds.at(one.kind);
    domain::LoadController& device = part.controllers.emplace_back(load_controller_of(kind, one));
    device.id = fresh_id(id_stem + "LC", taken);
    device.space = space_id;
    device.at = place_above_door(space);
    if (is_in_boxes) device.at = controls.occupancy_sensors[part.controllers.size() - 1].at;
    if (kind.mounting == domain::DeviceKind::Mounting::in_luminaire)
      device.at = domain::find_by_id(design.luminaires, device.luminaires.front())->at;
    if (with_sensors != nullptr) {
      // The device draws it once.
      if (std::any_of(controls.occupancy_sensors.begin(), controls.occupancy_sensors.end(),
                      [&](const auto& sensor) { return length(sensor.at - device.at) < kOnePlace_m; }))
        device.standby_w = 0.0;
      continue;
    }
    part.why.push_back(fmt::format(
        "{}: {} output{}, {} luminaire{}; what binds is {}: {:.0f} % of it is used.", kind.name,
        one.outputs.size(), one.outputs.size() == 1 ? "" : "s", device.luminaires.size(),
        device.luminaires.size() == 1 ? "" : "s", one.binding.in_words(), 100.0 * one.binding.share_used()));
  }
  if (!packed->controllers.empty() && with_sensors == nullptr)
    part.why.push_back(
        packed->is_least
            ? "No cheaper choice of load controllers carries the room."
            : fmt::format("A choice of load controllers that is cheaper by {:.0f} {} is not ruled out.",
                          packed->gap(), project.estimate.currency));
  if (with_sensors != nullptr && part.uncarried.empty()) {
    const std::size_t count = part.controllers.size();
    part.why.push_back(
        !is_in_boxes
            ? fmt::format("{} x {}, one in each luminaire: any luminaires can be grouped without a wire.",
                          count, with_sensors->name)
        : count == 1
            ? fmt::format("1 x {} in the box of the switch: it switches all of the light without a new wire.",
                          with_sensors->name)
            : fmt::format("{} x {}, one in the box of each switch leg: nothing else can be switched apart "
                          "without a new wire.",
                          count, with_sensors->name));
  }
  return part;
}

}  // namespace halflight::choose
