#include "controls/arbitration.hpp"

#include <optional>

#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

ArbitrationInputs everything() {
  ArbitrationInputs in;
  in.emergency_of_full = 1.0;
  in.lock_out_of_full = 0.9;
  in.vacant = 0.4;
  in.manual = 0.7;
  in.standing = 0.8;
  in.daylight_of_full = 0.3;
  in.demand_response_cap = 0.6;
  in.trim_low = 0.1;
  in.trim_high = 0.8;
  return in;
}

TEST(Arbitration, EmergencyBeatsEveryOtherRankAndLimit) {  // ARB-1
  const Level level = arbitrate(everything());
  EXPECT_EQ(level.of_full, 1.0);
  EXPECT_EQ(level.decided_by, Rank::emergency);
  EXPECT_EQ(level.limited_by, Limit::none);
}

TEST(Arbitration, LockOutBeatsAllButEmergency) {  // ARB-2
  ArbitrationInputs in = everything();
  in.emergency_of_full.reset();
  const Level level = arbitrate(in);
  EXPECT_EQ(level.of_full, 0.9);
  EXPECT_EQ(level.decided_by, Rank::lock_out);
}

TEST(Arbitration, VacancyBeatsManualAndStanding) {  // ARB-3
  ArbitrationInputs in;
  in.vacant = 0.4;
  in.manual = 1.0;
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.4);
  EXPECT_EQ(arbitrate(in).decided_by, Rank::vacancy);
  in.manual.reset();
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.4);
  in.standing = 0.2;  // an empty room never gets more than an occupied one
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.2);
  in.vacant = 0.0;
  in.manual = 1.0;
  in.trim_low = 0.2;
  EXPECT_EQ(arbitrate(in).of_full, 0.0);
}

TEST(Arbitration, ManualBeatsStandingUpwardsAndDownwards) {  // ARB-4
  ArbitrationInputs in;
  in.standing = 0.5;
  in.manual = 0.9;
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.9);
  in.manual = 0.1;
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.1);
  EXPECT_EQ(arbitrate(in).decided_by, Rank::manual);
  in.manual.reset();
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.5);
  EXPECT_EQ(arbitrate(in).decided_by, Rank::standing);
}

TEST(Arbitration, LimitsLowerAndNeverRaise) {  // ARB-5
  // Every rank below lock-out with every limit: the result is the least of them.
  for (const std::optional<double> vacant : {std::optional<double>(), std::optional<double>(0.4)})
    for (const std::optional<double> manual : {std::optional<double>(), std::optional<double>(0.7)})
      for (const double limit : {0.05, 0.3, 0.6, 0.95}) {
        ArbitrationInputs in;
        in.vacant = vacant;
        in.manual = manual;
        in.standing = 0.8;
        in.trim_high = 0.9;
        const double free = arbitrate(in).of_full;
        EXPECT_LE(free, 0.9);
        in.daylight_of_full = limit;
        EXPECT_DOUBLE_EQ(arbitrate(in).of_full, std::min(free, limit));
        EXPECT_EQ(arbitrate(in).limited_by, limit < free ? Limit::daylight : Limit::none);
        in.daylight_of_full.reset();
        in.demand_response_cap = limit;
        EXPECT_DOUBLE_EQ(arbitrate(in).of_full, std::min(free, limit * 0.9));
        in.daylight_of_full = 0.01;
        EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.01);
      }
  ArbitrationInputs off;
  off.standing = 0.0;
  off.daylight_of_full = 0.5;
  off.trim_low = 0.2;
  EXPECT_EQ(arbitrate(off).of_full, 0.0);
}

TEST(Arbitration, NothingDimsBelowTheLowEndTrimButDaylightMaySwitchOff) {  // ARB-6
  ArbitrationInputs in;
  in.trim_low = 0.2;
  in.daylight_of_full = 0.05;
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.2);
  in.daylight_of_full = 0.0;
  EXPECT_EQ(arbitrate(in).of_full, 0.0);
  in.daylight_of_full.reset();
  in.demand_response_cap = 0.05;
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.2);
  in.standing = 0.1;  // the low end does not raise either
  EXPECT_DOUBLE_EQ(arbitrate(in).of_full, 0.1);
}

// ARB-10
TEST(LoadShed, TakesDownAtOnceAndRaisesNothing) {
  ArbitrationInputs inputs;
  inputs.trim_high = 0.8;
  inputs.trim_low = 0.3;
  inputs.load_shed_level = 0.25;
  // A quarter of the trimmed output, below the low-end trim.
  EXPECT_NEAR(arbitrate(inputs).of_full, 0.2, 1e-12);
  EXPECT_EQ(arbitrate(inputs).limited_by, Limit::load_shed);
  inputs.standing = 0.1;
  EXPECT_NEAR(arbitrate(inputs).of_full, 0.08, 1e-12);
  EXPECT_EQ(arbitrate(inputs).limited_by, Limit::none);
  inputs.standing = 0.0;
  EXPECT_EQ(arbitrate(inputs).of_full, 0.0);
  // Whoever raises by hand gets no more, and with demand response the lower of the two stands.
  inputs.manual = 1.0;
  EXPECT_NEAR(arbitrate(inputs).of_full, 0.2, 1e-12);
  inputs.demand_response_cap = 0.5;
  EXPECT_NEAR(arbitrate(inputs).of_full, 0.2, 1e-12);
  inputs.load_shed_level = 0.0;
  EXPECT_EQ(arbitrate(inputs).of_full, 0.0);
  // Emergency light and a lock-out stand above it.
  inputs.lock_out_of_full = 1.0;
  EXPECT_EQ(arbitrate(inputs).of_full, 1.0);
  inputs.emergency_of_full = 0.5;
  EXPECT_EQ(arbitrate(inputs).of_full, 0.5);
}

}  // namespace
}  // namespace halflight::controls
