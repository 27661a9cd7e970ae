#include "codes/check.hpp"

#include "codes/code_minimum.hpp"
#include "codes/figures.hpp"
#include "codes/fixes.hpp"
#include "codes/test_room.hpp"

#include <algorithm>

#include <gtest/gtest.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::Comparison;
using domain::EgressPath;
using domain::Fact;
using domain::HowKnown;
using domain::Requirement;
using results::Finding;
using testing::figure;
using testing::make_rule;
using testing::minutes;
using testing::percent;
using testing::TestRoom;
using testing::watts;
using Verdict = Finding::Verdict;

// ---------------------------------------------------------------------------------------------------------
// Scope, trigger, exceptions

CodeRule receptacles() {
  return make_rule(Requirement::receptacle_control, {{"controlled_min", percent(50)}});
}

void set_receptacles(domain::Space& space, int all, int controlled) {
  space.plug_loads.receptacles = all;
  space.plug_loads.controlled_receptacles = controlled;
}

TEST(CheckRule, ScopeByCodeSpaceType) {
  TestRoom room;
  CodeRule rule = receptacles();
  rule.space_types = {"corridor"};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::does_not_apply);
  rule.space_types = {"corridor", "office"};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict,
            Verdict::needs_evidence);  // judged: receptacles unknown
  rule.space_types.clear();
  rule.excluded_space_types = {"office"};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::does_not_apply);
  room.library.kinds.clear();  // the type is not known
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::needs_evidence);
}

TEST(CheckRule, TriggerWithItsFigures) {
  TestRoom room;
  room.type().channels.front().input_w = 166.0;
  room.add_luminaire("L1", {1.5, 2.5});
  set_receptacles(room.space(), 2, 1);
  CodeRule rule = receptacles();
  rule.trigger = {{Fact::general_lighting, Comparison::above, watts(150)}};
  Finding finding = check_rule(room.facts_under(), rule);
  EXPECT_EQ(finding.verdict, Verdict::pass);
  EXPECT_EQ(finding.evidence.find("166 W of general lighting; the rule binds above 150 W."), 0u);
  room.type().channels.front().input_w = 150.0;
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::does_not_apply);  // above, not from
  rule.trigger.front().comparison = Comparison::at_least;
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::pass);
  rule.trigger = {{Fact::primary_general_lighting, Comparison::above, watts(150)}};
  EXPECT_EQ(check_rule(room.facts_under(nullptr), rule).verdict, Verdict::needs_evidence);  // zones unknown
}

TEST(CheckRule, OneOfSeveralTriggersIsEnough) {
  TestRoom room;
  set_receptacles(room.space(), 2, 1);
  CodeRule rule = receptacles();
  rule.trigger_any = {{Fact::luminaires, Comparison::at_least, figure(1, "", 1)},
                      {Fact::area, Comparison::at_least, figure(30, "m2", 30)}};  // exactly 30 m2
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::pass);
  rule.trigger_any.pop_back();
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::does_not_apply);
}

TEST(CheckRule, ExceptionsByFactsExcuseAndThoseByJudgementAreOnlyNamed) {
  TestRoom room;
  set_receptacles(room.space(), 4, 0);
  CodeRule rule = receptacles();
  rule.exceptions = {{"safety", "shut-off would endanger people", {}, {}}};
  Finding finding = check_rule(room.facts_under(), rule);
  EXPECT_EQ(finding.verdict, Verdict::fail);
  EXPECT_NE(finding.fix.find("shut-off would endanger people"), std::string::npos);
  rule.exceptions.push_back(
      {"small", "a small space", {}, {{Fact::area, Comparison::below, figure(30.1, "m2", 30.1)}}});
  finding = check_rule(room.facts_under(), rule);
  EXPECT_EQ(finding.verdict, Verdict::does_not_apply);
  EXPECT_NE(finding.evidence.find("a small space"), std::string::npos);
  rule.exceptions.back().space_types = {"corridor"};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::fail);
}

TEST(CheckRule, JudgementAsksAPersonOnlyWhereTheRuleBinds) {
  TestRoom room;
  set_receptacles(room.space(), 2, 1);
  CodeRule rule = receptacles();
  rule.judgement = {{"office", "A person has to decide."}};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::needs_evidence);
  rule.trigger = {{Fact::area, Comparison::at_most, figure(20, "m2", 20)}};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::does_not_apply);
}

TEST(CheckRule, UnconfirmedFiguresKeepTheirFlagUntilVerified) {
  TestRoom room;
  set_receptacles(room.space(), 2, 1);
  CodeRule rule = receptacles();
  EXPECT_EQ(check_rule(room.facts_under(), rule).confirmed, Finding::Confidence::confirmed);
  rule.limits.at("controlled_min").how_known = HowKnown::low;
  Finding finding = check_rule(room.facts_under(), rule);
  EXPECT_EQ(finding.confirmed, Finding::Confidence::low);
  EXPECT_NE(finding.evidence.find("compare them with the adopted document"), std::string::npos);
  rule.verified = true;
  finding = check_rule(room.facts_under(), rule);
  EXPECT_EQ(finding.confirmed, Finding::Confidence::confirmed);
  EXPECT_EQ(finding.evidence.find("compare"), std::string::npos);
}

TEST(CheckRule, ASmallAlterationIsExcused) {
  TestRoom room;
  room.add_luminaire("L1", {1.5, 2.5});
  set_receptacles(room.space(), 4, 0);
  CodeRule rule = receptacles();
  rule.exceptions = {{"small-alteration",
                      "less than a tenth replaced, no power added",
                      {},
                      {{Fact::share_replaced, Comparison::below, percent(10)},
                       {Fact::added_power, Comparison::at_most, watts(0)}}}};
  room.project.type = {domain::ProjectType::Kind::alteration, 0.05};
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::fail);  // power as found is not known
  room.study.connected_as_found_w = 30.0;
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::does_not_apply);
  room.study.connected_as_found_w = 29.0;
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::fail);
  room.study.connected_as_found_w = 30.0;
  room.project.type.share_replaced = 0.10;
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::fail);
  room.project.type = {domain::ProjectType::Kind::new_building, 0.05};  // the share means nothing there
  EXPECT_EQ(check_rule(room.facts_under(), rule).verdict, Verdict::fail);
}

// ---------------------------------------------------------------------------------------------------------
// Editions

TEST(RulesInForce, NamedEditionsOursAndFallbacks) {
  domain::Project project;
  CodeRule a = make_rule(Requirement::egress_normal);
  a.code = "IBC";
  CodeRule own = make_rule(Requirement::egress_normal);
  own.code = "halflight";
  own.fallback = true;
  CodeRule own_emergency = own;
  own_emergency.requirement = Requirement::egress_emergency;
  const std::vector<CodeRule> rules = {a, own, own_emergency};
  EXPECT_EQ(rules_in_force(project, rules).size(), 2u);  // both of ours
  project.codes = {{"ibc", "2021"}};
  const auto in_force = rules_in_force(project, rules);
  ASSERT_EQ(in_force.size(), 2u);  // the code's own normal rule replaces ours; ours for emergency stays
  EXPECT_EQ(in_force[0].code, "IBC");
  EXPECT_EQ(in_force[1].requirement, Requirement::egress_emergency);
  EXPECT_EQ(rules_in_force(project, in_force).size(), 2u);
  project.codes = {{"IBC", "2018"}};
  EXPECT_EQ(rules_in_force(project, rules).front().code, "halflight");
}

TEST(RulesInForce, NamesOfCodes) {
  EXPECT_TRUE(is_same_code("ASHRAE/IES 90.1", "90.1"));
  EXPECT_TRUE(is_same_code("ANSI/ASHRAE/IES 90.1", "ashrae 90.1"));
  EXPECT_TRUE(is_same_code("EN 1838", "EN-1838"));
  EXPECT_FALSE(is_same_code("IECC", "IBC"));
}

TEST(CheckBuilding, SumsPowerOverSpacesAndNamesUnknownEditions) {
  TestRoom room;  // 30 m2
  room.add_luminaire("L1", {1.5, 2.5});
  room.type().channels.front().input_w = 90.0;
  domain::Space store = room.space();
  store.id = "store";
  room.project.spaces.push_back(store);  // another 30 m2 without light
  room.project.codes = {{"IECC", "2021"}, {"Local code", "1"}};
  CodeRule rule = make_rule(Requirement::lighting_power);
  rule.by_space_type["office"] = figure(1.5, "W/m2", 1.5);
  auto findings = check_building(room.project, room.library, room.design(), {rule});
  ASSERT_EQ(findings.size(), 2u);
  EXPECT_EQ(findings[0].verdict, Verdict::needs_evidence);
  EXPECT_EQ(findings[0].code, "Local code");
  EXPECT_EQ(findings[1].verdict, Verdict::pass);  // 90 W of 60 m2 x 1.5 W/m2, exactly
  EXPECT_EQ(findings[1].evidence, "90 W installed, 90 W allowed, summed over the spaces.");
  room.type().channels.front().input_w = 90.1;
  EXPECT_EQ(check_building(room.project, room.library, room.design(), {rule})[1].verdict, Verdict::fail);
  rule.by_space_type = {{"corridor", figure(1.5, "W/m2", 1.5)}};
  EXPECT_EQ(check_building(room.project, room.library, room.design(), {rule})[1].verdict,
            Verdict::needs_evidence);
}

TEST(CheckSpace, ZonesFollowTheEditionOfTheRule) {
  // 90.1 counts a 5 ft shelf, IECC does not: the same luminaire is in one code's zone only.
  TestRoom room(10.0, 8.0);
  room.add_window(0, 1.0, 8.0, 0.0, 2.4);
  room.add_luminaire("L", {5.0, 2.0});
  domain::Furniture shelf;
  shelf.plan = rectangle({0.0, 1.0}, {10.0, 1.3});
  shelf.top_m = 1.6;
  room.space().furniture = {shelf};
  room.project.codes = {{"IECC", "2021"}, {"90.1", "2019"}};
  CodeRule definition = make_rule(Requirement::daylight_zone_definition);
  definition.zones = domain::DaylightZoneRule{};
  CodeRule control = make_rule(Requirement::daylight_control);
  control.zone_kinds = {"primary"};
  control.trigger = {{Fact::primary_general_lighting, Comparison::at_least, watts(30)}};
  CodeRule definition_90_1 = definition;
  definition_90_1.zones->obstruction_height_m = 1.524;
  CodeRule control_90_1 = control;
  definition_90_1.code = control_90_1.code = "90.1";
  definition_90_1.edition = control_90_1.edition = "2019";
  room.sequence();
  const auto findings = check_space(room.project, room.library, room.design(), room.space(), room.study,
                                    {definition, control, definition_90_1, control_90_1});
  ASSERT_EQ(findings.size(), 2u);  // definitions give none
  EXPECT_EQ(findings[0].verdict, Verdict::fail);
  EXPECT_EQ(findings[1].verdict, Verdict::does_not_apply);
}

// ---------------------------------------------------------------------------------------------------------
// Egress (IBC 2021 1008.2.1 and 1008.3.5)

constexpr double kFc = kLuxPerFootcandle;

std::vector<CodeRule> egress_rules() {
  CodeRule normal = make_rule(Requirement::egress_normal, {{"level_min", figure(1, "fc", kFc)},
                                                           {"stair_min", figure(10, "fc", 10 * kFc)}});
  CodeRule emergency = make_rule(Requirement::egress_emergency, {{"mean_min", figure(1, "fc", kFc)},
                                                                 {"point_min", figure(0.1, "fc", 0.1 * kFc)},
                                                                 {"ratio_max", figure(40, "", 40)}});
  normal.blocks_issue = emergency.blocks_issue = true;
  return {normal, emergency};
}

TEST(Egress, OccupiedLevelPath) {
  EgressVerdict v = judge_egress({kFc, 20.0, 40.0}, egress_rules());
  EXPECT_TRUE(v.holds);
  EXPECT_NEAR(v.limit_lx, 10.764, 1e-3);
  v = judge_egress({kFc - 1e-3, 20.0, 40.0}, egress_rules());
  EXPECT_FALSE(v.holds);
  EXPECT_NE(v.why.find("at least 10.76 lx (1 fc)"), std::string::npos);
}

TEST(Egress, StairsInUseNeedTenTimesAsMuch) {
  EgressLight light{10 * kFc, 150.0, 200.0, StateClass::normal, EgressPath::Surface::stair};
  EXPECT_TRUE(judge_egress(light, egress_rules()).holds);
  light.min_lx = 107.0;  // below 107.64 lx
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
  light.state = StateClass::vacant;  // empty: as any path
  EXPECT_TRUE(judge_egress(light, egress_rules()).holds);
  light.min_lx = 10.0;
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
}

TEST(Egress, AnEmptyRoomOfItsOwnMayGoDarkAWayOutMayNot) {
  EgressLight light{0.0, 0.0, 0.0, StateClass::vacant, EgressPath::Surface::level, false};
  EXPECT_TRUE(judge_egress(light, egress_rules()).holds);
  light.serves_other_rooms = true;
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
}

TEST(Egress, EmergencyMeanMinimumAndRatio) {
  const EgressLight at_limits{0.1 * kFc * 4, 1 * kFc, 0.1 * kFc * 160,
                              StateClass::emergency};  // 40:1 exactly
  EXPECT_TRUE(judge_egress(at_limits, egress_rules()).holds);
  EXPECT_NEAR(judge_egress(at_limits, egress_rules()).limit_lx, kFc, 1e-9);
  EgressLight light = at_limits;
  light.max_lx += 0.01;
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
  light = at_limits;
  light.mean_lx -= 0.01;
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
  light = {0.1 * kFc, kFc, 40.0 * 0.1 * kFc, StateClass::emergency};
  EXPECT_TRUE(judge_egress(light, egress_rules()).holds);
  light.min_lx -= 0.001;
  light.max_lx = 39.0 * light.min_lx;
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
  light = {0.0, 20.0, 50.0, StateClass::emergency};  // dark spots: no ratio at all
  EXPECT_FALSE(judge_egress(light, egress_rules()).holds);
}

TEST(Egress, WithoutARuleNothingHolds) {
  EXPECT_FALSE(judge_egress({100.0, 100.0, 100.0}, {}).holds);
  EXPECT_FALSE(judge_egress({100.0, 100.0, 100.0, StateClass::emergency}, {egress_rules().front()}).holds);
}

TEST(Egress, FindingsOverTheStatesOfTheStudy) {
  TestRoom corridor;
  corridor.library.kinds.front().is_egress_component = true;
  const auto rules = egress_rules();
  Finding finding = check_rule(corridor.facts_under(), rules[0]);
  EXPECT_EQ(finding.verdict, Verdict::needs_evidence);  // a way out, and no path drawn
  EgressPath path;
  path.id = "way";
  corridor.space().egress_paths = {path};
  EXPECT_EQ(check_rule(corridor.facts_under(), rules[0]).verdict, Verdict::needs_evidence);  // not computed
  corridor.study.egress = {{"way", "normal scene", 80.0, 100.0, 10.8, true, ""},
                           {"way", "vacant", 12.0, 20.0, 10.8, true, ""}};
  EXPECT_EQ(check_rule(corridor.facts_under(), rules[0]).verdict, Verdict::pass);
  EXPECT_EQ(check_rule(corridor.facts_under(), rules[1]).verdict,
            Verdict::needs_evidence);  // not on emergency power
  corridor.study.egress[1].min_lx = 9.0;
  finding = check_rule(corridor.facts_under(), rules[0]);
  EXPECT_EQ(finding.verdict, Verdict::fail);
  EXPECT_TRUE(finding.blocks_issue);
  EXPECT_NE(finding.evidence.find("vacant: Minimum 9 lx; at least 10.76 lx"), std::string::npos);
  corridor.study.egress.push_back(
      {"way", "normal power lost", 2.0, 12.0, 10.8, false, "Maximum to minimum 50:1."});
  finding = check_rule(corridor.facts_under(), rules[1]);
  EXPECT_EQ(finding.verdict, Verdict::fail);  // the ratio was judged when the state was made
  EXPECT_NE(finding.evidence.find("50:1"), std::string::npos);
  corridor.study.egress.back().holds = true;
  EXPECT_EQ(check_rule(corridor.facts_under(), rules[1]).verdict, Verdict::pass);
}

TEST(Egress, ClassOfAState) {
  EXPECT_EQ(state_class_of("normal scene"), StateClass::normal);
  EXPECT_EQ(state_class_of("scene Talk"), StateClass::normal);
  EXPECT_EQ(state_class_of("demand response"), StateClass::normal);
  EXPECT_EQ(state_class_of("vacant"), StateClass::vacant);
  EXPECT_EQ(state_class_of("normal power lost"), StateClass::emergency);
}

// ---------------------------------------------------------------------------------------------------------
// Fixes

const Edit* edit_at(const std::vector<Edit>& edits, const std::string& pointer) {
  const auto found =
      std::find_if(edits.begin(), edits.end(), [&](const Edit& e) { return e.pointer == pointer; });
  return found == edits.end() ? nullptr : &*found;
}

TEST(CandidateFixes, DelayVacancyAndDaylight) {
  TestRoom room(10.0, 8.0);
  room.add_window(0, 1.0, 8.0, 0.0, 2.0);
  room.add_luminaire("P1", {2.0, 1.0});
  room.add_sensor();
  room.add_daylight("D", {"P1"});
  room.sequence().daylight.clear();  // the photosensor is there, the rule is not
  domain::TaskArea desk;
  desk.id = "desk";
  room.space().task_areas = {desk};
  room.project.codes = {{"IECC", "2021"}};
  CodeRule off = make_rule(Requirement::vacancy_off, {{"delay_max", minutes(20)}});
  off.id = "OFF";
  CodeRule definition = make_rule(Requirement::daylight_zone_definition);
  definition.id = "DZ";
  definition.zones = domain::DaylightZoneRule{};
  CodeRule control = make_rule(Requirement::daylight_control);
  control.id = "DL";
  control.zone_kinds = {"primary"};
  const std::vector<CodeRule> rules = {off, definition, control};
  const auto edits_now = [&] {
    const auto findings =
        check_space(room.project, room.library, room.design(), room.space(), room.study, rules);
    return candidate_fixes(room.project, room.design(), room.space(), findings, rules);
  };

  auto edits = edits_now();
  ASSERT_NE(edit_at(edits, "/designs/0/sequences/0/vacancy"), nullptr);
  EXPECT_EQ(edit_at(edits, "/designs/0/sequences/0/vacancy")->json_text,
            R"({ "delay": "20 min", "step_level": 0 })");
  ASSERT_NE(edit_at(edits, "/designs/0/sequences/0/daylight/-"), nullptr);
  EXPECT_EQ(edit_at(edits, "/designs/0/sequences/0/daylight/-")->json_text,
            R"({ "group": "D", "photosensor": "P-D", "task_area": "desk" })");

  domain::VacancyRule vacancy;
  vacancy.delay_s = 1800.0;
  room.sequence().vacancy = vacancy;
  domain::DaylightRule rule;
  rule.group = "D";
  rule.photosensor = "P-D";
  room.sequence().daylight = {rule};
  edits = edits_now();
  ASSERT_EQ(edits.size(), 1u);
  EXPECT_EQ(edits[0].pointer, "/designs/0/sequences/0/vacancy/delay");
  EXPECT_EQ(edits[0].json_text, "\"20 min\"");
  EXPECT_NE(edits[0].why.find("Off 30 min after the last motion; the limit is 20 min."), std::string::npos);

  room.sequence().vacancy->delay_s = 1200.0;
  EXPECT_TRUE(edits_now().empty());
}

// ---------------------------------------------------------------------------------------------------------
// Figures in words

TEST(Figures, TextOfNumbersAndUnits) {
  EXPECT_EQ(number_text(166.0), "166");
  EXPECT_EQ(number_text(0.71), "0.71");
  EXPECT_EQ(number_text(18000.0), "18000");
  EXPECT_EQ(number_text(0.0), "0");
  EXPECT_EQ(number_text(10.763910), "10.76");
  EXPECT_EQ(value_text(600 * testing::kFt2, testing::square_feet(600)), "600 ft2 (55.74 m2)");
  EXPECT_EQ(value_text(900.0, minutes(20)), "15 min");
  EXPECT_EQ(percent_text(0.525), "52.5 %");
}

}  // namespace
}  // namespace halflight::codes
