// Changes of a room whose effect on its light is known without knowing the light.
#include "climate/sky.hpp"
#include "lightresponse/response.hpp"
#include "sim/lit_space.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight {
namespace {

constexpr double kPi = 3.14159265358979323846;

domain::LuminaireType luminaire_type(const std::string& id, double long_m, double wide_m,
                                     std::vector<domain::Channel> channels) {
  domain::LuminaireType type;
  type.id = id;
  type.length_m = long_m;
  type.width_m = wide_m;
  type.channels = std::move(channels);
  return type;
}

domain::Channel channel(const std::string& id, const std::string& formula, double lumens,
                        std::map<std::string, double> parameters = {}) {
  domain::Channel made;
  made.id = id;
  made.lumens = lumens;
  made.photometry.formula = formula;
  made.photometry.parameters = std::move(parameters);
  return made;
}

/// An L-shaped office with two desks, a shelf, a screen, a window and three kinds of luminaires, one of them
/// not the same to its left and right.
domain::Project office() {
  domain::Project project;
  project.glazings.emplace_back();
  project.glazings[0].id = "glass";
  domain::Space space;
  space.id = "office";
  space.floor = {{0, 0}, {6, 0}, {6, 3}, {4, 3}, {4, 5}, {0, 5}};
  space.height_m = 3.0;
  space.reflectances = {0.7, 0.5, 0.2, 0.35};
  domain::Opening window;
  window.id = "W1";
  window.glazing = "glass";
  window.wall = 0;
  window.offset_m = 2.1;
  window.sill_m = 0.9;
  window.width_m = 2.2;
  window.height_m = 1.5;
  space.openings.push_back(window);
  const auto furniture = [&](const std::string& id, Polygon plan, double bottom, double top) {
    domain::Furniture piece;
    piece.id = id;
    piece.plan = std::move(plan);
    piece.bottom_m = bottom;
    piece.top_m = top;
    space.furniture.push_back(piece);
  };
  furniture("desk1", rectangle({1.0, 1.0}, {2.6, 1.8}), 0.7, 0.74);
  furniture("desk2", rectangle({4.2, 0.7}, {5.8, 1.5}), 0.7, 0.74);
  furniture("shelf", rectangle({0.0, 2.4}, {0.4, 4.0}), 0.0, 1.8);
  domain::Partition screen;
  screen.id = "screen";
  screen.from = {3.2, 0.4};
  screen.to = {3.2, 2.2};
  screen.height_m = 1.4;
  space.partitions.push_back(screen);
  project.spaces.push_back(space);
  project.luminaire_types = {
      luminaire_type("panel", 0.6, 0.6, {channel("all", "cosine_down", 3600, {{"exponent", 1.1}})}),
      luminaire_type("pendant", 1.2, 0.07,
                     {channel("up", "cosine_up", 1600), channel("down", "batwing_across", 2600)}),
      luminaire_type("wash", 1.2, 0.06, {channel("all", "wall_wash", 1800)})};
  domain::Design design;
  design.id = "proposal";
  const auto luminaire = [&](const std::string& id, const std::string& type, Point3 at, double rotation) {
    domain::Luminaire placed;
    placed.id = id;
    placed.type = type;
    placed.space = "office";
    placed.at = at;
    placed.rotation_deg = rotation;
    design.luminaires.push_back(placed);
  };
  luminaire("L1", "panel", {4.9, 1.2, 3.0}, 0.0);
  luminaire("L2", "pendant", {1.8, 1.5, 2.4}, 20.0);
  luminaire("L3", "wash", {2.0, 4.2, 3.0}, 0.0);
  project.designs.push_back(design);
  return project;
}

std::vector<domain::ObservationPoint> office_points() {
  return {{{1.7, 1.4, 0.74}, {0, 0, 1}, {}},
          {{5.1, 1.0, 0.74}, {0, 0, 1}, {}},
          {{2.2, 3.3, 0.0}, {0, 0, 1}, {}},
          {{2.7, 2.6, 1.2}, {0.8, -0.6, 0}, {}},
          {{2.5, 2.7, 3.0}, {0, 0, -1}, {domain::AngularWeighting::Kind::narrowed, 40.0}}};
}

/// The project and points with every place sent through `place` and every direction in plan through `way`;
/// `turn` gives the new angle of a luminaire.
template <class Place, class Way, class Turn>
void move_all(domain::Project& project, std::vector<domain::ObservationPoint>& points, const Place& place,
              const Way& way, const Turn& turn) {
  domain::Space& space = project.spaces[0];
  for (Point2& p : space.floor) p = place(p);
  for (domain::Furniture& piece : space.furniture)
    for (Point2& p : piece.plan) p = place(p);
  for (domain::Partition& partition : space.partitions) {
    partition.from = place(partition.from);
    partition.to = place(partition.to);
  }
  for (domain::Luminaire& l : project.designs[0].luminaires) {
    const Point2 p = place({l.at.x, l.at.y});
    l.at = {p.x, p.y, l.at.z};
    l.rotation_deg = turn(l.rotation_deg);
  }
  for (domain::ObservationPoint& point : points) {
    const Point2 p = place({point.at.x, point.at.y});
    point.at = {p.x, p.y, point.at.z};
    const Vector2 f = way(Vector2{point.facing.x, point.facing.y});
    point.facing = {f.x, f.y, point.facing.z};
  }
}

struct PointLight {
  std::vector<double> electric;   // by column
  std::vector<double> reflected;  // part of it
  double day_direct = 0.0;        // under a clear sky and bright ground
  double day_reflected = 0.0;

  [[nodiscard]] double sum() const { return std::accumulate(electric.begin(), electric.end(), 0.0); }
  [[nodiscard]] double reflected_sum() const {
    return std::accumulate(reflected.begin(), reflected.end(), 0.0);
  }
  [[nodiscard]] double direct_sum() const { return sum() - reflected_sum(); }
};

std::vector<PointLight> light_of(const domain::Project& project,
                                 const std::vector<domain::ObservationPoint>& points,
                                 const lightresponse::LightOptions& options, double plan_north_deg = 30.0) {
  const climate::SkyDivision division(options.sky_division);
  const daylight::Outside outside(division, daylight::Compass(plan_north_deg), {});
  const auto scene = lightresponse::make_scene(project, 0, {}, options);
  if (!scene) {
    ADD_FAILURE() << to_text(scene.error().front());
    return {};
  }
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const Context context{executor, *blobs, nullptr, {}};
  lightresponse::StageLog log;
  const lightresponse::SpaceLight light(*scene, outside, options, context, log);
  std::vector<float> luminance(division.size());
  const double up = 40.0 * kPi / 180.0;
  climate::sky_luminance(division, climate::cie_sky(12, {0.0, -std::cos(up), std::sin(up)}, 10'000.0),
                         luminance);
  luminance.push_back(600.0F);  // ground
  luminance.resize(outside.bin_count(), 0.0F);
  std::vector<PointLight> result;
  for (const domain::ObservationPoint& point : points) {
    lightresponse::PointSet set;
    set.points = {point};
    set.wants_daylight = true;
    set.light_at_hits = point.weighting.kind != domain::AngularWeighting::Kind::cosine;  // a photosensor
    const auto rows = light.rows(set);
    if (!rows) {
      ADD_FAILURE() << to_text(rows.error().front());
      return {};
    }
    PointLight one;
    one.electric.assign(rows->electric.begin(), rows->electric.end());
    one.reflected.assign(rows->electric_reflected.begin(), rows->electric_reflected.end());
    for (std::size_t k = 0; k < rows->daylight.size(); ++k) {
      const double l = luminance[k % rows->bins];
      one.day_direct += (rows->daylight[k] - rows->daylight_reflected[k]) * l;
      one.day_reflected += rows->daylight_reflected[k] * l;
    }
    result.push_back(one);
  }
  return result;
}

const lightresponse::LightOptions kOptions = sim::light_options(sim::Accuracy::design);

// Two runs of one room whose rays and patches fall elsewhere differ by the noise of both. Single readings of
// reflected light scatter by 1 % at design accuracy (validation_test.cpp): sqrt(2) times that between
// two runs, and twice that once in some twenty comparisons.
constexpr double kReflectedNoise = 0.03;
// Direct light is the same sums in rotated axes: single precision of results, and shadow edges nowhere near.
constexpr double kRounding = 1e-4;

void expect_same(const std::vector<PointLight>& was, const std::vector<PointLight>& is, double direct,
                 double reflected, double day_direct) {
  ASSERT_EQ(was.size(), is.size());
  for (std::size_t i = 0; i < was.size(); ++i) {
    SCOPED_TRACE(fmt::format("point {}", i));
    EXPECT_NEAR(is[i].direct_sum(), was[i].direct_sum(), direct * was[i].sum());
    EXPECT_NEAR(is[i].reflected_sum(), was[i].reflected_sum(), reflected * was[i].reflected_sum());
    EXPECT_NEAR(is[i].day_direct, was[i].day_direct, day_direct * (was[i].day_direct + was[i].day_reflected));
    EXPECT_NEAR(is[i].day_reflected, was[i].day_reflected, reflected * was[i].day_reflected);
  }
}

TEST(Metamorphic, TwiceTheLengthsGiveAQuarterOfTheElectricLightAndTheSameDaylight) {
  domain::Project project = office();
  std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(project, points, kOptions);
  move_all(
      project, points,
      [](Point2 p) {
        return Point2{2.0 * p.x, 2.0 * p.y};
      },
      [](Vector2 v) { return v; }, [](double turn) { return turn; });
  domain::Space& space = project.spaces[0];
  space.height_m *= 2.0;
  for (domain::Opening& o : space.openings)
    for (double* length : {&o.offset_m, &o.sill_m, &o.width_m, &o.height_m}) *length *= 2.0;
  for (domain::Furniture& piece : space.furniture) {
    piece.bottom_m *= 2.0;
    piece.top_m *= 2.0;
  }
  for (domain::Partition& partition : space.partitions) {
    partition.height_m *= 2.0;
    partition.thickness_m *= 2.0;
  }
  for (domain::LuminaireType& type : project.luminaire_types) {
    type.length_m *= 2.0;
    type.width_m *= 2.0;
  }
  for (domain::Luminaire& l : project.designs[0].luminaires) l.at.z *= 2.0;
  for (domain::ObservationPoint& point : points) point.at.z *= 2.0;
  lightresponse::LightOptions options = kOptions;
  options.patch_m *= 2.0;
  std::vector<PointLight> is = light_of(project, points, options);
  for (PointLight& one : is) {
    for (double& lx : one.electric) lx *= 4.0;
    for (double& lx : one.reflected) lx *= 4.0;
  }
  // The same rays meet the same patches, but for those within a clearance (0.1 mm) of an edge.
  expect_same(was, is, kRounding, 0.002, 0.001);
}

TEST(Metamorphic, ABuildingTurnedWithItsNorthKeepsItsLight) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions, 30.0);
  for (const double by_deg : {90.0, 37.0, -151.0}) {
    SCOPED_TRACE(by_deg);
    const double c = std::cos(by_deg * kPi / 180.0);
    const double s = std::sin(by_deg * kPi / 180.0);
    domain::Project turned = office();
    std::vector<domain::ObservationPoint> moved = points;
    const auto way = [&](Vector2 v) { return Vector2{c * v.x - s * v.y, s * v.x + c * v.y}; };
    move_all(
        turned, moved,
        [&](Point2 p) {
          return Point2{40.0, -7.0} + way(p - Point2{});
        },
        way, [&](double turn) { return turn + by_deg; });
    // The plan turns counter-clockwise in its axes, so the axes turn clockwise in the world.
    expect_same(was, light_of(turned, moved, kOptions, 30.0 + by_deg), kRounding, kReflectedNoise, 0.002);
  }
}

TEST(Metamorphic, TurningTheBuildingAloneChangesItsDaylight) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions, 30.0);
  const std::vector<PointLight> is = light_of(office(), points, kOptions, 160.0);
  EXPECT_GT(std::abs(is[0].day_direct / was[0].day_direct - 1.0), 0.2);
  EXPECT_EQ(is[0].electric, was[0].electric);
}

TEST(Metamorphic, AMirroredRoomHasMirroredLight) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions, 0.0);
  // In the plane x = 0: east and west change places, and the sun of `light_of` stands in the south. A wall
  // wash throws its light to the left of its length; its mirror image lies the other way round.
  domain::Project mirrored = office();
  std::vector<domain::ObservationPoint> moved = points;
  move_all(
      mirrored, moved,
      [](Point2 p) {
        return Point2{-p.x, p.y};
      },
      [](Vector2 v) {
        return Vector2{-v.x, v.y};
      },
      [](double turn) { return -turn; });
  domain::Space& space = mirrored.spaces[0];
  // Counter-clockwise again, and the first wall first.
  std::reverse(space.floor.begin(), space.floor.end());
  std::rotate(space.floor.begin(), space.floor.end() - 2, space.floor.end());
  space.openings[0].offset_m = 6.0 - 2.1 - 2.2;
  expect_same(was, light_of(mirrored, moved, kOptions, 0.0), kRounding, kReflectedNoise, 0.02);
}

TEST(Metamorphic, TwoHalvesOfALuminaireGiveItsLight) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions);
  domain::Project halved = office();
  for (domain::LuminaireType& type : halved.luminaire_types)
    for (domain::Channel& c : type.channels) c.lumens *= 0.5;
  auto& luminaires = halved.designs[0].luminaires;
  const auto whole = luminaires;
  for (domain::Luminaire second : whole) {
    second.id += "b";
    luminaires.push_back(second);
  }
  expect_same(was, light_of(halved, points, kOptions), 1e-6, 1e-6, 0.0);
}

TEST(Metamorphic, TheOrderOfLuminairesAndPointsDecidesNothing) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const domain::Project project = office();
  const climate::SkyDivision division(kOptions.sky_division);
  const daylight::Outside outside(division, daylight::Compass(0.0), {});
  SerialExecutor executor;
  const auto rows_of = [&](const domain::Project& of, const std::vector<domain::ObservationPoint>& at) {
    const auto blobs = make_memory_blob_store();
    const Context context{executor, *blobs, nullptr, {}};
    lightresponse::StageLog log;
    const auto scene = lightresponse::make_scene(of, 0, {}, kOptions);
    const lightresponse::SpaceLight light(*scene, outside, kOptions, context, log);
    lightresponse::PointSet set;
    set.points = at;
    return *light.rows(set);
  };
  const lightresponse::PointRows was = rows_of(project, points);
  const std::size_t columns = was.columns;
  ASSERT_EQ(columns, 4U);  // panel, pendant up, pendant down, wash

  std::vector<domain::ObservationPoint> backwards(points.rbegin(), points.rend());
  const lightresponse::PointRows is = rows_of(project, backwards);
  for (std::size_t p = 0; p < points.size(); ++p)
    for (std::size_t c = 0; c < columns; ++c)
      EXPECT_EQ(is.electric_of(points.size() - 1 - p)[c], was.electric_of(p)[c]) << p << " " << c;

  domain::Project shuffled = project;
  std::rotate(shuffled.designs[0].luminaires.begin(), shuffled.designs[0].luminaires.begin() + 1,
              shuffled.designs[0].luminaires.end());
  const lightresponse::PointRows other = rows_of(shuffled, points);
  for (std::size_t p = 0; p < points.size(); ++p)
    for (std::size_t c = 0; c < columns; ++c)
      EXPECT_EQ(other.electric_of(p)[(c + 3) % 4], was.electric_of(p)[c]) << p << " " << c;
}

TEST(Metamorphic, AVertexWithinAWallChangesNoLight) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions);
  domain::Project split = office();
  Polygon& floor = split.spaces[0].floor;
  floor.insert(floor.begin() + 5, {2.3, 5.0});  // in the wall opposite the window
  // The halves of the wall have patches of their own.
  expect_same(was, light_of(split, points, kOptions), kRounding, kReflectedNoise, 1e-6);
}

TEST(Metamorphic, BlackSurfacesReflectNothing) {
  domain::Project black = office();
  black.spaces[0].reflectances = {0.0, 0.0, 0.0, 0.0};
  black.spaces[0].partitions[0].reflectance = 0.0;
  black.glazings[0].reflectance_inside = 0.0;
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions);
  const std::vector<PointLight> is = light_of(black, points, kOptions);
  for (std::size_t i = 0; i < is.size(); ++i) {
    EXPECT_EQ(is[i].reflected_sum(), 0.0) << i;
    EXPECT_EQ(is[i].day_reflected, 0.0) << i;
    EXPECT_NEAR(is[i].direct_sum(), was[i].direct_sum(), 1e-6 * was[i].sum()) << i;
  }
}

TEST(Metamorphic, ALighterSurfaceDarkensNoPoint) {
  const std::vector<domain::ObservationPoint> points = office_points();
  const std::vector<PointLight> was = light_of(office(), points, kOptions);
  using Raise = void (*)(domain::Project&);
  const std::array<Raise, 6> raises = {
      [](domain::Project& p) { p.spaces[0].reflectances.ceiling = 0.8; },
      [](domain::Project& p) { p.spaces[0].reflectances.walls = 0.6; },
      [](domain::Project& p) { p.spaces[0].reflectances.floor = 0.3; },
      [](domain::Project& p) { p.spaces[0].reflectances.furniture = 0.5; },
      [](domain::Project& p) { p.spaces[0].partitions[0].reflectance = 0.7; },
      [](domain::Project& p) { p.glazings[0].reflectance_inside = 0.2; }};
  for (std::size_t r = 0; r < raises.size(); ++r) {
    domain::Project lighter = office();
    raises[r](lighter);
    const std::vector<PointLight> is = light_of(lighter, points, kOptions);
    double more = 0.0;
    for (std::size_t i = 0; i < is.size(); ++i) {
      SCOPED_TRACE(fmt::format("surface {} point {}", r, i));
      // The same exchange areas and rays, so what is added is positive term by term; single precision
      // remains.
      EXPECT_GE(is[i].reflected_sum(), was[i].reflected_sum() * (1.0 - 1e-5));
      EXPECT_GE(is[i].day_reflected, was[i].day_reflected * (1.0 - 1e-5));
      more += is[i].reflected_sum() - was[i].reflected_sum();
    }
    EXPECT_GT(more, 0.1) << r;
  }
}

TEST(Metamorphic, NoLightPassesAPartitionOfFullHeight) {
  // It cuts the room from wall to wall, on a line of the patch grid and off it, with every lamp on one side.
  for (const double x : {3.0, 3.33, 3.7}) {
    for (const double by_deg : {0.0, 29.0}) {
      SCOPED_TRACE(fmt::format("at {} m, turned by {} degrees", x, by_deg));
      domain::Project project = office();
      domain::Space& space = project.spaces[0];
      space.floor = rectangle({0, 0}, {6, 5});
      space.openings.clear();
      space.furniture.clear();
      space.partitions[0].from = {x, 0.0};
      space.partitions[0].to = {x, 5.0};
      space.partitions[0].height_m = 3.0;
      auto& luminaires = project.designs[0].luminaires;
      luminaires.erase(luminaires.begin());  // the panel stands beyond it
      std::vector<domain::ObservationPoint> points = {{{1.5, 1.5, 0.75}, {0, 0, 1}, {}},
                                                      {{5.0, 2.5, 0.75}, {0, 0, 1}, {}},
                                                      {{x + 0.3, 2.0, 0.0}, {0, 0, 1}, {}},
                                                      {{4.4, 2.0, 1.2}, {-1, 0, 0}, {}}};
      const double c = std::cos(by_deg * kPi / 180.0);
      const double s = std::sin(by_deg * kPi / 180.0);
      const auto way = [&](Vector2 v) { return Vector2{c * v.x - s * v.y, s * v.x + c * v.y}; };
      move_all(
          project, points, [&](Point2 p) { return Point2{} + way(p - Point2{}); }, way,
          [&](double turn) { return turn + by_deg; });
      const std::vector<PointLight> light = light_of(project, points, kOptions);
      EXPECT_GT(light[0].sum(), 100.0);
      for (std::size_t i = 1; i < points.size(); ++i) EXPECT_EQ(light[i].sum(), 0.0) << i;
    }
  }
}

}  // namespace
}  // namespace halflight
