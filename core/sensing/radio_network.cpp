#include "sensing/radio_network.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <optional>

namespace halflight::sensing {

namespace {

using domain::Design;
using domain::Device;
using domain::Infrastructure;
using domain::Project;
using domain::Space;
using domain::WallBuild;

constexpr double kOnWall_m = 0.05;

/// The storeys from below.
std::vector<const domain::Storey*> storeys_of(const Project& project) {
  std::vector<const domain::Storey*> all;
  for (const domain::Storey& storey : project.storeys) all.push_back(&storey);
  std::stable_sort(all.begin(), all.end(),
                   [](const auto* a, const auto* b) { return a->elevation_m < b->elevation_m; });
  return all;
}

double elevation_m(const Project& project, const Space& space) {
  const domain::Storey* storey = domain::find_by_id(project.storeys, space.storey);
  return storey == nullptr ? 0.0 : storey->elevation_m;
}

Point3 in_building(const Project& project, const RadioPlace& place) {
  return {place.at.x, place.at.y, place.at.z + elevation_m(project, *place.space)};
}

/// Where the line from `a` to `b` passes the segment from `p` to `q`, as a share of its length. Of a segment
/// that begins on the line and one that ends there only one is passed, so that a corner counts once.
std::optional<double> passes(Point2 a, Point2 b, Point2 p, Point2 q) {
  const Vector2 along = b - a;
  const double side_p = cross(along, p - a);
  const double side_q = cross(along, q - a);
  if ((side_p > 0.0) == (side_q > 0.0)) return std::nullopt;
  const Point2 at = p + (side_p / (side_p - side_q)) * (q - p);
  const double share = dot(at - a, along) / dot(along, along);
  if (share < 0.0 || share > 1.0) return std::nullopt;
  return share;
}

struct Wall {
  double at_m = 0.0;  // along the line
  const Space* space = nullptr;
  WallBuild build = WallBuild::light;
};

/// The part of a line that runs in one storey.
struct Stretch {
  double from = 0.0;  // shares of its length
  double to = 1.0;
};

void count(WallBuild build, Crossed& crossed) {
  ++(build == WallBuild::heavy ? crossed.heavy_walls : crossed.light_walls);
}

void add_storey(const Project& project, const domain::Storey& storey, Point3 a, Point3 b, Stretch part,
                Crossed& crossed) {
  const Point2 from{a.x, a.y};
  const Point2 to{b.x, b.y};
  const double long_m = length(to - from);
  if (long_m <= 0.0) return;
  const auto is_here = [&](double share) {
    return share >= part.from && share <= part.to && share * long_m > kOnWall_m &&
           (1.0 - share) * long_m > kOnWall_m;
  };
  std::vector<Wall> walls;
  for (const Space& space : project.spaces) {
    if (space.storey != storey.id) continue;
    for (std::size_t i = 0, n = space.floor.size(); i < n; ++i)
      if (const auto share = passes(from, to, space.floor[i], space.floor[(i + 1) % n]);
          share && is_here(*share))
        walls.push_back({*share * long_m, &space, space.wall_build});
    for (const domain::Partition& p : space.partitions) {
      if (!domain::stands(p, 0)) continue;
      const auto share = passes(from, to, p.from, p.to);
      if (!share || !is_here(*share)) continue;
      const double height_m = a.z + *share * (b.z - a.z) - storey.elevation_m;
      if (height_m <= p.height_m) count(p.build, crossed);
    }
  }
  std::stable_sort(walls.begin(), walls.end(), [](const Wall& x, const Wall& y) { return x.at_m < y.at_m; });
  for (std::size_t i = 0; i < walls.size(); ++i) {
    WallBuild build = walls[i].build;
    // Out of one room and into the next through the same wall.
    if (i + 1 < walls.size() && walls[i + 1].space != walls[i].space &&
        walls[i + 1].at_m - walls[i].at_m <= domain::kThickestWall_m) {
      ++i;
      if (walls[i].build == WallBuild::heavy) build = WallBuild::heavy;
    }
    count(build, crossed);
  }
}

template <class Visit>
void for_each_device(const Design& design, const Visit& visit) {
  const auto all = [&](const auto& list) {
    for (const auto& device : list)
      if (domain::stands_in(design, device.status)) visit(device);
  };
  all(design.occupancy_sensors);
  all(design.photosensors);
  all(design.stations);
  all(design.load_controllers);
  all(design.time_clocks);
  all(design.interfaces);
  all(design.infrastructure);
}

bool is_better(const RadioLink& a, const RadioLink& b) {
  if (b.to == nullptr) return true;
  return a.path_availability > b.path_availability ||
         (a.path_availability == b.path_availability && a.margin_db > b.margin_db);
}

}  // namespace

Crossed crossed_between(const Project& project, const RadioPlace& from, const RadioPlace& to) {
  const Point3 a = in_building(project, from);
  const Point3 b = in_building(project, to);
  Crossed crossed;
  const std::vector<const domain::Storey*> storeys = storeys_of(project);
  const double rise = b.z - a.z;
  for (std::size_t i = 0; i < storeys.size(); ++i) {
    // The lowest storey reaches down without end, the highest up.
    const double infinite = std::numeric_limits<double>::infinity();
    const double low = i == 0 ? -infinite : storeys[i]->elevation_m;
    const double high = i + 1 == storeys.size() ? infinite : storeys[i + 1]->elevation_m;
    if (std::min(a.z, b.z) < low && std::max(a.z, b.z) >= low) ++crossed.floors;
    Stretch part;
    if (rise == 0.0) {
      if (a.z < low || a.z >= high) continue;
    } else {
      const double first = (low - a.z) / rise;
      const double second = (high - a.z) / rise;
      part = {std::max(0.0, std::min(first, second)), std::min(1.0, std::max(first, second))};
      if (part.from > part.to) continue;
    }
    add_storey(project, *storeys[i], a, b, part, crossed);
  }
  return crossed;
}

RadioNetwork::RadioNetwork(const Project& project, const Design& design)
    : project_(&project), design_(&design) {
  if (!project.radio) return;
  std::vector<Node> repeaters;
  for (const Infrastructure& device : design.infrastructure) {
    const Space* space = domain::find_by_id(project.spaces, device.space);
    if (device.link != domain::Link::radio || !domain::stands_in(design, device.status) || space == nullptr)
      continue;
    if (device.kind == Infrastructure::Kind::gateway) nodes_.push_back({&device, {space, device.at}});
    if (device.kind == Infrastructure::Kind::repeater) repeaters.push_back({&device, {space, device.at}});
  }
  // The repeater that reaches a gateway best joins first, so that others may lead over it.
  while (!nodes_.empty() && !repeaters.empty()) {
    std::size_t next = 0;
    for (std::size_t i = 0; i < repeaters.size(); ++i) {
      repeaters[i].availability = best(repeaters[i].place, repeaters[i].device).path_availability;
      if (repeaters[i].availability > repeaters[next].availability) next = i;
    }
    nodes_.push_back(repeaters[next]);
    repeaters.erase(repeaters.begin() + static_cast<std::ptrdiff_t>(next));
  }
}

bool RadioNetwork::has_gateway() const { return !nodes_.empty(); }

RadioLink RadioNetwork::link(const RadioPlace& from, const Node& to, double sender_gain_db) const {
  const domain::Radio& radio = *project_->radio;
  RadioLink link;
  link.to = to.device;
  link.distance_m = length(in_building(*project_, to.place) - in_building(*project_, from));
  link.crossed = crossed_between(*project_, from, to.place);
  const double f_mhz = frequency_mhz(radio.band);
  link.loss_db =
      std::max(site_general_loss_db(f_mhz, distance_coefficient(radio.band), link.distance_m,
                                    floor_loss_db(radio.band, link.crossed.floors)),
               multi_wall_loss_db(f_mhz, link.distance_m, link.crossed, crossing_loss(radio.band)));
  link.margin_db = margin_db(radio, link.loss_db) + sender_gain_db - radio.device_gain_dbi;
  link.availability = sensing::availability(link.margin_db, radio.shadowing_db);
  link.path_availability = link.availability * to.availability;
  return link;
}

RadioLink RadioNetwork::best(const RadioPlace& from, const Device* device) const {
  const auto is_repeater = [&](const Infrastructure& i) { return &i == device; };
  const bool repeats =
      std::any_of(design_->infrastructure.begin(), design_->infrastructure.end(), is_repeater);
  RadioLink best;
  for (const Node& node : nodes_) {
    if (node.device == device) break;  // those that joined later lead over this one
    const RadioLink other =
        link(from, node, repeats ? project_->radio->gateway_gain_dbi : project_->radio->device_gain_dbi);
    if (is_better(other, best)) best = other;
  }
  best.from = device;
  return best;
}

std::vector<RadioLink> RadioNetwork::links_in(const Space& space) const {
  std::vector<RadioLink> links;
  const auto is_gateway = [&](const Device& device) {
    return std::any_of(
        design_->infrastructure.begin(), design_->infrastructure.end(),
        [&](const Infrastructure& i) { return &i == &device && i.kind == Infrastructure::Kind::gateway; });
  };
  for_each_device(*design_, [&](const Device& device) {
    if (device.space == space.id && device.link == domain::Link::radio && !is_gateway(device))
      links.push_back(best({&space, device.at}, &device));
  });
  return links;
}

double RadioNetwork::margin_at(const RadioPlace& place) const {
  assert(has_gateway());
  return best(place, nullptr).margin_db;
}

}  // namespace halflight::sensing
