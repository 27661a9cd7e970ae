#include "domain/project.hpp"

#include <algorithm>

namespace halflight::domain {

const Driver& driver_of(const Project& project, const std::string& id) {
  static const Driver plain;
  const Driver* driver = find_by_id(project.drivers, id);
  return driver == nullptr ? plain : *driver;
}

const Design* find_design(const Project& project, Design::Role role) {
  const auto found = std::find_if(project.designs.begin(), project.designs.end(),
                                  [role](const Design& d) { return d.role == role; });
  return found == project.designs.end() ? nullptr : &*found;
}

const Sequence* find_sequence(const Design& design, const std::string& space) {
  const auto found = std::find_if(design.sequences.begin(), design.sequences.end(),
                                  [&](const Sequence& s) { return s.space == space; });
  return found == design.sequences.end() ? nullptr : &*found;
}

std::vector<std::string> channels_of(const Project& project, const Design& design, const std::string& entry) {
  const std::size_t slash = entry.find('/');
  const Luminaire* luminaire = find_by_id(design.luminaires, entry.substr(0, slash));
  if (luminaire == nullptr) return {};
  const LuminaireType* type = find_by_id(project.luminaire_types, luminaire->type);
  if (type == nullptr) return {};
  std::vector<std::string> channels;
  for (const Channel& channel : type->channels)
    if (slash == std::string::npos || entry.substr(slash + 1) == channel.id)
      channels.push_back(luminaire->id + "/" + channel.id);
  return channels;
}

}  // namespace halflight::domain
