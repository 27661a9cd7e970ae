#include "sensing/coverage.hpp"

#include "base/units.hpp"
#include "published.hpp"

#include <cmath>
#include <initializer_list>

#include <gtest/gtest.h>

namespace halflight::sensing {
namespace {

using domain::Design;
using domain::Furniture;
using domain::OccupancySensor;
using domain::Partition;
using domain::Space;
using domain::TaskArea;
using Coverage = OccupancySensor::Coverage;
using Technology = OccupancySensor::Technology;

// Booleans move each vertex by at most half a grid step, and the rooms here have perimeters below 100 m.
constexpr double kGrid_m2 = 1e-4;
// Half a step of an arc off its chord: r (1 - cos 1.875 deg), over a wall of a few metres.
constexpr double kArc_m2 = 5e-3;

Space hall() {
  Space space;
  space.id = "hall";
  space.floor = rectangle({-20, -20}, {20, 20});
  space.height_m = 3.0;
  return space;
}

OccupancySensor sensor_at(Point3 at, double reach_m, Technology technology = Technology::infrared) {
  OccupancySensor sensor;
  sensor.id = "O";
  sensor.space = "hall";
  sensor.at = at;
  sensor.technology = technology;
  sensor.major_radius_m = sensor.minor_radius_m = reach_m;
  return sensor;
}

Partition screen(Point2 from, Point2 to, double height_m) {
  Partition p;
  p.id = "screen";
  p.kind = Partition::Kind::part_height;
  p.from = from;
  p.to = to;
  p.height_m = height_m;
  p.thickness_m = 0.0;
  return p;
}

Furniture box(Point2 low, Point2 high, double bottom_m, double top_m) {
  Furniture f;
  f.id = f.kind = "desk";
  f.plan = rectangle(low, high);
  f.bottom_m = bottom_m;
  f.top_m = top_m;
  return f;
}

double seen_m2(const OccupancySensor& sensor, const Space& space, Motion motion) {
  return area(field_of(sensor, space, motion).seen);
}

TEST(Coverage, AHallInFullViewIsSeenToTheWholeShape) {
  const Space space = hall();
  OccupancySensor sensor = sensor_at({1, 2, 2.7}, 5.0);
  EXPECT_PUBLISHED("closed form: pi r2", "floor seen by a sensor with a circular field, r 5 m", "m2",
                   kPi * 25.0, seen_m2(sensor, space, Motion::major), kGrid_m2);
  sensor.coverage = Coverage::half_circle;
  EXPECT_PUBLISHED("closed form: pi r2 / 2", "floor seen by a sensor with half a circle, r 5 m", "m2",
                   0.5 * kPi * 25.0, seen_m2(sensor, space, Motion::major), kGrid_m2);
  sensor.coverage = Coverage::sector;
  sensor.sector_deg = 110.0;
  EXPECT_PUBLISHED("closed form: theta r2 / 2", "floor seen by a sensor with a sector of 110 degrees, r 5 m",
                   "m2", 0.5 * 25.0 * 110.0 * kRadPerDeg, seen_m2(sensor, space, Motion::major), kGrid_m2);
  sensor.coverage = Coverage::strip;
  sensor.strip_width_m = 1.5;
  sensor.aim_deg = 30.0;
  EXPECT_PUBLISHED("closed form: 2 r w", "floor seen by a sensor with a strip of 1.5 m, r 5 m both ways",
                   "m2", 15.0, seen_m2(sensor, space, Motion::major), kGrid_m2);
  EXPECT_TRUE(field_of(sensor, space, Motion::major).hidden.empty());
}

TEST(Coverage, ShapesPointWhereTheyAreAimed) {
  OccupancySensor sensor = sensor_at({0, 0, 2.7}, 4.0);
  sensor.coverage = Coverage::sector;
  sensor.sector_deg = 90.0;
  sensor.aim_deg = 90.0;  // east
  const Polygon east = coverage_shape(sensor, Motion::major);
  EXPECT_TRUE(is_counter_clockwise(east));
  EXPECT_TRUE(contains(east, {3, 0}));
  EXPECT_TRUE(contains(east, {2, 1.9}));
  EXPECT_FALSE(contains(east, {2, 2.1}));
  EXPECT_FALSE(contains(east, {-1, 0}));
  sensor.coverage = Coverage::strip;
  sensor.strip_width_m = 1.0;
  sensor.aim_deg = 0.0;  // north and south
  const Polygon strip = coverage_shape(sensor, Motion::major);
  EXPECT_TRUE(is_counter_clockwise(strip));
  EXPECT_TRUE(contains(strip, {0.4, -3.9}));
  EXPECT_FALSE(contains(strip, {0.6, 0}));
}

TEST(Coverage, AWallCutsASegmentOffTheCircle) {
  Space space = hall();
  space.floor = rectangle({-20, -20}, {3, 20});
  const double r = 5.0;
  const double c = 3.0;
  EXPECT_PUBLISHED("closed form: circle less the segment beyond a chord",
                   "floor seen by a sensor of reach 5 m, 3 m from a wall", "m2",
                   kPi * r * r - (r * r * std::acos(c / r) - c * std::sqrt(r * r - c * c)),
                   seen_m2(sensor_at({0, 0, 2.7}, r), space, Motion::minor), kArc_m2);
}

TEST(Coverage, ACornerHidesWhatLiesBehindIt) {
  Space space = hall();
  space.floor = {{0, 0}, {6, 0}, {6, 2}, {2, 2}, {2, 5}, {0, 5}};
  // The line from (1, 4) past the corner (2, 2) meets the far wall at x = 3.
  for (const Technology technology : {Technology::infrared, Technology::ultrasonic, Technology::dual}) {
    const Field field = field_of(sensor_at({1, 4, 2.7}, 20.0, technology), space, Motion::major);
    EXPECT_NEAR(area(field.hidden), 0.5 * (4.0 + 3.0) * 2.0, kGrid_m2);
    EXPECT_NEAR(area(field.seen), 18.0 - 7.0, kGrid_m2);
  }
  EXPECT_NEAR(seen_m2(sensor_at({1, 4, 2.7}, 20.0, Technology::microwave), space, Motion::major), 18.0,
              kGrid_m2);
}

TEST(Coverage, ASensorOnAWallLooksAwayFromIt) {
  Space space = hall();
  space.floor = {{0, 0}, {6, 0}, {6, 2}, {2, 2}, {2, 5}, {0, 5}};
  // On the wall, a hair outside of it, and a hair inside: all of the long leg.
  for (const double x : {-1e-7, 0.0, 1e-4})
    EXPECT_NEAR(seen_m2(sensor_at({x, 1, 1.2}, 5.0, Technology::ultrasonic), space, Motion::minor),
                seen_m2(sensor_at({1e-3, 1, 1.2}, 5.0, Technology::ultrasonic), space, Motion::minor), 0.02);
}

// A long thing that is thin: what is hidden is the stretch between two multiples of its distance.
TEST(Coverage, ShadowsAreAsLongAsSimilarTrianglesSay) {
  const Polygon wall = rectangle({2.0, -1.0}, {2.0001, 1.0});
  const auto far_edge = [&](double eye_m, double bottom_m, double top_m, double height) {
    return bounds(united(shadow({0, 0, eye_m}, wall, bottom_m, top_m, height, 50.0)));
  };
  EXPECT_PUBLISHED("closed form: similar triangles, d h / (z - h)",
                   "strip of floor behind a wall of 1.5 m, 2 m from a sensor at 2.7 m", "m",
                   2.0 * 1.5 / (2.7 - 1.5), far_edge(2.7, 0.0, 1.5, 0.0).high.x - 2.0, 1e-3);
  EXPECT_PUBLISHED("closed form: similar triangles, d (h - p) / (z - h)",
                   "strip behind the same wall where a seated person, 0.9 m, is hidden", "m",
                   2.0 * (1.5 - 0.9) / (2.7 - 1.5), far_edge(2.7, 0.0, 1.5, 0.9).high.x - 2.0, 1e-3);
  // What hangs leaves free what is seen below it: the shadow begins at d (z - p) / (z - b).
  EXPECT_PUBLISHED("closed form: similar triangles, d (z - p) / (z - b)",
                   "where the shadow of a cabinet from 1.2 to 1.5 m begins", "m", 2.0 * 1.8 / 1.5,
                   far_edge(2.7, 1.2, 1.5, 0.9).low.x, 1e-3);
  // Seen from below the same holds upside down.
  EXPECT_NEAR(far_edge(0.5, 0.8, 3.0, 1.4).high.x, 2.0 * (1.4 - 0.5) / (0.8 - 0.5), 1e-3);
  // Not as high as any line to the person: no shadow.
  EXPECT_TRUE(shadow({0, 0, 2.7}, wall, 0.0, 0.9, 0.9, 50.0).empty());
  EXPECT_TRUE(shadow({0, 0, 2.7}, wall, 2.8, 3.0, 0.9, 50.0).empty());
}

TEST(Coverage, WhatIsAsHighAsTheSensorHidesAllBehindIt) {
  Space space = hall();
  space.partitions.push_back(screen({2, -1}, {2, 1}, 2.0));
  const double r = 4.0;
  const double half = std::atan2(1.0, 2.0);
  EXPECT_PUBLISHED("closed form: sector less triangle",
                   "floor hidden by a screen 2 m wide, 2 m from a low sensor of reach 4 m", "m2",
                   half * r * r - 2.0 * 1.0,
                   area(field_of(sensor_at({0, 0, 1.2}, r), space, Motion::minor).hidden), kArc_m2);
  // Level with the person, the line is level too.
  EXPECT_NEAR(area(field_of(sensor_at({0, 0, 1.2}, r), space, Motion::major).hidden), half * r * r - 2.0,
              kArc_m2);
}

TEST(Coverage, LowFurnitureHidesNothing) {
  Space space = hall();
  space.furniture.push_back(box({1, -1}, {2, 1}, 0.0, 0.75));
  for (const Motion motion : {Motion::major, Motion::minor})
    EXPECT_TRUE(field_of(sensor_at({0, 0, 2.7}, 5.0), space, motion).hidden.empty());
}

TEST(Coverage, AScreenBetweenDesksHidesWhoSitsButNotWhoWalks) {
  Space space = hall();
  space.partitions.push_back(screen({2, -1}, {2, 1}, 1.1));
  EXPECT_GT(area(field_of(sensor_at({0, 0, 2.7}, 5.0), space, Motion::minor).hidden), 0.1);
  EXPECT_TRUE(field_of(sensor_at({0, 0, 2.7}, 5.0), space, Motion::major).hidden.empty());
}

TEST(Coverage, WhatAWavePassesDependsOnItsKind) {
  Space space = hall();
  space.partitions.push_back(screen({2, -1}, {2, 1}, 2.0));
  const auto hides = [&](Technology technology, Motion motion) {
    return area(field_of(sensor_at({0, 0, 2.9}, 5.0, technology), space, motion).hidden) > 0.1;
  };
  EXPECT_TRUE(hides(Technology::infrared, Motion::minor));
  EXPECT_FALSE(hides(Technology::ultrasonic, Motion::minor)) << "sound goes over it";
  EXPECT_FALSE(hides(Technology::microwave, Motion::minor));
  EXPECT_TRUE(hides(Technology::dual, Motion::major)) << "both turn on";
  EXPECT_FALSE(hides(Technology::dual, Motion::minor)) << "either holds on";
  space.partitions.front().height_m = 2.95;  // nothing is left below the ceiling
  EXPECT_TRUE(hides(Technology::ultrasonic, Motion::minor));
  EXPECT_TRUE(hides(Technology::dual, Motion::minor));
  EXPECT_FALSE(hides(Technology::microwave, Motion::minor));
}

TEST(Coverage, AMovableWallStandsOrNotByItsFirstState) {
  Space space = hall();
  space.partitions.push_back(screen({2, -1}, {2, 1}, 3.0));
  space.partitions.front().kind = Partition::Kind::movable;
  space.partitions.front().states = {"open", "closed"};
  EXPECT_TRUE(field_of(sensor_at({0, 0, 2.9}, 5.0), space, Motion::major).hidden.empty());
  space.partitions.front().states = {"closed", "open"};
  EXPECT_FALSE(field_of(sensor_at({0, 0, 2.9}, 5.0), space, Motion::major).hidden.empty());
}

TEST(Coverage, WhatHoldsTheSensorIsNotInItsWay) {
  Space space = hall();
  space.furniture.push_back(box({-0.2, -0.2}, {0.2, 0.2}, 0.0, 2.2));
  const Field field = field_of(sensor_at({0.2, 0, 2.0}, 5.0), space, Motion::minor);
  EXPECT_NEAR(area(field.seen), kPi * 25.0 - 0.16, kGrid_m2);
  EXPECT_TRUE(field.hidden.empty());
}

TEST(Coverage, SeenAndHiddenMakeUpTheShapeInTheRoom) {
  Space space = hall();
  space.floor = {{-4, -4}, {4, -4}, {4, 1}, {0.5, 1}, {0.5, 4}, {-4, 4}};
  space.partitions.push_back(screen({-2, -3}, {-2, 2}, 1.6));
  space.furniture.push_back(box({1, -2}, {1.4, 0}, 0.0, 1.9));
  for (const double x : {-3.0, -1.0, 0.0, 3.0}) {
    const OccupancySensor sensor = sensor_at({x, -1, 2.7}, 4.0);
    const Field field = field_of(sensor, space, Motion::minor);
    const Region shape = difference(intersection(coverage_shape(sensor, Motion::minor), space.floor),
                                    std::vector<Polygon>{rectangle({1, -2}, {1.4, 0})});
    EXPECT_GT(area(field.hidden), 0.1);
    EXPECT_NEAR(area(field.seen) + area(field.hidden), area(shape), 0.01);
    EXPECT_LT(area(difference(field.seen, shape)), kGrid_m2);
  }
}

// A point is seen when nothing stands across the line to it: the same answer by another way.
TEST(Coverage, AgreesWithLinesOfSightOneByOne) {
  Space space = hall();
  const Furniture shelf = box({1.0, -0.5}, {1.5, 1.0}, 0.0, 1.8);
  const Furniture cabinet = box({-2.0, 0.5}, {-1.0, 0.9}, 1.3, 2.2);
  space.furniture = {shelf, cabinet};
  const Point3 eye{0.2, -0.1, 2.5};
  const Field field = field_of(sensor_at(eye, 5.0), space, Motion::minor);
  const auto meets = [&](const Furniture& f, Point3 target) {
    const Box2 b = bounds(f.plan);
    for (int i = 1; i < 2000; ++i) {
      const Point3 p = eye + (i / 2000.0) * (target - eye);
      if (p.x > b.low.x && p.x < b.high.x && p.y > b.low.y && p.y < b.high.y && p.z > f.bottom_m &&
          p.z < f.top_m)
        return true;
    }
    return false;
  };
  int hidden = 0;
  int wrong = 0;
  int count = 0;
  for (double x = -3.3; x < 3.4; x += 0.113)
    for (double y = -3.3; y < 3.4; y += 0.117) {
      if (contains(shelf.plan, {x, y})) continue;
      const bool is_hidden = meets(shelf, {x, y, 0.9}) || meets(cabinet, {x, y, 0.9});
      ++count;
      hidden += is_hidden ? 1 : 0;
      wrong += contains(field.seen, {x, y}) == is_hidden ? 1 : 0;
    }
  EXPECT_GT(hidden, 100);
  EXPECT_LE(wrong, count / 500) << "only points on an edge of a shadow may differ";
}

TEST(RoomReach, TellsTheSharesOfTheFloor) {
  Space space = hall();
  space.floor = rectangle({0, 0}, {10, 10});
  space.furniture.push_back(box({0, 0}, {10, 2}, 0.0, 2.0));
  Design design;
  // Looks over a shelf along a wall: all of the free floor.
  design.occupancy_sensors = {sensor_at({5, 5, 2.7}, 20.0)};
  RoomReach reach = *reach_of(space, design);
  EXPECT_NEAR(reach.major_share, 1.0, 1e-5);
  // Half of the free floor, once more by a second sensor, and none by one that is taken out or elsewhere.
  OccupancySensor strip = sensor_at({5, 6, 2.7}, 4.0);
  strip.coverage = Coverage::strip;
  strip.strip_width_m = 5.0;
  OccupancySensor gone = sensor_at({1, 6, 2.7}, 20.0);
  gone.status = domain::Status::remove;
  OccupancySensor elsewhere = gone;
  elsewhere.status = domain::Status::added;
  elsewhere.space = "other";
  design.occupancy_sensors = {gone, strip, elsewhere, strip};
  reach = *reach_of(space, design);
  ASSERT_EQ(reach.sensors.size(), 2U);
  EXPECT_EQ(reach.sensors[0].index, 1U);
  EXPECT_EQ(reach.sensors[1].index, 3U);
  EXPECT_NEAR(reach.major_share, 0.5, 1e-5);
  design.occupancy_sensors.clear();
  EXPECT_EQ(reach_of(space, design)->major_share, 0.0);
}

TEST(RoomReach, KnowsThePlacesAndHowMuchOfEachIsSeen) {
  Space space = hall();
  space.floor = rectangle({0, 0}, {10, 10});
  const auto task = [](const char* id, Point2 low, Point2 high, double height_m) {
    TaskArea t;
    t.id = id;
    t.plan = rectangle(low, high);
    t.height_m = height_m;
    return t;
  };
  space.furniture = {box({1, 1}, {2, 2}, 0, 0.74), box({3, 1}, {4, 2}, 0, 0.74), box({6, 1}, {7, 2}, 0, 0.74),
                     box({1, 1}, {2, 1.2}, 0, 2.0)};
  // One area over two desks, one over none, the floor, and a wall.
  space.task_areas = {task("desks", {1, 1}, {4, 2}, 0.75), task("bench", {8, 8}, {9, 9}, 0.9),
                      task("floor", {0, 4}, {9, 5}, 0.0), task("board", {0, 4}, {9, 5}, 1.5)};
  space.task_areas.back().plane = TaskArea::Plane::vertical;
  Design design;
  OccupancySensor strip = sensor_at({0, 1.75, 2.9}, 3.5);
  strip.coverage = Coverage::strip;
  strip.aim_deg = 90.0;
  strip.strip_width_m = 0.5;
  strip.technology = Technology::ultrasonic;
  design.occupancy_sensors = {strip};
  const RoomReach reach = *reach_of(space, design);
  ASSERT_EQ(reach.places.size(), 3U);
  EXPECT_EQ(reach.places[0].kind, Place::Kind::furniture);
  EXPECT_EQ(reach.places[0].index, 0U);
  EXPECT_NEAR(reach.places[0].seen_share, 0.5, 1e-4);
  EXPECT_EQ(reach.places[1].index, 1U);
  EXPECT_NEAR(reach.places[1].seen_share, 0.25, 1e-4);
  EXPECT_EQ(reach.places[2].kind, Place::Kind::task_area);
  EXPECT_EQ(reach.places[2].index, 1U);
  EXPECT_EQ(reach.places[2].seen_share, 0.0);
  EXPECT_EQ(reach_of(reach.places[0]), PlaceReach::partly);
  EXPECT_EQ(reach_of(reach.places[2]), PlaceReach::none);
}

TEST(RoomReach, ACounterIsAPlaceAndNoObstacle) {
  Space space = hall();
  space.furniture = {box({2, -1}, {3, 1}, 0, 1.1)};
  Design design;
  design.occupancy_sensors = {sensor_at({0, 0, 2.7}, 5.0)};
  EXPECT_TRUE(reach_of(space, design)->places.empty());
  EXPECT_FALSE(reach_of(space, design)->sensors.front().minor.hidden.empty());
  TaskArea top;
  top.plan = rectangle({2, -1}, {3, 1});
  top.height_m = 1.1;
  space.task_areas = {top};
  const RoomReach reach = *reach_of(space, design);
  ASSERT_EQ(reach.places.size(), 1U);
  EXPECT_NEAR(reach.places.front().seen_share, 1.0, 1e-9);
  EXPECT_TRUE(reach.sensors.front().minor.hidden.empty());
}

TEST(RoomReach, ReachOfAPlaceGoesByItsShare) {
  Place place;
  const auto at = [&](double share) {
    place.seen_share = share;
    return reach_of(place);
  };
  EXPECT_EQ(at(0.95), PlaceReach::whole);
  EXPECT_EQ(at(0.949), PlaceReach::partly);
  EXPECT_EQ(at(0.05), PlaceReach::partly);
  EXPECT_EQ(at(0.049), PlaceReach::none);
}

TEST(RoomReach, GivesUpWhereNobodyWouldWait) {
  Space space = hall();
  space.floor.clear();
  for (int i = 0; i < 1000; ++i) {
    const double angle = 2.0 * kPi * i / 1000.0;
    const double r = i % 2 == 0 ? 5.0 : 10.0;
    space.floor.push_back({r * std::cos(angle), r * std::sin(angle)});
  }
  Design design;
  design.occupancy_sensors.assign(2, sensor_at({0, 0, 2.7}, 9.0));
  EXPECT_TRUE(reach_of(space, design).has_value());
  design.occupancy_sensors.assign(200, sensor_at({0, 0, 2.7}, 9.0));
  EXPECT_FALSE(reach_of(space, design).has_value());
}

TEST(RoomReach, ARoomWithoutAFloorHasNone) {
  Space space = hall();
  space.floor.clear();
  Design design;
  design.occupancy_sensors = {sensor_at({0, 0, 2.7}, 5.0)};
  const RoomReach reach = *reach_of(space, design);
  EXPECT_EQ(reach.minor_share, 0.0);
  EXPECT_TRUE(reach.sensors.front().minor.seen.empty());
}

}  // namespace
}  // namespace halflight::sensing
