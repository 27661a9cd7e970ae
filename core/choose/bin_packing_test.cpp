#include "choose/bin_packing.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

/// The fewest boxes by trying every way to share them: each thing into a box in use or a new one.
int fewest_of_all(const std::vector<Sizes>& things) {
  int fewest = static_cast<int>(things.size());
  std::vector<Sizes> used;
  const std::function<void(std::size_t)> place = [&](std::size_t i) {
    if (i == things.size()) {
      fewest = std::min(fewest, static_cast<int>(used.size()));
      return;
    }
    for (std::size_t bin = 0; bin < used.size(); ++bin) {
      const Sizes before = used[bin];
      bool holds = true;
      for (std::size_t d = 0; d < before.size(); ++d) {
        used[bin][d] += things[i][d];
        holds = holds && used[bin][d] <= 1.0 + 1e-9;
      }
      if (holds) place(i + 1);
      used[bin] = before;
    }
    used.push_back(things[i]);
    place(i + 1);
    used.pop_back();
  };
  place(0);
  return fewest;
}

void expect_sound(const std::vector<Sizes>& things, const BinPacking& packing) {
  ASSERT_EQ(packing.bin_of.size(), things.size());
  std::vector<Sizes> used(static_cast<std::size_t>(packing.bins), Sizes(things.front().size(), 0.0));
  for (std::size_t i = 0; i < things.size(); ++i) {
    ASSERT_LT(packing.bin_of[i], used.size());
    for (std::size_t d = 0; d < things[i].size(); ++d) used[packing.bin_of[i]][d] += things[i][d];
  }
  for (const Sizes& one : used) {
    EXPECT_LE(*std::max_element(one.begin(), one.end()), 1.0 + 1e-8);
    EXPECT_GT(*std::max_element(one.begin(), one.end()), 0.0) << "an empty box";
  }
}

TEST(BinPacking, NeedsAsManyAsTryingAllWays) {
  const RandomKey key{11, hash_name("bins")};
  int beyond_sums = 0;
  for (std::uint32_t i = 0; i < 2000; ++i) {
    const auto draw = [&](std::uint32_t slot) { return random_uniform(key, {i, 0, 0, slot}); };
    const auto dimensions = 1 + static_cast<std::size_t>(3.0 * draw(0));
    const auto count = 1 + static_cast<std::size_t>(7.0 * draw(1));
    const double largest = 0.3 + 0.7 * draw(2);
    std::vector<Sizes> things;
    for (std::uint32_t t = 0; t < count; ++t) {
      things.emplace_back();
      // Twentieths, so that boxes are full exactly and things are alike.
      for (std::uint32_t d = 0; d < dimensions; ++d)
        things.back().push_back(std::ceil(20.0 * largest * draw(10 + 4 * t + d)) / 20.0);
    }
    const BinPacking packing = fewest_bins(things, 100'000);
    EXPECT_EQ(packing.bins, fewest_of_all(things));
    EXPECT_EQ(packing.bound, packing.bins);
    expect_sound(things, packing);
    double most = 0.0;
    for (std::size_t d = 0; d < dimensions; ++d) {
      double sum = 0.0;
      for (const Sizes& thing : things) sum += thing[d];
      most = std::max(most, sum);
    }
    if (packing.bins > std::ceil(most - 1e-9)) ++beyond_sums;
  }
  EXPECT_GT(beyond_sums, 100) << "sums alone would do";
}

TEST(BinPacking, BeatsFirstFit) {
  // Largest first into the first box that holds it needs three: 5 4 | 3 3 3 | 2 of 10.
  const std::vector<Sizes> things = {{0.5}, {0.4}, {0.3}, {0.3}, {0.3}, {0.2}};
  EXPECT_EQ(fewest_bins(things, 1000).bins, 2);
}

TEST(BinPacking, StatesABoundWhereTheSearchEnds) {
  const std::vector<Sizes> things = {{0.5}, {0.4}, {0.3}, {0.3}, {0.3}, {0.2}};
  const BinPacking ended = fewest_bins(things, 1);
  EXPECT_EQ(ended.bins, 3);
  EXPECT_EQ(ended.bound, 2);
  EXPECT_EQ(fewest_bins({}, 1).bins, 0);
}

TEST(BinPacking, KeepsImagesOfWhatSharesABoxWithinOne) {
  // The defining property of a dual feasible function, on random fillings of a box.
  const RandomKey key{12, hash_name("images")};
  for (std::uint32_t i = 0; i < 20'000; ++i) {
    std::vector<double> sizes;
    double left = 1.0;
    for (std::uint32_t t = 0; t < 8; ++t) {
      const double size = std::floor(random_uniform(key, {i, 0, 0, t}) * left * 24.0) / 24.0;
      sizes.push_back(size);
      left -= size;
    }
    sizes.push_back(left);
    for (int part = 1; part <= 5; ++part) {
      double sum = 0.0;
      for (const double size : sizes) sum += stepped(size, part);
      EXPECT_LE(sum, 1.0 + 1e-12);
    }
    for (const double threshold : {1.0 / 24.0, 0.125, 0.25, 0.4, 0.5}) {
      double sum = 0.0;
      for (const double size : sizes) sum += without_small(size, threshold);
      EXPECT_LE(sum, 1.0 + 1e-12);
    }
  }
  EXPECT_EQ(stepped(0.6, 1), 1.0);
  EXPECT_EQ(stepped(0.5, 1), 0.5);
  EXPECT_EQ(stepped(0.4, 2), 0.5);
  EXPECT_EQ(without_small(0.8, 0.25), 1.0);
  EXPECT_EQ(without_small(0.2, 0.25), 0.0);
}

}  // namespace
}  // namespace halflight::choose
