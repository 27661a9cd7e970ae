#pragma once
#include "climate/sky.hpp"
#include "climate/sun.hpp"

#include <cmath>

namespace halflight::climate {

/// What the beam of a clear sky (normal) and an even sky (horizontal) would give at this sun, W/m2; nothing
/// with the sun down. The beam's transmittance 0.7^(m^0.678), m the air mass, is that of A. B. Meinel and M.
/// P. Meinel, "Applied solar energy" (1976). The course within an hour is taken from it, and what a beam can
/// be at most.
struct ClearShape {
  double beam = 0.0;
  double diffuse = 0.0;
};
inline ClearShape clear_shape(const SunInstant& sun) {
  if (sun.cos_zenith() <= 0.0) return {};
  const double outside = sun.extraterrestrial_w_m2();
  return {outside * std::pow(0.7, std::pow(air_mass(sun.zenith_rad()), 0.678)), outside * sun.cos_zenith()};
}

/// No air lets more of the beam through than this many times `ClearShape::beam` (own choice: at high sun a
/// Linke turbidity of about two, very clean and dry air).
inline constexpr double kClearestBeam = 1.15;

}  // namespace halflight::climate
