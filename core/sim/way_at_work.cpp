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
    strands_.push_back({&cell,
                        &replicate.timeline(way_, cell),
                        replicate.levels(way_, cell),
                        replicate.limits(way_, cell, trim_),
                        replicate.scenes(way_, cell),
                        replicate.curves(c),
                        replicate.notice(way_, cell),
                        {}});
    for (const domain::Scene* scene : strands_.back().scenes)
      if (scene != nullptr && scene->shades != domain::Scene::Shades::as_they_stand) has_shade_scenes_ = true;
    const std::vector<lightresponse::PointRows>& tasks = model.lit->task_rows;
    for (const std::size_t column : cell.columns) {
      const lightresponse::ChannelColumn& channel = model.lit->scene.columns[column];
      const double least = least_light(*model.project, channel);
      std::vector<Strand::Part>& parts = strands_.back().parts;
      auto part = std::find_if(parts.begin(), parts.end(),
                               [&](const Strand::Part& known) { return known.least_light == least; });
      if (part == parts.end())
        part = parts.insert(parts.end(), {least, std::vector<double>(tasks.size(), 0.0)});
      std::vector<double> weight(model.lit->scene.columns.size(), 0.0);
      weight[column] = light_loss(*model.project, channel) * replicate.depreciation();
      for (std::size_t t = 0; t < tasks.size(); ++t)
        part->task_lx[t] += mean_lx(tasks[t], weight, replicate.reflected());
    }
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
    now.asked = strand.levels.of(now.segment.setting) * high_end_of(*strand.cell, trim_);
    now.level = now.asked;
    now.scene = strand.scenes[now.segment.setting.index()];
    const std::span<const double> limit = strand.limits[now.segment.setting.index()];
    if (!limit.empty() && sunny && limit[*sunny] < now.level) {
      now.level = limit[*sunny];
      now.limited = true;
    }
    // What only switches has no level between.
    if (now.cell->only_switched && now.level > 0.0) now.level = 1.0;
    now.light_w = energy::on_w(strand.curves, now.level);
    if (now.level <= 0.0 && way_.drivers_stay_powered) now.standby_w = energy::standby_w(strand.curves);
    cells.push_back(std::move(now));
  }
  return cells;
}

Seconds WayAtWork::since(std::size_t cell, Seconds standard) const {
  const std::vector<controls::Segment>& segments = strands_[cell].timeline->segments;
  auto first = segments.begin() + (&strands_[cell].timeline->at(standard) - segments.data());
  const controls::Cause cause = first->cause;
  for (auto before = first; before != segments.begin();) {
    --before;
    if (before->cause == cause)
      first = before;
    else if (before->cause != controls::Cause::scene)
      break;
  }
  return first->begin;
}

Seconds WayAtWork::lit_since(std::size_t cell, Seconds standard) const {
  const std::vector<controls::Segment>& segments = strands_[cell].timeline->segments;
  auto first = segments.begin() + (&strands_[cell].timeline->at(standard) - segments.data());
  while (first != segments.begin() && std::prev(first)->setting.kind != controls::Setting::Kind::off) --first;
  return first->begin;
}

ColumnLevels WayAtWork::columns(std::span<const CellAtWork> cells) const {
  ColumnLevels level(replicate_.model().lit->scene.columns.size(), 0.0);
  for (const CellAtWork& now : cells)
    for (const std::size_t column : now.cell->columns) level[column] = now.level;
  return level;
}

double WayAtWork::electric_on_task_lx(std::size_t task, std::span<const CellAtWork> cells) const {
  double lx = 0.0;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells[i].level <= 0.0) continue;
    for (const Strand::Part& part : strands_[i].parts)
      lx += light_given(part.least_light, cells[i].level) * part.task_lx[task];
  }
  return lx;
}

const ShadedDaylight& WayAtWork::daylight(Seconds standard) const {
  if (has_shade_scenes_)
    for (const Strand& strand : strands_) {
      const domain::Scene* scene = strand.scenes[strand.timeline->at(standard).setting.index()];
      if (scene != nullptr && scene->shades != domain::Scene::Shades::as_they_stand)
        return replicate_.daylight(scene->shades);
    }
  return replicate_.daylight();
}

double WayAtWork::daylight_on_task_lx(std::size_t task, Seconds standard) const {
  const std::optional<std::size_t> sunny = sunny_step(standard);
  const auto& tasks = daylight(standard).tasks;
  return sunny && task < tasks.size() ? tasks[task][*sunny] : 0.0;
}

}  // namespace halflight::sim
