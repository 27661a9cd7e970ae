#include "daylight/well.hpp"

#include "base/units.hpp"
#include "daylight/glazing.hpp"

#include <cmath>
#include <functional>
#include <random>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::daylight {
namespace {

struct Counted {
  double straight = 0.0;
  double scattered = 0.0;
};

// Random walks down the shaft: a point at the top, a direction, and matt reflection off each wall in turn.
Counted walked(const Well& well, const std::function<Vector3(std::mt19937_64&)>& direction) {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  constexpr int walks = 200'000;
  Counted counted;
  for (int n = 0; n < walks; ++n) {
    Point3 p{uniform(random) * well.length_m, uniform(random) * well.width_m,
             0.0};  // z up, the bottom at -depth
    Vector3 d = direction(random);
    for (bool first = true;; first = false) {
      const double to_x = d.x > 0.0 ? (well.length_m - p.x) / d.x : d.x < 0.0 ? -p.x / d.x : 1e30;
      const double to_y = d.y > 0.0 ? (well.width_m - p.y) / d.y : d.y < 0.0 ? -p.y / d.y : 1e30;
      const double to_z = d.z > 0.0 ? -p.z / d.z : d.z < 0.0 ? -(well.depth_m + p.z) / d.z : 1e30;
      const double t = std::min(to_x, to_y);
      if (to_z <= t) {
        if (d.z < 0.0) (first ? counted.straight : counted.scattered) += 1.0 / walks;
        break;
      }
      if (uniform(random) >= well.reflectance) break;
      p = p + t * d;
      const Vector3 normal = to_x <= to_y ? Vector3{d.x > 0.0 ? -1.0 : 1.0, 0.0, 0.0}
                                          : Vector3{0.0, d.y > 0.0 ? -1.0 : 1.0, 0.0};
      const Frame frame = frame_about(normal);
      const double radius = std::sqrt(uniform(random));
      const double angle = 2.0 * kPi * uniform(random);
      d = radius * std::cos(angle) * frame.x + radius * std::sin(angle) * frame.y +
          std::sqrt(1.0 - radius * radius) * frame.z;
    }
  }
  return counted;
}

Vector3 even_down(std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  const double radius = std::sqrt(uniform(random));
  const double angle = 2.0 * kPi * uniform(random);
  return {radius * std::cos(angle), radius * std::sin(angle), -std::sqrt(1.0 - radius * radius)};
}

// 200,000 walks: standard error at most 0.0011 of the flux. Rings are bright evenly around and have one
// sixteenth of the depth: allowed is 0.015 of the flux in all.
constexpr double kAllowed = 0.015;

TEST(Well, PassesEvenLightAsRandomWalksDo) {
  for (const Well& well : {Well{{1, 0}, 1.0, 1.0, 0.5, 0.7}, Well{{1, 0}, 1.2, 1.2, 2.4, 0.8},
                           Well{{1, 0}, 3.0, 1.0, 1.0, 0.5}, Well{{1, 0}, 1.0, 1.0, 1.0, 0.0}}) {
    const Counted counted = walked(well, even_down);
    EXPECT_NEAR(WellLaw(well).even(), counted.straight + counted.scattered, kAllowed)
        << fmt::format("{} x {} x {}, {}", well.length_m, well.width_m, well.depth_m, well.reflectance);
  }
}

TEST(Well, PassesABeamAsRandomWalksDo) {
  for (const Well& well : {Well{{1, 0}, 1.0, 1.0, 1.0, 0.7}, Well{{1, 0}, 2.0, 1.0, 1.5, 0.8}}) {
    const WellLaw law(well);
    for (const double elevation_deg : {75.0, 50.0, 25.0}) {
      const double h = elevation_deg * kRadPerDeg;
      const Vector3 towards{std::cos(h) * 0.8, std::cos(h) * 0.6, std::sin(h)};
      const Counted counted = walked(well, [&](std::mt19937_64&) { return -towards; });
      EXPECT_NEAR(law.straight(towards), counted.straight, 0.005) << elevation_deg;
      EXPECT_NEAR(law.scattered(towards), counted.scattered, kAllowed) << elevation_deg;
    }
  }
}

TEST(Well, PassesAllWithoutDepthAndScattersNothingWhenBlack) {
  const Well shallow{{1, 0}, 1.0, 1.0, 1e-6, 0.5};
  EXPECT_NEAR(WellLaw(shallow).even(), 1.0, 1e-5);
  const Vector3 steep{0.6, 0.0, 0.8};
  EXPECT_NEAR(WellLaw(shallow).straight(steep), 1.0, 1e-5);
  const Well black{{1, 0}, 1.0, 1.0, 1.0, 0.0};
  EXPECT_EQ(WellLaw(black).scattered(steep), 0.0);
  // A shaft that is turned passes what comes along its length as the unturned one does.
  const Well turned{{0, 1}, 2.0, 1.0, 1.0, 0.5};
  const Well plain{{1, 0}, 2.0, 1.0, 1.0, 0.5};
  EXPECT_NEAR(WellLaw(turned).straight({0.0, 0.6, 0.8}), WellLaw(plain).straight({0.6, 0.0, 0.8}), 1e-12);
}

TEST(Well, IsPartOfTheLawOfItsOpening) {
  domain::Glazing glass;
  const Vector3 up{0, 0, 1};
  const Well well{{1, 0}, 1.0, 1.0, 1.0, 0.6};
  const WellLaw shaft(well);
  const OpeningLaw bare(glass, 0.1, nullptr, up);
  const OpeningLaw law(glass, 0.1, nullptr, up, &well);
  const Vector3 towards{0.3, 0.2, std::sqrt(1.0 - 0.13)};
  EXPECT_NEAR(law.from(towards).straight, bare.from(towards).straight * shaft.straight(towards), 1e-12);
  EXPECT_NEAR(kPi * law.from(towards).descending_per_sr,
              bare.from(towards).straight * shaft.scattered(towards), 1e-12);
  glass.kind = domain::Glazing::Kind::diffusing;
  const OpeningLaw milky(glass, 0.1, nullptr, up);
  const OpeningLaw milky_law(glass, 0.1, nullptr, up, &well);
  EXPECT_NEAR(milky_law.from(towards).descending_per_sr, milky.from(towards).descending_per_sr * shaft.even(),
              1e-12);
}

}  // namespace
}  // namespace halflight::daylight
