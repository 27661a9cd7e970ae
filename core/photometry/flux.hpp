#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"

#include <optional>
#include <string>

namespace halflight::photometry {

/// Luminous flux in lm: the exact integral over solid angle of the same bilinear interpolant that
/// `intensity_cd` evaluates, so that direct light and flux can never disagree. Per cell of the table the
/// integral over the polar angle of (linear intensity) x sine is closed: [-I cos t]_a^b + slope (sin b - sin
/// a). (docs/methods/photometry.md)
double flux_lm(const domain::IntensityDistribution& distribution);
/// Flux below the horizontal plane through the luminaire, lm.
double downward_flux_lm(const domain::IntensityDistribution& distribution);

struct PeakIntensity {
  double candela = 0.0;
  double vertical_deg = 0.0;    ///< in the table's own angles
  double horizontal_deg = 0.0;  ///< the first of equals
};
/// Largest intensity; a bilinear table has it at one of its entries.
PeakIntensity peak_intensity(const domain::IntensityDistribution& distribution);

/// Spacing over mounting height in the vertical plane at `plane_deg` (0: along the length, 90: across) at
/// which two luminaires give, midway between them, the direct horizontal illuminance that one gives straight
/// below itself: 2 I(t) cos^3 t = I(0), spacing / height = 2 tan t (the first condition of the usual spacing
/// criterion). None for luminaires without light straight down or for angles of type A or B.
std::optional<double> spacing_to_height(const domain::IntensityDistribution& distribution, double plane_deg);

/// What `halflight photometry FILE` prints.
struct PhotometricSummary {
  domain::PhotometricType type = domain::PhotometricType::c;
  domain::Symmetry symmetry = domain::Symmetry::none;
  domain::LuminousOpening opening;
  double lumens = 0.0;                       ///< by integration
  std::optional<double> declared_lumens;     ///< of all lamps times ballast factor; none: absolute photometry
  std::optional<double> light_output_ratio;  ///< lumens / declared lumens
  double downward_fraction = 0.0;            ///< of `lumens`, 0..1
  double upward_fraction = 0.0;
  PeakIntensity peak;
  std::optional<double> spacing_along;   ///< spacing over height in the 0-degree plane
  std::optional<double> spacing_across;  ///< in the 90-degree plane
  double input_w = 0.0;
  std::optional<double> efficacy_lm_w;  ///< none when the watts are not stated
  Diagnostics warnings;                 ///< what looks suspicious
};
PhotometricSummary photometric_summary(const domain::IntensityDistribution& distribution,
                                       const std::string& file_name);
/// The summary as lines of text for a terminal.
std::string to_text(const PhotometricSummary& summary);

}  // namespace halflight::photometry
