#pragma once
#include "base/diagnostic.hpp"
#include "climate/passing_clouds.hpp"
#include "climate/sky.hpp"
#include "climate/sun.hpp"
#include "domain/weather.hpp"

#include <optional>
#include <vector>

namespace halflight::climate {

/// The weather at one instant.
struct WeatherInstant {
  SunInstant sun;
  double beam_w_m2 = 0.0;     ///< normal
  double diffuse_w_m2 = 0.0;  ///< horizontal
  double dry_bulb_c = 0.0;
  double dew_point_c = 0.0;
  double pressure_hpa = 1013.25;
  [[nodiscard]] double global_w_m2() const {
    return diffuse_w_m2 + (sun.cos_zenith() > 0.0 ? beam_w_m2 * sun.cos_zenith() : 0.0);
  }
};

/// Hourly weather between the hours. Beam and diffuse follow what a clear beam and an even sky would do at
/// that sun (nothing before sunrise), times an index that runs straight from mid-hour to mid-hour and is then
/// scaled so that the steps of each hour average to the file's value. An hour whose steps all have the sun
/// down loses what the file says (a few W/m2 of dawn). Temperatures run straight between mid-hours. Clouds
/// may be drawn that pass within the hours; each hour keeps its beam and its diffuse light. Equations:
/// docs/methods/weather.md.
class WeatherTrack {
 public:
  /// `weather.rows` must have 8,760 rows; `step_s` must divide 3,600. The sun's place and clock decide; if
  /// the weather keeps another standard time, its hours are shifted. With `clouds` the light changes from
  /// step to step, and steps are at most `kIndexStep` long.
  WeatherTrack(const domain::WeatherYear& weather, SunTrack sun, Seconds step_s = 300,
               std::optional<CloudDraw> clouds = std::nullopt);

  /// At any instant of the axis; hourly means are exact for instants at the middle of steps.
  [[nodiscard]] WeatherInstant at(Seconds t) const;
  [[nodiscard]] const SunTrack& sun() const { return sun_; }
  [[nodiscard]] Seconds step_s() const { return step_s_; }

 private:
  struct Hour {
    double beam_index = 0.0, diffuse_index = 0.0;  // mean over the mean of the shape
    double beam_scale = 0.0, diffuse_scale = 0.0;  // makes the interpolated hour average to the file's
    double dry_bulb_c = 0.0, dew_point_c = 0.0, pressure_hpa = 0.0;
    bool sun = false;
  };
  struct Between {
    std::size_t hour;   // that holds the instant
    std::size_t other;  // the neighbour on the nearer side
    double weight;      // of the neighbour, 0..0.5
  };
  [[nodiscard]] Seconds on_weather_clock(Seconds t) const;
  [[nodiscard]] Between between(Seconds t) const;
  void draw(CloudDraw clouds);

  SunTrack sun_;
  Seconds step_s_ = 300;
  Seconds shift_s_ = 0;  // added to the project's time to get the weather's
  std::vector<Hour> hours_;
  std::vector<CloudFactors> clouds_;  // by step of the weather's clock; empty: the sky runs smoothly
};

/// Sky and beam at one instant, in geographic axes. Rotate the sun first (`to_building_axes`) for building
/// axes.
SkyState sky_state(const WeatherInstant& weather);
SkyState sky_state(const WeatherInstant& weather, Vector3 sun_in_patch_axes);

/// Does the radiation fit the sun of the place? Warnings if light comes when the sun is down (more than 1 %
/// of the year), which is how a wrong longitude or time zone shows, or if global, beam and diffuse disagree
/// by more than 10 % over the year.
Diagnostics check_weather(const domain::WeatherYear& weather, int calendar_year);

}  // namespace halflight::climate
