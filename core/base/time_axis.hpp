#pragma once
#include "base/interval_set.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace halflight {

// The one time axis: integer seconds from 1 January 00:00 local standard time, 365 days of 86,400 s.
// Weather, light, people and energy all use it. Civil (clock) time differs by daylight saving, which
// comes from the document and never from the machine.

inline constexpr Seconds kDay = 86'400;
inline constexpr Seconds kYear = 365 * kDay;
inline constexpr Seconds kHour = 3'600;
inline constexpr Seconds kMinute = 60;

/// A civil date without a year: 29 February does not exist on this axis.
struct MonthDay {
  int month = 1;  ///< 1..12
  int day = 1;    ///< 1..31
  friend bool operator==(const MonthDay&, const MonthDay&) = default;
};

/// Day of the year, 0..364. The date must exist in a year of 365 days.
int day_of_year(MonthDay date);
MonthDay month_day(int day_of_year);
bool is_valid(MonthDay date);

/// 0 = Monday ... 6 = Sunday, for a year whose 1 January falls on `first_weekday`.
int weekday(int day_of_year, int first_weekday);
/// Weekday of 1 January of a year of the Gregorian calendar, 0 = Monday.
int first_weekday_of(int calendar_year);

/// A change of clocks "on the nth (or last) weekday of a month at an hour of standard time".
struct ClockChange {
  int month = 3;
  int week = -1;                  ///< 1..4, or -1 for the last
  int weekday = 6;                ///< 0 = Monday ... 6 = Sunday
  Seconds at_standard_s = kHour;  ///< seconds after midnight, local standard time
};

/// The zone's daylight-saving rule: clocks are `shift_s` ahead of standard time from `begin` to `end`.
/// South of the equator `begin` comes after `end` in the year, and the saving spans the new year.
struct DaylightSaving {
  ClockChange begin;
  ClockChange end;
  Seconds shift_s = kHour;
};

/// Standard time to civil time and back for one year.
class CivilTime {
 public:
  /// `first_weekday`: weekday of 1 January, 0 = Monday.
  CivilTime(std::optional<DaylightSaving> rule, int first_weekday);

  /// Seconds that clocks are ahead of standard time at `standard`.
  [[nodiscard]] Seconds shift_at(Seconds standard) const;
  /// Clock reading at `standard`, in seconds from 1 January 00:00 by the clock (may pass the year's ends).
  [[nodiscard]] Seconds civil(Seconds standard) const { return standard + shift_at(standard); }
  /// The standard time at which a clock first shows `civil`. A reading in a skipped hour gives the instant of
  /// the jump; in a repeated hour the first of the two.
  [[nodiscard]] Seconds standard(Seconds civil) const;
  /// Every standard time at which a clock shows `civil`, in order: none for a reading in a skipped hour, two
  /// in a repeated one.
  [[nodiscard]] std::vector<Seconds> instants(Seconds civil) const;
  [[nodiscard]] int first_weekday() const { return first_weekday_; }
  /// Weekday by the clock, 0 = Monday, of the civil day `civil_day` (0..364).
  [[nodiscard]] int weekday_of(int civil_day) const { return weekday(civil_day, first_weekday_); }

 private:
  int first_weekday_ = 0;
  Seconds begin_ = 0;
  Seconds end_ = 0;
  Seconds shift_ = 0;
};

/// "17 Mar".
std::string date_text(MonthDay date);
/// "17 Mar 14:35" of a civil second, for people.
std::string civil_text(Seconds civil);

}  // namespace halflight
