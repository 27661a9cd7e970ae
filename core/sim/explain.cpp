#include "sim/explain.hpp"

#include "controls/arbitration.hpp"
#include "domain/names.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/ready_spaces.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using domain::named;

std::string percent(double share) { return fmt::format("{:.0f} %", 100.0 * share); }

/// Number and name, as on its door.
std::string room_name(const domain::Space& space) {
  if (space.number.empty()) return named(space.name, space.id);
  return space.name.empty() ? space.number : space.number + " " + space.name;
}

/// How many are on each side of the wall that divides the room.
std::string people_in_parts(const Replicate& replicate, Seconds t) {
  const people::Presence& presence = replicate.presence();
  std::array<int, 2> number{};
  for (std::size_t k = 0; k < presence.people.size(); ++k)
    if (presence.part[k] != people::Presence::kWholeRoom && presence.people[k].contains(t))
      ++number[static_cast<std::size_t>(presence.part[k])];
  const domain::Partition* wall = domain::wall_in_use(*replicate.model().space);
  // Seen along the wall as it is drawn: part 0 is on the left.
  return fmt::format("{} divides the room: {} on its left as drawn, {} on its right.", wall->id,
                     number[0] == 1 ? "one person" : fmt::format("{} people", number[0]), number[1]);
}

std::string who_is_there(const Replicate& replicate, Seconds t) {
  const SpaceModel& model = replicate.model();
  const people::Presence& presence = replicate.presence();
  const bool cleaner = replicate.cleaning().contains(t);
  if (presence.any.contains(t)) {
    const int there = presence.headcount(t);
    const auto awake = std::count_if(presence.people.begin(), presence.people.end(),
                                     [&](const IntervalSet& person) { return person.contains(t); });
    const std::string also = cleaner ? " A cleaner is there too." : "";
    if (awake == 0 && presence.asleep.contains(t)) return "Whoever is in the room sleeps." + also;
    if (model.space->occupancy.pattern == domain::Occupancy::Pattern::desks && presence.people.size() > 1)
      return fmt::format("{} of {} people are in the room.", there, presence.people.size()) + also;
    if (replicate.divided().contains(t)) return people_in_parts(replicate, t) + also;
    if (there > 1) return fmt::format("{} people are in the room.", there) + also;
    return "Somebody is in the room." + also;
  }
  if (cleaner) return "A cleaner is in the room.";
  Seconds last = -1;
  for (const IntervalSet* set : {&presence.any, &replicate.cleaning()})
    for (const Interval& i : set->intervals())
      if (i.end <= t) last = std::max(last, i.end);
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

template <class T>
void add_once(std::vector<T>& list, const T& item) {
  if (std::find(list.begin(), list.end(), item) == list.end()) list.push_back(item);
}

/// A way to tell the cells of a scene group apart: by these memberships.
using Memberships = std::vector<std::string ControlCell::*>;
const std::array<Memberships, 6> kTellApart = {
    Memberships{},
    Memberships{&ControlCell::occupancy_group},
    Memberships{&ControlCell::daylight_group},
    Memberships{&ControlCell::schedule_group},
    Memberships{&ControlCell::occupancy_group, &ControlCell::daylight_group},
    Memberships{&ControlCell::occupancy_group, &ControlCell::schedule_group, &ControlCell::daylight_group}};

bool are_alike(const ControlCell& a, const ControlCell& b, const Memberships& by) {
  return a.scene_group == b.scene_group &&
         std::all_of(by.begin(), by.end(), [&](const auto member) { return a.*member == b.*member; });
}

std::string name_of(std::string ControlCell::*member, const ControlCell& cell, const domain::Design& design) {
  if (const domain::Group* group = domain::find_by_id(design.groups, cell.*member))
    return named(group->name, group->id);
  return member == &ControlCell::daylight_group   ? "without daylight control"
         : member == &ControlCell::schedule_group ? "without a schedule"
                                                  : "without sensors";
}

/// "Group north (by the windows)": names of `mine`, numbers of `all`, no finer than it takes to tell them
/// from the others; all together go by one word.
std::string names_of(const std::vector<std::size_t>& mine, const std::vector<CellAtWork>& all,
                     const domain::Design& design) {
  if (mine.size() == all.size()) return "All groups";
  const auto is_mine = [&](std::size_t c) { return std::find(mine.begin(), mine.end(), c) != mine.end(); };
  const auto tells = [&](const Memberships& by) {
    for (std::size_t other = 0; other < all.size(); ++other)
      if (!is_mine(other) && std::any_of(mine.begin(), mine.end(), [&](std::size_t c) {
            return are_alike(*all[c].cell, *all[other].cell, by);
          }))
        return false;
    return true;
  };
  auto by = std::find_if(kTellApart.begin(), kTellApart.end(), tells);
  if (by == kTellApart.end()) --by;

  std::vector<std::string> names;
  for (const std::size_t c : mine) {
    const ControlCell& cell = *all[c].cell;
    std::string within;
    for (const auto member : *by) within += (within.empty() ? "" : ", ") + name_of(member, cell, design);
    add_once(names, within.empty() ? cell.name : cell.name + " (" + within + ")");
  }
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : "; ") + name;
  return (names.size() == 1 ? "Group " : "Groups ") + text;
}

/// The longest gap between movements that may be filled (sensing::Grain).
constexpr Seconds kLongestFilled = 10 * kMinute;

/// The last second up to `t` that lies in a set; -1 where none does.
Seconds last_in(const IntervalSet& set, Seconds t) {
  Seconds last = -1;
  for (const Interval& i : set.intervals()) {
    if (i.begin > t) break;
    last = std::min(i.end - 1, t);
  }
  return last;
}

/// Which rooms hold the light here: those in which somebody is noticed, or else the one that held it last,
/// where nobody has been noticed here since.
std::vector<std::string> what_holds(const WayAtWork& work, std::size_t cells, Seconds t) {
  const SpaceModel& model = work.replicate().model();
  std::vector<const std::vector<Replicate::HeldBy>*> told;
  std::vector<std::string> sentences;
  for (std::size_t c = 0; c < cells; ++c) {
    const Replicate::Notice& notice = work.notice(c);
    if (notice.held_by == nullptr || std::find(told.begin(), told.end(), notice.held_by) != told.end())
      continue;
    told.push_back(notice.held_by);
    const Replicate::HeldBy* latest = nullptr;
    Seconds last = last_in(*notice.here, t);
    std::string now;
    int count = 0;
    for (const Replicate::HeldBy& one : *notice.held_by) {
      const Seconds seen = last_in(one.when, t);
      if (seen == t) {
        now += (count++ == 0 ? "" : ", ") + room_name(*one.space);
      } else if (seen > last) {
        last = seen;
        latest = &one;
      }
    }
    if (count > 0)
      sentences.push_back(
          fmt::format("{} hold{} the light here: somebody is noticed there.", now, count == 1 ? "s" : ""));
    else if (latest != nullptr)
      sentences.push_back(fmt::format("{} held the light here last: nobody has been noticed there{}.",
                                      room_name(*latest->space), since(model.clock, last, t)));
  }
  return sentences;
}

/// What the occupancy sensors have noticed: those that report together in one sentence.
std::vector<std::string> what_is_noticed(const WayAtWork& work, std::size_t cells, Seconds t) {
  const Replicate& replicate = work.replicate();
  const SpaceModel& model = replicate.model();
  const auto was_anybody_there = [&](Seconds from, Seconds to) {
    const IntervalSet span({{from, to + 1}});
    return !intersected(replicate.presence().any, span).empty() ||
           !intersected(replicate.cleaning(), span).empty();
  };
  // What is noticed lasts for some seconds after whoever was noticed has gone.
  const auto is_anybody_there = [&](Seconds at) { return was_anybody_there(at - kMinute, at); };
  std::vector<const Watch*> told;
  std::vector<std::string> sentences;
  for (std::size_t c = 0; c < cells; ++c) {
    const Replicate::Notice& notice = work.notice(c);
    if (notice.watch == nullptr || std::find(told.begin(), told.end(), notice.watch) != told.end()) continue;
    told.push_back(notice.watch);
    std::string sensors;
    for (const domain::OccupancySensor* sensor : notice.watch->sensors)
      sensors += (sensors.empty() ? "" : ", ") + named(sensor->tag, sensor->id);
    std::size_t count = notice.watch->sensors.size();
    if (notice.while_open != nullptr) {
      // What was noticed while the wall stood was noticed by these alone.
      std::string others;
      for (const domain::OccupancySensor* sensor : notice.while_open->sensors)
        if (std::find(notice.watch->sensors.begin(), notice.watch->sensors.end(), sensor) ==
            notice.watch->sensors.end()) {
          others += (others.empty() ? "" : ", ") + named(sensor->tag, sensor->id);
          ++count;
        }
      sensors += fmt::format(", or {} with the wall open,", others);
    }
    const Seconds last = last_in(*notice.here, t);
    const bool several = count > 1 && notice.while_open == nullptr;
    if (last == t && is_anybody_there(t))
      sentences.push_back(fmt::format("{} notice{} somebody.", sensors, several ? "" : "s"));
    else if (last == t)
      // A gap that no rule answers is not looked into: all that is known is that it is shorter than this.
      sentences.push_back(
          was_anybody_there(t - kLongestFilled, t)
              ? fmt::format("{} noticed somebody within the last {} min.", sensors, kLongestFilled / kMinute)
              : fmt::format("{} report{} somebody, although nobody is there.", sensors, several ? "" : "s"));
    else if (last < 0)
      sentences.push_back(fmt::format("{} noticed nobody yet this year.", sensors));
    else
      sentences.push_back(fmt::format("{} noticed nobody{}{}.", sensors, since(model.clock, last, t),
                                      replicate.presence().any.contains(t) && notice.served->contains(t)
                                          ? ", although somebody is there"
                                      : is_anybody_there(last) ? ""
                                                               : ", when there was a report without cause"));
  }
  return sentences;
}

/// Whether daylight leaves less than is asked for, by as much as the words show.
bool is_limited(const CellAtWork& now) { return now.limited && percent(now.level) != percent(now.asked); }

const domain::Design& design_of(const WayAtWork& work) {
  const SpaceModel& model = work.replicate().model();
  return model.project->designs[design_index(model, work.way().luminaires)];
}

/// Why groups stand as they do, in words that follow their name; `since` may be empty.
std::string words_of(controls::Cause cause, double asked, const std::string& since) {
  if (asked > 0.0)
    return fmt::format("{}{}, asked for {} of full output", controls::words_of(cause), since, percent(asked));
  const auto off = [&](const char* why) { return "off" + since + why; };
  switch (cause) {
    case controls::Cause::not_switched_on:
      return off(", nobody has switched it on");
    case controls::Cause::off_by_hand:
      return off(", by hand on leaving");
    case controls::Cause::off_vacant:
      return off(", because nobody was noticed");
    case controls::Cause::off_by_schedule:
      return off(", swept after hours");
    default:
      return fmt::format("off in the scene that stands, {}{}", controls::words_of(cause), since);
  }
}

/// Since when a cell stands as it does; where it was switched on before that and has been lit all the time,
/// since then, and since when people are noticed again.
std::string since_when(const WayAtWork& work, std::size_t cell, const CellAtWork& now, Seconds t) {
  using controls::Cause;
  const CivilTime& clock = work.replicate().model().clock;
  const Seconds same = work.since(cell, t);
  const bool is_switching = now.segment.cause == Cause::on_by_hand || now.segment.cause == Cause::cleaning ||
                            now.segment.cause == Cause::on_by_motion;
  const Seconds lit = is_switching ? work.lit_since(cell, t) : same;
  const std::string first = since(clock, lit, t);
  const std::string again = since(clock, same, t);
  return first == again ? again : first + ", in use again" + again;
}

/// What the sequence asks for and why: groups that it treats alike in one sentence.
std::vector<std::string> what_is_asked(const WayAtWork& work, const std::vector<CellAtWork>& cells,
                                       Seconds t) {
  struct Alike {
    std::string words;
    std::vector<std::size_t> cells;
  };
  const Replicate& replicate = work.replicate();
  std::vector<Alike> all;
  bool is_off_by_hand_rule = false;
  for (std::size_t c = 0; c < cells.size(); ++c) {
    const CellAtWork& now = cells[c];
    const std::string words = words_of(now.segment.cause, now.asked, since_when(work, c, now, t));
    is_off_by_hand_rule |= now.segment.setting.kind == controls::Setting::Kind::off &&
                           work.notice(c).served->contains(t) &&
                           work.way().sequence.on.by == domain::OnRule::By::hand;
    auto alike = std::find_if(all.begin(), all.end(), [&](const Alike& one) { return one.words == words; });
    if (alike == all.end()) alike = all.insert(all.end(), {words, {}});
    alike->cells.push_back(c);
  }
  std::vector<std::string> sentences;
  for (const Alike& one : all)
    sentences.push_back(fmt::format("{}: {}.", names_of(one.cells, cells, design_of(work)), one.words));
  const auto is_awake = [&](const IntervalSet& person) { return person.contains(t); };
  const people::Presence& presence = replicate.presence();
  if (is_off_by_hand_rule && presence.any.contains(t) &&
      (presence.sleepers.empty() || std::any_of(presence.people.begin(), presence.people.end(), is_awake)))
    sentences.push_back("Whoever is there has not switched on.");
  return sentences;
}

/// What a photosensor reads at an instant, lx.
struct Reading {
  double daylight = 0.0;
  double lamps = 0.0;
};

Reading reading_of(const WayAtWork& work, const std::vector<CellAtWork>& cells, std::size_t sensor,
                   double daylight_lx) {
  const Replicate& replicate = work.replicate();
  Reading read;
  read.daylight = daylight_lx;
  for (const CellAtWork& now : cells)
    if (now.level > 0.0)
      read.lamps +=
          now.level * signal_of(replicate.model(), sensor, replicate.reflected(), replicate.depreciation(),
                                [&](const ControlCell& cell) { return &cell == now.cell; });
  return read;
}

/// How the loop of a rule was set by day, in words that follow "set".
std::string how_it_was_set(const domain::DaylightRule& rule) {
  if (rule.method == controls::Method::integral_reset) return "at night alone";
  if (!rule.calibrated_at)
    return fmt::format("by day at the {:g}th percentile of the year", rule.calibration_percentile);
  return "by day on " + civil_text(day_of_year(rule.calibrated_at->on) * kDay + rule.calibrated_at->at_s);
}

/// What daylight leaves of it, and why: for each photosensor whose group is asked for light, what it reads,
/// how that compares with what the task has, and what its loop makes of it.
std::vector<std::string> what_daylight_leaves(const WayAtWork& work, const std::vector<CellAtWork>& cells,
                                              Seconds t, std::size_t sunny) {
  const SpaceModel& model = work.replicate().model();
  const domain::Design* proposal = domain::find_design(*model.project, domain::Design::Role::proposal);
  const ShadedDaylight& daylight = work.daylight(t);
  std::vector<std::string> sentences;
  const std::vector<domain::DaylightRule>& rules = work.way().sequence.daylight;
  for (std::size_t r = 0; r < rules.size(); ++r) {
    const domain::DaylightRule& rule = rules[r];
    const CellAtWork* governed = nullptr;
    for (const CellAtWork& now : cells)
      if (now.cell->daylight_group == rule.group && now.asked > 0.0 &&
          (governed == nullptr || (now.limited && !governed->limited)))
        governed = &now;
    const std::size_t closed = model.rule_sensor[r];
    const std::size_t open = model.rule_open_sensor[r];
    const std::size_t task = model.rule_task[r];
    if (governed == nullptr || closed >= daylight.sensors.size() || task >= daylight.tasks.size()) continue;
    const auto device = [&](std::size_t sensor) -> const domain::Photosensor& {
      return proposal->photosensors[model.lit->sensors[sensor]];
    };
    const auto name_of = [&](std::size_t sensor) { return named(device(sensor).tag, device(sensor).id); };
    const domain::Group* group = domain::find_by_id(proposal->groups, rule.group);
    const std::string group_name = group == nullptr ? rule.group : named(group->name, group->id);
    const domain::TaskArea& area = model.space->task_areas[task];
    const std::string task_name = named(area.name, area.id);
    if (governed->scene != nullptr && !governed->scene->follows_daylight) {
      sentences.push_back(fmt::format("Scene {} does not follow daylight and leaves {} as it is asked for.",
                                      named(governed->scene->name, governed->scene->id), group_name));
      continue;
    }

    const Reading read = reading_of(work, cells, closed, daylight.sensors[closed][sunny]);
    const double per_lx = model.sensor_scales[closed].daylight;
    const std::string as_read = per_lx == 1.0 ? fmt::format("{:.0f} lx of daylight", read.daylight)
                                              : fmt::format("{:.0f} lx of daylight as {:.0f} lx",
                                                            read.daylight / per_lx, read.daylight);
    std::string text =
        fmt::format("{} reads {} and {:.0f} lx of lamp light", name_of(closed), as_read, read.lamps);
    const controls::Calibration& set = model.calibrations[r];
    const double task_lx = daylight.tasks[task][sunny];
    if (task_lx > 0.0) {
      const double ratio = read.daylight / task_lx;
      text += fmt::format("; per lx on {} that is {:.3f} by day", task_name, ratio);
      if (set.night_ratio > 0.0)
        text += fmt::format(" against {:.3f} by its lamps, {:.2f} times as much", set.night_ratio,
                            ratio / set.night_ratio);
    }
    sentences.push_back(text + ".");

    const std::string leaves =
        !is_limited(*governed)   ? fmt::format("leaves {} as it is asked for", group_name)
        : governed->level <= 0.0 ? fmt::format("lets {} go off", group_name)
                                 : fmt::format("lets {} sink to {}", group_name, percent(governed->level));
    if (!set.usable) {
      sentences.push_back(fmt::format("Its loop could not be set up and {}.", leaves));
      continue;
    }
    // The law sees daylight on the task as signal over the ratio that it was set with.
    const bool by_night = rule.method == controls::Method::integral_reset;
    const double set_ratio = by_night ? set.night_ratio : set.day_ratio;
    const bool dual = rule.method == controls::Method::dual_loop && open < daylight.sensors.size();
    text = fmt::format("Its loop, set {} for {:.3f}", how_it_was_set(rule), set_ratio);
    if (dual)
      text +=
          fmt::format(", goes by {}, which reads {:.0f} lx,", name_of(open), daylight.sensors[open][sunny]);
    else if (set_ratio > 0.0)
      text += fmt::format(", takes that for {:.0f} lx of daylight on {} where there are {:.0f} lx,",
                          read.daylight / set_ratio, task_name, task_lx);
    text += " and " + leaves;
    if (only_switches(model, rule.group)) text += "; it can only switch";
    if (rule.deadband > 0.0 && rule.minimum_level < 1.0)
      text += fmt::format("; it moves nothing for less than {} of its set-point", percent(rule.deadband));
    sentences.push_back(text + ".");
  }
  return sentences;
}

}  // namespace

results::Moment explain_moment(const WayAtWork& work, Seconds t) {
  const Replicate& replicate = work.replicate();
  const SpaceModel& model = replicate.model();
  results::Moment moment;
  moment.at_civil_s = model.clock.civil(t);
  const std::vector<CellAtWork> cells = work.at(t);
  const auto say = [&](const std::vector<std::string>& sentences) {
    moment.sentences.insert(moment.sentences.end(), sentences.begin(), sentences.end());
  };

  moment.sentences.push_back(who_is_there(replicate, t));
  say(what_is_noticed(work, cells.size(), t));
  say(what_holds(work, cells.size(), t));
  say(what_is_asked(work, cells, t));
  if (const std::optional<std::size_t> sunny = work.sunny_step(t))
    say(what_daylight_leaves(work, cells, t, *sunny));
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
                               Seconds standard) {
  Replicate replicate(model, daylight, draws, Replicate::Causes::tell);
  return explain_moment(WayAtWork(replicate, way_of_proposal(model)), standard);
}

std::vector<GroupAtWork> groups_at_work(const WayAtWork& work, Seconds standard) {
  const std::vector<CellAtWork> cells = work.at(standard);
  struct Alike {
    controls::Rank rank;
    std::vector<std::size_t> cells;
  };
  std::vector<Alike> all;
  for (std::size_t c = 0; c < cells.size(); ++c) {
    const controls::Rank rank = controls::rank_of(cells[c].segment.cause);
    auto alike = std::find_if(all.begin(), all.end(), [&](const Alike& one) {
      const CellAtWork& first = cells[one.cells.front()];
      return one.rank == rank && percent(first.level) == percent(cells[c].level) &&
             is_limited(first) == is_limited(cells[c]);
    });
    if (alike == all.end()) alike = all.insert(all.end(), {rank, {}});
    alike->cells.push_back(c);
  }
  std::vector<GroupAtWork> groups;
  for (const Alike& one : all) {
    const CellAtWork& first = cells[one.cells.front()];
    GroupAtWork group;
    group.name = names_of(one.cells, cells, design_of(work));
    group.level = first.level;
    for (const std::size_t c : one.cells) group.power_w += cells[c].light_w + cells[c].standby_w;
    group.decided_by = controls::words_of(one.rank);
    if (is_limited(first))
      group.limited_by = "daylight";
    else if (first.level > 0.0 && high_end_of(*first.cell, work.trim()) < 1.0 && !first.cell->only_switched)
      group.limited_by = "trim";
    groups.push_back(std::move(group));
  }
  return groups;
}

ExplainedInstant explain_spaces(const StudyInputs& inputs, const StudyOptions& options,
                                const std::vector<std::size_t>& spaces, std::size_t building_year,
                                Seconds standard, const Context& context) {
  lightresponse::StageLog log;
  const ReadySpaces ready(inputs, options, spaces, context, log);
  const Uncertainty uncertainty =
      draw_uncertainty(inputs.project, options.seed, options.scrambles, options.points_per_scramble,
                       ready.weather.size(), options.spread);
  const Draws& draws = uncertainty.draws.at(building_year);
  ExplainedInstant instant;
  instant.weather_year = draws.weather_year;
  instant.weather_years = ready.weather.size();
  instant.climate =
      fmt::format("{}: {}", ready.weather[draws.weather_year].name, ready.weather[draws.weather_year].source);
  std::size_t next_lit = 0;
  for (std::size_t i = 0; i < spaces.size(); ++i) {
    context.check_cancelled();
    ExplainedSpace one;
    one.space = spaces[i];
    one.not_explained_because = ready.why_dark[i];
    if (one.not_explained_because.empty()) {
      const std::size_t s = next_lit++;
      Replicate replicate(ready.models[s], ready.daylight_by_year[draws.weather_year][s], draws,
                          Replicate::Causes::tell);
      const WayAtWork work(replicate, way_of_proposal(ready.models[s]));
      one.moment = explain_moment(work, standard);
      one.groups = groups_at_work(work, standard);
    }
    instant.spaces.push_back(std::move(one));
  }
  return instant;
}

}  // namespace halflight::sim
