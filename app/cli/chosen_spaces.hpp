#pragma once
#include "base/diagnostic.hpp"
#include "domain/project.hpp"

#include <string>
#include <vector>

namespace halflight::cli {

/// What stands against lighting spaces at all: errors of the document, no place and so no daylight and no
/// year, and ids of `--space` that the project does not have.
Diagnostics against_lighting(const Diagnostics& of_document, const std::vector<std::string>& ids,
                             const domain::Project& project);

}  // namespace halflight::cli
