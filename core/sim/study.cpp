#include "sim/study.hpp"

#include "base/sums.hpp"
#include "codes/check.hpp"
#include "energy/estimate.hpp"
#include "sim/daylight_availability.hpp"
#include "sim/hvac_zones.hpp"
#include "sim/kept_years.hpp"
#include "sim/readings.hpp"
#include "sim/ready_spaces.hpp"
#include "sim/shed_signal.hpp"
#include "sim/space_results.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <span>
#include <utility>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using domain::Design;

/// The space in every replicate: from the store when `content` vouches for it, else run and put there.
SpaceRuns years_of_use(const SpaceModel& model, std::span<const SpaceDaylight* const> daylight_by_year,
                       const std::vector<Draws>& draws, const std::optional<Hash>& content,
                       const Context& context, lightresponse::StageLog& log) {
  Hash key;
  if (content) {
    key = years_key(*content, model, daylight_by_year, draws);
    if (const auto blob = context.blobs.get(key)) {
      if (auto kept = runs_of(*blob, draws.size(), model)) {
        log.note("years of use", true);
        return *std::move(kept);
      }
    }
  }
  SpaceRuns runs;
  runs.runs.resize(draws.size());
  context.executor.for_each(draws.size(), [&](std::size_t r) {
    context.check_cancelled();
    runs.runs[r] = run_replicate(model, *daylight_by_year[draws[r].weather_year], draws[r], r == 0);
  });
  if (content) {
    context.blobs.put(key, to_bytes(runs));
    log.note("years of use", false);
  }
  return runs;
}

/// What the caller vouches for of a space, of those that it borrows light from, whose people draw shades, and
/// of those whose people hold its light.
std::optional<Hash> content_of(const StudyInputs& inputs, const SpaceModel& model) {
  if (inputs.content_keys.empty()) return std::nullopt;
  const LitSpace& lit = *model.lit;
  const Hash& own = inputs.content_keys[lit.index];
  if (lit.panes.empty() && model.holders.empty()) return own;
  KeyBuilder key;
  key.add(own);
  for (const BorrowedPane& pane : lit.panes)
    if (pane.lender != nullptr) key.add(inputs.content_keys[pane.lender->index]);
  for (const auto& holder : model.holders)
    key.add(inputs.content_keys[static_cast<std::size_t>(holder->space - inputs.project.spaces.data())]);
  return key.key();
}

double share_of(double part, double whole) { return whole > 0.0 ? part / whole : 0.0; }

/// Adds what was assumed, and what the interval of the saving comes from.
void add_assumptions(const domain::Project& project, const Uncertainty& uncertainty,
                     const std::vector<double>& saving, results::Study& study) {
  std::vector<energy::VariedInput> varied;
  for (const UncertainInput& input : uncertainty.inputs) varied.push_back({input.values, input.names});
  const energy::Sensitivity found = energy::sensitivity(saving, varied);
  study.proof.variance_of_the_rest = found.rest;
  const auto effect_of = [&](std::string_view part) {
    for (std::size_t k = 0; k < uncertainty.inputs.size(); ++k)
      if (uncertainty.inputs[k].path.find(part) != std::string::npos) return std::abs(found.effect[k]);
    return 0.0;
  };
  for (std::size_t k = 0; k < uncertainty.inputs.size(); ++k)
    study.assumptions.push_back({uncertainty.inputs[k].path, uncertainty.inputs[k].value,
                                 uncertainty.inputs[k].source, std::abs(found.effect[k]), found.share[k], "",
                                 false});
  for (results::Assumption& assumption : plug_load_assumptions(project))
    study.assumptions.push_back(std::move(assumption));
  for (const domain::DefaultTaken& taken : project.defaults_taken) {
    results::Assumption assumption{taken.pointer, taken.value, taken.source, 0.0, 0.0, taken.typical, false};
    // A default moves the saving through the uncertain input that it is part of; others were not varied.
    struct Part {
      const char* of_default;
      const char* of_input;
    };
    for (const Part part : {Part{"/reflectances", "reflectances"}, Part{"/occupancy/", "/occupancy"},
                            Part{"_depreciation", "lumen_depreciation"},
                            Part{"/lamp_survival", "lumen_depreciation"}, Part{"/calendars", "calendars"}})
      if (taken.pointer.find(part.of_default) != std::string::npos)
        assumption.effect = effect_of(part.of_input);
    study.assumptions.push_back(std::move(assumption));
  }
  for (results::Assumption& assumption : study.assumptions)
    for (const domain::Confirmation& confirmation : project.confirmations)
      if (confirmation.pointer == assumption.path) {
        assumption.confirmed = true;
        assumption.source =
            fmt::format("confirmed by {} on {}, {}", confirmation.by, confirmation.on, confirmation.how);
      }
  std::stable_sort(study.assumptions.begin(), study.assumptions.end(),
                   [](const auto& a, const auto& b) { return a.effect > b.effect; });
}

/// The saving against as found by the first scrambles alone, more and more of them.
template <class Total>
std::vector<results::ConvergenceStep> convergence(const StudyOptions& options, Total total_wh,
                                                  std::span<const double> weights) {
  std::vector<double> saved;
  std::vector<double> whole;
  std::vector<results::ConvergenceStep> steps;
  for (int s = 1; s <= options.scrambles; ++s) {
    for (int p = 0; p < options.points_per_scramble; ++p) {
      const std::size_t r = saved.size();
      saved.push_back(total_wh(r, 0) - total_wh(r, 3));
      whole.push_back(total_wh(r, 0));
    }
    steps.push_back(
        {static_cast<int>(saved.size()),
         energy::ratio_estimate(saved, whole, s, weights.empty() ? weights : weights.first(saved.size()))});
  }
  return steps;
}

}  // namespace

const char* name_of(Accuracy accuracy) {
  switch (accuracy) {
    case Accuracy::draft:
      return "draft";
    case Accuracy::design:
      return "design";
    case Accuracy::proof:
      return "proof";
  }
  return "design";
}

results::Study run_study(const StudyInputs& inputs, const StudyOptions& options, const Context& context) {
  const domain::Project& project = inputs.project;
  results::Study study;
  study.project_id = project.id;
  study.project_name = project.name;
  study.replicates = static_cast<int>(options.building_years());
  study.seed = options.seed;
  study.accuracy = name_of(options.accuracy);

  std::vector<std::size_t> chosen;
  for (std::size_t i = 0; i < project.spaces.size(); ++i)
    if (options.spaces.empty() ||
        std::find(options.spaces.begin(), options.spaces.end(), project.spaces[i].id) != options.spaces.end())
      chosen.push_back(i);
  lightresponse::StageLog log;
  const ReadySpaces ready(inputs, options, chosen, context, log);
  study.climate = fmt::format("{}: {}", ready.weather.front().name, ready.weather.front().source);
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    const domain::Space& space = project.spaces[chosen[i]];
    results::SpaceStudy one;
    one.id = space.id;
    one.number = space.number;
    one.name = space.name;
    one.kind = space.kind;
    one.storey = space.storey;
    one.typical = space.typical;
    one.area_m2 = area(space.floor);
    one.step_s = static_cast<int>(kStep_s);
    one.not_studied_because = ready.why_dark[i];
    one.studied = one.not_studied_because.empty();
    study.spaces.push_back(std::move(one));
  }
  const std::span<const LitSpace> lit = ready.lit();

  const DaylitInstants hours = sunny_hours(ready.track);
  std::size_t next_lit = 0;
  for (results::SpaceStudy& one : study.spaces) {
    if (!one.studied) continue;
    context.report("daylight on the floor", next_lit, lit.size());
    const LitSpace& space = lit[next_lit++];
    one.daylight_availability = daylight_availability(project, space, ready.outside_of, ready.sky, hours,
                                                      ready.weather.front(), ready.light, context, log);
  }
  context.report("daylight on the floor", lit.size(), lit.size());

  const Uncertainty uncertainty =
      draw_uncertainty(project, options.seed, options.scrambles, options.points_per_scramble,
                       ready.weather.size(), options.spread);
  const std::size_t replicates = uncertainty.draws.size();
  std::vector<SpaceRuns> runs(lit.size());
  for (std::size_t s = 0; s < lit.size(); ++s) {
    context.report("years of use", s, lit.size());
    std::vector<const SpaceDaylight*> daylight;
    for (const std::vector<SpaceDaylight>& of_year : ready.daylight_by_year) daylight.push_back(&of_year[s]);
    const std::optional<Hash> content = content_of(inputs, ready.models[s]);
    runs[s] = years_of_use(ready.models[s], daylight, uncertainty.draws, content, context, log);
  }
  context.report("years of use", lit.size(), lit.size());

  const StudiedSpaces together{ready.models, runs};
  HeldAgainstReadings held = hold_against_readings(project, together, options.scrambles);
  const Estimates estimates(replicates, options.scrambles, held.weights);
  const SunUp sun_up(ready.track);
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  const domain::Design empty_design;
  const StudyParts parts{project,
                         inputs.library,
                         proposal == nullptr ? empty_design : *proposal,
                         ready.rules,
                         estimates,
                         uncertainty,
                         sun_up,
                         ready.models,
                         ready.zones,
                         ready.daylight_by_year,
                         runs};
  std::vector<std::size_t> studied;
  for (std::size_t i = 0; i < study.spaces.size(); ++i)
    if (study.spaces[i].studied) studied.push_back(i);
  context.executor.for_each(studied.size(), [&](std::size_t s) {
    describe_space(parts, s, fmt::format("/spaces/{}", studied[s]), study.spaces[studied[s]]);
  });
  for (const results::SpaceStudy& one : study.spaces)
    for (const results::Finding& finding : one.findings)
      if (finding.blocks_issue && finding.verdict == results::Finding::Verdict::fail)
        study.not_to_be_issued_because.push_back(
            fmt::format("{} {}: {}", one.number, one.name, finding.evidence));
  study.may_be_issued = study.not_to_be_issued_because.empty();

  // The building: totals are formed in each replicate, in the order of the spaces.
  const auto building_wh = [&](std::size_t r, std::size_t c) {
    CompensatedSum sum;
    for (const SpaceRuns& space : runs) sum.add(space.total_wh(r, c));
    return sum.value();
  };
  const auto building_found_wh = [&](std::size_t r) {
    CompensatedSum sum;
    for (const SpaceRuns& space : runs) sum.add(space.as_usually_found_wh(r));
    return sum.value();
  };
  for (const results::SpaceStudy& one : study.spaces) {
    study.totals.area_m2 += one.area_m2;
    study.totals.connected_w += one.connected_w;
  }
  for (std::size_t c = 0; c < 4; ++c)
    study.totals.kwh[c] = estimates.of([&](std::size_t r) { return building_wh(r, c) / 1000.0; });
  std::tie(study.totals.saving, study.totals.saving_as_usually_found) =
      estimates.savings(building_wh, building_found_wh);
  std::vector<std::array<double, 7>> total_shares(replicates);
  for (std::size_t r = 0; r < replicates; ++r)
    for (const SpaceRuns& space : runs) {
      const std::array<double, 7> part = shares_of(space.runs[r]);
      for (std::size_t k = 0; k < part.size(); ++k) total_shares[r][k] += part[k];
    }
  for (std::size_t k = 0; k < kShareNames.size(); ++k)
    study.totals.shares.push_back(
        {kShareNames[k], estimates.of([&](std::size_t r) { return total_shares[r][k] / 1000.0; })});

  study.totals.plug_loads = plug_loads_of_building(ready.models, runs, estimates);
  study.totals.load_shed = load_shed_of_building(ready.models, runs, estimates);
  study.totals.shed_signals = shed_signals_of_building(study.spaces);
  study.hvac_zones = hvac_zone_years(project, together);

  std::vector<double> saving(replicates);
  for (std::size_t r = 0; r < replicates; ++r)
    saving[r] = share_of(building_wh(r, 0) - building_wh(r, 3), building_wh(r, 0));
  study.proof.logging = logging_that_tells(together, saving, held.measured);
  study.proof.convergence = convergence(options, building_wh, held.weights);
  study.proof.readings = std::move(held.readings);
  study.proof.effective_replicates = held.effective_replicates;
  study.proof.widened = held.widened;
  add_assumptions(project, uncertainty, saving, study);
  for (const auto& [stage, count] : log.counts())
    study.cache.stages.push_back({stage, count.computed, count.reused});
  return study;
}

}  // namespace halflight::sim
