#pragma once
#include "base/time_axis.hpp"
#include "controls/daylight_loop.hpp"
#include "domain/project.hpp"
#include "energy/power_curve.hpp"
#include "people/presence.hpp"
#include "sim/daylight_year.hpp"
#include "sim/lit_space.hpp"
#include "sim/uncertainty.hpp"
#include "sim/watched_people.hpp"

#include <cstdint>
#include <memory>
#include <optional>
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

/// The instant at which a daylight rule was set by day, as it was.
struct DaySetUp {
  double task_lx = 0.0;               ///< daylight on the task; 0 in the dark
  bool sun_on_task = false;           ///< direct, past shades as they stood
  bool sun_may_reach_sensor = false;  ///< where no cloud hides it
};

/// Daylight beside a scene of the proposal.
struct SceneDaylight {
  std::string scene;       ///< id
  std::vector<double> lx;  ///< mean of each task area, as lit->task_rows
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
  std::vector<std::size_t> rule_open_sensor;        ///< the same of a dual loop's second photosensor
  std::vector<std::optional<DaySetUp>> day_set_up;  ///< of rules that were set at an instant
  std::vector<std::size_t> rule_task;               ///< index into lit->task_rows
  std::vector<SceneDaylight> by_day;                ///< of each scene of the proposal (scene_targets.hpp)
  std::uint32_t seed = 1;
  WatchedSpace watched;
  /// Of each of lit->cells, as divided_room.hpp; empty where bookings do not divide the room.
  std::vector<int> part_of_cell;
  /// Spaces whose people hold the light of this one (VacancyRule::held_by), each once: their people and
  /// sensors.
  std::vector<std::shared_ptr<const SpaceModel>> holders;
  std::vector<std::vector<Interval>> demand_events;  ///< by weather year, standard time
  /// The space behind each inner pane (LitSpace::panes), for its people and its shades; null where none is
  /// lit.
  std::vector<std::shared_ptr<const SpaceModel>> lenders;

  /// The one of `holders` with that id of a space; null where there is none.
  [[nodiscard]] const SpaceModel* holder(const std::string& id) const {
    for (const auto& one : holders)
      if (one->space->id == id) return one.get();
    return nullptr;
  }
};

/// The clocks on the site's walls.
CivilTime clock_of(const domain::Site& site);
/// Open hours as people keep them in a replicate: the first comes earlier and the last goes later.
IntervalSet open_as_used(const SpaceModel& model, const Draws& draws);
/// `open` begun earlier and ended later by `shift_s`, within the year.
IntervalSet widened(const IntervalSet& open, double shift_s);
/// All of it later by `shift_s`, within the year.
IntervalSet shifted(const IntervalSet& set, double shift_s);
/// Who is in the space in a replicate.
people::Presence presence_in(const SpaceModel& model, const Draws& draws);

/// When a cleaner is in the space in a replicate.
IntervalSet cleaning_in(const SpaceModel& model, const Draws& draws);

/// Index of the project's design of that role; the number of designs where it has none.
std::size_t design_index(const SpaceModel& model, domain::Design::Role role);
/// Whether a rule that names `groups` concerns a group; a rule that names none concerns all.
bool names_group(const std::vector<std::string>& groups, const std::string& group);
/// Null for an empty id.
const domain::Scene* scene_of(const domain::Design& design, const std::string& id);
/// Open hours of a calendar by name, standard time; empty for an unknown one. Without holidays: as a clock
/// has it that nobody told of them.
IntervalSet open_of(const SpaceModel& model, const std::string& calendar, bool with_holidays = true);

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
