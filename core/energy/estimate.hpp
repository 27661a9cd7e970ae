#pragma once
#include "results/study.hpp"

#include <span>
#include <vector>

namespace halflight::energy {

/// Mean, 5th and 95th percentile and the mean's standard error of replicates. `values` run scramble by
/// scramble; the number of scrambles must divide their number. Percentiles interpolate linearly between order
/// statistics (Hyndman and Fan's type 7). The standard error is the standard deviation of the scrambles'
/// means over the root of their number, because points within one scramble are not independent; with one
/// scramble it is that of independent values. `weights`: how much each value counts (weighing.hpp), 0 or more
/// and not all 0; none: all alike. Percentiles are then those between the middles of the weights, and the
/// scrambles count by their weight.
results::Estimate estimate(std::span<const double> values, int scrambles,
                           std::span<const double> weights = {});

/// Estimate of sum(parts) / sum(wholes): what the printed totals give when they are divided. A mean of the
/// replicates' own ratios would contradict them wherever replicates differ in size. Percentiles are those of
/// the replicates' ratios; the standard error comes from the scrambles' ratios. A whole of 0 gives the ratio
/// 0.
results::Estimate ratio_estimate(std::span<const double> parts, std::span<const double> wholes, int scrambles,
                                 std::span<const double> weights = {});

/// What varied inputs do to a figure, from the replicates themselves.
struct Sensitivity {
  /// What one standard deviation of each input moves, signed, in the unit of the figure.
  std::vector<double> effect;
  /// Of the figure's variance, what each input alone accounts for, 0..1: squared standardised regression
  /// coefficients (A. Saltelli and others, "Global Sensitivity Analysis: The Primer", 2008, section 1.2.5),
  /// and the variance between groups for names without an order, less what chance alone gives. Inputs must be
  /// independent.
  std::vector<double> share;
  double rest = 1.0;  ///< what is left of the variance
};
/// An input by replicate. `names`: its values name alternatives and have no order.
struct VariedInput {
  std::span<const double> values;
  bool names = false;
};
Sensitivity sensitivity(std::span<const double> values, std::span<const VariedInput> inputs);

/// What one standard deviation of each input moves: coefficients of the linear regression of `values` on the
/// standardised inputs, in the unit of `values`, signed. `inputs[k][i]` is input k in replicate i. An input
/// that does not vary has no effect; inputs that vary together share theirs.
std::vector<double> effects(std::span<const double> values, std::span<const std::vector<double>> inputs);

}  // namespace halflight::energy
