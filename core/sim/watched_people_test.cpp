#include "sim/watched_people.hpp"

#include "published.hpp"
#include "sim/explain.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/replicate.hpp"

#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// One person at one seat in the middle of a room of 10 m x 6 m, lit by movement, with a sensor at a place.
domain::Project watched_room(Point3 at, double delay_s) {
  domain::Project project = ten_luminaires();
  add_occupancy_sensor(project.designs[1], at, delay_s);
  domain::Sequence& sequence = project.designs[1].sequences[0];
  sequence.schedule.reset();
  sequence.vacancy->warning_s = 0.0;
  return project;
}

/// Somebody who never leaves.
void stay_for_ever(domain::Project& project) {
  project.calendars[0].hours = {{{0, 1, 2, 3, 4, 5, 6}, 0, 24 * kHour}};
  project.calendars[0].holidays.clear();
  project.spaces[0].occupancy.absence_min = 0.0;
}

CaseRun year_of_proposal(const Bench& bench, std::uint32_t replicate = 0) {
  Draws draws;
  draws.replicate = replicate;
  return run_replicate(bench.model, bench.daylight, draws, false).cases[3];
}

TEST(WatchedPeople, LoseTheLightAsOftenAsTheClosedFormSays) {
  domain::Project project = watched_room({5, 3, 2.7}, 900.0);
  stay_for_ever(project);
  const Bench bench(project);
  const auto seats = seat_notices(bench.model.watched, bench.model.proposal.sequence, project.designs[1], 1);
  ASSERT_EQ(seats.size(), 1U);
  EXPECT_PUBLISHED("Markov-modulated Poisson process", "a seat in the middle of the field, 15 min", "/h",
                   0.040, seats[0].taken_per_h, 0.0015);
  constexpr std::uint32_t kReplicates = 3;
  double taken = 0.0;
  for (std::uint32_t r = 0; r < kReplicates; ++r) taken += year_of_proposal(bench, r).taken_from_people;
  const double expected = kReplicates * 8760.0 * seats[0].taken_per_h;
  // Four deviations of a Poisson number, and 1 % for those who stay still through a second delay; long
  // absences of the one person begin no gap.
  const double present = presence_in(bench.model, Draws{}).any.measure() / static_cast<double>(kYear);
  EXPECT_GT(present, 0.8);
  EXPECT_NEAR(taken, present * expected, 4.0 * std::sqrt(expected) + 0.01 * expected);
}

TEST(WatchedPeople, ALongerDelayTakesLightLessOftenAndLightsMoreForNobody) {
  double taken_before = 1e9;
  double for_nobody_before = 0.0;
  for (const double delay_s : {300.0, 600.0, 1200.0}) {
    const Bench bench(watched_room({5, 3, 2.7}, delay_s));
    const CaseRun year = year_of_proposal(bench);
    EXPECT_LT(year.taken_from_people, taken_before);
    EXPECT_GT(year.lit_for_nobody_h, for_nobody_before);
    taken_before = year.taken_from_people;
    for_nobody_before = year.lit_for_nobody_h;
  }
}

TEST(WatchedPeople, ASeatOutOfReachIsFoundWithItsPlace) {
  domain::Project project = watched_room({0.3, 0.3, 2.7}, 900.0);
  project.designs[1].occupancy_sensors[0].major_radius_m = 2.0;
  project.designs[1].occupancy_sensors[0].minor_radius_m = 1.0;
  const Bench bench(project);
  const auto seats = seat_notices(bench.model.watched, bench.model.proposal.sequence, project.designs[1], 1);
  const auto finding = seats_finding(seats, bench.model.watched, 1);
  ASSERT_TRUE(finding);
  EXPECT_NE(finding->evidence.find("no sensor notices the seat at x 5.0 m, y 3.0 m"), std::string::npos)
      << finding->evidence;
  EXPECT_EQ(finding->verdict, results::Finding::Verdict::fail);
}

TEST(WatchedPeople, TheFindingNamesTheDelayThatIsEnough) {
  const domain::Project project = watched_room({5, 3, 2.7}, 600.0);
  const Bench bench(project);
  const auto finding =
      seats_finding(seat_notices(bench.model.watched, bench.model.proposal.sequence, project.designs[1], 1),
                    bench.model.watched, 1);
  ASSERT_TRUE(finding);
  // 10 min: 0.22 an hour; 15 min: 0.040, the first whole minute below 0.05 is 15.
  EXPECT_NE(finding->fix.find("15 min"), std::string::npos) << finding->fix;
}

TEST(WatchedPeople, ACodeMinimumNoticesEverybody) {
  domain::Project project = watched_room({0.3, 0.3, 2.7}, 900.0);
  project.designs[1].occupancy_sensors[0].major_radius_m = 1.0;
  project.designs[1].occupancy_sensors[0].minor_radius_m = 0.5;
  CaseControl code;
  code.sequence = project.designs[1].sequences[0];
  const Bench bench(project, code);
  const ReplicateRun run = run_replicate(bench.model, bench.daylight, Draws{}, false);
  EXPECT_EQ(run.cases[2].taken_from_people, 0.0);
  // The proposal's people have to wave; nobody else is noticed.
  EXPECT_GT(run.cases[3].taken_from_people, 1000.0);
  EXPECT_LT(run.cases[3].lit_h, 8760.0);
}

TEST(WatchedPeople, WhoLosesTheLightOftenTakesTheSensorOutOfWork) {
  domain::Project blind = watched_room({0.3, 0.3, 2.7}, 900.0);
  blind.designs[1].occupancy_sensors[0].major_radius_m = 1.0;
  blind.designs[1].occupancy_sensors[0].minor_radius_m = 0.5;
  const Bench bench(blind);
  for (std::uint32_t r = 0; r < 20; ++r) {
    Draws draws;
    draws.replicate = r;
    const ReplicateRun run = run_replicate(bench.model, bench.daylight, draws, false);
    // Some 9,000 losses a year: the chance that a sensor is still at work is 0.999^9000 = 1e-4.
    EXPECT_GT(run.cases[3].taken_from_people, 5000.0);
    EXPECT_EQ(run.as_usually_found.taken_from_people, 0.0);
  }
}

TEST(WatchedPeople, AMinuteSaysWhatTheSensorsNoticed) {
  const Bench bench(watched_room({5, 3, 2.7}, 900.0));
  Replicate replicate(bench.model, bench.daylight, Draws{}, Replicate::Causes::tell);
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  // In the middle of the first long gap of the year with somebody there, if there is one, else at night.
  const results::Moment night = explain_moment(work, 100 * kDay + 2 * kHour);
  bool told = false;
  for (const std::string& sentence : night.sentences) told |= sentence.starts_with("M-1 noticed nobody");
  EXPECT_TRUE(told);
}

TEST(WatchedPeople, SensorsOfAnotherDesignWatchEveryGroup) {
  domain::Project project = watched_room({5, 3, 2.7}, 900.0);
  const WatchedSpace watched = watched_space(project, project.spaces[0]);
  EXPECT_EQ(watched.watch_of(0, ""), nullptr);
  ASSERT_NE(watched.watch_of(1, "all"), nullptr);
  EXPECT_EQ(watched.watch_of(1, "all"), watched.watch_of(1, ""));
  EXPECT_EQ(watched.watch_of(1, "another"), nullptr);
}

}  // namespace
}  // namespace halflight::sim
