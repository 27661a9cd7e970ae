// A live room answers as the study does: the picture of the year, the words about a minute, the levels and
// the light of an instant come from one replicate.
#include "sim/live_room.hpp"

#include "base/random.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <cmath>
#include <string>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// A room whose light goes off some minutes after people have left.
domain::Project room_with_sensor() {
  domain::Project project = ten_luminaires();
  domain::Design& proposal = project.designs[1];
  proposal.load_controllers.push_back(controller());
  domain::Sequence& sequence = proposal.sequences.front();
  sequence.on.by = domain::OnRule::By::occupancy;
  sequence.vacancy = domain::VacancyRule{};
  sequence.vacancy->delay_s = 600.0;
  sequence.vacancy->step_level = 0.3;
  sequence.vacancy->off_after_s = 900.0;
  sequence.trim = domain::TrimRule{};
  sequence.trim->high = 0.8;
  project.drivers[1].dims = true;
  return project;
}

class LiveRoomTest : public testing::Test {
 protected:
  LiveRoomTest() {
    options_.accuracy = Accuracy::draft;
    options_.scrambles = 2;
    options_.points_per_scramble = 2;
  }
  std::unique_ptr<LiveRoom> live() {
    auto made = LiveRoom::make(inputs_, options_, 0, context_);
    EXPECT_TRUE(made) << (made ? "" : to_text(made.error().front()));
    return *std::move(made);
  }
  /// Seconds of the civil year, the same ones each time.
  static std::vector<Seconds> instants(std::size_t count) {
    std::vector<Seconds> all;
    for (std::uint32_t i = 0; i < count; ++i)
      all.push_back(static_cast<Seconds>(random_uniform({1, hash_name("instants")}, {0, i, 0, 0}) *
                                         static_cast<double>(kYear - 1)));
    return all;
  }

  domain::Project project_ = room_with_sensor();
  domain::Library library_;
  std::vector<domain::CodeRule> rules_;
  StudyInputs inputs_{project_, library_, rules_, {}, {}, {}, {}};
  StudyOptions options_;
  std::unique_ptr<Executor> pool_ = make_pool_executor(0);
  Executor& executor_ = *pool_;
  std::unique_ptr<BlobStore> blobs_ = make_memory_blob_store();
  Context context_{executor_, *blobs_, nullptr, {}};
};

TEST_F(LiveRoomTest, PictureWordsLevelsAndLightAgreeAtAnyInstant) {
  const auto room = live();
  int lit = 0;
  for (const Seconds civil : instants(1000)) {
    const Seconds t = room->model().clock.standard(civil);
    double watts = room->work().way().device_standby_w;
    const std::vector<CellAtWork> cells = room->work().at(t);
    for (const CellAtWork& now : cells) watts += now.light_w + now.standby_w;
    EXPECT_DOUBLE_EQ(room->at(YearQuantity::power, civil) * room->connected_w(), watts);

    const RoomLight light = room->light_at(civil);
    for (const CellAtWork& now : cells)
      for (const std::size_t column : now.cell->columns)
        EXPECT_EQ(light.channels.at(room->model().lit->scene.columns[column].id), now.level);
    EXPECT_NEAR(light.tasks[0].mean_lx, room->at(YearQuantity::task_light, civil),
                1e-9 * (1.0 + light.tasks[0].mean_lx));

    const results::Moment why = room->explain(civil);
    const bool somebody = room->at(YearQuantity::presence, civil) > 0.0;
    EXPECT_EQ(why.sentences.front() == "Somebody is in the room.", somebody) << why.sentences.front();
    EXPECT_NE(why.sentences.back().find(fmt::format(": {:.0f} lx, of which", light.tasks[0].mean_lx)),
              std::string::npos)
        << why.sentences.back();
    if (cells[0].asked > 0.0) {
      ++lit;
      EXPECT_NE(why.sentences[1].find(fmt::format("asked for {:.0f} %", 100.0 * cells[0].asked)),
                std::string::npos)
          << why.sentences[1];
    }
  }
  EXPECT_GT(lit, 50) << "the instants must meet the room at work";
}

TEST_F(LiveRoomTest, SecondsAverageToTheHalfHoursOfTheStudy) {
  const auto room = live();
  const results::Study study = run_study(inputs_, options_, context_);
  const results::YearPicture& picture = study.spaces.at(0).pictures.at(0);
  int partly = 0;
  for (const Seconds civil : instants(1000)) {
    const Seconds begin = civil / 1800 * 1800;
    const auto cell = static_cast<std::size_t>(begin / 1800);
    double mean = room->work().way().device_standby_w;
    for (Seconds s = 0; s < 1800; ++s)
      for (const CellAtWork& now : room->work().at(room->model().clock.standard(begin) + s))
        mean += (now.light_w + now.standby_w) / 1800.0;
    const double share = mean / room->connected_w();
    // The picture is kept in single precision.
    EXPECT_NEAR(picture.values.at(cell), share, 1e-6) << civil_text(civil);
    partly += share > 0.0 && share < 0.79 ? 1 : 0;
  }
  EXPECT_GT(partly, 20) << "the half hours must hold changes";
}

TEST_F(LiveRoomTest, AMovedLuminaireShinesAsIfTheRoomWereLitAnew) {
  const auto room = live();
  const RoomLight before = room->light_of_scene("");
  domain::Project moved = project_;
  moved.designs[1].luminaires[0].at = {5.0, 3.0, 2.7};
  const StudyInputs changed{moved, library_, rules_, {}, {}, {}, {}};
  const auto quick = room->light_with(changed, before);
  ASSERT_TRUE(quick);
  const auto anew = LiveRoom::make(changed, options_, 0, context_);
  ASSERT_TRUE(anew);
  const RoomLight full = (*anew)->light_of_scene("");
  ASSERT_EQ(quick->plan.values_lx.size(), full.plan.values_lx.size());
  // The same products, summed over at most 700 patches in another order, in single precision.
  constexpr double kSummation = 700 * 0x1p-24;
  for (std::size_t i = 0; i < full.plan.values_lx.size(); ++i)
    EXPECT_NEAR(quick->plan.values_lx[i], full.plan.values_lx[i],
                kSummation * std::abs(full.plan.values_lx[i]));
  EXPECT_NE(quick->plan.values_lx, before.plan.values_lx);
  EXPECT_DOUBLE_EQ(quick->power_w, full.power_w);
}

TEST_F(LiveRoomTest, HeldLevelsStandInsteadOfTheScene) {
  domain::Group all;
  all.id = "row";
  all.space = "room";
  all.strategy = domain::Strategy::scene;
  for (const domain::Luminaire& luminaire : project_.designs[1].luminaires)
    all.channels.push_back(luminaire.id);
  project_.designs[1].groups.push_back(all);
  const auto room = live();
  const RoomLight full = room->light_of_scene("");
  const RoomLight half = room->light_of_scene("", {{"row", 0.5}});
  // Light is linear in the level.
  EXPECT_NEAR(half.tasks[0].mean_lx, 0.5 * full.tasks[0].mean_lx, 1e-6 * full.tasks[0].mean_lx);
  EXPECT_DOUBLE_EQ(half.channels.at("proposal0/all"), 0.5 * 0.8);
}

}  // namespace
}  // namespace halflight::sim
