// What values of one thing would make of a room. docs/methods/proposals.md
#include "choose/what_if.hpp"

#include "climate/synthetic_year.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

class WhatIfTest : public testing::Test {
 protected:
  WhatIfTest() {
    options_.accuracy = sim::Accuracy::draft;
    options_.scrambles = 2;
    options_.points_per_scramble = 1;
  }
  std::vector<WhatIf> tried(const std::vector<domain::Project>& projects, bool light_stays) {
    std::vector<const domain::Project*> variants;
    for (const domain::Project& project : projects) variants.push_back(&project);
    const sim::StudyInputs inputs{projects.front(), library_, rules_, {}, {weather_}, {}, {}};
    lightresponse::StageLog log;
    auto found = what_if(inputs, 0, variants, light_stays, options_, context_, log);
    EXPECT_TRUE(found) << (found ? "" : to_text(found.error().front()));
    return found ? *std::move(found) : std::vector<WhatIf>{};
  }
  static domain::Project with_delay(double delay_s) {
    domain::Project project = sim::ten_luminaires();
    sim::add_window(project);
    project.drivers[1].dims = true;
    sim::add_daylight_loop(project.designs[1], {2.4, 2.0, 2.7});
    sim::add_occupancy_sensor(project.designs[1], {5, 3, 2.7}, delay_s);
    return project;
  }

  domain::WeatherYear weather_ = climate::synthetic_year({}, 1, 2026, climate::SyntheticKind::natural);
  domain::Library library_;
  std::vector<domain::CodeRule> rules_;
  sim::StudyOptions options_;
  std::unique_ptr<Executor> pool_ = make_pool_executor(2);
  std::unique_ptr<BlobStore> blobs_ = make_memory_blob_store();
  Context context_{*pool_, *blobs_, nullptr, {}};
};

// The longer light waits for nobody, the more it draws and the less it is taken from people.
TEST_F(WhatIfTest, ALongerDelayDrawsMoreAndTakesLess) {
  const auto found = tried({with_delay(300), with_delay(900), with_delay(1800)}, true);
  ASSERT_EQ(found.size(), 3u);
  for (std::size_t i = 1; i < 3; ++i) {
    for (std::size_t r = 0; r < found[i].trial.kwh.size(); ++r)
      EXPECT_GT(found[i].trial.kwh[r], found[i - 1].trial.kwh[r]);
    EXPECT_GT(found[i].trial.lit_for_nobody_h.mean, found[i - 1].trial.lit_for_nobody_h.mean);
    EXPECT_LE(found[i].trial.taken_from_people.mean, found[i - 1].trial.taken_from_people.mean);
  }
  EXPECT_DOUBLE_EQ(found[0].connected_w, 300.0);
}

TEST_F(WhatIfTest, OneBenchForAllSaysWhatABenchForEachSays) {
  const std::vector<domain::Project> projects = {with_delay(300), with_delay(900)};
  const auto together = tried(projects, true);
  const auto apart = tried(projects, false);
  ASSERT_EQ(together.size(), apart.size());
  for (std::size_t i = 0; i < together.size(); ++i) {
    EXPECT_EQ(together[i].trial.kwh, apart[i].trial.kwh);
    EXPECT_EQ(together[i].trial.under_lit_h.mean, apart[i].trial.under_lit_h.mean);
  }
}

TEST_F(WhatIfTest, DarkerGlassLeavesMoreToTheLamps) {
  std::vector<domain::Project> projects = {with_delay(900), with_delay(900)};
  projects[1].glazings[0].transmittance = 0.2;
  const auto found = tried(projects, false);
  ASSERT_EQ(found.size(), 2u);
  EXPECT_GT(found[1].trial.year_kwh.mean, 1.02 * found[0].trial.year_kwh.mean);
}

TEST_F(WhatIfTest, ADesignThatDoesNotStandIsRunAllTheSame) {
  domain::Project dark = with_delay(900);
  dark.codes = {{"Code", "1"}};
  dark.spaces[0].egress_paths = {{.id = "way", .centre_line = {{1, 3}, {9, 3}}}};
  domain::CodeRule rule;
  rule.id = "ways";
  rule.code = "Code";
  rule.edition = "1";
  rule.requirement = domain::Requirement::egress_normal;
  for (const char* limit : {"level_min", "stair_min"}) rule.limits[limit] = {1e5, "lx", 1e5, {}};
  rules_ = {rule};
  const auto found = tried({dark}, true);
  ASSERT_EQ(found.size(), 1u);
  EXPECT_FALSE(found[0].trial.refused_because().empty());
  EXPECT_GT(found[0].trial.year_kwh.mean, 0.0);
}

}  // namespace
}  // namespace halflight::choose
