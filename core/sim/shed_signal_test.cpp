#include "sim/shed_signal.hpp"

#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <map>
#include <string>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// The room of ten luminaires of 30 W that dim and draw in proportion, with a way out. A signal takes six of
/// them, the group "west", to a level; the way runs below the other four.
domain::Project shed_room(double level) {
  domain::Project project = ten_luminaires();
  for (domain::Driver& driver : project.drivers)
    if (driver.id == "new") {
      driver.dims = true;
      driver.minimum_light = 0.05;
      driver.power_at_zero = 0.0;
    }
  domain::Design& proposal = project.designs[1];
  domain::Group west;
  west.id = "west";
  west.space = "room";
  for (const domain::Luminaire& luminaire : proposal.luminaires)
    if (luminaire.at.x < 6.0) west.channels.push_back(luminaire.id);
  proposal.groups.push_back(west);
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{8, 1}, {8, 5}}}};
  proposal.sequences[0].load_shed = domain::LoadShedRule{"GEN", level, {"west"}};
  return project;
}

/// Ten lux on level ways out and on stairs, in normal states.
domain::CodeRule ten_lux_on_ways_out() {
  domain::CodeRule rule;
  rule.id = "ways";
  rule.code = "halflight";
  rule.requirement = domain::Requirement::egress_normal;
  for (const char* limit : {"level_min", "stair_min"}) rule.limits[limit] = {10.0, "lx", 10.0, {}};
  return rule;
}

results::ShedSignal signal_of(const Bench& bench) {
  const auto found = shed_signal(bench.model, egress_light(bench.model, bench.rules, false));
  EXPECT_TRUE(found);
  return found.value_or(results::ShedSignal{});
}

// ARB-10: closed form. Six of ten luminaires go from 180 W to a quarter of it; the others stay.
TEST(ShedSignal, TakesItsShareOfTheNamedGroupsAlone) {
  const Bench bench(shed_room(0.25));
  const results::ShedSignal signal = signal_of(bench);
  EXPECT_NEAR(signal.before_w, 300.0, 1e-9);
  EXPECT_NEAR(signal.shed_w, 0.75 * 180.0, 1e-9);
  const results::ShedSignal everything = [] {
    domain::Project project = shed_room(0.25);
    project.designs[1].sequences[0].load_shed->groups.clear();
    return signal_of(Bench(project));
  }();
  EXPECT_NEAR(everything.shed_w, 0.75 * 300.0, 1e-9);
  // Light is linear: with everything at a quarter a quarter is left.
  const results::ShedSignal nothing = [] {
    domain::Project project = shed_room(1.0);
    return signal_of(Bench(project));
  }();
  ASSERT_EQ(everything.tasks.size(), 1U);
  EXPECT_NEAR(everything.tasks[0].left_lx, 0.25 * nothing.tasks[0].left_lx, 1e-6 * nothing.tasks[0].left_lx);
  EXPECT_GT(signal.tasks[0].left_lx, everything.tasks[0].left_lx);
}

// ARB-10: demand response's own groups are named alike.
TEST(ShedSignal, TakesGroupsOfDemandResponseToo) {
  domain::Project project = shed_room(0.0);
  project.designs[1].groups[0].strategy = domain::Strategy::demand_response;
  EXPECT_NEAR(signal_of(Bench(project)).shed_w, 180.0, 1e-9);
}

// ARB-10
TEST(ShedSignal, WaysOutAreJudgedInItsStates) {
  domain::Project project = shed_room(0.0);
  // In the scene "talk" the luminaires over the way are off and the others carry it.
  domain::Group east;
  east.id = "east";
  east.space = "room";
  for (const domain::Luminaire& luminaire : project.designs[1].luminaires)
    if (luminaire.at.x > 6.0) east.channels.push_back(luminaire.id);
  project.designs[1].groups.push_back(east);
  domain::Scene talk;
  talk.id = "talk";
  talk.space = "room";
  talk.name = "Talk";
  talk.levels = {{"east", 0.0}, {"west", 1.0}};
  project.designs[1].scenes.push_back(talk);
  const Bench bench(project);
  std::map<std::string, double> least_lx;
  for (const results::EgressState& state : egress_light(bench.model, bench.rules, false))
    least_lx[state.state] = state.min_lx;
  ASSERT_TRUE(least_lx.contains("load shed"));
  EXPECT_GT(least_lx["scene Talk"], 0.0);
  EXPECT_EQ(least_lx["load shed, scene Talk"], 0.0);
  const results::ShedSignal signal = signal_of(bench);
  ASSERT_EQ(signal.ways.size(), 1U);
  EXPECT_EQ(signal.ways[0].state, "load shed, scene Talk");
}

// ARB-10: a design that leaves too little is not issued, and the finding says what is left.
TEST(ShedSignal, TooLittleOnAWayOutBlocksTheIssue) {
  domain::Project project = shed_room(0.0);
  project.designs[1].sequences[0].load_shed->groups.clear();
  Bench dark(project);
  dark.rules = {ten_lux_on_ways_out()};
  const results::Finding refused = shed_finding(signal_of(dark));
  EXPECT_EQ(refused.verdict, results::Finding::Verdict::fail);
  EXPECT_TRUE(refused.blocks_issue);
  EXPECT_NE(
      refused.evidence.find("GEN takes 300 W of 300 W off at once; on path way it leaves 0.0 lx at least, "
                            "10.0 lx asked (fails, load shed)"),
      std::string::npos)
      << refused.evidence;
  // With the luminaires over the way left alone it holds.
  Bench lit(shed_room(0.0));
  lit.rules = {ten_lux_on_ways_out()};
  EXPECT_EQ(shed_finding(signal_of(lit)).verdict, results::Finding::Verdict::pass);
  EXPECT_FALSE(shed_finding(signal_of(lit)).blocks_issue);
}

TEST(ShedSignal, TheBuildingAddsTheSpacesOfASignal) {
  results::SpaceStudy one;
  one.id = "1";
  one.shed_signal.emplace();
  one.shed_signal->interface = "GEN";
  one.shed_signal->before_w = 300.0;
  one.shed_signal->shed_w = 135.0;
  results::SpaceStudy two = one;
  two.id = "2";
  results::SpaceStudy other = one;
  other.id = "3";
  other.shed_signal->interface = "UTILITY";
  results::SpaceStudy without;
  const auto signals = shed_signals_of_building({one, other, without, two});
  ASSERT_EQ(signals.size(), 2U);
  EXPECT_EQ(signals[0].interface, "GEN");
  EXPECT_EQ(signals[0].spaces, (std::vector<std::string>{"1", "2"}));
  EXPECT_EQ(signals[0].shed_w, 270.0);
  EXPECT_EQ(signals[1].before_w, 300.0);
}

TEST(ShedSignal, WithoutARuleThereIsNone) {
  domain::Project project = shed_room(0.0);
  project.designs[1].sequences[0].load_shed.reset();
  const Bench bench(project);
  EXPECT_FALSE(shed_signal(bench.model, egress_light(bench.model, bench.rules, false)));
}

}  // namespace
}  // namespace halflight::sim
