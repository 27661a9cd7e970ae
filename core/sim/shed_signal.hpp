#pragma once
#include "domain/project.hpp"
#include "results/study.hpp"
#include "sim/lit_space.hpp"
#include "sim/space_model.hpp"

#include <optional>
#include <vector>

// Light while a signal asks for power at once (docs/methods/load_shed.md).

namespace halflight::sim {

/// What names of states begin with in which the signal stands.
inline constexpr const char* kLoadShedState = "load shed";

/// Whether a rule takes a cell down.
bool sheds(const domain::LoadShedRule& rule, const ControlCell& cell);

/// The signal against the normal scene at trim, at night, with everything on; `egress`: of the same space in
/// all of its states. Nothing without a rule.
std::optional<results::ShedSignal> shed_signal(const SpaceModel& model,
                                               const std::vector<results::EgressState>& egress);
/// Whether it leaves enough on every way out, with the light that it leaves.
results::Finding shed_finding(const results::ShedSignal& signal);

/// By interface, in the order in which spaces first name them.
std::vector<results::BuildingShedSignal> shed_signals_of_building(
    const std::vector<results::SpaceStudy>& spaces);

}  // namespace halflight::sim
