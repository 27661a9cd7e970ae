#include "geometry/enclosure.hpp"

#include "base/context.hpp"
#include "base/random.hpp"
#include "base/units.hpp"
#include "geometry/low_discrepancy.hpp"
#include "geometry/ray_scene.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <utility>

#include <gtest/gtest.h>

namespace halflight {
namespace {

Polygon turned(const Polygon& polygon, double angle_rad, Vector2 by) {
  Polygon out;
  const double c = std::cos(angle_rad);
  const double s = std::sin(angle_rad);
  for (const Point2 p : polygon) out.push_back({c * p.x - s * p.y + by.x, s * p.x + c * p.y + by.y});
  return out;
}

EnclosureShape box(double x, double y, double z) {
  EnclosureShape shape;
  shape.floor = rectangle({0, 0}, {x, y});
  shape.height_m = z;
  return shape;
}

// An L with a window, a door, a skylight, desks against walls and against each other, a floating table top
// and a bookcase up to the ceiling, turned and far from the origin.
EnclosureShape awkward(double angle_rad, Vector2 by) {
  EnclosureShape shape;
  shape.floor = {{0, 0}, {9, 0}, {9, 4}, {4, 4}, {4, 8}, {0, 8}};
  shape.height_m = 2.8;
  shape.floor_z_m = 3.5;
  shape.wall_openings = {{0, 1.0, 0.8, 3.0, 1.5}, {0, 5.0, 0.8, 3.0, 2.0}, {5, 1.0, 0.0, 0.9, 2.1}};
  shape.roof_openings = {{rectangle({1, 5}, {2.2, 6.1})}};
  shape.prisms = {
      {rectangle({0, 0}, {1.6, 0.8}), 4.20, 4.24},    // table top in the corner
      {rectangle({1.6, 0}, {3.2, 0.8}), 4.20, 4.24},  // the next one touching it
      {rectangle({5, 3.6}, {7, 4}), 3.5, 6.3},        // bookcase from floor to ceiling against a wall
      {rectangle({6, 1}, {7.4, 1.8}), 3.5, 4.24},     // a solid desk in the open
      {{{1, 3}, {2, 3.3}, {1.8, 4.1}, {0.9, 3.9}}, 3.5, 4.0},
      {rectangle({6.2, 1.2}, {6.6, 1.6}), 4.24, 4.7},  // a box on that desk
  };
  for (Polygon* plan : {&shape.floor, &shape.roof_openings[0].plan}) *plan = turned(*plan, angle_rad, by);
  for (Prism& p : shape.prisms) p.plan = turned(p.plan, angle_rad, by);
  return shape;
}

Enclosure make(const EnclosureShape& shape, double patch_m) {
  auto made = Enclosure::make(shape, patch_m);
  if (!made) {
    for (const Diagnostic& d : made.error()) ADD_FAILURE() << to_text(d);
    std::abort();
  }
  return *made;
}

double area_of(const Enclosure& e, SurfaceKind kind) {
  double sum = 0.0;
  for (const Surface& s : e.surfaces())
    if (s.kind == kind) sum += s.area_m2;
  return sum;
}

// Cosine-distributed rays off every patch, as transport sends them.
Rays rays_of_patch(const Enclosure& e, std::uint32_t patch, std::size_t n) {
  std::vector<Point3> points(n);
  e.sample_patch(patch, 7, points);
  const Vector3 normal = e.patches()[patch].normal;
  const Frame frame = frame_about(normal);
  const SampleStream stream(99, patch);
  Rays rays(e.middle());
  for (std::uint32_t k = 0; k < n; ++k) {
    const double phi = 2.0 * kPi * stream(k, 2);
    const double r2 = stream(k, 3);
    const double r = std::sqrt(r2);
    const Vector3 d =
        (r * std::cos(phi)) * frame.x + (r * std::sin(phi)) * frame.y + std::sqrt(1.0 - r2) * frame.z;
    rays.add(points[k] + Enclosure::kClearance_m * normal, d);
  }
  return rays;
}

TEST(RayScene, HitsATriangleFromBothSidesAtTheRightPlace) {
  const std::vector<Point3> v = {{100, 0, 1}, {101, 0, 1}, {100, 1, 1}};
  const std::vector<SceneTriangle> t = {{1, 2, 0}};
  const RayScene scene(v, t);
  Rays rays({99, -1, 0});  // any place near
  rays.add({100.2, 0.3, 0}, {0, 0, 1});
  rays.add({100.2, 0.3, 3}, {0, 0, -1});
  rays.add({100.8, 0.8, 0}, {0, 0, 1});
  std::vector<HitBlock> blocks(1);
  scene.intersect(rays.about(), rays.blocks(), blocks);
  const HitBlock& hits = blocks[0];
  EXPECT_EQ(hits.triangle[0], 0U);
  EXPECT_NEAR(hits.distance[0], 1.0, 1e-6);
  EXPECT_NEAR(hits.u[0], 0.3, 1e-5) << "the share of vertex 2";
  EXPECT_NEAR(hits.v[0], 0.5, 1e-5) << "the share of vertex 0";
  EXPECT_GT(hits.onward[0], 0.0) << "counter-clockwise from above: a ray upwards meets its back";
  EXPECT_EQ(hits.triangle[1], 0U);
  EXPECT_NEAR(hits.distance[1], 2.0, 1e-6);
  EXPECT_LT(hits.onward[1], 0.0);
  EXPECT_EQ(hits.triangle[2], HitBlock::kNone);

  Rays paths({100, 0, 0});
  const auto add = [&](Point3 from, Point3 to) { paths.add(from, to - from); };
  add({100.2, 0.2, 0}, {100.2, 0.2, 2});
  add({100.2, 0.2, 0}, {100.2, 0.2, 0.9});
  add({100.2, 0.2, 0}, {100.2, 0.2, 0});      // no length
  add({100.2, 0.2, 0.999}, {100.2, 0.2, 3});  // nearer to the triangle than an end is drawn in
  add({100.2, 0.2, 0}, {100.2, 0.2, 1.001});
  add({100.2, 0.2, 0.997}, {100.2, 0.2, 3});
  add({100.2, 0.2, 0}, {100.2, 0.2, 1.003});
  add({100.2, 0.2, 0.9985}, {100.2, 0.2, 1.0015});  // shorter than twice that
  std::vector<std::uint8_t> blocked(paths.size());
  scene.occluded(paths, 0.002, blocked);
  EXPECT_EQ(blocked, (std::vector<std::uint8_t>{1, 0, 0, 0, 0, 1, 1, 0}));
}

TEST(RayScene, LeavesOtherWorkItsThreads) {
  const RayScene scene(std::vector<Point3>{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}},
                       std::vector<SceneTriangle>{{0, 1, 2}});
  const auto pool = make_pool_executor(2);
  // Each of two pieces waits for the other to have begun: with one thread neither could end.
  std::atomic<int> begun{0};
  std::atomic<bool> together{false};
  pool->for_each(2, [&](std::size_t) {
    ++begun;
    for (long spin = 0; spin < 2'000'000'000L && begun < 2; ++spin) {
    }
    if (begun == 2) together = true;
  });
  EXPECT_TRUE(together);
}

TEST(Enclosure, AreasOfABoxAreExact) {
  const Enclosure e = make(box(8, 6, 2.7), 0.5);
  EXPECT_NEAR(e.total_area_m2(), 2 * 48 + 28 * 2.7, 1e-9);
  EXPECT_NEAR(e.volume_m3(), 8 * 6 * 2.7, 1e-9);
  EXPECT_NEAR(area_of(e, SurfaceKind::floor), 48, 1e-9);
  EXPECT_NEAR(area_of(e, SurfaceKind::wall), 28 * 2.7, 1e-9);
  for (const Patch& p : e.patches()) {
    EXPECT_LE(p.area_m2, 0.25 + 1e-9);
    EXPECT_NEAR(length(p.normal), 1.0, 1e-12);
    // Towards the middle of the room.
    EXPECT_GT(dot(p.normal, Point3{4, 3, 1.35} - p.centroid), 0.0);
  }
}

TEST(Enclosure, AreasWithOpeningsAndFurnitureAreExact) {
  for (const double angle : {0.0, 0.37}) {
    const Enclosure e = make(awkward(angle, {angle * 300, 20}), 0.45);
    // By hand from the shape, in the order of its lines.
    const double wall_m2 = 34 * 2.8;
    const double openings_on_walls = 3 * 1.5 + 3 * 2.0 + 0.9 * 2.1;
    const double bookcase_on_wall = 2 * 2.8;
    const double tops_on_walls = (1.6 + 0.8 + 1.6) * 0.04;
    const double kite = area(Polygon{{1, 3}, {2, 3.3}, {1.8, 4.1}, {0.9, 3.9}});
    const double kite_m = perimeter(Polygon{{1, 3}, {2, 3.3}, {1.8, 4.1}, {0.9, 3.9}});
    // Rotated coordinates round to the polygon grid: 1e-6 m along some 100 m of edges.
    const double tolerance = 1e-4;
    EXPECT_NEAR(area_of(e, SurfaceKind::floor), 52 - 0.8 - 1.4 * 0.8 - kite, tolerance);
    EXPECT_NEAR(area_of(e, SurfaceKind::ceiling), 52 - 1.2 * 1.1 - 0.8, tolerance);
    EXPECT_NEAR(area_of(e, SurfaceKind::opening), openings_on_walls + 1.2 * 1.1, tolerance);
    EXPECT_NEAR(area_of(e, SurfaceKind::wall), wall_m2 - openings_on_walls - bookcase_on_wall - tops_on_walls,
                tolerance);
    const double tables = 2 * (2 * 1.6 * 0.8) + (2 * 1.6 + 0.8) * 0.04;
    const double bookcase = (2 + 2 * 0.4) * 2.8;
    const double desk = 1.4 * 0.8 - 0.16 + 4.4 * 0.74;
    const double parcel = 0.16 + 1.6 * 0.46;
    const double solid_kite = kite + kite_m * 0.5;
    EXPECT_NEAR(area_of(e, SurfaceKind::object), tables + bookcase + desk + parcel + solid_kite, tolerance);
    double sum = 0.0;
    for (const Patch& p : e.patches()) sum += p.area_m2;
    EXPECT_NEAR(sum, e.total_area_m2(), 1e-9);
    const double solid = 2 * 1.28 * 0.04 + 0.8 * 2.8 + 1.12 * 0.74 + kite * 0.5 + 0.16 * 0.46;
    EXPECT_NEAR(e.volume_m3(), 52 * 2.8 - solid, tolerance);
  }
}

// Divergence theorem: over the closed boundary of the air the areas, taken with their normals, cancel, and a
// third of the sum of position times normal times area is minus the volume. A wrong normal, area or centroid
// breaks it.
TEST(Enclosure, PatchesCloseOverTheAir) {
  const Enclosure e = make(awkward(0.37, {111, 20}), 0.45);
  Vector3 sum{};
  double flux = 0.0;
  const Point3 o{111, 20, 3.5};
  for (const Patch& p : e.patches()) {
    sum = sum + p.area_m2 * p.normal;
    flux -= p.area_m2 * dot(p.normal, p.centroid - o) / 3.0;
  }
  EXPECT_NEAR(length(sum), 0.0, 1e-4);
  EXPECT_NEAR(flux, e.volume_m3(), 1e-3);
}

// A ceiling from 2 m up to 4 m over 4 m, turned with the room.
EnclosureShape wedge(double angle_rad, Vector2 by) {
  EnclosureShape shape;
  shape.floor = turned(rectangle({0, 0}, {4, 3}), angle_rad, by);
  shape.height_m = 2.0;
  shape.floor_z_m = 3.5;
  shape.ceiling_gradient = {0.5 * std::cos(angle_rad), 0.5 * std::sin(angle_rad)};
  shape.wall_openings = {{1, 1.0, 2.2, 1.0, 1.5}};  // a window above the lowest ceiling
  shape.roof_openings = {{turned(rectangle({1, 1}, {2, 2}), angle_rad, by)}};
  shape.prisms = {
      {turned(rectangle({0, 1}, {1, 2}), angle_rad, by), 4.9, 5.5},   // up to the low end
      {turned(rectangle({3, 0}, {4, 1}), angle_rad, by), 3.5, 7.0}};  // a cupboard at the high end
  return shape;
}

TEST(Enclosure, AreasAndVolumeUnderASlopeAreExact) {
  for (const double turn : {0.0, 0.7, 2.5}) {
    EnclosureShape shape = wedge(turn, {20 * turn, -7 * turn});
    const std::vector<Prism> prisms = std::exchange(shape.prisms, {});
    const Enclosure e = make(shape, 0.45);
    const double slope = std::sqrt(1.25);
    EXPECT_NEAR(e.volume_m3(), 36.0, 1e-5);
    EXPECT_NEAR(e.surfaces()[e.ceiling_surface()].area_m2, (12 - 1) * slope, 1e-5);
    EXPECT_NEAR(e.surfaces()[e.opening_surface(1)].area_m2, slope, 1e-5);
    for (const auto& [wall, m2] : {std::pair{0, 12.0}, {1, 12.0 - 1.5}, {2, 12.0}, {3, 6.0}})
      EXPECT_NEAR(e.surfaces()[e.wall_surface(wall)].area_m2, m2, 1e-5) << wall;
    shape.prisms = prisms;
    const Enclosure furnished = make(shape, 0.45);
    EXPECT_NEAR(furnished.volume_m3(), 36.0 - 0.6 - 3.5, 1e-5);
    // Level tops lie free below a slope.
    EXPECT_NEAR(furnished.surfaces()[furnished.ceiling_surface()].area_m2, 11 * slope, 1e-5);
    EXPECT_NEAR(area_of(furnished, SurfaceKind::object), (2 + 4 * 0.6 - 0.6) + (1 + 2 * 3.5), 1e-5);
    Vector3 sum{};
    double flux = 0.0;
    const Point3 o{shape.floor[0].x, shape.floor[0].y, 3.5};
    for (const Patch& p : furnished.patches()) {
      sum = sum + p.area_m2 * p.normal;
      flux -= p.area_m2 * dot(p.normal, p.centroid - o) / 3.0;
    }
    EXPECT_NEAR(length(sum), 0.0, 1e-4);
    EXPECT_NEAR(flux, furnished.volume_m3(), 1e-3);
  }
}

TEST(Enclosure, ASlopedRoomIsClosedAndPointsAreMovedOffItsCeiling) {
  const Enclosure e = make(wedge(0.7, {20, -7}), 0.45);
  std::size_t rays_sent = 0;
  std::size_t leaks = 0;
  for (std::uint32_t i = 0; i < e.patches().size(); ++i) {
    const Rays rays = rays_of_patch(e, i, 512);
    std::vector<SurfaceHit> hits(rays.size());
    e.trace(rays, hits);
    rays_sent += rays.size();
    for (std::size_t k = 0; k < hits.size(); ++k) {
      if (hits[k].patch == SurfaceHit::kNone) {
        ++leaks;
        continue;
      }
      const Surface& s = e.surfaces()[e.patches()[hits[k].patch].surface];
      EXPECT_NEAR(dot(rays.at(k, hits[k].distance_m) - s.corner, s.frame.z), 0.0, 2e-5);
    }
  }
  EXPECT_LE(static_cast<double>(leaks), Enclosure::kLeakLimit * static_cast<double>(rays_sent)) << leaks;

  EnclosureShape shape = wedge(0.0, {0, 0});
  shape.prisms.clear();
  const Enclosure plain = make(shape, 0.45);
  EXPECT_NEAR(plain.ceiling_z_at({3, 1}), 3.5 + 3.5, 1e-12);
  EXPECT_TRUE(plain.in_air({3, 1, 6.9}));
  EXPECT_FALSE(plain.in_air({1, 1, 6.9}));
  const ObservationOrigin on_ceiling = plain.observation_origin({3, 1, 7.0}, {0, 0, -1});
  EXPECT_EQ(on_ceiling.state, ObservationOrigin::State::clear);
  const Surface& ceiling = plain.surfaces()[plain.ceiling_surface()];
  EXPECT_NEAR(dot(on_ceiling.position - ceiling.corner, ceiling.frame.z), Enclosure::kClearance_m, 1e-9);
  EXPECT_EQ(plain.observation_origin({1, 1, 6.9}, {0, 0, -1}).state, ObservationOrigin::State::outside);
  // A ray straight up through the skylight.
  Rays up(plain.middle());
  up.add({1.5, 1.5, 3.6}, {0, 0, 1});
  up.add({2.5, 1.5, 3.6}, {0, 0, 1});
  std::vector<std::int32_t> exits(2);
  plain.exit_opening(up, exits);
  EXPECT_EQ(exits, (std::vector<std::int32_t>{1, -1}));
}

TEST(Enclosure, PartsMayNotReachThroughASlope) {
  const auto where_of = [](const EnclosureShape& shape) {
    const auto made = Enclosure::make(shape, 0.5);
    return made ? std::string() : made.error().front().where;
  };
  EnclosureShape shape = wedge(0.0, {0, 0});
  EXPECT_EQ(where_of(shape), "");
  shape.prisms[1].plan = rectangle({2.9, 0}, {4, 1});  // the ceiling is at 3.45 m over its low end
  EXPECT_EQ(where_of(shape), "/prisms/1");
  shape = wedge(0.0, {0, 0});
  shape.wall_openings = {{0, 0.0, 0.5, 2.0, 1.6}};  // its near jamb stands where the room is 2 m high
  EXPECT_EQ(where_of(shape), "/wall_openings/0");
  shape = wedge(0.0, {0, 0});
  shape.ceiling_gradient = {3.0, 0.0};
  EXPECT_EQ(where_of(shape), "/ceiling_gradient");
}

TEST(Enclosure, SoffitsHangFromTheCeiling) {
  EnclosureShape shape = box(4, 3, 2.5);
  shape.prisms = {{rectangle({0, 2}, {4, 3}), 2.2, 2.5}};
  const Enclosure e = make(shape, 0.5);
  EXPECT_NEAR(e.volume_m3(), 30 - 1.2, 1e-9);
  EXPECT_NEAR(area_of(e, SurfaceKind::ceiling), 8, 1e-5);
  EXPECT_NEAR(area_of(e, SurfaceKind::object), 4 + 1.2, 1e-5) << "its soffit and its front";
  EXPECT_NEAR(area_of(e, SurfaceKind::wall), 2 * (4 + 3) * 2.5 - (4 + 2) * 0.3, 1e-5);
}

TEST(Enclosure, SamplesLieOnTheirPatchAndSpreadEvenly) {
  const Enclosure e = make(awkward(0.37, {111, 20}), 0.45);
  std::vector<Point3> points(512);
  for (std::uint32_t i = 0; i < e.patches().size(); ++i) {
    const Patch& patch = e.patches()[i];
    e.sample_patch(i, 3, points);
    Vector3 mean{};
    double spread = 0.0;
    for (const Point3 p : points) {
      EXPECT_EQ(e.patch_of(patch.surface, p), i);
      EXPECT_NEAR(dot(p - patch.centroid, patch.normal), 0.0, 1e-9);
      mean = mean + (1.0 / 512) * (p - patch.centroid);
      spread = std::max(spread, length(p - patch.centroid));
    }
    // Four standard errors of 512 *random* points at most `spread` away (half of it, root mean square): low
    // discrepancy points do better, rejected ones not much worse.
    EXPECT_LT(length(mean), 4.0 * 0.71 * spread / std::sqrt(512.0)) << i;
  }
}

TEST(Enclosure, FindsThePatchUnderAPoint) {
  const Enclosure e = make(box(4, 4, 2), 1.0);
  EXPECT_EQ(e.patches().size(), 16U + 16 + 4 * 8);
  const std::uint32_t patch = e.patch_of(e.floor_surface(), {2.3, 3.9, 0});
  EXPECT_NEAR(e.patches()[patch].centroid.x, 2.5, 1e-12);
  EXPECT_NEAR(e.patches()[patch].centroid.y, 3.5, 1e-12);
}

TEST(Enclosure, NoPatchLiesOnBothSidesOfAWall) {
  // Walls of full height across the grid of patches, one of them leaving a strip narrower than a fifth of a
  // cell.
  for (const double x : {3.3, 3.45, 5.85}) {
    EnclosureShape shape = box(6, 5, 3);
    shape.prisms = {{rectangle({x, 0}, {x + 0.06, 5}), 0.0, 3.0}};
    const Enclosure e = make(shape, 0.7);
    std::vector<Point3> points(64);
    double left_m2 = 0.0;
    for (std::uint32_t i = 0; i < e.patches().size(); ++i) {
      const Patch& patch = e.patches()[i];
      e.sample_patch(i, 1, points);
      const bool left = points.front().x < x + 0.03;
      for (const Point3 p : points) {
        EXPECT_EQ(p.x < x + 0.03, left) << x << ", patch " << i;
        EXPECT_EQ(e.patch_of(patch.surface, p), i);
      }
      if (left) left_m2 += patch.area_m2;
    }
    EXPECT_NEAR(left_m2, 2.0 * 5.0 * x + 2.0 * 3.0 * x + 2.0 * 5.0 * 3.0, 1e-4);
  }
}

TEST(Enclosure, NoPatchReachesFromBehindFurnitureIntoTheOpen) {
  EnclosureShape shape = box(6, 5, 3);
  shape.prisms = {{rectangle({1.3, 0.04}, {3.05, 0.4}), 0.0, 1.83}};
  const Enclosure e = make(shape, 0.5);
  const Surface& wall = e.surfaces()[e.wall_surface(0)];
  std::vector<Point3> points(64);
  double behind_m2 = 0.0;
  for (std::uint32_t i = wall.first_patch; i < wall.first_patch + wall.patch_count; ++i) {
    const auto is_behind = [](Point3 p) { return p.x > 1.3 && p.x < 3.05 && p.z < 1.83; };
    e.sample_patch(i, 1, points);
    for (const Point3 p : points) EXPECT_EQ(is_behind(p), is_behind(points.front())) << "patch " << i;
    if (is_behind(points.front())) behind_m2 += e.patches()[i].area_m2;
  }
  EXPECT_NEAR(behind_m2, 1.75 * 1.83, 1e-6);
}

TEST(Enclosure, BlocksAreNeighbouringPatchesOfTwiceTheSide) {
  const Enclosure e = make(box(8, 6, 2.8), 0.5);
  std::vector<std::vector<std::uint32_t>> of_block(e.block_count());
  for (std::uint32_t i = 0; i < e.patches().size(); ++i) of_block[e.patches()[i].block].push_back(i);
  for (const std::vector<std::uint32_t>& block : of_block) {
    ASSERT_EQ(block.size(), 4U);
    for (const std::uint32_t i : block) {
      EXPECT_EQ(e.patches()[i].surface, e.patches()[block[0]].surface);
      EXPECT_LT(length(e.patches()[i].centroid - e.patches()[block[0]].centroid), 0.75);
    }
  }
}

TEST(Enclosure, NoBlockLiesOnBothSidesOfAWall) {
  for (const double x : {3.3, 3.45, 5.85}) {
    EnclosureShape shape = box(6, 5, 3);
    shape.prisms = {{rectangle({x, 0}, {x + 0.06, 5}), 0.0, 3.0}};
    const Enclosure e = make(shape, 0.7);
    std::vector<int> sides(e.block_count(), 0);  // 1 left, 2 right
    for (const Patch& patch : e.patches()) sides[patch.block] |= patch.centroid.x < x + 0.03 ? 1 : 2;
    for (const int side : sides) EXPECT_NE(side, 3) << x;
  }
}

TEST(Enclosure, NoRayLeaksFromAwkwardRooms) {
  std::size_t rays_sent = 0;
  std::size_t leaks = 0;
  for (int turn = 0; turn < 6; ++turn) {
    const Enclosure e = make(awkward(0.3 * turn, {37.0 * turn, -11.0 * turn}), 0.5);
    for (std::uint32_t i = 0; i < e.patches().size(); ++i) {
      const Rays rays = rays_of_patch(e, i, 256);
      std::vector<SurfaceHit> hits(rays.size());
      e.trace(rays, hits);
      rays_sent += rays.size();
      for (const SurfaceHit& hit : hits) leaks += hit.patch == SurfaceHit::kNone;
    }
  }
  EXPECT_GT(rays_sent, 1'000'000U);
  EXPECT_LE(static_cast<double>(leaks), Enclosure::kLeakLimit * static_cast<double>(rays_sent)) << leaks;
}

TEST(Enclosure, HitsFallOnTheSurfaceTheyName) {
  const Enclosure e = make(awkward(0.9, {60, 5}), 0.5);
  std::size_t on_a_line = 0;
  std::size_t all = 0;
  for (std::uint32_t i = 0; i < e.patches().size(); i += 3) {
    const Rays rays = rays_of_patch(e, i, 64);
    std::vector<SurfaceHit> hits(rays.size());
    e.trace(rays, hits);
    for (std::size_t k = 0; k < hits.size(); ++k) {
      if (hits[k].patch == SurfaceHit::kNone) continue;
      const Surface& s = e.surfaces()[e.patches()[hits[k].patch].surface];
      const Point3 place = rays.at(k, hits[k].distance_m);
      EXPECT_NEAR(dot(place - s.corner, s.frame.z), 0.0, 2e-5);  // single precision over 10 m
      EXPECT_LT(dot(rays.direction(k), s.frame.z), 0.0);
      const std::uint32_t patch = e.patch_of(e.patches()[hits[k].patch].surface, place);
      if (patch != hits[k].patch) ++on_a_line;
      ++all;
    }
  }
  // Rounding may put a place on either side of a line between patches: 2e-5 m of half a metre, four times.
  EXPECT_LT(on_a_line, all / 2000);
}

TEST(Enclosure, RaysLeaveThroughOpenings) {
  const Enclosure e = make(awkward(0, {0, 0}), 0.5);
  const Vector3 south{0, -1, 0};
  Rays rays(e.middle());
  rays.add({2.5, 3, 5.0}, south);                        // window 0
  rays.add({6.0, 3, 6.2}, south);                        // window 1, above window 0's head
  rays.add({2.5, 3, 6.2}, south);                        // the wall above window 0
  rays.add({4.5, 3, 5.0}, south);                        // between the windows
  rays.add({1.5, 5.5, 4.0}, {0, 0, 1});                  // skylight
  rays.add({3.0, 5.5, 4.0}, {0, 0, 1});                  // beside it
  rays.add({6.5, 2.5, 4.5}, normalized({0, -1, 0.01}));  // over the desk: stopped by the parcel
  rays.add({2, 6.4, 4.0}, {-1, 0, 0});                   // door: wall 5 runs down from (0, 8)
  std::vector<std::int32_t> out(rays.size());
  e.exit_opening(rays, out);
  EXPECT_EQ(out, (std::vector<std::int32_t>{0, 1, -1, -1, 3, -1, -1, 2}));
}

TEST(Enclosure, SegmentsMayEndOnSurfaces) {
  const Enclosure e = make(awkward(0, {0, 0}), 0.5);
  Rays paths(e.middle());
  const auto add = [&](Point3 from, Point3 to) { paths.add(from, to - from); };
  add({6.5, 1.4, 6.3}, {6.5, 3.0, 3.5});  // ceiling to floor past the desk
  add({6.4, 1.4, 6.3}, {6.4, 1.4, 4.7});  // ceiling to the parcel's top
  add({6.4, 1.4, 6.3}, {6.4, 1.4, 3.6});  // into the desk
  add({8, 1, 5}, {1, 7, 5});              // round the corner of the L
  std::vector<std::uint8_t> out(paths.size());
  e.occluded(paths, out);
  EXPECT_EQ(out, (std::vector<std::uint8_t>{0, 0, 1, 1}));
}

TEST(Enclosure, ObservationPointsAreMovedClear) {
  using State = ObservationOrigin::State;
  const Enclosure e = make(awkward(0, {0, 0}), 0.5);
  const Vector3 up{0, 0, 1};
  const double c = Enclosure::kClearance_m;
  const auto at = [&](Point3 p, Vector3 d) { return e.observation_origin(p, d); };
  EXPECT_EQ(at({3, 2, 5}, up).position, (Point3{3, 2, 5}));
  EXPECT_NEAR(at({3, 2, 3.5}, up).position.z, 3.5 + c, 1e-12);
  EXPECT_NEAR(at({3, 2, 6.3}, {0, 0, -1}).position.z, 6.3 - c, 1e-12);
  EXPECT_NEAR(at({0, 2, 5}, {1, 0, 0}).position.x, c, 1e-12);
  const ObservationOrigin corner = at({0, 0, 3.5}, up);
  EXPECT_EQ(corner.state, State::clear);
  EXPECT_NEAR(corner.position.x, c, 1e-9);
  EXPECT_NEAR(corner.position.y, c, 1e-9);
  // On the desk at 4.24, and at a desk height of 4.2 that lies inside it.
  EXPECT_NEAR(at({7, 1.4, 4.24}, up).position.z, 4.24 + c, 1e-12);
  EXPECT_NEAR(at({7, 1.4, 4.20}, up).position.z, 4.24 + c, 1e-12);
  EXPECT_EQ(at({7, 1.4, 3.9}, up).state, State::inside_object);
  EXPECT_EQ(at({6, 3.8, 5}, up).state, State::inside_object);
  EXPECT_EQ(at({6, 6, 5}, up).state, State::outside);
  EXPECT_EQ(at({3, 2, 7}, up).state, State::outside);
  // On the front of the bookcase, looking out of it.
  const ObservationOrigin front = at({6, 3.6, 5}, {0, -1, 0});
  EXPECT_EQ(front.state, State::clear);
  EXPECT_NEAR(front.position.y, 3.6 - c, 1e-12);
  EXPECT_TRUE(e.in_air({6, 3.5, 5}));
  EXPECT_FALSE(e.in_air({6, 3.7, 5}));
}

TEST(Enclosure, RefusesWhatMakesNoRoom) {
  const auto where_of = [](const EnclosureShape& shape, double patch_m = 0.5) {
    const auto made = Enclosure::make(shape, patch_m);
    EXPECT_FALSE(made.has_value());
    if (made) return std::string();
    for (const Diagnostic& d : made.error()) {
      EXPECT_FALSE(d.problem.empty());
      EXPECT_FALSE(d.remedy.empty());
    }
    return made.error().front().where;
  };
  EnclosureShape shape = box(4, 3, 2.5);
  EXPECT_TRUE(Enclosure::make(shape, 0.5).has_value());
  EXPECT_EQ(where_of(shape, 0.0), "/patch_m");
  EXPECT_EQ(where_of(shape, 1e-6), "/patch_m");
  shape.height_m = -2;
  EXPECT_EQ(where_of(shape), "/height_m");
  shape = box(4, 3, 2.5);
  shape.floor = reversed(shape.floor);
  EXPECT_EQ(where_of(shape), "/floor");
  shape.floor = {{0, 0}, {1, 1}};
  EXPECT_EQ(where_of(shape), "/floor");
  shape = box(4, 3, 2.5);
  shape.floor.clear();  // an outline of too many vertices is refused before anything slow looks at it
  for (int i = 0; i < 100'000; ++i)
    shape.floor.push_back({10 * std::cos(2e-5 * kPi * i), 10 * std::sin(2e-5 * kPi * i)});
  EXPECT_EQ(where_of(shape), "/floor");
  shape = box(4, 3, 2.5);
  shape.prisms.resize(3000);
  EXPECT_EQ(where_of(shape), "/prisms");
  shape = box(4, 3, 2.5);
  shape.wall_openings = {{4, 0, 0, 1, 1}};
  EXPECT_EQ(where_of(shape), "/wall_openings/0");
  shape.wall_openings = {{0, 3.5, 0, 1, 1}};
  EXPECT_EQ(where_of(shape), "/wall_openings/0");
  shape.wall_openings = {{0, 1, 1, 1, 1.6}};
  EXPECT_EQ(where_of(shape), "/wall_openings/0");
  shape.wall_openings = {{0, 1, 0, 1, 2}, {0, 1.9, 1, 1, 1}};
  EXPECT_EQ(where_of(shape), "/wall_openings/1");
  shape.wall_openings = {{0, 1, 0, std::nan(""), 2}};
  EXPECT_EQ(where_of(shape), "/wall_openings/0");
  shape.wall_openings = {{0, 0, 0, 4, 2.5}};  // a wall that is all opening
  EXPECT_TRUE(Enclosure::make(shape, 0.5).has_value());
  shape = box(4, 3, 2.5);
  shape.roof_openings = {{rectangle({3, 1}, {5, 2})}};
  EXPECT_EQ(where_of(shape), "/roof_openings/0");
  shape = box(4, 3, 2.5);
  shape.prisms = {{rectangle({3, 1}, {4.2, 2}), 0, 1}};
  EXPECT_EQ(where_of(shape), "/prisms/0");
  shape.prisms = {{rectangle({1, 1}, {2, 2}), 1, 0.5}};
  EXPECT_EQ(where_of(shape), "/prisms/0");
  shape.prisms = {{rectangle({1, 1}, {2, 2}), 0, 3}};
  EXPECT_EQ(where_of(shape), "/prisms/0");
}

TEST(Enclosure, KeyFollowsEveryInput) {
  const auto key_of = [](const EnclosureShape& shape, double patch_m) {
    KeyBuilder key;
    make(shape, patch_m).add_to_key(key);
    return key.key();
  };
  const EnclosureShape shape = awkward(0, {0, 0});
  EXPECT_EQ(key_of(shape, 0.5), key_of(shape, 0.5));
  EXPECT_NE(key_of(shape, 0.5), key_of(shape, 0.6));
  EnclosureShape changed = shape;
  changed.prisms[0].top_z_m += 0.01;
  EXPECT_NE(key_of(shape, 0.5), key_of(changed, 0.5));
  changed = shape;
  changed.wall_openings[2].wall = 4;
  EXPECT_NE(key_of(shape, 0.5), key_of(changed, 0.5));
  changed = shape;
  changed.ceiling_gradient.y = 0.01;
  changed.prisms.clear();
  EnclosureShape level = changed;
  level.ceiling_gradient = {};
  EXPECT_NE(key_of(level, 0.5), key_of(changed, 0.5));
}

TEST(Enclosure, OverlappingFurnitureIsTakenAsOneBody) {
  EnclosureShape shape = box(4, 4, 3);
  shape.prisms = {{rectangle({1, 1}, {2, 2}), 0, 1}, {rectangle({1.5, 1}, {3, 2}), 0, 1}};
  const Enclosure e = make(shape, 0.5);
  // The union is a box of 2 x 1 x 1.
  EXPECT_NEAR(area_of(e, SurfaceKind::object), 2 + 6, 1e-5);
  EXPECT_NEAR(area_of(e, SurfaceKind::floor), 16 - 2, 1e-5);
  EXPECT_NEAR(e.volume_m3(), 48 - 2, 1e-5);
}

}  // namespace
}  // namespace halflight
