#pragma once
#include "domain/control.hpp"
#include "sim/space_model.hpp"

#include <span>
#include <string>
#include <vector>

namespace halflight::sim {

/// Level of every column of a space's scene as a fraction of full output; columns of other designs are 0.
using ColumnLevels = std::vector<double>;

/// A state of all groups of the proposal.
struct ElectricState {
  std::string name;  ///< "initial", "maintained", "trimmed" or "scene <name>"
  ColumnLevels level;
  bool maintained = true;                ///< with light loss
  const domain::Scene* scene = nullptr;  ///< that is called, or null
};

/// All groups at full output, new and maintained; at trim in the normal scene; at trim in every scene. In
/// this order.
std::vector<ElectricState> electric_states(const SpaceModel& model);
/// Those of them that stand with movable partitions in their first states.
std::vector<ElectricState> first_electric_states(const SpaceModel& model);

/// What each column gives of its initial light at full output: what its driver makes of the level, times
/// light loss where it is maintained.
std::vector<double> light_weights(const SpaceModel& model, const ColumnLevels& level, bool maintained);
std::vector<double> light_weights(const domain::Project& project,
                                  std::span<const lightresponse::ChannelColumn> columns,
                                  const ColumnLevels& level, bool maintained);

/// Illuminance at one point of rows with such weights, lx; `reflected`: factor on what arrives reflected.
inline double lx_at(const lightresponse::PointRows& rows, std::size_t point,
                    const std::vector<double>& weight, double reflected = 1.0) {
  double lx = 0.0;
  for (std::size_t c = 0; c < weight.size(); ++c) {
    const std::size_t i = point * rows.columns + c;
    lx += weight[c] * (rows.electric[i] + (reflected - 1.0) * rows.electric_reflected[i]);
  }
  return lx;
}
/// The mean over all points.
double mean_lx(const lightresponse::PointRows& rows, const std::vector<double>& weight,
               double reflected = 1.0);

/// Input power of a state's columns, W.
double power_w(const SpaceModel& model, const ColumnLevels& level);
double power_w(const domain::Project& project, std::span<const lightresponse::ChannelColumn> columns,
               const ColumnLevels& level);

/// Rated input of all luminaires of the design of that role in the space, W.
double connected_w(const SpaceModel& model, domain::Design::Role role);

/// The scene that stands when nothing else is called, or null.
const domain::Scene* normal_scene(const SpaceModel& model);
/// The proposal's scenes of the space, in the order of the document.
std::vector<const domain::Scene*> scenes_of(const SpaceModel& model);
/// High-end trim of the proposal's sequence, nominal.
double trim_in_force(const SpaceModel& model);

/// Levels of the proposal's cells, `level_of_cell(cell)` each.
template <class LevelOfCell>
ColumnLevels levels(const SpaceModel& model, LevelOfCell level_of_cell) {
  ColumnLevels out(model.lit->scene.columns.size(), 0.0);
  const std::size_t design = design_index(model, domain::Design::Role::proposal);
  for (const ControlCell& cell : model.lit->cells)
    if (cell.design == design)
      for (const std::size_t c : cell.columns) out[c] = level_of_cell(cell);
  return out;
}

}  // namespace halflight::sim
