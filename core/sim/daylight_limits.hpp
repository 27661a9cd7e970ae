#pragma once
#include "controls/daylight_loop.hpp"
#include "domain/control.hpp"
#include "sim/shaded_daylight.hpp"
#include "sim/space_model.hpp"

#include <functional>
#include <string>
#include <vector>

namespace halflight::sim {

/// What a photosensor reads, in lx, with the proposal's cells that `counts` accepts at full output.
double signal_of(const SpaceModel& model, std::size_t sensor, double reflected, double depreciation,
                 const std::function<bool(const ControlCell&)>& counts);

/// The same with the high-end trim in force on all that dims.
double trimmed_signal_of(const SpaceModel& model, std::size_t sensor, double trim, double reflected,
                         double depreciation, const std::function<bool(const ControlCell&)>& counts);

/// Whether nothing in a daylight group of the proposal dims: its drivers do not, or load controllers only
/// switch them. False for a group without luminaires.
bool only_switches(const SpaceModel& model, const std::string& group);

/// lx that a photosensor reads per lx of the light of a daylight group on it; 0 where it sees none.
double reading_of_group(const SpaceModel& model, std::size_t sensor, const std::string& group);

/// How installed loops differ from what was commissioned (faults.hpp).
struct LoopFaults {
  double gain = 1.0;  ///< factor on what loops take off per lx; of integral reset, divides its set-point
  bool first_two_swapped = false;  ///< the first two loops drive one another's groups
  friend bool operator==(const LoopFaults&, const LoopFaults&) = default;
};

/// What daylight leaves the groups of a sequence's daylight rules through one year.
struct DaylightLimits {
  struct Group {
    std::string group;
    /// By sunny step, fraction of full output; 0 where switched off. In the dark nothing limits.
    std::vector<double> level;
  };
  std::vector<Group> groups;
};

/// Runs the loops of the proposal's photosensors under one trim, as commissioned: their night signal is
/// stored with that trim and the room as it is. Rules whose sensor or task is not in the space have no part.
DaylightLimits daylight_limits(const SpaceModel& model, const domain::Sequence& sequence, double trim,
                               double reflected, double depreciation, const ShadedDaylight& daylight,
                               const LoopFaults& faults = {});

/// Whether the sequence's loops have one settled state, with the room as designed. Trim moves their limits
/// and not this.
controls::Coupling coupling_of_loops(const SpaceModel& model, const domain::Sequence& sequence);

}  // namespace halflight::sim
