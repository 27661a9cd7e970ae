#pragma once
#include "geometry/vector.hpp"

#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <span>
#include <vector>

namespace halflight {

/// Half-open reach [0, max_distance_m) along a unit direction. A ray may start on nothing: move its origin
/// off the surface that it leaves (see `Enclosure::kClearance_m`). Moving the origin along the normal, rather
/// than ignoring hits nearer than some distance along the ray, keeps rays that start beside a corner from
/// slipping through it.
struct Ray {
  Point3 origin;
  Vector3 direction;
  double max_distance_m = std::numeric_limits<double>::infinity();
};

struct Hit {
  static constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();
  std::uint32_t surface = kNone;  ///< the id given with the triangle; kNone: nothing within reach
  double distance_m = 0.0;
  Point3 position;
};

/// Between two points, both open.
struct Segment {
  Point3 from;
  Point3 to;
};

struct SceneTriangle {
  std::array<std::uint32_t, 3> vertices{};
  std::uint32_t surface = 0;
};

/// Triangles behind ray queries, in single precision about the middle of the scene, so that a building's far
/// corner resolves as well as its origin (for a room of 50 m, to about 4e-6 m). Edges shared by vertex index
/// are watertight. The tree is built on one thread and traversal is pinned to one instruction class, so
/// answers do not depend on threads.
class RayScene {
 public:
  RayScene(std::span<const Point3> vertices, std::span<const SceneTriangle> triangles);
  ~RayScene();
  RayScene(RayScene&&) noexcept;
  RayScene& operator=(RayScene&&) noexcept;

  /// The first triangle along each ray, from either side. `out` has as many elements as `rays`.
  void intersect(std::span<const Ray> rays, std::span<Hit> out) const;
  /// 1 where a triangle lies between the ends of a segment, else 0. A segment of no length is not occluded.
  void occluded(std::span<const Segment> segments, std::span<std::uint8_t> out) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace halflight
