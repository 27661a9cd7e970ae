#pragma once
#include "geometry/low_discrepancy.hpp"
#include "geometry/rays.hpp"

#include <cstdint>

namespace halflight {

/// Directions about an axis of density cos^(exponent + 1)(theta) sin(theta), of which the last 1 - `within`,
/// at the largest angles, is left out.
struct CosineLobe {
  double exponent = 0.0;  ///< 0: as a diffuse surface sends light
  double within = 1.0;
};

/// Sets the direction of every ray about frame.z by the coordinates `dimension` and `dimension` + 1 of the
/// point of its number. Unit vectors to single precision.
void spread_about(const Frame& frame, const CosineLobe& lobe, const SampleStream& stream,
                  std::uint32_t dimension, Rays& rays);

}  // namespace halflight
