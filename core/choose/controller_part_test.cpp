// Load controllers of a room, and what can be put into it.
#include "choose/controller_part.hpp"

#include "choose/existing_wiring.hpp"
#include "choose/first_cost.hpp"
#include "choose/proposal_room_test.hpp"

#include <algorithm>
#include <set>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using Mounting = domain::DeviceKind::Mounting;

class ControllerPartTest : public testing::Test {
 protected:
  domain::Space& space() { return project_.spaces[0]; }
  void shut_the_ceiling() {
    project_.type.kind = domain::ProjectType::Kind::alteration;
    space().ceiling_access = domain::CeilingAccess::none;
  }
  std::set<std::string> kinds() {
    std::set<std::string> found;
    for (const domain::DeviceKind* kind : kinds_for(project_, library_, space())) found.insert(kind->id);
    return found;
  }
  /// All luminaires together, which a sensor and a trim command.
  RoomControls controls() {
    RoomControls made;
    made.sequence.space = "room";
    made.sequence.trim.emplace();
    made.groups = {{"scene", "room", domain::Strategy::scene, "a", ids(0, 8)},
                   {"people", "room", domain::Strategy::occupancy, "all", ids(0, 8)}};
    domain::OccupancySensor sensor;
    sensor.id = "O";
    sensor.space = "room";
    sensor.device_kind = "ceiling_sensor";
    sensor.at = {4, 3, 2.7};
    sensor.groups = {"people"};
    made.occupancy_sensors = {sensor};
    return made;
  }
  static std::vector<std::string> ids(int from, int to) {
    std::vector<std::string> all;
    for (int i = from; i < to; ++i) all.push_back("proposal" + std::to_string(i));
    return all;
  }
  ControllerPart part(const RoomControls& made, const std::string& with_sensors = "") {
    std::vector<lightresponse::ChannelColumn> columns;
    for (const domain::Luminaire& luminaire : project_.designs[1].luminaires) {
      lightresponse::ChannelColumn& column = columns.emplace_back();
      column.design = 1;
      column.luminaire = columns.size() - 1;
      column.channel = 0;
      column.id = luminaire.id + "/all";
    }
    std::set<std::string> taken;
    return controller_part(project_, library_, "room", made, columns, "room-", taken,
                           domain::find_by_id(library_.device_kinds, with_sensors));
  }

  domain::Project project_ = bare_office();
  domain::Library library_ = device_library();
};

TEST_F(ControllerPartTest, NothingThatOpensAShutCeilingIsPutIn) {
  for (const domain::DeviceKind& kind : library_.device_kinds)
    EXPECT_TRUE(kinds().contains(kind.id)) << kind.id;
  const std::set<std::string> by_radio_or_in_boxes = {
      "ceiling_sensor_radio",  "wall_box_sensor", "luminaire_sensor",  "photosensor_down_radio",
      "photosensor_out_radio", "switch",          "station_four_radio"};
  // A hard ceiling of a new building is still to be built.
  space().ceiling_access = domain::CeilingAccess::none;
  EXPECT_EQ(kinds().size(), library_.device_kinds.size());
  shut_the_ceiling();
  EXPECT_EQ(kinds(), by_radio_or_in_boxes);
  // What lies above a ceiling with tiles may be hazardous, whatever the building.
  project_.type.kind = domain::ProjectType::Kind::new_building;
  space().ceiling_access = domain::CeilingAccess::tiles;
  EXPECT_EQ(kinds().size(), library_.device_kinds.size());
  space().hazardous_material = true;
  EXPECT_EQ(kinds(), by_radio_or_in_boxes);
  EXPECT_TRUE(wiring_stays(project_, space()));
}

TEST_F(ControllerPartTest, RadioAndNeutralAreAskedFor) {
  project_.requirements.radio_allowed = false;
  for (const domain::DeviceKind* kind : kinds_for(project_, library_, space()))
    EXPECT_NE(kind->link, domain::Link::radio) << kind->id;
  EXPECT_TRUE(kinds().contains("wall_box_sensor"));
  project_.requirements.radio_allowed = true;
  EXPECT_TRUE(kinds().contains("luminaire_sensor"));
  project_.radio.reset();
  EXPECT_FALSE(kinds().contains("luminaire_sensor")) << "no radio is chosen";
  space().neutral_in_boxes = false;
  EXPECT_FALSE(kinds().contains("wall_box_sensor"));
  EXPECT_TRUE(kinds().contains("switch"));
}

TEST_F(ControllerPartTest, TheProjectsKindStandsForTheLibrarys) {
  project_.device_kinds = {*domain::find_by_id(library_.device_kinds, "relay_pack")};
  project_.device_kinds[0].name = "ours";
  const auto all = kinds_for(project_, library_, space());
  EXPECT_EQ(all.size(), library_.device_kinds.size());
  EXPECT_EQ(all.front()->name, "ours");
}

TEST_F(ControllerPartTest, BuysWhatCarriesTheLoadsAndNothingWhereASwitchDoes) {
  const ControllerPart found = part(controls());
  ASSERT_EQ(found.controllers.size(), 1U);
  EXPECT_EQ(found.controllers[0].device_kind, "room_bus") << "what dims on a bus";
  EXPECT_EQ(found.controllers[0].luminaires, ids(0, 8));
  EXPECT_EQ(found.controllers[0].standby_w, 1.5);
  EXPECT_TRUE(found.uncarried.empty());

  RoomControls by_switch = controls();
  by_switch.sequence.trim.reset();
  by_switch.occupancy_sensors.clear();
  EXPECT_TRUE(part(by_switch).controllers.empty());
  // What need not dim is switched by the cheaper relay.
  RoomControls by_relay = controls();
  by_relay.sequence.trim.reset();
  EXPECT_EQ(part(by_relay).controllers.at(0).device_kind, "relay_pack");
}

TEST_F(ControllerPartTest, SaysWhyALoadIsCarriedByNothing) {
  // Only ten drivers would fit a bus of 20 mA with 15 % kept free, of eight.
  for (domain::DeviceKind& kind : library_.device_kinds)
    if (kind.id == "room_bus") kind.load->bus_limit_ma = 1.0;
  EXPECT_FALSE(part(controls()).uncarried.empty());
  shut_the_ceiling();
  project_.requirements.radio_allowed = false;
  const ControllerPart shut = part(controls());
  ASSERT_EQ(shut.uncarried.size(), 1U);
  EXPECT_NE(shut.uncarried[0].find("without opening the ceiling"), std::string::npos);
  EXPECT_TRUE(shut.controllers.empty());
}

TEST_F(ControllerPartTest, SensorsInLuminairesCommandThem) {
  RoomControls made = controls();
  made.occupancy_sensors.clear();
  for (int i = 0; i < 8; ++i) {
    domain::OccupancySensor sensor;
    sensor.id = "O" + std::to_string(i);
    sensor.device_kind = "luminaire_sensor";
    sensor.at = project_.designs[1].luminaires[static_cast<std::size_t>(i)].at;
    sensor.standby_w = 0.6;
    if (i > 0) made.occupancy_sensors.push_back(sensor);  // one luminaire looks out of a door
  }
  const ControllerPart found = part(made, "luminaire_sensor");
  EXPECT_TRUE(found.uncarried.empty());
  ASSERT_EQ(found.controllers.size(), 8U);
  double standby_w = 0.0;
  for (const domain::LoadController& controller : found.controllers) {
    EXPECT_EQ(controller.luminaires.size(), 1U);
    EXPECT_EQ(controller.device_kind, "luminaire_sensor");
    standby_w += controller.standby_w;
  }
  // Seven are drawn with their sensors, and all eight are paid once.
  EXPECT_DOUBLE_EQ(standby_w, 0.6);
  made.load_controllers = found.controllers;
  EXPECT_EQ(first_cost(project_, library_, made).quantities.at(0).count, 8);
  // Ballasts that only switch are no control gear on a bus.
  project_.drivers[1].protocol = domain::Protocol::switched;
  project_.drivers[1].dims = false;
  EXPECT_FALSE(part(made, "luminaire_sensor").uncarried.empty());
}

TEST_F(ControllerPartTest, ABoxCarriesOneSwitchLeg) {
  RoomControls made = controls();
  made.sequence.trim.reset();
  made.groups[1].channels = ids(0, 4);
  made.groups.push_back({"others", "room", domain::Strategy::occupancy, "b", ids(4, 8)});
  made.occupancy_sensors[0].device_kind = "wall_box_sensor";
  made.occupancy_sensors.push_back(made.occupancy_sensors[0]);
  made.occupancy_sensors[1].groups = {"others"};
  const ControllerPart found = part(made, "wall_box_sensor");
  ASSERT_EQ(found.controllers.size(), 2U) << (found.uncarried.empty() ? "" : found.uncarried[0]);
  EXPECT_EQ(found.controllers[0].luminaires, ids(0, 4));
  EXPECT_EQ(found.controllers[1].luminaires, ids(4, 8));
  EXPECT_EQ(found.controllers[0].mounting, domain::LoadController::Mounting::wall_box);
  // Three groups and two boxes do not go together.
  made.groups[1].channels = ids(0, 2);
  made.groups.push_back({"third", "room", domain::Strategy::occupancy, "c", ids(2, 4)});
  EXPECT_FALSE(part(made, "wall_box_sensor").uncarried.empty());
}

TEST_F(ControllerPartTest, LegsAreWhatOneSwitchTurnsOn) {
  domain::Design& design = project_.designs[1];
  EXPECT_EQ(switch_legs(project_, design, "room").size(), 1U);
  for (const char* id : {"c1", "c2"}) {
    domain::Circuit& circuit = design.circuits.emplace_back();
    circuit.id = id;
    circuit.switch_leg = id[1] == '1' ? "b" : "a";
  }
  for (std::size_t i = 0; i < 8; ++i) design.luminaires[i].circuit = i < 3 ? "c1" : "c2";
  std::vector<SwitchLeg> legs = switch_legs(project_, design, "room");
  ASSERT_EQ(legs.size(), 2U);
  EXPECT_EQ(legs[0].name, "a");
  EXPECT_EQ(legs[0].luminaires, ids(3, 8));
  EXPECT_EQ(legs[1].luminaires, ids(0, 3));
  // A leg of the same letter on another circuit is another; what names none is together.
  design.circuits[1].switch_leg = "b";
  EXPECT_EQ(switch_legs(project_, design, "room").size(), 2U);
  design.luminaires[7].circuit.clear();
  design.luminaires[6].circuit.clear();
  legs = switch_legs(project_, design, "room");
  ASSERT_EQ(legs.size(), 3U);
  EXPECT_EQ(legs[0].luminaires, ids(6, 8));
  std::reverse(design.luminaires.begin(), design.luminaires.end());
  EXPECT_EQ(switch_legs(project_, design, "room")[2].luminaires, legs[2].luminaires);
}

}  // namespace
}  // namespace halflight::choose
