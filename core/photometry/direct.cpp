#include "photometry/direct.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::photometry {
namespace {

using domain::LuminousOpening;
using Shape = LuminousOpening::Shape;

constexpr int kMostParts = 64;
constexpr double kPartsPerDistance = 5.0;
constexpr double kUndividedPerDistance = 10.0;

int parts_along(double extent_m, double distance_m) {
  if (extent_m * kUndividedPerDistance <= distance_m) return 1;
  return 2 * std::max(1, static_cast<int>(std::ceil(0.5 * kPartsPerDistance * extent_m / distance_m)));
}

/// Position of point i of n on [-1/2, 1/2]: middles for odd n, pairs of two-point Gauss positions for even n.
double place(int i, int n) {
  if (n % 2 == 1) return (i + 0.5) / n - 0.5;
  constexpr double kGauss = 0.57735026918962576;  // 1 / sqrt(3)
  const double half_pair = 1.0 / n;               // a pair spans 2 / n
  const int pair = i / 2;
  const double middle = (2 * pair + 1) * half_pair - 0.5;
  return middle + (i % 2 == 0 ? -kGauss : kGauss) * half_pair;
}

struct Pair {
  double a;
  double b;
};
/// Square [-1/2, 1/2]^2 to the disc of diameter 1, equal areas (P. Shirley, K. Chiu, "A low distortion map
/// between disk and square", Journal of Graphics Tools 2(3), 1997).
Pair disc(double u, double v) {
  if (u == 0.0 && v == 0.0) return {0.0, 0.0};
  if (std::abs(u) > std::abs(v)) {
    const double angle = 0.25 * kPi * (v / u);
    return {u * std::cos(angle), u * std::sin(angle)};
  }
  const double angle = 0.25 * kPi * (u / v);
  return {v * std::sin(angle), v * std::cos(angle)};
}

/// Point of the opening for coordinates in [-1/2, 1/2]^3, luminaire frame.
Vector3 on_opening(const LuminousOpening& o, double u, double v, double w) {
  switch (o.shape) {
    case Shape::point:
      return {};
    case Shape::rectangle:
    case Shape::box:
      return {o.length_m * u, o.width_m * v, o.height_m * w};
    case Shape::circle:
    case Shape::ellipse:
    case Shape::vertical_cylinder: {
      const Pair d = disc(u, v);
      return {o.length_m * d.a, o.width_m * d.b, o.height_m * w};
    }
    case Shape::cylinder_along:
    case Shape::vertical_ellipse: {
      const Pair d = disc(v, w);
      return {o.length_m * u, o.width_m * d.a, o.height_m * d.b};
    }
    case Shape::cylinder_across: {
      const Pair d = disc(u, w);
      return {o.length_m * d.a, o.width_m * v, o.height_m * d.b};
    }
    case Shape::sphere:
    case Shape::ellipsoid: {
      // Equal heights of a sphere have equal areas (Archimedes); u runs once around, v has no part in it.
      const double ring = std::sqrt(std::max(0.0, 1.0 - 4.0 * w * w));
      const double around = 2.0 * kPi * u;
      return {0.5 * o.length_m * ring * std::cos(around), 0.5 * o.width_m * ring * std::sin(around),
              o.height_m * w};
    }
  }
  return {};
}

Point3 in_building(const LuminaireSource& source, Vector3 local) {
  const Frame& f = source.orientation;
  return source.position + (local.x * f.x + local.y * f.y + local.z * f.z);
}

Vector3 in_luminaire(const LuminaireSource& source, Vector3 v) {
  const Frame& f = source.orientation;
  return {dot(v, f.x), dot(v, f.y), dot(v, f.z)};
}

template <class Visit>
void for_each_emitting_point(const LuminaireSource& source, Subdivision n, const Visit& visit) {
  const LuminousOpening& opening = source.distribution.data().opening;
  const double share = 1.0 / n.count();
  for (int k = 0; k < n.along_height; ++k)
    for (int j = 0; j < n.along_width; ++j)
      for (int i = 0; i < n.along_length; ++i)
        visit(
            EmittingPoint{in_building(source, on_opening(opening, place(i, n.along_length),
                                                         place(j, n.along_width), place(k, n.along_height))),
                          share});
}

}  // namespace

Frame luminaire_frame(double rotation_deg, double tilt_deg, double roll_deg) {
  const double cos_roll = std::cos(roll_deg * kRadPerDeg);
  const double sin_roll = std::sin(roll_deg * kRadPerDeg);
  const double cos_tilt = std::cos(tilt_deg * kRadPerDeg);
  const double sin_tilt = std::sin(tilt_deg * kRadPerDeg);
  const double cos_turn = std::cos(rotation_deg * kRadPerDeg);
  const double sin_turn = std::sin(rotation_deg * kRadPerDeg);
  const auto place_axis = [&](Vector3 v) {
    const Vector3 rolled{cos_roll * v.x - sin_roll * v.z, v.y, sin_roll * v.x + cos_roll * v.z};
    const Vector3 tilted{rolled.x, cos_tilt * rolled.y - sin_tilt * rolled.z,
                         sin_tilt * rolled.y + cos_tilt * rolled.z};
    return Vector3{cos_turn * tilted.x - sin_turn * tilted.y, sin_turn * tilted.x + cos_turn * tilted.y,
                   tilted.z};
  };
  return {place_axis({1, 0, 0}), place_axis({0, 1, 0}), place_axis({0, 0, 1})};
}

Subdivision required_subdivision(const LuminaireSource& source, double nearest_distance_m) {
  const LuminousOpening& o = source.distribution.data().opening;
  const double longest = std::max({o.length_m, o.width_m, o.height_m});
  if (o.shape == Shape::point || longest <= 0.0) return {};
  // The cap belongs to the longest axis; the others keep parts of the same size.
  const double d = std::max(nearest_distance_m, kPartsPerDistance * longest / kMostParts);
  if (o.shape == Shape::sphere || o.shape == Shape::ellipsoid)
    return {parts_along(kPi * std::max(o.length_m, o.width_m), d), 1, parts_along(o.height_m, d)};
  return {parts_along(o.length_m, d), parts_along(o.width_m, d), parts_along(o.height_m, d)};
}

std::vector<EmittingPoint> emitting_points(const LuminaireSource& source, Subdivision subdivision) {
  std::vector<EmittingPoint> points;
  points.reserve(static_cast<std::size_t>(subdivision.count()));
  for_each_emitting_point(source, subdivision, [&points](const EmittingPoint& p) { points.push_back(p); });
  return points;
}

double contribution_lx(const LuminaireSource& source, const EmittingPoint& from, Point3 at, Vector3 normal) {
  const Vector3 path = at - from.position;
  const double squared = dot(path, path);
  const double facing = -dot(path, normal);  // d cos(incidence)
  if (facing <= 0.0 || squared <= 0.0) return 0.0;
  const double distance = std::sqrt(squared);
  const double intensity = source.distribution.intensity_cd(in_luminaire(source, (1.0 / distance) * path));
  return from.share * intensity * facing / (squared * distance);
}

double distance_to_opening_m(const LuminaireSource& source, Point3 at) {
  const LuminousOpening& o = source.distribution.data().opening;
  const Vector3 local = in_luminaire(source, at - source.position);
  const Vector3 outside{std::max(0.0, std::abs(local.x) - 0.5 * o.length_m),
                        std::max(0.0, std::abs(local.y) - 0.5 * o.width_m),
                        std::max(0.0, std::abs(local.z) - 0.5 * o.height_m)};
  return length(outside);
}

double direct_illuminance_lx(const LuminaireSource& source, Point3 at, Vector3 normal) {
  double sum = 0.0;
  for_each_emitting_point(source, required_subdivision(source, distance_to_opening_m(source, at)),
                          [&](const EmittingPoint& p) { sum += contribution_lx(source, p, at, normal); });
  return sum;
}

}  // namespace halflight::photometry
