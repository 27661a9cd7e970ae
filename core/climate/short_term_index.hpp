#pragma once
#include "base/time_axis.hpp"

#include <array>
#include <cstddef>
#include <span>

namespace halflight::climate {

// The clear-sky index (global light over that of a clear sky) of short steps within an hour: A. Skartveit, J.
// A. Olseth, "The probability density and autocorrelation of short-term global and beam irradiance", Solar
// Energy 49(6), 1992, 477-487. Where its figures come from and what they were checked by:
// docs/methods/weather.md.

/// Steps that the figures below hold for without correction, and the longest ones.
inline constexpr Seconds kIndexStep = 300;
/// Standard deviations are kept to this (own choice: about the largest that an index between 0 and 1.4 has).
inline constexpr double kMostSpread = 0.4;

/// Root mean square of the differences of an hour's index from those of its neighbours.
double hour_to_hour(double before, double index, double after);

/// Standard deviation of 5-minute indices within an hour of mean `index`, to be expected after `hour_to_hour`
/// variability.
double expected_spread(double index, double hour_to_hour);

/// The spread of one hour: `expected` times a Weibull variable of mean 1, `share` its quantile (0..1).
double drawn_spread(double expected, double share);

/// The spread of steps of `step_s`, at most `kIndexStep`, where 5-minute steps have `spread`.
double spread_of_steps(double spread, double index, Seconds step_s);

/// The distribution of the indices within an hour: two beta distributions, of the steps behind clouds and of
/// those in the open, between the lowest and the highest index that such an hour knows.
class ShortTermIndex {
 public:
  /// `mean` in 0.05..1.4, `spread` in 0..`kMostSpread`, above 0.
  ShortTermIndex(double mean, double spread);

  [[nodiscard]] double lowest() const { return lowest_; }
  [[nodiscard]] double highest() const { return highest_; }
  /// Mean indices of the two parts and the share of steps behind clouds.
  [[nodiscard]] double behind_clouds() const { return behind_clouds_; }
  [[nodiscard]] double in_the_open() const { return in_the_open_; }
  [[nodiscard]] double cloudy_share() const { return cloudy_share_; }

  /// Share of steps with less than `index`.
  [[nodiscard]] double share_below(double index) const;
  /// The indices of `out.size()` equally likely steps, ascending: the quantiles at (j + 1/2) / n.
  void quantiles(std::span<double> out) const;

 private:
  static constexpr std::size_t kCells = 128;
  double lowest_ = 0.0, highest_ = 0.0;
  double behind_clouds_ = 0.0, in_the_open_ = 0.0, cloudy_share_ = 0.0;
  std::array<double, kCells + 1> below_{};  // share of steps below each edge of the equal cells
};

}  // namespace halflight::climate
