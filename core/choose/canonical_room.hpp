#pragma once
#include "domain/control.hpp"
#include "domain/luminaire.hpp"
#include "domain/space.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace halflight::choose {

/// The nearest length on a raster of 0.1 mm, m.
double on_raster_m(double x);

/// Axes along a wall of a room: u along it with the room to the left, v across.
struct PlanFrame {
  Point2 origin;
  Vector2 along{1.0, 0.0};
  [[nodiscard]] Point2 to_frame(Point2 building) const;
  [[nodiscard]] Point2 to_building(Point2 frame) const;
  /// Of `along`, counter-clockwise from +x of the building.
  [[nodiscard]] double turn_deg() const;
};

/// A room described as nobody's document does: in axes along its longest wall, lengths on a raster of 0.1 mm,
/// outlines from their first corner and lists in order of place. However the document turns the room, where
/// it begins an outline and how it numbers things: this is the same to the last bit, so that whatever is
/// computed from it turns with the room.
struct CanonicalRoom {
  PlanFrame frame;
  domain::Space space;  ///< plan north is +v
  std::vector<domain::Luminaire> luminaires;
  std::vector<domain::OccupancySensor> sensors;
  std::vector<std::size_t> door;       ///< index of each door in the document's list
  std::vector<std::size_t> furniture;  ///< of each piece of furniture
  std::vector<std::size_t> task_area;  ///< of each task area
  std::vector<std::size_t> luminaire;  ///< of each luminaire
};

/// `space.floor` must be simple and counter-clockwise. Of longest walls alike to 0.01 mm the one is taken
/// from which the room reads first; where a room is its own image from several of them, the one that runs
/// most nearly to +x, so that a result is then the same up to the room's own symmetry.
CanonicalRoom canonical_room(const domain::Space& space, std::span<const domain::Luminaire> luminaires,
                             std::span<const domain::OccupancySensor> sensors);

/// Walls of a floor as somebody sees them: edges with the corners joined that lie on a straight line.
struct Wall {
  Point2 from;
  Point2 to;
};
std::vector<Wall> walls_of(const Polygon& floor);

}  // namespace halflight::choose
