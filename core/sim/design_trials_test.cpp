// Designs that differ in control alone: what is said of one is what a study says of it.
// docs/methods/proposals.md
#include "sim/design_trials.hpp"

#include "climate/synthetic_year.hpp"
#include "sim/lit_room_fixture_test.hpp"

#include <algorithm>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// At least so much light on level ways out in normal states.
domain::CodeRule light_on_ways_out(double lx) {
  domain::CodeRule rule;
  rule.id = "ways";
  rule.code = "Code";
  rule.edition = "1";
  rule.requirement = domain::Requirement::egress_normal;
  for (const char* limit : {"level_min", "stair_min"}) rule.limits[limit] = {lx, "lx", lx, {}};
  return rule;
}

/// Off within so many minutes of vacancy.
domain::CodeRule off_when_empty(double minutes) {
  domain::CodeRule rule;
  rule.id = "vacancy";
  rule.code = "Code";
  rule.edition = "1";
  rule.requirement = domain::Requirement::vacancy_off;
  rule.limits["delay_max"] = {minutes, "min", 60.0 * minutes, {}};
  return rule;
}

/// A room with a window that dims with daylight, follows people, and has a way out, some of whose luminaires
/// are on a controller with too short a bus.
domain::Project office() {
  domain::Project project = ten_luminaires();
  add_window(project);
  project.drivers[1].dims = true;
  project.drivers[1].minimum_light = 0.05;
  project.codes = {{"Code", "1"}};
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{1, 3}, {9, 3}}}};
  Design& proposal = project.designs[1];
  add_daylight_loop(proposal, {2.4, 2.0, 2.7});
  add_occupancy_sensor(proposal, {5, 3, 2.7}, 900.0);
  domain::LoadController bus = controller();
  bus.groups = {"all"};
  bus.bus_limit_ma = 12.0;  // ten drivers of 2 mA
  bus.standby_w = 1.5;
  proposal.load_controllers = {bus};
  proposal.sequences[0].trim = domain::TrimRule{};
  return project;
}

class DesignTrialsTest : public testing::Test {
 protected:
  DesignTrialsTest() {
    options_.accuracy = Accuracy::draft;
    options_.scrambles = 2;
    options_.points_per_scramble = 2;
  }
  StudyInputs inputs(const domain::Project& project) const {
    return {project, library_, rules_, {}, {weather_}, {}, {}};
  }
  results::SpaceStudy study(const domain::Project& project) {
    return run_study(inputs(project), options_, context_).spaces.at(0);
  }
  /// A design tried on a bench of its own or of another.
  struct Tried {
    DesignTrial trial;
    DesignTrial as_found;
    DesignTrial new_luminaires;
  };
  Tried tried(const domain::Project& project, const domain::Project& bench) {
    lightresponse::StageLog log;
    const StudyInputs its = inputs(bench);
    const DesignTrials trials(its, options_, 0, context_, log);
    EXPECT_EQ(trials.why_dark(), "");
    return {trials.of(project), trials.as_found(), trials.new_luminaires_only()};
  }

  static void expect_same(const results::Estimate& a, const results::Estimate& b, const char* what) {
    EXPECT_EQ(a.mean, b.mean) << what;
    EXPECT_EQ(a.low, b.low) << what;
    EXPECT_EQ(a.high, b.high) << what;
    EXPECT_EQ(a.standard_error, b.standard_error) << what;
  }
  static void expect_same(const DesignTrial& a, const DesignTrial& b) {
    EXPECT_EQ(a.kwh, b.kwh);
    expect_same(a.under_lit_h, b.under_lit_h, "under-lit");
    expect_same(a.over_lit_kwh, b.over_lit_kwh, "over-lit");
    expect_same(a.taken_from_people, b.taken_from_people, "taken");
    expect_same(a.dips_on_people, b.dips_on_people, "dips");
    expect_same(a.lit_for_nobody_h, b.lit_for_nobody_h, "for nobody");
    ASSERT_EQ(a.egress.size(), b.egress.size());
    for (std::size_t i = 0; i < a.egress.size(); ++i) EXPECT_EQ(a.egress[i].min_lx, b.egress[i].min_lx);
    ASSERT_EQ(a.findings.size(), b.findings.size());
    for (std::size_t i = 0; i < a.findings.size(); ++i)
      EXPECT_EQ(a.findings[i].evidence, b.findings[i].evidence);
  }

  domain::WeatherYear weather_ = climate::synthetic_year({}, 1, 2026, climate::SyntheticKind::natural);
  domain::Library library_;
  std::vector<domain::CodeRule> rules_ = {light_on_ways_out(10.0), off_when_empty(20.0)};
  StudyOptions options_;
  std::unique_ptr<Executor> pool_ = make_pool_executor(2);
  /// Light is computed once for all tests.
  static BlobStore& kept_light() {
    static const std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
    return *blobs;
  }
  Context context_{*pool_, kept_light(), nullptr, {}};
};

TEST_F(DesignTrialsTest, SayOfTheDocumentsOwnDesignWhatAStudySays) {
  domain::Project project = office();
  project.designs[1].load_controllers[0].bus_limit_ma = 250.0;  // else it is not run
  const Tried mine = tried(project, project);
  const results::SpaceStudy space = study(project);

  // A building-year by building-year, as a study runs them.
  lightresponse::StageLog log;
  const StudyInputs its = inputs(project);
  const ReadySpaces ready(its, options_, {0}, context_, log);
  const Uncertainty uncertainty = draw_uncertainty(project, options_.seed, 2, 2, ready.weather.size());
  ASSERT_EQ(mine.trial.kwh.size(), uncertainty.draws.size());
  for (std::size_t r = 0; r < uncertainty.draws.size(); ++r) {
    const ReplicateRun run =
        run_replicate(ready.models[0], ready.daylight_by_year.front()[0], uncertainty.draws[r], false);
    const auto kwh = [&](results::Case c) {
      const CaseRun& one = run.cases[static_cast<std::size_t>(c)];
      return (one.light_wh + one.standby_wh) / 1000.0;
    };
    EXPECT_EQ(mine.trial.kwh[r], kwh(results::Case::proposal)) << r;
    EXPECT_EQ(mine.as_found.kwh[r], kwh(results::Case::as_found)) << r;
    EXPECT_EQ(mine.new_luminaires.kwh[r], kwh(results::Case::relamped)) << r;
  }
  const auto kwh = [&](results::Case c) {
    const results::CaseYear& year = space.cases[static_cast<std::size_t>(c)];
    return year.lighting_kwh.mean + year.standby_kwh.mean;
  };
  // Sums in another order.
  EXPECT_NEAR(mine.trial.year_kwh.mean, kwh(results::Case::proposal), 1e-9);
  EXPECT_NEAR(mine.as_found.year_kwh.mean, kwh(results::Case::as_found), 1e-9);
  EXPECT_NEAR(mine.new_luminaires.year_kwh.mean, kwh(results::Case::relamped), 1e-9);
  EXPECT_LT(mine.trial.year_kwh.mean, 0.9 * mine.new_luminaires.year_kwh.mean);

  ASSERT_EQ(space.loops.size(), 1U);
  EXPECT_GT(space.loops[0].hours.mean, 500.0) << "the loop must have been at work";
  EXPECT_GT(space.light_for_people.lit_for_nobody_h.mean, 0.0);
  expect_same(mine.trial.under_lit_h, space.loops[0].under_lit_hours, "under-lit");
  expect_same(mine.trial.over_lit_kwh, space.loops[0].over_lit_kwh, "over-lit");
  expect_same(mine.trial.taken_from_people, space.light_for_people.taken_from_people, "taken");
  expect_same(mine.trial.dips_on_people, space.light_for_people.dips_on_people, "dips");
  expect_same(mine.trial.lit_for_nobody_h, space.light_for_people.lit_for_nobody_h, "for nobody");

  ASSERT_FALSE(space.egress.empty());
  ASSERT_EQ(mine.trial.egress.size(), space.egress.size());
  for (std::size_t i = 0; i < space.egress.size(); ++i) {
    EXPECT_EQ(mine.trial.egress[i].state, space.egress[i].state);
    EXPECT_EQ(mine.trial.egress[i].min_lx, space.egress[i].min_lx);
    EXPECT_EQ(mine.trial.egress[i].holds, space.egress[i].holds);
  }
}

/// Findings that a design can be refused by, in words, as often as they come.
std::multiset<std::string> that_refuse(const std::vector<results::Finding>& findings) {
  std::multiset<std::string> all;
  DesignTrial one;
  for (const results::Finding& finding : findings) {
    one.findings = {finding};
    for (const std::string& because : one.refused_because()) all.insert(because);
  }
  return all;
}

TEST_F(DesignTrialsTest, RefuseWhatAStudyFails) {
  // A delay beyond the rule, and a bus that gives less than its drivers ask.
  const auto set = [](double delay_s, double bus_ma) {
    domain::Project project = office();
    project.designs[1].sequences[0].vacancy->delay_s = delay_s;
    project.designs[1].load_controllers[0].bus_limit_ma = bus_ma;
    return project;
  };
  std::vector<std::size_t> refusals;
  for (const domain::Project& project : {set(1800.0, 12.0), set(900.0, 250.0), set(900.0, 12.0)}) {
    const DesignTrial trial = tried(project, project).trial;
    const results::SpaceStudy space = study(project);
    EXPECT_EQ(that_refuse(trial.findings), that_refuse(space.findings));
    refusals.push_back(trial.refused_because().size());
    EXPECT_EQ(trial.kwh.empty(), !trial.refused_because().empty()) << "what is refused is not run";
    // All that the rules say, passed or not, in the study's words.
    std::multiset<std::string> mine;
    std::multiset<std::string> theirs;
    for (const results::Finding& finding : trial.findings)
      if (!finding.code.empty()) mine.insert(finding.rule + ": " + finding.evidence);
    for (const results::Finding& finding : space.findings)
      if (!finding.code.empty()) theirs.insert(finding.rule + ": " + finding.evidence);
    EXPECT_EQ(mine, theirs);
  }
  EXPECT_EQ(refusals, (std::vector<std::size_t>{2, 0, 1}));
}

TEST_F(DesignTrialsTest, SensorsOfTheBenchThatADesignDoesNotHaveChangeNothing) {
  domain::Project project = office();
  project.designs[1].load_controllers[0].bus_limit_ma = 250.0;
  domain::Project bench = project;
  std::vector<domain::Photosensor>& hung = bench.designs[1].photosensors;
  domain::Photosensor other = hung[0];
  other.groups.clear();
  for (int i = 0; i < 3; ++i) {
    other.id = "X" + std::to_string(i);
    other.at = {6.0 + i, 4.0, 2.7};
    if (i == 2) other.response = domain::Photosensor::Response::narrowed;
    hung.insert(i == 1 ? hung.end() : hung.begin(), other);
  }
  const DesignTrial alone = tried(project, project).trial;
  expect_same(tried(project, bench).trial, alone);

  // Moved to another of the bench's places it is that other sensor, whatever it is called.
  domain::Project moved = project;
  moved.designs[1].photosensors[0].at = {6.0, 4.0, 2.7};
  const DesignTrial there = tried(moved, bench).trial;
  expect_same(there, tried(moved, moved).trial);
  EXPECT_NE(there.kwh, alone.kwh);
}

TEST_F(DesignTrialsTest, DoNotDependOnThreads) {
  domain::Project project = office();
  project.designs[1].load_controllers[0].bus_limit_ma = 250.0;
  std::vector<DesignTrial> by_threads;
  for (const std::size_t threads : {1U, 2U}) {
    const auto pool = make_pool_executor(threads);
    const auto blobs = make_memory_blob_store();
    lightresponse::StageLog log;
    const StudyInputs its = inputs(project);
    const DesignTrials trials(its, options_, 0, {*pool, *blobs, nullptr, {}}, log);
    by_threads.push_back(trials.of(project));
  }
  expect_same(by_threads[0], by_threads[1]);
}

}  // namespace
}  // namespace halflight::sim
