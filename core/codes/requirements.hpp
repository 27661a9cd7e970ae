#pragma once
#include "codes/facts.hpp"
#include "domain/code_rules.hpp"
#include "results/finding.hpp"

#include <string>

namespace halflight::codes {

struct Outcome {
  results::Finding::Verdict verdict = results::Finding::Verdict::needs_evidence;
  std::string evidence;
  std::string fix;
};

/// Judges the rule's requirement alone: scope, trigger and exceptions are the caller's. Each requirement is
/// described in docs/rules/codes.md.
Outcome judge_requirement(const SpaceFacts& facts, const domain::CodeRule& rule);

/// How many of a space's receptacles a rule that requires receptacle_control wants to be controlled.
int receptacles_to_control(const domain::CodeRule& rule, int receptacles);

}  // namespace halflight::codes
