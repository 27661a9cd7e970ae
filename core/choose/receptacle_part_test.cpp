#include "choose/receptacle_part.hpp"

#include "choose/proposal_room_test.hpp"

#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using domain::DeviceKind;
using domain::Link;
using domain::PlugDevice;
using SwitchedBy = PlugDevice::SwitchedBy;

// Worked by hand with made-up figures: a kWh costs 0.20 and ten years have to pay for what switches, so that
// each kWh a year is worth 2. A controlled outlet costs 20, its relay 50 and carries four, an outlet with a
// sensor 30.
class ReceptaclePartTest : public testing::Test {
 protected:
  ReceptaclePartTest() {
    project_ = bare_office();
    project_.estimate.labour_rate_per_h = 0.0;
    project_.tariffs = {{"t", project_.estimate.currency, 0.20, 0.0}};
    const auto add = [&](const char* id, DeviceKind::Mounting mounting, double material) -> DeviceKind& {
      library_.device_kinds.push_back(device_kind(id, mounting, Link::wired, material, 0.0, 0.0));
      return library_.device_kinds.back();
    };
    add("marked", DeviceKind::Mounting::wall_box, 20.0).switches_plugs = SwitchedBy::controlled_receptacle;
    add("strip", DeviceKind::Mounting::plug_in, 30.0).switches_plugs = SwitchedBy::plug_in_outlet;
    DeviceKind& relay = add("relay", DeviceKind::Mounting::ceiling_void, 50.0);
    relay.load.emplace();
    relay.load->action = domain::LoadController::Action::on_off;
    relay.load->limit_a = 4 * kOutlet_a;
  }

  /// A kind of device that uses so many kWh a year (all of them) by each way, and how long it would go out on
  /// somebody by the room's sensors.
  void plug_in(const std::string& kind, int count, double nothing, double receptacle, double outlet,
               double cut_h = 0.0) {
    PlugDevice device;
    device.kind = kind;
    device.count = count;
    project_.spaces[0].plug_loads.devices.push_back(device);
    for (std::vector<sim::PlugUseByWay>& year : years_)
      year.push_back({{{1000.0 * nothing, 0.0}, {1000.0 * receptacle, cut_h}, {1000.0 * outlet, 0.0}}});
  }
  PlugDevice& last() { return project_.spaces[0].plug_loads.devices.back(); }

  [[nodiscard]] ReceptaclePart chosen(int asked = 0) const {
    return receptacle_part(project_, library_, project_.spaces[0], asked, years_, 1);
  }
  static SwitchedBy way(const ReceptaclePart& part, std::size_t device) {
    return part.loads.devices[device].switched_by;
  }

  domain::Project project_;
  domain::Library library_;
  std::vector<std::vector<sim::PlugUseByWay>> years_{2};
};

TEST_F(ReceptaclePartTest, TakesTheWayThatLeavesMostWhenItIsPaidFor) {
  plug_in("screen", 4, 400.0, 200.0, 150.0);
  // 200 kWh are worth 400, less 4 x 20 + 50; 250 kWh are worth 500, less 4 x 30.
  const ReceptaclePart part = chosen();
  EXPECT_EQ(way(part, 0), SwitchedBy::plug_in_outlet);
  EXPECT_EQ(part.cost.cost.least, 120.0);
  EXPECT_DOUBLE_EQ(part.saved_kwh.mean, 250.0);
  EXPECT_EQ(part.loads.controlled_receptacles, 0);
}

TEST_F(ReceptaclePartTest, UsesOutletsThatTheCodeAsksForAnyway) {
  plug_in("screen", 4, 400.0, 200.0, 150.0);
  project_.spaces[0].plug_loads.receptacles = 8;
  // Four controlled outlets are bought whatever hangs on them, so that outlets with a sensor would add 120
  // for 50 kWh.
  const ReceptaclePart part = chosen(4);
  EXPECT_EQ(way(part, 0), SwitchedBy::controlled_receptacle);
  EXPECT_EQ(part.loads.controlled_receptacles, 4);
  EXPECT_EQ(part.cost.cost.least, 4 * 20.0 + 50.0);
}

TEST_F(ReceptaclePartTest, ARelayIsPaidForByAllThatHangsOnIt) {
  // Alone either would not pay for a relay: 40 kWh are worth 80, an outlet and a relay cost 70 and the
  // strip 30.
  plug_in("lamp", 1, 100.0, 75.0, 100.0);
  EXPECT_EQ(way(chosen(), 0), SwitchedBy::nothing) << "50 < 70";
  plug_in("heater", 1, 100.0, 75.0, 100.0);
  const ReceptaclePart part = chosen();
  EXPECT_EQ(way(part, 0), SwitchedBy::controlled_receptacle) << "100 > 2 x 20 + 50";
  EXPECT_EQ(way(part, 1), SwitchedBy::controlled_receptacle);
}

TEST_F(ReceptaclePartTest, NothingThatMustStayOnIsEverSwitched) {
  for (const auto why : {PlugDevice::MustStayOn::medical, PlugDevice::MustStayOn::refrigeration,
                         PlugDevice::MustStayOn::network, PlugDevice::MustStayOn::never_switched}) {
    plug_in("it", 1, 5000.0, 0.0, 0.0);
    last().must_stay_on = why;
  }
  const ReceptaclePart part = chosen();
  for (std::size_t d = 0; d < 4; ++d) EXPECT_EQ(way(part, d), SwitchedBy::nothing);
  EXPECT_EQ(part.cost.cost.most, 0.0);
  ASSERT_EQ(part.why.size(), 4U);
  EXPECT_NE(part.why[1].find("refrigeration"), std::string::npos) << part.why[1];
}

TEST_F(ReceptaclePartTest, NothingIsSwitchedThatWouldGoOutOnSomebody) {
  plug_in("screen", 2, 900.0, 100.0, 900.0, 25.0);
  const ReceptaclePart part = chosen();
  EXPECT_EQ(way(part, 0), SwitchedBy::nothing);
}

TEST_F(ReceptaclePartTest, WhatStaysOnKeepsOutletsThatAreNotControlled) {
  plug_in("screen", 4, 4000.0, 200.0, 4000.0);
  plug_in("server", 3, 100.0, 100.0, 100.0);
  last().must_stay_on = PlugDevice::MustStayOn::network;
  project_.spaces[0].plug_loads.receptacles = 6;
  EXPECT_EQ(way(chosen(), 0), SwitchedBy::nothing) << "three of six are left";
  project_.spaces[0].plug_loads.receptacles = 7;
  EXPECT_EQ(way(chosen(), 0), SwitchedBy::controlled_receptacle);
}

TEST_F(ReceptaclePartTest, WhereNoNewWireComesOnlyWhatPlugsInIsChosen) {
  project_.spaces[0].hazardous_material = true;
  plug_in("screen", 4, 400.0, 0.0, 390.0);
  const ReceptaclePart part = chosen(2);
  EXPECT_EQ(way(part, 0), SwitchedBy::nothing);
  EXPECT_EQ(part.loads.controlled_receptacles, 0);
}

TEST_F(ReceptaclePartTest, OutletsAreAskedForByTheRuleThatFails) {
  domain::CodeRule rule;
  rule.id = "half";
  rule.requirement = domain::Requirement::receptacle_control;
  rule.limits["controlled_min"] = {50.0, "%", 0.5, {}};
  domain::PlugLoads loads;
  loads.receptacles = 7;
  results::Finding finding;
  finding.rule = "half";
  finding.verdict = results::Finding::Verdict::fail;
  EXPECT_EQ(outlets_asked_for(loads, {finding}, {rule}), 4);
  finding.verdict = results::Finding::Verdict::does_not_apply;
  EXPECT_EQ(outlets_asked_for(loads, {finding}, {rule}), 0);
}

}  // namespace
}  // namespace halflight::choose
