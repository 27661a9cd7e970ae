#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"
#include "projects/other_files.hpp"

#include <optional>
#include <span>
#include <string>

namespace halflight::projects {

/// The distribution in `bytes`, which are those of `name` among `others`. A tilt table that the file names is
/// read from beside it, and from nowhere else. `lamp_set` and `warnings` as in formats::read_photometry.
Result<domain::IntensityDistribution> read_photometry_of(const OtherFiles& others, const std::string& name,
                                                         std::span<const std::byte> bytes,
                                                         Diagnostics* warnings,
                                                         std::optional<int> lamp_set = {});

}  // namespace halflight::projects
