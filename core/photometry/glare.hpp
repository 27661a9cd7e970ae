#pragma once
#include "geometry/vector.hpp"

#include <optional>
#include <span>

// Unified glare rating (CIE 117:1995, CIE 190:2010): docs/methods/glare.md.

namespace halflight::photometry {

/// Solid angles of a source within which the rating holds, sr (CIE 117, from memory).
inline constexpr double kSmallestGlareSource_sr = 0.0003;
inline constexpr double kLargestGlareSource_sr = 0.1;

/// A luminous area in the field of view.
struct GlareSource {
  double luminance_cd_m2 = 0.0;  ///< mean, toward the eye
  double solid_angle_sr = 0.0;
  double position_index = 1.0;
};

/// 8 log10[(0.25 / Lb) Sum(L^2 omega / p^2)]. `background_cd_m2`: indirect vertical illuminance at the eye /
/// pi. Nothing without light from the sources or without a background.
std::optional<double> unified_glare_rating(std::span<const GlareSource> sources, double background_cd_m2);

/// Guth's position index of a direction towards a source for a level line of sight, both unit vectors, z up:
/// 1 on the line of sight, greater away from it. Above it Levin's fit (J. IES 1975); below it the form of
/// Iwata and Tokura (1997), both from memory. Nothing where the table of CIE 117 has none (from memory): at
/// and behind the eye, above 1.9 or sideways beyond 3 times the distance along the line of sight.
std::optional<double> position_index(Vector3 line_of_sight, Vector3 towards_source);

}  // namespace halflight::photometry
