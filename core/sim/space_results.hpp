#pragma once
#include "climate/sun.hpp"
#include "domain/project.hpp"
#include "energy/estimate.hpp"
#include "results/study.hpp"
#include "sim/space_year.hpp"
#include "sim/uncertainty.hpp"

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace halflight::sim {

/// Replicates of one space, in columns.
struct SpaceRuns {
  std::vector<ReplicateRun> runs;
  [[nodiscard]] double total_wh(std::size_t replicate, std::size_t c) const {
    return total_wh(runs[replicate].cases[c]);
  }
  [[nodiscard]] double as_usually_found_wh(std::size_t replicate) const {
    return total_wh(runs[replicate].as_usually_found);
  }

 private:
  static double total_wh(const CaseRun& run) { return run.light_wh + run.standby_wh; }
};

inline constexpr std::array<const char*, 7> kShareNames = {
    "lamp_replacement", "schedule", "occupancy", "scenes", "trim", "daylight", "standby"};

/// What each cause takes off the energy as found in one building-year, Wh; sums to as found minus proposal.
/// New luminaires and the strategies share the light energy by their Shapley values.
std::array<double, 7> shares_of(const ReplicateRun& run);

/// When the sun rises and sets, to the minute of standard time; -1 on days without.
struct SunUp {
  std::vector<Seconds> rises = std::vector<Seconds>(365, -1);
  std::vector<Seconds> sets = std::vector<Seconds>(365, -1);

  explicit SunUp(const climate::SunTrack& track);
};

/// Instants of such a list as hours of the civil day; -1 stays.
std::vector<float> hours_by_the_clock(std::span<const Seconds> instants, const CivilTime& clock);

/// Estimates over replicates; their standard errors come from the scrambles.
class Estimates {
 public:
  /// `weights`: how much each replicate counts (energy/weighing.hpp); none: all alike.
  Estimates(std::size_t replicates, int scrambles, std::vector<double> weights = {})
      : replicates_(replicates), scrambles_(scrambles), weights_(std::move(weights)) {}

  /// `value(r)` of every replicate.
  template <class Value>
  [[nodiscard]] results::Estimate of(Value value) const {
    return energy::estimate(column(value), scrambles_, weights_);
  }
  /// `part(r)` over `whole(r)`, as the ratio of totals.
  template <class Part, class Whole>
  [[nodiscard]] results::Estimate of_ratio(Part part, Whole whole) const {
    return energy::ratio_estimate(column(part), column(whole), scrambles_, weights_);
  }
  /// Savings of the proposal against each case, `total_wh(replicate, case)`, and against as found with the
  /// faults that such systems are found with, `found_wh(replicate)`.
  template <class Total, class Found>
  [[nodiscard]] std::pair<results::Savings, results::Estimate> savings(Total total_wh, Found found_wh) const {
    const auto against = [&](std::size_t c, auto remaining_wh) {
      return of_ratio([&](std::size_t r) { return total_wh(r, c) - remaining_wh(r); },
                      [&](std::size_t r) { return total_wh(r, c); });
    };
    const auto proposed = [&](std::size_t r) { return total_wh(r, 3); };
    return {results::Savings{against(0, proposed), against(1, proposed), against(2, proposed)},
            against(0, found_wh)};
  }

 private:
  std::size_t replicates_;
  int scrambles_;
  std::vector<double> weights_;
  template <class Value>
  [[nodiscard]] std::vector<double> column(Value value) const {
    std::vector<double> values(replicates_);
    for (std::size_t r = 0; r < replicates_; ++r) values[r] = value(r);
    return values;
  }
};

/// What the runs of a study have left, for the results of each space.
struct StudyParts {
  const domain::Project& project;
  const domain::Library& library;
  const domain::Design& design;
  const std::vector<domain::CodeRule>& rules;
  const Estimates& estimates;
  const Uncertainty& uncertainty;
  const SunUp& sun_up;
  // By studied space, except the first index of daylight_by_year.
  const std::vector<SpaceModel>& models;
  const std::vector<std::vector<results::DaylightZone>>& zones;
  const std::vector<std::vector<SpaceDaylight>>& daylight_by_year;
  const std::vector<SpaceRuns>& runs;
};

/// What is wrong with a daylight rule of the proposal, by index: what its photosensor sees, how it was set,
/// what its group can do.
std::vector<results::Finding> daylight_rule_findings(const SpaceModel& model, std::size_t rule);
/// Rule of the finding that load controllers or drivers cannot dim what a daylight rule dims.
inline constexpr const char* kDaylightCannotDim = "daylight-cannot-dim";
/// What is wrong where the loops of the proposal keep one another moving.
std::optional<results::Finding> hunting_finding(const SpaceModel& model);

/// Fills in the results of studied space number `s`; `pointer` is where they stand in the study.
void describe_space(const StudyParts& parts, std::size_t s, const std::string& pointer,
                    results::SpaceStudy& one);

}  // namespace halflight::sim
