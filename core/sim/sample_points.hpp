#pragma once
#include "domain/space.hpp"
#include "geometry/enclosure.hpp"
#include "lightresponse/response.hpp"

#include <cstddef>
#include <vector>

// Where light is looked at beside the task areas: at people's eyes, on walls and ceiling. Fewer points than
// the grid of EN 12464-1 has, spread as evenly (docs/methods/glare.md, docs/methods/room_light.md).

namespace halflight::sim {

/// Centres of at most `most` > 0 nearly square cells over the bounding rectangle of `grid_points` that lie in
/// the area, no more along a side than that grid has; at least one.
std::vector<Point2> spread_points(const Polygon& area, std::size_t most);

/// Eyes over a horizontal task area.
struct EyePoints {
  double height_m = 0.0;         ///< 1.2 seated, at planes 0.5 m or more above the floor; else 1.6 standing
  std::vector<Point3> at;        ///< in free air; may be none
  std::vector<Vector3> looking;  ///< level lines of sight, evenly around, the first along the area's length
  /// For each place its lines of sight in their order, then upwards. Reflected light of each point.
  lightresponse::PointSet set;
};
/// No place over a vertical task area.
EyePoints eye_points(const domain::TaskArea& task, const Enclosure& room);

/// Points on surfaces with the share of their whole area that each stands for.
struct SurfacePoints {
  lightresponse::PointSet set;
  std::vector<double> share;  ///< sums to 1
};
/// On what is seen of all walls, without openings.
SurfacePoints wall_points(const Enclosure& room);
/// On what is seen of the ceiling, without openings.
SurfacePoints ceiling_points(const Enclosure& room);

}  // namespace halflight::sim
