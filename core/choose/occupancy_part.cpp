#include "choose/occupancy_part.hpp"

#include "choose/starting_control.hpp"

#include <fmt/format.h>

namespace halflight::choose {

std::vector<OccupancyPart> occupancy_parts(const domain::Project&, const domain::Library& library,
                                           const domain::Space& space) {
  std::vector<OccupancyPart> parts;
  const domain::DeviceKind* kind = domain::find_by_id(library.device_kinds, "ceiling_dual");
  OccupancyPart part;
  for (const Point2 at : sensor_places(space.floor, kind->occupancy->minor_radius_m)) {
    domain::OccupancySensor sensor;
    sensor.space = space.id;
    sensor.at = {at.x, at.y, domain::height_over(space, {at})};
    sensor.device_kind = kind->id;
    sensor.standby_w = kind->standby_w;
    sensor.technology = kind->occupancy->technology;
    sensor.coverage = kind->occupancy->coverage;
    sensor.major_radius_m = kind->occupancy->major_radius_m;
    sensor.minor_radius_m = kind->occupancy->minor_radius_m;
    part.sensors.push_back(sensor);
  }
  part.words = fmt::format("{} ceiling sensors", part.sensors.size());
  parts.push_back(part);
  parts.push_back({"no occupancy sensors", "Nobody is noticed: people switch.", {}});
  return parts;
}

}  // namespace halflight::choose
