#pragma once
#include "domain/space.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <vector>

namespace halflight::sensing {

/// Where `count` people of a space sit or stand, in plan: shared out over its places (coverage.hpp) by their
/// area, largest remainders first, and along the longer side of each in equal parts, a person in the middle
/// of each part. A space without places has them spread evenly over its floor, away from what stands there.
/// The document states no seats; that people are where they work is all that is assumed. Always `count`
/// points, in an order that more people only append to where there is one place.
std::vector<Point2> seats_of(const domain::Space& space, std::size_t count);

/// Points on the floor about `spacing_m` apart, for people who walk about; at least one.
std::vector<Point2> floor_points(const domain::Space& space, double spacing_m = 1.0);

/// The way from the nearest door (the middle of the floor where there is none) to a point, in plan: where it
/// begins. While a wall divides the room (domain::wall_in_use, in its first state) from the nearest of the
/// point's part, where that has a door.
Point2 way_in(const domain::Space& space, Point2 to);

}  // namespace halflight::sensing
