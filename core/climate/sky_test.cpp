// Rules and equations: docs/methods/sky.md.
#include "climate/sky.hpp"

#include "base/units.hpp"
#include "climate/fast_math.hpp"
#include "climate/sky_division.hpp"
#include "climate/sun.hpp"
#include "published.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::climate {
namespace {

Vector3 toward(double zenith_deg, double azimuth_deg) {
  const double z = zenith_deg * kRadPerDeg;
  const double a = azimuth_deg * kRadPerDeg;
  return {std::sin(z) * std::sin(a), std::sin(z) * std::cos(a), std::cos(z)};
}

// Integral of the relative luminance times max(0, cosine with `normal`) over the sky, by a midpoint rule in
// zenith angle and azimuth. 600 x 600 points leave an error below 2e-5 even for the corona's cusp (checked
// against 1200).
double irradiated(const SkyState& sky, Vector3 normal) {
  constexpr int kSteps = 600;
  double sum = 0.0;
  for (int i = 0; i < kSteps; ++i) {
    const double z = 90.0 * (i + 0.5) / kSteps;
    for (int j = 0; j < kSteps; ++j) {
      const Vector3 v = toward(z, 360.0 * (j + 0.5) / kSteps);
      sum += relative_luminance(sky, v) * std::max(0.0, dot(v, normal)) * std::sin(z * kRadPerDeg);
    }
  }
  return sum * (0.5 * kPi / kSteps) * (2.0 * kPi / kSteps);
}

constexpr Vector3 kUp{0.0, 0.0, 1.0};

TEST(FastMath, StaysWithinItsStatedBounds) {
  for (double x = -87.0; x <= 88.0; x += 0.00137) {
    const auto f = static_cast<float>(x);
    const double exact = std::exp(static_cast<double>(f));
    ASSERT_NEAR(static_cast<double>(fast_exp(f)), exact, 3e-7 * exact) << x;
  }
  for (double x = -1.0; x <= 1.0; x += 1e-5) {
    const auto f = static_cast<float>(x);
    ASSERT_NEAR(static_cast<double>(fast_acos(f)), std::acos(static_cast<double>(f)), 5e-7) << x;
  }
  EXPECT_EQ(fast_acos(1.5f), 0.0f);
  EXPECT_GT(fast_exp(-1000.0f), 0.0f);
}

// ---- The standard general skies

TEST(GeneralSky, ZenithLuminanceGivesThePublishedIlluminances) {
  // By Gauss-Legendre quadrature of the standard's formula, independently of this program; four printed
  // decimals.
  const struct {
    int type;
    double eh30, eh60, facing, away;
  } rows[] = {
      {1, 2.4495, 2.4495, 0.3792, 0.3792},  {2, 2.0860, 2.5566, 0.5191, 0.2793},
      {3, 2.7700, 2.7700, 0.4466, 0.4466},  {4, 2.3154, 2.8901, 0.6079, 0.3272},
      {5, 3.1416, 3.1416, 0.5000, 0.5000},  {6, 2.5842, 3.2778, 0.6788, 0.3649},
      {7, 2.4212, 3.6730, 0.7939, 0.3251},  {8, 2.3284, 4.1231, 0.9080, 0.2761},
      {9, 3.4593, 4.5528, 0.8578, 0.4619},  {10, 3.1703, 5.1449, 0.9891, 0.4118},
      {11, 2.9891, 5.8176, 1.1177, 0.3490}, {12, 3.1906, 6.3941, 1.2346, 0.3966},
      {13, 3.0259, 6.9952, 1.3552, 0.3019}, {14, 3.2170, 7.7081, 1.5579, 0.3642},
      {15, 3.0159, 8.1160, 1.6937, 0.2375}, {16, 2.4435, 2.4435, 0.3962, 0.3962},
  };
  for (const auto& r : rows) {
    const SkyState high = cie_sky(r.type, toward(30, 0), 1.0);
    const SkyState low = cie_sky(r.type, toward(60, 0), 1.0);
    const double horizontal = irradiated(low, kUp);
    EXPECT_NEAR(irradiated(high, kUp) / relative_luminance(high, kUp), r.eh30, 5e-4 * r.eh30) << r.type;
    EXPECT_NEAR(horizontal / relative_luminance(low, kUp), r.eh60, 5e-4 * r.eh60) << r.type;
    EXPECT_PUBLISHED("formula of ISO 15469:2004, independent quadrature",
                     fmt::format("sky type {}, sun 30° high: wall facing the sun over horizontal", r.type),
                     "", r.facing, irradiated(low, {0, 1, 0}) / horizontal, published::relative(5e-4));
    EXPECT_NEAR(irradiated(low, {0, -1, 0}) / horizontal, r.away, 5e-4 * r.away) << r.type;
  }
}

TEST(GeneralSky, SpotValuesFollowTheStandard) {
  const double directions[4][2] = {{40, 0}, {60, 0}, {60, 90}, {80, 180}};
  const struct {
    int type;
    double value[4];
  } rows[] = {{1, {0.8720, 0.6652, 0.6652, 0.3586}},
              {3, {0.9283, 0.8179, 0.8179, 0.6766}},
              {7, {3.1795, 1.6691, 0.6197, 0.5143}},
              {12, {5.8881, 3.4561, 0.9100, 1.3303}},
              {15, {7.5711, 4.3811, 0.7166, 0.8030}}};
  for (const auto& r : rows) {
    const SkyState sky = cie_sky(r.type, toward(40, 0), 1.0);
    for (int i = 0; i < 4; ++i) {
      const Vector3 v = toward(directions[i][0], directions[i][1]);
      EXPECT_NEAR(relative_luminance(sky, v) / relative_luminance(sky, kUp), r.value[i], 1e-4)
          << r.type << " " << i;
    }
  }
}

TEST(GeneralSky, TraditionalOvercastHasItsClosedForms) {
  const SkyState sky = cie_sky(16, toward(40, 0), 1.0);
  const char* const source = "closed form of (1 + 2 cos z) / 3";
  EXPECT_PUBLISHED(source, "overcast sky: horizontal illuminance over zenith luminance", "lx per cd/m²",
                   7.0 * kPi / 9.0, irradiated(sky, kUp), 1e-4 * 2.44);
  EXPECT_PUBLISHED(source, "overcast sky: illuminance of a wall over zenith luminance", "lx per cd/m²",
                   2.0 / 3.0 * (kPi / 4.0 + 2.0 / 3.0), irradiated(sky, {1, 0, 0}), 1e-4 * 0.968);
  EXPECT_PUBLISHED(source, "overcast sky: luminance of the zenith over the horizon's", "", 3.0,
                   relative_luminance(sky, kUp) / relative_luminance(sky, toward(90, 0)), 1e-12);
}

// ---- The all-weather sky

struct AllWeatherRow {
  double diffuse, beam, zenith;
  double clearness;
  int bin;
  double air_mass, brightness;
  double a, b, c, d, e;
  double global_efficacy, diffuse_efficacy, beam_efficacy;
  double integral, at_zenith, at_sun, at_60_90, at_60_180, at_85_180;
};
// From the published coefficients by independent arithmetic and quadrature; E0 = 1367 W/m2, 2 cm of water.
const AllWeatherRow kAllWeatherRows[] = {
    {150,     0,       60,      1.00000, 1,        1.99429, 0.218832, 0.69466, -0.51586, 1.01544, -0.70539,
     0.00773, 115.358, 115.858, 65.626,  6.039926, 6053.1,  7262.5,   5029.9,  4428.5,   3388.7},
    {200,     40,      50,      1.11822, 2,        1.55341, 0.227272, -1.35644, -0.88105, 8.57062, -2.40660,
     0.18628, 112.034, 115.752, 93.673,  4.638557, 4647.8,  31922,    5547.7,   4235.2,   5602.8},
    {250,     150,     45,      1.39885, 3,        1.41260, 0.258339, -1.06310, -0.78791, 11.77835, -3.32302,
     0.10545, 112.648, 118.850, 96.717,  4.600318, 6401.6,  54184,    6171.5,   5208.6,   6779.8},
    {250,     350,     45,      1.93064, 4,        1.41260, 0.258339, -0.99563, -0.69915, 13.45111, -3.18070,
     0.17773, 110.999, 122.519, 96.275,  5.032929, 6748.5,  56052,    6008.8,   4825.3,   6590.7},
    {180,     600,     40,      3.46146, 6,        1.30422, 0.171734, -0.93028, -0.34100, 12.98047, -3.47162,
     0.20691, 109.152, 137.180, 99.544,  3.303128, 5748.1,  42841,    4941.0,   4104.2,   7884.8},
    {80,      500,     70,      3.15640, 6,        2.90315, 0.169899, -1.00109, -0.31700, 13.13173, -3.38842,
     0.37416, 106.664, 152.819, 88.985,  2.497024, 1661.6,  42880,    2584.5,   2664.8,   6238.6},
    {100,     850,     30,      8.39495, 8,        1.15399, 0.084418, -0.98304, -0.19868, 22.02504, -5.86461,
     1.34516, 107.294, 133.451, 103.491, 2.167841, 3621.0,  32777,    2679.0,   2093.3,   6867.9},
};
constexpr double kDewPoint_c = 10.97353;
constexpr const char* kEfficacySource = "coefficients of Perez et al. 1990, independent arithmetic";
constexpr const char* kAllWeatherSource = "coefficients of Perez et al. 1993, independent quadrature";

TEST(AllWeatherSky, ReproducesTheWorkedNumbers) {
  for (const AllWeatherRow& r : kAllWeatherRows) {
    SCOPED_TRACE(r.zenith);
    const double z = r.zenith * kRadPerDeg;
    EXPECT_NEAR(air_mass(z), r.air_mass, 1e-5);
    const SkyCondition condition = sky_condition(r.diffuse, r.beam, z, 1367.0);
    EXPECT_NEAR(condition.clearness, r.clearness, 1e-5);
    EXPECT_NEAR(condition.brightness, r.brightness, 1e-6);
    EXPECT_EQ(condition.bin, r.bin);
    const LuminousEfficacy efficacy = luminous_efficacy(condition, z, kDewPoint_c);
    EXPECT_NEAR(efficacy.global, r.global_efficacy, 2e-3);
    const std::string weather = fmt::format("sun {:.0f}° high, {:.0f} W/m² diffuse, {:.0f} W/m² beam",
                                            90.0 - r.zenith, r.diffuse, r.beam);
    EXPECT_PUBLISHED(kEfficacySource, "efficacy of skylight, " + weather, "lm/W", r.diffuse_efficacy,
                     efficacy.diffuse, 2e-3);
    EXPECT_PUBLISHED(kEfficacySource, "efficacy of sunlight, " + weather, "lm/W", r.beam_efficacy,
                     efficacy.beam, 2e-3);

    const SkyState sky = all_weather_sky(toward(r.zenith, 0), 1367.0, r.diffuse, r.beam, kDewPoint_c);
    EXPECT_NEAR(sky.a, r.a, 2e-5);
    EXPECT_NEAR(sky.b, r.b, 2e-5);
    EXPECT_NEAR(sky.c, r.c, 2e-5);
    EXPECT_NEAR(sky.d, r.d, 2e-5);
    EXPECT_NEAR(sky.e, r.e, 2e-5);
    EXPECT_NEAR(sky.diffuse_horizontal_lx, r.diffuse * r.diffuse_efficacy, r.diffuse * 2e-3);
    EXPECT_NEAR(sky.beam_normal_lx, r.beam * r.beam_efficacy, 1e-9 + r.beam * 2e-3);
    const double integral = irradiated(sky, kUp);
    EXPECT_NEAR(integral, r.integral, 1e-3 * r.integral);
    const auto luminance = [&](double zenith, double azimuth) {
      return relative_luminance(sky, toward(zenith, azimuth)) * sky.diffuse_horizontal_lx / integral;
    };
    EXPECT_PUBLISHED(kAllWeatherSource, "luminance of the zenith, " + weather, "cd/m²", r.at_zenith,
                     luminance(0, 0), published::relative(1e-3));
    EXPECT_PUBLISHED(kAllWeatherSource, "luminance of the sky at the sun, " + weather, "cd/m²", r.at_sun,
                     luminance(r.zenith, 0), published::relative(1e-3));
    EXPECT_NEAR(luminance(60, 90), r.at_60_90, 1e-3 * r.at_60_90);
    EXPECT_NEAR(luminance(60, 180), r.at_60_180, 1e-3 * r.at_60_180);
    EXPECT_NEAR(luminance(85, 180), r.at_85_180, 1e-3 * r.at_85_180);
  }
}

TEST(AllWeatherSky, NoWeatherMakesItNegativeInfiniteOrLose) {
  const SkyDivision division(1);
  std::vector<float> patches(division.size());
  for (const double zenith : {0.0, 30.0, 60.0, 80.0, 88.0, 90.0, 93.0}) {
    for (const double diffuse : {0.5, 5.0, 50.0, 200.0, 600.0}) {
      for (const double beam : {0.0, 10.0, 200.0, 1000.0}) {
        const SkyState sky = all_weather_sky(toward(zenith, 200), 1400.0, diffuse, beam, 25.0);
        sky_luminance(division, sky, patches);
        double horizontal = 0.0;
        for (std::size_t p = 0; p < patches.size(); ++p) {
          ASSERT_TRUE(std::isfinite(patches[p]) && patches[p] >= 0.0f)
              << zenith << " " << diffuse << " " << beam;
          horizontal += static_cast<double>(patches[p]) * division.cosine_solid_angle_sr(p);
        }
        EXPECT_NEAR(horizontal, sky.diffuse_horizontal_lx, 1e-6 * sky.diffuse_horizontal_lx);
      }
    }
  }
  EXPECT_TRUE(all_weather_sky(kUp, 1367.0, 0.0, 0.0, 10.0).dark());
  EXPECT_EQ(all_weather_sky(toward(91, 0), 1367.0, 5.0, 50.0, 10.0).beam_normal_lx, 0.0);
}

// ---- The division

TEST(SkyDivision, HasThePublishedCountsAndSolidAngles) {
  const std::size_t counts[] = {145, 577, 1297, 2305, 3601, 5185};
  for (int m = 1; m <= 6; ++m) {
    const SkyDivision division(m);
    ASSERT_EQ(division.size(), counts[m - 1]);
    double solid = 0.0;
    double cosine = 0.0;
    for (std::size_t p = 0; p < division.size(); ++p) {
      solid += division.solid_angle_sr(p);
      cosine += division.cosine_solid_angle_sr(p);
    }
    EXPECT_NEAR(solid, 2.0 * kPi, 1e-10);
    EXPECT_NEAR(cosine, kPi, 1e-10);
  }
  // Tregenza 1987; solid angles from the band limits.
  const struct {
    std::size_t patches;
    double solid, cosine;
  } bands[] = {{30, 0.043545, 0.004527}, {30, 0.041642, 0.012798}, {24, 0.047398, 0.023569},
               {24, 0.040673, 0.027066}, {18, 0.042893, 0.034511}, {12, 0.044522, 0.040450},
               {6, 0.045517, 0.044278},  {1, 0.034420, 0.034326}};
  const SkyDivision division(1);
  for (std::size_t row = 0; row < 8; ++row) {
    const std::size_t p = division.row_begin(row);
    EXPECT_EQ(division.row_begin(row + 1) - p, bands[row].patches);
    EXPECT_PUBLISHED("Tregenza 1987, from the limits of the bands",
                     fmt::format("solid angle of a sky patch in row {}", row + 1), "sr", bands[row].solid,
                     division.solid_angle_sr(p), 1e-6);
    EXPECT_NEAR(division.cosine_solid_angle_sr(p), bands[row].cosine, 1e-6);
  }
  EXPECT_NEAR(SkyDivision(2).solid_angle_sr(576), 0.009215, 1e-6);
  EXPECT_NEAR(SkyDivision(4).solid_angle_sr(2304), 0.002386, 1e-6);
}

TEST(SkyDivision, EveryPatchFindsItself) {
  for (int m = 1; m <= 6; ++m) {
    const SkyDivision division(m);
    for (std::size_t p = 0; p < division.size(); ++p) {
      const SkyDivision::Bounds b = division.bounds(p);
      EXPECT_EQ(division.patch_of(division.centroid(p)), p);
      const double corner_elevation = b.low_elevation_rad + 1e-9;
      const double corner_azimuth = b.low_azimuth_rad + 1e-9;
      EXPECT_EQ(division.patch_of(toward(90.0 - corner_elevation * kDegPerRad, corner_azimuth * kDegPerRad)),
                p);
      EXPECT_EQ(division.row_begin(division.row_of(p)) <= p, true);
    }
    const auto& samples = division.samples();
    for (std::size_t k = 0; k < samples.x.size(); ++k)
      ASSERT_EQ(division.patch_of({samples.x[k], samples.y[k], samples.z[k]}), k % division.size());
  }
  EXPECT_EQ(SkyDivision(1).patch_of({0.01, 1.0, -0.1}), 0U);  // below the horizon: lowest row
  EXPECT_EQ(SkyDivision(1).patch_of({1.0, 0.0, 0.0}), 7U);    // east is a quarter of 30 patches round
}

TEST(SkyDivision, CentroidsMakeVerticalIlluminanceExactWherePatchesAreWhole) {
  // The sum of solid angle times direction over any whole half of the sky is the integral of the direction; a
  // mean direction is shorter than one, so the unit centroid overstates it by the spread, here below 0.5 %.
  const SkyDivision division(2);
  double east = 0.0;
  for (std::size_t p = 0; p < division.size(); ++p) {
    const Vector3 c = division.centroid(p);
    if (c.x > 0.0) east += division.solid_angle_sr(p) * c.x;
  }
  EXPECT_NEAR(east, 0.5 * kPi, 5e-3 * 0.5 * kPi);
}

// ---- Patches filled

TEST(SkyPatches, AverageTheModelAndKeepTheIlluminance) {
  for (const int m : {1, 2, 4}) {
    const SkyDivision division(m);
    std::vector<float> patches(division.size());
    for (const AllWeatherRow& r : kAllWeatherRows) {
      const SkyState sky = all_weather_sky(toward(r.zenith, 137), 1367.0, r.diffuse, r.beam, kDewPoint_c);
      sky_luminance(division, sky, patches);
      double horizontal = 0.0;
      for (std::size_t p = 0; p < division.size(); ++p)
        horizontal += static_cast<double>(patches[p]) * division.cosine_solid_angle_sr(p);
      EXPECT_NEAR(horizontal, sky.diffuse_horizontal_lx, 1e-6 * sky.diffuse_horizontal_lx);

      // Against the average over a dense grid in the patch. Near the horizon the gradation b / cos z is steep
      // inside one patch; away from it and from the sun's own patch a per cent holds (own bound; the model
      // itself is uncertain by tens of per cent).
      const double scale = sky.diffuse_horizontal_lx / irradiated(sky, kUp);
      double worst = 0.0;
      for (std::size_t p = 0; p < division.size(); ++p) {
        const SkyDivision::Bounds b = division.bounds(p);
        constexpr int kSide = 16;
        double sum = 0.0;
        for (int i = 0; i < kSide; ++i) {
          const double z =
              std::sin(b.low_elevation_rad) +
              (std::sin(b.high_elevation_rad) - std::sin(b.low_elevation_rad)) * (i + 0.5) / kSide;
          for (int j = 0; j < kSide; ++j) {
            const double azimuth =
                b.low_azimuth_rad + (b.high_azimuth_rad - b.low_azimuth_rad) * (j + 0.5) / kSide;
            sum += relative_luminance(sky, toward(std::acos(z) * kDegPerRad, azimuth * kDegPerRad));
          }
        }
        const double expected = scale * sum / (kSide * kSide);
        worst = std::max(worst, std::abs(static_cast<double>(patches[p]) / expected - 1.0));
      }
      EXPECT_LT(worst, 0.015) << "m " << m << " zenith " << r.zenith;
    }
  }
}

/// Integral over a patch of the positive part of the cosine with `normal`, by midpoints.
double cosine_over_patch(const SkyDivision& division, std::size_t patch, Vector3 normal) {
  constexpr int kSide = 8;
  const SkyDivision::Bounds b = division.bounds(patch);
  double sum = 0.0;
  for (int i = 0; i < kSide; ++i)
    for (int j = 0; j < kSide; ++j) {
      const double z = std::sin(b.low_elevation_rad) +
                       (std::sin(b.high_elevation_rad) - std::sin(b.low_elevation_rad)) * (i + 0.5) / kSide;
      const double azimuth = b.low_azimuth_rad + (b.high_azimuth_rad - b.low_azimuth_rad) * (j + 0.5) / kSide;
      sum += std::max(0.0, dot(toward(std::acos(z) * kDegPerRad, azimuth * kDegPerRad), normal));
    }
  return sum * division.solid_angle_sr(patch) / (kSide * kSide);
}

// Averages of division 4 hold the standard skies to 0.1 %. In types 14 and 15 luminance rises so steeply
// towards the horizon that within the lowest row, 3° high, it goes against the cosine: patches that sum to
// the right horizontal illuminance leave walls 0.12 % short.
TEST(SkyPatches, OfDivisionFourIntegrateToATenthOfAPerCent) {
  const SkyDivision division(4);
  std::vector<float> patches(division.size());
  for (const double facing_deg : {0.0, 65.0, 180.0}) {
    const Vector3 normal = toward(90, facing_deg);
    std::vector<double> cosine;
    for (std::size_t p = 0; p < division.size(); ++p)
      cosine.push_back(cosine_over_patch(division, p, normal));
    for (int type = 1; type <= 16; ++type) {
      const SkyState sky = cie_sky(type, toward(60, 0), 10'000.0);
      sky_luminance(division, sky, patches);
      double lx = 0.0;
      for (std::size_t p = 0; p < division.size(); ++p) lx += static_cast<double>(patches[p]) * cosine[p];
      EXPECT_PUBLISHED(
          "formula of ISO 15469:2004, independent quadrature",
          fmt::format("sky type {}, division 4: wall {:.0f}° from the sun over horizontal", type, facing_deg),
          "", irradiated(sky, normal) / irradiated(sky, kUp), lx / 10'000.0,
          published::relative(type >= 14 ? 1.2e-3 : 1e-3));
    }
  }
}

TEST(SkyPatches, GiveTheVerticalIlluminanceOfTheGeneralSkies) {
  const SkyDivision division(2);
  std::vector<float> patches(division.size());
  for (int type = 1; type <= 16; ++type) {
    const SkyState sky = cie_sky(type, toward(60, 0), 10'000.0);
    sky_luminance(division, sky, patches);
    double facing = 0.0;
    for (std::size_t p = 0; p < division.size(); ++p)
      facing += static_cast<double>(patches[p]) * division.solid_angle_sr(p) *
                std::max(0.0, division.centroid(p).y);
    const double expected = irradiated(sky, {0, 1, 0}) / irradiated(sky, kUp);
    // 0.5 % for unit centroids (above) and 0.5 % for luminance that varies inside a patch.
    EXPECT_NEAR(facing / 10'000.0, expected, 0.01 * expected) << type;
  }
}

TEST(SkyPatches, FollowTheSunAroundTheHorizon) {
  const SkyDivision division(2);
  std::vector<float> patches(division.size());
  for (const double azimuth : {3.0, 93.0, 183.0, 273.0}) {
    const SkyState sky = cie_sky(12, toward(50, azimuth), 20'000.0);
    sky_luminance(division, sky, patches);
    const auto brightest = std::max_element(patches.begin(), patches.end()) - patches.begin();
    EXPECT_EQ(static_cast<std::size_t>(brightest), division.patch_of(sky.sun)) << azimuth;
  }
}

TEST(SkyPatches, AYearOfSkiesIsFast) {
  const SkyDivision division(2);
  std::vector<float> patches(division.size());
  constexpr int kInstants = 10'000;  // a fifth of a year's daylight at 5-minute steps
  const auto start = std::chrono::steady_clock::now();
  double sum = 0.0;
  for (int i = 0; i < kInstants; ++i) {
    const SkyState sky =
        all_weather_sky(toward(20.0 + i % 70, i % 360), 1367.0, 100.0 + i % 200, i % 800, 10.0);
    sky_luminance(division, sky, patches);
    sum += static_cast<double>(patches[100]);
  }
  const double elapsed_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  RecordProperty("fifty_thousand_skies_s", std::to_string(5.0 * elapsed_s));
  EXPECT_GT(sum, 0.0);
#ifdef NDEBUG
  EXPECT_LT(5.0 * elapsed_s, 6.0);  // 0.6 s measured; ten times that on a crowded machine
#endif
}

TEST(BuildingAxes, PlanNorthTurnsEastTowardNorth) {
  // The building's +y points east (bearing 90): the east wind comes along +y, and north lies on its left, at
  // -x.
  const Vector3 east = to_building_axes({1, 0, 0}, 90.0);
  EXPECT_NEAR(east.x, 0.0, 1e-15);
  EXPECT_NEAR(east.y, 1.0, 1e-15);
  EXPECT_NEAR(to_building_axes({0, 1, 0}, 90.0).x, -1.0, 1e-15);
}

}  // namespace
}  // namespace halflight::climate
