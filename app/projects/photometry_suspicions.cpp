#include "projects/photometry_suspicions.hpp"

#include "lightresponse/scene.hpp"
#include "photometry/summary.hpp"

#include <map>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::projects {

namespace {

void append_suspicions(const domain::IntensityDistribution& light, const std::string& file,
                       const std::string& where, Diagnostics& found) {
  for (Diagnostic& warning : photometry::photometric_summary(light, file).warnings) {
    warning.where = where;
    found.push_back(std::move(warning));
  }
}

}  // namespace

Diagnostics photometry_suspicions(const ProjectFiles& files) {
  const domain::Project& project = files.document.project();
  Diagnostics found;
  std::map<domain::PhotometryKey, std::vector<std::string>> users;
  for (const domain::LuminaireType& type : project.luminaire_types)
    for (const domain::Channel& channel : type.channels) {
      if (channel.photometry.file.empty()) {
        const auto light = lightresponse::distribution_of(type, channel, {});
        if (light)
          append_suspicions(*light, files.document.file_name(),
                            fmt::format("luminaire type {}, channel {}", type.id, channel.id), found);
        continue;
      }
      std::vector<std::string>& types = users[channel.photometry.key()];
      if (types.empty() || types.back() != type.id) types.push_back(type.id);
    }
  for (const auto& [key, types] : users) {
    const auto light = files.photometry_files.find(key);
    if (light == files.photometry_files.end()) continue;
    append_suspicions(
        light->second, key.file,
        fmt::format("luminaire type{} {}{}", types.size() == 1 ? "" : "s", fmt::join(types, ", "),
                    key.lamp_set ? fmt::format(", set of lamps {}", *key.lamp_set) : ""),
        found);
  }
  return found;
}

}  // namespace halflight::projects
