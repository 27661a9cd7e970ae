// Daylight rules through a year: what they make of the light on the task, how they are set, what load
// controllers leave of them, and what has been published of the three laws.
#include "climate/synthetic_year.hpp"
#include "energy/power_curve.hpp"
#include "published.hpp"
#include "sim/daylight_lines.hpp"
#include "sim/explain.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/photosensor_siting.hpp"
#include "sim/ready_spaces.hpp"
#include "sim/rule_year.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

using Method = domain::DaylightRule::Method;

constexpr double kTarget_lx = 500.0;

/// A room 5 m wide and 6 m deep whose four luminaires give the desk as many lumens as make `lumens` x 500 lx.
domain::Project office(double lumens_factor) {
  domain::Project project = ten_luminaires();
  project.drivers[1].dims = true;
  project.drivers[1].minimum_light = 0.01;
  domain::Space& space = project.spaces[0];
  space.floor = {{0, 0}, {5, 0}, {5, 6}, {0, 6}};
  space.task_areas[0].plan = {{0.5, 1.5}, {4.5, 1.5}, {4.5, 4.5}, {0.5, 4.5}};
  space.task_areas[0].target_lx = kTarget_lx;
  project.luminaire_types[1].channels[0].lumens *= lumens_factor;
  for (domain::Design& design : project.designs) {
    design.luminaires.resize(4);
    for (std::size_t i = 0; i < 4; ++i)
      design.luminaires[i].at = {i % 2 == 0 ? 1.25 : 3.75, i < 2 ? 1.8 : 4.2, 2.7};
  }
  domain::Design& proposal = project.designs[1];
  proposal.sequences[0].schedule->override_s = 0.0;  // nobody holds the light on after hours
  add_daylight_loop(proposal, {2.4, 3.3, 2.7});
  proposal.photosensors[0].range_lx = 400.0;
  proposal.sequences[0].daylight[0].minimum_level = 0.0;
  return project;
}

double full_lx(const Bench& bench, const lightresponse::PointRows& rows) {
  double lx = 0.0;
  for (const ControlCell& cell : bench.lit[0].cells)
    if (cell.design == 1) lx += cell_lx(bench.model, rows, cell, 1.0);
  return lx;
}

/// The room with 500 lx on the desk from its lamps; light is linear.
domain::Project office_of_500_lx(const std::function<void(domain::Project&)>& change = {}) {
  const auto made = [&](double factor) {
    domain::Project project = office(factor);
    if (change) change(project);
    return project;
  };
  const Bench first(made(1.0));
  return made(kTarget_lx / full_lx(first, first.lit[0].task_rows[0]));
}

/// Daylight on the desk and at the photosensor, by sunny step: `day_lx(i)` lx on the desk, `ratio(i)` times
/// as much signal per lux of it as the lamps give.
struct MadeUpDaylight {
  MadeUpDaylight(domain::Project project, const std::function<double(std::size_t)>& day_lx,
                 const std::function<double(std::size_t)>& ratio)
      : bench(std::move(project)) {
    night_lx = full_lx(bench, bench.lit[0].task_rows[0]);
    night_ratio = full_lx(bench, bench.lit[0].sensor_rows[0]) / night_lx;
    let_in_daylight(bench, day_lx, [&](std::size_t i) { return day_lx(i) * ratio(i) * night_ratio; });
  }
  /// A count of the converter, as light on the desk.
  double count_lx() const { return bench.project.designs[1].photosensors[0].range_lx / 4095.0 / night_ratio; }

  Bench bench;
  double night_lx = 0.0;
  double night_ratio = 0.0;
};

std::string words_at(const MadeUpDaylight& room, Seconds standard) {
  std::string words;
  for (const std::string& sentence :
       explain_moment(room.bench.model, room.bench.daylight, Draws{}, standard).sentences)
    words += sentence + " ";
  return words;
}

const Seconds kNoonOfJune = day_of_year({6, 16}) * kDay + 12 * kHour;

TEST(IdealLevel, GivesWhatIsNeededAndNoMore) {
  const std::vector<GroupPart> one = {{0.8, 0.1, 500.0}};
  EXPECT_DOUBLE_EQ(ideal_level(one, 200.0, 0.05, false), 0.4);
  EXPECT_DOUBLE_EQ(ideal_level(one, 900.0, 0.05, false), 0.8) << "no more than is asked for";
  EXPECT_DOUBLE_EQ(ideal_level(one, 0.0, 0.05, false), 0.05) << "on, at the rule's lowest level";
  EXPECT_DOUBLE_EQ(ideal_level(one, 0.0, 0.05, true), 0.0);
  EXPECT_DOUBLE_EQ(ideal_level(one, 1.0, 0.05, true), 0.05) << "a little is needed: it stays on";
  // 100 lx from what is only asked for a fifth, the rest from what may give all.
  const std::vector<GroupPart> two = {{0.2, 0.0, 500.0}, {1.0, 0.0, 300.0}};
  EXPECT_NEAR(ideal_level(two, 250.0, 0.0, false), 0.5, 1e-9);
  EXPECT_NEAR(ideal_level(two, 80.0, 0.0, false), 0.1, 1e-9);
  // What only switches.
  const std::vector<GroupPart> relay = {{1.0, 1.0, 500.0}};
  EXPECT_DOUBLE_EQ(ideal_level(relay, 100.0, 1.0, true), 1.0);
  EXPECT_DOUBLE_EQ(ideal_level(relay, 0.0, 1.0, true), 0.0);
}

/// Hours in which somebody is there and the light is called for while the sun is up, counted in the middle of
/// five minutes.
double hours_counted(const MadeUpDaylight& room) {
  const Replicate replicate(room.bench.model, room.bench.daylight, Draws{});
  double hours = 0.0;
  for (const std::uint32_t step : room.bench.sunny.step) {
    const Seconds t = static_cast<Seconds>(step) * kStep_s + kStep_s / 2;
    if (replicate.presence().any.contains(t) && room.bench.model.open.contains(t)) hours += 1.0 / 12.0;
  }
  return hours;
}

RuleYear year_of_rule(const MadeUpDaylight& room) {
  Replicate replicate(room.bench.model, room.bench.daylight, Draws{});
  return rule_years(replicate, way_of_proposal(room.bench.model)).at(0);
}

TEST(RuleYears, ALoopThatIsSetAtNightAloneIsShortByItsClosedForm) {
  // E = E_N + E_D (1 - r_D / r_N) = 500 + 200 (1 - 2) = 300 lx (Rubinstein, Ward and Verderber 1989): 150 lx
  // short of 90 % of the target all the time. It saves (1 - a)(1 - 0.2) where an ideal loop saves
  // (1 - a)(1 - 0.6).
  const MadeUpDaylight room(
      office_of_500_lx([](domain::Project& project) {
        project.designs[1].sequences[0].daylight[0].method = Method::integral_reset;
      }),
      [](std::size_t) { return 200.0; }, [](std::size_t) { return 2.0; });
  const RuleYear year = year_of_rule(room);
  const char* form = "closed form of integral reset (Rubinstein, Ward and Verderber 1989)";
  EXPECT_GT(year.hours, 1000.0);
  EXPECT_NEAR(year.hours, hours_counted(room), 1e-6);
  EXPECT_EQ(year.under_h, year.hours);
  EXPECT_PUBLISHED(form, "500 lx of lamps, 200 lx of daylight read twice as high: short of 450 lx", "lx",
                   150.0, year.shortfall_lx_h / year.hours, 1.01 * room.count_lx());
  EXPECT_PUBLISHED(form, "saved, as a share of what an ideal loop saves", "", 2.0,
                   year.saved_wh / year.ideal_saved_wh, 1.01 * room.count_lx() / 200.0);
  EXPECT_EQ(year.over_h, 0.0);
  EXPECT_EQ(year.over_wh, 0.0);
}

TEST(RuleYears, ALoopThatIsSetForMoreSignalOverLightsByItsClosedForm) {
  // r_day at the 95th percentile is 2, and nine times in ten the ratio is 1.2: E = 500 + 200 (1 - 1.2 / 2) =
  // 580 lx, level 0.76 where 0.6 would do.
  const MadeUpDaylight room(
      office_of_500_lx(), [](std::size_t) { return 200.0; },
      [](std::size_t i) { return i % 10 == 0 ? 2.0 : 1.2; });
  const RuleYear year = year_of_rule(room);
  EXPECT_EQ(year.under_h, 0.0);
  EXPECT_EQ(year.shortfall_lx_h, 0.0);
  EXPECT_NEAR(year.over_h / year.hours, 0.9, 0.005) << "one of the ten, of some 20,000 steps";
  const domain::Driver& driver = room.bench.project.drivers[1];
  const double watts = 4.0 * 30.0 * (1.0 - driver.power_at_zero);
  EXPECT_PUBLISHED("closed form of the proportional laws (Rubinstein, Ward and Verderber 1989)",
                   "16 % more light than an ideal loop, nine times in ten: energy an hour", "Wh",
                   0.16 * watts, year.over_wh / year.over_h, published::relative(0.01));
  EXPECT_NEAR(year.saved_wh / year.ideal_saved_wh, (0.9 * 0.24 + 0.1 * 0.4) / 0.4, 0.01);
}

TEST(RuleYears, LightThatNobodyCallsForIsNotTheLoopsDoing) {
  // Lamps that give half of the target are not under-lit by the loop; nor is a dark year.
  const MadeUpDaylight dark(
      office_of_500_lx(), [](std::size_t) { return 0.0; }, [](std::size_t) { return 1.5; });
  EXPECT_EQ(year_of_rule(dark).under_h, 0.0);
  const MadeUpDaylight weak(
      office_of_500_lx([](domain::Project& project) { project.spaces[0].task_areas[0].target_lx = 1000.0; }),
      [](std::size_t i) { return 5.0 + static_cast<double>(i % 300); }, [](std::size_t) { return 1.5; });
  const RuleYear year = year_of_rule(weak);
  EXPECT_EQ(year.under_h, 0.0);
  EXPECT_NEAR(year.saved_wh / year.ideal_saved_wh, 1.0, 0.01);
}

TEST(Explanation, OfIntegralResetNamesTheRatio) {
  // Electric light 500 lx, daylight 200 lx, the photosensor reads daylight twice as high per lux on the desk
  // as the lamps: lamps at 20 %, 300 lx on the desk.
  const MadeUpDaylight room(
      office_of_500_lx([](domain::Project& project) {
        project.designs[1].sequences[0].daylight[0].method = Method::integral_reset;
      }),
      [](std::size_t) { return 200.0; }, [](std::size_t) { return 2.0; });
  const std::string words = words_at(room, kNoonOfJune);
  const auto says = [&](const std::string& part) { return words.find(part) != std::string::npos; };
  EXPECT_TRUE(says("2.00 times as much")) << words;
  EXPECT_TRUE(says("set at night alone")) << words;
  EXPECT_TRUE(says("takes that for 400 lx of daylight on Desk where there are 200 lx")) << words;
  EXPECT_TRUE(says("sink to 20 %")) << words;
  EXPECT_TRUE(says("Desk: 300 lx, of which 200 lx daylight and 100 lx electric light")) << words;
}

TEST(Explanation, SaysWhatAProportionalLoopWasSetFor) {
  domain::Project project = office_of_500_lx();
  project.designs[1].sequences[0].daylight[0].calibrated_at = domain::DaySetting{{6, 15}, 11 * kHour};
  const MadeUpDaylight room(
      project, [](std::size_t) { return 200.0; }, [](std::size_t) { return 1.6; });
  const std::string words = words_at(room, kNoonOfJune);
  EXPECT_NE(words.find("set by day on 15 Jun 11:00"), std::string::npos) << words;
  EXPECT_NE(words.find("takes that for 200 lx of daylight"), std::string::npos) << words;
  EXPECT_NE(words.find("sink to 60 %"), std::string::npos) << words;
}

TEST(SetByDay, TakesTheRatioOfThatMinuteByTheClock) {
  // The ratio rises with the number of the step, so that it tells the step.
  domain::Project project = office_of_500_lx();
  domain::DaylightRule& rule = project.designs[1].sequences[0].daylight[0];
  rule.calibrated_at = domain::DaySetting{{3, 21}, 12 * kHour + 17 * kMinute};
  const auto ratio = [](std::size_t i) { return 1.1 + 1e-5 * static_cast<double>(i); };
  const MadeUpDaylight room(
      project, [](std::size_t) { return 250.0; }, ratio);
  const Seconds standard =
      room.bench.model.clock.standard(day_of_year({3, 21}) * kDay + 12 * kHour + 17 * kMinute);
  const auto i =
      static_cast<std::size_t>(room.bench.sunny.index_of_step[static_cast<std::size_t>(standard / kStep_s)]);
  const controls::Calibration& set = room.bench.model.calibrations[0];
  EXPECT_NEAR(set.day_ratio / set.night_ratio, ratio(i), 1e-6);
  ASSERT_TRUE(room.bench.model.day_set_up[0]);
  EXPECT_EQ(room.bench.model.day_set_up[0]->task_lx, 250.0);
  EXPECT_FALSE(room.bench.model.day_set_up[0]->sun_on_task);
  // At midnight nobody can set it.
  project.designs[1].sequences[0].daylight[0].calibrated_at->at_s = 0;
  const MadeUpDaylight dark(
      project, [](std::size_t) { return 250.0; }, ratio);
  EXPECT_FALSE(dark.bench.model.calibrations[0].usable);
}

// ---------------------------------------------------------------------------------------------------------

class PhotosensorStudy : public testing::Test {
 protected:
  results::SpaceStudy study(const domain::Project& project) {
    StudyInputs inputs{project, library_, rules_, {}, {weather_}, {}, {}};
    StudyOptions options;
    options.accuracy = Accuracy::draft;
    options.scrambles = 2;
    options.points_per_scramble = 2;
    return run_study(inputs, options, context_).spaces.at(0);
  }
  static const results::Finding* finding(const results::SpaceStudy& space, const std::string& rule) {
    const auto found = std::find_if(space.findings.begin(), space.findings.end(),
                                    [&](const results::Finding& f) { return f.rule == rule; });
    return found == space.findings.end() ? nullptr : &*found;
  }
  static domain::Project with_window(domain::Project project) {
    add_window(project);
    return project;
  }
  /// Monthly means of a place at 51 degrees north (from memory, to some ten per cent).
  static domain::ClimateNormals normals() {
    domain::ClimateNormals place;
    place.latitude_deg = 51.0;
    place.global_wh_m2_day = {750, 1400, 2500, 3900, 4900, 5300, 5100, 4400, 3100, 1800, 950, 600};
    place.dry_bulb_c = {5, 5, 7, 10, 13, 16, 18, 18, 15, 12, 8, 5};
    place.daily_range_k.fill(7.0);
    place.dew_point_c = {2, 2, 3, 4, 7, 10, 12, 12, 10, 8, 5, 3};
    return place;
  }

  domain::WeatherYear weather_ = climate::synthetic_year(normals(), 1, 2026, climate::SyntheticKind::natural);
  domain::Library library_;
  std::vector<domain::CodeRule> rules_;
  std::unique_ptr<Executor> pool_ = make_pool_executor(0);
  std::unique_ptr<BlobStore> blobs_ = make_memory_blob_store();
  Context context_{*pool_, *blobs_, nullptr, {}};
};

TEST_F(PhotosensorStudy, ARelaySwitchesAndNeverDims) {
  domain::Project dimmed = with_window(office_of_500_lx());
  domain::DaylightRule& rule = dimmed.designs[1].sequences[0].daylight[0];
  rule.minimum_level = 0.1;
  rule.may_switch_off = true;
  dimmed.spaces[0].task_areas[0].plan = {{0.5, 0.5}, {4.5, 0.5}, {4.5, 2.5}, {0.5, 2.5}};  // by the window
  dimmed.designs[1].photosensors[0].at = {2.4, 1.8, 2.7};
  dimmed.designs[1].photosensors[0].range_lx = 2000.0;
  domain::Project relay = dimmed;
  domain::LoadController controller;
  controller.id = "LC1";
  controller.space = "room";
  controller.action = domain::LoadController::Action::on_off;
  controller.groups = {"day"};
  relay.designs[1].load_controllers.push_back(controller);

  const results::SpaceStudy by_driver = study(dimmed);
  const results::SpaceStudy by_relay = study(relay);
  EXPECT_EQ(finding(by_driver, "daylight-cannot-dim"), nullptr);
  const results::Finding* told = finding(by_relay, "daylight-cannot-dim");
  ASSERT_NE(told, nullptr);
  EXPECT_NE(told->fix.find("minimum_level 1"), std::string::npos) << told->fix;
  // A relay leaves the light at full output where a driver would dim, and saves less.
  EXPECT_GT(by_relay.cases[3].lighting_kwh.mean, 1.1 * by_driver.cases[3].lighting_kwh.mean);
  EXPECT_GT(by_relay.loops[0].realised_share.mean, 0.0);
  EXPECT_EQ(by_relay.loops[0].under_lit_hours.mean, 0.0) << "off only with half as much again";

  // In every half hour of the picture the power of a relay is a share of time at full output: never between
  // in a half hour in which nothing switches. Levels themselves:
  const MadeUpDaylight room(
      [&] {
        domain::Project project = relay;
        project.spaces[0].openings.clear();
        return project;
      }(),
      [](std::size_t i) { return 1200.0 * static_cast<double>(i % 140) / 140.0; },
      [](std::size_t) { return 1.6; });
  const Replicate replicate(room.bench.model, room.bench.daylight, Draws{});
  const DaylightLimits limits = daylight_limits(room.bench.model, room.bench.model.proposal.sequence, 0.8,
                                                1.0, 1.0, replicate.daylight());
  std::size_t off = 0;
  for (const double level : limits.groups.at(0).level) {
    ASSERT_TRUE(level == 0.0 || level == 1.0) << level;
    off += level == 0.0 ? 1 : 0;
  }
  EXPECT_GT(off, limits.groups[0].level.size() / 10);
  EXPECT_NE(words_at(room, kNoonOfJune).find("it can only switch"), std::string::npos)
      << words_at(room, kNoonOfJune);

  // A dimmer that drives the same group dims it; a rule that only switches is no reproach to a relay.
  controller.id = "LC2";
  controller.action = domain::LoadController::Action::digital_bus;
  domain::Project both = relay;
  both.designs[1].load_controllers.push_back(controller);
  EXPECT_EQ(study(both).cases[3].lighting_kwh.mean, by_driver.cases[3].lighting_kwh.mean);
  relay.designs[1].sequences[0].daylight[0].minimum_level = 1.0;
  const results::SpaceStudy as_can_be = study(relay);
  EXPECT_EQ(finding(as_can_be, "daylight-cannot-dim"), nullptr);
  EXPECT_EQ(as_can_be.cases[3].lighting_kwh.mean, by_relay.cases[3].lighting_kwh.mean);
  // It cannot be trimmed either.
  relay.designs[1].sequences[0].trim = domain::TrimRule{0.5, 0.0};
  EXPECT_EQ(study(relay).cases[3].lighting_kwh.mean, by_relay.cases[3].lighting_kwh.mean);
}

TEST_F(PhotosensorStudy, AnOddInstantByDayIsReported) {
  domain::Project project = with_window(office_of_500_lx());
  project.designs[1].sequences[0].daylight[0].calibrated_at = domain::DaySetting{{12, 21}, 16 * kHour};
  const results::SpaceStudy dusk = study(project);
  const results::Finding* told = finding(dusk, "photosensor-set-in-odd-light");
  ASSERT_NE(told, nullptr);
  EXPECT_NE(told->evidence.find("% of the target"), std::string::npos) << told->evidence;
  // Low sun through a south window on the desk by the window.
  project.designs[1].sequences[0].daylight[0].calibrated_at = domain::DaySetting{{2, 21}, 12 * kHour};
  bool sun = false;
  for (int day = 1; day <= 28 && !sun; ++day) {
    project.designs[1].sequences[0].daylight[0].calibrated_at->on.day = day;
    const results::SpaceStudy at_noon = study(project);
    told = finding(at_noon, "photosensor-set-in-odd-light");
    sun = told != nullptr && told->evidence.find("the sun shone on the task") != std::string::npos;
  }
  EXPECT_TRUE(sun) << "on one of 28 days of February the sun shines at noon";
}

TEST_F(PhotosensorStudy, DeadbandAndFadeAndDualLoopChangeTheYear) {
  const domain::Project plain = with_window(office_of_500_lx());
  const double usual = study(plain).cases[3].lighting_kwh.mean;
  domain::Project changed = plain;
  changed.designs[1].sequences[0].daylight[0].deadband = 0.1;
  EXPECT_NE(study(changed).cases[3].lighting_kwh.mean, usual);
  changed = plain;
  changed.designs[1].sequences[0].daylight[0].fade_s_per_tenth = 300.0;
  EXPECT_NE(study(changed).cases[3].lighting_kwh.mean, usual);
  EXPECT_NEAR(study(changed).cases[3].lighting_kwh.mean, usual, 0.05 * usual);
  changed = plain;
  domain::Photosensor open = changed.designs[1].photosensors[0];
  open.id = "P2";
  open.loop = domain::Photosensor::Loop::open;
  open.at = {2.5, 0.4, 2.2};
  open.aim_tilt_deg = 90.0;
  open.aim_deg = 180.0;
  open.range_lx = 20000.0;
  changed.designs[1].photosensors.push_back(open);
  domain::DaylightRule& rule = changed.designs[1].sequences[0].daylight[0];
  rule.method = Method::dual_loop;
  rule.open_photosensor = "P2";
  const results::SpaceStudy dual = study(changed);
  EXPECT_TRUE(dual.sensors[0].usable);
  EXPECT_LT(dual.cases[3].lighting_kwh.mean, dual.cases[1].lighting_kwh.mean);
  EXPECT_NE(dual.cases[3].lighting_kwh.mean, usual);
  EXPECT_GT(dual.loops[0].realised_share.mean, 0.5);
}

// ---------------------------------------------------------------------------------------------------------
// The three laws in a side-lit room.

/// How the light on the desk was held in the open daylit steps of a year.
LightHeld held_by(const domain::Project& project, const domain::WeatherYear& weather) {
  Bench bench(project);
  // Not before there is daylight to draw it in.
  for (domain::Shade& shade : bench.project.shades) shade.operation = domain::Shade::Operation::automatic;
  const climate::WeatherTrack track = track_of(bench.project, weather, climate::CloudDraw{1, 0});
  bench.daylight =
      daylight_year(bench.project, bench.lit, bench.outside, bench.sky, track, bench.sunny, bench.context)[0];
  bench.model = make_space_model(bench.project, bench.lit[0], bench.sunny, {}, bench.daylight, 1);
  EXPECT_TRUE(bench.model.calibrations[0].usable);
  const Replicate replicate(bench.model, bench.daylight, Draws{});
  return rule_held(bench.model, 0, {replicate.daylight()}, open_steps(bench.model)).held;
}

TEST_F(PhotosensorStudy, TheThreeLawsRankAsPublished) {
  // F. Rubinstein, G. Ward and R. Verderber, IEEE Trans. Ind. Appl. 25(6), 1989 (LBL-24872): integral reset
  // holds the light worst, closed-loop proportional control best, of photosensors on the ceiling of a
  // side-lit room; open-loop proportional control lies between. They ran a scale model under a real sky; here
  // a room and a year are computed, set by day at the middle of what the ratio takes.
  domain::Project project = with_window(office_of_500_lx());
  domain::Shade cloth;
  cloth.id = "cloth";
  cloth.operation = domain::Shade::Operation::fixed_open;
  project.shades.push_back(cloth);
  project.spaces[0].openings[0].shade = "cloth";
  project.designs[1].photosensors[0].range_lx = 4000.0;
  const auto by = [&](Method method, bool at_window) {
    domain::DaylightRule& rule = project.designs[1].sequences[0].daylight[0];
    rule.method = method;
    rule.calibration_percentile = 50.0;
    domain::Photosensor& sensor = project.designs[1].photosensors[0];
    sensor.at = at_window ? Point3{2.5, 0.5, 2.6} : Point3{2.4, 3.3, 2.7};
    sensor.aim_tilt_deg = at_window ? 60.0 : 0.0;
    sensor.aim_deg = 180.0;
    sensor.range_lx = at_window ? 20000.0 : 4000.0;
    return held_by(project, weather_);
  };
  const LightHeld reset = by(Method::integral_reset, false);
  const LightHeld open = by(Method::open_loop_proportional, true);
  const LightHeld closed = by(Method::closed_loop_proportional, false);
  EXPECT_GT(reset.rms, open.rms);
  EXPECT_GT(open.rms, closed.rms);
  EXPECT_GT(reset.under_share, open.under_share);
  EXPECT_GT(open.under_share, closed.under_share);
  // E. Lee, D. DiBartolomeo and S. Selkowitz, LBNL-40867, 1998: with a middle gain a closed loop, in an
  // office with an automatic blind and a photosensor built for it, gave at least 90 % of the set-point for 91
  // % of the year. Another office, blind and climate: within five points, about half of what is left to 100
  // %.
  EXPECT_PUBLISHED(
      "E. Lee, D. DiBartolomeo and S. Selkowitz, LBNL-40867, 1998",
      "closed-loop proportional control, middle gain: share of the year with 90 % of the set-point", "", 0.91,
      1.0 - closed.under_share, 0.05);
}

}  // namespace
}  // namespace halflight::sim
