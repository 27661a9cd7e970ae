#include "service/json.hpp"

namespace halflight::service {

std::string text_of(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

Json to_json(Point2 point) { return Json::array({point.x, point.y}); }
Json to_json(Point3 point) { return Json::array({point.x, point.y, point.z}); }

Json to_json(const Polygon& polygon) {
  Json points = Json::array();
  for (const Point2 p : polygon) points.push_back(to_json(p));
  return points;
}

Json to_json(const Diagnostics& diagnostics) {
  Json all = Json::array();
  for (const Diagnostic& d : diagnostics)
    all.push_back({{"severity", name_of(d.severity)},
                   {"where", d.where},
                   {"problem", d.problem},
                   {"remedy", d.remedy}});
  return all;
}

}  // namespace halflight::service
