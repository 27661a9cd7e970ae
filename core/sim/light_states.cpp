#include "sim/light_states.hpp"

#include "codes/check.hpp"
#include "controls/arbitration.hpp"
#include "sim/electric_states.hpp"
#include "sim/shed_signal.hpp"
#include "sim/uncertainty.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using domain::Design;

const Design* proposal_of(const SpaceModel& model) {
  return domain::find_design(*model.project, Design::Role::proposal);
}

struct Spread {
  double mean = 0.0;
  double min = 0.0;
  double max = 0.0;
  double error = 0.0;
  double input_spread = 0.0;
};

/// One standard deviation of the mean by what is not known of the room. Reflected light answers to
/// reflectances, all light to photometry and, where maintained, to light loss.
double input_spread_lx(const SpaceModel& model, double mean_lx, double reflected_lx, bool maintained) {
  const double surfaces =
      reflected_lx *
      (reflected_factor(*model.lit, reflectance_spread(model.space->reflectance_source)) - 1.0);
  const double loss = maintained ? kLightLossSpread * mean_lx : 0.0;
  return std::hypot(surfaces, kPhotometrySpread * mean_lx, loss);
}

Spread light_on(const SpaceModel& model, const lightresponse::PointRows& rows, const ColumnLevels& level,
                bool maintained) {
  const std::vector<double> weight = light_weights(model, level, maintained);
  Spread spread;
  spread.error = lightresponse::numerical_error_lx(rows, weight);
  for (std::size_t p = 0; p < rows.points; ++p) {
    const double lx = lx_at(rows, p, weight);
    spread.mean += lx / static_cast<double>(rows.points);
    spread.min = p == 0 ? lx : std::min(spread.min, lx);
    spread.max = p == 0 ? lx : std::max(spread.max, lx);
  }
  double reflected = 0.0;
  for (std::size_t c = 0; c < weight.size(); ++c) reflected += weight[c] * rows.reflected_mean(c);
  spread.input_spread = input_spread_lx(model, spread.mean, reflected, maintained);
  return spread;
}

/// One way in which movable partitions stand, with its light.
struct Standing {
  std::string suffix;  ///< to the name of a state; empty for the first states
  const std::vector<lightresponse::PointRows>* task_rows = nullptr;
  const std::vector<lightresponse::PointRows>* egress_rows = nullptr;
  std::vector<const domain::Scene*> scenes;  ///< those meant for it

  /// Whether a state stands in it: one without a scene always does.
  [[nodiscard]] bool shows(const domain::Scene* scene) const {
    return scene == nullptr || std::find(scenes.begin(), scenes.end(), scene) != scenes.end();
  }
};

std::vector<Standing> standings_of(const SpaceModel& model) {
  const LitSpace& lit = *model.lit;
  const domain::Space& space = *model.space;
  const bool alone = lit.other_arrangements.empty();
  const domain::Arrangement first = domain::arrangements_of(space).front();
  std::vector<Standing> all;
  all.push_back({"", &lit.task_rows, &lit.egress_rows, {}});
  for (const OtherArrangement& other : lit.other_arrangements)
    all.push_back({", " + other.arrangement.name, &other.task_rows, &other.egress_rows, {}});
  for (const domain::Scene* scene : scenes_of(model))
    for (std::size_t i = 0; i < all.size(); ++i)
      if (alone || domain::suits(*scene, space, i == 0 ? first : lit.other_arrangements[i - 1].arrangement))
        all[i].scenes.push_back(scene);
  return all;
}

std::string plane_text(const domain::TaskArea& task) {
  return task.plane == domain::TaskArea::Plane::horizontal
             ? fmt::format("horizontal {:.2f} m", task.height_m)
             : fmt::format("vertical {:.2f} m facing {:.0f} deg", task.height_m, task.facing_deg);
}

results::TaskAreaLight on_task(const SpaceModel& model, const Standing& standing, std::size_t t,
                               const std::string& state, const ColumnLevels& level, bool maintained) {
  const domain::TaskArea& task = model.space->task_areas[t];
  const Spread spread = light_on(model, (*standing.task_rows)[t], level, maintained);
  results::TaskAreaLight light;
  light.id = task.id;
  light.state = state + standing.suffix;
  light.plane = plane_text(task);
  light.mean_lx = spread.mean;
  light.min_lx = spread.min;
  light.max_lx = spread.max;
  light.uniformity = spread.mean > 0.0 ? spread.min / spread.mean : 0.0;
  light.error_lx = spread.error;
  light.input_spread_lx = spread.input_spread;
  light.target_lx = task.target_lx;
  return light;
}

}  // namespace

std::vector<results::GroupLight> electric_light(const SpaceModel& model) {
  std::vector<results::GroupLight> out;
  const std::vector<ElectricState> states = electric_states(model);
  const std::vector<Standing> standings = standings_of(model);
  for (const Standing& standing : standings) {
    // New and maintained stand side by side: they draw the same power.
    const auto add = [&](std::span<const ElectricState> together) {
      results::GroupLight light{"all", power_w(model, together.front().level), {}};
      for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t)
        for (const ElectricState& state : together)
          light.task_areas.push_back(on_task(model, standing, t, state.name, state.level, state.maintained));
      out.push_back(std::move(light));
    };
    add(std::span(states).first(2));
    for (std::size_t i = 2; i < states.size(); ++i)
      if (standing.shows(states[i].scene)) add(std::span(states).subspan(i, 1));
  }
  if (const Design* design = proposal_of(model)) {
    for (const domain::Group& group : design->groups) {
      if (group.space != model.space->id || group.strategy != domain::Strategy::scene) continue;
      const ColumnLevels level =
          levels(model, [&](const ControlCell& cell) { return cell.scene_group == group.id ? 1.0 : 0.0; });
      results::GroupLight light{group.id, power_w(model, level), {}};
      for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t)
        light.task_areas.push_back(on_task(model, standings.front(), t, "maintained", level, true));
      out.push_back(std::move(light));
    }
  }
  return out;
}

std::vector<results::SceneState> scene_states(const SpaceModel& model) {
  std::vector<results::SceneState> out;
  const Design* design = proposal_of(model);
  if (design == nullptr) return out;
  const double trim = trim_in_force(model);
  const domain::Scene* normal = normal_scene(model);
  for (const domain::Scene* scene : scenes_of(model)) {
    results::SceneState state;
    state.name = scene->name;
    for (const domain::Group& group : design->groups)
      if (group.space == model.space->id && group.strategy == domain::Strategy::scene)
        state.levels.emplace_back(group.name, level_in(scene, group.id, level_in(normal, group.id, 1.0)));
    state.power_w =
        power_w(model, levels(model, [&](const ControlCell& cell) {
                  return high_end_of(cell, trim) *
                         level_in(scene, cell.scene_group, level_in(normal, cell.scene_group, 1.0));
                }));
    out.push_back(std::move(state));
  }
  return out;
}

std::vector<results::EgressState> egress_light(const SpaceModel& model,
                                               const std::vector<domain::CodeRule>& rules,
                                               bool serves_other_rooms) {
  std::vector<results::EgressState> out;
  const domain::Sequence& sequence = model.proposal.sequence;
  const double trim = trim_in_force(model);
  const domain::Scene* normal = normal_scene(model);

  // What stands when `manual` (a scene, or none) is called; through the same arbitration as everything else.
  struct State {
    std::string name;
    ColumnLevels level;
    const domain::Scene* scene = nullptr;  // where it is one
  };
  std::vector<State> states;
  const auto arbitrated = [&](const domain::Scene* scene, auto refine) {
    return levels(model, [&](const ControlCell& cell) {
      // Nobody need have switched a task lamp on.
      if (!cell.lamp.empty()) return 0.0;
      controls::ArbitrationInputs inputs;
      inputs.standing = level_in(normal, cell.scene_group, 1.0);
      if (scene != nullptr) inputs.manual = level_in(scene, cell.scene_group, inputs.standing);
      inputs.trim_high = trim;
      inputs.trim_low = sequence.trim ? sequence.trim->low : 0.0;
      refine(cell, inputs);
      return controls::arbitrate(inputs).of_full;
    });
  };
  const auto nothing = [](const ControlCell&, controls::ArbitrationInputs&) {};
  states.push_back({"normal scene", arbitrated(nullptr, nothing)});
  for (const domain::Scene* scene : scenes_of(model))
    states.push_back({"scene " + scene->name, arbitrated(scene, nothing), scene});
  const bool may_go_vacant = sequence.vacancy && !model.space->automatic_off_refused;
  if (may_go_vacant) {
    const auto vacant = [&](double level) {
      return arbitrated(nullptr, [&, level](const ControlCell& cell, controls::ArbitrationInputs& inputs) {
        if (names_group(sequence.vacancy->groups, cell.occupancy_group)) inputs.vacant = level;
      });
    };
    states.push_back({"vacant", vacant(sequence.vacancy->step_level)});
    if (sequence.vacancy->step_level > 0.0 && sequence.vacancy->off_after_s >= 0.0)
      states.push_back({"vacant, later", vacant(0.0)});
    if (sequence.on.by == domain::OnRule::By::occupancy && sequence.on.level < 1.0)
      states.push_back({"partly on by motion", arbitrated(nullptr, [&](const ControlCell&, auto& inputs) {
                          inputs.standing *= sequence.on.level;
                        })});
  }
  if (sequence.schedule && sequence.schedule->sweeps_off && !model.space->automatic_off_refused)
    // Whoever is still about after closing walks in what the sweep leaves.
    states.push_back(
        {"vacant, swept after closing", arbitrated(nullptr, [&](const ControlCell& cell, auto& inputs) {
           const auto& swept = sequence.schedule->groups;
           if (swept.empty() || std::find(swept.begin(), swept.end(), cell.schedule_group) != swept.end())
             inputs.standing = 0.0;
           else if (may_go_vacant)
             inputs.vacant = sequence.vacancy->step_level;
         })});
  if (sequence.demand_response)
    states.push_back({"demand response", arbitrated(nullptr, [&](const ControlCell&, auto& inputs) {
                        inputs.demand_response_cap = sequence.demand_response->cap;
                      })});
  if (sequence.load_shed) {
    const auto shed = [&](const ControlCell& cell, controls::ArbitrationInputs& inputs) {
      if (sheds(*sequence.load_shed, cell)) inputs.load_shed_level = sequence.load_shed->level;
    };
    states.push_back({kLoadShedState, arbitrated(nullptr, shed)});
    for (const domain::Scene* scene : scenes_of(model))
      states.push_back(
          {fmt::format("{}, scene {}", kLoadShedState, scene->name), arbitrated(scene, shed), scene});
  }
  if (!sequence.daylight.empty())
    states.push_back({"dimmed by daylight", arbitrated(nullptr, [&](const ControlCell& cell, auto& inputs) {
                        for (const domain::DaylightRule& rule : sequence.daylight)
                          if (rule.group == cell.daylight_group && !cell.daylight_group.empty())
                            inputs.daylight_of_full = rule.may_switch_off ? 0.0 : rule.minimum_level;
                      })});
  using domain::Trouble;
  for (const auto& [name, lost] :
       {std::pair{"sensor lost", Trouble::sensor_lost},
        std::pair{"controller lost", Trouble::controller_lost},
        std::pair{"network lost", Trouble::network_lost}, std::pair{"clock lost", Trouble::clock_lost},
        std::pair{"power back", Trouble::power_return}})
    states.push_back({name, arbitrated(nullptr, [&, trouble = lost](const ControlCell& cell, auto& inputs) {
                        inputs.standing = domain::level_in(sequence.loss, trouble, cell.scene_group);
                      })});
  ColumnLevels emergency(model.lit->scene.columns.size(), 0.0);
  for (std::size_t c = 0; c < emergency.size(); ++c) {
    const lightresponse::ChannelColumn& column = model.lit->scene.columns[c];
    if (column.design != design_index(model, Design::Role::proposal)) continue;
    const domain::Emergency& e = luminaire_of(*model.project, column).emergency;
    if (e.type != domain::EmergencyType::none && e.lights_egress) emergency[c] = e.output_fraction;
  }
  states.push_back({"normal power lost", emergency});

  const std::vector<Standing> standings = standings_of(model);
  for (std::size_t p = 0; p < model.lit->egress_rows.size(); ++p) {
    for (const Standing& standing : standings) {
      for (const State& state : states) {
        if (!standing.shows(state.scene)) continue;
        const Spread spread = light_on(model, (*standing.egress_rows)[p], state.level, true);
        codes::EgressLight light;
        light.min_lx = spread.min;
        light.mean_lx = spread.mean;
        light.max_lx = spread.max;
        light.state = codes::state_class_of(state.name);
        light.surface = model.space->egress_paths[p].surface;
        light.serves_other_rooms = serves_other_rooms;
        const codes::EgressVerdict verdict = codes::judge_egress(light, rules);
        out.push_back({model.space->egress_paths[p].id, state.name + standing.suffix, spread.min, spread.mean,
                       verdict.limit_lx, verdict.holds, verdict.why});
      }
    }
  }
  return out;
}

results::PlanGrid plan_grid(const SpaceModel& model) {
  const double trim = trim_in_force(model);
  const domain::Scene* normal = normal_scene(model);
  const ColumnLevels level = levels(model, [&](const ControlCell& cell) {
    return high_end_of(cell, trim) * level_in(normal, cell.scene_group, 1.0);
  });
  const lightresponse::PointRows& rows = model.lit->plan_rows;
  const std::vector<double> weight = light_weights(model, level, true);
  std::vector<float> lx(rows.points);
  for (std::size_t p = 0; p < rows.points; ++p) lx[p] = static_cast<float>(lx_at(rows, p, weight));
  results::PlanGrid grid = plan_grid_of(*model.lit, model.space->floor, lx);
  grid.quantity =
      fmt::format("maintained illuminance at trim, {:.2f} m above the floor", model.lit->plan_height_m);
  return grid;
}

results::PlanGrid plan_grid_of(const LitSpace& lit, const Polygon& floor, std::span<const float> lx) {
  results::PlanGrid grid;
  const Box2 box = bounds(floor);
  grid.step_m = lit.plan_step_m;
  grid.columns = static_cast<int>(std::ceil((box.high.x - box.low.x) / grid.step_m));
  grid.rows = static_cast<int>(std::ceil((box.high.y - box.low.y) / grid.step_m));
  grid.x0_m = box.low.x + 0.5 * grid.step_m;
  grid.y0_m = box.low.y + 0.5 * grid.step_m;
  grid.values_lx.assign(static_cast<std::size_t>(grid.columns) * static_cast<std::size_t>(grid.rows), -1.0F);
  for (std::size_t p = 0; p < lx.size(); ++p) grid.values_lx[lit.plan_cells[p]] = lx[p];
  return grid;
}

std::vector<results::PointValues> point_values(const SpaceModel& model) {
  const std::vector<ElectricState> states = first_electric_states(model);
  std::vector<results::PointValues> out;
  const auto add = [&](const std::string& area, const lightresponse::PointSet& set,
                       const lightresponse::PointRows& rows) {
    results::PointValues values;
    values.area = area;
    for (const domain::ObservationPoint& point : set.points) values.at.push_back(point.at);
    if (!set.points.empty()) values.facing = set.points.front().facing;
    for (const ElectricState& state : states) {
      const std::vector<double> weight = light_weights(model, state.level, state.maintained);
      results::PointValues::State one{state.name, {}};
      for (std::size_t p = 0; p < rows.points; ++p)
        one.lx.push_back(static_cast<float>(lx_at(rows, p, weight)));
      values.states.push_back(std::move(one));
    }
    out.push_back(std::move(values));
  };
  for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t)
    add(model.space->task_areas[t].id, model.lit->task_sets[t], model.lit->task_rows[t]);
  add("plan", model.lit->plan_set, model.lit->plan_rows);
  return out;
}

}  // namespace halflight::sim
