#include "choose/lumen_method.hpp"

#include "photometry/synthetic.hpp"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

domain::IntensityDistribution lamp(const std::string& formula) {
  photometry::SyntheticSpec spec;
  spec.formula = formula;
  spec.lumens = 3600.0;
  auto made = photometry::synthesise(spec);
  EXPECT_TRUE(made);
  return *std::move(made);
}

/// Configuration factor of two equal parallel rectangles: the closed form of the radiation-transfer
/// catalogues (J. R. Howell, "A catalog of radiation transfer configuration factors", C-11).
double parallel_rectangles(double a, double b, double c) {
  const double x = a / c;
  const double y = b / c;
  const double x1 = std::sqrt(1.0 + x * x);
  const double y1 = std::sqrt(1.0 + y * y);
  return 2.0 / (std::numbers::pi * x * y) *
         (std::log(x1 * y1 / std::sqrt(1.0 + x * x + y * y)) + x * y1 * std::atan(x / y1) +
          y * x1 * std::atan(y / x1) - x * std::atan(x) - y * std::atan(y));
}

TEST(LumenMethod, RoomIndexIsAreaOverHeightAndHalfPerimeter) {
  EXPECT_DOUBLE_EQ(room_index({8.0, 6.0, 2.0}), 48.0 / 28.0);
}

TEST(LumenMethod, EvenCosineLightMeetsThePlaneAsParallelRectanglesExchangeIt) {
  const auto cosine = lamp("cosine_down");
  constexpr double kIntegration = 2e-3;  // 2.5 degree steps of the tabulated distribution, interpolated
  for (const auto& [length, width, height] : {std::array{8.0, 6.0, 1.95}, {20.0, 2.0, 2.6}, {4.0, 4.0, 4.0}})
    EXPECT_NEAR(direct_share({length, width, height}, cosine), parallel_rectangles(length, width, height),
                kIntegration)
        << length << " x " << width << " x " << height;
}

TEST(LumenMethod, BlackRoomsGiveTheDirectShareAlone) {
  const auto cosine = lamp("cosine_down");
  const Cavity cavity{8.0, 6.0, 1.95};
  EXPECT_NEAR(utilisation(cavity, cosine, {0.0, 0.0, 0.0, 0.0}), direct_share(cavity, cosine), 1e-9);
}

TEST(LumenMethod, ALightRoomUsesMoreAndAWideRoomAsWell) {
  const auto cosine = lamp("cosine_down");
  const domain::Reflectances usual{0.7, 0.5, 0.2, 0.3};
  const double small = utilisation({4.0, 3.0, 1.95}, cosine, usual);
  const double large = utilisation({16.0, 12.0, 1.95}, cosine, usual);
  EXPECT_GT(large, small);
  EXPECT_GT(small, utilisation({4.0, 3.0, 1.95}, cosine, {0.3, 0.3, 0.1, 0.3}));
  // Between two endless planes nothing is lost to walls: 1 + r + r2 + ... with r = 0.7 x 0.2.
  EXPECT_NEAR(utilisation({4000.0, 4000.0, 2.0}, cosine, usual), 1.0 / (1.0 - 0.7 * 0.2), 5e-3);
}

TEST(LumenMethod, LightUpwardReachesThePlaneOverTheCeiling) {
  const Cavity cavity{4000.0, 4000.0, 2.0};
  EXPECT_NEAR(utilisation(cavity, lamp("cosine_up"), {0.7, 0.5, 0.2, 0.3}), 0.7 / (1.0 - 0.7 * 0.2), 5e-3);
}

// By hand, from N = E A / (lumens x utilisation x light loss), the formula of the lumen method (IES Lighting
// Handbook, 9th edition, chapter 9): 500 x 48 / (3600 x 0.62 x 0.81) = 24000 / 1807.92 = 13.2749.
TEST(LumenMethod, CountsAsWorkedByHand) {
  EXPECT_NEAR(luminaires_needed(500.0, 48.0, 3600.0, 0.62, 0.81), 13.2749, 5e-5);
}

}  // namespace
}  // namespace halflight::choose
