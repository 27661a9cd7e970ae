#pragma once
#include <compare>

namespace halflight {

/// One number with one unit. Construction is explicit and `.value()` is the only way out, so that a
/// watt cannot be passed for a lux. Used at module boundaries; inside a function and in hot arrays
/// plain doubles carry the unit in their name (`_lx`, `_w`, `_m`, `_s`).
template <class Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double value) noexcept : value_(value) {}
  [[nodiscard]] constexpr double value() const noexcept { return value_; }
  constexpr auto operator<=>(const Quantity&) const = default;
  friend constexpr Quantity operator+(Quantity a, Quantity b) noexcept {
    return Quantity(a.value_ + b.value_);
  }
  friend constexpr Quantity operator-(Quantity a, Quantity b) noexcept {
    return Quantity(a.value_ - b.value_);
  }
  friend constexpr Quantity operator*(double k, Quantity a) noexcept { return Quantity(k * a.value_); }
  friend constexpr double operator/(Quantity a, Quantity b) noexcept { return a.value_ / b.value_; }

 private:
  double value_ = 0.0;
};

using Lux = Quantity<struct LuxTag>;
using Watts = Quantity<struct WattsTag>;
using Hours = Quantity<struct HoursTag>;
using WattHours = Quantity<struct WattHoursTag>;

constexpr WattHours operator*(Watts power, Hours time) { return WattHours(power.value() * time.value()); }

// The three dimensionless numbers that look alike and must never mix.

/// What a controller sends, 0..1 of the signal's range. A dimming curve maps it to light.
using Command = Quantity<struct CommandTag>;
/// Luminous flux relative to full output, 0..1. A *level* of the document is the fraction of trimmed full
/// output.
using LightFraction = Quantity<struct LightFractionTag>;
/// Input power relative to rated input power, 0..1. Not proportional to light: see energy/power_curve.hpp.
using PowerFraction = Quantity<struct PowerFractionTag>;

inline constexpr double kPi = 3.14159265358979323846;
inline constexpr double kRadPerDeg = kPi / 180.0;
inline constexpr double kDegPerRad = 180.0 / kPi;
inline constexpr double kSecondsPerHour = 3600.0;
/// Lux in one footcandle: one lumen per square foot, 1 / 0.3048^2.
inline constexpr double kLuxPerFootcandle = 10.763910416709722;
inline constexpr double kMetresPerFoot = 0.3048;

}  // namespace halflight
