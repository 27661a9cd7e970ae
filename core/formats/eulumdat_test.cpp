#include "formats/eulumdat.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "formats/photometric_file.hpp"
#include "published.hpp"

#include <cmath>
#include <functional>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

using domain::direction_of;
using domain::IntensityDistribution;
using domain::PhotometricType;
using domain::Symmetry;
using Shape = domain::LuminousOpening::Shape;

Result<IntensityDistribution> read(std::string_view text, Diagnostics* warnings = nullptr) {
  return read_photometry(std::as_bytes(std::span(text.data(), text.size())), "a.ldt", warnings);
}

/// A file with planes every 30 degrees and intensities every 45; `stored` are the planes that the symmetry
/// keeps.
std::string file(int symmetry, const std::vector<double>& stored,
                 const std::function<double(double, double)>& cd, std::string_view lamps = "2",
                 std::string_view width_mm = "300") {
  std::string text = fmt::format("Generic\n2\n{}\n12\n30\n5\n45\nR1\nPanel\nP-1\nfile\n2026\n", symmetry);
  text += fmt::format("1250\n350\n80\n1200\n{}\n0\n0\n0\n0\n100\n80\n1\n0\n1\n{}\nT\n5000\nwhite\n80\n60\n",
                      width_mm, lamps);
  for (int i = 0; i < 10; ++i) text += "0.5\n";
  for (int c = 0; c < 360; c += 30) text += fmt::format("{}\n", c);
  for (int g = 0; g <= 180; g += 45) text += fmt::format("{}\n", g);
  for (const double c : stored)
    for (int g = 0; g <= 180; g += 45) text += fmt::format("{}\n", cd(c, g));
  return text;
}

std::vector<double> planes(double from, double to) {
  std::vector<double> angles;
  for (double c = from; c <= to; c += 30) angles.push_back(std::fmod(c, 360.0));
  return angles;
}

TEST(Eulumdat, EverySymmetryLandsInTheFrameTurnedByNinetyDegrees) {
  struct Case {
    int code;
    std::vector<double> stored;
    Symmetry symmetry;
    double (*shape)(double c_rad);
  };
  for (const Case& k : {
           Case{0, planes(0, 330), Symmetry::none,
                [](double c) { return 3 + std::cos(c) + 0.5 * std::sin(2 * c); }},
           Case{1, {0}, Symmetry::rotational, [](double) { return 3.0; }},
           Case{2, planes(0, 180), Symmetry::bilateral_90_270, [](double c) { return 3 + std::cos(c); }},
           Case{3, planes(270, 450), Symmetry::bilateral_0_180, [](double c) { return 3 + std::sin(c); }},
           Case{4, planes(0, 90), Symmetry::quadrant, [](double c) { return 3 + std::cos(2 * c); }},
       }) {
    const auto cd = [&k](double c, double g) {
      return (200 - g) * (g == 0.0 || g == 180.0 ? 1.0 : k.shape(c * kRadPerDeg));  // one light at the poles
    };
    Diagnostics warnings;
    const auto d = read(file(k.code, k.stored, cd), &warnings);
    ASSERT_TRUE(d.has_value()) << to_text(d.error().front());
    EXPECT_TRUE(warnings.empty());
    EXPECT_EQ(d->symmetry(), k.symmetry);
    // cd per 1,000 lm of 5,000 lm. The file's C90 is the length, +x here; C180 is +y.
    for (int c = 0; c < 360; c += 30)
      for (int g = 0; g <= 180; g += 45)
        EXPECT_NEAR(d->intensity_cd(direction_of(PhotometricType::c, g, c - 90.0)), 5.0 * cd(c, g), 1e-6)
            << k.code << " C" << c << " G" << g;
  }
}

/// The file above with one of its lines, counted from 1, replaced.
std::string with_line(const std::string& text, int line, std::string_view value) {
  std::size_t at = 0;
  for (int i = 1; i < line; ++i) at = text.find('\n', at) + 1;
  return text.substr(0, at) + std::string(value) + text.substr(text.find('\n', at));
}

TEST(Eulumdat, CosineLightHasTheFluxOfItsClosedForm) {
  // The same light as of the LM-63 rows: 1000 cd x cos t of 4000 lm with a conversion factor of 0.5 is 500 in
  // the file. Straight lines between angles 2.5 degrees apart leave 0.016 %. Mid-points as there.
  std::string text =
      "Generic\n1\n1\n1\n0\n37\n2.5\nR1\nDisc\nD-1\nfile\n2026\n600\n0\n20\n600\n0\n0\n0\n0\n0\n100\n78.5\n"
      "0.5\n0\n1\n1\nT\n4000\nwhite\n80\n60\n";
  for (int i = 0; i < 10; ++i) text += "0.5\n";
  text += "0\n";
  for (int i = 0; i < 37; ++i) text += fmt::format("{}\n", 2.5 * i);
  for (int i = 0; i < 37; ++i)
    text += fmt::format("{:.9f}\n", i == 36 ? 0.0 : 500.0 * std::cos(2.5 * i * kRadPerDeg));
  const auto d = read(text);
  ASSERT_TRUE(d.has_value()) << to_text(d.error().front());
  double flux = 0.0;
  for (int i = 0; i < 720; ++i) {
    const double t = (i + 0.5) * 0.25;
    flux += 2.0 * kPi * (kPi / 720.0) * std::sin(t * kRadPerDeg) *
            d->intensity_cd(direction_of(PhotometricType::c, t, 0.0));
  }
  EXPECT_PUBLISHED("closed form 2 pi I / (n + 1)", "EULUMDAT: flux of 1000 cd x cos from the aim", "lm",
                   1000.0 * kPi, flux, published::relative(0.0005));
  EXPECT_EQ(d->data().statements.conversion_factor, 0.5);
  EXPECT_EQ(d->data().statements.light_output_ratio, 0.785);
  EXPECT_EQ(d->data().statements.downward_fraction, 1.0);
  EXPECT_TRUE(d->data().statements.rotational_kind);
}

TEST(Eulumdat, AnySetOfLampsCanBeChosen) {
  // Lines 26 to 32 are the number of sets and the first; a second of 3000 lm and 40 W follows.
  std::string text = with_line(file(1, {0}, [](double, double) { return 100.0; }), 26, "2");
  std::size_t at = 0;
  for (int i = 1; i < 33; ++i) at = text.find('\n', at) + 1;
  text.insert(at, "1\nU\n3000\nwarm\n90\n40\n");
  const auto chosen = [&text](std::optional<int> set, Diagnostics* warnings) {
    PhotometryOptions options;
    options.lamp_set = set;
    return read_photometry(std::as_bytes(std::span(text.data(), text.size())), "a.ldt", warnings, options);
  };
  Diagnostics warnings;
  const auto first = chosen({}, &warnings).value();
  EXPECT_DOUBLE_EQ(first.intensity_cd({0, 0, -1}), 500.0);
  EXPECT_EQ(first.data().input_w, 60.0);
  EXPECT_EQ(first.declared_lumens(), 5000.0);
  ASSERT_EQ(warnings.size(), 1U);
  EXPECT_EQ(warnings[0].problem, "2 sets of lamps; set 1 is used");  // PHO-21
  warnings.clear();
  const auto second = chosen(2, &warnings).value();
  EXPECT_TRUE(warnings.empty());  // it is chosen
  EXPECT_DOUBLE_EQ(second.intensity_cd({0, 0, -1}), 300.0);
  EXPECT_EQ(second.data().input_w, 40.0);
  EXPECT_EQ(second.declared_lumens(), 3000.0);
  ASSERT_EQ(second.data().statements.lamp_sets.size(), 2U);
  EXPECT_EQ(second.data().statements.lamp_sets[1].type, "U");
  const auto absent = chosen(3, nullptr);
  ASSERT_FALSE(absent.has_value());
  EXPECT_EQ(absent.error().front().problem, "there is no set of lamps 3");
}

TEST(Eulumdat, ATiltedTestAndPlanesThatDisagreeAreWarnedOf) {
  const auto one = [](double, double) { return 100.0; };
  Diagnostics warnings;
  EXPECT_TRUE(read(with_line(file(1, {0}, one), 25, "15"), &warnings).has_value());
  ASSERT_EQ(warnings.size(), 1U);  // PHO-22
  EXPECT_EQ(warnings[0].problem, "the luminaire was tested at a tilt of 15 degrees");
  warnings.clear();
  EXPECT_TRUE(
      read(file(0, planes(0, 330), [](double c, double g) { return g == 0 ? 100 + c : 100.0; }), &warnings)
          .has_value());
  ASSERT_EQ(warnings.size(), 1U);  // PHO-9
  EXPECT_EQ(warnings[0].problem.substr(0, 37), "straight down the planes differ by 12");
}

TEST(Eulumdat, HeaderGoesWhereItBelongs) {
  const auto one = [](double, double) { return 100.0; };
  const auto d = read(file(1, {0}, one)).value();
  EXPECT_EQ(d.data().opening, (domain::LuminousOpening{Shape::rectangle, 1.2, 0.3, 0.0}));
  EXPECT_EQ(d.data().input_w, 60.0);
  EXPECT_EQ(d.data().lamps, 2);
  EXPECT_EQ(d.declared_lumens(), 5000.0);
  EXPECT_EQ(read(file(1, {0}, one, "2", "0"))->data().opening,
            (domain::LuminousOpening{Shape::circle, 1.2, 1.2, 0.0}));
  const auto absolute = read(file(1, {0}, one, "-1")).value();
  EXPECT_FALSE(absolute.declared_lumens().has_value());
  EXPECT_DOUBLE_EQ(absolute.intensity_cd({0, 0, -1}), 500.0);
  // Decimal commas and line ends of other systems.
  std::string text = file(1, {0}, [](double, double) { return 100.5; });
  for (std::size_t at; (at = text.find("100.5")) != std::string::npos;) text.replace(at, 5, "100,5");
  for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2)
    text.replace(at, 1, "\r\n");
  EXPECT_DOUBLE_EQ(read(text)->intensity_cd({0, 0, -1}), 502.5);
}

TEST(Eulumdat, BrokenFilesAreRefusedWithTheLine) {
  const std::string good = file(1, {0}, [](double, double) { return 100.0; });
  const auto message = [](std::string_view text) {
    const auto d = read(text);
    return d ? std::string("accepted") : to_text(d.error().front());
  };
  EXPECT_EQ(message(with_line(good, 4, "1e9")),
            "error: a.ldt line 4, column 1: the number of C planes is 1000000000; give 1 to 1000");
  EXPECT_EQ(message(with_line(good, 6, "x")),
            "error: a.ldt line 6, column 1: \"x\" is not a number (the number of intensities in each plane); "
            "give one "
            "number on this line");
  EXPECT_EQ(
      message(with_line(good, 29, "0")),
      "error: a.ldt line 29, column 1: the flux of the lamps is 0; give the lumens of all lamps of the set");
  EXPECT_EQ(message(good + "7\n"),
            "error: a.ldt line 65, column 1: \"7\" stands after the last intensity; remove it, or correct "
            "the numbers of "
            "planes and angles");
  EXPECT_EQ(message(good.substr(0, good.size() - 4)),
            "error: a.ldt line 63, column 1: the file ends where intensity 5 of 5 in plane C0 should stand; "
            "complete the "
            "file; it has one value a line");
  EXPECT_EQ(message(with_line(good, 62, "-5")),
            "error: a.ldt line 62, column 1: intensity 3 of 5 in plane C0 is -5; give 0 to 1000000000");
}

TEST(Eulumdat, DamagedFilesNeverDoMoreThanFail) {
  const std::string good = file(0, planes(0, 330), [](double c, double g) { return 400 - g + c; });
  int refused = 0;
  for (std::uint32_t round = 0; round < 5'000; ++round) {
    std::string text = good;
    const auto draw = [round](std::uint32_t slot, std::size_t below) {
      return static_cast<std::size_t>(random_uniform({4, 9}, {round, 0, hash_name("damage"), slot}) *
                                      static_cast<double>(below));
    };
    const std::size_t where = draw(0, text.size());
    constexpr std::string_view kLikely = "0123456789.,-e \n\r\xFF";
    if (draw(1, 3) == 0)
      text.erase(where, 1 + draw(2, 30));
    else
      text[where] = kLikely[draw(2, kLikely.size())];
    const auto d = read(text);
    if (!d) {
      ++refused;
      continue;
    }
    const double cd = d->intensity_cd({0.6, 0.48, -0.64});
    ASSERT_TRUE(std::isfinite(cd) && cd >= 0.0);
  }
  EXPECT_GT(refused, 500);
  EXPECT_LT(refused, 4'500);
}

}  // namespace
}  // namespace halflight::formats
