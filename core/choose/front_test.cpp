#include "choose/front.hpp"

#include "base/random.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

Merits at(double cost, double kwh) { return {cost, kwh, 0.0, 0.0, 0.0}; }

TEST(Front, HoldsWhatNobodyWouldLeaveForAnother) {
  const std::vector<Merits> designs = {at(100, 50), at(200, 60), at(300, 20), at(100, 50), at(150, 40)};
  const Front front = front_of(designs);
  EXPECT_EQ(front.members, (std::vector<std::size_t>{0, 4, 2}));
  EXPECT_EQ(front.dominated_by[1], 0u);
  EXPECT_EQ(front.dominated_by[3], 0u);
  EXPECT_FALSE(front.dominated_by[4].has_value());
}

TEST(Front, KeepsWhatIsDearAndPoorInEnergyButKindToPeople) {
  const std::vector<Merits> designs = {{100, 50, 10, 30, 1}, {300, 80, 0, 0, 2}};
  EXPECT_EQ(front_of(designs).members.size(), 2u);
  // On the line between cost and energy it has no place.
  EXPECT_EQ(front_of(designs).hull, (std::vector<std::size_t>{0}));
}

TEST(Front, SmallDifferencesDoNotCount) {
  EXPECT_FALSE(dominates(at(100.2, 50.01), at(100.4, 50.04)));
  EXPECT_TRUE(dominates(at(100, 50), at(102, 50)));
}

// Worked by hand: from (100, 100) each of the next three buys 20 kWh for 20, 20 kWh for 80, 5 kWh for 200;
// the point (160, 95) lies above the line from the first to the second.
TEST(Front, HullKneeAndMarginalCostAreThoseOfAHandExample) {
  const std::vector<Merits> designs = {at(400, 55), at(100, 100), at(120, 80), at(160, 79), at(200, 60)};
  const Front front = front_of(designs);
  EXPECT_EQ(front.hull, (std::vector<std::size_t>{1, 2, 4, 0}));
  ASSERT_EQ(front.per_kwh.size(), 3u);
  EXPECT_DOUBLE_EQ(front.per_kwh[0], 1.0);
  EXPECT_DOUBLE_EQ(front.per_kwh[1], 4.0);
  EXPECT_DOUBLE_EQ(front.per_kwh[2], 40.0);
  // Down the axes scaled to 1: 0.444 - 0.067 and 0.889 - 0.333.
  EXPECT_EQ(front.knee, 4u);
}

/// Every front of random designs, held against its definition.
TEST(Front, EveryDesignIsAMemberOrStandsBelowOne) {
  for (std::uint32_t trial = 0; trial < 200; ++trial) {
    std::vector<Merits> designs;
    for (std::uint32_t i = 0; i < 12; ++i) {
      const auto draw = [&](std::uint32_t k) { return random_uniform({trial, 7}, {i, 0, 0, k}) * 10.0; };
      designs.push_back({draw(0) * 3.0, draw(1) * 0.3, draw(2) * 0.3, draw(3) * 0.03, 1.0});
    }
    const Front front = front_of(designs);
    for (const std::size_t a : front.members)
      for (const std::size_t b : front.members) EXPECT_FALSE(dominates(designs[a], designs[b]));
    for (std::size_t i = 0; i < designs.size(); ++i) {
      if (!front.dominated_by[i]) continue;
      const Merits x = rounded(designs[*front.dominated_by[i]]);
      const Merits y = rounded(designs[i]);
      EXPECT_LE(x.cost, y.cost);
      EXPECT_LE(x.kwh, y.kwh);
      EXPECT_LE(x.under_lit_h, y.under_lit_h);
      EXPECT_LE(x.taken, y.taken);
    }
    for (std::size_t h = 2; h < front.hull.size(); ++h) EXPECT_GE(front.per_kwh[h - 1], front.per_kwh[h - 2]);
  }
}

}  // namespace
}  // namespace halflight::choose
