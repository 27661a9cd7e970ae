#include "projects/code_fixes.hpp"

#include "codes/check.hpp"
#include "codes/fixes.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace halflight::projects {

namespace {

/// The pointer in the text of a fix's pointer in the domain: of an item of a design's list, and what is
/// below.
std::string in_document(const formats::ProjectDocument& document, const std::string& pointer) {
  std::size_t end = 0;
  for (int step = 0; step < 4 && end != std::string::npos; ++step) end = pointer.find('/', end + 1);
  if (end == std::string::npos) return document.document_pointer(pointer);
  return document.document_pointer(pointer.substr(0, end)) + pointer.substr(end);
}

}  // namespace

std::optional<choose::MendedControls> mended_controls(const formats::ProjectDocument& document,
                                                      const std::string& space_id,
                                                      const std::vector<results::Finding>& findings,
                                                      const std::vector<domain::CodeRule>& rules) {
  const domain::Project& project = document.project();
  const domain::Design* design = domain::find_design(project, domain::Design::Role::proposal);
  const domain::Space* space = domain::find_by_id(project.spaces, space_id);
  if (design == nullptr || space == nullptr) return std::nullopt;
  const std::vector<codes::Edit> fixes =
      codes::candidate_fixes(project, *design, *space, findings, codes::rules_in_force(project, rules));
  if (fixes.empty()) return std::nullopt;
  formats::ProjectDocument mended = document;
  choose::MendedControls result;
  for (const codes::Edit& fix : fixes) {
    if (!mended.replace(in_document(mended, fix.pointer), fix.json_text).empty()) return std::nullopt;
    result.why.push_back(fmt::format("Mended, because {}", fix.why));
  }
  const bool has_error =
      std::any_of(mended.diagnostics().begin(), mended.diagnostics().end(),
                  [](const Diagnostic& d) { return d.severity == Diagnostic::Severity::error; });
  if (has_error) return std::nullopt;
  const domain::Design& after = *domain::find_design(mended.project(), domain::Design::Role::proposal);
  result.controls = choose::controls_of(mended.project(), after, space_id);
  return result;
}

}  // namespace halflight::projects
