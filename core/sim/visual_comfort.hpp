#pragma once
#include "results/study.hpp"
#include "sim/space_model.hpp"

#include <vector>

// What people see beside their task: glare, faces, walls and ceiling, what is left of a screen's contrast.
// Electric light of the proposal, in every state of sim/electric_states.hpp.

namespace halflight::sim {

/// Glare and cylindrical illuminance at the eyes over every horizontal task area (docs/methods/glare.md,
/// docs/methods/room_light.md).
std::vector<results::EyeLight> eye_light(const SpaceModel& model);

/// Walls and ceiling (docs/methods/room_light.md).
std::vector<results::RoomSurfaceLight> room_surface_light(const SpaceModel& model);

/// Task areas that are screens (docs/methods/room_light.md).
std::vector<results::ScreenLight> screen_light(const SpaceModel& model);

/// Verdicts on the limits that task areas give for the above.
std::vector<results::Finding> visual_findings(const SpaceModel& model, const results::SpaceStudy& one);

}  // namespace halflight::sim
