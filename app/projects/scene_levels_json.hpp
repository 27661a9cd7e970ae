#pragma once
#include "choose/room_scenes.hpp"

#include <nlohmann/json.hpp>

namespace halflight::projects {

/// What was found for a scene: `levels` with `power_w`, or the members `at_odds` of a conflict; and all
/// `demands` with what they come to (docs/formats/proposals.md).
nlohmann::json scene_levels_json(const choose::RoomScene& scene);

}  // namespace halflight::projects
