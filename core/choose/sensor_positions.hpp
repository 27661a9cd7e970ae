#pragma once
#include "choose/canonical_room.hpp"
#include "domain/device_kind.hpp"
#include "geometry/polygon.hpp"

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

// Where occupancy sensors of a kind could hang in a room, and where they must not
// (docs/methods/sensor_cover.md). Everything is in the axes of a canonical room.

namespace halflight::choose {

/// A kind of device with what one of it costs, installed and set to work.
struct SensorOffer {
  const domain::DeviceKind* kind = nullptr;  ///< with `occupancy`
  double cost = 0.0;                         ///< money, at least 0
};

/// Why a place is refused.
enum class Refusal {
  looks_out,          ///< sees people beyond an open door, or through glass where waves pass it
  ceiling_too_high,   ///< sound does not carry so far down
  at_luminaire,       ///< a luminaire is in the way on the ceiling
  under_something,    ///< something stands there as high as the device hangs
  at_opening,         ///< a window or door is where the device would hang
  no_wall_at_latch,   ///< the wall ends before there is room beside the latch
  in_door_swing,      ///< the leaf of a door sweeps over it or stands before it
  sees_part_of_room,  ///< in a wall box it has to see the whole room
};
/// "looks out of an open door or through glass".
std::string_view words(Refusal refusal);

/// One way to place a device of an offer, or one in every luminaire.
struct SensorCandidate {
  std::size_t offer = 0;
  std::vector<domain::OccupancySensor> sensors;  ///< of in_luminaire only those that do not look out
  std::size_t devices = 1;                       ///< that are paid
  Region major;                                  ///< that they see of the room together
  Region minor;
};

struct RefusedPosition {
  std::size_t offer = 0;
  domain::OccupancySensor sensor;
  Refusal why = Refusal::looks_out;
};

struct SensorPositions {
  std::vector<SensorCandidate> candidates;
  std::vector<RefusedPosition> refused;
};

/// How far beyond a door or pane a sensor may notice people, m: who walks by close to the wall is not
/// told from who comes in (common practice, no source).
inline constexpr double kMostOutside_m = 1.0;
/// Ceilings above which ultrasonic sensors are not used, m (14 ft: trade guides).
inline constexpr double kHighestForSound_m = 4.3;
/// Places on the ceiling for each kind, at most; directions of a lens count apart.
inline constexpr std::size_t kMostOnCeiling = 300;
/// Between places on the ceiling, m: at least.
inline constexpr double kLeastCeilingStep_m = 0.6;

/// Places for each offer: of kinds for the ceiling on a raster along the longest wall and, where that is
/// coarser than 1.2 m, over the places at which people work; of kinds for the wall
/// in corners and evenly along walls, of wall boxes beside the latch of each door, of kinds for luminaires
/// one in each. Of other mountings none.
SensorPositions sensor_positions(const CanonicalRoom& room, std::span<const SensorOffer> offers,
                                 std::span<const domain::LuminaireType> luminaire_types);

/// How far beyond the doors and panes of a room the sensor notices people who walk, m: across the wall, to
/// the end of its shape or where the head of the opening ends the view. `major`: what it sees of the room.
double looks_out_m(const domain::OccupancySensor& sensor, const domain::Space& space, const Region& major);

/// The space as sensors see it, without what neither hides nor stops: task areas and the furniture at which
/// people work. Every field stays as it is.
domain::Space as_sensors_see(const domain::Space& space);

}  // namespace halflight::choose
