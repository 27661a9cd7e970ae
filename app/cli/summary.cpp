#include "cli/summary.hpp"

#include "wording/egress.hpp"
#include "wording/figures.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <fmt/format.h>

namespace halflight::cli {

namespace {

using results::Case;
using results::Estimate;
using results::Finding;
using results::SpaceStudy;
using results::Study;

/// Number of characters on screen: UTF-8 continuation bytes take no place.
std::size_t width_of(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

/// Rows of cells in columns as wide as their widest cell; the first is left-aligned, the rest right.
std::string table_text(const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], width_of(row[c]));
  }
  std::string text;
  for (const auto& row : rows) {
    std::string line = "  ";
    for (std::size_t c = 0; c < row.size(); ++c) {
      const std::string padding(widths[c] - width_of(row[c]), ' ');
      line += (c == 0 ? row[c] + padding : "   " + padding + row[c]);
    }
    text += line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
  }
  return text;
}

std::string number_text(double value) {
  // No minus before a zero.
  const double rounded = std::round(value);
  return fmt::format("{:.0f}", rounded == 0.0 ? 0.0 : rounded);
}

/// The figure with no more digits than its interval carries, and none after the point.
std::string figure_text(double mean, double low, double high) {
  return wording::rounded(mean, std::max(0, wording::decimal_place(mean, low, high)));
}

/// Means add exactly; the interval is that of the light, which is nearly all of it.
std::string kwh_text(const results::CaseYear& year) {
  const double standby_kwh = year.standby_kwh.mean;
  return figure_text(year.lighting_kwh.mean + standby_kwh, year.lighting_kwh.low + standby_kwh,
                     year.lighting_kwh.high + standby_kwh);
}

bool is_mostly_standby(const SpaceStudy& space) {
  const results::CaseYear& proposal = space.cases[static_cast<std::size_t>(Case::proposal)];
  return proposal.standby_kwh.mean > proposal.lighting_kwh.mean;
}

std::string energy_table(const Study& study) {
  std::vector<std::vector<std::string>> rows = {
      {"Space", "m2", "W/m2", "as found", "relamped", "code min.", "proposal", "saving against as found"}};
  bool any_standby = false;
  for (const SpaceStudy& space : study.spaces) {
    if (!space.studied) continue;
    std::vector<std::string> row = {space.number.empty() ? space.name : space.number + " " + space.name,
                                    number_text(space.area_m2), fmt::format("{:.1f}", space.lpd_w_m2)};
    for (const results::CaseYear& year : space.cases) row.push_back(kwh_text(year));
    const bool marked = is_mostly_standby(space);
    any_standby |= marked;
    row.push_back(percent_text(space.saving.against_as_found) + (marked ? " *" : ""));
    rows.push_back(std::move(row));
  }
  const results::BuildingTotals& totals = study.totals;
  std::vector<std::string> total = {
      "Total", number_text(totals.area_m2),
      totals.area_m2 > 0.0 ? fmt::format("{:.1f}", totals.connected_w / totals.area_m2) : "-"};
  for (const Estimate& kwh : totals.kwh) total.push_back(figure_text(kwh.mean, kwh.low, kwh.high));
  total.push_back(percent_text(totals.saving.against_as_found));
  rows.push_back(std::move(total));
  return "Energy of lighting and its standby, kWh a year\n" + table_text(rows) +
         (any_standby ? "  * more than half of the proposal's energy is standby of equipment that stands in "
                        "this room\n"
                      : "");
}

std::string saving_block(const results::BuildingTotals& totals) {
  return "\nSaving of the proposal (5th to 95th percentile)\n" +
         table_text(
             {{"against as found", percent_text(totals.saving.against_as_found)},
              {"  as such systems are usually found", percent_text(totals.saving_as_usually_found)},
              {"against new luminaires, old controls", percent_text(totals.saving.against_relamped)},
              {"against the least that code allows", percent_text(totals.saving.against_code_minimum)}});
}

/// The states of one egress path of a space.
struct PathVerdict {
  std::string path;
  int states = 0;
  int failing = 0;
  std::string first_failure;
};

std::vector<PathVerdict> path_verdicts(const SpaceStudy& space) {
  std::vector<PathVerdict> verdicts;
  for (const results::EgressState& state : space.egress) {
    auto verdict = std::find_if(verdicts.begin(), verdicts.end(),
                                [&](const PathVerdict& v) { return v.path == state.path; });
    if (verdict == verdicts.end()) verdict = verdicts.insert(verdicts.end(), {state.path, 0, 0, ""});
    ++verdict->states;
    if (state.holds) continue;
    if (++verdict->failing == 1) verdict->first_failure = state.state + ": " + state.why;
  }
  return verdicts;
}

std::string egress_block(const Study& study) {
  std::size_t judged = 0;
  std::string failing;
  for (const SpaceStudy& space : study.spaces) {
    judged += space.egress.size();
    for (const PathVerdict& path : path_verdicts(space)) {
      if (path.failing == 0) continue;
      failing += fmt::format("  fails   {} {} in {} of {} states; {}\n", space.number, path.path,
                             path.failing, path.states, path.first_failure);
    }
  }
  if (judged == 0) return "\nEgress: no path was judged\n";
  if (failing.empty()) return fmt::format("\nEgress: holds in all {} states judged\n", judged);
  return "\nEgress: does not hold\n" + failing;
}

const char* words_of(Finding::Verdict verdict) {
  return verdict == Finding::Verdict::fail ? "fails" : "needs evidence";
}

std::string code_block(const Study& study) {
  std::array<int, 4> counts{};
  std::string failing;
  std::string own;
  for (const SpaceStudy& space : study.spaces) {
    for (const Finding& finding : space.findings) {
      if (finding.code.empty() || finding.code == "halflight") {
        if (finding.verdict == Finding::Verdict::fail ||
            finding.verdict == Finding::Verdict::needs_evidence) {
          own += fmt::format("  {:<16}{} {}: {}\n", words_of(finding.verdict), space.number, finding.title,
                             wording::told_by_path(space, finding.evidence));
        }
        continue;
      }
      ++counts[static_cast<std::size_t>(finding.verdict)];
      if (finding.verdict == Finding::Verdict::fail) {
        failing +=
            fmt::format("  fails   {} {} {} {} {}: {}\n", space.number, finding.code, finding.edition,
                        finding.section, finding.title, wording::told_by_path(space, finding.evidence));
      }
    }
  }
  std::string text = fmt::format("\nCode: {} pass, {} fail, {} need evidence, {} do not apply\n{}", counts[0],
                                 counts[1], counts[3], counts[2], failing);
  if (!own.empty()) text += "\nRules of our own\n" + own;
  return text;
}

std::string reason_by_path(const Study& study, const std::string& reason) {
  for (const SpaceStudy& space : study.spaces)
    if (reason.starts_with(space.number + " " + space.name + ": "))
      return wording::told_by_path(space, reason);
  return reason;
}

std::string missing_block(const Study& study) {
  std::string text;
  for (const SpaceStudy& space : study.spaces) {
    if (!space.studied)
      text += fmt::format("  {} {}: {}\n", space.number, space.name, space.not_studied_because);
  }
  if (!text.empty()) text = "\nNot studied\n" + text;
  if (!study.may_be_issued) {
    text += "\nNot to be issued because\n";
    for (const std::string& reason : study.not_to_be_issued_because)
      text += "  " + reason_by_path(study, reason) + "\n";
  }
  return text;
}

}  // namespace

std::string percent_text(const Estimate& fraction) {
  // To the place that the interval carries, and none after the point.
  const double step =
      std::pow(10.0, std::max(0, wording::decimal_place(100.0 * fraction.mean, 100.0 * fraction.low,
                                                        100.0 * fraction.high)));
  const auto text = [&](double f) { return number_text(std::round(100.0 * f / step) * step) + " %"; };
  return fmt::format("{} ({} to {})", text(fraction.mean), text(fraction.low), text(fraction.high));
}

/// What the accuracy bought: how far off the calculation may be, beside what is not known of the rooms.
std::string light_block(const Study& study) {
  std::vector<double> calculation;
  std::vector<double> rooms;
  for (const SpaceStudy& space : study.spaces)
    for (const results::GroupLight& group : space.electric)
      for (const results::TaskAreaLight& light : group.task_areas) {
        if (!light.state.starts_with("trimmed") || light.mean_lx <= 0.0) continue;
        calculation.push_back(light.error_lx / light.mean_lx);
        rooms.push_back(1.96 * light.input_spread_lx / light.mean_lx);
      }
  if (calculation.empty()) return {};
  std::sort(calculation.begin(), calculation.end());
  std::sort(rooms.begin(), rooms.end());
  const auto middle = [](const std::vector<double>& sorted) { return 100.0 * sorted[sorted.size() / 2]; };
  return fmt::format(
      "\nElectric light on task areas ({}): the calculation is within {:.1f} % (median; {:.1f} % at most) "
      "at 19 of 20 points;\n"
      "  reflectances, photometry and light loss leave {:.0f} % (median) in the mean\n",
      calculation.size(), middle(calculation), 100.0 * calculation.back(), middle(rooms));
}

std::string summary_text(const Study& study) {
  std::string text =
      fmt::format("{}\n  {} replicates, seed {}, accuracy {}; climate: {}\n\n", study.project_name,
                  study.replicates, study.seed, study.accuracy, study.climate);
  const bool any_studied =
      std::any_of(study.spaces.begin(), study.spaces.end(), [](const SpaceStudy& s) { return s.studied; });
  if (any_studied) {
    text += energy_table(study) + saving_block(study.totals) + light_block(study) + egress_block(study) +
            code_block(study);
  } else {
    text += "No space could be studied.\n";
  }
  text += missing_block(study);
  return text + "\n" + caution_text();
}

std::string caution_text() {
  return "Estimates, not guarantees. A calculation is not an approval: local codes and the authority that "
         "enforces\n"
         "them govern, and egress lighting is a life-safety design of its own.\n";
}

std::string explained_text(const sim::ExplainedInstant& instant, const domain::Project& project) {
  std::string text;
  for (const sim::ExplainedSpace& one : instant.spaces) {
    const domain::Space& space = project.spaces[one.space];
    text += fmt::format("\n{} {}\n", space.number.empty() ? space.id : space.number, space.name);
    if (!one.not_explained_because.empty()) {
      text += fmt::format("  cannot be explained: {}\n", one.not_explained_because);
      continue;
    }
    for (const std::string& sentence : one.moment.sentences) text += "  " + sentence + "\n";
    if (one.groups.empty()) continue;
    std::vector<std::vector<std::string>> rows = {{"", "level", "W", "decided by", "limited by"}};
    for (const sim::GroupAtWork& group : one.groups)
      rows.push_back({group.name, group.level > 0.0 ? fmt::format("{:.0f} %", 100.0 * group.level) : "off",
                      fmt::format("{:.1f}", group.power_w), group.decided_by, group.limited_by});
    text += table_text(rows);
  }
  return text;
}

std::string cache_report_text(const results::CacheReport& report) {
  std::vector<std::vector<std::string>> rows = {{"Stage", "computed", "from the cache"}};
  for (const results::CacheReport::Stage& stage : report.stages) {
    rows.push_back({stage.name, std::to_string(stage.computed), std::to_string(stage.reused)});
  }
  return table_text(rows);
}

}  // namespace halflight::cli
