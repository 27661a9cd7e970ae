#include "choose/shared_controllers.hpp"

#include "choose/proposal_room_test.hpp"

#include <algorithm>
#include <set>
#include <string>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using domain::DeviceKind;
using domain::LoadController;

// Three offices in a row, each with its own digital controller that costs 200; one that serves several rooms
// costs 300 and has sixteen outputs. By hand: three of their own 600, one together 300.
class SharedControllersTest : public testing::Test {
 protected:
  SharedControllersTest() {
    project_ = bare_office();
    project_.storeys = {domain::Storey{}};
    project_.storeys[0].id = project_.spaces[0].storey = "s";
    project_.estimate.labour_rate_per_h = 0.0;
    add("room_bus", 200.0);
    add("storey_bus", 300.0).load->several_rooms = true;
    const domain::Space first = project_.spaces[0];
    domain::Design& design = project_.designs[1];
    const std::vector<domain::Luminaire> lights = design.luminaires;
    for (int r = 1; r < 3; ++r) {
      domain::Space next = first;
      next.id = "room" + std::to_string(r);
      for (Point2& corner : next.floor) corner.x += 10.0 * r;
      project_.spaces.push_back(next);
      for (domain::Luminaire light : lights) {
        light.id += "-" + std::to_string(r);
        light.space = next.id;
        light.at.x += 10.0 * r;
        design.luminaires.push_back(light);
      }
    }
    for (std::size_t r = 0; r < 3; ++r) {
      const std::string& room = project_.spaces[r].id;
      project_.spaces[r].number = "1.0" + std::to_string(r);
      domain::Group group{room + "-all", room, domain::Strategy::occupancy, "all", {}};
      LoadController own;
      own.id = room + "-LC";
      own.space = room;
      own.device_kind = "room_bus";
      for (const domain::Luminaire& light : design.luminaires)
        if (light.space == room) {
          group.channels.push_back(light.id);
          own.luminaires.push_back(light.id);
        }
      design.groups.push_back(group);
      design.load_controllers.push_back(own);
      domain::Sequence sequence;
      sequence.space = room;
      sequence.trim.emplace();
      sequence.vacancy.emplace().groups = {group.id};
      design.sequences.push_back(sequence);
    }
  }

  DeviceKind& add(const char* id, double material) {
    library_.device_kinds.push_back(
        device_kind(id, DeviceKind::Mounting::ceiling_void, domain::Link::wired, material, 0.0, 0.0));
    DeviceKind& kind = library_.device_kinds.back();
    kind.load.emplace();
    kind.load->action = LoadController::Action::digital_bus;
    kind.load->outputs = 16;
    return kind;
  }
  std::vector<SharedControllers> found(const std::set<std::string>& spaces) {
    const auto result = shared_controllers(project_, library_, {}, spaces);
    EXPECT_TRUE(result) << (result ? "" : to_text(result.error().front()));
    return result.value_or(std::vector<SharedControllers>{});
  }
  const std::set<std::string> all_ = {"room", "room1", "room2"};
  domain::Project project_;
  domain::Library library_;
};

TEST_F(SharedControllersTest, OneServesThreeRoomsWhereItCostsLess) {
  const std::vector<SharedControllers> shared = found(all_);
  ASSERT_EQ(shared.size(), 1U);
  EXPECT_EQ(shared[0].cost_before.least, 600.0);
  EXPECT_EQ(shared[0].cost_after.least, 300.0);
  EXPECT_TRUE(shared[0].is_least);
  ASSERT_EQ(shared[0].controllers.size(), 1U);
  const LoadController& one = shared[0].controllers[0];
  EXPECT_EQ(one.device_kind, "storey_bus");
  // Every luminaire of the three rooms, each once, and nothing else.
  std::multiset<std::string> driven(one.luminaires.begin(), one.luminaires.end());
  EXPECT_EQ(driven.size(), project_.designs[1].luminaires.size());
  for (const domain::Luminaire& light : project_.designs[1].luminaires)
    EXPECT_EQ(driven.count(light.id), 1U) << light.id;
  EXPECT_EQ(shared[0].replaced, (std::vector<std::string>{"room-LC", "room1-LC", "room2-LC"}));
  ASSERT_EQ(shared[0].why.size(), 1U);
  EXPECT_NE(shared[0].why[0].find("3 rooms fail together"), std::string::npos) << shared[0].why[0];
}

TEST_F(SharedControllersTest, NoneWhereTheirOwnCostLessOrNoKindServesSeveral) {
  library_.device_kinds.back().price.material = {700.0, 700.0};
  EXPECT_TRUE(found(all_).empty());
  library_.device_kinds.back().price.material = {300.0, 300.0};
  library_.device_kinds.back().load->several_rooms = false;
  EXPECT_TRUE(found(all_).empty());
}

TEST_F(SharedControllersTest, WhatIsNotAskedForOrDecidedByHandOrElsewhereStays) {
  EXPECT_TRUE(found({"room"}).empty()) << "one room alone shares nothing";
  // 200 + 200 is more than 300, so that two of three share.
  const std::vector<SharedControllers> two = found({"room", "room2"});
  ASSERT_EQ(two.size(), 1U);
  EXPECT_EQ(two[0].replaced, (std::vector<std::string>{"room-LC", "room2-LC"}));
  project_.designs[1].load_controllers[0].status = domain::Status::remain;
  const std::vector<SharedControllers> others = found(all_);
  ASSERT_EQ(others.size(), 1U);
  EXPECT_EQ(others[0].spaces, (std::vector<std::string>{"room1", "room2"}));
  project_.designs[1].load_controllers[0].status = domain::Status::added;
  project_.storeys.push_back(project_.storeys[0]);
  project_.storeys[1].id = project_.spaces[1].storey = "t";
  const std::vector<SharedControllers> below = found(all_);
  ASSERT_EQ(below.size(), 1U);
  EXPECT_EQ(below[0].spaces, (std::vector<std::string>{"room", "room2"}));
}

TEST_F(SharedControllersTest, ARoomWhoseWiringStaysKeepsOnlyItselfFromSharing) {
  project_.spaces[1].hazardous_material = true;
  const std::vector<SharedControllers> shared = found(all_);
  ASSERT_EQ(shared.size(), 1U);
  EXPECT_EQ(shared[0].spaces, (std::vector<std::string>{"room", "room2"}));
}

TEST_F(SharedControllersTest, NoBusIsLongerThanItsCurrentAllows) {
  // The last room lies 300 m away: no digital bus may be that long (IEC 62386-101).
  for (Point2& corner : project_.spaces[2].floor) corner.x += 300.0;
  for (domain::Luminaire& light : project_.designs[1].luminaires)
    if (light.space == "room2") light.at.x += 300.0;
  EXPECT_TRUE(found(all_).empty());
}

}  // namespace
}  // namespace halflight::choose
