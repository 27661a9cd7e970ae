#include "report/colour.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::report {
namespace {

constexpr std::array<Colour, 7> kStops = {{{0x15, 0x16, 0x3a},
                                           {0x2f, 0x2f, 0x66},
                                           {0x5b, 0x4a, 0x80},
                                           {0x95, 0x66, 0x8a},
                                           {0xcc, 0x8a, 0x78},
                                           {0xe9, 0xb8, 0x7a},
                                           {0xf9, 0xed, 0xc8}}};

double linear(std::uint8_t channel) {
  const double c = channel / 255.0;
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

std::uint8_t mix(std::uint8_t a, std::uint8_t b, double share) {
  return static_cast<std::uint8_t>(std::lround(a + share * (b - a)));
}

Colour mix(Colour a, Colour b, double share) {
  return {mix(a.red, b.red, share), mix(a.green, b.green, share), mix(a.blue, b.blue, share)};
}

}  // namespace

double lightness(Colour c) {
  const double y = 0.2126 * linear(c.red) + 0.7152 * linear(c.green) + 0.0722 * linear(c.blue);
  return y > 216.0 / 24389.0 ? 116.0 * std::cbrt(y) - 16.0 : y * 24389.0 / 27.0;
}

std::string hex(Colour c) {
  static constexpr char kDigits[] = "0123456789abcdef";
  std::string text = "#";
  for (const std::uint8_t channel : {c.red, c.green, c.blue}) {
    text += kDigits[channel >> 4U];
    text += kDigits[channel & 0xFU];
  }
  return text;
}

Colour light_colour(double t) {
  const double first = lightness(kStops.front());
  const double last = lightness(kStops.back());
  const double wanted = first + std::clamp(t, 0.0, 1.0) * (last - first);
  std::size_t i = 0;
  while (i + 2 < kStops.size() && lightness(kStops[i + 1]) < wanted) ++i;
  // Within a span lightness is not linear in sRGB either; find the share that gives it.
  double below = 0.0;
  double above = 1.0;
  for (int step = 0; step < 20; ++step) {
    const double middle = 0.5 * (below + above);
    (lightness(mix(kStops[i], kStops[i + 1], middle)) < wanted ? below : above) = middle;
  }
  return mix(kStops[i], kStops[i + 1], above);
}

double light_position(double lx, double low_lx, double high_lx) {
  if (!(lx > low_lx)) return 0.0;
  return std::min(1.0, std::log(lx / low_lx) / std::log(high_lx / low_lx));
}

std::array<Colour, 256> light_palette() {
  std::array<Colour, 256> palette;
  for (std::size_t i = 0; i < palette.size(); ++i) palette[i] = light_colour(static_cast<double>(i) / 255.0);
  return palette;
}

}  // namespace halflight::report
