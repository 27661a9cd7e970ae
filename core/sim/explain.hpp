#pragma once
#include "results/study.hpp"
#include "sim/space_year.hpp"

namespace halflight::sim {

/// "Why this minute" of the proposal in replicate 0, through the same code path as the year. `civil`: the
/// clock on the wall.
results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil);

}  // namespace halflight::sim
