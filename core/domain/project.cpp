#include "domain/project.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string_view>

namespace halflight::domain {

std::vector<Point3> points_of(const EgressPath& path) {
  constexpr double kSpacing_m = 0.5;
  double whole_m = 0.0;
  for (std::size_t i = 0; i + 1 < path.centre_line.size(); ++i)
    whole_m += length(path.centre_line[i + 1] - path.centre_line[i]);
  std::vector<Point3> points;
  double walked_m = 0.0;
  for (std::size_t i = 0; i + 1 < path.centre_line.size(); ++i) {
    const Vector2 leg = path.centre_line[i + 1] - path.centre_line[i];
    const double l = length(leg);
    if (l <= 0.0) continue;
    const int steps = std::max(1, static_cast<int>(std::lround(l / kSpacing_m)));
    const Vector2 side = (0.25 * path.width_m / l) * Vector2{-leg.y, leg.x};
    for (int k = 0; k <= steps; ++k) {
      const double share = static_cast<double>(k) / steps;
      const Point2 middle = path.centre_line[i] + share * leg;
      const double z =
          path.from_height_m + (path.to_height_m - path.from_height_m) * (walked_m + share * l) / whole_m;
      for (const double s : {0.0, 1.0, -1.0}) {
        const Point2 at = middle + s * side;
        points.push_back({at.x, at.y, z});
      }
    }
    walked_m += l;
  }
  return points;
}

Vector2 ceiling_gradient(const Space& space) {
  if (space.ceiling_slope_deg == 0.0) return {0.0, 0.0};
  const double rise = std::tan(space.ceiling_slope_deg * kRadPerDeg);
  const double towards = space.ceiling_rises_deg * kRadPerDeg;
  return {rise * std::sin(towards), rise * std::cos(towards)};
}

double height_over(const Space& space, const std::vector<Point2>& places) {
  const Vector2 gradient = ceiling_gradient(space);
  const auto lowest = [&](const std::vector<Point2>& points) {
    double least = std::numeric_limits<double>::infinity();
    for (const Point2 p : points) least = std::min(least, gradient.x * p.x + gradient.y * p.y);
    return least;
  };
  return space.height_m + (lowest(places) - lowest(space.floor));
}

namespace {

constexpr std::string_view kOpenState = "open";

bool is_movable(const Partition& partition) {
  return partition.kind == Partition::Kind::movable && !partition.states.empty();
}

}  // namespace

std::size_t arrangement_count(const Space& space) {
  std::size_t count = 1;
  for (const Partition& partition : space.partitions)
    if (is_movable(partition)) count *= partition.states.size();
  return count;
}

std::vector<Arrangement> arrangements_of(const Space& space) {
  const std::size_t count = arrangement_count(space);
  std::vector<Arrangement> all;
  for (std::size_t i = 0; i < (count > kMostArrangements ? 1 : count); ++i) {
    Arrangement one;
    std::size_t rest = i;
    for (const Partition& partition : space.partitions) {
      one.state.push_back(0);
      if (!is_movable(partition)) continue;
      one.state.back() = rest % partition.states.size();
      rest /= partition.states.size();
      one.name += (one.name.empty() ? "" : ", ") + partition.id + " " + partition.states[one.state.back()];
    }
    all.push_back(std::move(one));
  }
  return all;
}

bool stands(const Partition& partition, std::size_t state) {
  return !is_movable(partition) || partition.states[state] != kOpenState;
}

bool suits(const Scene& scene, const Space& space, const Arrangement& arrangement) {
  if (scene.partition_state.empty()) return true;
  for (std::size_t i = 0; i < space.partitions.size(); ++i)
    if (is_movable(space.partitions[i]) &&
        space.partitions[i].states[arrangement.state[i]] == scene.partition_state)
      return true;
  return false;
}

const Partition* dividing_wall(const Space& space) {
  for (const Partition& partition : space.partitions)
    if (is_movable(partition) && std::any_of(partition.states.begin(), partition.states.end(),
                                             [](const std::string& state) { return state != kOpenState; }))
      return &partition;
  return nullptr;
}

const Partition* wall_in_use(const Space& space) {
  const bool divides =
      space.occupancy.pattern == Occupancy::Pattern::bookings && space.occupancy.divided_fraction > 0.0;
  return divides ? dividing_wall(space) : nullptr;
}

int side_of(const Partition& partition, Point2 at) {
  return cross(partition.to - partition.from, at - partition.from) > 0.0 ? 0 : 1;
}

Space with_wall(const Space& space, bool standing) {
  Space other = space;
  const Partition* wall = dividing_wall(space);
  if (wall == nullptr) return other;
  std::vector<std::string>& states =
      other.partitions[static_cast<std::size_t>(wall - space.partitions.data())].states;
  const auto wanted = std::find_if(states.begin(), states.end(), [&](const std::string& state) {
    return (state != kOpenState) == standing;
  });
  if (wanted != states.end()) std::iter_swap(states.begin(), wanted);
  return other;
}

std::vector<Opening> light_openings(const Space& space) {
  std::vector<Opening> openings = space.openings;
  for (const Door& door : space.doors) {
    if (door.glazing.empty() || door.glass_fraction <= 0.0) continue;
    const double scale = std::sqrt(door.glass_fraction);
    Opening glass;
    glass.id = door.id;
    glass.kind = door.leads_to == "outside" ? Opening::Kind::window : Opening::Kind::inner_glazing;
    glass.wall = door.wall;
    glass.width_m = scale * door.width_m;
    glass.height_m = scale * door.height_m;
    glass.offset_m = door.offset_m + 0.5 * (door.width_m - glass.width_m);
    glass.sill_m = 0.5 * (door.height_m - glass.height_m);
    glass.glazing = door.glazing;
    glass.borrows_from = door.leads_to;
    glass.frame_fraction = 0.0;  // the leaf around the glass is wall here
    openings.push_back(std::move(glass));
  }
  return openings;
}

std::optional<double> depth_behind(const Space& space, const Opening& pane, const Space& lender) {
  constexpr double touch_m = 0.01;
  const auto first = static_cast<std::size_t>(pane.wall);
  const Point2 corner = space.floor[first];
  const Vector2 wall = space.floor[(first + 1) % space.floor.size()] - corner;
  const Vector2 along = (1.0 / length(wall)) * wall;
  const Vector2 outward{along.y, -along.x};  // floors are counter-clockwise
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
  const auto behind = [&](double u) { return corner + u * along + nearest * outward; };
  if (pane.sill_m + pane.height_m > height_over(lender, {behind(left), behind(right)}) + touch_m)
    return std::nullopt;
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

namespace {

/// Calls `visit(channel)` for each channel that a load controller names, by a group, by a circuit or by its
/// luminaire.
template <class Visit>
void each_driven_channel(const Project& project, const Design& design, const LoadController& controller,
                         const Visit& visit) {
  for (const std::string& id : controller.groups)
    if (const Group* group = find_by_id(design.groups, id))
      for (const std::string& entry : group->channels)
        for (const std::string& channel : channels_of(project, design, entry)) visit(channel);
  for (const std::string& id : controller.luminaires)
    for (const std::string& channel : channels_of(project, design, id)) visit(channel);
  if (controller.circuits.empty()) return;
  for (const Luminaire& luminaire : design.luminaires) {
    if (std::find(controller.circuits.begin(), controller.circuits.end(), luminaire.circuit) ==
        controller.circuits.end())
      continue;
    if (const LuminaireType* type = find_by_id(project.luminaire_types, luminaire.type))
      for (const Channel& channel : type->channels) visit(luminaire.id + "/" + channel.id);
  }
}

}  // namespace

double level_in(const LossRule& rule, Trouble trouble, const std::string& scene_group) {
  const auto of = [&](const auto& levels) {
    switch (trouble) {
      case Trouble::sensor_lost:
        return levels.sensor_lost;
      case Trouble::controller_lost:
        return levels.controller_lost;
      case Trouble::network_lost:
        return levels.network_lost;
      case Trouble::clock_lost:
        return levels.clock_lost;
      case Trouble::power_return:
        break;
    }
    return levels.power_return;
  };
  for (const GroupLoss& own : rule.groups)
    if (own.group == scene_group) return of(own).value_or(of(rule));
  return of(rule);
}

bool in_any_group(const Design& design, const std::string& luminaire) {
  return std::any_of(design.groups.begin(), design.groups.end(), [&](const Group& group) {
    return std::any_of(group.channels.begin(), group.channels.end(), [&](const std::string& entry) {
      return entry.substr(0, entry.find('/')) == luminaire;
    });
  });
}

bool plugs_in(const Project& project, const Luminaire& luminaire) {
  const LuminaireType* type = find_by_id(project.luminaire_types, luminaire.type);
  return type != nullptr && type->mounting == LuminaireType::Mounting::plug_in;
}

std::vector<std::string> driven_luminaires(const Project& project, const Design& design,
                                           const LoadController& controller) {
  std::vector<std::string> driven;
  each_driven_channel(project, design, controller, [&](const std::string& channel) {
    std::string id = channel.substr(0, channel.find('/'));
    if (std::find(driven.begin(), driven.end(), id) == driven.end()) driven.push_back(std::move(id));
  });
  return driven;
}

namespace {

bool on_plug_in_dimmer(const Project& project, const Design& design, const Luminaire& luminaire) {
  return std::any_of(design.load_controllers.begin(), design.load_controllers.end(),
                     [&](const LoadController& controller) {
                       if (controller.mounting != LoadController::Mounting::plug_in ||
                           only_switches(controller.action) || !stands_in(design, controller.status))
                         return false;
                       const std::vector<std::string> driven = driven_luminaires(project, design, controller);
                       return std::find(driven.begin(), driven.end(), luminaire.id) != driven.end();
                     });
}

}  // namespace

std::map<std::string, std::string> switched_channels(const Project& project, const Design& design) {
  std::map<std::string, std::string> switched;
  for (const LoadController& controller : design.load_controllers)
    if (only_switches(controller.action) && stands_in(design, controller.status))
      each_driven_channel(project, design, controller,
                          [&](const std::string& channel) { switched.emplace(channel, controller.id); });
  for (const LoadController& controller : design.load_controllers)
    if (!only_switches(controller.action) && stands_in(design, controller.status))
      each_driven_channel(project, design, controller,
                          [&](const std::string& channel) { switched.erase(channel); });
  // A task lamp in no group has a switch of its own, or the dimmer that it plugs into.
  for (const Luminaire& luminaire : design.luminaires) {
    if (!plugs_in(project, luminaire) || in_any_group(design, luminaire.id) ||
        on_plug_in_dimmer(project, design, luminaire))
      continue;
    for (const std::string& channel : channels_of(project, design, luminaire.id))
      switched.emplace(channel, "");
  }
  return switched;
}

}  // namespace halflight::domain
