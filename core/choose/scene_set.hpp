#pragma once
#include "choose/room_controls.hpp"
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "sim/design_trials.hpp"

#include <functional>
#include <span>
#include <string>
#include <vector>

// The scenes that are usual for a kind of space, and which luminaires of a room they must set apart
// (docs/methods/scene_levels.md).

namespace halflight::choose {

/// The scenes of the kind beside the one that stands when nothing is called, with their targets on the room's
/// task areas: a share of its own target on each horizontal one, the contrast on each screen. A scene that
/// asks for contrast is left out where no task area has a screen, shades are left alone where none moves. All
/// `groups` stand at the same share of full output, rounded up to 5 %: light goes with the level. `fresh`
/// gives an id that ends in a stem and a number.
std::vector<domain::Scene> usual_scenes(const domain::SpaceKind& kind, const domain::Project& project,
                                        const domain::Space& space, std::span<const std::string> groups,
                                        const std::function<std::string(const std::string& stem)>& fresh);

/// Scene groups of a room that has none, and its scenes, the normal one first.
struct SceneSet {
  std::vector<domain::Group> groups;
  std::vector<domain::Scene> scenes;
  std::vector<std::string> why;
};

/// Of a room whose luminaires dim and that is lit in `trials`. `controls`: of the room, without scene groups
/// and scenes. Where a scene of the kind asks for contrast on a screen, the luminaires that throw most of
/// their light on it, for what they give the tasks, are a group of their own: of all such splits the one
/// whose scenes draw least, or none where that saves less than a twentieth. Levels hold the scenes' targets
/// at least power; a scene that nothing holds is left out, with the reason.
SceneSet scene_set(const sim::DesignTrials& trials, const domain::Project& project,
                   const domain::SpaceKind& kind, const RoomControls& controls,
                   const std::vector<domain::Luminaire>& luminaires, const std::string& id_stem,
                   const std::set<std::string>& taken);

}  // namespace halflight::choose
