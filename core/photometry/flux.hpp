#pragma once
#include "domain/intensity_distribution.hpp"

#include <optional>

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

/// Full angle in degrees, in the vertical plane of `plane_deg` and its opposite (type C) or in the table's
/// own plane at 0 of the other angle (types A and B: `plane_deg` 0 is V = 0, anything else H = 0), between
/// the outermost directions of the hemisphere of the plane's largest intensity that still have `share` of it:
/// 0.5 for the beam, 0.1 for the field. None for a dark plane.
std::optional<double> beam_angle_deg(const domain::IntensityDistribution& distribution, double plane_deg,
                                     double share);

/// Intensity in cd in a plane through the luminaire, `angle_deg` from nadir (type C; positive towards
/// `plane_deg`, negative towards the opposite plane) or from the aim (types A and B; along H for `plane_deg`
/// 0, else along V).
double plane_cd(const domain::IntensityDistribution& distribution, double plane_deg, double angle_deg);

}  // namespace halflight::photometry
