#pragma once
#include "base/interval_set.hpp"
#include "base/time_axis.hpp"
#include "domain/project.hpp"

#include <cstdint>
#include <string_view>
#include <vector>

namespace halflight::people {

/// When the calendar is open: civil opening hours of every civil day of term that is no holiday, as seconds
/// of standard time within [0, kYear). On the days when the clocks change, the hours follow the clock.
/// `close_s
/// <= open_s` means that the day closes after midnight. Days of several `DayHours` are joined.
IntervalSet open_time(const domain::Calendar& calendar, const CivilTime& clock);

/// Civil days of the year (0 is 1 January) that are shut whatever the weekday: holidays and days outside the
/// terms, in order.
std::vector<int> shut_days(const domain::Calendar& calendar);

/// When cleaners are about in the building, by the same rules; empty when the calendar has no cleaning.
IntervalSet cleaning_time(const domain::Calendar& calendar, const CivilTime& clock);

/// When a cleaner is in one room: one visit of `minutes` in each interval of `cleaning`, at a random place in
/// it. The length of a visit is an assumption, not from a source.
IntervalSet cleaning_visits(const IntervalSet& cleaning, std::uint32_t seed, std::uint32_t replicate,
                            std::string_view space_id, double minutes = 10.0);

}  // namespace halflight::people
