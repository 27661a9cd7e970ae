#pragma once
#include "geometry/rays.hpp"
#include "geometry/vector.hpp"

#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <span>
#include <vector>

namespace halflight {

/// Indices of vertices, counter-clockwise as seen from its front.
using SceneTriangle = std::array<std::uint32_t, 3>;

/// What each of eight rays meets first.
struct HitBlock {
  static constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();
  std::array<std::uint32_t, kLanes> triangle;  ///< kNone: nothing
  Lanes distance;                              ///< in lengths of the direction
  Lanes u, v;    ///< the place is (1 - u - v) of the triangle's first vertex, u of its second, v of its third
  Lanes onward;  ///< below 0 for a ray that meets the triangle's front, above for its back
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

  /// Of the box about all vertices.
  [[nodiscard]] Point3 middle() const;
  /// The first triangle along each ray, from either side; blocks of rays whose origins are about `about`.
  /// `out` has as many blocks.
  void intersect(Point3 about, std::span<const Rays::Block> rays, std::span<HitBlock> out) const;
  /// 1 where a triangle lies between the origin of a ray and the place one direction further, both ends drawn
  /// in by `clearance_m`, else 0; 0 where that leaves nothing. `out` has as many elements as `rays`.
  void occluded(const Rays& rays, double clearance_m, std::span<std::uint8_t> out) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace halflight
