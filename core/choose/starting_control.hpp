#pragma once
#include "choose/starting_light.hpp"
#include "domain/code_rules.hpp"
#include "domain/project.hpp"

#include <optional>
#include <string>
#include <vector>

namespace halflight::choose {

/// What a design gets for one room: everything that is in it and how it behaves.
struct StartingRoom {
  std::vector<domain::Luminaire> luminaires;
  std::vector<domain::Group> groups;
  std::vector<domain::Scene> scenes;
  std::vector<domain::OccupancySensor> occupancy_sensors;
  std::vector<domain::Photosensor> photosensors;
  std::vector<domain::Station> stations;
  domain::Sequence sequence;
  std::vector<std::string> notes;  ///< what was assumed on the way, in sentences
};

/// The room that is begun, and what its ids begin with: "101-" gives "101-A1"; empty for the block of a
/// typical.
struct RoomForControl {
  const domain::Project& project;
  const domain::Space& space;
  const domain::SpaceKind& kind;
  const domain::DaylightZoneRule& zones;
  std::string id_prefix;
};

/// The proposal: luminaires of `lit` with a scene group for each row, one occupancy group, daylight groups
/// for those that lie in the primary and the secondary daylit zone, sensors that see the whole floor, a
/// photosensor for each daylight group, a station on the latch side of the first door, and the sequence that
/// is usual for the kind. Places are in building axes.
StartingRoom starting_room(const RoomForControl& room, const domain::LuminaireType& type, const LitGrid& lit);

/// The lighting as found: luminaires of `lit` in one group by a switch, brought on as is usual for the kind.
StartingRoom found_room(const RoomForControl& room, const domain::LuminaireType& type, const LitGrid& lit);

/// Hangs a photosensor at the ceiling before the middle of a window, tilted so that it sees little of the
/// room, and gives it an open loop.
void look_out_of(const domain::Space& space, const domain::Opening& window, domain::Photosensor& sensor);

/// Where sensors that see `reach_m` far stand so that no place on the floor, but for half a metre by the
/// walls, is farther from one.
std::vector<Point2> sensor_places(const Polygon& floor, double reach_m);

/// Where a hand finds the station: beside the latch of a door, or at the first corner without one; pushed
/// along the wall where the wall ends first.
Point2 station_place(const domain::Space& space, const domain::Door* door);
inline constexpr double kStationHeight_m = 1.1;
/// Where whoever presents finds one: on the wall beside a screen, 0.3 m from it on the side where the wall
/// goes on longer (common practice, no source); nothing where the wall ends before on both sides.
std::optional<Point2> place_beside_screen(const domain::Space& space, const domain::TaskArea& screen);

}  // namespace halflight::choose
