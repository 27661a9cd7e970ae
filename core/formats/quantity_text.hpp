#pragma once
#include "base/diagnostic.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace halflight::formats {

/// A unit as it is typed after a number, in terms of its dimension's own unit.
struct Unit {
  std::string_view symbol;
  double factor;
};

/// What a quantity measures, and the units it may be typed in. The first unit is the one in which values are
/// printed.
struct Dimension {
  std::string_view noun;     ///< "a length"
  std::string_view example;  ///< "2.7 m"
  std::vector<Unit> units;
};

extern const Dimension kLength;
extern const Dimension kIlluminance;
extern const Dimension kLuminance;
extern const Dimension kDuration;
extern const Dimension kPower;
extern const Dimension kAngle;
extern const Dimension kLuminousFlux;
extern const Dimension kColourTemperature;
extern const Dimension kCurrent;
extern const Dimension kVoltage;
extern const Dimension kRadioPower;
extern const Dimension kDecibels;

/// "m, cm, mm, ft or in".
std::string unit_list(const Dimension& dimension);

/// A value in the unit `unit` of the dimension from text such as "2.70 m", "9 ft 6 in" or "-3 h 30 min": one
/// sign for the whole, then numbers each with its unit, from the larger unit to the smaller. On failure the
/// Diagnostic has a problem and a remedy but no place.
Result<double> parse_quantity(std::string_view text, const Dimension& dimension, std::string_view unit);

/// The value as it would be typed: "15 min", "2.7 m". Reads back as exactly the same value.
std::string quantity_text(double value, const Dimension& dimension, std::string_view unit);

/// Regular expression (ECMA 262) of everything that `parse_quantity` takes.
std::string quantity_pattern(const Dimension& dimension);

}  // namespace halflight::formats
