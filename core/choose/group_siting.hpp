#pragma once
#include "base/context.hpp"
#include "choose/daylight_part.hpp"

#include <cstddef>
#include <vector>

// Which of the places that are tried the photosensor of each daylight group of a room hangs at
// (docs/methods/proposals.md).

namespace halflight::choose {

/// Gives each group of a way the place that holds its light best with the loops of the others at work, and
/// takes out groups that no place can govern. `controls`: of the room beside these groups; the room is on the
/// bench of `trials` with all of `places`.
void site_groups(const sim::DesignTrials& trials, const domain::Project& project,
                 const RoomControls& controls, const DaylightPlaces& places, DaylightPart& part,
                 const Context& context);

/// Indices of those of `all` that lie farthest from one another, beginning with the first; at most so many.
std::vector<std::size_t> well_spread(const std::vector<Point2>& all, std::size_t most);

}  // namespace halflight::choose
