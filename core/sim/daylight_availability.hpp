#pragma once
#include "base/context.hpp"
#include "climate/sun.hpp"
#include "domain/weather.hpp"
#include "lightresponse/response.hpp"
#include "results/study.hpp"
#include "sim/daylight_lines.hpp"
#include "sim/lit_space.hpp"

#include <optional>

namespace halflight::sim {

/// Points of daylight availability over a room's floor: cells of at most 0.6 m, a band of 0.3 m along the
/// walls left out (LM-83), at `height_m`, but none inside furniture. Daylight of each point, no electric
/// light.
lightresponse::PointSet availability_points(const Enclosure& room, double height_m);

/// The middle of every hour with the sun up.
DaylitInstants sunny_hours(const climate::SunTrack& track);

/// The measures of LM-83 and EN 17037 and useful daylight illuminance through one year, at `sunny_hours`.
/// They are measures of hourly weather, so no clouds pass within the hours. Nothing for a space without
/// windows and inner glazing; `outside_of`: by space of the project. Kept in the blob store under all that it
/// depends on.
std::optional<results::DaylightAvailability> daylight_availability(
    const domain::Project& project, const LitSpace& lit, const std::vector<daylight::Outside>& outside_of,
    const climate::SkyDivision& sky, const DaylitInstants& hours, const domain::WeatherYear& weather,
    const lightresponse::LightOptions& options, const Context& context, lightresponse::StageLog& log);

}  // namespace halflight::sim
