#include "report/polar_diagram.hpp"

#include <cmath>
#include <cstddef>
#include <string>

#include <gtest/gtest.h>

namespace halflight::report {
namespace {

PolarDiagram diagram(double (*value)(double angle_deg), double end = 180.0) {
  PolarDiagram d;
  d.title = "A <luminaire> & its light";
  d.under = "a.ies";
  d.unit = "cd";
  PolarCurve c{"C0 to C180", "", {}, {}};
  for (double a = -end; a <= end; a += 0.5) {
    c.angle_deg.push_back(a);
    c.value.push_back(value(a));
  }
  d.curves.push_back(c);
  return d;
}

double cosine(double angle_deg) { return std::max(0.0, std::cos(angle_deg * 3.14159265358979 / 180.0)); }

std::size_t count(const std::string& text, std::string_view what) {
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += what.size()) ++found;
  return found;
}

/// First and last point of the path with that class.
std::string path_of(const std::string& svg, const std::string& kind) {
  const std::size_t at = svg.find("class=\"" + kind + "\" d=\"");
  const std::size_t begin = at + kind.size() + 12;
  return svg.substr(begin, svg.find('"', begin) - begin);
}

TEST(PolarDiagram, RingsAreRoundAndReachTheLargestValue) {
  const std::string svg = polar_diagram_svg(diagram([](double a) { return 870.0 * cosine(a); }));
  for (const char* ring : {">200<", ">400<", ">600<", ">800<", ">1000<"})
    EXPECT_EQ(count(svg, ring), 2U) << ring;
  EXPECT_EQ(count(svg, ">1200<"), 0U);
  const std::string exact = polar_diagram_svg(diagram([](double a) { return 3000.0 * cosine(a); }));
  EXPECT_EQ(count(exact, ">3000<"), 2U);
  EXPECT_EQ(count(exact, ">3500<"), 0U);
}

TEST(PolarDiagram, OnlyTheHalfWithLightIsDrawn) {
  const std::string down = polar_diagram_svg(diagram(cosine));
  EXPECT_EQ(count(down, ">0° down<"), 1U);
  EXPECT_EQ(count(down, ">90°<"), 2U);
  EXPECT_EQ(count(down, ">150°<"), 0U);
  const std::string up = polar_diagram_svg(diagram([](double a) { return cosine(180.0 - a); }));
  EXPECT_EQ(count(up, ">0° down<"), 0U);
  EXPECT_EQ(count(up, ">180°<"), 1U);
  const std::string both =
      polar_diagram_svg(diagram([](double a) { return cosine(a) + 0.3 * cosine(180.0 - a); }));
  EXPECT_EQ(count(both, ">0° down<"), 1U);
  EXPECT_EQ(count(both, ">180°<"), 1U);
  EXPECT_GT(count(both, "<circle"), 3U);
}

TEST(PolarDiagram, DownIsDownAndPositiveAnglesAreRight) {
  // All of the light between 30 and 60 degrees to the right: the curve never crosses the middle.
  const std::string svg =
      polar_diagram_svg(diagram([](double a) { return a >= 30.0 && a <= 60.0 ? 100.0 : 0.0; }));
  const std::string path = path_of(svg, "curve c0");
  double least_x = 1e9, most_x = 0.0, most_y = 0.0, first_y = -1.0;
  for (std::size_t at = 0; at < path.size();) {
    std::size_t used = 0;
    const double x = std::stod(path.substr(at + 1), &used);
    at += 1 + used;
    const double y = std::stod(path.substr(at), &used);
    at += used + (at + used < path.size() && path[at + used] == ' ' ? 1 : 0);
    least_x = std::min(least_x, x);
    most_x = std::max(most_x, x);
    most_y = std::max(most_y, y);
    if (first_y < 0.0) first_y = y;
  }
  EXPECT_NEAR(least_x, 380.0, 0.05);                          // the middle of 760 px
  EXPECT_NEAR(most_x, 380.0 + 262.0 * std::sqrt(0.75), 0.1);  // sin 60 of the outermost ring
  EXPECT_NEAR(most_y - first_y, 262.0 * std::sqrt(0.75), 0.1);
}

TEST(PolarDiagram, TextOfTheFileCannotBecomeMarkup) {
  PolarDiagram d = diagram(cosine);
  d.suspicions = {"</text><script>alert(1)</script>"};
  d.facts = {{"a & b", "<b>"}};
  const std::string svg = polar_diagram_svg(d);
  EXPECT_EQ(svg.find("<script"), std::string::npos);
  EXPECT_NE(svg.find("A &lt;luminaire&gt; &amp; its light"), std::string::npos);
  EXPECT_NE(svg.find("a &amp; b"), std::string::npos);
}

TEST(PolarDiagram, LongSentencesWrap) {
  PolarDiagram d = diagram(cosine);
  std::string words;
  for (int i = 0; i < 60; ++i) words += "word ";
  d.suspicions = {words};
  EXPECT_EQ(count(polar_diagram_svg(d), "class=\"bad\""), 3U);  // 300 characters in lines of at most 104
}

TEST(PolarDiagram, OfADarkLuminaireHasNoCurveToScale) {
  const std::string svg = polar_diagram_svg(diagram([](double) { return 0.0; }));
  EXPECT_EQ(svg.find("nan"), std::string::npos);
  EXPECT_EQ(svg.find("inf"), std::string::npos);
}

}  // namespace
}  // namespace halflight::report
