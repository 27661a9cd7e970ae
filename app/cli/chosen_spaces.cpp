#include "cli/chosen_spaces.hpp"

#include <algorithm>
#include <iterator>

#include <fmt/format.h>

namespace halflight::cli {

Diagnostics against_lighting(const Diagnostics& of_document, const std::vector<std::string>& ids,
                             const domain::Project& project) {
  Diagnostics found;
  std::copy_if(of_document.begin(), of_document.end(), std::back_inserter(found), [](const Diagnostic& d) {
    return d.severity == Diagnostic::Severity::error ||
           (d.severity == Diagnostic::Severity::missing && d.where.starts_with("/site"));
  });
  for (const std::string& id : ids) {
    if (domain::find_by_id(project.spaces, id) != nullptr) continue;
    std::string known;
    for (const domain::Space& space : project.spaces) known += (known.empty() ? "" : ", ") + space.id;
    found.push_back({Diagnostic::Severity::error, "--space", "",
                     fmt::format("the project has no space '{}'", id),
                     "it has " + (known.empty() ? "none" : known)});
  }
  return found;
}

}  // namespace halflight::cli
