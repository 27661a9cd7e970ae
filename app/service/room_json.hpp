#pragma once
#include "projects/project_files.hpp"
#include "service/json.hpp"

#include <cstddef>

// The project as the pages draw it: resolved from typicals and defaults, SI, with the document's pointer of
// every object. web/src/api/contract.ts names the same fields.

namespace halflight::service {

/// The building: its rooms as rows, typicals, designs, kinds of space, and what is wrong or missing.
Json building_json(const projects::ProjectFiles& files);

/// `space`: index in the project.
Json room_json(const projects::ProjectFiles& files, std::size_t space);

}  // namespace halflight::service
