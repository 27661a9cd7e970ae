#pragma once
#include "domain/project.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace halflight::sim {

/// What is not known exactly about the building, one value a replicate. Causes that rooms share are drawn
/// once. Distributions, their sources and what each moves: docs/methods/uncertainty.md.
struct Draws {
  double hours_shift_s = 0.0;      ///< opening hours as really used: added at closing, taken off at opening
  double people_intensity = 1.0;   ///< of arrivals and presence
  double baseline_watts = 1.0;     ///< factor on luminaire watts as found
  double new_watts = 1.0;          ///< factor on the proposal's luminaire watts
  double reflectance_shift = 0.0;  ///< added to the mean reflectance
  double depreciation = 1.0;       ///< factor on the light loss factor
  double shade_raise = 0.6;        ///< chance a day that a drawn shade is raised again
  double passive_share = 0.25;     ///< of people who leave lights on
  double plug_watts = 1.0;         ///< factor on the watts of plugged-in devices
  double left_on_shift = 0.0;      ///< added to the share of them that is left on
  std::size_t weather_year = 0;
  std::uint32_t replicate = 0;
};

/// One uncertain input, for ranking: where it stands in the document and what it takes in each replicate.
struct UncertainInput {
  std::string path;   ///< JSON pointer
  std::string value;  ///< nominal, with unit and spread
  std::string source;
  std::vector<double> values;
  bool names = false;  ///< the values name alternatives and have no order
};

struct Uncertainty {
  std::vector<Draws> draws;  ///< scramble by scramble
  std::vector<UncertainInput> inputs;
};

/// Eight (or `scrambles`) independent scrambles of `points` low-discrepancy points.
/// `spread`: multiplies every standard deviation; 1 in a study, 2 to see intervals widen.
Uncertainty draw_uncertainty(const domain::Project& project, std::uint32_t seed, int scrambles, int points,
                             std::size_t weather_years, double spread = 1.0);

/// Standard deviation of the relative error of a figure by its source.
double watts_spread(domain::Source source);
/// Standard deviation of opening hours as used, seconds at each end of the day.
double hours_spread_s(domain::Source source);
/// Standard deviation of a reflectance.
double reflectance_spread(domain::Source source);
/// Relative standard deviation of a light loss factor; assumption.
inline constexpr double kLightLossSpread = 0.05;
/// Relative standard deviation of the light of luminaires as delivered against their photometric file; common
/// practice, no source.
inline constexpr double kPhotometrySpread = 0.05;
/// Relative standard deviation of what plugged-in devices draw, all together; assumption.
inline constexpr double kPlugWattsSpread = 0.15;
/// Standard deviation of the share of devices that is left on; assumption.
inline constexpr double kLeftOnSpread = 0.15;

}  // namespace halflight::sim
