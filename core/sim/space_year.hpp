#pragma once
#include "results/study.hpp"
#include "sim/daylight_year.hpp"
#include "sim/demand_response.hpp"
#include "sim/faults.hpp"
#include "sim/plug_years.hpp"
#include "sim/replicate.hpp"
#include "sim/rule_year.hpp"
#include "sim/space_model.hpp"
#include "sim/uncertainty.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace halflight::sim {

/// Makes the model and calibrates its photosensors on `daylight` (the first weather year, shades as used).
SpaceModel make_space_model(const domain::Project& project, const LitSpace& lit, const SunnySteps& sunny,
                            const CaseControl& code_minimum, const SpaceDaylight& daylight,
                            std::uint32_t seed);

/// What a photosensor makes of the light of a space.
SensorScale sensor_scale(const domain::Project& project, const LitSpace& lit,
                         const domain::Photosensor& sensor);
/// Numbers of the sunny steps that begin in open hours as the calendar says.
std::vector<std::size_t> open_steps(const SpaceModel& model);
/// Sets one daylight rule up by a photosensor of the space, as one does on site: `signal_lx` and `task_lx`
/// are what the sensor reads of daylight and what the task has of it, by sunny step; the steps in `occupied`
/// count, or the instant that the rule states. `open_lx`: of a dual loop's open photosensor, else empty.
controls::Calibration commissioned(const SpaceModel& model, const domain::DaylightRule& rule,
                                   std::size_t sensor, std::size_t task, std::span<const float> signal_lx,
                                   std::span<const float> task_lx, std::span<const float> open_lx,
                                   std::span<const std::size_t> occupied);
/// Number of the sunny step that holds an instant of the clock; nothing in the dark.
std::optional<std::size_t> sunny_step_of(const SpaceModel& model, const domain::DaySetting& setting);

/// The lighting as found.
Way way_as_found(const SpaceModel& model);
/// The proposal's luminaires, used and controlled as those that were found.
Way way_of_relamped(const SpaceModel& model);
/// The proposal as it stands, every strategy at work.
Way way_of_proposal(const SpaceModel& model);

struct ReplicateRun {
  results::PerCase<CaseRun> cases;
  /// Light energy of the proposal's luminaires under each coalition of strategies (controls::Strategies
  /// mask), Wh.
  std::array<double, 32> coalition_wh{};
  CaseRun as_usually_found;
  std::vector<double> daylight_hours_fraction;  ///< one a task area
  std::vector<RuleYear> rules;                  ///< one a daylight rule of the proposal
  /// As fault_runs; empty beyond the first kYearsOfFaults replicates.
  std::vector<FaultRun> faults;
  std::vector<PlugRun> plugs;    ///< one a device of domain::devices_of the space
  std::vector<EventRun> events;  ///< as event_runs
  double divided_h = 0.0;        ///< that a wall divides the room
  // Of the replicate that is drawn: mean watts in half hours of standard time, proposal.
  std::vector<float> half_hour_w;
  DaysOfUse as_found_by_day;
  std::vector<std::int32_t> contact_changes;  ///< as contact_changes of hvac_zones.hpp
};

/// Runs a space through one building-year. `keep_picture`: also the half-hourly watts.
ReplicateRun run_replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                           bool keep_picture);

}  // namespace halflight::sim
