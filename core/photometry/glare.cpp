#include "photometry/glare.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::photometry {

double position_index(double from_vertical_deg, double from_sight_deg) {
  const double a = from_vertical_deg;
  const double b = from_sight_deg;
  return std::exp((35.2 - 0.31889 * a - 1.22 * std::exp(-2.0 * a / 9.0)) * 1e-3 * b +
                  (21.0 + 0.26667 * a - 0.002963 * a * a) * 1e-5 * b * b);
}

double position_index(Point3 eye, Vector3 sight, Point3 source) {
  const Vector3 to = source - eye;
  const double along = dot(to, sight);
  const double up = std::abs(to.z);
  const double aside = length(to - along * sight - Vector3{0.0, 0.0, to.z});
  return position_index(std::atan2(aside, up) / kRadPerDeg,
                        std::atan2(std::hypot(aside, up), along) / kRadPerDeg);
}

double unified_glare_rating(double background_cd_m2, std::span<const GlareSource> sources) {
  double sum = 0.0;
  for (const GlareSource& s : sources)
    sum += s.luminance_cd_m2 * s.luminance_cd_m2 * s.solid_angle_sr / (s.position_index * s.position_index);
  if (sum <= 0.0) return 0.0;
  return std::max(0.0, 8.0 * std::log10(0.25 * sum / background_cd_m2));
}

}  // namespace halflight::photometry
