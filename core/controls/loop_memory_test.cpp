// Loops whose level depends on what was: deadbands, slow fades, dual loops; and settings by day.
#include "controls/daylight_loop.hpp"
#include "published.hpp"

#include <array>
#include <cmath>
#include <cstddef>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

// 500 lx of electric light at the task, 0.10 lx of signal per lux of it, 0.16 per lux of daylight.
constexpr double kTask_lx = 500.0;
constexpr double kOwnSignal_lx = 50.0;
constexpr double kDayRatio = 0.16;
constexpr Seconds kStep_s = 300;

Loop closed_loop() {
  Loop loop;
  loop.night_signal_lx = kOwnSignal_lx;
  loop.gain = -1.0 / (kTask_lx * (kDayRatio - kOwnSignal_lx / kTask_lx));
  loop.minimum_level = 0.1;
  loop.range_lx = 200.0;
  return loop;
}

/// Levels of one loop through daylight on its task, lx, at the ratio that it was set with.
std::vector<double> levels_of(const Loop& loop, const std::vector<double>& daylight_lx,
                              const Memories& memories = {}) {
  std::vector<float> signal;
  for (const double lx : daylight_lx) signal.push_back(static_cast<float>(kDayRatio * lx));
  std::vector<double> levels(signal.size());
  const std::array<std::span<const float>, 1> signals = {signal};
  const std::array<std::span<double>, 1> out = {levels};
  run_loops(std::array<Loop, 1>{loop}, std::array<double, 1>{kOwnSignal_lx}, signals,
            std::array<double, 1>{0.0}, kStep_s, out, memories);
  return levels;
}

/// A count of the converter as a level.
double count(const Loop& loop) { return loop.range_lx / 4095.0 / (kDayRatio * kTask_lx); }

TEST(Deadband, HoldsTheLevelWithinItAndGoesAllTheWayBeyond) {  // DIM-12
  Loop loop = closed_loop();
  loop.deadband = 0.05;
  // 100 lx ask for 0.8; 120 lx for 0.76, within 0.05 of it; 130 lx for 0.74, beyond; back to 115 lx for 0.77,
  // within 0.05 of 0.74.
  const std::vector<double> found = levels_of(loop, {100, 120, 130, 115, 0});
  const double rounded = 1.01 * count(loop);
  EXPECT_NEAR(found[0], 0.80, rounded);
  EXPECT_EQ(found[1], found[0]);
  EXPECT_NEAR(found[2], 0.74, rounded);
  EXPECT_EQ(found[3], found[2]);
  EXPECT_NEAR(found[4], 1.0, rounded);
  // Never further off than the deadband, and without it not at all.
  std::vector<double> day;
  for (int k = 0; k < 140; ++k) day.push_back(400.0 * std::pow(std::sin(0.0225 * k), 2) + 30.0 * (k % 3));
  const std::vector<double> held = levels_of(loop, day);
  loop.deadband = 0.0;
  const std::vector<double> exact = levels_of(loop, day);
  int moves = 0;
  int exact_moves = 0;
  for (std::size_t k = 0; k < day.size(); ++k) {
    EXPECT_LE(std::abs(held[k] - exact[k]), 0.05 + 1e-9);
    if (k == 0) continue;
    moves += held[k] != held[k - 1] ? 1 : 0;
    exact_moves += exact[k] != exact[k - 1] ? 1 : 0;
  }
  EXPECT_LT(moves, exact_moves);
  EXPECT_GT(moves, 10);
}

TEST(Fade, ThatTakesLongerThanAStepLags) {  // DIM-13
  Loop loop = closed_loop();
  loop.fade_s_per_tenth = 30.0;
  EXPECT_FALSE(loop.remembers(kStep_s)) << "all of the output in one step";
  loop.fade_s_per_tenth = 120.0;
  ASSERT_TRUE(loop.remembers(kStep_s));
  // 0.25 of full output a step. From 1 to 0.2 (400 lx of daylight): ends of steps 0.75, 0.5, 0.25, 0.2, means
  // over them by the closed form of an even fade: 0.875, 0.625, 0.375, and 0.25 to 0.2 in 60 s, then still.
  const std::vector<double> found = levels_of(loop, {400, 400, 400, 400, 400, 0, 0});
  const char* form = "an even fade, worked by hand";
  const double rounded = 1.01 * count(loop);
  EXPECT_PUBLISHED(form, "fade of 20 min over all of the output: mean level of the first 5 min", "", 0.875,
                   found[0], 1e-9);
  EXPECT_PUBLISHED(form, "of the third 5 min", "", 0.375, found[2], 1e-9);
  EXPECT_PUBLISHED(form, "of the fourth, in which it arrives", "", 0.2 + 0.5 * 0.05 * 60.0 / 300.0, found[3],
                   2.0 * rounded);
  EXPECT_NEAR(found[4], 0.2, rounded);
  EXPECT_NEAR(found[5], 0.325, rounded) << "up as slowly as down";
  // The dark before a morning is long enough for any fade.
  const std::vector<std::size_t> mornings = {0, 5};
  EXPECT_NEAR(levels_of(loop, {400, 400, 400, 400, 400, 0, 0}, {{}, mornings})[5], 1.0, rounded);
}

TEST(Fade, OfCoupledLoopsEndsWhereTheySettle) {  // DIM-13, DIM-7
  Loop fast = closed_loop();
  Loop slow = fast;
  slow.fade_s_per_tenth = 90.0;
  const std::array<double, 4> seen = {50.0, 10.0, 15.0, 50.0};
  const std::vector<float> a(30, 35.0F);
  const std::vector<float> b(30, 12.0F);
  const std::array<std::span<const float>, 2> signals = {a, b};
  std::vector<double> la(30);
  std::vector<double> lb(30);
  const std::array<std::span<double>, 2> out = {la, lb};
  const std::array<double, 2> fixed = {0.0, 0.0};
  run_loops(std::array<Loop, 2>{fast, slow}, seen, signals, fixed, kStep_s, out);
  std::array<double, 2> settled{};
  settle(std::array<Loop, 2>{fast, fast}, seen,
         std::array<double, 2>{quantised_lx(35.0, 200.0), quantised_lx(12.0, 200.0)}, settled);
  EXPECT_NEAR(la.back(), settled[0], 1e-8);
  EXPECT_NEAR(lb.back(), settled[1], 1e-8);
  EXPECT_GT(lb.front(), lb.back() + 0.01);
  EXPECT_LT(la.front(), la.back()) << "while the other group is still bright";
}

TEST(SetByDay, TakesTheRatioOfItsInstant) {  // DIM-10
  const std::vector<float> task = {100.0F, 200.0F, 300.0F};
  const std::vector<float> signal = {16.0F, 36.0F, 60.0F};
  CalibrationInputs in;
  in.daylight_signal_lx = signal;
  in.daylight_task_lx = task;
  in.own_signal_lx = kOwnSignal_lx;
  in.own_task_lx = kTask_lx;
  in.night_signal_lx = kOwnSignal_lx;
  in.set_by_day = CalibrationInputs::Day{28.0, 200.0, 0.0};
  const Calibration found = calibrate(in);
  ASSERT_TRUE(found.usable);
  EXPECT_DOUBLE_EQ(found.day_ratio, 0.14);
  // M = -1 / (E_N (r_Dc - r_N)), Rubinstein, Ward and Verderber 1989.
  EXPECT_NEAR(found.gain, -1.0 / (500.0 * 0.04), 1e-12);
  EXPECT_EQ(found.steps, 3U) << "and the year is still what the correlation rests on";
  in.set_by_day = CalibrationInputs::Day{};
  EXPECT_FALSE(calibrate(in).usable) << "in the dark";
  in.set_by_day = CalibrationInputs::Day{9.0, 100.0, 0.0};
  EXPECT_FALSE(calibrate(in).usable) << "with less signal than the lamps give";
}

// ---------------------------------------------------------------------------------------------------------
// Dual loop: the open photosensor reads 4 lx where the closed one reads 0.16 lx per lux of daylight on the
// task.

struct DualLoop {
  Loop loop;
  std::vector<float> open;
  std::vector<float> closed;
  DualLoop() {
    CalibrationInputs in;
    in.method = Method::dual_loop;
    const std::vector<float> task = {100.0F, 200.0F, 300.0F};
    const std::vector<float> signal = {16.0F, 32.0F, 48.0F};
    const std::vector<float> sky = {400.0F, 800.0F, 1200.0F};
    in.daylight_task_lx = task;
    in.daylight_signal_lx = signal;
    in.open_signal_lx = sky;
    in.own_signal_lx = kOwnSignal_lx;
    in.own_task_lx = kTask_lx;
    in.night_signal_lx = kOwnSignal_lx;
    const Calibration calibration = calibrate(in);
    EXPECT_TRUE(calibration.usable);
    EXPECT_NEAR(calibration.open_share, 0.04, 1e-9);
    domain::DaylightRule rule;
    rule.method = Method::dual_loop;
    rule.minimum_level = 0.0;
    loop = make_loop(rule, calibration, 1.0, 8000.0);
    loop.night_signal_lx = kOwnSignal_lx;
  }
  void add(double task_lx, double room = 1.0) {
    open.push_back(static_cast<float>(4.0 * task_lx));
    closed.push_back(static_cast<float>(kDayRatio * task_lx * room));
  }
  std::vector<double> levels() const {
    std::vector<double> found(open.size());
    const std::array<std::span<const float>, 1> signals = {open};
    const std::array<std::span<double>, 1> out = {found};
    const std::vector<LearningChannel> learning = {{closed, 0.0, {kOwnSignal_lx}, 400.0}};
    run_loops(std::array<Loop, 1>{loop}, std::array<double, 1>{0.0}, signals, std::array<double, 1>{0.0},
              kStep_s, out, {learning, {}});
    return found;
  }
};

TEST(DualLoop, HoldsTheTaskByBothPhotosensors) {  // DIM-11
  // Closed form: level = 1 - q S_open / (G r_day) = 1 - E_day / E_night at the ratios it was set with.
  DualLoop room;
  for (const double lx : {50.0, 100.0, 200.0, 300.0, 400.0}) room.add(lx);
  const std::vector<double> found = room.levels();
  const double rounded = 1.01 * 8000.0 / 4095.0 / 4.0 / kTask_lx;
  EXPECT_PUBLISHED("law of the dual loop, worked by hand", "dual loop, 200 lx of daylight of 500 lx: level",
                   "", 0.6, found[2], 2.0 * rounded);
  EXPECT_NEAR(found[4], 0.2, 2.0 * rounded);
}

TEST(DualLoop, FurnitureUnderAConstantSkyMovesNothing) {  // DIM-11
  DualLoop room;
  for (int k = 0; k < 20; ++k) room.add(200.0);
  for (int k = 0; k < 300; ++k) room.add(200.0, 0.9);  // a dark carpet
  for (int k = 0; k < 300; ++k) room.add(200.0, 1.5);  // white paper all over
  const std::vector<double> found = room.levels();
  for (const double level : found) ASSERT_EQ(level, found.front());
  // A closed loop alone takes the paper for daylight.
  Loop closed = closed_loop();
  closed.range_lx = 400.0;
  std::vector<double> daylight(20, 200.0);
  daylight.push_back(300.0);
  const std::vector<double> alone = levels_of(closed, daylight);
  EXPECT_LT(alone.back(), alone.front() - 0.15);
}

TEST(DualLoop, LearnsASmallChangeWithinDaysAndIgnoresALargeOne) {  // DIM-11
  const auto after_weeks = [](double room_factor) {
    DualLoop room;
    for (int k = 0; k < 12 * 288; ++k) room.add(150.0 + 100.0 * std::sin(0.1 * k), room_factor);
    room.add(200.0, room_factor);
    return room.levels().back();
  };
  const double as_set = after_weeks(1.0);
  EXPECT_NEAR(as_set, 0.6, 0.005);
  // Ten per cent more signal for the same light: four times the time constant of three days leave exp(-4) of
  // the way; steps without a change of daylight do not count, so the last of it is allowed to lack.
  EXPECT_NEAR(after_weeks(1.1), 1.0 - 1.1 * 0.4, 0.005);
  DualLoop new_there;
  new_there.add(200.0);
  EXPECT_EQ(after_weeks(1.5), new_there.levels().back()) << "the scene has changed: it holds what it knew";
}

TEST(SwitchingLoop, IsAtFullOutputOrOff) {  // DIM-14
  domain::DaylightRule rule;
  rule.may_switch_off = true;
  rule.deadband = 0.1;
  rule.fade_s_per_tenth = 600.0;
  Calibration calibration;
  calibration.usable = true;
  calibration.gain = closed_loop().gain;
  Loop loop = make_loop(rule, calibration, 0.8, 200.0, true);
  loop.night_signal_lx = kOwnSignal_lx;
  EXPECT_FALSE(loop.remembers(kStep_s));
  // Off after ten minutes at 150 % of the set-point (750 lx), on again below 100 %.
  const std::vector<double> found = levels_of(loop, {100, 700, 760, 760, 760, 520, 490, 0});
  EXPECT_EQ(found, (std::vector<double>{1, 1, 1, 1, 0, 0, 1, 1}));
  loop.may_switch_off = false;
  for (const double level : levels_of(loop, {100, 700, 760, 760, 760, 520, 490, 0})) EXPECT_EQ(level, 1.0);
}

}  // namespace
}  // namespace halflight::controls
