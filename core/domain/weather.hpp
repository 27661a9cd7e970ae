#pragma once
#include <array>
#include <cstddef>
#include <string>
#include <vector>

namespace halflight::domain {

inline constexpr std::size_t kHoursPerYear = 8760;

/// Means over one hour, as weather files give them. Irradiance in W/m2, never negative.
struct WeatherRow {
  double global_w_m2 = 0.0;   ///< on the horizontal: beam and diffuse
  double beam_w_m2 = 0.0;     ///< on a plane across the beam ("direct normal")
  double diffuse_w_m2 = 0.0;  ///< on the horizontal, from the sky alone
  double dry_bulb_c = 0.0;
  double dew_point_c = 0.0;
  double pressure_hpa = 1013.25;
};

/// 8,760 hours of a typical or synthetic year. Row h covers the hour that *ends* h + 1 hours after 1 January
/// 00:00 local standard time, so its sun stands at h + 1/2 hours (climate/weather_track.hpp takes it from
/// there). There is no 29 February. The months may come from different years; the calendar is the project's.
struct WeatherYear {
  std::string name;    ///< of the place, as the file gives it
  std::string source;  ///< file format and station, or the synthesis method with its seed
  double latitude_deg = 0.0;
  double longitude_deg = 0.0;
  double elevation_m = 0.0;
  double utc_offset_h = 0.0;  ///< standard time minus universal time
  std::vector<WeatherRow> rows;
};

/// What a synthetic year is made from (climate/synthetic_year.hpp): monthly means, January first. The JSON of
/// library/climates has the same names.
struct ClimateNormals {
  std::string id;
  std::string name;
  std::string source;  ///< where the figures come from and how far to trust them
  double latitude_deg = 0.0;
  double longitude_deg = 0.0;
  double elevation_m = 0.0;
  double utc_offset_h = 0.0;
  std::array<double, 12> global_wh_m2_day{};  ///< mean daily global horizontal irradiation, Wh/m2
  std::array<double, 12> dry_bulb_c{};        ///< mean of day and night
  std::array<double, 12> daily_range_k{};     ///< mean daily maximum minus mean daily minimum
  std::array<double, 12> dew_point_c{};
};

}  // namespace halflight::domain
