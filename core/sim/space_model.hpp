#pragma once
#include "base/time_axis.hpp"
#include "controls/daylight_loop.hpp"
#include "domain/project.hpp"
#include "energy/power_curve.hpp"
#include "people/presence.hpp"
#include "sim/daylight_year.hpp"
#include "sim/lit_space.hpp"
#include "sim/uncertainty.hpp"

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace halflight::sim {

/// A sequence with what it needs to run in a space of one design.
struct CaseControl {
  domain::Sequence sequence;
  std::string contents;  ///< in words
};

/// lx that a photosensor reads per lx of light on it (photometry/spectrum.hpp).
struct SensorScale {
  double daylight = 1.0;
  std::vector<double> electric;  ///< of each column of the scene
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
  std::vector<SensorScale> sensor_scales;           ///< as lit->sensors
  std::vector<controls::Calibration> calibrations;  ///< one a daylight rule of the proposal
  std::vector<std::size_t> rule_sensor;             ///< index into lit->sensors
  std::vector<std::size_t> rule_task;               ///< index into lit->task_rows
  std::uint32_t seed = 1;
  /// The space behind each inner pane (LitSpace::panes), for its people and its shades; null where none is
  /// lit.
  std::vector<std::shared_ptr<const SpaceModel>> lenders;
};

/// Open hours as people keep them in a replicate: the first comes earlier and the last goes later.
IntervalSet open_as_used(const SpaceModel& model, const Draws& draws);
/// `open` begun earlier and ended later by `shift_s`, within the year.
IntervalSet widened(const IntervalSet& open, double shift_s);
/// Who is in the space in a replicate.
people::Presence presence_in(const SpaceModel& model, const Draws& draws);

/// Index of the project's design of that role; the number of designs where it has none.
std::size_t design_index(const SpaceModel& model, domain::Design::Role role);
/// Whether a rule that names `groups` concerns a group; a rule that names none concerns all.
bool names_group(const std::vector<std::string>& groups, const std::string& group);
/// Null for an empty id.
const domain::Scene* scene_of(const domain::Design& design, const std::string& id);
/// Open hours of a calendar by name, standard time; empty for an unknown one.
IntervalSet open_of(const SpaceModel& model, const std::string& calendar);

/// Mean over the points of rows, initial lx at full output of the columns of a cell, times their light loss;
/// each column times its weight, where weights are given.
double cell_lx(const SpaceModel& model, const lightresponse::PointRows& rows, const ControlCell& cell,
               double reflected, std::span<const double> weight = {});

/// Power of a cell by kind of driver, with the watts of a replicate.
std::vector<energy::PowerCurve> curves_of(const SpaceModel& model, const ControlCell& cell,
                                          const Draws& draws);

/// The high-end trim that a sequence asks for: 1 without a trim rule, its figure where it gives one, else
/// `trim_to_target`.
double high_end_trim(const SpaceModel& model, const domain::Sequence& sequence, double depreciation,
                     double reflected);

/// The high-end trim that just holds every task's target: largest of target / (maintained mean at the normal
/// scene), at most 1 and at least 0.05; 1 without a proposal. `depreciation` and `reflected` as in a
/// replicate; 1 is nominal.
double trim_to_target(const SpaceModel& model, const domain::Sequence& sequence, double depreciation,
                      double reflected);

/// How reflected light answers to a shift of the mean reflectance: as rho / (1 - rho), the law of any
/// enclosure of one reflectance.
double reflected_factor(const LitSpace& lit, double shift);

}  // namespace halflight::sim
