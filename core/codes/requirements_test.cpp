#include "codes/requirements.hpp"

#include "codes/check.hpp"
#include "codes/test_room.hpp"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::OnRule;
using domain::Requirement;
using domain::Strategy;
using testing::figure;
using testing::hours;
using testing::kFt2;
using testing::make_rule;
using testing::minutes;
using testing::percent;
using testing::square_feet;
using testing::TestRoom;
using testing::watts;
using Verdict = results::Finding::Verdict;

// Every requirement is tried passing, failing, at its limit, and with a fact missing. The limits are the
// codes' (docs/rules/codes.md); 1e-6 beyond a limit must change the verdict.

Verdict verdict(TestRoom& room, const CodeRule& rule, const domain::DaylightZoneRule* zones = nullptr) {
  return judge_requirement(room.facts_under(zones), rule).verdict;
}
std::string evidence(TestRoom& room, const CodeRule& rule, const domain::DaylightZoneRule* zones = nullptr) {
  return judge_requirement(room.facts_under(zones), rule).evidence;
}

TestRoom room_with_vacancy(double delay_s, double step_level = 0.0, double off_after_s = -1.0) {
  TestRoom room;
  room.add_luminaire("L1", {1.5, 2.5});
  room.add_luminaire("L2", {4.5, 2.5});
  room.add_sensor();
  domain::VacancyRule vacancy;
  vacancy.delay_s = delay_s;
  vacancy.step_level = step_level;
  vacancy.off_after_s = off_after_s;
  room.sequence().vacancy = vacancy;
  return room;
}

const CodeRule kVacancyOff = make_rule(Requirement::vacancy_off, {{"delay_max", minutes(20)}});

TEST(VacancyOff, HoldsUpToTheDelayAndNotBeyond) {
  TestRoom room = room_with_vacancy(900.0);
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::pass);
  EXPECT_EQ(evidence(room, kVacancyOff), "Off 15 min after the last motion; the limit is 20 min.");
  room.sequence().vacancy->delay_s = 1200.0;
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::pass);
  room.sequence().vacancy->delay_s = 1200.01;
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::fail);
}

TEST(VacancyOff, TheTimeAtTheStepCounts) {
  TestRoom room = room_with_vacancy(600.0, 0.2, 600.0);
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::pass);
  room.sequence().vacancy->off_after_s = 601.0;
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::fail);
  room.sequence().vacancy->off_after_s = -1.0;  // stays at the step
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::fail);
}

TEST(VacancyOff, AMissingFactNeverPasses) {
  TestRoom room = room_with_vacancy(900.0);
  room.sequence().vacancy->delay_s = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::needs_evidence);
  room.sequence().vacancy->delay_s = 900.0;
  // The delay was left out of the document and its default taken: nobody has said it.
  room.project.defaults_taken = {{"/designs/0/sequences/0/vacancy/delay", "15 min", "practice", ""}};
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::needs_evidence);
  room.project.confirmations = {{"/designs/0/sequences/0/vacancy/delay", "the designer", "today", "on site"}};
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::pass);
  room.design().occupancy_sensors.clear();
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::needs_evidence);
  room.design().sequences.clear();
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::needs_evidence);
  CodeRule incomplete = kVacancyOff;
  incomplete.limits.clear();
  EXPECT_EQ(verdict(room, incomplete), Verdict::needs_evidence);
}

TEST(VacancyOff, NoRuleOrALuminaireOutsideTheRuleFails) {
  TestRoom room = room_with_vacancy(900.0);
  room.add_group("G", Strategy::occupancy, {"L1"});
  room.sequence().vacancy->groups = {"G"};
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::fail);
  EXPECT_NE(evidence(room, kVacancyOff).find("30 W of 60 W"), std::string::npos);
  room.design().groups.front().channels = {"L1", "L2/all"};
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::pass);
  room.design().occupancy_sensors.front().groups = {"another"};
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::needs_evidence);
  room.sequence().vacancy.reset();
  EXPECT_EQ(verdict(room, kVacancyOff), Verdict::fail);
}

const CodeRule kReduction =
    make_rule(Requirement::vacancy_reduction, {{"reduction_min", percent(50)}, {"delay_max", minutes(20)}});

TEST(VacancyReduction, CountsPowerNotLight) {
  // P = 0.05 + 0.95 f: level 0.40 leaves 43 % of power; level 0.50 leaves 52.5 % and cuts too little.
  TestRoom room = room_with_vacancy(900.0, 0.40);
  EXPECT_EQ(verdict(room, kReduction), Verdict::pass);
  EXPECT_NE(evidence(room, kReduction).find("Power falls by 57 %"), std::string::npos);
  room.sequence().vacancy->step_level = 0.50;
  EXPECT_EQ(verdict(room, kReduction), Verdict::fail);
  room.sequence().vacancy->step_level = 0.45 / 0.95;  // exactly half the power
  EXPECT_EQ(verdict(room, kReduction), Verdict::pass);
  room.sequence().vacancy->step_level = 0.45 / 0.95 + 1e-6;
  EXPECT_EQ(verdict(room, kReduction), Verdict::fail);
}

TEST(VacancyReduction, FullOffCompliesAndLateReductionFails) {
  TestRoom room = room_with_vacancy(1200.0, 0.0);
  EXPECT_EQ(verdict(room, kReduction), Verdict::pass);
  room.sequence().vacancy->step_level = 0.2;
  EXPECT_EQ(verdict(room, kReduction), Verdict::pass);
  room.sequence().vacancy->delay_s = 1201.0;
  EXPECT_EQ(verdict(room, kReduction), Verdict::fail);
  room.design().sequences.clear();
  EXPECT_EQ(verdict(room, kReduction), Verdict::needs_evidence);
}

TEST(VacancyReduction, DriversThatCannotDimDrawFullPower) {
  TestRoom room = room_with_vacancy(900.0, 0.2);
  room.type().channels.front().driver = "switched";
  EXPECT_EQ(verdict(room, kReduction), Verdict::fail);
}

CodeRule open_office(bool schedule_may_turn_off) {
  CodeRule rule = make_rule(
      Requirement::vacancy_zones,
      {{"zone_area_max", square_feet(600)}, {"reduction_min", percent(80)}, {"delay_max", minutes(20)}});
  if (schedule_may_turn_off) rule.limits["schedule_may_turn_off"] = figure(1, "", 1);
  return rule;
}

// 1 800 ft2: 60 ft x 30 ft with `zones` equal strips of one luminaire each.
TestRoom office_of_1800_ft2(int zones) {
  TestRoom room(60.0 * testing::kFt, 30.0 * testing::kFt);
  for (int i = 0; i < zones; ++i) {
    const std::string n = std::to_string(i);
    room.add_luminaire("L" + n, {60.0 * testing::kFt * (i + 0.5) / zones, 15.0 * testing::kFt});
    room.add_group("G" + n, Strategy::occupancy, {"L" + n});
  }
  room.add_sensor();
  domain::VacancyRule vacancy;
  vacancy.delay_s = 1200.0;
  vacancy.step_level = 0.1;
  vacancy.off_after_s = 0.0;
  room.sequence().vacancy = vacancy;
  return room;
}

TEST(VacancyZones, ThreeZonesOfExactlySixHundredSquareFeetHold) {
  TestRoom three = office_of_1800_ft2(3);
  EXPECT_EQ(verdict(three, open_office(false)), Verdict::pass);
  EXPECT_NE(evidence(three, open_office(false)).find("the largest 600 ft2"), std::string::npos);
  EXPECT_NE(evidence(three, open_office(false)).find("at least 3 in 1800 ft2"), std::string::npos);
  TestRoom two = office_of_1800_ft2(2);
  EXPECT_EQ(verdict(two, open_office(false)), Verdict::fail);
  // A middle zone slightly wider than its neighbours.
  three.design().luminaires[0].at.x -= 0.01;
  EXPECT_EQ(verdict(three, open_office(false)), Verdict::fail);
}

TEST(VacancyZones, TheSetBackAndTheWholeSpaceOff) {
  TestRoom room = office_of_1800_ft2(3);
  room.sequence().vacancy->step_level = 0.15 / 0.95;  // exactly 20 % of power
  EXPECT_EQ(verdict(room, open_office(false)), Verdict::pass);
  room.sequence().vacancy->step_level = 0.2;  // 24 % of power
  EXPECT_EQ(verdict(room, open_office(false)), Verdict::fail);
  room.sequence().vacancy->step_level = 0.1;
  room.sequence().vacancy->off_after_s = -1.0;
  EXPECT_EQ(verdict(room, open_office(true)), Verdict::fail);
  room.sequence().schedule = domain::ScheduleRule{"open"};
  EXPECT_EQ(verdict(room, open_office(true)), Verdict::pass);
  EXPECT_EQ(verdict(room, open_office(false)), Verdict::fail);  // only sensors may, before 2021
  room.design().luminaires.clear();
  EXPECT_EQ(verdict(room, open_office(true)), Verdict::needs_evidence);
}

TEST(VacancyZones, ALuminaireInNoZoneFails) {
  TestRoom room = office_of_1800_ft2(4);
  room.design().groups.pop_back();
  EXPECT_EQ(verdict(room, open_office(true)), Verdict::fail);
}

const CodeRule kScheduled = make_rule(
    Requirement::scheduled_off,
    {{"override_max", hours(2)}, {"backup_min", hours(10)}, {"override_area_max", square_feet(5000)}});

TestRoom room_with_schedule() {
  TestRoom room;
  room.sequence().schedule = domain::ScheduleRule{"open"};
  domain::TimeClock clock;
  clock.id = "C";
  clock.backup_h = 10.0;
  room.design().time_clocks = {clock};
  return room;
}

TEST(ScheduledOff, OverrideAndBackUpAtTheirLimits) {
  TestRoom room = room_with_schedule();  // 2 h and 10 h: both exactly at the limit
  EXPECT_EQ(verdict(room, kScheduled), Verdict::pass);
  room.sequence().schedule->override_s = 7201.0;
  EXPECT_EQ(verdict(room, kScheduled), Verdict::fail);
  room.sequence().schedule->override_s = 7200.0;
  room.design().time_clocks.front().backup_h = 9.99;
  EXPECT_EQ(verdict(room, kScheduled), Verdict::fail);
}

TEST(ScheduledOff, MissingClockCalendarSequenceOrOverrideAreas) {
  TestRoom room = room_with_schedule();
  room.design().time_clocks.clear();
  EXPECT_EQ(verdict(room, kScheduled), Verdict::needs_evidence);
  room = room_with_schedule();
  room.sequence().schedule->calendar = "nowhere";
  EXPECT_EQ(verdict(room, kScheduled), Verdict::needs_evidence);
  room = room_with_schedule();
  room.space().floor = rectangle({0, 0}, {50.0, 50.0});  // 2 500 m2, above 5 000 ft2
  EXPECT_EQ(verdict(room, kScheduled), Verdict::needs_evidence);
  room = room_with_schedule();
  room.sequence().schedule->sweeps_off = false;
  EXPECT_EQ(verdict(room, kScheduled), Verdict::fail);
  room.design().sequences.clear();
  EXPECT_EQ(verdict(room, kScheduled), Verdict::needs_evidence);
}

TEST(VacancyOrScheduledOff, EitherWayHolds) {
  const CodeRule rule = make_rule(Requirement::vacancy_or_scheduled_off,
                                  {{"delay_max", minutes(20)}, {"override_max", hours(2)}});
  TestRoom by_vacancy = room_with_vacancy(1200.0);
  EXPECT_EQ(verdict(by_vacancy, rule), Verdict::pass);
  TestRoom by_schedule = room_with_schedule();
  EXPECT_EQ(verdict(by_schedule, rule), Verdict::pass);
  TestRoom late = room_with_vacancy(1201.0);
  EXPECT_EQ(verdict(late, rule), Verdict::fail);
  TestRoom unknown = room_with_vacancy(std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(verdict(unknown, rule), Verdict::needs_evidence);
}

TEST(AutomaticOnLimit, HalfThePower) {
  const CodeRule rule = make_rule(Requirement::automatic_on_limit, {{"power_max", percent(50)}});
  TestRoom room;
  room.add_luminaire("L1", {1.5, 2.5});
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);  // no sequence
  room.sequence().on.by = OnRule::By::hand;
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  room.sequence().on.by = OnRule::By::always;
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  for (const auto by : {OnRule::By::occupancy, OnRule::By::schedule}) {
    room.sequence().on.by = by;
    room.sequence().on.level = 1.0;
    EXPECT_EQ(verdict(room, rule), Verdict::fail);
    room.sequence().on.level = 0.45 / 0.95;  // exactly half the power
    EXPECT_EQ(verdict(room, rule), Verdict::pass);
    room.sequence().on.level = 0.5;  // half the light, 52.5 % of the power
    EXPECT_EQ(verdict(room, rule), Verdict::fail);
  }
  // Levels count from trimmed output.
  room.sequence().trim = domain::TrimRule{0.9, 0.0};
  EXPECT_EQ(verdict(room, rule), Verdict::pass);  // 0.45 of light: 47.75 % of power
}

TEST(ManualControl, AStationThatTurnsOff) {
  const CodeRule rule = make_rule(Requirement::manual_control);
  TestRoom room;
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.add_station({});
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);
  room.design().stations.front().buttons = {"raise", "lower"};
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.design().stations.front().buttons = {"raise", "lower", "off"};
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  room.design().stations.front().space = "elsewhere";
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.sequence().manual = domain::ManualRule{{"ST"}};  // the sequence gives it this space
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
}

TEST(LightReduction, ByDimmingBelowTheLimit) {
  const CodeRule rule =
      make_rule(Requirement::light_reduction,
                {{"step_min", percent(30)}, {"step_max", percent(70)}, {"dim_power_below", percent(20)}});
  TestRoom room;
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);  // no luminaires
  room.add_luminaire("L1", {1.5, 2.5});
  EXPECT_EQ(verdict(room, rule), Verdict::fail);  // no station
  room.add_station({"raise", "lower"});
  EXPECT_EQ(verdict(room, rule), Verdict::pass);             // down to 0.05 + 0.95 x 0.05 = 9.75 % of power
  room.project.drivers.front().minimum_light = 0.15 / 0.95;  // exactly 20 %: the rule says "less than"
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.project.drivers.front().minimum_light = 0.15 / 0.95 - 1e-6;
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  room.design().stations.front().buttons.clear();
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);
}

TEST(LightReduction, BySwitchingOneOfTwoLegs) {
  const CodeRule rule =
      make_rule(Requirement::light_reduction, {{"step_min", percent(30)}, {"step_max", percent(70)}});
  TestRoom room;
  room.type().channels.front().driver = "switched";
  room.add_luminaire("L1", {1.5, 2.5});
  room.add_luminaire("L2", {1.5, 3.5});
  room.add_luminaire("L3", {1.5, 4.5});
  room.add_group("A", Strategy::scene, {"L1"});
  room.add_group("B", Strategy::scene, {"L2", "L3"});
  room.add_station({});
  room.design().stations.front().switch_legs = {"A", "B"};
  EXPECT_EQ(verdict(room, rule), Verdict::pass);  // a third of the power
  EXPECT_EQ(verdict(room, make_rule(Requirement::manual_control)), Verdict::pass)
      << "both legs off is all off";
  room.design().groups[0].channels = {"L1", "L2", "L3"};
  room.design().groups[1].channels.clear();
  EXPECT_EQ(verdict(room, rule), Verdict::fail);  // one leg has everything
}

TEST(LightReduction, BySwitchingAStep) {
  const CodeRule rule =
      make_rule(Requirement::light_reduction, {{"step_min", percent(30)}, {"step_max", percent(70)}});
  TestRoom room;
  room.type().channels.front().driver = "switched";
  for (int i = 0; i < 10; ++i) room.add_luminaire("L" + std::to_string(i), {0.5 * i + 0.5, 2.5});
  room.add_group("G", Strategy::scene, {"L0", "L1", "L2"});
  domain::Scene scene;
  scene.id = "half";
  scene.space = "room";
  scene.levels = {{"G", 0.0}};
  room.design().scenes = {scene};
  room.add_station({"half", "off"});
  EXPECT_EQ(verdict(room, rule), Verdict::pass);  // exactly 70 % of power is left
  room.design().groups.front().channels = {"L0", "L1"};
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.design().groups.front().channels = {"L0", "L1", "L2", "L3", "L4", "L5", "L6"};
  EXPECT_EQ(verdict(room, rule), Verdict::pass);  // exactly 30 %
  room.design().stations.front().buttons = {"off"};
  EXPECT_EQ(verdict(room, rule), Verdict::fail);  // a scene that nobody can call
}

// A room 10 m x 8 m with a window along its south wall, head at 2 m: primary y < 2 m, secondary 2 m to 4 m.
TestRoom daylit_room() {
  TestRoom room(10.0, 8.0);
  room.add_window(0, 1.0, 8.0, 0.0, 2.0);
  room.add_luminaire("P1", {2.0, 1.0});
  room.add_luminaire("P2", {8.0, 1.0});
  room.add_luminaire("S1", {5.0, 3.0});
  return room;
}
const domain::DaylightZoneRule kZones;

CodeRule daylight(const std::string& kind) {
  CodeRule rule = make_rule(Requirement::daylight_control);
  rule.zone_kinds = {kind};
  return rule;
}

TEST(DaylightControl, EveryLuminaireOfTheZoneFollowsAPhotosensor) {
  TestRoom room = daylit_room();
  EXPECT_EQ(verdict(room, daylight("primary"), &kZones), Verdict::needs_evidence);  // no sequence
  room.add_daylight("D", {"P1"});
  EXPECT_EQ(verdict(room, daylight("primary"), &kZones), Verdict::fail);
  EXPECT_NE(evidence(room, daylight("primary"), &kZones).find("30 W of 60 W"), std::string::npos);
  room.design().groups.front().channels = {"P1", "P2"};
  EXPECT_EQ(verdict(room, daylight("primary"), &kZones), Verdict::pass);
  EXPECT_EQ(verdict(room, daylight("secondary"), &kZones), Verdict::fail);
  room.design().photosensors.clear();
  EXPECT_EQ(verdict(room, daylight("primary"), &kZones), Verdict::needs_evidence);
  EXPECT_EQ(verdict(room, daylight("primary"), nullptr), Verdict::needs_evidence);  // zones unknown
  EXPECT_EQ(verdict(room, daylight("toplit"), &kZones), Verdict::needs_evidence);   // nothing there
}

TEST(DaylightZonesApart, AGroupKeepsToOneKind) {
  const CodeRule rule = make_rule(Requirement::daylight_zones_apart);
  TestRoom room = daylit_room();
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::does_not_apply);
  room.add_daylight("D", {"P1", "P2"});
  room.add_daylight("E", {"S1"});
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::pass);
  room.design().groups.front().channels = {"P1", "P2", "S1"};
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::fail);
  EXPECT_EQ(verdict(room, rule, nullptr), Verdict::needs_evidence);
}

TEST(DaylightOrientationsApart, SmallWattsMayJoin) {
  const CodeRule rule =
      make_rule(Requirement::daylight_orientations_apart, {{"exempt_power_max", watts(60)}});
  TestRoom room = daylit_room();
  room.add_window(2, 1.0, 8.0, 0.0, 2.0);  // north: y > 6 m
  room.add_luminaire("N1", {2.0, 7.0});
  room.add_luminaire("N2", {5.0, 7.0});
  room.add_luminaire("P3", {5.0, 1.0});
  room.add_daylight("D", {"P1", "P2", "P3", "N1", "N2"});
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::pass);  // exactly 60 W face north
  room.add_luminaire("N3", {8.0, 7.0});
  room.design().groups.front().channels.push_back("N3");
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::fail);
  room.design().groups.front().channels = {"P1", "P2", "P3"};
  room.add_daylight("N", {"N1", "N2", "N3"});
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::pass);
  EXPECT_EQ(verdict(room, rule, nullptr), Verdict::needs_evidence);
}

TEST(DaylightDims, ToTheLimitOfLight) {
  const CodeRule rule = make_rule(Requirement::daylight_dims, {{"light_max", percent(15)}});
  TestRoom room = daylit_room();
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::does_not_apply);
  room.add_daylight("D", {"P1", "P2"});
  room.sequence().daylight.front().minimum_level = 0.15;
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::pass);
  room.sequence().daylight.front().minimum_level = 0.152;  // bus level 185 of IEC 62386's logarithmic curve
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::fail);
  room.sequence().daylight.front().minimum_level = 0.10;
  room.project.drivers.front().minimum_light = 0.2;  // the driver cannot follow
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::fail);
  room.type().channels.front().driver = "switched";
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::fail);
  EXPECT_EQ(verdict(room, rule, nullptr), Verdict::needs_evidence);
}

TEST(DaylightOff, MaySwitchOff) {
  const CodeRule rule = make_rule(Requirement::daylight_off);
  TestRoom room = daylit_room();
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::does_not_apply);
  room.add_daylight("D", {"P1", "P2"});
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::fail);
  room.sequence().daylight.front().may_switch_off = true;
  EXPECT_EQ(verdict(room, rule, &kZones), Verdict::pass);
  EXPECT_EQ(verdict(room, rule, nullptr), Verdict::needs_evidence);
}

TEST(LightingPower, WithinTheAllowance) {
  CodeRule rule = make_rule(Requirement::lighting_power);
  rule.by_space_type["office"] = figure(2.0, "W/m2", 2.0);
  TestRoom room;  // 30 m2: 60 W
  room.add_luminaire("L1", {1.5, 2.5});
  room.add_luminaire("L2", {4.5, 2.5});
  EXPECT_EQ(verdict(room, rule), Verdict::pass);  // exactly 60 W
  room.type().channels.front().input_w = 30.001;
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);  // the building decides
  room.library.kinds.front().code_space_type = "attic";
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);
}

TEST(ReceptacleControl, HalfRoundedUp) {
  const CodeRule rule = make_rule(Requirement::receptacle_control, {{"controlled_min", percent(50)}});
  TestRoom room;
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);
  room.space().plug_loads.receptacles = 9;
  room.space().plug_loads.controlled_receptacles = 4;
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.space().plug_loads.controlled_receptacles = 5;
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  room.space().plug_loads.receptacles = 10;
  EXPECT_EQ(verdict(room, rule), Verdict::pass);  // exactly half
}

TEST(NoAutomaticOff, RefusedWhereDarknessIsDangerous) {
  CodeRule rule = make_rule(Requirement::no_automatic_off);
  rule.blocks_issue = true;
  TestRoom room = room_with_vacancy(900.0);
  EXPECT_EQ(verdict(room, rule), Verdict::does_not_apply);
  room.space().automatic_off_refused = true;
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  EXPECT_TRUE(check_rule(room.facts_under(), rule).blocks_issue);
  room.sequence().vacancy.reset();
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  EXPECT_FALSE(check_rule(room.facts_under(), rule).blocks_issue);
  room.sequence().schedule = domain::ScheduleRule{"open"};
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.space().automatic_off_refused = false;
  room.library.kinds.front().automatic_off_refused = true;  // of the kind of space
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.design().sequences.clear();
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);
}

TEST(LossLeavesLight, EveryLossAndTheReturnOfPower) {
  const CodeRule rule = make_rule(Requirement::loss_leaves_light);
  TestRoom room;
  EXPECT_EQ(verdict(room, rule), Verdict::needs_evidence);
  room.sequence();
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  for (double domain::LossRule::*level :
       {&domain::LossRule::sensor_lost, &domain::LossRule::controller_lost, &domain::LossRule::network_lost,
        &domain::LossRule::clock_lost, &domain::LossRule::power_return}) {
    room.sequence().loss = {};
    room.sequence().loss.*level = 0.0;
    EXPECT_EQ(verdict(room, rule), Verdict::fail);
  }
}

TEST(LossLeavesLight, InOneGroupAtLeast) {
  const CodeRule rule = make_rule(Requirement::loss_leaves_light);
  TestRoom room;
  domain::LossRule& loss = room.sequence().loss;
  for (const char* id : {"row", "board"}) {
    domain::Group group;
    group.id = id;
    group.space = room.space().id;
    group.strategy = domain::Strategy::scene;
    room.design().groups.push_back(group);
  }
  loss.groups = {{"board", {}, {}, {}, 0.0, {}}};
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  loss.groups.push_back({"row", {}, {}, {}, 0.0, {}});
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  loss.clock_lost = 0.0;
  loss.groups[1].clock_lost = 0.5;
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
}

TEST(WarningBeforeOff, LongEnoughAndADip) {
  const CodeRule rule = make_rule(Requirement::warning_before_off, {{"warning_min", figure(10, "s", 10)}});
  TestRoom room = room_with_vacancy(900.0);
  room.sequence().vacancy->warning_s = 10.0;
  EXPECT_EQ(verdict(room, rule), Verdict::pass);
  room.sequence().vacancy->warning_s = 9.9;
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.sequence().vacancy->warning_s = 30.0;
  room.sequence().vacancy->warning_level = 1.0;  // no dip
  EXPECT_EQ(verdict(room, rule), Verdict::fail);
  room.sequence().vacancy.reset();
  EXPECT_EQ(verdict(room, rule), Verdict::does_not_apply);
}

}  // namespace
}  // namespace halflight::codes
