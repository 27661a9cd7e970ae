#include "controls/sequence_merge.hpp"

#include "controls/timeline.hpp"

#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

domain::Sequence as_found() {
  domain::Sequence s;
  s.space = "room";
  s.normal_scene = "all";
  s.on.by = domain::OnRule::By::hand;
  s.loss.clock_lost = 0.3;
  return s;
}

domain::Sequence proposal() {
  domain::Sequence s;
  s.space = "room";
  s.normal_scene = "work";
  s.on = {domain::OnRule::By::occupancy, 0.5, 1.0};
  s.vacancy.emplace().delay_s = 600.0;
  s.schedule.emplace().calendar = "week";
  s.trim = domain::TrimRule{0.8, 0.05};
  s.daylight.emplace_back().group = "window row";
  s.manual = domain::ManualRule{};
  s.loss.clock_lost = 0.7;
  return s;
}

TEST(Merged, MasksRoundTrip) {
  for (unsigned mask = 0; mask < 32; ++mask) EXPECT_EQ(Strategies::from_mask(mask).mask(), mask);
  EXPECT_STREQ(name_of_strategy(1), "occupancy");
  EXPECT_TRUE(Strategies::from_mask(2).occupancy);
}

TEST(Merged, EachStrategyCarriesItsOwnRulesAndNoOther) {  // ARB-7
  for (unsigned mask = 0; mask < 32; ++mask) {
    const Strategies from = Strategies::from_mask(mask);
    const domain::Sequence s = merged(as_found(), proposal(), from);
    EXPECT_EQ(s.schedule.has_value(), from.schedule);
    EXPECT_EQ(s.vacancy.has_value(), from.occupancy);
    EXPECT_EQ(s.on.by, from.occupancy ? domain::OnRule::By::occupancy : domain::OnRule::By::hand);
    EXPECT_EQ(s.normal_scene, from.scenes ? "work" : "all");
    EXPECT_EQ(s.manual.has_value(), from.scenes);
    EXPECT_EQ(s.trim.has_value(), from.trim);
    EXPECT_EQ(s.daylight.size(), from.daylight ? 1U : 0U);
    EXPECT_EQ(s.loss.clock_lost, mask == 31 ? 0.7 : 0.3);
  }
}

TEST(Merged, AProposalWithoutDevicesIsAsFoundToTheBit) {  // ARB-8
  const domain::Sequence found = as_found();
  domain::Sequence same = as_found();
  same.space = "room";
  const IntervalSet presence({{30000, 40000}, {41000, 60000}, {kDay + 30000, kDay + 30500}});
  const IntervalSet open({{28800, 64800}, {kDay + 28800, kDay + 64800}});
  const IntervalSet none;
  const auto timeline_of = [&](const domain::Sequence& sequence) {
    HandHabits habits;
    habits.on_at_arrival = [](double) { return 0.5; };
    habits.off_at_departure = [](Seconds) { return 0.5; };
    Hands hands(presence, habits, {}, {4, 5}, 0);
    TimelineInputs in{
        .sequence = sequence, .motion = presence, .hands = hands, .open = open, .cleaning = none};
    in.key = {4, 5};
    in.horizon = 2 * kDay;
    return base_timeline(in).segments;
  };
  for (unsigned mask = 0; mask < 32; ++mask)
    EXPECT_EQ(timeline_of(merged(found, same, Strategies::from_mask(mask))), timeline_of(found));
}

}  // namespace
}  // namespace halflight::controls
