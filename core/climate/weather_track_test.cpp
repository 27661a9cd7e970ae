// Rules and equations: docs/methods/weather.md.
#include "climate/weather_track.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace halflight::climate {
namespace {

constexpr Place kPlace{51.5, -0.13, 20.0};

// A year of broken sky: the beam's clearness differs from hour to hour by a fixed rule.
domain::WeatherYear broken_year(double utc_offset_h = 0.0) {
  const SunTrack sun(kPlace, utc_offset_h * 3600.0, 2026);
  domain::WeatherYear year;
  year.name = "test";
  year.latitude_deg = kPlace.latitude_deg;
  year.longitude_deg = kPlace.longitude_deg;
  year.utc_offset_h = utc_offset_h;
  for (std::size_t h = 0; h < domain::kHoursPerYear; ++h) {
    domain::WeatherRow row;
    for (int s = 0; s < 12; ++s) {
      const SunInstant now = sun.at(static_cast<Seconds>(h) * kHour + s * 300 + 150);
      if (now.cos_zenith() <= 0.0) continue;
      const double clear = (h % 5) / 5.0;
      row.beam_w_m2 += clear * 700.0 * now.cos_zenith() / 12.0;
      row.diffuse_w_m2 += (1.0 - 0.5 * clear) * 300.0 * now.cos_zenith() / 12.0;
      row.global_w_m2 +=
          (clear * 700.0 * now.cos_zenith() + (1.0 - 0.5 * clear) * 300.0) * now.cos_zenith() / 12.0;
    }
    row.dry_bulb_c = static_cast<double>(h % 24);
    row.dew_point_c = 5.0;
    year.rows.push_back(row);
  }
  return year;
}

TEST(WeatherTrack, EveryHourKeepsItsEnergyAndNothingShinesAtNight) {
  for (const Seconds step : {60, 300, 900}) {
    const domain::WeatherYear year = broken_year();
    const WeatherTrack track(year, SunTrack(kPlace, 0.0, 2026), step);
    for (std::size_t h = 0; h < domain::kHoursPerYear; h += 7) {
      double beam = 0.0;
      double diffuse = 0.0;
      bool sun = false;
      const Seconds steps = kHour / step;
      for (Seconds s = 0; s < steps; ++s) {
        const WeatherInstant now = track.at(static_cast<Seconds>(h) * kHour + s * step + step / 2);
        ASSERT_GE(now.beam_w_m2, 0.0);
        ASSERT_GE(now.diffuse_w_m2, 0.0);
        if (now.sun.cos_zenith() <= 0.0) {
          ASSERT_EQ(now.beam_w_m2, 0.0);
          ASSERT_EQ(now.diffuse_w_m2, 0.0);
          ASSERT_EQ(now.global_w_m2(), 0.0);
        } else {
          sun = true;
        }
        beam += now.beam_w_m2 / static_cast<double>(steps);
        diffuse += now.diffuse_w_m2 / static_cast<double>(steps);
      }
      if (!sun) continue;
      ASSERT_NEAR(beam, year.rows[h].beam_w_m2, 1e-9 * (1.0 + beam)) << h;
      ASSERT_NEAR(diffuse, year.rows[h].diffuse_w_m2, 1e-9 * (1.0 + diffuse)) << h;
    }
  }
}

TEST(WeatherTrack, ASteadyClearSkyRunsSmoothlyThroughTheHours) {
  // With the same index all day the interpolated diffuse light is proportional to the sine of the sun's
  // altitude.
  const SunTrack sun(kPlace, 0.0, 2026);
  domain::WeatherYear year = broken_year();
  for (std::size_t h = 0; h < year.rows.size(); ++h) {
    double mean = 0.0;
    for (int s = 0; s < 12; ++s) {
      const SunInstant now = sun.at(static_cast<Seconds>(h) * kHour + s * 300 + 150);
      mean += std::max(0.0, now.cos_zenith()) * now.extraterrestrial_w_m2() / 12.0;
    }
    year.rows[h].diffuse_w_m2 = 0.2 * mean;
  }
  const WeatherTrack track(year, sun);
  for (Seconds t = 172 * kDay + 150; t < 173 * kDay; t += 300) {
    const WeatherInstant now = track.at(t);
    const double expected = 0.2 * std::max(0.0, now.sun.cos_zenith()) * now.sun.extraterrestrial_w_m2();
    EXPECT_NEAR(now.diffuse_w_m2, expected, 1e-9 * (1.0 + expected));
  }
}

TEST(WeatherTrack, TemperatureRunsBetweenMidHours) {
  const WeatherTrack track(broken_year(), SunTrack(kPlace, 0.0, 2026));
  EXPECT_NEAR(track.at(12 * kHour + kHour / 2).dry_bulb_c, 12.0,
              1e-12);  // the hour ending at 13:00 is row 12
  EXPECT_NEAR(track.at(13 * kHour).dry_bulb_c, 12.5, 1e-12);
}

TEST(WeatherTrack, ShiftsHoursOfAnotherStandardTime) {
  // The same weather written by a clock one hour ahead gives the same light at the same instant.
  const WeatherTrack here(broken_year(0.0), SunTrack(kPlace, 0.0, 2026));
  domain::WeatherYear ahead = broken_year(0.0);
  ahead.utc_offset_h = 1.0;
  std::rotate(ahead.rows.rbegin(), ahead.rows.rbegin() + 1, ahead.rows.rend());
  const WeatherTrack there(ahead, SunTrack(kPlace, 0.0, 2026));
  for (Seconds t = 100 * kDay + 150; t < 101 * kDay; t += 300)
    EXPECT_NEAR(here.at(t).diffuse_w_m2, there.at(t).diffuse_w_m2, 1e-9);
}

TEST(WeatherTrack, SkyFollowsTheWeather) {
  const WeatherTrack track(broken_year(), SunTrack(kPlace, 0.0, 2026));
  EXPECT_TRUE(sky_state(track.at(0)).dark());
  const SkyState noon = sky_state(track.at(172 * kDay + 12 * kHour + 150));
  EXPECT_GT(noon.diffuse_horizontal_lx, 10'000.0);
  EXPECT_NEAR(length(noon.sun), 1.0, 1e-12);
}

TEST(WeatherTrack, AYearOfStepsIsFast) {
  const domain::WeatherYear year = broken_year();
  const auto start = std::chrono::steady_clock::now();
  const WeatherTrack track(year, SunTrack(kPlace, 0.0, 2026));
  double sum = 0.0;
  for (Seconds t = 150; t < kYear; t += 300) sum += track.at(t).global_w_m2();
  const double elapsed_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  RecordProperty("year_of_weather_ms", std::to_string(1000.0 * elapsed_s));
  EXPECT_GT(sum, 0.0);
  EXPECT_LT(elapsed_s, 2.0);  // 0.05 s measured
}

TEST(CheckWeather, FindsAWrongTimeZoneAndAWrongColumn) {
  EXPECT_TRUE(check_weather(broken_year(), 2026).empty());
  domain::WeatherYear wrong_zone = broken_year();
  wrong_zone.utc_offset_h = 5.0;
  EXPECT_FALSE(check_weather(wrong_zone, 2026).empty());
  domain::WeatherYear doubled = broken_year();  // global copied into the column of diffuse
  for (domain::WeatherRow& row : doubled.rows) row.diffuse_w_m2 = row.global_w_m2;
  EXPECT_FALSE(check_weather(doubled, 2026).empty());
  domain::WeatherYear empty = broken_year();
  for (domain::WeatherRow& row : empty.rows) row.global_w_m2 = 0.0;
  EXPECT_EQ(check_weather(empty, 2026).size(), 1U);
}

}  // namespace
}  // namespace halflight::climate
