#include "base/interval_set.hpp"
#include "base/random.hpp"
#include "base/time_axis.hpp"
#include "energy/estimate.hpp"
#include "energy/integrate.hpp"
#include "energy/power_curve.hpp"
#include "energy/shapley.hpp"
#include "published.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::energy {
namespace {

domain::Driver dimming_driver() {
  domain::Driver driver;
  driver.minimum_light = 0.10;
  driver.power_at_zero = 0.05;
  driver.standby_w = 0.4;
  return driver;
}

double uniform(std::uint32_t k) { return random_uniform({5, 6}, {0, 0, 0, k}); }

// --- power against light
// -----------------------------------------------------------------------------------------

TEST(PowerCurve, FollowsTheAffineFormOfItsTable) {
  // P = a + (1 - a) f for a = 0.05: 52, 29, 14, 10 and 6 % of power at 50, 25, 10, 5 and 1 % of light
  // (rounded).
  domain::Driver driver = dimming_driver();
  driver.minimum_light = 0.01;
  constexpr std::array<std::array<double, 2>, 5> kTable = {
      {{0.50, 0.52}, {0.25, 0.29}, {0.10, 0.14}, {0.05, 0.10}, {0.01, 0.06}}};
  for (const auto& [light, power] : kTable)
    EXPECT_PUBLISHED("closed form a + (1 - a) f, a = 0.05, in whole percents",
                     fmt::format("power fraction at a light fraction of {}", light), "", power,
                     power_fraction(driver, LightFraction(light)).value(), 0.0051);
  EXPECT_DOUBLE_EQ(power_fraction(driver, LightFraction(0.5)).value(), 0.525);
  EXPECT_DOUBLE_EQ(power_fraction(driver, LightFraction(1.0)).value(), 1.0);
  // A fluorescent dimming ballast with a = 0.125 draws 30 % of its power at 20 % of its light.
  driver.power_at_zero = 0.125;
  EXPECT_NEAR(power_fraction(driver, LightFraction(0.2)).value(), 0.30, 1e-12);
}

TEST(PowerCurve, HoldsTheMinimumAndKnowsOff) {
  const domain::Driver driver = dimming_driver();
  EXPECT_EQ(light_given(driver, LightFraction(0.02)).value(), 0.10);
  EXPECT_EQ(light_given(driver, LightFraction(0.0)).value(), 0.0);
  EXPECT_EQ(light_given(driver, LightFraction(1.4)).value(), 1.0);
  EXPECT_EQ(power_fraction(driver, LightFraction(0.0)).value(), 0.0);
  domain::Driver switched = driver;
  switched.dims = false;
  EXPECT_EQ(light_given(switched, LightFraction(0.3)).value(), 1.0);
  EXPECT_EQ(power_fraction(switched, LightFraction(0.3)).value(), 1.0);
}

TEST(PowerCurve, GroupsAgreeWithTheirDrivers) {
  for (const bool dims : {true, false}) {
    domain::Driver driver = dimming_driver();
    driver.dims = dims;
    const PowerCurve curve = PowerCurve::of(driver, Watts(240.0), 6);
    for (const double light : {0.0, 0.01, 0.1, 0.37, 1.0})
      EXPECT_DOUBLE_EQ(curve.on_w(light), 240.0 * power_fraction(driver, LightFraction(light)).value());
    EXPECT_DOUBLE_EQ(curve.standby_w, 2.4);
  }
}

// --- integrals
// ---------------------------------------------------------------------------------------------------

TEST(TimeInSteps, EverySecondIsInItsStep) {
  // Two runs of 7-second steps with a gap, against counting seconds one by one.
  const std::vector<SeriesRun> runs = {{14, 49, 0}, {70, 140, 5}};
  const auto index_of = [](Seconds t) {
    return t >= 14 && t < 49 ? static_cast<int>((t - 14) / 7)
           : t >= 70         ? static_cast<int>(5 + (t - 70) / 7)
                             : -1;
  };
  for (std::uint32_t trial = 0; trial < 300; ++trial) {
    TimeInSteps time(runs, 7);
    std::vector<double> expected(15, 0.0);
    double outside = 0.0;
    Seconds total = 0;
    Seconds t = 0;
    for (std::uint32_t k = 0; t < 140; ++k) {
      const auto [gap, length] = random_uniform_pair({7, trial}, {0, 0, 0, k});
      const Seconds begin = t + static_cast<Seconds>(12.0 * gap);
      const Seconds end = std::min<Seconds>(140, begin + static_cast<Seconds>(60.0 * length * length));
      t = std::max(end, begin + 1);
      if (begin >= end) continue;
      time.add(begin, end);
      total += end - begin;
      for (Seconds s = begin; s < end; ++s)
        if (index_of(s) < 0)
          outside += 1.0;
        else
          expected[static_cast<std::size_t>(index_of(s))] += 1.0;
    }
    std::vector<double> found(15, 0.0);
    for (const TimeInSteps::Run& run : time.whole_steps())
      for (std::uint32_t k = run.first; k < run.last; ++k) found[k] += 7.0;
    for (const TimeInSteps::Part& part : time.parts()) found[part.index] += part.seconds;
    EXPECT_EQ(found, expected) << "trial " << trial;
    EXPECT_EQ(time.outside_s(), outside);
    EXPECT_EQ(time.total_s(), total);
  }
}

TEST(Drawn, TenLuminairesReplacedWithEveryStrategyOff) {
  // Worked by hand: 10 x 58 W x 3,000 h; 10 x 30 W x 3,000 h; and 10 x 0.4 W through the other 5,760 h.
  domain::Driver plain;
  plain.dims = false;
  plain.standby_w = 0.0;
  const Seconds on = 3000 * kHour;
  const std::vector<PowerCurve> found = {PowerCurve::of(plain, Watts(580.0), 10)};
  const char* const by_hand = "worked by hand";
  EXPECT_PUBLISHED(by_hand, "ten luminaires of 58 W, 3000 h", "kWh", 1740.0,
                   drawn_at(found, 1.0, on).watt_seconds / 3.6e6, 1e-9);
  EXPECT_EQ(standby_w(found), 0.0);
  const std::vector<PowerCurve> relamped = {PowerCurve::of(plain, Watts(300.0), 10)};
  const double lamps_wh = drawn_at(relamped, 1.0, on).watt_seconds / 3600.0;
  EXPECT_PUBLISHED(by_hand, "ten luminaires of 30 W, 3000 h", "kWh", 900.0, lamps_wh / 1000.0, 1e-9);
  const std::vector<PowerCurve> controlled = {PowerCurve::of(dimming_driver(), Watts(300.0), 10)};
  const Drawn proposal = drawn_at(controlled, 1.0, on);
  EXPECT_EQ(proposal.lit_s, 3000.0 * 3600.0);
  const double proposal_wh =
      (proposal.watt_seconds + standby_w(controlled) * (static_cast<double>(kYear) - proposal.lit_s)) /
      3600.0;
  EXPECT_PUBLISHED(by_hand,
                   "ten luminaires of 30 W, 3000 h, and 0.4 W each of standby through the other 5760 h",
                   "kWh", 923.04, proposal_wh / 1000.0, 1e-9);
  // What control adds to new lamps is a loss.
  EXPECT_NEAR(lamps_wh - proposal_wh, -23'040.0, 1e-6);
}

TEST(Drawn, DaylightLimitsAndNeverRaises) {
  // Two kinds of driver, limits that switch off, dim below the minimum and do not bind, and dark hours on
  // both sides; against a sum by seconds.
  domain::Driver fixed;
  fixed.dims = false;
  fixed.standby_w = 0.0;
  const std::vector<PowerCurve> curves = {PowerCurve::of(dimming_driver(), Watts(200.0), 5),
                                          PowerCurve::of(fixed, Watts(50.0), 1)};
  const std::vector<SeriesRun> daylit = {{600, 12000, 0}};
  std::vector<double> limits(38);
  for (std::size_t k = 0; k < limits.size(); ++k) {
    const double u = uniform(static_cast<std::uint32_t>(k));
    limits[k] = u < 0.2 ? 0.0 : 1.1 * u;
  }
  const std::vector<Interval> lit = {{123, 4000}, {4030, 4031}, {4100, 9000}, {9001, 14400}};
  TimeInSteps time(daylit, 300);
  for (const Interval& i : lit) time.add(i.begin, i.end);
  for (const double level : {0.8, 0.4, 0.05}) {
    const Drawn drawn = drawn_under_limit(curves, level, time, limits);
    double watt_seconds = 0.0;
    double lit_s = 0.0;
    for (const Interval& i : lit)
      for (Seconds t = i.begin; t < i.end; ++t) {
        const bool dark = t < 600 || t >= 12000;
        const double light =
            dark ? level : std::min(level, limits[static_cast<std::size_t>((t - 600) / 300)]);
        watt_seconds += on_w(curves, light);
        if (light > 0.0) ++lit_s;
      }
    EXPECT_NEAR(drawn.watt_seconds, watt_seconds, 1e-9 * watt_seconds);
    EXPECT_NEAR(drawn.lit_s, lit_s, 1e-6);
    // Limits above everything change nothing.
    const Drawn loose = drawn_under_limit(curves, level, time, std::vector<double>(38, 1.0));
    const Drawn free = drawn_at(curves, level, time.total_s());
    EXPECT_NEAR(loose.watt_seconds, free.watt_seconds, 1e-9 * free.watt_seconds);
    EXPECT_EQ(loose.lit_s, free.lit_s);
    EXPECT_LT(drawn.watt_seconds, free.watt_seconds);
  }
  EXPECT_EQ(drawn_under_limit(curves, 0.0, time, limits).watt_seconds, 0.0);
}

// --- Shapley values
// ----------------------------------------------------------------------------------------------

std::vector<double> by_permutations(const std::vector<double>& worth, unsigned n) {
  std::vector<unsigned> order(n);
  std::iota(order.begin(), order.end(), 0U);
  std::vector<double> shares(n, 0.0);
  double orders = 0.0;
  do {
    unsigned mask = 0;
    for (const unsigned player : order) {
      shares[player] += worth[mask | (1U << player)] - worth[mask];
      mask |= 1U << player;
    }
    orders += 1.0;
  } while (std::next_permutation(order.begin(), order.end()));
  for (double& share : shares) share /= orders;
  return shares;
}

TEST(Shapley, AgreesWithEveryOrderOfArrival) {
  for (unsigned n = 1; n <= 6; ++n) {
    std::vector<double> worth(std::size_t{1} << n);
    for (std::size_t mask = 0; mask < worth.size(); ++mask)
      worth[mask] = 1000.0 * uniform(static_cast<std::uint32_t>(100 * n + mask));
    const std::vector<double> shares = shapley(worth);
    const std::vector<double> brute = by_permutations(worth, n);
    for (unsigned i = 0; i < n; ++i) EXPECT_NEAR(shares[i], brute[i], 1e-10);
    EXPECT_NEAR(std::accumulate(shares.begin(), shares.end(), 0.0), worth.back() - worth.front(), 1e-10);
  }
}

TEST(Shapley, ANullPlayerGetsExactlyNothingAndDuplicatesTheSame) {
  std::vector<double> worth(32);
  for (unsigned mask = 0; mask < 32; ++mask) {
    // Player 3 changes nothing; players 0 and 4 are interchangeable: only their number counts.
    const unsigned number = (mask & 1U) + ((mask >> 4) & 1U);
    const unsigned others = (mask >> 1) & 3U;
    worth[mask] = uniform(10 * number + others);
  }
  const std::vector<double> shares = shapley(worth);
  EXPECT_EQ(shares[3], 0.0);
  EXPECT_EQ(shares[0], shares[4]);
  EXPECT_NE(shares[0], shares[1]);
}

TEST(Shapley, TheGloveGame) {
  // Textbook: one left glove and two right ones, a pair is worth 1: shares 2/3, 1/6, 1/6.
  const std::vector<double> worth = {0, 0, 0, 1, 0, 1, 0, 1};
  const std::vector<double> shares = shapley(worth);
  const char* const textbook = "glove game of textbooks";
  EXPECT_PUBLISHED(textbook, "Shapley value of the left glove", "", 2.0 / 3.0, shares[0], 1e-15);
  EXPECT_PUBLISHED(textbook, "Shapley value of one right glove", "", 1.0 / 6.0, shares[1], 1e-15);
  EXPECT_PUBLISHED(textbook, "Shapley value of the other right glove", "", 1.0 / 6.0, shares[2], 1e-15);
}

// --- estimates
// ---------------------------------------------------------------------------------------------------

TEST(Estimate, InterpolatesPercentilesAndTakesTheErrorFromScrambles) {
  // 1..8 in two scrambles of four: mean 4.5, type 7 percentiles 1 + 0.05 x 7 and 1 + 0.95 x 7; scramble
  // means 2.5 and 6.5, whose deviation is 4 / sqrt 2 and whose error is 2.
  const std::vector<double> values = {4, 3, 2, 1, 8, 7, 6, 5};
  const results::Estimate e = estimate(values, 2);
  EXPECT_DOUBLE_EQ(e.mean, 4.5);
  EXPECT_DOUBLE_EQ(e.low, 1.35);
  EXPECT_DOUBLE_EQ(e.high, 7.65);
  EXPECT_DOUBLE_EQ(e.standard_error, 2.0);
  EXPECT_NEAR(estimate(values, 1).standard_error, std::sqrt(6.0) / std::sqrt(8.0), 1e-12);
  EXPECT_EQ(estimate(std::vector<double>{3.0}, 1).standard_error, 0.0);
  EXPECT_EQ(estimate(std::vector<double>{3.0}, 1).high, 3.0);
}

TEST(Estimate, FindsTheKnownSpreadOfANormal) {
  std::vector<double> values;
  for (std::uint32_t k = 0; k < 8 * 2000; ++k)
    values.push_back(10.0 + 2.0 * random_normal({1, 1}, {0, 0, 0, k}));
  const results::Estimate e = estimate(values, 8);
  // Percentiles at 1.6449 deviations; their sampling error is 2 sqrt(0.05 x 0.95 / n) / density(1.6449).
  const double four_sigma = 4.0 * 2.0 * std::sqrt(0.05 * 0.95 / 16000.0) / 0.10314;
  const char* const normal = "table of the standard normal distribution";
  EXPECT_PUBLISHED(normal, "16,000 draws of mean 10 and deviation 2: 5th percentile", "",
                   10.0 - 2.0 * 1.644854, e.low, four_sigma);
  EXPECT_PUBLISHED(normal, "16,000 draws of mean 10 and deviation 2: 95th percentile", "",
                   10.0 + 2.0 * 1.644854, e.high, four_sigma);
  EXPECT_PUBLISHED(normal, "16,000 draws of mean 10 and deviation 2: mean", "", 10.0, e.mean,
                   4.0 * 2.0 / std::sqrt(16000.0));
  // Of eight values: the error of the error is a quarter.
  EXPECT_NEAR(e.standard_error, 2.0 / std::sqrt(16000.0), 2.0 / std::sqrt(16000.0));
}

TEST(Estimate, LowDiscrepancyPointsHaveSmallerErrors) {
  std::vector<double> spread;
  std::vector<double> random;
  for (std::uint32_t s = 0; s < 8; ++s)
    for (std::uint32_t k = 0; k < 16; ++k) {
      spread.push_back(sobol(k, 0, s));
      random.push_back(uniform(1000 + 16 * s + k));
    }
  EXPECT_LT(estimate(spread, 8).standard_error, 0.5 * estimate(random, 8).standard_error);
}

TEST(Effects, RecoverALinearModel) {
  constexpr std::size_t kRuns = 128;
  std::vector<std::vector<double>> inputs(4, std::vector<double>(kRuns));
  std::vector<double> values(kRuns);
  for (std::size_t i = 0; i < kRuns; ++i) {
    inputs[0][i] = 100.0 * uniform(static_cast<std::uint32_t>(2000 + i));
    inputs[1][i] = 0.01 * uniform(static_cast<std::uint32_t>(3000 + i));
    inputs[2][i] = 7.0;                  // does not vary
    inputs[3][i] = -2.0 * inputs[0][i];  // varies with the first
    values[i] = 5.0 + 0.3 * inputs[0][i] - 4000.0 * inputs[1][i];
  }
  const auto deviation = [](const std::vector<double>& x) {
    const double mean = std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
    double squares = 0.0;
    for (const double v : x) squares += (v - mean) * (v - mean);
    return std::sqrt(squares / static_cast<double>(x.size() - 1));
  };
  const std::vector<std::vector<double>> two = {inputs[0], inputs[1]};
  const std::vector<double> found = effects(values, two);
  EXPECT_NEAR(found[0], 0.3 * deviation(inputs[0]), 1e-9);
  EXPECT_NEAR(found[1], -4000.0 * deviation(inputs[1]), 1e-9);
  const std::vector<double> all = effects(values, inputs);
  EXPECT_EQ(all[2], 0.0);
  EXPECT_NEAR(all[0], 0.15 * deviation(inputs[0]), 1e-9);
  EXPECT_NEAR(all[3], -0.15 * deviation(inputs[0]), 1e-9);
  EXPECT_NEAR(all[1], found[1], 1e-9);
}

TEST(Sensitivity, SharesTheVarianceOfALinearModelWithNames) {
  // y = 3 a + 4 b + g + e: normal a, b and e of deviation 1, 1 and 2; g one of four names with the values 0,
  // 6, 0, 6, whose variance is 9. Of 9 + 16 + 9 + 4 = 38.
  constexpr std::size_t kRuns = 20000;
  std::vector<double> a;
  std::vector<double> b;
  std::vector<double> name;
  std::vector<double> idle;
  std::vector<double> values;
  const auto normal = [](std::uint32_t which, std::size_t i) {
    return random_normal({21, which}, {0, 0, 0, static_cast<std::uint32_t>(i)});
  };
  for (std::size_t i = 0; i < kRuns; ++i) {
    a.push_back(normal(1, i));
    b.push_back(normal(2, i));
    name.push_back(static_cast<double>(i % 4));
    idle.push_back(normal(3, i));
    values.push_back(3.0 * a[i] + 4.0 * b[i] + (i % 2 == 1 ? 6.0 : 0.0) + 2.0 * normal(4, i));
  }
  const std::vector<VariedInput> inputs = {{a}, {b}, {name, true}, {idle}};
  const Sensitivity found = sensitivity(values, inputs);
  // An estimated share of 20,000 runs is off by about 2 sqrt(share / n): four of these.
  const char* const closed = "variance of a sum of independent terms, closed form";
  const auto within = [](double share) { return 4.0 * 2.0 * std::sqrt(share / kRuns); };
  EXPECT_PUBLISHED(closed, "share of variance of 3 a beside 4 b, names and chance", "", 9.0 / 38.0,
                   found.share[0], within(9.0 / 38.0));
  EXPECT_PUBLISHED(closed, "share of variance of 4 b", "", 16.0 / 38.0, found.share[1], within(16.0 / 38.0));
  EXPECT_PUBLISHED(closed, "share of variance of names without an order", "", 9.0 / 38.0, found.share[2],
                   within(9.0 / 38.0));
  EXPECT_NEAR(found.rest, 4.0 / 38.0, within(1.0));
  EXPECT_LT(found.share[3], 16.0 / kRuns);
  EXPECT_NEAR(found.effect[0], 3.0, 0.1);
  EXPECT_NEAR(found.effect[2], 3.0, 0.1);
}

TEST(Estimate, ARatioOfTotalsIsNotTheMeanOfRatios) {
  // By hand: 1 of 2 and 9 of 10 make 10 of 12, while the ratios' mean is 0.7.
  const std::vector<double> parts = {1.0, 9.0};
  const std::vector<double> wholes = {2.0, 10.0};
  const results::Estimate found = ratio_estimate(parts, wholes, 2);
  EXPECT_PUBLISHED("worked by hand", "ratio of the totals of 1 of 2 and 9 of 10", "", 10.0 / 12.0, found.mean,
                   1e-15);
  // Scrambles of one replicate: 0.5 and 0.9, deviation 0.2 sqrt 2, over sqrt 2.
  EXPECT_NEAR(found.standard_error, 0.2, 1e-12);
  EXPECT_GE(found.low, 0.5);
  EXPECT_LE(found.high, 0.9);
  EXPECT_EQ(ratio_estimate(std::vector<double>{1.0}, std::vector<double>{0.0}, 1).mean, 0.0);
}

}  // namespace
}  // namespace halflight::energy
