#include "sim/faults.hpp"

#include "sim/lit_room_fixture_test.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// One person, a sensor in reach, a clock with holidays, a trim; a radio link where asked for.
domain::Project controlled_room() {
  domain::Project project = ten_luminaires();
  domain::Design& proposal = project.designs[1];
  add_occupancy_sensor(proposal, {5, 3, 2.7}, 900.0);
  domain::Sequence& sequence = proposal.sequences[0];
  sequence.trim.emplace();
  sequence.trim->high = 0.8;
  proposal.load_controllers.push_back(controller());
  for (domain::Driver& driver : project.drivers)
    if (driver.id == "new") {
      driver.dims = true;
      driver.minimum_light = 0.05;
      driver.power_at_zero = 0.0;
    }
  return project;
}

struct Costs {
  explicit Costs(const domain::Project& project) : bench(project), faults(faults_of(bench.model)) {
    Replicate replicate(bench.model, bench.daylight, Draws{});
    runs = fault_runs(replicate, faults);
  }
  [[nodiscard]] bool has(const std::string& id) const {
    return std::any_of(faults.begin(), faults.end(), [&](const Fault& f) { return f.id == id; });
  }
  [[nodiscard]] const CaseRun& of(const std::string& id) const {
    const auto found = std::find_if(faults.begin(), faults.end(), [&](const Fault& f) { return f.id == id; });
    EXPECT_NE(found, faults.end()) << id;
    return runs[static_cast<std::size_t>(found - faults.begin())].year;
  }
  [[nodiscard]] const CaseRun& sound() const { return runs.back().year; }
  Bench bench;
  std::vector<Fault> faults;
  std::vector<FaultRun> runs;
};

TEST(Faults, TheSoundProposalIsTheProposal) {
  const Costs costs(controlled_room());
  const ReplicateRun run = run_replicate(costs.bench.model, costs.bench.daylight, Draws{}, false);
  EXPECT_EQ(costs.sound().light_wh, run.cases[3].light_wh);
  EXPECT_EQ(run.faults.size(), costs.runs.size());
  EXPECT_EQ(costs.runs.size(), costs.faults.size() + 1);
}

TEST(Faults, CostWhatTheyMust) {
  const Costs costs(controlled_room());
  const double sound = costs.sound().light_wh;
  EXPECT_GT(costs.of("delay-left-at-its-factory-value").light_wh, 1.02 * sound);
  EXPECT_LT(costs.of("delay-left-in-test").light_wh, sound);
  EXPECT_GT(costs.of("delay-left-in-test").taken_from_people,
            100.0 * (1.0 + costs.sound().taken_from_people));
  // Full output for 80 % of it; drivers of this room draw in proportion.
  EXPECT_NEAR(costs.of("trim-lost").light_wh, sound / 0.8, 1e-6 * sound);
  // Day and night at the trim: ten luminaires of 30 W.
  EXPECT_NEAR(costs.of("held-on").light_wh, 0.8 * 300.0 * 8760.0, 1.0);
  EXPECT_EQ(costs.of("held-on").taken_from_people, 0.0);
}

TEST(Faults, ACoveredSensorLeavesTheRoomToWaving) {
  domain::Project project = controlled_room();
  project.designs[1].sequences[0].vacancy->warning_s = 0.0;
  const Costs costs(project);
  // Nothing is noticed: whoever comes waves, and again ten seconds after each delay. A stay that finds the
  // light on from the one before loses it once more at most.
  Replicate replicate(costs.bench.model, costs.bench.daylight, Draws{});
  double least = 0.0;
  double most = 0.0;
  for (const Interval& stay : replicate.presence().any.intervals()) {
    const auto long_s = static_cast<double>(stay.end - stay.begin);
    least += std::max(0.0, std::floor((long_s - 10.0) / 910.0));
    most += std::ceil(long_s / 910.0);
  }
  EXPECT_GE(costs.of("covered-sensor/M1").taken_from_people, least);
  EXPECT_LE(costs.of("covered-sensor/M1").taken_from_people, most);
  EXPECT_LT(costs.of("covered-sensor/M1").light_wh, costs.sound().light_wh);
}

TEST(Faults, AFastClockAndHolidaysThatItDoesNotKnowMoveTheSchedule) {
  domain::Project project = controlled_room();
  domain::Sequence& sequence = project.designs[1].sequences[0];
  sequence.on.by = domain::OnRule::By::schedule;
  sequence.vacancy.reset();
  sequence.schedule->override_s = 0.0;
  const Costs costs(project);
  const double sound = costs.sound().light_wh;
  // 300 days of ten hours; without holidays 365.
  EXPECT_NEAR(costs.of("holidays-not-entered").light_wh, sound * 365.0 / 300.0, 1e-3 * sound);
  // The same hours, an hour earlier.
  EXPECT_NEAR(costs.of("clock-an-hour-fast").light_wh, sound, 1e-3 * sound);
}

TEST(Faults, OnlyThoseThatTheDesignCanHaveAreRun) {
  const Costs costs(controlled_room());
  EXPECT_FALSE(costs.has("photosensors-disabled"));
  EXPECT_FALSE(costs.has("reports-lost-by-radio"));
  EXPECT_FALSE(costs.has("automatic-on-in-place-of-hands"));
  domain::Project radio = controlled_room();
  radio.designs[1].occupancy_sensors[0].link = domain::Link::radio;
  radio.designs[1].sequences[0].on.by = domain::OnRule::By::hand;
  const Costs others(radio);
  EXPECT_TRUE(others.has("reports-lost-by-radio"));
  EXPECT_TRUE(others.has("automatic-on-in-place-of-hands"));
  EXPECT_FALSE(others.has("reports-without-cause"));
  domain::Project bare = ten_luminaires();
  EXPECT_TRUE(faults_of(Bench(bare).model).empty());
}

TEST(Faults, LostReportsAndFalseOnesDoWhatTheySay) {
  domain::Project radio = controlled_room();
  radio.designs[1].occupancy_sensors[0].link = domain::Link::radio;
  radio.designs[1].sequences[0].schedule.reset();
  const Costs costs(radio);
  EXPECT_GT(costs.of("reports-lost-by-radio").taken_from_people, costs.sound().taken_from_people);
  EXPECT_GT(costs.of("reports-without-cause").lit_for_nobody_h, 1.2 * costs.sound().lit_for_nobody_h);
}

TEST(Faults, BefallSystemsAsOftenAsStatedAndTogether) {
  const Bench bench(controlled_room());
  const std::vector<Fault> faults = faults_of(bench.model);
  constexpr int kSystems = 4000;
  int trim_lost = 0;
  int sound = 0;
  int both = 0;
  double expected_sound = 1.0;
  for (const Fault& fault : faults) {
    EXPECT_GT(fault.frequency + fault.per_loss, 0.0) << fault.id;
    expected_sound *= 1.0 - fault.frequency;
  }
  const domain::Sequence& designed = bench.model.proposal.sequence;
  for (std::uint32_t k = 0; k < kSystems; ++k) {
    const Way way = usually_found(bench.model, faults, k, 0.0);
    const bool lost = !way.sequence.trim;
    const bool late = way.sequence.vacancy && way.sequence.vacancy->delay_s > designed.vacancy->delay_s;
    trim_lost += lost ? 1 : 0;
    both += lost && late ? 1 : 0;
    sound += way.sequence.on == designed.on && way.sequence.vacancy == designed.vacancy &&
                     way.sequence.schedule == designed.schedule && !lost && way.installed == Installed{}
                 ? 1
                 : 0;
  }
  // Four binomial deviations.
  const auto near = [](double chance) { return 4.0 * std::sqrt(chance * (1.0 - chance) / kSystems); };
  EXPECT_NEAR(trim_lost / double(kSystems), 0.20, near(0.20));
  // A delay left in test or a light held on hides the delay: 2 % each.
  const double late_too = 0.20 * 0.10 * 0.98 * 0.98;
  EXPECT_NEAR(both / double(kSystems), late_too, near(late_too));
  EXPECT_NEAR(sound / double(kSystems), expected_sound, near(expected_sound));
}

TEST(Faults, PeopleWhoLoseTheLightTakeSensorsOutOfWork) {
  // A chance of 0.001 a time: 1 - 0.999^693 = 1/2.
  const Bench bench(controlled_room());
  const std::vector<Fault> faults = faults_of(bench.model);
  constexpr int kSystems = 2000;
  int by_hand = 0;
  for (std::uint32_t k = 0; k < kSystems; ++k) {
    const domain::Sequence sequence = usually_found(bench.model, faults, k, 693.0).sequence;
    by_hand += sequence.on.by == domain::OnRule::By::hand && !sequence.vacancy ? 1 : 0;
  }
  // Some of them are held on besides: 2 %.
  EXPECT_NEAR(by_hand / double(kSystems), 0.5 * 0.98, 4.0 * 0.5 / std::sqrt(double(kSystems)));
}

}  // namespace
}  // namespace halflight::sim
