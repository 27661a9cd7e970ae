#include "photometry/direct.hpp"

#include "base/units.hpp"
#include "photometry/flux.hpp"
#include "photometry/test_distributions.hpp"
#include "published.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::LuminousOpening;
using domain::PhotometricType;
using Shape = LuminousOpening::Shape;

constexpr Vector3 kUp{0, 0, 1};
constexpr const char* kHowell = "configuration factors, Howell's catalogue";

/// A Lambertian face of `lumens` in steps of half a degree: the interpolation error, h^2 / 8 of the peak, is
/// 1e-5.
IntensityDistribution lambertian(double lumens, LuminousOpening opening, double step_deg = 0.5) {
  return tabulate(
      PhotometricType::c, steps(0, 90, step_deg), {0},
      [lumens](double t, double) { return t < 90.0 ? lumens / kPi * std::cos(t * kRadPerDeg) : 0.0; },
      opening);
}

/// A body of 1000 cd/m2 all around, from its projected area along a direction. Steps of a quarter and of one
/// degree: linear between them, so 1e-5 off at most, as above.
IntensityDistribution even_body(LuminousOpening opening, const std::function<double(Vector3)>& projected_m2) {
  return tabulate(
      PhotometricType::c, steps(0, 180, 0.25), steps(0, 90, 1.0),
      [&](double t, double c) { return 1000.0 * projected_m2(direction_of(PhotometricType::c, t, c)); },
      opening);
}
IntensityDistribution even_box(double l, double w, double h) {
  return even_body({Shape::box, l, w, h}, [=](Vector3 d) {
    return w * h * std::abs(d.x) + l * h * std::abs(d.y) + l * w * std::abs(d.z);
  });
}

/// Signed configuration factor of a rectangle from one corner (0, 0) to (a, b), parallel to the receiving
/// element and c away.
double parallel_corner(double a, double b, double c) {
  const double x = a / c;
  const double y = b / c;
  return (x / std::sqrt(1 + x * x) * std::atan(y / std::sqrt(1 + x * x)) +
          y / std::sqrt(1 + y * y) * std::atan(x / std::sqrt(1 + y * y))) /
         (2.0 * kPi);
}
/// Of a rectangle in a plane perpendicular to the element's: `a` high from the element's own plane, `b` wide
/// from the foot of the perpendicular, `c` away.
double perpendicular_corner(double a, double b, double c) {
  const double far = std::hypot(a, c);
  return (std::atan(b / c) - c / far * std::atan(b / far)) / (2.0 * kPi);
}
/// Of x0..x1 by y0..y1, parallel and c away.
double parallel_rectangle(double x0, double x1, double y0, double y1, double c) {
  return parallel_corner(x1, y1, c) - parallel_corner(x0, y1, c) - parallel_corner(x1, y0, c) +
         parallel_corner(x0, y0, c);
}
/// Of `low`..`high` above the element's plane by y0..y1 aside, in a perpendicular plane c away.
double perpendicular_rectangle(double low, double high, double y0, double y1, double c) {
  return perpendicular_corner(high, y1, c) - perpendicular_corner(low, y1, c) -
         perpendicular_corner(high, y0, c) + perpendicular_corner(low, y0, c);
}
/// Finite cylinder of radius r and length l seen by an element h from its axis that faces it from the level
/// of one end (R. Siegel, J. R. Howell, "Thermal Radiation Heat Transfer", appendix; from memory, checked by
/// quadrature to six digits).
double cylinder_from_its_end(double r, double h, double l) {
  const double len = l / r;
  const double far = h / r;
  const double x = (1 + far) * (1 + far) + len * len;
  const double y = (1 - far) * (1 - far) + len * len;
  return std::atan(len / std::sqrt(far * far - 1)) / (kPi * far) +
         len / kPi *
             ((x - 2 * far) / (far * std::sqrt(x * y)) *
                  std::atan(std::sqrt(x * (far - 1) / (y * (far + 1)))) -
              std::atan(std::sqrt((far - 1) / (far + 1))) / far);
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
    const EmittingPoint whole{source.position};
    EXPECT_NEAR(contribution_lx(source, whole, {c.x_m, c.y_m, 0}, kUp), c.point_lx, 1e-4 * c.point_lx);
  }
}

TEST(Direct, TheFiveTimesRuleKeepsItsErrorBelowTheOpening) {
  // The method's page promises 0.17 % for each undivided axis and 0.05 % for each divided one below the
  // middle; the table adds 1e-5.
  const auto face = lambertian(1000.0, {Shape::rectangle, 1.0, 1.0, 0.0});
  for (double h = 0.1; h < 30.0; h *= 1.3) {
    const LuminaireSource source{face, {0, 0, h}, {}};
    const double exact = 1000.0 * 4.0 * parallel_corner(0.5, 0.5, h);
    const double bound = h >= 10.0 ? 2 * 0.0017 : 2 * 0.0005;
    EXPECT_NEAR(direct_illuminance_lx(source, {0, 0, 0}, kUp), exact, (bound + 2e-5) * exact) << h;
  }
}

/// How the bound stands to the error over many places.
class BoundCheck {
 public:
  /// `table` is the share by which the table itself may be off.
  void add(const BoundedIlluminance& got, double exact, double table, const std::string& place) {
    if (exact <= 0.0) return;
    const double error = std::abs(got.lx - exact);
    EXPECT_LE(error, got.bound_lx + table * exact) << place << ": " << got.lx << " for " << exact;
    widest_ = std::max(widest_, got.bound_lx / exact);
    ratios_.push_back(got.bound_lx / std::max(error, 1e-12 * exact));
  }
  [[nodiscard]] double median_ratio() {
    std::sort(ratios_.begin(), ratios_.end());
    return ratios_[ratios_.size() / 2];
  }
  [[nodiscard]] double widest() const { return widest_; }
  [[nodiscard]] std::size_t places() const { return ratios_.size(); }

 private:
  std::vector<double> ratios_;
  double widest_ = 0.0;
};

TEST(Direct, TheBoundHoldsForRectanglesAtEveryDistance) {
  // From 2 mm to 20 m below openings of 1.2 m, beside them as well as under them, on floors and on walls,
  // against configuration factors. The table has steps of a tenth of a degree: 4e-7 of the cosine at nadir,
  // and as much of the peak near 90 degrees, so less than 2e-5 of what arrives above 1 degree of the horizon.
  BoundCheck check;
  for (const double width : {0.05, 0.3, 1.2}) {
    const auto face = lambertian(1000.0, {Shape::rectangle, 1.2, width, 0.0}, 0.1);
    const double exitance = 1000.0 / (1.2 * width);
    for (double h = 0.002; h < 20.0; h *= 1.7)
      for (const double x : {0.0, 0.31, 0.6, 0.9, 2.0, 5.0})
        for (const double y : {0.0, 0.17, 0.7, 3.0}) {
          if (std::hypot(x, y) > 40.0 * h) continue;
          const LuminaireSource source{face, {0, 0, h}, {}};
          const std::string place = fmt::format("{} m wide, {} m below, {}, {} aside", width, h, x, y);
          check.add(direct_illuminance(source, {x, y, 0}, kUp),
                    exitance * parallel_rectangle(-0.6 - x, 0.6 - x, -0.5 * width - y, 0.5 * width - y, h),
                    2e-5, place);
          // A wall that faces -x sees an opening that lies on its front side only.
          if (x > 0.6)
            check.add(
                direct_illuminance(source, {x, y, 0}, {-1, 0, 0}),
                exitance * perpendicular_rectangle(x - 0.6, x + 0.6, -0.5 * width - y, 0.5 * width - y, h),
                2e-5, place + ", wall");
        }
  }
  EXPECT_GT(check.places(), 800U);
  EXPECT_LT(check.median_ratio(), 5.0);  // 2.6
  EXPECT_LT(check.widest(), 0.02);       // 0.013
}

TEST(Direct, TheBoundHoldsForDiscsAtEveryDistance) {
  BoundCheck check;
  const auto face = lambertian(1000.0, {Shape::circle, 0.6, 0.6, 0.0}, 0.1);
  const double exitance = 1000.0 / (kPi * 0.09);
  for (double h = 0.002; h < 20.0; h *= 1.4)
    for (const double x : {0.0, 0.2, 0.3, 0.5, 1.5, 4.0}) {
      if (x > 40.0 * h) continue;
      const double rise = h / x, r = 0.3 / x, z = 1 + rise * rise + r * r;
      const double factor = x == 0.0 ? 0.09 / (0.09 + h * h)
                                     : 0.5 * (1 - (1 + rise * rise - r * r) / std::sqrt(z * z - 4 * r * r));
      const LuminaireSource source{face, {0, 0, h}, {}};
      check.add(direct_illuminance(source, {0.6 * x, 0.8 * x, 0}, kUp), exitance * factor, 2e-5,
                fmt::format("{} m below, {} m aside", h, x));
    }
  EXPECT_GT(check.places(), 100U);
  EXPECT_LT(check.median_ratio(), 20.0);
}

TEST(Direct, TheBoundHoldsForNarrowBeamsAndTurnedSurfaces) {
  // No closed form: 400 x 400 even parts, which leave (1/400)^2 / 24 of the curvature. A beam of cos^40 falls
  // to half within 11 degrees, so that parts of a fifth of the distance, 11 degrees wide, resolve it poorly.
  const auto beam = tabulate(
      PhotometricType::c, steps(0, 90, 1), {0},
      [](double t, double) { return 1000.0 * std::pow(std::max(0.0, std::cos(t * kRadPerDeg)), 40); },
      {Shape::rectangle, 1.2, 0.3, 0.0});
  BoundCheck check;
  for (const double h : {0.3, 0.8, 2.0, 6.0})
    for (const double x : {0.0, 0.4, 0.9})
      for (const Vector3 normal : {kUp, normalized({-0.6, 0.3, 0.5}), normalized({0.9, 0.2, 0.4})}) {
        const LuminaireSource source{beam, {0, 0, h}, {}};
        const Point3 at{x, 0.1, 0};
        double exact = 0.0;
        constexpr int n = 400;
        for (int i = 0; i < n; ++i)
          for (int j = 0; j < n; ++j)
            exact += contribution_lx(
                source, {{1.2 * ((i + 0.5) / n - 0.5), 0.3 * ((j + 0.5) / n - 0.5), h}, 1.0 / (n * n)}, at,
                normal);
        check.add(direct_illuminance(source, at, normal), exact, 1e-5,
                  fmt::format("{} m below, {} m aside, normal {}", h, x, normal.x));
      }
  EXPECT_GE(check.places(), 35U);
  EXPECT_LT(check.median_ratio(), 20.0);
}

TEST(Direct, NearerThanAnyEqualDivisionTheLightIsStillThatOfTheArea) {
  // 5 mm below a panel of 1.2 m.
  const auto face = lambertian(3000.0, {Shape::rectangle, 1.2, 0.6, 0.0}, 0.1);
  const LuminaireSource source{face, {0, 0, 0.005}, {}};
  const double exact = 3000.0 / 0.72 * parallel_rectangle(-0.7, 0.5, -0.35, 0.25, 0.005);
  EXPECT_PUBLISHED(kHowell, "rectangle of 1.2 x 0.6 m, 3000 lm, 5 mm up, 0.1 m and 0.05 m aside", "lx", exact,
                   direct_illuminance_lx(source, {0.1, 0.05, 0}, kUp), published::relative(0.005));
}

TEST(Direct, ASphereShinesAsFromItsCentre) {
  // A sphere of even luminance gives E = pi L R^2 / r^2 at every distance from its centre, as near as its
  // surface.
  const auto sphere = even_body({Shape::sphere, 0.4, 0.4, 0.4}, [](Vector3) { return kPi * 0.04; });
  const LuminaireSource source{sphere, {0, 0, 0}, {}};
  BoundCheck check;
  for (double r = 0.21; r < 10.0; r *= 1.2) {
    const Vector3 d = normalized({0.3, -0.5, -0.8});
    const double exact = kPi * 1000.0 * 0.04 / (r * r);
    check.add(direct_illuminance(source, Point3{} + r * d, -d), exact, 2e-5, fmt::format("{} m", r));
    EXPECT_NEAR(direct_illuminance_lx(source, Point3{} + r * d, -d), exact, 0.005 * exact) << r;
  }
  EXPECT_LT(check.median_ratio(), 20.0);
  EXPECT_PUBLISHED("closed form pi L R² / r²", "globe of 0.4 m and 1000 cd/m², 0.1 m from its surface", "lx",
                   kPi * 1000.0 * 0.04 / 0.09, direct_illuminance_lx(source, {0, 0, -0.3}, kUp),
                   published::relative(0.005));
  EXPECT_EQ(direct_illuminance_lx(source, {0, 0, -0.1}, kUp), 0.0);  // inside
}

TEST(Direct, AnEllipsoidFillsTheConeOfItsTangents) {
  // On its axis a spheroid of semi-axes a, a, c fills a cone with tan^2 = a^2 / (h^2 - c^2), so
  // E = pi L a^2 / (a^2 + h^2 - c^2). Projected area: pi a sqrt(c^2 sin^2 t + a^2 cos^2 t).
  const double a = 0.15, c = 0.3;
  const auto body = even_body({Shape::ellipsoid, 2 * a, 2 * a, 2 * c}, [=](Vector3 d) {
    return kPi * a * std::hypot(c * std::hypot(d.x, d.y), a * d.z);
  });
  const LuminaireSource source{body, {0, 0, 0}, {}};
  for (const double h : {0.35, 0.5, 1.0, 3.0}) {
    const double exact = kPi * 1000.0 * a * a / (a * a + h * h - c * c);
    EXPECT_PUBLISHED("closed form: cone of tangents",
                     fmt::format("spheroid of 0.3 x 0.3 x 0.6 m and 1000 cd/m², {} m below its centre", h),
                     "lx", exact, direct_illuminance_lx(source, {0, 0, -h}, kUp), published::relative(0.005));
  }
}

TEST(Direct, ABoxShinesFromItsSides) {
  // Even luminance: the sum of the rectangles that can be seen.
  const double l = 0.6, w = 0.3, h = 0.2;
  const auto box = even_box(l, w, h);
  const LuminaireSource source{box, {0, 0, 0}, {}};
  BoundCheck check;
  for (const double x : {0.35, 0.5, 1.0, 3.0})
    for (const double z : {-0.12, -0.3, -1.0, -2.5}) {
      const Point3 at{x, 0.05, z};
      // Facing up: the bottom, parallel; the end at x = l/2, perpendicular, of which the height above z
      // counts.
      const double bottom =
          parallel_rectangle(-l / 2 - x, l / 2 - x, -w / 2 - 0.05, w / 2 - 0.05, -h / 2 - z);
      const double end =
          perpendicular_rectangle(-h / 2 - z, h / 2 - z, -w / 2 - 0.05, w / 2 - 0.05, x - l / 2);
      const double exact = kPi * 1000.0 * (bottom + end);
      check.add(direct_illuminance(source, at, kUp), exact, 1e-4, fmt::format("{}, {}", x, z));
      EXPECT_NEAR(direct_illuminance_lx(source, at, kUp), exact, 0.005 * exact) << x << " " << z;
      if (x == 0.5 && z == -0.3) {
        EXPECT_PUBLISHED(kHowell, "box of 0.6 x 0.3 x 0.2 m and 1000 cd/m², 0.2 m below and 0.2 m beside",
                         "lx", exact, direct_illuminance_lx(source, at, kUp), published::relative(0.005));
      }
    }
  EXPECT_LT(check.median_ratio(), 20.0);
  // A wall at the level of its middle sees the end alone.
  EXPECT_PUBLISHED(kHowell, "box of 0.6 x 0.3 x 0.2 m and 1000 cd/m², wall 0.1 m before its end", "lx",
                   kPi * 1000.0 * 4 * parallel_corner(0.15, 0.1, 0.1),
                   direct_illuminance_lx(source, {0.4, 0, 0}, {-1, 0, 0}), published::relative(0.005));
}

TEST(Direct, ACylinderShinesFromItsMantleAndItsEnds) {
  const double r = 0.1, length_m = 1.0;
  struct Case {
    Shape shape;
    Vector3 axis, aside;
    double cylinder[3];
  };
  for (const Case& k : {Case{Shape::vertical_cylinder, {0, 0, 1}, {1, 0, 0}, {2 * r, 2 * r, length_m}},
                        Case{Shape::cylinder_along, {1, 0, 0}, {0, 0, -1}, {length_m, 2 * r, 2 * r}},
                        Case{Shape::cylinder_across, {0, 1, 0}, {0.6, 0, -0.8}, {2 * r, length_m, 2 * r}}}) {
    const auto body = even_body({k.shape, k.cylinder[0], k.cylinder[1], k.cylinder[2]}, [&](Vector3 d) {
      const double along = dot(d, k.axis);
      return kPi * r * r * std::abs(along) + 2 * r * length_m * std::sqrt(std::max(0.0, 1 - along * along));
    });
    const LuminaireSource source{body, {0, 0, 0}, {}};
    for (const double h : {0.12, 0.3, 1.0, 4.0}) {
      const double exact = kPi * 1000.0 * cylinder_from_its_end(r, h, length_m);
      EXPECT_PUBLISHED(
          "configuration factor of a finite cylinder, Siegel and Howell, from memory",
          fmt::format("{} of 0.2 m x 1 m and 1000 cd/m², {} m from its axis at one end", name_of(k.shape), h),
          "lx", exact,
          direct_illuminance_lx(source, Point3{} + (h * k.aside + 0.5 * length_m * k.axis), -k.aside),
          published::relative(0.005));
    }
    // On the axis an end is a disc.
    const double exact = kPi * 1000.0 * r * r / (r * r + 0.04);
    EXPECT_NEAR(direct_illuminance_lx(source, Point3{} + 0.7 * k.axis, -k.axis), exact, 0.005 * exact);
  }
}

TEST(Direct, ASideThatIsDarkAlongItsNormalEmitsNothingThatAnotherCan) {
  // All light straight down and aslant, none sideways: a diffuser in a deep rim. The light must come from the
  // bottom, as from a flat opening at that height.
  const auto rim = lambertian(1000.0, {Shape::box, 0.6, 0.6, 0.2});
  const auto flat = lambertian(1000.0, {Shape::rectangle, 0.6, 0.6, 0.0});
  for (const double x : {0.0, 0.5, 2.0}) {
    const double expected = direct_illuminance_lx({flat, {0, 0, 0.9}, {}}, {x, 0, 0}, kUp);
    EXPECT_NEAR(direct_illuminance_lx({rim, {0, 0, 1.0}, {}}, {x, 0, 0}, kUp), expected, 0.005 * expected)
        << x;
  }
}

TEST(Direct, DiscMatchesTheClosedForm) {
  // E = pi L r^2 / (r^2 + h^2), L = 1000 cd/m2, r = 0.5 m, h = 2 m: 184.7996 lx; off axis
  // E = pi L / 2 [1 - (1 + H^2 - R^2) / sqrt(Z^2 - 4 R^2)], H = h/a, R = r/a, Z = 1 + H^2 + R^2.
  const double lumens = 1000.0 * kPi * kPi * 0.25;
  const auto face = lambertian(lumens, {Shape::circle, 1.0, 1.0, 0.0});
  const LuminaireSource source{face, {0, 0, 2}, {}};

  EXPECT_PUBLISHED(kHowell, "disc of 1 m and 1000 cd/m², 2 m up, below its centre", "lx", 184.7996,
                   direct_illuminance_lx(source, {0, 0, 0}, kUp), published::relative(0.005));
  const double a = 1.0, h = 2.0 / a, r = 0.5 / a, z = 1 + h * h + r * r;
  const double aside = 500.0 * kPi * (1.0 - (1 + h * h - r * r) / std::sqrt(z * z - 4 * r * r));
  EXPECT_PUBLISHED(kHowell, "disc of 1 m and 1000 cd/m², 2 m up, 1 m aside", "lx", aside,
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
  }
  EXPECT_EQ(required_subdivision(source, 12.0), (Subdivision{1, 1}));
  EXPECT_EQ(required_subdivision(source, 0.0).along_length, 64);
  EXPECT_EQ(required_subdivision(source, 0.0).along_width, 16);
}

constexpr Shape kFlat[] = {Shape::rectangle, Shape::circle, Shape::ellipse, Shape::vertical_ellipse};

TEST(Direct, PointsOfFlatOpeningsLieInThemAndShareAllOfThem) {
  for (const Shape shape : kFlat)
    for (const double below : {0.02, 0.3}) {
      const LuminousOpening opening{shape, 0.8, 0.5, shape == Shape::vertical_ellipse ? 0.3 : 0.0};
      const auto face = lambertian(1000.0, opening);
      const LuminaireSource source{face, {1, 2, 3}, luminaire_frame(0, 0, 0)};
      const Point3 before =
          shape == Shape::vertical_ellipse ? Point3{1 + below, 2, 3} : Point3{1, 2, 3 - below};
      double shares = 0.0;
      Vector3 centre;
      Vector3 extent;
      for (const EmittingPoint& p : emitting_points(source, before)) {
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
      EXPECT_GT(extent.y, 0.18) << name_of(shape);  // and fill it
    }
}

TEST(Direct, FarAwayEveryBodyHasTheIntensityOfItsFile) {
  // 100 km away: within 0.1 % (a mantle projects within 0.01 %) of E = I cos / d^2, in directions all around,
  // whether the light is even or falls off by the cosine, for the eleven shapes of LM-63.
  const auto cosine = [](double t, double) {
    return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) + 1.0 : 1.0;
  };
  const auto uneven = [](double t, double c) {
    return 500.0 + 2.0 * t + c * (90.0 - std::abs(t - 90.0)) / 90.0;
  };
  for (const Shape shape : {Shape::point, Shape::rectangle, Shape::circle, Shape::ellipse,
                            Shape::vertical_ellipse, Shape::box, Shape::vertical_cylinder, Shape::sphere,
                            Shape::ellipsoid, Shape::cylinder_along, Shape::cylinder_across}) {
    LuminousOpening opening{shape, 0.8, 0.5, 0.3};
    for (const auto& intensity : {std::function<double(double, double)>(cosine), {uneven}}) {
      const auto table = tabulate(PhotometricType::c, steps(0, 180, 2), steps(0, 90, 5), intensity, opening);
      const LuminaireSource source{table, {1, 2, 3}, luminaire_frame(10, 20, 30)};
      for (const double t : {1.0, 40.0, 89.0, 91.0, 140.0, 179.0})
        for (const double c : {3.0, 77.0, 200.0, 290.0}) {
          const Vector3 local = direction_of(PhotometricType::c, t, c);
          const Frame& f = source.orientation;
          const Vector3 d = local.x * f.x + local.y * f.y + local.z * f.z;
          const double expected = table.intensity_cd(local) / 1e10;
          EXPECT_NEAR(direct_illuminance_lx(source, source.position + 1e5 * d, -d), expected,
                      0.001 * expected)
              << name_of(shape) << " " << t << " " << c;
        }
    }
  }
}

TEST(Direct, ManyPlacesShareADivisionWithoutChangingIt) {
  for (const Shape shape : {Shape::rectangle, Shape::box}) {
    const auto face = lambertian(3600.0, {shape, 0.6, 0.6, shape == Shape::box ? 0.1 : 0.0});
    const LuminaireSource source{face, {0, 0, 2}, luminaire_frame(20, 10, 5)};
    SeenOpening opening(source);
    for (const double x : {0.4, 1.0, 0.4, 3.0, 1.0}) {
      const Point3 at{x, 0.3, x == 3.0 ? 1.98 : 0.0};
      double sum = 0.0;
      for (const EmittingPoint& p : opening.from(at)) sum += contribution_lx(source, p, at, kUp);
      EXPECT_EQ(sum, direct_illuminance_lx(source, at, kUp));
    }
  }
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
