#include "codes/code_minimum.hpp"

#include "codes/check.hpp"
#include "codes/facts.hpp"
#include "codes/figures.hpp"
#include "codes/zones.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::Requirement;
using results::DaylightZone;
using results::Finding;

const char* word_of(DaylightZone::Kind kind) {
  switch (kind) {
    case DaylightZone::Kind::primary:
      return "primary";
    case DaylightZone::Kind::secondary:
      return "secondary";
    case DaylightZone::Kind::toplit:
      return "toplit";
  }
  return "";
}

// Phrases joined with "; ".
class Phrases {
 public:
  void add(const std::string& phrase) { text_ += (text_.empty() ? "" : "; ") + phrase; }
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  std::string text_;
};

// Builds the sequence rule by rule; every choice is the one that saves least among those that comply.
class Minimum {
 public:
  Minimum(SpaceFacts facts, const domain::Sequence* proposed)
      : facts_(std::move(facts)), proposed_(proposed) {
    sequence_.space = facts_.space->id;
    facts_.sequence = sequence_;  // a blank sequence: levels are judged without the proposal's trim
  }

  // Whether a rule asks for anything here: it is in scope and triggered, and no exception or judgement
  // intervenes. The blank sequence fails every rule that asks for something.
  [[nodiscard]] bool binds(const CodeRule& rule) const {
    const Finding::Verdict verdict = check_rule(facts_, rule).verdict;
    const bool judged = rule.judgement.contains(facts_.code_space_type);
    return verdict == Finding::Verdict::fail ||
           (verdict == Finding::Verdict::needs_evidence && !judged && !facts_.code_space_type.empty());
  }

  // Strictest comes last to win: the smaller delay, the deeper step.
  void shut_off(const std::vector<CodeRule>& rules) {
    bool full_off = false;
    bool steps = false;
    bool swept = false;
    bool zones = false;
    double delay_s = 1e9;
    double reduction = 0.0;
    for (const CodeRule& rule : rules) {
      switch (rule.requirement) {
        case Requirement::vacancy_off:
          if (!binds(rule)) break;
          full_off = true;
          delay_s = std::min(delay_s, rule.limits.at("delay_max").si);
          break;
        case Requirement::vacancy_reduction:
        case Requirement::vacancy_zones:
          if (!binds(rule)) break;
          steps = true;
          delay_s = std::min(delay_s, rule.limits.at("delay_max").si);
          reduction = std::max(reduction, rule.limits.at("reduction_min").si);
          if (rule.requirement == Requirement::vacancy_zones) {
            zones = true;
            if (limit_of(rule, "schedule_may_turn_off").value_or(0.0) > 0.0)
              swept = true;
            else
              full_off = true;
          }
          break;
        case Requirement::scheduled_off:
        case Requirement::vacancy_or_scheduled_off:
          if (!binds(rule)) break;
          if (!swept) override_s_ = rule.limits.at("override_max").si;
          swept = true;
          override_s_ = std::min(override_s_, rule.limits.at("override_max").si);
          break;
        default:
          break;
      }
    }
    // A room that is off by vacancy needs no schedule as well.
    if (full_off) {
      vacate(delay_s, 0.0);
      said_.add(fmt::format("off {} after the last person leaves{}", minutes(delay_s),
                            zones ? ", zone by zone" : ""));
      return;
    }
    if (steps) step_down(delay_s, reduction, zones);
    if (swept) sweep();
  }

  void on(const std::vector<CodeRule>& rules) {
    using By = domain::OnRule::By;
    double power_max = 1.0;
    for (const CodeRule& rule : rules)
      if (rule.requirement == Requirement::automatic_on_limit && in_scope(rule))
        power_max = std::min(power_max, rule.limits.at("power_max").si);
    const bool automatic_allowed = facts_.project->requirements.automatic_on_allowed;
    const bool proposed_by_hand = proposed_ == nullptr || proposed_->on.by == By::hand;
    if (!automatic_allowed ||
        (!sequence_.vacancy && (!sequence_.schedule || power_max < 1.0 || proposed_by_hand))) {
      sequence_.on.by = By::hand;
      said_.add("on by hand");
      return;
    }
    if (!sequence_.vacancy) {
      sequence_.on.by = By::schedule;
      said_.add("on by schedule at opening");
      return;
    }
    const auto level = power_max < 1.0 ? facts_.level_at_power(power_max) : std::optional(1.0);
    const double rounded = level ? std::floor(*level * 100.0 + 1e-6) / 100.0 : 0.0;
    if (rounded <= 0.0) {
      sequence_.on.by = By::hand;
      said_.add("on by hand, because the luminaires cannot come on at part of their power");
      return;
    }
    sequence_.on.by = By::occupancy;
    sequence_.on.level = rounded;
    if (power_max < 1.0)
      said_.add(fmt::format("occupancy brings on at most {} of power (level {}), the rest by hand",
                            percent_text(power_max), percent_text(rounded)));
    else
      said_.add("occupancy brings the light on");
  }

  void daylight(const std::vector<CodeRule>& rules) {
    std::set<std::string> kinds;
    for (const CodeRule& rule : rules)
      if (rule.requirement == Requirement::daylight_control && binds(rule))
        kinds.insert(rule.zone_kinds.begin(), rule.zone_kinds.end());
    for (const std::string kind : {"toplit", "primary", "secondary"})
      if (kinds.contains(kind)) daylight_in(kind, rules);
  }

  void by_hand(const std::vector<CodeRule>& rules) {
    for (const CodeRule& rule : rules) {
      if (rule.requirement == Requirement::light_reduction && in_scope(rule)) {
        said_.add("people can cut the light by half");
        not_modelled_.add("how often people use the light reduction");
        break;
      }
    }
    if (proposed_ != nullptr && proposed_->manual) {
      sequence_.manual = proposed_->manual;
      sequence_.manual->holds_until = sequence_.vacancy ? domain::ManualRule::HoldsUntil::vacancy
                                                        : domain::ManualRule::HoldsUntil::schedule;
    }
  }

  void refuse_automatic_off() { said_.add("by hand only: automatic off is refused here"); }

  [[nodiscard]] domain::Sequence sequence() const { return sequence_; }
  [[nodiscard]] std::string contents() const {
    return said_.text() + (not_modelled_.text().empty() ? "" : "; not modelled: " + not_modelled_.text());
  }

 private:
  static std::string minutes(double s) { return number_text(s / 60.0) + " min"; }

  // In scope and not excepted, whether or not the blank sequence satisfies it.
  [[nodiscard]] bool in_scope(const CodeRule& rule) const {
    return check_rule(facts_, rule).verdict != Finding::Verdict::does_not_apply &&
           !rule.judgement.contains(facts_.code_space_type) && !facts_.code_space_type.empty();
  }

  void vacate(double delay_s, double level) {
    domain::VacancyRule rule;
    rule.delay_s = delay_s;
    rule.step_level = level;
    rule.off_after_s = -1.0;
    rule.warning_s = 0.0;  // no code asks for a warning
    sequence_.vacancy = rule;
  }

  void step_down(double delay_s, double reduction, bool zones) {
    const auto level = facts_.level_at_power(1.0 - reduction);
    const double rounded = level ? std::floor(*level * 100.0 + 1e-6) / 100.0 : 0.0;
    vacate(delay_s, rounded);
    if (rounded > 0.0)
      said_.add(fmt::format("power falls by {} (to level {}) {} after {} is empty", percent_text(reduction),
                            percent_text(rounded), minutes(delay_s), zones ? "a zone" : "the space"));
    else
      said_.add(fmt::format("off {} after the space is empty, because the luminaires cannot go {} lower",
                            minutes(delay_s), percent_text(reduction)));
  }

  void sweep() {
    domain::ScheduleRule rule;
    if (proposed_ != nullptr && proposed_->schedule) rule.calendar = proposed_->schedule->calendar;
    if (rule.calendar.empty()) rule.calendar = facts_.space->occupancy.calendar;
    if (rule.calendar.empty()) {
      not_modelled_.add("off by time switch, because the space has no calendar");
      return;
    }
    rule.sweeps_off = true;
    rule.override_s = override_s_;
    sequence_.schedule = rule;
    said_.add(fmt::format("a time switch turns off outside the open hours, with an override of {}",
                          minutes(override_s_)));
  }

  void daylight_in(const std::string& kind, const std::vector<CodeRule>& rules) {
    double zone_w = 0.0;
    for (const DaylightZone& zone : facts_.zones)
      if (word_of(zone.kind) == kind) zone_w += zone.general_lighting_w;
    double light_max = 1.0;
    bool off = false;
    for (const CodeRule& rule : rules) {
      if (rule.requirement == Requirement::daylight_dims && applies_by_type(rule))
        light_max = std::min(light_max, limit_of(rule, "light_max").value_or(1.0));
      off = off || (rule.requirement == Requirement::daylight_off && applies_by_type(rule));
    }

    std::set<std::string> reused;
    double governed_w = 0.0;
    for (const LuminaireFacts& luminaire : facts_.luminaires) {
      if (luminaire.zone < 0 || word_of(facts_.zones[static_cast<std::size_t>(luminaire.zone)].kind) != kind)
        continue;
      for (const LuminaireFacts::Channel& channel : luminaire.channels)
        if (const domain::DaylightRule* rule = proposed_rule(channel)) {
          governed_w += channel.input_w;
          reused.insert(rule->group);
          add_daylight_rule(*rule, light_max, off);
        }
    }
    if (!reused.empty()) {
      std::string names;
      for (const std::string& group : reused) names += (names.empty() ? "" : ", ") + group;
      said_.add(fmt::format(
          "daylight response in the {} zone ({} W) by group {}, to {} of light{}", kind, number_text(zone_w),
          names, light_max < 1.0 ? percent_text(light_max) : "the drivers' minimum", off ? " and off" : ""));
    }
    if (!at_least(governed_w, zone_w))
      not_modelled_.add(
          fmt::format("daylight response of {} W in the {} zone, which the proposal puts in no daylight "
                      "group with a photosensor",
                      number_text(zone_w - governed_w), kind));
  }

  // Rules about how daylight control works have no finding before there is such control: only their scope
  // counts.
  [[nodiscard]] bool applies_by_type(const CodeRule& rule) const {
    const auto listed = [&](const std::vector<std::string>& types) {
      return std::find(types.begin(), types.end(), facts_.code_space_type) != types.end();
    };
    return (rule.space_types.empty() || listed(rule.space_types)) && !listed(rule.excluded_space_types);
  }

  [[nodiscard]] const domain::DaylightRule* proposed_rule(const LuminaireFacts::Channel& channel) const {
    if (proposed_ == nullptr) return nullptr;
    for (const domain::DaylightRule& rule : proposed_->daylight)
      if (channel.groups.contains(rule.group) &&
          domain::find_by_id(facts_.design->photosensors, rule.photosensor) != nullptr)
        return &rule;
    return nullptr;
  }

  void add_daylight_rule(const domain::DaylightRule& proposed, double light_max, bool off) {
    for (const domain::DaylightRule& known : sequence_.daylight)
      if (known.group == proposed.group) return;
    domain::DaylightRule rule = proposed;
    if (light_max < 1.0) rule.minimum_level = light_max;
    rule.may_switch_off = off;
    sequence_.daylight.push_back(rule);
  }

  SpaceFacts facts_;
  const domain::Sequence* proposed_;
  domain::Sequence sequence_;
  double override_s_ = 7200.0;
  Phrases said_;
  Phrases not_modelled_;
};

}  // namespace

const domain::DaylightZoneRule* adopted_zone_rule(const domain::Project& project,
                                                  const std::vector<CodeRule>& rules) {
  for (const domain::CodeEdition& named : project.codes)
    for (const CodeRule& rule : rules)
      if (rule.requirement == Requirement::daylight_zone_definition && rule.zones &&
          is_same_code(named.code, rule.code) && named.edition == rule.edition)
        return &*rule.zones;
  return nullptr;
}

domain::Sequence code_minimum_sequence(const domain::Project& project, const domain::Library& library,
                                       const domain::Design& proposal, const domain::Space& space,
                                       const std::vector<CodeRule>& rules,
                                       const std::vector<DaylightZone>& zones, std::string* contents) {
  std::vector<CodeRule> in_force = rules_in_force(project, rules);
  std::erase_if(in_force, [](const CodeRule& rule) {  // what cannot be judged asks for nothing
    const auto names = domain::required_limits(rule.requirement);
    return !std::all_of(names.begin(), names.end(),
                        [&](auto n) { return rule.limits.contains(std::string(n)); });
  });
  const domain::DaylightZoneRule* zone_rule = adopted_zone_rule(project, in_force);
  SpaceFacts f = facts(project, library, proposal, space, {}, nullptr);
  f.zones = zones;
  f.zones_known = true;
  const auto inside = luminaires_by_zone(project, proposal, space, zones,
                                         zone_rule != nullptr ? zone_rule->luminaire_share_min : 0.0);
  for (std::size_t z = 0; z < inside.size(); ++z)
    for (LuminaireFacts& luminaire : f.luminaires)
      if (std::count(inside[z].begin(), inside[z].end(), luminaire.id) > 0)
        luminaire.zone = static_cast<int>(z);

  const bool refused = f.automatic_off_refused;
  const bool any_energy_rule = std::any_of(in_force.begin(), in_force.end(), [](const CodeRule& rule) {
    return rule.family == domain::RuleFamily::automatic_shut_off && rule.code != "halflight";
  });
  Minimum minimum(std::move(f), domain::find_sequence(proposal, space.id));
  if (refused)
    minimum.refuse_automatic_off();
  else
    minimum.shut_off(in_force);
  minimum.on(in_force);
  if (!refused) minimum.daylight(in_force);
  minimum.by_hand(in_force);
  if (contents != nullptr)
    *contents = (any_energy_rule ? "" : "no adopted energy code has rule data here; ") + minimum.contents();
  return minimum.sequence();
}

}  // namespace halflight::codes
