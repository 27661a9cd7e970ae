#pragma once
#include "base/diagnostic.hpp"
#include "domain/weather.hpp"

#include <cstddef>
#include <span>
#include <string_view>

namespace halflight::formats {

/// Reads a typical year: TMY3 (S. Wilcox, W. Marion, "Users manual for TMY3 data sets", NREL/TP-581-43156,
/// 2008) or EPW, told apart by content. Rows of both are hour-ending, in local standard time.
///
/// - Rows must be the 8,760 hours of a year in order, from 1 January 01:00 to 31 December 24:00; months may
/// come from
///   different years. 29 February is left out, with a warning.
/// - Missing values (TMY3 -9900; EPW 9999, 99.9, 999999): gaps of temperature, dew point and pressure up to
/// six hours
///   are bridged by straight lines, with a warning; missing irradiance is an error.
/// - Irradiance outside 0..1500 W/m2, temperatures and pressures that no weather has, and places off the
/// globe are
///   errors, with line and field. Diffuse above global and dew point above dry bulb are counted in one
///   warning each.
///
/// At most 20 errors are listed. `warnings` may be null. Files above 16 MiB are refused.
Result<domain::WeatherYear> read_weather(std::span<const std::byte> bytes, std::string_view file_name,
                                         Diagnostics* warnings = nullptr);

}  // namespace halflight::formats
