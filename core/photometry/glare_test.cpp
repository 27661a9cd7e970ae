#include "photometry/glare.hpp"

#include "base/units.hpp"
#include "photometry/direct.hpp"
#include "published.hpp"

#include <cmath>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

constexpr const char* kDefinition = "CIE 117:1995, definition of the unified glare rating";

TEST(UnifiedGlareRating, OfOneSource) {
  const std::vector<GlareSource> one = {{5000.0, 0.05, 1.5}};
  // 8 log10(0.25 / 50 x 5000^2 x 0.05 / 1.5^2), to the digits printed.
  EXPECT_PUBLISHED(kDefinition, "5,000 cd/m2 under 0.05 sr, p = 1.5, background 50 cd/m2", "", 27.5496,
                   unified_glare_rating(one, 50.0).value(), 5e-5);
}

TEST(UnifiedGlareRating, FollowsItsLaws) {
  std::vector<GlareSource> sources = {{3000.0, 0.01, 2.0}};
  const double one = unified_glare_rating(sources, 30.0).value();
  sources.push_back(sources.front());
  EXPECT_PUBLISHED(kDefinition, "two equal sources for one: 8 log10 2", "", 8.0 * std::log10(2.0),
                   unified_glare_rating(sources, 30.0).value() - one, 1e-12);
  sources = {{6000.0, 0.01, 2.0}};
  EXPECT_PUBLISHED(kDefinition, "twice the luminance: 8 log10 4", "", 4.816,
                   unified_glare_rating(sources, 30.0).value() - one, 5e-4);
  EXPECT_PUBLISHED(kDefinition, "twice the luminance and the background: 8 log10 2", "", 2.408,
                   unified_glare_rating(sources, 60.0).value() - one, 5e-4);
}

TEST(UnifiedGlareRating, IsNothingInTheDark) {
  EXPECT_FALSE(unified_glare_rating({}, 30.0));
  const std::vector<GlareSource> one = {{3000.0, 0.01, 2.0}};
  EXPECT_FALSE(unified_glare_rating(one, 0.0));
}

/// A direction b degrees off the line of sight +x, turned a degrees about it from straight up towards +y.
Vector3 direction(double a_deg, double b_deg) {
  const double a = a_deg * kRadPerDeg;
  const double b = b_deg * kRadPerDeg;
  return {std::cos(b), std::sin(b) * std::sin(a), std::sin(b) * std::cos(a)};
}

TEST(PositionIndex, IsLevinsAboveTheLineOfSight) {
  struct Value {
    double a_deg;
    double b_deg;
    double p;
  };
  for (const Value& v :
       {Value{0, 10, 1.4345}, Value{0, 30, 3.3481}, Value{0, 50, 9.2442}, Value{45, 20, 1.6905},
        Value{90, 20, 1.2386}, Value{90, 40, 1.8148}, Value{30, 40, 4.2487}}) {
    // The expected values are printed to four decimals.
    EXPECT_PUBLISHED(
        "Levin's fit, J. IES 1975 (from memory), by hand",
        fmt::format("position index at {:.0f} deg from vertical, {:.0f} deg off the line of sight", v.a_deg,
                    v.b_deg),
        "", v.p, position_index({1, 0, 0}, direction(v.a_deg, v.b_deg)).value(), 5e-5);
    EXPECT_NEAR(position_index({1, 0, 0}, direction(-v.a_deg, v.b_deg)).value(), v.p, 5e-5)
        << "the other side";
  }
}

TEST(PositionIndex, IsNearTheTableOfThePublication) {
  // Height over distance straight above the line of sight. The fit is said to be up to 12 % off the table.
  struct Cell {
    double height;
    double p;
  };
  for (const Cell& c : {Cell{0.0, 1.00}, Cell{0.1, 1.26}, Cell{0.2, 1.53}, Cell{0.3, 1.90}, Cell{0.4, 2.35},
                        Cell{0.5, 2.86}, Cell{1.0, 7.00}})
    EXPECT_PUBLISHED("CIE 117:1995, table of position indices (from memory)",
                     fmt::format("position index at H/R = {:.1f}, T/R = 0", c.height), "", c.p,
                     position_index({1, 0, 0}, normalized({1.0, 0.0, c.height})).value(),
                     published::relative(0.12));
}

TEST(PositionIndex, GrowsAwayFromTheLineOfSightAndEndsWithTheField) {
  double before = 1.0;
  for (double b = 5.0; b <= 60.0; b += 5.0) {
    const double p =
        position_index({0, 1, 0}, {0, std::cos(b * kRadPerDeg), std::sin(b * kRadPerDeg)}).value();
    EXPECT_GT(p, before);
    before = p;
  }
  EXPECT_FALSE(position_index({1, 0, 0}, {-1, 0, 0})) << "behind";
  EXPECT_FALSE(position_index({1, 0, 0}, {0, 0, 1})) << "overhead";
  EXPECT_FALSE(position_index({1, 0, 0}, normalized({1.0, 0.0, 1.95})));
  EXPECT_TRUE(position_index({1, 0, 0}, normalized({1.0, 0.0, 1.85})));
  EXPECT_FALSE(position_index({1, 0, 0}, normalized({1.0, 3.1, 0.5})));
  // Below the line of sight: 1 + 0.8 R/D near it, 1 + 1.2 R/D beyond R/D = 0.6.
  EXPECT_PUBLISHED("Iwata and Tokura 1997 (from memory)",
                   "position index below the line of sight at R/D = 0.5", "", 1.4,
                   position_index({1, 0, 0}, normalized({1.0, 0.3, -0.4})).value(), 1e-12);
  EXPECT_PUBLISHED("Iwata and Tokura 1997 (from memory)", "position index below the line of sight at R/D = 1",
                   "", 2.2, position_index({1, 0, 0}, normalized({1.0, 0.6, -0.8})).value(), 1e-12);
}

TEST(UnifiedGlareRating, OfNineLuminaires) {
  domain::LuminousOpening square;
  square.shape = domain::LuminousOpening::Shape::rectangle;
  square.length_m = square.width_m = 0.6;
  std::vector<GlareSource> sources;
  for (const double x : {2.0, 4.0, 6.0}) {
    for (const double y : {-1.8, 0.0, 1.8}) {
      const Vector3 to_source{x, y, 1.6};
      const double distance = length(to_source);
      const Vector3 d = normalized(to_source);
      sources.push_back({3000.0, projected_area_m2(square, -d) / (distance * distance),
                         position_index({1, 0, 0}, d).value()});
    }
  }
  EXPECT_PUBLISHED("worked by hand with Levin's fit", "rating of nine luminaires of 0.6 x 0.6 m", "", 22.280,
                   unified_glare_rating(sources, 30.0).value(), 0.01);
}

TEST(ProjectedArea, OfEveryBody) {
  using Shape = domain::LuminousOpening::Shape;
  constexpr const char* kGeometry = "elementary geometry";
  const auto seen = [](Shape shape, Vector3 d) {
    return projected_area_m2({shape, 1.2, 0.4, 0.2}, normalized(d));
  };
  const double half = std::sqrt(0.5);
  EXPECT_EQ(seen(Shape::point, {0, 0, 1}), 0.0);
  EXPECT_PUBLISHED(kGeometry, "rectangle 1.2 x 0.4 m at 45 deg", "m2", 0.48 * half,
                   seen(Shape::rectangle, {1, 0, -1}), 1e-12);
  EXPECT_PUBLISHED(kGeometry, "ellipse 1.2 x 0.4 m at 45 deg", "m2", 0.12 * kPi * half,
                   seen(Shape::ellipse, {0, 1, 1}), 1e-12);
  EXPECT_PUBLISHED(kGeometry, "upright ellipse 0.4 x 0.2 m, face on", "m2", 0.02 * kPi,
                   seen(Shape::vertical_ellipse, {1, 0, 0}), 1e-12);
  EXPECT_PUBLISHED(kGeometry, "box 1.2 x 0.4 x 0.2 m along its diagonal of sides", "m2",
                   (0.48 + 0.24 + 0.08) / std::sqrt(3.0), seen(Shape::box, {1, 1, 1}), 1e-12);
  EXPECT_PUBLISHED(kGeometry, "upright cylinder 0.2 m high, 0.4 m wide, from the side", "m2", 0.08,
                   seen(Shape::vertical_cylinder, {1, 0, 0}), 1e-12);
  EXPECT_PUBLISHED(kGeometry, "lying cylinder 1.2 m long, 0.2 m high, from the side", "m2", 0.24,
                   seen(Shape::cylinder_along, {0, 1, 0}), 1e-12);
  EXPECT_PUBLISHED(kGeometry, "ellipsoid 1.2 x 0.4 x 0.2 m from above", "m2", 0.12 * kPi,
                   seen(Shape::ellipsoid, {0, 0, 1}), 1e-12);
}

}  // namespace
}  // namespace halflight::photometry
