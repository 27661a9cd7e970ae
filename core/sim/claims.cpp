#include "sim/claims.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

constexpr double kOneSided95 = 1.6448536269514722;
/// Hand-held illuminance meter of class B (DIN 5032-7): total error 10 %, taken as two standard deviations.
constexpr double kMeterSpread = 0.05;
constexpr double kTestDays = 28.0;

double normal_cumulative(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double spread_of(const results::Estimate& estimate) {
  return (estimate.high - estimate.low) / (2.0 * kOneSided95);
}

/// How much the energy of four weeks varies over the year, relative to its mean; season included.
double four_week_variation(const std::vector<float>& half_hour_w) {
  constexpr std::size_t window = 28 * 48;
  std::vector<double> sums;
  for (std::size_t begin = 0; begin + window <= half_hour_w.size(); begin += window) {
    double sum = 0.0;
    for (std::size_t i = begin; i < begin + window; ++i) sum += half_hour_w[i];
    sums.push_back(sum);
  }
  double mean = 0.0;
  for (const double s : sums) mean += s / static_cast<double>(sums.size());
  if (mean <= 0.0) return 0.0;
  double variance = 0.0;
  for (const double s : sums) variance += (s - mean) * (s - mean) / static_cast<double>(sums.size() - 1);
  return std::sqrt(variance) / mean;
}

std::vector<std::string> paths_of(const Uncertainty& uncertainty, std::initializer_list<const char*> parts) {
  std::vector<std::string> paths;
  for (const UncertainInput& input : uncertainty.inputs)
    for (const char* part : parts)
      if (input.path.find(part) != std::string::npos) {
        paths.push_back(input.path);
        break;
      }
  return paths;
}

}  // namespace

double chance_of_noticing(double shortfall, double sigma) {
  return sigma <= 0.0 ? 1.0 : normal_cumulative(shortfall / sigma - kOneSided95);
}

std::vector<results::Claim> claims_of(const SpaceModel& model, const results::SpaceStudy& study,
                                      const std::string& pointer, const std::vector<float>& half_hour_w,
                                      const Uncertainty& uncertainty) {
  std::vector<results::Claim> claims;
  const std::string input = "/spaces/" + std::to_string(model.lit->index);

  const results::Estimate& saving = study.saving.against_as_found;
  if (study.cases[0].lighting_kwh.mean > 0.0) {
    results::Claim claim;
    claim.id = "saving-against-as-found";
    claim.text = "{value} less lighting energy than stands there now, standby included ({low} to {high}).";
    claim.result = pointer + "/annual/saving/against_as_found";
    claim.unit = "fraction";
    claim.low = saving.low;
    claim.high = saving.high;
    claim.method = "energy";
    claim.inputs = {input, "/designs"};
    for (const UncertainInput& u : uncertainty.inputs) claim.assumptions.push_back(u.path);
    const double weeks = (1.0 - saving.mean) * four_week_variation(half_hour_w);
    const double sigma = std::hypot(spread_of(saving), weeks);
    claim.test.measure =
        "Energy of the lighting circuits of this space and of its control devices over four weeks, "
        "divided by what the installation as found used in four weeks before the work";
    claim.test.expected = saving.mean;
    claim.test.tolerance = kOneSided95 * sigma;
    claim.test.duration_days = kTestDays;
    claim.test.shortfall = "10 points of saving";
    claim.test.chance_of_noticing = chance_of_noticing(0.10, sigma);
    if (claim.test.chance_of_noticing < 0.5)
      claim.test.remark =
          "Four weeks cannot tell: season and use move the figure by more than the shortfall. "
          "Meter for a year, or compare with the model run for the same weeks.";
    claims.push_back(std::move(claim));
  }

  for (std::size_t g = 0; g < study.electric.size(); ++g) {
    for (std::size_t t = 0; t < study.electric[g].task_areas.size(); ++t) {
      const results::TaskAreaLight& light = study.electric[g].task_areas[t];
      if (light.state != "trimmed") continue;
      const domain::TaskArea* task = domain::find_by_id(model.space->task_areas, light.id);
      const double sigma = std::hypot(light.input_spread_lx, light.error_lx / lightresponse::kErrorCoverage);
      results::Claim claim;
      claim.id = "light-on-" + light.id;
      claim.text =
          fmt::format("{{value}} on {} in the mean, maintained, without daylight ({{low}} to {{high}}).",
                      task == nullptr ? light.id : task->name);
      claim.result = fmt::format("{}/electric/{}/task_areas/{}/mean_lx", pointer, g, t);
      claim.unit = "lx";
      claim.low = light.mean_lx - kOneSided95 * sigma;
      claim.high = light.mean_lx + kOneSided95 * sigma;
      claim.method = "light_response";
      claim.inputs = {input, "/luminaire_types", "/designs"};
      claim.assumptions = paths_of(uncertainty, {"reflectances", "lumen_depreciation"});
      claim.test.measure = fmt::format(
          "Illuminance at the {} points of calculation, {}, at night, lights at trim, by a "
          "meter of class B; new luminaires read higher by the light loss factor",
          model.lit->task_rows[t].points, light.plane);
      claim.test.expected = light.mean_lx;
      const double with_meter = std::hypot(sigma, kMeterSpread * light.mean_lx);
      claim.test.tolerance = kOneSided95 * with_meter;
      claim.test.duration_days = 1.0;
      claim.test.shortfall = "20 % of the mean";
      claim.test.chance_of_noticing = chance_of_noticing(0.20 * light.mean_lx, with_meter);
      claims.push_back(std::move(claim));
    }
  }

  for (std::size_t t = 0; t < study.daylight.size(); ++t) {
    const double fraction = study.daylight[t].hours_above_target_fraction;
    if (fraction <= 0.0) continue;
    const domain::TaskArea* task = domain::find_by_id(model.space->task_areas, study.daylight[t].task_area);
    results::Claim claim;
    claim.id = "daylight-on-" + study.daylight[t].task_area;
    claim.text = fmt::format(
        "{{value}} of the open hours daylight alone keeps the target on {} ({{low}} to {{high}}).",
        task == nullptr ? study.daylight[t].task_area : task->name);
    claim.result = fmt::format("{}/daylight/{}/hours_above_target_fraction", pointer, t);
    claim.unit = "fraction";
    claim.low = study.daylight_intervals[t].low;
    claim.high = study.daylight_intervals[t].high;
    claim.method = "daylight";
    claim.inputs = {input + "/openings", "/site", "/shades"};
    claim.assumptions = paths_of(uncertainty, {"reflectances", "climate", "shades", "calendars"});
    const double sigma = std::max(0.02, spread_of(study.daylight_intervals[t]));
    claim.test.measure =
        "Illuminance logged every 5 minutes on the task area with the lights off, over a year";
    claim.test.expected = fraction;
    claim.test.tolerance = kOneSided95 * sigma;
    claim.test.duration_days = 365.0;
    claim.test.shortfall = "10 points of the open hours";
    claim.test.chance_of_noticing = chance_of_noticing(0.10, sigma);
    claims.push_back(std::move(claim));
  }

  // The state with the least light decides, among those on normal power and the one without it.
  for (const bool emergency : {false, true}) {
    std::size_t least = study.egress.size();
    for (std::size_t i = 0; i < study.egress.size(); ++i) {
      const bool lost = study.egress[i].state.starts_with("normal power lost");
      const bool counts = lost == emergency && (lost || study.egress[i].limit_lx > 0.0);
      if (counts && (least == study.egress.size() || study.egress[i].min_lx < study.egress[least].min_lx))
        least = i;
    }
    if (least == study.egress.size()) continue;
    const results::EgressState& state = study.egress[least];
    const double sigma = std::hypot(kPhotometrySpread, kLightLossSpread) * state.min_lx;
    results::Claim claim;
    claim.id = emergency ? "egress-on-emergency-power" : "egress-on-normal-power";
    claim.text = emergency
                     ? fmt::format(
                           "At least {{value}} on the floor of egress path {} when normal power is lost "
                           "({{low}} to {{high}}).",
                           state.path)
                     : fmt::format(
                           "At least {{value}} on the floor of egress path {} in every state of the "
                           "sequence; least in \"{}\" ({{low}} to {{high}}).",
                           state.path, state.state);
    claim.result = fmt::format("{}/egress/{}/min_lx", pointer, least);
    claim.unit = "lx";
    claim.low = std::max(0.0, state.min_lx - kOneSided95 * sigma);
    claim.high = state.min_lx + kOneSided95 * sigma;
    claim.method = "light_response";
    claim.inputs = {input + "/egress_paths", "/designs"};
    claim.assumptions = paths_of(uncertainty, {"reflectances", "lumen_depreciation"});
    claim.test.measure = fmt::format(
        "Illuminance on the floor along the path every half metre in state \"{}\", at night", state.state);
    claim.test.expected = state.min_lx;
    const double with_meter = std::hypot(sigma, kMeterSpread * state.min_lx);
    claim.test.tolerance = kOneSided95 * with_meter;
    claim.test.duration_days = 1.0;
    claim.test.shortfall = "20 % of the least value";
    claim.test.chance_of_noticing = chance_of_noticing(0.20 * state.min_lx, with_meter);
    claims.push_back(std::move(claim));
  }
  return claims;
}

}  // namespace halflight::sim
