#include "geometry/spherical_rectangle.hpp"

#include "base/random.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace halflight {
namespace {

const Frame kUpright{{1, 0, 0}, {0, 0, 1}, {0, -1, 0}};

// A rectangle of w by h at distance d on the axis subtends 4 arcsin(w h / sqrt((w^2 + 4 d^2)(h^2 + 4 d^2))).
TEST(SphericalRectangle, HasTheSolidAngleOfAPyramid) {
  for (const auto& [w, h, d] : {std::tuple{2.0, 1.0, 0.02}, {2.0, 1.0, 1.0}, {0.6, 3.0, 12.0}}) {
    const SphericalRectangle r({0.5 * w, -d, 0.5 * h}, {0, 0, 0}, kUpright, w, h);
    EXPECT_NEAR(r.solid_angle_sr(),
                4.0 * std::asin(w * h / std::sqrt((w * w + 4 * d * d) * (h * h + 4 * d * d))), 1e-12);
  }
}

// Even by solid angle: the mean of the cosine to an axis over the samples, times the solid angle, is pi times
// the configuration factor (Howell's catalogue, B-3: corner of a parallel rectangle straight ahead).
TEST(SphericalRectangle, IsSampledEvenlyBySolidAngle) {
  for (const double distance : {0.01, 0.3, 4.0}) {
    const double a = 2.0 / distance;
    const double b = 1.5 / distance;
    const double p = std::sqrt(1.0 + a * a);
    const double q = std::sqrt(1.0 + b * b);
    const double expected = 0.5 * (a / p * std::atan(b / p) + b / q * std::atan(a / q));
    const Point3 from{0, -distance, 0};
    const SphericalRectangle r(from, {0, 0, 0}, kUpright, 2.0, 1.5);
    constexpr int n = 4096;
    double sum = 0.0;
    for (std::uint32_t i = 0; i < n; ++i) {
      const Point2 at = r.at(sobol(i, 0, 5), sobol(i, 1, 5));
      ASSERT_TRUE(at.x >= 0.0 && at.x <= 2.0 && at.y >= 0.0 && at.y <= 1.5);
      sum += dot(normalized(Point3{at.x, 0, at.y} - from), Vector3{0, 1, 0});
    }
    // 4,096 points of a scrambled net leave well below a thousandth on a smooth integrand.
    EXPECT_NEAR(sum / n * r.solid_angle_sr(), expected, 1e-3 * expected);
  }
}

}  // namespace
}  // namespace halflight
