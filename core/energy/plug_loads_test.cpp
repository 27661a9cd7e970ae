#include "energy/plug_loads.hpp"

#include "base/time_axis.hpp"

#include <vector>

#include <gtest/gtest.h>

namespace halflight::energy {
namespace {

/// Somebody there from 8 to 18 on each of the first 300 days: 3,000 hours.
IntervalSet ten_hours_on_300_days() {
  std::vector<Interval> days;
  for (Seconds day = 0; day < 300; ++day) days.push_back({day * kDay + 8 * kHour, day * kDay + 18 * kHour});
  return IntervalSet(std::move(days));
}

const IntervalSet kAlways({{0, kYear}});

domain::PlugDevice screen() {
  domain::PlugDevice device;
  device.kind = "screen";
  device.on_w = 30.0;
  device.idle_w = 20.0;
  device.standby_w = 2.0;
  device.sleeps_after_s = 1200.0;
  return device;
}

TEST(PlugLoads, ADeviceWithPowerSumsItsThreeStates) {
  // 3,000 h at 30 W; 300 times 20 min at 20 W; what is left of 8,760 h at 2 W, a quarter of it at 20 W.
  const double long_h = 8760.0 - 3000.0 - 100.0;
  const PlugDeviceUse use = use_of(screen(), ten_hours_on_300_days(), kAlways, {1.0, 0.25});
  EXPECT_NEAR(use.wh, 3000.0 * 30.0 + 100.0 * 20.0 + long_h * (0.25 * 20.0 + 0.75 * 2.0), 1e-6);
  EXPECT_EQ(use.cut_with_people_h, 0.0);
}

TEST(PlugLoads, PowerThatFollowsPeopleLeavesNothingOfTheNight) {
  const IntervalSet people = ten_hours_on_300_days();
  const PlugDeviceUse use = use_of(screen(), people, people.extended(1800, kYear), {1.0, 0.25});
  // Half an hour more a day: 20 minutes idle and ten asleep.
  EXPECT_NEAR(use.wh, 3000.0 * 30.0 + 100.0 * 20.0 + 50.0 * (0.25 * 20.0 + 0.75 * 2.0), 1e-6);
  EXPECT_EQ(use.cut_with_people_h, 0.0);
}

TEST(PlugLoads, ATimerSavesTheClosedShareOfWhatNeverSleeps) {
  // Closed form: a device that draws alike day and night saves as much as the hours are closed. Near half in
  // kitchens and printer rooms under timers (General Services Administration, Green Proving Ground, plug load
  // control, 2012; eight buildings) is 84 open hours a week.
  domain::PlugDevice device;
  device.on_w = device.idle_w = device.standby_w = 90.0;
  std::vector<Interval> open;
  for (Seconds day = 0; day < 365; ++day) open.push_back({day * kDay + 7 * kHour, day * kDay + 19 * kHour});
  const IntervalSet people = ten_hours_on_300_days();
  const double found = use_of(device, people, kAlways, {}).wh;
  const double cut = use_of(device, people, IntervalSet(open), {}).wh;
  EXPECT_NEAR(found, 90.0 * 8760.0, 1e-6);
  EXPECT_NEAR((found - cut) / found, 0.5, 1e-12);
}

TEST(PlugLoads, BracketsWhatTimersSavedAtWorkstations) {
  // Timers took 26 % off at workstations whose computers managed their power (General Services
  // Administration, Green Proving Ground, 2012). What hung on them is not told: the screen at least, computer
  // and screen at most. Watts from tables of Lawrence Berkeley National Laboratory (from memory); left on by
  // Webber et al. 2001, LBNL-46930: of computers 56 % asleep and 44 % off at night, of screens 68 % on, 56 %
  // of which go to sleep. 2,000 h at the desk, power for 60 h a week: assumptions.
  std::vector<Interval> there;
  std::vector<Interval> open;
  for (Seconds day = 0; day < 365; ++day) {
    if (day % 7 > 4) continue;
    open.push_back({day * kDay + 7 * kHour, day * kDay + 19 * kHour});
    if (there.size() < 250) there.push_back({day * kDay + 9 * kHour, day * kDay + 17 * kHour});
  }
  const IntervalSet people(there);
  domain::PlugDevice computer;
  computer.on_w = computer.idle_w = 74.0;
  computer.standby_w = 0.56 * 21.0 + 0.44 * 2.8;
  domain::PlugDevice display;
  display.on_w = display.idle_w = 27.6;
  display.standby_w = 1.1;
  const PlugDeviceDraw managed{1.0, 0.0};
  const PlugDeviceDraw some_left_on{1.0, 0.68 * 0.44};
  const auto saved = [&](const domain::PlugDevice& device, const PlugDeviceDraw& draw) {
    return use_of(device, people, kAlways, draw).wh - use_of(device, people, IntervalSet(open), draw).wh;
  };
  const double all =
      use_of(computer, people, kAlways, managed).wh + use_of(display, people, kAlways, some_left_on).wh;
  const double least = saved(display, some_left_on) / all;
  const double most = (saved(display, some_left_on) + saved(computer, managed)) / all;
  EXPECT_LT(least, 0.26);
  EXPECT_GT(most, 0.26);
  EXPECT_GT(least, 0.05) << "the bracket says something";
  EXPECT_LT(most, 0.50) << "the bracket says something";
}

TEST(PlugLoads, WhoComesOutOfHoursIsWithoutPower) {
  const IntervalSet morning({{8 * kHour, 12 * kHour}});
  const PlugDeviceUse use = use_of(screen(), IntervalSet({{8 * kHour, 18 * kHour}}), morning, {1.0, 0.0});
  EXPECT_EQ(use.cut_with_people_h, 6.0);
  EXPECT_NEAR(use.wh, 4.0 * 30.0, 1e-9);
}

TEST(PlugLoads, WattsScaleAllOfIt) {
  const IntervalSet people = ten_hours_on_300_days();
  EXPECT_NEAR(use_of(screen(), people, kAlways, {1.2, 0.4}).wh,
              1.2 * use_of(screen(), people, kAlways, {1.0, 0.4}).wh, 1e-6);
}

}  // namespace
}  // namespace halflight::energy
