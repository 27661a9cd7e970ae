#include "daylight/well.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <Eigen/LU>

namespace halflight::daylight {

namespace {

constexpr int kRings = 16;

/// From a rectangle a x b to an equal one straight opposite at distance c (Howell, C-11).
double opposed_rectangles(double a, double b, double c) {
  if (c <= 0.0) return 1.0;
  const double x = a / c;
  const double y = b / c;
  const double u = std::sqrt(1.0 + x * x);
  const double v = std::sqrt(1.0 + y * y);
  return 2.0 / (kPi * x * y) *
         (0.5 * std::log(u * u * v * v / (1.0 + x * x + y * y)) + x * v * std::atan(x / v) +
          y * u * std::atan(y / u) - x * std::atan(x) - y * std::atan(y));
}

}  // namespace

WellLaw::WellLaw(const Well& well) : well_(well) {
  const double ring_m = well.depth_m / kRings;
  // From one section of the shaft to another, by the number of rings between them.
  std::vector<double> section;
  for (int k = 0; k <= kRings; ++k)
    section.push_back(opposed_rectangles(well.length_m, well.width_m, k * ring_m));
  const auto from_section = [&](int rings) { return section[static_cast<std::size_t>(rings)]; };
  const double section_of_ring =
      well.length_m * well.width_m / (2.0 * (well.length_m + well.width_m) * ring_m);
  // From a ring to a section whose nearer side is `rings` away.
  const auto from_ring = [&](int rings) {
    return section_of_ring * (from_section(rings) - from_section(rings + 1));
  };
  Eigen::MatrixXd system = Eigen::MatrixXd::Identity(kRings, kRings);
  Eigen::VectorXd to_bottom(kRings);
  for (int i = 0; i < kRings; ++i) {
    for (int j = 0; j < kRings; ++j) {
      const int between = std::abs(i - j);
      const double factor =
          between == 0 ? 1.0 - 2.0 * from_ring(0) : from_ring(between - 1) - from_ring(between);
      system(i, j) -= well.reflectance * factor;
    }
    to_bottom(i) = well.reflectance * from_ring(kRings - 1 - i);
  }
  const Eigen::VectorXd leaves = Eigen::PartialPivLU<Eigen::MatrixXd>(system).solve(to_bottom);
  leaves_.assign(leaves.data(), leaves.data() + leaves.size());
  even_ = from_section(kRings);
  for (int i = 0; i < kRings; ++i)
    even_ += (from_section(i) - from_section(i + 1)) * leaves_[static_cast<std::size_t>(i)];
}

double WellLaw::straight_to(double depth_m, Vector3 towards) const {
  if (towards.z <= 0.0) return 0.0;
  const double x = std::abs(towards.x * well_.along.x + towards.y * well_.along.y) / towards.z;
  const double y = std::abs(-towards.x * well_.along.y + towards.y * well_.along.x) / towards.z;
  return std::max(0.0, 1.0 - depth_m * x / well_.length_m) * std::max(0.0, 1.0 - depth_m * y / well_.width_m);
}

double WellLaw::straight(Vector3 towards) const { return straight_to(well_.depth_m, towards); }

double WellLaw::scattered(Vector3 towards) const {
  const double ring_m = well_.depth_m / kRings;
  double sum = 0.0;
  double above = straight_to(0.0, towards);
  for (int i = 0; i < kRings; ++i) {
    const double below = straight_to((i + 1) * ring_m, towards);
    sum += (above - below) * leaves_[static_cast<std::size_t>(i)];
    above = below;
  }
  return sum;
}

}  // namespace halflight::daylight
