#pragma once
#include "base/diagnostic.hpp"
#include "projects/project_files.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace halflight::projects {

/// What is varied in a document: one thing for a person, one or more places in the text.
struct Variation {
  std::vector<std::string> pointers;  ///< of the document
  bool light_stays = false;           ///< none of them changes the light of a room
};

/// Names that a space's sequence knows: "delay", "vacancy-level", "trim", "daylight-minimum"; in their order.
std::vector<std::string_view> names_of_variations();

/// `what`: one of these names, for the sequence of a space of the proposal, or a JSON pointer into the
/// document. Errors: no such name, the space has no sequence, or a sequence has no such rule.
Result<Variation> variation_of(const formats::ProjectDocument& document, const std::string& space,
                               const std::string& what);

/// The project with a value, as it would be typed ("10 min", 0.8, true), at each place of a variation.
/// Errors: those of the new document.
Result<ProjectFiles> variant_of(const ProjectFiles& files, const OtherFiles& others,
                                const Variation& variation, const std::string& value);

}  // namespace halflight::projects
