#include "sensing/seats.hpp"

#include "sensing/coverage.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace halflight::sensing {

namespace {

using domain::Space;

/// `count` points along the longer side of an outline's box, each in the middle of an equal part.
void add_along(const Polygon& plan, std::size_t count, std::vector<Point2>& seats) {
  const Box2 box = bounds(plan);
  const Point2 middle = centroid(plan);
  const Vector2 size = box.high - box.low;
  const bool is_wide = size.x >= size.y;
  for (std::size_t k = 0; k < count; ++k) {
    const double share = (static_cast<double>(k) + 0.5) / static_cast<double>(count);
    Point2 at = count == 1 ? middle
                : is_wide  ? Point2{box.low.x + share * size.x, middle.y}
                           : Point2{middle.x, box.low.y + share * size.y};
    // The box of a bent table has corners where there is no table.
    if (!contains(plan, at)) at = middle;
    seats.push_back(at);
  }
}

/// Whole numbers in the proportion of `weights` that sum to `count`: largest remainders.
std::vector<std::size_t> shared_out(const std::vector<double>& weights, std::size_t count) {
  const double total = std::accumulate(weights.begin(), weights.end(), 0.0);
  std::vector<std::size_t> parts(weights.size(), 0);
  std::vector<std::size_t> order(weights.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::vector<double> remainder(weights.size(), 0.0);
  std::size_t given = 0;
  for (std::size_t i = 0; i < weights.size(); ++i) {
    const double exact = static_cast<double>(count) * weights[i] / total;
    parts[i] = static_cast<std::size_t>(exact);
    remainder[i] = exact - static_cast<double>(parts[i]);
    given += parts[i];
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return remainder[a] > remainder[b]; });
  for (std::size_t k = 0; given < count; ++k, ++given) ++parts[order[k % order.size()]];
  return parts;
}

}  // namespace

std::vector<Point2> floor_points(const Space& space, double spacing_m) {
  std::vector<Point2> points;
  if (space.floor.size() < 3) return {Point2{}};
  for (const Point2 p : grid_points(space.floor, 0.0, spacing_m).points) {
    const bool is_taken =
        std::any_of(space.furniture.begin(), space.furniture.end(), [&](const domain::Furniture& f) {
          return f.plan.size() >= 3 && f.bottom_m < height_m(Motion::minor) && contains(f.plan, p);
        });
    if (!is_taken) points.push_back(p);
  }
  if (points.empty()) points.push_back(centroid(space.floor));
  return points;
}

std::vector<Point2> seats_of(const Space& space, std::size_t count) {
  std::vector<Point2> seats;
  if (count == 0) return seats;
  const std::vector<Place> places = places_of(space);
  std::vector<double> areas;
  for (const Place& place : places) areas.push_back(area(place.plan));
  if (std::accumulate(areas.begin(), areas.end(), 0.0) > 0.0) {
    const std::vector<std::size_t> people = shared_out(areas, count);
    for (std::size_t i = 0; i < places.size(); ++i) add_along(places[i].plan, people[i], seats);
    return seats;
  }
  const std::vector<Point2> points = floor_points(space);
  for (std::size_t k = 0; k < count; ++k) seats.push_back(points[(2 * k + 1) * points.size() / (2 * count)]);
  return seats;
}

Point2 way_in(const Space& space, Point2 to) {
  if (space.floor.size() < 3) return to;
  Point2 from = centroid(space.floor);
  double shortest = -1.0;
  bool nearest_is_reached = false;
  const domain::Partition* wall = domain::wall_in_use(space);
  if (wall != nullptr && !domain::stands(*wall, 0)) wall = nullptr;
  for (const domain::Door& door : space.doors) {
    const std::size_t n = space.floor.size();
    const Point2 a = space.floor[static_cast<std::size_t>(door.wall) % n];
    const Point2 b = space.floor[(static_cast<std::size_t>(door.wall) + 1) % n];
    const double long_m = length(b - a);
    if (long_m <= 0.0) continue;
    const Point2 middle = a + ((door.offset_m + 0.5 * door.width_m) / long_m) * (b - a);
    const double far_m = length(to - middle);
    const bool is_reached = wall == nullptr || domain::side_of(*wall, middle) == domain::side_of(*wall, to);
    if (nearest_is_reached && !is_reached) continue;
    if (shortest < 0.0 || far_m < shortest || (is_reached && !nearest_is_reached)) {
      nearest_is_reached = is_reached;
      shortest = far_m;
      from = middle;
    }
  }
  return from;
}

}  // namespace halflight::sensing
