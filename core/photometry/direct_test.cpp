#include "photometry/direct.hpp"

#include "base/units.hpp"
#include "photometry/flux.hpp"
#include "photometry/test_distributions.hpp"
#include "published.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::LuminousOpening;
using domain::PhotometricType;
using Shape = LuminousOpening::Shape;

constexpr Vector3 kUp{0, 0, 1};

/// A Lambertian face of `lumens` in steps of half a degree: the interpolation error, h^2 / 8 of the peak, is
/// 1e-5.
IntensityDistribution lambertian(double lumens, LuminousOpening opening) {
  return tabulate(
      PhotometricType::c, steps(0, 90, 0.5), {0},
      [lumens](double t, double) { return t < 90.0 ? lumens / kPi * std::cos(t * kRadPerDeg) : 0.0; },
      opening);
}

TEST(Direct, PointSourceFollowsTheInverseSquareAndCosineLaws) {
  // E = I cos^3 t / h^2 with I = 1000 cd, h = 3 m, t = 30 degrees: 72.1688 lx.
  const auto isotropic =
      tabulate(PhotometricType::c, {0, 90, 180}, {0}, [](double, double) { return 1000.0; });
  const LuminaireSource source{isotropic, {1, 2, 3}, {}};
  const double aside = 3.0 * std::tan(30.0 * kRadPerDeg);
  EXPECT_PUBLISHED("closed form I cos³ t / h²", "point source of 1000 cd, 3 m up, 30° aside", "lx", 72.1688,
                   direct_illuminance_lx(source, {1 + aside, 2, 0}, kUp), 5e-5);
  EXPECT_NEAR(direct_illuminance_lx(source, {1, 2 - aside, 0}, kUp), 72.1688, 5e-5);
  // A vertical surface facing the source sees the sine instead: I cos^2 t sin t / h^2.
  EXPECT_NEAR(direct_illuminance_lx(source, {1 + aside, 2, 0}, {-1, 0, 0}),
              72.1688 * std::tan(30.0 * kRadPerDeg), 5e-5);
  EXPECT_EQ(direct_illuminance_lx(source, {1 + aside, 2, 0}, {1, 0, 0}), 0.0);  // from behind
  EXPECT_EQ(direct_illuminance_lx(source, {1, 2, 3}, kUp), 0.0);                // at the source itself
}

TEST(Direct, RectangularLambertianLuminaireMatchesTheAreaSource) {
  // E = M F, the exact configuration factor of a rectangle (J. R. Howell's catalogue); 0.5 % after
  // subdivision.
  struct Case {
    double length_m, width_m, lumens, height_m, x_m, y_m, area_lx, point_lx;
  };
  for (const Case& c : {Case{0.6, 0.6, 3600, 2.0, 0, 0, 278.147, 286.479},
                        {0.6, 0.6, 3600, 2.0, 1, 0, 181.560, 183.346},
                        {0.6, 0.6, 3600, 3.0, 0, 0, 125.650, 127.324},
                        {0.6, 0.6, 3600, 0.5, 0, 0, 3112.771, 4583.662},
                        {1.2, 0.3, 4000, 1.9, 0, 0, 329.844, 352.698},
                        {1.2, 0.3, 4000, 1.9, 2, 1, 65.014, 62.003}}) {
    const auto face = lambertian(c.lumens, {Shape::rectangle, c.length_m, c.width_m, 0.0});
    const LuminaireSource source{face, {0, 0, c.height_m}, {}};
    const double area = direct_illuminance_lx(source, {c.x_m, c.y_m, 0}, kUp);
    EXPECT_PUBLISHED("configuration factor of a rectangle, Howell's catalogue",
                     fmt::format("{} x {} m, {} lm, {} m up, {} m and {} m aside", c.length_m, c.width_m,
                                 c.lumens, c.height_m, c.x_m, c.y_m),
                     "lx", c.area_lx, area, published::relative(0.005));
    // Undivided, the same code gives the point-source value: the subdivision is what makes the difference.
    const EmittingPoint whole = emitting_points(source, {}).front();
    EXPECT_NEAR(contribution_lx(source, whole, {c.x_m, c.y_m, 0}, kUp), c.point_lx, 1e-4 * c.point_lx);
  }
}

TEST(Direct, StaysWithinItsErrorBoundAtEveryDistance) {
  // Below the corner of a square the factor is exact: F = (1/2 pi) [2 A / sqrt(1+A^2) atan(A / sqrt(1+A^2))].
  // The header promises 0.17 % for each undivided axis and 0.05 % for each divided one; the table adds 1e-5.
  const auto face = lambertian(1000.0, {Shape::rectangle, 1.0, 1.0, 0.0});
  for (double h = 0.1; h < 30.0; h *= 1.3) {
    const LuminaireSource source{face, {0, 0, h}, {}};
    const double a = 0.5 / h;  // centre: four quarter squares
    const double root = std::sqrt(1.0 + a * a);
    const double exact = 1000.0 * 4.0 / (2.0 * kPi) * 2.0 * a / root * std::atan(a / root);
    const double bound = h >= 10.0 ? 2 * 0.0017 : 2 * 0.0005;
    EXPECT_NEAR(direct_illuminance_lx(source, {0, 0, 0}, kUp), exact, (bound + 2e-5) * exact) << h;
  }
}

TEST(Direct, DiscMatchesTheClosedForm) {
  // E = pi L r^2 / (r^2 + h^2), L = 1000 cd/m2, r = 0.5 m, h = 2 m: 184.7996 lx; off axis
  // E = pi L / 2 [1 - (1 + H^2 - R^2) / sqrt(Z^2 - 4 R^2)], H = h/a, R = r/a, Z = 1 + H^2 + R^2.
  const double lumens = 1000.0 * kPi * kPi * 0.25;
  const auto face = lambertian(lumens, {Shape::circle, 1.0, 1.0, 0.0});
  const LuminaireSource source{face, {0, 0, 2}, {}};
  const char* const howell = "configuration factor of a disc, Howell's catalogue";
  EXPECT_PUBLISHED(howell, "disc of 1 m and 1000 cd/m², 2 m up, below its centre", "lx", 184.7996,
                   direct_illuminance_lx(source, {0, 0, 0}, kUp), published::relative(0.005));
  const double a = 1.0, h = 2.0 / a, r = 0.5 / a, z = 1 + h * h + r * r;
  const double aside = 500.0 * kPi * (1.0 - (1 + h * h - r * r) / std::sqrt(z * z - 4 * r * r));
  EXPECT_PUBLISHED(howell, "disc of 1 m and 1000 cd/m², 2 m up, 1 m aside", "lx", aside,
                   direct_illuminance_lx(source, {1, 0, 0}, kUp), published::relative(0.005));
  EXPECT_NEAR(direct_illuminance_lx(source, {0, -1, 0}, kUp), aside, 0.005 * aside);
}

TEST(Direct, SubdivisionFollowsTheFiveTimesRule) {
  const auto face = lambertian(1000.0, {Shape::rectangle, 1.2, 0.3, 0.0});
  const LuminaireSource source{face, {}, {}};
  for (double d = 0.5; d < 20.0; d *= 1.1) {
    const Subdivision n = required_subdivision(source, d);
    EXPECT_LE(1.2 / n.along_length, d / 5 + 1e-12);
    EXPECT_LE(0.3 / n.along_width, d / 5 + 1e-12);
    EXPECT_EQ(n.along_height, 1);
  }
  EXPECT_EQ(required_subdivision(source, 12.0), (Subdivision{1, 1, 1}));
  EXPECT_EQ(required_subdivision(source, 0.0).along_length, 64);
  EXPECT_EQ(required_subdivision(source, 0.0).along_width, 16);
}

TEST(Direct, EmittingPointsLieInTheOpeningAndShareAllOfIt) {
  for (const Shape shape :
       {Shape::rectangle, Shape::box, Shape::circle, Shape::ellipse, Shape::vertical_cylinder, Shape::sphere,
        Shape::ellipsoid, Shape::cylinder_along, Shape::cylinder_across, Shape::vertical_ellipse}) {
    const LuminousOpening opening{shape, 0.8, 0.5, 0.3};
    const auto face = lambertian(1000.0, opening);
    const LuminaireSource source{face, {1, 2, 3}, luminaire_frame(0, 0, 0)};
    double shares = 0.0;
    Vector3 centre;
    Vector3 extent;
    const auto points = emitting_points(source, {8, 8, 8});
    for (const EmittingPoint& p : points) {
      const Vector3 local = p.position - source.position;
      shares += p.share;
      centre = centre + p.share * local;
      extent = {std::max(extent.x, std::abs(local.x)), std::max(extent.y, std::abs(local.y)),
                std::max(extent.z, std::abs(local.z))};
    }
    EXPECT_NEAR(shares, 1.0, 1e-12);
    EXPECT_NEAR(length(centre), 0.0, 1e-12) << name_of(shape);
    EXPECT_LE(extent.x, 0.4 + 1e-12) << name_of(shape);
    EXPECT_LE(extent.y, 0.25 + 1e-12) << name_of(shape);
    EXPECT_LE(extent.z, 0.15 + 1e-12) << name_of(shape);
    EXPECT_GT(extent.x, 0.3) << name_of(shape);  // and fill it
    EXPECT_GT(extent.y, 0.18) << name_of(shape);
  }
}

TEST(Direct, ContributionsSumToTheAdaptiveValue) {
  const auto face = lambertian(3600.0, {Shape::rectangle, 0.6, 0.6, 0.0});
  const LuminaireSource source{face, {0, 0, 2}, luminaire_frame(20, 10, 5)};
  const Point3 at{0.4, 0.3, 0};
  double sum = 0.0;
  for (const EmittingPoint& p :
       emitting_points(source, required_subdivision(source, distance_to_opening_m(source, at))))
    sum += contribution_lx(source, p, at, kUp);
  EXPECT_DOUBLE_EQ(sum, direct_illuminance_lx(source, at, kUp));
}

TEST(Direct, OrientationTurnsTheAimAsDocumented) {
  const auto aim = [](const Frame& f) { return -f.z; };
  const auto expect_vector = [](Vector3 got, Vector3 want) { EXPECT_NEAR(length(got - want), 0.0, 1e-12); };
  expect_vector(aim(luminaire_frame(0, 0, 0)), {0, 0, -1});
  expect_vector(luminaire_frame(90, 0, 0).x, {0, 1, 0});       // length turned counter-clockwise
  expect_vector(aim(luminaire_frame(0, 90, 0)), {0, 1, 0});    // tilt: towards the 90-degree plane
  expect_vector(aim(luminaire_frame(0, 0, 90)), {1, 0, 0});    // roll: towards +x
  expect_vector(aim(luminaire_frame(90, 90, 0)), {-1, 0, 0});  // tilt first, then turn
  expect_vector(luminaire_frame(0, 0, -90).x, {0, 0, -1});     // types A and B aim down
  const Frame f = luminaire_frame(33, 21, -17);
  expect_vector(cross(f.x, f.y), f.z);
  EXPECT_NEAR(dot(f.x, f.y), 0.0, 1e-15);
}

TEST(Direct, TiltedLobeLightsTheSideItIsTurnedTo) {
  const auto beam = tabulate(PhotometricType::c, steps(0, 90, 5), {0}, [](double t, double) {
    return t < 90.0 ? 1000.0 * std::pow(std::cos(t * kRadPerDeg), 8) : 0.0;
  });
  const LuminaireSource source{beam, {0, 0, 3}, luminaire_frame(0, 30, 0)};
  const double towards = direct_illuminance_lx(source, {0, 1, 0}, kUp);
  const double away = direct_illuminance_lx(source, {0, -1, 0}, kUp);
  EXPECT_GT(towards, 3.0 * away);
  // Along the aim the full intensity arrives: E = I cos(30) / d^2 with d = 3 / cos(30).
  const double cosine = std::cos(30.0 * kRadPerDeg);
  EXPECT_NEAR(direct_illuminance_lx(source, {0, 3.0 * std::tan(30.0 * kRadPerDeg), 0}, kUp),
              1000.0 * cosine * cosine * cosine / 9.0, 1e-6);
}

TEST(Direct, FluxThroughTheFloorIsTheLuminairesFlux) {
  // Energy: a disc of floor of radius R around the nadir takes sin^2 T = R^2 / (R^2 + h^2) of a cosine
  // source's flux. Rings and sectors by mid-points; the opening's 0.3 m smears the rim by less than (0.15 /
  // 9)^2: 0.1 %.
  const auto face = lambertian(2000.0, {Shape::rectangle, 0.3, 0.3, 0.0});
  const LuminaireSource source{face, {0, 0, 3}, {}};
  double flux = 0.0;
  const double dr = 0.02;
  for (double r = 0.5 * dr; r < 9.0; r += dr)
    for (int k = 0; k < 8; ++k) {
      const double angle = (k + 0.5) * kPi / 4.0;
      flux += direct_illuminance_lx(source, {r * std::cos(angle), r * std::sin(angle), 0}, kUp) * r * dr *
              kPi / 4.0;
    }
  EXPECT_PUBLISHED("closed form R² / (R² + h²)",
                   "flux of 2000 lm by the cosine law on a disc of floor, R = 9 m, h = 3 m", "lm",
                   2000.0 * 81.0 / 90.0, flux, 0.001 * 2000.0);
}

}  // namespace
}  // namespace halflight::photometry
