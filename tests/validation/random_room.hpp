#pragma once
#include "domain/observation.hpp"
#include "domain/project.hpp"
#include "validation/path_tracer.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace halflight::validation {

/// A furnished room drawn at random, with the points at which its light is compared.
struct RandomRoom {
  domain::Project project;  ///< one space, one design
  Surroundings surroundings;
  std::string description;  ///< "L-shaped, 6.1 x 4.4 x 2.9 m, 5 luminaires, 2 windows"
  /// At work on a desk or in the air over the floor, upright, and a photosensor at the ceiling.
  enum class PointKind { work, upright, sensor };
  struct Point {
    PointKind kind = PointKind::work;
    domain::ObservationPoint point;
  };
  std::vector<Point> points;
};

/// Rectangular or L-shaped, 2.4 to 4 m high, turned on the plan or not; desks, shelves and perhaps a screen;
/// 1 to 8 luminaires of the synthetic formulas, pendants with uplight among them; 0 to 3 windows and
/// sometimes a skylight and a building opposite; reflectances at random. The same seed gives the same room.
RandomRoom random_room(std::uint64_t seed);

/// The channels of a project's first design in the order of the document.
std::vector<Lamp> lamps_of(const domain::Project& project);

}  // namespace halflight::validation
