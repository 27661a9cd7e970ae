#pragma once
#include "domain/project.hpp"
#include "results/study.hpp"
#include "sim/lit_space.hpp"
#include "sim/space_model.hpp"

#include <optional>
#include <string>
#include <vector>

// Rooms that a movable wall divides for bookings (docs/methods/people.md).

namespace halflight::sim {

struct SpaceRuns;
class Estimates;

/// The part of a divided room in which each cell of a lit space acts, by the side of the wall
/// (domain::side_of) that all luminaires of its occupancy group are on, or its own where it is in none;
/// people::Presence::kWholeRoom where they are on both. Empty where bookings do not divide the room.
std::vector<int> parts_of_cells(const domain::Project& project, const domain::Space& space,
                                const LitSpace& lit);

/// When a scene that names a state of a wall can be called: nothing to say (null) without such a state, or
/// where the wall has it all the time. `divided`: when the dividing wall stands.
std::optional<IntervalSet> scene_stands_when(const domain::Scene& scene, const domain::Space& space,
                                             const IntervalSet& divided);

/// Nothing of a room that is not divided.
std::optional<results::DividedRoom> divided_room(const SpaceModel& model, const SpaceRuns& runs,
                                                 const Estimates& estimates);
/// The rule of `divided_room_finding`.
inline constexpr const char* kControlsFollowTheWall = "control-does-not-follow-the-wall";
/// What keeps the controls of the proposal from acting part by part; nothing where they do.
std::optional<results::Finding> divided_room_finding(const SpaceModel& model);

}  // namespace halflight::sim
