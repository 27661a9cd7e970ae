#pragma once
#include "geometry/vector.hpp"

#include <span>

namespace halflight {

/// Share of the diffuse light that arrives at a small plane, at `at` with unit `normal`, from a plane polygon
/// of even luminance L that nothing hides: illuminance = pi L times it. Positive where the corners run
/// clockwise as seen from `at`, negative otherwise: a hole, whose corners run the other way, takes its share
/// off. The part behind the plane is cut off. Not for places on the polygon itself. Contour integral of
/// Lambert (1760), as summed over edges by Sparrow (J. Heat Transfer 85, 1963).
double configuration_factor(Point3 at, Vector3 normal, std::span<const Point3> polygon);

}  // namespace halflight
