#include "codes/zones.hpp"

#include "codes/test_room.hpp"
#include "geometry/polygon.hpp"

#include <gtest/gtest.h>

namespace halflight::codes {
namespace {

using domain::DaylightZoneRule;
using results::DaylightZone;
using testing::kFt;
using testing::kFt2;
using testing::TestRoom;

// Areas are exact but for the polygon grid of 1e-6 m along some 50 m of edges.
constexpr double kArea_m2 = 1e-4;

// Definitions of the codes as docs/methods/codes.md gives them; that the shipped data say the same is the
// business of tests/code_rules_test.cpp.
DaylightZoneRule iecc_2018() {
  DaylightZoneRule rule;
  rule.secondary_depth_head_heights = 1.0;
  rule.side_m = 2.0 * kFt;
  rule.side_head_heights = 0.0;
  return rule;
}
DaylightZoneRule iecc_2021() { return {}; }
DaylightZoneRule standard_90_1() {
  DaylightZoneRule rule;
  rule.obstruction_height_m = 5.0 * kFt;
  return rule;
}

// 30 ft along the glass, 24 ft deep, one window of 20 ft centred, head at 8 ft, ceiling at 9 ft.
TestRoom room_with_window() {
  TestRoom room(30.0 * kFt, 24.0 * kFt);
  room.space().height_m = 9.0 * kFt;
  room.add_window(0, 5.0 * kFt, 20.0 * kFt, 3.0 * kFt, 5.0 * kFt);
  return room;
}

std::vector<DaylightZone> zones_of(TestRoom& room, const DaylightZoneRule& rule) {
  return daylight_zones(room.project, room.design(), room.space(), rule);
}

TEST(DaylightZones, FixedSideAllowanceOfTwoFeet) {
  TestRoom room = room_with_window();
  const auto zones = zones_of(room, iecc_2018());
  ASSERT_EQ(zones.size(), 1u);  // no secondary zone
  EXPECT_EQ(zones[0].kind, DaylightZone::Kind::primary);
  EXPECT_NEAR(zones[0].area_m2, 192.0 * kFt2, kArea_m2);  // 24 ft x 8 ft
  EXPECT_NEAR(zones[0].depth_m, 8.0 * kFt, 1e-5);
  EXPECT_NEAR(zones[0].head_height_m, 8.0 * kFt, 1e-12);
}

TEST(DaylightZones, SideAllowanceOfHalfTheHeadHeightAndASecondaryZone) {
  TestRoom room = room_with_window();
  for (const DaylightZoneRule& rule : {iecc_2021(), standard_90_1()}) {
    const auto zones = zones_of(room, rule);
    ASSERT_EQ(zones.size(), 2u);
    EXPECT_NEAR(zones[0].area_m2, 224.0 * kFt2, kArea_m2);  // 28 ft x 8 ft
    EXPECT_EQ(zones[1].kind, DaylightZone::Kind::secondary);
    EXPECT_NEAR(zones[1].area_m2, 224.0 * kFt2, kArea_m2);
    const Box2 box = bounds(zones[1].outline.at(0));  // 8 ft to 16 ft from the glass
    EXPECT_NEAR(box.low.y, 8.0 * kFt, 1e-5);
    EXPECT_NEAR(box.high.y, 16.0 * kFt, 1e-5);
    EXPECT_NEAR(box.low.x, 1.0 * kFt, 1e-5);
    EXPECT_NEAR(box.high.x, 29.0 * kFt, 1e-5);
  }
}

domain::Furniture shelf(double height_m) {
  domain::Furniture shelf;
  shelf.id = "shelf";
  shelf.plan = rectangle({0.0, 6.0 * kFt}, {30.0 * kFt, 7.0 * kFt});
  shelf.top_m = height_m;
  return shelf;
}

TEST(DaylightZones, AShelfCutsWhereTheCodeCountsIt) {
  TestRoom room = room_with_window();
  room.space().furniture = {shelf(5.5 * kFt)};
  const auto cut = zones_of(room, standard_90_1());
  ASSERT_EQ(cut.size(), 1u);  // nothing of the secondary zone is left
  EXPECT_NEAR(cut[0].depth_m, 6.0 * kFt, 1e-5);
  EXPECT_NEAR(cut[0].area_m2, 28.0 * 6.0 * kFt2, kArea_m2);
  const auto whole = zones_of(room, iecc_2021());  // not full height
  ASSERT_EQ(whole.size(), 2u);
  EXPECT_NEAR(whole[0].depth_m, 8.0 * kFt, 1e-5);
  EXPECT_NEAR(whole[0].area_m2, 224.0 * kFt2, kArea_m2);

  room.space().furniture = {shelf(4.5 * kFt)};  // below 5 ft
  EXPECT_NEAR(zones_of(room, standard_90_1()).at(0).area_m2, 224.0 * kFt2, kArea_m2);
}

TEST(DaylightZones, AFullHeightPartitionBesideTheWindowCutsTheSide) {
  TestRoom room = room_with_window();
  domain::Partition wall;
  wall.from = {27.0 * kFt, 0.0};
  wall.to = {27.0 * kFt, 24.0 * kFt};
  wall.height_m = room.space().height_m;
  room.space().partitions = {wall};
  // The window ends at 25 ft: 2 ft of the right-hand allowance of 4 ft are left.
  EXPECT_NEAR(zones_of(room, iecc_2021()).at(0).area_m2, 26.0 * 8.0 * kFt2, kArea_m2);
  room.space().partitions.front().height_m = 1.4;
  EXPECT_NEAR(zones_of(room, iecc_2021()).at(0).area_m2, 224.0 * kFt2, kArea_m2);
}

TEST(DaylightZones, AMovableWallCutsOnlyWhenTheStudiedStateIsClosed) {
  TestRoom room = room_with_window();
  domain::Partition wall;
  wall.kind = domain::Partition::Kind::movable;
  wall.from = {0.0, 5.0 * kFt};
  wall.to = {30.0 * kFt, 5.0 * kFt};
  wall.height_m = room.space().height_m;
  wall.states = {"open", "closed"};
  room.space().partitions = {wall};
  EXPECT_NEAR(zones_of(room, iecc_2021()).at(0).area_m2, 224.0 * kFt2, kArea_m2);
  room.space().partitions.front().states = {"closed", "open"};
  EXPECT_NEAR(zones_of(room, iecc_2021()).at(0).area_m2, 28.0 * 5.0 * kFt2, kArea_m2);
}

TEST(DaylightZones, ClippedToAnLShapedRoom) {
  // 10 m x 4 m along the glass, and a leg of 4 m x 6 m behind its west end. Head height 3 m.
  TestRoom room;
  room.space().floor = {{0, 0}, {10, 0}, {10, 4}, {4, 4}, {4, 10}, {0, 10}};
  room.space().height_m = 3.2;
  room.add_window(0, 2.0, 6.0, 1.0, 2.0);
  const auto zones = zones_of(room, iecc_2021());
  ASSERT_EQ(zones.size(), 2u);
  EXPECT_NEAR(zones[0].area_m2, 9.0 * 3.0, kArea_m2);  // x from 0.5 to 9.5 m
  // From 3 m to 6 m: the whole width to the inner wall at 4 m, and the leg (x from 0.5 to 4 m) beyond it.
  EXPECT_NEAR(zones[1].area_m2, 9.0 * 1.0 + 3.5 * 2.0, kArea_m2);
}

TEST(DaylightZones, ASkylightReachesSevenTenthsOfTheCeilingHeight) {
  TestRoom room(12.0, 10.0);
  room.space().height_m = 4.0;
  domain::Opening skylight;
  skylight.id = "R";
  skylight.kind = domain::Opening::Kind::skylight;
  skylight.plan = rectangle({5.0, 4.0}, {7.0, 5.0});
  room.space().openings = {skylight};
  auto zones = zones_of(room, iecc_2021());
  ASSERT_EQ(zones.size(), 1u);
  EXPECT_EQ(zones[0].kind, DaylightZone::Kind::toplit);
  EXPECT_NEAR(zones[0].area_m2, (2.0 + 5.6) * (1.0 + 5.6), kArea_m2);  // 0.7 x 4 m = 2.8 m each way

  // A wall higher than 2.8 m, 1 m east of the opening.
  domain::Partition wall;
  wall.from = {8.0, 0.0};
  wall.to = {8.0, 10.0};
  wall.height_m = 3.0;
  room.space().partitions = {wall};
  EXPECT_NEAR(zones_of(room, iecc_2021()).at(0).area_m2, (2.0 + 2.8 + 1.0) * 6.6, kArea_m2);
  room.space().partitions.front().height_m = 2.5;
  EXPECT_NEAR(zones_of(room, iecc_2021()).at(0).area_m2, 7.6 * 6.6, kArea_m2);
}

TEST(DaylightZones, OverlapsCountOnceToplitFirst) {
  TestRoom room(12.0, 10.0);
  room.space().height_m = 4.0;
  room.add_window(0, 2.0, 8.0, 1.0, 2.0);  // primary: 11 m x 3 m
  domain::Opening skylight;
  skylight.id = "R";
  skylight.kind = domain::Opening::Kind::skylight;
  skylight.plan = rectangle({5.0, 4.8}, {7.0, 5.8});  // toplit: y from 2 m to 8.6 m, x from 2.2 m to 9.8 m
  room.space().openings.push_back(skylight);
  const auto zones = zones_of(room, iecc_2021());
  ASSERT_EQ(zones.size(), 3u);
  EXPECT_EQ(zones[0].id, "toplit");
  EXPECT_NEAR(zones[0].area_m2, 7.6 * 6.6, kArea_m2);
  EXPECT_NEAR(zones[1].area_m2, 11.0 * 3.0 - 7.6 * 1.0, kArea_m2);
  EXPECT_NEAR(zones[2].area_m2, 11.0 * 3.0 - 7.6 * 3.0, kArea_m2);
  double sum_m2 = 0.0;
  std::vector<Polygon> all;
  for (const DaylightZone& zone : zones) {
    sum_m2 += zone.area_m2;
    all.insert(all.end(), zone.outline.begin(), zone.outline.end());
  }
  EXPECT_NEAR(area(united(all)), sum_m2, kArea_m2);
}

TEST(DaylightZones, WindowsOfOneDirectionShareAZoneAndTheirOverlap) {
  TestRoom room(12.0, 10.0);
  room.add_window(0, 2.0, 2.0, 0.0, 2.0);  // x from 1 to 5 m
  room.add_window(0, 5.0, 2.0, 0.0, 2.0);  // x from 4 to 8 m
  const auto zones = zones_of(room, iecc_2018());
  ASSERT_EQ(zones.size(), 1u);
  EXPECT_EQ(zones[0].openings.size(), 2u);
  // Sides of 2 ft: from 1.3904 m to 7.6096 m without a gap (the middle gap of 1 m is less than 4 ft).
  EXPECT_NEAR(zones[0].area_m2, (5.0 + 4.0 * kFt) * 2.0, kArea_m2);
}

TEST(DaylightZones, TooLittleGlazingMakesNone) {
  TestRoom room = room_with_window();
  room.space().openings.front().frame_fraction = 0.0;
  DaylightZoneRule rule = iecc_2021();
  rule.sidelit_glazing_min_m2 = 100.0 * kFt2;  // the window has exactly 100 ft2
  EXPECT_EQ(zones_of(room, rule).size(), 2u);
  rule.sidelit_glazing_min_m2 = 100.1 * kFt2;
  EXPECT_TRUE(zones_of(room, rule).empty());
}

TEST(DaylightZones, ATallNeighbourTakesTheWindowOut) {
  TestRoom room = room_with_window();
  domain::Obstruction house;
  const double near_m = -10.0;  // 10 m outside the south wall
  house.plan_m = {{{0.0, near_m - 5.0}}, {{9.0, near_m - 5.0}}, {{9.0, near_m}}, {{0.0, near_m}}};
  const double sill_m = 3.0 * kFt;
  house.top_m = sill_m + 9.99;
  room.project.obstructions = {house};
  EXPECT_EQ(zones_of(room, iecc_2021()).size(), 2u);
  room.project.obstructions.front().top_m = sill_m + 10.01;
  EXPECT_TRUE(zones_of(room, iecc_2021()).empty());
  // 90.1: twice as high above the window as it is distant.
  DaylightZoneRule rule = standard_90_1();
  rule.outside_rise_per_distance = 2.0;
  rule.outside_rise_from_head = true;
  EXPECT_EQ(zones_of(room, rule).size(), 2u);
  room.project.obstructions.front().top_m = 8.0 * kFt + 20.01;
  EXPECT_TRUE(zones_of(room, rule).empty());
}

TEST(DaylightZones, ALuminairePartlyInsideCountsWhollyAndOnce) {
  TestRoom room = room_with_window();
  const double edge_m = 8.0 * kFt;  // between primary and secondary
  room.add_luminaire("in", {4.0, 1.0});
  room.add_luminaire("straddling", {4.0, edge_m + 0.29});  // 0.6 m square: 10 mm reach into the primary zone
  room.add_luminaire("touching", {6.0, edge_m + 0.3});     // its edge lies on the border
  room.add_luminaire("beyond", {4.0, 24.0 * kFt - 0.4});
  const auto zones = zones_of(room, iecc_2021());
  ASSERT_EQ(zones.size(), 2u);
  EXPECT_DOUBLE_EQ(zones[0].general_lighting_w, 60.0);
  EXPECT_DOUBLE_EQ(zones[1].general_lighting_w, 30.0);

  DaylightZoneRule half = iecc_2021();
  half.luminaire_share_min = 0.5;
  const auto by_half = zones_of(room, half);
  EXPECT_DOUBLE_EQ(by_half[0].general_lighting_w, 30.0);
  EXPECT_DOUBLE_EQ(by_half[1].general_lighting_w, 60.0);

  room.design().luminaires.front().status = domain::Status::remove;
  EXPECT_DOUBLE_EQ(zones_of(room, iecc_2021())[0].general_lighting_w, 30.0);
}

TEST(DaylightZones, FacingTurnsWithTheBuilding) {
  TestRoom room(10.0, 10.0);
  domain::Site site;
  EXPECT_EQ(facing(site, room.space(), 0), "south");
  EXPECT_EQ(facing(site, room.space(), 1), "east");
  EXPECT_EQ(facing(site, room.space(), 2), "north");
  EXPECT_EQ(facing(site, room.space(), 3), "west");
  site.plan_north_deg = 60.0;  // +y points to bearing 60 deg: the south wall faces 240 deg
  EXPECT_EQ(facing(site, room.space(), 0), "west");
  EXPECT_EQ(facing(site, room.space(), 2), "east");
}

TEST(DaylightZones, BadOpeningsGiveNoZoneAndNoCrash) {
  TestRoom room(10.0, 10.0);
  room.add_window(7, 1.0, 2.0, 1.0, 2.0);  // there is no wall 7
  domain::Opening skylight;
  skylight.kind = domain::Opening::Kind::skylight;
  room.space().openings.push_back(skylight);  // without an outline
  EXPECT_TRUE(zones_of(room, iecc_2021()).empty());
  room.space().floor.clear();
  EXPECT_TRUE(zones_of(room, iecc_2021()).empty());
}

}  // namespace
}  // namespace halflight::codes
