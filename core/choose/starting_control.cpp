#include "choose/starting_control.hpp"

#include "base/units.hpp"
#include "choose/scene_set.hpp"
#include "choose/usual_sequence.hpp"
#include "codes/zones.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

// Ceiling sensors (common practice, no source): reach for somebody who walks and for hands of somebody
// seated.
constexpr double kWalkingReach_m = 5.4;
constexpr double kSeatedReach_m = 3.2;
constexpr double kUnseen_m = 0.5;  // along walls, where nobody stays
constexpr double kSensorStandby_w = 0.4;
constexpr double kStationStandby_w = 0.3;
constexpr double kBesideLatch_m = 0.2;
constexpr double kOffWall_m = 0.05;
constexpr double kBesideScreen_m = 0.3;
constexpr double kShielded_deg = 50.0;
constexpr double kPhotosensorRange_lx = 1500.0;
constexpr double kClearOfLuminaire_m = 0.15;
// A photosensor that looks out of a window (common practice, no source): this far from the glass and tilted
// so that it sees little of the room.
constexpr double kFromGlass_m = 0.6;
constexpr double kLooksOut_deg = 60.0;

std::string letter(std::size_t row) {
  std::string name(1, static_cast<char>('a' + row % 26));
  if (row >= 26) name += std::to_string(row / 26 + 1);
  return name;
}

bool sits_still(domain::Occupancy::Pattern pattern) {
  using Pattern = domain::Occupancy::Pattern;
  return pattern == Pattern::desks || pattern == Pattern::shared || pattern == Pattern::bookings ||
         pattern == Pattern::timetable || pattern == Pattern::sleeping;
}

/// Pushed out of luminaires that a place would lie in.
Point2 beside_luminaires(Point2 place, const LitGrid& lit, const domain::LuminaireType& type,
                         const Polygon& floor) {
  const double turn = lit.grid.rotation_deg * kRadPerDeg;
  const Vector2 along{std::cos(turn), std::sin(turn)};
  const Vector2 across{-along.y, along.x};
  for (const Point2 middle : lit.grid.at) {
    const Vector2 off = place - middle;
    const double a = dot(off, along);
    const double b = dot(off, across);
    if (std::abs(a) > 0.5 * type.length_m + kClearOfLuminaire_m ||
        std::abs(b) > 0.5 * type.width_m + kClearOfLuminaire_m)
      continue;
    // Half way to the next luminaire of the row, or to the wall.
    const double step = std::min(0.5 * lit.grid.along_m, 0.5 * type.length_m + 0.6);
    for (const double sign : {a < 0.0 ? -1.0 : 1.0, a < 0.0 ? 1.0 : -1.0}) {
      const Point2 moved = middle + sign * step * along + b * across;
      if (contains(floor, moved)) return moved;
    }
  }
  return place;
}

std::vector<std::string> ids_of(const std::vector<domain::Luminaire>& luminaires) {
  std::vector<std::string> ids;
  for (const domain::Luminaire& l : luminaires) ids.push_back(l.id);
  return ids;
}

domain::Station station_of(const RoomForControl& room, const std::string& id) {
  domain::Station station;
  station.id = id;
  station.space = room.space.id;
  const Point2 at = station_place(room.space, room.space.doors.empty() ? nullptr : &room.space.doors.front());
  station.at = {at.x, at.y, kStationHeight_m};
  return station;
}

void add_luminaires(const RoomForControl& room, const std::string& type, const LitGrid& lit,
                    std::string_view mark, StartingRoom& start) {
  for (std::size_t i = 0; i < lit.grid.at.size(); ++i) {
    domain::Luminaire& one = start.luminaires.emplace_back();
    one.id = fmt::format("{}{}{}", room.id_prefix, mark, i + 1);
    one.type = type;
    one.space = room.space.id;
    one.at = {lit.grid.at[i].x, lit.grid.at[i].y, lit.height_m};
    one.rotation_deg = lit.grid.rotation_deg;
  }
}

}  // namespace

void look_out_of(const domain::Space& space, const domain::Opening& window, domain::Photosensor& sensor) {
  const std::size_t wall = static_cast<std::size_t>(window.wall) % space.floor.size();
  const Vector2 edge = space.floor[(wall + 1) % space.floor.size()] - space.floor[wall];
  const Vector2 along = (1.0 / length(edge)) * edge;
  const Vector2 inward{-along.y, along.x};
  const Point2 at =
      space.floor[wall] + (window.offset_m + 0.5 * window.width_m) * along + kFromGlass_m * inward;
  sensor.at = {at.x, at.y, domain::height_over(space, {at})};
  sensor.loop = domain::Photosensor::Loop::open;
  sensor.aim_tilt_deg = kLooksOut_deg;
  sensor.aim_deg = std::fmod(std::atan2(-inward.x, -inward.y) / kRadPerDeg + 360.0, 360.0);
}

namespace {

/// Daylight groups with their photosensors and rules.
void add_daylight(const RoomForControl& room, const LitGrid& lit, const domain::LuminaireType& type,
                  StartingRoom& start) {
  domain::Project with = room.project;
  with.luminaire_types = {type};
  domain::Design design;
  design.luminaires = start.luminaires;
  const auto zones = codes::daylight_zones(with, design, room.space, room.zones);
  const auto members =
      codes::luminaires_by_zone(with, design, room.space, zones, room.zones.luminaire_share_min);
  const auto task =
      std::find_if(room.space.task_areas.begin(), room.space.task_areas.end(),
                   [](const auto& t) { return t.plane == domain::TaskArea::Plane::horizontal; });
  for (std::size_t z = 0; z < zones.size(); ++z) {
    if (members[z].empty() || task == room.space.task_areas.end()) continue;
    std::string mark = zones[z].id;
    std::replace(mark.begin(), mark.end(), ' ', '-');
    domain::Group& group = start.groups.emplace_back();
    group.id = fmt::format("{}day-{}", room.id_prefix, mark);
    group.space = room.space.id;
    group.strategy = domain::Strategy::daylight;
    group.name = zones[z].id;
    group.channels = members[z];

    domain::Photosensor& sensor = start.photosensors.emplace_back();
    sensor.id = fmt::format("{}P{}", room.id_prefix, start.photosensors.size());
    sensor.space = room.space.id;
    Vector2 sum{};
    for (const domain::Luminaire& l : start.luminaires)
      if (std::find(members[z].begin(), members[z].end(), l.id) != members[z].end())
        sum = {sum.x + l.at.x, sum.y + l.at.y};
    const double n = static_cast<double>(members[z].size());
    const Point2 at = beside_luminaires({sum.x / n, sum.y / n}, lit, type, room.space.floor);
    sensor.at = {at.x, at.y, domain::height_over(room.space, {at})};
    sensor.tag = fmt::format("PS{}", start.photosensors.size());
    sensor.standby_w = kSensorStandby_w;
    sensor.response = domain::Photosensor::Response::shielded;
    sensor.cutoff_deg = kShielded_deg;
    sensor.range_lx = kPhotosensorRange_lx;
    sensor.groups = {group.id};
    // Far from the glass daylight is too small a part of what a sensor above the task sees for a closed loop
    // to tell it from the light that it governs: one at the window looks out instead, and the loop is open.
    const domain::Opening* window = zones[z].kind == results::DaylightZone::Kind::secondary
                                        ? domain::find_by_id(room.space.openings, zones[z].openings.front())
                                        : nullptr;
    if (window != nullptr) look_out_of(room.space, *window, sensor);

    domain::DaylightRule& rule = start.sequence.daylight.emplace_back();
    rule.group = group.id;
    rule.photosensor = sensor.id;
    rule.task_area = task->id;
    if (window != nullptr) rule.method = domain::DaylightRule::Method::open_loop_proportional;
    rule.minimum_level = room.kind.start.daylight_minimum_level;
    rule.may_switch_off = room.kind.start.daylight_may_switch_off;
  }
}

}  // namespace

std::vector<Point2> sensor_places(const Polygon& floor, double reach_m) {
  const Box2 box = bounds(floor);
  const double width = std::max(0.0, box.high.x - box.low.x - 2.0 * kUnseen_m);
  const double depth = std::max(0.0, box.high.y - box.low.y - 2.0 * kUnseen_m);
  // The fewest cells whose corners are within reach of their middle.
  int columns = 1;
  int rows = 1;
  int fewest = 1 << 20;
  constexpr int kMost = 60;
  for (int c = 1; c <= kMost; ++c)
    for (int r = 1; r <= kMost && c * r < fewest; ++r)
      if (std::hypot(width / c, depth / r) <= 2.0 * reach_m) {
        columns = c;
        rows = r;
        fewest = c * r;
      }
  std::vector<Point2> places;
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c) {
      const Point2 p{box.low.x + kUnseen_m + (c + 0.5) * width / columns,
                     box.low.y + kUnseen_m + (r + 0.5) * depth / rows};
      if (contains(floor, p)) places.push_back(p);
    }
  if (places.empty()) places.push_back(grid_points(floor, 0.0).points.front());
  return places;
}

Point2 station_place(const domain::Space& space, const domain::Door* door) {
  const auto count = space.floor.size();
  std::size_t wall = 0;
  double along_m = kBesideLatch_m;
  if (door != nullptr) {
    wall = static_cast<std::size_t>(door->wall) % count;
    const double length_m = length(space.floor[(wall + 1) % count] - space.floor[wall]);
    const double beyond = door->offset_m + door->width_m + kBesideLatch_m;
    const double before = door->offset_m - kBesideLatch_m;
    // Seen from inside and facing the wall, the wall runs from the right to the left.
    const bool is_beyond = door->latch == domain::Door::Latch::left;
    along_m = is_beyond ? beyond : before;
    if (along_m > length_m - kOffWall_m || along_m < kOffWall_m) along_m = is_beyond ? before : beyond;
    along_m = std::clamp(along_m, std::min(kOffWall_m, length_m), std::max(0.0, length_m - kOffWall_m));
  }
  const Vector2 edge = space.floor[(wall + 1) % count] - space.floor[wall];
  const Vector2 unit = (1.0 / length(edge)) * edge;
  const Vector2 inward{-unit.y, unit.x};
  return space.floor[wall] + along_m * unit + kOffWall_m * inward;
}

std::optional<Point2> place_beside_screen(const domain::Space& space, const domain::TaskArea& screen) {
  const Point2 middle = centroid(screen.plan);
  const auto count = space.floor.size();
  std::size_t wall = 0;
  double nearest_m = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < count; ++i) {
    const double away_m = distance_to_segment(middle, space.floor[i], space.floor[(i + 1) % count]);
    if (away_m >= nearest_m) continue;
    nearest_m = away_m;
    wall = i;
  }
  const Point2 from = space.floor[wall];
  const Vector2 edge = space.floor[(wall + 1) % count] - from;
  const double length_m = length(edge);
  const Vector2 unit = (1.0 / length_m) * edge;
  double first_m = length_m;
  double last_m = 0.0;
  for (const Point2 corner : screen.plan) {
    const double along_m = dot(corner - from, unit);
    first_m = std::min(first_m, along_m);
    last_m = std::max(last_m, along_m);
  }
  const bool is_beyond = length_m - last_m > first_m;
  const double along_m = is_beyond ? last_m + kBesideScreen_m : first_m - kBesideScreen_m;
  if (along_m < kOffWall_m || along_m > length_m - kOffWall_m) return std::nullopt;
  return from + along_m * unit + kOffWall_m * Vector2{-unit.y, unit.x};
}

StartingRoom starting_room(const RoomForControl& room, const domain::LuminaireType& type,
                           const LitGrid& lit) {
  const domain::StartingPoint& usual = room.kind.start;
  StartingRoom start;
  add_luminaires(room, type.id, lit, "A", start);

  domain::Scene& scene = start.scenes.emplace_back();
  scene.id = room.id_prefix + "normal";
  scene.space = room.space.id;
  scene.name = "Normal";
  for (std::size_t r = 0; r < lit.grid.rows; ++r) {
    domain::Group& group = start.groups.emplace_back();
    group.id = fmt::format("{}row-{}", room.id_prefix, letter(r));
    group.space = room.space.id;
    group.strategy = domain::Strategy::scene;
    group.name = letter(r);
    for (std::size_t i = 0; i < lit.grid.row.size(); ++i)
      if (lit.grid.row[i] == r) group.channels.push_back(start.luminaires[i].id);
    scene.levels.push_back({group.id, 1.0});
  }

  const std::string normal = scene.id;
  std::vector<std::string> rows;
  for (const domain::Group& group : start.groups) rows.push_back(group.id);
  std::set<std::string> taken;
  for (domain::Scene& one :
       usual_scenes(room.kind, room.project, room.space, rows,
                    [&](const std::string& stem) { return fresh_id(room.id_prefix + stem, taken); }))
    start.scenes.push_back(std::move(one));

  domain::Sequence& sequence = start.sequence;
  sequence.space = room.space.id;
  sequence.normal_scene = normal;
  apply_usual_rules(room.project, room.space, room.kind, true, sequence, start.notes);
  sequence.trim.emplace();

  if (sequence.vacancy || sequence.on.by == domain::OnRule::By::occupancy) {
    domain::Group& group = start.groups.emplace_back();
    group.id = room.id_prefix + "occupancy";
    group.space = room.space.id;
    group.strategy = domain::Strategy::occupancy;
    group.name = "whole room";
    group.channels = ids_of(start.luminaires);
    const double reach_m = sits_still(room.space.occupancy.pattern) ? kSeatedReach_m : kWalkingReach_m;
    for (const Point2 p : sensor_places(room.space.floor, reach_m)) {
      domain::OccupancySensor& sensor = start.occupancy_sensors.emplace_back();
      sensor.id = fmt::format("{}O{}", room.id_prefix, start.occupancy_sensors.size());
      sensor.space = room.space.id;
      const Point2 at = beside_luminaires(p, lit, type, room.space.floor);
      sensor.at = {at.x, at.y, domain::height_over(room.space, {at})};
      sensor.tag = fmt::format("OS{}", start.occupancy_sensors.size());
      sensor.standby_w = kSensorStandby_w;
      sensor.technology = domain::OccupancySensor::Technology::dual;
      sensor.major_radius_m = kWalkingReach_m;
      sensor.minor_radius_m = kSeatedReach_m;
      sensor.groups = {group.id};
    }
  }
  RoomControls watched;
  watched.groups = start.groups;
  watched.occupancy_sensors = start.occupancy_sensors;
  watched.sequence = sequence;
  lengthen_delay(room.space, start.luminaires, watched, start.notes);
  sequence.vacancy = watched.sequence.vacancy;
  if (usual.follows_daylight && !room.space.openings.empty()) add_daylight(room, lit, type, start);

  domain::Station& station = start.stations.emplace_back(station_of(room, room.id_prefix + "S1"));
  station.tag = "WS1";
  station.standby_w = kStationStandby_w;
  for (const domain::Scene& one : start.scenes) station.buttons.push_back(one.id);
  station.buttons.insert(station.buttons.end(), {"off", "raise", "lower"});
  sequence.manual.emplace().stations = {station.id};
  if (!sequence.vacancy) sequence.manual->holds_until = domain::ManualRule::HoldsUntil::schedule;
  if (room.space.doors.empty())
    start.notes.emplace_back("No door is drawn: the station stands in the first corner.");
  return start;
}

StartingRoom found_room(const RoomForControl& room, const domain::LuminaireType& type, const LitGrid& lit) {
  StartingRoom start;
  add_luminaires(room, type.id, lit, "X", start);
  for (domain::Luminaire& l : start.luminaires) l.status = domain::Status::remove;
  domain::Group& group = start.groups.emplace_back();
  group.id = room.id_prefix + "all";
  group.space = room.space.id;
  group.strategy = domain::Strategy::scene;
  group.name = "a";
  group.channels = ids_of(start.luminaires);
  domain::Station& station = start.stations.emplace_back(station_of(room, room.id_prefix + "X"));
  station.status = domain::Status::remove;
  station.buttons = {"on", "off"};
  domain::Sequence& sequence = start.sequence;
  sequence.space = room.space.id;
  sequence.on = room.kind.start.found_on;
  if (sequence.on.by == domain::OnRule::By::schedule) {
    if (room.project.calendars.empty())
      sequence.on = {};
    else
      sequence.schedule.emplace().calendar = room.project.calendars.front().id;
  }
  sequence.manual.emplace().stations = {station.id};
  sequence.hours_source = domain::Source::assumed;
  return start;
}

}  // namespace halflight::choose
