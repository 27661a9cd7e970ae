#pragma once
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/study.hpp"

#include <string>
#include <vector>

namespace halflight::codes {

/// The least control that the adopted codes ask for in a space with the luminaires of `proposal`, as a
/// sequence that can be run. `zones` are those of the energy code (daylight_zones), with the proposal's watts
/// in them. `contents`, if given, receives what it holds in words, and after "not modelled:" what the rules
/// ask for that the sequence cannot express. Where several energy codes are adopted, each rule of any of them
/// counts. Where no rule asks for anything, people switch by hand.
domain::Sequence code_minimum_sequence(const domain::Project& project, const domain::Library& library,
                                       const domain::Design& proposal, const domain::Space& space,
                                       const std::vector<domain::CodeRule>& rules,
                                       const std::vector<results::DaylightZone>& zones,
                                       std::string* contents);

/// The zone definition of the first adopted edition that has one, or nullptr. Points into `rules`.
const domain::DaylightZoneRule* adopted_zone_rule(const domain::Project& project,
                                                  const std::vector<domain::CodeRule>& rules);

}  // namespace halflight::codes
