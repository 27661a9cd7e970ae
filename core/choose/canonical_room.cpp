#include "choose/canonical_room.hpp"

#include "base/units.hpp"
#include "domain/project.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <utility>

namespace halflight::choose {

namespace {

constexpr double kRaster_m = 1e-4;
constexpr double kRaster_deg = 1e-4;
/// Where between two marks of the raster it is decided which is nearer: where lengths in millimetres or
/// fractions of an inch do not fall.
constexpr double kDecided = 0.617;
constexpr double kStraight_m = 1e-4;  // a corner nearer than this to the line between its neighbours is none
constexpr double kAlike_m = 1e-5;

double on_raster(double x, double raster) { return std::floor(x / raster + kDecided) * raster; }
double turned_deg(double angle_deg, double by_deg, double circle_deg) {
  const double turned = on_raster(std::fmod(angle_deg + by_deg, circle_deg), kRaster_deg);
  // What falls on the seam is 0 from both sides.
  const double within = turned < -0.5 * kRaster_deg ? turned + circle_deg : turned;
  return within > circle_deg - 0.5 * kRaster_deg ? 0.0 : within;
}

using Key = std::vector<double>;

void add(Key& key, Point2 p) { key.insert(key.end(), {p.x, p.y}); }
void add(Key& key, const Polygon& polygon) {
  key.push_back(static_cast<double>(polygon.size()));
  for (const Point2 p : polygon) add(key, p);
}

Key key_of(const domain::Door& d) {
  return {static_cast<double>(d.wall),
          d.offset_m,
          d.width_m,
          d.height_m,
          d.latch == domain::Door::Latch::left ? 0.0 : 1.0,
          d.swing == domain::Door::Swing::in ? 0.0 : 1.0,
          d.glass_fraction,
          d.normally_open ? 1.0 : 0.0};
}
Key key_of(const domain::Opening& o) {
  Key key{
      static_cast<double>(o.kind), static_cast<double>(o.wall), o.offset_m, o.sill_m, o.width_m, o.height_m};
  add(key, o.plan);
  return key;
}
Key key_of(const domain::Partition& p) {
  Key key{p.height_m, p.thickness_m, domain::stands(p, 0) ? 1.0 : 0.0};
  add(key, p.from);
  add(key, p.to);
  return key;
}
Key key_of(const domain::Furniture& f) {
  Key key{f.bottom_m, f.top_m};
  add(key, f.plan);
  return key;
}
Key key_of(const domain::TaskArea& t) {
  Key key{t.plane == domain::TaskArea::Plane::horizontal ? 0.0 : 1.0, t.height_m};
  add(key, t.plan);
  return key;
}
Key key_of(const domain::Luminaire& l) { return {l.at.x, l.at.y, l.at.z, l.rotation_deg}; }
Key key_of(const domain::OccupancySensor& s) {
  return {s.at.x,
          s.at.y,
          s.at.z,
          s.aim_deg,
          static_cast<double>(s.technology),
          static_cast<double>(s.coverage),
          s.major_radius_m,
          s.minor_radius_m,
          s.rated_height_m.value_or(0.0),
          s.sector_deg,
          s.strip_width_m};
}

/// Sorts by key; gives the index that each had, and appends the keys to that of the room.
template <class T>
std::vector<std::size_t> ordered(std::vector<T>& items, Key& room) {
  std::vector<std::pair<Key, std::size_t>> order;
  for (std::size_t i = 0; i < items.size(); ++i) order.emplace_back(key_of(items[i]), i);
  std::sort(order.begin(), order.end());
  std::vector<T> sorted;
  std::vector<std::size_t> had;
  room.push_back(static_cast<double>(items.size()));
  for (auto& [key, i] : order) {
    sorted.push_back(std::move(items[i]));
    had.push_back(i);
    room.insert(room.end(), key.begin(), key.end());
  }
  items = std::move(sorted);
  return had;
}

Point2 snapped(Point2 p) { return {on_raster_m(p.x), on_raster_m(p.y)}; }

Polygon in_frame(const PlanFrame& frame, const Polygon& polygon) {
  Polygon turned;
  for (const Point2 p : polygon) turned.push_back(snapped(frame.to_frame(p)));
  if (turned.size() < 3) return turned;
  return with_canonical_start(is_counter_clockwise(turned) ? turned : reversed(turned));
}

/// With the key by which it is compared with the same room in other axes.
std::pair<Key, CanonicalRoom> in_axes(const PlanFrame& frame, const domain::Space& space,
                                      std::span<const domain::Luminaire> luminaires,
                                      std::span<const domain::OccupancySensor> sensors) {
  CanonicalRoom room;
  room.frame = frame;
  room.space = space;
  domain::Space& s = room.space;
  s.floor = in_frame(frame, space.floor);
  const int n = static_cast<int>(s.floor.size());
  const Point2 first = snapped(frame.to_frame(space.floor.front()));
  const int shift = static_cast<int>(std::find(s.floor.begin(), s.floor.end(), first) - s.floor.begin());
  const auto renumbered = [&](int wall) { return (((wall + shift) % n) + n) % n; };
  for (domain::Door& d : s.doors) d.wall = renumbered(d.wall);
  for (domain::Opening& o : s.openings)
    if (o.kind == domain::Opening::Kind::skylight)
      o.plan = in_frame(frame, o.plan);
    else
      o.wall = renumbered(o.wall);
  for (domain::Partition& p : s.partitions) {
    p.from = snapped(frame.to_frame(p.from));
    p.to = snapped(frame.to_frame(p.to));
    if (std::pair(p.to.x, p.to.y) < std::pair(p.from.x, p.from.y)) std::swap(p.from, p.to);
  }
  for (domain::Furniture& f : s.furniture) f.plan = in_frame(frame, f.plan);
  for (domain::TaskArea& t : s.task_areas) t.plan = in_frame(frame, t.plan);
  // Angles run clockwise from plan north, the frame is turned counter-clockwise.
  s.ceiling_rises_deg = turned_deg(space.ceiling_rises_deg, frame.turn_deg(), 360.0);
  room.luminaires.assign(luminaires.begin(), luminaires.end());
  for (domain::Luminaire& l : room.luminaires) {
    const Point2 at = snapped(frame.to_frame({l.at.x, l.at.y}));
    l.at = {at.x, at.y, on_raster_m(l.at.z)};
    l.rotation_deg = turned_deg(l.rotation_deg, -frame.turn_deg(), 180.0);
  }
  room.sensors.assign(sensors.begin(), sensors.end());
  for (domain::OccupancySensor& sensor : room.sensors) {
    const Point2 at = snapped(frame.to_frame({sensor.at.x, sensor.at.y}));
    sensor.at = {at.x, at.y, on_raster_m(sensor.at.z)};
    sensor.aim_deg = turned_deg(sensor.aim_deg, frame.turn_deg(), 360.0);
  }
  Key key;
  add(key, s.floor);
  key.push_back(s.ceiling_slope_deg > 0.0 ? s.ceiling_rises_deg : 0.0);
  room.door = ordered(s.doors, key);
  ordered(s.openings, key);
  ordered(s.partitions, key);
  room.furniture = ordered(s.furniture, key);
  room.task_area = ordered(s.task_areas, key);
  room.luminaire = ordered(room.luminaires, key);
  ordered(room.sensors, key);
  return {std::move(key), std::move(room)};
}

}  // namespace

double on_raster_m(double x) { return on_raster(x, kRaster_m); }

Point2 PlanFrame::to_frame(Point2 building) const {
  const Vector2 v = building - origin;
  return {dot(v, along), cross(along, v)};
}
Point2 PlanFrame::to_building(Point2 frame) const {
  return origin + frame.x * along + frame.y * Vector2{-along.y, along.x};
}
double PlanFrame::turn_deg() const { return std::atan2(along.y, along.x) * kDegPerRad; }

std::vector<Wall> walls_of(const Polygon& floor) {
  std::vector<Point2> corners;
  const std::size_t n = floor.size();
  for (std::size_t i = 0; i < n; ++i)
    if (distance_to_segment(floor[i], floor[(i + n - 1) % n], floor[(i + 1) % n]) > kStraight_m)
      corners.push_back(floor[i]);
  std::vector<Wall> walls;
  for (std::size_t i = 0; i < corners.size(); ++i)
    walls.push_back({corners[i], corners[(i + 1) % corners.size()]});
  return walls;
}

CanonicalRoom canonical_room(const domain::Space& space, std::span<const domain::Luminaire> luminaires,
                             std::span<const domain::OccupancySensor> sensors) {
  std::vector<Wall> walls = walls_of(space.floor);
  double longest = 0.0;
  for (const Wall& wall : walls) longest = std::max(longest, length(wall.to - wall.from));
  std::erase_if(walls, [&](const Wall& w) { return length(w.to - w.from) < longest - kAlike_m; });
  // Where two are the same room, the one whose wall runs most nearly to +x stands.
  const auto from_x = [](const Wall& w) {
    const double angle = std::atan2(w.to.y - w.from.y, w.to.x - w.from.x);
    return std::pair(std::abs(angle), angle);
  };
  std::sort(walls.begin(), walls.end(), [&](const Wall& a, const Wall& b) { return from_x(a) < from_x(b); });
  std::optional<std::pair<Key, CanonicalRoom>> best;
  for (const Wall& wall : walls) {
    const Vector2 edge = wall.to - wall.from;
    auto room = in_axes({wall.from, (1.0 / length(edge)) * edge}, space, luminaires, sensors);
    if (!best || room.first < best->first) best = std::move(room);
  }
  return std::move(best->second);
}

}  // namespace halflight::choose
