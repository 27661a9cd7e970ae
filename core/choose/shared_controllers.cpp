#include "choose/shared_controllers.hpp"

#include "choose/controller_packing.hpp"
#include "choose/controller_part.hpp"
#include "choose/existing_wiring.hpp"
#include "choose/first_cost.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::choose {

namespace {

using domain::DeviceKind;
using domain::LoadController;

/// A room of which every load hangs on controllers that may go.
struct Room {
  std::size_t index = 0;
  RoomControls controls;
};

bool may_go(const LoadController& controller) {
  return controller.status == domain::Status::added && !controller.device_kind.empty() &&
         (controller.mounting == LoadController::Mounting::ceiling_void ||
          controller.mounting == LoadController::Mounting::panel) &&
         controller.action != LoadController::Action::volt_free_contact;
}

std::vector<Room> rooms_of(const domain::Project& project, const domain::Design& design,
                           const std::set<std::string>& wanted, const std::string& storey) {
  std::vector<Room> rooms;
  for (std::size_t s = 0; s < project.spaces.size(); ++s) {
    const domain::Space& space = project.spaces[s];
    if (space.storey != storey || !wanted.contains(space.id) || wiring_stays(project, space)) continue;
    const std::vector<std::string> alike = rooms_alike(project, design, space);
    const bool are_all_here = std::all_of(alike.begin(), alike.end(), [&](const std::string& id) {
      return wanted.contains(id) && domain::find_by_id(project.spaces, id)->storey == storey;
    });
    Room room{s, controls_of(project, design, space.id)};
    const std::vector<LoadController>& own = room.controls.load_controllers;
    if (are_all_here && !own.empty() && std::all_of(own.begin(), own.end(), may_go) &&
        is_commanded(room.controls))
      rooms.push_back(std::move(room));
  }
  return rooms;
}

domain::Range cost_of(const domain::Project& project, const domain::Library& library,
                      const std::vector<LoadController>& controllers) {
  domain::Range sum;
  for (const LoadController& one : controllers) {
    const DeviceKind* kind = device_kind_of(project, library, one.device_kind);
    if (kind == nullptr) continue;
    const domain::Range cost = unit_cost(project, kind->id, kind->price).cost;
    sum = {sum.least + cost.least, sum.most + cost.most};
  }
  return sum;
}

/// Kinds that can be put into all of the rooms, above the ceiling or in a panel.
std::vector<const DeviceKind*> kinds_for_all(const domain::Project& project, const domain::Library& library,
                                             const std::vector<Room>& rooms) {
  std::vector<const DeviceKind*> kinds = kinds_for(project, library, project.spaces[rooms.front().index]);
  std::erase_if(kinds, [&](const DeviceKind* kind) {
    const bool is_of_place =
        kind->mounting == DeviceKind::Mounting::ceiling_void || kind->mounting == DeviceKind::Mounting::panel;
    return !kind->load || kind->occupancy || !is_of_place ||
           kind->load->action == LoadController::Action::volt_free_contact ||
           !std::all_of(rooms.begin(), rooms.end(), [&](const Room& room) {
             return can_be_installed(project, project.spaces[room.index], *kind);
           });
  });
  return kinds;
}

Result<std::vector<PackingLoad>> loads_of(const domain::Project& project, const domain::Library& library,
                                          const lightresponse::PhotometryFiles& files,
                                          const std::vector<Room>& rooms) {
  std::vector<PackingLoad> loads;
  for (const Room& room : rooms) {
    const auto columns = lightresponse::channel_columns(project, room.index, files);
    if (!columns) return tl::unexpected(columns.error());
    std::vector<PackingLoad> own =
        loads_of_room(project, library, project.spaces[room.index].id, room.controls, *columns);
    std::move(own.begin(), own.end(), std::back_inserter(loads));
  }
  return loads;
}

/// Ids of the rooms whose loads a controller carries, in the order of the document.
std::vector<std::string> served(const domain::Project& project, const domain::Design& design,
                                const LoadController& controller) {
  std::set<std::string> ids;
  for (const std::string& id : controller.luminaires)
    ids.insert(domain::find_by_id(design.luminaires, id)->space);
  std::vector<std::string> in_order;
  for (const domain::Space& space : project.spaces)
    if (ids.contains(space.id)) in_order.push_back(space.id);
  return in_order;
}

}  // namespace

Result<std::vector<SharedControllers>> shared_controllers(const domain::Project& project,
                                                          const domain::Library& library,
                                                          const lightresponse::PhotometryFiles& files,
                                                          const std::set<std::string>& spaces) {
  std::vector<SharedControllers> all;
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  if (design == nullptr) return all;
  for (const domain::Storey& storey : project.storeys) {
    const std::vector<Room> rooms = rooms_of(project, *design, spaces, storey.id);
    if (rooms.size() < 2) continue;
    SharedControllers made;
    made.storey = storey.id;
    std::vector<LoadController> before;
    for (const Room& room : rooms) {
      made.spaces.push_back(project.spaces[room.index].id);
      for (const LoadController& one : room.controls.load_controllers) {
        before.push_back(one);
        made.replaced.push_back(one.id);
      }
    }
    PackingProblem problem;
    problem.spare = project.requirements.spare;
    Result<std::vector<PackingLoad>> loads = loads_of(project, library, files, rooms);
    if (!loads) return tl::unexpected(loads.error());
    problem.loads = *std::move(loads);
    std::map<std::string, const DeviceKind*> kinds;
    for (const DeviceKind* kind : kinds_for_all(project, library, rooms)) {
      problem.candidates.push_back(
          {*kind, middle(unit_cost(project, kind->id, kind->price).cost), kind->load->several_rooms});
      kinds[kind->id] = kind;
    }
    if (problem.candidates.empty()) continue;
    const Result<ControllerPacking> packed = pack_controllers(problem);
    if (!packed) return tl::unexpected(packed.error());
    const bool is_too_long =
        std::any_of(packed->controllers.begin(), packed->controllers.end(),
                    [](const PackedController& one) { return one.wire_m > one.longest_wire_m; });
    if (!packed->uncarried.empty() || is_too_long) continue;
    for (const PackedController& one : packed->controllers) {
      LoadController& device = made.controllers.emplace_back(load_controller_of(*kinds.at(one.kind), one));
      const std::vector<std::string> rooms_served = served(project, *design, device);
      const domain::Space& home = *domain::find_by_id(project.spaces, rooms_served.front());
      device.space = home.id;
      device.at = place_above_door(home);
      if (rooms_served.size() < 2) continue;
      std::string numbers;
      for (const std::string& id : rooms_served)
        numbers += (numbers.empty() ? "" : ", ") + domain::find_by_id(project.spaces, id)->number;
      made.why.push_back(fmt::format(
          "{} above {} carries {}: {} outputs; what binds is {}: {:.0f} % of it is used{}. If it fails, {} "
          "rooms "
          "fail together.",
          kinds.at(one.kind)->name, home.number, numbers, one.outputs.size(), one.binding.in_words(),
          100.0 * one.binding.share_used(),
          one.longest_wire_m > 0.0
              ? fmt::format("; {:.0f} m of its wires, {:.0f} m may be", one.wire_m, one.longest_wire_m)
              : "",
          rooms_served.size()));
    }
    made.cost_before = cost_of(project, library, before);
    made.cost_after = cost_of(project, library, made.controllers);
    made.is_least = packed->is_least;
    if (!made.why.empty() && middle(made.cost_after) < middle(made.cost_before))
      all.push_back(std::move(made));
  }
  return all;
}

}  // namespace halflight::choose
