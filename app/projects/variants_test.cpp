#include "projects/variants.hpp"

#include "files/file.hpp"
#include "projects/code_fixes.hpp"

#include <filesystem>
#include <string>

#include <gtest/gtest.h>

namespace halflight::projects {
namespace {

const std::filesystem::path kFolder = std::filesystem::path(HALFLIGHT_SOURCE_DIR) / "projects";

class VariantsTest : public testing::Test {
 protected:
  static const ProjectFiles& demo() {
    static const Result<ProjectFiles> files = read_project(kFolder / "fenwick_hollow.halflight.json");
    return *files;
  }
  static const domain::Sequence& sequence(const ProjectFiles& files, const std::string& space) {
    return *domain::find_sequence(
        *domain::find_design(files.document.project(), domain::Design::Role::proposal), space);
  }
  std::unique_ptr<const OtherFiles> others_ = files_in(kFolder);
};

TEST_F(VariantsTest, ANameIsWhatTheSequenceKnows) {
  const auto delay = variation_of(demo().document, "106", "delay");
  ASSERT_TRUE(delay);
  EXPECT_TRUE(delay->light_stays);
  const auto variant = variant_of(demo(), *others_, *delay, "10 min");
  ASSERT_TRUE(variant) << to_text(variant.error().front());
  EXPECT_EQ(sequence(*variant, "106").vacancy->delay_s, 600.0);
  EXPECT_EQ(sequence(demo(), "106").vacancy->delay_s, 900.0);  // the document itself is as it was

  // A room of a typical: the block of the typical is varied, and with it the rooms that inherit.
  const auto shared = variation_of(demo().document, "104", "delay");
  ASSERT_TRUE(shared);
  const auto both = variant_of(demo(), *others_, *shared, "7 min");
  ASSERT_TRUE(both);
  EXPECT_EQ(sequence(*both, "105").vacancy->delay_s, 420.0);
}

TEST_F(VariantsTest, EveryDaylightRuleIsVariedAndATrimThatIsLeftOutIsAdded) {
  const auto minimum = variation_of(demo().document, "G02", "daylight-minimum");
  ASSERT_TRUE(minimum);
  const auto variant = variant_of(demo(), *others_, *minimum, "0.3");
  ASSERT_TRUE(variant);
  for (const domain::DaylightRule& rule : sequence(*variant, "G02").daylight)
    EXPECT_EQ(rule.minimum_level, 0.3);
  const auto trim = variation_of(demo().document, "104", "trim");
  ASSERT_TRUE(trim);
  const auto trimmed = variant_of(demo(), *others_, *trim, "0.7");
  ASSERT_TRUE(trimmed);
  EXPECT_EQ(sequence(*trimmed, "104").trim->high, 0.7);
}

TEST_F(VariantsTest, APointerIsAnyValueOfTheDocument) {
  const auto glass = variation_of(demo().document, "106", "/glazings/0/transmittance");
  ASSERT_TRUE(glass);
  EXPECT_FALSE(glass->light_stays);
  const auto variant = variant_of(demo(), *others_, *glass, "0.35");
  ASSERT_TRUE(variant);
  EXPECT_EQ(variant->document.project().glazings[0].transmittance, 0.35);
}

TEST_F(VariantsTest, WhatIsNotThereIsSaid) {
  const auto unknown = variation_of(demo().document, "106", "dely");
  ASSERT_FALSE(unknown);
  EXPECT_NE(unknown.error().front().remedy.find("delay"), std::string::npos);
  EXPECT_FALSE(variation_of(demo().document, "G09", "delay"));  // no vacancy rule
  EXPECT_FALSE(variation_of(demo().document, "106", "/glazings/99/x"));
  EXPECT_FALSE(variation_of(demo().document, "106", "/glazings"));  // no single value
  const auto delay = variation_of(demo().document, "106", "delay");
  const auto bad = variant_of(demo(), *others_, *delay, "soon");
  ASSERT_FALSE(bad);
  EXPECT_NE(bad.error().front().where.find("/vacancy/delay"), std::string::npos);
}

TEST_F(VariantsTest, CodeFixesAreMadeInACopyAndReadBack) {
  const auto delay = variation_of(demo().document, "106", "delay");
  const auto late = variant_of(demo(), *others_, *delay, "40 min");
  ASSERT_TRUE(late);
  results::Finding finding;
  std::string limit_rule;
  for (const domain::CodeRule& rule : late->code_rules)
    if (rule.code == "IECC" && rule.edition == "2021" && rule.requirement == domain::Requirement::vacancy_off)
      limit_rule = rule.id;
  ASSERT_FALSE(limit_rule.empty());
  finding.rule = limit_rule;
  finding.code = "IECC";
  finding.edition = "2021";
  finding.section = "C405.2.1.1";
  finding.verdict = results::Finding::Verdict::fail;
  finding.evidence = "Off 40 min after the last motion; the limit is 20 min.";
  const auto mended = mended_controls(late->document, "106", {finding}, late->code_rules);
  ASSERT_TRUE(mended.has_value());
  EXPECT_EQ(mended->controls.sequence.vacancy->delay_s, 1200.0);
  ASSERT_EQ(mended->why.size(), 1u);
  EXPECT_EQ(sequence(*late, "106").vacancy->delay_s, 2400.0);
  EXPECT_FALSE(mended_controls(late->document, "106", {}, late->code_rules).has_value());
}

}  // namespace
}  // namespace halflight::projects
