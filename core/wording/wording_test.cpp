#include "wording/claims.hpp"
#include "wording/egress.hpp"
#include "wording/figures.hpp"
#include "wording/sequence.hpp"

#include <algorithm>
#include <map>
#include <regex>
#include <set>
#include <string>

#include <gtest/gtest.h>

namespace halflight::wording {
namespace {

using namespace domain;

// --- figures

TEST(Figures, ShowNoMoreDigitsThanTheIntervalCarries) {
  EXPECT_EQ(printed(0.4632, 0.41, 0.51, "fraction"), "46 %");
  EXPECT_EQ(printed_interval(0.41, 0.51, "fraction"), "41 to 51 %");
  EXPECT_EQ(printed(0.4632, 0.4582, 0.4682, "fraction"), "46.3 %");
  EXPECT_EQ(printed(0.4632, 0.4631, 0.4633, "fraction"), "46.320 %");
  EXPECT_EQ(printed(6.23, 4.6, 9.1, "years"), "6.2 years");
  EXPECT_EQ(printed(-0.06, -0.10, -0.02, "fraction"), "\u22126 %");
  EXPECT_EQ(printed(512.4, 380.0, 640.0, "lx"), "510 lx");
}

// The rounding rule of the Particle Data Group with the examples of its text: 0.827 +- 0.119 is given as
// 0.83 +- 0.12, 0.827 +- 0.367 as 0.8 +- 0.4 (Review of Particle Physics, introduction, "Rounding"; from
// memory).
TEST(Figures, FollowTheRoundingRuleOfTheParticleDataGroup) {
  EXPECT_EQ(rounded(0.827, decimal_place(0.827, 0.827 - 0.119, 0.827 + 0.119)), "0.83");
  EXPECT_EQ(rounded(0.827, decimal_place(0.827, 0.827 - 0.367, 0.827 + 0.367)), "0.8");
  // 950 to 999 round up to 1000 with two digits kept: 0.96 becomes 1.0.
  EXPECT_EQ(decimal_place(12.3, 12.3 - 0.96, 12.3 + 0.96), -1);
}

TEST(Figures, WithoutAnIntervalShowThreeSignificantDigits) {
  EXPECT_EQ(printed(512.4, "lx"), "512 lx");
  EXPECT_EQ(printed(0.07861, "fraction"), "7.86 %");
  EXPECT_EQ(printed(0.0, "lx"), "0 lx");
  EXPECT_EQ(printed(138.24, "m2"), "138 m\u00B2");
  EXPECT_EQ(printed(3.0, "count"), "3");
  EXPECT_EQ(printed(0.6, "lx"), "0.6 lx");
  EXPECT_EQ(printed(0.0031, "per lx"), "0.0031 per lx");
  EXPECT_EQ(printed(64.04, "W"), "64 W");
}

TEST(Figures, GroupThousandsFromFiveDigitsUp) {
  EXPECT_EQ(rounded(1234.0, 0), "1234");
  EXPECT_EQ(rounded(12345.6, 1), "12\u202F350");
  EXPECT_EQ(rounded(1234567.0, 0), "1\u202F234\u202F567");
  EXPECT_EQ(rounded(-12345.67, -1), "\u221212\u202F345.7");
}

TEST(Figures, NothingRoundsToMinusZero) { EXPECT_EQ(rounded(-0.3, 0), "0"); }

TEST(Figures, PrintWhatWasTyped) {
  EXPECT_EQ(percent(0.08), "8 %");
  EXPECT_EQ(percent(0.125), "12.5 %");
  EXPECT_EQ(duration(30), "30 s");
  EXPECT_EQ(duration(90), "90 s");
  EXPECT_EQ(duration(900), "15 min");
  EXPECT_EQ(duration(5400), "90 min");
  EXPECT_EQ(duration(7200), "2 h");
  EXPECT_EQ(duration(0.5), "0.5 s");
}

TEST(Claims, SentenceTakesItsFiguresFromValueAndInterval) {
  results::Claim claim;
  claim.text = "Uses {value} less energy than stands there now ({low} to {high}), {measured}.";
  claim.unit = "fraction";
  claim.low = 0.41;
  claim.high = 0.51;
  EXPECT_EQ(claim_sentence(claim, 0.4632),
            "Uses 46 % less energy than stands there now (41 % to 51 %), {measured}.");
}

// --- sequence

Project library_project() {
  Project p;
  Space room;
  room.id = "reading";
  room.name = "Reading room";
  room.egress_paths.emplace_back();
  TaskArea tables;
  tables.id = "tables";
  tables.name = "the tables";
  tables.target_lx = 400.0;
  room.task_areas = {tables};
  p.spaces = {Space{}, room};
  Calendar hours;
  hours.id = "cal";
  hours.name = "Public hours";
  p.calendars = {hours};
  LuminaireType type;
  type.id = "t";
  type.channels.resize(1);
  type.channels[0].id = "all";
  p.luminaire_types = {type};

  Design d;
  d.id = "proposal";
  for (const char* id : {"L1", "L2", "L3"}) {
    Luminaire l;
    l.id = id;
    l.tag = id;
    l.type = "t";
    l.space = "reading";
    d.luminaires.push_back(l);
  }
  d.luminaires[2].emergency = {EmergencyType::own_battery, true, 0.2, ""};
  d.groups = {{"gA", "reading", Strategy::scene, "A", {"L1"}},
              {"gB", "reading", Strategy::scene, "B", {"L2", "L3"}},
              {"dA", "reading", Strategy::daylight, "row A", {"L1"}}};
  Scene open;
  open.id = "open";
  open.space = "reading";
  open.name = "Open";
  open.levels = {{"gA", 1.0}, {"gB", 0.5}};
  Scene night = open;
  night.id = "night";
  night.name = "Night";
  night.levels = {{"gA", 0.0}};
  d.scenes = {open, night};
  Photosensor ps;
  ps.id = "ps";
  ps.tag = "P1";
  d.photosensors = {ps};
  Station w;
  w.id = "w";
  w.tag = "W1";
  w.buttons = {"open", "night", "off", "raise", "lower"};
  d.stations = {w};
  Interface air;
  air.id = "air";
  air.tag = "H1";
  d.interfaces = {air};
  d.hvac_hand_offs = {{"reading", "air", 300.0}};

  Sequence s;
  s.space = "reading";
  s.normal_scene = "open";
  s.on = {OnRule::By::schedule, 1.0, 20.0};
  s.schedule = ScheduleRule{"cal", 900.0, 0.0, true, 7200.0};
  s.vacancy = VacancyRule{720.0, 0.15, 300.0, 0.5, 30.0, {}};
  s.trim = TrimRule{0.78, 0.0};
  DaylightRule dim;
  dim.group = "dA";
  dim.photosensor = "ps";
  dim.task_area = "tables";
  dim.minimum_level = 0.08;
  s.daylight = {dim};
  s.manual = ManualRule{{"w"}, ManualRule::HoldsUntil::vacancy, 7200.0};
  s.demand_response = DemandResponseRule{0.8};
  d.sequences = {Sequence{}, s};
  p.designs = {Design{}, d};
  return p;
}

std::string sentence_of(const Project& p) {
  return plain_text(sequence_sentence(p, p.designs[1], p.designs[1].sequences[1]));
}

TEST(SequenceSentence, SaysWhatTheRoomDoes) {
  EXPECT_EQ(sentence_of(library_project()),
            "The light comes on with the opening hours of Public hours. It is on 15 min before opening. "
            "Fading up takes 20 s. Scene Open stands unless another is called. "
            "Trim holds the light to 78 % of full output. "
            "P1 dims row A to keep 400 lx on the tables. It never falls below 8 %. "
            "After 12 min without movement, the light sinks to 15 %. 5 min later it is off. "
            "Before off it dips to 50 %, for 30 s, never flashing. "
            "At closing the sweep turns everything off. After hours a press holds for 2 h. "
            "On W1 people press Open, Night, off, raise or lower. A press holds until the room empties. "
            "Demand response holds the light to 80 %. "
            "H1 sends the ventilation to standby 5 min after the room empties. "
            "If a sensor, controller, network or clock is lost, the light goes to 100 %. "
            "When power returns it goes to 100 %, for 15 min. "
            "When normal power is lost, the way out is lit by L3, fed from a battery in the luminaire.");
}

TEST(SequenceSentence, SaysWhenReceptaclesAndVentilationFollow) {
  Project p = library_project();
  PlugLoads loads;
  loads.receptacles = 16;
  loads.controlled_receptacles = 8;
  loads.off_after_s = 900.0;
  loads.calendar = "cal";
  const auto says = [&](const std::string& part) {
    for (Space& space : p.spaces)
      if (space.id == "reading") space.plug_loads = loads;
    return sentence_of(p).find(part) != std::string::npos;
  };
  EXPECT_TRUE(says("When the room has been empty for 15 min, 8 of its receptacles are off."));
  loads.off_when = PlugLoads::OffWhen::closed;
  EXPECT_TRUE(says("Outside the hours of Public hours, 8 of its receptacles are off."));
  loads.off_when = PlugLoads::OffWhen::empty_or_closed;
  EXPECT_TRUE(
      says("When the room has been empty for 15 min, and outside the hours of Public hours, 8 of its "
           "receptacles are off."));
  p.designs[1].hvac_hand_offs[0].occupied_after_s = 60.0;
  EXPECT_TRUE(
      says("H1 sends the ventilation to standby 5 min after the room empties, and calls it back once "
           "somebody has been there for 1 min."));
}

TEST(SequenceSentence, SaysWhoElseHoldsTheLightAndWhatABriefVisitDoes) {
  Project p = library_project();
  VacancyRule& vacancy = *p.designs[1].sequences[1].vacancy;
  vacancy.held_by = {"reading", "elsewhere"};
  vacancy.brief_visit_s = 60.0;
  vacancy.brief_delay_s = 120.0;
  const std::string text = sentence_of(p);
  EXPECT_NE(text.find("After a visit of less than 1 min, it waits 2 min only."), std::string::npos) << text;
  EXPECT_NE(text.find("elsewhere counts as if here."), std::string::npos) << text;
}

// trade practice for sequences: one actor, one condition, one number, one unit per clause; a comma parts
// them.
TEST(SequenceSentence, NoClauseHoldsTwoNumbers) {
  const Project p = library_project();
  std::string text = sentence_of(p);
  const std::regex number("(^|[ ])[0-9]+(\\.[0-9]+)? ");
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t to =
        std::min({text.find(". ", from), text.find("; ", from), text.find(", ", from), text.size()});
    const std::string clause = text.substr(from, to - from) + " ";
    const auto count =
        std::distance(std::sregex_iterator(clause.begin(), clause.end(), number), std::sregex_iterator());
    EXPECT_LE(count, 1) << clause;
    from = to + 2;
  }
}

TEST(SequenceSentence, ValuesPointIntoTheDocument) {
  const Project p = library_project();
  std::string delay, target, group;
  for (const Phrase& phrase : sequence_sentence(p, p.designs[1], p.designs[1].sequences[1])) {
    if (phrase.text == "12 min") delay = phrase.pointer;
    if (phrase.text == "400 lx") target = phrase.pointer;
    if (phrase.text == "row A") group = phrase.pointer;
  }
  EXPECT_EQ(delay, "/designs/1/sequences/1/vacancy/delay");
  EXPECT_EQ(target, "/spaces/1/task_areas/0/target");
  EXPECT_EQ(group, "/designs/1/sequences/1/daylight/0/group");
}

TEST(SequenceSentence, OffAndMinimumAreDifferentWords) {
  Project p = library_project();
  Sequence& s = p.designs[1].sequences[1];
  s.vacancy->step_level = 0.0;
  s.loss.clock_lost = 0.0;
  s.daylight[0].may_switch_off = true;
  const std::string text = sentence_of(p);
  EXPECT_NE(text.find("After 12 min without movement, the light goes off."), std::string::npos) << text;
  EXPECT_NE(text.find("It falls to 8 %; with enough daylight it goes off."), std::string::npos) << text;
  EXPECT_NE(text.find("When the clock is lost, the light goes off."), std::string::npos) << text;
  EXPECT_EQ(text.find(" 0 %"), std::string::npos) << "nothing is 'at 0 %'";
}

TEST(SequenceSentence, SaysWhichGroupsStandElsewhereInTrouble) {
  Project p = library_project();
  Design& d = p.designs[1];
  Sequence& s = d.sequences[1];
  const auto scene_group = std::find_if(d.groups.begin(), d.groups.end(), [&](const Group& group) {
    return group.space == s.space && group.strategy == Strategy::scene;
  });
  ASSERT_NE(scene_group, d.groups.end());
  s.loss.groups = {{scene_group->id, 0.4, {}, {}, {}, 0.0}};
  const std::string name = scene_group->name.empty() ? scene_group->id : scene_group->name;
  const std::string text = sentence_of(p);
  EXPECT_NE(text.find("Group " + name + " goes to 40 % when a sensor is lost."), std::string::npos) << text;
  EXPECT_NE(text.find("Group " + name + " goes off when power returns."), std::string::npos) << text;
  const SequenceMatrix matrix = sequence_matrix(p, d, s);
  const auto column = static_cast<std::size_t>(std::find(matrix.groups.begin(), matrix.groups.end(), name) -
                                               matrix.groups.begin());
  ASSERT_LT(column, matrix.groups.size());
  const auto row = std::find_if(matrix.rows.begin(), matrix.rows.end(), [](const SequenceMatrix::Row& one) {
    return plain_text(one.event) == "Sensor lost";
  });
  ASSERT_NE(row, matrix.rows.end());
  EXPECT_EQ(plain_text(row->cells[column]), "40 %");
  EXPECT_EQ(row->cells[column][0].pointer, "/designs/1/sequences/1/loss/groups/0/sensor_lost");
  for (std::size_t c = 0; c < row->cells.size(); ++c) {
    if (c == column) continue;
    EXPECT_EQ(row->cells[c][0].pointer, "/designs/1/sequences/1/loss/sensor_lost");
  }
}

TEST(SequenceSentence, SaysHowALoopIsSetAndHowItMoves) {
  Project p = library_project();
  Design& d = p.designs[1];
  Photosensor open;
  open.id = "sky";
  open.tag = "P2";
  d.photosensors.push_back(open);
  DaylightRule& rule = d.sequences[1].daylight[0];
  rule.method = DaylightRule::Method::dual_loop;
  rule.open_photosensor = "sky";
  rule.calibrated_at = DaySetting{{6, 15}, 11 * kHour};
  rule.deadband = 0.05;
  rule.fade_s_per_tenth = 60.0;
  const std::string text = sentence_of(p);
  EXPECT_NE(
      text.find("P1 dims row A to keep 400 lx on the tables. P2, which sees daylight alone, says when "
                "daylight has changed. The loop is set by day on 15 Jun, at 11:00. The light stays while "
                "the loop asks for no more than 5 % of the set-point more or less. A tenth of full output "
                "takes 1 min. It never falls below 8 %."),
      std::string::npos)
      << text;
  std::map<std::string, std::string> at;
  for (const Phrase& phrase : sequence_sentence(p, d, d.sequences[1])) at[phrase.pointer] = phrase.text;
  const std::string where = "/designs/1/sequences/1/daylight/0";
  EXPECT_EQ(at[where + "/open_photosensor"], "P2");
  EXPECT_EQ(at[where + "/calibrated_at/on"], "15 Jun");
  EXPECT_EQ(at[where + "/calibrated_at/at"], "11:00");
  EXPECT_EQ(at[where + "/deadband"], "5 %");
  EXPECT_EQ(at[where + "/fade_per_tenth"], "1 min");

  rule = DaylightRule{};
  rule.group = "dA";
  rule.photosensor = "ps";
  rule.task_area = "tables";
  rule.minimum_level = 1.0;
  rule.may_switch_off = true;
  EXPECT_NE(
      sentence_of(p).find("P1 switches row A off while daylight alone keeps 400 lx on the tables; it does "
                          "not dim. After"),
      std::string::npos)
      << sentence_of(p);
  for (const SequenceMatrix::Row& row : sequence_matrix(p, d, d.sequences[1]).rows)
    if (plain_text(row.event) == "Daylight") {
      EXPECT_EQ(plain_text(row.cells[0]), "off while daylight keeps 400 lx on the tables");
    }
}

TEST(SequenceSentence, SaysWhenNothingHappens) {
  Project p = library_project();
  Sequence& s = p.designs[1].sequences[1];
  s = Sequence{};
  s.space = "reading";
  p.designs[1].luminaires[2].emergency = {};
  p.designs[1].hvac_hand_offs.clear();
  const std::string text = sentence_of(p);
  EXPECT_NE(text.find("The light comes on by hand."), std::string::npos) << text;
  EXPECT_NE(text.find("An empty room changes nothing."), std::string::npos) << text;
  EXPECT_NE(text.find("no luminaire here lights the way out"), std::string::npos) << text;
}

TEST(SequenceSentence, SaysWhatTheButtonsOfAStationDo) {
  Project p = library_project();
  Design& d = p.designs[1];
  d.stations[0].buttons = {"on", "off"};
  d.stations.push_back(d.stations[0]);
  d.stations[1].id = "w2";
  d.stations[1].tag = "W2";
  d.sequences[1].manual->stations = {"w", "w2"};
  EXPECT_NE(sentence_of(p).find("On W1, W2 people press on or off. A press holds"), std::string::npos);
  d.stations[1].buttons = {"night"};
  EXPECT_NE(sentence_of(p).find("On W1 people press on or off. On W2 people press Night. A press holds"),
            std::string::npos);
  d.stations[1].buttons.clear();
  EXPECT_NE(sentence_of(p).find("What the buttons of W2 do is not stated."), std::string::npos);
  for (const Phrase& phrase : sequence_sentence(p, d, d.sequences[1]))
    if (phrase.text == "on or off") {
      EXPECT_EQ(phrase.pointer, "/designs/1/stations/0/buttons");
    }
}

TEST(SequenceSentence, SaysWhichGroupsHaveASwitchOfTheirOwn) {
  Project p = library_project();
  Design& d = p.designs[1];
  d.stations[0].buttons.clear();
  d.stations[0].switch_legs = {"gA", "gB"};
  const std::string text = sentence_of(p);
  EXPECT_NE(text.find("On W1 people switch A, B one by one."), std::string::npos) << text;
  EXPECT_EQ(text.find("is not stated"), std::string::npos) << text;
  bool edited_in_place = false;
  for (const Phrase& phrase : sequence_sentence(p, d, d.sequences[1]))
    edited_in_place = edited_in_place || phrase.pointer == "/designs/1/stations/0/switch_legs";
  EXPECT_TRUE(edited_in_place);
}

TEST(SequenceSentence, TrimToTargetsSaysWhenTheyAreJustHeld) {
  Project p = library_project();
  p.designs[1].sequences[1].trim = TrimRule{};
  EXPECT_NE(sentence_of(p).find("just hold their targets when maintenance is due."), std::string::npos)
      << sentence_of(p);
}

TEST(Egress, FailuresAreToldByPath) {
  results::SpaceStudy s;
  s.egress = {{.path = "a", .state = "vacant", .min_lx = 3.0, .why = ""},
              {.path = "a", .state = "scene Film", .min_lx = 1.0, .why = ""},
              {.path = "a", .state = "sensor lost", .min_lx = 3.0, .why = ""},
              {.path = "b", .state = "vacant", .min_lx = 2.0, .why = ""}};
  EXPECT_EQ(
      told_by_path(s,
                   "1.02 Room: Path a, vacant: Minimum 3 lx; too low. Path a, scene Film: Minimum 1 lx; too "
                   "low. Path a, sensor lost: Minimum 3 lx; too low. Path b, vacant: Minimum 2 lx; too low."),
      "1.02 Room: Path a, scene Film: Minimum 1 lx; too low. So in 2 more states. Path b, vacant: Minimum 2 "
      "lx; too low.");
  EXPECT_EQ(told_by_path(s, "Path a, vacant: Minimum 3 lx."), "Path a, vacant: Minimum 3 lx.");
  EXPECT_EQ(told_by_path(s, "No path at all."), "No path at all.");
}

TEST(SequenceSentence, PartialOnSaysWhoRaisesTheRest) {
  Project p = library_project();
  p.designs[1].sequences[1].on = {OnRule::By::occupancy, 0.5, 2.0};
  EXPECT_EQ(sentence_of(p).find("The light comes on with movement, to 50 %; the rest is raised by hand."),
            0U);
}

const SequenceMatrix::Row* row_called(const SequenceMatrix& m, const std::string& event) {
  for (const auto& row : m.rows)
    if (plain_text(row.event) == event) return &row;
  return nullptr;
}

TEST(SequenceMatrix, HasOneRowPerEventAndOneColumnPerSceneGroup) {
  const Project p = library_project();
  const SequenceMatrix m = sequence_matrix(p, p.designs[1], p.designs[1].sequences[1]);
  EXPECT_EQ(m.groups, (std::vector<std::string>{"A", "B"}));
  const auto cells = [&](const std::string& event) {
    const auto* row = row_called(m, event);
    return row == nullptr ? std::vector<std::string>{"(no such row)"}
                          : std::vector<std::string>{plain_text(row->cells[0]), plain_text(row->cells[1])};
  };
  using Cells = std::vector<std::string>;
  EXPECT_EQ(cells("Person enters"), (Cells{"", ""}));
  EXPECT_EQ(cells("Room empty for 12 min"), (Cells{"15 %", "15 %"}));
  EXPECT_EQ(cells("Still empty 5 min later"), (Cells{"off", "off"}));
  EXPECT_EQ(cells("Warning, 30 s before off"),
            (Cells{"dips to 50 % of its level", "dips to 50 % of its level"}));
  EXPECT_EQ(cells("Daylight"), (Cells{"400 lx on the tables, minimum 8 %", ""}));
  EXPECT_EQ(cells("15 min before opening"), (Cells{"100 %", "100 %"}));
  EXPECT_EQ(cells("Closing, sweep"), (Cells{"off", "off"}));
  EXPECT_EQ(cells("Scene Open"), (Cells{"100 %", "50 %"}));
  EXPECT_EQ(cells("Scene Night"), (Cells{"off", ""}));
  EXPECT_EQ(cells("Demand response"), (Cells{"at most 80 %", "at most 80 %"}));
  EXPECT_EQ(cells("Network lost"), (Cells{"100 %", "100 %"}));
  EXPECT_EQ(cells("Normal power lost"), (Cells{"no power", "L3 lit"}));
  EXPECT_EQ(cells("Power back, for 15 min"), (Cells{"100 %", "100 %"}));
  for (const auto& row : m.rows) EXPECT_EQ(row.cells.size(), 2U);
}

TEST(SequenceMatrix, SaysTheSameAsTheSentence) {
  const Project p = library_project();
  const Sequence& s = p.designs[1].sequences[1];
  std::set<std::string> told;
  for (const Phrase& phrase : sequence_sentence(p, p.designs[1], s)) told.insert(phrase.pointer);
  // Every timer and level of the rules that the matrix shows is also told.
  for (const auto& row : sequence_matrix(p, p.designs[1], s).rows)
    for (const Phrase& phrase : row.event)
      if (phrase.is_value() && phrase.pointer.find("/scenes/") == std::string::npos) {
        EXPECT_TRUE(told.contains(phrase.pointer)) << phrase.pointer;
      }
}

TEST(SequenceSentence, SaysHowTaskLampsAreSwitched) {
  Project p = library_project();
  Design& d = p.designs[1];
  LuminaireType lamp = p.luminaire_types[0];
  lamp.id = "lamp";
  lamp.mounting = LuminaireType::Mounting::plug_in;
  p.luminaire_types.push_back(lamp);
  for (const char* id : {"T1", "T2"}) {
    Luminaire l;
    l.id = id;
    l.type = "lamp";
    l.space = "reading";
    d.luminaires.push_back(l);
  }
  const auto sentence = [&] { return plain_text(sequence_sentence(p, d, d.sequences[1])); };
  EXPECT_NE(sentence().find("Whoever sits at T1, T2 switches it."), std::string::npos) << sentence();
  LoadController plug;
  plug.id = "PC";
  plug.mounting = LoadController::Mounting::plug_in;
  plug.luminaires = {"T2"};
  plug.sensor_delay_s = 600.0;
  d.load_controllers = {plug};
  EXPECT_NE(sentence().find("Whoever sits at T2 has it lit; PC turns it off after 10 min with nobody at it. "
                            "Whoever sits at T1 switches it."),
            std::string::npos)
      << sentence();
}

TEST(SequenceSentence, SaysWhatASceneDoesBesideSettingLevels) {
  Project p = library_project();
  Design& d = p.designs[1];
  const auto sentence = [&] { return plain_text(sequence_sentence(p, d, d.sequences[1])); };
  const std::string plain = sentence();
  d.scenes[1].shades = Scene::Shades::drawn;
  d.scenes[1].follows_daylight = false;
  d.scenes[1].in_demand_response = false;
  Interface projector;
  projector.id = "AV-7";
  projector.space = "1";
  projector.kind = Interface::Kind::audio_visual;
  d.interfaces.push_back(projector);
  d.scenes[1].called_by = "AV-7";
  for (const char* part : {"Scene Night is also called by AV-7, the contact of the audio-visual system.",
                           "While scene Night stands the shades are drawn; afterwards they hang as before.",
                           "While scene Night stands it stays out of daylight control.",
                           "While scene Night stands it stays out of demand response."}) {
    EXPECT_EQ(plain.find(part), std::string::npos);
    EXPECT_NE(sentence().find(part), std::string::npos) << sentence();
  }
  std::map<std::string, std::string> at;
  for (const Phrase& phrase : sequence_sentence(p, d, d.sequences[1])) at[phrase.pointer] = phrase.text;
  EXPECT_EQ(at["/designs/1/scenes/1/shades"], "drawn");
  EXPECT_EQ(at["/designs/1/scenes/1/called_by"], "AV-7");
}

TEST(SequenceSentence, SaysInWhichHoursASceneIsCalled) {
  Project p = library_project();
  Design& d = p.designs[1];
  d.scenes[1].calendar = "cal";
  const auto sentence = [&] { return plain_text(sequence_sentence(p, d, d.sequences[1])); };
  EXPECT_NE(sentence().find("In the hours of Public hours scene Night is called while somebody is there."),
            std::string::npos)
      << sentence();
  EXPECT_NE(row_called(sequence_matrix(p, d, d.sequences[1]), "Scene Night, in the hours of Public hours"),
            nullptr);
  d.scenes[1].use_fraction = 0.25;
  EXPECT_NE(sentence().find("For 25 % of the hours of Public hours scene Night is called"),
            std::string::npos);
  std::map<std::string, std::string> at;
  for (const Phrase& phrase : sequence_sentence(p, d, d.sequences[1])) at[phrase.pointer] = phrase.text;
  EXPECT_EQ(at["/designs/1/scenes/1/use_fraction"], "25 %");
  EXPECT_EQ(at["/designs/1/scenes/1/calendar"], "Public hours");
}

TEST(SequenceSentence, SaysWhatALoadShedSignalTakesDown) {
  Project p = library_project();
  Design& d = p.designs[1];
  Interface signal;
  signal.id = "LS";
  signal.tag = "GEN";
  signal.kind = Interface::Kind::load_shed;
  d.interfaces.push_back(signal);
  LoadShedRule& rule = d.sequences[1].load_shed.emplace();
  rule.interface = "LS";
  rule.level = 0.3;
  rule.groups = {"gB"};
  const auto sentence = [&] { return plain_text(sequence_sentence(p, d, d.sequences[1])); };
  EXPECT_NE(
      sentence().find("When GEN asks for power, the light of B goes to 30 % at once, and comes back once "
                      "it clears."),
      std::string::npos)
      << sentence();
  std::map<std::string, std::string> at;
  for (const Phrase& phrase : sequence_sentence(p, d, d.sequences[1])) at[phrase.pointer] = phrase.text;
  EXPECT_EQ(at["/designs/1/sequences/1/load_shed/level"], "to 30 %");
  EXPECT_EQ(at["/designs/1/sequences/1/load_shed/interface"], "GEN");
  EXPECT_EQ(at["/designs/1/sequences/1/load_shed/groups"], "the light of B");
  const SequenceMatrix shown = sequence_matrix(p, d, d.sequences[1]);
  const auto* row = row_called(shown, "Load shed by GEN, until it clears");
  ASSERT_NE(row, nullptr);
  EXPECT_EQ(plain_text(row->cells[0]), "");
  EXPECT_EQ(plain_text(row->cells[1]), "at most 30 %");
  rule.level = 0.0;
  EXPECT_NE(sentence().find("the light of B goes off at once"), std::string::npos) << sentence();
}

// DIV-1 to DIV-3 in words.
TEST(SequenceSentence, SaysWhatAWallThatStandsDoes) {
  Project p = library_project();
  Space& room = p.spaces[1];
  Partition wall;
  wall.id = "folding wall";
  wall.kind = Partition::Kind::movable;
  wall.states = {"open", "closed"};
  wall.from = {5, 0};
  wall.to = {5, 6};
  room.partitions = {wall};
  room.occupancy.pattern = Occupancy::Pattern::bookings;
  room.occupancy.divided_fraction = 0.4;
  Design& d = p.designs[1];
  d.luminaires[0].at = {2, 3, 2.7};
  d.luminaires[1].at = {3, 3, 2.7};
  d.luminaires[2].at = {8, 3, 2.7};
  const auto sentence = [&] { return sequence_sentence(p, d, d.sequences[1]); };
  EXPECT_NE(plain_text(sentence())
                .find("For 40 % of the bookings folding wall stands: nothing tells the "
                      "controls"),
            std::string::npos);
  Interface contact;
  contact.id = "PW";
  contact.space = "reading";
  contact.kind = Interface::Kind::partition_sensor;
  d.interfaces.push_back(contact);
  std::map<std::string, std::string> at;
  for (const Phrase& phrase : sentence()) at[phrase.pointer] = phrase.text;
  EXPECT_EQ(at["/spaces/1/occupancy/divided_fraction"], "40 %");
  EXPECT_EQ(at["/spaces/1/partitions/0/states"], "folding wall");
  EXPECT_EQ(at["/designs/1/interfaces/" + std::to_string(d.interfaces.size() - 1) + "/signal"], "PW");
  const SequenceMatrix m = sequence_matrix(p, d, d.sequences[1]);
  const auto* row = row_called(m, "folding wall stands");
  ASSERT_NE(row, nullptr);
  EXPECT_EQ(plain_text(row->cells[0]), "by its own part");
  EXPECT_EQ(plain_text(row->cells[1]), "by both parts");
}

TEST(Catalogue, PlacesMayStandInAnyOrder) {
  const Catalogue reversed = [](Message) -> std::string_view { return "{b} before {a}."; };
  EXPECT_EQ(plain_text(compose(reversed, Message::fade_up, {{"a", {"one", ""}}, {"b", {"two", "/x"}}})),
            "Two before one.");
}

}  // namespace
}  // namespace halflight::wording
