#pragma once
#include "codes/facts.hpp"
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/finding.hpp"
#include "results/study.hpp"

#include <string>
#include <vector>

namespace halflight::codes {

/// The rules that bind a project: those of the code editions that it names (code names are compared without
/// case, punctuation and the publishers' initials) and our own rule set "halflight"; a fallback rule only
/// when no named edition has a rule with the same requirement. Applying it twice changes nothing.
std::vector<domain::CodeRule> rules_in_force(const domain::Project& project,
                                             const std::vector<domain::CodeRule>& rules);

/// Whether two names mean one code: "ASHRAE/IES 90.1" and "90.1" do.
bool is_same_code(const std::string& a, const std::string& b);

/// One rule on one space: scope, then trigger, then exceptions, then judgement, then the requirement. A fact
/// that is missing gives needs_evidence, never pass. `blocks_issue` is set only on a fail.
results::Finding check_rule(const SpaceFacts& facts, const domain::CodeRule& rule);

/// Every rule in force on one space of a design, in the order of `rules`. `study` gives the egress states and
/// the connected power as found.
std::vector<results::Finding> check_space(const domain::Project& project, const domain::Library& library,
                                          const domain::Design& design, const domain::Space& space,
                                          const results::SpaceStudy& study,
                                          const std::vector<domain::CodeRule>& rules);

/// What is judged over the building: installed power against the sum of the allowances, and code editions
/// that the project names but `rules` has no data for.
std::vector<results::Finding> check_building(const domain::Project& project, const domain::Library& library,
                                             const domain::Design& design,
                                             const std::vector<domain::CodeRule>& rules);

/// In which of the states that a sequence can reach the light on a path was computed.
enum class StateClass {
  normal,     ///< somebody is in the space: any scene, demand response, a failed device
  vacant,     ///< nobody is in the space, but others may be in the building
  emergency,  ///< normal power is lost; light at the start of emergency power
};
/// From the name in results::EgressState: "vacant..." and "normal power lost..." are what they say.
StateClass state_class_of(const std::string& state);

struct EgressLight {
  double min_lx = 0.0;
  double mean_lx = 0.0;
  double max_lx = 0.0;
  StateClass state = StateClass::normal;
  domain::EgressPath::Surface surface = domain::EgressPath::Surface::level;
  /// Corridor, stair, lobby: people of other rooms pass, so that an empty one still must be lit.
  bool serves_other_rooms = true;
};
struct EgressVerdict {
  double limit_lx = 0.0;  ///< the strictest, on the minimum in normal states, on the mean (or, where the rule
                          ///< has none, the minimum) on emergency power
  bool holds = false;
  std::string why;  ///< the comparisons in words; the failing ones when it does not hold
};
/// Floor light on an egress path against all egress rules in `rules` (take those in force). Without any
/// egress rule for the state it does not hold.
EgressVerdict judge_egress(const EgressLight& light, const std::vector<domain::CodeRule>& rules);

}  // namespace halflight::codes
