#include "sim/electric_states.hpp"

#include "energy/power_curve.hpp"

namespace halflight::sim {

namespace {

const domain::Channel& channel_of(const domain::Project& project,
                                  const lightresponse::ChannelColumn& column) {
  return type_of(project, column).channels[column.channel];
}

}  // namespace

std::vector<double> light_weights(const SpaceModel& model, const ColumnLevels& level, bool maintained) {
  return light_weights(*model.project, model.lit->scene.columns, level, maintained);
}

std::vector<double> light_weights(const domain::Project& project,
                                  std::span<const lightresponse::ChannelColumn> columns,
                                  const ColumnLevels& level, bool maintained) {
  std::vector<double> weight(level.size(), 0.0);
  for (std::size_t c = 0; c < level.size(); ++c) {
    if (level[c] <= 0.0) continue;
    // What drivers and relays make of the level asked for: a floor while on, and all or nothing where nothing
    // dims.
    weight[c] = light_given(least_light(project, columns[c]), level[c]) *
                (maintained ? light_loss(project, columns[c]) : 1.0);
  }
  return weight;
}

double mean_lx(const lightresponse::PointRows& rows, const std::vector<double>& weight, double reflected) {
  double sum = 0.0;
  for (std::size_t p = 0; p < rows.points; ++p) sum += lx_at(rows, p, weight, reflected);
  return rows.points == 0 ? 0.0 : sum / static_cast<double>(rows.points);
}

double power_w(const SpaceModel& model, const ColumnLevels& level) {
  return power_w(*model.project, model.lit->scene.columns, level);
}

double power_w(const domain::Project& project, std::span<const lightresponse::ChannelColumn> columns,
               const ColumnLevels& level) {
  double sum = 0.0;
  for (std::size_t c = 0; c < level.size(); ++c) {
    if (level[c] <= 0.0) continue;
    const domain::Channel& channel = channel_of(project, columns[c]);
    const domain::Driver& driver = domain::driver_of(project, channel.driver);
    const double light = light_given(least_light(project, columns[c]), level[c]);
    sum += channel.input_w * energy::power_fraction(driver, LightFraction(light)).value();
  }
  return sum;
}

double connected_w(const SpaceModel& model, domain::Design::Role role) {
  const std::size_t design = design_index(model, role);
  double sum = 0.0;
  for (const lightresponse::ChannelColumn& column : model.lit->scene.columns)
    if (column.design == design) sum += input_w(*model.project, column);
  return sum;
}

double trim_in_force(const SpaceModel& model) {
  return high_end_trim(model, model.proposal.sequence, 1.0, 1.0);
}

const domain::Scene* normal_scene(const SpaceModel& model) {
  const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal);
  const std::string& id = model.proposal.sequence.normal_scene;
  return design == nullptr || id.empty() ? nullptr : domain::find_by_id(design->scenes, id);
}

std::vector<const domain::Scene*> scenes_of(const SpaceModel& model) {
  std::vector<const domain::Scene*> scenes;
  if (const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal))
    for (const domain::Scene& scene : design->scenes)
      if (scene.space == model.space->id) scenes.push_back(&scene);
  return scenes;
}

std::vector<ElectricState> electric_states(const SpaceModel& model) {
  const double trim = trim_in_force(model);
  const domain::Scene* normal = normal_scene(model);
  const ColumnLevels full = levels(model, [](const ControlCell&) { return 1.0; });
  std::vector<ElectricState> states = {{"initial", full, false}, {"maintained", full, true}};
  states.push_back({"trimmed",
                    levels(model,
                           [&](const ControlCell& cell) {
                             return high_end_of(cell, trim) * level_in(normal, cell.scene_group, 1.0);
                           }),
                    true});
  for (const domain::Scene* scene : scenes_of(model))
    states.push_back({"scene " + scene->name,
                      levels(model,
                             [&](const ControlCell& cell) {
                               return high_end_of(cell, trim) *
                                      level_in(scene, cell.scene_group,
                                               level_in(normal, cell.scene_group, 1.0));
                             }),
                      true, scene});
  return states;
}

std::vector<ElectricState> first_electric_states(const SpaceModel& model) {
  std::vector<ElectricState> states = electric_states(model);
  if (model.lit->other_arrangements.empty()) return states;
  const domain::Arrangement first = domain::arrangements_of(*model.space).front();
  std::erase_if(states, [&](const ElectricState& state) {
    return state.scene != nullptr && !domain::suits(*state.scene, *model.space, first);
  });
  return states;
}

}  // namespace halflight::sim
