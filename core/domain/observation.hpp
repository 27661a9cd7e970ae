#pragma once
#include "geometry/vector.hpp"

#include <cmath>
#include <string>

namespace halflight::domain {

/// How an observation point weighs light by its angle from the direction it faces, on top of the cosine:
/// R(theta), with R(0) = 1 (sensing models of photosensors: docs/methods/photosensors.md).
struct AngularWeighting {
  enum class Kind {
    cosine,    ///< R = 1: an illuminance meter
    narrowed,  ///< R = cos^n, with n such that R is one half at `angle_deg`
    shielded,  ///< R = 1 within `angle_deg` and 0 beyond
  };
  Kind kind = Kind::cosine;
  double angle_deg = 90.0;

  /// R for a direction whose cosine with the facing direction is `cosine`; 0 behind.
  [[nodiscard]] double response(double cosine) const {
    if (cosine <= 0.0) return 0.0;
    switch (kind) {
      case Kind::cosine:
        return 1.0;
      case Kind::narrowed:
        return std::pow(cosine,
                        std::log(0.5) / std::log(std::cos(angle_deg * 3.14159265358979323846 / 180.0)));
      case Kind::shielded:
        return cosine >= std::cos(angle_deg * 3.14159265358979323846 / 180.0) ? 1.0 : 0.0;
    }
    return 1.0;
  }
  friend bool operator==(const AngularWeighting&, const AngularWeighting&) = default;
};

/// A desk point, a point on a board or stair, a sensor, an eye: all alike. Its reading is the integral of
/// L(d) R(theta) cos(theta) over the half-space it faces, in lx for a cosine weighting.
struct ObservationPoint {
  Point3 at;
  Vector3 facing{0, 0, 1};  ///< unit
  AngularWeighting weighting;
};

}  // namespace halflight::domain
