#pragma once
#include <cstddef>
#include <span>
#include <string>
#include <vector>

// Which luminaires dim together with daylight (docs/methods/proposals.md).

namespace halflight::choose {

/// A luminaire as daylight sees it.
struct DaylitLuminaire {
  double saved_w = 0.0;      ///< input power that full dimming takes off
  std::vector<float> level;  ///< by step: the share of its light that daylight leaves it to give, 0..1
  std::string zone;          ///< luminaires of different zones may not dim together
  int side = 0;  ///< of a wall that divides the room: luminaires of different sides may not dim together
};

struct DaylightGrouping {
  std::vector<std::vector<std::size_t>> groups;  ///< indices of luminaires, ascending; by first member
  double saved_wh = 0.0;                         ///< against no dimming, over the steps
};

/// The best grouping found for each number of groups, from one for each zone and side up to one for each
/// luminaire: a group stands at the level of that member which daylight leaves the most to do, so that each
/// group more saves more. Found by joining, two at a time, the groups whose joining loses least, then moving
/// single luminaires while that gains: exact for one and for all groups, close to the best between them. Of
/// joinings that lose the same the first is taken, so luminaires come in an order that numbering does not
/// change (canonical_room.hpp). All `level` of one length; `step_h`: hours that a step stands for.
std::vector<DaylightGrouping> daylight_groupings(std::span<const DaylitLuminaire> luminaires, double step_h);

}  // namespace halflight::choose
