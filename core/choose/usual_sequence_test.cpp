#include "choose/usual_sequence.hpp"

#include "choose/proposal_room_test.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using By = domain::OnRule::By;

class UsualRules : public testing::Test {
 protected:
  domain::Sequence usual(bool has_sensors = true) {
    domain::Sequence sequence;
    sequence.space = "room";
    notes_.clear();
    apply_usual_rules(project_, project_.spaces[0], kind_, has_sensors, sequence, notes_);
    return sequence;
  }
  domain::Project project_ = bare_office();
  domain::SpaceKind kind_ = device_library().kinds[0];
  std::vector<std::string> notes_;
};

TEST_F(UsualRules, FollowTheKind) {
  kind_.start.on = {By::occupancy, 0.5, 2.0};
  kind_.start.vacancy->delay_s = 600.0;
  kind_.start.after_close_s = 1800.0;
  const domain::Sequence sequence = usual();
  EXPECT_EQ(sequence.on, kind_.start.on);
  EXPECT_EQ(sequence.vacancy, kind_.start.vacancy);
  ASSERT_TRUE(sequence.schedule);
  EXPECT_EQ(sequence.schedule->calendar, "open");
  EXPECT_EQ(sequence.schedule->after_close_s, 1800.0);
  EXPECT_TRUE(sequence.schedule->sweeps_off);
  EXPECT_TRUE(notes_.empty());
}

TEST_F(UsualRules, WithoutSensorsNothingFollowsPeople) {
  kind_.start.on.by = By::occupancy;
  const domain::Sequence sequence = usual(false);
  EXPECT_EQ(sequence.on.by, By::hand);
  EXPECT_FALSE(sequence.vacancy);
  EXPECT_TRUE(sequence.schedule);
}

TEST_F(UsualRules, OwnerAndSafetyComeFirst) {
  kind_.start.on.by = By::occupancy;
  project_.requirements.automatic_on_allowed = false;
  EXPECT_EQ(usual().on.by, By::hand);
  EXPECT_EQ(notes_.size(), 1U);
  project_.spaces[0].automatic_off_refused = true;
  const domain::Sequence safe = usual();
  EXPECT_FALSE(safe.vacancy);
  EXPECT_FALSE(safe.schedule);
}

TEST_F(UsualRules, AClockNeedsHoursAndKeepsThoseThatAreDecided) {
  kind_.start.on.by = By::schedule;
  kind_.start.before_open_s = 900.0;
  EXPECT_EQ(usual().schedule->before_open_s, 900.0);
  domain::Sequence decided;
  decided.schedule.emplace().after_close_s = 77.0;
  apply_usual_rules(project_, project_.spaces[0], kind_, true, decided, notes_);
  EXPECT_EQ(decided.schedule->after_close_s, 77.0);
  project_.calendars.clear();
  EXPECT_EQ(usual().on.by, By::hand);
  EXPECT_FALSE(usual().schedule);
  EXPECT_EQ(notes_.size(), 1U);
}

/// One ceiling sensor in a corner of the office whose reach for a seated person is `minor_m`.
RoomControls with_one_sensor(double minor_m) {
  RoomControls controls;
  controls.sequence.space = "room";
  controls.sequence.vacancy.emplace().delay_s = 900.0;
  controls.groups = {{"all", "room", domain::Strategy::occupancy, "", {}}};
  for (int i = 0; i < 8; ++i) controls.groups[0].channels.push_back("proposal" + std::to_string(i));
  domain::OccupancySensor sensor;
  sensor.id = "O";
  sensor.space = "room";
  sensor.at = {4, 3, 2.7};
  sensor.major_radius_m = 8.0;
  sensor.minor_radius_m = minor_m;
  sensor.groups = {"all"};
  controls.occupancy_sensors = {sensor};
  return controls;
}

TEST(LengthenDelay, WaitsLongerForWhoIsSeenSeldomAndNoLongerThanCodesLet) {
  const domain::Project project = bare_office();
  const auto lengthened = [&](double minor_m, std::size_t* notes) {
    RoomControls controls = with_one_sensor(minor_m);
    std::vector<std::string> words;
    const bool all_keep = lengthen_delay(project.spaces[0], project.designs[1].luminaires, controls, words);
    *notes = words.size();
    return std::pair(all_keep, controls.sequence.vacancy->delay_s);
  };
  std::size_t notes = 0;
  EXPECT_EQ(lengthened(8.0, &notes), std::pair(true, 900.0)) << "everybody is well in its field";
  EXPECT_EQ(notes, 0U);
  // ASHRAE 90.1 and IECC: 20 min at most.
  const auto [all_keep, delay_s] = lengthened(0.1, &notes);
  EXPECT_FALSE(all_keep);
  EXPECT_EQ(delay_s, 1200.0);
  EXPECT_EQ(notes, 1U);
  RoomControls no_rule = with_one_sensor(0.1);
  no_rule.sequence.vacancy.reset();
  std::vector<std::string> words;
  EXPECT_TRUE(lengthen_delay(project.spaces[0], project.designs[1].luminaires, no_rule, words));
}

}  // namespace
}  // namespace halflight::choose
