#include "choose/room_scenes.hpp"

#include "codes/check.hpp"
#include "domain/names.hpp"
#include "sim/electric_states.hpp"
#include "sim/scene_targets.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using Kind = SceneDemand::Kind;
using Rows = std::vector<lightresponse::PointRows>;

std::vector<const domain::Group*> scene_groups(const sim::SpaceModel& model) {
  std::vector<const domain::Group*> groups;
  const domain::Design& design =
      model.project->designs[sim::design_index(model, domain::Design::Role::proposal)];
  for (const domain::Group& group : design.groups)
    if (group.space == model.space->id && group.strategy == domain::Strategy::scene) groups.push_back(&group);
  return groups;
}

/// A room's light with movable partitions as they stand in a scene.
struct RoomLight {
  const Rows* tasks = nullptr;
  const Rows* ways = nullptr;
};
RoomLight light_of(const SceneInRoom& room) {
  const sim::LitSpace& lit = *room.model->lit;
  const domain::Space& space = *room.model->space;
  const bool alone = lit.other_arrangements.empty();
  if (alone || domain::suits(*room.scene, space, domain::arrangements_of(space).front()))
    return {&lit.task_rows, &lit.egress_rows};
  for (const sim::OtherArrangement& other : lit.other_arrangements)
    if (domain::suits(*room.scene, space, other.arrangement)) return {&other.task_rows, &other.egress_rows};
  return {&lit.task_rows, &lit.egress_rows};
}

/// Levels of a room's columns, of full output, that scene levels of its groups come to. Task lamps are off:
/// nobody need have switched them on.
sim::ColumnLevels columns_at(const SceneInRoom& room, std::span<const domain::Group* const> groups,
                             std::span<const double> level, double ungrouped) {
  const double trim = sim::trim_in_force(*room.model);
  return sim::levels(*room.model, [&](const sim::ControlCell& cell) {
    if (!cell.lamp.empty()) return 0.0;
    const auto group = std::find_if(groups.begin(), groups.end(), [&](const domain::Group* known) {
      return known->id == cell.scene_group;
    });
    const double asked =
        group == groups.end() ? ungrouped : level[static_cast<std::size_t>(group - groups.begin())];
    if (cell.only_switched) return asked > 0.0 ? 1.0 : 0.0;
    return trim * asked;
  });
}

/// The lowest level of a group while it is on, of trimmed output: 1 where any of its channels only switches.
double least_level(const SceneInRoom& room, const std::string& group) {
  const sim::SpaceModel& model = *room.model;
  const double trim = sim::trim_in_force(model);
  const std::size_t proposal = sim::design_index(model, domain::Design::Role::proposal);
  double least = 0.0;
  for (const sim::ControlCell& cell : model.lit->cells)
    if (cell.design == proposal && cell.scene_group == group)
      for (const std::size_t column : cell.columns)
        least = std::max(least, sim::least_light(*model.project, model.lit->scene.columns[column]));
  return std::min(1.0, least / trim);
}

/// Whether two groups have luminaires of one type next to one another.
bool are_side_by_side(const sim::SpaceModel& model, const domain::Group& a, const domain::Group& b) {
  const domain::Design& design =
      model.project->designs[sim::design_index(model, domain::Design::Role::proposal)];
  const auto luminaires_of = [&](const domain::Group& group) {
    std::vector<const domain::Luminaire*> luminaires;
    for (const std::string& entry : group.channels)
      if (const auto* one = domain::find_by_id(design.luminaires, entry.substr(0, entry.find('/'))))
        luminaires.push_back(one);
    return luminaires;
  };
  const std::vector<const domain::Luminaire*> of_a = luminaires_of(a);
  const std::vector<const domain::Luminaire*> of_b = luminaires_of(b);
  const auto apart_m = [](const domain::Luminaire& x, const domain::Luminaire& y) {
    return std::hypot(x.at.x - y.at.x, x.at.y - y.at.y);
  };
  constexpr double kToSpare = 1.1;
  for (const domain::Luminaire* x : of_a)
    for (const domain::Luminaire* y : of_b) {
      if (x == y || x->type != y->type) continue;
      double nearest_m = std::numeric_limits<double>::infinity();
      for (const domain::Luminaire& other : design.luminaires)
        if (&other != x && other.space == x->space && other.type == x->type)
          nearest_m = std::min(nearest_m, apart_m(*x, other));
      if (apart_m(*x, *y) <= std::max(kSideBySide_m, kToSpare * nearest_m)) return true;
    }
  return false;
}

class Builder {
 public:
  Builder(std::span<const SceneInRoom> rooms, const std::vector<domain::CodeRule>& rules,
          const SceneLook& look)
      : rooms_(rooms), rules_(rules) {
    for (const SceneInRoom& room : rooms) groups_.push_back(scene_groups(*room.model));
    problem_.states = {"night", "day"};
    for (std::size_t g = 0; g < groups_.front().size(); ++g) add_group(g);
    for (std::size_t r = 0; r < rooms.size(); ++r) {
      add_targets(r);
      if (!demands_.empty()) add_ways(r);
    }
    if (look.largest_step && !demands_.empty()) add_steps(*look.largest_step);
  }

  [[nodiscard]] const SceneProblem& problem() const { return problem_; }
  [[nodiscard]] std::vector<RoomDemand> demands() && { return std::move(demands_); }
  [[nodiscard]] const std::vector<const domain::Group*>& groups() const { return groups_.front(); }

  [[nodiscard]] double power_w(std::span<const double> level) const {
    double sum_w = 0.0;
    for (std::size_t r = 0; r < rooms_.size(); ++r)
      sum_w += sim::power_w(*rooms_[r].model, columns_at(rooms_[r], groups_[r], level, 1.0));
    return sum_w;
  }

 private:
  void add_group(std::size_t g) {
    SceneGroup group;
    group.id = groups_.front()[g]->id;
    const std::vector<double> alone = one_hot(g);
    for (std::size_t r = 0; r < rooms_.size(); ++r) {
      group.full_w += sim::power_w(*rooms_[r].model, columns_at(rooms_[r], groups_[r], alone, 0.0)) -
                      sim::power_w(*rooms_[r].model, columns_at(rooms_[r], groups_[r], dark(), 0.0));
      group.least_level = std::max(group.least_level, least_level(rooms_[r], groups_[r][g]->id));
    }
    problem_.groups.push_back(group);
  }

  void add_targets(std::size_t r) {
    const SceneInRoom& room = rooms_[r];
    const domain::Space& space = *room.model->space;
    for (const domain::SceneTarget& target : room.scene->targets)
      for (std::size_t t = 0; t < space.task_areas.size(); ++t) {
        const domain::TaskArea& task = space.task_areas[t];
        if (task.id != target.task_area) continue;
        const std::span<const double> beside = sim::daylight_beside(*room.model, room.scene->id);
        const double day_lx = t < beside.size() ? beside[t] : 0.0;
        const std::string area = add_area(r, "task", task.id, (*light_of(room).tasks)[t], day_lx);
        const std::string on = named_in(r, domain::named(task.name, task.id));
        if (target.least_lx) add(Kind::mean_at_least, area, on, *target.least_lx);
        if (target.most_lx) add(Kind::mean_at_most, area, on, *target.most_lx, 0.0, day_lx);
        if (target.uniformity) add(Kind::uniformity, area, on, *target.uniformity);
        // A screen without that contrast in the dark bears no light at all.
        if (target.contrast && task.screen)
          add(Kind::mean_at_most, area, on,
              std::max(0.0, sim::most_on_screen_lx(*task.screen, *target.contrast)), *target.contrast,
              day_lx);
      }
  }

  void add_ways(std::size_t r) {
    const SceneInRoom& room = rooms_[r];
    for (std::size_t p = 0; p < room.model->space->egress_paths.size(); ++p) {
      const domain::EgressPath& path = room.model->space->egress_paths[p];
      codes::EgressLight light;
      light.state = codes::state_class_of("scene " + room.scene->name);
      light.surface = path.surface;
      const double limit_lx = codes::judge_egress(light, rules_).limit_lx;
      if (limit_lx > 0.0)
        add(Kind::point_at_least, add_area(r, "way", path.id, (*light_of(room).ways)[p], 0.0),
            named_in(r, "way out " + path.id), limit_lx);
    }
  }

  /// Rooms alike have their groups side by side alike: those of the first count.
  void add_steps(double largest) {
    const std::vector<const domain::Group*>& groups = groups_.front();
    for (std::size_t a = 0; a < groups.size(); ++a)
      for (std::size_t b = a + 1; b < groups.size(); ++b) {
        if (!are_side_by_side(*rooms_.front().model, *groups[a], *groups[b])) continue;
        problem_.demands.push_back({Kind::level_spread, largest, "", {groups[a]->id, groups[b]->id}});
        demands_.push_back({Kind::level_spread,
                            domain::named(groups[a]->name, groups[a]->id) + " and " +
                                domain::named(groups[b]->name, groups[b]->id),
                            largest});
      }
  }

  std::string add_area(std::size_t r, const char* what, const std::string& id,
                       const lightresponse::PointRows& rows, double day_lx) {
    SceneArea area;
    area.id = fmt::format("{} {} of {}", what, id, rooms_[r].model->space->id);
    const std::vector<double> given = at_points(r, rows, dark(), 1.0);
    area.given_lx = {given, given};
    for (double& lx : area.given_lx.back()) lx += day_lx;
    area.light_lx.assign(rows.points, std::vector<double>(groups_[r].size()));
    for (std::size_t g = 0; g < groups_[r].size(); ++g) {
      const std::vector<double> lx = at_points(r, rows, one_hot(g), 0.0);
      for (std::size_t p = 0; p < rows.points; ++p) area.light_lx[p][g] = lx[p];
    }
    problem_.areas.push_back(std::move(area));
    return problem_.areas.back().id;
  }

  [[nodiscard]] std::vector<double> at_points(std::size_t r, const lightresponse::PointRows& rows,
                                              std::span<const double> level, double ungrouped) const {
    const std::vector<double> weight =
        sim::light_weights(*rooms_[r].model, columns_at(rooms_[r], groups_[r], level, ungrouped), true);
    std::vector<double> lx(rows.points);
    for (std::size_t p = 0; p < rows.points; ++p) lx[p] = sim::lx_at(rows, p, weight);
    return lx;
  }

  void add(Kind kind, const std::string& area, const std::string& on, double asked, double contrast = 0.0,
           double daylight_lx = 0.0) {
    problem_.demands.push_back({kind, asked, area, {}});
    demands_.push_back({kind, on, asked, contrast, daylight_lx});
  }

  [[nodiscard]] std::string named_in(std::size_t r, const std::string& name) const {
    return rooms_.size() == 1 ? name : rooms_[r].model->space->number + " " + name;
  }
  [[nodiscard]] std::vector<double> dark() const { return std::vector<double>(groups_.front().size(), 0.0); }
  [[nodiscard]] std::vector<double> one_hot(std::size_t g) const {
    std::vector<double> level = dark();
    level[g] = 1.0;
    return level;
  }

  std::span<const SceneInRoom> rooms_;
  const std::vector<domain::CodeRule>& rules_;
  std::vector<std::vector<const domain::Group*>> groups_;  // by room
  SceneProblem problem_;
  std::vector<RoomDemand> demands_;
};

}  // namespace

std::string figure_in_words(const RoomDemand& demand, double figure) {
  switch (demand.kind) {
    case Kind::uniformity:
      return fmt::format("{:.2f}", figure);
    case Kind::level_spread:
    case Kind::level_at_least:
      return fmt::format("{:.0f} %", 100.0 * figure);
    default:
      return fmt::format("{:.0f} lx", figure);
  }
}

std::string in_words(const RoomDemand& demand) {
  const std::string asked = figure_in_words(demand, demand.asked);
  switch (demand.kind) {
    case Kind::mean_at_least:
      return fmt::format("{} at least {} in the mean", demand.on, asked);
    case Kind::mean_at_most: {
      std::string words = fmt::format("{} at most {} in the mean", demand.on, asked);
      if (demand.contrast > 0.0) words += fmt::format(", for a contrast of {:.0f}", demand.contrast);
      if (demand.daylight_lx > 0.0) words += fmt::format(", with {:.0f} lx of daylight", demand.daylight_lx);
      return words;
    }
    case Kind::point_at_least:
      return fmt::format("{} at least {} everywhere", demand.on, asked);
    case Kind::point_at_most:
      return fmt::format("{} at most {} anywhere", demand.on, asked);
    case Kind::uniformity:
      return fmt::format("{} uniformity at least {}", demand.on, asked);
    case Kind::level_spread:
      return demand.asked > 0.0 ? fmt::format("{} at most {} apart", demand.on, asked)
                                : fmt::format("{} at one level", demand.on);
    case Kind::level_at_least:
      return demand.on;
  }
  return demand.on;
}

Result<RoomScene> propose_scene(std::span<const SceneInRoom> rooms,
                                const std::vector<domain::CodeRule>& rules, const SceneLook& look) {
  Builder builder(rooms, rules, look);
  const SceneProblem& problem = builder.problem();
  if (problem.demands.empty())
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "", rooms.front().scene->id,
                     "the scene does not say what it is for", "give it \"targets\" on task areas"}});
  Result<std::variant<SceneLevels, SceneConflict>> found = scene_levels(problem);
  if (!found) return tl::unexpected(found.error());

  RoomScene scene;
  const domain::Scene* normal = sim::normal_scene(*rooms.front().model);
  for (const domain::Group* group : builder.groups()) {
    scene.groups.push_back(group->id);
    scene.group_names.push_back(domain::named(group->name, group->id));
    scene.now.push_back(sim::level_in(rooms.front().scene, group->id, sim::level_in(normal, group->id, 1.0)));
  }
  scene.now_w = builder.power_w(scene.now);
  if (const auto* levels = std::get_if<SceneLevels>(&*found))
    scene.proposed_w = builder.power_w(levels->level);
  std::vector<double> now;
  for (std::size_t d = 0; d < problem.demands.size(); ++d)
    now.push_back(reached_at(problem, d, scene.now).reached);
  scene.demands = std::move(builder).demands();
  for (std::size_t d = 0; d < now.size(); ++d) scene.demands[d].now = now[d];
  scene.found = *std::move(found);
  return scene;
}

}  // namespace halflight::choose
