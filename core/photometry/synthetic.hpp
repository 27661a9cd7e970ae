#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"

#include <map>
#include <span>
#include <string>
#include <string_view>

namespace halflight::photometry {

/// A distribution from a stated formula. Angles below: t from nadir, p the C-plane; I is relative and then
/// scaled so that `flux_lm` of the table equals `lumens`. docs/methods/photometry.md has each formula with
/// its parameters.
///
///   cosine_down       cos^exponent t below the horizontal
///   cosine_up         the same above it
///   two_plane_cosine  cos^n t with n from along_exponent in the 0-180 plane to across_exponent in the 90-270
///   plane batwing_across    peak near peak_deg across the length, cos^other_exponent along it batwing_along
///   the same with the planes exchanged downlight         cos^exponent t, fading to nothing over softness_deg
///   before cutoff_deg wall_wash         cos^exponent of the angle from an axis tilted aim_deg from nadir
///   towards the 90-degree plane bare_lamp         sine of the angle from the length axis; upwards it falls
///   to `upward` at the zenith
struct SyntheticSpec {
  std::string formula;
  std::map<std::string, double> parameters;  ///< what is left out takes the default of `synthetic_formulas`
  double lumens = 0.0;                       ///< > 0
  double input_w = 0.0;                      ///< >= 0
  domain::LuminousOpening opening;
};

struct SyntheticParameter {
  std::string_view name;
  double least;
  double most;
  double standard;  ///< taken when left out
};
struct SyntheticFormula {
  std::string_view name;
  std::string_view meaning;
  std::span<const SyntheticParameter> parameters;
};
/// Every formula with its parameters, their ranges and defaults.
std::span<const SyntheticFormula> synthetic_formulas();

/// Errors: unknown formula or parameter, a parameter out of its range, lumens, watts or opening that cannot
/// be. The diagnostic's `where` names the field ("parameters/exponent").
Result<domain::IntensityDistribution> synthesise(const SyntheticSpec& spec);

}  // namespace halflight::photometry
