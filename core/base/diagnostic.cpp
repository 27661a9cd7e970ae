#include "base/diagnostic.hpp"

#include <algorithm>

namespace halflight {

std::string_view name_of(Diagnostic::Severity severity) {
  switch (severity) {
    case Diagnostic::Severity::error:
      return "error";
    case Diagnostic::Severity::warning:
      return "warning";
    case Diagnostic::Severity::missing:
      return "missing";
  }
  return "error";
}

std::string to_text(const Diagnostic& diagnostic) {
  std::string text(name_of(diagnostic.severity));
  text += ": ";
  text += diagnostic.file;
  if (!diagnostic.where.empty()) text += (diagnostic.file.empty() ? "" : " ") + diagnostic.where;
  text += ": " + diagnostic.problem;
  if (!diagnostic.remedy.empty()) text += "; " + diagnostic.remedy;
  return text;
}

bool has_errors(const Diagnostics& diagnostics) {
  return std::any_of(diagnostics.begin(), diagnostics.end(),
                     [](const Diagnostic& d) { return d.severity == Diagnostic::Severity::error; });
}

}  // namespace halflight
