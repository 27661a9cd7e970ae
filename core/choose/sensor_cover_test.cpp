#include "choose/sensor_cover.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "domain/project.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using domain::DeviceKind;
using domain::Door;
using domain::OccupancySensor;
using Mounting = DeviceKind::Mounting;
using Technology = OccupancySensor::Technology;
using Coverage = OccupancySensor::Coverage;

DeviceKind kind(const std::string& id, Mounting mounting, double major_m, double minor_m,
                Technology technology = Technology::infrared, Coverage coverage = Coverage::circle) {
  DeviceKind k;
  k.id = id;
  k.mounting = mounting;
  domain::OccupancySensing& o = k.occupancy.emplace();
  o.technology = technology;
  o.coverage = coverage;
  o.major_radius_m = major_m;
  o.minor_radius_m = minor_m;
  if (mounting != Mounting::wall_box) o.rated_height_m = 2.7;
  return k;
}

domain::Space room(double x_m, double y_m) {
  domain::Space space;
  space.id = "101";
  space.floor = rectangle({0, 0}, {x_m, y_m});
  space.occupancy.pattern = domain::Occupancy::Pattern::circulation;
  return space;
}

/// A desk with its task area, its middle at a place.
void add_desk(domain::Space& space, const std::string& id, Point2 at, double wide_m = 1.6,
              double deep_m = 0.8) {
  domain::Furniture& desk = space.furniture.emplace_back();
  desk.id = id;
  desk.kind = "desk";
  desk.plan =
      rectangle({at.x - 0.5 * wide_m, at.y - 0.5 * deep_m}, {at.x + 0.5 * wide_m, at.y + 0.5 * deep_m});
  domain::TaskArea& task = space.task_areas.emplace_back();
  task.id = "task-" + id;
  task.plan = desk.plan;
}
void add_shelf(domain::Space& space, const std::string& id, Point2 low, Point2 high, double top_m) {
  domain::Furniture& shelf = space.furniture.emplace_back();
  shelf.id = id;
  shelf.kind = "shelf";
  shelf.plan = rectangle(low, high);
  shelf.top_m = top_m;
}
Door& add_door(domain::Space& space, const std::string& id, int wall, double offset_m) {
  Door& door = space.doors.emplace_back();
  door.id = id;
  door.wall = wall;
  door.offset_m = offset_m;
  return door;
}
void add_luminaire(SensorCoverProblem& problem, const std::string& id, Point3 at) {
  domain::Luminaire& l = problem.luminaires.emplace_back();
  l.id = id;
  l.type = "panel";
  l.at = at;
}

SensorCover solved(const SensorCoverProblem& problem) {
  auto found = sensor_cover(problem);
  if (!found) throw std::runtime_error(to_text(found.error().front()));
  return *found;
}
SensorCover solved(const domain::Space& space, const std::vector<SensorOffer>& offers,
                   std::size_t people = 0) {
  return solved({space, {}, {}, offers, {}, people});
}

/// The choice as a design of the document.
domain::Design design_of(const SensorCover& cover) {
  domain::Design design;
  design.occupancy_sensors = cover.sensors;
  return design;
}

const SensorFamily& family(const SensorCover& cover, Mounting mounting) {
  return *std::find_if(cover.families.begin(), cover.families.end(),
                       [&](const SensorFamily& f) { return f.mounting == mounting; });
}
std::size_t refused(const SensorCover& cover, Refusal why) {
  return static_cast<std::size_t>(std::count_if(cover.refused.begin(), cover.refused.end(),
                                                [&](const RefusedSensor& r) { return r.why == why; }));
}
std::vector<std::string> not_kept(const SensorCover& cover) {
  std::vector<std::string> all;
  for (const SensorDemand& d : cover.demands)
    if (!d.why.empty()) all.push_back(d.why);
  return all;
}

// --- How many are needed
// --------------------------------------------------------------------------------------------------------

/// Area that a circle about the middle of a square shares with it: four segments are cut off (closed form).
double in_square_m2(double side_m, double radius_m) {
  const double d = 0.5 * side_m;
  const double cut = radius_m <= d ? 0.0
                                   : radius_m * radius_m * std::acos(d / radius_m) -
                                         d * std::sqrt(radius_m * radius_m - d * d);
  return kPi * radius_m * radius_m - 4.0 * cut;
}

TEST(SensorCover, OneCircleIsEnoughExactlyWhereItCoversItsShareOfTheSquare) {
  for (const double radius_m : {2.9, 3.2, 3.4, 4.0}) {
    const DeviceKind k = kind("c", Mounting::ceiling, radius_m, 1.0);
    const SensorCover cover = solved(room(6, 6), {{&k, 100.0}});
    EXPECT_EQ(cover.devices == 1, in_square_m2(6.0, radius_m) >= kPassingShare * 36.0) << radius_m;
    EXPECT_TRUE(cover.keeps_all);
    EXPECT_TRUE(cover.is_proved);
    EXPECT_DOUBLE_EQ(cover.cost, 100.0 * static_cast<double>(cover.devices));
    EXPECT_DOUBLE_EQ(cover.gap(), 0.0);
    if (cover.devices > 1) continue;
    EXPECT_NEAR(cover.sensors.front().at.x, 3.0, 1e-3) << "the middle sees most";
    EXPECT_NEAR(cover.sensors.front().at.y, 3.0, 1e-3);
    EXPECT_NEAR(cover.demands.front().seen_share, std::min(1.0, in_square_m2(6.0, radius_m) / 36.0), 2e-3);
  }
}

TEST(SensorCover, ALongRoomNeedsWhatItsAreaSays) {
  // A circle about the middle line of a room 4 m wide shares 2 (y sqrt(r2 - y2) + r2 asin(y / r)), y = 2 m,
  // with it (closed form): so many are needed at least, and apart from one another they are enough.
  for (const auto& [radius_m, count] : {std::pair{3.0, 2u}, {2.7, 3u}}) {
    const double each_m2 =
        2.0 * (2.0 * std::sqrt(radius_m * radius_m - 4.0) + radius_m * radius_m * std::asin(2.0 / radius_m));
    ASSERT_EQ(static_cast<unsigned>(std::ceil(kPassingShare * 48.0 / each_m2)), count);
    const DeviceKind k = kind("c", Mounting::ceiling, radius_m, 1.0);
    const SensorCover cover = solved(room(12, 4), {{&k, 100.0}});
    EXPECT_EQ(cover.devices, count);
    EXPECT_TRUE(cover.keeps_all && cover.is_proved);
    const auto reach = sensing::reach_of(room(12, 4), design_of(cover));
    EXPECT_GE(reach->major_share, kPassingShare);
  }
}

TEST(SensorCover, PeopleWhoStayAreSeenBySmallMovements) {
  domain::Space space = room(6, 6);
  space.occupancy.pattern = domain::Occupancy::Pattern::shared;
  const DeviceKind k = kind("c", Mounting::ceiling, 6.0, 2.0);
  const SensorCover cover = solved(space, {{&k, 100.0}});
  // 25 m2 away from the walls, of which a circle of 2 m covers half.
  EXPECT_GE(cover.devices, 2u);
  ASSERT_TRUE(cover.keeps_all);
  std::vector<Region> seen;
  for (const OccupancySensor& s : cover.sensors)
    seen.push_back(sensing::field_of(s, space, sensing::Motion::minor).seen);
  EXPECT_GE(area(intersection(united(seen), rectangle({0.5, 0.5}, {5.5, 5.5}))), kStayingShare * 25.0 - 1e-3);
}

TEST(SensorCover, EveryPlaceIsInReachAsTheRoomItselfIsJudged) {
  domain::Space space = room(9, 6);
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 2; ++j)
      add_desk(space, "D" + std::to_string(2 * i + j), {1.5 + 2.0 * i, 1.5 + 3.0 * j});
  add_desk(space, "long", {4.5, 5.5}, 8.5, 0.6);  // longer than any one sensor sees
  add_door(space, "door", 3, 1.0);
  const DeviceKind small = kind("small", Mounting::ceiling, 4.5, 2.5);
  const DeviceKind wide = kind("wide", Mounting::ceiling, 7.0, 3.6);
  const SensorCover cover = solved(space, {{&small, 100.0}, {&wide, 160.0}}, 9);
  EXPECT_TRUE(cover.keeps_all);
  EXPECT_LE(cover.bound, cover.cost);
  EXPECT_TRUE(not_kept(cover).empty());
  const auto reach = sensing::reach_of(space, design_of(cover));
  for (const sensing::Place& place : reach->places)
    EXPECT_EQ(sensing::reach_of(place), sensing::PlaceReach::whole) << place.index;
}

TEST(SensorCover, ATableAsLargeAsTheRoomIsSeenToItsShare) {
  domain::Space space = room(10, 8);
  domain::TaskArea& task = space.task_areas.emplace_back();
  task.id = "whole";
  task.plan = rectangle({0.5, 0.5}, {9.5, 7.5});
  const DeviceKind k = kind("c", Mounting::ceiling, 6.0, 3.5);
  const SensorCover cover = solved(space, {{&k, 100.0}}, 20);
  EXPECT_TRUE(cover.keeps_all) << ::testing::PrintToString(not_kept(cover));
  const auto reach = sensing::reach_of(space, design_of(cover));
  EXPECT_EQ(sensing::reach_of(reach->places.front()), sensing::PlaceReach::whole);
  EXPECT_GE(static_cast<double>(cover.devices) * kPi * 3.5 * 3.5, kPlaceShare * 63.0) << "by area";
  EXPECT_LE(cover.devices, 4u) << "in quarters of 4.5 by 3.5 m, with half a diagonal of 2.9 m";
}

TEST(SensorCover, TwoSmallOnesWhereTheyCostLessThanOneLarge) {
  const DeviceKind small = kind("small", Mounting::ceiling, 3.0, 1.0);
  const DeviceKind large = kind("large", Mounting::ceiling, 9.0, 1.0);
  const SensorCover cheap = solved(room(12, 4), {{&small, 100.0}, {&large, 201.0}});
  EXPECT_EQ(cheap.devices, 2u);
  EXPECT_EQ(cheap.sensors.front().device_kind, "small");
  const SensorCover even = solved(room(12, 4), {{&small, 100.0}, {&large, 200.0}});
  EXPECT_EQ(even.devices, 1u) << "of equal cost the fewest";
  EXPECT_EQ(even.sensors.front().device_kind, "large");
}

TEST(SensorCover, KeptSensorsSeeAndCostNothing) {
  const DeviceKind k = kind("c", Mounting::ceiling, 3.0, 1.0);
  const SensorCover two = solved(room(12, 4), {{&k, 100.0}});
  SensorCoverProblem problem{room(12, 4), {}, {}, {{&k, 100.0}}, {two.sensors.front()}, 0};
  EXPECT_EQ(solved(problem).devices, 1u);
  problem.kept = two.sensors;
  EXPECT_EQ(solved(problem).cost, 0.0);
  EXPECT_TRUE(solved(problem).keeps_all);
  EXPECT_TRUE(solved(problem).sensors.empty());
}

// --- Line of sight
// --------------------------------------------------------------------------------------------------------

TEST(SensorCover, AnAngledRoomIsWatchedFromItsBend) {
  domain::Space space = room(1, 1);
  space.floor = {{0, 0}, {9, 0}, {9, 2}, {2, 2}, {2, 9}, {0, 9}};
  add_desk(space, "east", {8.0, 1.0});
  add_desk(space, "north", {1.0, 8.0});
  const DeviceKind k = kind("c", Mounting::ceiling, 20.0, 20.0);
  const SensorCover cover = solved(space, {{&k, 100.0}});
  ASSERT_EQ(cover.devices, 1u);
  EXPECT_TRUE(cover.keeps_all);
  EXPECT_LT(cover.sensors.front().at.x, 2.5) << "from farther east the corner hides the north";
  EXPECT_LT(cover.sensors.front().at.y, 2.5);
}

TEST(SensorCover, TwoBendsNeedTwoSensorsUnlessWavesPassWalls) {
  domain::Space space = room(1, 1);
  space.floor = {{0, 0}, {9, 0}, {9, 8}, {7, 8}, {7, 2}, {2, 2}, {2, 8}, {0, 8}};
  add_desk(space, "east", {8.0, 7.0});
  add_desk(space, "west", {1.0, 7.0});
  const DeviceKind infrared = kind("c", Mounting::ceiling, 20.0, 20.0);
  const DeviceKind microwave = kind("c", Mounting::ceiling, 20.0, 20.0, Technology::microwave);
  EXPECT_EQ(solved(space, {{&infrared, 100.0}}).devices, 2u);
  EXPECT_EQ(solved(space, {{&microwave, 100.0}}).devices, 1u);
}

TEST(SensorCover, AShelfHidesASeatFromEveryWall) {
  domain::Space space = room(8, 6);
  add_desk(space, "D1", {4.0, 3.0});
  const DeviceKind wall =
      kind("wall", Mounting::wall, 12.0, 12.0, Technology::infrared, Coverage::half_circle);
  const DeviceKind ceiling = kind("ceiling", Mounting::ceiling, 12.0, 12.0);
  EXPECT_TRUE(solved(space, {{&wall, 50.0}, {&ceiling, 100.0}}).sensors.front().device_kind == "wall");
  // Shelves as high as the wall sensors round the desk.
  add_shelf(space, "S1", {2.8, 1.9}, {5.2, 2.2}, 2.65);
  add_shelf(space, "S2", {2.8, 3.8}, {5.2, 4.1}, 2.65);
  add_shelf(space, "S3", {2.6, 1.9}, {2.8, 4.1}, 2.65);
  add_shelf(space, "S4", {5.2, 1.9}, {5.4, 4.1}, 2.65);
  const SensorCover both = solved(space, {{&wall, 50.0}, {&ceiling, 100.0}});
  EXPECT_TRUE(both.keeps_all);
  ASSERT_EQ(both.sensors.size(), 1u);
  EXPECT_EQ(both.sensors.front().device_kind, "ceiling");
  EXPECT_FALSE(family(both, Mounting::wall).cost);
  EXPECT_NE(family(both, Mounting::wall).why.find("D1"), std::string::npos)
      << family(both, Mounting::wall).why;
  EXPECT_DOUBLE_EQ(family(both, Mounting::ceiling).cost.value(), 100.0);

  const SensorCover none = solved(space, {{&wall, 50.0}});
  EXPECT_FALSE(none.keeps_all);
  EXPECT_EQ(not_kept(none), (std::vector<std::string>{
                                "the place D1 is seen to 0.0 % instead of 95 %: it is hidden from every "
                                "place for a sensor that reaches so far"}));
  EXPECT_TRUE(none.sensors.empty()) << "nothing that is seen is asked for";
  const SensorDemand& gap = none.demands.front();
  EXPECT_NEAR(area(gap.gap), 1.6 * 0.8, 1e-3) << "to be drawn";
  EXPECT_NEAR(centroid(gap.gap)->x, 4.0, 1e-3);
}

TEST(SensorCover, SeesAsMuchAsItCanWhereItCannotSeeAll) {
  domain::Space space = room(8, 6);
  space.height_m = 2.7;
  add_desk(space, "far", {7.0, 5.0});
  add_desk(space, "near", {1.5, 3.5});
  add_door(space, "door", 0, 0.5).latch = Door::Latch::left;
  // A wall box by the door sees the whole floor for walking and small movements 4.9 m far.
  const DeviceKind box =
      kind("box", Mounting::wall_box, 12.0, 4.9, Technology::infrared, Coverage::half_circle);
  const SensorCover cover = solved(space, {{&box, 60.0}}, 2);
  EXPECT_FALSE(cover.keeps_all);
  ASSERT_EQ(cover.sensors.size(), 1u);
  EXPECT_NEAR(cover.sensors.front().at.x, 0.5 + 0.9 + 0.2, 1e-3) << "beside the latch";
  for (const SensorDemand& d : cover.demands) EXPECT_EQ(d.why.empty(), d.of != "far") << d.why;
  EXPECT_NE(not_kept(cover).front().find("out of reach"), std::string::npos) << not_kept(cover).front();
}

// --- Where nothing may hang
// --------------------------------------------------------------------------------------------------------

TEST(SensorCover, HowFarASensorLooksOutFollowsFromSimilarTriangles) {
  domain::Space space = room(6, 5);
  add_door(space, "door", 0, 2.55).normally_open = true;  // middle at x = 3
  const DeviceKind k = kind("c", Mounting::ceiling, 5.4, 3.2);
  const auto outside = [&](double away_m, Technology technology = Technology::infrared) {
    OccupancySensor s;
    s.technology = technology;
    s.at = {3.0, away_m, 2.7};
    return looks_out_m(s, space, sensing::field_of(s, space, sensing::Motion::major).seen);
  };
  // Under the head at 2.1 m, somebody of 1.2 m is seen until (2.7 - 1.2) / (2.7 - 2.1) times the distance.
  EXPECT_NEAR(outside(0.4), 0.4 * 1.5, 1e-2);
  EXPECT_NEAR(outside(1.0), 1.0 * 1.5, 1e-2);
  EXPECT_NEAR(outside(3.0), 5.4 - 3.0, 2e-2) << "to the end of the reach";
  EXPECT_NEAR(outside(4.8), 0.6, 2e-2);
  space.doors.front().normally_open = false;
  EXPECT_EQ(outside(3.0), 0.0) << "a shut leaf stops it";
  space.doors.front().glass_fraction = 0.8;
  EXPECT_EQ(outside(3.0), 0.0) << "and glass";
  EXPECT_GT(outside(3.0, Technology::microwave), 2.0) << "but not microwaves";
  space.doors.front().normally_open = true;
  add_shelf(space, "screen", {2.0, 1.0}, {4.0, 1.1}, 2.6);
  EXPECT_EQ(outside(3.0), 0.0) << "a screen before the door";
}

TEST(SensorCover, AnOpenDoorKeepsSensorsAway) {
  domain::Space space = room(8, 5);
  add_desk(space, "D1", {2.0, 3.0});
  Door& door = add_door(space, "door", 0, 1.5);
  const DeviceKind k = kind("c", Mounting::ceiling, 5.4, 3.2);
  EXPECT_EQ(refused(solved(space, {{&k, 100.0}}), Refusal::looks_out), 0u);
  door.normally_open = true;
  const SensorCover cover = solved(space, {{&k, 100.0}});
  EXPECT_GT(refused(cover, Refusal::looks_out), 10u);
  EXPECT_TRUE(cover.keeps_all);
  for (const OccupancySensor& s : cover.sensors)
    EXPECT_LE(looks_out_m(s, space, sensing::field_of(s, space, sensing::Motion::major).seen),
              kMostOutside_m);
  // No head ends the view through doors as high as the room, and no reach: the words say what is wrong.
  add_door(space, "opposite", 2, 3.0).normally_open = true;
  for (Door& d : space.doors) d.height_m = 2.7;
  const DeviceKind far = kind("far", Mounting::ceiling, 20.0, 20.0);
  const SensorCover none = solved(space, {{&far, 100.0}});
  EXPECT_TRUE(none.sensors.empty());
  EXPECT_EQ(none.candidates, 0u);
  ASSERT_FALSE(not_kept(none).empty());
  EXPECT_NE(not_kept(none).front().find("looks out of an open door"), std::string::npos);
  EXPECT_EQ(family(none, Mounting::ceiling).why, "there is no place for a sensor on the ceiling");
}

TEST(SensorCover, AWallBoxHangsBesideTheLatchClearOfLeavesAndSeesTheWholeRoom) {
  const DeviceKind box =
      kind("box", Mounting::wall_box, 12.0, 5.0, Technology::infrared, Coverage::half_circle);
  domain::Space space = room(4, 3);
  add_door(space, "A", 0, 1.0).latch = Door::Latch::left;
  const SensorCover alone = solved(space, {{&box, 60.0}});
  ASSERT_EQ(alone.sensors.size(), 1u);
  EXPECT_NEAR(alone.sensors.front().at.x, 2.1, 1e-3);
  EXPECT_NEAR(alone.sensors.front().at.z, 1.2, 1e-3);
  EXPECT_NEAR(alone.sensors.front().aim_deg, 0.0, 1e-3) << "into the room, which lies north";
  ASSERT_EQ(alone.demands.front().kind, SensorDemand::Kind::entry);
  EXPECT_NEAR(alone.demands.front().at.x, 1.45, 1e-3) << "the first step inside the door";
  EXPECT_NEAR(alone.demands.front().at.y, 0.6, 1e-3);

  domain::Space second = space;  // a door whose hinge is beside the latch of the first
  add_door(second, "B", 0, 2.3).latch = Door::Latch::left;
  const SensorCover swept = solved(second, {{&box, 60.0}});
  EXPECT_EQ(refused(swept, Refusal::in_door_swing), 1u);
  second.doors.back().swing = Door::Swing::out;
  EXPECT_EQ(refused(solved(second, {{&box, 60.0}}), Refusal::in_door_swing), 0u);

  domain::Space corner = room(4, 3);
  add_door(corner, "A", 0, 0.1).latch = Door::Latch::right;
  const SensorCover no_wall = solved(corner, {{&box, 60.0}});
  EXPECT_EQ(refused(no_wall, Refusal::no_wall_at_latch), 1u);
  EXPECT_EQ(family(no_wall, Mounting::wall_box).why, "there is no place for a sensor in a wall box");

  domain::Space large = room(20, 15);
  add_door(large, "A", 0, 1.0);
  EXPECT_EQ(refused(solved(large, {{&box, 60.0}}), Refusal::sees_part_of_room), 1u);

  domain::Space window = space;
  window.openings.push_back({});
  window.openings.back().offset_m = 2.0;
  EXPECT_EQ(refused(solved(window, {{&box, 60.0}}), Refusal::at_opening), 1u);
}

TEST(SensorCover, UltrasoundIsNotUsedUnderHighCeilings) {
  const DeviceKind sound = kind("us", Mounting::ceiling, 9.0, 9.0, Technology::ultrasonic);
  const DeviceKind infrared = kind("ir", Mounting::ceiling, 9.0, 9.0);
  domain::Space hall = room(6, 6);
  hall.height_m = 4.3;
  EXPECT_EQ(solved(hall, {{&sound, 100.0}, {&infrared, 300.0}}).sensors.front().device_kind, "us");
  hall.height_m = 4.4;  // 14 ft are 4.3 m
  const SensorCover cover = solved(hall, {{&sound, 100.0}, {&infrared, 300.0}});
  EXPECT_EQ(cover.sensors.front().device_kind, "ir");
  EXPECT_GT(refused(cover, Refusal::ceiling_too_high), 0u);
}

TEST(SensorCover, NothingHangsInALuminaire) {
  SensorCoverProblem problem;
  problem.space = room(6, 6);
  domain::LuminaireType& type = problem.luminaire_types.emplace_back();
  type.id = "panel";
  const DeviceKind k = kind("c", Mounting::ceiling, 5.0, 1.0);
  problem.offers = {{&k, 100.0}};
  add_luminaire(problem, "A1", {3.0, 3.0, 2.7});
  const SensorCover cover = solved(problem);
  EXPECT_EQ(refused(cover, Refusal::at_luminaire), 1u);
  EXPECT_GT(length(Vector2{cover.sensors.front().at.x - 3.0, cover.sensors.front().at.y - 3.0}), 0.3);
  problem.luminaires.front().at.z = 2.0;
  EXPECT_EQ(refused(solved(problem), Refusal::at_luminaire), 0u) << "a pendant leaves the ceiling free";
}

// --- In luminaires
// --------------------------------------------------------------------------------------------------------

TEST(SensorCover, InLuminairesIsAllOfThemOrNone) {
  SensorCoverProblem problem;
  problem.space = room(8, 4);
  problem.space.occupancy.pattern = domain::Occupancy::Pattern::circulation;
  problem.luminaire_types.emplace_back().id = "panel";
  for (int i = 0; i < 4; ++i) add_luminaire(problem, "A" + std::to_string(i), {1.0 + 2.0 * i, 2.0, 2.7});
  const DeviceKind in =
      kind("in", Mounting::in_luminaire, 3.0, 2.0, Technology::infrared, Coverage::in_luminaire);
  const DeviceKind ceiling = kind("c", Mounting::ceiling, 9.0, 9.0);
  problem.offers = {{&in, 50.0}, {&ceiling, 201.0}};
  const SensorCover cover = solved(problem);
  EXPECT_DOUBLE_EQ(cover.cost, 200.0);
  EXPECT_EQ(cover.devices, 4u);
  EXPECT_EQ(cover.sensors.size(), 4u);
  EXPECT_DOUBLE_EQ(family(cover, Mounting::in_luminaire).cost.value(), 200.0);
  EXPECT_DOUBLE_EQ(family(cover, Mounting::ceiling).cost.value(), 201.0);
  EXPECT_EQ(family(cover, Mounting::wall).why, "no kind of this mounting is offered");
  problem.offers[0].cost = 51.0;
  EXPECT_EQ(solved(problem).sensors.front().device_kind, "c");
  problem.luminaire_types.front().mounting = domain::LuminaireType::Mounting::plug_in;
  EXPECT_FALSE(family(solved(problem), Mounting::in_luminaire).cost) << "task lamps hold none";
}

// --- The same room, described otherwise
// --------------------------------------------------------------------------------------------------------

/// An office that has no symmetry: angled, with desks, shelves, a screen, doors, a window and luminaires.
SensorCoverProblem office(const std::vector<DeviceKind>& kinds) {
  SensorCoverProblem problem;
  domain::Space& space = problem.space;
  space = room(1, 1);
  space.floor = {{0, 0}, {11, 0}, {11, 4.2}, {6.4, 4.2}, {6.4, 8.1}, {0, 8.1}};
  for (int i = 0; i < 4; ++i) add_desk(space, "D" + std::to_string(i), {1.4 + 2.5 * i, 1.2});
  add_desk(space, "E1", {1.5, 6.9});
  add_desk(space, "E2", {4.5, 6.6}, 1.2, 1.9);
  add_shelf(space, "S1", {3.0, 4.0}, {3.4, 7.4}, 2.1);
  add_shelf(space, "S2", {8.0, 3.0}, {10.5, 3.4}, 1.8);
  space.partitions.push_back({});
  space.partitions.back().id = "P";
  space.partitions.back().from = {5.2, 2.2};
  space.partitions.back().to = {7.6, 2.2};
  space.partitions.back().height_m = 1.6;
  add_door(space, "A", 1, 1.1).normally_open = true;
  add_door(space, "B", 5, 2.0).latch = Door::Latch::left;
  space.openings.push_back({});
  space.openings.back().id = "W";
  space.openings.back().wall = 4;
  space.openings.back().offset_m = 1.0;
  space.openings.back().width_m = 4.0;
  space.ceiling_slope_deg = 3.0;
  space.ceiling_rises_deg = 25.0;
  problem.luminaire_types.emplace_back().id = "panel";
  for (int i = 0; i < 4; ++i) {
    add_luminaire(problem, "L" + std::to_string(i), {1.5 + 2.6 * i, 2.0, 2.7});
    problem.luminaires.back().rotation_deg = 90.0;
  }
  for (std::size_t i = 0; i < kinds.size(); ++i)
    problem.offers.push_back({&kinds[i], 100.0 + 35.0 * static_cast<double>(i)});
  OccupancySensor& kept = problem.kept.emplace_back();
  kept.coverage = Coverage::sector;
  kept.at = {10.9, 0.1, 2.5};
  kept.major_radius_m = 3.0;
  kept.minor_radius_m = 2.0;
  kept.aim_deg = 310.0;
  problem.people = 6;
  return problem;
}

struct Turn {
  double deg = 0.0;  // counter-clockwise
  Vector2 shift;
  [[nodiscard]] Point2 of(Point2 p) const {
    const double c = std::cos(deg * kRadPerDeg);
    const double s = std::sin(deg * kRadPerDeg);
    return {c * p.x - s * p.y + shift.x, s * p.x + c * p.y + shift.y};
  }
};

template <class T>
void shuffle(std::vector<T>& items, std::uint32_t number) {
  const RandomKey key{5, hash_name("shuffle")};
  for (std::size_t i = items.size(); i > 1; --i)
    std::swap(
        items[i - 1],
        items[static_cast<std::size_t>(random_uniform(key, {number, 0, static_cast<std::uint32_t>(i), 0}) *
                                       static_cast<double>(i))]);
}

/// The same room: turned, its outline begun at another corner, everything in another order with other ids.
SensorCoverProblem described_otherwise(const SensorCoverProblem& problem, const Turn& turn, int start,
                                       std::uint32_t number) {
  SensorCoverProblem other = problem;
  domain::Space& s = other.space;
  const auto turned = [&](Polygon& polygon) {
    for (Point2& p : polygon) p = turn.of(p);
    std::rotate(polygon.begin(), polygon.begin() + static_cast<std::ptrdiff_t>(number % polygon.size()),
                polygon.end());
  };
  for (Point2& p : s.floor) p = turn.of(p);
  const int n = static_cast<int>(s.floor.size());
  std::rotate(s.floor.begin(), s.floor.begin() + start, s.floor.end());
  for (Door& d : s.doors) d.wall = (d.wall - start + n) % n;
  for (domain::Opening& o : s.openings) o.wall = (o.wall - start + n) % n;
  for (domain::Furniture& f : s.furniture) turned(f.plan);
  for (domain::TaskArea& t : s.task_areas) turned(t.plan);
  for (domain::Partition& p : s.partitions) {
    p.from = turn.of(p.from);
    p.to = turn.of(p.to);
    if (number % 2 == 1) std::swap(p.from, p.to);
  }
  s.ceiling_rises_deg = std::fmod(s.ceiling_rises_deg - turn.deg + 720.0, 360.0);
  for (domain::Luminaire& l : other.luminaires) {
    const Point2 at = turn.of({l.at.x, l.at.y});
    l.at = {at.x, at.y, l.at.z};
    l.rotation_deg += turn.deg;
    l.id = "x" + std::to_string(number * 7 + l.id.size());
  }
  for (OccupancySensor& k : other.kept) {
    const Point2 at = turn.of({k.at.x, k.at.y});
    k.at = {at.x, at.y, k.at.z};
    k.aim_deg = std::fmod(k.aim_deg - turn.deg + 720.0, 360.0);
  }
  shuffle(s.doors, number);
  shuffle(s.furniture, number + 1);
  shuffle(s.task_areas, number + 2);
  shuffle(other.luminaires, number + 3);
  shuffle(other.offers, number + 4);
  return other;
}

TEST(SensorCover, TurnsWithTheRoomAndForgetsHowItIsDescribed) {
  std::vector<DeviceKind> kinds{
      kind("small", Mounting::ceiling, 4.4, 2.6),
      kind("wide", Mounting::ceiling, 6.5, 3.9),
      kind("strip", Mounting::ceiling, 9.0, 3.5, Technology::infrared, Coverage::strip),
      kind("wall", Mounting::wall, 9.0, 5.0, Technology::dual, Coverage::sector),
      kind("box", Mounting::wall_box, 7.5, 4.5, Technology::infrared, Coverage::half_circle),
      kind("in", Mounting::in_luminaire, 3.6, 2.4, Technology::infrared, Coverage::in_luminaire)};
  const SensorCoverProblem problem = office(kinds);
  const SensorCover first = solved(problem);
  ASSERT_GE(first.sensors.size(), 2u) << "a design that could differ";
  EXPECT_TRUE(first.keeps_all) << ::testing::PrintToString(not_kept(first));
  const std::array turns{Turn{37.0, {100.0, -40.0}}, Turn{-112.3, {0.0, 0.0}}, Turn{90.0, {3.3, 1.7}},
                         Turn{180.0, {0.0, 0.0}}, Turn{0.0, {0.0, 0.0}}};
  for (std::size_t i = 0; i < turns.size(); ++i) {
    const auto number = static_cast<std::uint32_t>(i);
    const Turn& turn = turns[i];
    const SensorCover other =
        solved(described_otherwise(problem, turn, static_cast<int>((i + 2) % 6), number + 1));
    EXPECT_EQ(other.cost, first.cost);
    EXPECT_EQ(other.bound, first.bound);
    EXPECT_EQ(other.candidates, first.candidates);
    ASSERT_EQ(other.sensors.size(), first.sensors.size());
    for (std::size_t k = 0; k < first.sensors.size(); ++k) {
      const OccupancySensor& a = first.sensors[k];
      const OccupancySensor& b = other.sensors[k];
      const Point2 at = turn.of({a.at.x, a.at.y});
      EXPECT_EQ(a.device_kind, b.device_kind);
      EXPECT_NEAR(b.at.x, at.x, 1e-3);
      EXPECT_NEAR(b.at.y, at.y, 1e-3);
      EXPECT_NEAR(b.at.z, a.at.z, 1e-3);
      if (a.coverage == Coverage::circle) continue;
      const double aim = std::remainder(b.aim_deg - (a.aim_deg - turn.deg), 360.0);
      EXPECT_NEAR(aim, 0.0, 1e-3) << "plan north stays";
    }
    ASSERT_EQ(other.refused.size(), first.refused.size());
    for (std::size_t k = 0; k < first.families.size(); ++k) {
      EXPECT_EQ(other.families[k].cost, first.families[k].cost);
      EXPECT_EQ(other.families[k].devices, first.families[k].devices);
    }
    ASSERT_EQ(other.demands.size(), first.demands.size());
    for (std::size_t k = 0; k < first.demands.size(); ++k) {
      EXPECT_EQ(other.demands[k].of, first.demands[k].of);
      EXPECT_EQ(other.demands[k].seen_share, first.demands[k].seen_share);
    }
  }
}

TEST(SensorCover, WhatLooksOneWayTurnsWithTheRoom) {
  const DeviceKind wall = kind("wall", Mounting::wall, 9.0, 5.0, Technology::infrared, Coverage::sector);
  const DeviceKind strip = kind("strip", Mounting::ceiling, 9.0, 3.5, Technology::infrared, Coverage::strip);
  for (const DeviceKind* k : {&wall, &strip}) {
    SensorCoverProblem problem{room(14, 3), {}, {}, {{k, 100.0}}, {}, 0};
    add_door(problem.space, "A", 1, 0.3);
    const SensorCover first = solved(problem);
    ASSERT_FALSE(first.sensors.empty());
    for (const double deg : {37.0, -120.0}) {
      const SensorCover other = solved(described_otherwise(problem, {deg, {5.0, 5.0}}, 3, 2));
      ASSERT_EQ(other.sensors.size(), first.sensors.size());
      for (std::size_t i = 0; i < first.sensors.size(); ++i) {
        const OccupancySensor& a = first.sensors[i];
        const OccupancySensor& b = other.sensors[i];
        EXPECT_NEAR(std::remainder(b.aim_deg - (a.aim_deg - deg), 360.0), 0.0, 1e-3) << k->id;
        // A metre along its aim a sensor at the wall looks into its room.
        const Vector2 ahead{std::sin(b.aim_deg * kRadPerDeg), std::cos(b.aim_deg * kRadPerDeg)};
        EXPECT_TRUE(contains(described_otherwise(problem, {deg, {5.0, 5.0}}, 3, 2).space.floor,
                             Point2{b.at.x, b.at.y} + ahead));
      }
    }
  }
}

TEST(SensorCover, ASquareWithoutAnythingGivesOneOfItsOwnImages) {
  const DeviceKind k = kind("c", Mounting::ceiling, 2.5, 1.0);
  const SensorCoverProblem problem{room(6, 6), {}, {}, {{&k, 100.0}}, {}, 0};
  const SensorCover first = solved(problem);
  for (int start = 0; start < 4; ++start) {
    const SensorCover other = solved(described_otherwise(problem, {}, start, 1));
    ASSERT_EQ(other.sensors.size(), first.sensors.size());
    for (std::size_t i = 0; i < first.sensors.size(); ++i)
      EXPECT_EQ(other.sensors[i].at, first.sensors[i].at);
  }
}

// --- What cannot be asked
// --------------------------------------------------------------------------------------------------------

TEST(SensorCover, WithoutOffersSaysSo) {
  domain::Space space = room(5, 5);
  add_door(space, "A", 0, 1.0);
  const SensorCover cover = solved(space, {});
  EXPECT_FALSE(cover.keeps_all);
  EXPECT_EQ(not_kept(cover).front(), "the way in at door A is not seen: no sensor is offered");
  EXPECT_EQ(cover.cost, 0.0);
}

TEST(SensorCover, RefusesWhatIsNoSensorOrNoRoom) {
  DeviceKind deaf = kind("c", Mounting::ceiling, 5.0, 3.0);
  deaf.occupancy.reset();
  const DeviceKind relay = kind("r", Mounting::ceiling_void, 5.0, 3.0);
  const DeviceKind fine = kind("c", Mounting::ceiling, 5.0, 3.0);
  const auto errors = [&](const domain::Space& space, SensorOffer offer) {
    const auto found = sensor_cover({space, {}, {}, {offer}, {}, 0});
    return found ? std::string() : found.error().front().where;
  };
  EXPECT_EQ(errors(room(5, 5), {&fine, 1.0}), "");
  EXPECT_EQ(errors(room(5, 5), {&deaf, 1.0}), "/offers/0");
  EXPECT_EQ(errors(room(5, 5), {nullptr, 1.0}), "/offers/0");
  EXPECT_EQ(errors(room(5, 5), {&relay, 1.0}), "/offers/0");
  EXPECT_EQ(errors(room(5, 5), {&fine, -1.0}), "/offers/0");
  EXPECT_EQ(errors(room(5, 5), {&fine, std::nan("")}), "/offers/0");
  domain::Space bent = room(5, 5);
  std::swap(bent.floor[1], bent.floor[2]);
  EXPECT_EQ(errors(bent, {&fine, 1.0}), "/space/floor");
}

}  // namespace
}  // namespace halflight::choose
