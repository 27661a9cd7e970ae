#pragma once
#include "domain/weather.hpp"
#include "formats/weather_file.hpp"
#include "fuzz_target.hpp"

#include <cmath>
#include <string_view>

namespace halflight::fuzz {

/// Reads a weather file: a year that is read is whole, and every value is one that weather has.
inline void read_weather_and_check(std::string_view text) {
  Diagnostics warnings;
  const auto year = formats::read_weather(std::as_bytes(std::span(text)), "weather", &warnings);
  if (!year) {
    require_good_refusal(year.error());
    return;
  }
  require(year->rows.size() == domain::kHoursPerYear, "a year has 8,760 hours");
  require(std::abs(year->latitude_deg) <= 90.0 && std::abs(year->longitude_deg) <= 180.0,
          "a place on the globe");
  for (const domain::WeatherRow& row : year->rows) {
    for (const double w_m2 : {row.global_w_m2, row.beam_w_m2, row.diffuse_w_m2})
      require(w_m2 >= 0.0 && w_m2 <= 1500.0, "irradiance within its limits");
    require(row.dry_bulb_c >= -90.0 && row.dry_bulb_c <= 65.0, "dry bulb within its limits");
    require(row.dew_point_c >= -95.0 && row.dew_point_c <= 45.0, "dew point within its limits");
    require(row.pressure_hpa >= 300.0 && row.pressure_hpa <= 1100.0, "pressure within its limits");
  }
}

}  // namespace halflight::fuzz
