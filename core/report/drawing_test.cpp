#include "base/units.hpp"
#include "geometry/polygon.hpp"
#include "report/charts.hpp"
#include "report/colour.hpp"
#include "report/contours.hpp"
#include "report/markup.hpp"
#include "report/plan_drawing.hpp"
#include "report/png.hpp"
#include "report/study_fixture_test.hpp"
#include "report/year_picture.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>

#include <gtest/gtest.h>
#include <zlib.h>

namespace halflight::report {
namespace {

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + what.size())) ++n;
  return n;
}

// --- colour

TEST(Colour, LightnessOfKnownColours) {
  EXPECT_DOUBLE_EQ(lightness({0, 0, 0}), 0.0);
  EXPECT_NEAR(lightness({255, 255, 255}), 100.0, 1e-9);
  // sRGB (119, 119, 119) has relative luminance 0.1845 and L* 50.03 (CIE 1976 formula by hand).
  EXPECT_NEAR(lightness({119, 119, 119}), 50.03, 0.05);
}

TEST(Colour, ScaleRisesEvenlyInLightness) {
  const double first = lightness(light_colour(0.0));
  const double last = lightness(light_colour(1.0));
  EXPECT_GT(last - first, 80.0) << "the scale uses the range that paper and screen give";
  for (int i = 0; i <= 100; ++i) {
    const double t = i / 100.0;
    // Eight-bit channels: the green channel alone moves L* by up to 0.45 a step.
    EXPECT_NEAR(lightness(light_colour(t)), first + t * (last - first), 0.5) << t;
  }
  EXPECT_EQ(hex(light_colour(0.0)), "#15163a");
  EXPECT_EQ(hex(light_colour(1.0)), "#f9edc8");
}

/// Red-green deficiency as matrices on linear RGB (Vienot, Brettel and Mollon, Color Research and Application
/// 24, 1999; coefficients from memory).
double lightness_without(Colour c, bool protan) {
  const auto linear = [](double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
  const double r = linear(c.red / 255.0), g = linear(c.green / 255.0), b = linear(c.blue / 255.0);
  const double rg = protan ? 0.11238 * r + 0.88762 * g : 0.29275 * r + 0.70725 * g;
  const double blue = protan ? 0.00401 * (r - g) + b : -0.02234 * (r - g) + b;
  const double y = 0.2126 * rg + 0.7152 * rg + 0.0722 * blue;
  return y > 216.0 / 24389.0 ? 116.0 * std::cbrt(y) - 16.0 : y * 24389.0 / 27.0;
}

TEST(Colour, ScaleKeepsItsOrderForColourBlindReaders) {
  for (const bool protan : {true, false})
    for (int i = 1; i <= 32; ++i)
      EXPECT_GT(lightness_without(light_colour(i / 32.0), protan),
                lightness_without(light_colour((i - 1) / 32.0), protan) + 1.0)
          << i;
}

TEST(Colour, PlaceOnTheScaleIsLogarithmic) {
  EXPECT_DOUBLE_EQ(light_position(100.0, 10.0, 1000.0), 0.5);
  EXPECT_DOUBLE_EQ(light_position(0.0, 10.0, 1000.0), 0.0);
  EXPECT_DOUBLE_EQ(light_position(5000.0, 10.0, 1000.0), 1.0);
}

// --- pictures

TEST(Png, UnpacksToTheSamePixels) {
  const IndexedPicture picture{3, 2, {0, 1, 2, 253, 254, 255}};
  const std::string file = png(picture, light_palette());
  EXPECT_EQ(file.substr(0, 8), std::string("\x89PNG\r\n\x1a\n", 8));
  EXPECT_EQ(file.substr(12, 4), "IHDR");
  // The check of an empty IEND is fixed: AE 42 60 82 (ISO/IEC 15948, CRC of "IEND").
  EXPECT_EQ(file.substr(file.size() - 8), std::string("IEND\xAE\x42\x60\x82", 8));
  const std::size_t at = file.find("IDAT");
  ASSERT_NE(at, std::string::npos);
  std::string rows(8, '\0');
  uLongf size = rows.size();
  ASSERT_EQ(uncompress(reinterpret_cast<Bytef*>(rows.data()), &size,
                       reinterpret_cast<const Bytef*>(file.data() + at + 4),
                       static_cast<uLong>(file.size() - at - 4)),
            Z_OK);
  EXPECT_EQ(rows, std::string("\0\x00\x01\x02\0\xFD\xFE\xFF", 8));
}

// --- contours

/// z = distance from (3, 2): the contour at r is the circle of radius r.
Field cone(double step) {
  Field f{0.0, 0.0, step, static_cast<int>(6.0 / step) + 1, static_cast<int>(4.0 / step) + 1, {}};
  for (int r = 0; r < f.rows; ++r)
    for (int c = 0; c < f.columns; ++c) f.values.push_back(std::hypot(c * step - 3.0, r * step - 2.0));
  return f;
}

TEST(Contours, OfAConeAreCircles) {
  const double step = 0.05;
  const auto lines = contour(cone(step), 1.5);
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_TRUE(lines[0].is_closed);
  // Linear interpolation along an edge of length h errs by at most h^2 / (8 r) where the field has curvature
  // 1 / r.
  const double error = step * step / (8.0 * 1.5);
  for (const Point2& p : lines[0].points) EXPECT_NEAR(std::hypot(p.x - 3.0, p.y - 2.0), 1.5, error);
  // A polygon inscribed in a circle with chords up to h sqrt 2 is short by (chord / r)^2 / 24 of its length.
  EXPECT_NEAR(length_of(lines[0]), 2.0 * kPi * 1.5,
              2.0 * kPi * 1.5 * 2.0 * step * step / (24.0 * 1.5 * 1.5) + 7.0 * error);
}

TEST(Contours, ThatLeaveTheGridAreOpen) {
  // At radius 2.5 the circle crosses the south and north edges (2 m away): two open arcs remain.
  const auto lines = contour(cone(0.05), 2.5);
  ASSERT_EQ(lines.size(), 2U);
  for (const Polyline& line : lines) EXPECT_FALSE(line.is_closed);
}

TEST(Contours, SaddleIsDecidedByTheMiddle) {
  // Corners 2 0 / 0 2 with mean 1: at 0.9 the high corners are joined, so each line cuts off a low corner.
  const Field f{0.0, 0.0, 1.0, 2, 2, {2.0, 0.0, 0.0, 2.0}};
  const auto lines = contour(f, 0.9);
  ASSERT_EQ(lines.size(), 2U);
  for (const Polyline& line : lines)
    for (const Point2& p : line.points) {
      const bool near_low_corner = std::hypot(p.x - 1.0, p.y) < 0.6 || std::hypot(p.x, p.y - 1.0) < 0.6;
      EXPECT_TRUE(near_low_corner) << p.x << " " << p.y;
    }
}

TEST(Contours, DrawableFieldGoesThroughTheComputedValues) {
  results::PlanGrid g;
  g.x0_m = 1.0;
  g.y0_m = 2.0;
  g.step_m = 0.5;
  g.columns = 3;
  g.rows = 2;
  g.values_lx = {100.0F, 200.0F, -1.0F, 300.0F, 400.0F, 500.0F};
  const Field f = drawable(g, 4);
  // Two rings of half a metre were added, so the first computed point is 8 fine columns in.
  EXPECT_DOUBLE_EQ(f.x0_m, 0.0);
  EXPECT_NEAR(f.at(8, 8), 100.0, 1e-9);
  EXPECT_NEAR(f.at(12, 8), 200.0, 1e-9);
  EXPECT_NEAR(f.at(16, 12), 500.0, 1e-9);
  // The hole takes the mean of its known neighbours: 200, 400, 500.
  EXPECT_NEAR(f.at(16, 8), 1100.0 / 3.0, 1e-9);
  g.values_lx.assign(6, -1.0F);
  EXPECT_TRUE(drawable(g, 4).values.empty());
}

// A room at 373 to 505 lx with the dark back of a shelf beside it must not show a 750 lx contour.
TEST(Contours, DrawnValuesStayBetweenTheComputedOnesAroundThem) {
  results::PlanGrid g;
  g.columns = 6;
  g.rows = 4;
  g.values_lx = {505, 490, 40,  38, 460, 470,  //
                 500, 480, 2,   30, 450, 373,  //
                 490, 5,   3,   41, 440, 380,  //
                 480, 470, 430, 44, 430, 390};
  constexpr int kFactor = 4;
  constexpr int kAdded = 2;  // rings
  const Field f = drawable(g, kFactor);
  const auto value = [&](int c, int r) {
    return static_cast<double>(g.values_lx[static_cast<std::size_t>(r * g.columns + c)]);
  };
  for (int r = 0; r < (g.rows - 1) * kFactor; ++r)
    for (int c = 0; c < (g.columns - 1) * kFactor; ++c) {
      const int i = c / kFactor, k = r / kFactor;
      const auto [low, high] =
          std::minmax({value(i, k), value(i + 1, k), value(i, k + 1), value(i + 1, k + 1)});
      const double drawn = f.at(c + kAdded * kFactor, r + kAdded * kFactor);
      // Logarithm and exponential round off in the sixteenth digit.
      EXPECT_GE(drawn, low * (1.0 - 1e-12)) << c << " " << r;
      EXPECT_LE(drawn, high * (1.0 + 1e-12)) << c << " " << r;
    }
}

TEST(Contours, FurnitureDoesNotPunchHolesInTheLight) {
  results::PlanGrid g;
  g.step_m = 0.5;
  g.columns = 7;
  g.rows = 5;
  g.values_lx.assign(35, 400.0F);
  const auto at = [&](const results::PlanGrid& grid, int c, int r) {
    return grid.values_lx[static_cast<std::size_t>(r * 7 + c)];
  };
  const auto set = [&](int c, int r, float v) { g.values_lx[static_cast<std::size_t>(r * 7 + c)] = v; };
  set(1, 2, 0.0F);    // inside a closed counter
  set(3, 2, 380.0F);  // on a table's top
  set(5, 2, 900.0F);  // on top of a shelf
  set(6, 0, 10.0F);   // a dark corner where nothing stands
  const auto piece = [](double x, double top_m) {
    return domain::Furniture{"f", "f", rectangle({x - 0.2, 0.8}, {x + 0.2, 1.2}), 0.0, top_m, {}};
  };
  const results::PlanGrid seen = beside_furniture(g, {piece(0.5, 1.05), piece(1.5, 0.75), piece(2.5, 2.1)});
  EXPECT_FLOAT_EQ(at(seen, 1, 2), 400.0F);
  EXPECT_FLOAT_EQ(at(seen, 3, 2), 380.0F);
  EXPECT_FLOAT_EQ(at(seen, 5, 2), 400.0F);
  EXPECT_FLOAT_EQ(at(seen, 6, 0), 10.0F);
}

TEST(Contours, LevelsAreRoundAndHoldEveryTarget) {
  const auto levels = contour_levels(73.0, 1180.0, {320.0, 5000.0});
  EXPECT_TRUE(std::is_sorted(levels.begin(), levels.end()));
  EXPECT_NE(std::find(levels.begin(), levels.end(), 320.0), levels.end());
  EXPECT_EQ(std::find(levels.begin(), levels.end(), 5000.0), levels.end());
  EXPECT_LE(levels.size(), 8U);
}

TEST(Contours, SimplifiedLineStaysWithinItsTolerance) {
  std::vector<Point2> wave;
  for (int i = 0; i <= 200; ++i) wave.push_back({0.1 * i, std::sin(0.1 * i)});
  const auto fewer = simplified(wave, 0.02);
  EXPECT_LT(fewer.size(), 60U);
  for (const Point2& p : wave) {
    double nearest = 1e9;
    for (std::size_t i = 1; i < fewer.size(); ++i)
      nearest = std::min(nearest, distance_to_segment(p, fewer[i - 1], fewer[i]));
    EXPECT_LE(nearest, 0.02 + 1e-12);
  }
}

// --- plan and charts

std::string plan_of(const Fixture& f) {
  Markup page;
  draw_plan(page, f.project, f.project.designs[0], f.project.spaces[0], f.study.spaces[0],
            &f.study.spaces[0].grids[0], "p");
  return page.str();
}

TEST(Plan, DrawsEverythingThatStandsInTheRoom) {
  const std::string svg = plan_of(fixture());
  EXPECT_EQ(count(svg, "class=\"lum\""), 20U);
  EXPECT_EQ(count(svg, "class=\"tab\""), 3U) << "luminaires that light the way out";
  EXPECT_EQ(count(svg, "class=\"token\""), 2U + 2U + 2U + 1U + 1U);
  EXPECT_EQ(count(svg, "class=\"cover\""), 2U);
  EXPECT_EQ(count(svg, "class=\"cover small\""), 2U);
  EXPECT_EQ(count(svg, "class=\"glass\""), 5U);
  EXPECT_EQ(count(svg, "class=\"skylight\""), 1U);
  EXPECT_EQ(count(svg, "class=\"leaf\""), 2U);
  EXPECT_EQ(count(svg, "class=\"zone\""), 2U);
  EXPECT_EQ(count(svg, "class=\"letterbox\""), 4U);
  EXPECT_EQ(count(svg, "class=\"table\""), 8U);
  EXPECT_NE(svg.find("14.4 m"), std::string::npos);
  EXPECT_NE(svg.find("9.6 m"), std::string::npos);
  EXPECT_NE(svg.find("class=\"iso target\""), std::string::npos) << "the 400 lx of the tables";
  EXPECT_NE(svg.find("rotate(-20)"), std::string::npos)
      << "counter-clockwise in plan is negative on the page";
  EXPECT_NE(svg.find("rotate(-12)"), std::string::npos) << "north";
}

TEST(Plan, LeavesOutWhatIsRemoved) {
  Fixture f = fixture();
  f.project.designs[0].luminaires[0].status = domain::Status::remove;
  f.project.designs[0].occupancy_sensors[0].status = domain::Status::remove;
  const std::string svg = plan_of(f);
  EXPECT_EQ(count(svg, "class=\"lum\""), 19U);
  EXPECT_EQ(count(svg, "class=\"cover\""), 1U);
}

// A door in the south wall (edge 0 runs east, the room lies north of it) at 1 m to 2 m. Seen from inside and
// facing south, left is east: a left latch is at 2 m and the hinge at 1 m; swung in, the leaf stands north of
// the hinge.
TEST(Plan, DoorsHingeOppositeTheirLatch) {
  Fixture f = fixture();
  domain::Space& s = f.project.spaces[0];
  s.doors.resize(1);
  s.doors[0].wall = 0;
  s.doors[0].offset_m = 1.0;
  s.doors[0].width_m = 1.0;
  s.doors[0].latch = domain::Door::Latch::left;
  s.doors[0].swing = domain::Door::Swing::in;
  const std::string svg = plan_of(f);
  const std::size_t at = svg.find("class=\"leaf\" d=\"M") + 16;
  double x0 = 0.0, y0 = 0.0, x1 = 0.0, y1 = 0.0;
  ASSERT_EQ(std::sscanf(svg.c_str() + at + 1, "%lf %lfL%lf %lf", &x0, &y0, &x1, &y1), 4)
      << svg.substr(at, 60);
  const double scale = 690.0 / 14.4;
  EXPECT_NEAR(x0, 48.0 + 1.0 * scale, 0.01);
  EXPECT_NEAR(x1, x0, 0.01);
  EXPECT_NEAR(y0 - y1, scale, 0.02) << "up the page is into the room";
}

TEST(Year, PictureHasMidnightAtTheFoot) {
  results::YearPicture y;
  y.unit = "fraction";
  y.per_day = 24;
  y.values.assign(365U * 24U, 0.0F);
  EXPECT_TRUE(is_drawable(y));
  y.values.pop_back();
  EXPECT_FALSE(is_drawable(y));
}

TEST(Charts, NegativeSharesRunToTheLeftOfTheLine) {
  Markup page;
  draw_shares(page, {{"daylight", {100.0, 90.0, 110.0, 1.0}}, {"standby", {-20.0, -22.0, -18.0, 0.1}}});
  const std::string svg = page.str();
  EXPECT_EQ(count(svg, "class=\"bar against\""), 1U);
  EXPECT_NE(svg.find("\u221220.0 kWh"), std::string::npos) << svg;
}

TEST(Charts, RailHoldsZeroAndTheInterval) {
  const Rail saving = rail_for(0.46, 0.41, 0.51, "fraction");
  EXPECT_EQ(saving.from, 0.0);
  EXPECT_EQ(saving.to, 1.0);
  const Rail worse = rail_for(-0.1, -0.2, 0.05, "fraction");
  EXPECT_LT(worse.from, -0.2);
  EXPECT_GE(rail_for(69.0, 60.0, 80.0, "kWh").to, 80.0);
}

TEST(Markup, EscapesTextAndAttributes) {
  Markup page;
  {
    const auto p = page.open("p", {{"title", "\"><script>'&"}});
    page.text("<b>\x01");
  }
  EXPECT_EQ(page.str(), "<p title=\"&quot;&gt;&lt;script&gt;&#39;&amp;\">&lt;b&gt;</p>\n");
  EXPECT_EQ(num(1.0 / 3.0), "0.33");
  EXPECT_EQ(num(-0.001), "0");
  EXPECT_EQ(num(1200.0), "1200");
}

}  // namespace
}  // namespace halflight::report
