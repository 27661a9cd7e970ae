#include "cli/instant.hpp"

#include "cli/number.hpp"

#include <chrono>
#include <cmath>
#include <optional>

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

}  // namespace

Result<Instant> parse_iso8601(std::string_view text) {
  const auto refuse = [&](std::string_view why) {
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "--time", "", fmt::format("'{}' {}", text, why),
                     "write the date, the time and the offset from UTC, as in 2026-03-20T14:30:00-06:00 or "
                     "2026-03-20T20:30Z"}});
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
  if (scan.at_end()) return refuse("has no offset from UTC");

  const bool west = scan.take('-');
  if (west || scan.take('+')) {
    const int hours = scan.digits(2);
    scan.require(':');
    const int minutes = scan.digits(2);
    if (hours > 14 || minutes > 59) return refuse("has an offset that no clock keeps");
    t.offset_min = (west ? -1 : 1) * (60 * hours + minutes);
  } else {
    scan.require('Z');
  }
  if (!scan.ok() || !scan.at_end()) return refuse("is not a time in ISO 8601");
  if (!calendar_day(t).ok()) return refuse("is not a day of the calendar");
  if (t.hour > 23 || t.minute > 59 || t.second >= 60.0) return refuse("is not a time of day");
  return t;
}

std::string to_iso8601(const Instant& day, double seconds_from_midnight) {
  using namespace std::chrono;
  const auto moment = sys_days(calendar_day(day)) + seconds(std::llround(seconds_from_midnight));
  const auto whole_day = floor<days>(moment);
  const year_month_day date(whole_day);
  const hh_mm_ss time(moment - whole_day);
  const std::string offset = fmt::format("{}{:02}:{:02}", day.offset_min < 0 ? '-' : '+',
                                         std::abs(day.offset_min) / 60, std::abs(day.offset_min) % 60);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}{}", int(date.year()), unsigned(date.month()),
                     unsigned(date.day()), time.hours().count(), time.minutes().count(),
                     time.seconds().count(), offset);
}

}  // namespace halflight::cli
