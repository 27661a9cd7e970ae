#pragma once
#include "base/interval_set.hpp"
#include "people/presence.hpp"
#include "results/finding.hpp"
#include "sim/lit_space.hpp"
#include "sim/space_model.hpp"

#include <optional>

// Task lamps that plug in and are in no group (docs/methods/task_lamps.md).

namespace halflight::sim {

/// When the person is there whose seat is nearest to a lamp, awake; in a room without seats of one's own,
/// when anybody is.
IntervalSet people_at_lamp(const SpaceModel& model, const ControlCell& lamp,
                           const people::Presence& presence);

/// The delay of the sensor in the plug-in controller that drives a lamp; nothing where none does, or it has
/// none.
std::optional<double> lamp_sensor_delay_s(const SpaceModel& model, const ControlCell& lamp);

/// Whether a lamp of any design of the space has such a sensor.
bool any_lamp_sensor(const SpaceModel& model);

/// Luminaires of the proposal in the space that plug in and are driven by what is wired in; nothing where
/// none is.
std::optional<results::Finding> plugged_in_finding(const SpaceModel& model);

}  // namespace halflight::sim
