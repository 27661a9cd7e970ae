#pragma once
#include "photometry/summary.hpp"

namespace halflight::photometry {

/// What looks suspicious in a file: warnings with the number found, what would be usual and what to do, each
/// ending with the number of its rule (docs/rules/photometry.md). `summary` is that of `distribution`, its
/// warnings not yet filled. Nothing here proves a file wrong, and no result depends on it.
Diagnostics suspicions(const PhotometricSummary& summary, const domain::IntensityDistribution& distribution,
                       const std::string& file_name);

}  // namespace halflight::photometry
