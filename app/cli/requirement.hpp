#pragma once
#include "base/diagnostic.hpp"
#include "results/study.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace halflight::cli {

/// A figure of a study that `--require` may name. The set is closed: a script that asks for something else is
/// told so, and never passes by misspelling.
struct RequirableFigure {
  const char* name;
  const char* meaning;  ///< with its unit
  /// Nothing when the study cannot tell.
  std::optional<double> (*value)(const results::Study&);
};

std::span<const RequirableFigure> requirable_figures();

/// "saving_low_against_as_found>=0.2".
struct Requirement {
  enum class Comparison { at_least, at_most, equal };
  const RequirableFigure* figure = nullptr;
  Comparison comparison = Comparison::at_least;
  double bound = 0.0;
  std::string text;  ///< as given
};

/// `true` and `false` may stand for 1 and 0. The diagnostic for an unknown name lists the known ones.
Result<Requirement> parse_requirement(std::string_view text);

/// What became of a requirement. A figure that the study cannot tell does not hold.
struct Judgement {
  bool holds = false;
  std::string text;  ///< "holds: saving_low_against_as_found>=0.2 (is 0.31)"
};
Judgement judge(const Requirement& requirement, const results::Study& study);

}  // namespace halflight::cli
