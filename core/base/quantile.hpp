#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>

namespace halflight {

/// The `q` quantile (0..1) of values in ascending order, at least one: linear between order statistics, type
/// 7 of R. Hyndman and Y. Fan, "Sample quantiles in statistical packages", The American Statistician 50(4),
/// 1996.
inline double sorted_quantile(std::span<const double> ascending, double q) {
  const double at = std::clamp(q, 0.0, 1.0) * static_cast<double>(ascending.size() - 1);
  const double below = std::floor(at);
  const auto i = static_cast<std::size_t>(below);
  if (i + 1 >= ascending.size()) return ascending.back();
  return ascending[i] + (at - below) * (ascending[i + 1] - ascending[i]);
}

/// The same of values in any order, which it changes.
inline double quantile(std::span<double> values, double q) {
  const double at = std::clamp(q, 0.0, 1.0) * static_cast<double>(values.size() - 1);
  const auto place = values.begin() + static_cast<std::ptrdiff_t>(std::floor(at));
  std::nth_element(values.begin(), place, values.end());
  const auto next = std::min_element(place + 1, values.end());
  return next == values.end() ? *place : *place + (at - std::floor(at)) * (*next - *place);
}

}  // namespace halflight
