#pragma once
#include "domain/project.hpp"
#include "service/json.hpp"

namespace halflight::service {

/// What the occupancy sensors of the first proposal see of a space, as the plan draws it; null without a
/// proposal, and where there is too much to look at.
Json reach_json(const domain::Project& project, const domain::Space& space);

}  // namespace halflight::service
