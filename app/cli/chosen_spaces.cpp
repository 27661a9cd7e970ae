#include "cli/chosen_spaces.hpp"

#include <fmt/format.h>

namespace halflight::cli {

Diagnostics unknown_spaces(const std::vector<std::string>& ids, const domain::Project& project) {
  Diagnostics found;
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
