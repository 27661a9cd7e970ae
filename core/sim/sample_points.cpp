#include "sim/sample_points.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::sim {

namespace {

constexpr double kSeatedEye_m = 1.2;  // EN 12464-1, from memory
constexpr double kStandingEye_m = 1.6;
constexpr double kSeatedPlane_m = 0.5;  // lower planes are walked on
constexpr std::size_t kMostEyes = 12;
constexpr int kDirections = 8;
constexpr std::size_t kMostOnWalls = 48;
constexpr std::size_t kMostOnCeiling = 24;

void add_point(const Surface& surface, Vector2 local, SurfacePoints& points) {
  const Point3 at = surface.corner + (local.x * surface.frame.x + local.y * surface.frame.y);
  points.set.points.push_back({at, surface.frame.z, {}});
}

}  // namespace

std::vector<Point2> spread_points(const Polygon& area, std::size_t most) {
  const PointGrid grid = grid_points(area, 0.0);
  const double width = grid.columns * grid.column_spacing_m;
  const double depth = grid.rows * grid.row_spacing_m;
  // Nearly square cells.
  const auto wanted = std::lround(std::sqrt(static_cast<double>(most) * width / depth));
  const auto columns = std::clamp<long>(wanted, 1, std::min<long>(grid.columns, static_cast<long>(most)));
  const auto rows = std::clamp<long>(static_cast<long>(most) / columns, 1, grid.rows);
  const Vector2 up{-grid.along.y, grid.along.x};
  std::vector<Point2> points;
  for (long row = 0; row < rows; ++row)
    for (long column = 0; column < columns; ++column) {
      const Point2 p = (grid.corner + (static_cast<double>(column) + 0.5) * width /
                                          static_cast<double>(columns) * grid.along) +
                       (static_cast<double>(row) + 0.5) * depth / static_cast<double>(rows) * up;
      if (contains(area, p)) points.push_back(p);
    }
  if (points.empty()) points.push_back(grid.points[grid.points.size() / 2]);
  return points;
}

EyePoints eye_points(const domain::TaskArea& task, const Enclosure& room) {
  EyePoints eyes;
  eyes.height_m = task.height_m >= kSeatedPlane_m ? kSeatedEye_m : kStandingEye_m;
  if (task.plane == domain::TaskArea::Plane::vertical) return eyes;
  const Vector2 along = grid_points(task.plan, 0.0).along;
  for (int k = 0; k < kDirections; ++k) {
    const double turn = 2.0 * kPi * k / kDirections;
    eyes.looking.push_back({std::cos(turn) * along.x - std::sin(turn) * along.y,
                            std::sin(turn) * along.x + std::cos(turn) * along.y, 0.0});
  }
  for (const Point2 p : spread_points(task.plan, kMostEyes)) {
    const Point3 at{p.x, p.y, eyes.height_m};
    if (room.observation_origin(at, {0, 0, 1}).state != ObservationOrigin::State::clear) continue;
    eyes.at.push_back(at);
    for (const Vector3 looking : eyes.looking) eyes.set.points.push_back({at, looking, {}});
    eyes.set.points.push_back({at, {0, 0, 1}, {}});
  }
  return eyes;
}

SurfacePoints wall_points(const Enclosure& room) {
  SurfacePoints points;
  const std::size_t walls = room.shape().floor.size();
  const std::size_t most = std::max<std::size_t>(1, kMostOnWalls / walls);
  double total_m2 = 0.0;
  for (std::size_t w = 0; w < walls; ++w) {
    const Surface& wall = room.surfaces()[room.wall_surface(static_cast<std::int32_t>(w))];
    if (wall.region.empty()) continue;
    const Point2 from = room.shape().floor[w];
    const Point2 to = room.shape().floor[(w + 1) % walls];
    // Over the higher end where the ceiling slopes; places above the slope are on no wall.
    const double height_m = std::max(room.ceiling_z_at(from), room.ceiling_z_at(to)) - room.shape().floor_z_m;
    const Polygon face = rectangle({0.0, 0.0}, {length(to - from), height_m});
    std::size_t kept = 0;
    for (const Point2 p : spread_points(face, most)) {
      if (!contains(wall.region, p)) continue;
      add_point(wall, {p.x, p.y}, points);
      ++kept;
    }
    // A wall that is nearly all glass has no point, and does not count.
    for (std::size_t i = 0; i < kept; ++i) points.share.push_back(wall.area_m2 / static_cast<double>(kept));
    if (kept > 0) total_m2 += wall.area_m2;
  }
  for (double& share : points.share) share /= total_m2;
  return points;
}

SurfacePoints ceiling_points(const Enclosure& room) {
  SurfacePoints points;
  const Surface& ceiling = room.surfaces()[room.ceiling_surface()];
  for (const Point2 p : spread_points(room.shape().floor, kMostOnCeiling)) {
    const Vector3 from_corner = Point3{p.x, p.y, room.ceiling_z_at(p)} - ceiling.corner;
    const Point2 local{dot(from_corner, ceiling.frame.x), dot(from_corner, ceiling.frame.y)};
    if (contains(ceiling.region, local)) add_point(ceiling, {local.x, local.y}, points);
  }
  points.share.assign(points.set.points.size(), 1.0 / static_cast<double>(points.set.points.size()));
  return points;
}

}  // namespace halflight::sim
