// Rules and equations: docs/methods/weather.md.
#include "climate/synthetic_year.hpp"

#include "base/random.hpp"
#include "base/time_axis.hpp"
#include "base/units.hpp"
#include "climate/weather_track.hpp"
#include "published.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace halflight::climate {
namespace {

domain::ClimateNormals maritime() {
  domain::ClimateNormals n;
  n.id = "test";
  n.name = "Test";
  n.latitude_deg = 51.5;
  n.elevation_m = 25.0;
  n.global_wh_m2_day = {700, 1400, 2400, 3800, 4800, 5100, 5000, 4300, 3000, 1700, 900, 600};
  n.dry_bulb_c = {5.5, 5.5, 7.5, 10, 13, 16, 18.5, 18.5, 15.5, 12, 8.5, 6};
  n.daily_range_k = {5, 6, 7.5, 9, 9.5, 9.5, 9.5, 9, 8, 6.5, 5.5, 5};
  n.dew_point_c = {2.5, 2.5, 3.5, 5, 8, 11, 12.5, 13, 11.5, 9, 5.5, 3.5};
  return n;
}

std::size_t month_of_row(std::size_t row) {
  return static_cast<std::size_t>(month_day(static_cast<int>(row / 24)).month - 1);
}

// Monthly mean of one column, per hour.
std::array<double, 12> monthly(const domain::WeatherYear& year, double domain::WeatherRow::*column) {
  std::array<double, 12> sum{};
  std::array<double, 12> count{};
  for (std::size_t h = 0; h < year.rows.size(); ++h) {
    sum[month_of_row(h)] += year.rows[h].*column;
    count[month_of_row(h)] += 1.0;
  }
  for (std::size_t m = 0; m < 12; ++m) sum[m] /= count[m];
  return sum;
}

// Extraterrestrial irradiation of each day on the horizontal, Wh/m2.
std::vector<double> outside(const domain::ClimateNormals& n) {
  const SunTrack sun({n.latitude_deg, n.longitude_deg, n.elevation_m}, 0.0, 2026);
  std::vector<double> days(365, 0.0);
  for (Seconds t = 150; t < kYear; t += 300) {
    const SunInstant now = sun.at(t);
    days[static_cast<std::size_t>(t / kDay)] +=
        std::max(0.0, now.cos_zenith()) * now.extraterrestrial_w_m2() / 12.0;
  }
  return days;
}

TEST(DailyClearness, HasTheGivenMeanAndTheFittedExponent) {
  for (const double mean : {0.2, 0.3, 0.4, 0.5, 0.6, 0.7}) {
    const DailyClearness spread(mean);
    double sum = 0.0;
    for (int i = 0; i < 10'000; ++i) sum += spread.quantile((i + 0.5) / 10'000.0);
    EXPECT_NEAR(sum / 10'000.0, mean, 1e-5);
    EXPECT_NEAR(spread.share_below(spread.quantile(0.3)), 0.3, 1e-12);
    // R. Herzog's fit of the exponent (1985, as textbooks on solar engineering give it; from memory), good to
    // a tenth. Below a mean of 0.3 the fit itself misses the mean that defines the exponent.
    if (mean < 0.3) continue;
    const double width = spread.highest() - 0.05;
    const double xi = width / (spread.highest() - mean);
    const double fit = -1.498 + (1.184 * xi - 27.182 * std::exp(-1.5 * xi)) / width;
    EXPECT_PUBLISHED("fit of Herzog 1985, from memory",
                     fmt::format("exponent of daily clearness with a mean of {}", mean), "", fit,
                     spread.exponent(), 0.1 + 0.1 * std::abs(fit));
  }
}

TEST(SyntheticYear, TypicalMonthsReproduceTheNormals) {
  const domain::ClimateNormals n = maritime();
  for (const std::uint32_t seed : {1U, 2U, 77U}) {
    const domain::WeatherYear year = synthetic_year(n, seed, 2026);
    ASSERT_EQ(year.rows.size(), domain::kHoursPerYear);
    const auto global = monthly(year, &domain::WeatherRow::global_w_m2);
    const auto dry_bulb = monthly(year, &domain::WeatherRow::dry_bulb_c);
    const auto dew_point = monthly(year, &domain::WeatherRow::dew_point_c);
    for (std::size_t m = 0; m < 12; ++m) {
      // Clearness has the normal's mean to rounding; irradiation weighs days by the sun, which changes by up
      // to a quarter from mid-month in spring and autumn and is uncorrelated with the order of days: 0.25 /
      // sqrt(3) x the relative spread of clearness 0.5 / sqrt(30) = 1.3 % standard deviation, of which 3 are
      // allowed.
      EXPECT_NEAR(24.0 * global[m], n.global_wh_m2_day[m], 0.04 * n.global_wh_m2_day[m]) << m;
      EXPECT_NEAR(dry_bulb[m], n.dry_bulb_c[m], 1e-9) << m;
      // The dew point is cut off at cold hours' temperature; a third of a range is more than that ever takes.
      EXPECT_NEAR(dew_point[m], n.dew_point_c[m], 1.5) << m;
    }
  }
}

TEST(SyntheticYear, NaturalMonthsScatterAboutTheNormals) {
  const domain::ClimateNormals n = maritime();
  constexpr int kYears = 20;
  std::array<double, 12> sum{};
  std::array<double, 12> squares{};
  for (std::uint32_t seed = 0; seed < kYears; ++seed) {
    const auto global =
        monthly(synthetic_year(n, seed, 2026, SyntheticKind::natural), &domain::WeatherRow::global_w_m2);
    for (std::size_t m = 0; m < 12; ++m) {
      const double relative = 24.0 * global[m] / n.global_wh_m2_day[m];
      sum[m] += relative / kYears;
      squares[m] += relative * relative / kYears;
    }
  }
  for (std::size_t m = 0; m < 12; ++m) {
    const double deviation = std::sqrt(squares[m] - sum[m] * sum[m]);
    EXPECT_NEAR(sum[m], 1.0, 4.0 * deviation / std::sqrt(kYears))
        << m;                         // four standard errors, twelve months
    EXPECT_GT(deviation, 0.03) << m;  // real months differ from year to year by some ten per cent
    EXPECT_LT(deviation, 0.25) << m;
  }
}

TEST(SyntheticYear, DaysHaveThePublishedSpreadAndMemory) {
  const domain::ClimateNormals n = maritime();
  const std::vector<double> outside_wh = outside(n);
  std::array<double, 12> month_outside{};
  std::array<double, 12> month_days{};
  for (std::size_t d = 0; d < 365; ++d) {
    month_outside[month_of_row(24 * d)] += outside_wh[d];
    month_days[month_of_row(24 * d)] += 1.0;
  }
  std::vector<double> shares;
  double products = 0.0;
  double squares = 0.0;
  constexpr std::uint32_t kYears = 20;
  for (std::uint32_t seed = 0; seed < kYears; ++seed) {
    const domain::WeatherYear year = synthetic_year(n, seed, 2026, SyntheticKind::natural);
    double last = 0.0;
    for (std::size_t d = 0; d < 365; ++d) {
      const std::size_t m = month_of_row(24 * d);
      double day = 0.0;
      for (std::size_t i = 0; i < 24; ++i) day += year.rows[24 * d + i].global_w_m2;
      const DailyClearness spread(n.global_wh_m2_day[m] * month_days[m] / month_outside[m]);
      const double share = std::clamp(spread.share_below(day / outside_wh[d]), 1e-6, 1.0 - 1e-6);
      shares.push_back(share);
      const double score = inverse_normal(share);
      products += score * last;
      squares += score * score;
      last = score;
    }
  }
  // Graham, Hollands and Unny 1988: lag-one correlation 0.29 of the normal score; standard error 1 /
  // sqrt(10,950).
  EXPECT_PUBLISHED("Graham, Hollands and Unny 1988", "correlation of the clearness of successive days", "",
                   0.29, products / squares, 4.0 / std::sqrt(365.0 * kYears));
  // Kolmogorov's distance from the published distribution: 1 % point 1.63 / sqrt(n), n lessened by the
  // memory.
  std::sort(shares.begin(), shares.end());
  double distance = 0.0;
  for (std::size_t i = 0; i < shares.size(); ++i)
    distance = std::max(
        distance, std::abs(shares[i] - (static_cast<double>(i) + 0.5) / static_cast<double>(shares.size())));
  const double independent = static_cast<double>(shares.size()) * (1.0 - 0.29) / (1.0 + 0.29);
  EXPECT_LT(distance, 1.63 / std::sqrt(independent));
}

TEST(SyntheticYear, HoursAreLightByDayAndAddUp) {
  const domain::ClimateNormals n = maritime();
  const domain::WeatherYear year = synthetic_year(n, 5, 2026);
  EXPECT_TRUE(check_weather(year, 2026).empty());
  double beam_hours = 0.0;
  for (const domain::WeatherRow& row : year.rows) {
    ASSERT_GE(row.beam_w_m2, 0.0);
    ASSERT_LT(row.beam_w_m2, 1100.0);
    ASSERT_GE(row.diffuse_w_m2, 0.0);
    ASSERT_LE(row.diffuse_w_m2, row.global_w_m2 + 1e-9);
    ASSERT_LE(row.dew_point_c, row.dry_bulb_c);
    if (row.beam_w_m2 > 120.0) beam_hours += 1.0;  // the World Meteorological Organization's sunshine
  }
  // Lowland western Europe at this latitude has some 1,400 to 1,800 hours of sunshine a year (from memory).
  EXPECT_GT(beam_hours, 1000.0);
  EXPECT_LT(beam_hours, 2400.0);
  // What the track makes of it adds up to the same global irradiation.
  const WeatherTrack track(year, SunTrack({n.latitude_deg, n.longitude_deg, n.elevation_m}, 0.0, 2026));
  double stepped = 0.0;
  double hourly = 0.0;
  for (Seconds t = 150; t < kYear; t += 300) stepped += track.at(t).global_w_m2() / 12.0;
  for (const domain::WeatherRow& row : year.rows) hourly += row.global_w_m2;
  EXPECT_NEAR(stepped, hourly, 0.01 * hourly);
  // The warmest hours come after noon.
  double morning = 0.0;
  double afternoon = 0.0;
  for (std::size_t d = 0; d < 365; ++d) {
    morning += year.rows[24 * d + 5].dry_bulb_c;
    afternoon += year.rows[24 * d + 14].dry_bulb_c;
  }
  EXPECT_GT(afternoon / 365.0, morning / 365.0 + 5.0);
}

TEST(SyntheticYear, SeedsDecideAndNothingElse) {
  const domain::ClimateNormals n = maritime();
  const domain::WeatherYear a = synthetic_year(n, 5, 2026);
  const domain::WeatherYear b = synthetic_year(n, 5, 2026);
  const domain::WeatherYear c = synthetic_year(n, 6, 2026);
  std::size_t different = 0;
  for (std::size_t h = 0; h < domain::kHoursPerYear; ++h) {
    ASSERT_EQ(a.rows[h].beam_w_m2, b.rows[h].beam_w_m2);
    ASSERT_EQ(a.rows[h].dry_bulb_c, b.rows[h].dry_bulb_c);
    if (a.rows[h].global_w_m2 != c.rows[h].global_w_m2) ++different;
  }
  EXPECT_GT(different, 4000U);
}

TEST(SyntheticYear, WorksInPolarNightAndSouthOfTheEquator) {
  domain::ClimateNormals north = maritime();
  north.latitude_deg = 70.0;
  north.global_wh_m2_day = {0, 400, 1500, 3300, 4600, 5200, 4700, 3200, 1700, 600, 20, 0};
  EXPECT_EQ(monthly(synthetic_year(north, 1, 2026), &domain::WeatherRow::global_w_m2)[11], 0.0);
  domain::ClimateNormals south = maritime();
  south.latitude_deg = -33.9;
  south.longitude_deg = 151.2;
  south.utc_offset_h = 10.0;
  south.global_wh_m2_day = {6400, 5600, 4700, 3700, 2800, 2400, 2700, 3600, 4700, 5700, 6300, 6700};
  ASSERT_TRUE(check_normals(south).empty());
  const auto global = monthly(synthetic_year(south, 1, 2026), &domain::WeatherRow::global_w_m2);
  EXPECT_GT(global[0], 2.0 * global[5]);
}

TEST(CheckNormals, RefusesWhatCannotBe) {
  EXPECT_TRUE(check_normals(maritime()).empty());
  domain::ClimateNormals n = maritime();
  n.global_wh_m2_day[5] = 12'000.0;
  n.dew_point_c[3] = 30.0;
  n.daily_range_k[0] = -1.0;
  const Diagnostics d = check_normals(n);
  ASSERT_EQ(d.size(), 3U);
  EXPECT_EQ(d[0].where, "/daily_range_k/0");
  EXPECT_EQ(d[1].where, "/dew_point_c/3");
  EXPECT_EQ(d[2].where, "/global_wh_m2_day/5");
  n.latitude_deg = 95.0;
  EXPECT_EQ(check_normals(n).size(), 1U);
}

TEST(LibraryClimates, PassTheChecksAndMakeYears) {
  int climates = 0;
  for (const auto& entry : std::filesystem::directory_iterator(std::filesystem::path(HALFLIGHT_SOURCE_DIR) /
                                                               "library/climates")) {
    std::ifstream in(entry.path());
    const nlohmann::json document = nlohmann::json::parse(in);
    for (const nlohmann::json& j : document.at("climates")) {
      domain::ClimateNormals n;
      n.id = j.at("id");
      n.latitude_deg = j.at("latitude_deg");
      n.longitude_deg = j.at("longitude_deg");
      n.elevation_m = j.at("elevation_m");
      n.utc_offset_h = j.at("utc_offset_h");
      n.global_wh_m2_day = j.at("global_wh_m2_day");
      n.dry_bulb_c = j.at("dry_bulb_c");
      n.daily_range_k = j.at("daily_range_k");
      n.dew_point_c = j.at("dew_point_c");
      EXPECT_EQ(entry.path().stem().string(), n.id);
      for (const Diagnostic& d : check_normals(n)) ADD_FAILURE() << to_text(d);
      const domain::WeatherYear year = synthetic_year(n, 1, 2026);
      for (const Diagnostic& d : check_weather(year, 2026)) ADD_FAILURE() << to_text(d);
      ++climates;
    }
  }
  EXPECT_EQ(climates, 4);
}

}  // namespace
}  // namespace halflight::climate
