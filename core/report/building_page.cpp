#include "report/beyond_light.hpp"
#include "report/charts.hpp"
#include "report/pages.hpp"
#include "report/tables.hpp"
#include "report/year_picture.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::report {
namespace {

using results::Estimate;
using wording::printed;
using wording::printed_interval;

std::string printed(const Estimate& e, std::string_view unit) {
  return wording::printed(e.mean, e.low, e.high, unit);
}

void write_saving_row(Markup& page, std::string_view name, const Estimate& e, std::optional<double> found) {
  const auto row = page.open("tr");
  page.leaf("th", {{"scope", "row"}}, name);
  page.leaf("td", {{"class", "n"}}, printed(e, "fraction"));
  page.leaf("td", {{"class", "n soft"}}, printed_interval(e.low, e.high, "fraction"));
  const auto cell = page.open("td");
  Rail rail = rail_for(e.mean, e.low, e.high, "fraction");
  rail.as_usually_found = found;
  draw_rail(page, rail, "Interval " + printed_interval(e.low, e.high, "fraction"));
}

void write_totals(Markup& page, const Book& book) {
  const results::BuildingTotals& t = book.study.totals;
  const auto two = page.open("div", {{"class", "two"}});
  {
    const auto block = page.open("section", {{"class", "block"}});
    page.leaf("h2", "Energy of a year");
    std::vector<CaseBar> bars;
    for (std::size_t c = 0; c < t.kwh.size(); ++c) bars.push_back({case_name(c), t.kwh[c], 0.0});
    draw_case_bars(page, bars);
    page.leaf("p", {{"class", "key"}},
              "Lighting with standby, kWh a year. Whiskers: 5th to 95th percentile.");
    const auto table = page.open("table");
    page.leaf("caption", "Saving of the proposal");
    {
      const auto head = page.open("thead");
      const auto row = page.open("tr");
      page.leaf("th", {{"scope", "col"}}, "against");
      page.leaf("th", {{"scope", "col"}, {"class", "n"}}, "mean");
      page.leaf("th", {{"scope", "col"}, {"class", "n"}}, "5th to 95th percentile");
      page.leaf("th", {{"scope", "col"}}, "tick: as usually found");
    }
    const auto body = page.open("tbody");
    write_saving_row(page, "as found", t.saving.against_as_found, t.saving_as_usually_found.mean);
    write_saving_row(page, "new luminaires, old controls", t.saving.against_relamped, std::nullopt);
    write_saving_row(page, "code minimum", t.saving.against_code_minimum, std::nullopt);
  }
  const auto block = page.open("section", {{"class", "block"}});
  page.leaf("h2", "Where it comes from");
  draw_shares(page, t.shares);
  page.leaf("p", {{"class", "key"}},
            "Share of each strategy in the difference between as found and proposal, kWh a year. "
            "What adds energy runs to the left.");
}

void write_spaces(Markup& page, const Book& book) {
  const auto block = page.open("section", {{"class", "block"}});
  page.leaf("h2", "Spaces");
  const auto table = page.open("table");
  {
    const auto head = page.open("thead");
    const auto row = page.open("tr");
    for (const char* name : {"room", "kind", "the year"}) page.leaf("th", {{"scope", "col"}}, name);
    for (const char* name : {"area", "connected", "power density", "as found", "proposal", "saving"})
      page.leaf("th", {{"scope", "col"}, {"class", "n"}}, name);
    page.leaf("th", {{"scope", "col"}}, "rules and ways out");
  }
  const auto body = page.open("tbody");
  for (std::size_t i = 0; i < book.study.spaces.size(); ++i) {
    const results::SpaceStudy& s = book.study.spaces[i];
    const auto row = page.open("tr");
    {
      const auto cell = page.open("th", {{"scope", "row"}});
      page.leaf("a", {{"href", "#" + room_id(i)}}, title_of(s));
    }
    page.leaf("td", strategy_name(s.kind));
    {
      const auto cell = page.open("td");
      if (!s.pictures.empty() && is_drawable(s.pictures.front()))
        draw_small_year(page, s.pictures.front(), year_id(i));
    }
    page.leaf("td", {{"class", "n"}}, printed(s.area_m2, "m2"));
    if (!s.studied) {
      page.leaf("td", {{"colspan", "6"}, {"class", "soft"}}, "not studied: " + s.not_studied_because);
      continue;
    }
    page.leaf("td", {{"class", "n"}}, printed(s.connected_w, "W"));
    page.leaf("td", {{"class", "n"}}, printed(s.lpd_w_m2, "W/m2"));
    const auto total = [](const results::CaseYear& year) {
      // Means add exactly; the interval shown is that of the light, which is nearly all of it.
      return wording::printed(year.lighting_kwh.mean + year.standby_kwh.mean,
                              year.lighting_kwh.low + year.standby_kwh.mean,
                              year.lighting_kwh.high + year.standby_kwh.mean, "kWh");
    };
    page.leaf("td", {{"class", "n"}}, total(s.cases[0]));
    page.leaf("td", {{"class", "n"}}, total(s.cases[3]));
    page.leaf("td", {{"class", "n"}},
              printed(s.saving.against_as_found, "fraction") + (is_mostly_standby(s) ? "\u00A0*" : ""));
    const auto count = [&](results::Finding::Verdict verdict) {
      return std::count_if(s.findings.begin(), s.findings.end(),
                           [&](const auto& f) { return f.verdict == verdict; });
    };
    const auto dark = std::count_if(s.egress.begin(), s.egress.end(), [](const auto& e) { return !e.holds; });
    const auto cell = page.open("td");
    std::string text = std::to_string(count(results::Finding::Verdict::pass)) + " pass";
    if (const auto n = count(results::Finding::Verdict::needs_evidence); n > 0)
      text += ", " + std::to_string(n) + (n == 1 ? " needs evidence" : " need evidence");
    page.text(text);
    std::string bad;
    if (const auto n = count(results::Finding::Verdict::fail); n > 0)
      bad += std::to_string(n) + (n == 1 ? " fails" : " fail");
    if (dark > 0) bad += (bad.empty() ? "" : ", ") + std::string("way out too dark");
    if (!bad.empty()) {
      page.text(", ");
      page.leaf("strong", {{"class", "bad"}}, bad);
    }
  }
}

void write_standby_note(Markup& page, const Book& book) {
  const auto& spaces = book.study.spaces;
  if (std::any_of(spaces.begin(), spaces.end(), is_mostly_standby))
    page.leaf("p", {{"class", "key"}}, "* " + std::string(kStandbyNote) + ".");
}

void write_missing(Markup& page, const Book& book) {
  Table table{"What is missing or doubtful",
              "before this can be issued",
              {"where", "severity", "what", "what would be right"},
              {}};
  for (const results::SpaceStudy& s : book.study.spaces)
    if (!s.studied) table.add({title_of(s), "missing", s.not_studied_because, ""});
  for (const Diagnostic& d : book.options.missing)
    if (concerns_study(book, d.where))
      table.add(
          {place_in_words(book.project, d.where), std::string(name_of(d.severity)), d.problem, d.remedy});
  for (const results::SpaceStudy& s : book.study.spaces)
    for (const results::Claim& c : s.claims)
      if (!book.numbers.at(c.result))
        table.add({title_of(s), "error",
                   "claim " + c.id + " points at " + c.result + ", which the study does not hold",
                   "point it at a number of the study"});
  write(page, table);
}

}  // namespace

void write_building(Markup& page, const Book& book) {
  const results::Study& study = book.study;
  const auto building = page.open("section", {{"class", "building"}});
  page.leaf("h1", named(study.project_name, study.project_id));
  std::string under = printed(study.totals.area_m2, "m2") + " in " + std::to_string(study.spaces.size()) +
                      (study.spaces.size() == 1 ? " space" : " spaces") + ", " +
                      printed(study.totals.connected_w, "W") + " connected as proposed, " +
                      std::to_string(study.replicates) + " building-years simulated";
  if (!study.climate.empty()) under += "; weather: " + study.climate;
  page.leaf("p", {{"class", "under"}}, under);
  write_totals(page, book);
  write_spaces(page, book);
  write_standby_note(page, book);
  write_plug_loads(page, study.totals.plug_loads);
  write_load_shed(page, study.totals);
  write_shed_signals(page, study.totals, book.project);
  write_hvac_zones(page, study, book.project);
  write_missing(page, book);
  write_foot(page, book);
}

}  // namespace halflight::report
