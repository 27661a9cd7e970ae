#pragma once
#include "domain/code_rules.hpp"
#include "results/study.hpp"
#include "sim/space_year.hpp"

#include <span>
#include <string>
#include <vector>

namespace halflight::sim {

/// Light on every task area: all groups at full output (initial and maintained), at trim, in every scene, and
/// each scene group alone. All but the last in every arrangement of movable partitions, named after the
/// state. Proposal.
std::vector<results::GroupLight> electric_light(const SpaceModel& model);

/// Floor light on every egress path in every state that the sequence can reach: scenes, empty, demand
/// response, daylight at its lowest level, each device lost, power back, normal power lost; each in
/// every arrangement of movable partitions. Maintained
/// values; daylight itself is not counted.
std::vector<results::EgressState> egress_light(const SpaceModel& model,
                                               const std::vector<domain::CodeRule>& rules,
                                               bool serves_other_rooms);

std::vector<results::SceneState> scene_states(const SpaceModel& model);

/// Maintained illuminance at the normal scene and trim over the whole plan, for contours.
results::PlanGrid plan_grid(const SpaceModel& model);

/// Values at the points of the plan of a space with that floor, laid on their grid.
results::PlanGrid plan_grid_of(const LitSpace& lit, const Polygon& floor, std::span<const float> lx);

/// Illuminance at every point of every task area, then of the plan's grid ("plan"), in every electric state.
std::vector<results::PointValues> point_values(const SpaceModel& model);

}  // namespace halflight::sim
