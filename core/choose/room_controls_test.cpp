#include "choose/room_controls.hpp"

#include "choose/proposal_room_test.hpp"

#include <algorithm>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using domain::Strategy;

/// The office with everything decided, and a corridor that shares a load controller with it.
domain::Project decided() {
  domain::Project project = bare_office();
  domain::Space corridor = project.spaces[0];
  corridor.id = "corridor";
  project.spaces.push_back(corridor);
  domain::Design& design = project.designs[1];
  domain::Luminaire lamp = design.luminaires[0];
  lamp.id = "C1";
  lamp.space = "corridor";
  design.luminaires.push_back(lamp);
  design.sequences.emplace_back().space = "room";
  sim::add_daylight_loop(design, {4, 2, 2.7});
  sim::add_occupancy_sensor(design, {4, 3, 2.7}, 600.0);
  for (domain::Group& group : design.groups) std::erase(group.channels, "C1");
  design.groups.push_back({"scene", "room", Strategy::scene, "a", {"proposal0"}});
  design.groups.push_back({"walk", "corridor", Strategy::occupancy, "walk", {"C1"}});
  domain::Station station;
  station.id = "S1";
  station.space = "room";
  design.stations = {station};
  design.sequences[0].manual = domain::ManualRule{{"S1"}};
  domain::LoadController own = sim::controller();
  own.groups = {"all"};
  own.luminaires = {"proposal1"};
  domain::LoadController shared = sim::controller();
  shared.id = "LC2";
  shared.groups = {"day", "walk", "scene"};
  shared.luminaires = {"proposal2", "C1"};
  domain::LoadController contact = sim::controller();
  contact.id = "HVAC";
  contact.groups = {"all"};
  contact.action = domain::LoadController::Action::volt_free_contact;
  design.load_controllers = {own, shared, contact};
  return project;
}

template <class T>
std::vector<std::string> ids(const std::vector<T>& all) {
  std::vector<std::string> found;
  for (const T& one : all) found.push_back(one.id);
  return found;
}
using Ids = std::vector<std::string>;

const domain::Design& proposal(const domain::Project& project) { return project.designs[1]; }

TEST(RoomControls, AreWhatADesignHasInTheRoomAlone) {
  const domain::Project project = decided();
  const RoomControls controls = controls_of(project, proposal(project), "room");
  EXPECT_EQ(ids(controls.groups), (Ids{"day", "all", "scene"}));
  EXPECT_EQ(ids(controls.load_controllers), (Ids{"LC1", "HVAC"}));
  EXPECT_EQ(controls.sequence.daylight.size(), 1U);
  EXPECT_EQ(decided_parts(project, proposal(project), "room"),
            (std::set<Part>{Part::occupancy, Part::daylight, Part::stations, Part::controllers,
                            Part::receptacles}));
  EXPECT_EQ(decided_parts(project, proposal(project), "corridor"),
            (std::set<Part>{Part::occupancy, Part::controllers, Part::receptacles}));
}

TEST(RoomControls, WhatIsPluggedInIsDecidedOnceSomethingSwitchesItOrNothingMaySwitchIt) {
  domain::Project project = bare_office();
  EXPECT_EQ(decided_parts(project, proposal(project), "room"), std::set<Part>{Part::receptacles});
  domain::PlugLoads& loads = project.spaces[0].plug_loads;
  loads.receptacles = 8;  // which a code may want to be controlled
  EXPECT_TRUE(decided_parts(project, proposal(project), "room").empty());
  loads.receptacles = 0;
  loads.devices.emplace_back().must_stay_on = domain::PlugDevice::MustStayOn::network;
  EXPECT_EQ(decided_parts(project, proposal(project), "room"), std::set<Part>{Part::receptacles});
  loads.devices.emplace_back().kind = "screen";
  EXPECT_TRUE(decided_parts(project, proposal(project), "room").empty());
  loads.devices.back().switched_by = domain::PlugDevice::SwitchedBy::plug_in_outlet;
  EXPECT_EQ(decided_parts(project, proposal(project), "room"), std::set<Part>{Part::receptacles});
  // Free, it says nothing again; taken from a design, what that says.
  const RoomControls has = controls_of(project, proposal(project), "room");
  const RoomControls bare = without(has, Part::receptacles);
  EXPECT_EQ(bare.plug_loads.devices.back().switched_by, domain::PlugDevice::SwitchedBy::nothing);
  const domain::Project with = with_controls(project, "room", with_parts_of(bare, has, {Part::receptacles}));
  EXPECT_EQ(with.spaces[0].plug_loads.devices.back().switched_by,
            domain::PlugDevice::SwitchedBy::plug_in_outlet);
}

TEST(RoomControls, PutBackAsTheyAreChangeNothing) {
  const domain::Project project = decided();
  const domain::Project same =
      with_controls(project, "room", controls_of(project, proposal(project), "room"));
  const domain::Design& a = proposal(project);
  const domain::Design& b = proposal(same);
  EXPECT_EQ(ids(a.groups), ids(b.groups));
  EXPECT_EQ(ids(a.occupancy_sensors), ids(b.occupancy_sensors));
  EXPECT_EQ(ids(a.photosensors), ids(b.photosensors));
  EXPECT_EQ(ids(a.stations), ids(b.stations));
  EXPECT_EQ(a.sequences[0].daylight, b.sequences[0].daylight);
  EXPECT_EQ(a.sequences[0].vacancy, b.sequences[0].vacancy);
  ASSERT_EQ(b.load_controllers.size(), 3U);
  const domain::LoadController* shared = domain::find_by_id(b.load_controllers, "LC2");
  // The room has a controller of its own: the shared one drives the corridor alone.
  EXPECT_EQ(shared->groups, Ids{"walk"});
  EXPECT_EQ(shared->luminaires, Ids{"C1"});
}

TEST(RoomControls, AFreePartTakesItsGroupsDevicesAndRulesWithIt) {
  const domain::Project project = decided();
  const RoomControls all = controls_of(project, proposal(project), "room");
  const RoomControls no_daylight = without(all, Part::daylight);
  EXPECT_EQ(ids(no_daylight.groups), (Ids{"all", "scene"}));
  EXPECT_TRUE(no_daylight.photosensors.empty() && no_daylight.sequence.daylight.empty());
  EXPECT_EQ(no_daylight.occupancy_sensors.size(), 1U);
  EXPECT_TRUE(no_daylight.sequence.vacancy);

  const RoomControls no_occupancy = without(all, Part::occupancy);
  EXPECT_EQ(ids(no_occupancy.groups), (Ids{"day", "scene"}));
  EXPECT_FALSE(no_occupancy.sequence.vacancy);
  EXPECT_EQ(no_occupancy.sequence.on.by, domain::OnRule::By::hand);
  // The controller that stays drives what it drove.
  EXPECT_TRUE(no_occupancy.load_controllers[0].groups.empty());
  const domain::Project with = with_controls(project, "room", no_occupancy);
  std::vector<std::string> driven = domain::driven_luminaires(
      with, proposal(with), *domain::find_by_id(proposal(with).load_controllers, "LC1"));
  EXPECT_EQ(driven.size(), 8U);

  const RoomControls no_controllers = without(all, Part::controllers);
  EXPECT_EQ(ids(no_controllers.load_controllers), Ids{"HVAC"}) << "a contact for others commands no light";
  EXPECT_TRUE(without(all, Part::stations).stations.empty());
  EXPECT_FALSE(without(all, Part::stations).sequence.manual);
}

TEST(RoomControls, APartitionSensorStaysAndComesAlongWhereThereIsNone) {
  domain::Project project = decided();
  const auto interface = [](const std::string& id, domain::Interface::Kind kind) {
    domain::Interface made;
    made.id = id;
    made.space = "room";
    made.kind = kind;
    return made;
  };
  project.designs[1].interfaces = {interface("fire", domain::Interface::Kind::fire_alarm),
                                   interface("PW", domain::Interface::Kind::partition_sensor)};
  const RoomControls has = controls_of(project, proposal(project), "room");
  EXPECT_EQ(ids(has.partition_sensors), Ids{"PW"});
  EXPECT_EQ(ids(without(has, Part::occupancy).partition_sensors), Ids{"PW"});
  RoomControls other = has;
  other.partition_sensors = {interface("PW2", domain::Interface::Kind::partition_sensor)};
  EXPECT_EQ(ids(proposal(with_controls(project, "room", other)).interfaces), (Ids{"fire", "PW2"}));
  EXPECT_EQ(ids(with_parts_of(has, other, {Part::occupancy}).partition_sensors), Ids{"PW"});
  RoomControls bare = has;
  bare.partition_sensors.clear();
  EXPECT_EQ(ids(with_parts_of(bare, other, {Part::occupancy}).partition_sensors), Ids{"PW2"});
  EXPECT_EQ(ids(proposal(with_controls(project, "room", bare)).interfaces), Ids{"fire"});
}

TEST(RoomControls, SharedControllersKeepWhatARoomWithoutOwnStillHas) {
  const domain::Project project = decided();
  RoomControls controls = controls_of(project, proposal(project), "room");
  controls = without(without(controls, Part::controllers), Part::daylight);
  const domain::Project with = with_controls(project, "room", controls);
  const domain::LoadController* shared = domain::find_by_id(proposal(with).load_controllers, "LC2");
  EXPECT_EQ(shared->groups, (Ids{"walk", "scene"})) << "the daylight group is gone";
  EXPECT_EQ(shared->luminaires, (Ids{"proposal2", "C1"}));
  EXPECT_EQ(domain::find_by_id(proposal(with).load_controllers, "LC1"), nullptr);
  EXPECT_TRUE(decided_parts(with, proposal(with), "room").contains(Part::controllers));
}

TEST(RoomControls, WhatIsToBeRemovedStaysOnTheListAndKeepsItsId) {
  domain::Project project = decided();
  domain::OccupancySensor old = project.designs[1].occupancy_sensors[0];
  old.id = "room-O1";
  old.status = domain::Status::remove;
  project.designs[1].occupancy_sensors.push_back(old);
  const RoomControls controls = controls_of(project, proposal(project), "room");
  EXPECT_EQ(ids(controls.occupancy_sensors), Ids{"M1"});
  const domain::Project with = with_controls(project, "room", without(controls, Part::occupancy));
  EXPECT_EQ(ids(proposal(with).occupancy_sensors), Ids{"room-O1"});
  std::set<std::string> taken = ids_beside(proposal(project), "room");
  EXPECT_EQ(fresh_id("room-O", taken), "room-O2");
  EXPECT_EQ(fresh_id("room-O", taken), "room-O3");
  EXPECT_FALSE(taken.contains("M1"));
  EXPECT_TRUE(taken.contains("walk") && taken.contains("LC1") && taken.contains("proposal0"));
}

}  // namespace
}  // namespace halflight::choose
