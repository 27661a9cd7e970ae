// Rules tested here are listed in docs/rules/time.md and docs/rules/numbers.md.
#include "base/base64.hpp"
#include "base/context.hpp"
#include "base/hash.hpp"
#include "base/interval_set.hpp"
#include "base/random.hpp"
#include "base/sums.hpp"
#include "base/time_axis.hpp"
#include "published.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight {
namespace {

TEST(Random, ZeroKeyGivesThePublishedWords) {
  // Known-answer test of Philox 4x32-10 for zero key and counter, from the generator's distribution.
  const auto words = random_words({}, {});
  constexpr std::array<std::uint32_t, 4> kKnown = {0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8};
  for (std::size_t i = 0; i < 4; ++i)
    EXPECT_PUBLISHED("known answers of Philox 4x32-10, in the generator's distribution",
                     fmt::format("random word {} of key 0, counter 0", i + 1), "", kKnown[i], words[i], 0.0);
}

TEST(Random, InverseNormalMatchesTheTable) {
  // Standard normal quantiles (any statistical table).
  const auto expect_quantile = [](const char* share, double p, double expected, double allowed) {
    EXPECT_PUBLISHED("table of the standard normal distribution",
                     fmt::format("standard normal quantile of {}", share), "", expected, inverse_normal(p),
                     allowed);
  };
  expect_quantile("0.5", 0.5, 0.0, 1e-15);
  expect_quantile("0.975", 0.975, 1.959963984540054, 1e-13);
  expect_quantile("0.05", 0.05, -1.6448536269514722, 1e-13);
  expect_quantile("0.000001", 1e-6, -4.753424308822899, 1e-11);
}

TEST(Random, SobolPointsFillEveryElementaryInterval) {
  // (t, m, s)-net property in base 2: 16 points of one dimension hit each sixteenth exactly once, scrambled
  // or not.
  for (std::uint32_t dimension = 0; dimension < 32; ++dimension) {
    for (std::uint32_t scramble = 0; scramble < 8; ++scramble) {
      std::array<int, 16> hits{};
      for (std::uint32_t i = 0; i < 16; ++i)
        ++hits[static_cast<std::size_t>(16.0 * sobol(i, dimension, scramble))];
      for (const int h : hits) EXPECT_EQ(h, 1) << "dimension " << dimension << " scramble " << scramble;
    }
  }
}

TEST(Random, ScramblesDiffer) { EXPECT_NE(sobol(3, 1, 0), sobol(3, 1, 1)); }

TEST(IntervalSet, UnionIntersectionAndDifferenceFollowSetAlgebra) {
  const IntervalSet a({{0, 10}, {20, 30}, {30, 35}});
  const IntervalSet b({{5, 25}});
  EXPECT_EQ(a.size(), 2U);  // touching intervals join
  EXPECT_EQ(united(a, b), IntervalSet({{0, 35}}));
  EXPECT_EQ(intersected(a, b), IntervalSet({{5, 10}, {20, 25}}));
  EXPECT_EQ(subtracted(a, b), IntervalSet({{0, 5}, {25, 35}}));
  EXPECT_EQ(united(a, b).measure() + intersected(a, b).measure(), a.measure() + b.measure());
}

TEST(IntervalSet, DelayLengthensAndJoins) {
  const IntervalSet motion({{0, 10}, {40, 50}, {200, 210}});
  EXPECT_EQ(motion.extended(30, 1000), IntervalSet({{0, 80}, {200, 240}}));
  EXPECT_TRUE(motion.contains(0));
  EXPECT_FALSE(motion.contains(10));
}

// European Union rule: last Sunday of March to last Sunday of October, 01:00 UTC (here at UTC+0).
const DaylightSaving kSpringForward{{3, -1, 6, kHour}, {10, -1, 6, kHour}, kHour};

TEST(Time, ClockChangesFallOnTheRuleDays) {
  // 2026 begins on a Thursday; clocks change on 29 March and 25 October.
  const CivilTime time(kSpringForward, 3);
  const Seconds spring = day_of_year({3, 29}) * kDay + kHour;
  EXPECT_EQ(time.shift_at(spring - 1), 0);
  EXPECT_EQ(time.shift_at(spring), kHour);
  const Seconds autumn = day_of_year({10, 25}) * kDay + kHour;
  EXPECT_EQ(time.shift_at(autumn - 1), kHour);
  EXPECT_EQ(time.shift_at(autumn), 0);
}

TEST(Time, ASkippedHourFiresAtTheJumpAndARepeatedHourOnce) {
  const CivilTime time(kSpringForward, 3);
  const Seconds spring_day = day_of_year({3, 29}) * kDay;
  EXPECT_EQ(time.standard(spring_day + kHour + 30 * kMinute), spring_day + kHour);
  const Seconds autumn_day = day_of_year({10, 25}) * kDay;
  EXPECT_EQ(time.standard(autumn_day + kHour + 30 * kMinute), autumn_day + 30 * kMinute);  // the first of two
}

TEST(Time, EveryCivilReadingOutsideTheJumpReturns) {
  const CivilTime time(kSpringForward, 3);
  for (Seconds s = 0; s < kYear; s += 1777) {
    const Seconds back = time.standard(time.civil(s));
    const bool repeated_hour = time.shift_at(s) == 0 && time.shift_at(s - kHour) == kHour;
    EXPECT_EQ(back, repeated_hour ? s - kHour : s);
  }
}

TEST(Time, AReadingIsShownOnceTwiceOrNever) {
  const CivilTime time(kSpringForward, 3);
  const Seconds half_past_one = kHour + 30 * kMinute;
  const Seconds spring_day = day_of_year({3, 29}) * kDay;
  EXPECT_TRUE(time.instants(spring_day + half_past_one).empty());
  const Seconds autumn_day = day_of_year({10, 25}) * kDay;
  EXPECT_EQ(time.instants(autumn_day + half_past_one),
            (std::vector<Seconds>{autumn_day + 30 * kMinute, autumn_day + half_past_one}));
  for (Seconds s = 0; s < kYear; s += 1777) {
    const std::vector<Seconds> shown = time.instants(time.civil(s));
    EXPECT_EQ(std::count(shown.begin(), shown.end(), s), 1);
    for (const Seconds instant : shown) EXPECT_EQ(time.civil(instant), time.civil(s));
  }
}

TEST(Time, AYearBeginsOnTheWeekdayOfTheCalendar) {
  EXPECT_EQ(first_weekday_of(2026), 3);  // Thursday
  EXPECT_EQ(first_weekday_of(2024), 0);
  EXPECT_EQ(first_weekday_of(1900), 0);
}

TEST(Time, DatesRoundTrip) {
  for (int d = 0; d < 365; ++d) EXPECT_EQ(day_of_year(month_day(d)), d);
  EXPECT_FALSE(is_valid({2, 29}));
  EXPECT_EQ(civil_text(day_of_year({3, 17}) * kDay + 14 * kHour + 35 * kMinute), "17 Mar 14:35");
}

TEST(Hash, KeyDependsOnBoundariesBetweenFields) {
  EXPECT_NE(KeyBuilder().add("ab").add("c").key(), KeyBuilder().add("a").add("bc").key());
  EXPECT_EQ(KeyBuilder().add(0.0).key(), KeyBuilder().add(-0.0).key());
}

TEST(Sums, CompensationKeepsWhatNaiveSummationLoses) {
  const std::vector<double> values = {1.0, 1e100, 1.0, -1e100};
  EXPECT_EQ(ordered_sum(values), 2.0);
}

TEST(Executor, EveryIndexRunsOnceOnAnyNumberOfThreads) {
  for (const std::size_t threads : {1U, 2U, 7U}) {
    const auto pool = make_pool_executor(threads);
    std::vector<int> done(1000, 0);
    pool->for_each(done.size(), [&](std::size_t i) { ++done[i]; });
    for (const int d : done) EXPECT_EQ(d, 1);
  }
}

TEST(Base64, GivesTheExamplesOfTheStandard) {
  // RFC 4648, section 10.
  EXPECT_EQ(base64(""), "");
  EXPECT_EQ(base64("f"), "Zg==");
  EXPECT_EQ(base64("fo"), "Zm8=");
  EXPECT_EQ(base64("foo"), "Zm9v");
  EXPECT_EQ(base64("foobar"), "Zm9vYmFy");
  for (const char* text : {"", "f", "fo", "foo", "foobar"}) EXPECT_EQ(from_base64(base64(text)), text);
  std::string all;
  for (int i = 0; i < 256; ++i) all += static_cast<char>(i);
  EXPECT_EQ(from_base64(base64(all)), all);
  for (const char* wrong : {"Zg=", "Zg", "Z===", "Zm9v!A==", "Zg==Zg==", "Zh==", "Zm9=", "Z m9"})
    EXPECT_FALSE(from_base64(wrong)) << wrong;
}

}  // namespace
}  // namespace halflight
