// One run from design to results, on small buildings made here.
#include "climate/clear_shape.hpp"
#include "climate/sun.hpp"
#include "energy/shapley.hpp"
#include "photometry/spectrum.hpp"
#include "sim/claims.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/daylight_lines.hpp"
#include "sim/light_states.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/space_year.hpp"
#include "sim/study.hpp"
#include "sim/uncertainty.hpp"

#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

using domain::Design;

double total_kwh(const CaseRun& run) { return (run.light_wh + run.standby_wh) / 1000.0; }

TEST(Energy, TenLuminairesReplacedByTenWithStandby) {
  // Worked by hand: 10 x 58 W x 3,000 h = 1,740 kWh; 10 x 30 W x 3,000 h = 900 kWh; standby 10 x 0.4 W x
  // 5,760 h = 23.04 kWh. No strategy is in use, so controls cost 23.04 kWh.
  domain::Project project = ten_luminaires();
  project.spaces[0].occupancy.pattern = domain::Occupancy::Pattern::none;  // nobody stays after hours
  project.designs[1].load_controllers.push_back(controller());
  const Bench bench(project);
  const ReplicateRun run = run_replicate(bench.model, bench.daylight, Draws{}, false);
  EXPECT_NEAR(total_kwh(run.cases[0]), 1740.0, 1e-9);
  EXPECT_NEAR(total_kwh(run.cases[1]), 900.0, 1e-9);
  EXPECT_NEAR(total_kwh(run.cases[3]), 923.04, 1e-9);
  EXPECT_NEAR(run.cases[1].light_wh - run.cases[3].light_wh, 0.0, 1e-9);
  EXPECT_LT(total_kwh(run.cases[1]) - total_kwh(run.cases[3]), 0.0);
}

TEST(Energy, SharesAndStandbyCloseInEveryReplicate) {
  const Bench bench(with_strategies());
  const Uncertainty uncertainty = draw_uncertainty(bench.project, 3, 2, 4, 1);
  for (const Draws& draws : uncertainty.draws) {
    const ReplicateRun run = run_replicate(bench.model, bench.daylight, draws, false);
    std::array<double, 32> worth{};
    for (std::size_t m = 0; m < 32; ++m) worth[m] = -run.coalition_wh[m];
    const std::vector<double> strategy = energy::shapley(worth);
    const double shares = std::accumulate(strategy.begin(), strategy.end(), 0.0) +
                          (run.cases[0].light_wh - run.cases[1].light_wh) +
                          (run.cases[0].standby_wh - run.cases[3].standby_wh);
    const double difference = 1000.0 * (total_kwh(run.cases[0]) - total_kwh(run.cases[3]));
    EXPECT_NEAR(shares, difference, 1e-9 * std::abs(difference));
    EXPECT_GT(difference, 0.0);
    // Strategies that are not in this design are null players.
    EXPECT_EQ(strategy[4], 0.0);
  }
}

TEST(Energy, RemovingEveryDeviceSavesExactlyNothing) {
  domain::Project project = with_strategies();
  Design& proposal = project.designs[1];
  proposal.load_controllers.clear();
  domain::Sequence by_hand;
  by_hand.space = "room";
  proposal.sequences[0] = by_hand;
  const Bench bench(project);
  for (const Draws& draws : draw_uncertainty(bench.project, 5, 2, 4, 1).draws) {
    const ReplicateRun run = run_replicate(bench.model, bench.daylight, draws, false);
    EXPECT_EQ(run.cases[1].light_wh, run.cases[3].light_wh);
    EXPECT_EQ(run.cases[1].standby_wh, run.cases[3].standby_wh);
    EXPECT_GT(run.cases[3].light_wh, 0.0);
  }
}

TEST(Energy, LongerDelayNeverSaves) {
  double before = 0.0;
  for (const double delay_s : {300.0, 900.0, 1800.0}) {
    domain::Project project = with_strategies();
    project.designs[1].sequences[0].vacancy->delay_s = delay_s;
    const Bench bench(project);
    const double kwh = total_kwh(run_replicate(bench.model, bench.daylight, Draws{}, false).cases[3]);
    EXPECT_GE(kwh, before);
    before = kwh;
  }
}

TEST(Energy, PeopleLeaveTheSwitchToASensor) {
  // Pigg, Eilers and Reed 1996: people who see a sensor switch off less. A delay of a day never acts.
  double alone_h = 0.0;
  double beside_a_sensor_h = 0.0;
  for (std::uint32_t replicate = 0; replicate < 8; ++replicate) {
    for (const bool sensor : {false, true}) {
      domain::Project project = with_strategies();
      domain::Sequence& sequence = project.designs[1].sequences[0];
      sequence.on.by = domain::OnRule::By::hand;
      sequence.on.level = 1.0;
      sequence.schedule.reset();
      sequence.vacancy.reset();
      if (sensor) {
        sequence.vacancy.emplace();
        sequence.vacancy->delay_s = static_cast<double>(kDay);
      }
      const Bench bench(project);
      Draws draws;
      draws.replicate = replicate;
      (sensor ? beside_a_sensor_h : alone_h) +=
          run_replicate(bench.model, bench.daylight, draws, false).cases[3].lit_h;
    }
  }
  EXPECT_GT(beside_a_sensor_h, 1.05 * alone_h);
}

TEST(Energy, TrimHoldsTheTargetAndScalesPower) {
  const Bench bench(with_strategies());
  const double trim = trim_to_target(bench.model, bench.model.proposal.sequence, 1.0, 1.0);
  double maintained = 0.0;
  const lightresponse::PointRows& rows = bench.lit[0].task_rows[0];
  for (std::size_t c = 0; c < rows.columns; ++c) {
    if (bench.lit[0].scene.columns[c].design != 1) continue;
    for (std::size_t p = 0; p < rows.points; ++p)
      maintained += rows.electric_of(p)[c] / static_cast<double>(rows.points) *
                    light_loss(bench.project, bench.lit[0].scene.columns[c]);
  }
  ASSERT_LT(trim, 1.0);
  EXPECT_NEAR(trim * maintained, 300.0, 1e-6);
}

TEST(Egress, AGroupMayStandElsewhereInTrouble) {
  // Ten luminaires of one light each, all over the way: half of them at 30 % in place of 80 % gives (5 0.3 +
  // 5 0.8) / (10 0.8) of the light, as the rows lie alike about the way in the middle.
  domain::Project project = ten_luminaires();
  project.drivers[1].dims = true;
  project.drivers[1].minimum_light = 0.01;
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{1, 3}, {9, 3}}}};
  domain::Design& proposal = project.designs[1];
  domain::Group south;
  south.id = "south";
  south.space = "room";
  for (const domain::Luminaire& luminaire : proposal.luminaires)
    if (luminaire.at.y < 3.0) south.channels.push_back(luminaire.id);
  proposal.groups.push_back(south);
  domain::LossRule& loss = proposal.sequences[0].loss;
  loss.sensor_lost = 0.8;
  loss.network_lost = 0.8;
  loss.groups = {{"south", 0.3, {}, {}, {}, {}}};
  const Bench bench(project);
  std::map<std::string, double> mean_lx;
  for (const results::EgressState& state : egress_light(bench.model, bench.rules, false))
    mean_lx[state.state] = state.mean_lx;
  EXPECT_NEAR(mean_lx["sensor lost"] / mean_lx["network lost"], 5.5 / 8.0, 0.01);
}

TEST(Egress, TheSweepIsAStateAndLeavesOnlyWhatItDoesNotName) {
  domain::Project project = ten_luminaires();
  domain::EgressPath path;
  path.id = "way";
  path.centre_line = {{1, 3}, {9, 3}};
  project.spaces[0].egress_paths.push_back(path);
  const auto swept = [&] {
    const Bench bench(project);
    for (const results::EgressState& state : egress_light(bench.model, {}, true))
      if (state.state == "vacant, swept after closing") return state.min_lx;
    ADD_FAILURE() << "the sweep is not among the states";
    return -1.0;
  };
  EXPECT_EQ(swept(), 0.0);
  domain::Group group;
  group.id = "sweep";
  group.space = "room";
  group.strategy = domain::Strategy::schedule;
  group.channels = {"proposal0"};
  project.designs[1].groups.push_back(group);
  project.designs[1].sequences[0].schedule->groups = {"sweep"};
  EXPECT_GT(swept(), 10.0);
}

/// A year without sun, or one in which every day from six to six is bright.
domain::WeatherYear year_of(double beam_w_m2, double diffuse_w_m2) {
  domain::WeatherYear weather;
  weather.name = "made up";
  weather.rows.resize(domain::kHoursPerYear);
  for (std::size_t h = 0; h < weather.rows.size(); ++h)
    if (h % 24 >= 6 && h % 24 < 18)
      weather.rows[h] = {0.5 * beam_w_m2 + diffuse_w_m2, beam_w_m2, diffuse_w_m2, 15.0, 8.0, 1013.25};
  return weather;
}

results::Study study_of(const domain::Project& project, std::uint32_t seed, int scrambles, int points,
                        double spread, Executor& executor, BlobStore& blobs,
                        const domain::WeatherYear& weather = year_of(0.0, 0.0),
                        const std::vector<Hash>& content_keys = {}) {
  const domain::Library library;
  const std::vector<domain::CodeRule> rules;
  StudyInputs inputs{project, library, rules, {}, {weather}, {}, content_keys};
  StudyOptions options;
  options.accuracy = Accuracy::draft;
  options.seed = seed;
  options.scrambles = scrambles;
  options.points_per_scramble = points;
  options.spread = spread;
  return run_study(inputs, options, {executor, blobs, nullptr, {}});
}

TEST(Intervals, SpreadOfMeansOverSeedsAgreesWithThePrintedStandardError) {
  const domain::Project project = with_strategies();
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  constexpr int seeds = 50;
  std::vector<double> means;
  double printed_variance = 0.0;
  for (std::uint32_t seed = 1; seed <= seeds; ++seed) {
    const results::Study study = study_of(project, seed, 8, 16, 1.0, *pool, *blobs);
    means.push_back(study.totals.saving.against_as_found.mean);
    printed_variance += std::pow(study.totals.saving.against_as_found.standard_error, 2) / seeds;
  }
  const double mean = std::accumulate(means.begin(), means.end(), 0.0) / seeds;
  double variance = 0.0;
  for (const double m : means) variance += (m - mean) * (m - mean) / (seeds - 1);
  const double ratio = std::sqrt(variance / printed_variance);
  EXPECT_GT(ratio, 0.7);
  EXPECT_LT(ratio, 1.4);
}

TEST(Intervals, DoublingTheSpreadOfInputsWidensTheInterval) {
  const domain::Project project = with_strategies();
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const auto width = [&](double spread) {
    const results::Estimate& e =
        study_of(project, 1, 8, 16, spread, executor, *blobs).totals.saving.against_as_found;
    return e.high - e.low;
  };
  EXPECT_GT(width(2.0), 1.2 * width(1.0));
}

TEST(Study, RegroupingChannelsRecomputesNoLightAndChangesNoTotal) {
  domain::Project project = with_strategies();
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const results::Study before = study_of(project, 1, 2, 2, 1.0, executor, *blobs);
  domain::Group group;
  group.id = "A";
  group.space = "room";
  group.name = "A";
  for (int i = 0; i < 5; ++i) group.channels.push_back("proposal" + std::to_string(i));
  project.designs[1].groups.push_back(group);
  const results::Study after = study_of(project, 1, 2, 2, 1.0, executor, *blobs);
  for (const auto& stage : after.cache.stages) EXPECT_EQ(stage.computed, 0) << stage.name;
  EXPECT_NEAR(after.totals.kwh[3].mean, before.totals.kwh[3].mean, 1e-9 * before.totals.kwh[3].mean);
}

/// The room with a window to the south, a cloth before it and a photosensor for all of its luminaires.
domain::Project with_daylight() {
  domain::Project project = with_strategies();
  domain::Glazing glass;
  glass.id = "glass";
  project.glazings.push_back(glass);
  domain::Shade cloth;
  cloth.id = "cloth";
  cloth.operation = domain::Shade::Operation::fixed_open;
  project.shades.push_back(cloth);
  domain::Opening window;
  window.id = "window";
  window.offset_m = 1.0;
  window.width_m = 8.0;
  window.height_m = 1.8;
  window.glazing = "glass";
  window.shade = "cloth";
  project.spaces[0].openings.push_back(window);
  Design& proposal = project.designs[1];
  add_daylight_loop(proposal, {5.0, 2.0, 2.7});
  proposal.sequences[0].daylight[0].method = domain::DaylightRule::Method::open_loop_proportional;
  project.drivers[1].dims = true;
  return project;
}

TEST(DaylightLimits, AnswerToTheirOwnPhotosensorsInAnyOrderOfRules) {
  // Two groups; the light at one photosensor rises through the year, at the other it falls.
  domain::Project project = with_daylight();
  project.spaces[0].openings.clear();  // daylight comes from below
  Design& proposal = project.designs[1];
  domain::Group inner = proposal.groups[0];
  proposal.groups[0].channels.resize(5);
  inner.id = inner.name = "inner";
  inner.channels.erase(inner.channels.begin(), inner.channels.begin() + 5);
  proposal.groups.push_back(inner);
  domain::Photosensor second = proposal.photosensors[0];
  second.id = "P2";
  second.at.y = 4.5;
  second.groups = {"inner"};
  proposal.photosensors.push_back(second);
  domain::DaylightRule rule = proposal.sequences[0].daylight[0];
  rule.group = "inner";
  rule.photosensor = "P2";
  proposal.sequences[0].daylight.push_back(rule);

  Bench bench(project);
  const std::size_t n = bench.sunny.step.size();
  GroupSeries rising;
  GroupSeries falling;
  for (std::size_t i = 0; i < n; ++i) {
    rising.open.push_back(static_cast<float>(i) / static_cast<float>(n) * 200.0F);
    falling.open.push_back(200.0F - rising.open.back());
  }
  bench.daylight.tasks = {RowSeries{rising}};
  bench.daylight.sensors = {RowSeries{rising}, RowSeries{falling}};
  bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
  const Replicate replicate(bench.model, bench.daylight, Draws{});
  domain::Sequence sequence = bench.model.proposal.sequence;
  const auto levels_of = [&](const std::string& group) {
    for (const DaylightLimits::Group& found :
         daylight_limits(bench.model, sequence, 1.0, 1.0, 1.0, replicate.daylight()).groups)
      if (found.group == group) return found.level;
    return std::vector<double>();
  };
  const std::vector<double> day = levels_of("day");
  const std::vector<double> within = levels_of("inner");
  ASSERT_EQ(day.size(), n);
  EXPECT_GT(day.front(), day.back());
  std::swap(sequence.daylight[0], sequence.daylight[1]);
  const std::vector<double> day_again = levels_of("day");
  const std::vector<double> within_again = levels_of("inner");
  for (std::size_t i = 0; i < n; ++i) {
    ASSERT_NEAR(day_again[i], day[i], 1e-9);
    ASSERT_NEAR(within_again[i], within[i], 1e-9);
  }
}

/// Clear days in turn with broken ones; of every hour half of the sun and some more of the sky is left then.
domain::WeatherYear clear_and_broken(const climate::SunTrack& track) {
  domain::WeatherYear weather;
  weather.name = "clear and broken";
  weather.latitude_deg = track.place().latitude_deg;
  for (std::size_t h = 0; h < domain::kHoursPerYear; ++h) {
    domain::WeatherRow row;
    for (Seconds s = kStep_s / 2; s < kHour; s += kStep_s) {
      const climate::ClearShape clear = climate::clear_shape(track.at(static_cast<Seconds>(h) * kHour + s));
      const bool broken = h / 24 % 2 == 1;
      row.beam_w_m2 += (broken ? 0.45 : 0.9) * clear.beam / 12.0;
      row.diffuse_w_m2 += (broken ? 0.2 : 0.12) * clear.diffuse / 12.0;
    }
    weather.rows.push_back(row);
  }
  return weather;
}

TEST(PassingClouds, KeepAPhotosensorBusyThroughBrokenDaysWithNoLessDaylight) {
  Bench bench(with_daylight());
  const domain::WeatherYear weather = clear_and_broken(bench.track);
  struct Year {
    double daylight = 0.0;         // on the desk, summed over the steps
    std::array<int, 2> changes{};  // of the level by a tenth and more in one step, clear and broken days
    double light_wh = 0.0;
  };
  const auto year = [&](std::optional<climate::CloudDraw> clouds) {
    const climate::WeatherTrack track = track_of(bench.project, weather, clouds);
    const SpaceDaylight daylight = daylight_year(bench.project, bench.lit, bench.outside, bench.sky, track,
                                                 bench.sunny, bench.context)[0];
    const SpaceModel model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, daylight, 1);
    Replicate replicate(model, daylight, Draws{});
    Year found;
    for (const float lx : replicate.daylight().tasks[0]) found.daylight += static_cast<double>(lx);
    const std::vector<double> level =
        daylight_limits(model, model.proposal.sequence, 1.0, 1.0, 1.0, replicate.daylight()).groups[0].level;
    for (std::size_t i = 1; i < level.size(); ++i)
      if (bench.sunny.step[i] == bench.sunny.step[i - 1] + 1 && std::abs(level[i] - level[i - 1]) >= 0.1)
        ++found.changes[bench.sunny.step[i] / 288 % 2];
    found.light_wh = replicate.evaluate(way_of_proposal(model)).light_wh;
    return found;
  };
  const Year smooth = year(std::nullopt);
  const Year drawn = year(climate::CloudDraw{1, 0});
  const Year other = year(climate::CloudDraw{2, 0});
  // Outside every hour has the same light to nine digits (climate). In the room the sky's pattern and the
  // efficacy of its light follow the clouds.
  EXPECT_NEAR(drawn.daylight, smooth.daylight, 0.02 * smooth.daylight);
  EXPECT_GT(drawn.changes[1], 3 * smooth.changes[1]);
  EXPECT_GT(drawn.changes[1], 5 * drawn.changes[0]);
  // What a bright step has too much no lamp gives back for the dark one: the same daylight saves less.
  EXPECT_GT(drawn.light_wh, smooth.light_wh);
  // Another seed brings other clouds of the same kind.
  EXPECT_NE(other.changes[1], drawn.changes[1]);
  EXPECT_NEAR(other.changes[1], drawn.changes[1], 0.1 * drawn.changes[1]);
  EXPECT_NEAR(other.light_wh, drawn.light_wh, 0.02 * drawn.light_wh);
}

TEST(Study, CloudsAreTheSameOnAnyNumberOfThreadsAndCanBeLeftOut) {
  domain::Project project = with_daylight();
  SerialExecutor one_thread;
  const auto pool = make_pool_executor(0);
  const auto kwh = [&](Executor& executor) {
    const auto nothing = make_memory_blob_store();
    const domain::WeatherYear weather =
        clear_and_broken(climate::SunTrack(climate::place_of(project.site), 0.0, 2026));
    return study_of(project, 1, 1, 2, 1.0, executor, *nothing, weather).totals.kwh[3].mean;
  };
  const double drawn = kwh(one_thread);
  EXPECT_EQ(kwh(*pool), drawn);
  project.site.weather_within_the_hour = domain::WithinTheHour::smooth;
  EXPECT_LT(kwh(*pool), drawn);
}

/// A sensor with a ratio of signal to daylight at the desk that never changes, and its room by day.
struct UncorrectedSensor {
  static constexpr double kSignalPerTask = 0.16;
  explicit UncorrectedSensor(domain::DaylightRule::Method method,
                             domain::Photosensor::SpectralResponse response,
                             domain::SourceSpectrum lamps = domain::SourceSpectrum::white_led)
      : bench(project_of(method, response, lamps)) {
    GroupSeries task;
    GroupSeries sensor;
    const std::size_t n = bench.sunny.step.size();
    for (std::size_t i = 0; i < n; ++i) {
      task.open.push_back(static_cast<float>(i) / static_cast<float>(n) * 400.0F);
      sensor.open.push_back(static_cast<float>(kSignalPerTask) * task.open.back());
    }
    bench.daylight.tasks = {RowSeries{task}};
    bench.daylight.sensors = {RowSeries{sensor}};
    bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
  }

  static domain::Project project_of(domain::DaylightRule::Method method,
                                    domain::Photosensor::SpectralResponse response,
                                    domain::SourceSpectrum lamps) {
    domain::Project project = with_daylight();
    project.spaces[0].openings.clear();  // daylight comes from the test
    project.luminaire_types[1].channels[0].spectrum = lamps;
    domain::Photosensor& sensor = project.designs[1].photosensors[0];
    sensor.spectral_response = response;
    sensor.range_lx = 400.0;
    domain::DaylightRule& rule = project.designs[1].sequences[0].daylight[0];
    rule.method = method;
    rule.minimum_level = 0.0;
    return project;
  }

  /// What the desk has of a daylight step, lx: from lamps at full output, from the sky, and in all.
  struct Desk {
    double night_lx;
    double day_lx;
    double lx;
    double level;
  };
  std::vector<Desk> by_day() const {
    const Replicate replicate(bench.model, bench.daylight, Draws{});
    const DaylightLimits limits =
        daylight_limits(bench.model, bench.model.proposal.sequence, 1.0, 1.0, 1.0, replicate.daylight());
    const double night = night_lx();
    std::vector<Desk> desk;
    for (std::size_t i = 0; i < bench.sunny.step.size(); ++i) {
      const double day = replicate.daylight().tasks[0][i];
      const double level = limits.groups.at(0).level[i];
      desk.push_back({night, day, day + level * night, level});
    }
    return desk;
  }
  double night_lx() const { return of_all(bench.lit[0].task_rows[0]); }
  /// r_night of an illuminance meter at the sensor: lx there per lx at the desk.
  double night_ratio() const { return of_all(bench.lit[0].sensor_rows[0]) / night_lx(); }

  Bench bench;

 private:
  double of_all(const lightresponse::PointRows& rows) const {
    double lx = 0.0;
    for (const ControlCell& cell : bench.lit[0].cells)
      if (cell.design == 1) lx += cell_lx(bench.model, rows, cell, 1.0);
    return lx;
  }
};

TEST(UncorrectedSensor, SetAtNightUnderLightsTheDeskByItsClosedForm) {
  // E = E_night + E_day (1 - f_day r_day / (f_night r_night)): Rubinstein, Ward and Verderber 1989, with the
  // readings f per lux of daylight and of lamp light.
  using Response = domain::Photosensor::SpectralResponse;
  for (const auto lamps : {domain::SourceSpectrum::white_led, domain::SourceSpectrum::incandescent}) {
    for (const Response response : {Response::photopic, Response::silicon}) {
      const UncorrectedSensor room(domain::DaylightRule::Method::integral_reset, response, lamps);
      domain::Photosensor sensor;
      sensor.spectral_response = response;
      const double f_day = photometry::reading_per_lx_of_daylight(sensor);
      const double f_night = photometry::reading_per_lx_of(sensor, lamps);
      const double r_night = room.night_ratio();
      // The converter rounds daylight and the stored signal by half a count each.
      const double count_lx = 400.0 / 4095.0 / (f_night * r_night);
      int between_limits = 0;
      for (const UncorrectedSensor::Desk& desk : room.by_day()) {
        if (desk.level <= 0.0 || desk.level >= 1.0) continue;
        ++between_limits;
        const double expected =
            desk.night_lx +
            desk.day_lx * (1.0 - f_day * UncorrectedSensor::kSignalPerTask / (f_night * r_night));
        ASSERT_NEAR(desk.lx, expected, 1.01 * count_lx);
      }
      EXPECT_GT(between_limits, 100);
    }
  }
}

TEST(UncorrectedSensor, SetByDayHoldsTheDesk) {
  using Response = domain::Photosensor::SpectralResponse;
  const UncorrectedSensor room(domain::DaylightRule::Method::closed_loop_proportional, Response::silicon);
  const controls::Calibration& calibration = room.bench.model.calibrations[0];
  ASSERT_TRUE(calibration.usable);
  domain::Photosensor silicon;
  silicon.spectral_response = Response::silicon;
  EXPECT_NEAR(calibration.day_ratio,
              photometry::reading_per_lx_of_daylight(silicon) * UncorrectedSensor::kSignalPerTask, 1e-6);
  int between_limits = 0;
  for (const UncorrectedSensor::Desk& desk : room.by_day()) {
    if (desk.level <= 0.0 || desk.level >= 1.0) continue;
    ++between_limits;
    // A count of the converter over the difference of the ratios, which divides the signal.
    ASSERT_NEAR(desk.lx, desk.night_lx, 1.01 * 400.0 / 4095.0 / calibration.day_ratio);
  }
  EXPECT_GT(between_limits, 100);
}

TEST(Study, AnUncorrectedSensorIsFoundWhereItsLoopIsSetAtNightAlone) {
  using Response = domain::Photosensor::SpectralResponse;
  using Verdict = results::Finding::Verdict;
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  const domain::WeatherYear bright = year_of(300.0, 200.0);
  const auto study = [&](Response response, domain::DaylightRule::Method method,
                         std::optional<double> stated = {}) {
    domain::Project project = with_daylight();
    domain::Photosensor& sensor = project.designs[1].photosensors[0];
    sensor.spectral_response = response;
    sensor.daylight_factor = stated;
    project.designs[1].sequences[0].daylight[0].method = method;
    return study_of(project, 1, 2, 2, 1.0, *pool, *blobs, bright);
  };
  const auto verdict = [](const results::Study& of) -> std::optional<Verdict> {
    for (const results::Finding& finding : of.spaces[0].findings)
      if (finding.rule == "photosensor-reads-colours-differently") return finding.verdict;
    return std::nullopt;
  };
  const auto reset = domain::DaylightRule::Method::integral_reset;
  const results::Study bare = study(Response::silicon, reset);
  EXPECT_EQ(verdict(bare), Verdict::fail);
  EXPECT_GT(bare.spaces[0].sensors[0].daylight_factor, 2.0);
  EXPECT_EQ(bare.spaces[0].sensors[0].electric_factor, 1.0);
  const results::Study corrected = study(Response::photopic, reset);
  EXPECT_EQ(verdict(corrected), std::nullopt);
  EXPECT_EQ(corrected.spaces[0].sensors[0].daylight_factor, 1.0);
  EXPECT_EQ(corrected.spaces[0].sensors[0].electric_factor, 1.0);
  // It takes the daylight for more than it is, and dims further.
  EXPECT_LT(bare.spaces[0].cases[3].lighting_kwh.mean, corrected.spaces[0].cases[3].lighting_kwh.mean);
  EXPECT_EQ(verdict(study(Response::silicon, domain::DaylightRule::Method::open_loop_proportional)),
            Verdict::needs_evidence);
  // At the limit of 1.2 itself it passes.
  EXPECT_EQ(verdict(study(Response::silicon, reset, 1.2)), std::nullopt);
  EXPECT_EQ(verdict(study(Response::silicon, reset, 1.21)), Verdict::fail);
}

TEST(Study, DroppingAShadeRecomputesNoLight) {
  domain::Project project = with_daylight();
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  const domain::WeatherYear bright = year_of(300.0, 200.0);
  const results::Study open = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, bright);
  project.shades[0].operation = domain::Shade::Operation::fixed_closed;
  const results::Study drawn = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, bright);
  ASSERT_FALSE(drawn.cache.stages.empty());
  for (const auto& stage : drawn.cache.stages) {
    if (stage.name == "daylight availability") continue;  // a year of shaded daylight, not light
    EXPECT_EQ(stage.computed, 0) << stage.name;
  }
  // What came from the store is what a study from nothing finds; and the shade matters.
  const auto nothing = make_memory_blob_store();
  const results::Study fresh = study_of(project, 1, 2, 2, 1.0, *pool, *nothing, bright);
  for (std::size_t c = 0; c < 4; ++c)
    EXPECT_NEAR(drawn.totals.kwh[c].mean, fresh.totals.kwh[c].mean, 1e-9 * fresh.totals.kwh[c].mean);
  EXPECT_GT(drawn.totals.kwh[3].mean, 1.05 * open.totals.kwh[3].mean);
  // By hand it is drawn in the sun and not at other times.
  project.shades[0].operation = domain::Shade::Operation::manual;
  const results::Study by_hand = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, bright);
  EXPECT_GT(by_hand.totals.kwh[3].mean, 1.01 * open.totals.kwh[3].mean);
  EXPECT_LT(by_hand.totals.kwh[3].mean, 0.99 * drawn.totals.kwh[3].mean);
}

TEST(ShadedDaylight, AnAutomaticShadeStaysDownForHalfAnHourAfterTheSun) {
  Bench bench(with_daylight());
  bench.project.shades[0].operation = domain::Shade::Operation::automatic;
  const std::size_t n = bench.sunny.step.size();
  const std::size_t noon = n / 2;
  GroupSeries task;
  task.open.assign(n, 300.0F);
  task.drawn.assign(n, 100.0F);
  std::vector<float> beam_w_m2(n, 0.0F);
  beam_w_m2[noon] = 200.0F;      // a gap in the clouds,
  beam_w_m2[noon + 2] = 200.0F;  // and another
  bench.daylight.tasks = {RowSeries{task}};
  bench.daylight.sensors = {RowSeries{task}};
  bench.daylight.beam_on_tasks_w_m2 = {beam_w_m2};
  bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
  const Replicate replicate(bench.model, bench.daylight, Draws{});
  const std::vector<float>& lx = replicate.daylight().tasks[0];
  for (std::size_t i = 0; i < n; ++i)
    EXPECT_EQ(lx[i], i >= noon && i < noon + 2 + 6 ? 100.0F : 300.0F)
        << "step " << i - noon << " after the sun";
}

TEST(Study, SwitchedGlassDarkensWithTheSunAndRecomputesNoLight) {
  domain::Project project = with_daylight();
  project.shades[0].operation = domain::Shade::Operation::automatic;
  project.shades[0].kind = domain::Shade::Kind::switched_glass;
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  const auto kwh_of = [&](double transmittance, double beam_w_m2) {
    project.shades[0].switched_transmittance = transmittance;
    const results::Study study = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, year_of(beam_w_m2, 200.0));
    return study.totals.kwh[3].mean;
  };
  const double as_clear = kwh_of(project.glazings[0].transmittance, 300.0);
  const double dark = kwh_of(0.02, 300.0);
  EXPECT_GT(dark, 1.02 * as_clear);
  EXPECT_EQ(kwh_of(0.02, 0.0), kwh_of(project.glazings[0].transmittance, 0.0))
      << "it stays clear without sun";
  // Glass that passes the same when switched is as good as none that switches.
  project.shades[0].kind = domain::Shade::Kind::cloth;
  project.shades[0].operation = domain::Shade::Operation::fixed_open;
  const results::Study open = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, year_of(300.0, 200.0));
  EXPECT_NEAR(open.totals.kwh[3].mean, as_clear, 1e-9 * as_clear);
  for (const auto& stage : open.cache.stages) {
    if (stage.name == "daylight availability") continue;
    EXPECT_EQ(stage.computed, 0) << stage.name;
  }
}

TEST(DaylightAvailability, AYearOfOneSkyCountsAsItMust) {
  // The same overcast sky in every hour from 6 to 18: the room has light in each of the ten hours or in none,
  // by point; without beam there is no exposure and no shade moves.
  domain::Project project = with_daylight();
  project.shades[0].operation = domain::Shade::Operation::manual;
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  const auto of = [&](double beam, double diffuse) {
    return *study_of(project, 1, 1, 2, 1.0, *pool, *blobs, year_of(beam, diffuse))
                .spaces[0]
                .daylight_availability;
  };
  const results::DaylightAvailability dull = of(0.0, 200.0);
  EXPECT_EQ(dull.annual_sunlight_exposure, 0.0);
  EXPECT_GT(dull.spatial_daylight_autonomy, 0.2);
  EXPECT_LT(dull.spatial_daylight_autonomy, 1.0);
  EXPECT_NEAR(dull.below_100_lx + dull.from_100_to_300_lx + dull.from_300_to_3000_lx + dull.above_3000_lx,
              1.0, 1e-12);
  EXPECT_EQ(dull.points, 144) << "9.4 by 5.4 m in cells of at most 0.6 m";
  // Drawn: brightest before the window in the south wall, and the same from the store.
  const results::PlanGrid& drawn = dull.half_the_time;
  ASSERT_EQ(drawn.values_lx.size(), static_cast<std::size_t>(drawn.columns * drawn.rows));
  const auto middle_of_row = [&](int row) {
    return drawn.values_lx[static_cast<std::size_t>(row * drawn.columns + drawn.columns / 2)];
  };
  EXPECT_GT(middle_of_row(1), 3.0F * middle_of_row(drawn.rows - 2));
  EXPECT_GT(middle_of_row(1), dull.half_of_points_lx);
  EXPECT_EQ(of(0.0, 200.0).half_the_time.values_lx, drawn.values_lx);
  // Twice the light: what a point reaches in half of the hours doubles.
  const results::DaylightAvailability bright = of(0.0, 400.0);
  EXPECT_GT(bright.half_of_points_lx, 1.8 * dull.half_of_points_lx);
  EXPECT_GE(bright.spatial_daylight_autonomy, dull.spatial_daylight_autonomy);
  EXPECT_LE(bright.below_100_lx, dull.below_100_lx);
  EXPECT_GT(bright.half_of_points_lx, bright.nearly_all_points_lx);
  // With sun on the south window the shade comes down by the rule and takes light away; the exposure sees it.
  const results::DaylightAvailability sunny = of(600.0, 200.0);
  EXPECT_GT(sunny.annual_sunlight_exposure, 0.1);
  project.shades[0].operation = domain::Shade::Operation::fixed_open;
  const results::DaylightAvailability never = of(600.0, 200.0);
  EXPECT_EQ(never.annual_sunlight_exposure, sunny.annual_sunlight_exposure);
  EXPECT_GT(never.spatial_daylight_autonomy, sunny.spatial_daylight_autonomy);
  EXPECT_EQ(never.half_of_points_lx, sunny.half_of_points_lx) << "EN 17037 with shades open";
  project.shades[0].operation = domain::Shade::Operation::fixed_closed;
  EXPECT_LT(of(0.0, 200.0).spatial_daylight_autonomy, dull.spatial_daylight_autonomy);
}

TEST(DaylightAvailability, ADeeperOrDarkerWellLeavesLess) {
  domain::Project project = with_daylight();
  domain::Opening& skylight = project.spaces[0].openings[0];
  skylight.kind = domain::Opening::Kind::skylight;
  skylight.shade.clear();
  skylight.plan = {{4, 2}, {6, 2}, {6, 4}, {4, 4}};
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  const auto level = [&](double depth_m, double reflectance) {
    skylight.well_depth_m = depth_m;
    skylight.well_reflectance = reflectance;
    return study_of(project, 1, 1, 2, 1.0, *pool, *blobs, year_of(0.0, 200.0))
        .spaces[0]
        .daylight_availability->half_of_points_lx;
  };
  const double none = level(0.0, 0.7);
  const double shallow = level(0.5, 0.7);
  const double deep = level(2.0, 0.7);
  EXPECT_LT(shallow, 0.98 * none);
  EXPECT_LT(deep, 0.8 * shallow);
  EXPECT_LT(level(2.0, 0.2), 0.8 * deep);
}

TEST(Study, MovingAPhotosensorMakesOneNewRow) {
  domain::Project project = with_daylight();
  const auto pool = make_pool_executor(0);
  const auto blobs = make_memory_blob_store();
  const domain::WeatherYear bright = year_of(300.0, 200.0);
  const results::Study before = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, bright);
  project.designs[1].photosensors[0].at.y = 4.0;
  const results::Study moved = study_of(project, 1, 2, 2, 1.0, *pool, *blobs, bright);
  for (const auto& stage : moved.cache.stages) {
    const bool of_the_point =
        stage.name == "rows of a point set" || stage.name == "direct sun of a point set";
    EXPECT_EQ(stage.computed, of_the_point ? 1 : 0) << stage.name;
  }
  const auto nothing = make_memory_blob_store();
  const results::Study fresh = study_of(project, 1, 2, 2, 1.0, *pool, *nothing, bright);
  EXPECT_NEAR(moved.totals.kwh[3].mean, fresh.totals.kwh[3].mean, 1e-9 * fresh.totals.kwh[3].mean);
  EXPECT_NE(moved.totals.kwh[3].mean, before.totals.kwh[3].mean);
}

TEST(Study, YearsOfUseAreKeptUnderAllThatTheyDependOn) {
  domain::Project project = with_daylight();
  project.designs[1].sequences[0].on.level = 1.0;
  const auto pool = make_pool_executor(0);
  const auto kept = make_memory_blob_store();
  const domain::WeatherYear bright = year_of(300.0, 200.0);
  std::vector<Hash> content = {KeyBuilder().add("what the document says").key()};
  const auto study = [&](const domain::WeatherYear& weather, std::uint32_t seed, double spread) {
    return study_of(project, seed, 1, 2, spread, *pool, *kept, weather, content);
  };
  const auto computed = [](const results::Study& s) {
    for (const auto& stage : s.cache.stages)
      if (stage.name == "years of use") return stage.computed;
    return -1;
  };
  const results::Study first = study(bright, 1, 1.0);
  EXPECT_EQ(computed(first), 1);
  const results::Study again = study(bright, 1, 1.0);
  EXPECT_EQ(computed(again), 0);
  for (std::size_t c = 0; c < 4; ++c) {
    EXPECT_EQ(again.totals.kwh[c].mean, first.totals.kwh[c].mean);
    EXPECT_EQ(again.spaces[0].cases[c].standby_kwh.mean, first.spaces[0].cases[c].standby_kwh.mean);
    EXPECT_EQ(again.spaces[0].cases[c].peak_w.mean, first.spaces[0].cases[c].peak_w.mean);
    EXPECT_EQ(again.spaces[0].cases[c].lit_hours.high, first.spaces[0].cases[c].lit_hours.high);
  }
  EXPECT_EQ(again.totals.saving_as_usually_found.mean, first.totals.saving_as_usually_found.mean);
  ASSERT_EQ(again.totals.shares.size(), first.totals.shares.size());
  for (std::size_t i = 0; i < first.totals.shares.size(); ++i)
    EXPECT_EQ(again.totals.shares[i].kwh.mean, first.totals.shares[i].kwh.mean);
  EXPECT_EQ(again.spaces[0].pictures[0].values, first.spaces[0].pictures[0].values);

  EXPECT_EQ(computed(study(year_of(0.0, 200.0), 1, 1.0)), 1) << "another weather";
  EXPECT_EQ(computed(study(bright, 2, 1.0)), 1) << "another seed";
  EXPECT_EQ(computed(study(bright, 1, 2.0)), 1) << "other draws";
  project.designs[1].photosensors[0].at.y = 4.0;
  EXPECT_EQ(computed(study(bright, 1, 1.0)), 1) << "other light at the photosensor";
  project.designs[1].photosensors[0].at.y = 2.0;
  content = {KeyBuilder().add("another document").key()};
  EXPECT_EQ(computed(study(bright, 1, 1.0)), 1);
}

TEST(Study, ADocumentWithoutAProposalIsStudiedAsFarAsItGoes) {
  domain::Project project = with_strategies();
  project.designs.pop_back();
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const results::Study study = study_of(project, 1, 2, 2, 1.0, executor, *blobs);
  ASSERT_EQ(study.spaces.size(), 1U);
  EXPECT_GT(study.totals.kwh[0].mean, 0.0);
  EXPECT_EQ(study.totals.kwh[3].mean, 0.0);
}

TEST(Study, ASpaceWithoutPhotometrySaysWhyItIsNotStudied) {
  domain::Project project = with_strategies();
  project.luminaire_types[1].channels[0].photometry.formula = "no such formula";
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const results::Study study = study_of(project, 1, 1, 2, 1.0, executor, *blobs);
  ASSERT_EQ(study.spaces.size(), 1U);
  EXPECT_FALSE(study.spaces[0].studied);
  EXPECT_NE(study.spaces[0].not_studied_because.find("no such formula"), std::string::npos);
}

TEST(Study, EveryStateOfAMovablePartitionIsLitAndNamed) {
  // A black room, one luminaire in its western half, a wall across the middle: closed, it leaves the east
  // dark.
  domain::Project project = ten_luminaires();
  project.spaces[0].reflectances = {0.0, 0.0, 0.0, 0.0};
  domain::Partition wall;
  wall.id = "wall";
  wall.kind = domain::Partition::Kind::movable;
  wall.from = {5.0, 0.0};
  wall.to = {5.0, 6.0};
  wall.height_m = project.spaces[0].height_m;
  wall.states = {"open", "closed"};
  project.spaces[0].partitions.push_back(wall);
  project.spaces[0].task_areas[0].plan = {{6, 1}, {9, 1}, {9, 5}, {6, 5}};
  project.spaces[0].egress_paths.push_back({.id = "way", .centre_line = {{7, 3}, {9, 3}}});
  Design& proposal = project.designs[1];
  proposal.luminaires.resize(1);
  domain::Scene apart;
  apart.id = "apart";
  apart.name = "Apart";
  apart.space = "room";
  apart.partition_state = "closed";
  proposal.scenes.push_back(apart);
  SerialExecutor executor;
  const auto blobs = make_memory_blob_store();
  const results::Study study = study_of(project, 1, 1, 2, 1.0, executor, *blobs);
  std::map<std::string, double> mean;
  for (const results::GroupLight& light : study.spaces[0].electric)
    for (const results::TaskAreaLight& task : light.task_areas) mean[task.state] = task.mean_lx;
  EXPECT_GT(mean.at("trimmed"), 1.0);
  EXPECT_EQ(mean.at("trimmed, wall closed"), 0.0);
  EXPECT_EQ(mean.count("scene Apart"), 0U) << "meant for the closed wall only";
  EXPECT_EQ(mean.at("scene Apart, wall closed"), 0.0);
  std::map<std::string, double> least;
  for (const results::EgressState& state : study.spaces[0].egress) least[state.state] = state.min_lx;
  EXPECT_GT(least.at("normal scene"), 0.1);
  EXPECT_EQ(least.at("normal scene, wall closed"), 0.0);
  // A wall that is named alike and open all the same changes nothing.
  project.spaces[0].partitions[0].states = {"open", "open"};
  const results::Study twice = study_of(project, 1, 1, 2, 1.0, executor, *blobs);
  for (const results::EgressState& state : twice.spaces[0].egress) {
    if (state.state == "normal scene, wall open") {
      EXPECT_EQ(state.min_lx, least.at("normal scene"));
    }
  }
}

TEST(Claims, AOneSidedTestNoticesHalfTheTimeAtItsOwnThreshold) {
  // Normal distribution: a shortfall of 1.645 sigma stands on the threshold of a one-sided 5 % test.
  EXPECT_NEAR(chance_of_noticing(1.6448536269514722, 1.0), 0.5, 1e-12);
  EXPECT_NEAR(chance_of_noticing(0.0, 1.0), 0.05, 1e-12);
}

}  // namespace
}  // namespace halflight::sim
