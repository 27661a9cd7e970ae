#include "service/radio_json.hpp"

#include "domain/names.hpp"
#include "report/contours.hpp"
#include "sensing/radio_network.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>
#include <vector>

namespace halflight::service {

namespace {

constexpr double kLevels_db[] = {0.0, 10.0, 20.0};
/// Without a radio device in the room: where most sensors hang, as long as the ceiling is as high.
constexpr double kUsualHeight_m = 2.4;
/// A margin is known to several dB and bends over metres.
constexpr double kStep_m = 0.5;
constexpr double kMostPoints = 4000.0;

/// By what a further wall or a body in the way may take.
std::string_view margin_class(double margin_db) {
  if (margin_db >= kLevels_db[2]) return "strong";
  if (margin_db >= kLevels_db[1]) return "sound";
  return margin_db >= kLevels_db[0] ? "weak" : "none";
}

Json contours_json(const sensing::RadioNetwork& network, const domain::Space& space, double height_m) {
  const Box2 box = bounds(space.floor);
  const double wide_m = box.high.x - box.low.x;
  const double deep_m = box.high.y - box.low.y;
  report::Field field;
  field.step_m = std::max(kStep_m, std::sqrt(wide_m * deep_m / kMostPoints));
  field.x0_m = box.low.x - field.step_m;
  field.y0_m = box.low.y - field.step_m;
  // One point beyond each wall, so that contours reach it.
  field.columns = static_cast<int>(std::ceil(wide_m / field.step_m)) + 3;
  field.rows = static_cast<int>(std::ceil(deep_m / field.step_m)) + 3;
  for (int r = 0; r < field.rows; ++r)
    for (int c = 0; c < field.columns; ++c) {
      // What lies beyond the wall is read at the wall.
      const Point3 at{std::clamp(field.x0_m + c * field.step_m, box.low.x, box.high.x),
                      std::clamp(field.y0_m + r * field.step_m, box.low.y, box.high.y), height_m};
      field.values.push_back(network.margin_at({&space, at}));
    }
  Json all = Json::array();
  for (const double level : kLevels_db)
    for (const report::Polyline& line : report::contour(field, level))
      all.push_back({{"db", level},
                     {"is_closed", line.is_closed},
                     {"points", drawn_line_json(report::simplified(line.points, 0.02))}});
  return all;
}

}  // namespace

Json radio_json(const domain::Project& project, const domain::Space& space) {
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  if (design == nullptr) return {};
  const sensing::RadioNetwork network(project, *design);
  if (network.is_too_large()) return {};
  const std::vector<sensing::RadioLink> links = network.links_in(space);
  Json devices = Json::array();
  double heights_m = 0.0;
  for (const sensing::RadioLink& link : links) {
    heights_m += link.from->at.z;
    Json one = {{"id", link.from->id}, {"to", nullptr}};
    if (link.to != nullptr) {
      const domain::Space* there = domain::find_by_id(project.spaces, link.to->space);
      one["to"] = {{"id", link.to->id},
                   {"tag", domain::named(link.to->tag, link.to->id)},
                   {"is_repeater", link.to->kind == domain::Infrastructure::Kind::repeater},
                   {"at", to_json(link.to->at)},
                   {"is_here", link.to->space == space.id},
                   {"room", there == nullptr ? link.to->space : there->number},
                   {"distance_m", link.distance_m},
                   {"light_walls", link.crossed.light_walls},
                   {"heavy_walls", link.crossed.heavy_walls},
                   {"floors", link.crossed.floors},
                   {"loss_db", link.loss_db},
                   {"margin_db", link.margin_db},
                   {"availability", link.path_availability},
                   {"margin", margin_class(link.margin_db)}};
    }
    devices.push_back(std::move(one));
  }
  const double height_m = links.empty() ? std::min(kUsualHeight_m, space.height_m)
                                        : heights_m / static_cast<double>(links.size());
  Json contours = Json::array();
  if (network.has_gateway() && space.floor.size() >= 3) contours = contours_json(network, space, height_m);
  return {{"has_gateway", network.has_gateway()},
          {"devices", devices},
          {"height_m", height_m},
          {"contours", contours}};
}

}  // namespace halflight::service
