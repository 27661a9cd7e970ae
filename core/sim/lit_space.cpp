#include "sim/lit_space.hpp"

#include "base/units.hpp"
#include "photometry/loss.hpp"
#include "sim/daylight_availability.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace halflight::sim {

lightresponse::LightOptions light_options(Accuracy accuracy) {
  lightresponse::LightOptions options;
  switch (accuracy) {
    case Accuracy::draft:
      options = {1.0, 500, 256, 512, 4, 1e-3, 32, 1};
      break;
    case Accuracy::design:
      options = {0.7, 700, 512, 2048, 4, 3e-4, 64, 2};
      break;
    case Accuracy::proof:
      options = {0.4, 1600, 2048, 8192, 8, 1e-4, 128, 4};
      break;
  }
  return options;
}

double level_in(const domain::Scene* scene, const std::string& group, double otherwise) {
  if (scene == nullptr || group.empty()) return otherwise;
  for (const domain::SceneLevel& level : scene->levels)
    if (level.group == group) return level.level;
  return otherwise;
}

const domain::Luminaire& luminaire_of(const domain::Project& project,
                                      const lightresponse::ChannelColumn& column) {
  return project.designs[column.design].luminaires[column.luminaire];
}

const domain::LuminaireType& type_of(const domain::Project& project,
                                     const lightresponse::ChannelColumn& column) {
  // make_scene has made sure that the type exists.
  return *domain::find_by_id(project.luminaire_types, luminaire_of(project, column).type);
}

double light_loss(const domain::Project& project, const lightresponse::ChannelColumn& column) {
  const domain::LuminaireType& type = type_of(project, column);
  const domain::Space* space = domain::find_by_id(project.spaces, luminaire_of(project, column).space);
  photometry::LightLoss loss;
  loss.lamp_lumen_depreciation = type.lumen_depreciation;
  loss.lamp_survival = type.lamp_survival;
  loss.luminaire_dirt = type.dirt_depreciation;
  if (space != nullptr) loss.room_surface_dirt = space->surface_depreciation;
  return loss.factor();
}

double input_w(const domain::Project& project, const lightresponse::ChannelColumn& column) {
  return type_of(project, column).channels[column.channel].input_w;
}

namespace {

Vector3 facing_of(double clockwise_from_plan_north_deg) {
  const double a = clockwise_from_plan_north_deg * kRadPerDeg;
  return {std::sin(a), std::cos(a), 0.0};
}

lightresponse::PointSet task_points(const domain::TaskArea& task) {
  lightresponse::PointSet set;
  set.wants_daylight = true;
  const Vector3 facing =
      task.plane == domain::TaskArea::Plane::horizontal ? Vector3{0, 0, 1} : facing_of(task.facing_deg);
  // Points of calculation by EN 12464-1; a task area is its own border.
  for (const Point2 p : grid_points(task.plan, 0.0).points)
    set.points.push_back({{p.x, p.y, task.height_m}, facing, {}});
  return set;
}

/// Points beyond the room (a path ends in its door) belong to the next one.
lightresponse::PointSet egress_points(const domain::EgressPath& path, const Polygon& floor) {
  lightresponse::PointSet set;
  for (const Point2 p : domain::points_of(path))
    if (contains(floor, p)) set.points.push_back({{p.x, p.y, 0.0}, {0, 0, 1}, {}});
  return set;
}

lightresponse::PointSet sensor_point(const domain::Photosensor& sensor) {
  const double tilt = sensor.aim_tilt_deg * kRadPerDeg;
  const Vector3 sideways = facing_of(sensor.aim_deg);
  lightresponse::PointSet set;
  set.wants_daylight = true;
  set.light_at_hits = true;
  domain::AngularWeighting weighting;
  switch (sensor.response) {
    case domain::Photosensor::Response::cosine:
      break;
    case domain::Photosensor::Response::narrowed:
      weighting = {domain::AngularWeighting::Kind::narrowed, sensor.cutoff_deg};
      break;
    case domain::Photosensor::Response::shielded:
      weighting = {domain::AngularWeighting::Kind::shielded, sensor.cutoff_deg};
      break;
  }
  set.points.push_back({sensor.at, std::sin(tilt) * sideways + Vector3{0, 0, -std::cos(tilt)}, weighting});
  return set;
}

void make_cells(const domain::Project& project, const std::string& space, LitSpace& lit) {
  struct Membership {
    std::map<domain::Strategy, std::string> group;
  };
  // Channels by design and id.
  std::map<std::pair<std::size_t, std::string>, Membership> member;
  std::map<std::string, std::string> scene_names;
  for (std::size_t d = 0; d < project.designs.size(); ++d) {
    for (const domain::Group& group : project.designs[d].groups) {
      if (group.space != space) continue;
      if (group.strategy == domain::Strategy::scene) scene_names[group.id] = group.name;
      for (const std::string& entry : group.channels)
        for (const std::string& channel : domain::channels_of(project, project.designs[d], entry))
          member[{d, channel}].group[group.strategy] = group.id;
    }
  }
  const auto group_of = [&](const lightresponse::ChannelColumn& c, domain::Strategy strategy) -> std::string {
    const auto found = member.find({c.design, c.id});
    if (found == member.end()) return {};
    const auto group = found->second.group.find(strategy);
    return group == found->second.group.end() ? std::string() : group->second;
  };
  for (std::size_t i = 0; i < lit.scene.columns.size(); ++i) {
    const lightresponse::ChannelColumn& c = lit.scene.columns[i];
    ControlCell cell;
    cell.design = c.design;
    cell.scene_group = group_of(c, domain::Strategy::scene);
    cell.occupancy_group = group_of(c, domain::Strategy::occupancy);
    cell.daylight_group = group_of(c, domain::Strategy::daylight);
    cell.schedule_group = group_of(c, domain::Strategy::schedule);
    cell.demand_response_group = group_of(c, domain::Strategy::demand_response);
    cell.lights_egress = luminaire_of(project, c).emergency.lights_egress;
    const auto same = std::find_if(lit.cells.begin(), lit.cells.end(), [&](const ControlCell& other) {
      return other.design == cell.design && other.scene_group == cell.scene_group &&
             other.occupancy_group == cell.occupancy_group && other.daylight_group == cell.daylight_group &&
             other.schedule_group == cell.schedule_group &&
             other.demand_response_group == cell.demand_response_group;
    });
    if (same != lit.cells.end()) {
      same->columns.push_back(i);
      same->lights_egress = same->lights_egress || cell.lights_egress;
      continue;
    }
    cell.columns.push_back(i);
    const auto name = scene_names.find(cell.scene_group);
    cell.name = name == scene_names.end() ? "ungrouped" : name->second;
    lit.cells.push_back(std::move(cell));
  }
}

}  // namespace

Result<LitSpace> light_space(const StudyInputs& inputs, std::size_t space_index,
                             const daylight::Outside& outside, const lightresponse::LightOptions& options,
                             std::span<const Vector3> sun, const Context& context,
                             lightresponse::StageLog& log) {
  const domain::Project& project = inputs.project;
  const domain::Space& space = project.spaces[space_index];
  Result<lightresponse::SpaceScene> scene =
      lightresponse::make_scene(project, space_index, inputs.photometry_files, options);
  if (!scene) return tl::unexpected(scene.error());

  LitSpace lit(space_index, *std::move(scene));
  make_cells(project, space.id, lit);
  const lightresponse::SpaceLight light(lit.scene, outside, options, context, log);

  for (const domain::TaskArea& task : space.task_areas) lit.task_sets.push_back(task_points(task));
  for (const domain::EgressPath& path : space.egress_paths)
    lit.egress_sets.push_back(egress_points(path, space.floor));
  if (const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal)) {
    for (std::size_t i = 0; i < proposal->photosensors.size(); ++i) {
      if (proposal->photosensors[i].space != space.id) continue;
      lit.sensors.push_back(i);
      lit.sensor_sets.push_back(sensor_point(proposal->photosensors[i]));
    }
  }
  Diagnostics problems;
  const auto add_rows = [&](const std::vector<lightresponse::PointSet>& sets,
                            std::vector<lightresponse::PointRows>& rows) {
    for (const auto& set : sets) {
      Result<lightresponse::PointRows> made = light.rows(set);
      if (!made) {
        problems = made.error();
        return;
      }
      rows.push_back(*std::move(made));
    }
  };
  add_rows(lit.task_sets, lit.task_rows);
  add_rows(lit.egress_sets, lit.egress_rows);
  add_rows(lit.sensor_sets, lit.sensor_rows);

  // The field drawn on plan: at the height of the first horizontal task, else on the floor.
  lit.plan_height_m = 0.0;
  for (const domain::TaskArea& task : space.task_areas)
    if (task.plane == domain::TaskArea::Plane::horizontal) {
      lit.plan_height_m = task.height_m;
      break;
    }
  const Box2 box = bounds(space.floor);
  lit.plan_step_m = std::clamp(std::sqrt(area(space.floor)) / 18.0, 0.25, 0.8);
  const auto columns = static_cast<std::size_t>(std::ceil((box.high.x - box.low.x) / lit.plan_step_m));
  const auto rows = static_cast<std::size_t>(std::ceil((box.high.y - box.low.y) / lit.plan_step_m));
  for (std::size_t i = 0; i < columns * rows; ++i) {
    const Point2 p{box.low.x + (static_cast<double>(i % columns) + 0.5) * lit.plan_step_m,
                   box.low.y + (static_cast<double>(i / columns) + 0.5) * lit.plan_step_m};
    if (!contains(space.floor, p)) continue;
    lit.plan_set.points.push_back({{p.x, p.y, lit.plan_height_m}, {0, 0, 1}, {}});
    lit.plan_cells.push_back(i);
  }
  const auto rows_of = [&](const lightresponse::PointSet& set) {
    std::vector<lightresponse::PointRows> made;
    if (!set.points.empty()) add_rows({set}, made);
    return made.empty() ? lightresponse::PointRows{} : std::move(made.front());
  };
  lit.plan_rows = rows_of(lit.plan_set);
  for (const domain::TaskArea& task : space.task_areas) {
    lit.eyes.push_back(eye_points(task, lit.scene.enclosure));
    lit.eye_rows.push_back(rows_of(lit.eyes.back().set));
  }
  lit.walls = wall_points(lit.scene.enclosure);
  lit.wall_rows = rows_of(lit.walls.set);
  lit.ceiling = ceiling_points(lit.scene.enclosure);
  lit.ceiling_rows = rows_of(lit.ceiling.set);
  if (!problems.empty()) return tl::unexpected(std::move(problems));

  if (!lit.scene.window_groups.empty()) {
    lit.grid_set = availability_points(lit.scene.enclosure, lit.plan_height_m);
    Result<lightresponse::PointRows> grid = light.rows(lit.grid_set);
    if (!grid) return tl::unexpected(std::move(grid.error()));
    lit.grid_rows = *std::move(grid);
    lit.incident = light.incident();
    lit.sun_on_groups = light.sun_on_groups(sun);
    for (const auto& set : lit.task_sets) lit.task_sun.push_back(light.sunlit(set, sun));
    for (const auto& set : lit.sensor_sets) lit.sensor_sun.push_back(light.sunlit(set, sun));
  }
  lit.leak_share = light.leak_share();
  return lit;
}

}  // namespace halflight::sim
