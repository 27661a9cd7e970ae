#pragma once
#include "results/study.hpp"
#include "sim/space_year.hpp"
#include "sim/way_at_work.hpp"

namespace halflight::sim {

/// "Why this minute": what stands at an instant of the clock on the wall, cause before effect. The replicate
/// must tell causes.
results::Moment explain_moment(const WayAtWork& work, Seconds civil);
/// The same of the proposal in a replicate that is run for this alone.
results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil);

}  // namespace halflight::sim
