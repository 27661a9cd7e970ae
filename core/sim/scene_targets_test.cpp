#include "sim/scene_targets.hpp"

#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/visual_comfort.hpp"

#include <string>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// Closed form of a matt screen: 300 cd/m2 of white, 0.3 of black, all of it reflected: the veil of E lx is
/// E / pi. A ratio of 100 leaves (300 - 30) / 99 = 2.727 cd/m2, 8.568 lx.
TEST(SceneTargets, AScreenBearsWhatItsContrastLeaves) {
  domain::Screen screen;
  screen.white_cd_m2 = 300.0;
  screen.black_cd_m2 = 0.3;
  screen.reflectance = 1.0;
  EXPECT_NEAR(most_on_screen_lx(screen, 100.0), 270.0 / 99.0 * kPi, 1e-12);
  screen.reflectance = 0.5;
  EXPECT_NEAR(most_on_screen_lx(screen, 100.0), 2.0 * 270.0 / 99.0 * kPi, 1e-12);
  EXPECT_LT(most_on_screen_lx(screen, 2000.0), 0.0) << "more than its own in the dark";
}

domain::Project room_with_targets(std::vector<domain::SceneTarget> targets, double level) {
  domain::Project project = ten_luminaires();
  project.drivers[1].dims = true;
  domain::Design& proposal = project.designs[1];
  domain::Group all{"all", "room", domain::Strategy::scene, "A", {}};
  for (const domain::Luminaire& luminaire : proposal.luminaires) all.channels.push_back(luminaire.id);
  proposal.groups.push_back(all);
  domain::Scene scene;
  scene.id = "talk";
  scene.space = "room";
  scene.name = "Talk";
  scene.levels = {{"all", level}};
  scene.targets = std::move(targets);
  proposal.scenes = {scene};
  return project;
}

results::Finding finding_of(const domain::Project& project) {
  const Bench bench(project);
  results::SpaceStudy one;
  one.electric = electric_light(bench.model);
  const std::vector<results::Finding> findings = scene_target_findings(bench.model, one);
  EXPECT_EQ(findings.size(), 1U);
  return findings.empty() ? results::Finding{} : findings.front();
}

double mean_at(double level) {
  const Bench bench(room_with_targets({}, level));
  for (const results::GroupLight& light : electric_light(bench.model))
    for (const results::TaskAreaLight& area : light.task_areas)
      if (area.state == "scene Talk") return area.mean_lx;
  return 0.0;
}

TEST(SceneTargets, AreJudgedByTheLightOfTheScene) {
  using Verdict = results::Finding::Verdict;
  const std::string task = ten_luminaires().spaces[0].task_areas.front().id;
  const double half_lx = mean_at(0.5);
  ASSERT_GT(half_lx, 10.0);
  EXPECT_EQ(finding_of(room_with_targets({{task, half_lx - 1.0, half_lx + 1.0, 0.01, {}}}, 0.5)).verdict,
            Verdict::pass);
  const results::Finding dark = finding_of(room_with_targets({{task, half_lx + 1.0, {}, {}, {}}}, 0.5));
  EXPECT_EQ(dark.verdict, Verdict::fail);
  EXPECT_NE(dark.evidence.find("(fails)"), std::string::npos);
  EXPECT_EQ(finding_of(room_with_targets({{task, {}, half_lx - 1.0, {}, {}}}, 0.5)).verdict, Verdict::fail);
  EXPECT_EQ(finding_of(room_with_targets({{task, {}, {}, 1.0, {}}}, 0.5)).verdict, Verdict::fail);
  EXPECT_EQ(finding_of(room_with_targets({{task, {}, half_lx - 1.0, {}, {}}}, 0.25)).verdict, Verdict::pass);
}

}  // namespace
}  // namespace halflight::sim
