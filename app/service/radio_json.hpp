#pragma once
#include "domain/project.hpp"
#include "service/json.hpp"

namespace halflight::service {

/// How the radio devices of the first proposal in a space reach a gateway, with contours of the margin that a
/// device would have elsewhere in it; null without a proposal, and where there is
/// too much to look at.
Json radio_json(const domain::Project& project, const domain::Space& space);

}  // namespace halflight::service
