#include "controls/daylight_loop.hpp"

#include "base/random.hpp"
#include "published.hpp"

#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

// The worked figures of this file follow from the laws of Rubinstein, Ward and Verderber 1989 with 500 lx of
// electric light at the task, 0.10 lx of signal per lux of it, 0.16 per lux of daylight at calibration, and
// 300 lx of daylight.
constexpr double kTask_lx = 500.0;
constexpr double kOwnSignal_lx = 50.0;
constexpr const char* kLaws = "laws of Rubinstein, Ward and Verderber 1989, worked by hand";

Calibration calibrated_at(Method method, double day_ratio) {
  const std::vector<float> task = {100.0F, 200.0F, 300.0F};
  std::vector<float> signal;
  for (const float e : task) signal.push_back(static_cast<float>(day_ratio) * e);
  CalibrationInputs in;
  in.method = method;
  in.daylight_signal_lx = signal;
  in.daylight_task_lx = task;
  in.own_signal_lx = kOwnSignal_lx;
  in.own_task_lx = kTask_lx;
  in.night_signal_lx = kOwnSignal_lx;
  return calibrate(in);
}

Loop loop_of(Method method, double day_ratio, double minimum = 0.0) {
  domain::DaylightRule rule;
  rule.method = method;
  rule.minimum_level = minimum;
  Loop loop = make_loop(rule, calibrated_at(method, day_ratio), 1.0, 2000.0);
  loop.night_signal_lx = kOwnSignal_lx;  // unquantised, for exact figures
  return loop;
}

double task_lx(double level, double daylight_lx) { return daylight_lx + kTask_lx * level; }

TEST(ClosedLoop, HoldsTheTaskAtItsCalibrationRatioAndDriftsBesideIt) {  // DIM-2
  const Calibration calibration = calibrated_at(Method::closed_loop_proportional, 0.16);
  EXPECT_TRUE(calibration.usable);
  EXPECT_NEAR(calibration.gain, -1.0 / 30.0, 1e-8);  // single precision of the signals
  EXPECT_NEAR(calibration.night_ratio, 0.10, 1e-12);
  EXPECT_NEAR(calibration.correlation, 1.0, 1e-9);
  const Loop loop = loop_of(Method::closed_loop_proportional, 0.16);
  const double level = settled_level(loop, kOwnSignal_lx, 0.16 * 300.0);
  EXPECT_PUBLISHED(kLaws, "closed loop, 300 lx of daylight at the ratio it was set with: level", "", 0.40,
                   level, 1e-7);
  EXPECT_PUBLISHED(kLaws, "closed loop, 300 lx of daylight at the ratio it was set with: light on the task",
                   "lx", 500.0, task_lx(level, 300.0), 1e-4);
  const double high = settled_level(loop, kOwnSignal_lx, 0.20 * 300.0);
  EXPECT_PUBLISHED(kLaws, "closed loop, signal a quarter higher for that daylight: level", "", 0.25, high,
                   1e-7);
  EXPECT_PUBLISHED(kLaws, "closed loop, signal a quarter higher for that daylight: light on the task", "lx",
                   425.0, task_lx(high, 300.0), 1e-4);
  EXPECT_GT(settled_level(loop, kOwnSignal_lx, 0.12 * 300.0), level);
  // The law itself, at the settled level: level = 1 + gain (S - S_night).
  EXPECT_NEAR(level, 1.0 + loop.gain * (48.0 + kOwnSignal_lx * level - kOwnSignal_lx), 1e-12);
}

TEST(OpenLoop, HoldsTheTaskAtItsCalibrationRatio) {  // DIM-2
  const Loop loop = loop_of(Method::open_loop_proportional, 0.16);
  EXPECT_PUBLISHED(kLaws, "open loop, 300 lx of daylight at the ratio it was set with: light on the task",
                   "lx", 500.0, task_lx(settled_level(loop, 0.0, 48.0), 300.0), 1e-4);
  EXPECT_PUBLISHED(kLaws, "open loop, signal a quarter higher for that daylight: light on the task", "lx",
                   300.0 + 500.0 - 300.0 * 0.20 / 0.16, task_lx(settled_level(loop, 0.0, 60.0), 300.0), 1e-4);
  // An open-loop law that sees the light it controls cannot give full output even at night.
  EXPECT_LT(settled_level(loop, kOwnSignal_lx, 0.0), 0.7);
}

TEST(IntegralReset, UnderLightsUnderNormalRatios) {  // DIM-3
  const Loop loop = loop_of(Method::integral_reset, 0.16);
  const double level = settled_level(loop, kOwnSignal_lx, 48.0);
  EXPECT_PUBLISHED(kLaws, "integral reset, 300 lx of daylight: level", "", 0.04, level, 1e-12);
  EXPECT_PUBLISHED(kLaws, "integral reset, 300 lx of daylight: light on the task", "lx", 320.0,
                   task_lx(level, 300.0), 1e-9);
  EXPECT_NEAR(task_lx(settled_level(loop, kOwnSignal_lx, 0.10 * 300.0), 300.0), 500.0, 1e-9);
}

TEST(Loop, SetAtNightTakesHighReadingsForDaylightAndSetByDayAllowsForThem) {  // DIM-9
  // A sensor that reads 1.5 lx of signal per lux of daylight and 1 of lamp light: 0.16 becomes 0.24 per lux
  // of daylight at the task. E = E_night + E_day (1 - 1.5 x 0.16 / r), with r as the loop was set.
  constexpr double kHigh = 1.5;
  constexpr double kDaylight_lx = 150.0;
  const double signal = kHigh * 0.16 * kDaylight_lx;
  const Loop reset = loop_of(Method::integral_reset, kHigh * 0.16);
  EXPECT_PUBLISHED(kLaws, "integral reset, daylight read half as high again, 150 lx of it: light on the task",
                   "lx", 500.0 + 150.0 * (1.0 - 0.24 / 0.10),
                   task_lx(settled_level(reset, kOwnSignal_lx, signal), kDaylight_lx), 1e-9);
  for (const Method method : {Method::closed_loop_proportional, Method::open_loop_proportional}) {
    const double seen = method == Method::closed_loop_proportional ? kOwnSignal_lx : 0.0;
    EXPECT_NEAR(task_lx(settled_level(loop_of(method, kHigh * 0.16), seen, signal), kDaylight_lx), 500.0,
                1e-4);
    // Left as it was set for a corrected sensor, it under-lights too.
    EXPECT_NEAR(task_lx(settled_level(loop_of(method, 0.16), seen, signal), kDaylight_lx),
                500.0 + 150.0 * (1.0 - kHigh), 1e-4);
  }
}

TEST(Loop, StaysBetweenMinimumAndTrim) {  // DIM-1
  domain::DaylightRule rule;
  for (const Method method :
       {Method::closed_loop_proportional, Method::open_loop_proportional, Method::integral_reset}) {
    rule.method = method;
    const Loop loop = make_loop(rule, calibrated_at(method, 0.16), 0.8, 2000.0);
    for (double signal = 0.0; signal < 2500.0; signal += 7.0) {
      const double level = settled_level(loop, kOwnSignal_lx, signal);
      EXPECT_GE(level, rule.minimum_level);
      EXPECT_LE(level, 0.8);
    }
    EXPECT_EQ(settled_level(loop, kOwnSignal_lx, 1000.0), rule.minimum_level);
  }
}

TEST(Loop, HoldsTheTrimmedLightWhenTrimmed) {  // DIM-2
  domain::DaylightRule rule;
  rule.minimum_level = 0.0;
  Calibration calibration = calibrated_at(Method::closed_loop_proportional, 0.16);
  calibration.night_signal_lx = 0.8 * kOwnSignal_lx;
  Loop loop = make_loop(rule, calibration, 0.8, 2000.0);
  loop.night_signal_lx = 0.8 * kOwnSignal_lx;
  EXPECT_NEAR(settled_level(loop, kOwnSignal_lx, 0.0), 0.8, 1e-12);
  EXPECT_NEAR(task_lx(settled_level(loop, kOwnSignal_lx, 32.0), 200.0), 400.0, 1e-4);
}

TEST(Converter, HasTwelveBitsAndSaturates) {  // DIM-4
  EXPECT_EQ(quantised_lx(-5.0, 2000.0), 0.0);
  EXPECT_DOUBLE_EQ(quantised_lx(9000.0, 2000.0), 2000.0);
  const double count = 2000.0 / 4095.0;
  EXPECT_DOUBLE_EQ(quantised_lx(10.4 * count, 2000.0), 10.0 * count);
  EXPECT_DOUBLE_EQ(quantised_lx(10.6 * count, 2000.0), 11.0 * count);
  // A loop's levels take no more values than its converter has counts.
  const Loop loop = loop_of(Method::closed_loop_proportional, 0.16);
  std::vector<float> signal = {10.1F, 10.2F};  // 20.7 and 20.9 counts
  std::vector<double> levels(2);
  run_loop(loop, kOwnSignal_lx, signal, 0.0, 300, levels);
  EXPECT_EQ(levels[0], levels[1]);
  EXPECT_EQ(levels[0], settled_level(loop, kOwnSignal_lx, quantised_lx(10.1, 2000.0)));
}

TEST(Calibrate, RefusesALoopThatSeesMoreOfItsOwnLight) {  // DIM-5
  const Calibration calibration = calibrated_at(Method::closed_loop_proportional, 0.09);
  EXPECT_FALSE(calibration.usable);
  const Loop loop = make_loop({}, calibration, 0.9, 2000.0);
  EXPECT_EQ(settled_level(loop, kOwnSignal_lx, 500.0), 0.9);
  // Likewise where there is no daylight to calibrate with.
  CalibrationInputs dark;
  dark.own_signal_lx = kOwnSignal_lx;
  dark.own_task_lx = kTask_lx;
  EXPECT_FALSE(calibrate(dark).usable);
}

TEST(Calibrate, KeepsTheTaskLitInItsPercentileOfDaylitSteps) {  // DIM-8
  // Ratios that vary: uniform between 0.12 and 0.24, daylight between 50 and 250 lx so that no limit is
  // reached.
  constexpr std::size_t kSteps = 20000;
  std::vector<float> task(kSteps);
  std::vector<float> signal(kSteps);
  for (std::size_t k = 0; k < kSteps; ++k) {
    const auto [a, b] = random_uniform_pair({1, 2}, {0, 0, 3, static_cast<std::uint32_t>(k)});
    task[k] = static_cast<float>(50.0 + 200.0 * a);
    signal[k] = static_cast<float>((0.12 + 0.12 * b) * (50.0 + 200.0 * a));
  }
  for (const double percentile : {50.0, 80.0, 95.0}) {
    CalibrationInputs in;
    in.daylight_signal_lx = signal;
    in.daylight_task_lx = task;
    in.own_signal_lx = kOwnSignal_lx;
    in.own_task_lx = kTask_lx;
    in.night_signal_lx = kOwnSignal_lx;
    in.percentile = percentile;
    const Calibration calibration = calibrate(in);
    EXPECT_NEAR(calibration.day_ratio, 0.12 + 0.12 * percentile / 100.0, 0.002);
    domain::DaylightRule rule;
    rule.minimum_level = 0.0;
    Loop loop = make_loop(rule, calibration, 1.0, 2000.0);
    loop.night_signal_lx = kOwnSignal_lx;
    std::size_t lit = 0;
    for (std::size_t k = 0; k < kSteps; ++k)
      if (task_lx(settled_level(loop, kOwnSignal_lx, signal[k]), task[k]) >= kTask_lx - 1e-6) ++lit;
    // The percentile is taken from these very steps, so the share is right to one step.
    EXPECT_NEAR(100.0 * static_cast<double>(lit) / kSteps, percentile, 0.02);
  }
}

TEST(Calibrate, CorrelationFallsWithScatter) {
  const std::vector<float> task = {100.0F, 200.0F, 300.0F, 400.0F};
  const std::vector<float> signal = {20.0F, 50.0F, 40.0F, 70.0F};
  CalibrationInputs in;
  in.daylight_signal_lx = signal;
  in.daylight_task_lx = task;
  in.own_task_lx = kTask_lx;
  // By hand: deviations (-150, -50, 50, 150) and (-25, 5, -5, 25); R = 7000 / sqrt(50000 x 1300).
  EXPECT_PUBLISHED("closed form, worked by hand", "squared correlation of four readings of signal and task",
                   "", 7000.0 * 7000.0 / (50000.0 * 1300.0), calibrate(in).correlation, 1e-12);
}

TEST(SwitchOff, WaitsTenMinutesAndComesBackWithTheDusk) {  // DIM-6
  Loop loop = loop_of(Method::closed_loop_proportional, 0.16, 0.1);
  loop.may_switch_off = true;
  const auto signal_at = [](double daylight_lx) { return static_cast<float>(0.16 * daylight_lx); };
  // 700 lx is not enough (140 %); 760 lx is; 520 lx keeps it off; 490 lx does not.
  const std::vector<float> signal = {signal_at(700), signal_at(760), signal_at(760), signal_at(760),
                                     signal_at(520), signal_at(490), signal_at(0)};
  std::vector<double> levels(signal.size());
  run_loop(loop, kOwnSignal_lx, signal, 0.0, 300, levels);
  EXPECT_EQ(levels[0], 0.1);
  EXPECT_EQ(levels[1], 0.1);
  EXPECT_EQ(levels[2], 0.1);
  EXPECT_EQ(levels[3], 0.0);
  EXPECT_EQ(levels[4], 0.0);
  EXPECT_EQ(levels[5], 0.1);
  EXPECT_NEAR(levels[6], 1.0, 0.01);  // one count of the converter
  loop.may_switch_off = false;
  run_loop(loop, kOwnSignal_lx, signal, 0.0, 300, levels);
  for (const double level : levels) EXPECT_GE(level, 0.1);
}

TEST(Coupled, TwoLoopsSettleOnBothLawsAtOnce) {  // DIM-7
  const Loop loop = loop_of(Method::closed_loop_proportional, 0.16);
  const std::array<Loop, 2> loops = {loop, loop};
  const std::array<double, 4> seen = {50.0, 10.0, 15.0, 50.0};
  const std::array<double, 2> daylight = {35.0, 12.0};
  std::array<double, 2> x{};
  settle(loops, seen, daylight, x);
  for (std::size_t i = 0; i < 2; ++i) {
    const double signal = daylight[i] + seen[2 * i] * x[0] + seen[2 * i + 1] * x[1];
    const double law = 1.0 + loop.gain * (signal - loop.night_signal_lx);
    EXPECT_NEAR(x[i], std::clamp(law, loop.minimum_level, 1.0), 1e-10);
    EXPECT_GT(x[i], 0.0);
    EXPECT_LT(x[i], 1.0);
  }
  const Coupling coupling = examine_coupling(loops, seen);
  EXPECT_FALSE(coupling.hunts());
  // Two rows: the radius is the root of the product of the off-diagonal terms, gain h / (1 - gain H).
  const double g = loop.gain / (1.0 - loop.gain * 50.0);
  EXPECT_PUBLISHED("closed form of two rows", "spectral radius of two coupled loops", "",
                   std::sqrt(g * 10.0 * g * 15.0), coupling.spectral_radius, 1e-9);
}

TEST(Coupled, LoopsThatSeeTheOtherMoreThanThemselvesHunt) {  // DIM-7
  const Loop reset = loop_of(Method::integral_reset, 0.16);
  const std::array<Loop, 2> loops = {reset, reset};
  EXPECT_FALSE(examine_coupling(loops, std::array<double, 4>{50.0, 40.0, 40.0, 50.0}).hunts());
  EXPECT_TRUE(examine_coupling(loops, std::array<double, 4>{50.0, 60.0, 60.0, 50.0}).hunts());
  EXPECT_GE(examine_coupling(loops, std::array<double, 4>{50.0, 60.0, 60.0, 50.0}).spectral_radius, 1.0);
}

TEST(Coupled, AnswersMeetEveryLawForRandomRooms) {  // DIM-7, DIM-1
  for (std::uint32_t room = 0; room < 500; ++room) {
    const std::size_t n = 2 + room % 3;
    std::vector<Loop> loops;
    std::vector<double> seen(n * n);
    std::vector<double> daylight(n);
    const auto u = [&](std::uint32_t k) { return random_uniform({11, room}, {0, 0, 0, k}); };
    for (std::size_t i = 0; i < n; ++i) {
      const auto k = static_cast<std::uint32_t>(i);
      const Method method = u(k) < 0.5 ? Method::closed_loop_proportional : Method::integral_reset;
      loops.push_back(loop_of(method, 0.12 + 0.1 * u(10 + k), 0.1));
      daylight[i] = 120.0 * u(20 + k);
      for (std::size_t j = 0; j < n; ++j)
        seen[i * n + j] = i == j ? 50.0 : 16.0 * u(30 + static_cast<std::uint32_t>(i * n + j));
    }
    ASSERT_FALSE(examine_coupling(loops, seen).hunts());
    std::vector<double> x(n);
    settle(loops, seen, daylight, x);
    for (std::size_t i = 0; i < n; ++i) {
      double others = daylight[i];
      for (std::size_t j = 0; j < n; ++j)
        if (j != i) others += seen[i * n + j] * x[j];
      EXPECT_NEAR(x[i], settled_level(loops[i], 50.0, others), 1e-7) << "room " << room;
    }
  }
}

TEST(Coupled, UncoupledLoopsRunAsEachAlone) {  // DIM-7, DIM-6
  Loop loop = loop_of(Method::closed_loop_proportional, 0.16, 0.1);
  loop.may_switch_off = true;
  std::vector<float> a(200);
  std::vector<float> b(200);
  for (std::size_t k = 0; k < 200; ++k) {
    a[k] = static_cast<float>(140.0 * std::abs(std::sin(0.05 * static_cast<double>(k))));
    b[k] = static_cast<float>(60.0 * std::abs(std::cos(0.11 * static_cast<double>(k))));
  }
  std::vector<double> alone_a(200);
  std::vector<double> alone_b(200);
  run_loop(loop, 50.0, a, 5.0, 300, alone_a);
  run_loop(loop, 50.0, b, 0.0, 300, alone_b);
  std::vector<double> both_a(200);
  std::vector<double> both_b(200);
  const std::array<Loop, 2> loops = {loop, loop};
  const std::array<std::span<const float>, 2> signals = {a, b};
  const std::array<std::span<double>, 2> levels = {both_a, both_b};
  run_loops(loops, std::array<double, 4>{50.0, 0.0, 0.0, 50.0}, signals, std::array<double, 2>{5.0, 0.0}, 300,
            levels);
  for (std::size_t k = 0; k < 200; ++k) {
    EXPECT_NEAR(both_a[k], alone_a[k], 1e-9);
    EXPECT_NEAR(both_b[k], alone_b[k], 1e-9);
  }
}

TEST(Coupled, AYearGivesEachStepWhatItWouldHaveAlone) {  // DIM-7
  // A series starts from the step before; `settle` knows nothing before. To the bit, for rooms that are
  // coupled weakly, strongly and so strongly that they hunt.
  for (std::uint32_t room = 0; room < 300; ++room) {
    const std::size_t n = 2 + room % 4;
    const auto u = [&](std::uint32_t k) { return random_uniform({12, room}, {0, 0, 0, k}); };
    std::vector<Loop> loops;
    std::vector<double> seen(n * n);
    std::vector<double> fixed(n);
    const double coupled_lx = 60.0 * u(0) * u(1);
    for (std::size_t i = 0; i < n; ++i) {
      const auto k = static_cast<std::uint32_t>(i);
      const Method method = u(10 + k) < 0.5 ? Method::closed_loop_proportional : Method::integral_reset;
      loops.push_back(loop_of(method, 0.12 + 0.1 * u(20 + k), 0.1));
      fixed[i] = 10.0 * u(30 + k);
      for (std::size_t j = 0; j < n; ++j)
        seen[i * n + j] = i == j ? 50.0 : coupled_lx * u(40 + static_cast<std::uint32_t>(i * n + j));
    }
    constexpr std::size_t kSteps = 200;
    std::vector<std::vector<float>> daylight(n, std::vector<float>(kSteps));
    std::vector<std::vector<double>> found(n, std::vector<double>(kSteps));
    std::vector<std::span<const float>> signals;
    std::vector<std::span<double>> levels;
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t k = 0; k < kSteps; ++k)
        daylight[i][k] = static_cast<float>((60.0 + 20.0 * static_cast<double>(i)) *
                                                std::abs(std::sin(0.03 * static_cast<double>(k))) +
                                            10.0 * u(100 + static_cast<std::uint32_t>(i * kSteps + k)));
      signals.emplace_back(daylight[i]);
      levels.emplace_back(found[i]);
    }
    run_loops(loops, seen, signals, fixed, 300, levels);
    std::vector<double> other(n);
    std::vector<double> alone(n);
    for (std::size_t k = 0; k < kSteps; ++k) {
      for (std::size_t i = 0; i < n; ++i)
        other[i] = quantised_lx(static_cast<double>(daylight[i][k]) + fixed[i], loops[i].range_lx);
      settle(loops, seen, other, alone);
      for (std::size_t i = 0; i < n; ++i)
        ASSERT_EQ(found[i][k], alone[i]) << "room " << room << ", step " << k;
    }
  }
}

}  // namespace
}  // namespace halflight::controls
