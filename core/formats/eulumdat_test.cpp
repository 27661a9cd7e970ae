#include "formats/eulumdat.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "formats/photometric_file.hpp"

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
    const auto cd = [&k](double c, double g) { return (200 - g) * k.shape(c * kRadPerDeg); };
    Diagnostics warnings;
    const auto d = read(file(k.code, k.stored, cd), &warnings);
    ASSERT_TRUE(d.has_value()) << to_text(d.error().front());
    EXPECT_TRUE(warnings.empty());
    EXPECT_EQ(d->symmetry(), k.symmetry);
    // cd per 1,000 lm of 5,000 lm. The file's C90 is the length, +x here; C180 is +y.
    // The poles belong to every plane at once and are left out.
    for (int c = 0; c < 360; c += 30)
      for (int g = 45; g <= 135; g += 45)
        EXPECT_NEAR(d->intensity_cd(direction_of(PhotometricType::c, g, c - 90.0)), 5.0 * cd(c, g), 1e-6)
            << k.code << " C" << c << " G" << g;
  }
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
  const auto with_line = [&good](int line, std::string_view value) {
    std::size_t at = 0;
    for (int i = 1; i < line; ++i) at = good.find('\n', at) + 1;
    return good.substr(0, at) + std::string(value) + good.substr(good.find('\n', at));
  };
  EXPECT_EQ(message(with_line(4, "1e9")),
            "error: a.ldt line 4, column 1: the number of C planes is 1000000000; give 1 to 1000");
  EXPECT_EQ(message(with_line(6, "x")),
            "error: a.ldt line 6, column 1: \"x\" is not a number (the number of intensities in each plane); "
            "give one "
            "number on this line");
  EXPECT_EQ(
      message(with_line(29, "0")),
      "error: a.ldt line 29, column 1: the flux of the lamps is 0; give the lumens of all lamps of the set");
  EXPECT_EQ(message(good + "7\n"),
            "error: a.ldt line 65, column 1: \"7\" stands after the last intensity; remove it, or correct "
            "the numbers of "
            "planes and angles");
  EXPECT_EQ(message(good.substr(0, good.size() - 4)),
            "error: a.ldt line 63, column 1: the file ends where intensity 5 of 5 in plane C0 should stand; "
            "complete the "
            "file; it has one value a line");
  EXPECT_EQ(message(with_line(62, "-5")),
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
