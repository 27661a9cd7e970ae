#pragma once
#include "base/diagnostic.hpp"
#include "base/hash.hpp"
#include "geometry/polygon.hpp"
#include "geometry/rays.hpp"
#include "geometry/vector.hpp"

#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace halflight {

/// A rectangle in a wall: window, inner glazing or door. What it is made of is the caller's business.
struct WallOpening {
  std::int32_t wall = 0;  ///< edge of the floor polygon, from vertex `wall` to the next
  double offset_m = 0.0;  ///< from the wall's first vertex to the opening's near jamb
  double sill_m = 0.0;    ///< above the floor
  double width_m = 0.0;
  double height_m = 0.0;
};

/// An outline in plan of a hole in the ceiling; the depth of a shaft is the caller's business.
struct RoofOpening {
  Polygon plan;
};

/// Furniture and other solids. A table is a thin prism that floats; a bookcase stands on the floor. Prisms
/// may touch or overlap each other and touch walls, floor and ceiling: hidden parts of their faces, and the
/// parts of wall, floor and ceiling that they cover, bear no patches.
struct Prism {
  Polygon plan;
  double bottom_z_m = 0.0;  ///< building z, not height above the floor
  double top_z_m = 0.0;
};

/// A room as light sees it: vertical walls over a level floor polygon under one plane of ceiling.
struct EnclosureShape {
  Polygon floor;             ///< simple, counter-clockwise; vertex i starts wall i
  double height_m = 0.0;     ///< where the ceiling is lowest
  Vector2 ceiling_gradient;  ///< rise of the ceiling per metre in plan; at most 2 in all, {0, 0}: level
  double floor_z_m = 0.0;
  std::vector<WallOpening> wall_openings;
  std::vector<RoofOpening> roof_openings;
  std::vector<Prism> prisms;
};

enum class SurfaceKind : std::uint8_t { floor, ceiling, wall, opening, object };
std::string_view name_of(SurfaceKind kind);

/// A planar surface. Local coordinates (u, v) of a point p are dot(p - corner, frame.x) and dot(p - corner,
/// frame.y); frame.z is the normal, into the room.
struct Surface {
  static constexpr std::int32_t kTop = -1;
  static constexpr std::int32_t kBottom = -2;
  SurfaceKind kind = SurfaceKind::floor;
  /// wall: edge of the floor polygon; opening: its index, wall openings first, then roof openings (see
  /// `Enclosure::opening_count`); object: prism; floor and ceiling: 0.
  std::int32_t index = 0;
  std::int32_t face = 0;  ///< object: edge of its plan, or kTop or kBottom; otherwise 0
  Point3 corner;
  Frame frame;
  Region region;         ///< what the room sees of it, in local coordinates
  double area_m2 = 0.0;  ///< of `region`
  std::uint32_t first_patch = 0;
  std::uint32_t patch_count = 0;  ///< patches of a surface are contiguous; 0 when nothing is seen
};

struct Patch {
  std::uint32_t surface = 0;
  Point3 centroid;  ///< of its area; may lie outside a bent patch
  Vector3 normal;   ///< unit, into the room
  double area_m2 = 0.0;
  /// Blocks are patches of twice the side: up to two by two neighbours of one surface that hang together.
  /// They tell what the size of patches does to an answer. Below `Enclosure::block_count`.
  std::uint32_t block = 0;
};

/// What a ray met inside an enclosure.
struct SurfaceHit {
  static constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();
  std::uint32_t patch = kNone;  ///< kNone: a leak
  float distance_m = 0.0F;
};

/// A point to observe from, moved clear of surfaces, or the reason why there is none.
struct ObservationOrigin {
  enum class State : std::uint8_t {
    clear,          ///< in free air, or moved there
    inside_object,  ///< deep inside furniture: it receives nothing
    outside,        ///< not in the room
  };
  Point3 position;
  State state = State::clear;
};

/// A room ready for light: planar surfaces, patches on them, and ray queries. Immutable and cheap to copy;
/// every query may be called from any thread and depends on nothing but its arguments.
///
/// Rays meet the coarse surfaces (each wall one quad that shares its corners with the triangulated floor and
/// ceiling, each prism a closed box), so there are no T-junctions to leak through; openings and patches are
/// then found by the position of the hit. Rays that meet nothing are leaks: callers count them, and a share
/// above `kLeakLimit` is an error.
class Enclosure {
 public:
  /// Largest acceptable share of rays from inside that meet nothing.
  static constexpr double kLeakLimit = 1e-5;
  /// Rays leave a surface this far along its normal; points are moved this far clear of surfaces, m.
  static constexpr double kClearance_m = 1e-4;
  /// Faces closer than this, and facing each other, count as touching, m.
  static constexpr double kContact_m = 1e-3;

  /// `patch_m` > 0: the wanted side of a patch. Patches are cells of a grid over each surface, an even number
  /// a side, clipped to what is seen of it, a patch for each piece that hangs together; pieces with less than
  /// a fifth of a full cell join one that they touch. Areas are exact to 1e-6 m in position. Errors name the
  /// part with a pointer into `shape`: "/floor", "/wall_openings/2", "/prisms/0".
  static Result<Enclosure> make(const EnclosureShape& shape, double patch_m);

  [[nodiscard]] const EnclosureShape& shape() const;
  [[nodiscard]] std::span<const Surface> surfaces() const;
  [[nodiscard]] std::span<const Patch> patches() const;
  [[nodiscard]] std::size_t block_count() const;
  /// Wall openings and roof openings together; opening i is surface `opening_surface(i)`.
  [[nodiscard]] std::int32_t opening_count() const;
  [[nodiscard]] std::uint32_t opening_surface(std::int32_t opening) const;
  [[nodiscard]] std::uint32_t wall_surface(std::int32_t wall) const;
  [[nodiscard]] std::uint32_t floor_surface() const;
  [[nodiscard]] std::uint32_t ceiling_surface() const;
  /// All that bounds the air, m2; the sum over patches.
  [[nodiscard]] double total_area_m2() const;
  /// Building z of the ceiling over a place in plan.
  [[nodiscard]] double ceiling_z_at(Point2 p) const;
  /// Volume of air, m3: the room without its prisms.
  [[nodiscard]] double volume_m3() const;

  /// The patch of `surface` at or nearest to `p`, by grid look-up; kNone when it has no patches.
  [[nodiscard]] std::uint32_t patch_of(std::uint32_t surface, Point3 p) const;

  /// `n` points spread evenly (scrambled Sobol, rejected outside clipped cells) over a patch, on its plane.
  /// The same arguments give the same points; `out` has n elements.
  void sample_patch(std::uint32_t patch, std::uint32_t scramble, std::span<Point3> out) const;

  /// Where rays in the room are told from best.
  [[nodiscard]] Point3 middle() const;
  /// First surface along each ray. Directions are unit vectors. Origins must lie in the air, or on a surface
  /// and be moved off it by `kClearance_m` along its normal: moving the origin, rather than ignoring hits
  /// nearer than some distance along the ray, keeps rays that start beside a corner from slipping through it.
  /// `out` has as many elements as `rays`.
  void trace(const Rays& rays, std::span<SurfaceHit> out) const;
  /// 1 where something stands between the origin of a ray and the place one direction further:
  /// `rays.add(from, to - from)`. Both ends are drawn in by `kClearance_m`, so that they may lie on surfaces.
  void occluded(const Rays& rays, std::span<std::uint8_t> out) const;
  /// For each ray the opening through which it leaves the room, or -1 when something opaque comes first:
  /// direct sun at a point is a ray towards the sun.
  void exit_opening(const Rays& rays, std::span<std::int32_t> out) const;

  /// Where to observe from for a point as a designer gives it, looking along `direction` (unit). A point on
  /// or within `kClearance_m` of floor, ceiling or wall is moved into the room by `kClearance_m`; one on a
  /// prism, or inside it and at most 0.1 m below its top (a point at desk height with a desk drawn a little
  /// higher), is lifted to `kClearance_m` above the top; one within `kClearance_m` of a prism's side or
  /// bottom is moved off it.
  [[nodiscard]] ObservationOrigin observation_origin(Point3 p, Vector3 direction) const;
  /// In the closed room and not strictly inside a prism.
  [[nodiscard]] bool in_air(Point3 p) const;

  /// The canonical bytes of exactly what the surfaces and patches depend on.
  void add_to_key(KeyBuilder& key) const;

 private:
  struct Data;
  explicit Enclosure(std::shared_ptr<const Data> data) : data_(std::move(data)) {}
  std::shared_ptr<const Data> data_;
};

}  // namespace halflight
