// Rules and equations: docs/methods/sun.md.
#include "climate/sun.hpp"

#include "base/units.hpp"
#include "climate/sun_series.hpp"
#include "published.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::climate {
namespace {

constexpr double kSecond_d = 1.0 / 86'400.0;

// The worked example of NREL/TP-560-34302 (rev. 2008), table A5.1: 17 October 2003, 12:30:30 at UTC-7.
const double kExampleDay = julian_day(2003, 10, 17, 12.0 + 7.0 + 30.5 / 60.0);
constexpr double kExampleDeltaT_s = 67.0;
const Place kExamplePlace{39.742476, -105.1786, 1830.14, 820.0, 11.0};
constexpr const char* kExample = "Reda and Andreas, NREL/TP-560-34302 (rev. 2008), table A5.1";

TEST(Sun, ReproducesTheGeocentricStepsOfThePublishedExample) {
  EXPECT_NEAR(kExampleDay, 2452930.312847, 1e-6);
  const double century = (kExampleDay + kExampleDeltaT_s * kSecond_d - 2451545.0) / 36525.0;
  EXPECT_NEAR(century, 0.037927819917, 1e-11);  // printed from the day rounded to 1e-6

  // All printed digits: one wrong digit in any series term above 1e-9 rad would show.
  const EarthCoordinates earth = earth_coordinates(century / 10.0);
  EXPECT_PUBLISHED(kExample, "heliocentric longitude of the earth", "°", 24.0182616917, earth.longitude_deg,
                   2e-9);
  EXPECT_PUBLISHED(kExample, "heliocentric latitude of the earth", "°", -0.0001011219, earth.latitude_deg,
                   1e-10);
  EXPECT_PUBLISHED(kExample, "distance of earth and sun", "au", 0.9965422974, earth.radius_au, 1e-10);
  const Nutation nod = nutation(century);
  EXPECT_NEAR(nod.longitude_deg, -0.00399840, 1e-8);
  EXPECT_NEAR(nod.obliquity_deg, 0.00166657, 1e-8);

  const GeocentricSun sun = geocentric_sun(kExampleDay, kExampleDeltaT_s);
  EXPECT_NEAR(sun.obliquity_deg, 23.440465, 1e-6);
  EXPECT_NEAR((sun.obliquity_deg - sun.nutation_obliquity_deg) * 3600.0, 84379.672625, 1e-6);
  EXPECT_PUBLISHED(kExample, "apparent longitude of the sun", "°", 204.0085519281, sun.apparent_longitude_deg,
                   1e-8);
  EXPECT_PUBLISHED(kExample, "geocentric right ascension", "°", 202.22741, sun.right_ascension_deg, 1e-5);
  EXPECT_PUBLISHED(kExample, "geocentric declination", "°", -9.31434, sun.declination_deg, 1e-5);
  EXPECT_PUBLISHED(kExample, "apparent sidereal time at Greenwich", "°", 318.511910, sun.sidereal_deg, 1e-5);
  // The report prints no equation of time; this is its formula with its printed numbers.
  EXPECT_NEAR(sun.equation_of_time_min, 14.6415, 1e-4);
}

TEST(Sun, ReproducesTheTopocentricStepsOfThePublishedExample) {
  const SunPosition sun = sun_position(kExampleDay, kExampleDeltaT_s, kExamplePlace);
  EXPECT_PUBLISHED(kExample, "topocentric declination", "°", -9.316179, sun.declination_deg, 1e-5);
  EXPECT_NEAR(sun.hour_angle_deg, 11.10629,
              5e-5);  // 11.10627 in full-precision codings of the same equations
  EXPECT_PUBLISHED(kExample, "altitude of the sun without refraction", "°", 39.872046,
                   90.0 - sun.zenith_geometric_deg, 1e-5);
  EXPECT_PUBLISHED(kExample, "refraction", "°", 0.016332, sun.zenith_geometric_deg - sun.zenith_deg, 1e-6);
  EXPECT_PUBLISHED(kExample, "zenith angle of the sun", "°", 50.111622, sun.zenith_deg, 1e-5);
  EXPECT_PUBLISHED(kExample, "azimuth of the sun", "°", 194.340241, sun.azimuth_deg, 1e-5);

  // A surface sloped 30 deg whose normal points to 170 deg from north.
  const double slope = 30.0 * kRadPerDeg;
  const double facing = 170.0 * kRadPerDeg;
  const Vector3 normal{std::sin(slope) * std::sin(facing), std::sin(slope) * std::cos(facing),
                       std::cos(slope)};
  EXPECT_PUBLISHED(kExample, "incidence on a surface sloped 30°", "°", 25.18700, incidence_deg(sun, normal),
                   1e-5);
}

TEST(Sun, RiseTransitAndSetOfThePublishedExample) {
  const auto local = [](int day, int h, int m, int s) {
    return julian_day(2003, 10, day, 7.0 + h + m / 60.0 + s / 3600.0);
  };
  const SunTimes times = sun_times(2003, 10, 17, -7.0, kExamplePlace);
  ASSERT_TRUE(times.sunrise && times.sunset);
  EXPECT_NEAR(*times.sunrise, local(17, 6, 12, 43), 5 * kSecond_d);
  EXPECT_NEAR(times.transit, local(17, 11, 46, 4), 2 * kSecond_d);
  // The report folds day fractions into the date in universal time, in which this place's sunset of 17
  // October is already on the 18th: the 17:20:19 that it prints is the evening of the 16th.
  const SunTimes day_before = sun_times(2003, 10, 16, -7.0, kExamplePlace);
  ASSERT_TRUE(day_before.sunset);
  EXPECT_NEAR(*day_before.sunset, local(16, 17, 20, 19), 5 * kSecond_d);
  EXPECT_LT(*times.sunset, *day_before.sunset + 1.0);  // evenings draw in
}

TEST(Sun, DirectionAgreesWithItsAngles) {
  const SunPosition sun = sun_position(kExampleDay, kExampleDeltaT_s, kExamplePlace);
  EXPECT_NEAR(length(sun.direction), 1.0, 1e-14);
  EXPECT_NEAR(sun.direction.z, std::cos(sun.zenith_geometric_deg * kRadPerDeg), 1e-14);
  EXPECT_LT(sun.direction.x, 0.0);  // just past noon: west of south
  EXPECT_LT(sun.direction.y, 0.0);
}

// The remaining tables were computed with a general astronomy library (VSOP87-class series), without
// refraction, at sea level; rise and set with the centre of the disc at -0.8333 deg. The tolerances are that
// library's agreement with the published example, rounded up, and one printed digit.
constexpr const char* kAlmanac = "computed with a general astronomy library";
std::string latitude_text(double degrees) {
  return fmt::format("{:.1f}° {}", std::abs(degrees), degrees < 0.0 ? "S" : "N");
}

struct SiteDay {
  const char* name;
  double latitude, longitude;
  int month, day;
  const char* transit;
  double noon_altitude;
  const char* sunrise;  // "-" before it: the day before; "+" the day after
  double sunrise_azimuth;
  const char* sunset;
  double sunset_azimuth;
};

double instant(const SiteDay& d, std::string text) {
  int shift = 0;
  if (text.front() == '-' || text.front() == '+') {
    shift = text.front() == '-' ? -24 : 24;
    text.erase(0, 1);
  }
  const double hour = std::stoi(text.substr(0, 2)) + std::stoi(text.substr(3, 2)) / 60.0 +
                      std::stoi(text.substr(6, 2)) / 3600.0;
  return julian_day(2024, d.month, d.day, hour + shift);
}

TEST(Sun, RiseTransitAndSetAtFiveSites) {
  const SiteDay days[] = {
      {"40 N", 40.7128, -74.0060, 3, 20, "17:03:16", 49.515, "10:58:31", 89.11, "23:08:43", 271.15},
      {"40 N", 40.7128, -74.0060, 6, 20, "16:57:46", 72.725, "09:24:55", 57.50, "+00:30:38", 302.50},
      {"40 N", 40.7128, -74.0060, 12, 21, "16:54:25", 25.847, "12:16:49", 120.82, "21:32:02", 239.18},
      {"51 N", 51.5074, -0.1278, 3, 20, "12:07:49", 38.639, "06:02:19", 88.88, "18:14:20", 271.45},
      {"51 N", 51.5074, -0.1278, 6, 20, "12:02:13", 61.929, "03:43:00", 48.90, "20:21:27", 311.10},
      {"51 N", 51.5074, -0.1278, 12, 21, "11:58:48", 15.052, "08:03:59", 128.38, "15:53:37", 231.62},
      {"equator", 0, 0, 6, 20, "12:01:42", 66.561, "05:58:02", 66.56, "18:05:23", 293.44},
      {"equator", 0, 0, 12, 21, "11:58:17", 66.561, "05:54:33", 113.44, "18:02:02", 246.56},
      {"34 S", -33.8688, 151.2093, 6, 20, "01:56:47", 32.693, "-20:59:50", 62.01, "06:53:42", 297.99},
      {"34 S", -33.8688, 151.2093, 12, 21, "01:53:15", 79.569, "-18:40:52", 119.26, "09:05:38", 240.74},
      {"1 N", 1.3521, 103.8198, 6, 20, "05:06:22", 67.914, "-23:00:20", 66.53, "11:12:23", 293.47},
  };
  for (const SiteDay& d : days) {
    SCOPED_TRACE(std::string(d.name) + " month " + std::to_string(d.month));
    const Place place{d.latitude, d.longitude};
    // The local date's noon, so that the same transit is meant east and west.
    const SunTimes times = sun_times(2024, d.month, d.day, d.longitude / 15.0, place);
    EXPECT_NEAR(times.transit, instant(d, d.transit), 10 * kSecond_d);
    ASSERT_TRUE(times.sunrise && times.sunset);
    EXPECT_NEAR(*times.sunrise, instant(d, d.sunrise), 30 * kSecond_d);
    EXPECT_NEAR(*times.sunset, instant(d, d.sunset), 30 * kSecond_d);
    const double delta_t = delta_t_s(2024.5);
    const double noon_altitude = 90.0 - sun_position(times.transit, delta_t, place).zenith_geometric_deg;
    EXPECT_PUBLISHED(kAlmanac,
                     fmt::format("altitude of the sun at noon, {}, 2024-{:02}-{:02}",
                                 latitude_text(d.latitude), d.month, d.day),
                     "°", d.noon_altitude, noon_altitude, 0.01);
    EXPECT_NEAR(sun_position(*times.sunrise, delta_t, place).azimuth_deg, d.sunrise_azimuth, 0.05);
    EXPECT_NEAR(sun_position(*times.sunset, delta_t, place).azimuth_deg, d.sunset_azimuth, 0.05);
    // At noon the altitude is 90 deg less the distance of latitude and declination, but for parallax.
    const double declination = geocentric_sun(times.transit, delta_t).declination_deg;
    EXPECT_NEAR(noon_altitude, 90.0 - std::abs(d.latitude - declination), 0.01);
  }
}

TEST(Sun, StandsWhereTheAlmanacSaysAwayFromNoon) {
  const struct {
    double latitude, longitude;
    int month, day;
    double hour, altitude, azimuth;
  } rows[] = {
      {40.7128, -74.0060, 6, 20, 20.0, 48.283, 259.822},
      {40.7128, -74.0060, 3, 20, 14.0, 32.019, 122.227},
      {51.5074, -0.1278, 12, 21, 10.0, 10.645, 152.458},
      {-33.8688, 151.2093, 12, 21, 22.0, 38.363, 94.568},
      {1.3521, 103.8198, 3, 20, 2.0, 41.945, 91.240},
      {64.1466, -21.9426, 6, 20, 23.0 + 59.0 / 60.0, -0.650, 339.311},
  };
  for (const auto& r : rows) {
    const SunPosition sun =
        sun_position(julian_day(2024, r.month, r.day, r.hour), delta_t_s(2024.5), {r.latitude, r.longitude});
    const std::string where = fmt::format("{}, 2024-{:02}-{:02}, {:.2f} h universal time",
                                          latitude_text(r.latitude), r.month, r.day, r.hour);
    EXPECT_PUBLISHED(kAlmanac, "altitude of the sun, " + where, "°", r.altitude,
                     90.0 - sun.zenith_geometric_deg, 0.01);
    EXPECT_PUBLISHED(kAlmanac, "azimuth of the sun, " + where, "°", r.azimuth, sun.azimuth_deg, 0.01);
  }
}

// Where `f` changes sign or turns, by bisection on a bracket.
template <class F>
double root(double low, double high, F f) {
  const bool rising = f(high) > 0.0;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    ((f(middle) > 0.0) == rising ? high : low) = middle;
  }
  return low;
}

TEST(Sun, SeasonsOf2024BeginWhenTheAlmanacSays) {
  const double delta_t = delta_t_s(2024.5);
  const struct {
    int month, day;
    double hour, longitude, declination, distance;
  } seasons[] = {
      {3, 20, 3.0 + 6.0 / 60 + 22.0 / 3600, 0.0, 0.0, 0.99586},
      {6, 20, 20.0 + 51.0 / 60 + 3.0 / 3600, 90.0, 23.438, 1.01619},
      {9, 22, 12.0 + 43.0 / 60 + 32.0 / 3600, 180.0, 0.0, 1.00359},
      {12, 21, 9.0 + 20.0 / 60 + 21.0 / 3600, 270.0, -23.438, 0.98373},
  };
  for (const auto& s : seasons) {
    const double expected = julian_day(2024, s.month, s.day, s.hour);
    const double found = root(expected - 2.0, expected + 2.0, [&](double jd) {
      return std::sin((geocentric_sun(jd, delta_t).apparent_longitude_deg - s.longitude) * kRadPerDeg);
    });
    EXPECT_NEAR(found, expected, 120 * kSecond_d) << s.longitude;
    const GeocentricSun sun = geocentric_sun(found, delta_t);
    EXPECT_NEAR(sun.declination_deg, s.declination, 0.005);
    EXPECT_NEAR(sun.earth_sun_au, s.distance, 2e-4);
  }
}

TEST(Sun, EquationOfTimeFollowsTheAlmanac) {
  const double delta_t = delta_t_s(2024.5);
  const auto at = [&](int month, int day, double hour = 12.0) {
    return geocentric_sun(julian_day(2024, month, day, hour), delta_t).equation_of_time_min;
  };
  const struct {
    int month, day;
    double minutes;
  } rows[] = {{1, 1, -3.32}, {3, 20, -7.31}, {4, 15, 0.09}, {6, 13, -0.20}, {9, 1, 0.16}, {12, 25, -0.28}};
  for (const auto& r : rows) EXPECT_NEAR(at(r.month, r.day), r.minutes, 0.05) << r.month;
  const struct {
    int month, day;
    double minutes, sign;
  } extremes[] = {{2, 11, -14.20, -1}, {5, 13, 3.65, 1}, {7, 25, -6.55, -1}, {11, 3, 16.45, 1}};
  for (const auto& e : extremes) {
    double best = -100.0;
    double best_day = 0.0;
    for (double d = -20.0; d <= 20.0; d += 0.25) {
      const double value = e.sign * at(e.month, e.day, 24.0 * d);
      if (value > best) {
        best = value;
        best_day = d;
      }
    }
    EXPECT_NEAR(e.sign * best, e.minutes, 0.05);
    EXPECT_NEAR(best_day, 0.0, 2.0) << e.month;  // the almanac names a pair of days
  }
}

TEST(Sun, PolarDayAndNightHaveNoRiseAndNoSet) {
  const Place north{70.0, 25.0};
  const SunTimes summer = sun_times(2024, 6, 20, 2.0, north);
  EXPECT_EQ(summer.kind, SunTimes::Kind::never_sets);
  EXPECT_FALSE(summer.sunrise || summer.sunset);
  const SunTimes winter = sun_times(2024, 12, 21, 1.0, north);
  EXPECT_EQ(winter.kind, SunTimes::Kind::never_rises);
  EXPECT_FALSE(winter.sunrise || winter.sunset);
  EXPECT_EQ(sun_times(2024, 12, 21, 0.0, {-90.0, 0.0}).kind, SunTimes::Kind::never_sets);
  EXPECT_EQ(sun_times(2024, 3, 20, 1.0, north).kind, SunTimes::Kind::ordinary);
}

TEST(Sun, DeltaTPassesThroughKnownYears) {
  // Observed values of the Astronomical Almanac: 29.15 s (1950), 40.18 (1970), 56.86 (1990), 63.83
  // (2000), 66.07 (2010). The polynomials' authors state that they follow the observations to a second or so.
  const auto expect_delta_t = [](int year, double expected_s, double allowed_s) {
    EXPECT_PUBLISHED("Astronomical Almanac, observed",
                     fmt::format("terrestrial less universal time in {}", year), "s", expected_s,
                     delta_t_s(year), allowed_s);
  };
  expect_delta_t(1950, 29.15, 0.3);
  expect_delta_t(1970, 40.18, 0.3);
  expect_delta_t(1990, 56.86, 0.3);
  expect_delta_t(2000, 63.83, 0.3);
  expect_delta_t(2010, 66.07, 1.0);
  for (const double year : {1920.0, 1941.0, 1961.0, 1986.0, 2005.0, 2050.0, 2150.0})  // pieces meet
    EXPECT_NEAR(delta_t_s(year - 1e-6), delta_t_s(year + 1e-6), 0.6) << year;
}

TEST(SunTrack, FollowsTheFullAlgorithmThroughAYear) {
  for (const int year : {2024, 2026}) {
    for (const double latitude : {-33.87, 0.0, 51.5, 78.2}) {
      const Place place{latitude, 13.4, 100.0};
      const SunTrack track(place, 3600.0, year);
      double worst_deg = 0.0;
      for (Seconds t = 150; t < kYear; t += 7'919 * 4) {  // a stride that shares no divisor with the day
        const SunPosition full = sun_position(track.julian_day_ut(t), delta_t_s(year + 0.5), place);
        worst_deg = std::max(worst_deg, length(cross(full.direction, track.at(t).direction)) * kDegPerRad);
      }
      EXPECT_LT(worst_deg, 1e-5) << year << " " << latitude;
    }
  }
}

TEST(SunTrack, KeepsTheCalendarInALeapYear) {
  const SunTrack leap({}, 0.0, 2024);
  EXPECT_EQ(leap.julian_day_ut(day_of_year({2, 28}) * kDay), julian_day(2024, 2, 28, 0.0));
  EXPECT_EQ(leap.julian_day_ut(day_of_year({3, 1}) * kDay), julian_day(2024, 3, 1, 0.0));
  EXPECT_EQ(leap.julian_day_ut(kYear), julian_day(2025, 1, 1, 0.0));
  const SunTrack west({}, -5 * 3600.0, 2025);
  EXPECT_NEAR(west.julian_day_ut(day_of_year({3, 1}) * kDay), julian_day(2025, 3, 1, 5.0), 1e-9);
}

TEST(SunTrack, AYearOfFiveMinuteStepsTakesMilliseconds) {
  const auto start = std::chrono::steady_clock::now();
  const SunTrack track({51.5, -0.13}, 0.0, 2026);
  double sum = 0.0;
  for (Seconds t = 150; t < kYear; t += 300) sum += track.at(t).cos_zenith();
  const double elapsed_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  RecordProperty("year_of_sun_ms", std::to_string(1000.0 * elapsed_s));
  // Nights and days average to sin(latitude) sin(declination), whose year's mean is a little above zero.
  EXPECT_NEAR(sum / 105'120.0, std::sin(51.5 * kRadPerDeg) * 0.0064, 2e-3);
  EXPECT_LT(elapsed_s, 1.0);  // a tenth of this on an idle machine
}

}  // namespace
}  // namespace halflight::climate
