// People who can dim choose their light: it changes energy, and counts with the scenes.
#include "sim/explain.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <algorithm>
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
    if (now.segment.cause != controls::Cause::dimmed_by_hand) continue;
    ++told;
    EXPECT_LT(now.level, 0.95);
    const results::Moment why = explain_moment(work, t);
    EXPECT_TRUE(std::any_of(why.sentences.begin(), why.sentences.end(), [](const std::string& sentence) {
      return sentence.find("dimmed by hand") != std::string::npos;
    }));
    EXPECT_EQ(groups_at_work(work, t).front().decided_by, "by hand");
  }
  EXPECT_GT(told, 10);
}

}  // namespace
}  // namespace halflight::sim
