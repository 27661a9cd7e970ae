#include "sim/hvac_zones.hpp"

#include "sim/lit_room_fixture_test.hpp"
#include "sim/space_results.hpp"

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

domain::HvacHandOff hand_off(double delay_s, double occupied_after_s) {
  domain::HvacHandOff h;
  h.space = "room";
  h.interface = "air";
  h.delay_s = delay_s;
  h.occupied_after_s = occupied_after_s;
  return h;
}

// AIR-1
TEST(HvacContact, StandsForItsOwnDelayAfterTheLastMotion) {
  const IntervalSet noticed({{1000, 1060}, {1200, 1300}, {5000, 5001}});
  EXPECT_EQ(contact_of(hand_off(300, 0), noticed), IntervalSet({{1000, 1600}, {5000, 5301}}));
}

// AIR-1
TEST(HvacContact, WaitsForMotionThatGoesOn) {
  // Two stays with a gap that the delay bridges go on for 300 s; one second is no stay.
  const IntervalSet noticed({{1000, 1060}, {1200, 1300}, {5000, 5001}});
  EXPECT_EQ(contact_of(hand_off(300, 120), noticed), IntervalSet({{1120, 1600}}));
  EXPECT_EQ(contact_of(hand_off(300, 301), noticed), IntervalSet());
}

TEST(HvacContact, EndsWithTheYear) {
  EXPECT_EQ(contact_of(hand_off(300, 0), IntervalSet({{kYear - 10, kYear}})),
            IntervalSet({{kYear - 10, kYear}}));
}

domain::Project told_room() {
  domain::Project project = ten_luminaires();
  add_occupancy_sensor(project.designs[1], {5, 3, 2.7}, 900.0);
  project.hvac_zones.push_back({"zone", "Zone", true, ""});
  project.spaces[0].hvac_zone = "zone";
  project.designs[1].hvac_hand_offs = {hand_off(300, 0)};
  return project;
}

struct Zones {
  explicit Zones(const domain::Project& project) : bench(project) {
    SpaceRuns runs;
    for (std::uint32_t r = 0; r < 4; ++r) {
      Draws draws;
      draws.replicate = r;
      runs.runs.push_back(run_replicate(bench.model, bench.daylight, draws, false));
    }
    years = hvac_zone_years(bench.project, {{&bench.model, 1}, {&runs, 1}});
  }
  Bench bench;
  std::vector<results::HvacZoneYear> years;
};

// AIR-3
TEST(HvacZones, HoursOfTheContactAndOfTheScheduleAddUp) {
  const Zones zones(told_room());
  ASSERT_EQ(zones.years.size(), 1u);
  const results::HvacZoneYear& year = zones.years[0];
  EXPECT_EQ(year.scheduled_h, 3000.0);
  EXPECT_TRUE(year.not_heard.empty());
  EXPECT_TRUE(year.standby_allowed);
  // occupied = scheduled - set back + outside the hours, in every year.
  EXPECT_NEAR(year.occupied_h.mean, 3000.0 - year.set_back_h.mean + year.out_of_hours_h.mean, 1e-9);
  // One desk is left for lunch, breaks and absences.
  EXPECT_GT(year.set_back_h.mean, 200.0);
  EXPECT_LT(year.set_back_h.mean, 2500.0);
  EXPECT_LE(year.set_back_h.low, year.set_back_h.high);
}

TEST(HvacZones, ALongerDelaySetsBackLess) {
  domain::Project project = told_room();
  const double short_delay = Zones(project).years[0].set_back_h.mean;
  project.designs[1].hvac_hand_offs[0].delay_s = 1800.0;
  EXPECT_LT(Zones(project).years[0].set_back_h.mean, short_delay);
}

// AIR-2
TEST(HvacZones, AnyRoomThatIsOccupiedHoldsTheZone) {
  // A second room of which nothing is told counts as occupied while its calendar is open.
  domain::Project project = told_room();
  project.spaces.push_back(project.spaces[0]);
  project.spaces[1].id = "silent";
  const Zones zones(project);
  ASSERT_EQ(zones.years.size(), 1u);
  EXPECT_EQ(zones.years[0].not_heard, std::vector<std::string>{"silent"});
  EXPECT_EQ(zones.years[0].set_back_h.mean, 0.0);
  EXPECT_GE(zones.years[0].occupied_h.mean, 3000.0);
}

TEST(HvacZones, AZoneMayHaveHoursOfItsOwn) {
  domain::Project project = told_room();
  domain::Calendar air = project.calendars[0];
  air.id = "air";
  air.hours[0].open_s = 6 * kHour;
  project.calendars.push_back(air);
  project.hvac_zones[0].calendar = "air";
  const Zones zones(project);
  EXPECT_EQ(zones.years[0].scheduled_h, 3600.0);
  EXPECT_GT(zones.years[0].set_back_h.mean, Zones(told_room()).years[0].set_back_h.mean + 500.0);
}

TEST(HvacZones, NothingIsSaidOfAZoneThatNothingTellsOf) {
  domain::Project project = told_room();
  project.designs[1].occupancy_sensors.clear();
  EXPECT_TRUE(Zones(project).years.empty());
}

}  // namespace
}  // namespace halflight::sim
