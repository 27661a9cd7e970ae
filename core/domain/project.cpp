#include "domain/project.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::domain {

std::vector<Point2> points_of(const EgressPath& path) {
  constexpr double kSpacing_m = 0.5;
  std::vector<Point2> points;
  for (std::size_t i = 0; i + 1 < path.centre_line.size(); ++i) {
    const Vector2 leg = path.centre_line[i + 1] - path.centre_line[i];
    const double l = length(leg);
    if (l <= 0.0) continue;
    const int steps = std::max(1, static_cast<int>(std::lround(l / kSpacing_m)));
    const Vector2 side = (0.25 * path.width_m / l) * Vector2{-leg.y, leg.x};
    for (int k = 0; k <= steps; ++k) {
      const Point2 middle = path.centre_line[i] + (static_cast<double>(k) / steps) * leg;
      for (const double s : {0.0, 1.0, -1.0}) points.push_back(middle + s * side);
    }
  }
  return points;
}

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
