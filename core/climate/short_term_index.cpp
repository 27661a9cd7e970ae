#include "climate/short_term_index.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace halflight::climate {

namespace {

// Variances of the parts over the square of the range, as far as their means allow.
constexpr double kVarianceBehindClouds = 0.014;
constexpr double kVarianceInTheOpen = 0.006;

/// The exponents of a beta distribution on 0..1, neither below 1, so that its density stays finite.
struct Beta {
  double a = 1.0;
  double b = 1.0;
  Beta(double mean, double wanted_variance) {
    const double rest = 1.0 - mean;
    const double variance =
        std::min({wanted_variance, mean * mean * rest / (1.0 + mean), mean * rest * rest / (2.0 - mean)});
    const double sum = mean * rest / variance - 1.0;
    a = mean * sum;
    b = rest * sum;
  }
  /// Up to a constant factor; 0 < x < 1, `log_x` and `log_rest` of x and 1 - x.
  [[nodiscard]] double density(double log_x, double log_rest) const {
    return std::exp((a - 1.0) * log_x + (b - 1.0) * log_rest);
  }
};

/// Logarithms of the middles of equal cells of 0..1, and of what is left to 1.
template <std::size_t kCells>
struct CellLogs {
  std::array<double, kCells> of{};
  std::array<double, kCells> of_rest{};
  CellLogs() {
    for (std::size_t i = 0; i < kCells; ++i) {
      const double x = (static_cast<double>(i) + 0.5) / static_cast<double>(kCells);
      of[i] = std::log(x);
      of_rest[i] = std::log1p(-x);
    }
  }
};

}  // namespace

double hour_to_hour(double before, double index, double after) {
  return std::sqrt(0.5 * ((index - before) * (index - before) + (index - after) * (index - after)));
}

double expected_spread(double index, double hour_to_hour) {
  return std::max(0.0, 0.87 * index * index * (1.0 - index) + 0.39 * std::sqrt(index) * hour_to_hour);
}

double drawn_spread(double expected, double share) {
  const double shape = 0.88 + 42.0 * expected * expected;
  const double scale = 1.0 / std::tgamma(1.0 + 1.0 / shape);
  return expected * scale * std::pow(-std::log1p(-share), 1.0 / shape);
}

double spread_of_steps(double spread, double index, Seconds step_s) {
  assert(step_s > 0 && step_s <= kIndexStep);
  const double shorter = static_cast<double>(kIndexStep - step_s) / static_cast<double>(kIndexStep);
  const double more = (0.6 - 1.3 * spread) * (index - 0.2);
  return spread * (1.0 + std::max(0.0, more) * std::pow(shorter, 1.5));
}

ShortTermIndex::ShortTermIndex(double mean, double spread) {
  assert(mean >= 0.05 && mean <= 1.4 && spread > 0.0);
  lowest_ = std::max(0.0, (mean - 0.03) * std::exp(-11.0 * std::pow(spread, 1.4)) - 0.09);
  highest_ = (mean - 1.5) * std::exp(-9.0 * std::pow(spread, 1.3)) + 1.5;
  const double range = highest_ - lowest_;
  const double at = (mean - lowest_) / range;
  const double relative = spread / range;
  const double behind = at * (0.01 + 0.98 * std::exp(-60.0 * std::pow(relative, 3.3)));
  const double open = 1.0 - (1.0 - at) * (0.01 + 0.98 * std::exp(-11.0 * relative * relative));
  cloudy_share_ = (open - at) / (open - behind);
  behind_clouds_ = lowest_ + range * behind;
  in_the_open_ = lowest_ + range * open;

  const Beta cloudy(behind, kVarianceBehindClouds);
  const Beta sunny(open, kVarianceInTheOpen);
  static const CellLogs<kCells> logs;
  std::array<double, kCells> of_cloudy{};
  std::array<double, kCells> of_sunny{};
  double all_cloudy = 0.0;
  double all_sunny = 0.0;
  for (std::size_t i = 0; i < kCells; ++i) {
    all_cloudy += of_cloudy[i] = cloudy.density(logs.of[i], logs.of_rest[i]);
    all_sunny += of_sunny[i] = sunny.density(logs.of[i], logs.of_rest[i]);
  }
  for (std::size_t i = 0; i < kCells; ++i)
    below_[i + 1] = below_[i] + cloudy_share_ * of_cloudy[i] / all_cloudy +
                    (1.0 - cloudy_share_) * of_sunny[i] / all_sunny;
}

double ShortTermIndex::share_below(double index) const {
  const double cell = (index - lowest_) / (highest_ - lowest_) * static_cast<double>(kCells);
  if (cell <= 0.0) return 0.0;
  if (cell >= static_cast<double>(kCells)) return 1.0;
  const auto i = static_cast<std::size_t>(cell);
  return std::lerp(below_[i], below_[i + 1], cell - static_cast<double>(i));
}

void ShortTermIndex::quantiles(std::span<double> out) const {
  std::size_t i = 0;
  for (std::size_t j = 0; j < out.size(); ++j) {
    const double share = (static_cast<double>(j) + 0.5) / static_cast<double>(out.size());
    while (i + 1 < kCells && below_[i + 1] < share) ++i;
    const double within = std::clamp((share - below_[i]) / (below_[i + 1] - below_[i]), 0.0, 1.0);
    out[j] = std::lerp(lowest_, highest_, (static_cast<double>(i) + within) / static_cast<double>(kCells));
  }
}

}  // namespace halflight::climate
