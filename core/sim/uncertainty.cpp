#include "sim/uncertainty.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace halflight::sim {

using domain::Source;

// Assumptions, named in docs/methods/uncertainty.md. Measured figures carry their meter's error; the worse
// the source, the wider.
double watts_spread(Source source) {
  switch (source) {
    case Source::measured:
      return 0.02;
    case Source::logged:
      return 0.03;
    case Source::label:
      return 0.05;
    case Source::table:
      return 0.10;
    case Source::interview:
    case Source::assumed:
      return 0.15;
  }
  return 0.15;
}

double hours_spread_s(Source source) {
  switch (source) {
    case Source::measured:
    case Source::logged:
      return 300.0;
    case Source::label:
    case Source::table:
      return 900.0;
    case Source::interview:
      return 1200.0;
    case Source::assumed:
      return 2400.0;
  }
  return 2400.0;
}

double reflectance_spread(Source source) {
  switch (source) {
    case Source::measured:
    case Source::logged:
      return 0.02;
    case Source::label:
    case Source::table:
      return 0.03;
    case Source::interview:
    case Source::assumed:
      return 0.05;
  }
  return 0.05;
}

namespace {

/// The least certain source of the objects concerned: enumerators run from best to worst.
Source worst(Source a, Source b) { return std::max(a, b); }

const char* name_of(Source source) {
  switch (source) {
    case Source::measured:
      return "measured";
    case Source::logged:
      return "logged";
    case Source::label:
      return "label";
    case Source::table:
      return "table";
    case Source::interview:
      return "interview";
    case Source::assumed:
      return "assumed";
  }
  return "assumed";
}

Source watts_source(const domain::Project& project, domain::Design::Role role) {
  Source source = Source::measured;
  const domain::Design* design = domain::find_design(project, role);
  if (design == nullptr) return Source::assumed;
  for (const domain::Luminaire& luminaire : design->luminaires)
    if (const auto* type = domain::find_by_id(project.luminaire_types, luminaire.type))
      source = worst(source, type->watts_source);
  return source;
}

}  // namespace

Uncertainty draw_uncertainty(const domain::Project& project, std::uint32_t seed, int scrambles, int points,
                             std::size_t weather_years, double spread) {
  Source hours = Source::measured;
  for (const domain::Calendar& calendar : project.calendars) hours = worst(hours, calendar.source);
  if (project.calendars.empty()) hours = Source::assumed;
  Source surfaces = Source::measured;
  Source people = Source::measured;
  for (const domain::Space& space : project.spaces) {
    surfaces = worst(surfaces, space.reflectance_source);
    people = worst(people, space.occupancy.source);
  }
  const Source old_watts = watts_source(project, domain::Design::Role::as_found);
  const Source new_watts = watts_source(project, domain::Design::Role::proposal);
  constexpr double kIntensitySpread = 0.20;  // geometric; assumption
  const double intensity_spread = people <= Source::logged ? 0.08 : kIntensitySpread;

  Uncertainty result;
  enum Input {
    kHours,
    kPeople,
    kOldWatts,
    kNewWatts,
    kReflectance,
    kDepreciation,
    kShades,
    kPassive,
    kWeather,
    kCount
  };
  result.inputs = {
      {"/calendars",
       fmt::format("opening hours as used, +- {:.0f} min at each end", hours_spread_s(hours) / 60.0),
       name_of(hours),
       {}},
      {"/spaces/*/occupancy",
       fmt::format("presence, factor with spread {:.0f} %", 100.0 * intensity_spread),
       name_of(people),
       {}},
      {"/designs/as_found/luminaires/*/watts",
       fmt::format("watts as found, +- {:.0f} %", 100.0 * watts_spread(old_watts)),
       name_of(old_watts),
       {}},
      {"/designs/proposal/luminaires/*/watts",
       fmt::format("watts of the proposal, +- {:.0f} %", 100.0 * watts_spread(new_watts)),
       name_of(new_watts),
       {}},
      {"/spaces/*/reflectances",
       fmt::format("mean reflectance, +- {:.2f}", reflectance_spread(surfaces)),
       name_of(surfaces),
       {}},
      {"/luminaire_types/*/lumen_depreciation",
       fmt::format("light loss factor, +- {:.0f} %", 100.0 * kLightLossSpread),
       "assumed",
       {}},
      {"/shades/*/operation", "a drawn shade is raised with a chance of 30 % to 90 % a day", "assumed", {}},
      {"/spaces/*/occupancy/passive_share",
       "share of people who leave lights on, 0 % to 50 %",
       "assumed",
       {}},
      {"/site/climate", fmt::format("{} weather years", weather_years), "drawn evenly", {}, true},
  };
  for (int s = 0; s < scrambles; ++s) {
    for (int p = 0; p < points; ++p) {
      const auto scramble = static_cast<std::uint32_t>(s) * 7919U + seed * 104729U;
      double u[kCount];
      for (std::uint32_t k = 0; k < kCount; ++k)
        u[k] = sobol(static_cast<std::uint32_t>(p), k, scramble) + 0x1p-33;
      const auto normal = [&](Input k) { return spread * inverse_normal(u[k]); };
      // Widened or narrowed about the middle, and kept in its range.
      const auto uniform = [&](Input k, double low, double high) {
        const double middle = 0.5 * (low + high);
        return std::clamp(middle + spread * (u[k] - 0.5) * (high - low), 0.0, 1.0);
      };
      Draws d;
      d.hours_shift_s = hours_spread_s(hours) * normal(kHours);
      d.people_intensity = std::exp(intensity_spread * normal(kPeople));
      d.baseline_watts = std::exp(watts_spread(old_watts) * normal(kOldWatts));
      d.new_watts = std::exp(watts_spread(new_watts) * normal(kNewWatts));
      d.reflectance_shift = reflectance_spread(surfaces) * normal(kReflectance);
      d.depreciation = std::exp(kLightLossSpread * normal(kDepreciation));
      d.shade_raise = uniform(kShades, 0.3, 0.9);
      d.passive_share = uniform(kPassive, 0.0, 0.5);
      // Of no effect on light, and so not among the inputs that are ranked by theirs.
      const auto beside = [&](std::uint32_t k) {
        return spread * inverse_normal(sobol(static_cast<std::uint32_t>(p), kCount + k, scramble) + 0x1p-33);
      };
      d.plug_watts = std::exp(kPlugWattsSpread * beside(0));
      d.left_on_shift = kLeftOnSpread * beside(1);
      d.weather_year = std::min(weather_years - 1,
                                static_cast<std::size_t>(u[kWeather] * static_cast<double>(weather_years)));
      d.replicate = static_cast<std::uint32_t>(s * points + p);
      const double taken[kCount] = {
          d.hours_shift_s, d.people_intensity,  d.baseline_watts,
          d.new_watts,     d.reflectance_shift, d.depreciation,
          d.shade_raise,   d.passive_share,     static_cast<double>(d.weather_year)};
      for (std::size_t k = 0; k < kCount; ++k) result.inputs[k].values.push_back(taken[k]);
      result.draws.push_back(d);
    }
  }
  return result;
}

}  // namespace halflight::sim
