#pragma once
#include "base/units.hpp"
#include "geometry/vector.hpp"

#include <algorithm>
#include <cmath>

namespace halflight {

/// A direction about frame.z whose cosine to it is `cosine`, at azimuth `turn` in [0, 1) of a full turn.
inline Vector3 direction_about(const Frame& frame, double cosine, double turn) {
  const double phi = 2.0 * kPi * turn;
  const double sine = std::sqrt(std::max(0.0, 1.0 - cosine * cosine));
  return (sine * std::cos(phi)) * frame.x + (sine * std::sin(phi)) * frame.y + cosine * frame.z;
}

}  // namespace halflight
