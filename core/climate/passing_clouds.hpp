#pragma once
#include "base/time_axis.hpp"

#include <cstdint>
#include <span>
#include <vector>

namespace halflight::climate {

/// Which clouds pass: draws are functions of these two, of the day and of the step.
struct CloudDraw {
  std::uint32_t seed = 1;
  std::uint32_t weather_year = 0;
};

/// How long bright and dark last: the time in which the correlation of the sky's brightness falls to 1/e.
/// Follows from how the spread of Skartveit and Olseth (short_term_index.hpp) falls with the length of steps.
inline constexpr double kCloudMemory_s = 720.0;

/// The middle of one step of a weather year without passing clouds.
struct SmoothStep {
  double cos_zenith = 0.0;       ///< not above 0 with the sun down
  double outside_w_m2 = 0.0;     ///< normal, outside the air
  double clear_beam_w_m2 = 0.0;  ///< shape of the clear beam, normal
  double beam_w_m2 = 0.0;        ///< normal
  double diffuse_w_m2 = 0.0;     ///< horizontal
};

/// What passing clouds make of a step's smooth beam and diffuse light.
struct CloudFactors {
  double beam = 1.0;
  double diffuse = 1.0;
};

/// Factors for every step of a year; `steps`: those of 365 days, 24 hours each, of `step_s`, which divides
/// 3,600 and is at most `kIndexStep`. Beam and diffuse light of each hour keep their sums, the beam stays
/// below that of the clearest hour within fifteen days, and the global light of the steps is spread as
/// Skartveit and Olseth found. Hours with the sun lower than 5 deg stay smooth. docs/methods/weather.md.
std::vector<CloudFactors> passing_clouds(std::span<const SmoothStep> steps, Seconds step_s, CloudDraw draw);

}  // namespace halflight::climate
