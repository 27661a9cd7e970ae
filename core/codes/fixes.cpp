#include "codes/fixes.hpp"

#include "codes/figures.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace halflight::codes {
namespace {

using domain::CodeRule;
using domain::Requirement;
using results::Finding;

class Fixes {
 public:
  Fixes(const domain::Project& project, const domain::Design& design, const domain::Space& space)
      : design_(design), space_(space) {
    const auto d = &design - project.designs.data();
    for (std::size_t s = 0; s < design.sequences.size(); ++s)
      if (design.sequences[s].space == space.id) {
        sequence_ = &design.sequences[s];
        at_ = fmt::format("/designs/{}/sequences/{}", d, s);
        break;
      }
  }

  void mend(const Finding& finding, const CodeRule& rule) {
    if (sequence_ == nullptr) return;
    const std::string because = rule.code + " " + rule.section + ": " + finding.evidence;
    switch (rule.requirement) {
      case Requirement::vacancy_off:
        vacate(rule, because, 0.0);
        break;
      case Requirement::vacancy_reduction:
      case Requirement::vacancy_zones:
        // A level has, on dimming drivers, at least the power of the same fraction; a tenth lower than asked
        // leaves room for what the driver draws at low light.
        vacate(rule, because, std::max(0.0, 0.9 - rule.limits.at("reduction_min").si));
        break;
      case Requirement::scheduled_off:
        schedule(rule, because);
        break;
      case Requirement::vacancy_or_scheduled_off:
        if (sequence_->schedule)
          schedule(rule, because);
        else
          vacate(rule, because, 0.0);
        break;
      case Requirement::automatic_on_limit:
        add("/on/by", "\"hand\"", because);
        break;
      case Requirement::daylight_control:
        add_daylight(because);
        break;
      case Requirement::daylight_dims:
        if (const auto light_max = limit_of(rule, "light_max"))
          each_daylight([&](const domain::DaylightRule& daylight, const std::string& at) {
            if (!at_most(daylight.minimum_level, *light_max))
              add(at + "/minimum_level", number_text(*light_max), because);
          });
        break;
      case Requirement::daylight_off:
        each_daylight([&](const domain::DaylightRule& daylight, const std::string& at) {
          if (!daylight.may_switch_off) add(at + "/may_switch_off", "true", because);
        });
        break;
      case Requirement::warning_before_off:
        if (const auto least_s = limit_of(rule, "warning_min"); least_s && sequence_->vacancy) {
          if (!at_least(sequence_->vacancy->warning_s, *least_s))
            add("/vacancy/warning", seconds_text(*least_s), because);
          else
            add("/vacancy/warning_level", "0.5", because);
        }
        break;
      default:
        break;
    }
  }

  [[nodiscard]] std::vector<Edit> edits() const { return edits_; }

 private:
  static std::string seconds_text(double s) { return fmt::format("\"{} s\"", number_text(s)); }
  static std::string minutes_text(double s) { return fmt::format("\"{} min\"", number_text(s / 60.0)); }

  void add(const std::string& under, const std::string& json_text, const std::string& why) {
    const std::string pointer = at_ + under;
    const bool appends = pointer.ends_with("/-");
    for (const Edit& known : edits_)
      if (known.pointer == pointer && (!appends || known.json_text == json_text)) return;
    edits_.push_back({pointer, json_text, why});
  }

  void vacate(const CodeRule& rule, const std::string& because, double step_level) {
    const double delay_s = rule.limits.at("delay_max").si;
    if (!sequence_->vacancy) {
      add("/vacancy",
          fmt::format("{{ \"delay\": {}, \"step_level\": {} }}", minutes_text(delay_s),
                      number_text(step_level)),
          because);
      return;
    }
    if (!at_most(sequence_->vacancy->delay_s, delay_s)) add("/vacancy/delay", minutes_text(delay_s), because);
    if (sequence_->vacancy->step_level > step_level)
      add("/vacancy/step_level", number_text(step_level), because);
  }

  void schedule(const CodeRule& rule, const std::string& because) {
    const double override_s = rule.limits.at("override_max").si;
    if (!sequence_->schedule) {
      if (!space_.occupancy.calendar.empty())
        add("/schedule",
            fmt::format("{{ \"calendar\": \"{}\", \"override\": {} }}", space_.occupancy.calendar,
                        minutes_text(override_s)),
            because);
      return;
    }
    if (!sequence_->schedule->sweeps_off) add("/schedule/sweeps_off", "true", because);
    if (!at_most(sequence_->schedule->override_s, override_s))
      add("/schedule/override", minutes_text(override_s), because);
  }

  template <class Visit>
  void each_daylight(const Visit& visit) {
    for (std::size_t i = 0; i < sequence_->daylight.size(); ++i)
      visit(sequence_->daylight[i], fmt::format("/daylight/{}", i));
  }

  // One rule for each daylight group of the space that has a photosensor and no rule yet.
  void add_daylight(const std::string& because) {
    if (space_.task_areas.empty()) return;
    for (const domain::Group& group : design_.groups) {
      if (group.space != space_.id || group.strategy != domain::Strategy::daylight) continue;
      const bool has_rule = std::any_of(sequence_->daylight.begin(), sequence_->daylight.end(),
                                        [&](const domain::DaylightRule& r) { return r.group == group.id; });
      if (has_rule) continue;
      for (const domain::Photosensor& sensor : design_.photosensors)
        if (std::count(sensor.groups.begin(), sensor.groups.end(), group.id) > 0) {
          add("/daylight/-",
              fmt::format("{{ \"group\": \"{}\", \"photosensor\": \"{}\", \"task_area\": \"{}\" }}", group.id,
                          sensor.id, space_.task_areas.front().id),
              because);
          break;
        }
    }
  }

  const domain::Design& design_;
  const domain::Space& space_;
  const domain::Sequence* sequence_ = nullptr;
  std::string at_;
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> candidate_fixes(const domain::Project& project, const domain::Design& design,
                                  const domain::Space& space, const std::vector<Finding>& findings,
                                  const std::vector<CodeRule>& rules) {
  Fixes fixes(project, design, space);
  for (const Finding& finding : findings) {
    if (finding.verdict != Finding::Verdict::fail) continue;
    for (const CodeRule& rule : rules)
      if (rule.id == finding.rule && (finding.code.empty() || rule.code == finding.code) &&
          (finding.edition.empty() || rule.edition == finding.edition)) {
        const auto names = domain::required_limits(rule.requirement);
        if (std::all_of(names.begin(), names.end(),
                        [&](auto n) { return rule.limits.contains(std::string(n)); }))
          fixes.mend(finding, rule);
        break;
      }
  }
  return fixes.edits();
}

}  // namespace halflight::codes
