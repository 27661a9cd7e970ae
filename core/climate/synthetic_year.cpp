#include "climate/synthetic_year.hpp"

#include "base/random.hpp"
#include "base/time_axis.hpp"
#include "base/units.hpp"
#include "climate/clear_shape.hpp"
#include "climate/diffuse_share.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include <fmt/format.h>

namespace halflight::climate {

namespace {

constexpr std::size_t kDays = 365;
constexpr double kDayToDay =
    0.29;  // lag-one correlation of the normal score of daily clearness (Graham 1988)
// Daily mean temperature wanders around its normal: common practice, no source.
constexpr double kTemperatureMemory = 0.7;
constexpr double kTemperatureDeviation = 0.3;  // standard deviation as a share of the mean daily range

double even_share(double p) { return std::clamp(p, 1e-9, 1.0 - 1e-9); }
double normal_share(double x) { return even_share(0.5 * std::erfc(-x / std::sqrt(2.0))); }

struct HourSun {
  double outside_w_m2 = 0.0;      // mean on the horizontal outside the air
  double clear_beam_w_m2 = 0.0;   // mean of the clear beam, normal
  double clear_level_w_m2 = 0.0;  // mean of the clear beam on the horizontal
  double sine = 0.0;              // mean sine of the altitude while the sun is up
  double solar_hour = 12.0;       // apparent solar time at the middle of the hour
};

std::vector<HourSun> hours_of(const SunTrack& sun) {
  std::vector<HourSun> hours(domain::kHoursPerYear);
  constexpr Seconds kSteps = 12;
  for (std::size_t h = 0; h < hours.size(); ++h) {
    HourSun& hour = hours[h];
    double up = 0.0;
    for (Seconds s = 0; s < kSteps; ++s) {
      const SunInstant now =
          sun.at(static_cast<Seconds>(h) * kHour + s * (kHour / kSteps) + kHour / (2 * kSteps));
      if (now.cos_zenith() <= 0.0) continue;
      const ClearShape clear = clear_shape(now);
      up += 1.0;
      hour.outside_w_m2 += clear.diffuse / static_cast<double>(kSteps);
      hour.clear_beam_w_m2 += clear.beam / static_cast<double>(kSteps);
      hour.clear_level_w_m2 += clear.beam * now.cos_zenith() / static_cast<double>(kSteps);
      hour.sine += now.cos_zenith();
    }
    if (up > 0.0) hour.sine /= up;
  }
  // Apparent noon is where the sun stands highest; hours count from it.
  for (std::size_t d = 0; d < kDays; ++d) {
    double weight = 0.0;
    double noon = 0.0;
    for (std::size_t i = 0; i < 24; ++i) {
      weight += hours[24 * d + i].outside_w_m2;
      noon += hours[24 * d + i].outside_w_m2 * (static_cast<double>(i) + 0.5);
    }
    if (weight <= 0.0) continue;
    noon /= weight;
    for (std::size_t i = 0; i < 24; ++i)
      hours[24 * d + i].solar_hour = 12.0 + static_cast<double>(i) + 0.5 - noon;
  }
  return hours;
}

double outside_of_day(const std::vector<HourSun>& hours, std::size_t day) {
  double sum = 0.0;
  for (std::size_t i = 0; i < 24; ++i) sum += hours[24 * day + i].outside_w_m2;
  return sum;
}

struct Month {
  std::size_t begin = 0;
  std::size_t end = 0;
};
Month month_of(int month) {
  const auto begin = static_cast<std::size_t>(day_of_year({month, 1}));
  return {begin, month == 12 ? kDays : static_cast<std::size_t>(day_of_year({month + 1, 1}))};
}

// A first-order autoregressive series of unit variance, one value a day.
std::vector<double> wandering(std::uint32_t seed, std::string_view name, double memory) {
  const RandomKey key{seed, hash_name("weather")};
  const std::uint32_t decision = hash_name(name);
  std::vector<double> series(kDays);
  double last = random_normal(key, {0, 0, decision, 1});
  for (std::size_t d = 0; d < kDays; ++d) {
    last = memory * last + std::sqrt(1.0 - memory * memory) *
                               random_normal(key, {0, static_cast<std::uint32_t>(d), decision, 0});
    series[d] = last;
  }
  return series;
}

std::vector<double> daily_clearness(const domain::ClimateNormals& normals, const std::vector<HourSun>& hours,
                                    std::uint32_t seed, SyntheticKind kind) {
  const std::vector<double> score = wandering(seed, "daily clearness", kDayToDay);
  std::vector<double> clearness(kDays, 0.0);
  for (int m = 1; m <= 12; ++m) {
    const Month month = month_of(m);
    double outside = 0.0;
    for (std::size_t d = month.begin; d < month.end; ++d) outside += outside_of_day(hours, d);
    const auto days = static_cast<double>(month.end - month.begin);
    if (outside <= 0.0) continue;  // polar night
    const DailyClearness spread(normals.global_wh_m2_day[static_cast<std::size_t>(m - 1)] * days / outside);
    std::vector<std::size_t> order(month.end - month.begin);
    std::iota(order.begin(), order.end(), month.begin);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return score[a] < score[b]; });
    for (std::size_t rank = 0; rank < order.size(); ++rank) {
      const std::size_t d = order[rank];
      const double share =
          kind == SyntheticKind::typical ? (static_cast<double>(rank) + 0.5) / days : normal_share(score[d]);
      clearness[d] = spread.quantile(share);
    }
  }
  return clearness;
}

// Hourly clearness of one day (Aguiar and Collares-Pereira 1992), scaled to the day's clearness.
std::array<double, 24> hourly_clearness(const std::vector<HourSun>& hours, std::size_t day, double of_day,
                                        std::uint32_t seed) {
  const RandomKey key{seed, hash_name("weather")};
  const std::uint32_t decision = hash_name("hourly clearness");
  const double lambda = -0.19 + 1.12 * of_day + 0.24 * std::exp(-8.0 * of_day);
  const double epsilon = 0.32 - 1.6 * (of_day - 0.5) * (of_day - 0.5);
  const double kappa = 0.19 + 2.27 * of_day * of_day - 2.51 * of_day * of_day * of_day;
  const double a = 0.14 * std::exp(-20.0 * (of_day - 0.35) * (of_day - 0.35));
  const double b = 3.0 * (of_day - 0.45) * (of_day - 0.45) + 16.0 * std::pow(of_day, 5);
  const double memory = 0.38 + 0.06 * std::cos(7.4 * of_day - 2.5);
  constexpr double kClearest = 0.88;

  std::array<double, 24> clearness{};
  double last = 0.0;
  for (std::size_t i = 0; i < 24; ++i) {
    const HourSun& hour = hours[24 * day + i];
    if (hour.outside_w_m2 <= 0.0) continue;
    const double trend = lambda + epsilon * std::exp(-kappa / hour.sine);
    const double deviation = a * std::exp(b * (1.0 - hour.sine));
    const double clear = std::max(0.1, kClearest * std::cos(kPi * (hour.solar_hour - 12.0) / 30.0));
    // Draws beyond a clear sky or below darkness are drawn again, as the paper does; a few tries are enough.
    constexpr std::uint32_t kTries = 12;
    double score = last;
    double value = -1.0;
    for (std::uint32_t attempt = 0; attempt < kTries && (value <= 0.0 || value > clear); ++attempt) {
      const RandomCounter counter{0, static_cast<std::uint32_t>(day), decision,
                                  static_cast<std::uint32_t>(i) * kTries + attempt};
      score = memory * last + std::sqrt(1.0 - memory * memory) * random_normal(key, counter);
      value = trend + deviation * score;
    }
    last = score;
    constexpr double kDarkest = 0.01;
    clearness[i] = std::clamp(value, kDarkest, clear);
  }

  const double target = of_day * outside_of_day(hours, day);
  constexpr int kPasses = 30;  // more than one only when hours meet the clear-sky limit
  for (int pass = 0; pass < kPasses; ++pass) {
    double sum = 0.0;
    for (std::size_t i = 0; i < 24; ++i) sum += clearness[i] * hours[24 * day + i].outside_w_m2;
    if (sum <= 0.0 || std::abs(sum - target) < 1e-9 * target) break;
    for (double& k : clearness) k = std::min(k * target / sum, kClearest);
  }
  return clearness;
}

// Straight between the middles of months.
double between_months(const std::array<double, 12>& monthly, std::size_t day) {
  const auto middle = [](int m) {
    const Month month = month_of((m + 11) % 12 + 1);
    return 0.5 * static_cast<double>(month.begin + month.end) + (m < 1 ? -365.0 : m > 12 ? 365.0 : 0.0);
  };
  const double at = static_cast<double>(day) + 0.5;
  int m = 0;
  while (at >= middle(m + 1)) ++m;
  const auto value = [&](int k) { return monthly[static_cast<std::size_t>((k + 11) % 12)]; };
  return std::lerp(value(m), value(m + 1), (at - middle(m)) / (middle(m + 1) - middle(m)));
}

// Hourly course of temperature about the day's mean, for a range of 1 K, at the end of hour t: D. G. Erbs, S.
// A. Klein, W. A. Beckman, ASHRAE Journal 25(6), 1983, 60-65.
double temperature_course(double hour) {
  const double t = 2.0 * kPi * (hour - 1.0) / 24.0;
  return 0.4632 * std::cos(t - 3.805) + 0.0984 * std::cos(2.0 * t - 0.360) +
         0.0168 * std::cos(3.0 * t - 0.822) + 0.0138 * std::cos(4.0 * t - 3.513);
}

// Adds to each day of a month what brings the monthly mean of `daily` to the normal.
void centre_months(std::vector<double>& daily, const std::array<double, 12>& normals) {
  for (int m = 1; m <= 12; ++m) {
    const Month month = month_of(m);
    double sum = 0.0;
    for (std::size_t d = month.begin; d < month.end; ++d) sum += daily[d];
    const double shift =
        normals[static_cast<std::size_t>(m - 1)] - sum / static_cast<double>(month.end - month.begin);
    for (std::size_t d = month.begin; d < month.end; ++d) daily[d] += shift;
  }
}

}  // namespace

DailyClearness::DailyClearness(double monthly_mean) {
  const double mean = std::clamp(monthly_mean, 0.1, 0.8);
  highest_ = 0.6313 + 0.267 * mean - 11.9 * std::pow(mean - 0.75, 8);
  const double wanted = (mean - lowest_) / (highest_ - lowest_);
  // The mean of an exponential on [0, 1] with exponent u rises with u.
  const auto mean_of = [](double u) {
    return std::abs(u) < 1e-4 ? 0.5 + u / 12.0 : 1.0 / -std::expm1(-u) - 1.0 / u;
  };
  double low = -100.0;
  double high = 100.0;
  for (int i = 0; i < 100; ++i) {
    u_ = 0.5 * (low + high);
    (mean_of(u_) < wanted ? low : high) = u_;
  }
}

double DailyClearness::quantile(double p) const {
  if (std::abs(u_) < 1e-6) return std::lerp(lowest_, highest_, p);
  return lowest_ + (highest_ - lowest_) * std::log1p(p * std::expm1(u_)) / u_;
}

double DailyClearness::share_below(double clearness) const {
  const double x = std::clamp((clearness - lowest_) / (highest_ - lowest_), 0.0, 1.0);
  return std::abs(u_) < 1e-6 ? x : std::expm1(u_ * x) / std::expm1(u_);
}

domain::WeatherYear synthetic_year(const domain::ClimateNormals& normals, std::uint32_t seed,
                                   int calendar_year, SyntheticKind kind) {
  const SunTrack sun({normals.latitude_deg, normals.longitude_deg, normals.elevation_m},
                     normals.utc_offset_h * kSecondsPerHour, calendar_year);
  const std::vector<HourSun> hours = hours_of(sun);
  const std::vector<double> clearness = daily_clearness(normals, hours, seed, kind);
  const std::vector<double> warmth = wandering(seed, "daily temperature", kTemperatureMemory);

  std::vector<double> dry_bulb(kDays);
  std::vector<double> dew_point(kDays);
  std::vector<double> range(kDays);
  for (std::size_t d = 0; d < kDays; ++d) {
    range[d] = between_months(normals.daily_range_k, d);
    const double deviation = kTemperatureDeviation * range[d] * warmth[d];
    dry_bulb[d] = between_months(normals.dry_bulb_c, d) + deviation;
    dew_point[d] = between_months(normals.dew_point_c, d) + deviation;
  }
  if (kind == SyntheticKind::typical) {
    centre_months(dry_bulb, normals.dry_bulb_c);
    centre_months(dew_point, normals.dew_point_c);
  }

  domain::WeatherYear year;
  year.name = normals.name;
  year.source = fmt::format("synthetic year from monthly normals '{}', seed {}, {}", normals.id, seed,
                            kind == SyntheticKind::typical ? "typical" : "natural");
  year.latitude_deg = normals.latitude_deg;
  year.longitude_deg = normals.longitude_deg;
  year.elevation_m = normals.elevation_m;
  year.utc_offset_h = normals.utc_offset_h;
  year.rows.reserve(domain::kHoursPerYear);
  for (std::size_t d = 0; d < kDays; ++d) {
    const std::array<double, 24> of_hour = hourly_clearness(hours, d, clearness[d], seed);
    for (std::size_t i = 0; i < 24; ++i) {
      const HourSun& hour = hours[24 * d + i];
      domain::WeatherRow row;
      row.pressure_hpa = standard_pressure_hpa(normals.elevation_m);
      row.dry_bulb_c = dry_bulb[d] + range[d] * temperature_course(static_cast<double>(i) + 1.0);
      row.dew_point_c = std::min(dew_point[d], row.dry_bulb_c);
      row.global_w_m2 = of_hour[i] * hour.outside_w_m2;
      row.diffuse_w_m2 = row.global_w_m2;
      if (hour.clear_level_w_m2 > 0.0) {
        // Beam that no air lets through is given to the sky: at low sun the split has no meaning of its own.
        const double level = row.global_w_m2 * (1.0 - diffuse_share(of_hour[i]));
        const double index = std::min(level / hour.clear_level_w_m2, kClearestBeam);
        row.beam_w_m2 = index * hour.clear_beam_w_m2;
        row.diffuse_w_m2 = std::max(0.0, row.global_w_m2 - index * hour.clear_level_w_m2);
      }
      year.rows.push_back(row);
    }
  }
  return year;
}

Diagnostics check_normals(const domain::ClimateNormals& normals) {
  Diagnostics diagnostics;
  const auto error = [&](std::string where, std::string problem, std::string remedy) {
    diagnostics.push_back(
        {Diagnostic::Severity::error, normals.id, std::move(where), std::move(problem), std::move(remedy)});
  };
  const bool on_globe = std::abs(normals.latitude_deg) <= 90.0 && std::abs(normals.longitude_deg) <= 180.0 &&
                        normals.elevation_m >= -500.0 && normals.elevation_m <= 9000.0 &&
                        std::abs(normals.utc_offset_h) <= 14.0;
  if (!on_globe) {
    error("/latitude_deg", "the place is not on the globe",
          "latitude -90 to 90, longitude -180 to 180, elevation -500 to 9,000 m, offset -14 to 14 h");
    return diagnostics;
  }
  const SunTrack sun({normals.latitude_deg, normals.longitude_deg, normals.elevation_m},
                     normals.utc_offset_h * kSecondsPerHour, 2026);
  const std::vector<HourSun> hours = hours_of(sun);
  for (int m = 1; m <= 12; ++m) {
    const auto index = static_cast<std::size_t>(m - 1);
    const Month month = month_of(m);
    double outside = 0.0;
    for (std::size_t d = month.begin; d < month.end; ++d) outside += outside_of_day(hours, d);
    outside /= static_cast<double>(month.end - month.begin);
    const double global = normals.global_wh_m2_day[index];
    constexpr double kNight_wh_m2_day = 100.0;  // around polar night clearness has no meaning
    if (!(global >= 0.0) || global > 0.8 * outside || (outside > kNight_wh_m2_day && global < 0.1 * outside))
      error(fmt::format("/global_wh_m2_day/{}", index), fmt::format("{} Wh/m2 a day cannot be", global),
            fmt::format("outside the air {:.0f} Wh/m2 arrive; give 0.1 to 0.8 of that", outside));
    const double dry_bulb = normals.dry_bulb_c[index];
    if (!(std::abs(dry_bulb) <= 60.0))
      error(fmt::format("/dry_bulb_c/{}", index), fmt::format("{} C is no monthly mean", dry_bulb),
            "give -60 to 60 C");
    if (!(normals.dew_point_c[index] <= dry_bulb) || normals.dew_point_c[index] < -90.0)
      error(fmt::format("/dew_point_c/{}", index),
            fmt::format("a dew point of {} C at {} C", normals.dew_point_c[index], dry_bulb),
            "the dew point lies below the temperature");
    if (!(normals.daily_range_k[index] >= 0.0 && normals.daily_range_k[index] <= 40.0))
      error(fmt::format("/daily_range_k/{}", index),
            fmt::format("{} K cannot be", normals.daily_range_k[index]), "give 0 to 40 K");
  }
  return diagnostics;
}

}  // namespace halflight::climate
