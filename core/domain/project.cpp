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

std::optional<double> depth_behind(const Space& space, const Opening& pane, const Space& lender) {
  constexpr double touch_m = 0.01;
  const auto first = static_cast<std::size_t>(pane.wall);
  const Point2 corner = space.floor[first];
  const Vector2 wall = space.floor[(first + 1) % space.floor.size()] - corner;
  const Vector2 along = (1.0 / length(wall)) * wall;
  const Vector2 outward{along.y, -along.x};  // floors are counter-clockwise
  if (pane.sill_m + pane.height_m > lender.height_m + touch_m) return std::nullopt;
  const double left = pane.offset_m;
  const double right = pane.offset_m + pane.width_m;
  struct Facing {
    double depth_m;
    double overlap_m;
  };
  std::vector<Facing> facing;
  double nearest = kThickestWall_m + touch_m;
  for (std::size_t i = 0; i < lender.floor.size(); ++i) {
    const Vector2 from = lender.floor[i] - corner;
    const Vector2 to = lender.floor[(i + 1) % lender.floor.size()] - corner;
    const double depth = dot(from, outward);
    // Outlines run the same way round, so walls that face each other run against each other.
    const double overlap = std::min(right, dot(from, along)) - std::max(left, dot(to, along));
    if (std::abs(dot(to, outward) - depth) > touch_m || overlap <= 0.0 || depth < -touch_m) continue;
    facing.push_back({depth, overlap});
    nearest = std::min(nearest, depth);
  }
  double covered = 0.0;
  for (const Facing& one : facing)
    if (one.depth_m <= nearest + touch_m) covered += one.overlap_m;
  if (nearest > kThickestWall_m || covered < pane.width_m - touch_m) return std::nullopt;
  return std::max(0.0, nearest);
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
