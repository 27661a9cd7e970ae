#pragma once
#include "base/time_axis.hpp"

#include <string>
#include <string_view>

namespace halflight::wording {

// Figures for people. Everything printed of a result goes through here, so that no figure shows more digits
// than its interval carries. No locale: a decimal point, groups of three set off by a narrow space from 10
// 000 up (ISO 80000-1, 7.3.1 allows both), a true minus sign, a space before the unit and before "%".

/// Decimal place (a power of ten: -1 is tenths) to which a value is printed whose interval is `low` to
/// `high`. The half width decides by the rounding rule of the Particle Data Group (Review of Particle
/// Physics, introduction, section "Rounding"): with its three leading digits 100 to 354 two digits are kept,
/// with 355 to 949 one, and 950 to 999 round up to 1000 with two kept. An interval of no width gives the
/// place of the third significant digit of `value`.
int decimal_place(double value, double low, double high);

/// "1 230", "-0.35" with a true minus sign: `value` rounded to 10^place.
std::string rounded(double value, int place);

/// 0.4632 in 0.41 .. 0.51 with unit "fraction" is "46 %". `unit` as in claims and studies: "fraction" and
/// "points" print as per cent and percentage points (times 100), "m2" as "m²", "count" and "" without unit.
std::string printed(double value, double low, double high, std::string_view unit);
/// "41 to 51 %", to the same place.
std::string printed_interval(double low, double high, std::string_view unit);

/// A value without an interval (an input, or a result of one calculation), to three significant digits,
/// without zeros at the end of its decimals.
std::string printed(double value, std::string_view unit);

/// A level or share that was typed: "8 %", "12.5 %".
std::string percent(double fraction);
/// A setting that was typed: "30 s", "15 min", "2 h", "90 s".
std::string duration(double seconds);
/// A reading of the clock that was typed: "08:30".
std::string clock_reading(Seconds after_midnight_s);

}  // namespace halflight::wording
