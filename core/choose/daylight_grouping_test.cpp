#include "choose/daylight_grouping.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <functional>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

/// Luminaires in rows that lie deeper and deeper in a room: daylight leaves each row more to do.
std::vector<DaylitLuminaire> rows_by_the_window(const std::vector<double>& share_left, std::size_t in_row) {
  std::vector<DaylitLuminaire> luminaires;
  for (const double left : share_left)
    for (std::size_t i = 0; i < in_row; ++i) {
      DaylitLuminaire one;
      one.saved_w = 30.0;
      for (int t = 0; t < 50; ++t)
        one.level.push_back(static_cast<float>(std::min(1.0, left * (0.5 + 0.02 * t))));
      luminaires.push_back(one);
    }
  return luminaires;
}

double saved_by(const std::vector<DaylitLuminaire>& luminaires,
                const std::vector<std::vector<std::size_t>>& groups) {
  double saved = 0.0;
  for (const auto& group : groups)
    for (std::size_t t = 0; t < luminaires.front().level.size(); ++t) {
      double level = 0.0;
      double watts = 0.0;
      for (const std::size_t m : group) {
        level = std::max(level, static_cast<double>(luminaires[m].level[t]));
        watts += luminaires[m].saved_w;
      }
      saved += watts * (1.0 - level);
    }
  return saved;
}

/// The most that any partition into `count` groups saves.
double best_of_all(const std::vector<DaylitLuminaire>& luminaires, std::size_t count) {
  double best = -1.0;
  std::vector<std::vector<std::size_t>> groups;
  const std::function<void(std::size_t)> place = [&](std::size_t next) {
    if (next == luminaires.size()) {
      if (groups.size() == count) best = std::max(best, saved_by(luminaires, groups));
      return;
    }
    for (std::size_t g = 0; g < groups.size(); ++g) {
      groups[g].push_back(next);
      place(next + 1);
      groups[g].pop_back();
    }
    if (groups.size() < count) {
      groups.push_back({next});
      place(next + 1);
      groups.pop_back();
    }
  };
  place(0);
  return best;
}

TEST(DaylightGrouping, RowsDimTogether) {
  const auto luminaires = rows_by_the_window({0.2, 0.6, 0.95}, 3);
  const auto groupings = daylight_groupings(luminaires, 1.0);
  ASSERT_EQ(groupings.size(), 9u);
  EXPECT_EQ(groupings[2].groups, (std::vector<std::vector<std::size_t>>{{0, 1, 2}, {3, 4, 5}, {6, 7, 8}}));
  // With the rows apart nothing more is to be had.
  EXPECT_NEAR(groupings[2].saved_wh, groupings[8].saved_wh, 1e-6);
  EXPECT_LT(groupings[1].saved_wh, groupings[2].saved_wh - 1.0);
}

TEST(DaylightGrouping, WhatACodeWantsApartStaysApart) {
  auto luminaires = rows_by_the_window({0.3, 0.3}, 2);
  luminaires[2].zone = luminaires[3].zone = "secondary south";
  const auto groupings = daylight_groupings(luminaires, 1.0);
  ASSERT_EQ(groupings.front().groups.size(), 2u);
  EXPECT_EQ(groupings.front().groups, (std::vector<std::vector<std::size_t>>{{0, 1}, {2, 3}}));
}

TEST(DaylightGrouping, WhatAWallDividesStaysApart) {
  auto luminaires = rows_by_the_window({0.3, 0.3}, 2);
  luminaires[1].side = luminaires[3].side = 1;
  const auto groupings = daylight_groupings(luminaires, 1.0);
  EXPECT_EQ(groupings.front().groups, (std::vector<std::vector<std::size_t>>{{0, 2}, {1, 3}}));
}

TEST(DaylightGrouping, EnergyIsWattsTimesHoursTimesWhatTheLeastLitMemberSpares) {
  DaylitLuminaire bright{40.0, {0.25F, 1.0F}, ""};
  DaylitLuminaire dark{20.0, {0.75F, 0.5F}, ""};
  const auto groupings = daylight_groupings(std::vector{bright, dark}, 0.5);
  EXPECT_DOUBLE_EQ(groupings[0].saved_wh, 60.0 * 0.25 * 0.5);
  EXPECT_DOUBLE_EQ(groupings[1].saved_wh, (40.0 * 0.75 + 20.0 * 0.25 + 20.0 * 0.5) * 0.5);
}

/// Against every partition there is (exhaustive search).
TEST(DaylightGrouping, IsCloseToTheBestOfAllPartitions) {
  double lost = 0.0;
  double best = 0.0;
  for (std::uint32_t trial = 0; trial < 60; ++trial) {
    std::vector<DaylitLuminaire> luminaires;
    for (std::uint32_t i = 0; i < 7; ++i) {
      DaylitLuminaire one;
      one.saved_w = 20.0 + 20.0 * random_uniform({trial, 1}, {i, 0, 0, 0});
      const double depth = random_uniform({trial, 2}, {i, 0, 0, 0});
      const double side = random_uniform({trial, 3}, {i, 0, 0, 0});
      for (std::uint32_t t = 0; t < 40; ++t)
        one.level.push_back(static_cast<float>(
            std::clamp(1.3 - 0.05 * t * (1.0 - depth) - 0.03 * ((t * 7) % 40) * side, 0.0, 1.0)));
      luminaires.push_back(one);
    }
    const auto groupings = daylight_groupings(luminaires, 1.0);
    ASSERT_EQ(groupings.size(), 7u);
    for (std::size_t k = 1; k <= 7; ++k) {
      const double most = best_of_all(luminaires, k);
      EXPECT_LE(groupings[k - 1].saved_wh, most * (1.0 + 1e-9));
      EXPECT_NEAR(groupings[k - 1].saved_wh, saved_by(luminaires, groupings[k - 1].groups), 1e-6 * most);
      if (k == 1 || k == 7) {
        EXPECT_NEAR(groupings[k - 1].saved_wh, most, 1e-9 * most);
      }
      lost += most - groupings[k - 1].saved_wh;
      best += most;
    }
  }
  // "Close": a hundredth of what the best partitions save, over all of them.
  EXPECT_LT(lost, 0.01 * best);
}

}  // namespace
}  // namespace halflight::choose
