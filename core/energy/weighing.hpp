#pragma once
#include <cstddef>
#include <span>
#include <vector>

// Simulated years held against what was measured: years that fit count for more (importance weighting of
// draws from the stated inputs; likelihood of independent normal errors). docs/methods/uncertainty.md.

namespace halflight::energy {

/// One measured figure and what each simulated year gives for it.
struct Measured {
  std::vector<double> modelled;
  double value = 0.0;
  double deviation = 0.0;  ///< standard deviation of a year's figure against the measured one; above 0
};

struct Weights {
  std::vector<double> of_year;  ///< mean 1
  /// Number of equally weighted years that would tell as much: (sum w)^2 / sum w^2 (L. Kish, "Survey
  /// Sampling", 1965).
  double effective = 0.0;
  /// Factor on all deviations, chosen so that `effective` is `least_effective` at least; 1: as stated. What
  /// needs more lies outside what the inputs can give.
  double widened = 1.0;
};

/// All 1 without anything measured.
Weights weigh(std::span<const Measured> measured, std::size_t years, double least_effective);

/// Share by which the standard deviation of `target` would shrink on average if `figure`, with the error
/// `deviation`, were measured beside what is `known`: 1 - sqrt(1 - r^2 / (1 + deviation^2 / var figure)),
/// exact for joint normal figures. r^2 is the squared correlation over the years, variances and correlation
/// those that remain once what is known has been measured; adjusted for the number of years. All columns are
/// of the same years, each of which counts as much.
double narrowing(std::span<const double> target, std::span<const double> figure, double deviation,
                 std::span<const Measured> known);

/// What the best of `figures` independent ones that tell nothing exceeds by chance once in twenty times,
/// among so many years: years times the largest of n squared correlations is the largest of n chi-squared
/// figures of one degree of freedom, 2 ln n - ln ln n - ln pi + 2 g with g of Gumbel's distribution (extremes
/// of the normal distribution: H. Cramer, "Mathematical Methods of Statistics", 1946, section 28.6).
double narrowing_by_chance(std::size_t figures, std::size_t years);

}  // namespace halflight::energy
