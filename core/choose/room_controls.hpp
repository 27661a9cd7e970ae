#pragma once
#include "domain/project.hpp"

#include <array>
#include <set>
#include <string>
#include <vector>

namespace halflight::choose {

/// What a proposal may decide about a room.
enum class Part {
  occupancy,    ///< occupancy groups and sensors, what brings the light on, what an empty room does
  daylight,     ///< daylight groups, photosensors and their rules
  stations,     ///< wall stations
  controllers,  ///< load controllers, but for what task lamps plug into and contacts for other systems
  receptacles,  ///< what takes the power of plugged-in devices
};
inline constexpr std::array kParts = {Part::occupancy, Part::daylight, Part::stations, Part::controllers,
                                      Part::receptacles};
/// "occupancy", ...
const char* name_of(Part part);

/// All that a design has to control one room. Luminaires are not among it.
struct RoomControls {
  std::vector<domain::Group> groups;
  std::vector<domain::Scene> scenes;
  std::vector<domain::OccupancySensor> occupancy_sensors;
  std::vector<domain::Photosensor> photosensors;
  std::vector<domain::Station> stations;
  std::vector<domain::LoadController> load_controllers;
  /// That tell how a movable wall of the room stands.
  std::vector<domain::Interface> partition_sensors;
  domain::Sequence sequence;
  domain::PlugLoads plug_loads;  ///< of the space
};

/// Of a space in a design, without what it removes. Load controllers that drive something of the space are
/// among it where they drive nothing else.
RoomControls controls_of(const domain::Project& project, const domain::Design& design,
                         const std::string& space);

/// The parts of a room that a design has decided: that it has anything of. Load controllers that drive
/// several rooms count. Receptacles are decided, too, where nothing is plugged in that may lose its power and
/// no receptacles are counted.
std::set<Part> decided_parts(const domain::Project& project, const domain::Design& design,
                             const std::string& space);
/// The same controls without a part. Without stations people have no switch until one is put in; load
/// controllers that stay drive the luminaires of groups that go by name. Partition sensors stay: other
/// occupancy sensors need the same. Without receptacles nothing that is
/// plugged in loses its power in the proposal.
RoomControls without(RoomControls controls, Part part);
/// The same controls with some parts as another design for the room has them. What these need comes along: a
/// scene and trim where there is none, and for occupancy the clock of its sequence and, where the room has
/// none, its partition sensor. Load controllers that
/// stay drive as `without` has it.
RoomControls with_parts_of(RoomControls controls, const RoomControls& design, const std::set<Part>& parts);

/// The project with other controls of a space in its proposal; what is on its lists to be removed stays
/// there. Load controllers of several rooms lose the groups of this one that are gone and, where the room has
/// controllers of its own, all groups and luminaires of this one.
domain::Project with_controls(const domain::Project& project, const std::string& space,
                              const RoomControls& controls);

/// Luminaires of a design that stand in a space and do not plug in, in the order of the document.
std::vector<domain::Luminaire> fixed_luminaires(const domain::Project& project, const domain::Design& design,
                                                const std::string& space);

/// Whether a room gets its part of a design from its typical: its luminaires are called by its id, a point
/// and what the typical calls them.
bool inherits_design(const domain::Space& space, const domain::Design& design);
/// The room itself first, then, where it inherits its part of a design, those that do so from the same
/// typical: what one gets they all get.
std::vector<std::string> rooms_alike(const domain::Project& project, const domain::Design& design,
                                     const domain::Space& space);

/// "G02-O1", or the next number whose id is not in `taken`; adds it.
std::string fresh_id(const std::string& stem, std::set<std::string>& taken);
/// Every id of a design but those of one room's controls; with those of what is to be removed there.
std::set<std::string> ids_beside(const domain::Design& design, const std::string& space);

}  // namespace halflight::choose
