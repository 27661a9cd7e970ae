#pragma once
#include <optional>
#include <string>
#include <vector>

namespace halflight::results {

/// The design is poor or breaks a rule. A code verdict is a Finding with a section.
struct Finding {
  enum class Verdict { pass, fail, does_not_apply, needs_evidence };
  /// How well the figure behind the rule is known: read in a public copy of the code, or remembered. Only
  /// `confirmed` may stand behind a "pass" without a caveat.
  enum class Confidence { confirmed, from_memory, low };
  std::string rule;  ///< id of the rule's data record
  std::string code;  ///< empty for a finding of ours ("these groups hunt")
  std::string edition;
  std::string section;
  std::string title;
  Verdict verdict = Verdict::needs_evidence;
  std::string evidence;  ///< what was compared with what, with figures and units
  std::string fix;       ///< what would make it pass, or empty
  Confidence confirmed = Confidence::from_memory;
  bool blocks_issue = false;  ///< a design that fails it is not to be issued
};

inline const char* name_of(Finding::Verdict v) {
  switch (v) {
    case Finding::Verdict::pass:
      return "pass";
    case Finding::Verdict::fail:
      return "fail";
    case Finding::Verdict::does_not_apply:
      return "does_not_apply";
    case Finding::Verdict::needs_evidence:
      return "needs_evidence";
  }
  return "needs_evidence";
}

inline const char* name_of(Finding::Confidence c) {
  switch (c) {
    case Finding::Confidence::confirmed:
      return "confirmed";
    case Finding::Confidence::from_memory:
      return "from_memory";
    case Finding::Confidence::low:
      return "low";
  }
  return "low";
}

}  // namespace halflight::results
