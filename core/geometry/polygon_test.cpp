#include "geometry/polygon.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "published.hpp"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

namespace halflight {
namespace {

// Sums of a few dozen products of coordinates below 100: n u sum|x| with u = 1.1e-16.
constexpr double kRounding = 1e-11;
// A boolean moves each vertex by at most half a grid step; the area by that times the perimeter.
double grid_error(double perimeter_m) { return kPolygonGrid_m * perimeter_m; }

const Polygon kL = {{0, 0}, {6, 0}, {6, 2}, {2, 2}, {2, 5}, {0, 5}};

// A star-shaped polygon with uneven radii: simple by construction, far from convex.
Polygon star(std::uint32_t seed, std::size_t n) {
  Polygon p;
  for (std::size_t i = 0; i < n; ++i) {
    const double r = 1.0 + 9.0 * random_uniform({seed, 1}, {.slot = static_cast<std::uint32_t>(i)});
    const double a = 2.0 * kPi * static_cast<double>(i) / static_cast<double>(n);
    p.push_back({r * std::cos(a), r * std::sin(a)});
  }
  return p;
}

Polygon turned(const Polygon& polygon, double angle_rad, Vector2 by) {
  Polygon out;
  const double c = std::cos(angle_rad);
  const double s = std::sin(angle_rad);
  for (const Point2 p : polygon) out.push_back({c * p.x - s * p.y + by.x, s * p.x + c * p.y + by.y});
  return out;
}

TEST(Polygon, MeasuresOfAnLShape) {
  EXPECT_NEAR(area(kL), 6 * 2 + 2 * 3, kRounding);
  EXPECT_NEAR(perimeter(kL), 22.0, kRounding);
  EXPECT_GT(signed_area(kL), 0.0);
  EXPECT_LT(signed_area(reversed(kL)), 0.0);
  // Composite of 6x2 about (3, 1) and 2x3 about (1, 3.5).
  EXPECT_PUBLISHED("closed form: composite of two rectangles",
                   "centroid of an L-shaped floor, along its long leg", "m", (12 * 3.0 + 6 * 1.0) / 18,
                   centroid(kL).x, kRounding);
  EXPECT_PUBLISHED("closed form: composite of two rectangles",
                   "centroid of an L-shaped floor, along its short leg", "m", (12 * 1.0 + 6 * 3.5) / 18,
                   centroid(kL).y, kRounding);
  EXPECT_FALSE(is_convex(kL));
  EXPECT_TRUE(is_convex(rectangle({0, 0}, {1, 2})));
}

TEST(Polygon, ContainsItsBoundary) {
  EXPECT_TRUE(contains(kL, {1, 4}));
  EXPECT_FALSE(contains(kL, {4, 4}));
  for (const Point2 p : kL) EXPECT_TRUE(contains(kL, p));
  EXPECT_TRUE(contains(kL, {2, 3}));
  EXPECT_TRUE(contains(kL, {3, 2}));
  EXPECT_FALSE(contains(kL, {3, 2.00001}));
  EXPECT_NEAR(distance_to_boundary(kL, {4, 4}), 2.0, kRounding);
  EXPECT_NEAR(distance_to_boundary(kL, {1, 1}), 1.0, kRounding);
}

TEST(Polygon, SimpleOrNot) {
  EXPECT_TRUE(is_simple(kL));
  EXPECT_TRUE(is_simple({{0, 0}, {1, 0}, {2, 0}, {2, 2}}));           // a vertex within an edge
  EXPECT_FALSE(is_simple({{0, 0}, {2, 2}, {2, 0}, {0, 2}}));          // a bow tie
  EXPECT_FALSE(is_simple({{0, 0}, {2, 0}, {1, 0}, {1, 2}}));          // folds back
  EXPECT_FALSE(is_simple({{0, 0}, {2, 0}, {2, 0}, {0, 2}}));          // repeats a vertex
  EXPECT_FALSE(is_simple({{0, 0}, {4, 0}, {4, 4}, {2, 0}, {0, 4}}));  // touches itself
  EXPECT_FALSE(is_simple({{0, 0}, {1, 0}}));
  EXPECT_FALSE(is_simple({{0, 0}, {1, 0}, {std::nan(""), 1}}));
}

TEST(Polygon, NormalisedIsOneDescription) {
  const Polygon wordy = {{2, 2}, {2, 5}, {1, 5}, {0, 5}, {0, 0}, {3, 0}, {6, 0}, {6, 2}};
  EXPECT_EQ(normalised(wordy), normalised(kL));
  EXPECT_EQ(normalised(reversed(wordy)), normalised(kL));
  EXPECT_EQ(normalised(kL).front(), (Point2{0, 0}));
  EXPECT_EQ(with_canonical_start(turned(kL, 0, {0, 0})).size(), kL.size());
}

TEST(Polygon, TriangulationUsesEveryVertexAndCoversTheArea) {
  std::vector<Polygon> cases = {kL, reversed(kL), {{0, 0}, {1, 0}, {2, 0}, {3, 0}, {0, 3}}};
  // A comb: many reflex vertices in line with each other.
  Polygon comb = {{0, 0}, {40, 0}};
  for (int i = 19; i >= 0; --i) {
    comb.push_back({2.0 * i + 2, 5});
    comb.push_back({2.0 * i + 1, 5});
    comb.push_back({2.0 * i + 1, 1});
    if (i > 0) comb.push_back({2.0 * i, 1});
  }
  comb.push_back({0, 1});
  ASSERT_TRUE(is_simple(comb));
  cases.push_back(comb);
  for (std::uint32_t seed = 0; seed < 20; ++seed)
    cases.push_back(turned(star(seed, 200), 0.1 * seed, {30, -70}));
  for (const Polygon& polygon : cases) {
    const auto triangles = triangulate(polygon);
    ASSERT_EQ(triangles.size(), polygon.size() - 2);
    double sum = 0.0;
    std::vector<bool> used(polygon.size());
    for (const auto& [a, b, c] : triangles) {
      const double size = signed_area({polygon[a], polygon[b], polygon[c]});
      EXPECT_GT(size, 0.0);
      sum += size;
      used[a] = used[b] = used[c] = true;
    }
    // All counter-clockwise and adding up to the area: neither gaps nor overlaps.
    EXPECT_NEAR(sum, area(polygon), 1e-9);
    EXPECT_TRUE(std::all_of(used.begin(), used.end(), [](bool u) { return u; }));
  }
}

TEST(Polygon, Booleans) {
  const Polygon square = rectangle({1, 1}, {4, 4});
  EXPECT_NEAR(area(intersection(kL, square)), 3 * 1 + 1 * 2, grid_error(10));
  EXPECT_NEAR(area(difference(square, kL)), 9 - 5, grid_error(12));
  EXPECT_NEAR(area(united({kL, square})), 18 + 9 - 5, grid_error(30));
  const Region ring = difference(rectangle({0, 0}, {4, 4}), rectangle({1, 1}, {2, 2}));
  ASSERT_EQ(ring.size(), 1U);
  EXPECT_EQ(ring[0].holes.size(), 1U);
  EXPECT_FALSE(contains(ring, {1.5, 1.5}));
  EXPECT_TRUE(contains(ring, {1, 1.5}));
  EXPECT_TRUE(contains(ring, {3, 3}));
  EXPECT_TRUE(intersection(square, rectangle({10, 10}, {11, 11})).empty());
  // Inclusion and exclusion hold for any pair.
  for (std::uint32_t seed = 0; seed < 10; ++seed) {
    const Polygon a = star(seed, 40);
    const Polygon b = turned(star(seed + 100, 40), 0.3, {2, 1});
    EXPECT_NEAR(area(united({a, b})) + area(intersection(a, b)), area(a) + area(b),
                4 * grid_error(perimeter(a) + perimeter(b)));
  }
}

TEST(Polygon, BooleansOfRegionsKeepTheirHoles) {
  const Region ring = difference(rectangle({0, 0}, {6, 6}), rectangle({1, 1}, {5, 5}));
  ASSERT_EQ(ring.size(), 1U);
  ASSERT_EQ(ring.front().holes.size(), 1U);
  const Region block = {{rectangle({2, 2}, {4, 8}), {}}};
  // 36 - 16 of the ring, 12 of the block, less the 2 that both cover.
  const Region both = united(std::vector<Region>{ring, block});
  EXPECT_NEAR(area(both), 20.0 + 12.0 - 2.0, grid_error(60));
  EXPECT_FALSE(contains(both, {1.5, 3}));
  EXPECT_TRUE(contains(both, {3, 3}));
  EXPECT_NEAR(area(difference(ring, block)), 18.0, grid_error(60));
  EXPECT_NEAR(area(difference(block, ring)), 10.0, grid_error(60));
  EXPECT_NEAR(
      area(difference(ring, std::vector<Polygon>{rectangle({2, 2}, {4, 8}), rectangle({0, 0}, {1, 6})})),
      20.0 - 2.0 - 6.0, grid_error(60));
  EXPECT_TRUE(united(std::vector<Region>{}).empty());
}

TEST(Polygon, Offsets) {
  const Polygon r = rectangle({0, 0}, {4, 3});
  EXPECT_NEAR(area(offset(r, -0.5)), 3 * 2, grid_error(10));
  EXPECT_NEAR(area(offset(r, 0.5)), 5 * 4, grid_error(18));
  EXPECT_TRUE(offset(r, -1.6).empty());
  // A dumb-bell falls into two pieces.
  const Polygon bell = {{0, 0}, {3, 0}, {3, 1}, {5, 1}, {5, 0}, {8, 0},
                        {8, 3}, {5, 3}, {5, 2}, {3, 2}, {3, 3}, {0, 3}};
  EXPECT_EQ(offset(bell, -0.6).size(), 2U);
}

TEST(PointGrid, SpacingOfTheStandard) {
  // EN 12464-1 formula (from memory): 10 m gives 1 m; the shorter side decides from a ratio of two.
  EXPECT_PUBLISHED("EN 12464-1, formula of the calculation grid, from memory",
                   "grid spacing of an area of 10 x 8 m", "m", 1.0, en12464_spacing_m(10, 8), 1e-12);
  EXPECT_NEAR(en12464_spacing_m(1, 1), 0.2, 1e-12);
  EXPECT_NEAR(en12464_spacing_m(20, 10), 1.0, 1e-12);
  EXPECT_NEAR(en12464_spacing_m(1e4, 9e3), 10.0, 1e-12);
}

TEST(PointGrid, CentresOfCellsInsideTheBorder) {
  const PointGrid grid = grid_points(rectangle({0, 0}, {11, 9}), 0.5);
  EXPECT_EQ(grid.columns, 10);
  EXPECT_EQ(grid.rows, 8);
  ASSERT_EQ(grid.points.size(), 80U);
  EXPECT_NEAR(grid.points.front().x, 1.0, 1e-6);
  EXPECT_NEAR(grid.points.front().y, 1.0, 1e-6);
  EXPECT_NEAR(grid.points.back().x, 10.0, 1e-6);
  EXPECT_NEAR(grid.points.back().y, 8.0, 1e-6);
  const PointGrid fine = grid_points(rectangle({0, 0}, {11, 9}), 0.5, 0.5);
  EXPECT_LE(fine.column_spacing_m, 0.5 + 1e-9);
  EXPECT_LE(fine.row_spacing_m, 0.5 + 1e-9);
}

TEST(PointGrid, TurnsWithTheRoomAndKeepsInside) {
  const PointGrid straight = grid_points(kL, 0.2);
  const PointGrid askew = grid_points(turned(kL, 0.4, {100, 50}), 0.2);
  ASSERT_EQ(straight.points.size(), askew.points.size());
  for (std::size_t i = 0; i < straight.points.size(); ++i) {
    const Polygon expected = turned({straight.points[i]}, 0.4, {100, 50});
    EXPECT_NEAR(askew.points[i].x, expected[0].x, 1e-5);  // the inset is rounded to the polygon grid
    EXPECT_NEAR(askew.points[i].y, expected[0].y, 1e-5);
    EXPECT_TRUE(contains(kL, straight.points[i]));
    EXPECT_GE(distance_to_boundary(kL, straight.points[i]), 0.2 - 1e-6);
  }
}

TEST(PointGrid, AlwaysAtLeastOnePointInside) {
  // A border wider than the room is dropped.
  const PointGrid narrow = grid_points(rectangle({0, 0}, {0.6, 0.4}), 0.5);
  EXPECT_GE(narrow.points.size(), 1U);
  const Polygon thin_l = {{0, 0}, {1, 0}, {1, 0.01}, {0.01, 0.01}, {0.01, 1}, {0, 1}};
  const PointGrid grid = grid_points(thin_l, 0.0, 5.0);
  ASSERT_GE(grid.points.size(), 1U);
  for (const Point2 p : grid.points) EXPECT_TRUE(contains(thin_l, p));
}

}  // namespace
}  // namespace halflight
