#include "energy/weighing.hpp"

#include "base/sums.hpp"
#include "base/units.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace halflight::energy {

namespace {

double effective_number(std::span<const double> weights) {
  CompensatedSum sum;
  CompensatedSum squares;
  for (const double w : weights) {
    sum.add(w);
    squares.add(w * w);
  }
  return sum.value() * sum.value() / squares.value();
}

/// Squares of the deviations in units of their standard deviation, summed over the measured figures.
std::vector<double> misfits(std::span<const Measured> measured, std::size_t years) {
  std::vector<double> sum(years, 0.0);
  for (const Measured& one : measured) {
    assert(one.modelled.size() == years && one.deviation > 0.0);
    for (std::size_t i = 0; i < years; ++i) {
      const double off = (one.modelled[i] - one.value) / one.deviation;
      sum[i] += off * off;
    }
  }
  return sum;
}

/// Mean 1.
std::vector<double> weights_under(std::span<const double> misfit, double widened) {
  const double least = *std::min_element(misfit.begin(), misfit.end());
  std::vector<double> weights;
  for (const double m : misfit) weights.push_back(std::exp(-0.5 * (m - least) / (widened * widened)));
  const double mean = ordered_sum(weights) / static_cast<double>(weights.size());
  for (double& w : weights) w /= mean;
  return weights;
}

std::vector<std::vector<double>> covariances(std::span<const std::span<const double>> columns) {
  std::vector<std::vector<double>> deviations;
  for (const std::span<const double> column : columns) {
    const double mean = ordered_sum(column) / static_cast<double>(column.size());
    std::vector<double>& off = deviations.emplace_back();
    for (const double value : column) off.push_back(value - mean);
  }
  std::vector<std::vector<double>> covariance(columns.size(), std::vector<double>(columns.size(), 0.0));
  for (std::size_t i = 0; i < columns.size(); ++i)
    for (std::size_t j = 0; j <= i; ++j) {
      CompensatedSum sum;
      for (std::size_t r = 0; r < deviations[i].size(); ++r) sum.add(deviations[i][r] * deviations[j][r]);
      covariance[i][j] = covariance[j][i] = sum.value() / static_cast<double>(deviations[i].size());
    }
  return covariance;
}

}  // namespace

Weights weigh(std::span<const Measured> measured, std::size_t years, double least_effective) {
  Weights found;
  found.of_year.assign(years, 1.0);
  found.effective = static_cast<double>(years);
  if (measured.empty() || years == 0) return found;
  const std::vector<double> misfit = misfits(measured, years);
  const auto effective_under = [&](double widened) {
    return effective_number(weights_under(misfit, widened));
  };
  const double least = std::min(least_effective, 0.5 * static_cast<double>(years));
  if (effective_under(1.0) < least) {
    // The effective number grows with the width, towards all years.
    double low = 1.0;
    double high = 2.0;
    while (effective_under(high) < least) high *= 2.0;
    constexpr int kHalvings = 50;
    for (int i = 0; i < kHalvings; ++i) {
      const double middle = 0.5 * (low + high);
      (effective_under(middle) < least ? low : high) = middle;
    }
    found.widened = high;
  }
  found.of_year = weights_under(misfit, found.widened);
  found.effective = effective_number(found.of_year);
  return found;
}

double narrowing(std::span<const double> target, std::span<const double> figure, double deviation,
                 std::span<const Measured> known) {
  std::vector<std::span<const double>> columns = {target, figure};
  for (const Measured& one : known) columns.emplace_back(one.modelled);
  std::vector<std::vector<double>> covariance = covariances(columns);
  for (std::size_t k = 0; k < known.size(); ++k) {
    const std::size_t at = 2 + k;
    const std::vector<double> row = covariance[at];
    const double variance = row[at] + known[k].deviation * known[k].deviation;
    for (std::size_t i = 0; i < columns.size(); ++i)
      for (std::size_t j = 0; j < columns.size(); ++j) covariance[i][j] -= row[i] * row[j] / variance;
  }
  const auto years = static_cast<double>(target.size());
  const double free = years - 1.0 - static_cast<double>(known.size());
  const double of_target = covariance[0][0];
  const double of_figure = covariance[1][1];
  if (of_target <= 0.0 || of_figure <= 0.0 || free <= 1.0) return 0.0;
  const double seen = covariance[0][1] * covariance[0][1] / (of_target * of_figure);
  const double explained = std::max(0.0, 1.0 - (1.0 - seen) * free / (free - 1.0));
  return 1.0 - std::sqrt(1.0 - explained / (1.0 + deviation * deviation / of_figure));
}

double narrowing_by_chance(std::size_t figures, std::size_t years) {
  const double log_n = std::log(static_cast<double>(std::max<std::size_t>(figures, 3)));
  const double gumbel = -std::log(-std::log(0.95));
  const double most = 2.0 * log_n - std::log(log_n) - std::log(kPi) + 2.0 * gumbel;
  return 1.0 - std::sqrt(std::max(0.0, 1.0 - most / static_cast<double>(years)));
}

}  // namespace halflight::energy
