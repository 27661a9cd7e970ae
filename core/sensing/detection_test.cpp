#include "sensing/detection.hpp"

#include "base/time_axis.hpp"
#include "published.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace halflight::sensing {
namespace {

domain::Space hall() {
  domain::Space space;
  space.floor = rectangle({-20, -20}, {20, 20});
  space.height_m = 2.7;
  return space;
}
domain::OccupancySensor sensor_at(Point3 at, double major_m = 5.4, double minor_m = 3.2) {
  domain::OccupancySensor sensor;
  sensor.id = "watch";
  sensor.at = at;
  sensor.major_radius_m = major_m;
  sensor.minor_radius_m = minor_m;
  return sensor;
}

Activity always_busy() { return {{1, 0}, {1, 0}, 20.0, 0.0}; }

/// Gaps longer than `delay_s` between what was noticed in [from, to), the ends left out.
int long_gaps(const IntervalSet& noticed, Seconds delay_s) {
  int count = 0;
  for (std::size_t i = 1; i < noticed.size(); ++i)
    // A movement lasts a second here: the time from the one to the next.
    if (noticed.intervals()[i].begin - (noticed.intervals()[i - 1].end - 1) > delay_s) ++count;
  return count;
}

TEST(Unnoticed, IsThePoissonRateOfLongGaps) {
  const char* const source = "Poisson process: gaps longer than t at the rate l exp(-l t)";
  struct Row {
    double per_min;
    double delay_min;
    double per_hour;
    double rounded_to;
  };
  for (const Row row : {Row{0.2, 5, 4.4, 0.05},
                        {0.2, 20, 0.22, 0.005},
                        {0.3, 10, 0.90, 0.005},
                        {0.5, 15, 0.017, 0.0005},
                        {0.8, 10, 0.016, 0.0005},
                        {1.0, 5, 0.40, 0.005}})
    EXPECT_PUBLISHED(
        source, std::to_string(row.per_min) + " a minute, min " + std::to_string(row.delay_min), "/h",
        row.per_hour,
        unnoticed_per_hour(always_busy(), {row.per_min, row.per_min, 0, 0}, 60.0 * row.delay_min),
        row.rounded_to);
}

TEST(Unnoticed, WithBoutsMatchesTheMatrixExponential) {
  const char* const source = "Markov-modulated Poisson process, matrix exponential checked by random runs";
  const NoticeRates inside{2.15, 0.22, 0, 0};
  const NoticeRates partly{1.15, 0.12, 0, 0};
  const NoticeRates walking_only{0.15, 0.02, 0, 0};
  struct Row {
    const char* place;
    NoticeRates rates;
    double delay_min;
    double per_hour;
    double rounded_to;
  };
  for (const Row& row : {Row{"inside", inside, 5, 1.21, 0.005},
                         {"inside", inside, 10, 0.219, 0.0005},
                         {"inside", inside, 15, 0.040, 0.0005},
                         {"inside", inside, 20, 0.0072, 0.00005},
                         {"partly", partly, 5, 1.68, 0.005},
                         {"partly", partly, 15, 0.145, 0.0005},
                         {"walking only", walking_only, 5, 3.54, 0.005},
                         {"walking only", walking_only, 20, 0.79, 0.005},
                         {"walking only", walking_only, 30, 0.32, 0.005}})
    EXPECT_PUBLISHED(source, row.place + std::string(", min ") + std::to_string(row.delay_min), "/h",
                     row.per_hour, unnoticed_per_hour(seated_activity(), row.rates, 60.0 * row.delay_min),
                     row.rounded_to);
}

TEST(Noticed, LongGapsComeAsOftenAsTheClosedFormSays) {
  const IntervalSet whole_year({{0, kYear}});
  for (const Grain grain :
       {Grain::every_movement, Grain::ten_seconds, Grain::two_minutes, Grain::ten_minutes})
    for (const NoticeRates& rates : {NoticeRates{2.15, 0.22, 0, 0}, NoticeRates{0.15, 0.02, 0, 0}}) {
      const Watched person{&whole_year, {1, 7}, seated_activity(), {&rates, 1}};
      for (const double delay_min : {2.0, 5.0, 15.0}) {
        if (grain == Grain::ten_minutes && delay_min < 10.0) continue;
        constexpr std::uint32_t kReplicates = 3;
        int found = 0;
        for (std::uint32_t r = 0; r < kReplicates; ++r)
          found += long_gaps(noticed({&person, 1}, r, grain), std::lround(60.0 * delay_min));
        const double expected =
            kReplicates * 8760.0 * unnoticed_per_hour(seated_activity(), rates, 60.0 * delay_min);
        // Counts of rare events: four deviations of a Poisson number. Whole seconds shift a gap by half a
        // second, which moves the expectation by less than 1 % at these rates.
        EXPECT_NEAR(found, expected, 4.0 * std::sqrt(expected) + 0.01 * expected)
            << delay_min << " min, grain " << static_cast<int>(grain);
      }
    }
}

TEST(Noticed, GapsOfWhomeverWalksAreThoseOfAPoissonProcess) {
  // In whole seconds a gap is longer than d when no movement comes before the end of the second d + 1 after
  // that of the movement: at rate b as often as exp(-b (d + 1)) (exp(b) - 1) a second.
  constexpr Seconds kSpan = 60 * kDay;
  const IntervalSet all_the_time({{0, kSpan}});
  for (const double per_s : {0.15, 0.25, 0.4}) {
    const NoticeRates rates{60.0 * per_s, 60.0 * per_s, 0, 0};
    const Watched person{&all_the_time, {1, 7}, always_busy(), {&rates, 1}};
    for (const Grain grain : {Grain::every_movement, Grain::ten_seconds}) {
      const IntervalSet found = noticed({&person, 1}, 0, grain);
      for (const Seconds delay : {Seconds{10}, Seconds{15}}) {
        const auto d = static_cast<double>(delay);
        const double expected = static_cast<double>(kSpan) * std::exp(-per_s * (d + 1.0)) * std::expm1(per_s);
        EXPECT_NEAR(long_gaps(found, delay), expected, 4.0 * std::sqrt(expected))
            << per_s << " a second, " << delay << " s, grain " << static_cast<int>(grain);
      }
    }
  }
}

TEST(Noticed, MovementsOfOthersFillNoGapOfTenSecondsThatBothLeave) {
  // Two people who stay for minutes and walk in and out: gaps of the two together, drawn with and without
  // looking only where the other left gaps, are as long as often. Counts of equal means: four deviations of
  // their difference.
  std::vector<Interval> minutes;
  for (Seconds t = 0; t < 60 * kDay; t += 20 * kMinute) minutes.push_back({t, t + 5 * kMinute});
  const IntervalSet stays(std::move(minutes));
  const NoticeRates rates{2.0, 0.2, 1.0, 60.0};
  const std::vector<Watched> two = {{&stays, {1, 7}, seated_activity(), {&rates, 1}},
                                    {&stays, {1, 8}, seated_activity(), {&rates, 1}}};
  const IntervalSet every = noticed(two, 0, Grain::every_movement);
  const IntervalSet filled = noticed(two, 0, Grain::ten_seconds);
  for (const Seconds delay : {10, 15, 60}) {
    const double sum = long_gaps(every, delay) + long_gaps(filled, delay);
    EXPECT_GT(sum, 1000.0);
    EXPECT_NEAR(long_gaps(every, delay), long_gaps(filled, delay), 4.0 * std::sqrt(sum)) << delay << " s";
  }
  EXPECT_LT(filled.size(), every.size() / 2);
}

TEST(Noticed, OnlyWhileSomebodyIsThere) {
  const IntervalSet stays({{1000, 5000}, {5030, 5040}, {90000, 100000}});
  const NoticeRates rates{30, 30, 1.3, 4};
  const Watched person{&stays, {1, 7}, seated_activity(), {&rates, 1}};
  for (const Grain grain :
       {Grain::every_movement, Grain::ten_seconds, Grain::two_minutes, Grain::ten_minutes}) {
    const IntervalSet found = noticed({&person, 1}, 0, grain);
    EXPECT_FALSE(found.empty());
    for (const Interval& i : found.intervals()) EXPECT_TRUE(stays.contains(i.begin)) << i.begin;
  }
}

TEST(Noticed, AGapOfTwoMinutesIsNeverFilled) {
  const IntervalSet whole_day({{0, kDay}});
  const NoticeRates rates{1.0, 1.0, 0, 0};
  const Watched person{&whole_day, {1, 7}, always_busy(), {&rates, 1}};
  const IntervalSet coarse = noticed({&person, 1}, 0, Grain::two_minutes);
  for (std::size_t i = 1; i < coarse.size(); ++i)
    EXPECT_GT(coarse.intervals()[i].begin, coarse.intervals()[i - 1].end);
  // A run of minutes that all hold a movement is one interval, so that hardly more than the long gaps stay.
  EXPECT_LT(coarse.size(), noticed({&person, 1}, 0, Grain::every_movement).size() / 3);
}

TEST(Noticed, ABetterSensorNeverLeavesALongerGap) {
  const IntervalSet whole_day({{0, 30 * kDay}});
  const NoticeRates poor{0.3, 0.03, 0, 0};
  const NoticeRates good{2.0, 0.2, 0, 0};
  const Watched with_poor{&whole_day, {1, 7}, seated_activity(), {&poor, 1}};
  const Watched with_good{&whole_day, {1, 7}, seated_activity(), {&good, 1}};
  // Minutes without a movement: the same draws against lower chances.
  EXPECT_LT(subtracted(noticed({&with_poor, 1}, 0, Grain::two_minutes),
                       noticed({&with_good, 1}, 0, Grain::two_minutes))
                .measure(),
            noticed({&with_good, 1}, 0, Grain::two_minutes).measure() / 20);
}

TEST(Noticed, AnotherPersonChangesNobodysMovements) {
  const IntervalSet day({{0, kDay}});
  const NoticeRates rates{1.0, 0.1, 0, 0};
  const std::vector<Watched> two = {{&day, {1, 7}, seated_activity(), {&rates, 1}},
                                    {&day, {1, 8}, seated_activity(), {&rates, 1}}};
  const IntervalSet one = noticed({two.data(), 1}, 0, Grain::every_movement);
  EXPECT_TRUE(subtracted(one, noticed(two, 0, Grain::every_movement)).empty());
}

TEST(NoticeRates, FallFromTheMiddleToTheEdgeAndBeyond) {
  const domain::Space space = hall();
  const domain::OccupancySensor sensor = sensor_at({0, 0, 2.7});
  const Sight sight(sensor, space);
  const auto busy = [&](double x) {
    return notice_rates({&sight, 1}, space, seated_activity(), {x, 0}).busy_per_min;
  };
  // In the middle all of 2 + 0.15 a minute.
  EXPECT_NEAR(busy(0.0), 2.15, 0.001);
  // On the outline for small movements half of these are noticed, and nearly all large ones.
  EXPECT_NEAR(busy(3.2), 0.5 * 2.0 + 0.15, 0.01);
  EXPECT_NEAR(busy(5.4), 0.5 * 0.15, 0.001);
  EXPECT_EQ(busy(9.0), 0.0);
}

TEST(NoticeRates, AScreenTakesInfraredAndLeavesUltrasound) {
  domain::Space space = hall();
  domain::Partition screen;
  screen.from = {1, -3};
  screen.to = {1, 3};
  screen.height_m = 2.0;
  space.partitions.push_back(screen);
  domain::OccupancySensor sensor = sensor_at({0, 0, 2.7});
  const auto busy = [&](double x) {
    const Sight sight(sensor, space);
    return notice_rates({&sight, 1}, space, seated_activity(), {x, 0}).busy_per_min;
  };
  EXPECT_EQ(busy(1.5), 0.0);
  EXPECT_NEAR(busy(-1.5), 2.15, 0.02);
  sensor.technology = domain::OccupancySensor::Technology::ultrasonic;
  EXPECT_NEAR(busy(1.5), 2.15, 0.02);
}

TEST(NoticeRates, TwoSensorsAddUp) {
  const domain::Space space = hall();
  const std::vector<Sight> both{Sight(sensor_at({0, 0, 2.7}), space), Sight(sensor_at({1, 0, 2.7}), space)};
  const double alone = notice_rates({both.data(), 1}, space, seated_activity(), {0.5, 0}).busy_per_min;
  EXPECT_NEAR(notice_rates(both, space, seated_activity(), {0.5, 0}).busy_per_min, 2.0 * alone, 0.01);
}

TEST(Reach, GrowsWithTheHeightAboveTheMovement) {
  // Fixed angles: 3.2 m at 2.7 m above the floor, 1.8 m above the hands.
  domain::OccupancySensor sensor = sensor_at({0, 0, 3.0});
  EXPECT_EQ(reach_m(sensor, Motion::minor), 3.2);
  sensor.rated_height_m = 2.7;
  EXPECT_PUBLISHED("similar triangles", "reach of 3.2 m at 2.7 m, hung at 3.0 m, hands at 0.9 m", "m",
                   3.2 * 2.1 / 1.8, reach_m(sensor, Motion::minor), 1e-12);
  EXPECT_PUBLISHED("similar triangles", "reach of 5.4 m at 2.7 m, hung at 3.0 m, bodies at 1.2 m", "m",
                   5.4 * 1.8 / 1.5, reach_m(sensor, Motion::major), 1e-12);
  // Far above its rated height small movements fall between the facets.
  sensor.at.z = 5.4;
  EXPECT_NEAR(reach_m(sensor, Motion::minor), 3.2 * 4.5 / 1.8 * 0.5, 1e-12);
  EXPECT_NEAR(reach_m(sensor, Motion::major), 5.4 * 4.2 / 1.5, 1e-12);
  sensor.technology = domain::OccupancySensor::Technology::ultrasonic;
  EXPECT_EQ(reach_m(sensor, Motion::minor), 3.2);
}

TEST(FalseReports, ComeAsOftenAsStated) {
  domain::OccupancySensor sensor = sensor_at({0, 0, 2.7});
  double infrared = 0.0;
  double ultrasonic = 0.0;
  constexpr int kReplicates = 40;
  for (std::uint32_t r = 0; r < kReplicates; ++r) {
    sensor.technology = domain::OccupancySensor::Technology::infrared;
    infrared += static_cast<double>(false_reports(sensor, 1, r).size());
    sensor.technology = domain::OccupancySensor::Technology::ultrasonic;
    ultrasonic += static_cast<double>(false_reports(sensor, 1, r).size());
  }
  EXPECT_NEAR(infrared, kReplicates * 365 * 0.2, 4.0 * std::sqrt(kReplicates * 365 * 0.2));
  EXPECT_NEAR(ultrasonic, kReplicates * 365 * 0.5, 4.0 * std::sqrt(kReplicates * 365 * 0.5));
}

}  // namespace
}  // namespace halflight::sensing
