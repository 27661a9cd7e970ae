#include "formats/code_rules_file.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

std::string shipped(const std::string& name) {
  std::ifstream in(std::filesystem::path(HALFLIGHT_SOURCE_DIR) / "library" / "codes" / name);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

// One rule in a file, with `extra` after its required keys.
std::string file_with(const std::string& extra, const std::string& requirement = "vacancy_off") {
  return R"({"format": "halflight code rules", "version": 1, "code": "X", "edition": "1", "title": "t",
 "data_date": "2026-11-25", "rules": [{"id": "X-1", "section": "1.1", "title": "t", "family": "automatic_shut_off",
 "known": "confirmed", "source": "s", "requirement": ")" +
         requirement + "\"" + extra + "}]}";
}

constexpr const char* kDelay = R"(, "limits": {"delay_max": {"value": 20, "unit": "min"}})";

const domain::CodeRule& rule_named(const std::vector<domain::CodeRule>& rules, const std::string& id) {
  return *std::find_if(rules.begin(), rules.end(), [&](const auto& r) { return r.id == id; });
}

TEST(CodeRulesFile, EveryShippedFileReads) {
  constexpr std::array kFiles = {"iecc_2018.json",  "iecc_2021.json",    "ashrae_90_1_2019.json",
                                 "ibc_2021.json",   "en_1838_2013.json", "nfpa_101_2021.json",
                                 "halflight_1.json"};
  for (const char* name : kFiles) {
    const auto rules = read_code_rules(shipped(name), name);
    ASSERT_TRUE(rules.has_value()) << name << ": " << to_text(rules.error().front());
    EXPECT_FALSE(rules->empty()) << name;
    for (const domain::CodeRule& rule : *rules) {
      EXPECT_FALSE(rule.source.empty()) << rule.id;
      EXPECT_FALSE(rule.verified) << rule.id << ": nobody has compared the record with an adopted document";
    }
  }
}

// Thresholds by edition: codes' differences that a check must not blur (docs/rules/codes.md, "Editions").
TEST(CodeRulesFile, EditionsDifferWhereTheCodesDo) {
  const auto r18 = *read_code_rules(shipped("iecc_2018.json"), "");
  const auto r21 = *read_code_rules(shipped("iecc_2021.json"), "");
  const auto& z18 = *rule_named(r18, "IECC-DZ").zones;
  const auto& z21 = *rule_named(r21, "IECC-DZ").zones;
  EXPECT_NEAR(z18.side_m, 0.6096, 1e-12);
  EXPECT_DOUBLE_EQ(z18.side_head_heights, 0.0);
  EXPECT_DOUBLE_EQ(z18.secondary_depth_head_heights, 1.0);
  EXPECT_DOUBLE_EQ(z21.side_m, 0.0);
  EXPECT_DOUBLE_EQ(z21.side_head_heights, 0.5);
  EXPECT_DOUBLE_EQ(z21.secondary_depth_head_heights, 2.0);
  // 0.81 and 0.61 W/ft2 for the open office; 1 W/ft2 = 10.764 W/m2.
  EXPECT_NEAR(rule_named(r18, "IECC-LP").by_space_type.at("office_open").si, 0.81 * 10.7639104, 1e-6);
  EXPECT_NEAR(rule_named(r21, "IECC-LP").by_space_type.at("office_open").si, 0.61 * 10.7639104, 1e-6);
  EXPECT_EQ(rule_named(r21, "IECC-LP").by_space_type.at("office_open").how_known,
            domain::HowKnown::from_memory);
  EXPECT_EQ(std::count_if(r18.begin(), r18.end(), [](const auto& r) { return r.id == "IECC-OS-6"; }), 0);
}

TEST(CodeRulesFile, FiguresKeepWhatWasEnteredAndCarryTheirProvenance) {
  const auto rules = read_code_rules(
      file_with(R"(, "limits": {"delay_max": {"value": 20, "unit": "min", "known": "low"}})"), "x.json");
  ASSERT_TRUE(rules.has_value());
  const domain::Figure& delay = rules->front().limits.at("delay_max");
  EXPECT_DOUBLE_EQ(delay.entered, 20.0);
  EXPECT_EQ(delay.unit, "min");
  EXPECT_DOUBLE_EQ(delay.si, 1200.0);
  EXPECT_EQ(delay.how_known, domain::HowKnown::low);
  EXPECT_EQ(rules->front().how_known, domain::HowKnown::confirmed);
}

TEST(CodeRulesFile, UnitsConvertToSi) {
  EXPECT_NEAR(*figure_si(300.0, "ft2"), 27.8709, 1e-4);  // 300 x 0.3048^2
  EXPECT_NEAR(*figure_si(1.0, "fc"), 10.7639, 1e-4);
  EXPECT_DOUBLE_EQ(*figure_si(50.0, "%"), 0.5);
  EXPECT_DOUBLE_EQ(*figure_si(2.0, "h"), 7200.0);
  EXPECT_FALSE(figure_si(1.0, "furlong").has_value());
}

struct Refusal {
  std::string text;
  std::string where;
  std::string problem;  // part of it
};

TEST(CodeRulesFile, RefusesWithThePlaceAndTheReason) {
  const std::array refusals = {
      Refusal{"{", "line", ""},
      Refusal{"[]", "", "object"},
      Refusal{file_with(""), "/rules/0/limits", "delay_max"},
      Refusal{file_with(kDelay, "vacancy_of"), "/rules/0/requirement", "closed set"},
      Refusal{file_with(std::string(kDelay) + R"(, "limit": 1)"), "/rules/0/limit", "not known"},
      Refusal{file_with(R"(, "limits": {"delay_max": {"value": 20, "unit": "weeks"}})"),
              "/rules/0/limits/delay_max/unit", "weeks"},
      Refusal{file_with(R"(, "limits": {"delay_max": {"value": "20"}})"), "/rules/0/limits/delay_max/value",
              "number"},
      Refusal{file_with(std::string(kDelay) + R"(, "trigger": [{"fact": "colour", "is": "above",
              "figure": {"value": 1}}])"),
              "/rules/0/trigger/0/fact", "closed set"},
      Refusal{file_with("", "daylight_control"), "/rules/0/zone_kinds", "kinds of zone"},
      Refusal{file_with(R"(, "zone_kinds": ["tertiary"])", "daylight_control"), "/rules/0/zone_kinds",
              "tertiary"},
      Refusal{file_with("", "daylight_zone_definition"), "/rules/0/zones", "definition"},
      Refusal{file_with("", "lighting_power"), "/rules/0/by_space_type", "allowances"},
      Refusal{file_with(std::string(kDelay) + R"(, "space_types": "office")"), "/rules/0/space_types",
              "list"},
  };
  for (const Refusal& refusal : refusals) {
    const auto rules = read_code_rules(refusal.text, "x.json");
    ASSERT_FALSE(rules.has_value()) << refusal.text;
    const auto found = std::find_if(rules.error().begin(), rules.error().end(), [&](const Diagnostic& d) {
      return d.where.find(refusal.where) != std::string::npos &&
             d.problem.find(refusal.problem) != std::string::npos;
    });
    EXPECT_NE(found, rules.error().end()) << refusal.where << " / " << to_text(rules.error().front());
    EXPECT_EQ(rules.error().front().file, "x.json");
  }
}

TEST(CodeRulesFile, ListsABoundedNumberOfErrors) {
  std::string figures = "\"a\": 0";
  for (int i = 0; i < 10'000; ++i) figures += ", \"f" + std::to_string(i) + "\": 0";
  EXPECT_EQ(read_code_rules(file_with(", \"limits\": {" + figures + "}"), "x.json").error().size(), 500u);
}

TEST(CodeRulesFile, RefusesAnIdGivenTwice) {
  std::string text = file_with(kDelay);
  const std::size_t begin = text.find("{\"id\"");
  const std::string rule = text.substr(begin, text.rfind("]") - begin);
  text.insert(text.rfind("]"), ", " + rule);
  const auto rules = read_code_rules(text, "x.json");
  ASSERT_FALSE(rules.has_value());
  EXPECT_EQ(rules.error().front().where, "/rules/1/id");
}

TEST(CodeRulesFile, FileExceptionsHoldForEveryRule) {
  const auto rules = *read_code_rules(shipped("iecc_2021.json"), "");
  for (const domain::CodeRule& rule : rules)
    EXPECT_EQ(rule.exceptions.back().id, "small-alteration") << rule.id;
}

}  // namespace
}  // namespace halflight::formats
