#pragma once
#include "sim/replicate.hpp"
#include "sim/rule_year.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

// What goes wrong with installed controls (docs/methods/faults.md): one fault at a time in the proposal of a
// space, people, weather and everything else as they are.

namespace halflight::sim {

/// A way in which the proposal can be found not to be as designed.
struct Fault {
  std::string id;          ///< "delay-left-at-its-factory-value", "covered-sensor/M1"
  std::string name;        ///< in words
  double frequency = 0.0;  ///< chance that such a system is found with it
  double per_loss = 0.0;   ///< chance each time that the sound proposal takes light from people
  std::function<void(Way&)> befall;
};

/// The faults that can befall the proposal of a space, in the order of the catalogue; none without controls.
std::vector<Fault> faults_of(const SpaceModel& model);

/// The proposal with one fault in one building-year.
struct FaultRun {
  CaseRun year;
  double under_lit_h = 0.0;  ///< of all daylight rules together (RuleYear::under_h)
};

/// Faults are run in the first building-years of a study only: differences of paired years vary little.
inline constexpr std::size_t kYearsOfFaults = 8;

/// As faults_of, and last the sound proposal; none without faults.
std::vector<FaultRun> fault_runs(Replicate& replicate, const std::vector<Fault>& faults);

/// The proposal as such systems are usually found: with those faults that are drawn for this building-year,
/// each on its own, together. Where several sensors are drawn covered, one is. `losses`: times a year that
/// the sound proposal takes light from people.
Way usually_found(const SpaceModel& model, const std::vector<Fault>& faults, std::uint32_t replicate,
                  double losses);

}  // namespace halflight::sim
