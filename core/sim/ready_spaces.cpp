#include "sim/ready_spaces.hpp"

#include "climate/synthetic_year.hpp"
#include "codes/check.hpp"
#include "codes/code_minimum.hpp"
#include "codes/zones.hpp"
#include "sim/daylight_lines.hpp"
#include "sim/demand_response.hpp"
#include "sim/space_year.hpp"

#include <map>
#include <optional>
#include <utility>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

/// Synthetic weather years that replicates draw from when the site names no file.
constexpr std::size_t kSyntheticYears = 4;

std::vector<domain::WeatherYear> weather_of(const StudyInputs& inputs, std::uint32_t seed) {
  if (!inputs.weather_years.empty()) return inputs.weather_years;
  std::vector<domain::WeatherYear> years;
  for (std::uint32_t y = 0; y < kSyntheticYears; ++y)
    years.push_back(climate::synthetic_year(inputs.normals, seed * 1000U + y,
                                            inputs.project.site.calendar_year,
                                            climate::SyntheticKind::natural));
  return years;
}

/// The clouds of a weather year: the same over every space, design and replicate.
std::optional<climate::CloudDraw> clouds_of(const domain::Project& project, std::uint32_t seed,
                                            std::size_t year) {
  if (project.site.weather_within_the_hour == domain::WithinTheHour::smooth) return std::nullopt;
  return climate::CloudDraw{seed, static_cast<std::uint32_t>(year)};
}

std::vector<std::size_t> lenders_of(const Result<LitSpace>& lit) {
  std::vector<std::size_t> lenders;
  if (lit)
    for (const lightresponse::InnerPane& pane : lit->scene.panes) lenders.push_back(pane.lender);
  return lenders;
}

std::string joined(const Diagnostics& problems) {
  std::string text;
  for (const Diagnostic& d : problems) text += (text.empty() ? "" : "; ") + to_text(d);
  return text;
}

/// Why a space cannot be studied: it or a space that it borrows light from could not be lit. Empty where it
/// can.
std::string reason_for_dark(const domain::Project& project, std::size_t space,
                            const std::map<std::size_t, Result<LitSpace>>& made) {
  const Result<LitSpace>& own = made.at(space);
  if (!own) return joined(own.error());
  for (const std::size_t lender : lenders_of(own))
    if (!made.at(lender))
      return fmt::format("the space behind its inner glazing, {}, could not be lit: {}",
                         project.spaces[lender].id, joined(made.at(lender).error()));
  return {};
}

/// Of all that the sky over the site depends on through one weather year, and of the sun at each step.
Hash key_of_sky(const domain::Project& project, const climate::SkyDivision& sky, const SunnySteps& sunny,
                const domain::WeatherYear& weather, const std::optional<climate::CloudDraw>& clouds) {
  KeyBuilder key;
  const domain::Site& site = project.site;
  key.add("sky").add(sky.m());
  key.add(site.latitude_deg).add(site.longitude_deg).add(site.elevation_m).add(site.utc_offset_h);
  key.add(site.calendar_year).add(site.plan_north_deg).add(site.ground_reflectance);
  for (const Vector3& sun : sunny.sun) key.add(sun.x).add(sun.y).add(sun.z);
  key.add(weather.latitude_deg).add(weather.longitude_deg).add(weather.utc_offset_h);
  for (const domain::WeatherRow& row : weather.rows)
    key.add(row.global_w_m2)
        .add(row.beam_w_m2)
        .add(row.diffuse_w_m2)
        .add(row.dry_bulb_c)
        .add(row.dew_point_c)
        .add(row.pressure_hpa);
  key.add(clouds.has_value());
  if (clouds) key.add(clouds->seed).add(clouds->weather_year);
  return key.key();
}

std::vector<daylight::Outside> outsides(const domain::Project& project, const climate::SkyDivision& sky) {
  std::vector<daylight::Outside> outside_of;
  for (const domain::Space& space : project.spaces) {
    const domain::Storey* storey = domain::find_by_id(project.storeys, space.storey);
    std::vector<daylight::OutsideSolid> solids =
        daylight::solids_of(project.obstructions, storey == nullptr ? 0.0 : storey->elevation_m);
    daylight::add_surrounds(space, solids);
    outside_of.emplace_back(sky, daylight::Compass(project.site.plan_north_deg), solids);
  }
  return outside_of;
}

}  // namespace

ReadySpaces::ReadySpaces(const StudyInputs& inputs, const StudyOptions& options,
                         const std::vector<std::size_t>& chosen, const Context& context,
                         lightresponse::StageLog& log)
    : light(light_options(options.accuracy)),
      sky(light.sky_division),
      track(climate::place_of(inputs.project.site), inputs.project.site.utc_offset_h * kSecondsPerHour,
            inputs.project.site.calendar_year),
      sunny(sunny_steps(track, options.seed)),
      weather(weather_of(inputs, options.seed)),
      outside_of(outsides(inputs.project, sky)),
      rules(codes::rules_in_force(inputs.project, inputs.code_rules)) {
  const domain::Project& project = inputs.project;
  light_all(inputs, chosen, context, log);

  for (std::size_t y = 0; y < weather.size(); ++y) {
    context.report("daylight", y, weather.size());
    const std::optional<climate::CloudDraw> clouds = clouds_of(project, options.seed, y);
    weather_tracks.push_back(track_of(project, weather[y], clouds));
    sky_keys.push_back(context.scratch == nullptr ? Hash{}
                                                  : key_of_sky(project, sky, sunny, weather[y], clouds));
    daylight_by_year.push_back(daylight_year(project, with_lenders_, outside_of, sky, weather_tracks.back(),
                                             sunny, context, sky_keys.back()));
  }
  context.report("daylight", weather.size(), weather.size());

  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  const domain::Design empty_design;
  const domain::Design& design = proposal == nullptr ? empty_design : *proposal;
  const domain::DaylightZoneRule* zone_rule = codes::adopted_zone_rule(project, rules);
  std::vector<std::vector<Interval>> events;
  for (const domain::WeatherYear& year : weather) events.push_back(demand_events_of(project, year));
  models.resize(lit_count_);
  zones.resize(lit_count_);
  context.executor.for_each(lit_count_, [&](std::size_t s) {
    const domain::Space& space = project.spaces[with_lenders_[s].index];
    if (zone_rule != nullptr) zones[s] = codes::daylight_zones(project, design, space, *zone_rule);
    CaseControl minimum;
    minimum.sequence = codes::code_minimum_sequence(project, inputs.library, design, space, rules, zones[s],
                                                    &minimum.contents);
    models[s] = make_space_model(project, with_lenders_[s], sunny, minimum, daylight_by_year.front()[s],
                                 options.seed);
    models[s].demand_events = events;
  });
}

void ReadySpaces::light_all(const StudyInputs& inputs, const std::vector<std::size_t>& chosen,
                            const Context& context, lightresponse::StageLog& log) {
  // One space after another; each uses every thread.
  std::map<std::size_t, Result<LitSpace>> made;
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    context.report("light", i, chosen.size());
    made.emplace(chosen[i],
                 light_space(inputs, chosen[i], outside_of[chosen[i]], light, sunny.sun, context, log));
  }
  for (const std::size_t c : chosen)
    for (const std::size_t lender : lenders_of(made.at(c)))
      if (made.count(lender) == 0)
        made.emplace(lender,
                     light_lender(inputs, lender, outside_of[lender], light, sunny.sun, context, log));
  context.report("light", chosen.size(), chosen.size());

  for (const std::size_t c : chosen) why_dark.push_back(reason_for_dark(inputs.project, c, made));
  for (std::size_t i = 0; i < chosen.size(); ++i)
    if (why_dark[i].empty()) {
      with_lenders_.push_back(*std::move(made.at(chosen[i])));
      made.erase(chosen[i]);
    }
  lit_count_ = with_lenders_.size();
  for (auto& [index, result] : made)
    if (result) with_lenders_.push_back(*std::move(result));
  connect_panes(inputs.project, with_lenders_);
}

}  // namespace halflight::sim
