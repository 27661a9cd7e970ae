// Usual scenes, and which luminaires they set apart, against brute force.
#include "choose/scene_set.hpp"

#include "choose/proposal_room_test.hpp"
#include "choose/room_proposals.hpp"
#include "choose/room_scenes.hpp"
#include "sim/electric_states.hpp"
#include "sim/scene_targets.hpp"

#include <algorithm>
#include <limits>
#include <set>
#include <string>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

/// A talk by a third of the light on the desk, and contrast on screens.
domain::SpaceKind meeting(double contrast = 15.0) {
  domain::SpaceKind kind;
  kind.id = "office";
  kind.start.vacancy = domain::VacancyRule{};
  domain::UsualScene talk;
  talk.name = "Talk it over";
  talk.target_share = 0.3;
  talk.contrast = contrast;
  talk.shades = domain::Scene::Shades::drawn;
  talk.follows_daylight = false;
  domain::UsualScene clean;
  clean.name = "Clean";
  clean.target_share = 0.52;
  kind.start.scenes = {talk, clean};
  return kind;
}

/// The small office with a screen on its western wall and no window.
domain::Project with_screen() {
  domain::Project project = bare_office();
  project.spaces[0].openings.clear();
  domain::TaskArea board;
  board.id = "board";
  board.plane = domain::TaskArea::Plane::vertical;
  board.plan = {{0.02, 2.0}, {0.12, 2.0}, {0.12, 4.0}, {0.02, 4.0}};
  board.height_m = 1.5;
  board.facing_deg = 90.0;
  board.target_lx = 200.0;
  board.screen.emplace();
  board.screen->white_cd_m2 = 100.0;
  board.screen->black_cd_m2 = 0.2;
  board.screen->reflectance = 0.9;
  project.spaces[0].task_areas.push_back(board);
  return project;
}

class SceneSetTest : public ProposalTest {
 protected:
  SceneSet set_of(const domain::Project& project, const domain::SpaceKind& kind) {
    const sim::StudyInputs its = inputs(project);
    const sim::DesignTrials trials(its, options_, 0, context_, log_);
    EXPECT_EQ(trials.why_dark(), "");
    const RoomControls controls = controls_of(project, project.designs[1], "room");
    return scene_set(trials, project, kind, controls, fixed_luminaires(project, project.designs[1], "room"),
                     "room-", {"room-normal-1"});
  }
  /// Least watts of the scene "Talk it over" where the luminaires whose numbers are in `front` stand apart;
  /// none where no levels hold it. Levels by brute force on steps of 5 %, light from the study's own states.
  double least_talk_w(const domain::Project& project, const domain::SpaceKind& kind, unsigned front) {
    const sim::StudyInputs its = inputs(project);
    const sim::DesignTrials trials(its, options_, 0, context_, log_);
    RoomControls with = controls_of(project, project.designs[1], "room");
    domain::Group apart{"front", "room", domain::Strategy::scene, "", {}};
    domain::Group rest{"rest", "room", domain::Strategy::scene, "", {}};
    for (unsigned i = 0; i < 8; ++i)
      ((front >> i & 1U) != 0 ? apart : rest).channels.push_back("proposal" + std::to_string(i));
    with.groups = {apart, rest};
    with.sequence.trim.emplace();
    const domain::Project tried = with_controls(project, "room", with);
    const auto room = trials.room(tried);
    const sim::SpaceModel& model = room->model;
    const double trim = sim::trim_in_force(model);
    const auto lx = [&](std::size_t task, double a, double b) {
      const sim::ColumnLevels level = sim::levels(
          model, [&](const sim::ControlCell& cell) { return trim * (cell.scene_group == "front" ? a : b); });
      return sim::mean_lx(model.lit->task_rows[task], sim::light_weights(model, level, true), 1.0);
    };
    const double most_lx =
        sim::most_on_screen_lx(*project.spaces[0].task_areas[1].screen, *kind.start.scenes[0].contrast);
    double least_w = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= 20; ++i)
      for (int j = 0; j <= 20; ++j) {
        const double a = i / 20.0;
        const double b = j / 20.0;
        if (lx(0, a, b) < 0.3 * 300.0 || lx(1, a, b) > most_lx) continue;
        least_w = std::min(least_w, sim::power_w(model, sim::levels(model, [&](const sim::ControlCell& cell) {
                                                   return trim * (cell.scene_group == "front" ? a : b);
                                                 })));
      }
    return least_w;
  }
};

TEST_F(SceneSetTest, UsualScenesSayWhatTheyAreFor) {
  domain::Project project = with_screen();
  const std::vector<std::string> groups = {"a", "b"};
  const auto ids = [](const std::string& stem) { return stem + "1"; };
  const auto scenes = usual_scenes(meeting(), project, project.spaces[0], groups, ids);
  ASSERT_EQ(scenes.size(), 2U);
  EXPECT_EQ(scenes[0].id, "talk-it-over-1");
  ASSERT_EQ(scenes[0].targets.size(), 2U);
  EXPECT_NEAR(scenes[0].targets[0].least_lx.value_or(0.0), 90.0, 1e-9);
  EXPECT_EQ(scenes[0].targets[1].contrast, 15.0);
  EXPECT_FALSE(scenes[0].follows_daylight);
  EXPECT_EQ(scenes[0].shades, domain::Scene::Shades::as_they_stand) << "there is none that moves";
  ASSERT_EQ(scenes[1].levels.size(), 2U);
  EXPECT_NEAR(scenes[1].levels[1].level, 0.55, 1e-9) << "the step above 0.52";
  project.spaces[0].task_areas.pop_back();
  EXPECT_EQ(usual_scenes(meeting(), project, project.spaces[0], groups, ids).size(), 1U) << "no screen";
}

TEST_F(SceneSetTest, LuminairesByTheScreenStandApartWhereThatSavesMost) {
  const domain::Project project = with_screen();
  // Between what the screen bears with all at one level and with its own column off.
  domain::SpaceKind kind = meeting(9.0);
  kind.start.scenes.resize(1);
  const SceneSet set = set_of(project, kind);
  ASSERT_EQ(set.scenes.size(), 2U) << (set.why.empty() ? "" : set.why.front());
  ASSERT_EQ(set.groups.size(), 2U);
  // Columns of luminaires from the west: 0 and 4, 1 and 5, ...
  const std::set<std::string> front(set.groups[0].channels.begin(), set.groups[0].channels.end());
  EXPECT_TRUE(front.contains("proposal0") && front.contains("proposal4"));
  EXPECT_EQ(front.size() % 2, 0U) << "mirror images stay together";
  unsigned mine = 0;
  for (const std::string& id : front) mine |= 1U << (id.back() - '0');
  const double mine_w = least_talk_w(project, kind, mine);
  double least_w = std::numeric_limits<double>::infinity();
  // The nearer to the screen a column is, the more of its light lies on it.
  for (const unsigned columns : {1U, 3U, 7U})
    least_w = std::min(least_w, least_talk_w(project, kind, columns | columns << 4U));
  EXPECT_NEAR(mine_w, least_w, 1e-6);
  EXPECT_LT(mine_w, 0.95 * least_talk_w(project, kind, 255)) << "worth a group";
  EXPECT_EQ(set.scenes[0].name, "Normal");
  EXPECT_NE(set.scenes[0].id, "room-normal-1") << "taken";
}

TEST_F(SceneSetTest, WithoutAScreenAllStandTogether) {
  domain::Project project = with_screen();
  project.spaces[0].task_areas.pop_back();
  const SceneSet set = set_of(project, meeting());
  EXPECT_EQ(set.groups.size(), 1U);
  ASSERT_EQ(set.scenes.size(), 2U);
  EXPECT_EQ(set.scenes[1].name, "Clean");
  ASSERT_EQ(set.scenes[1].levels.size(), 1U);
  EXPECT_NEAR(set.scenes[1].levels[0].level, 0.55, 1e-9) << "trim just holds the target: closed form";
}

TEST_F(SceneSetTest, ASceneThatNothingHoldsIsLeftOutWithTheReason) {
  const SceneSet set = set_of(with_screen(), meeting(400.0));
  ASSERT_EQ(set.scenes.size(), 2U);
  ASSERT_FALSE(set.why.empty());
  EXPECT_NE(set.why.front().find("Scene Talk it over is left out"), std::string::npos) << set.why.front();
}

TEST_F(SceneSetTest, ProposalsHaveTheScenesOfTheKindAndButtonsForThem) {
  library_.kinds = {meeting(9.0)};
  for (domain::DeviceKind& kind : library_.device_kinds)
    if (kind.id == "station_four") kind.buttons = 6;
  const domain::Project project = with_screen();
  const sim::StudyInputs its = inputs(project);
  const Result<RoomProposals> found = propose_room(its, 0, {{}, options_}, context_, log_);
  ASSERT_TRUE(found);
  bool any = false;
  for (const RoomDesign& design : found->designs) {
    if (design.controls.scenes.size() < 3 || design.controls.stations.empty()) continue;
    any = true;
    // The screen is in the middle of the western wall, 2 m to 4 m of 6 m; the door is far from it.
    ASSERT_EQ(design.controls.stations.size(), 2U);
    const Point3 at = design.controls.stations[1].at;
    EXPECT_NEAR(at.x, 0.05, 1e-9);
    EXPECT_TRUE(std::abs(at.y - 1.7) < 1e-9 || std::abs(at.y - 4.3) < 1e-9) << at.y;
    for (const domain::Scene& scene : design.controls.scenes) {
      const std::vector<std::string>& buttons = design.controls.stations.front().buttons;
      EXPECT_NE(std::find(buttons.begin(), buttons.end(), scene.id), buttons.end()) << scene.id;
    }
    for (const results::Finding& finding : design.trial.findings)
      if (finding.rule == "scene-holds-its-targets") {
        EXPECT_EQ(finding.verdict, results::Finding::Verdict::pass) << finding.evidence;
      }
  }
  EXPECT_TRUE(any);
}

}  // namespace
}  // namespace halflight::choose
