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

void add_wall(WallBuild build, Crossed& crossed) {
  ++(build == WallBuild::heavy ? crossed.heavy_walls : crossed.light_walls);
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

/// A line through the building, and the shares of its length between which it runs in one storey.
struct Walls::Line {
  Point3 a;
  Point3 b;
  double from = 0.0;
  double to = 1.0;
};

Walls::Walls(const Project& project) {
  for (const domain::Storey& storey : project.storeys) storeys_.push_back({&storey, {}});
  std::stable_sort(storeys_.begin(), storeys_.end(), [](const Storey& a, const Storey& b) {
    return a.storey->elevation_m < b.storey->elevation_m;
  });
  for (const Space& space : project.spaces) {
    if (space.floor.empty()) continue;
    for (Storey& storey : storeys_)
      if (storey.storey->id == space.storey) storey.rooms.push_back({&space, bounds(space.floor)});
  }
}

std::size_t Walls::count() const {
  std::size_t count = 0;
  for (const Storey& storey : storeys_)
    for (const Room& room : storey.rooms) count += room.space->floor.size() + room.space->partitions.size();
  return count;
}

Point3 Walls::in_building(const RadioPlace& place) const {
  for (const Storey& storey : storeys_)
    if (storey.storey->id == place.space->storey)
      return {place.at.x, place.at.y, place.at.z + storey.storey->elevation_m};
  return place.at;
}

void Walls::add(const Storey& storey, const Line& line, Crossed& crossed) const {
  const Point2 from{line.a.x, line.a.y};
  const Point2 to{line.b.x, line.b.y};
  const double long_m = length(to - from);
  if (long_m <= 0.0) return;
  const Box2 about = bounds(Polygon{from, to});
  const auto is_here = [&](double share) {
    return share >= line.from && share <= line.to && share * long_m > kOnWall_m &&
           (1.0 - share) * long_m > kOnWall_m;
  };
  std::vector<Wall> walls;
  for (const Room& room : storey.rooms) {
    if (room.box.low.x > about.high.x || room.box.high.x < about.low.x || room.box.low.y > about.high.y ||
        room.box.high.y < about.low.y)
      continue;
    const Space& space = *room.space;
    for (std::size_t i = 0, n = space.floor.size(); i < n; ++i)
      if (const auto share = passes(from, to, space.floor[i], space.floor[(i + 1) % n]);
          share && is_here(*share))
        walls.push_back({*share * long_m, &space, space.wall_build});
    for (const domain::Partition& p : space.partitions) {
      if (!domain::stands(p, 0)) continue;
      const auto share = passes(from, to, p.from, p.to);
      if (!share || !is_here(*share)) continue;
      const double height_m = line.a.z + *share * (line.b.z - line.a.z) - storey.storey->elevation_m;
      if (height_m <= p.height_m) add_wall(p.build, crossed);
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
    add_wall(build, crossed);
  }
}

Crossed Walls::between(const RadioPlace& from, const RadioPlace& to) const {
  Line line{in_building(from), in_building(to)};
  Crossed crossed;
  const double rise = line.b.z - line.a.z;
  for (std::size_t i = 0; i < storeys_.size(); ++i) {
    // The lowest storey reaches down without end, the highest up.
    const double infinite = std::numeric_limits<double>::infinity();
    const double low = i == 0 ? -infinite : storeys_[i].storey->elevation_m;
    const double high = i + 1 == storeys_.size() ? infinite : storeys_[i + 1].storey->elevation_m;
    if (std::min(line.a.z, line.b.z) < low && std::max(line.a.z, line.b.z) >= low) ++crossed.floors;
    line.from = 0.0;
    line.to = 1.0;
    if (rise == 0.0) {
      if (line.a.z < low || line.a.z >= high) continue;
    } else {
      const double first = (low - line.a.z) / rise;
      const double second = (high - line.a.z) / rise;
      line.from = std::max(0.0, std::min(first, second));
      line.to = std::min(1.0, std::max(first, second));
      if (line.from > line.to) continue;
    }
    add(storeys_[i], line, crossed);
  }
  return crossed;
}

RadioNetwork::RadioNetwork(const Project& project, const Design& design)
    : project_(&project), design_(&design), walls_(project) {
  if (!project.radio) return;
  std::vector<Node> repeaters;
  for (const Infrastructure& device : design.infrastructure) {
    const Space* space = domain::find_by_id(project.spaces, device.space);
    if (device.link != domain::Link::radio || !domain::stands_in(design, device.status) || space == nullptr)
      continue;
    if (device.kind == Infrastructure::Kind::gateway) nodes_.push_back({&device, {space, device.at}});
    if (device.kind == Infrastructure::Kind::repeater) repeaters.push_back({&device, {space, device.at}});
  }
  // Of each round every repeater is looked at, from the nodes so far.
  const auto ends = static_cast<double>(nodes_.size() + repeaters.size());
  const auto rounds = static_cast<double>(repeaters.size() * repeaters.size());
  constexpr double kPlaces = 4000.0;  // on a plan
  constexpr double kMostLooks = 4e8;
  is_too_large_ = (kPlaces + rounds) * ends * static_cast<double>(walls_.count()) > kMostLooks;
  if (is_too_large_) return;
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

RadioLink link_between(const Project& project, const Walls& walls, const RadioPlace& from,
                       const RadioPlace& to, double sender_gain_dbi) {
  const domain::Radio& radio = *project.radio;
  RadioLink link;
  link.distance_m = length(walls.in_building(to) - walls.in_building(from));
  link.crossed = walls.between(from, to);
  const double f_mhz = frequency_mhz(radio.band);
  link.loss_db =
      std::max(site_general_loss_db(f_mhz, distance_coefficient(radio.band), link.distance_m,
                                    floor_loss_db(radio.band, link.crossed.floors)),
               multi_wall_loss_db(f_mhz, link.distance_m, link.crossed, crossing_loss(radio.band)));
  link.margin_db = margin_db(radio, link.loss_db) + sender_gain_dbi - radio.device_gain_dbi;
  link.availability = sensing::availability(link.margin_db, radio.shadowing_db);
  return link;
}

std::vector<const Device*> radio_devices(const Design& design) {
  std::vector<const Device*> devices;
  for_each_device(design, [&](const Device& device) {
    const bool carries = std::any_of(design.infrastructure.begin(), design.infrastructure.end(),
                                     [&](const Infrastructure& i) { return &i == &device; });
    if (device.link == domain::Link::radio && !carries) devices.push_back(&device);
  });
  return devices;
}

RadioLink RadioNetwork::link(const RadioPlace& from, const Node& to, double sender_gain_db) const {
  RadioLink link = link_between(*project_, walls_, from, to.place, sender_gain_db);
  link.to = to.device;
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
