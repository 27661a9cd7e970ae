#pragma once
#include "base/time_axis.hpp"
#include "controls/daylight_loop.hpp"
#include "controls/sequence_merge.hpp"
#include "controls/timeline.hpp"
#include "results/study.hpp"
#include "sim/daylight_year.hpp"
#include "sim/lit_space.hpp"
#include "sim/uncertainty.hpp"

#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace halflight::sim {

/// A sequence with what it needs to run in a space of one design.
struct CaseControl {
  domain::Sequence sequence;
  std::string contents;  ///< in words
};

/// One space ready to run: everything that does not change between replicates.
struct SpaceModel {
  const domain::Project* project = nullptr;
  const domain::Space* space = nullptr;
  const LitSpace* lit = nullptr;
  const SunnySteps* sunny = nullptr;
  CivilTime clock{std::nullopt, 0};
  IntervalSet open;  ///< of the occupancy's calendar, nominal
  CaseControl as_found;
  CaseControl proposal;
  CaseControl code_minimum;
  bool proposal_has_devices = false;
  double device_standby_w = 0.0;  ///< of the proposal's devices in the space
  double device_standby_as_found_w = 0.0;
  std::vector<controls::Calibration> calibrations;  ///< one a daylight rule of the proposal
  std::vector<std::size_t> rule_sensor;             ///< index into lit->sensors
  std::vector<std::size_t> rule_task;               ///< index into lit->task_rows
  std::uint32_t seed = 1;
};

/// Makes the model and calibrates its photosensors on `daylight` (the first weather year, shades as used).
SpaceModel make_space_model(const domain::Project& project, const LitSpace& lit, const SunnySteps& sunny,
                            const CaseControl& code_minimum, const SpaceDaylight& daylight,
                            std::uint32_t seed);

/// One case of one replicate.
struct CaseRun {
  double light_wh = 0.0;
  double standby_wh = 0.0;
  double lit_h = 0.0;   ///< power-weighted
  double peak_w = 0.0;  ///< largest power that the sequence calls for, daylight aside
};

struct ReplicateRun {
  results::PerCase<CaseRun> cases;
  /// Light energy of the proposal's luminaires under each coalition of strategies (controls::Strategies
  /// mask), Wh.
  std::array<double, 32> coalition_wh{};
  CaseRun as_usually_found;
  std::vector<double> daylight_hours_fraction;  ///< one a task area
  // Of the replicate that is drawn: mean watts in half hours of standard time, proposal.
  std::vector<float> half_hour_w;
};

/// Runs a space through one building-year. `keep_picture`: also the half-hourly watts.
ReplicateRun run_replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                           bool keep_picture);

/// "Why this minute" of the proposal in replicate 0, through the same code path as the year.
results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil);

/// How reflected light answers to a shift of the mean reflectance: as rho / (1 - rho), the law of any
/// enclosure of one reflectance.
double reflected_factor(const LitSpace& lit, double shift);

/// Share of the mean electric light on a task (all columns of the proposal at full output) that arrives
/// reflected.
double reflected_share_of_electric(const SpaceModel& model, std::size_t task);

/// The high-end trim that just holds every task's target: largest of target / (maintained mean at the normal
/// scene), at most 1 and at least 0.05.
double trim_to_target(const SpaceModel& model, const domain::Sequence& sequence, double light_factor);

}  // namespace halflight::sim
