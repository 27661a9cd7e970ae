#pragma once
#include "base/diagnostic.hpp"
#include "base/time_axis.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace halflight::cli {

/// A moment as written.
struct Instant {
  int year = 2000;
  int month = 1;
  int day = 1;
  int hour = 0;
  int minute = 0;
  double second = 0.0;
  bool has_offset = true;
  int offset_min = 0;  ///< local minus UTC

  /// Seconds after local midnight.
  [[nodiscard]] double second_of_day() const { return 3600.0 * hour + 60.0 * minute + second; }
};

/// "2026-03-20T14:30-06:00", "2026-03-20T20:30:15.5Z": ISO 8601, extended form, with seconds optional. The
/// proleptic Gregorian calendar. Errors name `option`, which the text was given for.
enum class Offset { required, optional };
Result<Instant> parse_iso8601(std::string_view text, std::string_view option = "--time",
                              Offset offset = Offset::required);

/// The second of standard time, in [0, kYear), at which the clocks of a site show `instant`. `calendar_year`:
/// which year the time axis stands for. `utc_offset_h`: of standard time. Errors for another year, for
/// 29 February, which the axis does not have, for a time that no clock shows, for one that clocks show twice
/// and that has no offset, and for an offset that clocks do not have then.
Result<Seconds> second_of_year(const Instant& instant, int calendar_year, const CivilTime& clock,
                               double utc_offset_h, std::string_view option);

/// "2026-03-17T14:35:00+00:00": a second of standard time as the clocks of a site show it.
std::string clock_text(Seconds standard, int calendar_year, const CivilTime& clock, double utc_offset_h);

/// "2026-03-20T14:30:15-06:00", rounded to whole seconds, of a moment `seconds_from_midnight` after local
/// midnight of the day of `day` (may lie outside that day), which must have an offset.
std::string to_iso8601(const Instant& day, double seconds_from_midnight);

}  // namespace halflight::cli
