#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "climate/sun.hpp"

#include <optional>
#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

namespace {

// Before, the calendar differs from country to country; after, the earth's rotation cannot be foretold.
constexpr int kFirstYear = 1583;
constexpr int kLastYear = 3000;

std::string absent_text(climate::SunTimes::Kind kind) {
  return kind == climate::SunTimes::Kind::never_sets ? "none: the sun does not set"
                                                     : "none: the sun does not rise";
}

}  // namespace

int run(const SunCommand& command) {
  const Instant& t = command.time;
  if (t.year < kFirstYear || t.year > kLastYear) {
    print_diagnostics(
        {{Diagnostic::Severity::error, "--time", "", fmt::format("the year {} is out of reach", t.year),
          fmt::format("give a year from {} to {}", kFirstYear, kLastYear)}});
    return ExitCode::bad_input;
  }
  const climate::Place place{
      .latitude_deg = command.latitude_deg,
      .longitude_deg = command.longitude_deg,
      .elevation_m = command.elevation_m,
      .pressure_hpa = command.pressure_hpa.value_or(climate::standard_pressure_hpa(command.elevation_m)),
      .temperature_c = command.temperature_c};
  const double offset_h = t.offset_min / 60.0;
  const double day = climate::julian_day(t.year, t.month, t.day, t.second_of_day() / 3600.0 - offset_h);
  const double delta_t = climate::delta_t_s(t.year + (t.month - 0.5) / 12.0);
  const climate::SunPosition sun = climate::sun_position(day, delta_t, place);
  const climate::SunTimes times = climate::sun_times(t.year, t.month, t.day, offset_h, place);

  const double midnight = climate::julian_day(t.year, t.month, t.day, -offset_h);
  const auto clock_text = [&](double julian_day) {
    return to_iso8601(t, 86'400.0 * (julian_day - midnight));
  };
  const auto event = [&](const std::optional<double>& julian_day) -> std::optional<std::string> {
    if (!julian_day) return std::nullopt;
    return clock_text(*julian_day);
  };
  const auto sunrise = event(times.sunrise);
  const auto sunset = event(times.sunset);

  if (command.json) {
    const auto or_null = [](const std::optional<std::string>& text) {
      return text ? nlohmann::ordered_json(*text) : nlohmann::ordered_json();
    };
    print_json({{"zenith_deg", sun.zenith_deg},
                {"zenith_geometric_deg", sun.zenith_geometric_deg},
                {"azimuth_deg", sun.azimuth_deg},
                {"sunrise", or_null(sunrise)},
                {"transit", clock_text(times.transit)},
                {"sunset", or_null(sunset)}});
    return ExitCode::done;
  }
  fmt::print(
      "zenith_deg            {:.5f}   as seen, with refraction\n"
      "zenith_geometric_deg  {:.5f}   without the air\n"
      "azimuth_deg           {:.5f}   from north through east\n"
      "sunrise               {}\n"
      "transit               {}\n"
      "sunset                {}\n",
      sun.zenith_deg, sun.zenith_geometric_deg, sun.azimuth_deg, sunrise.value_or(absent_text(times.kind)),
      clock_text(times.transit), sunset.value_or(absent_text(times.kind)));
  return ExitCode::done;
}

}  // namespace halflight::cli
