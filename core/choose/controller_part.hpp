#pragma once
#include "choose/room_controls.hpp"
#include "domain/project.hpp"
#include "sim/lit_space.hpp"

#include <functional>
#include <set>
#include <string>
#include <vector>

namespace halflight::choose {

struct PackedController;
struct PackingLoad;

/// Load controllers of a room.
struct ControllerPart {
  std::vector<domain::LoadController> controllers;
  std::vector<std::string> why;  ///< what each carries and the limit that binds, in sentences
  std::vector<std::string>
      uncarried;  ///< loads that no kind carries, with the reason; empty: all are carried
};

/// Whether something other than a line-voltage switch has to command a room.
bool is_commanded(const RoomControls& controls);

/// The cheapest controllers in the room that carry what its sequence commands apart: each cell of channels
/// that always get one command. `columns`: of the space's scene. Where nothing is to be commanded, as in a
/// room that a switch turns on and off, none. `id_stem` begins new ids, none of which is in `taken`.
/// `with_sensors`: the kind of the room's occupancy sensors where each of them is a load controller too. Then
/// they carry the loads themselves: one in each luminaire, or those in the boxes of the switches, which take
/// one load each, and no other controller is bought.
ControllerPart controller_part(const domain::Project& project, const domain::Library& library,
                               const std::string& space, const RoomControls& controls,
                               const std::vector<lightresponse::ChannelColumn>& columns,
                               const std::string& id_stem, std::set<std::string>& taken,
                               const domain::DeviceKind* with_sensors = nullptr);

/// What the proposal of `project` commands apart in a space, for pack_controllers: its control cells, named
/// after the space. `controls`: of the space.
std::vector<PackingLoad> loads_of_room(const domain::Project& project, const domain::Library& library,
                                       const std::string& space, const RoomControls& controls,
                                       const std::vector<lightresponse::ChannelColumn>& columns);
/// A load controller of a kind with `load` that drives what was packed on it; without id, space and place.
domain::LoadController load_controller_of(const domain::DeviceKind& kind, const PackedController& packed);
/// Above the ceiling over the first door; a panel's place is the electrician's, and drawn there too.
Point3 place_above_door(const domain::Space& space);

/// Whether a device can be put into a room at all, as far as the document tells: radio only where one is
/// chosen and the owner allows it, a device that needs a neutral only where boxes have one, and where the
/// wiring stays (existing_wiring.hpp) nothing above the ceiling, nothing on it or on a wall that needs a new
/// wire, no panel, no socket outlet with a conductor of its own and nothing that hangs on a control bus.
bool can_be_installed(const domain::Project& project, const domain::Space& space,
                      const domain::DeviceKind& kind);

/// The project's kinds, then those of the library that the project does not have by the same id, which can be
/// installed in a room.
std::vector<const domain::DeviceKind*> kinds_for(const domain::Project& project,
                                                 const domain::Library& library, const domain::Space& space);

/// Of these the kind of least cost, in the middle of its range, among those that `fits`; by id where costs
/// are equal; null without one.
const domain::DeviceKind* cheapest_kind(const domain::Project& project, const domain::Library& library,
                                        const domain::Space& space,
                                        const std::function<bool(const domain::DeviceKind&)>& fits);

}  // namespace halflight::choose
