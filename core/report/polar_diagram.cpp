#include "report/polar_diagram.hpp"

#include "base/units.hpp"
#include "report/markup.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <string_view>

namespace halflight::report {
namespace {

constexpr double kWidth_px = 760.0;
constexpr double kMargin_px = 36.0;
constexpr double kRadius_px = 262.0;
constexpr double kLabels_px = 40.0;  ///< for the angles outside the outermost ring
constexpr double kRow_px = 22.0;
constexpr double kFacts_px = 236.0;

constexpr std::string_view kStyle =
    "svg{background:#faf7f0;font:13px Inter,system-ui,sans-serif;font-variant-numeric:tabular-nums}"
    ".paper{fill:#faf7f0}.title{font:600 26px 'Source Serif 4',Georgia,serif;fill:#23222b}"
    ".heading{font:600 15px 'Source Serif 4',Georgia,serif;fill:#23222b}"
    "text{fill:#23222b}.soft,.angle{fill:#6d6a75}.angle{font-size:12px}.bad{fill:#b2452f}"
    ".ring,.ray{fill:none;stroke:#ddd6c8;stroke-width:1}.outer{stroke:#6d6a75}"
    ".value{font-size:11.5px;fill:#6d6a75;paint-order:stroke;stroke:#faf7f0;stroke-width:4px}"
    ".curve{fill:none;stroke-width:2.2;stroke-linejoin:round}.c0{stroke:#4a3f7a;fill:#e9b87a;fill-opacity:.3}"
    ".c1{stroke:#23222b;stroke-dasharray:8 4}.c2{stroke:#c98a1b;stroke-dasharray:2 3.5}"
    ".key{fill:none}.hair{stroke:#ddd6c8}";

struct Half {
  bool lower = true;
  bool upper = true;
};

Half halves_with_light(const PolarDiagram& diagram, double largest) {
  constexpr double kFaint = 0.01;
  double down = 0.0;
  double up = 0.0;
  for (const PolarCurve& c : diagram.curves)
    for (std::size_t i = 0; i < c.value.size(); ++i) {
      double& part = std::abs(c.angle_deg[i]) <= 90.0 ? down : up;
      part = std::max(part, c.value[i]);
    }
  if (up <= kFaint * largest) return {true, false};
  // The horizontal belongs to both halves, so light from it on is light down.
  if (down <= kFaint * largest) return {false, true};
  return {};
}

/// 1, 2, 2.5 or 5 times a power of ten: at most six rings, the outermost not below the largest value.
double ring_step(double largest) {
  constexpr double kRings = 6.0;
  double step = std::pow(10.0, std::floor(std::log10(largest / kRings)));
  for (const double factor : {1.0, 2.0, 2.5, 5.0, 10.0})
    if (factor * step * kRings >= largest) return factor * step;
  return 10.0 * step;
}

std::vector<std::string> wrapped(const std::string& sentence, std::size_t most) {
  std::vector<std::string> lines(1);
  for (std::size_t at = 0; at < sentence.size();) {
    const std::size_t end = std::min(sentence.find(' ', at), sentence.size());
    const std::string word = sentence.substr(at, end - at);
    if (!lines.back().empty() && lines.back().size() + 1 + word.size() > most) lines.emplace_back();
    lines.back() += (lines.back().empty() ? "" : " ") + word;
    at = end + 1;
  }
  return lines;
}

class Drawing {
 public:
  explicit Drawing(const PolarDiagram& diagram) : diagram_(diagram) {
    for (const PolarCurve& c : diagram.curves)
      for (const double v : c.value) largest_ = std::max(largest_, v);
    half_ = halves_with_light(diagram, largest_);
    const double top = 92.0 + (half_.upper ? kRadius_px + kLabels_px - 8.0 : 0.0);
    centre_y_ = half_.upper ? top : top + 22.0;
    foot_ = centre_y_ + (half_.lower ? kRadius_px + kLabels_px : 30.0);
  }

  std::string svg() {
    Markup body;
    body.leaf("text", {{"class", "title"}, {"x", kMargin_px}, {"y", 46.0}}, diagram_.title);
    body.leaf("text", {{"class", "soft"}, {"x", kMargin_px}, {"y", 68.0}}, diagram_.under);
    body.leaf("text", {{"class", "soft"}, {"x", kWidth_px - kMargin_px}, {"y", 68.0}, {"text-anchor", "end"}},
              diagram_.unit);
    grid(body);
    for (std::size_t i = 0; i < diagram_.curves.size(); ++i) curve(body, i);
    ring_values(body);
    double y = legend(body, foot_ + 24.0);
    y = facts(body, y + 14.0);
    y = suspicions(body, y);

    Markup page;
    const double height = y + 14.0;
    {
      const auto svg = page.open("svg", {{"xmlns", "http://www.w3.org/2000/svg"},
                                         {"width", kWidth_px},
                                         {"height", height},
                                         {"viewBox", "0 0 " + num(kWidth_px) + " " + num(height)},
                                         {"role", "img"},
                                         {"aria-label", diagram_.title + ": polar diagram of intensity"}});
      page.leaf("title", diagram_.title);
      {
        const auto style = page.open("style");
        page.trusted(kStyle);
      }
      page.empty("rect", {{"class", "paper"}, {"width", kWidth_px}, {"height", height}});
      page.trusted(body.str());
    }
    return page.str() + "\n";
  }

 private:
  [[nodiscard]] double x(double angle_deg, double radius) const {
    return kWidth_px / 2.0 + radius * std::sin(angle_deg * kRadPerDeg);
  }
  [[nodiscard]] double y(double angle_deg, double radius) const {
    return centre_y_ + radius * std::cos(angle_deg * kRadPerDeg);
  }
  [[nodiscard]] double outermost() const {
    return largest_ > 0.0 ? step() * std::ceil(largest_ / step() - 1e-9) : 1.0;
  }
  [[nodiscard]] double step() const { return largest_ > 0.0 ? ring_step(largest_) : 1.0; }
  [[nodiscard]] double radius(double value) const { return kRadius_px * value / outermost(); }
  [[nodiscard]] bool shown(double angle_deg) const {
    return std::abs(angle_deg) <= 90.0 ? half_.lower || std::abs(angle_deg) == 90.0 : half_.upper;
  }

  void grid(Markup& page) const {
    for (double value = step(); value <= outermost() * (1 + 1e-9); value += step()) {
      const double r = radius(value);
      const std::string outer = value > outermost() * (1 - 1e-9) ? "ring outer" : "ring";
      if (half_.lower && half_.upper) {
        page.empty("circle", {{"class", outer}, {"cx", kWidth_px / 2.0}, {"cy", centre_y_}, {"r", r}});
      } else {
        page.empty("path",
                   {{"class", outer},
                    {"d", "M" + num(x(-90, r)) + " " + num(centre_y_) + "A" + num(r) + " " + num(r) +
                              " 0 0 " + (half_.lower ? "0 " : "1 ") + num(x(90, r)) + " " + num(centre_y_)}});
      }
    }
    for (int angle = -150; angle <= 180; angle += 30) {
      if (!shown(angle)) continue;
      page.empty("path", {{"class", "ray"},
                          {"d", "M" + num(kWidth_px / 2.0) + " " + num(centre_y_) + "L" +
                                    num(x(angle, kRadius_px)) + " " + num(y(angle, kRadius_px))}});
      // Beside the horizontal stand the values of the rings.
      const double away = kRadius_px + (std::abs(angle) == 90 ? 28.0 : 17.0);
      const std::string label = angle == 0 ? "0° " + diagram_.down : std::to_string(std::abs(angle)) + "°";
      page.leaf(
          "text",
          {{"class", "angle"}, {"x", x(angle, away)}, {"y", y(angle, away) + 4.0}, {"text-anchor", "middle"}},
          label);
    }
  }

  void ring_values(Markup& page) const {
    // Beside the horizontal: on the empty side of half a circle, on the line of a whole one.
    const double shift = half_.lower && half_.upper ? 4.0 : half_.lower ? -7.0 : 16.0;
    for (double value = step(); value <= outermost() * (1 + 1e-9); value += step())
      for (const double side : {-90.0, 90.0})
        page.leaf("text",
                  {{"class", "value"},
                   {"x", x(side, radius(value) - (half_.lower && half_.upper ? 12.0 : 0.0))},
                   {"y", centre_y_ + shift},
                   {"text-anchor", "middle"}},
                  wording::printed(value, ""));
  }

  void curve(Markup& page, std::size_t index) const {
    const PolarCurve& c = diagram_.curves[index];
    std::string path;
    bool at_centre = true;
    for (std::size_t i = 0; i < c.value.size(); ++i) {
      if (!shown(c.angle_deg[i])) continue;
      const double r = radius(c.value[i]);
      // One point at the centre stands for a dark range.
      if (r < 0.05 && at_centre && !path.empty()) continue;
      at_centre = r < 0.05;
      path += (path.empty() ? "M" : "L") + num(x(c.angle_deg[i], r), 1) + " " + num(y(c.angle_deg[i], r), 1);
    }
    page.empty("path", {{"class", "curve c" + std::to_string(std::min<std::size_t>(index, 2))}, {"d", path}});
  }

  double legend(Markup& page, double at) const {
    for (std::size_t i = 0; i < diagram_.curves.size(); ++i) {
      const PolarCurve& c = diagram_.curves[i];
      page.empty("path", {{"class", "curve key c" + std::to_string(std::min<std::size_t>(i, 2))},
                          {"style", "fill:none"},
                          {"d", "M" + num(kMargin_px) + " " + num(at - 4.5) + "h46"}});
      page.leaf("text", {{"x", kMargin_px + 58.0}, {"y", at}}, c.name);
      page.leaf("text", {{"class", "soft"}, {"x", kFacts_px}, {"y", at}}, c.remark);
      at += kRow_px;
    }
    return at;
  }

  double facts(Markup& page, double at) const {
    if (diagram_.facts.empty()) return at;
    page.empty("path",
               {{"class", "hair"},
                {"d", "M" + num(kMargin_px) + " " + num(at - 24.0) + "H" + num(kWidth_px - kMargin_px)}});
    for (const auto& [name, value] : diagram_.facts) {
      page.leaf("text", {{"class", "soft"}, {"x", kMargin_px}, {"y", at}}, name);
      page.leaf("text", {{"x", kFacts_px}, {"y", at}}, value);
      at += kRow_px;
    }
    return at;
  }

  double suspicions(Markup& page, double at) const {
    if (diagram_.suspicions.empty()) return at;
    at += 20.0;
    page.leaf("text", {{"class", "heading"}, {"x", kMargin_px}, {"y", at}}, "Looks suspicious");
    at += kRow_px;
    for (const std::string& sentence : diagram_.suspicions)
      for (const std::string& line : wrapped(sentence, 104)) {
        page.leaf("text", {{"class", "bad"}, {"x", kMargin_px}, {"y", at}}, line);
        at += 18.0;
      }
    return at + 4.0;
  }

  const PolarDiagram& diagram_;
  double largest_ = 0.0;
  Half half_;
  double centre_y_ = 0.0;
  double foot_ = 0.0;
};

}  // namespace

std::string polar_diagram_svg(const PolarDiagram& diagram) { return Drawing(diagram).svg(); }

}  // namespace halflight::report
