#include "daylight/slats.hpp"

#include "base/units.hpp"
#include "daylight/glazing.hpp"
#include "geometry/vector.hpp"
#include "published.hpp"

#include <cmath>
#include <random>
#include <string>
#include <tuple>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::daylight {
namespace {

// Even light from outside, in the plane across the slats: the mean over profile angles weighted with cos / 2.
template <class Value>
double even_mean(Value value) {
  constexpr int n = 18'000;
  double sum = 0.0;
  for (int i = 0; i < n; ++i) {
    const double profile = kPi * ((i + 0.5) / n - 0.5);
    sum += value(profile) * std::cos(profile) * kPi / (2.0 * n);
  }
  return sum;
}

TEST(Slats, EvenLightPassesBlackLevelSlatsAsCrossedStringsSay) {
  // Between two parallel strips of width w at distance s the view from one opening to the other is
  // sqrt(1 + (w / s)^2) - w / s (Hottel).
  for (const double ratio : {0.5, 1.0, 1.25, 2.0}) {
    const SlatLaw law({ratio * 0.02, 0.02, 0.0, 0.0});
    EXPECT_PUBLISHED("crossed strings (Hottel)",
                     fmt::format("even light straight through level slats, width {} of the spacing", ratio),
                     "", std::sqrt(1.0 + ratio * ratio) - ratio,
                     even_mean([&](double p) { return law.at(p).straight; }), published::relative(1e-4));
  }
}

TEST(Slats, EvenLightPassesBlackTiltedSlatsAsCrossedStringsSay) {
  // Openings of a tilted cell: the diagonals of a parallelogram with sides w and s less the slats themselves.
  const double w = 1.25;
  const double tilt = 30.0 * kRadPerDeg;
  const SlatLaw law({w * 0.02, 0.02, 30.0, 0.0});
  const double long_diagonal = std::sqrt(1.0 + w * w + 2.0 * w * std::sin(tilt));
  const double short_diagonal = std::sqrt(1.0 + w * w - 2.0 * w * std::sin(tilt));
  EXPECT_PUBLISHED("crossed strings (Hottel)", "even light straight through slats tilted by 30°", "",
                   0.5 * (long_diagonal + short_diagonal) - w,
                   even_mean([&](double p) { return law.at(p).straight; }), published::relative(1e-4));
}

struct Counted {
  double straight = 0.0;
  double downwards = 0.0;
  double upwards = 0.0;
};

/// Photons one by one through a cell between two slats, in the plane across them: an endless matt slat sends
/// what it reflects in directions whose projections on that plane are again spread by the cosine.
Counted random_walks(const SlatGeometry& slats, double profile_rad, int photons) {
  std::mt19937_64 generator(7);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  const double tilt = slats.tilt_deg * kRadPerDeg;
  const Vector2 outwards{std::cos(tilt), -std::sin(tilt)};
  const Vector2 up_normal{std::sin(tilt), std::cos(tilt)};  // of the upper face
  const double w = slats.width_m;
  const double s = slats.spacing_m;
  Counted counted;
  for (int k = 0; k < photons; ++k) {
    Point2 p{w * outwards.x, w * outwards.y + s * uniform(generator)};
    Vector2 d{-std::cos(profile_rad), -std::sin(profile_rad)};
    for (bool touched = false;; touched = true) {
      // Distances to the upper face of the slat below and the lower face of the slat above, along d.
      double nearest = 1e30;
      int face = -1;
      for (int f = 0; f < 2; ++f) {
        const double toward = dot(d, up_normal);
        if (f == 0 ? toward >= 0.0 : toward <= 0.0) continue;
        const Point2 origin{0.0, f == 0 ? 0.0 : s};
        const double t = dot(origin - p, up_normal) / toward;
        const double along = dot(p + t * d - origin, outwards);
        if (t > 1e-12 && along >= 0.0 && along <= w && t < nearest) {
          nearest = t;
          face = f;
        }
      }
      if (face < 0) {
        if (d.x < 0.0) (!touched ? counted.straight : d.y < 0.0 ? counted.downwards : counted.upwards) += 1.0;
        break;
      }
      if (uniform(generator) >= slats.reflectance) break;
      p = p + nearest * d;
      const double sine = 2.0 * uniform(generator) - 1.0;
      const double cosine = std::sqrt(1.0 - sine * sine);
      const double side = face == 0 ? 1.0 : -1.0;
      d = {sine * outwards.x + side * cosine * up_normal.x, sine * outwards.y + side * cosine * up_normal.y};
    }
  }
  counted.straight /= photons;
  counted.downwards /= photons;
  counted.upwards /= photons;
  return counted;
}

TEST(Slats, ScatteredLightMatchesRandomWalks) {
  constexpr int photons = 200'000;
  // Four standard errors of a share by counting are at most 4 x 0.5 / sqrt(200,000) = 0.0045; strips of a
  // 24th of a slat and steps of one degree add less than 0.0015 (seen by halving them).
  for (const auto& [tilt, profile, reflectance] :
       {std::tuple{0.0, 30.0, 0.7}, std::tuple{30.0, 20.0, 0.7}, std::tuple{30.0, 55.0, 0.9},
        std::tuple{-30.0, 40.0, 0.8}, std::tuple{60.0, -25.0, 0.5}, std::tuple{20.0, 75.0, 0.8}}) {
    const SlatGeometry slats{0.025, 0.020, tilt, reflectance};
    const SlatOptics computed = SlatLaw(slats).at(profile * kRadPerDeg);
    const Counted expected = random_walks(slats, profile * kRadPerDeg, photons);
    const std::string what =
        fmt::format("slats tilted {}°, reflectance {}, light from {}°", tilt, reflectance, profile);
    EXPECT_PUBLISHED("random walks of 200,000 photons", what + ": straight", "", expected.straight,
                     computed.straight, 0.006);
    EXPECT_PUBLISHED("random walks of 200,000 photons", what + ": descending", "", expected.downwards,
                     computed.downwards, 0.006);
    EXPECT_PUBLISHED("random walks of 200,000 photons", what + ": rising", "", expected.upwards,
                     computed.upwards, 0.006);
  }
}

TEST(Slats, LevelSlatsTreatSkyAndGroundAsMirrorImages) {
  const SlatLaw law({0.025, 0.020, 0.0, 0.8});
  for (const double degrees : {10.0, 35.0, 60.0, 80.0}) {
    const SlatOptics above = law.at(degrees * kRadPerDeg);
    const SlatOptics below = law.at(-degrees * kRadPerDeg);
    EXPECT_NEAR(above.upwards, below.downwards, 1e-12);
    EXPECT_NEAR(above.downwards, below.upwards, 1e-12);
    EXPECT_GT(above.upwards, above.downwards);
  }
}

TEST(OpeningLaw, SlatsSendTheSunToTheCeiling) {
  domain::Glazing glass;
  domain::Shade blind;
  blind.kind = domain::Shade::Kind::slats;
  blind.slat_tilt_deg = 0.0;
  const Vector3 south{0.0, -1.0, 0.0};
  const OpeningLaw law(glass, 0.0, &blind, south);
  const double h = 60.0 * kRadPerDeg;
  const Passage high = law.from({0.0, -std::cos(h), std::sin(h)});
  EXPECT_EQ(high.straight, 0.0);  // 1.25 sin 60 / cos 60 > 1
  EXPECT_GT(high.rising_per_sr, high.descending_per_sr);
  // Obliquely the same elevation is a steeper profile; along the slats' normal plane it is itself.
  const SlatLaw slats({blind.slat_width_m, blind.slat_spacing_m, 0.0, blind.slat_reflectance});
  const double low = 20.0 * kRadPerDeg;
  const double aside = 50.0 * kRadPerDeg;
  const Vector3 d{std::cos(low) * std::sin(aside), -std::cos(low) * std::cos(aside), std::sin(low)};
  const double profile = std::atan(std::tan(low) / std::cos(aside));
  EXPECT_NEAR(law.from(d).straight,
              OpeningLaw(glass, 0.0, nullptr, south).from(d).straight * slats.at(profile).straight, 1e-12);
  EXPECT_EQ(law.from({0.0, 1.0, 0.0}).straight, 0.0) << "from inside";
  // Ground light rises, so level slats let it pass upwards.
  EXPECT_GT(law.from_ground().straight, 0.0);
}

}  // namespace
}  // namespace halflight::daylight
