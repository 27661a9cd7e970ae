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

/// lx that a photosensor reads per lx of the light of a daylight group on it; 0 where it sees none.
double reading_of_group(const SpaceModel& model, std::size_t sensor, const std::string& group);

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
                               double reflected, double depreciation, const ShadedDaylight& daylight);

/// Whether the sequence's loops have one settled state, with the room as designed. Trim moves their limits
/// and not this.
controls::Coupling coupling_of_loops(const SpaceModel& model, const domain::Sequence& sequence);

}  // namespace halflight::sim
