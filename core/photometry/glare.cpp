#include "photometry/glare.hpp"

#include "base/units.hpp"

#include <cmath>

namespace halflight::photometry {

std::optional<double> unified_glare_rating(std::span<const GlareSource> sources, double background_cd_m2) {
  double sum = 0.0;
  for (const GlareSource& source : sources) {
    const double weighted = source.luminance_cd_m2 / source.position_index;
    sum += weighted * weighted * source.solid_angle_sr;
  }
  if (sum <= 0.0 || background_cd_m2 <= 0.0) return std::nullopt;
  return 8.0 * std::log10(0.25 / background_cd_m2 * sum);
}

std::optional<double> position_index(Vector3 line_of_sight, Vector3 towards_source) {
  constexpr double kHighest = 1.9;
  constexpr double kWidest = 3.0;
  const double along = dot(towards_source, line_of_sight);
  if (along <= 0.0) return std::nullopt;
  const double up = towards_source.z / along;
  const double aside =
      length(towards_source - along * line_of_sight - Vector3{0, 0, towards_source.z}) / along;
  if (up > kHighest || aside > kWidest) return std::nullopt;
  const double away = std::hypot(up, aside);
  if (up < 0.0) return 1.0 + (away < 0.6 ? 0.8 : 1.2) * away;
  const double a = std::atan2(aside, up) / kRadPerDeg;  // from the vertical, about the line of sight
  const double b = std::atan(away) / kRadPerDeg;        // from the line of sight
  return std::exp((35.2 - 0.31889 * a - 1.22 * std::exp(-2.0 * a / 9.0)) * 1e-3 * b +
                  (21.0 + 0.26667 * a - 0.002963 * a * a) * 1e-5 * b * b);
}

}  // namespace halflight::photometry
