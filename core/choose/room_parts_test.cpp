#include "choose/room_controls.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {

namespace {

domain::Group group(const std::string& id, domain::Strategy strategy) {
  domain::Group made;
  made.id = id;
  made.space = "R";
  made.strategy = strategy;
  made.channels = {"L1"};
  return made;
}

template <class T>
T device(const std::string& id) {
  T made;
  made.id = id;
  made.space = "R";
  return made;
}

/// Controls with something of every part, ids marked.
RoomControls controls(const std::string& mark, double delay_s) {
  RoomControls room;
  room.groups = {group(mark + "scene", domain::Strategy::scene),
                 group(mark + "occ", domain::Strategy::occupancy),
                 group(mark + "day", domain::Strategy::daylight)};
  room.scenes = {device<domain::Scene>(mark + "normal")};
  room.occupancy_sensors = {device<domain::OccupancySensor>(mark + "O")};
  room.photosensors = {device<domain::Photosensor>(mark + "P")};
  room.stations = {device<domain::Station>(mark + "S")};
  room.load_controllers = {device<domain::LoadController>(mark + "LC")};
  room.load_controllers.front().luminaires = {"L1"};
  room.sequence.space = "R";
  room.sequence.normal_scene = mark + "normal";
  room.sequence.vacancy.emplace().delay_s = delay_s;
  room.sequence.daylight.emplace_back().photosensor = mark + "P";
  room.sequence.manual.emplace().stations = {mark + "S"};
  return room;
}

template <class T>
std::vector<std::string> ids(const std::vector<T>& all) {
  std::vector<std::string> some;
  for (const T& one : all) some.push_back(one.id);
  return some;
}
using Ids = std::vector<std::string>;

}  // namespace

TEST(PartsOfADesign, OnePartComesAndTheOthersStay) {
  const RoomControls mixed = with_parts_of(controls("a-", 600.0), controls("b-", 900.0), {Part::occupancy});
  EXPECT_EQ(ids(mixed.groups), (Ids{"a-scene", "a-day", "b-occ"}));
  EXPECT_EQ(ids(mixed.scenes), Ids{"a-normal"});
  EXPECT_EQ(ids(mixed.occupancy_sensors), Ids{"b-O"});
  EXPECT_EQ(ids(mixed.photosensors), Ids{"a-P"});
  EXPECT_EQ(ids(mixed.stations), Ids{"a-S"});
  EXPECT_EQ(ids(mixed.load_controllers), Ids{"a-LC"});
  EXPECT_EQ(mixed.sequence.vacancy->delay_s, 900.0);
  EXPECT_EQ(mixed.sequence.daylight.front().photosensor, "a-P");
  EXPECT_EQ(mixed.sequence.manual->stations, Ids{"a-S"});
  EXPECT_EQ(mixed.sequence.normal_scene, "a-normal");
}

TEST(PartsOfADesign, AllPartsAreTheDesignBesideScenesThatStay) {
  const RoomControls mixed =
      with_parts_of(controls("a-", 600.0), controls("b-", 900.0), {kParts.begin(), kParts.end()});
  EXPECT_EQ(ids(mixed.groups), (Ids{"a-scene", "b-occ", "b-day"}));
  EXPECT_EQ(ids(mixed.photosensors), Ids{"b-P"});
  EXPECT_EQ(ids(mixed.stations), Ids{"b-S"});
  EXPECT_EQ(ids(mixed.load_controllers), Ids{"b-LC"});
  EXPECT_EQ(mixed.sequence.daylight.front().photosensor, "b-P");
  EXPECT_EQ(mixed.sequence.manual->stations, Ids{"b-S"});
}

TEST(PartsOfADesign, ARoomWithoutScenesGetsThoseOfTheDesign) {
  RoomControls bare;
  bare.sequence.space = "R";
  RoomControls design = controls("b-", 900.0);
  design.sequence.trim.emplace();
  const RoomControls mixed = with_parts_of(bare, design, {Part::stations});
  EXPECT_EQ(ids(mixed.scenes), Ids{"b-normal"});
  EXPECT_EQ(ids(mixed.groups), Ids{"b-scene"});
  EXPECT_EQ(mixed.sequence.normal_scene, "b-normal");
  EXPECT_TRUE(mixed.sequence.trim);
  EXPECT_TRUE(mixed.occupancy_sensors.empty());
  EXPECT_FALSE(mixed.sequence.vacancy);
}

TEST(PartsOfADesign, ControllersThatStayGoOnDrivingTheLuminairesOfGroupsThatAreGone) {
  RoomControls room = controls("a-", 600.0);
  room.groups[1].channels = {"L1", "L2/up"};  // for occupancy
  room.load_controllers.front().luminaires.clear();
  room.load_controllers.front().groups = {"a-scene", "a-occ"};
  const RoomControls mixed = with_parts_of(room, controls("b-", 900.0), {Part::occupancy});
  ASSERT_EQ(ids(mixed.load_controllers), Ids{"a-LC"});
  EXPECT_EQ(mixed.load_controllers.front().groups, Ids{"a-scene"});
  EXPECT_EQ(mixed.load_controllers.front().luminaires, (Ids{"L1", "L2"}));
}

}  // namespace halflight::choose
