#include "service/reach_json.hpp"

#include "sensing/coverage.hpp"
#include "sim/watched_people.hpp"

#include <array>
#include <string_view>

namespace halflight::service {

namespace {

Json rings_json(const Region& region) {
  Json rings = Json::array();
  for (const PolygonWithHoles& piece : region) {
    rings.push_back(drawn_json(piece.outline));
    for (const Polygon& hole : piece.holes) rings.push_back(drawn_json(hole));
  }
  return rings;
}

Json field_json(const sensing::Field& field) {
  return {{"seen", rings_json(field.seen)}, {"hidden", rings_json(field.hidden)}};
}

}  // namespace

Json reach_json(const domain::Project& project, const domain::Space& space) {
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  if (design == nullptr) return {};
  const auto found = sensing::reach_of(space, *design);
  if (!found) return {};
  const sensing::RoomReach& reach = *found;
  Json sensors = Json::array();
  for (const sensing::RoomReach::Sensor& sensor : reach.sensors)
    sensors.push_back({{"id", design->occupancy_sensors[sensor.index].id},
                       {"major", field_json(sensor.major)},
                       {"minor", field_json(sensor.minor)}});
  static constexpr std::array<std::string_view, 3> kReaches = {"whole", "partly", "none"};
  Json places = Json::array();
  for (const sensing::Place& place : reach.places) {
    const bool is_furniture = place.kind == sensing::Place::Kind::furniture;
    places.push_back(
        {{"kind", is_furniture ? "furniture" : "task_area"},
         {"id", is_furniture ? space.furniture[place.index].id : space.task_areas[place.index].id},
         {"seen_share", place.seen_share},
         {"reach", kReaches[static_cast<std::size_t>(sensing::reach_of(place))]}});
  }
  Json seats = Json::array();
  if (const domain::Sequence* sequence = domain::find_sequence(*design, space.id)) {
    const auto index = static_cast<std::size_t>(design - project.designs.data());
    for (const results::SeatNotice& seat :
         sim::seat_notices(sim::watched_space(project, space), *sequence, *design, index))
      seats.push_back({{"at", {seat.x_m, seat.y_m}},
                       {"group", seat.group},
                       {"movements_per_h", seat.movements_per_h},
                       {"taken_per_h", seat.taken_per_h},
                       {"keeps_light", sim::keeps_light(seat)}});
  }
  return {{"sensors", sensors},
          {"places", places},
          {"seats", seats},
          {"major_share", reach.major_share},
          {"minor_share", reach.minor_share}};
}

}  // namespace halflight::service
