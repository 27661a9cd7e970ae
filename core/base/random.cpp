#include "base/random.hpp"

#include <cmath>

#include <Random123/philox.h>
#include <xxhash.h>

namespace halflight {

std::array<std::uint32_t, 4> random_words(RandomKey key, RandomCounter counter) {
  r123::Philox4x32 philox;
  const r123::Philox4x32::ctr_type c = {{counter.replicate, counter.day, counter.decision, counter.slot}};
  const r123::Philox4x32::key_type k = {{key.seed, key.subject}};
  const auto words = philox(c, k);
  return {words[0], words[1], words[2], words[3]};
}

namespace {
// The half-step offset keeps the value off both ends.
double open_unit(std::uint32_t word) { return (static_cast<double>(word) + 0.5) * 0x1p-32; }
}  // namespace

double RandomSeries::at(std::uint32_t day, std::uint32_t slot) {
  if (!drawn_ || day != counter_.day || slot / 4 != counter_.slot) {
    drawn_ = true;
    counter_.day = day;
    counter_.slot = slot / 4;
    words_ = random_words(key_, counter_);
  }
  return open_unit(words_[slot % 4]);
}

double random_uniform(RandomKey key, RandomCounter counter) {
  return open_unit(random_words(key, counter)[0]);
}

std::array<double, 2> random_uniform_pair(RandomKey key, RandomCounter counter) {
  const auto words = random_words(key, counter);
  return {open_unit(words[0]), open_unit(words[1])};
}

double random_normal(RandomKey key, RandomCounter counter) {
  return inverse_normal(random_uniform(key, counter));
}

double inverse_normal(double p) {
  static constexpr double a[] = {-3.969683028665376e+01, 2.209460984245205e+02,  -2.759285104469687e+02,
                                 1.383577518672690e+02,  -3.066479806614716e+01, 2.506628277459239e+00};
  static constexpr double b[] = {-5.447609879822406e+01, 1.615858368580409e+02, -1.556989798598866e+02,
                                 6.680131188771972e+01, -1.328068155288572e+01};
  static constexpr double c[] = {-7.784894002430293e-03, -3.223964580411365e-01, -2.400758277161838e+00,
                                 -2.549732539343734e+00, 4.374664141464968e+00,  2.938163982698783e+00};
  static constexpr double d[] = {7.784695709041462e-03, 3.224671290700398e-01, 2.445134137142996e+00,
                                 3.754408661907416e+00};
  constexpr double tail = 0.02425;
  const auto in_tail = [&](double q) {
    return (((((c[0] * q + c[1]) * q + c[2]) * q + c[3]) * q + c[4]) * q + c[5]) /
           ((((d[0] * q + d[1]) * q + d[2]) * q + d[3]) * q + 1.0);
  };
  double x = 0.0;
  if (p < tail) {
    x = in_tail(std::sqrt(-2.0 * std::log(p)));
  } else if (p > 1.0 - tail) {
    x = -in_tail(std::sqrt(-2.0 * std::log1p(-p)));
  } else {
    const double q = p - 0.5;
    const double r = q * q;
    x = (((((a[0] * r + a[1]) * r + a[2]) * r + a[3]) * r + a[4]) * r + a[5]) * q /
        (((((b[0] * r + b[1]) * r + b[2]) * r + b[3]) * r + b[4]) * r + 1.0);
  }
  const double e = 0.5 * std::erfc(-x / std::sqrt(2.0)) - p;
  const double u = e * std::sqrt(2.0 * 3.14159265358979323846) * std::exp(x * x / 2.0);
  return x - u / (1.0 + x * u / 2.0);
}

std::uint32_t hash_name(std::string_view name) { return XXH32(name.data(), name.size(), 0); }

namespace {

// Degree s, coefficients a and initial direction numbers m of the first sixteen dimensions
// (Joe and Kuo 2008, file new-joe-kuo-6.21201, rows 2 to 16; dimension 0 is the van der Corput sequence).
struct Direction {
  std::uint32_t s;
  std::uint32_t a;
  std::array<std::uint32_t, 6> m;
};
constexpr std::array<Direction, 15> kDirections = {{{1, 0, {1}},
                                                    {2, 1, {1, 3}},
                                                    {3, 1, {1, 3, 1}},
                                                    {3, 2, {1, 1, 1}},
                                                    {4, 1, {1, 1, 3, 3}},
                                                    {4, 4, {1, 3, 5, 13}},
                                                    {5, 2, {1, 1, 5, 5, 17}},
                                                    {5, 4, {1, 1, 5, 5, 5}},
                                                    {5, 7, {1, 1, 7, 11, 19}},
                                                    {5, 11, {1, 1, 5, 1, 1}},
                                                    {5, 13, {1, 1, 1, 3, 11}},
                                                    {5, 14, {1, 3, 5, 5, 31}},
                                                    {6, 1, {1, 3, 3, 9, 7, 49}},
                                                    {6, 13, {1, 1, 1, 15, 21, 21}},
                                                    {6, 16, {1, 3, 1, 13, 27, 49}}}};

using DirectionTable = std::array<std::array<std::uint32_t, 32>, 16>;

DirectionTable make_directions() {
  DirectionTable v{};
  for (std::uint32_t i = 0; i < 32; ++i) v[0][i] = 1U << (31 - i);
  for (std::size_t d = 0; d < kDirections.size(); ++d) {
    const Direction& dir = kDirections[d];
    auto& row = v[d + 1];
    for (std::uint32_t i = 0; i < dir.s; ++i) row[i] = dir.m[i] << (31 - i);
    for (std::uint32_t i = dir.s; i < 32; ++i) {
      row[i] = row[i - dir.s] ^ (row[i - dir.s] >> dir.s);
      for (std::uint32_t k = 1; k < dir.s; ++k)
        if ((dir.a >> (dir.s - 1 - k)) & 1U) row[i] ^= row[i - k];
    }
  }
  return v;
}

std::uint32_t reverse_bits(std::uint32_t x) {
  x = ((x >> 1) & 0x55555555U) | ((x & 0x55555555U) << 1);
  x = ((x >> 2) & 0x33333333U) | ((x & 0x33333333U) << 2);
  x = ((x >> 4) & 0x0f0f0f0fU) | ((x & 0x0f0f0f0fU) << 4);
  return __builtin_bswap32(x);
}

// The Laine-Karras permutation, whose effect on reversed bits is a nested uniform scramble.
std::uint32_t nested_uniform_scramble(std::uint32_t x, std::uint32_t seed) {
  x = reverse_bits(x);
  x += seed;
  x ^= x * 0x6c50b47cU;
  x ^= x * 0xb82f1e52U;
  x ^= x * 0xc7afe638U;
  x ^= x * 0x8d22f6e6U;
  return reverse_bits(x);
}

std::uint32_t mix(std::uint32_t a, std::uint32_t b) {
  const std::uint64_t pair = (static_cast<std::uint64_t>(a) << 32) | b;
  return XXH32(&pair, sizeof pair, 0x5eedU);
}

}  // namespace

double sobol(std::uint32_t index, std::uint32_t dimension, std::uint32_t scramble) {
  static const DirectionTable directions = make_directions();
  const std::uint32_t block = dimension / 16;
  // A shuffle of the index per block of dimensions decorrelates blocks that reuse the same directions.
  std::uint32_t i = block == 0 ? index : nested_uniform_scramble(index, mix(scramble, 0x10000U + block));
  std::uint32_t x = 0;
  const auto& row = directions[dimension % 16];
  for (std::size_t bit = 0; i != 0; i >>= 1, ++bit)
    if (i & 1U) x ^= row[bit];
  return static_cast<double>(nested_uniform_scramble(x, mix(scramble, dimension))) * 0x1p-32;
}

}  // namespace halflight
