#include "codes/figures.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace halflight::codes {

bool holds(double value, domain::Comparison comparison, double limit) {
  // Of the limit, not of the value, which may be infinite ("never").
  const double slack = kRelativeSlack * std::max(1.0, std::abs(limit));
  switch (comparison) {
    case domain::Comparison::above:
      return value > limit + slack;
    case domain::Comparison::at_least:
      return value >= limit - slack;
    case domain::Comparison::below:
      return value < limit - slack;
    case domain::Comparison::at_most:
      return value <= limit + slack;
  }
  return false;
}

std::string number_text(double value) {
  if (!std::isfinite(value)) return "an unknown number";
  const int magnitude = value == 0.0 ? 0 : static_cast<int>(std::floor(std::log10(std::abs(value))));
  const int decimals = std::clamp(3 - magnitude, 0, 4);
  std::string text = fmt::format("{:.{}f}", value, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

std::string value_text(double si, const domain::Figure& in_unit_of) {
  const std::string& unit = in_unit_of.unit;
  // The figure itself gives the factor of its unit; a figure of zero has none and is shown in SI.
  const double factor =
      in_unit_of.si != 0.0 && in_unit_of.entered != 0.0 ? in_unit_of.si / in_unit_of.entered : 1.0;
  const std::string shown = number_text(si / factor) + (unit.empty() ? "" : " " + unit);
  const auto with_si = [&](const char* si_unit) {
    return fmt::format("{} ({} {})", shown, number_text(si), si_unit);
  };
  if (unit == "ft2") return with_si("m2");
  if (unit == "ft") return with_si("m");
  if (unit == "W/ft2") return with_si("W/m2");
  if (unit == "fc") return with_si("lx");
  return shown;
}

std::string percent_text(double fraction) { return number_text(100.0 * fraction) + " %"; }

std::optional<double> limit_of(const domain::CodeRule& rule, const std::string& name) {
  const auto found = rule.limits.find(name);
  return found == rule.limits.end() ? std::nullopt : std::optional(found->second.si);
}

}  // namespace halflight::codes
