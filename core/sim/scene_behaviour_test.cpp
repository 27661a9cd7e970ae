// What a scene does beside setting levels: daylight control, shades, demand response.
#include "sim/demand_response.hpp"
#include "sim/explain.hpp"
#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/replicate.hpp"
#include "sim/rule_year.hpp"
#include "sim/scene_targets.hpp"
#include "sim/way_at_work.hpp"

#include <algorithm>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

using Shades = domain::Scene::Shades;

/// Ten luminaires of 30 W that draw in proportion and follow daylight, in a room with somebody in all open
/// hours, and a scene "talk" that is called in `share` of them.
domain::Project room_with_talk(double share) {
  domain::Project project = ten_luminaires();
  project.spaces[0].occupancy.people = 12;
  project.drivers[1].dims = true;
  project.drivers[1].minimum_light = 0.05;
  project.drivers[1].power_at_zero = 0.0;
  project.drivers[1].standby_w = 0.0;
  domain::Shade cloth;
  cloth.id = "cloth";
  project.shades = {cloth};
  add_window(project);
  project.spaces[0].openings[0].shade = "cloth";
  domain::Design& proposal = project.designs[1];
  domain::Group all{"scenes", "room", domain::Strategy::scene, "A", {}};
  for (const domain::Luminaire& luminaire : proposal.luminaires) all.channels.push_back(luminaire.id);
  proposal.groups.push_back(all);
  domain::Scene talk;
  talk.id = "talk";
  talk.space = "room";
  talk.name = "Talk";
  talk.levels = {{"scenes", 1.0}};
  talk.use_fraction = share;
  proposal.scenes = {talk};
  add_daylight_loop(proposal, {5, 3, 2.7});
  proposal.sequences[0].daylight[0].minimum_level = 0.1;
  return project;
}

constexpr double kDay_lx = 240.0;
constexpr double kBehindCloth_lx = 40.0;

/// Daylight of 240 lx on the task, 40 lx behind the drawn shade; the photosensor reads a fifth of it. The sun
/// never makes anybody draw the shade.
void let_in(Bench& bench) {
  const std::size_t steps = bench.sunny.step.size();
  const auto constant = [&](double open_lx, double drawn_lx) {
    GroupSeries series;
    series.open.assign(steps, static_cast<float>(open_lx));
    series.drawn.assign(steps, static_cast<float>(drawn_lx));
    return RowSeries{series};
  };
  bench.daylight.tasks = {constant(kDay_lx, kBehindCloth_lx)};
  bench.daylight.sensors = {constant(0.2 * kDay_lx, 0.2 * kBehindCloth_lx)};
  bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
}

double year_wh(const domain::Project& project) {
  Bench bench(project);
  let_in(bench);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  return replicate.evaluate(way_of_proposal(bench.model)).light_wh;
}

domain::Project with(double share, bool follows_daylight, Shades shades = Shades::as_they_stand) {
  domain::Project project = room_with_talk(share);
  project.designs[1].scenes[0].follows_daylight = follows_daylight;
  project.designs[1].scenes[0].shades = shades;
  return project;
}

// HND-10: a scene that puts daylight aside draws full power in its own time and what the loop leaves in all
// other.
TEST(SceneBehaviour, AScenePutsDaylightControlAside) {
  const double follows_wh = year_wh(with(1.0, true));
  const double held_wh = year_wh(with(1.0, false));
  // What the loop takes off in the scene's time, instant by instant.
  Bench bench(with(1.0, true));
  let_in(bench);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  double taken_off_wh = 0.0;
  for (Seconds t = kStep_s / 2; t < kYear; t += kStep_s)
    for (const CellAtWork& now : work.at(t))
      if (now.scene != nullptr)
        taken_off_wh += (30.0 * static_cast<double>(now.cell->columns.size()) - now.light_w) *
                        static_cast<double>(kStep_s) / 3600.0;
  ASSERT_GT(taken_off_wh, 0.3 * held_wh);
  // Steps that people cut: an hour of full power in a hundred days.
  EXPECT_NEAR(held_wh, follows_wh + taken_off_wh, 0.005 * held_wh);
  EXPECT_NEAR(year_wh(with(0.0, false)), follows_wh, 1e-9 * follows_wh) << "never called";
  EXPECT_NEAR(year_wh(with(0.5, false)), 0.5 * (follows_wh + held_wh), 0.05 * held_wh);
}

// HND-10: behind drawn shades a loop finds a sixth of the daylight: as in a room that never has more.
TEST(SceneBehaviour, LoopsAnswerToTheDaylightBehindItsShades) {
  const double open_wh = year_wh(with(1.0, true));
  const double drawn_wh = year_wh(with(1.0, true, Shades::drawn));
  EXPECT_GT(drawn_wh, 1.2 * open_wh);
  EXPECT_LT(drawn_wh, 0.98 * year_wh(with(1.0, false)));
  EXPECT_NEAR(year_wh(with(1.0, true, Shades::raised)), open_wh, 1e-9 * open_wh) << "nobody draws them";
  domain::Project fixed = with(1.0, true, Shades::drawn);
  fixed.shades[0].operation = domain::Shade::Operation::fixed_open;
  EXPECT_NEAR(year_wh(fixed), open_wh, 1e-9 * open_wh) << "what does not move is not drawn";
}

TEST(SceneBehaviour, DaylightOnTheTaskIsThatBehindItsShades) {
  Bench bench(with(1.0, true, Shades::drawn));
  let_in(bench);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  const Seconds noon = 170 * kDay + 12 * kHour;
  EXPECT_NEAR(work.daylight_on_task_lx(0, noon), kBehindCloth_lx, 1e-3);
  EXPECT_EQ(work.at(noon).front().scene, &bench.project.designs[1].scenes[0]);
  // An hour before opening no scene is called.
  EXPECT_NEAR(work.daylight_on_task_lx(0, 170 * kDay + 7 * kHour), kDay_lx, 1e-3);
}

TEST(SceneBehaviour, ALoopIsNotBlamedForHoursThatAreNotItsOwn) {
  for (const bool follows : {true, false}) {
    Bench bench(with(1.0, follows));
    let_in(bench);
    Replicate replicate(bench.model, bench.daylight, Draws{});
    const std::vector<RuleYear> years = rule_years(replicate, way_of_proposal(bench.model));
    ASSERT_EQ(years.size(), 1U);
    if (follows)
      EXPECT_GT(years[0].hours, 1000.0);
    else
      EXPECT_EQ(years[0].hours, 0.0);
  }
}

TEST(SceneBehaviour, WordsOfAMinuteSayThatDaylightIsPutAside) {
  Bench bench(with(1.0, false));
  let_in(bench);
  const results::Moment moment =
      explain_moment(bench.model, bench.daylight, Draws{}, 170 * kDay + 12 * kHour);
  EXPECT_TRUE(std::any_of(moment.sentences.begin(), moment.sentences.end(), [](const std::string& sentence) {
    return sentence == "Scene Talk does not follow daylight and leaves day as it is asked for.";
  }));
}

// ARB-9: closed form, as in demand_response_test.cpp: a cap of 80 % takes 60 W off 300 W.
TEST(SceneBehaviour, ASceneKeepsItsLevelsInAnEvent) {
  for (const bool takes_part : {true, false}) {
    domain::Project project = with(1.0, false);
    project.designs[1].scenes[0].in_demand_response = takes_part;
    project.designs[1].sequences[0].demand_response = domain::DemandResponseRule{0.8};
    project.demand_events.events.push_back({{7, 15}, 14 * kHour, 7200.0});
    Bench bench(project);
    let_in(bench);
    bench.model.demand_events = {
        {{day_of_year({7, 15}) * kDay + 14 * kHour, day_of_year({7, 15}) * kDay + 16 * kHour}}};
    Replicate replicate(bench.model, bench.daylight, Draws{});
    const std::vector<EventRun> runs = event_runs(replicate);
    ASSERT_EQ(runs.size(), 1U);
    EXPECT_NEAR(runs[0].before_w, 300.0, 1e-9);
    EXPECT_NEAR(runs[0].shed_w, takes_part ? 60.0 : 0.0, 1e-9);
  }
}

double beside_talk_lx(const std::function<double(std::size_t)>& lx, Shades shades = Shades::as_they_stand) {
  Bench bench(with(1.0, true, shades));
  let_in(bench);
  for (std::size_t i = 0; i < bench.sunny.step.size(); ++i)
    bench.daylight.tasks[0][0].open[i] = static_cast<float>(lx(i));
  bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
  const std::span<const double> beside = daylight_beside(bench.model, "talk");
  EXPECT_EQ(beside.size(), 1U);
  return beside.empty() ? -1.0 : beside[0];
}

// The brightest twentieth of the time does not count: a spell in 4 % of it, but not one in 8 %.
TEST(SceneBehaviour, DaylightBesideASceneIsThatOfAllButItsBrightestTime) {
  EXPECT_NEAR(beside_talk_lx([](std::size_t i) { return i % 25 == 0 ? 1000.0 : 10.0; }), 10.0, 1e-3);
  EXPECT_NEAR(beside_talk_lx([](std::size_t i) { return i % 12 == 0 ? 1000.0 : 10.0; }), 1000.0, 1e-3);
  EXPECT_NEAR(beside_talk_lx([](std::size_t) { return 1000.0; }, Shades::drawn), kBehindCloth_lx, 1e-3);
}

TEST(SceneBehaviour, WhatIsAskedAtMostIsJudgedBesideDaylight) {
  using Verdict = results::Finding::Verdict;
  const auto judged = [](const domain::Project& project) {
    Bench bench(project);
    let_in(bench);
    results::SpaceStudy one;
    one.electric = electric_light(bench.model);
    double mean_lx = 0.0;
    for (const results::GroupLight& light : one.electric)
      for (const results::TaskAreaLight& area : light.task_areas)
        if (area.state == "scene Talk") mean_lx = area.mean_lx;
    const std::vector<results::Finding> findings = scene_target_findings(bench.model, one);
    return std::pair(findings, mean_lx);
  };
  const auto asked = [&](std::optional<double> least_lx, std::optional<double> most_lx, Shades shades) {
    domain::Project project = with(1.0, true, shades);
    project.designs[1].scenes[0].targets = {{"desk", least_lx, most_lx, {}, {}}};
    return project;
  };
  const double electric_lx = judged(room_with_talk(1.0)).second;
  ASSERT_GT(electric_lx, 50.0);
  const auto verdict_of = [&](const domain::Project& project) { return judged(project).first.at(0).verdict; };
  EXPECT_EQ(verdict_of(asked({}, electric_lx + kDay_lx + 1.0, Shades::as_they_stand)), Verdict::pass);
  const results::Finding by_day =
      judged(asked({}, electric_lx + kDay_lx - 1.0, Shades::as_they_stand)).first.at(0);
  EXPECT_EQ(by_day.verdict, Verdict::fail);
  EXPECT_NE(by_day.evidence.find("with daylight"), std::string::npos);
  EXPECT_NE(by_day.fix.find("shades"), std::string::npos);
  EXPECT_EQ(verdict_of(asked({}, electric_lx + kBehindCloth_lx + 1.0, Shades::drawn)), Verdict::pass);
  EXPECT_EQ(verdict_of(asked({}, electric_lx + kBehindCloth_lx - 1.0, Shades::drawn)), Verdict::fail);
  EXPECT_EQ(verdict_of(asked(electric_lx + 1.0, {}, Shades::as_they_stand)), Verdict::fail)
      << "daylight is no promise";
}

}  // namespace
}  // namespace halflight::sim
