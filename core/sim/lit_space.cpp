#include "sim/lit_space.hpp"

#include "base/units.hpp"
#include "daylight/glazing.hpp"
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
      options = {0.4, 1600, 512, 8192, 8, 1e-4, 128, 4};
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

double least_light(const domain::Project& project, const lightresponse::ChannelColumn& column) {
  const domain::Driver& driver =
      domain::driver_of(project, type_of(project, column).channels[column.channel].driver);
  return column.only_switched || !driver.dims ? 1.0 : driver.minimum_light;
}

double input_w(const domain::Project& project, const lightresponse::ChannelColumn& column) {
  return type_of(project, column).channels[column.channel].input_w;
}

namespace {

Vector3 facing_of(double clockwise_from_plan_north_deg) {
  const double a = clockwise_from_plan_north_deg * kRadPerDeg;
  return {std::sin(a), std::cos(a), 0.0};
}

}  // namespace

lightresponse::PointSet task_points(const domain::TaskArea& task) {
  lightresponse::PointSet set;
  set.wants_daylight = true;
  const Vector3 facing =
      task.plane == domain::TaskArea::Plane::horizontal ? Vector3{0, 0, 1} : facing_of(task.facing_deg);
  for (const Point2 p : grid_points(task.plan, 0.0).points)
    set.points.push_back({{p.x, p.y, task.height_m}, facing, {}});
  return set;
}

lightresponse::PointSet egress_points(const domain::EgressPath& path, const Polygon& floor) {
  lightresponse::PointSet set;
  for (const Point3 p : domain::points_of(path))
    if (contains(floor, {p.x, p.y})) set.points.push_back({p, {0, 0, 1}, {}});
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

std::vector<ControlCell> control_cells(const domain::Project& project, const std::string& space,
                                       const std::vector<lightresponse::ChannelColumn>& columns) {
  std::vector<ControlCell> cells;
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
  for (std::size_t i = 0; i < columns.size(); ++i) {
    const lightresponse::ChannelColumn& c = columns[i];
    ControlCell cell;
    cell.design = c.design;
    cell.scene_group = group_of(c, domain::Strategy::scene);
    cell.occupancy_group = group_of(c, domain::Strategy::occupancy);
    cell.daylight_group = group_of(c, domain::Strategy::daylight);
    cell.schedule_group = group_of(c, domain::Strategy::schedule);
    cell.demand_response_group = group_of(c, domain::Strategy::demand_response);
    cell.only_switched = c.only_switched;
    cell.lights_egress = luminaire_of(project, c).emergency.lights_egress;
    const domain::Luminaire& luminaire = luminaire_of(project, c);
    if (domain::plugs_in(project, luminaire) &&
        !domain::in_any_group(project.designs[c.design], luminaire.id))
      cell.lamp = luminaire.id;
    const auto same = std::find_if(cells.begin(), cells.end(), [&](const ControlCell& other) {
      return other.design == cell.design && other.scene_group == cell.scene_group &&
             other.occupancy_group == cell.occupancy_group && other.daylight_group == cell.daylight_group &&
             other.schedule_group == cell.schedule_group &&
             other.demand_response_group == cell.demand_response_group &&
             other.only_switched == cell.only_switched && other.lamp == cell.lamp;
    });
    if (same != cells.end()) {
      same->columns.push_back(i);
      same->lights_egress = same->lights_egress || cell.lights_egress;
      continue;
    }
    cell.columns.push_back(i);
    const auto name = scene_names.find(cell.scene_group);
    cell.name = name == scene_names.end() ? "ungrouped" : name->second;
    if (!cell.lamp.empty()) {
      const std::string& tag = luminaire_of(project, c).tag;
      cell.name = tag.empty() ? cell.lamp : tag;
    }
    cells.push_back(std::move(cell));
  }
  return cells;
}

Result<LitSpace> space_without_light(const StudyInputs& inputs, std::size_t space_index,
                                     const lightresponse::LightOptions& options) {
  const domain::Project& project = inputs.project;
  const domain::Space& space = project.spaces[space_index];
  Result<lightresponse::SpaceScene> scene =
      lightresponse::make_scene(project, space_index, inputs.photometry_files, options);
  if (!scene) return tl::unexpected(scene.error());

  LitSpace lit(space_index, *std::move(scene));
  lit.cells = control_cells(project, space.id, lit.scene.columns);
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
  // Plans and daylight availability: at the height of the first horizontal task, else on the floor.
  lit.plan_height_m = 0.0;
  for (const domain::TaskArea& task : space.task_areas)
    if (task.plane == domain::TaskArea::Plane::horizontal) {
      lit.plan_height_m = task.height_m;
      break;
    }
  if (lit.has_daylight()) lit.grid_set = availability_points(lit.scene.enclosure, lit.plan_height_m);
  return lit;
}

namespace {

/// Light on the far side of other spaces' panes. First reflections only cross: what a lender borrows itself
/// it does not pass on.
Result<std::vector<LentPane>> lent_panes(const domain::Project& project, const LitSpace& lit,
                                         const lightresponse::SpaceLight& light,
                                         std::span<const Vector3> sun) {
  const domain::Space& here = project.spaces[lit.index];
  std::vector<LentPane> lent;
  for (std::size_t b = 0; b < project.spaces.size(); ++b) {
    const domain::Space& borrower = project.spaces[b];
    const std::vector<domain::Opening> openings = domain::light_openings(borrower);
    for (std::size_t o = 0; o < openings.size(); ++o) {
      const domain::Opening& pane = openings[o];
      if (pane.kind != domain::Opening::Kind::inner_glazing || pane.borrows_from != here.id) continue;
      LentPane one{b, o, {}, {}, {}};
      one.set.wants_electric = false;
      one.set.wants_daylight = true;
      const Vector3 facing = lightresponse::outward_of_wall(borrower, pane.wall);
      for (const Point3 at : lightresponse::points_behind(borrower, pane, here))
        one.set.points.push_back({at, facing, {}});
      if (!one.set.points.empty() && !lit.scene.window_groups.empty()) {
        Result<lightresponse::PointRows> rows = light.rows(one.set);
        if (!rows) return tl::unexpected(std::move(rows.error()));
        one.rows = *std::move(rows);
        one.sun = light.sunlit(one.set, sun);
      }
      lent.push_back(std::move(one));
    }
  }
  return lent;
}

/// Rows of each set; errors as SpaceLight::rows.
Result<std::vector<lightresponse::PointRows>> rows_of(const lightresponse::SpaceLight& light,
                                                      const std::vector<lightresponse::PointSet>& sets) {
  std::vector<lightresponse::PointRows> all;
  for (const lightresponse::PointSet& set : sets) {
    Result<lightresponse::PointRows> rows = light.rows(set);
    if (!rows) return tl::unexpected(std::move(rows.error()));
    all.push_back(*std::move(rows));
  }
  return all;
}

/// The other ways in which movable partitions can stand, each lit anew: electric light only.
Result<std::vector<OtherArrangement>> light_arrangements(const StudyInputs& inputs, const LitSpace& lit,
                                                         const daylight::Outside& outside,
                                                         const lightresponse::LightOptions& options,
                                                         const Context& context,
                                                         lightresponse::StageLog& log) {
  std::vector<domain::Arrangement> arrangements = domain::arrangements_of(inputs.project.spaces[lit.index]);
  std::vector<lightresponse::PointSet> task_sets = lit.task_sets;
  for (lightresponse::PointSet& set : task_sets) set.wants_daylight = false;
  std::vector<OtherArrangement> others;
  for (std::size_t i = 1; i < arrangements.size(); ++i) {
    const Result<lightresponse::SpaceScene> scene = lightresponse::make_scene(
        inputs.project, lit.index, inputs.photometry_files, options, &arrangements[i]);
    if (!scene) return tl::unexpected(scene.error());
    const lightresponse::SpaceLight light(*scene, outside, options, context, log);
    Result<std::vector<lightresponse::PointRows>> tasks = rows_of(light, task_sets);
    if (!tasks) return tl::unexpected(std::move(tasks.error()));
    Result<std::vector<lightresponse::PointRows>> egress = rows_of(light, lit.egress_sets);
    if (!egress) return tl::unexpected(std::move(egress.error()));
    others.push_back({std::move(arrangements[i]), *std::move(tasks), *std::move(egress)});
  }
  return others;
}

}  // namespace

Result<LitSpace> light_space(const StudyInputs& inputs, std::size_t space_index,
                             const daylight::Outside& outside, const lightresponse::LightOptions& options,
                             std::span<const Vector3> sun, const Context& context,
                             lightresponse::StageLog& log) {
  Result<LitSpace> made = space_without_light(inputs, space_index, options);
  if (!made) return made;
  LitSpace& lit = *made;
  const domain::Space& space = inputs.project.spaces[space_index];
  const lightresponse::SpaceLight light(lit.scene, outside, options, context, log);
  Diagnostics problems;
  const auto keep = [&](auto result, auto& into) {
    if (result)
      into = *std::move(result);
    else
      problems = std::move(result.error());
  };
  keep(rows_of(light, lit.task_sets), lit.task_rows);
  if (problems.empty()) keep(rows_of(light, lit.egress_sets), lit.egress_rows);
  if (problems.empty()) keep(rows_of(light, lit.sensor_sets), lit.sensor_rows);

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
  const auto keep_rows = [&](const lightresponse::PointSet& set, lightresponse::PointRows& into) {
    if (problems.empty() && !set.points.empty()) keep(light.rows(set), into);
  };
  keep_rows(lit.plan_set, lit.plan_rows);
  for (const domain::TaskArea& task : space.task_areas) {
    lit.eyes.push_back(eye_points(task, lit.scene.enclosure));
    keep_rows(lit.eyes.back().set, lit.eye_rows.emplace_back());
  }
  lit.walls = wall_points(lit.scene.enclosure);
  keep_rows(lit.walls.set, lit.wall_rows);
  lit.ceiling = ceiling_points(lit.scene.enclosure);
  keep_rows(lit.ceiling.set, lit.ceiling_rows);

  if (!lit.scene.window_groups.empty() && problems.empty()) {
    keep(light.rows(lit.grid_set), lit.grid_rows);
    lit.incident = light.incident();
    lit.sun_on_groups = light.sun_on_groups(sun);
    for (const auto& set : lit.task_sets) lit.task_sun.push_back(light.sunlit(set, sun));
    for (const auto& set : lit.sensor_sets) lit.sensor_sun.push_back(light.sunlit(set, sun));
  }
  if (!lit.scene.panes.empty()) {
    const auto add_panes = [&](const std::vector<lightresponse::PointSet>& sets,
                               std::vector<lightresponse::PaneRows>& of_panes) {
      of_panes.resize(sets.size());
      for (std::size_t i = 0; i < sets.size() && problems.empty(); ++i)
        keep(light.pane_rows(sets[i]), of_panes[i]);
    };
    add_panes(lit.task_sets, lit.task_panes);
    add_panes(lit.sensor_sets, lit.sensor_panes);
    if (problems.empty()) keep(light.pane_rows(lit.grid_set), lit.grid_panes);
  }
  if (problems.empty())
    keep(light_arrangements(inputs, lit, outside, options, context, log), lit.other_arrangements);
  if (problems.empty()) keep(lent_panes(inputs.project, lit, light, sun), lit.lent);
  if (!problems.empty()) return tl::unexpected(std::move(problems));
  lit.leak_share = light.leak_share();
  return made;
}

Result<LitSpace> light_lender(const StudyInputs& inputs, std::size_t space_index,
                              const daylight::Outside& outside, const lightresponse::LightOptions& options,
                              std::span<const Vector3> sun, const Context& context,
                              lightresponse::StageLog& log) {
  Result<LitSpace> made = space_without_light(inputs, space_index, options);
  if (!made) return made;
  LitSpace& lit = *made;
  const lightresponse::SpaceLight light(lit.scene, outside, options, context, log);
  if (!lit.scene.window_groups.empty()) {
    lit.incident = light.incident();
    lit.sun_on_groups = light.sun_on_groups(sun);
    // By the sun on their tasks people there draw their shades.
    for (const auto& set : lit.task_sets) lit.task_sun.push_back(light.sunlit(set, sun));
  }
  Result<std::vector<LentPane>> lent = lent_panes(inputs.project, lit, light, sun);
  if (!lent) return tl::unexpected(std::move(lent.error()));
  lit.lent = *std::move(lent);
  return made;
}

void connect_panes(const domain::Project& project, std::span<LitSpace> spaces) {
  for (LitSpace& lit : spaces) {
    lit.panes.clear();
    for (const lightresponse::InnerPane& pane : lit.scene.panes) {
      BorrowedPane borrowed;
      for (const LitSpace& other : spaces) {
        if (other.index != pane.lender) continue;
        borrowed.lender = &other;
        for (const LentPane& lent : other.lent)
          if (lent.borrower == lit.index && lent.opening == pane.opening) borrowed.lent = &lent;
      }
      // Nobody draws a shade between two rooms for the sun: it stands open, unless it always hangs.
      const domain::Shade* shade =
          pane.glass.shade < 0 ? nullptr : &project.shades[static_cast<std::size_t>(pane.glass.shade)];
      if (shade != nullptr && shade->operation != domain::Shade::Operation::fixed_closed) shade = nullptr;
      const daylight::Passage passage =
          daylight::OpeningLaw(project.glazings[pane.glass.glazing], pane.glass.frame_fraction, shade,
                               pane.glass.outward)
              .from_all_around();
      borrowed.descending_per_lx = passage.straight / kPi + passage.descending_per_sr;
      borrowed.rising_per_lx = passage.straight / kPi + passage.rising_per_sr;
      lit.panes.push_back(borrowed);
    }
  }
}

}  // namespace halflight::sim
