#include "sim/divided_room.hpp"

#include "sim/space_results.hpp"
#include "sim/space_year.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using people::Presence;

/// Whether a scene's state is one in which its partition stands through the year where nothing moves it.
bool is_first_state(const domain::Space& space, const std::string& state) {
  return std::any_of(space.partitions.begin(), space.partitions.end(), [&](const domain::Partition& p) {
    return p.kind == domain::Partition::Kind::movable && !p.states.empty() && p.states.front() == state;
  });
}

}  // namespace

std::vector<int> parts_of_cells(const domain::Project& project, const domain::Space& space,
                                const LitSpace& lit) {
  std::vector<int> parts;
  const domain::Partition* wall = domain::wall_in_use(space);
  if (wall == nullptr) return parts;
  for (const ControlCell& cell : lit.cells) {
    std::set<int> sides;
    for (const ControlCell& other : lit.cells) {
      const bool together =
          &other == &cell || (!cell.occupancy_group.empty() && other.design == cell.design &&
                              other.occupancy_group == cell.occupancy_group);
      if (!together) continue;
      for (const std::size_t column : other.columns) {
        const Point3 at = luminaire_of(project, lit.scene.columns[column]).at;
        sides.insert(domain::side_of(*wall, {at.x, at.y}));
      }
    }
    parts.push_back(sides.size() == 1 ? *sides.begin() : Presence::kWholeRoom);
  }
  return parts;
}

std::optional<IntervalSet> scene_stands_when(const domain::Scene& scene, const domain::Space& space,
                                             const IntervalSet& divided) {
  if (scene.partition_state.empty()) return std::nullopt;
  const domain::Partition* wall = domain::wall_in_use(space);
  const bool of_wall = wall != nullptr && std::find(wall->states.begin(), wall->states.end(),
                                                    scene.partition_state) != wall->states.end();
  if (!of_wall)
    return is_first_state(space, scene.partition_state) ? std::nullopt
                                                        : std::optional<IntervalSet>{IntervalSet{}};
  const auto state = static_cast<std::size_t>(
      std::find(wall->states.begin(), wall->states.end(), scene.partition_state) - wall->states.begin());
  return domain::stands(*wall, state) ? divided : subtracted(IntervalSet({{0, kYear}}), divided);
}

std::optional<results::DividedRoom> divided_room(const SpaceModel& model, const SpaceRuns& runs,
                                                 const Estimates& estimates) {
  const domain::Partition* wall = domain::wall_in_use(*model.space);
  if (wall == nullptr) return std::nullopt;
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  results::DividedRoom found;
  found.partition = wall->id;
  found.hours = estimates.of([&](std::size_t r) { return runs.runs[r].divided_h; });
  found.controls_know = proposal < model.watched.knows_wall.size() && model.watched.knows_wall[proposal];
  return found;
}

std::optional<results::Finding> divided_room_finding(const SpaceModel& model) {
  const domain::Partition* wall = domain::wall_in_use(*model.space);
  const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal);
  if (wall == nullptr || design == nullptr) return std::nullopt;
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  std::set<std::string> in_both;
  bool any_in_part = false;
  for (std::size_t c = 0; c < model.part_of_cell.size(); ++c) {
    const ControlCell& cell = model.lit->cells[c];
    if (cell.design != proposal) continue;
    any_in_part = any_in_part || model.part_of_cell[c] != Presence::kWholeRoom;
    if (model.part_of_cell[c] == Presence::kWholeRoom)
      in_both.insert(cell.occupancy_group.empty() ? cell.name : cell.occupancy_group);
  }
  std::string evidence;
  std::string fix;
  if (!in_both.empty()) {
    std::string names;
    for (const std::string& name : in_both) names += (names.empty() ? "" : ", ") + name;
    evidence = fmt::format(
        "bookings divide the room along {}; luminaires of {} are on both sides of it, so that whoever is in "
        "one part lights the other",
        wall->id, names);
    fix = "give the luminaires of each part groups of their own";
  } else if (any_in_part && !model.watched.knows_wall[proposal]) {
    evidence = fmt::format(
        "bookings divide the room along {}; no partition sensor tells the controls when it is open, so that "
        "each part always goes by its own sensors, with one audience in both too",
        wall->id);
    fix = "give the room a partition sensor (interface), or leave the parts apart on purpose";
  } else {
    return std::nullopt;
  }
  return results::Finding{
      kControlsFollowTheWall,
      "",
      "",
      "",
      "Controls follow the movable wall",
      in_both.empty() ? results::Finding::Verdict::needs_evidence : results::Finding::Verdict::fail,
      evidence,
      fix,
      results::Finding::Confidence::confirmed,
      false};
}

}  // namespace halflight::sim
