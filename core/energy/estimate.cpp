#include "energy/estimate.hpp"

#include "base/quantile.hpp"
#include "base/sums.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include <Eigen/Dense>

namespace halflight::energy {

namespace {

double mean_of(std::span<const double> values) {
  return ordered_sum(values) / static_cast<double>(values.size());
}

/// Sample standard deviation; 0 for fewer than two values.
double deviation_of(std::span<const double> values) {
  if (values.size() < 2) return 0.0;
  const double mean = mean_of(values);
  CompensatedSum squares;
  for (const double v : values) squares.add((v - mean) * (v - mean));
  return std::sqrt(squares.value() / static_cast<double>(values.size() - 1));
}

}  // namespace

results::Estimate estimate(std::span<const double> values, int scrambles) {
  if (values.empty()) return {};
  const auto blocks = static_cast<std::size_t>(std::max(scrambles, 1));
  assert(values.size() % blocks == 0);
  results::Estimate found;
  found.mean = mean_of(values);
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  found.low = sorted_quantile(sorted, 0.05);
  found.high = sorted_quantile(sorted, 0.95);
  std::vector<double> means;
  const std::size_t points = values.size() / blocks;
  for (std::size_t b = 0; b < blocks; ++b) means.push_back(mean_of(values.subspan(b * points, points)));
  const std::span<const double> independent = blocks > 1 ? std::span<const double>(means) : values;
  found.standard_error = deviation_of(independent) / std::sqrt(static_cast<double>(independent.size()));
  return found;
}

results::Estimate ratio_estimate(std::span<const double> parts, std::span<const double> wholes,
                                 int scrambles) {
  assert(parts.size() == wholes.size());
  if (parts.empty()) return {};
  const auto ratio = [](double part, double whole) { return whole != 0.0 ? part / whole : 0.0; };
  std::vector<double> ratios(parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i) ratios[i] = ratio(parts[i], wholes[i]);
  results::Estimate found = estimate(ratios, scrambles);
  found.mean = ratio(ordered_sum(parts), ordered_sum(wholes));
  const auto blocks = static_cast<std::size_t>(std::max(scrambles, 1));
  if (blocks < 2) return found;
  const std::size_t points = parts.size() / blocks;
  std::vector<double> block_ratios;
  for (std::size_t b = 0; b < blocks; ++b)
    block_ratios.push_back(ratio(ordered_sum(parts.subspan(b * points, points)),
                                 ordered_sum(wholes.subspan(b * points, points))));
  found.standard_error = deviation_of(block_ratios) / std::sqrt(static_cast<double>(blocks));
  return found;
}

std::vector<double> effects(std::span<const double> values, std::span<const std::vector<double>> inputs) {
  std::vector<double> found(inputs.size(), 0.0);
  std::vector<std::size_t> varying;
  for (std::size_t k = 0; k < inputs.size(); ++k) {
    assert(inputs[k].size() == values.size());
    if (deviation_of(inputs[k]) > 0.0) varying.push_back(k);
  }
  if (varying.empty() || values.size() < 2) return found;
  const auto rows = static_cast<Eigen::Index>(values.size());
  Eigen::MatrixXd columns(rows, static_cast<Eigen::Index>(varying.size()));
  Eigen::VectorXd answer(rows);
  const double mean_value = mean_of(values);
  for (Eigen::Index i = 0; i < rows; ++i) answer(i) = values[static_cast<std::size_t>(i)] - mean_value;
  for (std::size_t c = 0; c < varying.size(); ++c) {
    const std::vector<double>& input = inputs[varying[c]];
    const double mean = mean_of(input);
    const double deviation = deviation_of(input);
    for (Eigen::Index i = 0; i < rows; ++i)
      columns(i, static_cast<Eigen::Index>(c)) = (input[static_cast<std::size_t>(i)] - mean) / deviation;
  }
  // The least-norm solution shares the effect between inputs that vary together.
  const Eigen::VectorXd solution = columns.completeOrthogonalDecomposition().solve(answer);
  for (std::size_t c = 0; c < varying.size(); ++c) found[varying[c]] = solution(static_cast<Eigen::Index>(c));
  return found;
}

}  // namespace halflight::energy
