#pragma once
#include "geometry/vector.hpp"

#include <span>

namespace halflight::photometry {

/// Guth's position index of a source above the line of sight: 1 in it, larger where a source disturbs less.
/// `from_vertical_deg`: angle from upright of the plane that holds source and line of sight, 0..90;
/// `from_sight_deg`: between the two, 0..90. Fit by R. E. Levin, Journal of the IES 4(2), 1975 (from memory);
/// within 12 % of the table of CIE 117, which is about half a unit of UGR.
double position_index(double from_vertical_deg, double from_sight_deg);
/// The same for a place seen from an eye that looks along `sight` (unit, level). A source below the line of
/// sight is taken as if it stood as far above.
double position_index(Point3 eye, Vector3 sight, Point3 source);

/// A luminous part as the eye sees it.
struct GlareSource {
  double luminance_cd_m2 = 0.0;
  double solid_angle_sr = 0.0;
  double position_index = 1.0;
};
/// Unified glare rating (CIE 117:1995): 8 log10(0.25 / Lb sum(L^2 omega / p^2)), Lb the background luminance
/// in cd/m2, above 0. 0 where nothing glares or the formula gives less.
double unified_glare_rating(double background_cd_m2, std::span<const GlareSource> sources);

}  // namespace halflight::photometry
