// Cites the rules of docs/rules/photometry.md by their numbers.
#include "photometry/suspicion.hpp"

#include "base/units.hpp"
#include "photometry/test_distributions.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace halflight::photometry {
namespace {

using domain::IntensityDistribution;
using domain::PhotometricData;
using domain::PhotometricType;
using Shape = domain::LuminousOpening::Shape;

/// A cosine distribution with which nothing is wrong: 3139.6 lm of two lamps of 1750 lm at 30 W.
PhotometricData good() {
  PhotometricData data =
      tabulate(PhotometricType::c, steps(0, 90, 5), steps(0, 90, 15), [](double t, double) {
        return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) : 0.0;
      }).data();
  data.opening = {Shape::rectangle, 0.6, 0.6, 0.0};
  data.lumens_per_lamp = 1750.0;
  data.lamps = 2;
  data.input_w = 30.0;
  return data;
}

PhotometricSummary summary_of(PhotometricData data) {
  return photometric_summary(IntensityDistribution::make(std::move(data)).value(), "a.ies");
}

/// Rule and problem of every warning.
std::vector<std::pair<std::string, std::string>> found_in(PhotometricData data) {
  std::vector<std::pair<std::string, std::string>> found;
  for (const Diagnostic& warning : summary_of(std::move(data)).warnings) {
    EXPECT_EQ(warning.severity, Diagnostic::Severity::warning);
    EXPECT_EQ(warning.file, "a.ies");
    const std::size_t rule = warning.remedy.rfind(" (");
    EXPECT_GT(rule, 10U) << warning.remedy;  // says what to do
    found.emplace_back(warning.remedy.substr(rule + 2, warning.remedy.size() - rule - 3), warning.problem);
  }
  return found;
}

/// One warning only, by that rule.
void expect_only(const PhotometricData& data, const std::string& rule, const std::string& problem) {
  const auto found = found_in(data);
  ASSERT_EQ(found.size(), 1U) << rule << ": " << (found.size() > 1 ? found[1].second : "");
  EXPECT_EQ(found.front().first, rule);
  EXPECT_EQ(found.front().second, problem);
}

void refill(PhotometricData& data, double (*intensity)(double t, double c)) {
  data.candela.clear();
  for (const double c : data.horizontal_deg)
    for (const double t : data.vertical_deg) data.candela.push_back(intensity(t, c));
}

TEST(Summary, StatesWhatTheDesignerAsks) {
  const auto summary = summary_of(good());
  EXPECT_NEAR(summary.lumens, 3139.597, 0.001);
  EXPECT_EQ(summary.declared_lumens, 3500.0);
  EXPECT_NEAR(*summary.light_output_ratio, 3139.597 / 3500.0, 1e-6);
  EXPECT_NEAR(summary.downward_fraction, 1.0, 1e-12);
  EXPECT_NEAR(*summary.efficacy_lm_w, 3139.597 / 30.0, 1e-4);
  EXPECT_EQ(summary.peak.candela, 1000.0);
  EXPECT_TRUE(summary.warnings.empty()) << to_text(summary.warnings.front());
  const std::string text = to_text(summary);
  EXPECT_NE(text.find("3139.6 lm"), std::string::npos) << text;
  EXPECT_NE(text.find("104.7 lm/W"), std::string::npos) << text;
  EXPECT_NE(text.find("120 degrees along, 120 across"), std::string::npos) << text;  // cos t = 1/2 at 60
}

TEST(Suspicions, OfFluxAndPower) {
  PhotometricData data = good();
  for (double& cd : data.candela) cd = 0.0;
  expect_only(data, "PHO-1", "every intensity is 0 cd");
  data = good();
  data.lamps = 1;
  expect_only(data, "PHO-2", "the luminaire gives 3140 lm, more than its lamps' 1750 lm");
  data.lumens_per_lamp = 3139.597 / 1.019;  // rounding of a declared flux passes
  EXPECT_TRUE(found_in(data).empty());
  data = good();
  data.lumens_per_lamp = 10'000.0;
  expect_only(data, "PHO-3", "only 15.7 % of the lamps' 20000 lm leave the luminaire; usual is 30 to 100 %");
  data.lumens_per_lamp.reset();  // absolute photometry has no lamps to compare with
  EXPECT_TRUE(found_in(data).empty());
  data = good();
  data.input_w = 3.0;
  expect_only(data, "PHO-4", "1047 lm/W at 3 W; white light sources give at most 260 lm/W");
  data.input_w = 3000.0;
  expect_only(data, "PHO-4", "1.0 lm/W at 3000 W; a tungsten lamp gives more than 5 lm/W");
  data.input_w = 3139.597 / 259.0;
  EXPECT_TRUE(found_in(data).empty());
  data.input_w = 0.0;
  expect_only(data, "PHO-5", "input watts are not stated, or 0");
}

TEST(Suspicions, OfTheAngles) {
  PhotometricData data = good();
  data.vertical_deg = {0, 20, 40, 60, 80, 90};
  refill(data, [](double t, double) { return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) : 0.0; });
  expect_only(data, "PHO-6", "vertical angles are up to 20 degrees apart; at most 10 is usual");
  data = good();
  data.horizontal_deg = {0, 90};
  refill(data, [](double t, double) { return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) : 0.0; });
  expect_only(data, "PHO-6", "horizontal angles are up to 90 degrees apart; at most 45 is usual");

  data = good();
  data.vertical_deg.erase(data.vertical_deg.begin() + 9);  // 45 degrees
  refill(data, [](double t, double) { return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) : 0.0; });
  expect_only(data, "PHO-7", "vertical angles go from 40 to 50 degrees, but by 5 before and after");
  // Fine steps in the beam and coarse ones outside are usual.
  data.vertical_deg = {0, 1, 2, 3, 4, 5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 90};
  refill(data, [](double t, double) { return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) : 0.0; });
  EXPECT_TRUE(found_in(data).empty());

  // cos^300 falls to 0.32 at 5 degrees, where the table's first chord ends: 1 - 0.32 off the line, a quarter
  // of it between.
  data = good();
  data.lumens_per_lamp.reset();
  refill(data, [](double t, double) { return 1e5 * std::pow(std::cos(t * kRadPerDeg), 300); });
  expect_only(
      data, "PHO-8",
      "about vertical angle 0 the intensity bends so fast that between the table's angles some 17 % of the "
      "largest intensity are guessed; up to 5 % is usual");
  data.vertical_deg = steps(0, 90, 1);
  refill(data, [](double t, double) { return 1e5 * std::pow(std::cos(t * kRadPerDeg), 300); });
  EXPECT_TRUE(found_in(data).empty());
}

TEST(Suspicions, OfTheOpening) {
  PhotometricData data = good();
  data.opening = {};
  expect_only(data, "PHO-11", "the luminous opening is a point");
  data.opening = {Shape::rectangle, 0.0006, 0.0006, 0.0};
  expect_only(data, "PHO-11", "the luminous opening is 0.6 mm long");
  data.opening = {Shape::rectangle, 12.0, 0.3, 0.0};
  expect_only(data, "PHO-11", "the luminous opening is 12.00 m long; up to 5 m is usual");
  data.opening = {Shape::box, 0.6, 0.6, 0.1};
  expect_only(
      data, "PHO-12",
      "the opening has luminous sides 0.100 m high, but only 0 % of the largest intensity go sideways");
  data = good();
  data.statements.side_heights_m = {0.0, 0.05, 0.0, 0.05};
  expect_only(data, "PHO-13", "the heights of the luminous area at C0, C90, C180, C270 differ: 0 to 50 mm");
  data.statements.side_heights_m = {0.0, 0.0, 0.0, 0.0};
  EXPECT_TRUE(found_in(data).empty());
}

TEST(Suspicions, OfTheSymmetry) {
  PhotometricData data = good();
  data.horizontal_deg = {0};
  refill(data, [](double t, double) { return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) : 0.0; });
  EXPECT_TRUE(found_in(data).empty());
  data.opening = {Shape::rectangle, 1.2, 0.1, 0.0};
  EXPECT_TRUE(found_in(data).empty());  // an even flat opening of any outline
  data.lumens_per_lamp.reset();
  refill(data,
         [](double t, double) { return t < 90.0 ? 1000.0 * std::pow(std::cos(t * kRadPerDeg), 3) : 0.0; });
  expect_only(data, "PHO-10",
              "the light is the same in every plane, but the opening is 12.0 times as long as wide");
  // A kind that promises symmetry about the vertical, and planes 0 and 180 that differ.
  data = good();
  data.horizontal_deg = steps(0, 180, 15);
  refill(data, [](double t, double c) {
    return t < 90.0 ? 1000.0 * std::cos(t * kRadPerDeg) +
                          400.0 * std::sin(2 * t * kRadPerDeg) * std::cos(c * kRadPerDeg)
                    : 0.0;
  });
  EXPECT_TRUE(found_in(data).empty());
  data.statements.rotational_kind = true;
  const auto found = found_in(data);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].first, "PHO-10");
  EXPECT_EQ(found[0].second.substr(0, 72),
            "the kind of luminaire is symmetric about the vertical axis, but planes d");
}

TEST(Suspicions, OfTheShapeOfLight) {
  PhotometricData data = good();
  data.vertical_deg = steps(0, 180, 5);
  refill(data, [](double, double) { return 250.0; });
  expect_only(data, "PHO-14", "every intensity is 250 cd");
  data = good();
  refill(data, [](double t, double) { return 1000.0 - 5.0 * t; });
  data.lumens_per_lamp = 5000.0;
  expect_only(data, "PHO-15", "the table stops at 90 degrees with 550 cd, 55 % of the largest intensity");
}

TEST(Suspicions, NotOfLightAboveTheHorizonFromAFlatOpening) {
  PhotometricData data = good();
  data.vertical_deg = steps(0, 180, 5);
  refill(data,
         [](double t, double) { return (t < 90.0 ? 900.0 : 90.0) * std::abs(std::cos(t * kRadPerDeg)); });
  EXPECT_TRUE(found_in(data).empty());
}

TEST(Suspicions, OfFactors) {
  PhotometricData data = good();
  data.ballast_factor = 0.35;
  data.lumens_per_lamp = 5000.0;
  expect_only(data, "PHO-16", "the ballast factor is 0.35; 0.5 to 1.3 is usual");
  data = good();
  data.statements.ballast_lamp_factor = 1.6;
  expect_only(data, "PHO-16", "the ballast-lamp photometric factor is 1.6; 0.5 to 1.3 is usual");
  data = good();
  data.statements.candela_multiplier = 1000.0;
  expect_only(data, "PHO-16", "the candela multiplier is 1000; 0.01 to 100 is usual");
  data = good();
  data.lamp_tilt = domain::LampTilt{1, {0, 90}, {1.0, 0.8}};
  EXPECT_TRUE(found_in(data).empty());
  data.statements.tested_tilt_factor = 0.95;
  expect_only(data, "PHO-17", "the tilt table starts at 0 degrees with 0.95; usual is 1 at 0 degrees");
  data.statements.tested_tilt_factor = 1.0;
  data.lamp_tilt->angle_deg = {30, 90};
  expect_only(data, "PHO-17", "the tilt table starts at 30 degrees with 1; usual is 1 at 0 degrees");
  data = good();
  data.statements.conversion_factor = 0.9;
  expect_only(data, "PHO-18", "the conversion factor is 0.9; usual is 1");
}

TEST(Suspicions, OfWhatTheFileSaysOfItself) {
  PhotometricData data = good();
  data.statements.light_output_ratio = 0.88;  // 0.897 integrated
  data.statements.downward_fraction = 0.98;
  EXPECT_TRUE(found_in(data).empty());
  data.statements.light_output_ratio = 0.6;
  expect_only(
      data, "PHO-19",
      "the file says that 60.0 % of the lamps' flux leave the luminaire; its intensities give 89.7 %");
  // Absolute: the lumens of the one set are the luminaire's own.
  data.lumens_per_lamp.reset();
  data.statements.lamp_sets = {{1, "A", 3139.597, 30.0}};
  data.statements.light_output_ratio = 1.0;
  EXPECT_TRUE(found_in(data).empty());
  data.statements.lamp_sets = {{1, "A", 2000.0, 30.0}};
  expect_only(
      data, "PHO-19",
      "the file says that 100.0 % of the lamps' flux leave the luminaire; its intensities give 157.0 %");
  data = good();
  data.statements.downward_fraction = 0.6;
  expect_only(data, "PHO-20", "the file says that 60.0 % of the light go down; its intensities give 100.0 %");
  data = good();
  data.statements.lamp_sets = {{2, "A", 3500.0, 60.0}, {2, "B", 3500.0, 50.0}};
  EXPECT_TRUE(found_in(data).empty());
  data.statements.lamp_sets[1].lumens = 4000.0;
  expect_only(data, "PHO-21", "sets of lamps 1 and 2 disagree: 3500 lm and 4000 lm");
  data.statements.lamp_set_chosen = true;
  EXPECT_TRUE(found_in(data).empty());
  data.statements.lamp_sets[1] = {2, "B", 3500.0, 20.0};
  expect_only(data, "PHO-21", "sets of lamps 1 and 2 disagree: 58 lm/W and 175 lm/W");
}

}  // namespace
}  // namespace halflight::photometry
