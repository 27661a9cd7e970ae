#include "geometry/spherical_rectangle.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>

namespace halflight {

namespace {

/// Inner angle between two sides of a spherical polygon, of the normals of their planes.
double angle_between(Vector3 a, Vector3 b) { return std::acos(std::clamp(-dot(a, b), -1.0, 1.0)); }

}  // namespace

SphericalRectangle::SphericalRectangle(Point3 from, Point3 corner, const Frame& frame, double width_m,
                                       double height_m) {
  const Vector3 d = corner - from;
  x0_ = dot(d, frame.x);
  y0_ = dot(d, frame.y);
  z0_ = -std::abs(dot(d, frame.z));
  x1_ = x0_ + width_m;
  y1_ = y0_ + height_m;
  const Vector3 v00{x0_, y0_, z0_};
  const Vector3 v01{x0_, y1_, z0_};
  const Vector3 v10{x1_, y0_, z0_};
  const Vector3 v11{x1_, y1_, z0_};
  const Vector3 n0 = normalized(cross(v00, v10));
  const Vector3 n1 = normalized(cross(v10, v11));
  const Vector3 n2 = normalized(cross(v11, v01));
  const Vector3 n3 = normalized(cross(v01, v00));
  b0_ = n0.z;
  b1_ = n2.z;
  k_ = 2.0 * kPi - angle_between(n2, n3) - angle_between(n3, n0);
  solid_angle_ = angle_between(n0, n1) + angle_between(n1, n2) - k_;
}

Point2 SphericalRectangle::at(double u, double v) const {
  const double a = u * solid_angle_ + k_;
  const double f = (std::cos(a) * b0_ - b1_) / std::sin(a);
  const double c = std::clamp((f > 0.0 ? 1.0 : -1.0) / std::sqrt(f * f + b0_ * b0_), -1.0, 1.0);
  const double x = std::clamp(-c * z0_ / std::sqrt(std::max(1e-14, 1.0 - c * c)), x0_, x1_);
  const double d = std::sqrt(x * x + z0_ * z0_);
  const double h0 = y0_ / std::sqrt(d * d + y0_ * y0_);
  const double h1 = y1_ / std::sqrt(d * d + y1_ * y1_);
  const double h = h0 + v * (h1 - h0);
  const double y = std::clamp(h * d / std::sqrt(std::max(1e-14, 1.0 - h * h)), y0_, y1_);
  return {x - x0_, y - y0_};
}

}  // namespace halflight
