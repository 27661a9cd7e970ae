#pragma once
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/finding.hpp"

#include <string>
#include <vector>

namespace halflight::codes {

/// A change of the project that may turn a failing finding into a passing one. Nothing is tried here.
struct Edit {
  /// JSON pointer into the project with all typicals resolved ("/designs/1/sequences/4/vacancy/delay"); "-"
  /// as the last step appends to a list.
  std::string pointer;
  std::string json_text;  ///< the value to stand there
  std::string why;
};

/// Edits for the failing findings of one space of `design`, which must be an element of `project.designs`: a
/// delay that is too long, a missing vacancy or schedule rule, too much automatic on, a missing daylight rule
/// for a daylight group that has a photosensor, daylight that cannot dim or switch off far enough. In the
/// order of the findings, each place at most once. Findings that no such edit can mend (luminaires, stations,
/// power) give none.
std::vector<Edit> candidate_fixes(const domain::Project& project, const domain::Design& design,
                                  const domain::Space& space, const std::vector<results::Finding>& findings,
                                  const std::vector<domain::CodeRule>& rules);

}  // namespace halflight::codes
