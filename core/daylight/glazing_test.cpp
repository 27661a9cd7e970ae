#include "daylight/glazing.hpp"

#include "base/units.hpp"
#include "published.hpp"

#include <array>
#include <cmath>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::daylight {
namespace {

double cosine_of(double degrees) { return std::cos(degrees * kRadPerDeg); }

// Fresnel and absorption formulas for one unpolarised pane, n = 1.526, evaluated independently to four
// digits. Tolerance: half a unit of the last printed digit.
constexpr const char* kFresnel = "formulas of Fresnel and absorption, n = 1.526, evaluated independently";
TEST(Glazing, OnePaneFollowsFresnelAndAbsorption) {
  const std::array<double, 10> angles = {0, 10, 20, 30, 40, 50, 60, 70, 80, 85};
  const std::array<double, 10> clear = {.9169, .9169, .9165, .9145, .9080, .8897, .8421, .7236, .4554, .2453};
  const std::array<double, 10> six_mm = {.8800, .8797, .8787, .8756, .8677,
                                         .8481, .8002, .6843, .4241, .2195};
  const std::array<double, 10> reflected = {.0800, .0800, .0803, .0821, .0883,
                                            .1058, .1516, .2657, .5257, .7326};
  for (std::size_t i = 0; i < angles.size(); ++i) {
    EXPECT_NEAR(pane_optics(cosine_of(angles[i]), 0.0).transmittance, clear[i], 5.1e-5) << angles[i];
    EXPECT_PUBLISHED(kFresnel, fmt::format("transmittance of 6 mm of clear glass at {}°", angles[i]), "",
                     six_mm[i], pane_optics(cosine_of(angles[i]), 0.040908).transmittance, 5.1e-5);
    EXPECT_NEAR(pane_optics(cosine_of(angles[i]), 0.040908).reflectance, reflected[i], 5.1e-5) << angles[i];
  }
}

TEST(Glazing, RatedLawKeepsItsRatingAndMatchesThePaneItStandsFor) {
  const GlazingLaw law(0.88, 1);
  EXPECT_NEAR(law.transmittance(1.0), 0.88, 1e-12);
  EXPECT_NEAR(law.transmittance(cosine_of(60)), 0.8002, 1e-4);
  EXPECT_PUBLISHED(kFresnel, "hemispherical transmittance of a pane rated 0.88", "", 0.8058,
                   law.hemispherical(), 1e-4);
  EXPECT_PUBLISHED(kFresnel, "hemispherical transmittance of a pane that absorbs nothing", "", 0.8451,
                   GlazingLaw(0.9169, 1).hemispherical(), 1.5e-4);
}

TEST(Glazing, MorePanesOfOneRatingPassLessAtGrazingAngles) {
  const GlazingLaw one(0.7, 1);
  const GlazingLaw two(0.7, 2);
  EXPECT_NEAR(two.transmittance(1.0), 0.7, 1e-12);
  EXPECT_LT(two.transmittance(cosine_of(75)), one.transmittance(cosine_of(75)));
}

TEST(Glazing, ClothAndDiffusingGlassMoveLightFromBeamToScattered) {
  domain::Glazing glass;
  glass.transmittance = 0.7;
  glass.maintenance = 0.9;
  domain::Shade shade;
  shade.openness = 0.05;
  shade.diffuse_transmittance = 0.10;
  const Vector3 out{0.0, -1.0, 0.0};
  const OpeningLaw open(glass, 0.2, nullptr, out);
  const OpeningLaw drawn(glass, 0.2, &shade, out);
  EXPECT_NEAR(open.from(out).straight, 0.7 * 0.9 * 0.8, 1e-12);
  EXPECT_EQ(open.from(out).descending_per_sr, 0.0);
  EXPECT_NEAR(drawn.from(out).straight, 0.05 * open.from(out).straight, 1e-12);
  const Vector3 oblique{std::sqrt(0.75), -0.5, 0.0};
  // Even luminance: exitance over pi, in both halves.
  EXPECT_NEAR(kPi * drawn.from(oblique).descending_per_sr, 0.10 * open.from(oblique).straight, 1e-12);
  EXPECT_EQ(drawn.from(oblique).rising_per_sr, drawn.from(oblique).descending_per_sr);
  glass.kind = domain::Glazing::Kind::diffusing;
  const OpeningLaw milky(glass, 0.2, nullptr, out);
  EXPECT_EQ(milky.from(out).straight, 0.0);
  EXPECT_NEAR(kPi * milky.from(out).rising_per_sr, open.from(out).straight, 1e-12);
}

TEST(Glazing, SwitchedGlassIsAGlazingOfItsOwn) {
  domain::Glazing clear;
  clear.transmittance = 0.6;
  clear.panes = 2;
  domain::Glazing dark = clear;
  dark.transmittance = 0.06;
  domain::Shade shade;
  shade.kind = domain::Shade::Kind::switched_glass;
  shade.switched_transmittance = 0.06;
  const Vector3 out{0.0, -1.0, 0.0};
  const OpeningLaw switched(clear, 0.2, &shade, out);
  const OpeningLaw rated(dark, 0.2, nullptr, out);
  for (const double degrees : {0.0, 40.0, 75.0}) {
    const Vector3 towards{std::sin(degrees * kRadPerDeg), -cosine_of(degrees), 0.0};
    EXPECT_EQ(switched.from(towards).straight, rated.from(towards).straight) << degrees;
    EXPECT_EQ(switched.from(towards).descending_per_sr, 0.0);
  }
  shade.switched_diffusing = true;
  const OpeningLaw milky(clear, 0.2, &shade, out);
  EXPECT_EQ(milky.from(out).straight, 0.0);
  EXPECT_NEAR(kPi * milky.from(out).rising_per_sr, rated.from(out).straight, 1e-15);
  EXPECT_NEAR(kPi * milky.from(out).descending_per_sr, rated.from(out).straight, 1e-15);
}

TEST(Glazing, GroundPassesAsAnEvenHalfHemisphereDoes) {
  // By symmetry the mean over the lower half of what an upright opening sees is the hemispherical mean.
  // 4,608 directions: 0.1 %.
  domain::Glazing glass;
  glass.transmittance = 0.88;
  glass.panes = 1;
  glass.maintenance = 1.0;
  const OpeningLaw law(glass, 0.0, nullptr, {1.0, 0.0, 0.0});
  EXPECT_PUBLISHED(kFresnel, "ground light through an upright pane rated 0.88", "", 0.8058,
                   law.from_ground().straight, published::relative(0.001));
}

}  // namespace
}  // namespace halflight::daylight
