#pragma once
#include "base/diagnostic.hpp"
#include "domain/weather.hpp"

#include <cstdint>

namespace halflight::climate {

// A year of weather out of monthly means. Equations, sources, limits and checks: docs/methods/weather.md.

/// How daily clearness is spread in a month whose mean is known: P. Bendt, M. Collares-Pereira, A. Rabl,
/// Solar Energy 27(1), 1981, 1-5 (an exponential between two limits), the upper limit by K. G. T. Hollands
/// and R. G. Huget, Solar Energy 30(3), 1983, 195-209.
class DailyClearness {
 public:
  /// `monthly_mean` is clamped to 0.1..0.8.
  explicit DailyClearness(double monthly_mean);
  /// Clearness below which the share `p` of days lies, 0 < p < 1.
  [[nodiscard]] double quantile(double p) const;
  /// Share of days with less than `clearness`.
  [[nodiscard]] double share_below(double clearness) const;
  [[nodiscard]] double lowest() const { return lowest_; }
  [[nodiscard]] double highest() const { return highest_; }
  [[nodiscard]] double exponent() const { return u_ / (highest_ - lowest_); }  ///< gamma of the paper

 private:
  double lowest_ = 0.05;
  double highest_ = 0.8;
  double u_ = 0.0;  // gamma times the width
};

enum class SyntheticKind {
  typical,  ///< every month has the normals' mean and the published spread; only the order of days is drawn
  natural,  ///< months vary as real ones do, and only their long-term mean is the normal
};

/// Hourly weather by day-to-day order with lag-one correlation 0.29 (V. A. Graham, K. G. T. Hollands, T. E.
/// Unny, Solar Energy 40(2), 1988, 83-92), hours within the day by R. Aguiar and M. Collares-Pereira ("TAG",
/// Solar Energy 49(3), 1992, 167-174), and beam and diffuse by D. G. Erbs, S. A. Klein, J. A. Duffie (Solar
/// Energy 28(4), 1982, 293-302). The same seed gives the same bits; different seeds give different years.
/// `normals` must pass `check_normals`.
domain::WeatherYear synthetic_year(const domain::ClimateNormals& normals, std::uint32_t seed,
                                   int calendar_year, SyntheticKind kind = SyntheticKind::typical);

/// Errors where the normals cannot be: a place off the globe, more irradiation than 0.8 of what arrives
/// outside the air (or less than 0.1 of it), a dew point above the temperature.
Diagnostics check_normals(const domain::ClimateNormals& normals);

}  // namespace halflight::climate
