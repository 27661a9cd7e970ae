#pragma once
#include "base/diagnostic.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace halflight::cli {

/// A moment as written, with its offset from UTC.
struct Instant {
  int year = 2000;
  int month = 1;
  int day = 1;
  int hour = 0;
  int minute = 0;
  double second = 0.0;
  int offset_min = 0;  ///< local minus UTC

  /// Seconds after local midnight.
  [[nodiscard]] double second_of_day() const { return 3600.0 * hour + 60.0 * minute + second; }
};

/// "2026-03-20T14:30-06:00", "2026-03-20T20:30:15.5Z": ISO 8601, extended form, with seconds optional and the
/// offset required. The proleptic Gregorian calendar.
Result<Instant> parse_iso8601(std::string_view text);

/// "2026-03-20T14:30:15-06:00", rounded to whole seconds, of a moment `seconds_from_midnight` after local
/// midnight of the day of `day` (may lie outside that day).
std::string to_iso8601(const Instant& day, double seconds_from_midnight);

}  // namespace halflight::cli
