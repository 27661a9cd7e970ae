#pragma once
#include "domain/space.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace halflight::choose {

/// Places of a room in an order that turning the room, numbering things anew and starting its outline at
/// another corner do not change: by the distance from the nearest glass, from the nearest door, from the
/// middle of the floor and from all its corners, to the millimetre. Places that are alike in all of them, as
/// mirror images are, keep the order in which they are given.
std::vector<std::size_t> room_order(const domain::Space& space, std::span<const Point2> places);

}  // namespace halflight::choose
