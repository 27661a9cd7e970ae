// The intensity distribution of the document (domain/intensity_distribution.hpp) under light.
#include "base/random.hpp"
#include "base/units.hpp"
#include "geometry/vector.hpp"
#include "photometry/test_distributions.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::direction_of;
using domain::IntensityDistribution;
using domain::PhotometricType;
using domain::Symmetry;

Vector3 random_direction(std::uint32_t slot) {
  const auto [a, b] = random_uniform_pair({1, 2}, {0, 0, hash_name("direction"), slot});
  const double z = 2.0 * a - 1.0;
  const double ring = std::sqrt(1.0 - z * z);
  return {ring * std::cos(2.0 * kPi * b), ring * std::sin(2.0 * kPi * b), z};
}

TEST(Intensity, IsTheTableAtItsNodesAndLinearBetween) {
  const auto table =
      tabulate(PhotometricType::c, steps(0, 180, 15), steps(0, 360, 30),
               [](double t, double c) { return 1000.0 + 2.0 * t + (c == 360.0 ? 0.0 : 0.5 * c); });
  EXPECT_EQ(table.symmetry(), Symmetry::none);
  // Away from the seam the function is bilinear already. 1e-9 covers the rounding of angles near 360 degrees.
  for (const double t : {15.0, 22.5, 61.0, 90.0, 151.3})
    for (const double c : {0.0, 12.0, 90.0, 211.0, 329.0})
      EXPECT_NEAR(table.intensity_cd(direction_of(PhotometricType::c, t, c)), 1000.0 + 2.0 * t + 0.5 * c,
                  1e-9)
          << t << " " << c;
}

TEST(Intensity, UnevenAnglesInterpolateAlike) {
  const auto line = [](double t, double c) { return 10.0 + t + 0.1 * c; };
  const auto even = tabulate(PhotometricType::c, steps(0, 90, 5), steps(0, 90, 15), line);
  const auto uneven = tabulate(PhotometricType::c, {0, 1, 7, 30, 31.5, 88, 90}, {0, 3, 70, 90}, line);
  for (std::uint32_t i = 0; i < 2000; ++i) {
    Vector3 d = random_direction(i);
    d.z = -std::abs(d.z);
    EXPECT_NEAR(even.intensity_cd(d), uneven.intensity_cd(d), 1e-9);
  }
}

TEST(Intensity, FramePutsTheZeroPlaneAlongTheLengthAndNadirDown) {
  const auto table =
      tabulate(PhotometricType::c, {0, 90, 180}, {0, 90, 180, 270, 360}, [](double t, double c) {
        return t == 90.0 ? 100.0 + (c == 360.0 ? 0.0 : c) : t == 0.0 ? 1.0 : 2.0;
      });
  EXPECT_DOUBLE_EQ(table.intensity_cd({0, 0, -1}), 1.0);
  EXPECT_DOUBLE_EQ(table.intensity_cd({0, 0, 1}), 2.0);
  EXPECT_DOUBLE_EQ(table.intensity_cd({1, 0, 0}), 100.0);
  EXPECT_DOUBLE_EQ(table.intensity_cd({0, 1, 0}), 190.0);
  EXPECT_DOUBLE_EQ(table.intensity_cd({-1, 0, 0}), 280.0);
  EXPECT_DOUBLE_EQ(table.intensity_cd({0, -1, 0}), 370.0);
}

TEST(Intensity, PartTablesEqualTheirWrittenOutSelves) {
  // Each shape obeys its symmetry; the part table must give what the table of all planes gives. Rounding
  // only.
  struct Case {
    Symmetry symmetry;
    double first, last;
    double (*shape)(double c);
  };
  for (const Case& k : {
           Case{Symmetry::quadrant, 0, 90, [](double c) { return 2.0 + std::cos(2.0 * c * kRadPerDeg); }},
           Case{Symmetry::bilateral_0_180, 0, 180, [](double c) { return 2.0 + std::cos(c * kRadPerDeg); }},
           Case{Symmetry::bilateral_90_270, 90, 270, [](double c) { return 2.0 + std::sin(c * kRadPerDeg); }},
       }) {
    const auto intensity = [&k](double t, double c) { return (200.0 - t) * k.shape(c); };
    const auto part = tabulate(PhotometricType::c, steps(0, 180, 5), steps(k.first, k.last, 15), intensity);
    const auto whole = tabulate(PhotometricType::c, steps(0, 180, 5), steps(0, 360, 15), intensity);
    ASSERT_EQ(part.symmetry(), k.symmetry);
    for (std::uint32_t i = 0; i < 2000; ++i) {
      const Vector3 d = random_direction(i);
      EXPECT_NEAR(part.intensity_cd(d), whole.intensity_cd(d), 1e-9) << name_of(k.symmetry);
    }
  }
}

TEST(Intensity, TypesAAndBPointWhereTheirAnglesSay) {
  // In its own angles a table that is linear is reproduced exactly, through the conversion of the direction.
  const auto linear = [](double v, double h) { return 500.0 + 2.0 * v + h; };
  for (const PhotometricType type : {PhotometricType::a, PhotometricType::b}) {
    const auto table = tabulate(type, steps(-90, 90, 10), steps(-90, 90, 10), linear);
    for (const double v : {-80.0, -33.0, 0.0, 47.0, 80.0})
      for (const double h : {-75.0, -10.0, 0.0, 5.0, 62.0})
        EXPECT_NEAR(table.intensity_cd(direction_of(type, v, h)), linear(v, h), 1e-9) << v << " " << h;
    EXPECT_EQ(table.intensity_cd({-1, 0, 0}), 0.0);  // nothing behind
    // Up is positive V; the right of somebody who looks along +x is -y.
    EXPECT_NEAR(table.intensity_cd(normalized({1, 0, 1})), linear(45, 0), 1e-9);
    EXPECT_NEAR(table.intensity_cd(normalized({1, -1, 0})), linear(0, 45), 1e-9);
  }
  // The two types part where both angles are large: same direction, other angles (exact conversion by hand).
  const Vector3 d = normalized({1, -1, 1});
  const auto a = tabulate(PhotometricType::a, steps(-90, 90, 10), steps(-90, 90, 10), linear);
  const auto b = tabulate(PhotometricType::b, steps(-90, 90, 10), steps(-90, 90, 10), linear);
  const double steep = std::asin(1.0 / std::sqrt(3.0)) * kDegPerRad;
  EXPECT_NEAR(a.intensity_cd(d), linear(steep, 45), 1e-9);
  EXPECT_NEAR(b.intensity_cd(d), linear(45, steep), 1e-9);
}

TEST(Intensity, HorizontalMirrorOfTypesAAndB) {
  const auto table = tabulate(PhotometricType::b, steps(-90, 90, 10), steps(0, 90, 10),
                              [](double v, double h) { return 300.0 + v - h; });
  EXPECT_EQ(table.symmetry(), Symmetry::mirrored_h);
  EXPECT_NEAR(table.intensity_cd(normalized({1, 0.5, 0.2})), table.intensity_cd(normalized({1, -0.5, 0.2})),
              1e-10);
}

TEST(Intensity, NothingBeyondTheTable) {
  const auto table = tabulate(PhotometricType::c, {0, 45, 90}, {0}, [](double, double) { return 100.0; });
  EXPECT_EQ(table.intensity_cd({1, 0, 0}), 100.0);
  EXPECT_EQ(table.intensity_cd(normalized({1, 0, 1e-4})), 0.0);
  EXPECT_EQ(table.intensity_cd({0, 0, 1}), 0.0);
}

TEST(Intensity, TablesThatCannotBeAreRefused) {
  domain::PhotometricData good;
  good.vertical_deg = {0, 90};
  good.horizontal_deg = {0};
  good.candela = {1, 0};
  ASSERT_TRUE(IntensityDistribution::make(good).has_value());
  const auto refused = [&good](auto change) {
    domain::PhotometricData data = good;
    change(data);
    return !IntensityDistribution::make(std::move(data)).has_value();
  };
  EXPECT_TRUE(refused([](auto& d) { d.candela = {1}; }));
  EXPECT_TRUE(refused([](auto& d) { d.candela[1] = -1; }));
  EXPECT_TRUE(refused([](auto& d) { d.candela[1] = std::nan(""); }));
  EXPECT_TRUE(refused([](auto& d) { d.vertical_deg = {90, 0}; }));
  EXPECT_TRUE(refused([](auto& d) { d.vertical_deg = {0, 80}; }));
  EXPECT_TRUE(refused([](auto& d) { d.vertical_deg = {0, std::nan("")}; }));
  EXPECT_TRUE(refused([](auto& d) { d.horizontal_deg = {45}; }));
  EXPECT_TRUE(refused([](auto& d) {
    d.horizontal_deg = {};
    d.candela = {};
  }));
  EXPECT_TRUE(refused([](auto& d) {
    d.horizontal_deg = {0, 120};
    d.candela = {1, 0, 1, 0};
  }));
  EXPECT_TRUE(refused([](auto& d) { d.type = PhotometricType::b; }));
}

TEST(Intensity, LampTiltInterpolates) {
  domain::PhotometricData data;
  data.vertical_deg = {0, 90};
  data.horizontal_deg = {0};
  data.candela = {1, 0};
  EXPECT_EQ(IntensityDistribution::make(data)->lamp_tilt_factor(30), 1.0);
  data.lamp_tilt = domain::LampTilt{1, {0, 40, 90}, {1.0, 0.9, 0.8}};
  const auto table = IntensityDistribution::make(data).value();
  EXPECT_DOUBLE_EQ(table.lamp_tilt_factor(20), 0.95);
  EXPECT_DOUBLE_EQ(table.lamp_tilt_factor(-20), 0.95);
  EXPECT_DOUBLE_EQ(table.lamp_tilt_factor(120), 0.8);
}

}  // namespace
}  // namespace halflight::photometry
