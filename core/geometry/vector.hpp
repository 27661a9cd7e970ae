#pragma once
#include <cmath>

namespace halflight {

// Points and vectors are different things: subtracting points gives a vector, and only vectors have a length.
// Building axes: x east and y north before the site's true-north rotation, z up; metres.

struct Vector2 {
  double x = 0.0;
  double y = 0.0;
};
struct Point2 {
  double x = 0.0;
  double y = 0.0;
  friend bool operator==(const Point2&, const Point2&) = default;
};
constexpr Vector2 operator-(Point2 a, Point2 b) { return {a.x - b.x, a.y - b.y}; }
constexpr Point2 operator+(Point2 p, Vector2 v) { return {p.x + v.x, p.y + v.y}; }
constexpr Vector2 operator*(double k, Vector2 v) { return {k * v.x, k * v.y}; }
constexpr double dot(Vector2 a, Vector2 b) { return a.x * b.x + a.y * b.y; }
constexpr double cross(Vector2 a, Vector2 b) { return a.x * b.y - a.y * b.x; }
inline double length(Vector2 v) { return std::hypot(v.x, v.y); }

struct Vector3 {
  double x = 0.0;
  double y = 0.0;
  double z = 0.0;
};
struct Point3 {
  double x = 0.0;
  double y = 0.0;
  double z = 0.0;
  friend bool operator==(const Point3&, const Point3&) = default;
};
constexpr Vector3 operator-(Point3 a, Point3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
constexpr Point3 operator+(Point3 p, Vector3 v) { return {p.x + v.x, p.y + v.y, p.z + v.z}; }
constexpr Vector3 operator+(Vector3 a, Vector3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
constexpr Vector3 operator-(Vector3 a, Vector3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
constexpr Vector3 operator-(Vector3 v) { return {-v.x, -v.y, -v.z}; }
constexpr Vector3 operator*(double k, Vector3 v) { return {k * v.x, k * v.y, k * v.z}; }
constexpr double dot(Vector3 a, Vector3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
constexpr Vector3 cross(Vector3 a, Vector3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline double length(Vector3 v) { return std::sqrt(dot(v, v)); }
/// Unit vector; `v` must not be zero.
inline Vector3 normalized(Vector3 v) { return (1.0 / length(v)) * v; }

/// An orthonormal frame: `x` and `y` span the plane, `z` is its normal, z = x cross y.
struct Frame {
  Vector3 x{1, 0, 0};
  Vector3 y{0, 1, 0};
  Vector3 z{0, 0, 1};
};
/// A frame about a unit normal, continuous except at -z (Duff et al., "Building an orthonormal basis,
/// revisited", JCGT 6(1), 2017).
inline Frame frame_about(Vector3 n) {
  const double sign = std::copysign(1.0, n.z);
  const double a = -1.0 / (sign + n.z);
  const double b = n.x * n.y * a;
  return {{1.0 + sign * n.x * n.x * a, sign * b, -sign * n.x}, {b, sign + n.y * n.y * a, -n.y}, n};
}

}  // namespace halflight
