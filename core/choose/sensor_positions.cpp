#include "choose/sensor_positions.hpp"

#include "base/units.hpp"
#include "choose/device_of_kind.hpp"
#include "domain/project.hpp"
#include "sensing/coverage.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace halflight::choose {

namespace {

using domain::DeviceKind;
using domain::Door;
using domain::OccupancySensor;
using domain::Opening;
using domain::Space;
using sensing::Motion;
using Technology = OccupancySensor::Technology;
using Coverage = OccupancySensor::Coverage;

// All common practice, no source.
constexpr double kFromWall_m = 0.25;      // a ceiling device, at least where the room lets it
constexpr double kOffWall_m = 0.03;       // the lens of a device on a wall
constexpr double kCoarse_m = 1.2;         // step of the raster above which it may miss a spot
constexpr double kMostOverPlaces = 0.4;   // of the places on the ceiling
constexpr double kBelowCeiling_m = 0.15;  // a device on a wall, at least
constexpr double kAlongWall_m = 3.0;      // between places on a wall, about
constexpr double kSharpest = 0.17;        // sine of half a corner in which nothing can be mounted
constexpr double kClearOfLuminaire_m = 0.15;
constexpr double kAtCeiling_m = 0.35;   // luminaires below that leave the ceiling free
constexpr double kBesideLatch_m = 0.2;  // middle of the box from the jamb
constexpr double kHalfBox_m = 0.06;     // half of the width that a device takes on a wall
constexpr double kLowestBox_m = 0.9;
constexpr double kHighestBox_m = 1.4;
constexpr double kUsualOnWall_m = 2.4;  // common practice, no source
constexpr double kUsualBox_m = 1.2;
constexpr double kLeafClear_m = 0.05;  // round the sweep of a leaf
constexpr double kWholeRoom = 0.95;    // of the floor, that a wall box sees for walking
constexpr int kApertures = 8;          // strips of a door that are looked through one by one
constexpr double kJustInside_m = 0.1;  // where a strip is seen or not

/// Clockwise from +v, which is the room's plan north.
double aim_deg(Vector2 direction) {
  return std::fmod(std::atan2(direction.x, direction.y) * kDegPerRad + 360.0, 360.0);
}

OccupancySensor sensor_of(const DeviceKind& kind, const Space& space, Point2 at, double height_m,
                          double aim) {
  OccupancySensor sensor;
  sensor.space = space.id;
  sensor.at = {at.x, at.y, on_raster_m(height_m)};
  take_kind(sensor, kind);
  sensor.technology = kind.occupancy->technology;
  sensor.coverage = kind.occupancy->coverage;
  sensor.major_radius_m = kind.occupancy->major_radius_m;
  sensor.minor_radius_m = kind.occupancy->minor_radius_m;
  sensor.rated_height_m = kind.occupancy->rated_height_m;
  sensor.aim_deg = aim;
  sensor.sector_deg = kind.occupancy->sector_deg;
  sensor.strip_width_m = kind.occupancy->strip_width_m;
  return sensor;
}

/// An opening in a wall of the room, as seen from inside: the wall runs from the right to the left.
struct Hole {
  Point2 right;
  Point2 left;
  Vector2 inward;
  double bottom_m = 0.0;
  double top_m = 0.0;
};
std::optional<Hole> hole_in(const Polygon& floor, int wall, double offset_m, double width_m, double bottom_m,
                            double top_m) {
  const auto n = static_cast<int>(floor.size());
  const auto i = static_cast<std::size_t>(((wall % n) + n) % n);
  const Vector2 edge = floor[(i + 1) % floor.size()] - floor[i];
  if (length(edge) <= 0.0) return std::nullopt;
  const Vector2 along = (1.0 / length(edge)) * edge;
  return Hole{floor[i] + offset_m * along,
              floor[i] + (offset_m + width_m) * along,
              {-along.y, along.x},
              bottom_m,
              top_m};
}
std::optional<Hole> hole_of(const Space& space, const Door& d) {
  return hole_in(space.floor, d.wall, d.offset_m, d.width_m, 0.0, d.height_m);
}
std::optional<Hole> hole_of(const Space& space, const Opening& o) {
  if (o.kind == Opening::Kind::skylight) return std::nullopt;
  return hole_in(space.floor, o.wall, o.offset_m, o.width_m, o.sill_m, o.sill_m + o.height_m);
}

/// Openings through which waves of a kind leave the room for places where people walk.
std::vector<Hole> ways_out(Technology technology, const Space& space) {
  std::vector<Hole> holes;
  const bool passes_glass = technology == Technology::microwave;
  for (const Door& d : space.doors)
    if (d.normally_open || (passes_glass && d.glass_fraction > 0.0))
      if (const auto hole = hole_of(space, d)) holes.push_back(*hole);
  for (const Opening& o : space.openings)
    if (passes_glass && o.kind == Opening::Kind::inner_glazing)
      if (const auto hole = hole_of(space, o)) holes.push_back(*hole);
  return holes;
}

/// Whether something on the wall at a place, at a height, would hang in a window or door.
bool is_in_hole(const Space& space, Point2 at, double height_m) {
  const auto hits = [&](const std::optional<Hole>& hole) {
    return hole && height_m > hole->bottom_m - kHalfBox_m && height_m < hole->top_m + kHalfBox_m &&
           distance_to_segment(at, hole->right, hole->left) < kHalfBox_m + kOffWall_m;
  };
  return std::any_of(space.doors.begin(), space.doors.end(),
                     [&](const Door& d) { return hits(hole_of(space, d)); }) ||
         std::any_of(space.openings.begin(), space.openings.end(),
                     [&](const Opening& o) { return hits(hole_of(space, o)); });
}

/// Whether the leaf of any door passes a place, or stands before it: a leaf may open as far as to the wall.
bool is_in_swing(const Space& space, Point2 at) {
  return std::any_of(space.doors.begin(), space.doors.end(), [&](const Door& d) {
    const auto hole = hole_of(space, d);
    if (!hole || d.swing != Door::Swing::in) return false;
    const Point2 hinge = d.latch == Door::Latch::left ? hole->right : hole->left;
    return dot(at - hinge, hole->inward) > -kLeafClear_m && length(at - hinge) < d.width_m + kLeafClear_m;
  });
}

/// Whether furniture or a partition reaches as high as a device at a place, there.
bool is_under_something(const Space& space, Point3 at) {
  const Point2 p{at.x, at.y};
  return std::any_of(space.furniture.begin(), space.furniture.end(),
                     [&](const domain::Furniture& f) {
                       return f.plan.size() >= 3 && f.bottom_m < at.z + kBelowCeiling_m &&
                              f.top_m > at.z - kBelowCeiling_m && contains(f.plan, p);
                     }) ||
         std::any_of(space.partitions.begin(), space.partitions.end(), [&](const domain::Partition& w) {
           return domain::stands(w, 0) && w.height_m > at.z - kBelowCeiling_m &&
                  distance_to_segment(p, w.from, w.to) < 0.5 * w.thickness_m + kHalfBox_m;
         });
}

class Finder {
 public:
  Finder(const CanonicalRoom& room, std::span<const SensorOffer> offers,
         std::span<const domain::LuminaireType> types)
      : room_(room), space_(as_sensors_see(room.space)), offers_(offers), types_(types) {}

  SensorPositions found() && {
    for (std::size_t i = 0; i < offers_.size(); ++i) {
      const DeviceKind& kind = *offers_[i].kind;
      switch (kind.mounting) {
        case DeviceKind::Mounting::ceiling:
          on_ceiling(i);
          break;
        case DeviceKind::Mounting::wall:
          on_walls(i);
          break;
        case DeviceKind::Mounting::wall_box:
          in_wall_boxes(i);
          break;
        case DeviceKind::Mounting::in_luminaire:
          in_luminaires(i);
          break;
        case DeviceKind::Mounting::ceiling_void:
        case DeviceKind::Mounting::panel:
        case DeviceKind::Mounting::plug_in:
          break;
      }
    }
    return std::move(positions_);
  }

 private:
  [[nodiscard]] const DeviceKind& kind(std::size_t offer) const { return *offers_[offer].kind; }

  /// The place as a candidate, unless waves leave the room from it.
  void judge(std::size_t offer, OccupancySensor sensor) {
    SensorCandidate candidate{offer, {}, 1, seen(sensor, Motion::major), {}};
    if (looks_out_m(sensor, space_, candidate.major) > kMostOutside_m) {
      refuse(offer, std::move(sensor), Refusal::looks_out);
      return;
    }
    candidate.minor = seen(sensor, Motion::minor);
    candidate.sensors.push_back(std::move(sensor));
    positions_.candidates.push_back(std::move(candidate));
  }
  void refuse(std::size_t offer, OccupancySensor sensor, Refusal why) {
    positions_.refused.push_back({offer, std::move(sensor), why});
  }
  [[nodiscard]] Region seen(const OccupancySensor& sensor, Motion motion) const {
    return sensing::field_of(sensor, space_, motion).seen;
  }

  [[nodiscard]] bool is_too_high(std::size_t offer, Point2 at) const {
    const Technology technology = kind(offer).occupancy->technology;
    return (technology == Technology::ultrasonic || technology == Technology::dual) &&
           domain::height_over(space_, {at}) > kHighestForSound_m;
  }

  // --- Ceiling

  /// Middles of cells along and across the longest wall, odd in number so that the middle of a room is one.
  struct Raster {
    std::vector<Point2> places;
    double step_m = 0.0;
  };
  [[nodiscard]] Raster raster(std::size_t most, double clear_m) const {
    const Box2 box = bounds(space_.floor);
    const Vector2 size = box.high - box.low;
    // A step as fine as half as many cells again as are allowed is tried first.
    const double finest_m = std::sqrt(area(space_.floor) / (1.5 * static_cast<double>(most)));
    for (double step_m = std::max(kLeastCeilingStep_m, finest_m);; step_m *= 1.05) {
      const auto odd = [&](double side_m) {
        const int cells = static_cast<int>(std::floor(side_m / step_m));
        return std::max(1, cells - (cells % 2 == 0 ? 1 : 0));
      };
      Raster found{{}, step_m};
      const int columns = odd(size.x);
      const int rows = odd(size.y);
      for (int r = 0; r < rows; ++r)
        for (int c = 0; c < columns; ++c) {
          const Point2 p{on_raster_m(box.low.x + (c + 0.5) * size.x / columns),
                         on_raster_m(box.low.y + (r + 0.5) * size.y / rows)};
          if (contains(space_.floor, p) && distance_to_boundary(space_.floor, p) >= clear_m)
            found.places.push_back(p);
        }
      if (found.places.size() <= most) return found;
    }
  }

  /// The raster; where it is coarse, the places at which people work as well: a raster may miss the one spot
  /// between shelves from which a desk is seen.
  [[nodiscard]] std::vector<Point2> ceiling_places(std::size_t most) const {
    Raster found = raster(most, kFromWall_m);
    if (found.places.empty()) return raster(most, 0.0).places;
    if (found.step_m <= kCoarse_m) return found.places;
    std::vector<Point2> over;
    for (const sensing::Place& place : sensing::places_of(room_.space))
      if (const Point2 p = centroid(place.plan);
          over.size() < static_cast<std::size_t>(kMostOverPlaces * static_cast<double>(most)) &&
          contains(space_.floor, p))
        over.push_back({on_raster_m(p.x), on_raster_m(p.y)});
    if (!over.empty()) found = raster(most - over.size(), kFromWall_m);
    found.places.insert(found.places.end(), over.begin(), over.end());
    return found.places;
  }

  [[nodiscard]] static std::vector<double> aims(Coverage coverage) {
    switch (coverage) {
      case Coverage::circle:
      case Coverage::in_luminaire:
        return {0.0};
      case Coverage::strip:
        return {90.0, 0.0};
      case Coverage::half_circle:
      case Coverage::sector:
        return {0.0, 90.0, 180.0, 270.0};
    }
    return {0.0};
  }

  [[nodiscard]] bool is_at_luminaire(Point3 at) const {
    return std::any_of(room_.luminaires.begin(), room_.luminaires.end(), [&](const domain::Luminaire& l) {
      const auto type = std::find_if(types_.begin(), types_.end(),
                                     [&](const domain::LuminaireType& t) { return t.id == l.type; });
      if (type == types_.end() || type->mounting == domain::LuminaireType::Mounting::plug_in ||
          l.at.z < at.z - kAtCeiling_m)
        return false;
      const Vector2 off{at.x - l.at.x, at.y - l.at.y};
      if (type->shape == domain::LuminaireType::Shape::circle)
        return length(off) < 0.5 * type->length_m + kClearOfLuminaire_m;
      const double turn = l.rotation_deg * kRadPerDeg;
      const Vector2 along{std::cos(turn), std::sin(turn)};
      return std::abs(dot(off, along)) < 0.5 * type->length_m + kClearOfLuminaire_m &&
             std::abs(cross(along, off)) < 0.5 * type->width_m + kClearOfLuminaire_m;
    });
  }

  void on_ceiling(std::size_t offer) {
    const std::vector<double> directions = aims(kind(offer).occupancy->coverage);
    for (const Point2 p : ceiling_places(kMostOnCeiling / directions.size()))
      for (const double aim : directions) {
        OccupancySensor sensor = sensor_of(kind(offer), space_, p, domain::height_over(space_, {p}), aim);
        if (is_too_high(offer, p))
          refuse(offer, std::move(sensor), Refusal::ceiling_too_high);
        else if (is_under_something(room_.space, sensor.at))
          refuse(offer, std::move(sensor), Refusal::under_something);
        else if (is_at_luminaire(sensor.at))
          refuse(offer, std::move(sensor), Refusal::at_luminaire);
        else
          judge(offer, std::move(sensor));
      }
  }

  // --- Walls

  void on_wall(std::size_t offer, Point2 at, Vector2 into_room) {
    const double ceiling_m = domain::height_over(space_, {at});
    const double height_m =
        std::min(kind(offer).occupancy->rated_height_m.value_or(kUsualOnWall_m), ceiling_m - kBelowCeiling_m);
    const Point2 p{on_raster_m(at.x), on_raster_m(at.y)};
    OccupancySensor sensor = sensor_of(kind(offer), space_, p, height_m, aim_deg(into_room));
    if (is_too_high(offer, p))
      refuse(offer, std::move(sensor), Refusal::ceiling_too_high);
    else if (is_in_hole(space_, p, sensor.at.z))
      refuse(offer, std::move(sensor), Refusal::at_opening);
    else if (is_under_something(room_.space, sensor.at))
      refuse(offer, std::move(sensor), Refusal::under_something);
    else
      judge(offer, std::move(sensor));
  }

  void on_walls(std::size_t offer) {
    const std::vector<Wall> walls = walls_of(space_.floor);
    for (std::size_t i = 0; i < walls.size(); ++i) {
      const Wall& before = walls[(i + walls.size() - 1) % walls.size()];
      const Wall& wall = walls[i];
      const double long_m = length(wall.to - wall.from);
      const Vector2 along = (1.0 / long_m) * (wall.to - wall.from);
      const Vector2 inward{-along.y, along.x};
      // Corners that jut into the room see past two walls and light up neither.
      const Vector2 back = (1.0 / length(before.to - before.from)) * (before.from - before.to);
      if (cross(along, back) > 0.0) {
        const Vector2 half{along.x + back.x, along.y + back.y};
        const Vector2 bisector = (1.0 / length(half)) * half;
        const double sine = cross(along, bisector);
        if (sine > kSharpest) on_wall(offer, wall.from + (kOffWall_m / sine) * bisector, bisector);
      }
      const int count = std::max(1, static_cast<int>(std::floor(long_m / kAlongWall_m + 0.617)));
      for (int k = 0; k < count; ++k)
        on_wall(offer, wall.from + ((k + 0.5) * long_m / count) * along + kOffWall_m * inward, inward);
    }
  }

  void in_wall_boxes(std::size_t offer) {
    for (const Door& door : space_.doors) {
      const auto hole = hole_of(space_, door);
      if (!hole) continue;
      const Vector2 along{hole->inward.y, -hole->inward.x};  // from the right jamb to the left one
      const bool is_left = door.latch == Door::Latch::left;
      const Point2 on_line =
          is_left ? hole->left + kBesideLatch_m * along : hole->right + -kBesideLatch_m * along;
      const Point2 at = on_line + kOffWall_m * hole->inward;
      const Point2 p{on_raster_m(at.x), on_raster_m(at.y)};
      const double rated_m = kind(offer).occupancy->rated_height_m.value_or(kUsualBox_m);
      const double height_m = rated_m >= kLowestBox_m && rated_m <= kHighestBox_m ? rated_m : kUsualBox_m;
      OccupancySensor sensor = sensor_of(kind(offer), space_, p, height_m, aim_deg(hole->inward));
      const std::vector<Wall> walls = walls_of(space_.floor);
      const bool has_wall = std::any_of(walls.begin(), walls.end(), [&](const Wall& w) {
        return distance_to_segment(on_line, w.from, w.to) < kOffWall_m &&
               length(on_line - w.from) > kHalfBox_m && length(on_line - w.to) > kHalfBox_m;
      });
      if (!has_wall)
        refuse(offer, std::move(sensor), Refusal::no_wall_at_latch);
      else if (is_in_swing(space_, p))
        refuse(offer, std::move(sensor), Refusal::in_door_swing);
      else if (is_in_hole(space_, p, height_m))
        refuse(offer, std::move(sensor), Refusal::at_opening);
      else if (is_under_something(room_.space, sensor.at))
        refuse(offer, std::move(sensor), Refusal::under_something);
      else if (!sees_whole_room(sensor))
        refuse(offer, std::move(sensor), Refusal::sees_part_of_room);
      else
        judge(offer, std::move(sensor));
    }
  }

  [[nodiscard]] bool sees_whole_room(const OccupancySensor& sensor) const {
    domain::Design design;
    design.occupancy_sensors.push_back(sensor);
    const auto reach = sensing::reach_of(space_, design);
    return reach && reach->major_share >= kWholeRoom;
  }

  // --- Luminaires

  /// One in each, or none. Where one looks out, its sensing is turned off; it is paid all the same.
  void in_luminaires(std::size_t offer) {
    SensorCandidate candidate;
    candidate.offer = offer;
    candidate.devices = 0;
    std::vector<Region> major;
    std::vector<Region> minor;
    for (const domain::Luminaire& l : room_.luminaires) {
      const auto type = std::find_if(types_.begin(), types_.end(),
                                     [&](const domain::LuminaireType& t) { return t.id == l.type; });
      if (type != types_.end() && type->mounting == domain::LuminaireType::Mounting::plug_in) continue;
      ++candidate.devices;
      OccupancySensor sensor = sensor_of(kind(offer), space_, {l.at.x, l.at.y}, l.at.z, 0.0);
      Region field = seen(sensor, Motion::major);
      if (looks_out_m(sensor, space_, field) > kMostOutside_m) {
        refuse(offer, std::move(sensor), Refusal::looks_out);
        continue;
      }
      major.push_back(std::move(field));
      minor.push_back(seen(sensor, Motion::minor));
      candidate.sensors.push_back(std::move(sensor));
    }
    if (candidate.sensors.empty()) return;
    candidate.major = united(major);
    candidate.minor = united(minor);
    positions_.candidates.push_back(std::move(candidate));
  }

  const CanonicalRoom& room_;
  Space space_;
  std::span<const SensorOffer> offers_;
  std::span<const domain::LuminaireType> types_;
  SensorPositions positions_;
};

}  // namespace

std::string_view words(Refusal refusal) {
  switch (refusal) {
    case Refusal::looks_out:
      return "looks out of an open door or through glass";
    case Refusal::ceiling_too_high:
      return "hangs under a ceiling too high for ultrasound";
    case Refusal::at_luminaire:
      return "would lie in a luminaire";
    case Refusal::under_something:
      return "has something that stands as high at its place";
    case Refusal::at_opening:
      return "would hang in a window or door";
    case Refusal::no_wall_at_latch:
      return "finds no wall beside the latch";
    case Refusal::in_door_swing:
      return "is swept or hidden by the leaf of a door";
    case Refusal::sees_part_of_room:
      return "does not see the whole room from the wall box";
  }
  return "";
}

Space as_sensors_see(const Space& space) {
  Space bare = space;
  std::vector<bool> is_worked_at(space.furniture.size(), false);
  for (const sensing::Place& place : sensing::places_of(space))
    if (place.kind == sensing::Place::Kind::furniture) is_worked_at[place.index] = true;
  bare.furniture.clear();
  for (std::size_t i = 0; i < space.furniture.size(); ++i)
    if (!is_worked_at[i]) bare.furniture.push_back(space.furniture[i]);
  bare.task_areas.clear();
  return bare;
}

SensorPositions sensor_positions(const CanonicalRoom& room, std::span<const SensorOffer> offers,
                                 std::span<const domain::LuminaireType> luminaire_types) {
  return Finder(room, offers, luminaire_types).found();
}

double looks_out_m(const OccupancySensor& sensor, const Space& space, const Region& major) {
  const std::vector<Hole> holes = ways_out(sensor.technology, space);
  if (holes.empty() || major.empty()) return 0.0;
  constexpr double kEye_m = sensing::height_m(Motion::major);
  constexpr double kThin_m = 1e-3;
  const Polygon shape = sensing::coverage_shape(sensor, Motion::major);
  double far_m = 0.0;
  for (const Point2 p : shape) far_m = std::max(far_m, length(p - Point2{sensor.at.x, sensor.at.y}));
  double farthest_m = 0.0;
  for (const Hole& hole : holes) {
    const Vector2 strip = (1.0 / kApertures) * (hole.left - hole.right);
    for (int k = 0; k < kApertures; ++k) {
      const Point2 a = hole.right + static_cast<double>(k) * strip;
      const Point2 b = a + strip;
      // What stands between hides the strip of the opening, and with it what is beyond.
      if (!contains(major, a + 0.5 * strip + kJustInside_m * hole.inward)) continue;
      // Beyond it is seen what the opening would hide if it were a wall.
      const Vector2 out = -kThin_m * hole.inward;
      for (const Polygon& piece :
           sensing::shadow(sensor.at, {b, a, a + out, b + out}, hole.bottom_m, hole.top_m, kEye_m, far_m))
        for (const PolygonWithHoles& beyond : intersection(shape, piece))
          for (const Point2 p : beyond.outline) farthest_m = std::max(farthest_m, -dot(p - a, hole.inward));
    }
  }
  return farthest_m;
}

}  // namespace halflight::choose
