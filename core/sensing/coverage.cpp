#include "sensing/coverage.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace halflight::sensing {

namespace {

using domain::Design;
using domain::OccupancySensor;
using domain::Partition;
using domain::Space;

constexpr double kStep_rad = 3.75 * kRadPerDeg;
/// A sensor this near a wall hangs on it and looks away from it.
constexpr double kOnWall_m = 0.05;
constexpr double kClosed_m = 0.1;        // free height below the ceiling through which sound still passes
constexpr double kMostTask_m = 1.2;      // higher ones are nobody's place
constexpr double kLeastTask_m = 0.3;     // lower horizontal task areas are floors
constexpr double kThinnest_m = 1e-3;     // a partition without thickness still hides
constexpr double kLevel_m = 1e-6;        // heights closer than this are the same
constexpr double kMostHeightened = 1.2;  // of the rated height; above it small movements fall between facets
constexpr double kEdgeWidth = 0.08;      // of the reach, over which a shape fades out
constexpr double kEdgesBeyond = 6.0;     // widths beyond the edge, where a chance in 400 is left

/// Clockwise from plan north.
Vector2 direction(double angle_rad) { return {std::sin(angle_rad), std::cos(angle_rad)}; }

/// Arc about `centre`, counter-clockwise from `from_rad` down to `to_rad` (angles run clockwise), as a chain
/// whose fan has the area of the sector.
void add_arc(Polygon& to, Point2 centre, double radius_m, double from_rad, double open_rad, bool is_closed) {
  const auto steps = static_cast<int>(std::max(1.0, std::ceil(open_rad / kStep_rad - 1e-9)));
  const double step = open_rad / steps;
  const double r = radius_m * std::sqrt(step / std::sin(step));
  for (int i = 0; i <= steps - (is_closed ? 1 : 0); ++i)
    to.push_back(centre + r * direction(from_rad - i * step));
}

/// The plane beyond the segment a-b as seen from `eye`, to `far_m` from the eye at least.
Polygon behind(Point2 eye, Point2 a, Point2 b, double far_m) {
  const Vector2 to_a = a - eye;
  const Vector2 to_b = b - eye;
  const double from = std::atan2(to_a.y, to_a.x);
  const double turn = std::atan2(cross(to_a, to_b), dot(to_a, to_b));
  const auto steps = static_cast<int>(std::max(1.0, std::ceil(std::abs(turn) / (kPi / 6.0))));
  const double r = far_m / std::cos(0.5 * turn / steps);
  Polygon polygon{b, a};
  for (int i = 0; i <= steps; ++i) {
    const double angle = from + turn * i / steps;
    polygon.push_back(eye + r * Vector2{std::cos(angle), std::sin(angle)});
  }
  return polygon;
}

Point2 scaled(Point2 about, double k, Point2 p) { return about + k * (p - about); }

Polygon outline_of(const Partition& p) {
  const Vector2 along = p.to - p.from;
  const double long_m = length(along);
  if (long_m <= 0.0) return {};
  const Vector2 half = (0.5 * std::max(p.thickness_m, kThinnest_m) / long_m) * Vector2{-along.y, along.x};
  const Vector2 back{-half.x, -half.y};
  return {p.from + back, p.to + back, p.to + half, p.from + half};
}

/// A thing that may stand between sensor and person.
struct Obstacle {
  Polygon plan;
  double bottom_m = 0.0;
  double top_m = 0.0;
};
std::vector<Obstacle> obstacles_of(const Space& space) {
  std::vector<Obstacle> all;
  for (const Partition& p : space.partitions)
    if (domain::stands(p, 0))
      if (Polygon plan = outline_of(p); !plan.empty()) all.push_back({std::move(plan), 0.0, p.height_m});
  // Whoever works at a counter has the hands above it, be it a little higher than a desk.
  std::vector<bool> is_worked_at(space.furniture.size(), false);
  for (const Place& place : places_of(space))
    if (place.kind == Place::Kind::furniture) is_worked_at[place.index] = true;
  for (std::size_t i = 0; i < space.furniture.size(); ++i)
    if (const domain::Furniture& f = space.furniture[i]; f.plan.size() >= 3 && !is_worked_at[i])
      all.push_back({f.plan, f.bottom_m, f.top_m});
  return all;
}

/// From the sensor to the farthest point of its shape; the corner of a strip is farther away than its ends.
double farthest_m(const OccupancySensor& sensor, Motion motion) {
  double far_m = 0.0;
  for (const Point2 p : coverage_shape(sensor, motion))
    far_m = std::max(far_m, length(p - Point2{sensor.at.x, sensor.at.y}));
  return far_m;
}

/// The shape within the room.
Region shape_in(const OccupancySensor& sensor, const Space& space, Motion motion) {
  if (reach_m(sensor, motion) <= 0.0 || space.floor.size() < 3) return {};
  return intersection(coverage_shape(sensor, motion), space.floor);
}

/// Everything that the corners of the room hide.
std::vector<Polygon> behind_walls(Point2 eye, const Polygon& floor, double far_m) {
  std::vector<Polygon> all;
  if (is_convex(floor)) return all;
  for (std::size_t i = 0, n = floor.size(); i < n; ++i) {
    const Point2 a = floor[i];
    const Point2 b = floor[(i + 1) % n];
    if (distance_to_segment(eye, a, b) > kOnWall_m) all.push_back(behind(eye, a, b, far_m));
  }
  return all;
}

enum class Wave { infrared, ultrasonic };

/// What lies in the shadow of walls and things for waves of a kind, as overlapping pieces.
std::vector<Polygon> shadows(Wave wave, const OccupancySensor& sensor, const Space& space, Motion motion,
                             double far_m) {
  const Point2 eye{sensor.at.x, sensor.at.y};
  std::vector<Polygon> hidden = behind_walls(eye, space.floor, far_m);
  for (const Obstacle& o : obstacles_of(space)) {
    const Box2 box = bounds(o.plan);
    if (box.low.x > eye.x + far_m || box.high.x < eye.x - far_m || box.low.y > eye.y + far_m ||
        box.high.y < eye.y - far_m)
      continue;
    if (wave == Wave::ultrasonic && o.top_m < domain::height_over(space, o.plan) - kClosed_m) continue;
    for (Polygon& piece : shadow(sensor.at, o.plan, o.bottom_m, o.top_m, height_m(motion), far_m))
      hidden.push_back(std::move(piece));
  }
  return hidden;
}

Region seen_by(Wave wave, const OccupancySensor& sensor, const Space& space, Motion motion) {
  Region shape = shape_in(sensor, space, motion);
  if (shape.empty()) return shape;
  return difference(shape, shadows(wave, sensor, space, motion, farthest_m(sensor, motion)));
}

/// Which waves have to reach somebody; nothing stops a microwave within the room.
std::optional<Wave> wave_of(OccupancySensor::Technology technology, Motion motion) {
  using Technology = OccupancySensor::Technology;
  switch (technology) {
    case Technology::infrared:
      return Wave::infrared;
    case Technology::ultrasonic:
      return Wave::ultrasonic;
    case Technology::dual:
      // Whatever stops sound stops heat too, so both is what infrared sees and either what sound reaches.
      return motion == Motion::major ? Wave::infrared : Wave::ultrasonic;
    case Technology::microwave:
      return std::nullopt;
  }
  return std::nullopt;
}

/// Where nobody can be seen because something stands there.
std::vector<Polygon> stood_on(const Space& space, Motion motion) {
  std::vector<Polygon> all;
  for (const Obstacle& o : obstacles_of(space))
    if (o.bottom_m < height_m(motion) && o.top_m > height_m(motion)) all.push_back(o.plan);
  return all;
}

/// Whether no plan can be drawn from it while somebody waits: sensors with a thousand corners about each, or
/// furniture and task areas beyond counting.
bool is_too_much(const Space& space, const Design& design) {
  constexpr double kMost = 3e7;
  double corners =
      static_cast<double>(space.floor.size()) + 4.0 * static_cast<double>(space.partitions.size());
  for (const domain::Furniture& f : space.furniture) corners += static_cast<double>(f.plan.size());
  double of_tasks = 0.0;
  for (const domain::TaskArea& t : space.task_areas) of_tasks += static_cast<double>(t.plan.size());
  const auto sensors = static_cast<double>(
      std::count_if(design.occupancy_sensors.begin(), design.occupancy_sensors.end(),
                    [&](const OccupancySensor& sensor) { return sensor.space == space.id; }));
  return sensors * corners * corners + 10.0 * corners * of_tasks > kMost;
}

double share(double part, double whole) { return whole > 0.0 ? std::clamp(part / whole, 0.0, 1.0) : 0.0; }

}  // namespace

std::vector<Place> places_of(const Space& space) {
  const auto is_place = [](const domain::TaskArea& t) {
    return t.plane == domain::TaskArea::Plane::horizontal && t.height_m >= kLeastTask_m &&
           t.height_m <= kMostTask_m && t.plan.size() >= 3;
  };
  const auto overlap = [](const Polygon& a, const Polygon& b) { return area(intersection(a, b)); };
  std::vector<Place> places;
  std::vector<bool> lies_on(space.task_areas.size(), false);
  for (std::size_t f = 0; f < space.furniture.size(); ++f) {
    const domain::Furniture& piece = space.furniture[f];
    if (piece.plan.size() < 3) continue;
    bool is_used = false;
    for (std::size_t t = 0; t < space.task_areas.size(); ++t) {
      const domain::TaskArea& task = space.task_areas[t];
      // The task lies on the piece: at its top, not below a shelf or above a stool.
      if (!is_place(task) || std::abs(task.height_m - piece.top_m) > kClosed_m) continue;
      if (overlap(piece.plan, task.plan) < 0.5 * std::min(area(piece.plan), area(task.plan))) continue;
      lies_on[t] = is_used = true;
    }
    if (is_used) places.push_back({Place::Kind::furniture, f, piece.plan});
  }
  for (std::size_t t = 0; t < space.task_areas.size(); ++t)
    if (is_place(space.task_areas[t]) && !lies_on[t])
      places.push_back({Place::Kind::task_area, t, space.task_areas[t].plan});
  return places;
}

double reach_m(const OccupancySensor& sensor, Motion motion) {
  const double stated = motion == Motion::major ? sensor.major_radius_m : sensor.minor_radius_m;
  const bool by_lens = sensor.technology == OccupancySensor::Technology::infrared ||
                       (sensor.technology == OccupancySensor::Technology::dual && motion == Motion::major);
  if (!sensor.rated_height_m || !by_lens) return stated;
  const double rated = *sensor.rated_height_m - height_m(motion);
  const double hangs = sensor.at.z - height_m(motion);
  if (rated <= 0.0 || hangs <= 0.0) return stated;
  const bool is_too_high = motion == Motion::minor && sensor.at.z > kMostHeightened * *sensor.rated_height_m;
  return stated * hangs / rated * (is_too_high ? *sensor.rated_height_m / sensor.at.z : 1.0);
}

Polygon coverage_shape(const OccupancySensor& sensor, Motion motion) {
  using Coverage = OccupancySensor::Coverage;
  const Point2 centre{sensor.at.x, sensor.at.y};
  const double r = reach_m(sensor, motion);
  const double aim = sensor.aim_deg * kRadPerDeg;
  Polygon shape;
  switch (sensor.coverage) {
    case Coverage::circle:
    case Coverage::in_luminaire:
      add_arc(shape, centre, r, 0.0, 2.0 * kPi, true);
      break;
    case Coverage::half_circle:
    case Coverage::sector: {
      const double open = sensor.coverage == Coverage::half_circle ? kPi : sensor.sector_deg * kRadPerDeg;
      if (open < 2.0 * kPi) shape.push_back(centre);
      add_arc(shape, centre, r, aim + 0.5 * open, open, open >= 2.0 * kPi);
      break;
    }
    case Coverage::strip: {
      const Vector2 along = r * direction(aim);
      const Vector2 across = 0.5 * sensor.strip_width_m * direction(aim + 0.5 * kPi);
      for (const auto& [u, v] : {std::pair{-1.0, -1.0}, {1.0, -1.0}, {1.0, 1.0}, {-1.0, 1.0}})
        shape.push_back(centre + u * across + v * along);
      break;
    }
  }
  return shape;
}

std::vector<Polygon> shadow(Point3 eye, const Polygon& plan, double bottom_m, double top_m, double height,
                            double reach_m) {
  const Point2 from{eye.x, eye.y};
  const bool is_at_eye = bottom_m <= eye.z + kLevel_m && top_m >= eye.z - kLevel_m;
  // What holds the sensor does not stand in its way.
  if (is_at_eye && contains(plan, from)) return {};
  // The heights of the thing that lines between eye and plane pass, as distances below (or above) the eye.
  const double drop = std::abs(eye.z - height);
  const double sign = eye.z >= height ? 1.0 : -1.0;
  const double near_end = std::max(0.0, std::min(sign * (eye.z - top_m), sign * (eye.z - bottom_m)));
  const double far_end = std::min(drop, std::max(sign * (eye.z - top_m), sign * (eye.z - bottom_m)));
  const bool is_level = drop < kLevel_m;
  if (is_level ? !is_at_eye : far_end - near_end < kLevel_m) return {};
  // A slice at distance d below the eye throws its outline larger by drop / d.
  const double least = is_level ? 1.0 : drop / far_end;
  std::vector<Polygon> pieces{Polygon{}};
  for (const Point2 p : plan) pieces.front().push_back(scaled(from, least, p));
  const bool is_endless = is_level || near_end < kLevel_m;
  const double most = is_endless ? 0.0 : drop / near_end;
  for (std::size_t i = 0, n = plan.size(); i < n; ++i) {
    const Point2 a = scaled(from, least, plan[i]);
    const Point2 b = scaled(from, least, plan[(i + 1) % n]);
    if (is_endless)
      pieces.push_back(behind(from, a, b, reach_m));
    else
      pieces.push_back({a, b, scaled(from, most, plan[(i + 1) % n]), scaled(from, most, plan[i])});
  }
  return pieces;
}

Field field_of(const OccupancySensor& sensor, const Space& space, Motion motion) {
  const Region shape = shape_in(sensor, space, motion);
  const std::optional<Wave> wave = wave_of(sensor.technology, motion);
  Field field;
  field.seen = wave ? seen_by(*wave, sensor, space, motion) : shape;
  // Microwaves pass what stands there, yet nobody is inside it.
  const std::vector<Polygon> taken = stood_on(space, motion);
  field.seen = difference(field.seen, taken);
  field.hidden = difference(difference(shape, field.seen), taken);
  return field;
}

Sight::Sight(const OccupancySensor& sensor, const Space& space) {
  for (const Motion motion : {Motion::major, Motion::minor}) {
    View& view = views_[static_cast<std::size_t>(motion)];
    if (reach_m(sensor, motion) <= 0.0 || space.floor.size() < 3) continue;
    view.shape = coverage_shape(sensor, motion);
    view.edge_m = kEdgeWidth * reach_m(sensor, motion);
    const double far_m = farthest_m(sensor, motion) + kEdgesBeyond * view.edge_m;
    if (const std::optional<Wave> wave = wave_of(sensor.technology, motion))
      view.hidden = shadows(*wave, sensor, space, motion, far_m);
  }
}

double Sight::chance(Motion motion, Point2 at) const {
  const View& view = views_[static_cast<std::size_t>(motion)];
  if (view.shape.empty()) return 0.0;
  const double from_edge = distance_to_boundary(view.shape, at);
  const double beyond_m = contains(view.shape, at) ? -from_edge : from_edge;
  if (beyond_m > kEdgesBeyond * view.edge_m) return 0.0;
  if (std::any_of(view.hidden.begin(), view.hidden.end(),
                  [&](const Polygon& piece) { return contains(piece, at); }))
    return 0.0;
  return 1.0 / (1.0 + std::exp(beyond_m / view.edge_m));
}

PlaceReach reach_of(const Place& place) {
  constexpr double kWhole = 0.95;
  constexpr double kNone = 0.05;
  if (place.seen_share >= kWhole) return PlaceReach::whole;
  return place.seen_share < kNone ? PlaceReach::none : PlaceReach::partly;
}

std::optional<RoomReach> reach_of(const Space& space, const Design& design) {
  if (is_too_much(space, design)) return std::nullopt;
  RoomReach reach;
  std::vector<Region> major;
  std::vector<Region> minor;
  for (std::size_t i = 0; i < design.occupancy_sensors.size(); ++i) {
    const OccupancySensor& sensor = design.occupancy_sensors[i];
    if (sensor.space != space.id || !domain::stands_in(design, sensor.status)) continue;
    reach.sensors.push_back(
        {i, field_of(sensor, space, Motion::major), field_of(sensor, space, Motion::minor)});
    major.push_back(reach.sensors.back().major.seen);
    minor.push_back(reach.sensors.back().minor.seen);
  }
  const auto share_of_floor = [&](Motion motion, const std::vector<Region>& fields) {
    if (space.floor.size() < 3) return 0.0;
    return share(area(united(fields)), area(difference(space.floor, stood_on(space, motion))));
  };
  reach.major_share = share_of_floor(Motion::major, major);
  reach.minor_share = share_of_floor(Motion::minor, minor);
  reach.places = places_of(space);
  const Region small = united(minor);
  for (Place& place : reach.places)
    place.seen_share = share(area(intersection(small, place.plan)), area(place.plan));
  return reach;
}

}  // namespace halflight::sensing
