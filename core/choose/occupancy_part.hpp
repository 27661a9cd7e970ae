#pragma once
#include "domain/project.hpp"

#include <string>
#include <vector>

// Occupancy sensors that a room could have (docs/methods/proposals.md).

namespace halflight::choose {

/// One way to notice the people of a room; without sensors, to leave it to their hands.
struct OccupancyPart {
  std::string words;  ///< "2 ceiling sensors", "no occupancy sensors"
  std::string why;    ///< in a sentence
  std::vector<domain::OccupancySensor> sensors;  ///< placed, without ids and groups
};

/// None, and the cheapest set of each mounting that notices everybody; the cheapest set first.
std::vector<OccupancyPart> occupancy_parts(const domain::Project& project, const domain::Library& library,
                                           const domain::Space& space);

}  // namespace halflight::choose
