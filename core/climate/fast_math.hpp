#pragma once
#include <bit>
#include <cmath>
#include <cstdint>

namespace halflight::climate {

// Single-precision functions without branches, so that loops over sky patches become vector instructions, and
// without the C library, so that they give the same bits everywhere. Bounds are tested over every range used.

/// e^x with a relative error below 3e-7; x is clamped to -87..88.
inline float fast_exp(float x) {
  constexpr float kLog2e = 1.44269504f;
  constexpr float kLn2High = 0.693359375f;  // exact in few bits, so that n * kLn2High is exact
  constexpr float kLn2Low = -2.12194440e-4f;
  constexpr float kRound = 12'582'912.0f;  // 1.5 * 2^23: adding and subtracting it rounds to an integer
  x = x < -87.0f ? -87.0f : x;
  x = x > 88.0f ? 88.0f : x;
  const float n = (x * kLog2e + kRound) - kRound;
  const float r = (x - n * kLn2High) - n * kLn2Low;
  // Taylor's series to the sixth power: the remainder on |r| <= ln(2)/2 is 1.2e-7.
  const float p =
      1.0f + r * (1.0f + r * (0.5f + r * (1.0f / 6 + r * (1.0f / 24 + r * (1.0f / 120 + r * (1.0f / 720))))));
  const auto exponent = static_cast<std::int32_t>(n);
  return p * std::bit_cast<float>((exponent + 127) << 23);
}

/// Arc cosine with an absolute error below 5e-7 rad for |x| <= 1; x is clamped to that.
/// M. Abramowitz, I. Stegun, "Handbook of mathematical functions" (1964), 4.4.46.
inline float fast_acos(float x) {
  float y = x < 0.0f ? -x : x;
  y = y > 1.0f ? 1.0f : y;
  const float p =
      1.5707963050f +
      y * (-0.2145988016f +
           y * (0.0889789874f +
                y * (-0.0501743046f +
                     y * (0.0308918810f + y * (-0.0170881256f + y * (0.0066700901f + y * -0.0012624911f))))));
  const float a = std::sqrt(1.0f - y) * p;
  return x < 0.0f ? 3.14159265f - a : a;
}

}  // namespace halflight::climate
