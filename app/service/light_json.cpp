#include "service/light_json.hpp"

#include "base/base64.hpp"
#include "domain/names.hpp"
#include "people/calendar.hpp"
#include "report/colour.hpp"
#include "report/contours.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace halflight::service {

namespace {

/// One scale for all rooms and hours, so that a colour means the same light wherever it is seen: from what
/// one just finds the way in to what is bright by a window.
constexpr double kScaleLow_lx = 10.0;
constexpr double kScaleHigh_lx = 2000.0;

/// Drawn points between computed ones.
constexpr int kFiner = 4;

std::vector<double> targets_of(const domain::Space& space) {
  std::set<double> targets;
  for (const domain::TaskArea& task : space.task_areas)
    if (task.plane == domain::TaskArea::Plane::horizontal) targets.insert(task.target_lx);
  return {targets.begin(), targets.end()};
}

std::uint8_t byte_of(double share) {
  return static_cast<std::uint8_t>(std::lround(255.0 * std::clamp(share, 0.0, 1.0)));
}

Json field_json(const report::Field& field) {
  std::string bytes;
  bytes.reserve(field.values.size());
  for (const double lx : field.values)
    bytes += static_cast<char>(byte_of(report::light_position(lx, kScaleLow_lx, kScaleHigh_lx)));
  return {{"x0_m", field.x0_m},       {"y0_m", field.y0_m},    {"step_m", field.step_m},
          {"columns", field.columns}, {"rows", field.rows},    {"low_lx", kScaleLow_lx},
          {"high_lx", kScaleHigh_lx}, {"bytes", base64(bytes)}};
}

Json contours_json(const report::Field& field, const std::vector<double>& targets) {
  Json all = Json::array();
  if (field.values.empty()) return all;
  const auto [low, high] = std::minmax_element(field.values.begin(), field.values.end());
  for (const double level : report::contour_levels(*low, *high, targets)) {
    const bool is_target = std::find(targets.begin(), targets.end(), level) != targets.end();
    for (const report::Polyline& line : report::contour(field, level))
      all.push_back({{"lx", level},
                     {"is_target", is_target},
                     {"is_closed", line.is_closed},
                     {"points", drawn_line_json(report::simplified(line.points, 0.01))}});
  }
  return all;
}

/// A point of calculation on the plan.
Json point_json(const results::PlanGrid& plan, std::size_t i) {
  const auto columns = static_cast<std::size_t>(plan.columns);
  return {{"at", to_json(Point2{plan.x0_m + plan.step_m * static_cast<double>(i % columns),
                                plan.y0_m + plan.step_m * static_cast<double>(i / columns)})},
          {"lx", plan.values_lx[i]}};
}

/// Days on which the calendar of the room's people is shut.
Json holidays_of(const sim::LiveRoom& room) {
  const sim::SpaceModel& model = room.model();
  const domain::Calendar* calendar =
      domain::find_by_id(model.project->calendars, model.space->occupancy.calendar);
  return calendar == nullptr ? Json::array() : Json(people::shut_days(*calendar));
}

/// Where the light on the plan is least (`sign` -1) or most (+1), beside furniture; null where that takes
/// all.
Json extreme_json(const results::PlanGrid& plan, const results::PlanGrid& beside, float sign) {
  std::optional<std::size_t> found;
  for (std::size_t i = 0; i < plan.values_lx.size(); ++i) {
    const float value = plan.values_lx[i];
    if (value < 0.0F || value != beside.values_lx[i]) continue;  // off the floor, or inside furniture
    if (!found || sign * value > sign * plan.values_lx[*found]) found = i;
  }
  return found ? point_json(plan, *found) : Json();
}

/// Of a plan beside furniture.
Json drawn_plan_json(const results::PlanGrid& beside, const domain::Space& space) {
  const report::Field field = report::drawable(beside, kFiner);
  return {{"field", field_json(field)}, {"contours", contours_json(field, targets_of(space))}};
}

Json place_json(const sim::SensorPlace& place) {
  return {{"at", to_json(Point2{place.at.x, place.at.y})},
          {"height_m", place.at.z},
          {"usable", place.usable},
          {"rms", place.held.rms},
          {"under_share", place.held.under_share},
          {"over", place.held.over}};
}

}  // namespace

Json plan_json(const results::PlanGrid& plan, const domain::Space& space) {
  return drawn_plan_json(report::beside_furniture(plan, space.furniture), space);
}

Json light_json(const sim::LiveRoom& room, const sim::RoomLight& light, bool with_points) {
  const domain::Space& space = *room.model().space;
  std::map<std::string, double> luminaires;
  for (const auto& [channel, level] : light.channels) {
    double& largest = luminaires[channel.substr(0, channel.find('/'))];
    largest = std::max(largest, level);
  }
  Json tasks = Json::array();
  for (std::size_t t = 0; t < light.tasks.size() && t < space.task_areas.size(); ++t) {
    const domain::TaskArea& task = space.task_areas[t];
    const sim::RoomLight::Task& on = light.tasks[t];
    tasks.push_back({{"id", task.id},
                     {"name", domain::named(task.name, task.id)},
                     {"mean_lx", on.mean_lx},
                     {"min_lx", on.min_lx},
                     {"daylight_lx", on.daylight_lx},
                     {"electric_lx", on.electric_lx},
                     {"target_lx", task.target_lx}});
  }
  Json points = Json::array();
  if (with_points)
    for (std::size_t i = 0; i < light.plan.values_lx.size(); ++i)
      if (light.plan.values_lx[i] >= 0.0F) points.push_back(point_json(light.plan, i));
  const results::PlanGrid beside = report::beside_furniture(light.plan, space.furniture);
  Json json = drawn_plan_json(beside, space);
  json["luminaires"] = luminaires;
  json["tasks"] = std::move(tasks);
  json["power_w"] = light.power_w;
  json["error_lx"] = light.error_lx;
  json["lowest"] = extreme_json(light.plan, beside, -1.0F);
  json["highest"] = extreme_json(light.plan, beside, 1.0F);
  json["points"] = std::move(points);
  return json;
}

Json places_json(const sim::PhotosensorPlaces& places) {
  Json all = Json::array();
  for (const sim::SensorPlace& place : places.places) all.push_back(place_json(place));
  return {{"target_lx", places.target_lx},
          {"night_lx", places.night_lx},
          {"hours", static_cast<double>(places.steps) * static_cast<double>(sim::kStep_s) / 3600.0},
          {"spacing_m", places.spacing_m},
          {"places", all},
          {"present", places.present ? place_json(*places.present) : Json()},
          {"best", places.best ? Json(*places.best) : Json()}};
}

Json year_json(const sim::LiveRoom& room, sim::YearQuantity quantity) {
  const bool is_light = quantity == sim::YearQuantity::task_light || quantity == sim::YearQuantity::daylight;
  std::string bytes;
  bytes.reserve(sim::kSteps);
  for (const float value : room.year(quantity))
    bytes += static_cast<char>(
        byte_of(is_light ? report::light_position(value, kScaleLow_lx, kScaleHigh_lx) : value));
  const sim::LiveRoom::SunHours sun = room.sun_hours();
  return {{"quantity", sim::kYearQuantityNames[static_cast<std::size_t>(quantity)]},
          {"unit", is_light ? "lx" : ""},
          {"low", is_light ? kScaleLow_lx : 0.0},
          {"high", is_light ? kScaleHigh_lx : 1.0},
          {"logarithmic", is_light},
          {"steps_per_day", kDay / sim::kStep_s},
          {"bytes", base64(bytes)},
          {"sunrise_h", sun.rises},
          {"sunset_h", sun.sets},
          {"first_weekday", room.model().clock.first_weekday()},
          {"calendar_year", room.model().project->site.calendar_year},
          {"holidays", holidays_of(room)}};
}

Json why_json(const sim::LiveRoom& room, Seconds civil) {
  const Seconds standard = std::clamp<Seconds>(room.model().clock.standard(civil), 0, kYear - 1);
  Json groups = Json::array();
  for (const sim::CellAtWork& now : room.work().at(standard))
    groups.push_back({{"id", now.cell->scene_group},
                      {"name", now.cell->name},
                      {"daylight_group", now.cell->daylight_group},
                      {"level", now.level},
                      {"power_w", now.light_w + now.standby_w}});
  return {{"at_civil_s", civil},
          {"sentences", room.explain(civil).sentences},
          {"groups", groups},
          {"people", room.at(sim::YearQuantity::presence, civil) > 0.0}};
}

}  // namespace halflight::service
