// What the workbench says about an instant, its picture of the year and the study are one calculation seen
// from three sides: over rooms of the demo building they agree at 1,000 instants that are drawn with a fixed
// seed.
#include "sim/live_room.hpp"

#include "base/random.hpp"
#include "projects/project_files.hpp"
#include "sim/study.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <optional>
#include <regex>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

constexpr int kInstants = 1000;
constexpr Seconds kHalfHour = 1800;

struct Demo {
  projects::ProjectFiles files;
  std::unique_ptr<Executor> executor = make_pool_executor(0);
  std::unique_ptr<BlobStore> blobs = make_memory_blob_store();

  Demo() : files(read()) {}
  [[nodiscard]] Context context() const { return {*executor, *blobs}; }
  [[nodiscard]] StudyInputs inputs() const {
    return {.project = files.document.project(),
            .library = *files.library,
            .code_rules = files.code_rules,
            .photometry_files = files.photometry_files,
            .weather_years = files.weather_years,
            .normals = files.normals,
            .content_keys = {}};
  }

 private:
  static projects::ProjectFiles read() {
    auto read = projects::read_project(HALFLIGHT_SOURCE_DIR "/projects/fenwick_hollow.halflight.json");
    if (!read) throw std::runtime_error(to_text(read.error().front()));
    return *std::move(read);
  }
};

std::string percent(double share) { return fmt::format("{:.0f} %", 100.0 * share); }

/// Figures "X lx, of which D lx daylight and E lx electric light" of the last sentence.
struct ToldLight {
  double all_lx = -1.0;
  double daylight_lx = -1.0;
  double electric_lx = -1.0;
};
ToldLight told_light(const std::vector<std::string>& sentences) {
  static const std::regex pattern(R"((-?\d+) lx, of which (-?\d+) lx daylight and (-?\d+) lx electric)");
  std::smatch found;
  if (sentences.empty() || !std::regex_search(sentences.back(), found, pattern)) return {};
  return {std::stod(found[1]), std::stod(found[2]), std::stod(found[3])};
}

bool says(const std::vector<std::string>& sentences, const std::string& words, const std::string& name) {
  return std::any_of(sentences.begin(), sentences.end(), [&](const std::string& s) {
    return s.find(words) != std::string::npos &&
           (s.starts_with("All groups") || s.find(name) != std::string::npos);
  });
}

/// Between the four points of the plan about a place; nothing where one of them is not of the room.
std::optional<double> on_plan(const results::PlanGrid& plan, Point2 at) {
  const double u = (at.x - plan.x0_m) / plan.step_m;
  const double v = (at.y - plan.y0_m) / plan.step_m;
  const int c = static_cast<int>(std::floor(u));
  const int r = static_cast<int>(std::floor(v));
  if (c < 0 || r < 0 || c + 1 >= plan.columns || r + 1 >= plan.rows) return std::nullopt;
  double sum = 0.0;
  for (const int dr : {0, 1})
    for (const int dc : {0, 1}) {
      const float lx = plan.values_lx[static_cast<std::size_t>((r + dr) * plan.columns + c + dc)];
      if (lx < 0.0F) return std::nullopt;
      sum += (dc == 0 ? 1.0 - (u - c) : u - c) * (dr == 0 ? 1.0 - (v - r) : v - r) * static_cast<double>(lx);
    }
  return sum;
}

class Agreement {
 public:
  /// Compares `count` instants of a room.
  void see(const Demo& demo, std::size_t space, int count) {
    const StudyInputs inputs = demo.inputs();
    const domain::Space& room = inputs.project.spaces[space];
    SCOPED_TRACE(room.id);
    StudyOptions options;
    options.accuracy = Accuracy::draft;
    // The workbench and the picture of the year show the first building-year; of the others two are enough.
    options.scrambles = 2;
    options.points_per_scramble = 1;
    auto made = LiveRoom::make(inputs, options, space, demo.context());
    ASSERT_TRUE(made) << to_text(made.error().front());
    LiveRoom& live = **made;
    options.spaces = {room.id};
    const results::Study study = run_study(inputs, options, demo.context());
    ASSERT_EQ(study.spaces.size(), 1U);
    ASSERT_FALSE(study.spaces[0].pictures.empty());
    const results::YearPicture& picture = study.spaces[0].pictures.front();
    ASSERT_EQ(picture.per_day, 48);
    EXPECT_DOUBLE_EQ(study.spaces[0].connected_w, live.connected_w());
    std::array<std::vector<float>, kYearQuantityNames.size()> years;
    for (std::size_t q = 0; q < years.size(); ++q) years[q] = live.year(static_cast<YearQuantity>(q));

    for (int n = 0; n < count; ++n) {
      const double drawn = random_uniform({.seed = 20260317, .subject = hash_name(room.id)},
                                          {.slot = static_cast<std::uint32_t>(n)});
      const auto civil = static_cast<Seconds>(drawn * static_cast<double>(kYear));
      SCOPED_TRACE(fmt::format("at {} s", civil));
      one_instant(live, years, civil);
      if (n % 5 == 0) one_half_hour(live, picture, civil);
      ++instants;
      if (testing::Test::HasFailure()) return;
    }
  }

  int instants = 0;
  int half_hours = 0;
  int half_hours_with_changes = 0;    ///< in which the power is not the same throughout
  int limited = 0;                    ///< cells that daylight limits
  int lit_instants = 0;               ///< instants with electric light
  std::vector<double> plan_electric;  ///< difference of the plan, as a share
  std::vector<double> plan_all;

 private:
  template <class Years>
  void one_instant(LiveRoom& live, const Years& years, Seconds civil) {
    const WayAtWork& work = live.work();
    const Seconds standard = std::clamp<Seconds>(live.model().clock.standard(civil), 0, kYear - 1);
    const std::vector<CellAtWork> cells = work.at(standard);
    const RoomLight light = live.light_at(civil);

    double light_w = 0.0;
    double standby_w = work.way().device_standby_w;
    for (const CellAtWork& now : cells) {
      light_w += now.light_w;
      standby_w += now.standby_w;
    }
    if (light_w > 0.0) ++lit_instants;
    const double connected_w = live.connected_w();
    EXPECT_NEAR(live.at(YearQuantity::power, civil) * connected_w, light_w + standby_w, 1e-9 * connected_w);
    EXPECT_NEAR(light.power_w, light_w, 1e-9 * connected_w);

    // The picture of the year is the same question, asked at the beginning of the step.
    const Seconds step = civil / kStep_s;
    for (std::size_t q = 0; q < years.size(); ++q)
      EXPECT_EQ(years[q][static_cast<std::size_t>(step)],
                static_cast<float>(live.at(static_cast<YearQuantity>(q), step * kStep_s)))
          << kYearQuantityNames[q];

    const results::Moment moment = live.explain(civil);
    for (const CellAtWork& now : cells) {
      for (const std::size_t column : now.cell->columns)
        EXPECT_EQ(light.channels.at(live.model().lit->scene.columns[column].id), now.level);
      if (now.asked > 0.0) {
        EXPECT_TRUE(says(moment.sentences, "asked for " + percent(now.asked) + " of", now.cell->name))
            << now.cell->name << ": " << fmt::format("{}", fmt::join(moment.sentences, " "));
      }
      if (!now.limited) {
        EXPECT_EQ(now.level, now.asked);
        continue;
      }
      ++limited;
      EXPECT_LT(now.level, now.asked);
      // A limit that no printed figure shows is not told as one.
      const bool shows = percent(now.level) != percent(now.asked);
      const std::string words = !shows            ? "as it is asked for"
                                : now.level > 0.0 ? "sink to " + percent(now.level)
                                                  : "go off";
      EXPECT_TRUE(std::any_of(moment.sentences.begin(), moment.sentences.end(),
                              [&](const std::string& s) { return s.find(words) != std::string::npos; }))
          << words << ": " << fmt::format("{}", fmt::join(moment.sentences, " "));
    }
    // Cleaners are told of; the picture of presence is of the room's own people.
    const std::string& who = moment.sentences.front();
    const bool somebody = who.find("in the room") != std::string::npos && !who.starts_with("Nobody") &&
                          !who.starts_with("A cleaner is");
    EXPECT_EQ(somebody, live.at(YearQuantity::presence, civil) == 1.0) << moment.sentences.front();

    if (light.tasks.empty()) return;
    const RoomLight::Task& task = light.tasks.front();
    const ToldLight told = told_light(moment.sentences);
    constexpr double kRounded = 0.5 + 1e-6;
    EXPECT_NEAR(told.all_lx, task.mean_lx, kRounded) << moment.sentences.back();
    EXPECT_NEAR(told.daylight_lx, task.daylight_lx, kRounded) << moment.sentences.back();
    EXPECT_NEAR(told.electric_lx, task.electric_lx, kRounded) << moment.sentences.back();
    EXPECT_NEAR(live.at(YearQuantity::task_light, civil), task.mean_lx, 1e-6 * (1.0 + task.mean_lx));
    EXPECT_NEAR(live.at(YearQuantity::daylight, civil), task.daylight_lx, 1e-9 * (1.0 + task.mean_lx));
    plan(live, light);
  }

  /// The plan at the points of each task area that lies in its height.
  void plan(const LiveRoom& live, const RoomLight& light) {
    const LitSpace& lit = *live.model().lit;
    const std::vector<domain::TaskArea>& areas = live.model().space->task_areas;
    for (std::size_t t = 0; t < areas.size(); ++t) {
      if (areas[t].plane != domain::TaskArea::Plane::horizontal ||
          std::abs(areas[t].height_m - lit.plan_height_m) > 0.01)
        continue;
      double sum = 0.0;
      int points = 0;
      for (const auto& point : lit.task_sets[t].points)
        if (const auto lx = on_plan(light.plan, {point.at.x, point.at.y})) {
          sum += *lx;
          ++points;
        }
      // Points beside a wall have no four points of the plan about them.
      if (points < static_cast<int>(lit.task_sets[t].points.size()) * 9 / 10 || light.tasks[t].mean_lx < 20.0)
        continue;
      const double share = std::abs(sum / points - light.tasks[t].mean_lx) / light.tasks[t].mean_lx;
      (light.tasks[t].daylight_lx > 0.0 ? plan_all : plan_electric).push_back(share);
    }
  }

  /// The half hour of the study's picture about an instant, second by second.
  void one_half_hour(const LiveRoom& live, const results::YearPicture& picture, Seconds civil) {
    const Seconds index = civil / kHalfHour;
    const Seconds begin = std::clamp<Seconds>(live.model().clock.standard(index * kHalfHour), 0, kYear - 1) /
                          kHalfHour * kHalfHour;
    double sum_w = 0.0;
    double least_w = 1e30;
    double most_w = 0.0;
    for (Seconds t = begin; t < begin + kHalfHour; ++t) {
      double watts = live.work().way().device_standby_w;
      for (const CellAtWork& now : live.work().at(t)) watts += now.light_w + now.standby_w;
      sum_w += watts;
      least_w = std::min(least_w, watts);
      most_w = std::max(most_w, watts);
    }
    ++half_hours;
    if (most_w > least_w) ++half_hours_with_changes;
    const double mean = sum_w / static_cast<double>(kHalfHour) / live.connected_w();
    EXPECT_NEAR(static_cast<double>(picture.values[static_cast<std::size_t>(index)]), mean, 2e-7);
  }
};

double quantile_of(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
}

void expect_agreement(const std::set<std::string>& rooms) {
  const Demo demo;
  const std::vector<domain::Space>& spaces = demo.files.document.project().spaces;
  Agreement seen;
  const std::size_t count = rooms.empty() ? spaces.size() : rooms.size();
  for (std::size_t s = 0; s < spaces.size(); ++s)
    if (rooms.empty() || rooms.contains(spaces[s].id)) {
      seen.see(demo, s, (kInstants + static_cast<int>(count) - 1) / static_cast<int>(count));
      if (testing::Test::HasFailure()) return;
    }
  EXPECT_GE(seen.instants, kInstants);
  // Instants at which nothing happens agree too easily.
  EXPECT_GE(seen.lit_instants, seen.instants / 10);
  EXPECT_GE(seen.limited, 20);
  EXPECT_GE(seen.half_hours, kInstants / 5);
  EXPECT_GE(seen.half_hours_with_changes, 10);
  ASSERT_GE(seen.plan_electric.size(), 20U);
  ASSERT_GE(seen.plan_all.size(), 50U);
  testing::Test::RecordProperty(
      "plan",
      fmt::format(
          "electric: {} areas, median {:.2f} %, largest {:.2f} %; with daylight: {} areas, median {:.2f} %, "
          "95th {:.2f} %, largest {:.2f} %",
          seen.plan_electric.size(), 100 * quantile_of(seen.plan_electric, 0.5),
          100 * quantile_of(seen.plan_electric, 1.0), seen.plan_all.size(),
          100 * quantile_of(seen.plan_all, 0.5), 100 * quantile_of(seen.plan_all, 0.95),
          100 * quantile_of(seen.plan_all, 1.0)));
  EXPECT_LE(quantile_of(seen.plan_electric, 0.5), 0.02);
  EXPECT_LE(quantile_of(seen.plan_electric, 1.0), 0.05);
  EXPECT_LE(quantile_of(seen.plan_all, 0.5), 0.03);
  // An edge of sun lies between the points of the plan, which then cannot know how much of an area it covers.
  EXPECT_LE(quantile_of(seen.plan_all, 0.95), 0.30);
}

TEST(LiveRoom, WordsPictureAndStudyAgreeInFourRooms) { expect_agreement({"G05", "G08", "104", "108"}); }
TEST(LiveRoomOfEveryRoom, WordsPictureAndStudyAgree) { expect_agreement({}); }

}  // namespace
}  // namespace halflight::sim
