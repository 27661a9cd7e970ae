#include "cli/requirement.hpp"

#include "cli/number.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

namespace halflight::cli {

namespace {

using results::Case;
using results::Estimate;
using results::Finding;
using results::SpaceStudy;
using results::Study;
using Figure = std::optional<double>;

bool any_studied(const Study& study) {
  return std::any_of(study.spaces.begin(), study.spaces.end(), [](const SpaceStudy& s) { return s.studied; });
}

Figure if_studied(const Study& study, double value) {
  return any_studied(study) ? Figure(value) : std::nullopt;
}

template <Estimate results::Savings::*against>
Figure saving_mean(const Study& study) {
  return if_studied(study, (study.totals.saving.*against).mean);
}
template <Estimate results::Savings::*against>
Figure saving_low(const Study& study) {
  return if_studied(study, (study.totals.saving.*against).low);
}

template <Case which>
Figure kwh(const Study& study) {
  return if_studied(study, study.totals.kwh[static_cast<std::size_t>(which)].mean);
}
template <Case which>
Figure kwh_per_m2(const Study& study) {
  if (study.totals.area_m2 <= 0.0) return std::nullopt;
  return if_studied(study, study.totals.kwh[static_cast<std::size_t>(which)].mean / study.totals.area_m2);
}

template <class Predicate>
double count_findings(const Study& study, Predicate counts) {
  double count = 0;
  for (const SpaceStudy& space : study.spaces) {
    count += static_cast<double>(std::count_if(space.findings.begin(), space.findings.end(), counts));
  }
  return count;
}
template <Finding::Verdict verdict>
Figure code_verdicts(const Study& study) {
  return if_studied(
      study, count_findings(study, [](const Finding& f) { return !f.code.empty() && f.verdict == verdict; }));
}

double count_egress(const Study& study, bool holds) {
  double count = 0;
  for (const SpaceStudy& space : study.spaces) {
    count += static_cast<double>(
        std::count_if(space.egress.begin(), space.egress.end(),
                      [holds](const results::EgressState& e) { return e.holds == holds; }));
  }
  return count;
}

Figure egress_holds(const Study& study) {
  const double failing = count_egress(study, false);
  if (failing + count_egress(study, true) == 0) return std::nullopt;  // nothing was judged
  return failing == 0 ? 1.0 : 0.0;
}

Figure worst_task_ratio(const Study& study) {
  Figure worst;
  for (const SpaceStudy& space : study.spaces) {
    for (const results::GroupLight& group : space.electric) {
      if (group.group != "all") continue;
      for (const results::TaskAreaLight& task : group.task_areas) {
        if (task.state != "maintained" || task.target_lx <= 0.0) continue;
        worst = std::min(worst.value_or(1e300), task.mean_lx / task.target_lx);
      }
    }
  }
  return worst;
}

double count_spaces(const Study& study, bool studied) {
  return static_cast<double>(std::count_if(study.spaces.begin(), study.spaces.end(),
                                           [studied](const SpaceStudy& s) { return s.studied == studied; }));
}

constexpr std::array kFigures = {
    RequirableFigure{"saving_against_as_found", "saving of the proposal against as found, fraction",
                     saving_mean<&results::Savings::against_as_found>},
    RequirableFigure{"saving_low_against_as_found", "its 5th percentile",
                     saving_low<&results::Savings::against_as_found>},
    RequirableFigure{"saving_against_relamped", "saving against new luminaires with old controls, fraction",
                     saving_mean<&results::Savings::against_relamped>},
    RequirableFigure{"saving_low_against_relamped", "its 5th percentile",
                     saving_low<&results::Savings::against_relamped>},
    RequirableFigure{"saving_against_code_minimum", "saving against the least that code allows, fraction",
                     saving_mean<&results::Savings::against_code_minimum>},
    RequirableFigure{"saving_low_against_code_minimum", "its 5th percentile",
                     saving_low<&results::Savings::against_code_minimum>},
    RequirableFigure{
        "saving_as_usually_found",
        "saving against as found with the faults that such systems are usually found with, fraction",
        [](const Study& s) { return if_studied(s, s.totals.saving_as_usually_found.mean); }},
    RequirableFigure{"saving_low_as_usually_found", "its 5th percentile",
                     [](const Study& s) { return if_studied(s, s.totals.saving_as_usually_found.low); }},
    RequirableFigure{"as_found_kwh", "energy of a year as found, kWh", kwh<Case::as_found>},
    RequirableFigure{"proposal_kwh", "energy of a year of the proposal, kWh", kwh<Case::proposal>},
    RequirableFigure{"as_found_kwh_per_m2", "the same by floor area, kWh/m2", kwh_per_m2<Case::as_found>},
    RequirableFigure{"proposal_kwh_per_m2", "the same by floor area, kWh/m2", kwh_per_m2<Case::proposal>},
    RequirableFigure{"connected_w_per_m2", "connected power of the proposal by floor area, W/m2",
                     [](const Study& s) -> Figure {
                       if (s.totals.area_m2 <= 0.0) return std::nullopt;
                       return s.totals.connected_w / s.totals.area_m2;
                     }},
    RequirableFigure{"worst_task_ratio",
                     "smallest maintained mean over its target, of all task areas, all lights on",
                     worst_task_ratio},
    RequirableFigure{"egress_holds", "1 when every egress path holds in every state, else 0", egress_holds},
    RequirableFigure{"egress_failures", "states of egress paths that do not hold, count",
                     [](const Study& s) { return if_studied(s, count_egress(s, false)); }},
    RequirableFigure{"code_failures", "code verdicts \"fail\", count", code_verdicts<Finding::Verdict::fail>},
    RequirableFigure{"code_needs_evidence", "code verdicts \"needs evidence\", count",
                     code_verdicts<Finding::Verdict::needs_evidence>},
    RequirableFigure{"code_passes", "code verdicts \"pass\", count", code_verdicts<Finding::Verdict::pass>},
    RequirableFigure{"own_rule_failures", "rules of our own that fail (\"halflight\" in the library), count",
                     [](const Study& s) {
                       return if_studied(s, count_findings(s, [](const Finding& f) {
                                           return f.code.empty() && f.verdict == Finding::Verdict::fail;
                                         }));
                     }},
    RequirableFigure{"spaces_studied", "spaces studied, count",
                     [](const Study& s) -> Figure { return count_spaces(s, true); }},
    RequirableFigure{"spaces_not_studied", "spaces that could not be studied, count",
                     [](const Study& s) -> Figure { return count_spaces(s, false); }},
    RequirableFigure{"may_be_issued", "1 when nothing stands against issuing the design, else 0",
                     [](const Study& s) -> Figure { return s.may_be_issued ? 1.0 : 0.0; }},
};

std::string known_names() {
  std::string names;
  for (const RequirableFigure& figure : kFigures)
    names += (names.empty() ? "" : ", ") + std::string(figure.name);
  return names;
}

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == text.npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

std::optional<double> parse_bound(std::string_view text) {
  if (text == "true") return 1.0;
  if (text == "false") return 0.0;
  return parse_number<double>(text);
}

}  // namespace

std::span<const RequirableFigure> requirable_figures() { return kFigures; }

Result<Requirement> parse_requirement(std::string_view text) {
  const auto refuse = [&](std::string problem, std::string remedy) {
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::error, "--require", "", std::move(problem), std::move(remedy)}});
  };
  const std::size_t at = text.find_first_of("<>=");
  const std::string_view sign = at == text.npos ? std::string_view() : text.substr(at, 2);
  Requirement requirement;
  requirement.text = text;
  if (sign == ">=") {
    requirement.comparison = Requirement::Comparison::at_least;
  } else if (sign == "<=") {
    requirement.comparison = Requirement::Comparison::at_most;
  } else if (sign == "==") {
    requirement.comparison = Requirement::Comparison::equal;
  } else {
    return refuse(fmt::format("'{}' has no comparison", text),
                  "write NAME>=VALUE, NAME<=VALUE or NAME==VALUE");
  }
  const std::string_view name = trimmed(text.substr(0, at));
  const auto* figure = std::find_if(kFigures.begin(), kFigures.end(),
                                    [name](const RequirableFigure& f) { return name == f.name; });
  if (figure == kFigures.end())
    return refuse(fmt::format("'{}' is not a figure of a study", name), "one of " + known_names());
  requirement.figure = figure;
  const std::string_view bound_text = trimmed(text.substr(at + 2));
  const auto bound = parse_bound(bound_text);
  if (!bound) {
    return refuse(fmt::format("'{}' is not a number", bound_text),
                  "write a number such as 0.25, or true or false");
  }
  requirement.bound = *bound;
  return requirement;
}

Judgement judge(const Requirement& requirement, const results::Study& study) {
  const auto value = requirement.figure->value(study);
  if (!value) return {false, fmt::format("does not hold: {} (the study cannot tell)", requirement.text)};
  const bool holds = [&] {
    switch (requirement.comparison) {
      case Requirement::Comparison::at_least:
        return *value >= requirement.bound;
      case Requirement::Comparison::at_most:
        return *value <= requirement.bound;
      case Requirement::Comparison::equal:
        return *value == requirement.bound;
    }
    return false;
  }();
  return {holds,
          fmt::format("{}: {} (is {:.6g})", holds ? "holds" : "does not hold", requirement.text, *value)};
}

}  // namespace halflight::cli
