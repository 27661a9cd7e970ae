#include "choose/luminaire_grid.hpp"

#include <algorithm>
#include <set>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

const Polygon kRoom = {{0, 0}, {8, 0}, {8, 6}, {0, 6}};

TEST(LuminaireGrid, RowsRunAlongTheLongerSideHalfASpacingFromTheWalls) {
  for (const LuminaireGrid& grid : luminaire_grids(kRoom, {}))
    if (grid.at.size() == 12) {
      EXPECT_EQ(grid.rows, 3u);
      EXPECT_DOUBLE_EQ(grid.along_m, 2.0);
      EXPECT_DOUBLE_EQ(grid.across_m, 2.0);
      EXPECT_DOUBLE_EQ(grid.rotation_deg, 0.0);
      EXPECT_EQ(grid.at.front(), (Point2{1.0, 1.0}));
      EXPECT_EQ(grid.at.back(), (Point2{7.0, 5.0}));
      EXPECT_EQ(grid.row.back(), 2u);
      return;
    }
  FAIL() << "no grid of twelve";
}

TEST(LuminaireGrid, TurnsWithTheRoom) {
  Polygon upright = {{0, 0}, {6, 0}, {6, 8}, {0, 8}};
  for (const LuminaireGrid& grid : luminaire_grids(upright, {})) EXPECT_DOUBLE_EQ(grid.rotation_deg, 90.0);
}

TEST(LuminaireGrid, KeepsTheSpacingLimitsAndOneGridForEachNumber) {
  GridWish wish;
  wish.widest_along_m = 2.5;
  wish.widest_across_m = 2.2;
  std::set<std::size_t> counts;
  const auto grids = luminaire_grids(kRoom, wish);
  ASSERT_FALSE(grids.empty());
  for (const LuminaireGrid& grid : grids) {
    EXPECT_LE(grid.along_m, 2.5);
    EXPECT_LE(grid.across_m, 2.2);
    EXPECT_TRUE(counts.insert(grid.at.size()).second) << grid.at.size();
  }
  EXPECT_EQ(grids.front().at.size(), 12u) << "three rows of four are the fewest within 2.5 m and 2.2 m";
  EXPECT_TRUE(std::is_sorted(grids.begin(), grids.end(),
                             [](const auto& a, const auto& b) { return a.at.size() < b.at.size(); }));
}

TEST(LuminaireGrid, LeavesOutWhatIsNotInTheRoom) {
  const Polygon angled = {{0, 0}, {8, 0}, {8, 3}, {4, 3}, {4, 6}, {0, 6}};
  for (const LuminaireGrid& grid : luminaire_grids(angled, {}))
    for (const Point2 p : grid.at) {
      EXPECT_TRUE(contains(angled, p));
      EXPECT_GE(distance_to_boundary(angled, p), 0.3 - 1e-5) << "half a luminaire from the wall";
    }
}

TEST(LuminaireGrid, NothingFitsIntoACupboard) {
  EXPECT_TRUE(luminaire_grids({{0, 0}, {0.5, 0}, {0.5, 0.5}, {0, 0.5}}, {}).empty());
  EXPECT_FALSE(luminaire_grid_of({{0, 0}, {0.5, 0}, {0.5, 0.5}, {0, 0.5}}, {}, 1));
}

TEST(LuminaireGrid, GivesANumberThatSomebodyCounted) {
  const auto seven = luminaire_grid_of(kRoom, {}, 7);
  ASSERT_TRUE(seven);
  EXPECT_EQ(seven->at.size(), 7u);
  const auto many = luminaire_grid_of(kRoom, {}, 100'000);
  EXPECT_FALSE(many);
}

}  // namespace
}  // namespace halflight::choose
