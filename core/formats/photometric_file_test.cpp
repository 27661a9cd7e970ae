#include "formats/photometric_file.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "published.hpp"

#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

using domain::direction_of;
using domain::IntensityDistribution;
using domain::LuminousOpening;
using domain::PhotometricData;
using domain::PhotometricType;
using domain::Symmetry;
using Shape = LuminousOpening::Shape;

Result<IntensityDistribution> read(std::string_view text, Diagnostics* warnings = nullptr) {
  return read_photometry(std::as_bytes(std::span(text.data(), text.size())), "a.ies", warnings);
}

IntensityDistribution read_well(std::string_view text) {
  Diagnostics warnings;
  auto result = read(text, &warnings);
  if (!result) throw std::runtime_error(to_text(result.error().front()));
  EXPECT_TRUE(warnings.empty()) << to_text(warnings.front());
  return *std::move(result);
}

/// A small quadrant file: what stands before the numbers, the two main lines, and the tables.
std::string file(std::string_view heading, std::string_view tilt = "TILT=NONE",
                 std::string_view first = "1 1000 1 3 2 1 2 0.6 1.2 0", std::string_view second = "1 1 30",
                 std::string_view tables = "0 45 90\n0 90\n300 200 10\n300 100 0\n") {
  return fmt::format("{}{}\n{}\n{}\n{}", heading, tilt, first, second, tables);
}
constexpr std::string_view k2002 = "IESNA:LM-63-2002\n[TEST] none\n";

double at(const IntensityDistribution& d, double v, double h) {
  return d.intensity_cd(direction_of(d.data().type, v, h));
}

TEST(Lm63, EveryEditionReads) {
  for (const std::string_view heading :
       {"", "Some luminaire\nof long ago\n", "IESNA91\n[TEST] none\n", "IESNA:LM-63-1995\n[TEST] none\n",
        "IESNA:LM-63-2002\n[TEST] none\n", "IES:LM-63-2019\n[TEST] none\n"}) {
    const auto d = read_well(file(heading));
    EXPECT_EQ(d.symmetry(), Symmetry::quadrant);
    EXPECT_DOUBLE_EQ(at(d, 0, 0), 300.0) << heading;
    EXPECT_NEAR(at(d, 45, 0), 200.0, 1e-9);
    EXPECT_NEAR(at(d, 45, 90), 100.0, 1e-9);  // vertical angles run fastest
    EXPECT_NEAR(at(d, 45, 180), 200.0, 1e-9);
    EXPECT_EQ(d.data().input_w, 30.0);
    EXPECT_EQ(d.data().opening,
              (LuminousOpening{Shape::rectangle, 1.2, 0.6, 0.0}));  // width stands before length
    EXPECT_EQ(d.declared_lumens(), 1000.0);
  }
}

TEST(Lm63, UnusualFirstLinesAreReadWithAWarning) {
  for (const std::string_view heading : {"IESNA:LM-63-86\n", "IES LM-63-2019\n", "iesna99\n"}) {
    Diagnostics warnings;
    EXPECT_TRUE(read(file(heading), &warnings).has_value());
    ASSERT_EQ(warnings.size(), 1U) << heading;
    EXPECT_EQ(warnings[0].severity, Diagnostic::Severity::warning);
  }
}

TEST(Lm63, LayoutOfTheTextDoesNotMatter) {
  const std::string plain = file(k2002);
  const auto expected = read_well(plain).data();
  std::string crlf, cr, commas, wrapped, blanks;
  bool numbers = false;
  std::size_t numbers_from = plain.find("TILT=NONE\n") + 10;
  for (std::size_t i = 0; i < plain.size(); ++i) {
    const char c = plain[i];
    numbers = i >= numbers_from;
    crlf += c == '\n' ? "\r\n" : std::string(1, c);
    cr += c == '\n' ? '\r' : c;
    commas += numbers && c == ' ' ? "," : std::string(1, c);
    wrapped += numbers && c == ' ' ? '\n' : c;
    blanks += c == '\n' ? " \t \n" : numbers && c == ' ' ? "\t , " : std::string(1, c);
  }
  for (const std::string& text : {crlf, cr, commas, wrapped, blanks, plain.substr(0, plain.size() - 1),
                                  "\xEF\xBB\xBF" + plain, plain + "\n\n  \x1A", file(k2002, "tilt = none "),
                                  file(k2002, "TILT=NONE", "1 +1e3 1. 3 2 1 2 .6 1.20 0.0")}) {
    const auto d = read_well(text).data();
    EXPECT_EQ(d.candela, expected.candela) << text;
    EXPECT_EQ(d.vertical_deg, expected.vertical_deg);
    EXPECT_EQ(d.horizontal_deg, expected.horizontal_deg);
    EXPECT_EQ(d.opening, expected.opening);
    EXPECT_EQ(d.input_w, expected.input_w);
  }
}

TEST(Lm63, KeywordsKeepTheirOrderAndContinue) {
  const auto d =
      read_well(file("IESNA:LM-63-2002\n[TEST] a 1\n[luminaire]Pendant,\n[MORE] direct\n[_OWN] B\xFC"
                     "ro\n"));
  ASSERT_EQ(d.data().keywords.size(), 3U);
  EXPECT_EQ(d.data().keywords[0], (std::pair<std::string, std::string>{"TEST", "a 1"}));
  EXPECT_EQ(d.data().keywords[1], (std::pair<std::string, std::string>{"LUMINAIRE", "Pendant,\ndirect"}));
  EXPECT_EQ(d.data().keywords[2], (std::pair<std::string, std::string>{"_OWN", "B\xC3\xBCro"}));  // now UTF-8
}

TEST(Lm63, FactorsMultiplyTheCandelaAsTheEditionSays) {
  // 300 cd x multiplier 2 x ballast factor 0.9 x ballast-lamp factor 0.8 (before 2002 only).
  const auto peak = [](std::string_view heading) {
    return at(*read(file(heading, "TILT=NONE", "2 1000 2 3 2 1 2 0 0 0", "0.9 0.8 30")), 0, 0);
  };
  for (const std::string_view old : {"", "IESNA91\n[TEST] n\n", "IESNA:LM-63-1995\n[TEST] n\n"})
    EXPECT_DOUBLE_EQ(peak(old), 300.0 * 2.0 * 0.9 * 0.8);
  EXPECT_DOUBLE_EQ(peak(k2002), 300.0 * 2.0 * 0.9);
  EXPECT_DOUBLE_EQ(peak("IES:LM-63-2019\n[TEST] n\n"), 300.0 * 2.0 * 0.9);
  const auto d = *read(file(k2002, "TILT=NONE", "2 1000 2 3 2 1 2 0 0 0", "0.9 1 30"));
  EXPECT_DOUBLE_EQ(*d.declared_lumens(), 2 * 1000 * 0.9);
  EXPECT_FALSE(read_well(file(k2002, "TILT=NONE", "1 -1 1 3 2 1 2 0 0 0")).declared_lumens().has_value());
  Diagnostics warnings;
  EXPECT_TRUE(read(file(k2002, "TILT=NONE", "1 -1 1 3 2 1 2 0 0 0", "1 0.8 30"), &warnings).has_value());
  ASSERT_EQ(warnings.size(), 1U);
  EXPECT_EQ(warnings[0].where, "line 5, column 3");
}

TEST(Lm63, IncludedTiltScalesAndIsKept) {
  const auto d = read_well(file(k2002, "TILT=INCLUDE\n1\n3\n0 45 90\n0.96 0.48 0.24"));
  EXPECT_DOUBLE_EQ(at(d, 0, 0), 300.0 * 0.96);
  EXPECT_EQ(d.data().lamp_tilt->lamp_geometry, 1);
  EXPECT_DOUBLE_EQ(d.lamp_tilt_factor(0), 1.0);
  EXPECT_DOUBLE_EQ(d.lamp_tilt_factor(45), 0.5);
}

/// Flux in lm by mid-points over the sphere, a quarter of a degree from pole to pole about z. Errors stay
/// below (0.25 degrees)^2 / 24 of the integrand's curvature, 1e-6.
double flux_by_midpoints(const IntensityDistribution& d) {
  constexpr int kPolar = 720;
  constexpr int kAround = 360;
  double sum = 0.0;
  for (int i = 0; i < kPolar; ++i) {
    const double t = (i + 0.5) * 180.0 / kPolar;
    double ring = 0.0;
    for (int k = 0; k < kAround; ++k)
      ring += d.intensity_cd(direction_of(PhotometricType::c, t, (k + 0.5) * 360.0 / kAround));
    sum += ring * std::sin(t * kRadPerDeg);
  }
  return sum * (kPi / kPolar) * (2.0 * kPi / kAround);
}

std::string series(double from, double to, double step) {
  std::string text;
  for (double a = from; a <= to + 1e-9; a += step) text += fmt::format("{} ", a);
  return text + "\n";
}

TEST(Lm63, CosineLightOfEveryTypeHasTheFluxOfItsClosedForm) {
  // I0 cos^n of the angle from the aim has 2 pi I0 / (n + 1) lm. Straight lines between entries 2.5 degrees
  // apart leave 0.016 % at n = 1 and 0.063 % at n = 4 (docs/methods/photometry.md); types A and B interpolate
  // twice.
  for (const int n : {1, 4})
    for (const int code : {1, 2, 3}) {
      std::string tables = code == 1 ? series(0, 90, 2.5) + "0\n" : series(-90, 90, 2.5) + series(0, 90, 2.5);
      if (code == 1) {
        for (double t = 0; t <= 90; t += 2.5)
          tables += fmt::format("{:.9f} ", 500.0 * std::pow(std::max(0.0, std::cos(t * kRadPerDeg)), n));
      } else {
        for (double h = 0; h <= 90; h += 2.5)
          for (double v = -90; v <= 90; v += 2.5)
            tables += fmt::format(
                "{:.9f}\n",
                500.0 * std::pow(std::max(0.0, std::cos(h * kRadPerDeg) * std::cos(v * kRadPerDeg)), n));
      }
      // Multiplier 2.5 x ballast factor 0.8 make 1000 cd of 500.
      const auto d = read_well(
          file(k2002, "TILT=NONE",
               fmt::format("1 9000 2.5 {} {} {} 2 0 0 0", code == 1 ? 37 : 73, code == 1 ? 1 : 37, code),
               "0.8 1 30", tables));
      EXPECT_PUBLISHED(
          "closed form 2 pi I / (n + 1)",
          fmt::format("LM-63, type {}: flux of 1000 cd x cos^{} from the aim", name_of(d.data().type), n),
          "lm", 2000.0 * kPi / (n + 1), flux_by_midpoints(d), published::relative(n == 1 ? 0.0005 : 0.0015));
    }
}

TEST(Lm63, TiltFileIsReadFromBesideTheFile) {
  const std::string text = file(k2002, "TILT=lamp.tlt");
  PhotometryOptions options;
  options.other_file = [](std::string_view name) -> std::optional<std::string> {
    if (name == "lamp.tlt") return "2\n3\n0 45 90\n0.96 0.48 0.24\n";
    return std::nullopt;
  };
  const auto bytes = [](std::string_view t) { return std::as_bytes(std::span(t.data(), t.size())); };
  const auto d = read_photometry(bytes(text), "a.ies", nullptr, options);
  ASSERT_TRUE(d.has_value()) << to_text(d.error().front());
  EXPECT_DOUBLE_EQ(at(*d, 0, 0), 300.0 * 0.96);
  EXPECT_EQ(d->data().lamp_tilt->lamp_geometry, 2);
  EXPECT_DOUBLE_EQ(d->lamp_tilt_factor(45), 0.5);
  EXPECT_EQ(d->data().statements.tested_tilt_factor, 0.96);
  // What is wrong in it is told with its own name and line.
  options.other_file = [](std::string_view) -> std::optional<std::string> { return "1\n2\n0 90\n1 x\n"; };
  const auto broken = read_photometry(bytes(text), "a.ies", nullptr, options);
  ASSERT_FALSE(broken.has_value());
  EXPECT_EQ(to_text(broken.error().front()).substr(0, 37), "error: lamp.tlt line 4, column 3: \"x\"");
  options.other_file = [](std::string_view) -> std::optional<std::string> { return std::nullopt; };
  EXPECT_FALSE(read_photometry(bytes(text), "a.ies", nullptr, options).has_value());
}

TEST(Lm63, WhatTheFileSaysOfItselfIsKept) {
  const auto d =
      *read(file("IESNA:LM-63-1995\n[TEST] n\n", "TILT=NONE", "2 1000 2 3 2 1 2 0 0 0", "0.9 0.8 30"));
  EXPECT_EQ(d.data().statements.candela_multiplier, 2.0);
  EXPECT_EQ(d.data().statements.ballast_lamp_factor, 0.8);
  EXPECT_EQ(d.data().ballast_factor, 0.9);
}

TEST(Lm63, FeetBecomeMetres) {
  const auto d = read_well(file(k2002, "TILT=NONE", "1 1000 1 3 2 1 1 2 4 0.5"));
  EXPECT_DOUBLE_EQ(d.data().opening.width_m, 0.6096);
  EXPECT_DOUBLE_EQ(d.data().opening.length_m, 1.2192);
  EXPECT_DOUBLE_EQ(d.data().opening.height_m, 0.1524);
}

TEST(Lm63, OpeningShapesOfBothColumnsOfSigns) {
  // The two tables of signs: 1995 and before, 2002 and after (LM-63-1995 and -2002, luminous dimensions).
  struct Case {
    std::string_view heading, dimensions;
    LuminousOpening opening;  // shape, length, width, height
  };
  constexpr std::string_view k1995 = "IESNA:LM-63-1995\n[TEST] none\n";
  for (const Case& c : {
           Case{k1995, "0 0 0", {Shape::point, 0, 0, 0}},
           {k1995, "0.3 1.2 0", {Shape::rectangle, 1.2, 0.3, 0}},
           {k1995, "0.3 1.2 0.1", {Shape::box, 1.2, 0.3, 0.1}},
           {k1995, "-0.2 0 0", {Shape::circle, 0.2, 0.2, 0}},
           {k1995, "-0.2 0.4 0", {Shape::ellipse, 0.4, 0.2, 0}},
           {k1995, "0.2 -0.4 0", {Shape::ellipse, 0.4, 0.2, 0}},
           {k1995, "-0.2 0 0.3", {Shape::vertical_cylinder, 0.2, 0.2, 0.3}},
           {k1995, "-0.2 0 -0.2", {Shape::sphere, 0.2, 0.2, 0.2}},
           {k1995, "-0.2 0.3 -0.4", {Shape::ellipsoid, 0.3, 0.2, 0.4}},
           {k1995, "0.2 -0.3 -0.4", {Shape::ellipsoid, 0.3, 0.2, 0.4}},
           {k1995, "0 1.2 -0.1", {Shape::cylinder_along, 1.2, 0.1, 0.1}},
           {k1995, "1.2 0 -0.1", {Shape::cylinder_across, 0.1, 1.2, 0.1}},
           {k2002, "-0.2 -0.2 0", {Shape::circle, 0.2, 0.2, 0}},
           {k2002, "-0.2 -0.4 0", {Shape::ellipse, 0.4, 0.2, 0}},
           {k2002, "-0.2 -0.2 0.3", {Shape::vertical_cylinder, 0.2, 0.2, 0.3}},
           {k2002, "-0.2 -0.4 0.3", {Shape::vertical_cylinder, 0.4, 0.2, 0.3}},
           {k2002, "-0.2 -0.2 -0.2", {Shape::sphere, 0.2, 0.2, 0.2}},
           {k2002, "-0.2 -0.3 -0.4", {Shape::ellipsoid, 0.3, 0.2, 0.4}},
           {k2002, "-0.1 1.2 -0.1", {Shape::cylinder_along, 1.2, 0.1, 0.1}},
           {k2002, "1.2 -0.1 -0.1", {Shape::cylinder_across, 0.1, 1.2, 0.1}},
           {k2002, "-0.1 1.2 -0.2", {Shape::cylinder_along, 1.2, 0.1, 0.2}},
           {k2002, "-0.2 0 -0.2", {Shape::vertical_ellipse, 0, 0.2, 0.2}},
           {k2002, "-0.2 0 -0.3", {Shape::vertical_ellipse, 0, 0.2, 0.3}},
           // Each column is accepted under the other's first line where the signs mean one thing only.
           {k2002, "-0.2 0 0", {Shape::circle, 0.2, 0.2, 0}},
           {k1995, "-0.2 -0.2 0", {Shape::circle, 0.2, 0.2, 0}},
           {k2002, "0 1.2 -0.1", {Shape::cylinder_along, 1.2, 0.1, 0.1}},
       }) {
    const auto d = read_well(file(c.heading, "TILT=NONE", fmt::format("1 1000 1 3 2 1 2 {}", c.dimensions)));
    EXPECT_EQ(d.data().opening, c.opening) << c.dimensions << " " << name_of(d.data().opening.shape);
  }
}

TEST(Lm63, EverySymmetryOfTypeC) {
  const auto planes = [](int count, std::string_view angles) {
    std::string tables = fmt::format("0 45 90\n{}\n", angles);
    for (int i = 0; i < count; ++i) tables += "300 200 0\n";
    return read_well(
               file(k2002, "TILT=NONE", fmt::format("1 1000 1 3 {} 1 2 0 0 0", count), "1 1 30", tables))
        .symmetry();
  };
  EXPECT_EQ(planes(1, "0"), Symmetry::rotational);
  EXPECT_EQ(planes(3, "0 45 90"), Symmetry::quadrant);
  EXPECT_EQ(planes(3, "0 90 180"), Symmetry::bilateral_0_180);
  EXPECT_EQ(planes(3, "90 180 270"), Symmetry::bilateral_90_270);
  EXPECT_EQ(planes(4, "0 90 180 360"), Symmetry::none);
}

TEST(Lm63, TypesAAndB) {
  for (const auto& [code, type] : {std::pair{2, PhotometricType::b}, std::pair{3, PhotometricType::a}}) {
    const auto d = read_well(file(k2002, "TILT=NONE", fmt::format("1 1000 1 3 2 {} 2 0 0 0", code), "1 1 30",
                                  "-90 0 90\n0 90\n10 300 50\n20 100 40\n"));
    EXPECT_EQ(d.data().type, type);
    EXPECT_EQ(d.symmetry(), Symmetry::mirrored_h);
    EXPECT_DOUBLE_EQ(d.intensity_cd({1, 0, 0}), 300.0);
    EXPECT_DOUBLE_EQ(d.intensity_cd({0, -1, 0}), 100.0);
  }
}

TEST(Lm63, PlanesThatDisagreeWhereTheyMeetAreWarnedOf) {  // PHO-9
  Diagnostics warnings;
  EXPECT_TRUE(read(file(k2002, "TILT=NONE", "1 1000 1 3 3 1 2 0 0 0", "1 1 30",
                        "0 90 180\n0 180 360\n300 200 0\n300 200 50\n200 200 0\n"),
                   &warnings)
                  .has_value());
  ASSERT_EQ(warnings.size(), 3U);
  EXPECT_EQ(warnings[0].problem, "straight down the planes differ by 100 cd, 33 % of the largest intensity");
  EXPECT_EQ(warnings[1].problem, "straight up the planes differ by 50 cd, 17 % of the largest intensity");
  EXPECT_EQ(warnings[2].problem, "the planes at 0 and 360 differ by 100 cd, 33 % of the largest intensity");
}

TEST(Lm63, AVeryLargeFileIsRefusedUnread) {
  const std::string huge(std::size_t{17} << 20U, ' ');
  const auto result = read(huge);
  ASSERT_FALSE(result.has_value());
  EXPECT_EQ(result.error().front().problem, "the file has 17825792 bytes");
}

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(Lm63, EveryBrokenFileIsRefusedWithItsMessage) {
  const std::filesystem::path folder =
      std::filesystem::path(HALFLIGHT_SOURCE_DIR) / "tests/broken/photometry";
  std::map<std::string, std::string> expected;
  std::ifstream list(folder / "expected.txt");
  for (std::string line; std::getline(list, line);) {
    const std::size_t tab = line.find('\t');
    ASSERT_NE(tab, std::string::npos) << line;
    expected[line.substr(0, tab)] = line.substr(tab + 1);
  }
  std::set<std::string> seen;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const std::string name = entry.path().filename().string();
    if (entry.path().extension() != ".ies") continue;
    seen.insert(name);
    const std::string text = bytes_of(entry.path());
    const auto result = read_photometry(std::as_bytes(std::span(text.data(), text.size())), name, nullptr);
    ASSERT_FALSE(result.has_value()) << name;
    ASSERT_EQ(result.error().size(), 1U);
    EXPECT_EQ(to_text(result.error().front()), expected[name]);
    EXPECT_FALSE(result.error().front().remedy.empty()) << name;
  }
  EXPECT_EQ(seen.size(), expected.size());
  EXPECT_GE(seen.size(), 25U);
}

PhotometricData sample(PhotometricType type) {
  PhotometricData data;
  data.type = type;
  const double low = type == PhotometricType::c ? 0.0 : -90.0;
  for (int i = 0; i <= 36; ++i) data.vertical_deg.push_back(low + (90.0 - low) * i / 36.0);
  data.horizontal_deg = {0, 22.5, 45, 90};
  for (std::uint32_t i = 0; i < 4 * 37; ++i)
    data.candela.push_back(i % 37 == 0 ? 100.0
                                       : 1000.0 * random_uniform({7, 7}, {0, 0, hash_name("candela"), i}));
  data.input_w = 31.7;
  return data;
}

TEST(Lm63, WhatIsWrittenReadsBackTheSame) {
  for (const PhotometricType type : {PhotometricType::c, PhotometricType::b, PhotometricType::a}) {
    for (const Shape shape : {Shape::point, Shape::rectangle, Shape::box, Shape::circle, Shape::ellipse,
                              Shape::vertical_cylinder, Shape::sphere, Shape::ellipsoid,
                              Shape::cylinder_along, Shape::cylinder_across, Shape::vertical_ellipse}) {
      PhotometricData data = sample(type);
      data.opening = {shape, 0.5, 0.5, 0.5};
      if (shape == Shape::ellipse || shape == Shape::ellipsoid || shape == Shape::box)
        data.opening.length_m = 0.7;
      if (shape == Shape::point) data.opening = {};
      if (shape == Shape::rectangle || shape == Shape::circle || shape == Shape::ellipse)
        data.opening.height_m = 0;
      if (shape == Shape::vertical_ellipse) data.opening.length_m = 0;
      data.lamps = 2;
      data.lumens_per_lamp = 1234.5;
      data.lamp_tilt = domain::LampTilt{2, {0, 90}, {1.0, 0.7}};
      data.keywords = {{"TEST", "1"}, {"LUMINAIRE", "first\nsecond"}, {"", "a label"}};
      const auto written = IntensityDistribution::make(data).value();
      const auto back = read_well(write_lm63(written));
      EXPECT_EQ(back.data().type, type);
      EXPECT_EQ(back.data().vertical_deg, data.vertical_deg);
      EXPECT_EQ(back.data().horizontal_deg, data.horizontal_deg);
      EXPECT_EQ(back.data().candela, data.candela);
      EXPECT_EQ(back.data().opening, data.opening) << name_of(shape);
      EXPECT_EQ(back.data().input_w, data.input_w);
      EXPECT_EQ(back.declared_lumens(), written.declared_lumens());
      EXPECT_EQ(back.data().lamp_tilt->multiplier, data.lamp_tilt->multiplier);
      const std::vector<std::pair<std::string, std::string>> keywords = {
          {"TESTLAB", "none"}, {"ISSUEDATE", "none"},          {"MANUFAC", "generic"},
          {"TEST", "1"},       {"LUMINAIRE", "first\nsecond"}, {"OTHER", "a label"}};
      EXPECT_EQ(back.data().keywords, keywords);
    }
  }
}

TEST(Lm63, WrittenLinesAreShortEnoughForEveryEdition) {
  const std::string text = write_lm63(IntensityDistribution::make(sample(PhotometricType::c)).value());
  EXPECT_TRUE(text.starts_with("IES:LM-63-2019\n"));
  std::size_t begin = 0;
  for (std::size_t end; (end = text.find('\n', begin)) != std::string::npos; begin = end + 1)
    EXPECT_LE(end - begin, 132U);  // the limit of the older editions
  EXPECT_EQ(begin, text.size());
}

TEST(Lm63, DamagedFilesNeverDoMoreThanFail) {
  // Counter-based damage of three good files: bytes overwritten, removed, doubled, and the file cut short.
  // Whatever still reads must be usable: finite intensities in every direction.
  const std::array<std::string, 3> good = {
      file("IESNA91\n[TEST] n\n", "TILT=INCLUDE\n1\n2\n0 90\n1 0.5"), file(k2002),
      write_lm63(IntensityDistribution::make(sample(PhotometricType::b)).value())};
  constexpr std::string_view kLikely = "0123456789.,-+eE \n\r\t=[]\x00\xFFinfax";
  int read_anyway = 0;
  int refused = 0;
  for (std::uint32_t round = 0; round < 30'000; ++round) {
    std::string text = good[round % good.size()];
    const auto draw = [round](std::uint32_t slot, std::size_t below) {
      return static_cast<std::size_t>(random_uniform({3, 9}, {round, 0, hash_name("damage"), slot}) *
                                      static_cast<double>(below));
    };
    const std::size_t hits = 1 + draw(0, 4);
    for (std::uint32_t k = 0; k < hits && !text.empty(); ++k) {
      const std::size_t where = draw(10 * k + 1, text.size());
      switch (draw(10 * k + 2, 4)) {
        case 0:
          text[where] = kLikely[draw(10 * k + 3, kLikely.size())];
          break;
        case 1:
          text.erase(where, 1 + draw(10 * k + 3, 8));
          break;
        case 2:
          text.insert(where, text.substr(where, 1 + draw(10 * k + 3, 40)));
          break;
        default:
          text[where] = static_cast<char>(draw(10 * k + 3, 256));
          break;
      }
    }
    if (draw(5, 20) == 0) text.resize(draw(6, text.size() + 1));
    Diagnostics warnings;
    const auto result = read(text, &warnings);
    if (!result) {
      ++refused;
      ASSERT_FALSE(result.error().empty());
      ASSERT_FALSE(result.error().front().where.empty()) << to_text(result.error().front());
      continue;
    }
    ++read_anyway;
    for (const Vector3 d : {Vector3{0, 0, -1}, Vector3{0, 0, 1}, Vector3{1, 0, 0}, Vector3{0, -1, 0},
                            Vector3{0.6, 0.48, -0.64}}) {
      const double cd = result->intensity_cd(d);
      ASSERT_TRUE(std::isfinite(cd) && cd >= 0.0) << text;
    }
  }
  // Both ways must be exercised for the test to mean anything.
  EXPECT_GT(read_anyway, 1'000);
  EXPECT_GT(refused, 1'000);
}

}  // namespace
}  // namespace halflight::formats
