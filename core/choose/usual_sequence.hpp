#pragma once
#include "choose/room_controls.hpp"
#include "domain/project.hpp"

#include <string>
#include <vector>

// What is usual for a kind of space: what brings the light on, what an empty room does, what the clock does.

namespace halflight::choose {

/// Gives a sequence the on and vacancy rules of the kind (StartingPoint), and its schedule where it has none,
/// as far as the owner and safety allow; tells in `notes` what could not be had. Light that cannot come by
/// motion, for want of sensors, comes by hand.
void apply_usual_rules(const domain::Project& project, const domain::Space& space,
                       const domain::SpaceKind& kind, bool has_sensors, domain::Sequence& sequence,
                       std::vector<std::string>& notes);

/// Lengthens the vacancy delay to what seats at the edge of a field need, as far as codes let it (20 min,
/// ASHRAE 90.1 and IECC). Returns whether everybody who sits still keeps the light then.
bool lengthen_delay(const domain::Space& space, const std::vector<domain::Luminaire>& luminaires,
                    RoomControls& controls, std::vector<std::string>& notes);

}  // namespace halflight::choose
