#include "photometry/flux.hpp"

#include "base/units.hpp"
#include "photometry/loss.hpp"
#include "photometry/test_distributions.hpp"
#include "published.hpp"

#include <cmath>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::PhotometricType;

double cosine_power(double t_deg, double n) {
  return t_deg < 90.0 ? 1000.0 * std::pow(std::cos(t_deg * kRadPerDeg), n) : 0.0;
}

IntensityDistribution cosine_table(double exponent, double step_deg) {
  return tabulate(PhotometricType::c, steps(0, 90, step_deg), {0},
                  [exponent](double t, double) { return cosine_power(t, exponent); });
}

TEST(Flux, OfAConstantIntensityIsExact) {
  // 4 pi I: the interpolant is the function itself, so only rounding is left.
  const auto isotropic =
      tabulate(PhotometricType::c, steps(0, 180, 5), {0}, [](double, double) { return 1000.0; });
  EXPECT_PUBLISHED("closed form 4 pi I", "flux of 1000 cd in every direction", "lm", 4000.0 * kPi,
                   flux_lm(isotropic), 1e-9);
  EXPECT_NEAR(downward_flux_lm(isotropic), 2000.0 * kPi, 1e-9);
}

TEST(Flux, OfAnyTypeAndSymmetryIsTheSameForTheSameLight) {
  const auto isotropic = [](double, double) { return 1000.0; };
  for (const double last : {90.0, 180.0, 360.0})
    EXPECT_NEAR(flux_lm(tabulate(PhotometricType::c, steps(0, 180, 10), steps(0, last, 15), isotropic)),
                4000 * kPi, 1e-8)
        << last;
  EXPECT_NEAR(flux_lm(tabulate(PhotometricType::c, steps(0, 180, 10), steps(90, 270, 15), isotropic)),
              4000 * kPi, 1e-8);
  // Types A and B cover the hemisphere about their aim.
  for (const PhotometricType type : {PhotometricType::a, PhotometricType::b}) {
    for (const double first : {-90.0, 0.0}) {
      const auto table = tabulate(type, steps(-90, 90, 10), steps(first, 90, 15), isotropic);
      EXPECT_NEAR(flux_lm(table), 2000 * kPi, 1e-8) << first;
      EXPECT_NEAR(downward_flux_lm(table), 1000 * kPi, 1e-8) << first;
    }
  }
}

TEST(Flux, OfCosinePowersIsWithinTheInterpolationErrorOfTheClosedForm) {
  // 2000 pi / (n + 1). The middle column is the exact integral of the piecewise-linear interpolant by
  // independent quadrature, printed to 0.001 lm, so half a unit of the last place is the tolerance.
  struct Case {
    double exponent, step_deg, interpolant_lm;
  };
  for (const Case& c : {Case{1, 2.5, 3141.094},
                        {1, 5, 3139.597},
                        {1, 10, 3133.593},
                        {2, 2.5, 2095.059},
                        {2, 5, 2097.050},
                        {2, 10, 2104.969},
                        {4, 2.5, 1257.434},
                        {4, 5, 1259.820},
                        {4, 10, 1269.286}}) {
    const double flux = flux_lm(cosine_table(c.exponent, c.step_deg));
    EXPECT_NEAR(flux, c.interpolant_lm, 5.5e-4) << "cos^" << c.exponent << " at " << c.step_deg << " degrees";
    if (c.step_deg <= 5) {
      const double exact = 2000.0 * kPi / (c.exponent + 1.0);
      EXPECT_PUBLISHED(
          "closed form 2 pi I / (n + 1)",
          fmt::format("flux of 1000 cd x cos^{} t, table in steps of {}°", c.exponent, c.step_deg), "lm",
          exact, flux, published::relative(0.003));  // 0.3 % at 5 degrees
    }
  }
}

TEST(Flux, OfASineOverTheSphereConvergesWithTheSquareOfTheStep) {
  // 1000 pi^2. Halving the step of a linear interpolant divides its error by four.
  const auto table = [](double step) {
    return tabulate(PhotometricType::c, steps(0, 180, step), {0},
                    [](double t, double) { return 1000.0 * std::sin(t * kRadPerDeg); });
  };
  const double exact = 1000.0 * kPi * kPi;
  const double coarse = flux_lm(table(10)) - exact;
  const double fine = flux_lm(table(5)) - exact;
  EXPECT_NEAR(coarse / fine, 4.0, 0.05);
  EXPECT_NEAR(fine / exact, 0.0, 0.003);
}

TEST(Flux, OfZonesReproducesTheZonalConstants) {
  // 2 pi (cos t1 - cos t2) for ten-degree zones, printed to four decimals in every handbook.
  const double printed[] = {0.0955, 0.2835, 0.4629, 0.6282, 0.7744, 0.8972, 0.9926, 1.0579, 1.0911};
  double above = 0.0;
  for (int zone = 0; zone < 9; ++zone) {
    // 1 cd up to the zone's end and a step down within a millionth of a degree there.
    const double edge = 10.0 * (zone + 1);
    const auto table = edge == 90.0
                           ? tabulate(PhotometricType::c, {0, 90}, {0}, [](double, double) { return 1.0; })
                           : tabulate(PhotometricType::c, {0, edge, edge + 1e-6, 90}, {0},
                                      [edge](double t, double) { return t <= edge ? 1.0 : 0.0; });
    const double flux = flux_lm(table);
    EXPECT_PUBLISHED("zonal constants of lighting handbooks",
                     fmt::format("solid angle of the zone from {} to {}°", 10 * zone, 10 * (zone + 1)), "sr",
                     printed[zone], flux - above, 5e-5 + 1e-7);
    above = flux;
  }
}

TEST(Flux, AsymmetricLightAboveAndBelowAddsUp) {
  const auto down = [](double t, double c) {
    return cosine_power(t, 1) * (1.0 + 0.5 * std::cos(c * kRadPerDeg));
  };
  const auto up = [](double t, double) { return 0.25 * cosine_power(180.0 - t, 1); };
  const auto both = tabulate(PhotometricType::c, steps(0, 180, 5), steps(0, 360, 10),
                             [&](double t, double c) { return down(t, c) + up(t, c); });
  // The cosine in azimuth integrates to nothing; a quarter as much goes up as down.
  EXPECT_NEAR(flux_lm(both), 1.25 * 3139.597, 0.002);
  EXPECT_NEAR(downward_flux_lm(both) / flux_lm(both), 0.8, 1e-9);
}

TEST(Peak, IsFoundWithItsDirection) {
  const auto table = tabulate(PhotometricType::c, steps(0, 90, 5), steps(0, 360, 30), [](double t, double c) {
    return 100.0 - std::abs(t - 35.0) - 0.1 * std::abs(c - 120.0);
  });
  const PeakIntensity peak = peak_intensity(table);
  EXPECT_EQ(peak.candela, 100.0);
  EXPECT_EQ(peak.vertical_deg, 35.0);
  EXPECT_EQ(peak.horizontal_deg, 120.0);
}

TEST(Spacing, OfACosineDistributionIsTheClosedForm) {
  // 2 cos^4 t = 1, spacing / height = 2 tan t = 2 sqrt(sqrt(2) - 1) = 1.2872. At 1 degree the table's chords
  // lie below the cosine by less than (1 degree)^2 / 8 = 4e-5 of its peak.
  const auto spacing = spacing_to_height(cosine_table(1, 1), 0);
  ASSERT_TRUE(spacing.has_value());
  EXPECT_PUBLISHED("closed form: 2 cos^4 t = 1", "spacing over height of the cosine law", "",
                   2.0 * std::sqrt(std::sqrt(2.0) - 1.0), *spacing, 2e-4);
  const auto dark_below =
      tabulate(PhotometricType::c, {0, 90, 180}, {0}, [](double t, double) { return t > 90 ? 1.0 : 0.0; });
  EXPECT_FALSE(spacing_to_height(dark_below, 0).has_value());
}

TEST(Beam, OfCosinePowersIsTheClosedForm) {
  // cos^n t = share at t = acos(share^(1/n)), both sides of nadir. At 0.5 degrees the chords lie below the
  // curve by 1e-5 of the peak, less than a hundredth of a degree where a cosine passes a tenth.
  for (const double n : {1.0, 10.0, 100.0})
    for (const double share : {0.5, 0.1}) {
      const double exact = 2.0 * std::acos(std::pow(share, 1.0 / n)) * kDegPerRad;
      EXPECT_PUBLISHED("closed form 2 acos(share^(1/n))",
                       fmt::format("full angle of cos^{} t to {} of the largest intensity", n, share), "°",
                       exact, *beam_angle_deg(cosine_table(n, 0.5), 0, share), 0.02);
    }
}

TEST(Beam, SpansBothWingsAndOnlyThePeaksHemisphere) {
  // Wings at 40 degrees, a third of them straight down, and a little light up.
  const auto wings = tabulate(PhotometricType::c, steps(0, 180, 5), steps(0, 90, 90), [](double t, double) {
    return t < 90.0 ? 100.0 - std::min(100.0, 1.7 * std::abs(t - 40.0)) : 40.0;
  });
  // 100 - 1.7 (t - 40) = 50 at 69.4 degrees on both sides.
  EXPECT_NEAR(*beam_angle_deg(wings, 0, 0.5), 2 * 69.41, 0.02);
  // Upwards the angle is taken about the zenith: cos^2 falls to half at 45 degrees.
  const auto up = tabulate(PhotometricType::c, steps(0, 180, 0.5), {0}, [](double t, double) {
    return t > 90.0 ? std::pow(std::cos(t * kRadPerDeg), 2) : 0.0;
  });
  EXPECT_NEAR(*beam_angle_deg(up, 90, 0.5), 90.0, 0.02);
  EXPECT_FALSE(
      beam_angle_deg(tabulate(PhotometricType::c, {0, 90}, {0}, [](double, double) { return 0.0; }), 0, 0.5));
  // A floodlight about its aim: 20 degrees wide along H, 60 along V.
  const auto flood =
      tabulate(PhotometricType::b, steps(-90, 90, 1), steps(-90, 90, 1),
               [](double v, double h) { return std::abs(v) <= 30.0 && std::abs(h) <= 10.0 ? 1.0 : 0.0; });
  EXPECT_NEAR(*beam_angle_deg(flood, 0, 0.5), 21.0, 0.01);  // the step lies half way to the next entry
  EXPECT_NEAR(*beam_angle_deg(flood, 90, 0.5), 61.0, 0.01);
}

TEST(Loss, MultipliesItsParts) {
  const LightLoss loss{0.88, 0.92, 0.97, 0.95};
  EXPECT_DOUBLE_EQ(loss.factor(), 0.88 * 0.92 * 0.97 * 0.95);
  EXPECT_NEAR(maintained_lx(500.0, loss), 500.0 * 0.7460464, 1e-4);
  EXPECT_NEAR(initial_lx(maintained_lx(500.0, loss), loss), 500.0, 1e-10);
}

TEST(Loss, LumenMaintenanceReachesSeventyPercentAtL70) {
  // L70 = ln(B / 0.7) / a (IES TM-21), so at L70 exactly 0.7 is left whatever B.
  for (const double b : {1.0, 1.03, 0.98}) {
    const LumenMaintenance curve = lumen_maintenance_from_l70(60'000.0, b);
    EXPECT_PUBLISHED("IES TM-21, L70 = ln(B / 0.7) / a",
                     fmt::format("light left at L70 = 60,000 h, B = {}", b), "", 0.7, curve.at(60'000.0),
                     1e-12);
    EXPECT_NEAR(curve.at(0.0), b, 1e-15);
    EXPECT_NEAR(curve.hours_to(0.7), 60'000.0, 1e-6);
    EXPECT_NEAR(curve.at(30'000.0), std::sqrt(0.7 * b), 1e-12);  // exponential: geometric mean half way
  }
  EXPECT_DOUBLE_EQ(luminaire_dirt_after(0.0, 0.1, 0.7), 1.0);
  EXPECT_NEAR(luminaire_dirt_after(1.0, 0.1, 0.7), std::exp(-0.1), 1e-15);
}

}  // namespace
}  // namespace halflight::photometry
