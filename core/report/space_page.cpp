#include "report/beyond_light.hpp"
#include "report/charts.hpp"
#include "report/device_tokens.hpp"
#include "report/pages.hpp"
#include "report/plan_drawing.hpp"
#include "report/tables.hpp"
#include "report/visual_tables.hpp"
#include "report/year_picture.hpp"
#include "wording/claims.hpp"
#include "wording/egress.hpp"
#include "wording/figures.hpp"
#include "wording/sequence.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <string>

namespace halflight::report {
namespace {

using namespace domain;
using results::Estimate;
using wording::percent;

std::string printed(const Estimate& e, std::string_view unit) {
  return wording::printed(e.mean, e.low, e.high, unit);
}

/// A value of fewer bytes stays on one line ("30 s"); longer ones are lists that may break.
constexpr std::size_t kUnbroken = 24;

void write_phrases(Markup& page, const std::vector<wording::Phrase>& phrases) {
  for (const wording::Phrase& phrase : phrases) {
    if (phrase.is_value())
      page.leaf("span", {{"data-at", phrase.pointer}, {"class", phrase.text.size() < kUnbroken ? "u" : ""}},
                phrase.text);
    else
      page.text(phrase.text);
  }
}

// --- plan

template <class Devices>
bool has(const Devices& devices, const std::string& space) {
  return std::any_of(devices.begin(), devices.end(),
                     [&](const auto& d) { return d.space == space && d.status != Status::remove; });
}

/// Words for every token on the plan, so that nothing is drawn that is not named.
void write_legend(Markup& page, const Design& design, const Space& space) {
  const auto legend = page.open("div", {{"class", "legend"}});
  const auto entry = [&](bool present, Token token, std::string_view words) {
    if (!present) return;
    const auto span = page.open("span");
    {
      const auto svg = page.open("svg", {{"viewBox", "-11 -11 22 22"}, {"aria-hidden", "true"}});
      draw_token(page, token, 0.0, 0.0);
    }
    page.text(words);
  };
  entry(has(design.occupancy_sensors, space.id), Token::eye,
        "movement: walking (line), seated (dots), hidden (hatched)");
  entry(has(design.photosensors, space.id), Token::sun, "daylight");
  entry(has(design.stations, space.id), Token::card, "wall station");
  entry(has(design.load_controllers, space.id), Token::box, "load controller");
  entry(has(design.time_clocks, space.id), Token::clock, "time clock");
  entry(has(design.interfaces, space.id), Token::plug, "link to another system");
  entry(has(design.infrastructure, space.id), Token::node,
        "bus supply, gateway, repeater or emergency device");
  const bool lights_out =
      std::any_of(design.luminaires.begin(), design.luminaires.end(), [&](const Luminaire& l) {
        return l.space == space.id && l.emergency.lights_egress && l.status != Status::remove;
      });
  if (lights_out) {
    const auto span = page.open("span");
    {
      const auto svg = page.open("svg", {{"viewBox", "-11 -11 22 22"}, {"aria-hidden", "true"}});
      draw_egress_tab(page, 0.0, 0.0);
    }
    page.text("luminaire that lights the way out");
  }
}

/// ": 35 lx to 1 900 lx", the least and the most of a grid.
std::string range_of(const results::PlanGrid& grid) {
  float least = std::numeric_limits<float>::infinity();
  float most = 0.0F;
  for (const float lx : grid.values_lx) {
    if (lx < 0.0F) continue;  // off the floor
    least = std::min(least, lx);
    most = std::max(most, lx);
  }
  if (least > most) return {};
  return ": " + wording::printed(least, "lx") + " to " + wording::printed(most, "lx");
}

void write_plan(Markup& page, const Book& book, const results::SpaceStudy& s, const Space& space,
                std::size_t index) {
  const results::PlanGrid* grid = s.grids.empty() ? nullptr : &s.grids.front();
  const std::string id = "plan-" + std::to_string(index);
  draw_plan(page, book.project, *book.proposal, space, s, grid, id);
  if (grid != nullptr) draw_light_scale(page, light_range(*grid, space), grid->quantity);
  write_legend(page, *book.proposal, space);
  if (s.grids.size() < 2) return;
  std::vector<double> targets;
  for (const TaskArea& t : space.task_areas) targets.push_back(t.target_lx);
  const auto smalls = page.open("div", {{"class", "smalls"}});
  for (std::size_t g = 1; g < s.grids.size(); ++g) {
    const auto figure = page.open("figure");
    draw_small_plan(page, space, s.grids[g], targets, id + "-" + std::to_string(g));
    page.leaf("figcaption", s.grids[g].quantity + range_of(s.grids[g]));
  }
}

// --- claims

/// The assumptions in their own words; one that the study does not hold is named by its place.
std::string rests_on(const Book& book, const results::Claim& claim) {
  std::string text;
  for (const std::string& path : claim.assumptions) {
    const auto& all = book.study.assumptions;
    const auto found =
        std::find_if(all.begin(), all.end(), [&](const results::Assumption& a) { return a.path == path; });
    const bool has_words = found != all.end() && !found->value.empty();
    text += (text.empty() ? "" : "; ") +
            (has_words ? with_signs(found->value) : place_in_words(book.project, path));
  }
  return text;
}

std::string refuted_by(const results::Claim& claim) {
  const results::RefutingTest& t = claim.test;
  if (t.measure.empty()) return t.remark.empty() ? "Refuted by: no test is named" : t.remark;
  const double low = t.expected - t.tolerance;
  const double high = t.expected + t.tolerance;
  std::string text =
      "Refuted by: " + t.measure + "; expected " + wording::printed_interval(low, high, claim.unit);
  if (t.duration_days > 0.0) {
    const std::string days = wording::rounded(
        t.duration_days, t.duration_days < 10.0 && t.duration_days != std::round(t.duration_days) ? -1 : 0);
    text += ", over " + days + (days == "1" ? " day" : " days");
  }
  if (!t.shortfall.empty())
    text += ". Chance of noticing a shortfall of " + t.shortfall + ": " +
            wording::rounded(100.0 * t.chance_of_noticing, 0) + " %";
  if (!t.remark.empty()) text += ". " + t.remark;
  return text;
}

void write_claims(Markup& page, const Book& book, const results::SpaceStudy& s) {
  if (s.claims.empty()) return;
  page.leaf("h3", "What this room promises");
  const auto claims = page.open("div", {{"class", "claims"}});
  for (const results::Claim& claim : s.claims) {
    const auto value = book.numbers.at(claim.result);
    if (!value) continue;  // listed under what is missing
    const auto article = page.open("article", {{"class", "claim"}});
    const std::string between = wording::printed_interval(claim.low, claim.high, claim.unit);
    {
      const auto figure = page.open("div", {{"class", "figure"}});
      page.leaf("b", wording::printed(*value, claim.low, claim.high, claim.unit));
      page.leaf("i", between);
    }
    Rail rail = rail_for(*value, claim.low, claim.high, claim.unit);
    if (claim.result.find("/saving/against_as_found") != std::string::npos)
      rail.as_usually_found = s.saving_as_usually_found.mean;
    draw_rail(page, rail, "Interval " + between);
    page.leaf("p", {{"class", "statement"}}, wording::claim_sentence(claim, *value));
    if (const std::string text = rests_on(book, claim); !text.empty())
      page.leaf("p", "Rests on " + text + ".");
    if (const std::string text = refuted_by(claim); !text.empty())
      page.leaf("p", {{"class", "refute"}}, text + (text.ends_with('.') ? "" : "."));
  }
}

void write_moments(Markup& page, const results::SpaceStudy& s) {
  for (const results::Moment& moment : s.moments) {
    const auto why = page.open("section", {{"class", "why"}});
    page.leaf("h3", "Why this minute: " + civil_text(moment.at_civil_s));
    const auto list = page.open("ol");
    // Groups of one scene may be wired as several cells; what is said of each alike is said once.
    std::set<std::string> said;
    for (const std::string& sentence : moment.sentences)
      if (said.insert(sentence).second) page.leaf("li", sentence);
  }
}

// --- tables of results

void write_energy(Markup& page, const results::SpaceStudy& s) {
  const auto two = page.open("div", {{"class", "two"}});
  {
    const auto block = page.open("section", {{"class", "block"}});
    page.leaf("h3", "Energy of a year by case");
    std::vector<CaseBar> bars;
    for (std::size_t c = 0; c < s.cases.size(); ++c) {
      const results::CaseYear& year = s.cases[c];
      Estimate total = year.lighting_kwh;
      total.mean += year.standby_kwh.mean;
      total.low += year.standby_kwh.mean;
      total.high += year.standby_kwh.mean;
      bars.push_back({case_name(c), total, year.standby_kwh.mean});
    }
    draw_case_bars(page, bars);
    const auto key = page.open("p", {{"class", "key"}});
    page.leaf("i", {{"style", "background:#e6c27a"}}, "");
    page.text("light ");
    page.leaf("i", {{"style", "background:#8a7fb0;margin-left:14px"}}, "");
    page.text("standby; whiskers: 5th to 95th percentile of the light");
  }
  const auto block = page.open("section", {{"class", "block"}});
  page.leaf("h3", "Share of each strategy");
  draw_shares(page, s.shares);
  page.leaf("p", {{"class", "key"}}, "kWh a year; what adds energy runs to the left");
}

void write_cases(Markup& page, const results::SpaceStudy& s) {
  Table table{"The four cases",
              "mean over building-years",
              {"case", Cell("light", "n"), Cell("interval", "n"), Cell("standby", "n"),
               Cell("hours lit", "n"), Cell("peak", "n"), "holds"},
              {}};
  for (std::size_t c = 0; c < s.cases.size(); ++c) {
    const results::CaseYear& y = s.cases[c];
    table.add({Cell(case_name(c), "u"), Cell(printed(y.lighting_kwh, "kWh"), "n"),
               Cell(interval(y.lighting_kwh, "kWh").text, "n soft"), Cell(printed(y.standby_kwh, "kWh"), "n"),
               Cell(printed(y.lit_hours, "h"), "n"), Cell(printed(y.peak_w, "W"), "n"), y.contents});
  }
  write(page, table);
  if (is_mostly_standby(s)) page.leaf("p", {{"class", "key"}}, std::string(kStandbyNote) + ".");
}

void write_electric(Markup& page, const Book& book, const results::SpaceStudy& s, const Space* space) {
  Table table{
      "Electric light",
      "initial: new luminaires; all other states: at the end of the maintenance interval. New luminaires "
      "give more, by one over the light loss factor. Two intervals that hold 19 times in 20: what the "
      "calculation may be off by at a point, and what is not known of the room (reflectances, photometry, "
      "light loss) in the mean",
      {"task area", "group or scene", "state", "plane", Cell("mean", "n"), Cell("least", "n"),
       Cell("most", "n"), Cell("uniformity", "n"), Cell("calculation", "n"), Cell("room", "n"),
       Cell("target", "n"), Cell("power", "n")},
      {}};
  const auto within = [](double v) { return "± " + wording::rounded(v, v < 1.0 ? -1 : 0) + " lx"; };
  for (const results::GroupLight& g : s.electric) {
    const Group* group = book.proposal == nullptr ? nullptr : find_by_id(book.proposal->groups, g.group);
    for (const results::TaskAreaLight& t : g.task_areas) {
      const TaskArea* area = space == nullptr ? nullptr : find_by_id(space->task_areas, t.id);
      // The numerical error is all the interval that one calculation has; no meter reads below a whole lux.
      const auto lx = [&](double v) {
        const int place = wording::decimal_place(v, v - t.error_lx, v + t.error_lx);
        return wording::rounded(v, v < 10.0 ? place : std::max(0, place)) + " lx";
      };
      table.add({area == nullptr ? t.id : named(area->name, area->id),
                 group == nullptr ? g.group : named(group->name, group->id), t.state, t.plane,
                 Cell(lx(t.mean_lx), "n"), Cell(lx(t.min_lx), "n"), Cell(lx(t.max_lx), "n"),
                 Cell(wording::rounded(t.uniformity, -2), "n"), Cell(within(t.error_lx), "n"),
                 Cell(within(1.96 * t.input_spread_lx), "n"),
                 Cell(t.target_lx > 0.0 ? wording::printed(t.target_lx, "lx") : "", "n"),
                 Cell(wording::printed(g.power_w, "W"), "n")});
    }
  }
  write(page, table);
}

/// The points of the task areas with their light in the normal scene.
void write_points(Markup& page, const results::SpaceStudy& s, const Space& space, std::size_t index) {
  std::vector<PlanValue> values;
  for (const results::PointValues& area : s.points) {
    if (area.area == "plan") continue;
    const auto trimmed = std::find_if(area.states.begin(), area.states.end(),
                                      [](const auto& state) { return state.name == "trimmed"; });
    if (trimmed == area.states.end()) continue;
    for (std::size_t p = 0; p < area.at.size(); ++p)
      values.push_back({{area.at[p].x, area.at[p].y}, trimmed->lx[p]});
  }
  if (values.empty()) return;
  const auto block = page.open("section", {{"class", "block"}});
  page.leaf("h3", "Illuminance at the points of the task areas");
  draw_point_values(page, space, values, "points-" + std::to_string(index));
  page.leaf("p", {{"class", "key"}},
            "lx, maintained at trim in the normal scene; a dot without a figure has no room for one.");
}

void write_scenes(Markup& page, const results::SpaceStudy& s) {
  if (s.scenes.empty()) return;
  std::vector<std::string> groups;
  for (const results::SceneState& scene : s.scenes)
    for (const auto& [group, level] : scene.levels)
      if (std::find(groups.begin(), groups.end(), group) == groups.end()) groups.push_back(group);
  const auto block = page.open("div", {{"class", "block"}});
  const auto table = page.open("table");
  {
    const auto caption = page.open("caption");
    page.text("Scenes");
    page.leaf("span", "level, share of trimmed full output");
  }
  {
    const auto head = page.open("thead");
    const auto row = page.open("tr");
    page.leaf("th", {{"scope", "col"}}, "scene");
    for (const std::string& group : groups) page.leaf("th", {{"scope", "col"}}, group);
    page.leaf("th", {{"scope", "col"}, {"class", "n"}}, "power");
  }
  const auto body = page.open("tbody");
  for (const results::SceneState& scene : s.scenes) {
    const auto row = page.open("tr");
    page.leaf("th", {{"scope", "row"}}, scene.name);
    for (const std::string& group : groups) {
      const auto cell = page.open("td");
      const auto found = std::find_if(scene.levels.begin(), scene.levels.end(),
                                      [&](const auto& l) { return l.first == group; });
      if (found == scene.levels.end()) {
        page.leaf("span", {{"class", "soft"}}, "as it stands");
        continue;
      }
      const auto level = page.open("span", {{"class", "level"}});
      page.leaf("i", {{"style", "width:" + num(100.0 * std::clamp(found->second, 0.0, 1.0)) + "%"}}, "");
      page.leaf("em", found->second <= 0.0 ? "off" : percent(found->second));
    }
    page.leaf("td", {{"class", "n"}}, wording::printed(scene.power_w, "W"));
  }
}

void write_availability(Markup& page, const results::SpaceStudy& s) {
  if (!s.daylight_availability) return;
  const results::DaylightAvailability& a = *s.daylight_availability;
  Table table{"Daylight on the floor",
              std::to_string(a.points) + " points at " + wording::rounded(a.height_m, -2) + " m, at most " +
                  wording::rounded(a.spacing_m, -2) + " m apart, " + wording::rounded(a.border_m, -2) +
                  " m clear of the walls; first weather year",
              {"measure", Cell("value", "n")},
              {}};
  const auto share = [](double value) { return Cell(wording::rounded(100.0 * value, 0) + " %", "n"); };
  table.add({"spatial daylight autonomy (LM-83): area with 300 lx in half of the hours from 8 to 18",
             share(a.spatial_daylight_autonomy)});
  table.add({"annual sunlight exposure (LM-83): area with direct sun above 1,000 lx for over 250 h",
             share(a.annual_sunlight_exposure)});
  table.add({"hours below 100 lx, mean over the area", share(a.below_100_lx)});
  table.add({"hours from 100 to 300 lx", share(a.from_100_to_300_lx)});
  table.add({"hours from 300 to 3,000 lx", share(a.from_300_to_3000_lx)});
  table.add({"hours above 3,000 lx", share(a.above_3000_lx)});
  table.add({"half of the area, in half of the daylight hours (EN 17037)",
             Cell(wording::printed(a.half_of_points_lx, "lx"), "n")});
  table.add({"95 % of the area, in half of the daylight hours",
             Cell(wording::printed(a.nearly_all_points_lx, "lx"), "n")});
  table.add({"recommendation of EN 17037 that both reach", Cell(a.recommendation, "n")});
  write(page, table);
}

void write_daylight(Markup& page, const results::SpaceStudy& s, const Space* space) {
  Table table{"Daylight",
              "share of the open hours in which daylight alone, shades as used, holds the target",
              {"task area", Cell("share of open hours", "n")},
              {}};
  for (const results::DaylightOnTask& d : s.daylight) {
    const TaskArea* area = space == nullptr ? nullptr : find_by_id(space->task_areas, d.task_area);
    table.add({area == nullptr ? d.task_area : named(area->name, area->id),
               Cell(wording::rounded(100.0 * d.hours_above_target_fraction, 0) + " %", "n")});
  }
  write(page, table);
  write_availability(page, s);
  Table zones{"Daylight zones",
              "as the adopted code counts them",
              {"zone", "kind", Cell("depth", "n"), Cell("head height", "n"), Cell("area", "n"),
               Cell("general lighting", "n")},
              {}};
  static constexpr const char* kKinds[] = {"primary", "secondary", "under skylight"};
  for (const results::DaylightZone& z : s.daylight_zones)
    zones.add({z.id, kKinds[static_cast<int>(z.kind)], Cell(wording::rounded(z.depth_m, -2) + " m", "n"),
               Cell(wording::rounded(z.head_height_m, -2) + " m", "n"),
               Cell(wording::printed(z.area_m2, "m2"), "n"),
               Cell(wording::printed(z.general_lighting_w, "W"), "n")});
  write(page, zones);
}

/// How a photosensor is made to see as the eye does.
std::string correction_of(const Photosensor& sensor) {
  std::string text;
  if (!sensor.daylight_factor || !sensor.electric_factor)
    text = sensor.spectral_response == Photosensor::SpectralResponse::photopic
               ? "photopic correction"
               : "bare silicon, without correction";
  const auto add = [&](const std::optional<double>& factor, const char* light) {
    if (!factor) return;
    text += (text.empty() ? "" : ", ") + ("reads " + num(*factor) + " of 1 lx of ") + light +
            " as its maker states";
  };
  add(sensor.daylight_factor, "daylight");
  add(sensor.electric_factor, "lamp light");
  return text;
}

void write_calibration(Markup& page, const Book& book, const results::SpaceStudy& s) {
  Table table{
      "Photosensor calibration",
      "",
      {"photosensor", "governs", Cell("signal at night", "n"), Cell("signal per task lux, day", "n"),
       Cell("signal per task lux, night", "n"), Cell("reads of 1 lx, day", "n"),
       Cell("reads of 1 lx, lamps", "n"), Cell("gain", "n"), Cell("R\u00B2", "n"), "can hold the target"},
      {}};
  for (const results::SensorCalibration& c : s.sensors) {
    const Photosensor* sensor =
        book.proposal == nullptr ? nullptr : find_by_id(book.proposal->photosensors, c.photosensor);
    const Group* group = book.proposal == nullptr ? nullptr : find_by_id(book.proposal->groups, c.group);
    table.add({sensor == nullptr ? c.photosensor : named(sensor->tag, sensor->id),
               group == nullptr ? c.group : named(group->name, group->id),
               Cell(wording::printed(c.night_signal_lx, "lx"), "n"),
               Cell(wording::printed(c.day_ratio, "lx/lx"), "n"),
               Cell(wording::printed(c.night_ratio, "lx/lx"), "n"),
               Cell(wording::printed(c.daylight_factor, "lx"), "n"),
               Cell(wording::printed(c.electric_factor, "lx"), "n"),
               Cell(wording::printed(c.gain, "per lx"), "n"), Cell(wording::rounded(c.correlation, -2), "n"),
               c.usable ? "yes" : "no: the sensor sees more of the lamps than of the day"},
              c.usable ? "" : "fails");
  }
  write(page, table);
}

/// How well the light follows people: seats before the sensors of each group, and the year's figures.
void write_light_for_people(Markup& page, const Book& book, const results::SpaceStudy& s) {
  const results::LightForPeople& people = s.light_for_people;
  Table seats{"People before occupancy sensors",
              "one person alone, always there; figures of movement are assumptions",
              {"group", Cell("delay", "n"), Cell("seats", "n"), Cell("never noticed", "n"),
               Cell("loses the light at the worst seat", "n"), "where that is"},
              {}};
  std::vector<std::string> groups;
  for (const results::SeatNotice& seat : people.seats)
    if (std::find(groups.begin(), groups.end(), seat.group) == groups.end()) groups.push_back(seat.group);
  for (const std::string& id : groups) {
    const results::SeatNotice* worst = nullptr;
    int count = 0;
    int unseen = 0;
    for (const results::SeatNotice& seat : people.seats) {
      if (seat.group != id) continue;
      ++count;
      if (!seat.is_noticed()) ++unseen;
      if (seat.is_noticed() && (worst == nullptr || seat.taken_per_h > worst->taken_per_h)) worst = &seat;
    }
    const Group* group = book.proposal == nullptr ? nullptr : find_by_id(book.proposal->groups, id);
    seats.add({group == nullptr ? id : named(group->name, group->id),
               Cell(worst == nullptr ? "" : wording::printed(worst->delay_s / 60.0, "min"), "n"),
               Cell(std::to_string(count), "n"), Cell(std::to_string(unseen), "n"),
               Cell(worst == nullptr ? "" : wording::rounded(worst->taken_per_h, -2) + " an hour", "n"),
               worst == nullptr ? ""
                                : "x " + wording::rounded(worst->x_m, -1) + " m, y " +
                                      wording::rounded(worst->y_m, -1) + " m"},
              unseen > 0 ? "fails" : "");
  }
  write(page, seats);
  Table year{"Light and people through the year",
             "as the sequence calls for it, daylight aside; hours at full power",
             {"what", Cell("a year", "n"), Cell("9 in 10 years", "n")},
             {}};
  const auto add = [&](const char* what, const results::Estimate& e, std::string_view unit) {
    year.add({what, mean(e, unit), interval(e, unit)});
  };
  add("lit for nobody, as found", people.lit_for_nobody_as_found_h, "h");
  add("lit for nobody, proposal", people.lit_for_nobody_h, "h");
  add("light taken from people who are there", people.taken_from_people, "");
  add("warnings while somebody is there", people.dips_on_people, "");
  write(page, year);
}

void write_faults(Markup& page, const results::SpaceStudy& s) {
  Table table{"What faults would cost",
              "one at a time, against the same years as designed; commission against the dearest first",
              {"fault", Cell("more energy a year", "n"), Cell("9 in 10 years", "n"),
               Cell("more hours under-lit", "n"), Cell("light taken from people, more often", "n")},
              {}};
  for (const results::FaultCost& f : s.faults)
    table.add({f.name, mean(f.kwh, "kWh"), interval(f.kwh, "kWh"), mean(f.under_lit_hours, "h"),
               mean(f.taken_from_people, "")});
  write(page, table);
}

void write_loops(Markup& page, const Book& book, const results::SpaceStudy& s) {
  Table table{
      "Light on the task under daylight control",
      "a year, 90 % interval; while somebody is there, the light is called for and the sun is up. An "
      "ideal loop leaves just the light that is promised; one that saves more than it, above 100 %, dims "
      "too far",
      {"photosensor", "task", Cell("hours", "n"), Cell("under-lit", "n"), Cell("short of light", "n"),
       Cell("over-lit", "n"), Cell("energy of that", "n"), Cell("of what an ideal loop saves", "n")},
      {}};
  const domain::Space* space = find_by_id(book.project.spaces, s.id);
  for (const results::DaylightLoopYear& loop : s.loops) {
    const Photosensor* sensor =
        book.proposal == nullptr ? nullptr : find_by_id(book.proposal->photosensors, loop.photosensor);
    const domain::TaskArea* area = space == nullptr ? nullptr : find_by_id(space->task_areas, loop.task_area);
    table.add({sensor == nullptr ? loop.photosensor : named(sensor->tag, sensor->id),
               area == nullptr ? loop.task_area : named(area->name, area->id), with_interval(loop.hours, "h"),
               with_interval(loop.under_lit_hours, "h"), with_interval(loop.shortfall_lx_h, "lx h"),
               with_interval(loop.over_lit_hours, "h"), with_interval(loop.over_lit_kwh, "kWh"),
               with_interval(loop.realised_share, "fraction")});
  }
  write(page, table);
}

void write_egress(Markup& page, const results::SpaceStudy& s) {
  Table table{"Ways out",
              "floor illuminance in every state that the sequence can reach",
              {"path", "state", Cell("least", "n"), Cell("mean", "n"), Cell("limit", "n"), "holds", "why"},
              {}};
  for (const results::EgressState& e : s.egress)
    table.add({e.path, e.state, Cell(wording::printed(e.min_lx, "lx"), "n"),
               Cell(wording::printed(e.mean_lx, "lx"), "n"), Cell(wording::printed(e.limit_lx, "lx"), "n"),
               Cell(e.holds ? "holds" : "too dark", "verdict"), e.why},
              e.holds ? "" : "fails");
  write(page, table);
}

void write_findings(Markup& page, const results::SpaceStudy& s) {
  static constexpr const char* kVerdicts[] = {"pass", "fails", "does not apply", "needs evidence"};
  static constexpr const char* kConfidence[] = {"read in the code", "from memory", "uncertain"};
  Table table{
      "Rules",
      "a design aid, not an approval",
      {"rule", "where", "verdict", "evidence", "what would make it pass", "how well the figure is known"},
      {}};
  for (const results::Finding& f : s.findings) {
    const bool is_own = f.code.empty() || f.code == "halflight";
    std::string where = f.code;
    if (!f.edition.empty()) where += " " + f.edition;
    if (!f.section.empty()) where += ", " + f.section;
    const bool fails = f.verdict == results::Finding::Verdict::fail;
    table.add({named(f.title, f.rule), is_own ? "of our own" : where,
               Cell(kVerdicts[static_cast<int>(f.verdict)], "verdict"), wording::told_by_path(s, f.evidence),
               f.fix, is_own ? "" : kConfidence[static_cast<int>(f.confirmed)]},
              fails ? "fails" : "");
  }
  write(page, table);
}

// --- schedules of the design

void write_matrix(Markup& page, const Book& book, const Sequence& sequence) {
  const wording::SequenceMatrix matrix =
      wording::sequence_matrix(book.project, *book.proposal, sequence, book.options.catalogue);
  if (matrix.groups.empty()) return;
  Table table{"Sequence by event and group",
              "a blank means no change; levels are shares of trimmed full output",
              {"event"},
              {}};
  for (const std::string& group : matrix.groups) table.head.push_back(group);
  for (const auto& row : matrix.rows) {
    std::vector<Cell> cells = {wording::plain_text(row.event)};
    for (const wording::Sentence& cell : row.cells) cells.push_back(wording::plain_text(cell));
    table.add(std::move(cells));
  }
  write(page, table);
}

std::string status_name(Status status) {
  switch (status) {
    case Status::remain:
      return "remains";
    case Status::remove:
      return "remove";
    case Status::relocate:
      return "relocate";
    case Status::added:
      return "new";
  }
  return "new";
}

void write_luminaires(Markup& page, const Book& book, const Space& space) {
  struct Line {
    int count = 0;
    std::string tags;
  };
  std::map<std::tuple<std::string, int, std::string>, Line> lines;  // type, status, circuit
  for (const Luminaire& l : book.proposal->luminaires) {
    if (l.space != space.id) continue;
    Line& line = lines[{l.type, static_cast<int>(l.status), l.circuit}];
    ++line.count;
    line.tags += (line.tags.empty() ? "" : ", ") + named(l.tag, l.id);
  }
  Table table{"Luminaires",
              "",
              {"type", "description", Cell("number", "n"), Cell("power each", "n"), Cell("light each", "n"),
               "circuit", "status", "tags"},
              {}};
  for (const auto& [key, line] : lines) {
    const auto& [type_id, status, circuit] = key;
    const LuminaireType* type = find_by_id(book.project.luminaire_types, type_id);
    double watts = type == nullptr ? 0.0 : type->watts_per_luminaire_extra_w;
    double lumens = 0.0;
    if (type != nullptr)
      for (const Channel& c : type->channels) watts += c.input_w, lumens += c.lumens;
    table.add({type == nullptr ? type_id : named(type->tag, type->id), type == nullptr ? "" : type->name,
               Cell(std::to_string(line.count), "n"), Cell(wording::printed(watts, "W"), "n"),
               Cell(wording::printed(lumens, "lm"), "n"), circuit, status_name(static_cast<Status>(status)),
               line.tags});
  }
  write(page, table);
}

/// Metres from the room's south-west corner, and height: what an installer measures.
std::string position(const Device& d, const Box2& room) {
  return num(d.at.x - room.low.x) + ", " + num(d.at.y - room.low.y) + ", " + num(d.at.z) + " m";
}

void write_devices(Markup& page, const Book& book, const Space& space) {
  const Box2 room = bounds(space.floor);
  Table table{"Devices",
              "place: east and north of the room's south-west corner, height above the floor",
              {"tag", "what it is", "place", "acts on", Cell("standby", "n"), "address", "status"},
              {}};
  const auto group_names = [&](const std::vector<std::string>& ids) {
    std::string names;
    for (const std::string& id : ids) {
      const Group* g = find_by_id(book.proposal->groups, id);
      names += (names.empty() ? "" : ", ") + (g == nullptr ? id : named(g->name, g->id));
    }
    return names;
  };
  const auto add = [&](const Device& d, std::string what, std::string acts_on) {
    if (d.space != space.id) return;
    if (!d.make_and_catalogue_number.empty()) what += "; " + d.make_and_catalogue_number + " or equal";
    table.add({named(d.tag, d.id), std::move(what), Cell(position(d, room), "u"), std::move(acts_on),
               Cell(wording::printed(d.standby_w, "W"), "n"), d.address, status_name(d.status)});
  };
  static constexpr const char* kTechnologies[] = {"infrared", "ultrasonic", "dual technology", "microwave"};
  static constexpr const char* kCoverages[] = {"circle", "half circle", "sector", "strip", "in luminaire"};
  for (const OccupancySensor& d : book.proposal->occupancy_sensors)
    add(d,
        std::string("occupancy sensor, ") + kTechnologies[static_cast<int>(d.technology)] + ", " +
            kCoverages[static_cast<int>(d.coverage)] + ", " + num(d.major_radius_m) + " m walking, " +
            num(d.minor_radius_m) + " m seated" +
            (d.rated_height_m ? ", as rated at " + num(*d.rated_height_m) + " m" : ""),
        group_names(d.groups));
  for (const Photosensor& d : book.proposal->photosensors)
    add(d,
        std::string("photosensor, ") + (d.loop == Photosensor::Loop::closed ? "closed" : "open") +
            " loop, full scale " + wording::printed(d.range_lx, "lx") + ", " + correction_of(d),
        group_names(d.groups));
  static constexpr const char* kStations[] = {"wall station", "hand-held station", "key switch"};
  for (const Station& d : book.proposal->stations) {
    std::string buttons;
    for (const std::string& b : d.buttons) {
      const Scene* scene = find_by_id(book.proposal->scenes, b);
      buttons += (buttons.empty() ? "" : ", ") + (scene == nullptr ? b : named(scene->name, scene->id));
    }
    std::string acts = buttons.empty() ? "" : "buttons: " + buttons;
    if (!d.switch_legs.empty())
      acts += (acts.empty() ? "" : "; ") + ("a switch each: " + group_names(d.switch_legs));
    add(d, std::string(kStations[static_cast<int>(d.kind)]) + (d.public_access ? "" : ", staff only"), acts);
  }
  static constexpr const char* kActions[] = {"on/off", "phase dimming", "0-10 V", "digital bus",
                                             "volt-free contact"};
  static constexpr const char* kMountings[] = {"wall box", "ceiling void", "panel", "in luminaire",
                                               "plug-in"};
  for (const LoadController& d : book.proposal->load_controllers)
    add(d,
        std::string("load controller, ") + kActions[static_cast<int>(d.action)] + ", " +
            kMountings[static_cast<int>(d.mounting)] + ", " + num(d.limit_a) + " A at most",
        group_names(d.groups));
  for (const TimeClock& d : book.proposal->time_clocks)
    add(d,
        std::string("time clock") + (d.astronomical ? ", astronomical" : "") + ", keeps time " +
            num(d.backup_h) + " h without supply",
        "");
  static constexpr const char* kInterfaces[] = {"HVAC contact",     "HVAC points",     "audio-visual",
                                                "shades",           "demand response", "fire alarm",
                                                "partition sensor", "load shed"};
  for (const Interface& d : book.proposal->interfaces)
    add(d,
        std::string("link: ") + kInterfaces[static_cast<int>(d.kind)] +
            (d.direction == Interface::Direction::in ? ", in" : ", out"),
        d.signal);
  static constexpr const char* kInfrastructure[] = {"bus supply", "gateway", "repeater",
                                                    "emergency transfer device", "emergency bypass device"};
  for (const Infrastructure& d : book.proposal->infrastructure)
    add(d, kInfrastructure[static_cast<int>(d.kind)], "");
  write(page, table);
}

void write_groups(Markup& page, const Book& book, const Space& space) {
  static constexpr const char* kStrategies[] = {"scene",    "occupancy",       "daylight",
                                                "schedule", "demand response", "emergency"};
  Table table{"Groups",
              "which channels act together, by strategy",
              {"group", "for", Cell("power", "n"), "members"},
              {}};
  for (const Group& g : book.proposal->groups) {
    if (g.space != space.id) continue;
    double watts = 0.0;
    std::string members;
    for (const std::string& entry : g.channels) {
      const std::size_t slash = entry.find('/');
      const Luminaire* l = find_by_id(book.proposal->luminaires, entry.substr(0, slash));
      members +=
          (members.empty() ? "" : ", ") +
          (l == nullptr ? entry
                        : named(l->tag, l->id) + (slash == std::string::npos ? "" : entry.substr(slash)));
      const LuminaireType* type = l == nullptr ? nullptr : find_by_id(book.project.luminaire_types, l->type);
      if (type == nullptr) continue;
      for (const Channel& c : type->channels)
        if (slash == std::string::npos || entry.substr(slash + 1) == c.id) watts += c.input_w;
    }
    table.add({named(g.name, g.id), kStrategies[static_cast<int>(g.strategy)],
               Cell(wording::printed(watts, "W"), "n"), members});
  }
  write(page, table);
}

void write_where(Markup& page, const Book& book, const results::SpaceStudy& s, const Space* space) {
  std::string where = strategy_name(s.kind);
  if (space != nullptr && !space->number_on_door.empty() && space->number_on_door != s.number)
    where += "; number on the door " + space->number_on_door;
  if (const Storey* storey = find_by_id(book.project.storeys, s.storey))
    where += "; " + named(storey->name, storey->id);
  if (const Typical* typical = find_by_id(book.project.typicals, s.typical))
    where += "; typical: " + named(typical->name, typical->id);
  where += "; " + wording::printed(s.area_m2, "m2");
  if (space != nullptr) {
    where += ", " + num(space->height_m) + " m high";
    if (space->ceiling_slope_deg > 0.0)
      where += " where the ceiling, sloped by " + num(space->ceiling_slope_deg) + " degrees, is lowest";
  }
  if (s.studied) {
    where += "; connected " + wording::printed(s.connected_w, "W") + " (" +
             wording::printed(s.lpd_w_m2, "W/m2") + ")";
    if (s.connected_as_found_w > 0.0) where += ", as found " + wording::printed(s.connected_as_found_w, "W");
  }
  page.leaf("p", {{"class", "where"}}, where);
}

void write_results(Markup& page, const Book& book, const results::SpaceStudy& s, const Space* space,
                   std::size_t index) {
  write_energy(page, s);
  write_cases(page, s);
  write_egress(page, s);
  write_findings(page, s);
  write_electric(page, book, s, space);
  if (space != nullptr) write_points(page, s, *space, index);
  write_eye_light(page, s, space);
  write_room_surfaces(page, s);
  write_screens(page, s, space);
  {
    const auto two = page.open("div", {{"class", "two"}});
    {
      const auto left = page.open("div");
      write_scenes(page, s);
    }
    const auto right = page.open("div");
    write_daylight(page, s, space);
  }
  write_calibration(page, book, s);
  write_loops(page, book, s);
  write_light_for_people(page, book, s);
  write_divided_room(page, s);
  write_faults(page, s);
  write_plug_loads(page, s.plug_loads);
  write_load_shed(page, s, space);
  write_shed_signal(page, s, space);
}

}  // namespace

void write_space(Markup& page, const Book& book, std::size_t index) {
  const results::SpaceStudy& s = book.study.spaces[index];
  const Space* space = find_by_id(book.project.spaces, s.id);
  const bool is_drawn = space != nullptr && book.proposal != nullptr && space->floor.size() >= 3;
  const Sequence* sequence = book.proposal == nullptr ? nullptr : find_sequence(*book.proposal, s.id);

  const auto room =
      page.open("section", {{"class", s.studied ? "room" : "room unstudied"}, {"id", room_id(index)}});
  page.leaf("h2", title_of(s));
  write_where(page, book, s, space);
  if (!s.studied) page.leaf("p", {{"class", "empty"}}, "Not studied: " + s.not_studied_because);
  if (sequence != nullptr) {
    const auto say = page.open("p", {{"class", "say"}});
    write_phrases(
        page, wording::sequence_sentence(book.project, *book.proposal, *sequence, book.options.catalogue));
  }
  {
    const auto explain = page.open("div", {{"class", "explain"}});
    {
      const auto left = page.open("div");
      if (is_drawn) write_plan(page, book, s, *space, index);
    }
    const auto side = page.open("div", {{"class", "side"}});
    write_claims(page, book, s);
    write_moments(page, s);
  }
  for (std::size_t i = 0; i < s.pictures.size(); ++i) {
    if (!is_drawable(s.pictures[i])) continue;
    if (i > 0) {
      const auto defs = page.open("svg", {{"class", "defs"}, {"aria-hidden", "true"}});
      define_year(page, s.pictures[i], year_id(index) + "-" + std::to_string(i));
    }
    const auto block = page.open("section", {{"class", "block"}});
    page.leaf("h3", "The year: " + s.pictures[i].quantity);
    draw_year(page, s.pictures[i], i == 0 ? year_id(index) : year_id(index) + "-" + std::to_string(i));
    page.leaf("p", {{"class", "key"}}, "Hours up, days across, by the clock; lines are sunrise and sunset.");
  }
  if (s.studied) write_results(page, book, s, space, index);
  if (sequence != nullptr) write_matrix(page, book, *sequence);
  if (is_drawn) {
    write_luminaires(page, book, *space);
    write_devices(page, book, *space);
    write_groups(page, book, *space);
  }
  write_foot(page, book);
}

}  // namespace halflight::report
