#pragma once
#include "domain/project.hpp"

#include <string>
#include <vector>

// Occupancy sensors that a room could have (docs/methods/proposals.md).

namespace halflight::choose {

/// One way to notice the people of a room; without sensors, to leave it to their hands.
struct OccupancyPart {
  std::string words;                             ///< "2 ceiling sensors", "no occupancy sensors"
  std::string why;                               ///< in a sentence
  std::vector<domain::OccupancySensor> sensors;  ///< placed, without ids and groups
  /// Number of each sensor's group, from 0 on without a gap: its sensors govern the luminaires that are
  /// nearest to them, of a divided room on their own side of the wall. Empty: all govern all.
  std::vector<std::size_t> group_of{};
};

/// The cheapest set of each mounting that sees what the room asks (choose/sensor_cover.hpp), and none. In
/// large rooms sets of several sensors also with a group for each, or where these would be more than eight,
/// with groups of neighbours as large as energy codes let one zone be. Where bookings divide the room
/// (domain::wall_in_use) each side has sensors and groups of its own, chosen while the wall stands; sets that
/// leave a side without are not among them. Where no set sees everything, the best that there is says in
/// `why` what stays unseen.
std::vector<OccupancyPart> occupancy_parts(const domain::Project& project, const domain::Library& library,
                                           const domain::Design& design, const domain::Space& space);

}  // namespace halflight::choose
