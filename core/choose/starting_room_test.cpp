#include "choose/lumen_method.hpp"
#include "choose/starting_control.hpp"
#include "choose/starting_light.hpp"
#include "photometry/flux.hpp"
#include "photometry/synthetic.hpp"
#include "sim/lit_space.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using domain::LuminaireType;

LuminaireType panel() {
  LuminaireType type;
  type.id = "panel";
  type.name = "panel";
  domain::Channel channel;
  channel.id = "all";
  channel.driver = "d";
  channel.input_w = 30.0;
  channel.lumens = 3600.0;
  channel.photometry.formula = "cosine_down";
  type.channels.push_back(channel);
  return type;
}

/// 8 m x 6 m x 2.7 m with windows in the southern wall and a door in the northern one.
domain::Project office() {
  domain::Project project;
  project.id = "test";
  project.calendars.emplace_back().id = "open";
  project.storeys.emplace_back().id = "ground";
  domain::Space space;
  space.id = "101";
  space.kind = "office";
  space.storey = "ground";
  space.floor = {{0, 0}, {8, 0}, {8, 6}, {0, 6}};
  space.height_m = 2.7;
  domain::TaskArea task;
  task.id = "floor";
  task.plan = {{0.5, 0.5}, {7.5, 0.5}, {7.5, 5.5}, {0.5, 5.5}};
  task.target_lx = 500.0;
  space.task_areas.push_back(task);
  project.glazings.emplace_back().id = "glass";
  for (const double offset : {0.6, 4.6}) {
    domain::Opening window;
    window.id = offset < 1.0 ? "W1" : "W2";
    window.offset_m = offset;
    window.width_m = 2.8;
    window.height_m = 1.6;
    window.glazing = "glass";
    space.openings.push_back(window);
  }
  domain::Door door;
  door.id = "D1";
  door.wall = 2;
  door.offset_m = 1.0;
  space.doors.push_back(door);
  project.spaces.push_back(space);
  project.luminaire_types.push_back(panel());
  return project;
}

domain::SpaceKind kind() {
  domain::SpaceKind kind;
  kind.id = "office";
  kind.start.luminaire_type = "panel";
  kind.start.vacancy = domain::VacancyRule{};
  return kind;
}

class StartingRoomTest : public testing::Test {
 protected:
  LitGrid fewest() {
    auto room = TrialRoom::make(inputs(), 0, context_);
    EXPECT_TRUE(room) << (room ? "" : to_text(room.error().front()));
    auto lit = (*room)->fewest("panel");
    EXPECT_TRUE(lit) << (lit ? "" : to_text(lit.error().front()));
    return *std::move(lit);
  }
  const sim::StudyInputs& inputs() {
    inputs_.emplace(sim::StudyInputs{project_, library_, rules_, {}, {}, {}, {}});
    return *inputs_;
  }
  RoomForControl asked() { return {project_, project_.spaces[0], kind_, zones_, "101-"}; }

  domain::Project project_ = office();
  domain::Library library_;
  domain::SpaceKind kind_ = kind();
  domain::DaylightZoneRule zones_;
  std::vector<domain::CodeRule> rules_;
  std::optional<sim::StudyInputs> inputs_;
  SerialExecutor executor_;
  std::unique_ptr<BlobStore> blobs_ = make_memory_blob_store();
  Context context_{executor_, *blobs_, nullptr, {}};
};

TEST_F(StartingRoomTest, HoldsTheTargetInTheRoomsOwnLightWithTheFewest) {
  project_.spaces[0].task_areas[0].target_lx = 900.0;  // so that light decides and not the spacing
  const LitGrid lit = fewest();
  ASSERT_EQ(lit.tasks.size(), 1u);
  EXPECT_TRUE(lit.holds_targets());
  // As the study computes it.
  domain::Design design;
  design.role = domain::Design::Role::proposal;
  design.luminaires = starting_room(asked(), project_.luminaire_types[0], lit).luminaires;
  project_.designs = {design};
  climate::SkyDivision sky(2);
  daylight::Outside none(sky, daylight::Compass(0.0), std::span<const daylight::OutsideSolid>());
  lightresponse::StageLog log;
  const auto studied =
      sim::light_space(inputs(), 0, none, sim::light_options(sim::Accuracy::design), {}, context_, log);
  ASSERT_TRUE(studied);
  double mean_lx = 0.0;
  const lightresponse::PointRows& rows = studied->task_rows[0];
  for (std::size_t p = 0; p < rows.points; ++p)
    for (const float lx : rows.electric_of(p)) mean_lx += lx * 0.88 * 0.92 / static_cast<double>(rows.points);
  EXPECT_NEAR(mean_lx, lit.tasks[0].mean_lx, lit.error_lx);
  EXPECT_GE(mean_lx, 900.0 - lit.error_lx);
  EXPECT_LT(lit.error_lx, 15.0);

  // One fewer does not hold it: of the grids that keep the spacing limits the next smaller one.
  auto room = TrialRoom::make(inputs(), 0, context_);
  GridWish wish;
  const auto light = lightresponse::distribution_of(panel(), panel().channels[0], {});
  ASSERT_TRUE(light);
  wish.widest_along_m = *photometry::spacing_to_height(*light, 0.0) * (2.7 - 0.75);
  wish.widest_across_m = *photometry::spacing_to_height(*light, 90.0) * (2.7 - 0.75);
  EXPECT_LE(lit.grid.along_m, *wish.widest_along_m);
  EXPECT_LE(lit.grid.across_m, *wish.widest_across_m);
  const auto grids = luminaire_grids(project_.spaces[0].floor, wish);
  const auto next = std::find_if(grids.rbegin(), grids.rend(),
                                 [&](const auto& g) { return g.at.size() < lit.grid.at.size(); });
  ASSERT_NE(next, grids.rend());
  const auto fewer = (*room)->of_count("panel", next->at.size());
  ASSERT_TRUE(fewer);
  EXPECT_FALSE(fewer->holds_targets());
}

TEST_F(StartingRoomTest, TheLumenMethodIsNearTheRoomsOwnLight) {
  const LitGrid lit = fewest();
  const double per_luminaire = lit.tasks[0].mean_lx / static_cast<double>(lit.grid.at.size());
  const double estimate = 500.0 / lit.needed;
  // Even light over the whole floor against a grid and the floor without its edge: a few per cent apart.
  EXPECT_NEAR(estimate / per_luminaire, 1.0, 0.12);
}

TEST_F(StartingRoomTest, SaysWhatCannotBe) {
  auto room = TrialRoom::make(inputs(), 0, context_);
  ASSERT_TRUE(room);
  EXPECT_NE((*room)->fewest("nobody").error().front().problem.find("nobody"), std::string::npos);
  project_.spaces[0].task_areas[0].target_lx = 19'000.0;
  auto dark = TrialRoom::make(inputs(), 0, context_);
  const auto brightest = (*dark)->fewest("panel");
  ASSERT_TRUE(brightest);
  EXPECT_FALSE(brightest->holds_targets());
  project_.spaces[0].height_m = 0.9;
  auto low = TrialRoom::make(inputs(), 0, context_);
  ASSERT_FALSE(low && (*low)->fewest("panel"));
  project_.spaces[0].task_areas.clear();
  EXPECT_FALSE(TrialRoom::make(inputs(), 0, context_));
}

TEST_F(StartingRoomTest, GroupsEveryLuminaireOnceForEachStrategyThatIsUsed) {
  const StartingRoom start = starting_room(asked(), project_.luminaire_types[0], fewest());
  std::multiset<std::string> in_scene;
  std::multiset<std::string> in_daylight;
  std::size_t rows = 0;
  for (const domain::Group& group : start.groups) {
    if (group.strategy == domain::Strategy::scene) {
      ++rows;
      in_scene.insert(group.channels.begin(), group.channels.end());
    }
    if (group.strategy == domain::Strategy::daylight)
      in_daylight.insert(group.channels.begin(), group.channels.end());
    if (group.strategy == domain::Strategy::occupancy) {
      EXPECT_EQ(group.channels.size(), start.luminaires.size());
    }
  }
  EXPECT_GE(rows, 2u);
  EXPECT_EQ(in_scene.size(), start.luminaires.size());
  for (const std::string& id : in_daylight) EXPECT_EQ(in_daylight.count(id), 1u) << id;
  EXPECT_FALSE(in_daylight.empty());
  EXPECT_EQ(start.sequence.daylight.size(), start.photosensors.size());
  // Those by the windows are in it, those by the far wall are not.
  for (const domain::Luminaire& l : start.luminaires) {
    if (l.at.y < 1.6) {
      EXPECT_EQ(in_daylight.count(l.id), 1u) << l.id;
    }
  }
  EXPECT_EQ(start.scenes.front().levels.size(), rows);
}

TEST_F(StartingRoomTest, LooksOutOfTheWindowForTheSecondaryZone) {
  const LitGrid lit = fewest();
  const StartingRoom start = starting_room(asked(), panel(), lit);
  using Method = domain::DaylightRule::Method;
  std::size_t open = 0;
  for (const domain::DaylightRule& rule : start.sequence.daylight) {
    const auto* group = domain::find_by_id(start.groups, rule.group);
    const auto* sensor = domain::find_by_id(start.photosensors, rule.photosensor);
    ASSERT_NE(group, nullptr);
    ASSERT_NE(sensor, nullptr);
    const bool is_secondary = group->name.starts_with("secondary");
    EXPECT_EQ(rule.method, is_secondary ? Method::open_loop_proportional : Method::closed_loop_proportional);
    EXPECT_EQ(sensor->loop,
              is_secondary ? domain::Photosensor::Loop::open : domain::Photosensor::Loop::closed);
    if (!is_secondary) continue;
    ++open;
    EXPECT_LT(sensor->at.y, 1.0);               // the windows are in the wall y = 0,
    EXPECT_NEAR(sensor->aim_deg, 180.0, 1e-9);  // which faces south
  }
  EXPECT_EQ(open, 1u);
  zones_.secondary_depth_head_heights = zones_.primary_depth_head_heights;
  EXPECT_EQ(starting_room(asked(), panel(), lit).sequence.daylight.size(),
            start.sequence.daylight.size() - 1);
}

TEST_F(StartingRoomTest, FollowsTheKindAndTheOwner) {
  const LitGrid lit = fewest();
  kind_.start.on.by = domain::OnRule::By::occupancy;
  EXPECT_EQ(starting_room(asked(), panel(), lit).sequence.on.by, domain::OnRule::By::occupancy);
  project_.requirements.automatic_on_allowed = false;
  const StartingRoom by_hand = starting_room(asked(), panel(), lit);
  EXPECT_EQ(by_hand.sequence.on.by, domain::OnRule::By::hand);
  EXPECT_FALSE(by_hand.notes.empty());
  project_.spaces[0].automatic_off_refused = true;
  const StartingRoom safe = starting_room(asked(), panel(), lit);
  EXPECT_FALSE(safe.sequence.vacancy);
  EXPECT_FALSE(safe.sequence.schedule);
  project_.spaces[0].openings.clear();
  EXPECT_TRUE(starting_room(asked(), panel(), lit).photosensors.empty());
  const StartingRoom found = found_room(asked(), panel(), lit);
  EXPECT_EQ(found.luminaires.size(), lit.grid.at.size());
  EXPECT_EQ(found.sequence.hours_source, domain::Source::assumed);
}

TEST(SensorPlaces, SeeEveryPlaceAwayFromTheWalls) {
  for (const auto& [width, depth, reach] : {std::array{8.0, 6.0, 3.2}, {20.0, 2.0, 5.4}, {3.0, 3.0, 3.2}}) {
    const Polygon floor = {{0, 0}, {width, 0}, {width, depth}, {0, depth}};
    const auto places = sensor_places(floor, reach);
    for (double x = 0.5; x <= width - 0.5; x += 0.25)
      for (double y = 0.5; y <= depth - 0.5; y += 0.25) {
        double nearest = 1e9;
        for (const Point2 p : places) nearest = std::min(nearest, length(Point2{x, y} - p));
        EXPECT_LE(nearest, reach + 1e-9) << x << ", " << y;
      }
  }
  EXPECT_EQ(sensor_places({{0, 0}, {8, 0}, {8, 6}, {0, 6}}, 3.2).size(), 2u);
}

TEST(StationPlace, IsBesideTheLatchAndOnTheWall) {
  domain::Space space = office().spaces[0];
  // Wall 2 runs from (8, 6) to (0, 6); the door covers 1.0 to 1.9 m of it. Facing it from inside, its running
  // direction is to the left.
  space.doors[0].latch = domain::Door::Latch::left;
  EXPECT_NEAR(station_place(space, &space.doors.front()).x, 8.0 - 1.9 - 0.2, 1e-9);
  EXPECT_NEAR(station_place(space, &space.doors.front()).y, 5.95, 1e-9);
  space.doors[0].latch = domain::Door::Latch::right;
  EXPECT_NEAR(station_place(space, &space.doors.front()).x, 8.0 - 1.0 + 0.2, 1e-9);
  space.doors[0].offset_m = 0.1;  // the wall ends before the latch side does
  EXPECT_NEAR(station_place(space, &space.doors.front()).x, 8.0 - 1.0 - 0.2, 1e-9);
  EXPECT_TRUE(contains(space.floor, station_place(space, nullptr)));
}

}  // namespace
}  // namespace halflight::choose
