#include "codes/check.hpp"

#include "codes/figures.hpp"
#include "codes/requirements.hpp"
#include "codes/zones.hpp"
#include "geometry/polygon.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::Fact;
using domain::Figure;
using domain::HowKnown;
using domain::Requirement;
using results::Finding;
using Verdict = results::Finding::Verdict;

constexpr std::string_view kOwnRules = "halflight";

// "ASHRAE/IES 90.1" -> "90.1"; "NFPA 101" -> "nfpa101".
std::string plain_code_name(const std::string& name) {
  std::string word;
  std::string plain;
  const auto flush = [&] {
    static const std::set<std::string> kPublishers = {"ansi", "ashrae", "ies", "icc", "cen", "bs", "din"};
    if (!kPublishers.contains(word)) plain += word;
    word.clear();
  };
  for (const char c : name) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte) != 0 || c == '.')
      word += static_cast<char>(std::tolower(byte));
    else
      flush();
  }
  flush();
  return plain;
}

bool is_named(const domain::Project& project, const CodeRule& rule) {
  return std::any_of(project.codes.begin(), project.codes.end(), [&](const domain::CodeEdition& named) {
    return is_same_code(named.code, rule.code) && named.edition == rule.edition;
  });
}

std::string words_of(Fact fact) {
  switch (fact) {
    case Fact::area:
      return "of floor";
    case Fact::general_lighting:
    case Fact::lighting_power_density:
      return "of general lighting";
    case Fact::luminaires:
      return "luminaire(s)";
    case Fact::primary_general_lighting:
      return "of general lighting in the primary zone";
    case Fact::primary_and_secondary_general_lighting:
      return "of general lighting in the primary and secondary zones";
    case Fact::toplit_general_lighting:
      return "of general lighting in the toplit zone";
    case Fact::automatic_on:
      return "as the sign of automatic on (1: yes)";
    case Fact::manual_stations:
      return "manual control(s)";
    case Fact::share_replaced:
      return "of the luminaires replaced";
    case Fact::added_power:
      return "more than as found";
  }
  return "";
}

std::string words_of(domain::Comparison comparison) {
  switch (comparison) {
    case domain::Comparison::above:
      return "above";
    case domain::Comparison::at_least:
      return "from";
    case domain::Comparison::below:
      return "below";
    case domain::Comparison::at_most:
      return "up to";
  }
  return "";
}

enum class Holds { yes, no, unknown };

struct Judged {
  Holds holds = Holds::yes;
  std::string text;
};

// `binds` is "the rule binds" or "the exception holds".
Judged judge(const SpaceFacts& facts, const domain::RuleCondition& condition, const char* binds) {
  const auto value = facts.value(condition.fact);
  const std::string limit = value_text(condition.figure.si, condition.figure);
  if (!value)
    return {Holds::unknown,
            fmt::format("It is not known how much is there {}; {} {} {}.", words_of(condition.fact), binds,
                        words_of(condition.comparison), limit)};
  return {holds(*value, condition.comparison, condition.figure.si) ? Holds::yes : Holds::no,
          fmt::format("{} {}; {} {} {}.", value_text(*value, condition.figure), words_of(condition.fact),
                      binds, words_of(condition.comparison), limit)};
}

Judged judge_all(const SpaceFacts& facts, const std::vector<domain::RuleCondition>& conditions,
                 const char* binds) {
  Judged all;
  std::string texts;
  for (const domain::RuleCondition& condition : conditions) {
    const Judged one = judge(facts, condition, binds);
    if (one.holds == Holds::no) return one;
    if (one.holds == Holds::unknown) all.holds = Holds::unknown;
    texts += (texts.empty() ? "" : " ") + one.text;
  }
  all.text = texts;
  return all;
}

Judged judge_any(const SpaceFacts& facts, const std::vector<domain::RuleCondition>& conditions,
                 const char* binds) {
  Judged any{Holds::no, ""};
  for (const domain::RuleCondition& condition : conditions) {
    const Judged one = judge(facts, condition, binds);
    if (one.holds == Holds::yes) return one;
    if (one.holds == Holds::unknown) any.holds = Holds::unknown;
    any.text += (any.text.empty() ? "" : " ") + one.text;
  }
  return any;
}

bool contains(const std::vector<std::string>& list, const std::string& item) {
  return std::find(list.begin(), list.end(), item) != list.end();
}

// The least certain of the rule and the figures that it rests on in this space.
Finding::Confidence confidence_of(const CodeRule& rule, const std::string& space_type) {
  if (rule.verified) return Finding::Confidence::confirmed;
  HowKnown worst = rule.how_known;
  const auto take = [&](const Figure& figure) { worst = std::max(worst, figure.how_known); };
  for (const auto& [name, figure] : rule.limits) take(figure);
  for (const auto& condition : rule.trigger) take(condition.figure);
  for (const auto& condition : rule.trigger_any) take(condition.figure);
  if (const auto own = rule.by_space_type.find(space_type); own != rule.by_space_type.end())
    take(own->second);
  switch (worst) {
    case HowKnown::confirmed:
      return Finding::Confidence::confirmed;
    case HowKnown::from_memory:
      return Finding::Confidence::from_memory;
    case HowKnown::low:
      return Finding::Confidence::low;
  }
  return Finding::Confidence::low;
}

Finding finding_of(const CodeRule& rule, const std::string& space_type) {
  Finding finding;
  finding.rule = rule.id;
  finding.code = rule.code == kOwnRules ? "" : rule.code;
  finding.edition = rule.code == kOwnRules ? "" : rule.edition;
  finding.section = rule.section;
  finding.title = rule.title;
  finding.confirmed = confidence_of(rule, space_type);
  return finding;
}

void add_caveat(Finding& finding) {
  if (finding.verdict != Verdict::pass || finding.confirmed == Finding::Confidence::confirmed) return;
  finding.evidence +=
      finding.confirmed == Finding::Confidence::low
          ? " The rule's figures are uncertain: compare them with the adopted document before any use."
          : " The rule's figures are from memory: compare them with the adopted document.";
}

// Exceptions that rest on a judgement, for the designer to claim.
std::string claimable(const CodeRule& rule) {
  std::string text;
  for (const domain::RuleException& exception : rule.exceptions)
    if (exception.conditions.empty() && exception.space_types.empty())
      text += fmt::format(" Or show with proof that this exception holds: {}", exception.text);
  return text;
}

const domain::DaylightZoneRule* zone_rule_of(const std::vector<CodeRule>& rules, const std::string& code,
                                             const std::string& edition) {
  for (const CodeRule& rule : rules)
    if (rule.requirement == Requirement::daylight_zone_definition && rule.code == code &&
        rule.edition == edition && rule.zones)
      return &*rule.zones;
  return nullptr;
}

}  // namespace

bool is_same_code(const std::string& a, const std::string& b) {
  return plain_code_name(a) == plain_code_name(b);
}

std::vector<CodeRule> rules_in_force(const domain::Project& project, const std::vector<CodeRule>& rules) {
  std::set<Requirement> named;
  for (const CodeRule& rule : rules)
    if (is_named(project, rule)) named.insert(rule.requirement);
  std::vector<CodeRule> in_force;
  for (const CodeRule& rule : rules) {
    const bool own = rule.code == kOwnRules && !(rule.fallback && named.contains(rule.requirement));
    if (own || is_named(project, rule)) in_force.push_back(rule);
  }
  return in_force;
}

Finding check_rule(const SpaceFacts& facts, const CodeRule& rule) {
  const std::string& type = facts.code_space_type;
  Finding finding = finding_of(rule, type);
  const auto give = [&](Verdict verdict, std::string evidence, std::string fix = "") {
    finding.verdict = verdict;
    finding.evidence = std::move(evidence);
    finding.fix = std::move(fix);
    finding.blocks_issue = rule.blocks_issue && verdict == Verdict::fail;
    add_caveat(finding);
    return finding;
  };

  const bool depends_on_type = !rule.space_types.empty() || !rule.excluded_space_types.empty() ||
                               !rule.judgement.empty() || !rule.by_space_type.empty();
  if (depends_on_type && type.empty())
    return give(
        Verdict::needs_evidence,
        fmt::format("The kind of space \"{}\" has no space type of the code's tables.", facts.space->kind),
        "Give the kind of space a code space type.");
  if (!rule.space_types.empty() && !contains(rule.space_types, type))
    return give(Verdict::does_not_apply, fmt::format("The rule does not list space type \"{}\".", type));
  if (contains(rule.excluded_space_types, type))
    return give(Verdict::does_not_apply, fmt::format("The rule exempts space type \"{}\".", type));

  const Judged trigger = judge_all(facts, rule.trigger, "the rule binds");
  if (trigger.holds == Holds::no) return give(Verdict::does_not_apply, trigger.text);
  Judged any;
  if (!rule.trigger_any.empty()) any = judge_any(facts, rule.trigger_any, "the rule binds");
  if (any.holds == Holds::no) return give(Verdict::does_not_apply, any.text);
  const std::string bound = trigger.text + (trigger.text.empty() || any.text.empty() ? "" : " ") + any.text;
  if (trigger.holds == Holds::unknown || any.holds == Holds::unknown)
    return give(Verdict::needs_evidence, bound, "Supply the missing fact.");

  for (const domain::RuleException& exception : rule.exceptions) {
    if (exception.conditions.empty() && exception.space_types.empty()) continue;
    if (!exception.space_types.empty() && !contains(exception.space_types, type)) continue;
    const Judged judged = judge_all(facts, exception.conditions, "the exception holds");
    if (judged.holds == Holds::yes)
      return give(Verdict::does_not_apply, fmt::format("Exception: {}{}{}", exception.text,
                                                       judged.text.empty() ? "" : " ", judged.text));
  }

  if (const auto reason = rule.judgement.find(type); reason != rule.judgement.end())
    return give(Verdict::needs_evidence, bound + (bound.empty() ? "" : " ") + reason->second,
                "Decide with the authority that enforces the code, and record why.");

  const Outcome outcome = judge_requirement(facts, rule);
  const std::string evidence =
      bound + (bound.empty() || outcome.evidence.empty() ? "" : " ") + outcome.evidence;
  return give(outcome.verdict, evidence,
              outcome.verdict == Verdict::fail ? outcome.fix + claimable(rule) : outcome.fix);
}

std::vector<Finding> check_space(const domain::Project& project, const domain::Library& library,
                                 const domain::Design& design, const domain::Space& space,
                                 const results::SpaceStudy& study, const std::vector<CodeRule>& rules) {
  const std::vector<CodeRule> in_force = rules_in_force(project, rules);
  // Editions define daylight zones differently, so that each has its own facts.
  std::map<std::pair<std::string, std::string>, SpaceFacts> facts_by_edition;
  std::vector<Finding> findings;
  for (const CodeRule& rule : in_force) {
    if (rule.requirement == Requirement::daylight_zone_definition) continue;
    const std::pair key{rule.code, rule.edition};
    auto known = facts_by_edition.find(key);
    if (known == facts_by_edition.end())
      known = facts_by_edition
                  .emplace(key, facts(project, library, design, space, study,
                                      zone_rule_of(in_force, rule.code, rule.edition)))
                  .first;
    findings.push_back(check_rule(known->second, rule));
  }
  return findings;
}

std::vector<Finding> check_building(const domain::Project& project, const domain::Library& library,
                                    const domain::Design& design, const std::vector<CodeRule>& rules) {
  std::vector<Finding> findings;
  const std::vector<CodeRule> in_force = rules_in_force(project, rules);
  for (const domain::CodeEdition& named : project.codes) {
    const bool known = std::any_of(in_force.begin(), in_force.end(), [&](const CodeRule& rule) {
      return is_same_code(named.code, rule.code) && named.edition == rule.edition;
    });
    if (known) continue;
    Finding finding;
    finding.rule = "HL-EDITION";
    finding.code = named.code;
    finding.edition = named.edition;
    finding.title = "Rule data of the adopted edition";
    finding.confirmed = Finding::Confidence::confirmed;
    finding.verdict = Verdict::needs_evidence;
    finding.evidence =
        fmt::format("There is no rule data for {} {}: nothing of it was checked.", named.code, named.edition);
    finding.fix = "Check the design against that document by hand, or name an edition of library/codes.";
    findings.push_back(finding);
  }

  for (const CodeRule& rule : in_force) {
    if (rule.requirement != Requirement::lighting_power) continue;
    Finding finding = finding_of(rule, "");
    double installed_w = 0.0;
    double allowed_w = 0.0;
    std::string unknown;
    for (const domain::Space& space : project.spaces) {
      const SpaceFacts f = facts(project, library, design, space, {}, nullptr);
      const auto allowance = rule.by_space_type.find(f.code_space_type);
      if (allowance == rule.by_space_type.end() || f.area_m2 <= 0.0) {
        unknown += (unknown.empty() ? "" : ", ") + (space.number.empty() ? space.id : space.number);
        continue;
      }
      installed_w += f.general_lighting_w;
      allowed_w += allowance->second.si * f.area_m2;
      const auto of_type = confidence_of(rule, f.code_space_type);
      if (of_type > finding.confirmed) finding.confirmed = of_type;
    }
    finding.evidence = fmt::format("{} W installed, {} W allowed, summed over the spaces.",
                                   number_text(installed_w), number_text(allowed_w));
    if (!unknown.empty()) {
      finding.verdict = Verdict::needs_evidence;
      finding.evidence += fmt::format(" Without an allowance, and left out: {}.", unknown);
      finding.fix = "Give the kinds of these spaces a space type of the table, and draw their floors.";
    } else if (at_most(installed_w, allowed_w)) {
      finding.verdict = Verdict::pass;
    } else {
      finding.verdict = Verdict::fail;
      finding.fix = fmt::format("Lower the installed power by {} W.", number_text(installed_w - allowed_w));
      finding.blocks_issue = rule.blocks_issue;
    }
    add_caveat(finding);
    findings.push_back(finding);
  }
  return findings;
}

StateClass state_class_of(const std::string& state) {
  if (state.starts_with("vacant")) return StateClass::vacant;
  if (state.starts_with("normal power lost")) return StateClass::emergency;
  return StateClass::normal;
}

EgressVerdict judge_egress(const EgressLight& light, const std::vector<CodeRule>& rules) {
  const bool emergency = light.state == StateClass::emergency;
  if (light.state == StateClass::vacant && !light.serves_other_rooms)
    return {0.0, true, "The room is empty and its path serves no other room."};
  const Requirement asked = emergency ? Requirement::egress_emergency : Requirement::egress_normal;

  EgressVerdict verdict;
  verdict.holds = true;
  std::string holding;
  std::string failing;
  int judged = 0;
  const auto compare = [&](double value, const Figure& limit, bool is_ratio, const char* noun,
                           const CodeRule& rule) {
    const bool ok = is_ratio ? at_most(value, limit.si) : at_least(value, limit.si);
    const std::string name =
        rule.code == kOwnRules ? std::string("our own rule") : rule.code + " " + rule.section;
    const std::string shown = is_ratio ? number_text(value) + ":1" : number_text(value) + " lx";
    const std::string limit_shown =
        is_ratio ? number_text(limit.si) + ":1"
                 : number_text(limit.si) + " lx" +
                       (limit.unit == "fc" ? " (" + number_text(limit.entered) + " fc)" : std::string());
    std::string& list = ok ? holding : failing;
    list += fmt::format("{}{} {}; {} {} ({}).", list.empty() ? "" : " ", noun, shown,
                        is_ratio ? "at most" : "at least", limit_shown, name);
    verdict.holds = verdict.holds && ok;
  };
  for (const CodeRule& rule : rules) {
    if (rule.requirement != asked) continue;
    const auto names = domain::required_limits(asked);
    if (!std::all_of(names.begin(), names.end(),
                     [&](auto n) { return rule.limits.contains(std::string(n)); }))
      continue;
    ++judged;
    if (emergency) {
      const auto mean_min = rule.limits.find("mean_min");
      if (mean_min != rule.limits.end()) compare(light.mean_lx, mean_min->second, false, "Mean", rule);
      compare(light.min_lx, rule.limits.at("point_min"), false, "Minimum", rule);
      const double ratio = light.min_lx > 0.0   ? light.max_lx / light.min_lx
                           : light.max_lx > 0.0 ? std::numeric_limits<double>::infinity()
                                                : 1.0;
      compare(ratio, rule.limits.at("ratio_max"), true, "Maximum to minimum", rule);
      const Figure& headline = mean_min != rule.limits.end() ? mean_min->second : rule.limits.at("point_min");
      verdict.limit_lx = std::max(verdict.limit_lx, headline.si);
    } else {
      // Stairs must be brightly lit while they are used; empty, they are lit as any path.
      const bool stair_in_use =
          light.surface == domain::EgressPath::Surface::stair && light.state == StateClass::normal;
      const Figure& limit = rule.limits.at(stair_in_use ? "stair_min" : "level_min");
      compare(light.min_lx, limit, false, "Minimum", rule);
      verdict.limit_lx = std::max(verdict.limit_lx, limit.si);
    }
  }
  if (judged == 0) return {0.0, false, "No egress rule is in force for this state."};
  verdict.why = verdict.holds ? holding : failing;
  return verdict;
}

}  // namespace halflight::codes
