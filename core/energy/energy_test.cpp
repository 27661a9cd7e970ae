#include "base/random.hpp"
#include "base/time_axis.hpp"
#include "energy/estimate.hpp"
#include "energy/integrate.hpp"
#include "energy/power_curve.hpp"
#include "energy/shapley.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::energy {
namespace {

struct Piece {
  Seconds begin;
  Seconds end;
  double level;
};

LightingEnergy energy_over(GroupEnergy& group, const std::vector<Piece>& timeline) {
  return group.over(std::span<const Piece>(timeline));
}

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
    EXPECT_NEAR(power_fraction(driver, LightFraction(light)).value(), power, 0.0051)
        << light;  // whole percents
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

TEST(StepIntegral, AgreesWithSummingSecondBySecond) {
  std::vector<double> values(40);
  for (std::size_t k = 0; k < values.size(); ++k) values[k] = uniform(static_cast<std::uint32_t>(k));
  const StepIntegral integral(values, 7);
  EXPECT_EQ(integral.length(), 280);
  for (Seconds a = 0; a <= 280; a += 3)
    for (Seconds b = a; b <= 280; b += 5) {
      double sum = 0.0;
      for (Seconds t = a; t < b; ++t) sum += values[static_cast<std::size_t>(t / 7)];
      EXPECT_NEAR(integral.over(a, b), sum, 1e-11);
    }
}

TEST(GroupEnergy, TenLuminairesReplacedWithEveryStrategyOff) {
  // Worked by hand: 10 x 58 W x 3,000 h; 10 x 30 W x 3,000 h; and 10 x 0.4 W through the other 5,760 h.
  const std::vector<Piece> timeline = {
      {0, kHour, 0.0}, {kHour, 3001 * kHour, 1.0}, {3001 * kHour, kYear, 0.0}};
  domain::Driver plain;
  plain.dims = false;
  plain.standby_w = 0.0;
  GroupEnergy found({PowerCurve::of(plain, Watts(580.0), 10)}, 1.0, {}, 300);
  const LightingEnergy as_found = energy_over(found, timeline);
  EXPECT_NEAR(as_found.light_wh + as_found.standby_wh, 1'740'000.0, 1e-6);
  GroupEnergy relamped({PowerCurve::of(plain, Watts(300.0), 10)}, 1.0, {}, 300);
  const LightingEnergy lamps = energy_over(relamped, timeline);
  EXPECT_NEAR(lamps.light_wh + lamps.standby_wh, 900'000.0, 1e-6);
  GroupEnergy controlled({PowerCurve::of(dimming_driver(), Watts(300.0), 10)}, 1.0, {}, 300);
  const LightingEnergy proposal = energy_over(controlled, timeline);
  EXPECT_NEAR(proposal.light_wh, 900'000.0, 1e-6);
  EXPECT_NEAR(proposal.light_wh + proposal.standby_wh, 923'040.0, 1e-6);
  EXPECT_NEAR(proposal.lit_s, 3000.0 * 3600.0, 1e-6);
  // What control adds to new lamps is a loss.
  const double control_share = lamps.light_wh + lamps.standby_wh - proposal.light_wh - proposal.standby_wh;
  EXPECT_NEAR(control_share, -23'040.0, 1e-6);
}

TEST(GroupEnergy, DaylightLimitsAndNeverRaises) {
  // Two kinds of driver, trim, limits that switch off, dim below the minimum and do not bind; against a sum
  // by seconds.
  domain::Driver fixed;
  fixed.dims = false;
  fixed.standby_w = 0.0;
  const std::vector<PowerCurve> curves = {PowerCurve::of(dimming_driver(), Watts(200.0), 5),
                                          PowerCurve::of(fixed, Watts(50.0), 1)};
  std::vector<double> limits(48);
  for (std::size_t k = 0; k < limits.size(); ++k) {
    const double u = uniform(static_cast<std::uint32_t>(k));
    limits[k] = u < 0.2 ? 0.0 : 1.1 * u;
  }
  const double trim = 0.8;
  const std::vector<Piece> timeline = {{0, 1234, 0.0},    {1234, 4000, 1.0},  {4000, 4030, 0.5},
                                       {4030, 9000, 0.0}, {9000, 9001, 0.05}, {9001, 14400, 1.0}};
  GroupEnergy group(curves, trim, limits, 300);
  const LightingEnergy energy = energy_over(group, timeline);
  double light = 0.0;
  double standby = 0.0;
  double lit = 0.0;
  for (const Piece& piece : timeline)
    for (Seconds t = piece.begin; t < piece.end; ++t) {
      const double asked = std::min(piece.level * trim, limits[static_cast<std::size_t>(t / 300)]);
      light += on_w(curves, asked) / 3600.0;
      if (asked > 0.0) ++lit;
      if (asked <= 0.0) standby += standby_w(curves) / 3600.0;
    }
  EXPECT_NEAR(energy.light_wh, light, 1e-9 * light);
  EXPECT_NEAR(energy.standby_wh, standby, 1e-9);
  EXPECT_NEAR(energy.lit_s, lit, 1e-6);
  // A group that has known other limits gives the same to the bit.
  GroupEnergy used(curves, 0.5, std::vector<double>(48, 0.3), 300);
  energy_over(used, timeline);
  used.set_limit(trim, limits);
  EXPECT_EQ(energy_over(used, timeline).light_wh, energy.light_wh);
  EXPECT_EQ(energy_over(used, timeline).standby_wh, energy.standby_wh);
  // Limits above everything change nothing.
  GroupEnergy free(curves, trim, {}, 300);
  GroupEnergy loose(curves, trim, std::vector<double>(48, 1.0), 300);
  EXPECT_NEAR(energy_over(free, timeline).light_wh, energy_over(loose, timeline).light_wh, 1e-9);
  EXPECT_LT(energy.light_wh, energy_over(free, timeline).light_wh);
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
  EXPECT_NEAR(shares[0], 2.0 / 3.0, 1e-15);
  EXPECT_NEAR(shares[1], 1.0 / 6.0, 1e-15);
  EXPECT_NEAR(shares[2], 1.0 / 6.0, 1e-15);
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
  EXPECT_NEAR(e.low, 10.0 - 2.0 * 1.644854, four_sigma);
  EXPECT_NEAR(e.high, 10.0 + 2.0 * 1.644854, four_sigma);
  EXPECT_NEAR(e.mean, 10.0, 4.0 * 2.0 / std::sqrt(16000.0));
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

TEST(Estimate, ARatioOfTotalsIsNotTheMeanOfRatios) {
  // By hand: 1 of 2 and 9 of 10 make 10 of 12, while the ratios' mean is 0.7.
  const std::vector<double> parts = {1.0, 9.0};
  const std::vector<double> wholes = {2.0, 10.0};
  const results::Estimate found = ratio_estimate(parts, wholes, 2);
  EXPECT_NEAR(found.mean, 10.0 / 12.0, 1e-15);
  // Scrambles of one replicate: 0.5 and 0.9, deviation 0.2 sqrt 2, over sqrt 2.
  EXPECT_NEAR(found.standard_error, 0.2, 1e-12);
  EXPECT_GE(found.low, 0.5);
  EXPECT_LE(found.high, 0.9);
  EXPECT_EQ(ratio_estimate(std::vector<double>{1.0}, std::vector<double>{0.0}, 1).mean, 0.0);
}

}  // namespace
}  // namespace halflight::energy
