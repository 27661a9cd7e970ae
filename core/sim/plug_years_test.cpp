#include "sim/plug_years.hpp"

#include "sim/lit_room_fixture_test.hpp"
#include "sim/space_results.hpp"

#include <string>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

using SwitchedBy = domain::PlugDevice::SwitchedBy;
using OffWhen = domain::PlugLoads::OffWhen;

domain::PlugDevice device(const std::string& kind, SwitchedBy by) {
  domain::PlugDevice d;
  d.kind = kind;
  d.on_w = 100.0;
  d.idle_w = 60.0;
  d.standby_w = 4.0;
  d.switched_by = by;
  return d;
}

/// One person at a desk under a sensor, with the device.
domain::Project room_with(const domain::PlugDevice& d, OffWhen off_when = OffWhen::empty) {
  domain::Project project = ten_luminaires();
  add_occupancy_sensor(project.designs[1], {5, 3, 2.7}, 900.0);
  project.spaces[0].plug_loads.devices = {d};
  project.spaces[0].plug_loads.off_when = off_when;
  return project;
}

struct OneYear {
  explicit OneYear(const domain::Project& project, const Draws& draws = {}) : bench(project) {
    Replicate replicate(bench.model, bench.daylight, draws);
    runs = plug_runs(replicate);
    present_h = static_cast<double>(replicate.presence().awake().measure()) / kSecondsPerHour;
  }
  Bench bench;
  std::vector<PlugRun> runs;
  double present_h = 0.0;
};

TEST(PlugYears, WhatNothingSwitchesDrawsTheSameInBoth) {
  const OneYear year(room_with(device("screen", SwitchedBy::nothing)));
  ASSERT_EQ(year.runs.size(), 1u);
  EXPECT_EQ(year.runs[0].found_wh, year.runs[0].proposed_wh);
  // At least standby all year and what people use on top of it.
  EXPECT_GT(year.runs[0].found_wh, 4.0 * 8760.0 + 96.0 * year.present_h);
  EXPECT_LT(year.runs[0].found_wh, 60.0 * 8760.0 + 40.0 * year.present_h);
}

// PLG-1
TEST(PlugYears, AControlledReceptacleDropsTheNight) {
  domain::PlugDevice d = device("screen", SwitchedBy::controlled_receptacle);
  d.left_on = 1.0;
  d.sleeps_after_s = 0.0;
  const OneYear year(room_with(d));
  // Left on all year it draws 60 W with nobody there; cut, it draws no more than 100 W for the hours with
  // somebody, and 60 W for what the delay adds: less than the idle half of the open hours.
  EXPECT_NEAR(year.runs[0].found_wh, 60.0 * 8760.0 + 40.0 * year.present_h, 1e-6);
  EXPECT_LT(year.runs[0].proposed_wh, 100.0 * year.present_h + 60.0 * 3000.0);
  EXPECT_GT(year.runs[0].proposed_wh, 95.0 * year.present_h) << "who is there has power";
  EXPECT_LT(year.runs[0].cut_with_people_h, 0.02 * year.present_h);
}

// PLG-7
TEST(PlugYears, TheLightKeepsItsEnergy) {
  const domain::Project with = room_with(device("screen", SwitchedBy::controlled_receptacle));
  domain::Project without = with;
  without.spaces[0].plug_loads.devices.clear();
  const Bench a(with);
  const Bench b(without);
  const ReplicateRun lit = run_replicate(a.model, a.daylight, Draws{}, false);
  const ReplicateRun alone = run_replicate(b.model, b.daylight, Draws{}, false);
  for (std::size_t c = 0; c < 4; ++c) {
    EXPECT_EQ(lit.cases[c].light_wh, alone.cases[c].light_wh);
    EXPECT_EQ(lit.cases[c].standby_wh, alone.cases[c].standby_wh);
  }
}

// PLG-6
TEST(PlugYears, ALongerDelayNeverSavesMore) {
  double before = 0.0;
  for (const double delay_s : {300.0, 1200.0, 3600.0}) {
    domain::Project project = room_with(device("screen", SwitchedBy::controlled_receptacle));
    project.spaces[0].plug_loads.off_after_s = delay_s;
    const OneYear year(project);
    EXPECT_GT(year.runs[0].proposed_wh, before) << delay_s;
    before = year.runs[0].proposed_wh;
  }
}

// PLG-2
TEST(PlugYears, OutsideTheHoursNothingOnAControlledReceptacleDraws) {
  domain::PlugDevice d = device("copier", SwitchedBy::controlled_receptacle);
  d.on_w = d.idle_w = d.standby_w = 50.0;
  const OneYear year(room_with(d, OffWhen::closed));
  // Open for 3,000 hours a year, whoever is there.
  EXPECT_NEAR(year.runs[0].proposed_wh, 50.0 * 3000.0, 1e-6);
  EXPECT_NEAR(year.runs[0].found_wh, 50.0 * 8760.0, 1e-6);
}

// PLG-3
TEST(PlugYears, WithoutASensorControlledReceptaclesStayOn) {
  domain::Project project = room_with(device("screen", SwitchedBy::controlled_receptacle));
  project.designs[1].occupancy_sensors.clear();
  const OneYear year(project);
  EXPECT_EQ(year.runs[0].found_wh, year.runs[0].proposed_wh);
}

// PLG-4
TEST(PlugYears, AnOutletWithItsOwnSensorFollowsItsSeat) {
  domain::PlugDevice d = device("screen", SwitchedBy::plug_in_outlet);
  d.on_w = d.idle_w = d.standby_w = 100.0;
  d.at_seats = true;
  d.count = 2;
  d.switch_w = 0.5;
  domain::Project project = room_with(d);
  project.spaces[0].occupancy.people = 2;
  project.spaces[0].plug_loads.off_after_s = 0.0;
  const OneYear year(project);
  Replicate replicate(year.bench.model, year.bench.daylight, Draws{});
  double seats_h = 0.0;
  for (const IntervalSet& person : replicate.presence().people)
    seats_h += static_cast<double>(person.measure()) / kSecondsPerHour;
  ASSERT_EQ(replicate.presence().people.size(), 2u);
  EXPECT_NEAR(year.runs[0].proposed_wh, 100.0 * seats_h + 2.0 * 0.5 * 8760.0, 1e-6);
  EXPECT_EQ(year.runs[0].cut_with_people_h, 0.0);
}

TEST(PlugYears, WhatIsNotListedIsADeviceAsWell) {
  domain::Project project = room_with(device("screen", SwitchedBy::nothing), OffWhen::closed);
  project.spaces[0].plug_loads.devices.clear();
  project.spaces[0].plug_loads.installed_w = 200.0;
  project.spaces[0].plug_loads.controlled_fraction = 0.25;
  const OneYear year(project);
  ASSERT_EQ(year.runs.size(), 2u);
  const auto drawn = [&](double watts) {
    return watts * (year.present_h + domain::kUnlistedWithNobody * (8760.0 - year.present_h));
  };
  EXPECT_NEAR(year.runs[0].found_wh, drawn(150.0), 1e-6);
  EXPECT_NEAR(year.runs[1].found_wh, drawn(50.0), 1e-6);
  EXPECT_LT(year.runs[1].proposed_wh, 50.0 * 3000.0 + 1.0);
}

TEST(PlugYears, TheStudyKeepsPlugsApartAndGivesAnInterval) {
  const domain::Project project = room_with(device("screen", SwitchedBy::controlled_receptacle));
  SpaceRuns runs;
  const Bench bench(project);
  for (std::uint32_t r = 0; r < 8; ++r) {
    Draws draws;
    draws.replicate = r;
    draws.plug_watts = 0.9 + 0.025 * r;
    runs.runs.push_back(run_replicate(bench.model, bench.daylight, draws, false));
  }
  const Estimates estimates(8, 2);
  const results::PlugLoadsYear year = plug_loads_year(bench.model, runs, estimates);
  ASSERT_EQ(year.devices.size(), 1u);
  EXPECT_EQ(year.devices[0].switched_by, "controlled receptacle");
  EXPECT_NEAR(year.saved_kwh.mean, year.found_kwh.mean - year.proposed_kwh.mean, 1e-9);
  EXPECT_NEAR(year.saving.mean, year.saved_kwh.mean / year.found_kwh.mean, 1e-12);
  EXPECT_LT(year.found_kwh.low, year.found_kwh.high);
  const results::PlugLoadsYear building = plug_loads_of_building({bench.model}, {runs}, estimates);
  EXPECT_EQ(building.devices[0].kind, "screen");
  EXPECT_DOUBLE_EQ(building.saved_kwh.mean, year.saved_kwh.mean);
}

}  // namespace
}  // namespace halflight::sim
