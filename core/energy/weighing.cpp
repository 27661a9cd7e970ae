#include "energy/weighing.hpp"

#include "base/sums.hpp"

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
                 std::span<const double> weights) {
  assert(target.size() == figure.size() && target.size() == weights.size());
  const double whole = ordered_sum(weights);
  const auto mean = [&](std::span<const double> values) {
    CompensatedSum sum;
    for (std::size_t i = 0; i < values.size(); ++i) sum.add(weights[i] * values[i]);
    return sum.value() / whole;
  };
  const double of_target = mean(target);
  const double of_figure = mean(figure);
  CompensatedSum tt;
  CompensatedSum ff;
  CompensatedSum tf;
  for (std::size_t i = 0; i < target.size(); ++i) {
    const double t = target[i] - of_target;
    const double f = figure[i] - of_figure;
    tt.add(weights[i] * t * t);
    ff.add(weights[i] * f * f);
    tf.add(weights[i] * t * f);
  }
  const double years = effective_number(weights);
  if (tt.value() <= 0.0 || ff.value() <= 0.0 || years <= 2.0) return 0.0;
  const double seen = tf.value() * tf.value() / (tt.value() * ff.value());
  const double explained = std::max(0.0, 1.0 - (1.0 - seen) * (years - 1.0) / (years - 2.0));
  const double noise = deviation * deviation * whole / ff.value();
  return 1.0 - std::sqrt(1.0 - explained / (1.0 + noise));
}

}  // namespace halflight::energy
