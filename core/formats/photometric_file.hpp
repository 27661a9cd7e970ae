#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace halflight::formats {

struct PhotometryOptions {
  /// The bytes of another file by the name that follows TILT=, or nothing. Without it TILT=file is refused.
  std::function<std::optional<std::string>(std::string_view name)> other_file;
  /// Which set of lamps of an EULUMDAT file is installed, from 1. None: the first, with a warning where there
  /// are several. For other files it is not used, and a warning says so.
  std::optional<int> lamp_set;
};

/// Reads an IES LM-63 file of any edition (1986 without a first line, 1991, 1995, 2002, 2019), photometric
/// types A, B and C, TILT=NONE, TILT=INCLUDE and TILT=file. Numbers are separated by commas, blanks and line
/// ends and may wrap anywhere. Intensities come out absolute: value x candela multiplier x ballast factor x
/// ballast-lamp photometric factor (the last only before 2002; later editions use that field otherwise) x
/// lamp tilt multiplier at 0 degrees.
///
/// Text without TILT= whose second and third lines are small whole numbers is read as EULUMDAT
/// (formats/eulumdat.hpp).
///
/// Errors carry the line and column (in bytes, from 1) of what cannot be right; the first one ends the
/// reading. `warnings` (may be null) receives what was read but looks wrong. Never more memory than a small
/// multiple of the file; files above 16 MiB and more than 1,000 angles are refused.
Result<domain::IntensityDistribution> read_photometry(std::span<const std::byte> bytes,
                                                      std::string_view file_name, Diagnostics* warnings,
                                                      const PhotometryOptions& options = {});

/// The distribution as an LM-63 file of the 2019 edition, in metres, with multiplier 1 and the absolute
/// intensities written so that reading gives back the same numbers. Required keywords that the distribution
/// lacks are filled with a plain statement that no test was made.
std::string write_lm63(const domain::IntensityDistribution& distribution);

}  // namespace halflight::formats
