#pragma once
#include "base/diagnostic.hpp"
#include "domain/project.hpp"

#include <string>
#include <vector>

namespace halflight::cli {

/// An error for each id of `--space` that the project does not have.
Diagnostics unknown_spaces(const std::vector<std::string>& ids, const domain::Project& project);

}  // namespace halflight::cli
