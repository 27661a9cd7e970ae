#include "sim/lit_room_fixture_test.hpp"
#include "sim/replicate.hpp"

#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

TEST(Sleepers, LetTheLightGoOutAndAreThereAllNight) {
  domain::Project project = ten_luminaires();
  project.calendars[0].hours = {{{0, 1, 2, 3, 4, 5, 6}, 0, kDay}};
  project.calendars[0].holidays.clear();
  domain::Occupancy& occupancy = project.spaces[0].occupancy;
  occupancy.pattern = domain::Occupancy::Pattern::sleeping;
  occupancy.people = 2;
  domain::Sequence& sequence = project.designs[1].sequences[0];
  sequence.on.by = domain::OnRule::By::hand;
  sequence.schedule.reset();
  sequence.vacancy.emplace().delay_s = 600.0;
  Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const std::vector<float> watts = replicate.half_hour_w(way_of_proposal(bench.model));
  double night = 0.0;    // 02:00 to 05:00 of every day
  double evening = 0.0;  // 20:00 to 22:00
  double there_h = 0.0;
  for (std::size_t day = 0; day < 365; ++day) {
    for (std::size_t i = 4; i < 10; ++i) night += static_cast<double>(watts[day * 48 + i]) / 6.0 / 365.0;
    for (std::size_t i = 40; i < 44; ++i) evening += static_cast<double>(watts[day * 48 + i]) / 4.0 / 365.0;
    const auto at = static_cast<Seconds>(day) * kDay;
    there_h += static_cast<double>(
                   intersected(replicate.presence().any, IntervalSet({{at + 2 * kHour, at + 5 * kHour}}))
                       .measure()) /
               3600.0 / 365.0;
  }
  const double all_on_w = 300.0;
  EXPECT_GT(there_h, 2.9);
  EXPECT_GT(evening, 0.5 * all_on_w);
  EXPECT_LT(night, 0.05 * all_on_w);
}

}  // namespace
}  // namespace halflight::sim
