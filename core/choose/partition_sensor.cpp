#include "choose/partition_sensor.hpp"

#include "choose/device_of_kind.hpp"
#include "choose/first_cost.hpp"
#include "geometry/vector.hpp"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

constexpr const char* kKindOfSensor = "partition_contact";
/// From the end of the wall and below its head (common practice, no source).
constexpr double kFromEdge_m = 0.1;

/// Of a point to the middle of the nearest door; infinite without doors.
double to_door_m(const domain::Space& space, Point2 from) {
  double least_m = std::numeric_limits<double>::infinity();
  for (const domain::Door& door : space.doors) {
    const std::size_t wall = static_cast<std::size_t>(door.wall) % space.floor.size();
    const Vector2 edge = space.floor[(wall + 1) % space.floor.size()] - space.floor[wall];
    const Point2 middle = space.floor[wall] + ((door.offset_m + 0.5 * door.width_m) / length(edge)) * edge;
    least_m = std::min(least_m, length(middle - from));
  }
  return least_m;
}

}  // namespace

std::optional<domain::Interface> partition_sensor(const domain::Project& project,
                                                  const domain::Library& library,
                                                  const domain::Space& space) {
  const domain::Partition* wall = domain::wall_in_use(space);
  if (wall == nullptr) return std::nullopt;
  const Vector2 along = wall->to - wall->from;
  const Vector2 inwards = (std::min(kFromEdge_m, 0.5 * length(along)) / length(along)) * along;
  const bool is_at_end = to_door_m(space, wall->to) <= to_door_m(space, wall->from);
  const Point2 at = is_at_end ? wall->to + -1.0 * inwards : wall->from + inwards;
  domain::Interface sensor;
  sensor.space = space.id;
  sensor.at = {at.x, at.y, std::min(wall->height_m, space.height_m) - kFromEdge_m};
  sensor.kind = domain::Interface::Kind::partition_sensor;
  sensor.direction = domain::Interface::Direction::in;
  sensor.signal = fmt::format("{} stands: each side goes by its own sensors and stations", wall->id);
  if (const domain::DeviceKind* kind = device_kind_of(project, library, kKindOfSensor))
    take_kind(sensor, *kind);
  return sensor;
}

}  // namespace halflight::choose
