#pragma once
#include <array>
#include <cstdint>
#include <string>

namespace halflight::report {

struct Colour {
  std::uint8_t red = 0;
  std::uint8_t green = 0;
  std::uint8_t blue = 0;
  friend bool operator==(const Colour&, const Colour&) = default;
};

/// CIE 1976 lightness L*, 0..100, of an sRGB colour (CIE 15, IEC 61966-2-1; white D65).
double lightness(Colour colour);
std::string hex(Colour colour);

/// The one scale of the project, from night to lamp light, `t` 0..1. Seven colours; each stands where its
/// lightness puts it, so that lightness rises in a straight line over the whole scale and the order can be
/// read without colour.
Colour light_colour(double t);

/// Place of an illuminance on a scale that is logarithmic from `low_lx` to `high_lx`, 0..1.
double light_position(double lx, double low_lx, double high_lx);

/// The scale in 256 steps, for indexed pictures.
std::array<Colour, 256> light_palette();

}  // namespace halflight::report
