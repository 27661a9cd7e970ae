#include "choose/sensor_demands.hpp"

#include "sensing/seats.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace halflight::choose {

namespace {

using domain::Space;
using sensing::Motion;
using Kind = SensorDemand::Kind;

constexpr double kPart_m = 0.6;         // side of the parts of a place, at most
constexpr double kWholePart = 0.99;     // of a part, that one sensor sees
constexpr double kLargePlace_m2 = 6.0;  // larger ones are taken by cells
constexpr double kSpare = 0.001;        // of a place, for lengths rounded to the raster
constexpr double kInside_m = 0.6;       // the first step on the way in (common practice, no source)
constexpr double kByWall_m = 0.5;       // where nobody stays (common practice, no source)
constexpr double kCell_m = 0.3;         // side of the cells of a floor, at least
constexpr double kMostCells = 300.0;    // about, of an area

/// An outline in parts of at most `kPart_m` along and across its longest edge.
std::vector<Region> in_parts(const Polygon& plan) {
  std::vector<Region> parts;
  Vector2 along{1.0, 0.0};
  double longest = 0.0;
  for (std::size_t i = 0; i < plan.size(); ++i)
    if (const Vector2 e = plan[(i + 1) % plan.size()] - plan[i]; length(e) > longest + 1e-3) {
      longest = length(e);
      along = (1.0 / longest) * e;
    }
  const PlanFrame frame{plan.front(), along};
  Polygon own;
  for (const Point2 p : plan) own.push_back(frame.to_frame(p));
  const Box2 box = bounds(own);
  const auto count = [](double side_m) {
    return std::max(1, static_cast<int>(std::ceil(side_m / kPart_m - 1e-3)));
  };
  const Vector2 size = box.high - box.low;
  const int columns = count(size.x);
  const int rows = count(size.y);
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c) {
      const auto corner = [&](int i, int j) {
        return frame.to_building({box.low.x + size.x * i / columns, box.low.y + size.y * j / rows});
      };
      Region part =
          intersection(Polygon{corner(c, r), corner(c + 1, r), corner(c + 1, r + 1), corner(c, r + 1)}, plan);
      if (area(part) > 1e-6) parts.push_back(std::move(part));
    }
  return parts;
}

/// The middle of a piece or, where that lies outside, of one of its triangles; nothing of a piece without
/// area.
std::optional<Point2> point_in(const PolygonWithHoles& piece) {
  if (area(piece) <= 1e-6) return std::nullopt;
  const Region whole{piece};
  if (const std::optional<Point2> middle = centroid(whole); middle && contains(whole, *middle)) return middle;
  for (const TriangleIndices& t : triangulate(piece.outline)) {
    const Point2 middle = centroid(Polygon{piece.outline[t[0]], piece.outline[t[1]], piece.outline[t[2]]});
    if (contains(whole, middle)) return middle;
  }
  return std::nullopt;
}

/// Cells of a raster over the area of a demand, by a point in each piece of a cell that lies in the area.
void take_cells(AskedOfRoom& asked) {
  asked.share = asked.demand.asked_share;
  if (asked.area.empty()) return;
  const Box2 box = bounds(asked.area);
  const Vector2 size = box.high - box.low;
  const double step_m = std::max(kCell_m, std::sqrt(area(asked.area) / kMostCells));
  const auto count = [&](double side_m) {
    return std::max(1, static_cast<int>(std::floor(side_m / step_m)));
  };
  const int columns = count(size.x);
  const int rows = count(size.y);
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c) {
      const Point2 low{box.low.x + size.x * c / columns, box.low.y + size.y * r / rows};
      const Point2 high{box.low.x + size.x * (c + 1) / columns, box.low.y + size.y * (r + 1) / rows};
      for (const PolygonWithHoles& piece : intersection(asked.area, rectangle(low, high))) {
        const std::optional<Point2> inside = point_in(piece);
        if (!inside) continue;
        asked.points.push_back(*inside);
        asked.weights.push_back(area(piece));
      }
    }
}

/// The floor on which people walk or, away from the walls, stay.
Region floor_of(const Space& space, bool is_for_staying) {
  Region floor = is_for_staying ? offset(space.floor, -kByWall_m) : Region{};
  if (floor.empty()) floor = {PolygonWithHoles{space.floor, {}}};
  std::vector<Polygon> taken;
  for (const domain::Furniture& f : space.furniture)
    if (f.plan.size() >= 3 && f.bottom_m < sensing::height_m(Motion::minor)) taken.push_back(f.plan);
  return difference(floor, taken);
}

bool only_passes(domain::Occupancy::Pattern pattern) {
  return pattern == domain::Occupancy::Pattern::circulation || pattern == domain::Occupancy::Pattern::none;
}

bool overlaps(const Box2& a, const Box2& b) {
  return a.low.x < b.high.x && b.low.x < a.high.x && a.low.y < b.high.y && b.low.y < a.high.y;
}

}  // namespace

std::vector<AskedOfRoom> asked_of(const CanonicalRoom& room, std::size_t people) {
  const Space& space = room.space;
  std::vector<AskedOfRoom> all;
  const std::vector<sensing::Place> places = sensing::places_of(space);
  for (const sensing::Place& place : places) {
    const bool is_furniture = place.kind == sensing::Place::Kind::furniture;
    AskedOfRoom& asked = all.emplace_back();
    asked.demand = {Kind::place,
                    is_furniture ? space.furniture[place.index].id : space.task_areas[place.index].id,
                    centroid(place.plan),
                    kPlaceShare,
                    0.0,
                    {},
                    {}};
    asked.area = {PolygonWithHoles{place.plan, {}}};
    if (area(place.plan) > kLargePlace_m2) {
      take_cells(asked);
      continue;
    }
    asked.parts = in_parts(place.plan);
    for (const Region& part : asked.parts) asked.weights.push_back(area(part));
    asked.share = (kPlaceShare + kSpare) / kWholePart;
  }
  if (!places.empty())
    for (const Point2 seat : sensing::seats_of(space, people)) {
      AskedOfRoom& asked = all.emplace_back();
      const auto on = std::find_if(places.begin(), places.end(),
                                   [&](const sensing::Place& p) { return contains(p.plan, seat); });
      asked.demand = {
          Kind::seat,
          on == places.end() ? space.id : all[static_cast<std::size_t>(on - places.begin())].demand.of,
          seat,
          1.0,
          0.0,
          {},
          {}};
      asked.points = {seat};
      asked.weights = {1.0};
    }
  for (const domain::Door& door : space.doors) {
    const std::size_t n = space.floor.size();
    const Point2 a = space.floor[static_cast<std::size_t>(door.wall) % n];
    const Vector2 edge = space.floor[(static_cast<std::size_t>(door.wall) + 1) % n] - a;
    const Vector2 along = (1.0 / length(edge)) * edge;
    const Point2 middle = a + (door.offset_m + 0.5 * door.width_m) * along;
    double inside_m = kInside_m;
    while (inside_m > 0.1 && !contains(space.floor, middle + inside_m * Vector2{-along.y, along.x}))
      inside_m *= 0.5;
    AskedOfRoom& asked = all.emplace_back();
    asked.demand = {Kind::entry, door.id, middle + inside_m * Vector2{-along.y, along.x}, 1.0, 0.0, {}, {}};
    asked.motion = Motion::major;
    asked.points = {asked.demand.at};
    asked.weights = {1.0};
  }
  if (places.empty()) {
    const bool passes = only_passes(space.occupancy.pattern);
    AskedOfRoom asked;
    asked.motion = passes ? Motion::major : Motion::minor;
    asked.area = floor_of(space, !passes);
    asked.demand = {passes ? Kind::passing : Kind::staying,
                    space.id,
                    centroid(asked.area).value_or(centroid(space.floor)),
                    passes ? kPassingShare : kStayingShare,
                    0.0,
                    {},
                    {}};
    take_cells(asked);
    if (!asked.points.empty()) all.push_back(std::move(asked));
  }
  return all;
}

double seen_share(const AskedOfRoom& asked, const SeenOfRoom& seen) {
  const Region& field = seen.of(asked.motion);
  if (asked.is_point()) return contains(field, asked.points.front()) ? 1.0 : 0.0;
  const double whole = area(asked.area);
  return whole > 0.0 ? std::clamp(1.0 - area(unseen(asked, seen)) / whole, 0.0, 1.0) : 1.0;
}

Region unseen(const AskedOfRoom& asked, const SeenOfRoom& seen) {
  return asked.area.empty() ? Region{} : difference(asked.area, seen.of(asked.motion));
}

std::vector<bool> covered(const AskedOfRoom& asked, const SeenOfRoom& seen) {
  const Region& field = seen.of(asked.motion);
  std::vector<bool> is_covered(std::max(asked.parts.size(), asked.points.size()), false);
  if (field.empty()) return is_covered;
  const Box2 box = bounds(field);
  for (std::size_t i = 0; i < asked.points.size(); ++i) {
    const Point2 p = asked.points[i];
    is_covered[i] =
        p.x >= box.low.x && p.x <= box.high.x && p.y >= box.low.y && p.y <= box.high.y && contains(field, p);
  }
  if (asked.parts.empty() || !overlaps(box, bounds(asked.area))) return is_covered;
  const Region rest = difference(asked.area, field);
  const double whole = area(asked.area);
  const double missed = area(rest);
  if (missed <= (1.0 - kPlaceShare - kSpare) * whole) return std::vector<bool>(asked.parts.size(), true);
  if (missed >= whole * (1.0 - 1e-6)) return is_covered;
  for (std::size_t i = 0; i < asked.parts.size(); ++i) {
    const Region part = difference(asked.parts[i], rest);
    is_covered[i] = area(part) >= kWholePart * area(asked.parts[i]);
  }
  return is_covered;
}

}  // namespace halflight::choose
