#include "choose/occupancy_part.hpp"

#include "choose/canonical_room.hpp"
#include "choose/controller_part.hpp"
#include "choose/first_cost.hpp"
#include "choose/room_controls.hpp"
#include "choose/sensor_cover.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <set>
#include <span>
#include <string_view>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using Mounting = domain::DeviceKind::Mounting;

/// Rooms from here on get groups for their sensors: what energy codes take for one zone of an open office
/// (IECC C405.2.1.3, ASHRAE 90.1: 600 ft2).
constexpr double kOneZone_m2 = 55.74;
/// More groups than this are nobody's to keep in mind at the stations (common practice, no source).
constexpr std::size_t kMostGroups = 8;
/// Of the largest zone, left free where neighbours are put together (common practice, no source).
constexpr double kZoneSpare = 0.15;
constexpr std::size_t kSidesOfWall = 2;
/// Differences of cost that are none.
constexpr double kSameCost = 0.5;

std::string_view word_of(Mounting mounting) {
  switch (mounting) {
    case Mounting::wall:
      return "wall sensor";
    case Mounting::wall_box:
      return "wall-box sensor";
    case Mounting::in_luminaire:
      return "luminaire sensor";
    default:
      return "ceiling sensor";
  }
}

std::string counted(std::size_t count, std::string_view thing) {
  return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

/// "2 ceiling sensors and 1 wall sensor".
std::string words_of(const std::vector<domain::OccupancySensor>& sensors,
                     const std::map<std::string, const domain::DeviceKind*>& kinds) {
  std::map<Mounting, std::size_t> count;
  for (const domain::OccupancySensor& sensor : sensors) ++count[kinds.at(sensor.device_kind)->mounting];
  std::string words;
  for (const auto& [mounting, n] : count)
    words += (words.empty() ? "" : " and ") + counted(n, word_of(mounting));
  return words;
}

std::string why_of(const SensorCover& cover, const std::string& currency) {
  std::string why = cover.keeps_all ? fmt::format("Every place, seat and entry is seen; of {} for sensors",
                                                  counted(cover.candidates, "place"))
                                    : fmt::format("Not all can be seen; of {} for sensors",
                                                  counted(cover.candidates, "place"));
  why += cover.is_proved
             ? " no cheaper set sees as much."
             : fmt::format(" a set that is cheaper by {:.0f} {} is not ruled out.", cover.gap(), currency);
  for (const SensorDemand& demand : cover.demands)
    if (!demand.why.empty()) why += " " + demand.why + ".";
  return why;
}

/// " Batteries last about 8 years (4 sensors)."; empty where none has one.
std::string batteries(const std::vector<domain::OccupancySensor>& sensors,
                      const std::map<std::string, const domain::DeviceKind*>& kinds) {
  std::size_t count = 0;
  double years = 0.0;
  for (const domain::OccupancySensor& sensor : sensors)
    if (const std::optional<double>& of_kind = kinds.at(sensor.device_kind)->battery_years) {
      years = count == 0 ? *of_kind : std::min(years, *of_kind);
      ++count;
    }
  return count == 0
             ? ""
             : fmt::format(" Batteries last about {:.0f} years ({}).", years, counted(count, "sensor"));
}

/// Divides sensors into groups by halving their field across its longer side until each group has its share
/// of the floor with `kZoneSpare` left, since luminaires at a wall light more than their share. It turns with
/// the room.
std::vector<std::size_t> groups_of_neighbours(const domain::Space& space,
                                              const std::vector<domain::Luminaire>& luminaires,
                                              const std::vector<domain::OccupancySensor>& sensors) {
  const PlanFrame frame = canonical_room(space, luminaires, {}).frame;
  std::vector<Point2> at;
  for (const domain::OccupancySensor& sensor : sensors) {
    const Point2 p = frame.to_frame({sensor.at.x, sensor.at.y});
    at.push_back({on_raster_m(p.x), on_raster_m(p.y)});
  }
  std::vector<std::size_t> order(sensors.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::vector<std::size_t> group_of(sensors.size());
  std::size_t groups = 0;
  const auto halve = [&](const auto& self, std::span<std::size_t> some, std::size_t zones) -> void {
    if (zones < 2 || some.size() < 2) {
      for (const std::size_t sensor : some) group_of[sensor] = groups;
      ++groups;
      return;
    }
    const auto width = [&](double Point2::*axis) {
      const auto [low, high] = std::minmax_element(
          some.begin(), some.end(), [&](std::size_t a, std::size_t b) { return at[a].*axis < at[b].*axis; });
      return at[*high].*axis - at[*low].*axis;
    };
    const bool is_long = width(&Point2::x) >= width(&Point2::y);
    std::sort(some.begin(), some.end(), [&](std::size_t a, std::size_t b) {
      return is_long ? std::pair(at[a].x, at[a].y) < std::pair(at[b].x, at[b].y)
                     : std::pair(at[a].y, at[a].x) < std::pair(at[b].y, at[b].x);
    });
    const std::size_t first = zones / 2;
    const std::size_t cut = std::clamp<std::size_t>(some.size() * first / zones, 1, some.size() - 1);
    self(self, some.first(cut), first);
    self(self, some.subspan(cut), zones - first);
  };
  const double one_zone_m2 = (1.0 - kZoneSpare) * kOneZone_m2;
  halve(halve, order, static_cast<std::size_t>(std::ceil(area(space.floor) / one_zone_m2)));
  return group_of;
}

/// Numbers from 0 on without a gap, in the order of what they stand for.
std::vector<std::size_t> numbered(const std::vector<std::size_t>& labels) {
  const std::set<std::size_t> all(labels.begin(), labels.end());
  std::vector<std::size_t> numbers;
  for (const std::size_t label : labels)
    numbers.push_back(static_cast<std::size_t>(std::distance(all.begin(), all.find(label))));
  return numbers;
}

/// The side of a wall that each sensor is on.
std::vector<std::size_t> sides_of(const domain::Partition& wall,
                                  const std::vector<domain::OccupancySensor>& sensors) {
  std::vector<std::size_t> sides;
  for (const domain::OccupancySensor& sensor : sensors)
    sides.push_back(static_cast<std::size_t>(domain::side_of(wall, {sensor.at.x, sensor.at.y})));
  return sides;
}

std::size_t different(const std::vector<std::size_t>& labels) {
  return std::set<std::size_t>(labels.begin(), labels.end()).size();
}

}  // namespace

std::vector<OccupancyPart> occupancy_parts(const domain::Project& project, const domain::Library& library,
                                           const domain::Design& design, const domain::Space& space) {
  const domain::Partition* wall = domain::wall_in_use(space);
  SensorCoverProblem problem;
  problem.space = wall == nullptr ? space : domain::with_wall(space, true);
  problem.luminaires = fixed_luminaires(project, design, space.id);
  problem.luminaire_types = project.luminaire_types;
  problem.people = static_cast<std::size_t>(std::max(0L, std::lround(space.occupancy.people)));
  std::map<std::string, const domain::DeviceKind*> kinds;
  std::vector<SensorOffer> offers;
  for (const domain::DeviceKind* kind : kinds_for(project, library, space)) {
    if (!kind->occupancy) continue;
    offers.push_back({kind, middle(unit_cost(project, kind->id, kind->price).cost)});
    kinds[kind->id] = kind;
  }

  std::vector<std::pair<double, OccupancyPart>> found;
  for (const Mounting mounting :
       {Mounting::ceiling, Mounting::wall, Mounting::wall_box, Mounting::in_luminaire}) {
    problem.offers.clear();
    std::copy_if(offers.begin(), offers.end(), std::back_inserter(problem.offers),
                 [&](const SensorOffer& offer) { return offer.kind->mounting == mounting; });
    if (problem.offers.empty()) continue;
    const Result<SensorCover> cover = sensor_cover(problem);
    // What one mounting cannot see another may.
    if (!cover || cover->sensors.empty()) continue;
    OccupancyPart part;
    part.sensors = cover->sensors;
    part.words = words_of(part.sensors, kinds);
    part.why = why_of(*cover, project.estimate.currency) + batteries(part.sensors, kinds);
    found.emplace_back(cover->keeps_all ? cover->cost : 1e9 + cover->cost, std::move(part));
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first + kSameCost < b.first; });
  // Sets that leave something unseen only where there is no other.
  const bool any_keeps_all = !found.empty() && found.front().first < 1e9;
  std::vector<OccupancyPart> parts;
  for (auto& [cost, part] : found) {
    if (any_keeps_all && cost >= 1e9) continue;
    std::vector<std::size_t> sides(part.sensors.size());
    if (wall != nullptr) {
      sides = sides_of(*wall, part.sensors);
      if (different(sides) < kSidesOfWall) continue;
      part.group_of = sides;
      part.words += ", by side of the wall";
      part.why += fmt::format(" Each side of {} goes by its own while that stands.", wall->id);
    }
    parts.push_back(part);
    if (part.sensors.size() < 2 || area(space.floor) <= kOneZone_m2) continue;
    OccupancyPart apart = part;
    if (part.sensors.size() <= kMostGroups) {
      if (part.sensors.size() == different(sides)) continue;
      apart.group_of.resize(part.sensors.size());
      std::iota(apart.group_of.begin(), apart.group_of.end(), std::size_t{0});
      apart.words += ", a group for each";
      apart.why += " Each governs the luminaires nearest to it.";
    } else {
      std::vector<std::size_t> neighbours = groups_of_neighbours(space, problem.luminaires, part.sensors);
      for (std::size_t s = 0; s < neighbours.size(); ++s)
        neighbours[s] = neighbours[s] * kSidesOfWall + sides[s];
      apart.group_of = numbered(neighbours);
      const std::size_t groups = different(apart.group_of);
      apart.words += fmt::format(", in {} groups", groups);
      apart.why += fmt::format(
          " Neighbours are together in {} groups, each no larger than codes let a zone be.", groups);
    }
    parts.push_back(std::move(apart));
  }
  parts.push_back({"no occupancy sensors", "Nobody is noticed: people switch.", {}});
  return parts;
}

}  // namespace halflight::choose
