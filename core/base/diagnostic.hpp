#pragma once
#include <string>
#include <vector>

#include <tl/expected.hpp>

namespace halflight {

/// Input that cannot be understood or is inconsistent. (A poor or non-compliant *design* is a Finding,
/// see results/finding.hpp; a statement somebody can be held to is a Claim.)
struct Diagnostic {
  enum class Severity {
    error,    ///< the part cannot be used; nothing that rests on it is computed
    warning,  ///< used as written, but probably not what was meant
    missing,  ///< not there yet; the study goes as far as it can without
  };
  Severity severity = Severity::error;
  std::string file;     ///< name of the source as the user knows it
  std::string where;    ///< JSON pointer ("/spaces/3/height") or "line 12, column 4"; empty: the whole file
  std::string problem;  ///< what is wrong, with the offending value
  std::string remedy;   ///< what would be right
};

using Diagnostics = std::vector<Diagnostic>;

/// A value, or every reason why there is none.
template <class T>
using Result = tl::expected<T, Diagnostics>;

/// "error: demo.json /spaces/3/height: -2 m is not a height; give a length between 1.5 m and 60 m".
std::string to_text(const Diagnostic& diagnostic);
std::string_view name_of(Diagnostic::Severity severity);
bool has_errors(const Diagnostics& diagnostics);

}  // namespace halflight
