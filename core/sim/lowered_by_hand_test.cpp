// People who can dim, or switch some legs only, choose their light: it changes energy, and counts with the
// scenes.
#include "sim/lowered_by_hand.hpp"

#include "people/habits.hpp"
#include "published.hpp"
#include "sim/explain.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// Light that the calendar brings on, with a station that has `buttons`.
domain::Project room_with_station(const std::vector<std::string>& buttons) {
  domain::Project project = ten_luminaires();
  project.drivers[1].dims = true;
  Design& proposal = project.designs[1];
  proposal.load_controllers.push_back(controller());
  domain::Station station;
  station.id = "S1";
  station.space = "room";
  station.buttons = buttons;
  proposal.stations.push_back(station);
  proposal.sequences[0].manual.emplace().stations = {"S1"};
  return project;
}

ReplicateRun year_of(const domain::Project& project) {
  const Bench bench(project);
  return run_replicate(bench.model, bench.daylight, Draws{}, false);
}

TEST(Dimming, SavesWhereAStationCanAndCountsWithTheScenes) {  // HND-7
  const ReplicateRun switched = year_of(room_with_station({"on", "off"}));
  const ReplicateRun dimmed = year_of(room_with_station({"on", "off", "raise", "lower"}));
  const double before_wh = switched.cases[3].light_wh;
  EXPECT_LT(dimmed.cases[3].light_wh, before_wh);
  EXPECT_GT(dimmed.cases[3].light_wh, 0.5 * before_wh);
  EXPECT_LT(dimmed.coalition_wh[kScenes], dimmed.coalition_wh[0]);
  for (const std::size_t before_the_proposal : {0U, 1U, 2U})
    EXPECT_EQ(dimmed.cases[before_the_proposal].light_wh, switched.cases[before_the_proposal].light_wh);
  for (unsigned mask = 0; mask < 32; ++mask)
    if ((mask & kScenes) == 0) {
      EXPECT_EQ(dimmed.coalition_wh[mask], switched.coalition_wh[mask]) << mask;
    }
}

TEST(Dimming, NeedsDriversThatDimAndPlacesOfTheirOwn) {  // HND-7
  domain::Project only_switches = room_with_station({"raise", "lower"});
  only_switches.drivers[1].dims = false;
  domain::Project by_switch = only_switches;
  by_switch.designs[1].stations[0].buttons = {"on", "off"};
  EXPECT_EQ(year_of(only_switches).cases[3].light_wh, year_of(by_switch).cases[3].light_wh);

  domain::Project visitors = room_with_station({"raise", "lower"});
  visitors.spaces[0].occupancy.pattern = domain::Occupancy::Pattern::shared;
  domain::Project visitors_who_switch = visitors;
  visitors_who_switch.designs[1].stations[0].buttons = {"on", "off"};
  EXPECT_EQ(year_of(visitors).cases[3].light_wh, year_of(visitors_who_switch).cases[3].light_wh);
}

TEST(Dimming, IsToldAsTheReasonOfALevel) {
  const Bench bench(room_with_station({"raise", "lower"}));
  Replicate replicate(bench.model, bench.daylight, Draws{}, Replicate::Causes::tell);
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  int told = 0;
  for (Seconds t = 11 * kHour; t < kYear; t += kDay) {
    const CellAtWork now = work.at(t).front();
    if (now.segment.cause != controls::Cause::lowered_by_hand) continue;
    ++told;
    EXPECT_LT(now.level, 0.95);
    const results::Moment why = explain_moment(work, t);
    EXPECT_TRUE(std::any_of(why.sentences.begin(), why.sentences.end(), [](const std::string& sentence) {
      return sentence.find("lowered by hand") != std::string::npos;
    }));
    EXPECT_EQ(groups_at_work(work, t).front().decided_by, "by hand");
  }
  EXPECT_GT(told, 10);
}

/// Ten luminaires on two switch legs of five, which people bring on by hand, and no dimmer.
domain::Project room_with_legs() {
  domain::Project project = room_with_station({"off"});
  project.drivers[1].dims = false;
  Design& proposal = project.designs[1];
  proposal.groups.clear();
  domain::Group near_window{"near", "room", domain::Strategy::scene, "A", {}};
  domain::Group inside{"inside", "room", domain::Strategy::scene, "B", {}};
  for (std::size_t i = 0; i < proposal.luminaires.size(); ++i)
    (i % 2 == 0 ? near_window : inside).channels.push_back(proposal.luminaires[i].id);
  proposal.groups = {near_window, inside};
  proposal.scenes.clear();
  proposal.stations[0].switch_legs = {"near", "inside"};
  domain::Sequence& sequence = proposal.sequences[0];
  sequence.normal_scene.clear();
  sequence.daylight.clear();
  sequence.trim.reset();
  sequence.schedule.reset();
  sequence.vacancy.reset();
  sequence.on.by = domain::OnRule::By::hand;
  return project;
}

TEST(SwitchLegs, LeaveSomeDaysHalfDark) {  // HND-9
  const Bench bench(room_with_legs());
  Replicate replicate(bench.model, bench.daylight, Draws{}, Replicate::Causes::tell);
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  int both = 0;
  int one = 0;
  for (Seconds t = 11 * kHour; t < kYear; t += kDay) {
    const std::vector<CellAtWork> cells = work.at(t);
    ASSERT_EQ(cells.size(), 2U);
    const int lit = static_cast<int>(cells[0].level > 0.0) + static_cast<int>(cells[1].level > 0.0);
    for (const CellAtWork& cell : cells) {
      EXPECT_TRUE(cell.level == 0.0 || cell.level == 1.0) << cell.level;
    }
    if (lit == 2) ++both;
    if (lit != 1 || !replicate.presence().any.contains(t)) continue;
    ++one;
    EXPECT_EQ(cells[0].segment.cause, controls::Cause::lowered_by_hand);
  }
  EXPECT_GT(one, 10);
  EXPECT_GT(both, 10);
}

TEST(SwitchLegs, SaveWhatTheirLightIsPreferredFor) {  // HND-9
  domain::Project apart = room_with_legs();
  domain::Project together = apart;
  together.designs[1].stations[0].switch_legs.clear();
  const ReplicateRun by_leg = year_of(apart);
  const ReplicateRun at_once = year_of(together);
  // The dark leg draws nothing, and whoever is there has one lit at least.
  EXPECT_LT(by_leg.cases[3].light_wh, at_once.cases[3].light_wh);
  EXPECT_GE(by_leg.cases[3].light_wh, 0.5 * at_once.cases[3].light_wh - 1e-6);
  EXPECT_EQ(by_leg.cases[3].lit_for_nobody_h > 0.0, at_once.cases[3].lit_for_nobody_h > 0.0);

  // A dimmer beside them makes them needless.
  domain::Project dims = apart;
  dims.drivers[1].dims = true;
  dims.designs[1].stations[0].buttons = {"off", "raise", "lower"};
  domain::Project dims_alone = dims;
  dims_alone.designs[1].stations[0].switch_legs.clear();
  EXPECT_EQ(year_of(dims).cases[3].light_wh, year_of(dims_alone).cases[3].light_wh);
}

TEST(SwitchLegs, TheNearestLevelIsSetAndTheBrighterOfTwoAsNear) {
  const std::vector<double> preferred = {0.0, 500.0, 300.0, 250.0, 1.0, 0.0};
  // A third and two thirds of 600 lx, and a leg that lights nothing where people work.
  const std::vector<double> by_step = {200.0, 0.0, 400.0};
  using controls::LoweredFrom;
  const std::vector<LoweredFrom> expected = {{0, std::nullopt},
                                             {2 * kDay, std::uint16_t{2}},
                                             {3 * kDay, std::uint16_t{0}},
                                             {5 * kDay, std::nullopt}};
  std::vector<LoweredFrom> found = lowered_day_by_day(preferred, 600.0, by_step);
  // From nothing on nothing changes: the list begins with the first lower level.
  found.insert(found.begin(), {0, std::nullopt});
  EXPECT_EQ(found, expected);
}

// Field: two switches in private offices saved 22 % of lighting energy (ADM Associates, bi-level study, 2002)
// and 23 % (Jennings et al., 2000). The tolerance is what 450 to 550 lx of both legs make of the share of
// people whom one leg is enough for.
TEST(SwitchLegs, SaveAsInPrivateOffices) {
  double saved = 0.0;
  int days = 0;
  for (std::uint32_t r = 0; r < 24; ++r) {
    std::vector<IntervalSet> people;
    for (Seconds day = 0; day < 365; ++day)
      people.emplace_back(std::vector<Interval>{{day * kDay + 9 * kHour, day * kDay + 17 * kHour}});
    const std::vector<double> preferred =
        people::preferred_light(people, 7, r, "room", {.dims_on_a_day = 1.0});
    const std::vector<double> legs = {250.0, 250.0};
    const std::vector<controls::LoweredFrom> lowered = lowered_day_by_day(preferred, 500.0, legs);
    bool half = false;
    std::size_t next = 0;
    for (Seconds day = 0; day < 365; ++day, ++days) {
      if (next < lowered.size() && lowered[next].from == day * kDay) half = lowered[next++].step.has_value();
      saved += half ? 0.5 : 0.0;
    }
  }
  EXPECT_PUBLISHED("ADM Associates 2002, private offices with two switches; Jennings et al. 2000 have 0.23",
                   "saved by people who choose one of two equal switch legs, 500 lx together", "", 0.22,
                   saved / days, 0.05);
}

}  // namespace
}  // namespace halflight::sim
