#include "sim/explain.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

std::string named(const std::string& name, const std::string& id) { return name.empty() ? id : name; }

std::string percent(double share) { return fmt::format("{:.0f} %", 100.0 * share); }

std::string who_is_there(const SpaceModel& model, const people::Presence& presence, Seconds t) {
  if (presence.any.contains(t)) {
    // Only at desks is each person followed.
    const auto there = std::count_if(presence.people.begin(), presence.people.end(),
                                     [&](const IntervalSet& person) { return person.contains(t); });
    if (model.space->occupancy.pattern == domain::Occupancy::Pattern::desks && presence.people.size() > 1)
      return fmt::format("{} of {} people are in the room.", there, presence.people.size());
    return "Somebody is in the room.";
  }
  Seconds last = -1;
  for (const Interval& i : presence.any.intervals())
    if (i.end <= t) last = i.end;
  if (last < 0) return "Nobody has been in the room yet this year.";
  const Seconds empty_s = t - last;
  if (empty_s < 2 * kMinute) return fmt::format("The room has been empty for {} s.", empty_s);
  if (empty_s < 3 * kHour) return fmt::format("The room has been empty for {} min.", empty_s / kMinute);
  return fmt::format("The room has been empty for {} h.", empty_s / kHour);
}

/// "since 07:12" on the same day by the clock, else since when; nothing for what always was so.
std::string since(const CivilTime& clock, Seconds begin, Seconds t) {
  if (begin <= 0) return "";
  const Seconds from = clock.civil(begin);
  const std::string text = civil_text(from);  // "17 Mar 07:12"
  const bool today = from / kDay == clock.civil(t) / kDay;
  return " since " + (today ? text.substr(text.rfind(' ') + 1) : text);
}

/// Names of scene groups; all of them go by one word.
std::string names_of(const std::vector<std::string>& names, std::size_t of_all) {
  if (names.size() == of_all) return "All groups";
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : "; ") + name;
  return (names.size() == 1 ? "Group " : "Groups ") + text;
}

template <class T>
void add_once(std::vector<T>& list, const T& item) {
  if (std::find(list.begin(), list.end(), item) == list.end()) list.push_back(item);
}

/// What the sequence asks for and why: groups that it treats alike in one sentence.
std::vector<std::string> what_is_asked(const WayAtWork& work, const std::vector<CellAtWork>& cells,
                                       Seconds t) {
  struct Alike {
    controls::Cause cause;
    Seconds begin;
    double asked;
    std::vector<std::string> names;
  };
  std::vector<Alike> all;
  std::vector<std::string> every_name;
  for (std::size_t c = 0; c < cells.size(); ++c) {
    const CellAtWork& now = cells[c];
    const Seconds begin = work.since(c, t);
    add_once(every_name, now.cell->name);
    auto alike = std::find_if(all.begin(), all.end(), [&](const Alike& one) {
      return one.cause == now.segment.cause && one.begin == begin && one.asked == now.asked;
    });
    if (alike == all.end()) alike = all.insert(all.end(), {now.segment.cause, begin, now.asked, {}});
    add_once(alike->names, now.cell->name);
  }
  std::vector<std::string> sentences;
  for (const Alike& one : all)
    sentences.push_back(
        fmt::format("{}: {}{}{}.", names_of(one.names, every_name.size()), controls::words_of(one.cause),
                    since(work.replicate().model().clock, one.begin, t),
                    one.asked > 0.0 ? fmt::format(", asked for {} of full output", percent(one.asked)) : ""));
  return sentences;
}

/// What daylight leaves of it: one sentence for each photosensor's group that is limited.
std::vector<std::string> what_daylight_leaves(const WayAtWork& work, const std::vector<CellAtWork>& cells,
                                              std::size_t sunny) {
  const Replicate& replicate = work.replicate();
  const SpaceModel& model = replicate.model();
  const domain::Design* proposal = domain::find_design(*model.project, domain::Design::Role::proposal);
  std::vector<std::string> sentences;
  const std::vector<domain::DaylightRule>& rules = work.way().sequence.daylight;
  for (std::size_t r = 0; r < rules.size(); ++r) {
    const auto limited = std::find_if(cells.begin(), cells.end(), [&](const CellAtWork& now) {
      return now.limited && now.cell->daylight_group == rules[r].group;
    });
    const std::size_t sensor = model.rule_sensor[r];
    if (limited == cells.end() || sensor >= replicate.daylight().sensors.size()) continue;
    const domain::Photosensor& device = proposal->photosensors[model.lit->sensors[sensor]];
    const domain::Group* group = domain::find_by_id(proposal->groups, rules[r].group);
    const double read_lx = replicate.daylight().sensors[sensor][sunny];
    const double per_lx = model.sensor_scales[sensor].daylight;
    const std::string sees =
        per_lx == 1.0 ? fmt::format("sees {:.0f} lx of daylight", read_lx)
                      : fmt::format("reads {:.0f} lx of daylight as {:.0f} lx", read_lx / per_lx, read_lx);
    sentences.push_back(
        fmt::format("{} {} and lets {} {}.", named(device.tag, device.id), sees,
                    group == nullptr ? rules[r].group : named(group->name, group->id),
                    limited->level > 0.0 ? "sink to " + percent(limited->level) : std::string("go off")));
  }
  return sentences;
}

}  // namespace

results::Moment explain_moment(const WayAtWork& work, Seconds civil) {
  const Replicate& replicate = work.replicate();
  const SpaceModel& model = replicate.model();
  results::Moment moment;
  moment.at_civil_s = civil;
  const Seconds t = std::clamp<Seconds>(model.clock.standard(civil), 0, kYear - 1);
  const std::vector<CellAtWork> cells = work.at(t);
  const auto say = [&](const std::vector<std::string>& sentences) {
    moment.sentences.insert(moment.sentences.end(), sentences.begin(), sentences.end());
  };

  moment.sentences.push_back(who_is_there(model, replicate.presence(), t));
  say(what_is_asked(work, cells, t));
  if (const std::optional<std::size_t> sunny = work.sunny_step(t))
    say(what_daylight_leaves(work, cells, *sunny));
  if (!model.lit->task_rows.empty()) {
    const double electric_lx = work.electric_on_task_lx(0, cells);
    const double daylight_lx = work.daylight_on_task_lx(0, t);
    const domain::TaskArea& task = model.space->task_areas[0];
    moment.sentences.push_back(
        fmt::format("{}: {:.0f} lx, of which {:.0f} lx daylight and {:.0f} lx "
                    "electric light.",
                    named(task.name, task.id), daylight_lx + electric_lx, daylight_lx, electric_lx));
  }
  return moment;
}

results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil) {
  Replicate replicate(model, daylight, draws, Replicate::Causes::tell);
  return explain_moment(WayAtWork(replicate, way_of_proposal(model)), civil);
}

}  // namespace halflight::sim
