#pragma once
#include "domain/project.hpp"
#include "energy/weighing.hpp"
#include "results/study.hpp"
#include "sim/space_results.hpp"

#include <span>
#include <string>
#include <vector>

// The lighting as found held against what was measured of it, and what to measure next
// (docs/methods/uncertainty.md).

namespace halflight::sim {

/// The studied spaces and their runs, in one order.
struct StudiedSpaces {
  std::span<const SpaceModel> models;
  std::span<const SpaceRuns> runs;
};

/// Readings of spaces that have not been studied are left out and say so.
struct HeldAgainstReadings {
  /// Of each replicate, mean 1; empty where no reading counts.
  std::vector<double> weights;
  std::vector<results::ReadingCheck> readings;
  double effective_replicates = 0.0;
  double widened = 1.0;  ///< energy::Weights::widened
  /// The readings that count, as wide as they count.
  std::vector<energy::Measured> measured;
};
HeldAgainstReadings hold_against_readings(const domain::Project& project, const StudiedSpaces& spaces,
                                          int scrambles);

/// Which two weeks of logging the energy of a space as found would narrow the interval of the building's
/// saving most, beside what has been `measured` already: the best weeks of up to three spaces, best first,
/// that narrow it by a twentieth at least and by more than chance would. `saving`: of each replicate.
std::vector<results::Logging> logging_that_tells(const StudiedSpaces& spaces, std::span<const double> saving,
                                                 std::span<const energy::Measured> measured);

}  // namespace halflight::sim
