#include "formats/quantity_text.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

namespace halflight::formats {

const Dimension kLength = {
    "a length",
    "2.7 m",
    {{"m", 1.0}, {"cm", 0.01}, {"mm", 0.001}, {"ft", kMetresPerFoot}, {"in", kMetresPerFoot / 12}}};
const Dimension kIlluminance = {"an illuminance", "300 lx", {{"lx", 1.0}, {"fc", kLuxPerFootcandle}}};
const Dimension kLuminance = {"a luminance", "350 cd/m2", {{"cd/m2", 1.0}}};
const Dimension kDuration = {"a duration", "15 min", {{"s", 1.0}, {"min", 60.0}, {"h", 3600.0}}};
const Dimension kPower = {"a power", "35 W", {{"W", 1.0}, {"kW", 1000.0}}};
const Dimension kAngle = {"an angle", "15 deg", {{"deg", 1.0}}};
const Dimension kLuminousFlux = {"a luminous flux", "4000 lm", {{"lm", 1.0}}};
const Dimension kColourTemperature = {"a colour temperature", "4000 K", {{"K", 1.0}}};
const Dimension kCurrent = {"a current", "16 A", {{"A", 1.0}, {"mA", 0.001}}};
const Dimension kVoltage = {"a voltage", "230 V", {{"V", 1.0}}};
const Dimension kRadioPower = {"a radio power", "-85 dBm", {{"dBm", 1.0}}};
const Dimension kDecibels = {"a ratio in decibels", "2 dB", {{"dB", 1.0}}};

namespace {

const Unit* find_unit(const Dimension& dimension, std::string_view symbol) {
  for (const Unit& unit : dimension.units)
    if (unit.symbol == symbol) return &unit;
  return nullptr;
}

tl::unexpected<Diagnostics> refuse(std::string problem, std::string remedy) {
  return tl::unexpected(
      Diagnostics{{Diagnostic::Severity::error, "", "", std::move(problem), std::move(remedy)}});
}

std::string shown(std::string_view text) {
  return text.size() <= 40 ? fmt::format("\"{}\"", text) : fmt::format("\"{}...\"", text.substr(0, 40));
}

std::string how_to_write(const Dimension& dimension) {
  return fmt::format("write {} in {}, such as \"{}\"", dimension.noun, unit_list(dimension),
                     dimension.example);
}

/// Digits with an optional decimal part at the head of `text`; 0 characters when there are none.
std::size_t decimal_length(std::string_view text) {
  const auto digits = [&](std::size_t from) {
    while (from < text.size() && text[from] >= '0' && text[from] <= '9') ++from;
    return from;
  };
  const std::size_t whole = digits(0);
  if (whole == 0 || whole >= text.size() || text[whole] != '.') return whole;
  const std::size_t end = digits(whole + 1);
  return end > whole + 1 ? end : whole;
}

}  // namespace

std::string unit_list(const Dimension& dimension) {
  std::string list;
  for (std::size_t i = 0; i < dimension.units.size(); ++i) {
    if (i > 0) list += i + 1 == dimension.units.size() ? " or " : ", ";
    list += dimension.units[i].symbol;
  }
  return list;
}

Result<double> parse_quantity(std::string_view text, const Dimension& dimension, std::string_view unit) {
  const double own_factor = find_unit(dimension, unit)->factor;
  std::string_view rest = text;
  double sign = 1.0;
  if (!rest.empty() && (rest.front() == '-' || rest.front() == '+')) {
    if (rest.front() == '-') sign = -1.0;
    rest.remove_prefix(1);
  }
  double sum = 0.0;
  double previous_factor = HUGE_VAL;
  while (true) {
    const std::size_t length = decimal_length(rest);
    if (length == 0)
      return refuse(shown(text) + " is not " + std::string(dimension.noun), how_to_write(dimension));
    double number = 0.0;
    if (std::from_chars(rest.data(), rest.data() + length, number).ec != std::errc()) {
      // Too small for a number is zero; too large is beyond every range.
      const std::string_view whole = rest.substr(0, std::min(rest.find('.'), length));
      number = whole.find_first_not_of('0') == std::string_view::npos ? 0.0 : HUGE_VAL;
    }
    rest.remove_prefix(length);
    if (!rest.empty() && rest.front() == ' ') rest.remove_prefix(1);
    const std::size_t symbol_end = std::min(rest.find(' '), rest.size());
    const std::string_view symbol = rest.substr(0, symbol_end);
    if (symbol.empty()) return refuse(shown(text) + " lacks a unit", how_to_write(dimension));
    const Unit* found = find_unit(dimension, symbol);
    if (found == nullptr)
      return refuse(fmt::format("{} has a unit that {} cannot have", shown(text), dimension.noun),
                    how_to_write(dimension));
    if (found->factor >= previous_factor)
      return refuse(shown(text) + " names its units out of order", "go from the larger unit to the smaller");
    previous_factor = found->factor;
    // The ratio first: a value typed in its own unit is then read without rounding.
    sum += number * (found->factor / own_factor);
    rest.remove_prefix(symbol_end);
    if (rest.empty()) break;
    rest.remove_prefix(1);
  }
  return sign * sum;
}

std::string quantity_text(double value, const Dimension& dimension, std::string_view unit) {
  const std::string_view printed_unit =
      &dimension == &kDuration && unit == "s" && value != 0.0 && std::fmod(value, 60.0) == 0.0 ? "min" : unit;
  const double printed = printed_unit == unit ? value : value / 60.0;
  // Fixed notation: an exponent is no way to type a length.
  std::string digits = fmt::format("{:.17f}", printed);
  for (int places = 0; places <= 17; ++places) {
    std::string shorter = fmt::format("{:.{}f}", printed, places);
    double back = 0.0;
    std::from_chars(shorter.data(), shorter.data() + shorter.size(), back);
    if (back == printed) {
      digits = std::move(shorter);
      break;
    }
  }
  return fmt::format("{} {}", digits, printed_unit);
}

std::string quantity_pattern(const Dimension& dimension) {
  std::string symbols;
  for (const Unit& unit : dimension.units) symbols += (symbols.empty() ? "" : "|") + std::string(unit.symbol);
  const std::string part = fmt::format("[0-9]+(\\.[0-9]+)? ?({})", symbols);
  return fmt::format("^[-+]?{}( {})*$", part, part);
}

}  // namespace halflight::formats
