// Places for a photosensor: the figures have closed forms where the light keeps its proportions, they are
// those of the room's own year at the place where a sensor hangs, and they say no where an engineer would.
#include "sim/photosensor_siting.hpp"

#include "climate/synthetic_year.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/live_room.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

using Method = domain::DaylightRule::Method;

TEST(LightHeld, OfAFewStepsByHand) {
  // 100 lx short, as wanted, within what is wanted, 200 lx too much; the target is 500 lx.
  const std::vector<StepOnTask> steps = {{400, 500, 500}, {500, 500, 500}, {620, 600, 640}, {840, 600, 640}};
  const LightHeld held = light_held(steps, 500.0, 500.0);
  EXPECT_DOUBLE_EQ(held.rms, std::sqrt((100.0 * 100.0 + 200.0 * 200.0) / 4.0) / 500.0);
  EXPECT_DOUBLE_EQ(held.over, 200.0 / 4.0 / 500.0);
  EXPECT_DOUBLE_EQ(held.under_share, 0.25);
  // Luminaires that give no more than 440 lx at night promise no more.
  EXPECT_DOUBLE_EQ(light_held(steps, 500.0, 440.0).under_share, 0.0);
  EXPECT_EQ(light_held({}, 500.0, 500.0).rms, 0.0);
}

/// A room 5 m wide and 6 m deep with a window across its south side and a photosensor over the desks; lit
/// while it is open, at full output.
domain::Project daylit_room() {
  domain::Project project = ten_luminaires();
  project.drivers[1].dims = true;
  project.drivers[1].minimum_light = 0.01;
  domain::Space& space = project.spaces[0];
  space.floor = {{0, 0}, {5, 0}, {5, 6}, {0, 6}};
  space.task_areas[0].plan = {{0.5, 1.5}, {4.5, 1.5}, {4.5, 4.5}, {0.5, 4.5}};
  space.task_areas[0].target_lx = 200.0;
  add_window(project);
  for (domain::Design& design : project.designs) {
    design.luminaires.resize(4);
    for (std::size_t i = 0; i < 4; ++i)
      design.luminaires[i].at = {i % 2 == 0 ? 1.25 : 3.75, i < 2 ? 1.8 : 4.2, 2.7};
  }
  domain::Design& proposal = project.designs[1];
  add_daylight_loop(proposal, {2.4, 3.3, 2.7});
  proposal.photosensors[0].range_lx = 1500.0;
  return project;
}

/// A windowless copy of the room with daylight that keeps its proportions for all but a part of the time.
struct Proportions {
  /// Daylight on the task is `share` of the night light; the sensor reads `day_ratio` (usual) and
  /// `other_ratio` times as much per lux of it as of lamp light, the latter in one of a hundred steps.
  Proportions(Method method, double share, double day_ratio, double other_ratio, bool falls = false)
      : bench(project_of(method)) {
    for (const ControlCell& cell : bench.lit[0].cells)
      if (cell.design == 1) {
        night_lx += cell_lx(bench.model, bench.lit[0].task_rows[0], cell, 1.0);
        signal_lx += cell_lx(bench.model, bench.lit[0].sensor_rows[0], cell, 1.0);
      }
    GroupSeries task;
    GroupSeries sensor;
    for (std::size_t i = 0; i < bench.sunny.step.size(); ++i) {
      const double ratio = i % 100 == 0 ? other_ratio : day_ratio;
      const double part = falls ? share * (1.0 - static_cast<double>(i % 97) / 97.0) : share;
      task.open.push_back(static_cast<float>(part * night_lx));
      sensor.open.push_back(static_cast<float>(part * ratio * signal_lx));
    }
    bench.daylight.tasks = {RowSeries{task}};
    bench.daylight.sensors = {RowSeries{sensor}};
    bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
  }

  static domain::Project project_of(Method method) {
    domain::Project project = daylit_room();
    project.spaces[0].openings.clear();
    domain::DaylightRule& rule = project.designs[1].sequences[0].daylight[0];
    rule.method = method;
    rule.minimum_level = 0.0;
    rule.calibration_percentile = 50.0;
    return project;
  }

  /// Over the steps that `keep` accepts.
  template <class Keep>
  RuleHeld held(Keep keep) const {
    const Replicate replicate(bench.model, bench.daylight, Draws{});
    std::vector<std::size_t> steps = open_steps(bench.model);
    std::erase_if(steps, [&](std::size_t i) { return !keep(i); });
    return rule_held(bench.model, 0, {replicate.daylight()}, steps);
  }
  /// A count of the converter, as a share of the target.
  double count() const { return 1500.0 / 4095.0 * night_lx / signal_lx / 200.0; }

  Bench bench;
  double night_lx = 0.0;
  double signal_lx = 0.0;
};

constexpr auto kUsual = [](std::size_t i) { return i % 100 != 0; };
constexpr auto kOther = [](std::size_t i) { return i % 100 == 0; };

TEST(RuleHeld, AProportionalSensorThatSeesWhatTheTaskGetsHoldsIt) {
  // Rubinstein, Ward and Verderber 1989: E = E_night + E_day (1 - r / r_day). With r = r_day at all times the
  // task keeps its night light whatever the daylight.
  const Proportions room(Method::closed_loop_proportional, 0.9, 1.6, 1.6, true);
  ASSERT_TRUE(room.bench.model.calibrations[0].usable);
  const RuleHeld held = room.held([](std::size_t) { return true; });
  EXPECT_GT(held.steps, 10000U);
  EXPECT_NEAR(held.night_lx, room.night_lx, 1e-9 * room.night_lx);
  // The converter rounds daylight and the stored night signal by half a count each.
  EXPECT_LT(held.held.rms, 1.01 * room.count());
  EXPECT_GT(held.held.rms, 0.0) << "a converter with counts cannot be exact";
  EXPECT_EQ(held.held.under_share, 0.0);
}

TEST(RuleHeld, ChangedProportionsMissByTheClosedForms) {
  // 500 lx of electric light, r_night 0.10, r_day 0.16, 300 lx of daylight, here as ratios: the closed loop
  // holds 500 lx at 0.16 and 425 lx at 0.20, integral reset 320 lx at 0.16.
  const Proportions closed(Method::closed_loop_proportional, 0.6, 1.6, 2.0);
  const double target = 200.0;
  const double tolerance = 1.01 * closed.count();
  EXPECT_NEAR(closed.held(kUsual).held.rms, 0.0, tolerance);
  const RuleHeld other = closed.held(kOther);
  EXPECT_GT(other.steps, 100U);
  EXPECT_NEAR(other.held.rms, (500.0 - 425.0) / 500.0 * closed.night_lx / target, tolerance);
  EXPECT_EQ(other.held.over, 0.0);

  const Proportions reset(Method::integral_reset, 0.6, 1.6, 1.6);
  const RuleHeld dark = reset.held(kUsual);
  EXPECT_NEAR(dark.held.rms, (500.0 - 320.0) / 500.0 * reset.night_lx / target, tolerance);
}

TEST(RuleHeld, DaylightThatIsMoreThanEnoughIsNoError) {
  const Proportions room(Method::closed_loop_proportional, 4.0, 1.6, 1.6);
  EXPECT_EQ(room.held(kUsual).held.rms, 0.0);
}

class PhotosensorPlacesTest : public testing::Test {
 protected:
  PhotosensorPlacesTest() { options_.accuracy = Accuracy::draft; }

  std::unique_ptr<LiveRoom> live(const domain::Project& project) {
    inputs_.emplace(StudyInputs{project, library_, rules_, {}, weather_, {}, {}});
    auto made = LiveRoom::make(*inputs_, options_, 0, context_);
    EXPECT_TRUE(made) << (made ? "" : to_text(made.error().front()));
    return *std::move(made);
  }
  PhotosensorPlaces places(const LiveRoom& room) {
    auto found = room.photosensor_places(0, context_);
    EXPECT_TRUE(found) << (found ? "" : to_text(found.error().front()));
    return *std::move(found);
  }
  static const SensorPlace& nearest(const PhotosensorPlaces& places, Point2 to) {
    return *std::min_element(places.places.begin(), places.places.end(), [&](const auto& a, const auto& b) {
      return std::hypot(a.at.x - to.x, a.at.y - to.y) < std::hypot(b.at.x - to.x, b.at.y - to.y);
    });
  }

  std::vector<domain::WeatherYear> weather_ = {
      climate::synthetic_year({}, 1, 2026, climate::SyntheticKind::natural)};
  domain::Library library_;
  std::vector<domain::CodeRule> rules_;
  std::optional<StudyInputs> inputs_;
  StudyOptions options_;
  std::unique_ptr<Executor> pool_ = make_pool_executor(0);
  std::unique_ptr<BlobStore> blobs_ = make_memory_blob_store();
  Context context_{*pool_, *blobs_, nullptr, {}};
};

TEST_F(PhotosensorPlacesTest, TheSensorThatHangsHasTheFiguresOfTheRoomsOwnYear) {
  // Set up in one year, at work in another.
  weather_.push_back(climate::synthetic_year({}, 2, 2026, climate::SyntheticKind::natural));
  const domain::Project project = daylit_room();
  const auto room = live(project);
  ASSERT_EQ(room->work().replicate().weather_year(), 1U);
  const PhotosensorPlaces found = places(*room);
  ASSERT_TRUE(found.present);
  EXPECT_EQ(found.present->at, project.designs[1].photosensors[0].at);

  // What the room does through its year, at work, minute by minute: nothing of the module under test.
  const WayAtWork& work = room->work();
  const SpaceModel& model = room->model();
  const double target = project.spaces[0].task_areas[0].target_lx;
  std::vector<CellAtWork> at_night = work.at(12 * kHour);
  for (CellAtWork& cell : at_night) cell.level = 1.0;
  const double night = work.electric_on_task_lx(0, at_night);
  EXPECT_NEAR(found.night_lx, night, 1e-9 * night);
  ASSERT_GT(night, target) << "more light than the target, so that the promise is the target";
  double squares = 0.0;
  double over = 0.0;
  int under = 0;
  int steps = 0;
  int full = 0;
  for (std::size_t i = 0; i < model.sunny->step.size(); ++i) {
    const Seconds t = static_cast<Seconds>(model.sunny->step[i]) * kStep_s;
    const double day = work.daylight_on_task_lx(0, t);
    if (!model.open.contains(t) || day < 10.0) continue;
    const std::vector<CellAtWork> cells = work.at(t);
    ASSERT_EQ(cells.size(), 1U);
    ASSERT_EQ(cells[0].asked, 1.0) << "lit while open";
    std::vector<CellAtWork> lowest = cells;
    lowest[0].level = 0.1;
    const double wanted = std::max(night, day + work.electric_on_task_lx(0, lowest));
    const double lx = day + work.electric_on_task_lx(0, cells);
    squares += (lx - wanted) * (lx - wanted);
    over += std::max(0.0, lx - wanted);
    under += lx < 0.9 * target ? 1 : 0;
    full += cells[0].level > 0.999 ? 1 : 0;
    ++steps;
  }
  EXPECT_EQ(found.steps, static_cast<std::size_t>(steps));
  EXPECT_GT(steps, 10000);
  EXPECT_LT(full, steps / 2) << "the sensor must be at work";
  EXPECT_NEAR(found.present->held.rms, std::sqrt(squares / steps) / target, 1e-12);
  EXPECT_NEAR(found.present->held.over, over / steps / target, 1e-12);
  EXPECT_DOUBLE_EQ(found.present->held.under_share, static_cast<double>(under) / steps);
  EXPECT_GT(found.present->held.rms, 0.001);
}

TEST_F(PhotosensorPlacesTest, ASensorMovedToAPlaceHasThatPlacesFigures) {
  domain::Project project = daylit_room();
  const auto room = live(project);
  const PhotosensorPlaces found = places(*room);
  const SensorPlace there = nearest(found, {3.0, 4.5});
  ASSERT_NE(there.held.rms, found.present->held.rms);
  domain::Project moved = project;
  moved.designs[1].photosensors[0].at = there.at;
  const auto after = live(moved);
  const PhotosensorPlaces again = places(*after);
  EXPECT_EQ(again.present->held.rms, there.held.rms);
  EXPECT_EQ(again.present->held.under_share, there.held.under_share);
  EXPECT_EQ(again.present->held.over, there.held.over);
  ASSERT_EQ(again.places.size(), found.places.size());
  for (std::size_t i = 0; i < found.places.size(); ++i)
    EXPECT_EQ(again.places[i].held.rms, found.places[i].held.rms) << i;
}

TEST_F(PhotosensorPlacesTest, AreTheSameOnAnyNumberOfThreads) {
  const domain::Project project = daylit_room();
  const PhotosensorPlaces many = places(*live(project));
  SerialExecutor one;
  const std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
  const std::unique_ptr<BlobStore> scratch = make_memory_blob_store();
  const Context alone{one, *blobs, nullptr, {}, scratch.get()};
  const auto room = LiveRoom::make(*inputs_, options_, 0, alone);
  ASSERT_TRUE(room);
  for (int time = 0; time < 2; ++time) {  // the second time from what was kept
    const auto serial = (*room)->photosensor_places(0, alone);
    ASSERT_TRUE(serial);
    ASSERT_EQ(serial->places.size(), many.places.size());
    EXPECT_EQ(serial->best, many.best);
    for (std::size_t i = 0; i < many.places.size(); ++i) {
      EXPECT_EQ(serial->places[i].held.rms, many.places[i].held.rms);
      EXPECT_EQ(serial->places[i].held.under_share, many.places[i].held.under_share);
      EXPECT_EQ(serial->places[i].held.over, many.places[i].held.over);
    }
  }
}

TEST_F(PhotosensorPlacesTest, LieOnTheCeilingClearOfLuminairesAndNotCloserThanSaid) {
  const domain::Project project = daylit_room();
  const PhotosensorPlaces found = places(*live(project));
  ASSERT_GT(found.places.size(), 50U);
  EXPECT_LE(found.places.size(), kMostPlaces);
  EXPECT_DOUBLE_EQ(found.spacing_m, 0.6);
  for (const SensorPlace& place : found.places) {
    EXPECT_TRUE(contains(project.spaces[0].floor, {place.at.x, place.at.y}));
    EXPECT_DOUBLE_EQ(place.at.z, 2.7);
    for (const domain::Luminaire& luminaire : project.designs[1].luminaires)
      EXPECT_FALSE(std::abs(place.at.x - luminaire.at.x) <= 0.6 &&
                   std::abs(place.at.y - luminaire.at.y) <= 0.15);
  }
  ASSERT_TRUE(found.best);
  for (const SensorPlace& place : found.places) {
    if (place.usable) {
      EXPECT_GE(place.held.rms, found.places[*found.best].held.rms);
    }
  }
}

TEST_F(PhotosensorPlacesTest, ASensorThatLooksAtTheWindowFromCloseByHoldsTheLightWorse) {
  domain::Project project = daylit_room();
  domain::Photosensor& sensor = project.designs[1].photosensors[0];
  sensor.aim_tilt_deg = 60.0;
  sensor.aim_deg = 180.0;  // to the window
  const PhotosensorPlaces at_window = places(*live(project));
  const SensorPlace close = nearest(at_window, {2.5, 0.4});
  domain::Project down = daylit_room();
  const PhotosensorPlaces over_desks = places(*live(down));
  const SensorPlace deep = nearest(over_desks, {2.5, 4.0});
  EXPECT_GT(close.held.rms, 1.5 * deep.held.rms);
  // Looking straight down it is no good there either: what it sees of sill and floor has the sun on it.
  EXPECT_GT(nearest(over_desks, {2.5, 0.4}).held.rms, 1.2 * deep.held.rms);
}

TEST_F(PhotosensorPlacesTest, ASensorAboveAnUplightIsRefused) {
  domain::Project project = daylit_room();
  for (domain::Luminaire& luminaire : project.designs[1].luminaires) luminaire.at.z = 2.2;
  project.luminaire_types[1].channels[0].photometry.formula = "cosine_up";
  const PhotosensorPlaces found = places(*live(project));
  const SensorPlace above = nearest(found, {1.25, 1.8});
  EXPECT_LT(std::hypot(above.at.x - 1.25, above.at.y - 1.8), 0.4);
  EXPECT_FALSE(above.usable);
  ASSERT_TRUE(found.best);
  EXPECT_GT(above.held.rms, 1.5 * found.places[*found.best].held.rms);
  EXPECT_GT(above.held.over, found.places[*found.best].held.over);
}

TEST_F(PhotosensorPlacesTest, AGroupWithoutASensorGetsThePlainOneBelowTheCeiling) {
  domain::Project project = daylit_room();
  project.designs[1].photosensors.clear();
  const PhotosensorPlaces found = places(*live(project));
  EXPECT_FALSE(found.present);
  ASSERT_TRUE(found.best);
  EXPECT_DOUBLE_EQ(found.places[*found.best].at.z, 2.7);
  EXPECT_EQ(found.device.response, domain::Photosensor::Response::cosine);
}

TEST_F(PhotosensorPlacesTest, WordsSayWhyThereAreNone) {
  domain::Project project = daylit_room();
  const auto room = live(project);
  const auto beyond = room->photosensor_places(1, context_);
  ASSERT_FALSE(beyond);
  EXPECT_NE(beyond.error().front().problem.find("1 daylight rules"), std::string::npos);
  domain::Project dark = daylit_room();
  dark.spaces[0].openings.clear();
  const auto none = live(dark)->photosensor_places(0, context_);
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().front().problem.find("no daylight"), std::string::npos);
}

TEST_F(PhotosensorPlacesTest, StopWhenTheyAreToldTo) {
  const domain::Project project = daylit_room();
  const auto room = live(project);
  class StopsSoon final : public Progress {
   public:
    void report(std::string_view, std::size_t done, std::size_t) override {
      if (done >= 3) stop.request_stop();
    }
    std::stop_source stop;
  } progress;
  Context context = context_;
  context.progress = &progress;
  context.stop = progress.stop.get_token();
  EXPECT_THROW(room->photosensor_places(0, context), Cancelled);
}

}  // namespace
}  // namespace halflight::sim
