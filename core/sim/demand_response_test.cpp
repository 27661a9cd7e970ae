#include "sim/demand_response.hpp"

#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/space_results.hpp"

#include <map>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// A year of 10 degrees with some hot hours.
domain::WeatherYear weather_with(const std::vector<std::pair<int, double>>& hot_days) {
  domain::WeatherYear weather;
  weather.rows.resize(domain::kHoursPerYear);
  for (domain::WeatherRow& row : weather.rows) row.dry_bulb_c = 10.0;
  for (const auto& [day, degrees] : hot_days)
    for (int hour = 12; hour < 18; ++hour)
      weather.rows[static_cast<std::size_t>(24 * day + hour)].dry_bulb_c = degrees;
  return weather;
}

/// Ten dimming luminaires of 30 W that draw in proportion, open 8 to 18 by the clock.
domain::Project capped_room(double cap) {
  domain::Project project = ten_luminaires();
  project.spaces[0].occupancy.people = 12;  // somebody is always there
  for (domain::Driver& driver : project.drivers)
    if (driver.id == "new") {
      driver.dims = true;
      driver.minimum_light = 0.05;
      driver.power_at_zero = 0.0;
    }
  project.designs[1].sequences[0].demand_response = domain::DemandResponseRule{cap};
  project.demand_events.events.push_back({{7, 15}, 14 * kHour, 7200.0});
  return project;
}

std::vector<EventRun> runs_of(const domain::Project& project) {
  Bench bench(project);
  bench.model.demand_events = {demand_events_of(project, weather_with({}))};
  Replicate replicate(bench.model, bench.daylight, Draws{});
  return event_runs(replicate);
}

TEST(DemandEvents, ListedOnesStandWhereTheClockSays) {
  domain::Project project = capped_room(0.8);
  project.site.daylight_saving = DaylightSaving{{3, -1, 6, kHour}, {10, -1, 6, kHour}};
  const std::vector<Interval> events = demand_events_of(project, weather_with({}));
  const Seconds day = day_of_year({7, 15}) * kDay;
  EXPECT_EQ(events, (std::vector<Interval>{{day + 13 * kHour, day + 15 * kHour}})) << "clocks are ahead";
}

TEST(DemandEvents, OthersAreDrawnOnTheHottestWorkingDays) {
  domain::Project project = capped_room(0.8);
  project.demand_events.events.clear();
  project.demand_events.hottest_afternoons = 2;
  // 2026 begins on a Thursday: day 4 is a Monday; day 2, the hottest, a Saturday.
  const std::vector<Interval> events =
      demand_events_of(project, weather_with({{2, 39.0}, {11, 30.0}, {4, 35.0}, {5, 29.0}}));
  ASSERT_EQ(events.size(), 2u);
  EXPECT_EQ(events[0].begin, 4 * kDay + 14 * kHour);
  EXPECT_EQ(events[1].begin, 11 * kDay + 14 * kHour);
}

TEST(DemandEvents, ADayWithAListedEventIsNotCalledTwice) {
  domain::Project project = capped_room(0.8);
  project.demand_events.hottest_afternoons = 1;
  const std::vector<Interval> events =
      demand_events_of(project, weather_with({{day_of_year({7, 15}), 35.0}, {day_of_year({7, 16}), 30.0}}));
  ASSERT_EQ(events.size(), 2u);
  EXPECT_EQ(events[1].begin / kDay, day_of_year({7, 16}));
}

// ARB-5, ARB-9: closed form. All on at full, 300 W; a cap of 80 % sheds 60 W and leaves 80 % of the light.
TEST(DemandResponse, TheCapShedsItsShare) {
  const std::vector<EventRun> runs = runs_of(capped_room(0.8));
  ASSERT_EQ(runs.size(), 1u);
  EXPECT_NEAR(runs[0].before_w, 300.0, 1e-9);
  EXPECT_NEAR(runs[0].shed_w, 60.0, 1e-9);
  const std::vector<EventRun> full = runs_of(capped_room(1.0));
  ASSERT_EQ(full[0].task_lx.size(), 1u);
  EXPECT_GT(full[0].task_lx[0], 100.0);
  EXPECT_NEAR(runs[0].task_lx[0], 0.8 * full[0].task_lx[0], 1e-6 * full[0].task_lx[0]);
  EXPECT_EQ(full[0].shed_w, 0.0);
}

TEST(DemandResponse, IsAShareOfTrimmedOutput) {
  domain::Project project = capped_room(0.8);
  project.designs[1].sequences[0].trim.emplace();
  project.designs[1].sequences[0].trim->high = 0.5;
  const std::vector<EventRun> runs = runs_of(project);
  EXPECT_NEAR(runs[0].before_w, 150.0, 1e-9);
  EXPECT_NEAR(runs[0].shed_w, 30.0, 1e-9);
}

// ARB-6: the low-end trim is never undercut.
TEST(DemandResponse, LeavesTheLowEndTrim) {
  domain::Project project = capped_room(0.1);
  project.designs[1].sequences[0].trim.emplace();
  project.designs[1].sequences[0].trim->high = 1.0;
  project.designs[1].sequences[0].trim->low = 0.4;
  EXPECT_NEAR(runs_of(project)[0].shed_w, 0.6 * 300.0, 1e-9);
}

TEST(DemandResponse, WhatOnlySwitchesShedsNothing) {
  domain::Project project = capped_room(0.8);
  for (domain::Driver& driver : project.drivers) driver.dims = false;
  EXPECT_EQ(runs_of(project)[0].shed_w, 0.0);
}

// ARB-9: an event never raises what is off or lower already.
TEST(DemandResponse, DarkHoursShedNothing) {
  domain::Project project = capped_room(0.8);
  project.demand_events.events[0].at_s = 22 * kHour;
  const std::vector<EventRun> runs = runs_of(project);
  EXPECT_EQ(runs[0].before_w, 0.0);
  EXPECT_EQ(runs[0].shed_w, 0.0);
  EXPECT_EQ(runs[0].task_lx, std::vector<double>{-1.0}) << "nobody is there";
}

// ARB-9: the way out is judged in the state that the cap leaves.
TEST(DemandResponse, WaysOutAreJudgedUnderTheCap) {
  domain::Project project = capped_room(0.4);
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{2, 3}, {8, 3}}}};
  const Bench bench(project);
  std::map<std::string, double> least_lx;
  for (const results::EgressState& state : egress_light(bench.model, bench.rules, false))
    least_lx[state.state] = state.min_lx;
  ASSERT_TRUE(least_lx.contains("demand response"));
  EXPECT_GT(least_lx["normal scene"], 10.0);
  EXPECT_NEAR(least_lx["demand response"], 0.4 * least_lx["normal scene"], 1e-6 * least_lx["normal scene"]);
}

TEST(DemandResponse, ARoomWithoutARuleDrawsWhatItDraws) {
  domain::Project project = capped_room(0.8);
  project.designs[1].sequences[0].demand_response.reset();
  const std::vector<EventRun> runs = runs_of(project);
  ASSERT_EQ(runs.size(), 1u);
  EXPECT_NEAR(runs[0].before_w, 300.0, 1e-9);
  EXPECT_EQ(runs[0].shed_w, 0.0);
  SpaceRuns all;
  all.runs.resize(1);
  all.runs[0].events = runs;
  EXPECT_FALSE(load_shed(Bench(project).model, all, Estimates(1, 1)));
}

TEST(DemandResponse, NoEventsNoRuns) {
  domain::Project project = capped_room(0.8);
  project.demand_events.events.clear();
  EXPECT_TRUE(runs_of(project).empty());
}

TEST(DemandResponse, TheBuildingAddsItsRoomsEventByEvent) {
  domain::Project project = capped_room(0.8);
  project.demand_events.events.push_back({{7, 16}, 22 * kHour, 3600.0});
  Bench bench(project);
  bench.model.demand_events = {demand_events_of(project, weather_with({}))};
  SpaceRuns runs;
  for (std::uint32_t r = 0; r < 4; ++r) {
    Draws draws;
    draws.replicate = r;
    runs.runs.push_back(run_replicate(bench.model, bench.daylight, draws, false));
  }
  const Estimates estimates(4, 2);
  const auto building = load_shed_of_building({bench.model, bench.model}, {runs, runs}, estimates);
  ASSERT_TRUE(building);
  EXPECT_EQ(building->events, (std::vector<std::string>{"15 Jul 14:00", "16 Jul 22:00"}));
  // One event by day and one in the dark: half of 2 x 60 W on average, nothing at least.
  EXPECT_NEAR(building->shed_kw.mean, 0.06, 1e-9);
  EXPECT_NEAR(building->least_shed_kw.mean, 0.0, 1e-12);
  const auto room = load_shed(bench.model, runs, estimates);
  ASSERT_TRUE(room);
  EXPECT_EQ(room->cap, 0.8);
  EXPECT_NEAR(room->shed_w.mean, 30.0, 1e-9);
  // Nobody is there in the dark, and nothing is left to anybody.
  EXPECT_GT(room->tasks.at(0).least_lx.mean, 100.0);
  EXPECT_NEAR(room->tasks.at(0).least_lx.mean, room->tasks.at(0).left_lx.mean, 1e-9);
}

}  // namespace
}  // namespace halflight::sim
