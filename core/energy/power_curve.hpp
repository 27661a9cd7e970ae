#pragma once
#include "base/units.hpp"
#include "domain/luminaire.hpp"

#include <span>

namespace halflight::energy {

/// What a driver can give when `asked`: 0 stays 0, a driver that does not dim gives 1, and a dimming one
/// never gives less than its minimum while it is on.
LightFraction light_given(const domain::Driver& driver, LightFraction asked);

/// Input power over rated input power while on: a + (1 - a) f for the light f that the driver gives; 0 when
/// off (standby is counted apart). Fields of one driver: `power_at_zero` is a. Common engineering form, not a
/// standard.
PowerFraction power_fraction(const domain::Driver& driver, LightFraction asked);

/// Everything of one driver kind in a group: power against the light asked for, in watts.
struct PowerCurve {
  double rated_w = 0.0;
  double standby_w = 0.0;      ///< of all its drivers while off
  double minimum_light = 0.0;  ///< 1 for drivers that do not dim
  double power_at_zero = 0.0;
  /// `channels` drivers of one kind that draw `rated_w` together at full output.
  static PowerCurve of(const domain::Driver& driver, Watts rated, int channels);
  /// While on; 0 when `light` is 0.
  [[nodiscard]] double on_w(double light) const {
    if (light <= 0.0) return 0.0;
    const double given = light < minimum_light ? minimum_light : light;
    return rated_w * (power_at_zero + (1.0 - power_at_zero) * given);
  }
};

double on_w(std::span<const PowerCurve> curves, double light);
double standby_w(std::span<const PowerCurve> curves);

}  // namespace halflight::energy
