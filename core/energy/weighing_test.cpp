#include "energy/weighing.hpp"

#include "base/random.hpp"
#include "energy/estimate.hpp"
#include "published.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::energy {
namespace {

constexpr std::size_t kYears = 40000;

double normal(std::uint32_t which, std::size_t i) {
  return random_normal({11, which}, {0, 0, 0, static_cast<std::uint32_t>(i)});
}

/// Energy with mean 100 and deviation 20, and a saving that follows it with a correlation of 0.8.
struct Joint {
  std::vector<double> energy;
  std::vector<double> saving;
  Joint() {
    for (std::size_t i = 0; i < kYears; ++i) {
      const double shared = normal(1, i);
      energy.push_back(100.0 + 20.0 * shared);
      saving.push_back(50.0 + 10.0 * (0.8 * shared + 0.6 * normal(2, i)));
    }
  }
};

TEST(Weigh, GivesThePosteriorOfAJointNormal) {
  // Conjugate normal (A. Gelman and others, "Bayesian Data Analysis", section 2.5): prior 100 +- 20, read 130
  // +- 10: mean (100/400 + 130/100) / (1/400 + 1/100) = 124, deviation sqrt(80) = 8.944. The saving, with
  // slope 0.8 10/20 = 0.4: mean 50 + 0.4 24 = 59.6, variance 36 + 0.16 80 = 48.8.
  const Joint joint;
  const std::vector<Measured> measured = {{joint.energy, 130.0, 10.0}};
  const Weights weights = weigh(measured, kYears, 8.0);
  EXPECT_EQ(weights.widened, 1.0);
  const results::Estimate energy = estimate(joint.energy, 8, weights.of_year);
  const results::Estimate saving = estimate(joint.saving, 8, weights.of_year);
  const char* const conjugate = "conjugate normal, closed form";
  const double root = std::sqrt(weights.effective);
  EXPECT_PUBLISHED(conjugate, "energy of 100 +- 20 read as 130 +- 10: mean", "", 124.0, energy.mean,
                   4.0 * std::sqrt(80.0) / root);
  EXPECT_PUBLISHED(conjugate, "saving that follows it with slope 0.4: mean", "", 59.6, saving.mean,
                   4.0 * std::sqrt(48.8) / root);
  // 5th percentile: 1.6449 deviations below; error of a percentile sqrt(0.05 0.95 / n) / density(1.6449).
  EXPECT_PUBLISHED(conjugate, "saving that follows it: 5th percentile", "", 59.6 - 1.644854 * std::sqrt(48.8),
                   saving.low, 4.0 * std::sqrt(48.8) * std::sqrt(0.05 * 0.95) / 0.10314 / root);
  EXPECT_NEAR(saving.standard_error, std::sqrt(48.8) / root, std::sqrt(48.8) / root);
}

TEST(Weigh, TwoReadingsCountAsTheirMean) {
  // Two independent readings of 130 and 110 with 10 each are one of 120 with 10 / sqrt 2.
  const Joint joint;
  const std::vector<Measured> two = {{joint.energy, 130.0, 10.0}, {joint.energy, 110.0, 10.0}};
  const std::vector<Measured> one = {{joint.energy, 120.0, 10.0 / std::sqrt(2.0)}};
  const Weights a = weigh(two, kYears, 8.0);
  const Weights b = weigh(one, kYears, 8.0);
  for (std::size_t i = 0; i < kYears; i += 997) EXPECT_NEAR(a.of_year[i], b.of_year[i], 1e-9);
}

TEST(Weigh, CountsAllAlikeWithoutReadings) {
  const Weights weights = weigh({}, 5, 8.0);
  EXPECT_EQ(weights.of_year, std::vector<double>(5, 1.0));
  EXPECT_EQ(weights.effective, 5.0);
}

TEST(Weigh, WidensWhatNoYearFits) {
  std::vector<double> years;
  for (int i = 0; i < 128; ++i) years.push_back(100.0 + 0.1 * i);
  const std::vector<Measured> far_off = {{years, 200.0, 1.0}};
  const Weights weights = weigh(far_off, years.size(), 8.0);
  EXPECT_GT(weights.widened, 2.0);
  EXPECT_NEAR(weights.effective, 8.0, 1e-6);
  // The nearest year counts most.
  EXPECT_EQ(std::max_element(weights.of_year.begin(), weights.of_year.end()) - weights.of_year.begin(), 127);
}

TEST(Estimate, EqualWeightsChangeNothing) {
  const std::vector<double> values = {4, 3, 2, 1, 8, 7, 6, 5};
  const std::vector<double> alike(8, 0.25);
  const results::Estimate plain = estimate(values, 2);
  const results::Estimate weighted = estimate(values, 2, alike);
  EXPECT_DOUBLE_EQ(weighted.mean, plain.mean);
  EXPECT_DOUBLE_EQ(weighted.low, plain.low);
  EXPECT_DOUBLE_EQ(weighted.high, plain.high);
  EXPECT_DOUBLE_EQ(weighted.standard_error, plain.standard_error);
  const std::vector<double> wholes = {8, 8, 8, 8, 9, 9, 9, 9};
  EXPECT_DOUBLE_EQ(ratio_estimate(values, wholes, 2, alike).standard_error,
                   ratio_estimate(values, wholes, 2).standard_error);
}

TEST(Estimate, AWeightOfNoneLeavesAYearOut) {
  const std::vector<double> values = {1, 2, 3, 4, 100};
  const std::vector<double> weights = {1, 1, 1, 1, 0};
  const results::Estimate without = estimate(std::vector<double>{1, 2, 3, 4}, 1);
  const results::Estimate found = estimate(values, 1, weights);
  EXPECT_DOUBLE_EQ(found.mean, without.mean);
  EXPECT_DOUBLE_EQ(found.low, without.low);
  EXPECT_DOUBLE_EQ(found.high, without.high);
}

TEST(Narrowing, OfJointNormalFigures) {
  // r = 0.8 and a reading of half the deviation of the figure: 1 - sqrt(1 - 0.64 / 1.25) = 0.3014.
  const Joint joint;
  EXPECT_PUBLISHED("conditional variance of a joint normal, closed form",
                   "narrowing by a reading with correlation 0.8 and half the deviation", "",
                   1.0 - std::sqrt(1.0 - 0.64 / 1.25), narrowing(joint.saving, joint.energy, 10.0, {}), 0.01);
  // What has nothing to do with the target does not narrow it: r^2 of 40,000 years is below 4^2 / 40,000.
  std::vector<double> other;
  for (std::size_t i = 0; i < kYears; ++i) other.push_back(normal(3, i));
  EXPECT_LT(narrowing(joint.saving, other, 0.1, {}), 16.0 / kYears);
  EXPECT_EQ(narrowing(joint.saving, std::vector<double>(kYears, 1.0), 0.1, {}), 0.0);
}

TEST(Narrowing, BesideWhatIsKnownAlready) {
  // The sum of two independent figures of variance 1. Alone, a reading of the first with half its deviation:
  // r^2 = 1/2, 1 - sqrt(1 - 0.5 / 1.25) = 0.2254. With the second known exactly the first is all that is
  // left: 1 - sqrt(1 - 1 / 1.25) = 0.5528. With the first known as well as it would be read again: its
  // variance left is 0.2, that of the sum 1.2: 1 - sqrt(1 - (0.2 / 1.2) / (1 + 0.25 / 0.2)) = 0.0377.
  std::vector<double> first;
  std::vector<double> second;
  std::vector<double> sum;
  for (std::size_t i = 0; i < kYears; ++i) {
    first.push_back(normal(1, i));
    second.push_back(normal(2, i));
    sum.push_back(first.back() + second.back());
  }
  const char* const source = "conditional variance of a joint normal, closed form";
  EXPECT_PUBLISHED(source, "narrowing by a part of a sum", "", 0.2254, narrowing(sum, first, 0.5, {}), 0.01);
  const std::vector<Measured> other = {{second, 0.0, 1e-3}};
  EXPECT_PUBLISHED(source, "narrowing by a part of a sum whose other part is known", "", 0.5528,
                   narrowing(sum, first, 0.5, other), 0.01);
  const std::vector<Measured> same = {{first, 0.0, 0.5}};
  EXPECT_PUBLISHED(source, "narrowing by reading the same part again", "", 0.0377,
                   narrowing(sum, first, 0.5, same), 0.005);
}

TEST(Narrowing, ByChanceIsRarelyExceededByFiguresThatTellNothing) {
  constexpr std::size_t kFew = 100;
  constexpr std::uint32_t kFigures = 500;
  constexpr std::uint32_t kTrials = 200;
  const double by_chance = narrowing_by_chance(kFigures, kFew);
  int exceeded = 0;
  for (std::uint32_t trial = 0; trial < kTrials; ++trial) {
    const auto column = [&](std::uint32_t which) {
      std::vector<double> values;
      for (std::size_t i = 0; i < kFew; ++i) values.push_back(normal(1000 * (trial + 1) + which, i));
      return values;
    };
    const std::vector<double> target = column(0);
    double best = 0.0;
    for (std::uint32_t f = 1; f <= kFigures; ++f)
      best = std::max(best, narrowing(target, column(f), 0.0, {}));
    if (best > by_chance) ++exceeded;
  }
  // At most one in twenty, four deviations of a binomial number above: correlations of a hundred years have
  // shorter tails than the chi-squared form. A bound that nothing reaches would be too wide by a factor.
  EXPECT_LE(exceeded, 10 + 4.0 * std::sqrt(9.5));
  EXPECT_GE(exceeded, 1);
  EXPECT_LT(narrowing_by_chance(kFigures, 4 * kFew), 0.3 * by_chance);
  EXPECT_LT(narrowing_by_chance(kFigures / 10, kFew), by_chance);
}

}  // namespace
}  // namespace halflight::energy
