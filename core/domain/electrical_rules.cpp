#include "domain/electrical_rules.hpp"

#include <algorithm>

namespace halflight::domain {

const ElectricalRules* electrical_rules_of(const Project& project, const Library& library) {
  if (!project.electrical_rules.empty())
    return find_by_id(library.electrical_rules, project.electrical_rules);
  const auto first = [&](const auto& is_meant) -> const ElectricalRules* {
    const auto found =
        std::find_if(library.electrical_rules.begin(), library.electrical_rules.end(), is_meant);
    return found == library.electrical_rules.end() ? nullptr : &*found;
  };
  const auto* beside = first([&](const ElectricalRules& rules) {
    return std::any_of(project.codes.begin(), project.codes.end(), [&](const CodeEdition& edition) {
      return std::find(rules.codes.begin(), rules.codes.end(), edition.code) != rules.codes.end();
    });
  });
  return beside != nullptr ? beside : first([](const ElectricalRules& rules) { return rules.codes.empty(); });
}

}  // namespace halflight::domain
