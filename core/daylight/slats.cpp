#include "daylight/slats.hpp"

#include "base/units.hpp"
#include "geometry/vector.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <Eigen/LU>

namespace halflight::daylight {

namespace {

// In the plane across the slats x points outside and y up.
struct Stretch {
  Point2 a;
  Point2 b;
};

double distance(Point2 p, Point2 q) { return length(q - p); }

/// View factor from one stretch to another of the same convex cell: crossed strings less uncrossed ones.
double view_factor(const Stretch& from, const Stretch& to) {
  const double straight = distance(from.a, to.a) + distance(from.b, to.b);
  const double crossed = distance(from.a, to.b) + distance(from.b, to.a);
  // Which ends face each other depends on how the stretches are named.
  return std::abs(crossed - straight) / (2.0 * distance(from.a, from.b));
}

constexpr int kStrips = 24;  // on each face
constexpr int kSteps = 180;
constexpr double kFirst_deg = -89.5;

/// One cell: the upper face of a slat and the lower face of the next one above it.
class Cell {
 public:
  explicit Cell(const SlatGeometry& slats) : slats_(slats), tilt_rad_(slats.tilt_deg * kRadPerDeg) {
    const Vector2 outwards{std::cos(tilt_rad_), -std::sin(tilt_rad_)};
    for (int face = 0; face < 2; ++face)
      for (int i = 0; i < kStrips; ++i) {
        const double y = face == 0 ? 0.0 : slats.spacing_m;
        const auto edge = [&](int k) {
          const double along = slats.width_m * k / kStrips;
          return Point2{along * outwards.x, y + along * outwards.y};
        };
        strips_.push_back({edge(i), edge(i + 1)});
      }
    Eigen::MatrixXd system = Eigen::MatrixXd::Identity(2 * kStrips, 2 * kStrips);
    for (int j = 0; j < 2 * kStrips; ++j)
      for (int i = 0; i < 2 * kStrips; ++i) {
        const bool face_each_other = (i < kStrips) != (j < kStrips);
        if (face_each_other)
          system(i, j) -= slats.reflectance * view_factor(strips_[static_cast<std::size_t>(j)],
                                                          strips_[static_cast<std::size_t>(i)]);
      }
    solved_.compute(system);
    // To the opening at the inner edges; what rises passes above the strip's own middle.
    for (const Stretch& strip : strips_) {
      const double split = std::clamp(0.5 * (strip.a.y + strip.b.y), 0.0, slats.spacing_m);
      down_.push_back(split > 0.0 ? view_factor(strip, {{0.0, 0.0}, {0.0, split}}) : 0.0);
      up_.push_back(split < slats.spacing_m ? view_factor(strip, {{0.0, split}, {0.0, slats.spacing_m}})
                                            : 0.0);
    }
  }

  [[nodiscard]] SlatOptics scattered(double profile_rad) const {
    const double side = std::sin(profile_rad + tilt_rad_);
    if (std::abs(side) < 1e-12 || slats_.reflectance <= 0.0) return {};
    // The first `lit` metres from the outer edge, on the upper face of the slat below or the lower face of
    // the slat above, share the light evenly.
    const double full_m = slats_.spacing_m * std::cos(profile_rad) / std::abs(side);
    const double lit_m = std::min(full_m, slats_.width_m);
    const int first = side > 0.0 ? 0 : kStrips;
    Eigen::VectorXd met = Eigen::VectorXd::Zero(2 * kStrips);
    const double strip_m = slats_.width_m / kStrips;
    for (int i = 0; i < kStrips; ++i) {
      const double from_inside_m = slats_.width_m - lit_m;
      const double covered = std::clamp((i + 1) * strip_m - from_inside_m, 0.0, strip_m);
      met(first + i) = covered / full_m;
    }
    const Eigen::VectorXd leaves = solved_.solve(slats_.reflectance * met);
    SlatOptics optics;
    for (int i = 0; i < 2 * kStrips; ++i) {
      optics.downwards += leaves(i) * down_[static_cast<std::size_t>(i)];
      optics.upwards += leaves(i) * up_[static_cast<std::size_t>(i)];
    }
    return optics;
  }

 private:
  SlatGeometry slats_;
  double tilt_rad_;
  std::vector<Stretch>
      strips_;  // upper face of the slat below from its inner edge, then the lower face above
  Eigen::PartialPivLU<Eigen::MatrixXd> solved_;
  std::vector<double> down_;
  std::vector<double> up_;
};

}  // namespace

double slat_openness(const SlatGeometry& slats, double profile_rad) {
  const double hidden = slats.width_m / slats.spacing_m *
                        std::abs(std::sin(profile_rad + slats.tilt_deg * kRadPerDeg)) / std::cos(profile_rad);
  return std::max(0.0, 1.0 - hidden);
}

SlatLaw::SlatLaw(const SlatGeometry& slats) : slats_(slats) {
  const Cell cell(slats);
  for (int i = 0; i < kSteps; ++i) table_.push_back(cell.scattered((kFirst_deg + i) * kRadPerDeg));
}

SlatOptics SlatLaw::at(double profile_rad) const {
  const double limit = -kFirst_deg * kRadPerDeg;
  const double profile = std::clamp(profile_rad, -limit, limit);
  const double x = profile / kRadPerDeg - kFirst_deg;
  const auto i = std::min(static_cast<std::size_t>(x), table_.size() - 2);
  const double f = x - static_cast<double>(i);
  return {slat_openness(slats_, profile), (1.0 - f) * table_[i].downwards + f * table_[i + 1].downwards,
          (1.0 - f) * table_[i].upwards + f * table_[i + 1].upwards};
}

}  // namespace halflight::daylight
