#include "report/charts.hpp"

#include "wording/figures.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::report {
namespace {

constexpr double kRow_px = 26.0;

void whisker(Markup& page, double x0, double x1, double y) {
  page.empty("path", {{"class", "whisker"},
                      {"d", "M" + num(x0) + " " + num(y) + "H" + num(x1) + "M" + num(x0) + " " + num(y - 3) +
                                "v6M" + num(x1) + " " + num(y - 3) + "v6"}});
}

}  // namespace

Rail rail_for(double value, double low, double high, std::string_view unit) {
  Rail rail{0.0, 1.0, low, high, value, std::nullopt};
  const double top = std::max({value, high, 0.0});
  const double bottom = std::min({value, low, 0.0});
  if (unit == "fraction" && top <= 1.0)
    rail.to = 1.0;
  else
    rail.to = top > 0.0 ? 1.25 * top : 1.0;
  rail.from = bottom < 0.0 ? 1.25 * bottom : 0.0;
  return rail;
}

void draw_rail(Markup& page, const Rail& rail, std::string_view label) {
  const auto svg = page.open(
      "svg", {{"class", "rail"}, {"viewBox", "0 0 290 16"}, {"role", "img"}, {"aria-label", label}});
  const auto x = [&](double v) {
    return 4.0 + 282.0 * std::clamp((v - rail.from) / (rail.to - rail.from), 0.0, 1.0);
  };
  page.empty("path", {{"class", "track"}, {"d", "M4 8H286"}});
  if (rail.from < 0.0) page.empty("path", {{"class", "zero"}, {"d", "M" + num(x(0.0)) + " 4v8"}});
  page.empty("path",
             {{"class", "interval"}, {"d", "M" + num(x(rail.low)) + " 8H" + num(x(rail.high) + 0.01)}});
  if (rail.as_usually_found)
    page.empty("path", {{"class", "found"}, {"d", "M" + num(x(*rail.as_usually_found)) + " 2.5V13.5"}});
  page.empty("circle", {{"class", "point"}, {"cx", x(rail.value)}, {"cy", 8.0}, {"r", 3.4}});
}

void draw_case_bars(Markup& page, const std::vector<CaseBar>& bars) {
  double top = 0.0;
  for (const CaseBar& b : bars) top = std::max({top, b.kwh.mean, b.kwh.high});
  if (!(top > 0.0)) return;
  const auto svg =
      page.open("svg", {{"class", "bars"},
                        {"viewBox", "0 0 560 " + num(kRow_px * static_cast<double>(bars.size()) + 4.0)},
                        {"role", "img"},
                        {"aria-label", "Energy of a year by case, kWh"}});
  const auto x = [&](double kwh) { return 196.0 + 248.0 * kwh / top; };
  double y = 14.0;
  for (const CaseBar& b : bars) {
    page.leaf("text", {{"class", "barname"}, {"x", 188.0}, {"y", y + 4.5}, {"text-anchor", "end"}}, b.name);
    page.empty("rect", {{"class", "bar"},
                        {"x", x(0.0)},
                        {"y", y - 7.0},
                        {"width", x(b.kwh.mean) - x(0.0)},
                        {"height", 14.0}});
    if (b.standby_kwh > 0.0)
      page.empty("rect", {{"class", "standby"},
                          {"x", x(std::max(0.0, b.kwh.mean - b.standby_kwh))},
                          {"y", y - 7.0},
                          {"width", x(b.standby_kwh) - x(0.0)},
                          {"height", 14.0}});
    whisker(page, x(b.kwh.low), x(b.kwh.high), y);
    page.leaf("text",
              {{"class", "barvalue"}, {"x", x(std::max(b.kwh.high, b.kwh.mean)) + 9.0}, {"y", y + 4.5}},
              wording::printed(b.kwh.mean, b.kwh.low, b.kwh.high, "kWh"));
    y += kRow_px;
  }
}

std::string strategy_name(std::string_view strategy) {
  std::string name(strategy);
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

void draw_shares(Markup& page, const std::vector<results::Share>& shares) {
  double top = 0.0;
  double bottom = 0.0;
  for (const results::Share& s : shares) {
    top = std::max({top, s.kwh.mean, s.kwh.high});
    bottom = std::min({bottom, s.kwh.mean, s.kwh.low});
  }
  if (!(top > bottom)) return;
  const auto svg =
      page.open("svg", {{"class", "bars"},
                        {"viewBox", "0 0 560 " + num(kRow_px * static_cast<double>(shares.size()) + 4.0)},
                        {"role", "img"},
                        {"aria-label", "Share of each strategy in the saving, kWh a year"}});
  const auto x = [&](double kwh) { return 196.0 + 248.0 * (kwh - bottom) / (top - bottom); };
  double y = 14.0;
  for (const results::Share& s : shares) {
    page.leaf("text", {{"class", "barname"}, {"x", 188.0}, {"y", y + 4.5}, {"text-anchor", "end"}},
              strategy_name(s.strategy));
    page.empty("rect", {{"class", s.kwh.mean < 0.0 ? "bar against" : "bar"},
                        {"x", std::min(x(0.0), x(s.kwh.mean))},
                        {"y", y - 7.0},
                        {"width", std::abs(x(s.kwh.mean) - x(0.0))},
                        {"height", 14.0}});
    whisker(page, x(s.kwh.low), x(s.kwh.high), y);
    page.leaf(
        "text",
        {{"class", "barvalue"}, {"x", x(std::max({s.kwh.high, s.kwh.mean, 0.0})) + 9.0}, {"y", y + 4.5}},
        wording::printed(s.kwh.mean, s.kwh.low, s.kwh.high, "kWh"));
    y += kRow_px;
  }
  page.empty("path", {{"class", "zero"}, {"d", "M" + num(x(0.0)) + " 2V" + num(y - 12.0)}});
}

}  // namespace halflight::report
