#include "choose/room_order.hpp"

#include "geometry/polygon.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

namespace halflight::choose {

namespace {

using Key = std::array<long, 4>;  // mm

long millimetres(double m) { return std::lround(1000.0 * m); }

Point2 on_wall(const Polygon& floor, int wall, double along_m) {
  const std::size_t i = static_cast<std::size_t>(wall) % floor.size();
  const Vector2 edge = floor[(i + 1) % floor.size()] - floor[i];
  return floor[i] + (along_m / length(edge)) * edge;
}

/// 0 where there is nothing to be near to.
double nearest(const std::vector<Point2>& all, Point2 place) {
  double least = all.empty() ? 0.0 : length(all.front() - place);
  for (const Point2 one : all) least = std::min(least, length(one - place));
  return least;
}

}  // namespace

std::vector<std::size_t> room_order(const domain::Space& space, std::span<const Point2> places) {
  std::vector<Point2> glass;
  for (const domain::Opening& opening : space.openings)
    glass.push_back(opening.kind == domain::Opening::Kind::skylight
                        ? centroid(opening.plan)
                        : on_wall(space.floor, opening.wall, opening.offset_m + 0.5 * opening.width_m));
  std::vector<Point2> doors;
  for (const domain::Door& door : space.doors)
    doors.push_back(on_wall(space.floor, door.wall, door.offset_m + 0.5 * door.width_m));
  const Point2 middle = centroid(space.floor);

  std::vector<Key> keys;
  for (const Point2 place : places) {
    double from_corners = 0.0;
    for (const Point2 corner : space.floor) from_corners += length(corner - place);
    keys.push_back({millimetres(nearest(glass, place)), millimetres(nearest(doors, place)),
                    millimetres(length(middle - place)), millimetres(from_corners)});
  }
  std::vector<std::size_t> order(places.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return keys[a] < keys[b]; });
  return order;
}

}  // namespace halflight::choose
