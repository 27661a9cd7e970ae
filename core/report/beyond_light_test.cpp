#include "report/beyond_light.hpp"

#include <string>

#include <gtest/gtest.h>

namespace halflight::report {
namespace {

bool holds(const Markup& page, const std::string& what) { return page.str().find(what) != std::string::npos; }

results::Estimate around(double mean) { return {mean, 0.9 * mean, 1.1 * mean, 0.01 * mean}; }

results::PlugLoadsYear loads(const std::string& switched_by, const std::string& must_stay_on) {
  results::PlugLoadsYear year;
  year.devices = {
      {"screen", 8, switched_by, must_stay_on, around(900.0), around(500.0), around(400.0), around(12.0)}};
  year.found_kwh = around(900.0);
  year.proposed_kwh = around(500.0);
  year.saved_kwh = around(400.0);
  year.saving = around(0.44);
  return year;
}

TEST(BeyondLight, PlugsOfARoomSayWhatTakesTheirPower) {
  Markup page;
  write_plug_loads(page, loads("nothing", "network equipment"));
  EXPECT_TRUE(holds(page, "no part of its saving"));
  EXPECT_TRUE(holds(page, "nothing (network equipment)"));
  EXPECT_TRUE(holds(page, "360 to 440"));
}

TEST(BeyondLight, PlugsOfTheBuildingHaveNoSuchColumn) {
  Markup page;
  write_plug_loads(page, loads("", ""));
  EXPECT_FALSE(holds(page, "its power is taken by"));
  EXPECT_TRUE(holds(page, "screen"));
}

TEST(BeyondLight, WhatNothingSwitchesSavesABlank) {
  results::PlugLoadsYear still = loads("nothing", "");
  still.devices[0].saved_kwh = still.devices[0].cut_with_people_h = still.saved_kwh = still.saving = {};
  Markup page;
  write_plug_loads(page, still);
  EXPECT_FALSE(holds(page, "0 to 0"));
  EXPECT_TRUE(holds(page, "900 kWh") || holds(page, "900\u00A0kWh"));
}

TEST(BeyondLight, NothingIsWrittenOfNothing) {
  Markup page;
  write_plug_loads(page, {});
  write_load_shed(page, results::SpaceStudy{}, nullptr);
  write_load_shed(page, results::BuildingTotals{});
  write_shed_signal(page, results::SpaceStudy{}, nullptr);
  write_shed_signals(page, results::BuildingTotals{}, domain::Project{});
  write_divided_room(page, results::SpaceStudy{});
  write_hvac_zones(page, results::Study{}, domain::Project{});
  EXPECT_EQ(page.str(), "");
}

TEST(BeyondLight, EventsSayWhatTheyTakeAndWhatTheyLeave) {
  results::SpaceStudy space;
  results::LoadShed& shed = space.load_shed.emplace();
  shed.cap = 0.8;
  shed.before_w = around(300.0);
  shed.shed_w = around(60.0);
  shed.least_shed_w = around(20.0);
  shed.tasks = {{"desk", 500.0, around(410.0), around(390.0)}};
  domain::Space drawn;
  drawn.task_areas.resize(1);
  drawn.task_areas[0].id = "desk";
  drawn.task_areas[0].name = "Desk by the window";
  Markup page;
  write_load_shed(page, space, &drawn);
  EXPECT_TRUE(holds(page, "capped at 80"));
  EXPECT_TRUE(holds(page, "54 to 66"));
  EXPECT_TRUE(holds(page, "light left on Desk by the window, target 500"));
  results::BuildingTotals totals;
  totals.load_shed.emplace().events = {"12 Jan 17:00", "3 Jul 15:00"};
  write_load_shed(page, totals);
  EXPECT_TRUE(holds(page, "2 events a year, in the first weather year on 12 Jan 17:00, 3 Jul 15:00"));
}

TEST(BeyondLight, ASignalSaysWhatItTakesAndWhatItLeaves) {
  domain::Project project;
  project.spaces.resize(1);
  project.spaces[0].id = "hall";
  project.spaces[0].number = "102";
  results::SpaceStudy space;
  space.shed_signal = results::ShedSignal{
      "GEN", 0.3, {}, 300.0, 135.0, {{"desk", 500.0, 240.0}}, {{"way-1", "load shed", 9.0, 10.8, false}}};
  Markup page;
  write_shed_signal(page, space, nullptr);
  EXPECT_TRUE(holds(page, "Load shed by GEN"));
  EXPECT_TRUE(holds(page, "left on path way-1, at least"));
  EXPECT_TRUE(holds(page, "too little"));
  results::BuildingTotals totals;
  totals.shed_signals = {{"GEN", {"hall"}, 300.0, 135.0}};
  write_shed_signals(page, totals, project);
  EXPECT_TRUE(holds(page, "Load shed at once"));
  EXPECT_TRUE(holds(page, "102"));
  EXPECT_TRUE(holds(page, "135"));
}

TEST(BeyondLight, AWallSaysHowLongItDivides) {
  results::SpaceStudy space;
  space.divided = results::DividedRoom{"folding-wall", around(240.0), false};
  Markup page;
  write_divided_room(page, space);
  EXPECT_TRUE(holds(page, "Divided by folding-wall"));
  EXPECT_TRUE(holds(page, "nothing tells the controls"));
  EXPECT_TRUE(holds(page, "216 to 264"));
  space.divided->controls_know = true;
  write_divided_room(page, space);
  EXPECT_TRUE(holds(page, "together while it does not"));
}

TEST(BeyondLight, ZonesNameTheRoomsThatAreNotHeard) {
  domain::Project project;
  project.spaces.resize(2);
  project.spaces[0].id = "a";
  project.spaces[0].number = "101";
  project.spaces[1].id = "b";
  project.spaces[1].number = "108";
  results::Study study;
  study.hvac_zones = {
      {"zone", "First floor", {"a", "b"}, {"b"}, false, 2800.0, around(2400.0), around(400.0), around(30.0)}};
  Markup page;
  write_hvac_zones(page, study, project);
  EXPECT_TRUE(holds(page, "First floor"));
  EXPECT_TRUE(holds(page, "101, 108"));
  EXPECT_TRUE(holds(page, "nothing is claimed about its energy"));
  EXPECT_TRUE(holds(page, "360 to 440"));
}

}  // namespace
}  // namespace halflight::report
