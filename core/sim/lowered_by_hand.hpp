#pragma once
#include "controls/timeline.hpp"
#include "sim/space_model.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <vector>

// The levels below the normal scene that people set by hand (docs/methods/people.md): by dimming, or by
// leaving switch legs off.

namespace halflight::sim {

/// What the stations of a sequence's manual rule let people do.
struct HandLevels {
  bool dims = false;
  /// Scene groups with a switch of their own; none where the light can be dimmed.
  std::vector<std::string> switch_legs;
  /// How many levels there are below the normal scene: tenths of it, or its legs without one or more of them.
  [[nodiscard]] std::size_t count() const;
  /// Level of a scene group at number `step`; `can_dim`: whether all of its channels do.
  [[nodiscard]] double of(std::size_t step, const std::string& scene_group, double normal,
                          bool can_dim) const;
};
/// `design`: whose stations they are.
HandLevels hand_levels(const SpaceModel& model, std::size_t design, const domain::Sequence& sequence);

/// Whether people can dim a cell: its controllers and all of its drivers do.
bool can_dim(const SpaceModel& model, const ControlCell& cell);

/// What people set day by day who prefer `preferred_lx` (0: leave it): the level whose light is nearest to
/// that, of two that are equally near the brighter. `lx_of_step`: of each level below the normal scene, the
/// light where people work; a level without light there is never set.
std::vector<controls::LoweredFrom> lowered_day_by_day(std::span<const double> preferred_lx, double normal_lx,
                                                      std::span<const double> lx_of_step);

}  // namespace halflight::sim
