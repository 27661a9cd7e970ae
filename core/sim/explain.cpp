#include "sim/explain.hpp"

#include <fmt/format.h>

namespace halflight::sim {

results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil) {
  results::Moment moment;
  moment.at_civil_s = civil;
  const Seconds t = model.clock.standard(civil);
  Replicate replicate(model, daylight, draws, Replicate::Causes::tell);
  const Way way = way_of_proposal(model);
  const double trim = replicate.trim(way);
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);

  const auto& present = replicate.presence().any;
  if (present.contains(t)) {
    moment.sentences.emplace_back("Somebody is in the room.");
  } else {
    Seconds last = -1;
    for (const Interval& i : present.intervals())
      if (i.end <= t) last = i.end;
    moment.sentences.push_back(
        last < 0                 ? std::string("Nobody has been in the room yet this year.")
        : t - last < 2 * kMinute ? fmt::format("The room has been empty for {} s.", t - last)
                                 : fmt::format("The room has been empty for {} min.", (t - last) / kMinute));
  }
  const std::int32_t sunny = model.sunny->index_of_step[static_cast<std::size_t>(t / kStep_s)];
  double task_lx = 0.0;
  const double daylight_lx = sunny < 0 || replicate.daylight().tasks.empty()
                                 ? 0.0
                                 : replicate.daylight().tasks[0][static_cast<std::size_t>(sunny)];
  for (const ControlCell& cell : model.lit->cells) {
    if (cell.design != proposal) continue;
    const controls::Segment& segment = replicate.timeline(way, cell).at(t);
    double level = replicate.levels(way, cell).of(segment.setting) * trim;
    const std::span<const double> limit = replicate.limit(way, cell, trim);
    const bool limited = !limit.empty() && sunny >= 0 && limit[static_cast<std::size_t>(sunny)] < level;
    if (limited) level = limit[static_cast<std::size_t>(sunny)];
    // Cells of one scene group are told apart by what daylight does to them.
    const std::string part = cell.daylight_group.empty() ? "" : " (" + cell.daylight_group + ")";
    std::string sentence = fmt::format("Group {}{}: {}, at {:.0f} % of full output", cell.name, part,
                                       controls::words_of(segment.cause), 100.0 * level);
    if (limited) {
      for (std::size_t r = 0; r < way.sequence.daylight.size(); ++r) {
        if (way.sequence.daylight[r].group != cell.daylight_group) continue;
        if (model.rule_sensor[r] >= replicate.daylight().sensors.size()) continue;
        const std::size_t sensor = model.rule_sensor[r];
        const double read_lx = replicate.daylight().sensors[sensor][static_cast<std::size_t>(sunny)];
        const double per_lx = model.sensor_scales[sensor].daylight;
        sentence += fmt::format("; photosensor {} {} and lets it sink", way.sequence.daylight[r].photosensor,
                                per_lx == 1.0 ? fmt::format("sees {:.0f} lx of daylight", read_lx)
                                              : fmt::format("reads {:.0f} lx of daylight as {:.0f} lx",
                                                            read_lx / per_lx, read_lx));
      }
    }
    moment.sentences.push_back(sentence + ".");
    if (!model.lit->task_rows.empty())
      task_lx +=
          level * cell_lx(model, model.lit->task_rows[0], cell, replicate.reflected()) * draws.depreciation;
  }
  if (!model.lit->task_rows.empty())
    moment.sentences.push_back(
        fmt::format("{} then has {:.0f} lx: {:.0f} lx of daylight and {:.0f} lx of electric light.",
                    model.space->task_areas[0].name, daylight_lx + task_lx, daylight_lx, task_lx));
  return moment;
}

}  // namespace halflight::sim
