#include "geometry/configuration_factor.hpp"

#include "base/units.hpp"

#include <cmath>
#include <vector>

namespace halflight {

double configuration_factor(Point3 at, Vector3 normal, std::span<const Point3> polygon) {
  // Corners on the plane itself add nothing to edges between them, so cutting at the plane loses nothing.
  std::vector<Vector3> seen;
  seen.reserve(polygon.size() + 1);
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vector3 a = polygon[i] - at;
    const Vector3 b = polygon[(i + 1) % polygon.size()] - at;
    const double above_a = dot(a, normal);
    const double above_b = dot(b, normal);
    if (above_a >= 0.0) seen.push_back(a);
    if ((above_a > 0.0 && above_b < 0.0) || (above_a < 0.0 && above_b > 0.0))
      seen.push_back(a + (above_a / (above_a - above_b)) * (b - a));
  }
  double sum = 0.0;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const Vector3 a = seen[i];
    const Vector3 b = seen[(i + 1) % seen.size()];
    const Vector3 across = cross(a, b);
    const double sine = length(across);
    if (sine <= 0.0) continue;  // an edge that points at the place
    sum += std::atan2(sine, dot(a, b)) * dot(across, normal) / sine;
  }
  return sum / (2.0 * kPi);
}

}  // namespace halflight
