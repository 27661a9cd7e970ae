#include "sim/explain.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/watched_people.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// The room as a corridor that nobody walks, and an office beside it with one desk; a sensor in both.
domain::Project corridor_and_office() {
  domain::Project project = ten_luminaires();
  add_occupancy_sensor(project.designs[1], {5, 3, 2.7}, 600.0);
  project.designs[1].sequences[0].schedule.reset();  // which would sweep who comes early or leaves late
  domain::Space office = project.spaces[0];
  office.id = "office";
  project.spaces[0].occupancy.pattern = domain::Occupancy::Pattern::circulation;
  project.spaces[0].occupancy.arrivals_per_h = 0.0;
  project.spaces[0].occupancy.dwell_min = 0.4;
  project.spaces.push_back(office);
  domain::OccupancySensor sensor = project.designs[1].occupancy_sensors[0];
  sensor.id = "M2";
  sensor.space = "office";
  sensor.groups.clear();
  project.designs[1].occupancy_sensors.push_back(sensor);
  return project;
}

double light_wh(const domain::Project& project) {
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  return replicate.evaluate(way_of_proposal(bench.model)).light_wh;
}

// OCC-17
TEST(HeldLight, FollowsWhatIsNoticedNextDoor) {
  domain::Project project = corridor_and_office();
  const double alone = light_wh(project);
  project.designs[1].sequences[0].vacancy->held_by = {"office"};
  const double held = light_wh(project);
  const Bench bench(project);
  ASSERT_EQ(bench.model.holders.size(), 1u);
  const SpaceModel& office = *bench.model.holders[0];
  const Watch* watch = office.watched.watch_of(1, "");
  ASSERT_NE(watch, nullptr);
  const IntervalSet noticed =
      noticed_in(office.watched, *watch, "office", presence_in(office, Draws{}), cleaning_in(office, Draws{}),
                 office.seed, 0, sensing::grain_for(570.0));
  // 300 W while somebody is noticed next door and for ten minutes after; the little that is noticed in the
  // empty corridor itself comes on top at most.
  const double next_door_wh =
      300.0 * static_cast<double>(noticed.extended(600, kYear).measure()) / kSecondsPerHour;
  EXPECT_GT(next_door_wh, 300.0 * 1000.0);
  EXPECT_GE(held, next_door_wh - 1.0);
  EXPECT_LE(held, next_door_wh + alone + 1.0);
}

// OCC-17: a minute names the room that holds the light, now or last.
TEST(HeldLight, AMinuteNamesTheRoomThatHoldsIt) {
  domain::Project project = corridor_and_office();
  project.spaces[1].number = "1.03";
  project.spaces[1].name = "Office";
  project.designs[1].sequences[0].vacancy->held_by = {"office"};
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{}, Replicate::Causes::tell);
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  ASSERT_NE(work.notice(0).held_by, nullptr);
  const IntervalSet& office = work.notice(0).held_by->front().when;
  const IntervalSet& here = *work.notice(0).here;
  const auto says = [&](Seconds t, const std::string& words) {
    const std::vector<std::string> sentences = explain_moment(work, t).sentences;
    return std::any_of(sentences.begin(), sentences.end(),
                       [&](const std::string& sentence) { return sentence.starts_with(words); });
  };
  // The longest stretch of the year in which somebody is noticed next door and nobody here.
  const IntervalSet only_next_door = subtracted(office, here);
  Interval longest;
  for (const Interval& i : only_next_door.intervals())
    if (i.end - i.begin > longest.end - longest.begin) longest = i;
  ASSERT_GT(longest.end - longest.begin, 300);
  EXPECT_TRUE(says(longest.end - 1, "1.03 Office holds the light here"));
  EXPECT_FALSE(says(longest.end - 1, "M-1 notices somebody"));
  // A minute after somebody was noticed next door and before anybody is noticed again.
  const IntervalSet any = united(office, here);
  const auto left = std::find_if(any.intervals().begin(), any.intervals().end(), [&](const Interval& i) {
    return office.contains(i.end - 1) && !here.contains(i.end - 1) && !any.contains(i.end + 60);
  });
  ASSERT_NE(left, any.intervals().end());
  EXPECT_TRUE(
      says(left->end + 60, "1.03 Office held the light here last: nobody has been noticed there since"));
  EXPECT_FALSE(says(0, "1.03 Office"));
}

// OCC-17
TEST(HeldLight, ASpaceWithoutSensorsHoldsNothing) {
  domain::Project project = corridor_and_office();
  project.designs[1].occupancy_sensors.pop_back();
  const double alone = light_wh(project);
  project.designs[1].sequences[0].vacancy->held_by = {"office"};
  EXPECT_EQ(light_wh(project), alone);
}

}  // namespace
}  // namespace halflight::sim
