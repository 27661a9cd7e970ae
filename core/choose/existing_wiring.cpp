#include "choose/existing_wiring.hpp"

#include "choose/room_controls.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace halflight::choose {

bool wiring_stays(const domain::Project& project, const domain::Space& space) {
  return space.hazardous_material || (space.ceiling_access == domain::CeilingAccess::none &&
                                      project.type.kind == domain::ProjectType::Kind::alteration);
}

std::vector<SwitchLeg> switch_legs(const domain::Project& project, const domain::Design& design,
                                   const std::string& space) {
  std::map<std::pair<std::string, std::string>, SwitchLeg> legs;
  for (const domain::Luminaire& luminaire : fixed_luminaires(project, design, space)) {
    const domain::Circuit* circuit = domain::find_by_id(design.circuits, luminaire.circuit);
    const bool has_leg = circuit != nullptr && !circuit->switch_leg.empty();
    const std::string name = has_leg ? circuit->switch_leg : "";
    SwitchLeg& leg = legs[{name, has_leg ? circuit->id : ""}];
    leg.name = name;
    leg.luminaires.push_back(luminaire.id);
  }
  std::vector<SwitchLeg> found;
  for (auto& [key, leg] : legs) {
    const auto alike = std::count_if(legs.begin(), legs.end(),
                                     [&](const auto& other) { return other.first.first == key.first; });
    if (alike > 1) leg.name = key.second;
    std::sort(leg.luminaires.begin(), leg.luminaires.end());
    found.push_back(std::move(leg));
  }
  return found;
}

}  // namespace halflight::choose
