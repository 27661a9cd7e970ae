#include "base/time_axis.hpp"

#include <array>

#include <fmt/format.h>

namespace halflight {

namespace {
constexpr std::array<int, 13> kFirstDay = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};
constexpr std::array<const char*, 12> kMonthName = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                    "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

Seconds instant_of(const ClockChange& change, int first_weekday) {
  const int first = kFirstDay[static_cast<std::size_t>(change.month - 1)];
  const int next = kFirstDay[static_cast<std::size_t>(change.month)];
  int day = first + (change.weekday - weekday(first, first_weekday) + 7) % 7;
  if (change.week > 0) {
    day += 7 * (change.week - 1);
  } else {
    while (day + 7 < next) day += 7;
  }
  return day * kDay + change.at_standard_s;
}
}  // namespace

bool is_valid(MonthDay date) {
  if (date.month < 1 || date.month > 12 || date.day < 1) return false;
  const auto m = static_cast<std::size_t>(date.month);
  return date.day <= kFirstDay[m] - kFirstDay[m - 1];
}

int day_of_year(MonthDay date) { return kFirstDay[static_cast<std::size_t>(date.month - 1)] + date.day - 1; }

MonthDay month_day(int day) {
  int month = 1;
  while (month < 12 && day >= kFirstDay[static_cast<std::size_t>(month)]) ++month;
  return {month, day - kFirstDay[static_cast<std::size_t>(month - 1)] + 1};
}

int weekday(int day, int first_weekday) { return ((day + first_weekday) % 7 + 7) % 7; }

int first_weekday_of(int calendar_year) {
  // Gauss's rule for 1 January (Gregorian calendar), here with 0 = Monday.
  const int y = calendar_year - 1;
  return (5 * (y % 4) + 4 * (y % 100) + 6 * (y % 400)) % 7;
}

CivilTime::CivilTime(std::optional<DaylightSaving> rule, int first_weekday) : first_weekday_(first_weekday) {
  if (!rule) return;
  begin_ = instant_of(rule->begin, first_weekday);
  end_ = instant_of(rule->end, first_weekday);
  shift_ = rule->shift_s;
}

Seconds CivilTime::shift_at(Seconds standard) const {
  if (shift_ == 0) return 0;
  const bool inside =
      begin_ < end_ ? (standard >= begin_ && standard < end_) : (standard >= begin_ || standard < end_);
  return inside ? shift_ : 0;
}

Seconds CivilTime::standard(Seconds civil_s) const {
  if (shift_ == 0) return civil_s;
  // With saving in force the clock shows civil_s at the earlier of the two candidates, so try it first.
  if (shift_at(civil_s - shift_) == shift_) return civil_s - shift_;
  if (shift_at(civil_s) == 0) return civil_s;
  return begin_;  // a reading that no clock shows: the hour skipped at the start of saving
}

std::vector<Seconds> CivilTime::instants(Seconds civil_s) const {
  std::vector<Seconds> all;
  if (shift_ != 0 && shift_at(civil_s - shift_) == shift_) all.push_back(civil_s - shift_);
  if (shift_at(civil_s) == 0) all.push_back(civil_s);
  return all;
}

std::string date_text(MonthDay date) {
  return fmt::format("{} {}", date.day, kMonthName[static_cast<std::size_t>(date.month - 1)]);
}

std::string civil_text(Seconds civil_s) {
  const Seconds wrapped = ((civil_s % kYear) + kYear) % kYear;
  const Seconds s = wrapped % kDay;
  return fmt::format("{} {:02}:{:02}", date_text(month_day(static_cast<int>(wrapped / kDay))), s / kHour,
                     (s % kHour) / kMinute);
}

}  // namespace halflight
