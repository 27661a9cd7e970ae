#include "report/beyond_light.hpp"

#include "report/pages.hpp"
#include "report/tables.hpp"
#include "wording/figures.hpp"

#include <string>
#include <vector>

namespace halflight::report {
namespace {

/// Blank for what never is anything but nothing.
Cell or_blank(const results::Estimate& e, const Cell& cell) {
  return e.low == 0.0 && e.mean == 0.0 && e.high == 0.0 ? Cell("", "n") : cell;
}

std::string listed(const std::vector<std::string>& items) {
  std::string text;
  for (const std::string& item : items) text += (text.empty() ? "" : ", ") + item;
  return text;
}

/// "G02, 101": numbers of spaces as printed.
std::string rooms(const domain::Project& project, const std::vector<std::string>& ids) {
  std::vector<std::string> names;
  for (const std::string& id : ids) {
    const domain::Space* space = domain::find_by_id(project.spaces, id);
    names.push_back(space == nullptr ? id : named(space->number, space->id));
  }
  return listed(names);
}

}  // namespace

void write_plug_loads(Markup& page, const results::PlugLoadsYear& loads) {
  if (loads.devices.empty()) return;
  const bool in_space = loads.devices.front().switched_by != "";
  Table table{"Plugged in",
              "a year; kept apart from the light, no part of its saving",
              {"device", Cell("number", "n")},
              {}};
  if (in_space) table.head.emplace_back("its power is taken by");
  for (const char* name :
       {"as found", "proposal", "saved", "saved in 9 of 10 years", "without power, with somebody at it"})
    table.head.emplace_back(name, "n");
  for (const results::PlugDeviceYear& d : loads.devices) {
    std::vector<Cell> cells{d.kind, Cell(std::to_string(d.count), "n")};
    if (in_space)
      cells.emplace_back(d.must_stay_on.empty() ? d.switched_by
                                                : d.switched_by + " (" + d.must_stay_on + ")");
    cells.push_back(mean(d.found_kwh, "kWh"));
    cells.push_back(mean(d.proposed_kwh, "kWh"));
    cells.push_back(or_blank(d.saved_kwh, mean(d.saved_kwh, "kWh")));
    cells.push_back(or_blank(d.saved_kwh, interval(d.saved_kwh, "kWh")));
    cells.push_back(or_blank(d.cut_with_people_h, mean(d.cut_with_people_h, "h")));
    table.add(std::move(cells));
  }
  std::vector<Cell> all{"all", ""};
  if (in_space) all.emplace_back("");
  all.push_back(mean(loads.found_kwh, "kWh"));
  all.push_back(mean(loads.proposed_kwh, "kWh"));
  all.push_back(or_blank(loads.saved_kwh, mean(loads.saved_kwh, "kWh")));
  all.push_back(or_blank(loads.saved_kwh, interval(loads.saved_kwh, "kWh")));
  const results::Estimate& saving = loads.saving;
  const std::string share = wording::printed(saving.mean, saving.low, saving.high, "fraction");
  all.push_back(or_blank(saving, Cell(share + " of as found", "n")));
  table.add(std::move(all));
  write(page, table);
}

void write_divided_room(Markup& page, const results::SpaceStudy& study) {
  if (!study.divided) return;
  const results::DividedRoom& divided = *study.divided;
  Table table{"Divided by " + divided.partition,
              divided.controls_know
                  ? "the controls know how the wall stands: parts act on their own while it "
                    "stands, together while it does not"
                  : "nothing tells the controls how the wall stands: each part goes by its "
                    "own sensors all the time",
              {"hours a year", Cell("mean", "n"), Cell("9 in 10 years", "n")},
              {}};
  table.add(
      {"the wall stands with somebody in a part", mean(divided.hours, "h"), interval(divided.hours, "h")});
  write(page, table);
}

void write_load_shed(Markup& page, const results::SpaceStudy& study, const domain::Space* space) {
  if (!study.load_shed) return;
  const results::LoadShed& shed = *study.load_shed;
  Table table{"Demand response",
              "capped at " + wording::printed(shed.cap, "fraction") +
                  " of trimmed output; means over an event, of light while somebody is there",
              {"what", Cell("mean over the events", "n"), Cell("9 in 10 years", "n"),
               Cell("at the least event", "n")},
              {}};
  table.add({"drawn without the event", mean(shed.before_w, "W"), interval(shed.before_w, "W"), ""});
  table.add({"taken off", mean(shed.shed_w, "W"), interval(shed.shed_w, "W"), mean(shed.least_shed_w, "W")});
  for (const results::LoadShed::Task& task : shed.tasks) {
    const domain::TaskArea* area =
        space == nullptr ? nullptr : domain::find_by_id(space->task_areas, task.task_area);
    table.add({"light left on " + (area == nullptr ? task.task_area : named(area->name, area->id)) +
                   ", target " + wording::printed(task.target_lx, "lx"),
               mean(task.left_lx, "lx"), interval(task.left_lx, "lx"), mean(task.least_lx, "lx")});
  }
  write(page, table);
}

void write_load_shed(Markup& page, const results::BuildingTotals& totals) {
  if (!totals.load_shed) return;
  const results::BuildingShed& shed = *totals.load_shed;
  Table table{"Demand response",
              std::to_string(shed.events.size()) + " events a year, in the first weather year on " +
                  listed(shed.events),
              {"light of all rooms", Cell("mean over the events", "n"), Cell("9 in 10 years", "n")},
              {}};
  const auto add = [&](const char* what, const results::Estimate& e) {
    table.add({what, mean(e, "kW"), interval(e, "kW")});
  };
  add("drawn without the event", shed.before_kw);
  add("taken off", shed.shed_kw);
  add("taken off at the least event", shed.least_shed_kw);
  write(page, table);
}

void write_shed_signal(Markup& page, const results::SpaceStudy& study, const domain::Space* space) {
  if (!study.shed_signal) return;
  const results::ShedSignal& signal = *study.shed_signal;
  Table table{"Load shed by " + signal.interface,
              "at once to " + wording::printed(signal.level, "fraction") +
                  " of trimmed output at most; from the normal scene, without daylight, rated watts",
              {"what", Cell("taken off or left", "n"), Cell("of, or asked", "n"), ""},
              {}};
  const auto figure = [](double value, const char* unit) { return Cell(wording::printed(value, unit), "n"); };
  table.add({"taken off", figure(signal.shed_w, "W"), figure(signal.before_w, "W"), ""});
  for (const results::ShedSignal::Way& way : signal.ways)
    table.add({"left on path " + way.path + ", at least", figure(way.min_lx, "lx"),
               figure(way.limit_lx, "lx"), way.holds ? "enough" : "too little"});
  for (const results::ShedSignal::Task& task : signal.tasks) {
    const domain::TaskArea* area =
        space == nullptr ? nullptr : domain::find_by_id(space->task_areas, task.task_area);
    table.add({"left on " + (area == nullptr ? task.task_area : named(area->name, area->id)),
               figure(task.left_lx, "lx"), figure(task.target_lx, "lx"), ""});
  }
  write(page, table);
}

void write_shed_signals(Markup& page, const results::BuildingTotals& totals, const domain::Project& project) {
  if (totals.shed_signals.empty()) return;
  Table table{"Load shed at once",
              "of rooms in their normal scenes, without daylight, rated watts",
              {"signal", "rooms", Cell("drawn before", "n"), Cell("taken off", "n")},
              {}};
  for (const results::BuildingShedSignal& signal : totals.shed_signals)
    table.add({signal.interface, rooms(project, signal.spaces),
               Cell(wording::printed(signal.before_w, "W"), "n"),
               Cell(wording::printed(signal.shed_w, "W"), "n")});
  write(page, table);
}

void write_hvac_zones(Markup& page, const results::Study& study, const domain::Project& project) {
  Table table{
      "What HVAC is told",
      "hours a year, with the interval of 9 in 10 years; nothing is claimed about its energy",
      {"zone", "rooms", "standby allowed", Cell("scheduled", "n"), Cell("occupied by the contact", "n"),
       Cell("scheduled, and empty", "n"), Cell("occupied out of hours", "n"), "rooms not heard"},
      {}};
  const auto figure = [](const results::Estimate& e) { return with_interval(e, "h"); };
  for (const results::HvacZoneYear& z : study.hvac_zones)
    table.add({named(z.name, z.id), rooms(project, z.spaces), z.standby_allowed ? "yes" : "no",
               Cell(wording::printed(z.scheduled_h, "h"), "n"), figure(z.occupied_h), figure(z.set_back_h),
               figure(z.out_of_hours_h), rooms(project, z.not_heard)});
  write(page, table);
}

}  // namespace halflight::report
