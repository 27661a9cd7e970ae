#include "sim/task_lamps.hpp"

#include "controls/group_timeline_test.hpp"
#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// The room of ten luminaires with two desks, and in the proposal a lamp of 7 W on each.
domain::Project room_with_lamps(std::optional<double> sensor_delay_s) {
  domain::Project project = ten_luminaires();
  project.spaces[0].occupancy.people = 2;
  domain::LuminaireType lamp = luminaire_type("lamp", 7.0, "new");
  lamp.mounting = domain::LuminaireType::Mounting::plug_in;
  project.luminaire_types.push_back(lamp);
  domain::Design& proposal = project.designs[1];
  domain::LoadController plug;
  plug.id = "PC";
  plug.space = "room";
  plug.mounting = domain::LoadController::Mounting::plug_in;
  plug.sensor_delay_s = sensor_delay_s;
  for (const double x : {3.0, 7.0}) {
    domain::Luminaire luminaire;
    luminaire.id = x < 5.0 ? "west" : "east";
    luminaire.type = "lamp";
    luminaire.space = "room";
    luminaire.at = {x, 3.0, 1.15};
    proposal.luminaires.push_back(luminaire);
    plug.luminaires.push_back(luminaire.id);
  }
  proposal.load_controllers.push_back(plug);
  return project;
}

const ControlCell& lamp_of(const Bench& bench, const std::string& id) {
  for (const ControlCell& cell : bench.lit[0].cells)
    if (cell.lamp == id) return cell;
  ADD_FAILURE() << "no lamp " << id;
  return bench.lit[0].cells.front();
}

IntervalSet lit(const controls::Timeline& timeline) {
  std::vector<Interval> on;
  for (const controls::Segment& s : timeline.segments)
    if (s.setting.kind != controls::Setting::Kind::off) on.push_back({s.begin, s.end});
  return IntervalSet(std::move(on));
}

// LMP-1, LMP-2: closed form. On while its own person is there and for the delay of its own sensor.
TEST(TaskLamps, FollowThePersonAtTheirSeat) {
  const Bench bench(room_with_lamps(600.0));
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const Way way = way_of_proposal(bench.model);
  const std::vector<IntervalSet>& people = replicate.presence().people;
  ASSERT_EQ(people.size(), 2U);
  const IntervalSet west = lit(replicate.timeline(way, lamp_of(bench, "west")));
  const IntervalSet east = lit(replicate.timeline(way, lamp_of(bench, "east")));
  EXPECT_NE(west, east);
  // Seats run from the west: person 0 has the western one.
  EXPECT_EQ(west, people[0].extended(600, kYear));
  EXPECT_EQ(east, people[1].extended(600, kYear));
  const ControlCell& lamp = lamp_of(bench, "west");
  const auto number = static_cast<std::size_t>(&lamp - bench.lit[0].cells.data());
  EXPECT_NEAR(energy::on_w(replicate.curves(number), 1.0), 7.0, 1e-9);
}

// LMP-3
TEST(TaskLamps, WithoutASensorAreLeftOnByHabit) {
  const Bench bench(room_with_lamps(std::nullopt));
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const IntervalSet& person = replicate.presence().people[0];
  const IntervalSet on = lit(replicate.timeline(way_of_proposal(bench.model), lamp_of(bench, "west")));
  EXPECT_TRUE(subtracted(person, on).empty()) << "lit while its person is there";
  EXPECT_GT(subtracted(on, person).measure(), 100 * kHour) << "and left on through short absences";
}

// LMP-2: the sensor is part of the occupancy strategy, and of no case before it.
TEST(TaskLamps, TheirSensorCountsAsOccupancyControl) {
  const Bench bench(room_with_lamps(600.0));
  const ReplicateRun with = run_replicate(bench.model, bench.daylight, Draws{}, false);
  const Bench without(room_with_lamps(std::nullopt));
  const ReplicateRun none = run_replicate(without.model, without.daylight, Draws{}, false);
  EXPECT_EQ(with.cases[1].light_wh, none.cases[1].light_wh);
  EXPECT_EQ(none.cases[3].light_wh, none.coalition_wh[0]);
  EXPECT_LT(with.cases[3].light_wh, with.coalition_wh[0]);
}

// LMP-4
TEST(TaskLamps, LightTheirTaskAndNoWayOut) {
  domain::Project project = room_with_lamps(600.0);
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{1, 3}, {9, 3}}}};
  const Bench with(project);
  for (int i = 0; i < 2; ++i) project.designs[1].luminaires.pop_back();
  project.designs[1].load_controllers.clear();
  const Bench without(project);
  EXPECT_GT(electric_light(with.model)[0].task_areas[0].mean_lx,
            electric_light(without.model)[0].task_areas[0].mean_lx);
  const auto lamps = egress_light(with.model, with.rules, false);
  const auto none = egress_light(without.model, without.rules, false);
  ASSERT_EQ(lamps.size(), none.size());
  for (std::size_t i = 0; i < lamps.size(); ++i) EXPECT_EQ(lamps[i].min_lx, none[i].min_lx) << lamps[i].state;
}

TEST(TaskLamps, OnAWiredControllerAreAFinding) {
  domain::Project project = room_with_lamps(std::nullopt);
  EXPECT_FALSE(plugged_in_finding(Bench(project).model));
  project.designs[1].load_controllers[0].mounting = domain::LoadController::Mounting::panel;
  const auto finding = plugged_in_finding(Bench(project).model);
  ASSERT_TRUE(finding);
  EXPECT_NE(finding->evidence.find("west plugs in and is driven by PC"), std::string::npos)
      << finding->evidence;
}

/// The mean level at which a lamp is lit.
double mean_level(const domain::Project& project, const std::string& id) {
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const Way way = way_of_proposal(bench.model);
  const ControlCell& lamp = lamp_of(bench, id);
  double level_s = 0.0;
  double lit_s = 0.0;
  for (const controls::LevelSegment& s :
       controls::levels_of(replicate.timeline(way, lamp), replicate.levels(way, lamp))) {
    if (s.level <= 0.0) continue;
    level_s += s.level * static_cast<double>(s.end - s.begin);
    lit_s += static_cast<double>(s.end - s.begin);
    // Tenths.
    EXPECT_NEAR(10.0 * s.level, std::round(10.0 * s.level), 1e-9);
  }
  return level_s / lit_s;
}

// LMP-5
TEST(TaskLamps, OnAPlugInDimmerGiveWhatTheRoomLeavesWanting) {
  domain::Project full = room_with_lamps(600.0);
  full.drivers[1].dims = true;
  // About as much light without the lamp as people prefer, so that its level matters.
  full.designs[1].sequences[0].trim.emplace().high = 0.8;
  domain::Project dims = full;
  dims.designs[1].load_controllers.back().action = domain::LoadController::Action::phase_dim;
  full.designs[1].load_controllers.back().action = domain::LoadController::Action::on_off;
  EXPECT_EQ(mean_level(full, "west"), 1.0) << "a relay, and a trim that has no reach";
  domain::Project brighter = dims;
  brighter.designs[1].sequences[0].trim->high = 1.0;
  const double level = mean_level(dims, "west");
  EXPECT_LT(level, 1.0);
  EXPECT_LE(mean_level(brighter, "west"), level);
  domain::Project fixed = dims;
  fixed.drivers[1].dims = false;
  EXPECT_EQ(mean_level(fixed, "west"), 1.0) << "its driver does not dim";
}

}  // namespace
}  // namespace halflight::sim
