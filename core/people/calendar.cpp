#include "people/calendar.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <vector>

namespace halflight::people {

namespace {

bool covers(const domain::DateRange& range, int civil_day) {
  const int from = day_of_year(range.from);
  const int to = day_of_year(range.to);
  // A range that ends before it begins spans the new year.
  return from <= to ? civil_day >= from && civil_day <= to : civil_day >= from || civil_day <= to;
}

bool is_shut(const domain::Calendar& calendar, int civil_day) {
  const auto on_day = [&](const domain::DateRange& range) { return covers(range, civil_day); };
  return std::any_of(calendar.holidays.begin(), calendar.holidays.end(), on_day) ||
         (!calendar.terms.empty() && std::none_of(calendar.terms.begin(), calendar.terms.end(), on_day));
}

void add_hours(const domain::DayHours& hours, const domain::Calendar& calendar, const CivilTime& clock,
               std::vector<Interval>& found) {
  // One day to either side of the year: its evening, or its first hours by a clock that is ahead, may fall
  // inside.
  for (int day = -1; day <= 365; ++day) {
    const int weekday_now = clock.weekday_of(day);
    if (std::find(hours.weekdays.begin(), hours.weekdays.end(), weekday_now) == hours.weekdays.end())
      continue;
    if (is_shut(calendar, (day + 365) % 365)) continue;
    const Seconds close_s = hours.close_s > hours.open_s ? hours.close_s : hours.close_s + kDay;
    const Seconds begin = clock.standard(day * kDay + hours.open_s);
    const Seconds end = clock.standard(day * kDay + close_s);
    found.push_back({std::max<Seconds>(begin, 0), std::min(end, kYear)});
  }
}

}  // namespace

std::vector<int> shut_days(const domain::Calendar& calendar) {
  std::vector<int> days;
  for (int day = 0; day < static_cast<int>(kYear / kDay); ++day)
    if (is_shut(calendar, day)) days.push_back(day);
  return days;
}

IntervalSet open_time(const domain::Calendar& calendar, const CivilTime& clock) {
  std::vector<Interval> found;
  for (const domain::DayHours& hours : calendar.hours) add_hours(hours, calendar, clock, found);
  return IntervalSet(std::move(found));
}

IntervalSet cleaning_time(const domain::Calendar& calendar, const CivilTime& clock) {
  std::vector<Interval> found;
  if (calendar.cleaning) add_hours(*calendar.cleaning, calendar, clock, found);
  return IntervalSet(std::move(found));
}

IntervalSet cleaning_visits(const IntervalSet& cleaning, std::uint32_t seed, std::uint32_t replicate,
                            std::string_view space_id, double minutes) {
  static const std::uint32_t kVisit = hash_name("cleaning visit");
  const RandomKey key{seed, hash_name(space_id)};
  const auto wanted = static_cast<Seconds>(minutes * 60.0);
  std::vector<Interval> visits;
  for (const Interval& window : cleaning.intervals()) {
    const Seconds length = std::min(wanted, window.end - window.begin);
    const double u = random_uniform(key, {replicate, static_cast<std::uint32_t>(window.begin / kDay), kVisit,
                                          static_cast<std::uint32_t>(window.begin % kDay)});
    const auto start =
        window.begin + static_cast<Seconds>(u * static_cast<double>(window.end - window.begin - length));
    visits.push_back({start, start + length});
  }
  return IntervalSet(std::move(visits));
}

}  // namespace halflight::people
