#pragma once
#include "choose/room_proposals.hpp"
#include "formats/project_json.hpp"
#include "results/finding.hpp"

#include <optional>
#include <string>
#include <vector>

namespace halflight::projects {

/// A room's own controls with the fixes that codes suggest for its failing findings (codes/fixes.hpp), made
/// in a copy of the document; nothing where none is suggested or the document does not bear them. Whether
/// they mend anything is for a trial to say.
std::optional<choose::MendedControls> mended_controls(const formats::ProjectDocument& document,
                                                      const std::string& space,
                                                      const std::vector<results::Finding>& findings,
                                                      const std::vector<domain::CodeRule>& rules);

}  // namespace halflight::projects
