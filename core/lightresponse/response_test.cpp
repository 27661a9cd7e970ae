// The light response end to end, against closed forms and against itself.
#include "lightresponse/response.hpp"

#include "base/units.hpp"
#include "published.hpp"

#include <cmath>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::lightresponse {
namespace {

// A cube of 4 m with grey surfaces and one luminaire type; black when `reflectance` is 0.
domain::Project cube(double reflectance) {
  domain::Project project;
  domain::Space space;
  space.id = "cube";
  space.floor = {{0, 0}, {4, 0}, {4, 4}, {0, 4}};
  space.height_m = 4.0;
  space.reflectances = {reflectance, reflectance, reflectance, reflectance};
  project.spaces.push_back(space);
  domain::LuminaireType type;
  type.id = "panel";
  type.length_m = 0.6;
  type.width_m = 0.6;
  domain::Channel channel;
  channel.id = "all";
  channel.lumens = 3600.0;
  channel.input_w = 30.0;
  channel.photometry.formula = "cosine_down";
  channel.photometry.parameters = {{"exponent", 1.0}};
  type.channels.push_back(channel);
  project.luminaire_types.push_back(type);
  domain::Design design;
  design.id = "proposal";
  domain::Luminaire luminaire;
  luminaire.id = "L1";
  luminaire.type = "panel";
  luminaire.space = "cube";
  luminaire.at = {2.0, 2.0, 4.0};
  design.luminaires.push_back(luminaire);
  project.designs.push_back(design);
  return project;
}

struct Lit {
  SerialExecutor executor;
  std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
  Context context{executor, *blobs, nullptr, {}};
  StageLog log;
  climate::SkyDivision sky{2};
  daylight::Outside outside{sky, daylight::Compass(0.0), {}};
};

PointSet floor_grid(int n) {
  PointSet set;
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j)
      set.points.push_back({{4.0 * (i + 0.5) / n, 4.0 * (j + 0.5) / n, 0.0}, {0, 0, 1}, {}});
  return set;
}

TEST(LightResponse, DirectLightOfAnAreaSourceMatchesItsClosedForm) {
  // Square Lambertian source 0.6 m, 3,600 lm, on axis 4 m below: E = M F with M = 10,000 lm/m2 and F four
  // times the corner factor to a parallel rectangle 0.3 x 0.3 (Howell, configuration factors). Black room:
  // nothing else.
  const domain::Project project = cube(0.0);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene) << to_text(scene.error().front());
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  PointSet set;
  set.points.push_back({{2.0, 2.0, 0.0}, {0, 0, 1}, {}});
  const Result<PointRows> rows = light.rows(set);
  ASSERT_TRUE(rows);
  const double a = 0.3 / 4.0;
  const double root = std::sqrt(1.0 + a * a);
  const double factor = 4.0 * (1.0 / (2.0 * kPi)) * 2.0 * (a / root) * std::atan(a / root);
  EXPECT_PUBLISHED("configuration factor of a rectangle, Howell's catalogue",
                   "square panel of 0.6 m and 3600 lm, 4 m up, black room", "lx", 10'000.0 * factor,
                   rows->electric[0], published::relative(0.005));
}

/// Of the first column at full output, by all surfaces.
double flux_received_lm(const SpaceScene& scene, const SpaceLight& light) {
  double flux_lm = 0.0;
  for (const Patch& patch : scene.enclosure.patches()) {
    PointSet set;
    set.points.push_back({patch.centroid, patch.normal, {}});
    const Result<PointRows> rows = light.rows(set);
    EXPECT_TRUE(rows);
    if (!rows) return -1.0;
    flux_lm += patch.area_m2 * rows->electric[0];
  }
  return flux_lm;
}

TEST(LightResponse, MeanIlluminanceOfAClosedGreyRoomIsFluxOverAbsorption) {
  // Any closed diffuse enclosure of one reflectance: mean total E over all its surface = flux / (S (1 -
  // rho)). Here over the floor only the indirect part is near that mean, so compare the whole energy instead:
  // what the walls, floor and ceiling absorb equals what the luminaire emits.
  const double rho = 0.5;
  const domain::Project project = cube(rho);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  const double absorbed_lm = (1.0 - rho) * flux_received_lm(*scene, light);
  // Bar: interreflection within 1 %.
  EXPECT_PUBLISHED("conservation of energy", "flux absorbed in a grey cube of 4 m, 3600 lm sent out", "lm",
                   3600.0, absorbed_lm, 36.0);
}

// Measured against the same room in patches of half the side, the step takes off most of what patches miss.
TEST(LightResponse, TheStepBetweenTwoSizesOfPatchesTakesOffTheirError) {
  domain::Project project = cube(0.6);
  project.designs[0].luminaires[0].at = {0.5, 2.1, 2.0};  // a bright wall, and a bright floor beside it
  const auto reading = [&](double patch_m) {
    Lit lit;
    LightOptions options;
    options.patch_m = patch_m;
    options.most_patches = 3000;
    options.exchange_rays = 2048;
    options.gather_rays = 16384;
    options.patch_error = 3e-5;
    const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
    const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
    const PointRows rows = light.rows(floor_grid(3)).value();
    double with = 0.0;
    double step = 0.0;
    for (std::size_t p = 0; p < rows.points; ++p) {
      with += rows.electric_reflected[p];
      step += rows.mesh_step[p];
    }
    return std::pair(with, with - step);
  };
  const auto [fine, fine_without] = reading(0.25);
  const auto [coarse, coarse_without] = reading(0.5);
  EXPECT_LT(std::abs(coarse - fine), 0.5 * std::abs(coarse_without - fine));
  EXPECT_LT(coarse_without, 0.997 * fine);  // or there is nothing to take off
  EXPECT_LT(coarse_without, fine_without);
}

TEST(LightResponse, WithoutReflectionThereIsNoErrorOfReflectedLight) {
  const domain::Project project = cube(0.0);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  const PointRows rows = light.rows(floor_grid(3)).value();
  EXPECT_EQ(numerical_error_lx(rows, std::vector<double>{1.0}), 0.0);
  for (const float lx : rows.electric_reflected) EXPECT_EQ(lx, 0.0F);
}

TEST(LightResponse, AHalfHiddenOpeningHasAnErrorByItsPlacesAndAWholeOneHasNone) {
  domain::Project project = cube(0.0);
  project.luminaire_types[0].length_m = 1.2;
  domain::Furniture shelf;  // between the point and half of the luminaire's length
  shelf.id = "shelf";
  shelf.plan = {{2.0, 1.5}, {3.5, 1.5}, {3.5, 1.6}, {2.0, 1.6}};
  shelf.top_m = 3.9;
  project.spaces[0].furniture.push_back(shelf);
  project.spaces[0].reflectances.furniture = 0.0;
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  PointSet set;
  set.points.push_back({{2.0, 0.5, 0.0}, {0, 0, 1}, {}});  // behind the end of the shelf
  set.points.push_back({{2.0, 3.0, 0.0}, {0, 0, 1}, {}});  // on the luminaire's side of it
  const PointRows rows = light.rows(set).value();
  EXPECT_GT(rows.electric[0], 0.0F);
  EXPECT_GT(rows.sample_error[0], 0.02F * rows.electric[0]);
  EXPECT_LT(rows.sample_error[0], rows.electric[0]);
  EXPECT_EQ(rows.sample_error[1], 0.0F);
}

// A photosensor that looks down beside a pool of light, in a room where only the floor reflects. Quadrature
// of reading = (rho / pi) integral of E R cos cos' / r^2 over the floor, E = I h^2 / d^4 under a small
// luminaire that shines by the cosine law.
TEST(LightResponse, APhotosensorSeesTheLightAtThePlaceAndNotThePatchsMean) {
  domain::Project project = cube(0.0);
  project.spaces[0].reflectances.floor = 0.5;
  project.luminaire_types[0].length_m = 0.01;
  project.luminaire_types[0].width_m = 0.01;
  constexpr double h = 0.4;
  project.designs[0].luminaires[0].at = {2.3, 2.2, h};
  const domain::AngularWeighting weighting{domain::AngularWeighting::Kind::narrowed, 8.0};
  const Point3 sensor{1.7, 2.0, 3.999};
  double expected = 0.0;
  constexpr int n = 800;
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j) {
      const Point3 place{4.0 * (i + 0.5) / n, 4.0 * (j + 0.5) / n, 0.0};
      const double d2 = std::pow(place.x - 2.3, 2) + std::pow(place.y - 2.2, 2) + h * h;
      const double lx = 3600.0 / kPi * h * h / (d2 * d2);
      const double r = length(place - sensor);
      const double cosine = sensor.z / r;
      expected += 0.5 / kPi * lx * weighting.response(cosine) * cosine * cosine / (r * r) * 16.0 / (n * n);
    }
  Lit lit;
  LightOptions options;
  options.patch_m = 1.0;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  PointSet set;
  set.points.push_back({sensor, {0, 0, -1}, weighting});
  const double by_means = light.rows(set)->electric[0];
  set.light_at_hits = true;
  const Result<PointRows> rows = light.rows(set);
  // Within the error that is printed.
  EXPECT_PUBLISHED("quadrature",
                   "signal of a narrow photosensor beside a pool of light, only the floor reflects", "lx",
                   expected, rows->electric[0], numerical_error_lx(*rows, std::vector<double>{1.0}));
  EXPECT_LT(numerical_error_lx(*rows, std::vector<double>{1.0}), 0.05 * expected);
  EXPECT_GT(std::abs(by_means - expected), 0.15 * expected);
}

TEST(LightResponse, AGreyRoomUnderASlopeAbsorbsTheFluxOfItsLuminaires) {
  const double rho = 0.5;
  domain::Project project = cube(rho);
  project.spaces[0].ceiling_slope_deg = 20.0;
  project.spaces[0].ceiling_rises_deg = 30.0;
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  const double absorbed_lm = (1.0 - rho) * flux_received_lm(*scene, light);
  EXPECT_EQ(light.leak_share(), 0.0);
  // 1 % as under the level ceiling.
  EXPECT_PUBLISHED("conservation of energy",
                   "flux absorbed in a grey room of 4 m under a slope of 20 degrees, 3600 lm sent out", "lm",
                   3600.0, absorbed_lm, 36.0);
}

TEST(LightResponse, AUniformSkyThroughASlopedSkylight) {
  // A skylight over the whole of a sloped ceiling, black walls: the floor sees it as it would see any surface
  // closing the same directions. Point in the middle: 1 less the four walls' configuration factors, each wall
  // from the floor up to a sloped top, by quadrature of cosine-weighted directions (200 x 800 midpoints).
  domain::Project project = cube(0.0);
  project.designs.clear();
  project.glazings.push_back({});
  project.glazings[0].id = "none";
  project.glazings[0].reflectance_inside = 0.0;
  domain::Space& space = project.spaces[0];
  space.height_m = 2.0;
  space.ceiling_slope_deg = 26.565051177077990;  // 1 in 2
  space.ceiling_rises_deg = 90.0;
  domain::Opening roof;
  roof.id = "R";
  roof.kind = domain::Opening::Kind::skylight;
  roof.plan = space.floor;
  roof.glazing = "none";
  space.openings.push_back(roof);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene);
  EXPECT_NEAR(scene->window_groups[0].area_m2, 16.0 * std::sqrt(1.25), 1e-5);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  PointSet set;
  set.wants_daylight = true;
  set.points.push_back({{2.0, 2.0, 0.0}, {0, 0, 1}, {}});
  const PointRows rows = *light.rows(set);
  double lx = 0.0;
  for (std::size_t k = 0; k < lit.sky.size(); ++k) lx += rows.daylight[k];
  double seen = 0.0;
  constexpr int rings = 200;
  constexpr int steps = 800;
  for (int i = 0; i < rings; ++i)
    for (int j = 0; j < steps; ++j) {
      const double radius = std::sqrt((i + 0.5) / rings);
      const double angle = 2.0 * kPi * (j + 0.5) / steps;
      const Vector3 d{radius * std::cos(angle), radius * std::sin(angle), std::sqrt(1.0 - radius * radius)};
      // Where the ray from (2, 2, 0) meets z = 2 + x / 2.
      const double t = 3.0 / (d.z - 0.5 * d.x);
      const double x = 2.0 + t * d.x;
      const double y = 2.0 + t * d.y;
      if (t > 0.0 && x > 0.0 && x < 4.0 && y > 0.0 && y < 4.0) seen += 1.0 / (rings * steps);
    }
  EXPECT_PUBLISHED("independent quadrature of directions",
                   "floor under a skylight over a whole ceiling sloped 1 in 2, sky of 1 cd/m²", "lx",
                   kPi * seen, lx, published::relative(0.02));
}

TEST(LightResponse, ARoomWithMoreFacesThanPatchesIsStillLit) {
  domain::Project project = cube(0.5);
  for (int i = 0; i < 60; ++i) {
    domain::Furniture box;
    box.id = "B" + std::to_string(i);
    const double x = 0.3 + 0.4 * (i % 8);
    const double y = 0.3 + 0.4 * (i / 8);
    box.plan = {{x, y}, {x + 0.2, y}, {x + 0.2, y + 0.2}, {x, y + 0.2}};
    project.spaces[0].furniture.push_back(box);
  }
  LightOptions options;
  options.most_patches = 100;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene) << to_text(scene.error().front());
  EXPECT_GE(scene->enclosure.patches().size(), 60U * 5U);
}

TEST(LightResponse, MovingASensorAddsOneRowAndRecomputesNoLight) {
  const domain::Project project = cube(0.5);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene);
  PointSet sensor;
  sensor.points.push_back({{1.0, 1.0, 4.0}, {0, 0, -1}, {}});
  {
    const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
    ASSERT_TRUE(light.rows(floor_grid(3)));
    ASSERT_TRUE(light.rows(sensor));
  }
  const auto before = lit.log.counts();
  sensor.points[0].at.x = 1.5;
  const SpaceLight again(*scene, lit.outside, options, lit.context, lit.log);
  ASSERT_TRUE(again.rows(floor_grid(3)));
  ASSERT_TRUE(again.rows(sensor));
  const auto after = lit.log.counts();
  for (const char* stage : {"exchange", "factor", "direct light of a channel"})
    EXPECT_EQ(after.at(stage).computed, before.at(stage).computed) << stage;
  EXPECT_EQ(after.at("rows of a point set").computed, before.at("rows of a point set").computed + 1);
}

TEST(LightResponse, StoredAndFreshRowsAreTheSameBits) {
  const domain::Project project = cube(0.6);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene);
  const SpaceLight fresh(*scene, lit.outside, options, lit.context, lit.log);
  const PointRows first = *fresh.rows(floor_grid(4));
  const SpaceLight stored(*scene, lit.outside, options, lit.context, lit.log);
  EXPECT_EQ(stored.rows(floor_grid(4))->electric, first.electric);
  Lit other;
  const SpaceLight elsewhere(*scene, other.outside, options, other.context, other.log);
  EXPECT_EQ(elsewhere.rows(floor_grid(4))->electric, first.electric);
}

// ---------------------------------------------------------------------------------------------------------
// Daylight through unglazed openings: sky component in % of the unobstructed horizontal diffuse illuminance,
// room 4 x 4 x 3 m with black surfaces (computed by quadrature for this very geometry, in the manner of the
// analytic cases of CIE 171:2006). Bar: uniform and overcast sky within 2 %.

domain::Project black_room(bool roof) {
  domain::Project project = cube(0.0);
  project.spaces[0].height_m = 3.0;
  project.designs.clear();
  project.glazings.push_back({});
  project.glazings[0].id = "none";
  domain::Opening opening;
  opening.id = "O1";
  opening.glazing = "none";
  if (roof) {
    opening.kind = domain::Opening::Kind::skylight;
    opening.plan = {{1.5, 1.5}, {2.5, 1.5}, {2.5, 2.5}, {1.5, 2.5}};
  } else {
    opening.wall = 0;
    opening.offset_m = 1.0;
    opening.sill_m = 1.0;
    opening.width_m = 2.0;
    opening.height_m = 1.0;
  }
  project.spaces[0].openings.push_back(opening);
  return project;
}

double sky_component_percent(bool roof, int cie_type, double y) {
  const domain::Project project = black_room(roof);
  Lit lit;
  LightOptions options;
  options.opening_samples = 256;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  EXPECT_TRUE(scene);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  PointSet set;
  set.wants_daylight = true;
  set.points.push_back({{2.0, y, 0.0}, {0, 0, 1}, {}});
  const PointRows rows = *light.rows(set);
  std::vector<float> luminance(lit.sky.size());
  const double elevation = 60.0 * kRadPerDeg;
  const Vector3 sun{0.0, -std::cos(elevation), std::sin(elevation)};
  climate::sky_luminance(lit.sky, climate::cie_sky(cie_type, sun, 10'000.0), luminance);
  double lx = 0.0;
  for (std::size_t k = 0; k < luminance.size(); ++k) lx += rows.daylight[k] * luminance[k];
  return lx / 100.0;
}

struct SkyCase {
  bool roof;
  int type;
  double y;
  double expected;
};

class OpenSky : public testing::TestWithParam<SkyCase> {};

TEST_P(OpenSky, SkyComponentMatchesQuadrature) {
  const SkyCase& c = GetParam();
  EXPECT_PUBLISHED(
      "independent quadrature, in the manner of CIE 171:2006",
      fmt::format("sky component through {} at {} m, {}", c.roof ? "a roof opening" : "a facade opening", c.y,
                  c.type == 5    ? "uniform sky"
                  : c.type == 16 ? "traditional overcast sky"
                                 : "overcast sky of type 1"),
      "%", c.expected, sky_component_percent(c.roof, c.type, c.y), published::relative(0.02));
}

INSTANTIATE_TEST_SUITE_P(RoofAndFacade, OpenSky,
                         testing::Values(SkyCase{true, 5, 2.0, 3.411}, SkyCase{true, 5, 0.5, 2.236},
                                         SkyCase{true, 16, 2.0, 4.359}, SkyCase{true, 16, 0.5, 2.674},
                                         SkyCase{true, 1, 3.0, 3.494}, SkyCase{false, 5, 0.5, 6.901},
                                         SkyCase{false, 5, 2.0, 4.324}, SkyCase{false, 5, 3.5, 1.486},
                                         SkyCase{false, 16, 0.5, 8.183}, SkyCase{false, 16, 1.0, 8.583},
                                         SkyCase{false, 16, 3.0, 1.680}, SkyCase{false, 1, 1.5, 6.302}));

TEST(LightResponse, SkylightsWithWellsOfDifferentShapeAreGroupsOfTheirOwn) {
  domain::Project project = black_room(true);
  domain::Opening& first = project.spaces[0].openings[0];
  first.plan = {{1, 1}, {1, 3}, {1.5, 3}, {1.5, 1}};
  first.well_depth_m = 0.8;
  domain::Opening alike = first;
  alike.id = "O2";
  for (Point2& p : alike.plan) p.x += 1.0;
  domain::Opening plain = alike;
  plain.id = "O3";
  plain.well_depth_m = 0.0;
  for (Point2& p : plain.plan) p.x += 1.0;
  project.spaces[0].openings.push_back(alike);
  project.spaces[0].openings.push_back(plain);
  const Result<SpaceScene> scene = make_scene(project, 0, {}, {});
  ASSERT_TRUE(scene);
  ASSERT_EQ(scene->window_groups.size(), 2U);
  EXPECT_EQ(scene->window_groups[0].openings.size(), 2U);
  ASSERT_TRUE(scene->window_groups[0].well);
  const daylight::Well& well = *scene->window_groups[0].well;
  EXPECT_NEAR(well.length_m, 2.0, 1e-12);
  EXPECT_NEAR(well.width_m, 0.5, 1e-12);
  EXPECT_NEAR(std::abs(well.along.y), 1.0, 1e-12);
  EXPECT_FALSE(scene->window_groups[1].well);
}

TEST(LightResponse, TheSunIsSeenThroughTheOpeningAndNowhereElse) {
  const domain::Project project = black_room(false);
  Lit lit;
  const LightOptions options;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, options);
  ASSERT_TRUE(scene);
  const SpaceLight light(*scene, lit.outside, options, lit.context, lit.log);
  // Sun due south at 45 degrees: the ray from the floor at y leaves the facade at height y, so between 1 and
  // 2 m.
  const double h = std::sqrt(0.5);
  const std::vector<Vector3> sun = {{0, -h, h}, {0, h, h}, {0, -h, -h}};
  for (const auto& [y, seen] : {std::pair{1.5, true}, std::pair{0.5, false}, std::pair{2.5, false}}) {
    PointSet set;
    set.points.push_back({{2.0, y, 0.0}, {0, 0, 1}, {}});
    const SunlitShares shares = light.sunlit(set, sun);
    EXPECT_NEAR(shares.share[0], seen ? h : 0.0, 1e-6) << y;
    EXPECT_EQ(shares.share[1], 0.0F);
    EXPECT_EQ(shares.share[2], 0.0F);
  }
}

TEST(Directions, LightOnAnOpenFacadeIsHalfSkyHalfGround) {
  // Vertical plane under a uniform sky of 1 cd/m2 and ground of 1 cd/m2: pi / 2 lx from each.
  const domain::Project project = black_room(false);
  Lit lit;
  const Result<SpaceScene> scene = make_scene(project, 0, {}, {});
  ASSERT_TRUE(scene);
  const std::vector<float> incident =
      daylight::incident_coefficients(scene->enclosure, lit.outside, scene->window_groups[0], 4096);
  double sky = 0.0;
  for (std::size_t k = 0; k < lit.sky.size(); ++k) sky += incident[k];
  EXPECT_PUBLISHED("closed form pi / 2", "facade under a uniform sky of 1 cd/m²", "lx", kPi / 2.0, sky,
                   published::relative(0.005));
  EXPECT_PUBLISHED("closed form pi / 2", "facade above ground of 1 cd/m²", "lx", kPi / 2.0,
                   incident[lit.outside.ground_bin()], published::relative(0.005));
}

}  // namespace
}  // namespace halflight::lightresponse
