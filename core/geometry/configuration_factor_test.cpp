#include "geometry/configuration_factor.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

namespace halflight {
namespace {

using Corners = std::vector<Point3>;

Corners level_rectangle(double x0, double y0, double x1, double y1, double z) {
  return {{x0, y0, z}, {x1, y0, z}, {x1, y1, z}, {x0, y1, z}};
}

// J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors, B-3: plane element to a parallel
// rectangle, a x b at distance 1, with one corner on the element's normal.
double parallel_corner(double a, double b) {
  const double p = std::sqrt(1.0 + a * a);
  const double q = std::sqrt(1.0 + b * b);
  return (a / p * std::atan(b / p) + b / q * std::atan(a / q)) / (2.0 * kPi);
}

// The same catalogue, B-4: plane element to a rectangle a wide and b high that stands at right angles at
// distance 1, with its lower corner on the element's plane straight ahead.
double upright_corner(double a, double b) {
  const double q = std::sqrt(1.0 + b * b);
  return (std::atan(a) - std::atan(a / q) / q) / (2.0 * kPi);
}

TEST(ConfigurationFactor, OfParallelRectangles) {
  for (const auto& [a, b] : {std::pair{1.0, 1.0}, {0.2, 3.0}, {40.0, 0.01}})
    EXPECT_NEAR(configuration_factor({0, 0, 0}, {0, 0, 1}, level_rectangle(0, 0, a, b, 1.0)),
                parallel_corner(a, b), 1e-12);
}

TEST(ConfigurationFactor, CutsWhatLiesBehindThePlane) {
  for (const double below : {0.0, 0.5, 7.0}) {
    const Corners wall = {{1, 0, -below}, {1, 2, -below}, {1, 2, 1.5}, {1, 0, 1.5}};
    EXPECT_NEAR(std::abs(configuration_factor({0, 0, 0}, {0, 0, 1}, wall)), upright_corner(2.0, 1.5), 1e-12);
  }
  EXPECT_EQ(configuration_factor({0, 0, 0}, {0, 0, 1}, level_rectangle(0, 0, 1, 1, -1.0)), 0.0);
}

TEST(ConfigurationFactor, OfAllAroundIsOne) {
  // A hemisphere's worth of faces of a box about the element.
  const std::array<Corners, 5> faces = {level_rectangle(-1, -1, 1, 1, 0.7),
                                        Corners{{1, -1, 0}, {1, 1, 0}, {1, 1, 0.7}, {1, -1, 0.7}},
                                        Corners{{-1, 1, 0}, {-1, -1, 0}, {-1, -1, 0.7}, {-1, 1, 0.7}},
                                        Corners{{1, 1, 0}, {-1, 1, 0}, {-1, 1, 0.7}, {1, 1, 0.7}},
                                        Corners{{-1, -1, 0}, {1, -1, 0}, {1, -1, 0.7}, {-1, -1, 0.7}}};
  double sum = 0.0;
  for (const Corners& face : faces) sum += std::abs(configuration_factor({0.3, -0.2, 0}, {0, 0, 1}, face));
  EXPECT_NEAR(sum, 1.0, 1e-12);
}

TEST(ConfigurationFactor, TurnsItsSignWithTheOrderOfCorners) {
  Corners face = level_rectangle(0, 0, 1, 2, 1.0);
  const double one_way = configuration_factor({0.1, 0.2, 0}, {0, 0, 1}, face);
  std::reverse(face.begin(), face.end());
  EXPECT_GT(one_way, 0.0);
  EXPECT_DOUBLE_EQ(configuration_factor({0.1, 0.2, 0}, {0, 0, 1}, face), -one_way);
}

}  // namespace
}  // namespace halflight
