#include "cli/instant.hpp"

#include "cli/number.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace halflight::cli {

namespace {

/// Takes fixed-width fields off the front of a text; remembers the first that did not fit.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : rest_(text) {}

  int digits(std::size_t count) {
    const std::string_view field = rest_.substr(0, count);
    const bool all_digits = field.size() == count && field.find_first_not_of("0123456789") == field.npos;
    if (!all_digits) {
      ok_ = false;
      return 0;
    }
    rest_.remove_prefix(count);
    return *parse_number<int>(field);
  }
  double seconds() {
    const std::size_t length = std::min(rest_.find_first_not_of("0123456789."), rest_.size());
    const auto value = parse_number<double>(rest_.substr(0, length));
    ok_ = ok_ && length >= 2 && value.has_value();
    rest_.remove_prefix(length);
    return value.value_or(0.0);
  }
  bool take(char c) {
    if (!rest_.starts_with(c)) return false;
    rest_.remove_prefix(1);
    return true;
  }
  void require(char c) { ok_ = take(c) && ok_; }
  [[nodiscard]] bool at_end() const { return rest_.empty(); }
  [[nodiscard]] bool ok() const { return ok_; }

 private:
  std::string_view rest_;
  bool ok_ = true;
};

std::chrono::year_month_day calendar_day(const Instant& t) {
  return std::chrono::year(t.year) / std::chrono::month(static_cast<unsigned>(t.month)) /
         std::chrono::day(static_cast<unsigned>(t.day));
}

std::string offset_text(long long minutes) {
  return fmt::format("{}{:02}:{:02}", minutes < 0 ? '-' : '+', std::abs(minutes) / 60,
                     std::abs(minutes) % 60);
}

tl::unexpected<Diagnostics> refused(std::string_view option, std::string problem, std::string remedy) {
  return tl::unexpected(Diagnostics{
      {Diagnostic::Severity::error, std::string(option), "", std::move(problem), std::move(remedy)}});
}

/// "2026-03-17T14:35".
std::string written(const Instant& t) {
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}", t.year, t.month, t.day, t.hour, t.minute);
}

long long offset_at(Seconds standard, const CivilTime& clock, double utc_offset_h) {
  return std::llround(60.0 * utc_offset_h) + clock.shift_at(standard) / kMinute;
}

}  // namespace

Result<Instant> parse_iso8601(std::string_view text, std::string_view option, Offset offset) {
  const bool required = offset == Offset::required;
  const auto refuse = [&](std::string_view why) {
    return refused(option, fmt::format("'{}' {}", text, why),
                   required
                       ? "write the date, the time and the offset from UTC, as in "
                         "2026-03-20T14:30:00-06:00 or 2026-03-20T20:30Z"
                       : "write the date and the time by the clocks of the site, as in 2026-03-17T14:35");
  };
  Instant t;
  Scanner scan(text);
  t.year = scan.digits(4);
  scan.require('-');
  t.month = scan.digits(2);
  scan.require('-');
  t.day = scan.digits(2);
  scan.require('T');
  t.hour = scan.digits(2);
  scan.require(':');
  t.minute = scan.digits(2);
  if (scan.take(':')) t.second = scan.seconds();
  if (!scan.ok()) return refuse("is not a time in ISO 8601");
  t.has_offset = !scan.at_end();
  if (!t.has_offset && required) return refuse("has no offset from UTC");

  const bool west = scan.take('-');
  if (west || scan.take('+')) {
    const int hours = scan.digits(2);
    scan.require(':');
    const int minutes = scan.digits(2);
    if (hours > 14 || minutes > 59) return refuse("has an offset that no clock keeps");
    t.offset_min = (west ? -1 : 1) * (60 * hours + minutes);
  } else if (t.has_offset) {
    scan.require('Z');
  }
  if (!scan.ok() || !scan.at_end()) return refuse("is not a time in ISO 8601");
  if (!calendar_day(t).ok()) return refuse("is not a day of the calendar");
  if (t.hour > 23 || t.minute > 59 || t.second >= 60.0) return refuse("is not a time of day");
  return t;
}

Result<Seconds> second_of_year(const Instant& t, int calendar_year, const CivilTime& clock,
                               double utc_offset_h, std::string_view option) {
  if (t.year != calendar_year)
    return refused(option, fmt::format("the study is of {}, not of {}", calendar_year, t.year),
                   fmt::format("give a day of {}, or change /site/calendar_year", calendar_year));
  const MonthDay day{t.month, t.day};
  if (!is_valid(day))
    return refused(option, "a study has 365 days, and 29 February is not among them",
                   "give the day before or after");
  const Seconds civil = day_of_year(day) * kDay + static_cast<Seconds>(t.second_of_day());
  const auto is_outside = [](Seconds standard) { return standard < 0 || standard >= kYear; };
  std::vector<Seconds> shown = clock.instants(civil);
  if (shown.empty()) {
    const Seconds jump = clock.standard(civil);
    return refused(option,
                   fmt::format("no clock shows {}: clocks go from {} to {}", written(t), civil_text(jump),
                               civil_text(clock.civil(jump))),
                   "give a time before or after");
  }
  std::erase_if(shown, is_outside);
  if (shown.empty())
    return refused(option,
                   fmt::format("{} lies before the study's year or after it, which begins at 00:00 "
                               "standard time on 1 January",
                               written(t)),
                   "give a time that lies within it");
  std::string offsets;
  for (const Seconds standard : shown)
    offsets += (offsets.empty() ? "" : " or ") + offset_text(offset_at(standard, clock, utc_offset_h));
  if (t.has_offset) {
    for (const Seconds standard : shown)
      if (offset_at(standard, clock, utc_offset_h) == t.offset_min) return standard;
    return refused(
        option,
        fmt::format("at {} clocks of the site are not {} from UTC", written(t), offset_text(t.offset_min)),
        fmt::format("write {}, or no offset", offsets));
  }
  if (shown.size() > 1)
    return refused(option, fmt::format("clocks show {} twice", written(t)),
                   fmt::format("write the offset from UTC behind it: {}", offsets));
  return shown.front();
}

std::string clock_text(Seconds standard, int calendar_year, const CivilTime& clock, double utc_offset_h) {
  const Seconds civil = clock.civil(standard);
  Instant midnight{.year = calendar_year};
  midnight.offset_min = static_cast<int>(offset_at(standard, clock, utc_offset_h));
  if (civil < kYear) {
    const MonthDay date = month_day(static_cast<int>(civil / kDay));
    midnight.month = date.month;
    midnight.day = date.day;
    return to_iso8601(midnight, static_cast<double>(civil % kDay));
  }
  midnight.year = calendar_year + 1;
  return to_iso8601(midnight, static_cast<double>(civil - kYear));
}

std::string to_iso8601(const Instant& day, double seconds_from_midnight) {
  using namespace std::chrono;
  const auto moment = sys_days(calendar_day(day)) + seconds(std::llround(seconds_from_midnight));
  const auto whole_day = floor<days>(moment);
  const year_month_day date(whole_day);
  const hh_mm_ss time(moment - whole_day);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}{}", int(date.year()), unsigned(date.month()),
                     unsigned(date.day()), time.hours().count(), time.minutes().count(),
                     time.seconds().count(), offset_text(day.offset_min));
}

}  // namespace halflight::cli
