#pragma once
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/study.hpp"

#include <string>
#include <vector>

namespace halflight::codes {

/// The daylight zones of a space under one code's definition, clipped to the room, cut by obstructions,
/// without overlap (toplit before primary before secondary, then in the order of the openings). One zone per
/// kind and, for windows, per cardinal direction faced; ids are "primary south", "secondary south", "toplit".
/// Zones come in that order of priority; none is empty. docs/methods/codes.md gives the geometry.
///
/// `general_lighting_w` counts a luminaire in the first zone, in that order, that it lies in completely or
/// partly (or by `rule.luminaire_share_min` of its outline). All luminaires of the space that `design` does
/// not remove are general lighting: the document does not tell task or display lighting apart.
std::vector<results::DaylightZone> daylight_zones(const domain::Project& project,
                                                  const domain::Design& design, const domain::Space& space,
                                                  const domain::DaylightZoneRule& rule);

/// For each zone, the ids of the luminaires counted in it.
std::vector<std::vector<std::string>> luminaires_by_zone(const domain::Project& project,
                                                         const domain::Design& design,
                                                         const domain::Space& space,
                                                         const std::vector<results::DaylightZone>& zones,
                                                         double share_min);

/// The cardinal direction of true north ("north", "east", "south", "west", each +-45 degrees) that a wall of
/// the space faces outside. `wall` is an edge of the floor polygon.
std::string facing(const domain::Site& site, const domain::Space& space, int wall);

/// Input watts of all channels of a luminaire at full output, with what is built into it; 0 for an unknown
/// type.
double input_w(const domain::Project& project, const domain::Luminaire& luminaire);

}  // namespace halflight::codes
