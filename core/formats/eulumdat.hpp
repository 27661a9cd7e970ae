#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"

#include <optional>
#include <string_view>

namespace halflight::formats {

/// Whether text without a TILT= line looks like EULUMDAT: its second and third lines are the small whole
/// numbers of luminaire kind and symmetry.
bool looks_like_eulumdat(std::string_view text);

/// Reads EULUMDAT (Stockmar 1990, 1998): one value a line. Intensities are cd per 1,000 lm of lamps and come
/// out absolute, with the flux of the set of lamps `lamp_set` (from 1; none: the first) and the file's
/// conversion factor. The format lays the luminaire's length along C90-C270 (from memory), so the planes turn
/// by 90 degrees into the luminaire frame, whose length lies along 0-180. Errors carry the line; the first
/// one ends the reading. Called by `read_photometry`.
Result<domain::IntensityDistribution> read_eulumdat(std::string_view text, std::string_view file_name,
                                                    Diagnostics* warnings, std::optional<int> lamp_set = {});

}  // namespace halflight::formats
