#include "service/json.hpp"

#include <cmath>

namespace halflight::service {

namespace {

double to_millimetre(double metres) { return std::round(1000.0 * metres) / 1000.0; }

}  // namespace

std::string text_of(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

Json to_json(Point2 point) { return Json::array({point.x, point.y}); }
Json to_json(Point3 point) { return Json::array({point.x, point.y, point.z}); }

Json to_json(const Polygon& polygon) {
  Json points = Json::array();
  for (const Point2 p : polygon) points.push_back(to_json(p));
  return points;
}

Json drawn_json(const Polygon& ring) {
  Json points = Json::array();
  for (const Point2 p : ring) points.push_back(to_json(Point2{to_millimetre(p.x), to_millimetre(p.y)}));
  return points;
}

Json drawn_line_json(const std::vector<Point2>& line) {
  Json numbers = Json::array();
  for (const Point2 p : line) {
    numbers.push_back(to_millimetre(p.x));
    numbers.push_back(to_millimetre(p.y));
  }
  return numbers;
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
