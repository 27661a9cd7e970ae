#pragma once
#include "domain/control.hpp"
#include "domain/project.hpp"

#include <optional>

namespace halflight::choose {

/// What tells the controls of a room how the wall stands that bookings divide it by (domain::wall_in_use), at
/// the wall's end nearest to a door, a hand below its head; without an id. Its kind is the library's, or the
/// project's own, of the id `partition_contact`. Nothing where nothing divides the room.
std::optional<domain::Interface> partition_sensor(const domain::Project& project,
                                                  const domain::Library& library, const domain::Space& space);

}  // namespace halflight::choose
