#include "energy/power_curve.hpp"

#include <algorithm>

namespace halflight::energy {

LightFraction light_given(const domain::Driver& driver, LightFraction asked) {
  if (asked.value() <= 0.0) return LightFraction(0.0);
  if (!driver.dims) return LightFraction(1.0);
  return LightFraction(std::clamp(asked.value(), driver.minimum_light, 1.0));
}

PowerFraction power_fraction(const domain::Driver& driver, LightFraction asked) {
  const double light = light_given(driver, asked).value();
  if (light <= 0.0) return PowerFraction(0.0);
  return PowerFraction(driver.power_at_zero + (1.0 - driver.power_at_zero) * light);
}

PowerCurve PowerCurve::of(const domain::Driver& driver, Watts rated, int channels) {
  PowerCurve curve;
  curve.rated_w = rated.value();
  curve.standby_w = driver.standby_w * channels;
  curve.minimum_light = driver.dims ? driver.minimum_light : 1.0;
  curve.power_at_zero = driver.power_at_zero;
  return curve;
}

double on_w(std::span<const PowerCurve> curves, double light) {
  double sum = 0.0;
  for (const PowerCurve& curve : curves) sum += curve.on_w(light);
  return sum;
}

double standby_w(std::span<const PowerCurve> curves) {
  double sum = 0.0;
  for (const PowerCurve& curve : curves) sum += curve.standby_w;
  return sum;
}

}  // namespace halflight::energy
