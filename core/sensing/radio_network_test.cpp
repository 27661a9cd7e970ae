#include "sensing/radio_network.hpp"

#include <string>

#include <gtest/gtest.h>

namespace halflight::sensing {
namespace {

using domain::Design;
using domain::Infrastructure;
using domain::Link;
using domain::OccupancySensor;
using domain::Partition;
using domain::Project;
using domain::Radio;
using domain::Space;
using domain::WallBuild;

Space room(const char* id, const char* storey, Point2 low, Point2 high) {
  Space space;
  space.id = id;
  space.storey = storey;
  space.floor = rectangle(low, high);
  space.height_m = 3.0;
  return space;
}

/// Three rooms in a row on the ground floor, walls 0.1 m thick between the first two; one above the first.
Project building() {
  Project project;
  project.storeys = {{"first", "", 3.5, {}}, {"ground", "", 0.0, {}}};
  project.spaces = {room("a", "ground", {0, 0}, {5, 5}), room("b", "ground", {5.1, 0}, {10, 5}),
                    room("c", "ground", {10, 0}, {15, 5}), room("above", "first", {0, 0}, {5, 5})};
  project.radio.emplace();
  return project;
}

const Space& space_of(const Project& project, const char* id) {
  return *domain::find_by_id(project.spaces, id);
}
Crossed between(const Project& project, const char* from, Point3 a, const char* to, Point3 b) {
  return Walls(project).between({&space_of(project, from), a}, {&space_of(project, to), b});
}

Infrastructure node(const char* id, const char* space, Point3 at, Infrastructure::Kind kind) {
  Infrastructure i;
  i.id = id;
  i.space = space;
  i.at = at;
  i.kind = kind;
  i.link = Link::radio;
  return i;
}
OccupancySensor sensor(const char* id, const char* space, Point3 at) {
  OccupancySensor s;
  s.id = id;
  s.space = space;
  s.at = at;
  s.link = Link::radio;
  return s;
}

TEST(WallsCrossed, OneWallBetweenTwoRoomsCountsOnceAndAsTheHeavier) {
  Project project = building();
  Crossed crossed = between(project, "a", {1, 1, 2}, "b", {9, 2, 2});
  EXPECT_EQ(crossed.light_walls, 1);
  EXPECT_EQ(crossed.heavy_walls, 0);
  EXPECT_EQ(crossed.floors, 0);
  project.spaces[1].wall_build = WallBuild::heavy;
  crossed = between(project, "a", {1, 1, 2}, "c", {14, 2, 2});
  EXPECT_EQ(crossed.light_walls, 0) << "both walls of the middle room are heavy";
  EXPECT_EQ(crossed.heavy_walls, 2);
  crossed = between(project, "a", {1, 1, 2}, "a", {4, 4, 1});
  EXPECT_EQ(crossed.light_walls + crossed.heavy_walls, 0);
}

TEST(WallsCrossed, TwoWallsStandWhereNoRoomIsDrawnBetween) {
  Project project = building();
  project.spaces.erase(project.spaces.begin() + 1);
  EXPECT_EQ(between(project, "a", {1, 1, 2}, "c", {14, 2, 2}).light_walls, 2);
}

TEST(WallsCrossed, ADeviceHangsOnItsWallAndNotBehindIt) {
  const Project project = building();
  EXPECT_EQ(between(project, "a", {5.0, 2, 1.2}, "a", {1, 2, 1.2}).light_walls, 0);
  EXPECT_EQ(between(project, "a", {0.0, 2, 1.2}, "b", {10.0, 2, 1.2}).light_walls, 1);
}

TEST(WallsCrossed, ALineThroughACornerPassesOneWall) {
  Project project = building();
  project.spaces.front().floor = {{0, 0}, {5, 0}, {5, 2.5}, {5, 5}, {0, 5}};
  EXPECT_EQ(between(project, "a", {1, 2.5, 2}, "b", {9, 2.5, 2}).light_walls, 1);
}

TEST(WallsCrossed, PartitionsCountAsHighAsTheLinePasses) {
  Project project = building();
  Partition p;
  p.id = "p";
  p.from = {2.5, 0};
  p.to = {2.5, 5};
  p.height_m = 2.0;
  project.spaces.front().partitions = {p};
  EXPECT_EQ(between(project, "a", {1, 1, 1.9}, "a", {4, 1, 1.9}).light_walls, 1);
  EXPECT_EQ(between(project, "a", {1, 1, 2.6}, "a", {4, 1, 2.6}).light_walls, 0);
  project.spaces.front().partitions.front().build = WallBuild::heavy;
  EXPECT_EQ(between(project, "a", {1, 1, 1.9}, "a", {4, 1, 1.9}).heavy_walls, 1);
}

TEST(WallsCrossed, FloorsCountByStoreyAndWallsWhereTheLineRuns) {
  const Project project = building();
  // Straight up.
  Crossed crossed = between(project, "a", {2, 2, 2}, "above", {2, 2, 1});
  EXPECT_EQ(crossed.floors, 1);
  EXPECT_EQ(crossed.light_walls, 0);
  // From the third room up to the first: through two walls below, or through one of the room above, by the
  // height at which the line leaves the storey.
  crossed = between(project, "c", {14, 2, 0.1}, "above", {2, 2, 0.1});
  EXPECT_EQ(crossed.floors, 1);
  EXPECT_EQ(crossed.light_walls, 2);
  crossed = between(project, "c", {14, 2, 3.4}, "above", {2, 2, 2.4});
  EXPECT_EQ(crossed.light_walls, 1);
}

TEST(RadioNetwork, ADeviceTalksToTheGatewayThatItReachesBest) {
  Project project = building();
  Design design;
  design.infrastructure = {node("far", "c", {14, 2, 2}, Infrastructure::Kind::gateway),
                           node("near", "b", {6, 2, 2}, Infrastructure::Kind::gateway)};
  design.occupancy_sensors = {sensor("s", "a", {4, 2, 2})};
  const RadioNetwork network(project, design);
  ASSERT_TRUE(network.has_gateway());
  const auto links = network.links_in(space_of(project, "a"));
  ASSERT_EQ(links.size(), 1U);
  EXPECT_EQ(links[0].from->id, "s");
  EXPECT_EQ(links[0].to->id, "near");
  EXPECT_NEAR(links[0].distance_m, 2.0, 1e-12);
  // The larger of both losses: 2450 MHz, 2 m, N = 30; free space and a light wall.
  const double general = site_general_loss_db(2450, 30, 2, 0);
  const double walls = free_space_loss_db(2450, 2) + 3.4;
  EXPECT_GT(walls, 0.0);
  EXPECT_NEAR(links[0].loss_db, std::max(general, walls), 1e-9);
  EXPECT_NEAR(links[0].margin_db, 85.0 - links[0].loss_db, 1e-9);
  EXPECT_NEAR(links[0].availability, availability(links[0].margin_db, 10.0), 1e-12);
  EXPECT_EQ(links[0].path_availability, links[0].availability);
  EXPECT_NEAR(network.margin_at({&space_of(project, "a"), {4, 2, 2}}), links[0].margin_db, 1e-12);
}

TEST(RadioNetwork, HeavyWallsAndFloorsTakeTheirLoss) {
  Project project = building();
  for (Space& space : project.spaces) space.wall_build = WallBuild::heavy;
  Design design;
  design.infrastructure = {node("g", "c", {14, 2, 2}, Infrastructure::Kind::gateway)};
  design.occupancy_sensors = {sensor("s", "a", {1, 2, 2}), sensor("up", "above", {1, 2, 2})};
  const RadioNetwork network(project, design);
  const RadioLink below = network.links_in(space_of(project, "a")).front();
  EXPECT_NEAR(below.loss_db, free_space_loss_db(2450, 13) + 2 * 6.9, 1e-9);
  const RadioLink up = network.links_in(space_of(project, "above")).front();
  EXPECT_EQ(up.crossed.floors, 1);
  EXPECT_GE(up.loss_db, site_general_loss_db(2450, 30, up.distance_m, 14.0));
}

TEST(RadioNetwork, ARepeaterCarriesOnWithItsOwnLink) {
  Project project = building();
  project.radio->sensitivity_dbm = -60.0;
  Design design;
  design.infrastructure = {node("r", "b", {7, 2, 2}, Infrastructure::Kind::repeater),
                           node("g", "c", {14, 2, 2}, Infrastructure::Kind::gateway)};
  design.occupancy_sensors = {sensor("s", "a", {1, 2, 2})};
  const RadioNetwork network(project, design);
  const RadioLink repeater = network.links_in(space_of(project, "b")).front();
  EXPECT_EQ(repeater.to->id, "g");
  EXPECT_EQ(repeater.path_availability, repeater.availability);
  const RadioLink link = network.links_in(space_of(project, "a")).front();
  ASSERT_EQ(link.to->id, "r") << "the way over the repeater works more often than the long one";
  EXPECT_NEAR(link.path_availability, link.availability * repeater.availability, 1e-12);
  EXPECT_LT(link.path_availability, link.availability);
}

TEST(RadioNetwork, GivesUpWhereNobodyWouldWait) {
  Project project = building();
  Design design;
  design.infrastructure.assign(100, node("g", "b", {7, 2, 2}, Infrastructure::Kind::gateway));
  EXPECT_FALSE(RadioNetwork(project, design).is_too_large());
  for (int i = 0; i < 400; ++i) project.spaces.push_back(room("more", "ground", {0, 10}, {5, 15}));
  EXPECT_TRUE(RadioNetwork(project, design).is_too_large());
}

TEST(RadioNetwork, WithoutARadioGatewayALinkHasNoEnd) {
  Project project = building();
  Design design;
  design.occupancy_sensors = {sensor("s", "a", {1, 2, 2}), sensor("wired", "a", {1, 2, 2}),
                              sensor("gone", "a", {1, 2, 2})};
  design.occupancy_sensors[1].link = Link::wired;
  design.occupancy_sensors[2].status = domain::Status::remove;
  const auto expect_no_end = [&](const char* why) {
    const RadioNetwork network(project, design);
    EXPECT_FALSE(network.has_gateway()) << why;
    const auto links = network.links_in(space_of(project, "a"));
    ASSERT_EQ(links.size(), 1U) << why;
    EXPECT_EQ(links[0].from->id, "s");
    EXPECT_EQ(links[0].to, nullptr) << why;
  };
  expect_no_end("nothing there");
  design.infrastructure = {node("r", "b", {7, 2, 2}, Infrastructure::Kind::repeater)};
  expect_no_end("a repeater alone leads nowhere");
  design.infrastructure = {node("g", "b", {7, 2, 2}, Infrastructure::Kind::gateway)};
  design.infrastructure[0].link = Link::wired;
  expect_no_end("the gateway has no radio");
  design.infrastructure[0].link = Link::radio;
  project.radio.reset();
  expect_no_end("no radio was chosen");
  project.radio.emplace();
  EXPECT_TRUE(RadioNetwork(project, design).has_gateway());
}

}  // namespace
}  // namespace halflight::sensing
