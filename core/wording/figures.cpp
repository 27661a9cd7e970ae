#include "wording/figures.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <system_error>

namespace halflight::wording {
namespace {

constexpr std::string_view kMinus = "\u2212";
constexpr std::string_view kNarrowSpace = "\u202F";
constexpr int kSignificantDigitsWithoutInterval = 3;

/// floor(log10(|v|)), exact at powers of ten; v is not zero.
int exponent_of(double v) {
  v = std::abs(v);
  int e = static_cast<int>(std::floor(std::log10(v)));
  if (std::pow(10.0, e + 1) <= v) ++e;
  if (std::pow(10.0, e) > v) --e;
  return e;
}

/// What a unit prints as, and the factor on the number in front of it.
struct PrintedUnit {
  double factor = 1.0;
  std::string suffix;
};

PrintedUnit printed_unit(std::string_view unit) {
  if (unit == "fraction") return {100.0, " %"};
  if (unit == "points") return {100.0, " points"};
  if (unit == "m2") return {1.0, " m\u00B2"};
  if (unit == "W/m2") return {1.0, " W/m\u00B2"};
  if (unit.empty() || unit == "count" || unit == "1") return {};
  return {1.0, " " + std::string(unit)};
}

/// Shortest text of a number that somebody typed, to `decimals` at most.
std::string typed(double value, int decimals) {
  const double scale = std::pow(10.0, decimals);
  const double nearest = std::round(value * scale) / scale;
  int place = 0;
  while (place > -decimals &&
         std::abs(nearest - std::round(nearest * std::pow(10.0, -place)) * std::pow(10.0, place)) > 1e-9)
    --place;
  return rounded(nearest, place);
}

}  // namespace

int decimal_place(double value, double low, double high) {
  const double half = 0.5 * std::abs(high - low);
  if (!(half > 0.0) || !std::isfinite(half)) {
    if (value == 0.0 || !std::isfinite(value)) return 0;
    return exponent_of(value) - (kSignificantDigitsWithoutInterval - 1);
  }
  const int e = exponent_of(half);
  // Rounding to whole thousandths first keeps 0.0355 (three leading digits 355) from falling under by one
  // bit.
  const int leading = static_cast<int>(std::round(half / std::pow(10.0, e) * 100.0));
  return leading <= 354 ? e - 1 : e;
}

std::string rounded(double value, int place) {
  if (!std::isfinite(value)) return "no value";
  const double step = std::pow(10.0, std::abs(place));
  const double whole = std::round(place >= 0 ? value / step : value * step);
  const double nearest = place >= 0 ? whole * step : whole / step;
  char digits[64];
  const auto written = std::to_chars(digits, digits + sizeof digits, std::abs(nearest),
                                     std::chars_format::fixed, std::max(0, -place));
  if (written.ec != std::errc()) return "no value";  // more than 60 digits: nothing a study can hold
  const std::string_view text(digits, static_cast<std::size_t>(written.ptr - digits));
  const std::size_t whole_digits = std::min(text.find('.'), text.size());
  std::string out = nearest < 0.0 ? std::string(kMinus) : "";
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (i > 0 && i < whole_digits && whole_digits >= 5 && (whole_digits - i) % 3 == 0) out += kNarrowSpace;
    out += text[i];
  }
  return out;
}

std::string printed(double value, double low, double high, std::string_view unit) {
  const PrintedUnit u = printed_unit(unit);
  const int place = decimal_place(value * u.factor, low * u.factor, high * u.factor);
  return rounded(value * u.factor, place) + u.suffix;
}

std::string printed_interval(double low, double high, std::string_view unit) {
  const PrintedUnit u = printed_unit(unit);
  const int place = decimal_place(low * u.factor, low * u.factor, high * u.factor);
  return rounded(low * u.factor, place) + " to " + rounded(high * u.factor, place) + u.suffix;
}

std::string printed(double value, std::string_view unit) {
  const PrintedUnit u = printed_unit(unit);
  const double shown = value * u.factor;
  const int place = decimal_place(shown, shown, shown);
  // Without an interval, zeros at the end would claim a precision that nobody stated.
  return place >= 0
             ? rounded(shown, place) + u.suffix
             : typed(std::round(shown * std::pow(10.0, -place)) / std::pow(10.0, -place), -place) + u.suffix;
}

std::string percent(double fraction) { return typed(100.0 * fraction, 1) + " %"; }

std::string duration(double seconds) {
  const auto whole = [&](double unit_s) { return std::fmod(seconds, unit_s) == 0.0; };
  if (seconds >= 3600.0 && whole(3600.0)) return typed(seconds / 3600.0, 0) + " h";
  if (seconds >= 60.0 && whole(60.0)) return typed(seconds / 60.0, 0) + " min";
  return typed(seconds, 1) + " s";
}

std::string clock_reading(Seconds after_midnight_s) {
  if (after_midnight_s == kDay) return "24:00";
  const std::string text = civil_text(after_midnight_s);
  return text.substr(text.rfind(' ') + 1);
}

}  // namespace halflight::wording
