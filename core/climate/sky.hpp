#pragma once
#include "climate/sky_division.hpp"
#include "geometry/vector.hpp"

#include <span>

namespace halflight::climate {

// How bright the sky is. Equations, limits and checks: docs/methods/sky.md.

/// Relative optical air mass (F. Kasten, A. T. Young, Applied Optics 28, 1989, 4735). `zenith_rad` is clamped
/// to 90 deg, where it is 38.
double air_mass(double zenith_rad);

/// Sky clearness and brightness of Perez et al. (1990, 1993), kept to the range that their fits cover:
/// clearness 1..12, brightness 0.01..0.6.
struct SkyCondition {
  double clearness = 1.0;   ///< epsilon: 1 overcast, above 6.2 clear
  double brightness = 0.0;  ///< Delta
  int bin = 1;              ///< 1..8 by clearness
};
/// `diffuse_w_m2` horizontal and above 0, `beam_w_m2` normal, sun's zenith angle, irradiance outside the air.
SkyCondition sky_condition(double diffuse_w_m2, double beam_w_m2, double zenith_rad,
                           double extraterrestrial_w_m2);

/// Luminous efficacies, lm/W: R. Perez, P. Ineichen, R. Seals, J. Michalsky, R. Stewart, Solar Energy 44(5),
/// 1990, 271-289, eqs. 6 to 8 and table 4. Water in the air from the dew point.
struct LuminousEfficacy {
  double global = 0.0, diffuse = 0.0, beam = 0.0;
};
LuminousEfficacy luminous_efficacy(const SkyCondition& sky, double zenith_rad, double dew_point_c);

/// One sky: the shape of its luminance and how much light it gives. The relative luminance at the zenith
/// angle z and the angle g from the sun is, never below zero,
///   (1 + a exp(b / cos z)) (f + c exp(d g) + e cos^2 g),
/// or (1 + 2 cos z) / 3 for the traditional overcast sky.
struct SkyState {
  Vector3 sun{0.0, 0.0, 1.0};  ///< unit vector in the axes of the patches
  double a = 0.0, b = -1.0, c = 0.0, d = -1.0, e = 0.0, f = 1.0;
  bool traditional_overcast = false;
  double diffuse_horizontal_lx = 0.0;  ///< of the whole sky
  double beam_normal_lx = 0.0;         ///< of the sun
  [[nodiscard]] bool dark() const { return diffuse_horizontal_lx <= 0.0 && beam_normal_lx <= 0.0; }
};

/// CIE standard general sky, `type` 1 to 15, or 16 for the traditional overcast sky (ISO 15469:2004, CIE S
/// 011:2003).
SkyState cie_sky(int type, Vector3 sun, double diffuse_horizontal_lx, double beam_normal_lx = 0.0);

/// All-weather sky: R. Perez, R. Seals, J. Michalsky, Solar Energy 50(3), 1993, 235-245, erratum 51(5), 423,
/// with the efficacies of 1990. With the sun below the horizon the twilight is that of a sun on it.
SkyState all_weather_sky(Vector3 sun, double extraterrestrial_w_m2, double diffuse_w_m2, double beam_w_m2,
                         double dew_point_c);

/// Relative luminance in one direction (unit vector, z >= 0); exact, for checks and pictures.
double relative_luminance(const SkyState& sky, Vector3 direction);

/// Average luminance of every patch, cd/m2, scaled so that the patches times their cosine-weighted solid
/// angles sum to the sky's horizontal diffuse illuminance. Single precision: relative error of the shape
/// below 1e-5. `patch_cd_m2` must have `division.size()` elements; no memory is allocated. The sun's own
/// light is not in it.
void sky_luminance(const SkyDivision& division, const SkyState& sky, std::span<float> patch_cd_m2);

}  // namespace halflight::climate
