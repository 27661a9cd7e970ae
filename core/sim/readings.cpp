#include "sim/readings.hpp"

#include "domain/names.hpp"
#include "energy/weighing.hpp"

#include <algorithm>
#include <cstddef>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

/// Fewer years than this tell nothing of an interval (assumption).
constexpr double kLeastEffective = 8.0;
constexpr int kLoggedDays = 14;
/// Of an energy logger at a circuit, of its reading (uncertainty.hpp, logged).
constexpr double kLoggerSpread = 0.03;
constexpr double kLeastNarrowing = 0.05;
constexpr std::size_t kMostSpacesToLog = 3;

double sum_of_days(const std::array<float, 365>& days, int first, int last) {
  double sum = 0.0;
  for (int day = first; day <= last; ++day) sum += static_cast<double>(days[static_cast<std::size_t>(day)]);
  return sum;
}

/// What each replicate gives for a reading of the spaces with these numbers.
std::vector<double> modelled(const domain::Reading& reading, std::span<const SpaceRuns> runs,
                             std::span<const std::size_t> spaces) {
  const int first = day_of_year(reading.from);
  const int last = day_of_year(reading.to);
  std::vector<double> values(runs.empty() ? 0 : runs.front().runs.size(), 0.0);
  for (const std::size_t s : spaces)
    for (std::size_t r = 0; r < values.size(); ++r) {
      const DaysOfUse& days = runs[s].runs[r].as_found_by_day;
      values[r] +=
          reading.kwh ? sum_of_days(days.wh, first, last) / 1000.0 : sum_of_days(days.lit_h, first, last);
    }
  return values;
}

std::string in_words(const domain::Project& project, const domain::Reading& reading) {
  std::string of;
  if (const domain::Meter* meter = domain::find_by_id(project.meters, reading.meter))
    of = "meter " + domain::named(meter->name, meter->id);
  if (const domain::Space* space = domain::find_by_id(project.spaces, reading.space))
    of = fmt::format("{} {}", space->number, space->name);
  return fmt::format("{}, {} to {}", of, date_text(reading.from), date_text(reading.to));
}

/// A reading with the spaces that it sums, as numbers of studied spaces.
struct Summed {
  std::vector<std::size_t> spaces;
  std::string not_used_because;
};
Summed summed(const domain::Project& project, const domain::Reading& reading,
              std::span<const SpaceModel> models) {
  Summed found;
  std::string missing;
  for (const domain::Space& space : project.spaces) {
    const bool counts = reading.meter.empty() ? space.id == reading.space : space.meter == reading.meter;
    if (!counts) continue;
    const auto model = std::find_if(models.begin(), models.end(),
                                    [&](const SpaceModel& m) { return m.space->id == space.id; });
    if (model != models.end())
      found.spaces.push_back(static_cast<std::size_t>(model - models.begin()));
    else
      missing += (missing.empty() ? "" : ", ") + space.number;
  }
  if (!missing.empty()) found.not_used_because = fmt::format("not studied: {}", missing);
  return found;
}

}  // namespace

HeldAgainstReadings hold_against_readings(const domain::Project& project, const StudiedSpaces& spaces,
                                          int scrambles) {
  HeldAgainstReadings held;
  const std::size_t years = spaces.runs.empty() ? 0 : spaces.runs.front().runs.size();
  held.effective_replicates = static_cast<double>(years);
  std::vector<energy::Measured> measured;
  std::vector<std::vector<double>> columns;
  for (const domain::Reading& reading : project.readings) {
    results::ReadingCheck check;
    check.id = reading.id;
    check.of = in_words(project, reading);
    check.unit = reading.kwh ? "kWh" : "h";
    check.value = reading.kwh ? *reading.kwh : reading.lit_h.value_or(0.0);
    const Summed sum = summed(project, reading, spaces.models);
    check.not_used_because = sum.not_used_because;
    columns.emplace_back();
    if (check.not_used_because.empty()) {
      columns.back() = modelled(reading, spaces.runs, sum.spaces);
      check.before = energy::estimate(columns.back(), scrambles);
      const double deviation = reading.spread * std::max(check.value, check.before.mean);
      if (deviation > 0.0)
        measured.push_back({columns.back(), check.value, deviation});
      else
        check.not_used_because = "neither the reading nor the model has any light";
    }
    held.readings.push_back(std::move(check));
  }
  if (measured.empty()) return held;
  energy::Weights weights = energy::weigh(measured, years, kLeastEffective);
  held.weights = std::move(weights.of_year);
  held.effective_replicates = weights.effective;
  held.widened = weights.widened;
  held.measured = measured;
  for (energy::Measured& one : held.measured) one.deviation *= weights.widened;
  for (std::size_t i = 0; i < held.readings.size(); ++i) {
    results::ReadingCheck& check = held.readings[i];
    if (!check.not_used_because.empty()) continue;
    check.after = energy::estimate(columns[i], scrambles, held.weights);
    check.residual = check.value > 0.0 ? check.after.mean / check.value - 1.0 : 0.0;
  }
  return held;
}

std::vector<results::Logging> logging_that_tells(const StudiedSpaces& spaces, std::span<const double> saving,
                                                 std::span<const energy::Measured> measured) {
  const double least =
      std::max(kLeastNarrowing,
               energy::narrowing_by_chance(spaces.models.size() * (365 / kLoggedDays), saving.size()));
  std::vector<results::Logging> found;
  for (std::size_t s = 0; s < spaces.models.size(); ++s) {
    results::Logging best;
    best.space = spaces.models[s].space->id;
    for (int first = 0; first + kLoggedDays <= 365; first += kLoggedDays) {
      std::vector<double> wh;
      double mean = 0.0;
      for (const ReplicateRun& run : spaces.runs[s].runs) {
        wh.push_back(sum_of_days(run.as_found_by_day.wh, first, first + kLoggedDays - 1));
        mean += wh.back() / static_cast<double>(saving.size());
      }
      const double narrowing = energy::narrowing(saving, wh, kLoggerSpread * mean, measured);
      if (narrowing <= best.narrowing) continue;
      best.narrowing = narrowing;
      best.from = month_day(first);
      best.to = month_day(first + kLoggedDays - 1);
    }
    if (best.narrowing >= least) found.push_back(std::move(best));
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.narrowing > b.narrowing; });
  if (found.size() > kMostSpacesToLog) found.resize(kMostSpacesToLog);
  return found;
}

}  // namespace halflight::sim
