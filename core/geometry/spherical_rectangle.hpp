#pragma once
#include "geometry/vector.hpp"

namespace halflight {

/// A rectangle as seen from a place, sampled evenly by solid angle: parts that are near are not missed, as
/// they are by points spread evenly over its area. C. Urena, M. Fajardo, A. King, An Area-Preserving
/// Parametrization for Spherical Rectangles, Computer Graphics Forum 32(4), 2013.
class SphericalRectangle {
 public:
  /// `corner`, and `width_m` along `frame.x` by `height_m` along `frame.y`. `from` must not lie in the
  /// rectangle's plane.
  SphericalRectangle(Point3 from, Point3 corner, const Frame& frame, double width_m, double height_m);

  [[nodiscard]] double solid_angle_sr() const { return solid_angle_; }
  /// Place on the rectangle, in m from its corner along frame.x and frame.y, for u and v in [0, 1).
  [[nodiscard]] Point2 at(double u, double v) const;

 private:
  double x0_;
  double x1_;
  double y0_;
  double y1_;
  double z0_;  // below 0
  double b0_;
  double b1_;
  double k_;
  double solid_angle_;
};

}  // namespace halflight
