#include "choose/hvac_contacts.hpp"

#include "choose/proposal_room_test.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

domain::Project watched_office() {
  domain::Project project = bare_office();
  project.hvac_zones.emplace_back().id = "fan-coil";
  project.spaces[0].hvac_zone = "fan-coil";
  domain::Design& proposal = project.designs[1];
  domain::OccupancySensor sensor;
  sensor.id = "O1";
  sensor.space = "room";
  sensor.at = {4, 3, 2.7};
  proposal.occupancy_sensors = {sensor};
  return project;
}

domain::Library with_contact() {
  domain::Library library = device_library();
  library.device_kinds.push_back(device_kind("hvac_contact", domain::DeviceKind::Mounting::ceiling_void,
                                             domain::Link::wired, 70.0, 0.0, 0.0));
  return library;
}

TEST(HvacContacts, ARoomWhoseSensorsKnowTellsItsZone) {
  const domain::Project project = watched_office();
  const ContactProposal found = propose_contacts(project, with_contact(), project.designs[1]);
  ASSERT_EQ(found.told.size(), 1U);
  ASSERT_EQ(found.contacts.size(), 1U);
  EXPECT_EQ(found.told[0].contact, 0U);
  EXPECT_EQ(found.contacts[0].kind, domain::Interface::Kind::hvac_contact);
  EXPECT_EQ(found.contacts[0].at.x, 4.0);
  EXPECT_EQ(found.contacts[0].device_kind, "hvac_contact");
  ASSERT_TRUE(found.cost);
  EXPECT_EQ(found.cost->least, 70.0);
}

TEST(HvacContacts, PointsThatStandTakeTheRoomIn) {
  domain::Project project = watched_office();
  domain::Interface points;
  points.id = "HV";
  points.kind = domain::Interface::Kind::hvac_points;
  project.designs[1].interfaces = {points};
  const ContactProposal found = propose_contacts(project, with_contact(), project.designs[1]);
  ASSERT_EQ(found.told.size(), 1U);
  EXPECT_TRUE(found.contacts.empty());
  EXPECT_EQ(found.told[0].interface, "HV");
}

TEST(HvacContacts, NothingIsToldTwiceOrWithoutASensorOrAZone) {
  domain::Project told = watched_office();
  told.designs[1].hvac_hand_offs = {{"room", "HV"}};
  domain::Project blind = watched_office();
  blind.designs[1].occupancy_sensors.clear();
  domain::Project apart = watched_office();
  apart.spaces[0].hvac_zone.clear();
  for (const domain::Project& project : {told, blind, apart})
    EXPECT_TRUE(propose_contacts(project, with_contact(), project.designs[1]).told.empty());
}

}  // namespace
}  // namespace halflight::choose
