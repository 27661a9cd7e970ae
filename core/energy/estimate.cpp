#include "energy/estimate.hpp"

#include "base/quantile.hpp"
#include "base/sums.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>
#include <vector>

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

/// Years as they count: all alike where no weights are given.
class Years {
 public:
  Years(std::size_t number, std::span<const double> weights) : number_(number), weights_(weights) {
    assert(weights.empty() || weights.size() == number);
  }
  [[nodiscard]] double weight(std::size_t i) const { return weights_.empty() ? 1.0 : weights_[i]; }
  [[nodiscard]] double weight(std::size_t first, std::size_t count) const {
    if (weights_.empty()) return static_cast<double>(count);
    return ordered_sum(weights_.subspan(first, count));
  }
  [[nodiscard]] double sum(std::span<const double> values, std::size_t first, std::size_t count) const {
    if (weights_.empty()) return ordered_sum(values.subspan(first, count));
    CompensatedSum sum;
    for (std::size_t i = first; i < first + count; ++i) sum.add(weights_[i] * values[i]);
    return sum.value();
  }
  [[nodiscard]] double mean(std::span<const double> values) const {
    return sum(values, 0, number_) / weight(0, number_);
  }

  /// 5th and 95th percentile.
  [[nodiscard]] std::pair<double, double> interval(std::span<const double> values) const {
    if (weights_.empty()) {
      std::vector<double> sorted(values.begin(), values.end());
      std::sort(sorted.begin(), sorted.end());
      return {sorted_quantile(sorted, 0.05), sorted_quantile(sorted, 0.95)};
    }
    // Each value stands in the middle of its weight; the first stands for 0 and the last for 1, which gives
    // type 7 for equal weights.
    std::vector<std::size_t> order(number_);
    std::iota(order.begin(), order.end(), 0U);
    std::erase_if(order, [&](std::size_t i) { return weights_[i] <= 0.0; });
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
    std::vector<double> place;
    double below = 0.0;
    for (const std::size_t i : order) {
      place.push_back(below + 0.5 * weights_[i]);
      below += weights_[i];
    }
    const auto at = [&](double q) {
      const double wanted = place.front() + q * (place.back() - place.front());
      const auto above =
          static_cast<std::size_t>(std::lower_bound(place.begin(), place.end(), wanted) - place.begin());
      if (above == 0) return values[order.front()];
      if (above == order.size()) return values[order.back()];
      const double part = (wanted - place[above - 1]) / (place[above] - place[above - 1]);
      const double low = values[order[above - 1]];
      return low + part * (values[order[above]] - low);
    };
    return {at(0.05), at(0.95)};
  }

  /// Standard error of a figure of all years, from that of each of `blocks` independent parts of them.
  template <class Figure>
  [[nodiscard]] double error_between(std::size_t blocks, Figure figure) const {
    const std::size_t count = number_ / blocks;
    std::vector<double> weights;
    std::vector<double> figures;
    for (std::size_t b = 0; b < blocks; ++b) {
      weights.push_back(weight(b * count, count));
      figures.push_back(figure(b * count, count));
    }
    const double middle = Years(blocks, weights).mean(figures);
    CompensatedSum squares;
    for (std::size_t b = 0; b < blocks; ++b) {
      const double off = weights[b] * (figures[b] - middle);
      squares.add(off * off);
    }
    const auto parts = static_cast<double>(blocks);
    return std::sqrt(squares.value() * parts / (parts - 1.0)) / ordered_sum(weights);
  }

 private:
  std::size_t number_;
  std::span<const double> weights_;
};

}  // namespace

results::Estimate estimate(std::span<const double> values, int scrambles, std::span<const double> weights) {
  if (values.empty()) return {};
  const Years years(values.size(), weights);
  const auto blocks = static_cast<std::size_t>(std::max(scrambles, 1));
  assert(values.size() % blocks == 0);
  results::Estimate found;
  found.mean = years.mean(values);
  std::tie(found.low, found.high) = years.interval(values);
  // One scramble says nothing about others: its values count as independent.
  const std::size_t independent = blocks > 1 ? blocks : values.size();
  if (independent > 1)
    found.standard_error = years.error_between(independent, [&](std::size_t first, std::size_t count) {
      const double weight = years.weight(first, count);
      return weight > 0.0 ? years.sum(values, first, count) / weight : 0.0;
    });
  return found;
}

results::Estimate ratio_estimate(std::span<const double> parts, std::span<const double> wholes, int scrambles,
                                 std::span<const double> weights) {
  assert(parts.size() == wholes.size());
  if (parts.empty()) return {};
  const auto ratio = [](double part, double whole) { return whole != 0.0 ? part / whole : 0.0; };
  std::vector<double> ratios(parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i) ratios[i] = ratio(parts[i], wholes[i]);
  const Years years(parts.size(), weights);
  results::Estimate found = estimate(ratios, scrambles, weights);
  found.mean = ratio(years.sum(parts, 0, parts.size()), years.sum(wholes, 0, wholes.size()));
  const auto blocks = static_cast<std::size_t>(std::max(scrambles, 1));
  if (blocks > 1)
    found.standard_error = years.error_between(blocks, [&](std::size_t first, std::size_t count) {
      return ratio(years.sum(parts, first, count), years.sum(wholes, first, count));
    });
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

namespace {

/// Variance of a figure between the groups that an input names, of that within them, and by chance alone.
struct Groups {
  double between = 0.0;
  double by_chance = 0.0;
};
Groups between_groups(std::span<const double> values, std::span<const double> names) {
  std::map<double, std::vector<double>> groups;
  for (std::size_t i = 0; i < values.size(); ++i) groups[names[i]].push_back(values[i]);
  const double whole = mean_of(values);
  CompensatedSum between;
  CompensatedSum within;
  for (const auto& [name, members] : groups) {
    const double mean = mean_of(members);
    between.add(static_cast<double>(members.size()) * (mean - whole) * (mean - whole));
    for (const double v : members) within.add((v - mean) * (v - mean));
  }
  const auto free = static_cast<double>(values.size()) - static_cast<double>(groups.size());
  const auto last = static_cast<double>(values.size() - 1);
  if (free <= 0.0) return {};
  return {between.value() / last, within.value() / free * static_cast<double>(groups.size() - 1) / last};
}

}  // namespace

Sensitivity sensitivity(std::span<const double> values, std::span<const VariedInput> inputs) {
  Sensitivity found;
  std::vector<std::vector<double>> ordered;
  for (const VariedInput& input : inputs) {
    ordered.emplace_back(input.values.begin(), input.values.end());
    if (input.names) ordered.back().assign(values.size(), 0.0);
  }
  found.effect = effects(values, ordered);
  found.share.assign(inputs.size(), 0.0);
  const double variance = deviation_of(values) * deviation_of(values);
  if (variance <= 0.0) return found;
  std::vector<double> left(values.begin(), values.end());
  std::size_t varying = 0;
  for (std::size_t k = 0; k < inputs.size(); ++k) {
    const double deviation = deviation_of(ordered[k]);
    if (deviation <= 0.0) continue;
    ++varying;
    const double mean = mean_of(ordered[k]);
    for (std::size_t i = 0; i < left.size(); ++i)
      left[i] -= found.effect[k] * (ordered[k][i] - mean) / deviation;
  }
  const auto last = static_cast<double>(values.size() - 1);
  const double free = last - static_cast<double>(varying);
  const double noise = free > 0.0 ? deviation_of(left) * deviation_of(left) * last / free / last : 0.0;
  for (std::size_t k = 0; k < inputs.size(); ++k) {
    double own = std::max(0.0, found.effect[k] * found.effect[k] - noise);
    if (inputs[k].names) {
      const Groups groups = between_groups(left, inputs[k].values);
      own = std::max(0.0, groups.between - groups.by_chance);
      found.effect[k] = std::sqrt(own);
    }
    found.share[k] = deviation_of(inputs[k].values) > 0.0 ? own / variance : 0.0;
  }
  found.rest = std::max(0.0, 1.0 - ordered_sum(found.share));
  return found;
}

}  // namespace halflight::energy
