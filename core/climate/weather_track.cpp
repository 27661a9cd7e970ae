#include "climate/weather_track.hpp"

#include "base/sums.hpp"
#include "base/units.hpp"
#include "climate/clear_shape.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include <fmt/format.h>

namespace halflight::climate {

namespace {

constexpr auto kHours = static_cast<Seconds>(domain::kHoursPerYear);

std::size_t wrapped_hour(Seconds hour) {
  return static_cast<std::size_t>(((hour % kHours) + kHours) % kHours);
}

Seconds offset_s(double utc_offset_h) {
  return static_cast<Seconds>(std::llround(utc_offset_h * kSecondsPerHour));
}

/// The same clock time of the one year that the axis has.
Seconds within_year(Seconds t) { return ((t % kYear) + kYear) % kYear; }

}  // namespace

WeatherTrack::WeatherTrack(const domain::WeatherYear& weather, SunTrack sun, Seconds step_s,
                           std::optional<CloudDraw> clouds)
    : sun_(std::move(sun)), step_s_(step_s), hours_(weather.rows.size()) {
  assert(weather.rows.size() == domain::kHoursPerYear);
  assert(step_s > 0 && kHour % step_s == 0);
  shift_s_ = offset_s(weather.utc_offset_h) - static_cast<Seconds>(std::llround(sun_.utc_offset_s()));

  const Seconds steps = kHour / step_s;
  const auto middle = [&](std::size_t hour, Seconds step) {
    return static_cast<Seconds>(hour) * kHour + step * step_s + step_s / 2 - shift_s_;
  };
  std::vector<ClearShape> shapes(hours_.size() * static_cast<std::size_t>(steps));
  const auto index = [&](std::size_t hour, Seconds step) {
    return hour * static_cast<std::size_t>(steps) + static_cast<std::size_t>(step);
  };
  for (std::size_t h = 0; h < hours_.size(); ++h) {
    const domain::WeatherRow& row = weather.rows[h];
    Hour& hour = hours_[h];
    hour.dry_bulb_c = row.dry_bulb_c;
    hour.dew_point_c = row.dew_point_c;
    hour.pressure_hpa = row.pressure_hpa;
    ClearShape sum;
    for (Seconds s = 0; s < steps; ++s) {
      const ClearShape shape = clear_shape(sun_.at(within_year(middle(h, s))));
      shapes[index(h, s)] = shape;
      sum.beam += shape.beam;
      sum.diffuse += shape.diffuse;
    }
    hour.sun = sum.diffuse > 0.0;
    if (!hour.sun) continue;
    hour.beam_index = row.beam_w_m2 * static_cast<double>(steps) / sum.beam;
    hour.diffuse_index = row.diffuse_w_m2 * static_cast<double>(steps) / sum.diffuse;
  }
  for (std::size_t h = 0; h < hours_.size(); ++h) {
    Hour& hour = hours_[h];
    if (!hour.sun) continue;
    ClearShape sum;
    for (Seconds s = 0; s < steps; ++s) {
      const Between b = between(within_year(middle(h, s)));
      const Hour& other = hours_[b.other].sun ? hours_[b.other] : hour;
      const ClearShape& shape = shapes[index(h, s)];
      sum.beam += shape.beam * std::lerp(hour.beam_index, other.beam_index, b.weight);
      sum.diffuse += shape.diffuse * std::lerp(hour.diffuse_index, other.diffuse_index, b.weight);
    }
    const auto count = static_cast<double>(steps);
    hour.beam_scale = sum.beam > 0.0 ? weather.rows[h].beam_w_m2 * count / sum.beam : 0.0;
    hour.diffuse_scale = sum.diffuse > 0.0 ? weather.rows[h].diffuse_w_m2 * count / sum.diffuse : 0.0;
  }
  if (clouds) draw(*clouds);
}

void WeatherTrack::draw(CloudDraw clouds) {
  std::vector<SmoothStep> steps(static_cast<std::size_t>(kYear / step_s_));
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const Seconds t = static_cast<Seconds>(i) * step_s_ + step_s_ / 2 - shift_s_;
    const WeatherInstant now = at(within_year(t));
    steps[i] = {now.sun.cos_zenith(), now.sun.extraterrestrial_w_m2(), clear_shape(now.sun).beam,
                now.beam_w_m2, now.diffuse_w_m2};
  }
  clouds_ = passing_clouds(steps, step_s_, clouds);
}

Seconds WeatherTrack::on_weather_clock(Seconds t) const { return within_year(t + shift_s_); }

WeatherTrack::Between WeatherTrack::between(Seconds t) const {
  const Seconds local = on_weather_clock(t);
  const Seconds hour = local / kHour;
  const double from_middle = static_cast<double>(local % kHour) / kSecondsPerHour - 0.5;
  return {wrapped_hour(hour), wrapped_hour(from_middle < 0.0 ? hour - 1 : hour + 1), std::abs(from_middle)};
}

WeatherInstant WeatherTrack::at(Seconds t) const {
  const Between b = between(t);
  const Hour& hour = hours_[b.hour];
  const Hour& other = hours_[b.other];
  WeatherInstant now;
  now.sun = sun_.at(t);
  now.dry_bulb_c = std::lerp(hour.dry_bulb_c, other.dry_bulb_c, b.weight);
  now.dew_point_c = std::lerp(hour.dew_point_c, other.dew_point_c, b.weight);
  now.pressure_hpa = std::lerp(hour.pressure_hpa, other.pressure_hpa, b.weight);
  if (!hour.sun) return now;
  const ClearShape shape = clear_shape(now.sun);
  const Hour& lit = other.sun ? other : hour;
  now.beam_w_m2 = shape.beam * std::lerp(hour.beam_index, lit.beam_index, b.weight) * hour.beam_scale;
  now.diffuse_w_m2 =
      shape.diffuse * std::lerp(hour.diffuse_index, lit.diffuse_index, b.weight) * hour.diffuse_scale;
  if (clouds_.empty()) return now;
  const CloudFactors& clouds = clouds_[static_cast<std::size_t>(on_weather_clock(t) / step_s_)];
  now.beam_w_m2 *= clouds.beam;
  now.diffuse_w_m2 *= clouds.diffuse;
  return now;
}

SkyState sky_state(const WeatherInstant& weather) { return sky_state(weather, weather.sun.direction); }

SkyState sky_state(const WeatherInstant& weather, Vector3 sun_in_patch_axes) {
  return all_weather_sky(sun_in_patch_axes, weather.sun.extraterrestrial_w_m2(), weather.diffuse_w_m2,
                         weather.beam_w_m2, weather.dew_point_c);
}

Diagnostics check_weather(const domain::WeatherYear& weather, int calendar_year) {
  const SunTrack track({weather.latitude_deg, weather.longitude_deg, weather.elevation_m},
                       weather.utc_offset_h * kSecondsPerHour, calendar_year);
  CompensatedSum total, dark, beam_and_diffuse;
  for (std::size_t h = 0; h < weather.rows.size(); ++h) {
    const domain::WeatherRow& row = weather.rows[h];
    const auto begin = static_cast<Seconds>(h) * kHour;
    double highest = -1.0;
    double mean_cosine = 0.0;
    constexpr Seconds kSteps = 12;
    for (Seconds s = 0; s < kSteps; ++s) {
      const double c = track.at(begin + s * (kHour / kSteps) + kHour / (2 * kSteps)).cos_zenith();
      highest = std::max(highest, c);
      mean_cosine += std::max(0.0, c) / static_cast<double>(kSteps);
    }
    total.add(row.global_w_m2);
    if (highest < 0.0) dark.add(row.global_w_m2);
    beam_and_diffuse.add(row.diffuse_w_m2 + row.beam_w_m2 * mean_cosine);
  }
  Diagnostics diagnostics;
  const auto warn = [&](std::string problem, std::string remedy) {
    diagnostics.push_back(
        {Diagnostic::Severity::warning, weather.name, "", std::move(problem), std::move(remedy)});
  };
  if (total.value() <= 0.0) {
    warn("no sunshine in the whole year", "check that the columns of irradiance are filled");
    return diagnostics;
  }
  const double dark_share = dark.value() / total.value();
  if (dark_share > 0.01)
    warn(fmt::format("{:.1f} % of the year's irradiation falls in hours in which the sun is down",
                     100.0 * dark_share),
         "check longitude, time zone and whether rows end or begin on the hour they name");
  const double closure = beam_and_diffuse.value() / total.value();
  if (std::abs(closure - 1.0) > 0.1)
    warn(fmt::format("beam and diffuse together give {:.0f} % of the global irradiation", 100.0 * closure),
         "check the columns of beam, diffuse and global irradiance, and the time zone");
  return diagnostics;
}

}  // namespace halflight::climate
