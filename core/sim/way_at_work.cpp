#include "sim/way_at_work.hpp"

#include "energy/power_curve.hpp"

#include <algorithm>
#include <utility>

namespace halflight::sim {

WayAtWork::WayAtWork(Replicate& replicate, Way way)
    : replicate_(replicate), way_(std::move(way)), trim_(replicate.trim(way_)) {
  const SpaceModel& model = replicate.model();
  const std::size_t design = design_index(model, way_.luminaires);
  for (std::size_t c = 0; c < model.lit->cells.size(); ++c) {
    const ControlCell& cell = model.lit->cells[c];
    if (cell.design != design) continue;
    strands_.push_back({&cell, &replicate.timeline(way_, cell), replicate.levels(way_, cell),
                        replicate.limit(way_, cell, trim_), replicate.curves(c)});
  }
}

std::optional<std::size_t> WayAtWork::sunny_step(Seconds standard) const {
  const std::int32_t index =
      replicate_.model().sunny->index_of_step[static_cast<std::size_t>(standard / kStep_s)];
  if (index < 0) return std::nullopt;
  return static_cast<std::size_t>(index);
}

std::vector<CellAtWork> WayAtWork::at(Seconds standard) const {
  std::vector<CellAtWork> cells;
  cells.reserve(strands_.size());
  const std::optional<std::size_t> sunny = sunny_step(standard);
  for (const Strand& strand : strands_) {
    CellAtWork now;
    now.cell = strand.cell;
    now.segment = strand.timeline->at(standard);
    now.asked = strand.levels.of(now.segment.setting) * trim_;
    now.level = now.asked;
    if (!strand.limit.empty() && sunny && strand.limit[*sunny] < now.level) {
      now.level = strand.limit[*sunny];
      now.limited = true;
    }
    now.light_w = energy::on_w(strand.curves, now.level);
    if (now.level <= 0.0 && way_.drivers_stay_powered) now.standby_w = energy::standby_w(strand.curves);
    cells.push_back(std::move(now));
  }
  return cells;
}

ColumnLevels WayAtWork::columns(std::span<const CellAtWork> cells) const {
  ColumnLevels level(replicate_.model().lit->scene.columns.size(), 0.0);
  for (const CellAtWork& now : cells)
    for (const std::size_t column : now.cell->columns) level[column] = now.level;
  return level;
}

std::vector<double> WayAtWork::weights(const ColumnLevels& level) const {
  std::vector<double> weight = light_weights(replicate_.model(), level, true);
  for (double& w : weight) w *= replicate_.depreciation();
  return weight;
}

double WayAtWork::electric_on_task_lx(std::size_t task, const std::vector<double>& weight) const {
  return mean_lx(replicate_.model().lit->task_rows[task], weight, replicate_.reflected());
}

double WayAtWork::daylight_on_task_lx(std::size_t task, Seconds standard) const {
  const std::optional<std::size_t> sunny = sunny_step(standard);
  const auto& tasks = replicate_.daylight().tasks;
  return sunny && task < tasks.size() ? tasks[task][*sunny] : 0.0;
}

}  // namespace halflight::sim
