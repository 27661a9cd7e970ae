#include "photometry/planes.hpp"

#include "base/units.hpp"
#include "photometry/test_distributions.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::PhotometricType;

double at(const PlaneCurve& c, double angle) {
  for (std::size_t i = 0; i < c.angle_deg.size(); ++i)
    if (c.angle_deg[i] == angle) return c.candela[i];
  return -1.0;
}

TEST(Planes, OfTypeCAreNamedByTheirTwoHalves) {
  const auto table =
      tabulate(PhotometricType::c, steps(0, 180, 5), steps(0, 360, 15),
               [](double t, double c) { return t + (c == 360.0 ? 0.0 : c) * (t > 0 && t < 180); });
  const auto curves = plane_curves(table);
  ASSERT_EQ(curves.size(), 3U);
  EXPECT_EQ(curves[0].name, "C0 to C180");
  EXPECT_EQ(curves[1].name, "C90 to C270");
  EXPECT_EQ(curves[1].positive, "C90");
  EXPECT_EQ(curves[1].negative, "C270");
  EXPECT_EQ(curves[2].name, "C345 to C165");  // the largest intensity, well above both
  EXPECT_NEAR(at(curves[0], 45.0), 45.0, 1e-9);
  EXPECT_NEAR(at(curves[0], -45.0), 45.0 + 180.0, 1e-9);
  EXPECT_NEAR(at(curves[1], 90.0), 90.0 + 90.0, 1e-9);
  EXPECT_NEAR(at(curves[1], -90.0), 90.0 + 270.0, 1e-9);
}

TEST(Planes, ThatAreAllAlikeAreOne) {
  const auto curves = plane_curves(
      tabulate(PhotometricType::c, {0, 90, 180}, {0}, [](double t, double) { return 180.0 - t; }));
  ASSERT_EQ(curves.size(), 1U);
  EXPECT_EQ(curves[0].name, "every plane");
  EXPECT_EQ(at(curves[0], 0.0), 180.0);
  EXPECT_NEAR(at(curves[0], -90.0), at(curves[0], 90.0), 1e-9);
}

TEST(Planes, OfFloodlightsPassThroughTheAim) {
  for (const PhotometricType type : {PhotometricType::a, PhotometricType::b}) {
    const auto curves = plane_curves(tabulate(type, steps(-90, 90, 5), steps(-90, 90, 5),
                                              [](double v, double h) { return 500 + 2 * v + h; }));
    ASSERT_EQ(curves.size(), 2U);
    EXPECT_EQ(curves[0].name, "along H, V = 0");
    EXPECT_EQ(curves[1].name, "along V, H = 0");
    EXPECT_EQ(curves[0].angle_deg.front(), -90.0);
    EXPECT_NEAR(at(curves[0], 40.0), 540.0, 1e-9);
    EXPECT_NEAR(at(curves[1], 40.0), 580.0, 1e-9);
    EXPECT_NEAR(at(curves[1], -40.0), 420.0, 1e-9);
  }
}

}  // namespace
}  // namespace halflight::photometry
