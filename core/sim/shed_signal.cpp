#include "sim/shed_signal.hpp"

#include "controls/arbitration.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace halflight::sim {

bool sheds(const domain::LoadShedRule& rule, const ControlCell& cell) {
  const auto names = [&](const std::string& group) {
    return std::find(rule.groups.begin(), rule.groups.end(), group) != rule.groups.end();
  };
  return rule.groups.empty() || names(cell.scene_group) || names(cell.demand_response_group);
}

std::optional<results::ShedSignal> shed_signal(const SpaceModel& model,
                                               const std::vector<results::EgressState>& egress) {
  const domain::Sequence& sequence = model.proposal.sequence;
  if (!sequence.load_shed) return std::nullopt;
  const domain::Scene* normal = normal_scene(model);
  const auto levels_with = [&](bool shed) {
    return levels(model, [&](const ControlCell& cell) {
      // A task lamp is no part of what the signal reaches.
      if (!cell.lamp.empty()) return 0.0;
      controls::ArbitrationInputs inputs;
      inputs.standing = level_in(normal, cell.scene_group, 1.0);
      inputs.trim_high = trim_in_force(model);
      inputs.trim_low = sequence.trim ? sequence.trim->low : 0.0;
      if (shed && sheds(*sequence.load_shed, cell)) inputs.load_shed_level = sequence.load_shed->level;
      return controls::arbitrate(inputs).of_full;
    });
  };
  const ColumnLevels left = levels_with(true);
  results::ShedSignal found;
  found.interface = sequence.load_shed->interface;
  found.level = sequence.load_shed->level;
  found.groups = sequence.load_shed->groups;
  found.before_w = power_w(model, levels_with(false));
  found.shed_w = found.before_w - power_w(model, left);
  const std::vector<double> weight = light_weights(model, left, true);
  for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t)
    found.tasks.push_back({model.space->task_areas[t].id, model.space->task_areas[t].target_lx,
                           mean_lx(model.lit->task_rows[t], weight, 1.0)});
  for (const results::EgressState& state : egress) {
    if (!state.state.starts_with(kLoadShedState)) continue;
    auto way = std::find_if(found.ways.begin(), found.ways.end(),
                            [&](const results::ShedSignal::Way& known) { return known.path == state.path; });
    if (way == found.ways.end())
      way = found.ways.insert(way, {state.path, state.state, state.min_lx, state.limit_lx, state.holds});
    // What fails counts before what is darker and holds.
    else if (way->holds != state.holds ? way->holds : state.min_lx < way->min_lx)
      *way = {state.path, state.state, state.min_lx, state.limit_lx, state.holds};
  }
  return found;
}

results::Finding shed_finding(const results::ShedSignal& signal) {
  const bool holds = std::all_of(signal.ways.begin(), signal.ways.end(),
                                 [](const results::ShedSignal::Way& way) { return way.holds; });
  std::string evidence = fmt::format("{} takes {:.0f} W of {:.0f} W off at once", signal.interface,
                                     signal.shed_w, signal.before_w);
  for (const results::ShedSignal::Way& way : signal.ways)
    evidence +=
        fmt::format("; on path {} it leaves {:.1f} lx at least, {:.1f} lx asked{}", way.path, way.min_lx,
                    way.limit_lx, way.holds ? "" : fmt::format(" (fails, {})", way.state));
  for (const results::ShedSignal::Task& task : signal.tasks)
    evidence += fmt::format("; on {} {:.0f} lx of {:.0f} lx", task.task_area, task.left_lx, task.target_lx);
  return {"load-shed-leaves-light-on-ways-out",
          "",
          "",
          "",
          "Light that a load shed signal leaves",
          holds ? results::Finding::Verdict::pass : results::Finding::Verdict::fail,
          evidence,
          holds ? "" : "leave luminaires along the way out of its groups, or raise its level",
          results::Finding::Confidence::confirmed,
          !holds};
}

std::vector<results::BuildingShedSignal> shed_signals_of_building(
    const std::vector<results::SpaceStudy>& spaces) {
  std::vector<results::BuildingShedSignal> signals;
  for (const results::SpaceStudy& space : spaces) {
    if (!space.shed_signal) continue;
    auto known = std::find_if(signals.begin(), signals.end(), [&](const results::BuildingShedSignal& one) {
      return one.interface == space.shed_signal->interface;
    });
    if (known == signals.end()) known = signals.insert(known, {space.shed_signal->interface, {}, 0.0, 0.0});
    known->spaces.push_back(space.id);
    known->before_w += space.shed_signal->before_w;
    known->shed_w += space.shed_signal->shed_w;
  }
  return signals;
}

}  // namespace halflight::sim
