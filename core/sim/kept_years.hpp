#pragma once
#include "base/hash.hpp"
#include "sim/space_results.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace halflight::sim {

/// Key of a space's years of use: what the caller vouches for as `content` (StudyInputs::content_keys), the
/// light as it stands in memory, and every draw. `daylight_by_year`: of this space, by weather year.
Hash years_key(const Hash& content, const SpaceModel& model,
               std::span<const SpaceDaylight* const> daylight_by_year, std::span<const Draws> draws);

/// The runs as they are kept in the blob store, to the bit. The first one carries the picture.
std::vector<std::byte> to_bytes(SpaceRuns runs);
/// Nothing when `bytes` do not hold `replicates` runs of the space.
std::optional<SpaceRuns> runs_of(std::span<const std::byte> bytes, std::size_t replicates,
                                 const SpaceModel& model);

}  // namespace halflight::sim
