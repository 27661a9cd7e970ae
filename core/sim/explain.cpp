#include "sim/explain.hpp"

#include <algorithm>
#include <optional>
#include <vector>

#include <fmt/format.h>

namespace halflight::sim {

results::Moment explain_moment(const WayAtWork& work, Seconds civil) {
  const Replicate& replicate = work.replicate();
  const SpaceModel& model = replicate.model();
  results::Moment moment;
  moment.at_civil_s = civil;
  const Seconds t = std::clamp<Seconds>(model.clock.standard(civil), 0, kYear - 1);

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
  const std::optional<std::size_t> sunny = work.sunny_step(t);
  const std::vector<CellAtWork> cells = work.at(t);
  for (const CellAtWork& now : cells) {
    // Cells of one scene group are told apart by what daylight does to them.
    const std::string& daylight_group = now.cell->daylight_group;
    const std::string part = daylight_group.empty() ? "" : " (" + daylight_group + ")";
    std::string sentence = fmt::format("Group {}{}: {}, at {:.0f} % of full output", now.cell->name, part,
                                       controls::words_of(now.segment.cause), 100.0 * now.level);
    if (now.limited) {
      const std::vector<domain::DaylightRule>& rules = work.way().sequence.daylight;
      for (std::size_t r = 0; r < rules.size(); ++r) {
        if (rules[r].group != daylight_group) continue;
        const std::size_t sensor = model.rule_sensor[r];
        if (sensor >= replicate.daylight().sensors.size()) continue;
        const double read_lx = replicate.daylight().sensors[sensor][*sunny];
        const double per_lx = model.sensor_scales[sensor].daylight;
        sentence += fmt::format("; photosensor {} {} and lets it sink", rules[r].photosensor,
                                per_lx == 1.0 ? fmt::format("sees {:.0f} lx of daylight", read_lx)
                                              : fmt::format("reads {:.0f} lx of daylight as {:.0f} lx",
                                                            read_lx / per_lx, read_lx));
      }
    }
    moment.sentences.push_back(sentence + ".");
  }
  if (!model.lit->task_rows.empty()) {
    const double electric_lx = work.electric_on_task_lx(0, work.weights(work.columns(cells)));
    const double daylight_lx = work.daylight_on_task_lx(0, t);
    moment.sentences.push_back(
        fmt::format("{} then has {:.0f} lx: {:.0f} lx of daylight and {:.0f} lx of electric light.",
                    model.space->task_areas[0].name, daylight_lx + electric_lx, daylight_lx, electric_lx));
  }
  return moment;
}

results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil) {
  Replicate replicate(model, daylight, draws, Replicate::Causes::tell);
  return explain_moment(WayAtWork(replicate, way_of_proposal(model)), civil);
}

}  // namespace halflight::sim
