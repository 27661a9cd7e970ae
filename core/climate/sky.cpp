#include "climate/sky.hpp"

#include "base/units.hpp"
#include "climate/fast_math.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

namespace halflight::climate {

namespace {

// Floor of the cosine of the zenith angle in b / cos z, as the gradation has no value at the horizon itself.
constexpr double kHorizonCosine = 0.01;

struct GeneralSky {
  double a, b, c, d, e;
};
// ISO 15469:2004, table 1.
constexpr std::array<GeneralSky, 15> kGeneralSkies = {{{4.0, -0.70, 0, -1.0, 0},
                                                       {4.0, -0.70, 2, -1.5, 0.15},
                                                       {1.1, -0.80, 0, -1.0, 0},
                                                       {1.1, -0.80, 2, -1.5, 0.15},
                                                       {0, -1.0, 0, -1.0, 0},
                                                       {0, -1.0, 2, -1.5, 0.15},
                                                       {0, -1.0, 5, -2.5, 0.30},
                                                       {0, -1.0, 10, -3.0, 0.45},
                                                       {-1.0, -0.55, 2, -1.5, 0.15},
                                                       {-1.0, -0.55, 5, -2.5, 0.30},
                                                       {-1.0, -0.55, 10, -3.0, 0.45},
                                                       {-1.0, -0.32, 10, -3.0, 0.45},
                                                       {-1.0, -0.32, 16, -3.0, 0.30},
                                                       {-1.0, -0.15, 16, -3.0, 0.30},
                                                       {-1.0, -0.15, 24, -2.8, 0.15}}};

constexpr std::array<double, 7> kClearnessLimits = {1.065, 1.230, 1.500, 1.950, 2.800, 4.500, 6.200};

using Four = std::array<double, 4>;

// Perez et al. 1993, table 1: per bin the four coefficients of a, b, c, d and e.
constexpr std::array<std::array<Four, 5>, 8> kAllWeather = {{
    {{{1.3525, -0.2576, -0.2690, -1.4366},
      {-0.7670, 0.0007, 1.2734, -0.1233},
      {2.8000, 0.6004, 1.2375, 1.0000},
      {1.8734, 0.6297, 0.9738, 0.2809},
      {0.0356, -0.1246, -0.5718, 0.9938}}},
    {{{-1.2219, -0.7730, 1.4148, 1.1016},
      {-0.2054, 0.0367, -3.9128, 0.9156},
      {6.9750, 0.1774, 6.4477, -0.1239},
      {-1.5798, -0.5081, -1.7812, 0.1080},
      {0.2624, 0.0672, -0.2190, -0.4285}}},
    {{{-1.1000, -0.2515, 0.8952, 0.0156},
      {0.2782, -0.1812, -4.5000, 1.1766},
      {24.7219, -13.0812, -37.7000, 34.8438},
      {-5.0000, 1.5218, 3.9229, -2.6204},
      {-0.0156, 0.1597, 0.4199, -0.5562}}},
    {{{-0.5484, -0.6654, -0.2672, 0.7117},
      {0.7234, -0.6219, -5.6812, 2.6297},
      {33.3389, -18.3000, -62.2500, 52.0781},
      {-3.5000, 0.0016, 1.1477, 0.1062},
      {0.4659, -0.3296, -0.0876, -0.0329}}},
    {{{-0.6000, -0.3566, -2.5000, 2.3250},
      {0.2937, 0.0496, -5.6812, 1.8415},
      {21.0000, -4.7656, -21.5906, 7.2492},
      {-3.5000, -0.1554, 1.4062, 0.3988},
      {0.0032, 0.0766, -0.0656, -0.1294}}},
    {{{-1.0156, -0.3670, 1.0078, 1.4051},
      {0.2875, -0.5328, -3.8500, 3.3750},
      {14.0000, -0.9999, -7.1406, 7.5469},
      {-3.4000, -0.1078, -1.0750, 1.5702},
      {-0.0672, 0.4016, 0.3017, -0.4844}}},
    {{{-1.0000, 0.0211, 0.5025, -0.5119},
      {-0.3000, 0.1922, 0.7023, -1.6317},
      {19.0000, -5.0000, 1.2438, -1.9094},
      {-4.0000, 0.0250, 0.3844, 0.2656},
      {1.0468, -0.3788, -2.4517, 1.4656}}},
    {{{-1.0500, 0.0289, 0.4260, 0.3590},
      {-0.3250, 0.1156, 0.7781, 0.0025},
      {31.0625, -14.5000, -46.1148, 55.3750},
      {-7.2312, 0.4050, 13.3500, 0.6234},
      {1.5000, -0.6426, 1.8564, 0.5636}}},
}};

// Perez et al. 1990, table 4: a, b, c, d per bin.
constexpr std::array<Four, 8> kGlobalEfficacy = {{{96.63, -0.47, 11.50, -9.16},
                                                  {107.54, 0.79, 1.79, -1.19},
                                                  {98.73, 0.70, 4.40, -6.95},
                                                  {92.72, 0.56, 8.36, -8.31},
                                                  {86.73, 0.98, 7.10, -10.94},
                                                  {88.34, 1.39, 6.06, -7.60},
                                                  {78.63, 1.47, 4.93, -11.37},
                                                  {99.65, 1.86, -4.46, -3.15}}};
constexpr std::array<Four, 8> kDiffuseEfficacy = {{{97.24, -0.46, 12.00, -8.91},
                                                   {107.22, 1.15, 0.59, -3.95},
                                                   {104.97, 2.96, -5.53, -8.77},
                                                   {102.39, 5.59, -13.95, -13.90},
                                                   {100.71, 5.94, -22.75, -23.74},
                                                   {106.42, 3.83, -36.15, -28.83},
                                                   {141.88, 1.90, -53.24, -14.03},
                                                   {152.23, 0.35, -45.27, -7.98}}};
constexpr std::array<Four, 8> kBeamEfficacy = {{{57.20, -4.55, -2.98, 117.12},
                                                {98.99, -3.46, -1.21, 12.38},
                                                {109.83, -4.90, -1.71, -8.81},
                                                {110.34, -5.84, -1.99, -4.56},
                                                {106.36, -3.97, -1.75, -6.16},
                                                {107.19, -1.25, -1.51, -26.73},
                                                {105.75, 0.77, -1.26, -34.44},
                                                {101.18, 1.58, -1.10, -8.29}}};

double zenith_of_sun(Vector3 sun) { return std::min(std::atan2(std::hypot(sun.x, sun.y), sun.z), 0.5 * kPi); }

// The gradation in double; the patches of a row share it.
double gradation(const SkyState& sky, double cos_zenith) {
  if (sky.traditional_overcast) return (1.0 + 2.0 * cos_zenith) / 3.0;
  if (sky.a == 0.0) return 1.0;
  return std::max(0.0, 1.0 + sky.a * std::exp(sky.b / std::max(cos_zenith, kHorizonCosine)));
}

struct Indicatrix {
  float c, d, e, f;
  [[nodiscard]] float operator()(float cos_angle) const {
    const float value = f + c * fast_exp(d * fast_acos(cos_angle)) + e * cos_angle * cos_angle;
    return value > 0.0f ? value : 0.0f;
  }
};

// Averages over the patches near the sun, where the corona has a cusp that the common samples miss.
void refine_around_the_sun(const SkyDivision& division, const SkyState& sky, const Indicatrix& indicatrix,
                           float* patch_averages) {
  constexpr std::size_t kSide = 8;
  const std::size_t sun_patch = division.patch_of(sky.sun);
  const std::size_t sun_row = division.row_of(sun_patch);
  const SkyDivision::Bounds of_sun = division.bounds(sun_patch);
  const double reach = std::cos(1.6 * (of_sun.high_elevation_rad - of_sun.low_elevation_rad));
  const std::size_t first_row = sun_row > 1 ? sun_row - 2 : 0;
  const std::size_t last_row = std::min(sun_row + 3, division.rows());
  for (std::size_t row = first_row; row < last_row; ++row) {
    const std::size_t begin = division.row_begin(row);
    const std::size_t end = division.row_begin(row + 1);
    const SkyDivision::Bounds b = division.bounds(begin);
    const double low = std::sin(b.low_elevation_rad);
    const double high = std::sin(b.high_elevation_rad);
    const double step = (b.high_azimuth_rad - b.low_azimuth_rad) / kSide;
    std::array<float, kSide> outward{};
    std::array<float, kSide> upward{};
    std::array<float, kSide> weight{};
    std::array<double, kSide> step_sine{};
    std::array<double, kSide> step_cosine{};
    for (std::size_t j = 0; j < kSide; ++j) {
      step_sine[j] = std::sin(step * (static_cast<double>(j) + 0.5));
      step_cosine[j] = std::cos(step * (static_cast<double>(j) + 0.5));
    }
    for (std::size_t i = 0; i < kSide; ++i) {
      const double z = low + (high - low) * (static_cast<double>(i) + 0.5) / kSide;
      outward[i] = static_cast<float>(std::sqrt(1.0 - z * z));
      upward[i] = static_cast<float>(z * sky.sun.z);
      weight[i] = static_cast<float>(gradation(sky, z) / (kSide * kSide));
    }
    for (std::size_t p = begin; p < end; ++p) {
      if (p != sun_patch && dot(division.centroid(p), sky.sun) < reach) continue;
      const double azimuth = step * static_cast<double>((p - begin) * kSide);
      const double sine = std::sin(azimuth);
      const double cosine = std::cos(azimuth);
      std::array<float, kSide * kSide> value{};
      for (std::size_t j = 0; j < kSide; ++j) {
        const double east = sine * step_cosine[j] + cosine * step_sine[j];
        const double north = cosine * step_cosine[j] - sine * step_sine[j];
        const auto across = static_cast<float>(east * sky.sun.x + north * sky.sun.y);
        for (std::size_t i = 0; i < kSide; ++i) value[j * kSide + i] = outward[i] * across + upward[i];
      }
      for (float& v : value) v = indicatrix(v);
      float average = 0.0f;
      for (std::size_t i = 0; i < kSide; ++i) {
        float level = 0.0f;
        for (std::size_t j = 0; j < kSide; ++j) level += value[j * kSide + i];
        average += weight[i] * level;
      }
      patch_averages[p] = average;
    }
  }
}

}  // namespace

double air_mass(double zenith_rad) {
  const double zenith = std::clamp(zenith_rad, 0.0, 0.5 * kPi);
  return 1.0 / (std::cos(zenith) + 0.50572 * std::pow(96.07995 - zenith * kDegPerRad, -1.6364));
}

SkyCondition sky_condition(double diffuse_w_m2, double beam_w_m2, double zenith_rad,
                           double extraterrestrial_w_m2) {
  assert(diffuse_w_m2 > 0.0);
  const double z = std::clamp(zenith_rad, 0.0, 0.5 * kPi);
  const double k = 1.041 * z * z * z;
  SkyCondition sky;
  sky.clearness = std::clamp(((diffuse_w_m2 + beam_w_m2) / diffuse_w_m2 + k) / (1.0 + k), 1.0, 12.0);
  sky.brightness = std::clamp(air_mass(z) * diffuse_w_m2 / extraterrestrial_w_m2, 0.01, 0.6);
  const auto above = std::upper_bound(kClearnessLimits.begin(), kClearnessLimits.end(), sky.clearness);
  sky.bin = 1 + static_cast<int>(above - kClearnessLimits.begin());
  return sky;
}

LuminousEfficacy luminous_efficacy(const SkyCondition& sky, double zenith_rad, double dew_point_c) {
  const auto bin = static_cast<std::size_t>(sky.bin - 1);
  const double z = std::clamp(zenith_rad, 0.0, 0.5 * kPi);
  const double water_cm = std::exp(0.07 * dew_point_c - 0.075);
  const auto sky_light = [&](const Four& k) {
    return std::max(0.0, k[0] + k[1] * water_cm + k[2] * std::cos(z) + k[3] * std::log(sky.brightness));
  };
  const Four& k = kBeamEfficacy[bin];
  const double beam = k[0] + k[1] * water_cm + k[2] * std::exp(5.73 * z - 5.0) + k[3] * sky.brightness;
  return {sky_light(kGlobalEfficacy[bin]), sky_light(kDiffuseEfficacy[bin]), std::max(0.0, beam)};
}

SkyState cie_sky(int type, Vector3 sun, double diffuse_horizontal_lx, double beam_normal_lx) {
  assert(type >= 1 && type <= 16);
  SkyState sky;
  sky.sun = sun;
  sky.diffuse_horizontal_lx = diffuse_horizontal_lx;
  sky.beam_normal_lx = beam_normal_lx;
  if (type == 16) {
    sky.traditional_overcast = true;
    return sky;
  }
  const GeneralSky& g = kGeneralSkies[static_cast<std::size_t>(type - 1)];
  sky.a = g.a;
  sky.b = g.b;
  sky.c = g.c;
  sky.d = g.d;
  sky.e = g.e;
  sky.f = 1.0 - g.c * std::exp(g.d * 0.5 * kPi);
  return sky;
}

SkyState all_weather_sky(Vector3 sun, double extraterrestrial_w_m2, double diffuse_w_m2, double beam_w_m2,
                         double dew_point_c) {
  SkyState sky;
  sky.sun = sun;
  if (sun.z < 0.0) {  // twilight: the glow stays over the place where the sun went down
    const double horizontal = std::hypot(sun.x, sun.y);
    sky.sun =
        horizontal > 0.0 ? Vector3{sun.x / horizontal, sun.y / horizontal, 0.0} : Vector3{0.0, 1.0, 0.0};
    beam_w_m2 = 0.0;
  }
  if (diffuse_w_m2 <= 0.0) return sky;
  const double z = zenith_of_sun(sky.sun);
  const SkyCondition condition = sky_condition(diffuse_w_m2, beam_w_m2, z, extraterrestrial_w_m2);
  const double delta = condition.brightness;
  const auto& table = kAllWeather[static_cast<std::size_t>(condition.bin - 1)];
  const auto linear = [&](const Four& x) { return x[0] + x[1] * z + delta * (x[2] + x[3] * z); };
  sky.a = linear(table[0]);
  sky.b = linear(table[1]);
  sky.e = linear(table[4]);
  if (condition.bin == 1) {
    const Four& c = table[2];
    const Four& d = table[3];
    sky.c = std::exp(std::pow(delta * (c[0] + c[1] * z), c[2])) - c[3];
    sky.d = -std::exp(delta * (d[0] + d[1] * z)) + d[2] + delta * d[3];
  } else {
    sky.c = linear(table[2]);
    sky.d = linear(table[3]);
  }
  const LuminousEfficacy efficacy = luminous_efficacy(condition, z, dew_point_c);
  sky.diffuse_horizontal_lx = diffuse_w_m2 * efficacy.diffuse;
  sky.beam_normal_lx = beam_w_m2 * efficacy.beam;
  return sky;
}

double relative_luminance(const SkyState& sky, Vector3 v) {
  const double cos_angle = std::clamp(dot(v, sky.sun), -1.0, 1.0);
  if (sky.traditional_overcast) return gradation(sky, v.z);
  const double indicatrix =
      sky.f + sky.c * std::exp(sky.d * std::acos(cos_angle)) + sky.e * cos_angle * cos_angle;
  return gradation(sky, v.z) * std::max(0.0, indicatrix);
}

void sky_luminance(const SkyDivision& division, const SkyState& sky, std::span<float> patch_cd_m2) {
  assert(patch_cd_m2.size() == division.size());
  const std::size_t count = division.size();
  std::fill(patch_cd_m2.begin(), patch_cd_m2.end(), 0.0f);
  if (sky.diffuse_horizontal_lx <= 0.0) return;

  const SkyDivision::Samples& samples = division.samples();
  const auto side = static_cast<std::size_t>(samples.side);
  const Indicatrix indicatrix{static_cast<float>(sky.c), static_cast<float>(sky.d), static_cast<float>(sky.e),
                              static_cast<float>(sky.f)};
  const auto sun_x = static_cast<float>(sky.sun.x);
  const auto sun_y = static_cast<float>(sky.sun.y);
  const auto sun_z = static_cast<float>(sky.sun.z);
  const bool around_the_sun = !sky.traditional_overcast && (sky.c != 0.0 || sky.e != 0.0);
  float* __restrict out = patch_cd_m2.data();

  constexpr std::size_t kMostPatches = 144 * 6 * 6 + 1;
  std::array<float, kMostPatches> part;  // sums of the indicatrix over the samples of one elevation
  for (std::size_t level = 0; level < side; ++level) {
    if (around_the_sun) {
      std::fill_n(part.begin(), count, 0.0f);
      for (std::size_t k = level * side; k < (level + 1) * side; ++k) {
        const float* __restrict x = samples.x.data() + k * count;
        const float* __restrict y = samples.y.data() + k * count;
        const float* __restrict z = samples.z.data() + k * count;
        float* __restrict sum = part.data();
        for (std::size_t p = 0; p < count; ++p)
          sum[p] += indicatrix(x[p] * sun_x + y[p] * sun_y + z[p] * sun_z);
      }
    } else {
      std::fill_n(part.begin(), count, static_cast<float>(side));
    }
    for (std::size_t row = 0; row < division.rows(); ++row) {
      const double cos_zenith = static_cast<double>(samples.elevation_sine[row * side + level]);
      const auto weight = static_cast<float>(gradation(sky, cos_zenith) / static_cast<double>(side * side));
      for (std::size_t p = division.row_begin(row); p < division.row_begin(row + 1); ++p)
        out[p] += weight * part[p];
    }
  }

  if (around_the_sun) refine_around_the_sun(division, sky, indicatrix, out);

  double horizontal_lx = 0.0;
  for (std::size_t p = 0; p < count; ++p)
    horizontal_lx += static_cast<double>(out[p]) * division.cosine_solid_angle_sr(p);
  if (horizontal_lx <= 0.0) {  // a shape that is zero everywhere: give the light evenly rather than lose it
    std::fill(patch_cd_m2.begin(), patch_cd_m2.end(), static_cast<float>(sky.diffuse_horizontal_lx / kPi));
    return;
  }
  const auto scale = static_cast<float>(sky.diffuse_horizontal_lx / horizontal_lx);
  for (std::size_t p = 0; p < count; ++p) out[p] *= scale;
}

}  // namespace halflight::climate
