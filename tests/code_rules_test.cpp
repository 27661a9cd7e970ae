// The shipped rule data (library/codes) through the rule engine: worked examples whose answers follow by hand
// from the codes' figures, and the code minimum of usual rooms. docs/methods/codes.md lists them.
#include "codes/check.hpp"
#include "codes/code_minimum.hpp"
#include "codes/test_room.hpp"
#include "codes/zones.hpp"
#include "formats/code_rules_file.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <map>
#include <string>

#include <gtest/gtest.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::OnRule;
using results::Finding;
using testing::kFt;
using testing::kFt2;
using testing::TestRoom;
using Verdict = Finding::Verdict;

const std::vector<CodeRule>& shipped() {
  static const std::vector<CodeRule> all = [] {
    std::vector<CodeRule> rules;
    for (const char* name : {"iecc_2018", "iecc_2021", "ashrae_90_1_2019", "ibc_2021", "nfpa_101_2021",
                             "en_1838_2013", "halflight_1"}) {
      const auto path =
          std::filesystem::path(HALFLIGHT_SOURCE_DIR) / "library" / "codes" / (std::string(name) + ".json");
      std::ifstream in(path);
      const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
      const auto read = formats::read_code_rules(text, path.filename().string());
      EXPECT_TRUE(read.has_value()) << name;
      if (read) rules.insert(rules.end(), read->begin(), read->end());
    }
    return rules;
  }();
  return all;
}

void adopt(TestRoom& room, const std::string& code, const std::string& edition) {
  room.project.codes = {{code, edition}};
}

std::map<std::string, Finding> findings_of(TestRoom& room) {
  std::map<std::string, Finding> by_rule;
  for (const Finding& f :
       check_space(room.project, room.library, room.design(), room.space(), room.study, shipped()))
    by_rule[f.rule] = f;
  return by_rule;
}

// 30 ft along the glass, 24 ft deep, one window of 20 ft centred, head at 8 ft; even lighting by a raster of
// small luminaires of one square foot each.
TestRoom glass_room(double watts_per_ft2) {
  TestRoom room(30.0 * kFt, 24.0 * kFt, "office_enclosed_gt250");
  room.space().height_m = 9.0 * kFt;
  room.add_window(0, 5.0 * kFt, 20.0 * kFt, 3.0 * kFt, 5.0 * kFt);
  room.type().length_m = room.type().width_m = 0.1;
  room.type().channels.front().input_w = watts_per_ft2;
  for (int x = 0; x < 30; ++x)
    for (int y = 0; y < 24; ++y)
      room.add_luminaire("L" + std::to_string(x) + "-" + std::to_string(y),
                         {(x + 0.5) * kFt, (y + 0.5) * kFt});
  room.sequence();
  return room;
}

std::vector<results::DaylightZone> zones_of(TestRoom& room) {
  return daylight_zones(room.project, room.design(), room.space(),
                        *adopted_zone_rule(room.project, shipped()));
}

TEST(WorkedExamples, ZoneAreasByEdition) {
  TestRoom room = glass_room(0.71);
  adopt(room, "IECC", "2018");
  auto zones = zones_of(room);
  ASSERT_EQ(zones.size(), 1u);
  EXPECT_NEAR(zones[0].area_m2, 192.0 * kFt2, 1e-4);
  for (const auto& [code, edition] : {std::pair{"IECC", "2021"}, std::pair{"ASHRAE/IES 90.1", "2019"}}) {
    adopt(room, code, edition);
    zones = zones_of(room);
    ASSERT_EQ(zones.size(), 2u);
    EXPECT_NEAR(zones[0].area_m2, 224.0 * kFt2, 1e-4);
    EXPECT_NEAR(zones[1].area_m2, 224.0 * kFt2, 1e-4);
  }
}

TEST(WorkedExamples, DaylightTriggersAt071WattsPerSquareFoot) {
  TestRoom room = glass_room(0.71);
  adopt(room, "IECC", "2021");
  auto findings = findings_of(room);
  EXPECT_EQ(findings.at("IECC-DL-PRIMARY").verdict, Verdict::fail);  // 159 W
  EXPECT_NE(findings.at("IECC-DL-PRIMARY")
                .evidence.find("159 W of general lighting in the primary zone; the rule binds above 150 W."),
            std::string::npos);
  EXPECT_EQ(findings.at("IECC-DL-SECONDARY").verdict, Verdict::fail);  // 318 W
  EXPECT_NE(findings.at("IECC-DL-SECONDARY").evidence.find("318.1 W"), std::string::npos);
  adopt(room, "IECC", "2018");
  findings = findings_of(room);
  EXPECT_EQ(findings.at("IECC-DL-PRIMARY").verdict, Verdict::does_not_apply);  // 136 W
  EXPECT_NE(findings.at("IECC-DL-PRIMARY").evidence.find("136.3 W"), std::string::npos);
}

TEST(WorkedExamples, DaylightTriggersAt060WattsPerSquareFoot) {
  TestRoom room = glass_room(0.60);
  for (const auto& [code, primary, secondary] : {std::tuple{"IECC", "IECC-DL-PRIMARY", "IECC-DL-SECONDARY"},
                                                 std::tuple{"90.1", "901-E-PRIMARY", "901-E-SECONDARY"}}) {
    adopt(room, code, std::string(code) == "IECC" ? "2021" : "2019");
    const auto findings = findings_of(room);
    EXPECT_EQ(findings.at(primary).verdict, Verdict::does_not_apply);    // 134 W
    EXPECT_EQ(findings.at(secondary).verdict, Verdict::does_not_apply);  // 269 W
  }
}

// At the limit itself the codes part: IECC binds above 150 W, 90.1 from 150 W.
TEST(WorkedExamples, DaylightTriggerExactlyAtTheLimit) {
  TestRoom room = glass_room(150.0 / 224.0);
  adopt(room, "IECC", "2021");
  EXPECT_EQ(findings_of(room).at("IECC-DL-PRIMARY").verdict, Verdict::does_not_apply);
  adopt(room, "ASHRAE 90.1", "2019");
  EXPECT_EQ(findings_of(room).at("901-E-PRIMARY").verdict, Verdict::fail);
}

TEST(WorkedExamples, AShelfSixFeetInside) {
  TestRoom room = glass_room(0.71);
  domain::Furniture shelf;
  shelf.plan = rectangle({0.0, 6.0 * kFt}, {30.0 * kFt, 7.0 * kFt});
  shelf.top_m = 5.5 * kFt;
  room.space().furniture = {shelf};
  adopt(room, "90.1", "2019");
  auto zones = zones_of(room);
  ASSERT_EQ(zones.size(), 1u);
  EXPECT_NEAR(zones[0].depth_m, 6.0 * kFt, 1e-5);
  for (const char* edition : {"2018", "2021"}) {
    adopt(room, "IECC", edition);
    EXPECT_NEAR(zones_of(room).at(0).depth_m, 8.0 * kFt, 1e-5);
  }
}

TEST(WorkedExamples, OpenOfficeOf1800SquareFeet) {
  TestRoom room(60.0 * kFt, 30.0 * kFt, "office_open");
  adopt(room, "IECC", "2021");
  for (int i = 0; i < 3; ++i) {
    const std::string n = std::to_string(i);
    room.add_luminaire("L" + n, {(10.0 + 20.0 * i) * kFt, 15.0 * kFt});
    room.add_group("G" + n, domain::Strategy::occupancy, {"L" + n});
  }
  room.add_sensor();
  domain::VacancyRule vacancy;
  vacancy.delay_s = 1200.0;
  room.sequence().vacancy = vacancy;
  EXPECT_EQ(findings_of(room).at("IECC-OS-5").verdict, Verdict::pass);
  EXPECT_EQ(findings_of(room).at("IECC-OS-1-OPEN").verdict, Verdict::does_not_apply);
  room.design().groups[2].id = "G1";  // two zones only
  EXPECT_EQ(findings_of(room).at("IECC-OS-5").verdict, Verdict::fail);
}

TEST(WorkedExamples, NineReceptaclesNeedFive) {
  TestRoom room(6.0, 5.0, "conference_multipurpose");
  room.space().plug_loads.receptacles = 9;
  for (const auto& [code, edition, rule] :
       {std::tuple{"IECC", "2021", "IECC-RC-1"}, std::tuple{"90.1", "2019", "901-RC"}}) {
    adopt(room, code, edition);
    room.space().plug_loads.controlled_receptacles = 4;
    EXPECT_EQ(findings_of(room).at(rule).verdict, Verdict::fail);
    room.space().plug_loads.controlled_receptacles = 5;
    EXPECT_EQ(findings_of(room).at(rule).verdict, Verdict::pass);
  }
}

// An enclosed office of 250 ft2 under 90.1-2019 with local control, partial automatic on, bilevel, full off.
TestRoom small_office() {
  TestRoom room(25.0 * kFt, 10.0 * kFt, "office_enclosed_le250");
  adopt(room, "90.1", "2019");
  room.add_luminaire("L1", {2.0, 1.5});
  room.add_luminaire("L2", {5.0, 1.5});
  room.add_sensor();
  room.add_station({"raise", "lower", "off"});
  domain::VacancyRule vacancy;
  vacancy.delay_s = 1200.0;
  room.sequence().vacancy = vacancy;
  room.sequence().on = {OnRule::By::occupancy, 0.45, 2.0};
  room.space().plug_loads.receptacles = 4;
  room.space().plug_loads.controlled_receptacles = 2;
  return room;
}

TEST(WorkedExamples, SmallOfficeUnder901) {
  TestRoom room = small_office();
  for (const char* rule : {"901-A", "901-BC", "901-D", "901-H", "901-RC", "901-LP"})
    EXPECT_EQ(findings_of(room).at(rule).verdict, Verdict::pass)
        << rule << findings_of(room).at(rule).evidence;
  for (const char* rule : {"901-E-PRIMARY", "901-F", "901-G", "901-HI"})
    EXPECT_EQ(findings_of(room).at(rule).verdict, Verdict::does_not_apply) << rule;
  for (const auto& [id, finding] : findings_of(room)) EXPECT_NE(finding.verdict, Verdict::fail) << id;

  room.sequence().on.level = 1.0;
  EXPECT_EQ(findings_of(room).at("901-BC").verdict, Verdict::fail);
}

TEST(WorkedExamples, CorridorAtFortyPercentWhenEmpty) {
  TestRoom room(20.0, 2.0, "corridor");
  room.add_luminaire("L1", {5.0, 1.0});
  room.add_luminaire("L2", {15.0, 1.0});
  room.add_sensor();
  domain::VacancyRule vacancy;
  vacancy.delay_s = 1200.0;
  vacancy.step_level = 0.4;
  room.sequence().vacancy = vacancy;
  room.sequence().schedule = domain::ScheduleRule{"open"};
  adopt(room, "IECC", "2021");
  EXPECT_EQ(findings_of(room).at("IECC-OS-6").verdict, Verdict::pass);
  adopt(room, "90.1", "2019");
  EXPECT_EQ(findings_of(room).at("901-G").verdict, Verdict::pass);
  EXPECT_EQ(findings_of(room).at("901-HI").verdict, Verdict::pass);
}

TEST(WorkedExamples, AnEmptyDelayNeverPasses) {
  TestRoom room = small_office();
  room.project.defaults_taken = {{"/designs/0/sequences/0/vacancy/delay", "15 min", "practice", ""}};
  EXPECT_EQ(findings_of(room).at("901-H").verdict, Verdict::needs_evidence);
}

TEST(Judgement, ASmallElectricalRoomIsForAPersonToDecide) {
  TestRoom room(3.0, 3.0, "electrical_mechanical");
  adopt(room, "IECC", "2021");
  room.space().automatic_off_refused = true;
  room.sequence();
  EXPECT_EQ(findings_of(room).at("IECC-OS-1-SMALL").verdict, Verdict::needs_evidence);
  EXPECT_EQ(findings_of(room).at("HL-OFF-REFUSED").verdict, Verdict::pass);
  domain::VacancyRule vacancy;
  room.sequence().vacancy = vacancy;
  EXPECT_EQ(findings_of(room).at("HL-OFF-REFUSED").verdict, Verdict::fail);
  EXPECT_TRUE(findings_of(room).at("HL-OFF-REFUSED").blocks_issue);
}

TEST(Egress, OurOwnRuleStandsWhereNoCodeIsNamed) {
  TestRoom room(20.0, 2.0, "corridor");
  const auto own = rules_in_force(room.project, shipped());
  EXPECT_TRUE(judge_egress({10.77, 20.0, 30.0}, own).holds);
  EXPECT_FALSE(judge_egress({10.0, 20.0, 30.0}, own).holds);
  adopt(room, "EN 1838", "2013");  // has no rule for normal power: ours stays; its own for emergency is 1 lx
  const auto european = rules_in_force(room.project, shipped());
  EXPECT_FALSE(judge_egress({10.0, 20.0, 30.0}, european).holds);
  EXPECT_TRUE(judge_egress({1.0, 2.0, 40.0, StateClass::emergency}, european).holds);
  EXPECT_FALSE(judge_egress({1.0, 2.0, 40.1, StateClass::emergency}, european).holds);
  EXPECT_FALSE(judge_egress({0.99, 2.0, 30.0, StateClass::emergency}, european).holds);
}

// ---------------------------------------------------------------------------------------------------------
// The code minimum

struct Minimum {
  domain::Sequence sequence;
  std::string contents;
};
Minimum minimum_of(TestRoom& room) {
  Minimum minimum;
  const domain::DaylightZoneRule* rule = adopted_zone_rule(room.project, shipped());
  const auto zones = rule != nullptr ? daylight_zones(room.project, room.design(), room.space(), *rule)
                                     : std::vector<results::DaylightZone>{};
  minimum.sequence = code_minimum_sequence(room.project, room.library, room.design(), room.space(), shipped(),
                                           zones, &minimum.contents);
  return minimum;
}

// The least that a code asks for must itself pass what it can pass, with the devices that it takes for
// granted.
TEST(CodeMinimum, AnOfficeGoesOffInTwentyMinutesAndComesOnAtHalfPower) {
  TestRoom room = small_office();
  adopt(room, "IECC", "2021");
  const Minimum minimum = minimum_of(room);
  ASSERT_TRUE(minimum.sequence.vacancy.has_value());
  EXPECT_DOUBLE_EQ(minimum.sequence.vacancy->delay_s, 1200.0);
  EXPECT_DOUBLE_EQ(minimum.sequence.vacancy->step_level, 0.0);
  EXPECT_EQ(minimum.sequence.on.by, OnRule::By::occupancy);
  EXPECT_DOUBLE_EQ(minimum.sequence.on.level,
                   0.47);  // 0.05 + 0.95 x 0.47 = 49.65 % of power; 0.48 is above half
  EXPECT_FALSE(minimum.sequence.schedule.has_value());
  EXPECT_NE(minimum.contents.find("off 20 min after the last person leaves"), std::string::npos);
  room.sequence() = minimum.sequence;
  EXPECT_EQ(findings_of(room).at("IECC-OS-1").verdict, Verdict::pass);
  EXPECT_EQ(findings_of(room).at("IECC-OS-2").verdict, Verdict::pass);

  room.project.requirements.automatic_on_allowed = false;
  EXPECT_EQ(minimum_of(room).sequence.on.by, OnRule::By::hand);
  room.project.requirements.automatic_on_allowed = true;
  room.type().channels.front().driver = "switched";
  EXPECT_EQ(minimum_of(room).sequence.on.by, OnRule::By::hand);
}

TEST(CodeMinimum, ACorridorFallsToHalfPower) {
  TestRoom room(20.0, 2.0, "corridor");
  room.add_luminaire("L1", {5.0, 1.0});
  adopt(room, "IECC", "2021");
  Minimum minimum = minimum_of(room);
  ASSERT_TRUE(minimum.sequence.vacancy.has_value());
  EXPECT_DOUBLE_EQ(minimum.sequence.vacancy->step_level, 0.47);
  EXPECT_LT(minimum.sequence.vacancy->off_after_s, 0.0);
  EXPECT_EQ(minimum.sequence.on.by, OnRule::By::occupancy);
  EXPECT_DOUBLE_EQ(minimum.sequence.on.level, 1.0);
  adopt(room, "IECC", "2018");  // no reduction yet: a time switch
  room.space().occupancy.calendar = "open";
  minimum = minimum_of(room);
  EXPECT_FALSE(minimum.sequence.vacancy.has_value());
  ASSERT_TRUE(minimum.sequence.schedule.has_value());
  EXPECT_EQ(minimum.sequence.schedule->calendar, "open");
  EXPECT_DOUBLE_EQ(minimum.sequence.schedule->override_s, 7200.0);
}

TEST(CodeMinimum, AReadingRoomIsSwept) {
  TestRoom room(10.0, 10.0, "library_reading");
  room.add_luminaire("L1", {5.0, 5.0});
  adopt(room, "IECC", "2021");
  Minimum minimum = minimum_of(room);
  EXPECT_FALSE(minimum.sequence.schedule.has_value());  // no calendar to sweep by
  EXPECT_NE(minimum.contents.find("not modelled: off by time switch"), std::string::npos);
  room.space().occupancy.calendar = "open";
  minimum = minimum_of(room);
  ASSERT_TRUE(minimum.sequence.schedule.has_value());
  EXPECT_EQ(minimum.sequence.on.by, OnRule::By::hand);
  EXPECT_NE(minimum.contents.find("a time switch turns off outside the open hours"), std::string::npos);
}

TEST(CodeMinimum, DaylightReusesTheProposalsGroups) {
  TestRoom room = glass_room(0.71);
  adopt(room, "IECC", "2021");
  Minimum minimum = minimum_of(room);
  EXPECT_TRUE(minimum.sequence.daylight.empty());
  EXPECT_NE(minimum.contents.find("not modelled: daylight response of 159 W in the primary zone"),
            std::string::npos);

  std::vector<std::string> front;
  for (const domain::Luminaire& l : room.design().luminaires)
    if (l.at.y < 8.0 * kFt) front.push_back(l.id);
  room.add_daylight("D", front);
  room.sequence().daylight.front().minimum_level = 0.05;
  minimum = minimum_of(room);
  ASSERT_EQ(minimum.sequence.daylight.size(), 1u);
  EXPECT_EQ(minimum.sequence.daylight[0].group, "D");
  EXPECT_DOUBLE_EQ(minimum.sequence.daylight[0].minimum_level, 0.15);
  EXPECT_TRUE(minimum.sequence.daylight[0].may_switch_off);
  EXPECT_NE(minimum.contents.find(
                "daylight response in the primary zone (159 W) by group D, to 15 % of light and off"),
            std::string::npos)
      << minimum.contents;
  EXPECT_NE(minimum.contents.find("in the secondary zone"), std::string::npos);
}

TEST(CodeMinimum, OpenOfficeZonesAndPlantRoomByHand) {
  TestRoom office(60.0 * kFt, 30.0 * kFt, "office_open");
  office.add_luminaire("L1", {5.0, 5.0});
  office.space().occupancy.calendar = "open";
  adopt(office, "IECC", "2021");
  Minimum minimum = minimum_of(office);
  ASSERT_TRUE(minimum.sequence.vacancy.has_value());
  EXPECT_DOUBLE_EQ(minimum.sequence.vacancy->step_level, 0.15);  // 19.25 % of power
  EXPECT_TRUE(minimum.sequence.schedule.has_value());
  adopt(office, "IECC", "2018");
  EXPECT_DOUBLE_EQ(minimum_of(office).sequence.vacancy->step_level, 0.0);

  TestRoom plant(4.0, 4.0, "electrical_mechanical");
  plant.space().automatic_off_refused = true;
  adopt(plant, "IECC", "2021");
  minimum = minimum_of(plant);
  EXPECT_FALSE(minimum.sequence.vacancy.has_value());
  EXPECT_FALSE(minimum.sequence.schedule.has_value());
  EXPECT_EQ(minimum.sequence.on.by, OnRule::By::hand);
  EXPECT_NE(minimum.contents.find("automatic off is refused"), std::string::npos);
}

TEST(CodeMinimum, WithoutAnAdoptedCodePeopleSwitch) {
  TestRoom room = small_office();
  room.project.codes.clear();
  const Minimum minimum = minimum_of(room);
  EXPECT_EQ(minimum.sequence.on.by, OnRule::By::hand);
  EXPECT_FALSE(minimum.sequence.vacancy.has_value());
  EXPECT_NE(minimum.contents.find("no adopted energy code"), std::string::npos);
}

}  // namespace
}  // namespace halflight::codes
