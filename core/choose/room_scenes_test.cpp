#include "choose/room_scenes.hpp"

#include "sim/electric_states.hpp"
#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

/// Ten luminaires of 30 W that dim in proportion from 5 % on, four of them in the western group and six in
/// the eastern, and a scene with targets on the room's task area.
domain::Project room(std::vector<domain::SceneTarget> targets, double least_light = 0.05) {
  domain::Project project = sim::ten_luminaires();
  for (domain::Driver& driver : project.drivers)
    if (driver.id == "new") {
      driver.dims = true;
      driver.minimum_light = least_light;
      driver.power_at_zero = 0.0;
    }
  domain::Design& proposal = project.designs[1];
  domain::Group west{"west", "room", domain::Strategy::scene, "West", {}};
  domain::Group east{"east", "room", domain::Strategy::scene, "East", {}};
  for (std::size_t i = 0; i < proposal.luminaires.size(); ++i)
    (proposal.luminaires[i].at.x < 5.0 ? west : east).channels.push_back(proposal.luminaires[i].id);
  proposal.groups = {west, east};
  proposal.sequences[0].daylight.clear();
  proposal.sequences[0].trim.reset();
  domain::Scene scene;
  scene.id = "talk";
  scene.space = "room";
  scene.name = "Talk";
  scene.levels = {{"west", 1.0}, {"east", 0.5}};
  scene.targets = std::move(targets);
  proposal.scenes = {scene};
  proposal.sequences[0].normal_scene.clear();
  return project;
}

/// Ten lux on ways out, in normal states.
std::vector<domain::CodeRule> ten_lux_on_ways_out() {
  domain::CodeRule rule;
  rule.id = "ways";
  rule.code = "halflight";
  rule.requirement = domain::Requirement::egress_normal;
  for (const char* limit : {"level_min", "stair_min"}) rule.limits[limit] = {10.0, "lx", 10.0, {}};
  return {rule};
}

RoomScene proposed(const domain::Project& project) {
  const sim::Bench bench(project);
  const SceneInRoom place{&bench.model, sim::scenes_of(bench.model).front()};
  Result<RoomScene> found = propose_scene(std::span(&place, 1), ten_lux_on_ways_out());
  EXPECT_TRUE(found);
  return found ? *std::move(found) : RoomScene{};
}

/// What the study says of the task area with those levels: the light is computed by another path.
double mean_by_study(domain::Project project, double west, double east) {
  project.designs[1].scenes[0].levels = {{"west", west}, {"east", east}};
  const sim::Bench bench(project);
  for (const results::GroupLight& light : sim::electric_light(bench.model))
    for (const results::TaskAreaLight& area : light.task_areas)
      if (area.state == "scene Talk") return area.mean_lx;
  return 0.0;
}

const std::string kTask = sim::ten_luminaires().spaces[0].task_areas.front().id;

TEST(RoomScenes, LevelsHoldInTheStudyAndASmallerSumOfStepsDoesNot) {
  const double full_lx = mean_by_study(room({}), 1.0, 1.0);
  ASSERT_GT(full_lx, 50.0);
  const domain::Project project = room({{kTask, 0.4 * full_lx, {}, {}, {}}});
  const RoomScene scene = proposed(project);
  const auto* levels = std::get_if<SceneLevels>(&scene.found);
  ASSERT_NE(levels, nullptr);
  const double west = levels->level[0];
  const double east = levels->level[1];
  EXPECT_GE(mean_by_study(project, west, east), 0.4 * full_lx * (1.0 - 1e-9));
  EXPECT_NEAR(levels->kept[0].reached, mean_by_study(project, west, east), 1e-9 * full_lx);
  EXPECT_NEAR(scene.demands[0].now, mean_by_study(project, 1.0, 0.5), 1e-9 * full_lx);
  // Closed form: 4 x 30 W and 6 x 30 W, in proportion to the levels.
  EXPECT_NEAR(scene.proposed_w, 120.0 * west + 180.0 * east, 1e-6);
  EXPECT_NEAR(scene.now_w, 120.0 + 90.0, 1e-6);
  // Every pair of steps that draws less leaves too little.
  const double west_lx = mean_by_study(project, 1.0, 0.0);
  const double east_lx = mean_by_study(project, 0.0, 1.0);
  for (int i = 0; i <= 20; ++i)
    for (int j = 0; j <= 20; ++j)
      if ((120.0 * i + 180.0 * j) / 20.0 < scene.proposed_w - 1.0) {
        EXPECT_LT((i * west_lx + j * east_lx) / 20.0, 0.4 * full_lx);
      }
}

TEST(RoomScenes, AGroupThatOnlySwitchesIsOnOrOff) {
  const double full_lx = mean_by_study(room({}), 1.0, 1.0);
  domain::Project project = room({{kTask, 0.3 * full_lx, {}, {}, {}}});
  for (domain::Driver& driver : project.drivers) driver.dims = false;
  const RoomScene scene = proposed(project);
  const auto* levels = std::get_if<SceneLevels>(&scene.found);
  ASSERT_NE(levels, nullptr);
  for (const double level : levels->level) EXPECT_TRUE(level == 0.0 || level == 1.0) << level;
}

TEST(RoomScenes, WhatCannotBeHeldTogetherIsNamedWithHowFarItComes) {
  const double full_lx = mean_by_study(room({}), 1.0, 1.0);
  const RoomScene scene = proposed(room({{kTask, 1.5 * full_lx, {}, {}, {}}}));
  const auto* conflict = std::get_if<SceneConflict>(&scene.found);
  ASSERT_NE(conflict, nullptr);
  ASSERT_EQ(conflict->members.size(), 1U);
  EXPECT_NEAR(conflict->members[0].attainable, full_lx, 0.1);
  EXPECT_NE(in_words(scene.demands[0]).find("at least"), std::string::npos);
}

TEST(RoomScenes, AWayOutIsNeverLeftInTheDark) {
  domain::Project project = room({{kTask, {}, 1.0, {}, {}}});
  const RoomScene dark = proposed(project);
  ASSERT_NE(std::get_if<SceneLevels>(&dark.found), nullptr);
  EXPECT_EQ(std::get<SceneLevels>(dark.found).power_w, 0.0);
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{8, 1}, {8, 5}}}};
  const RoomScene lit = proposed(project);
  // In a room of one light the task and the way cannot be told apart so far.
  const auto* conflict = std::get_if<SceneConflict>(&lit.found);
  ASSERT_NE(conflict, nullptr);
  EXPECT_EQ(conflict->members.size(), 2U);
  EXPECT_NE(in_words(lit.demands[1]).find("way out way at least 10 lx everywhere"), std::string::npos)
      << in_words(lit.demands[1]);
}

TEST(RoomScenes, NeighboursDifferByNoMoreThanTheStepThatIsAllowed) {
  const domain::Project project = room({{"desk", 250.0, std::nullopt, std::nullopt, std::nullopt}});
  const sim::Bench bench(project);
  const SceneInRoom place{&bench.model, sim::scenes_of(bench.model).front()};
  const auto levels = [&](const SceneLook& look) {
    const Result<RoomScene> found = propose_scene(std::span(&place, 1), ten_lux_on_ways_out(), look);
    EXPECT_TRUE(found);
    return std::get<SceneLevels>(found->found);
  };
  const SceneLevels free = levels({});
  const SceneLevels even = levels({.largest_step = 0.0});
  const SceneLevels near = levels({.largest_step = 0.1});
  EXPECT_GT(std::abs(free.level[0] - free.level[1]), 0.1 + 1e-9);  // else nothing is tested
  EXPECT_EQ(even.level[0], even.level[1]);
  EXPECT_LE(std::abs(near.level[0] - near.level[1]), 0.1 + 1e-9);
  // What looks more alike draws more.
  EXPECT_LE(free.power_w, near.power_w);
  EXPECT_LE(near.power_w, even.power_w);
  const Result<RoomScene> said =
      propose_scene(std::span(&place, 1), ten_lux_on_ways_out(), {.largest_step = 0.1});
  EXPECT_EQ(in_words(said->demands.back()), "West and East at most 10 % apart");
}

// By day the daylight that stands beside a scene counts against what is asked at most, not for what is asked
// at least.
TEST(RoomScenes, LeaveRoomForTheDaylightBesideThem) {
  const double full_lx = mean_by_study(room({}), 1.0, 1.0);
  const auto with_daylight = [&](double daylight_lx, double least_lx, double most_lx) {
    const domain::Project project = room({{kTask, least_lx, most_lx, {}, {}}});
    sim::Bench bench(project);
    bench.model.by_day = {{"talk", {daylight_lx}}};
    const SceneInRoom place{&bench.model, sim::scenes_of(bench.model).front()};
    Result<RoomScene> found = propose_scene(std::span(&place, 1), ten_lux_on_ways_out());
    EXPECT_TRUE(found);
    return *std::move(found);
  };
  const double least_lx = 0.3 * full_lx;
  const RoomScene holds = with_daylight(0.1 * full_lx, least_lx, 0.5 * full_lx);
  const auto* levels = std::get_if<SceneLevels>(&holds.found);
  ASSERT_NE(levels, nullptr);
  EXPECT_GE(mean_by_study(room({}), levels->level[0], levels->level[1]), least_lx * (1.0 - 1e-9));
  EXPECT_LE(levels->kept[1].reached, 0.5 * full_lx * (1.0 + 1e-9));
  EXPECT_NEAR(levels->kept[1].reached - levels->kept[0].reached, 0.1 * full_lx, 1e-6 * full_lx);
  EXPECT_NE(in_words(holds.demands[1]).find("lx of daylight"), std::string::npos);
  const RoomScene odds = with_daylight(0.3 * full_lx, least_lx, 0.5 * full_lx);
  const auto* conflict = std::get_if<SceneConflict>(&odds.found);
  ASSERT_NE(conflict, nullptr);
  EXPECT_EQ(conflict->members.size(), 2U);
  const RoomScene alone = with_daylight(0.6 * full_lx, least_lx, 0.5 * full_lx);
  ASSERT_NE(std::get_if<SceneConflict>(&alone.found), nullptr);
  EXPECT_EQ(std::get<SceneConflict>(alone.found).members.size(), 1U) << "daylight alone is too much";
}

TEST(RoomScenes, OfWhatAsksForNothingIsNone) {
  const domain::Project project = room({});
  const sim::Bench bench(project);
  const SceneInRoom place{&bench.model, sim::scenes_of(bench.model).front()};
  const Result<RoomScene> found = propose_scene(std::span(&place, 1), ten_lux_on_ways_out());
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().front().where, "talk");
}

}  // namespace
}  // namespace halflight::choose
