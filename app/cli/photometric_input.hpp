#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"
#include "files/file.hpp"

#include <filesystem>
#include <optional>

namespace halflight::cli {

/// The distribution in `bytes`, which are those of `path`. A tilt table that the file names is read from the
/// same folder, and from nowhere else. `lamp_set` and `warnings` as in formats::read_photometry.
Result<domain::IntensityDistribution> read_photometry_of(const std::filesystem::path& path,
                                                         const files::Bytes& bytes, Diagnostics* warnings,
                                                         std::optional<int> lamp_set = {});

}  // namespace halflight::cli
