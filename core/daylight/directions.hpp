#pragma once
#include "base/hash.hpp"
#include "climate/sky.hpp"
#include "daylight/well.hpp"
#include "domain/site.hpp"
#include "domain/space.hpp"
#include "geometry/enclosure.hpp"
#include "geometry/ray_scene.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <vector>

namespace halflight::daylight {

/// Building axes to true east, north and up. `plan_north_deg`: bearing of building +y, clockwise from true
/// north.
class Compass {
 public:
  explicit Compass(double plan_north_deg);
  [[nodiscard]] Vector3 world_from_plan(Vector3 v) const {
    return {c_ * v.x + s_ * v.y, -s_ * v.x + c_ * v.y, v.z};
  }
  [[nodiscard]] Vector3 plan_from_world(Vector3 v) const {
    return {c_ * v.x - s_ * v.y, s_ * v.x + c_ * v.y, v.z};
  }

 private:
  double c_ = 1.0;
  double s_ = 0.0;
};

/// A prism outside: a building opposite, a canopy, the wall around a window. Building axes, z above the
/// storey's floor.
struct OutsideSolid {
  Polygon plan;  ///< counter-clockwise
  double bottom_m = 0.0;
  double top_m = 0.0;
  double reflectance = 0.3;  ///< diffuse
};
std::vector<OutsideSolid> solids_of(const std::vector<domain::Obstruction>& obstructions,
                                    double storey_elevation_m);
/// Adds reveals, overhangs and fins of the space's windows.
void add_surrounds(const domain::Space& space, std::vector<OutsideSolid>& solids);

/// What stands outside one space: sky by patch, level ground without bounds below the horizon, and solids. A
/// direction that leaves an opening belongs to one *bin*: the sky's patches first, then the ground, then the
/// faces of solids by the way they face, because sun and sky light them by that. Two more bins, the *lobes*,
/// hold every direction once more, whatever stands there: those from which light descends into the room, and
/// those from which it rises. What an opening scatters is read through them.
class Outside {
 public:
  Outside(const climate::SkyDivision& sky, Compass compass, std::span<const OutsideSolid> solids);

  /// Faces of solids are upright in one of eight sectors, or face up or down.
  static constexpr std::size_t kFaces = 10;
  /// Unit normal that stands for faces of a kind, building axes.
  static Vector3 face_normal(std::size_t face);

  [[nodiscard]] std::size_t ground_bin() const { return sky_->size(); }
  [[nodiscard]] std::size_t face_bin(std::size_t face) const { return sky_->size() + 1 + face; }
  /// Bins that have a luminance of their own.
  [[nodiscard]] std::size_t source_bin_count() const { return sky_->size() + 1 + kFaces; }
  [[nodiscard]] std::size_t descending_bin() const { return source_bin_count(); }
  [[nodiscard]] std::size_t rising_bin() const { return source_bin_count() + 1; }
  [[nodiscard]] std::size_t bin_count() const { return source_bin_count() + 2; }
  [[nodiscard]] const climate::SkyDivision& sky() const { return *sky_; }
  [[nodiscard]] const Compass& compass() const { return compass_; }

  struct Seen {
    std::uint32_t bin = 0;
    float reflectance = 1.0F;  ///< of a solid; 1 for sky and ground
    bool solid = false;        ///< hides sun and sky
  };
  /// What each ray meets; `rays` in building axes from the outside of an opening.
  void look(const Rays& rays, std::span<Seen> seen) const;
  void add_to_key(KeyBuilder& key) const;

 private:
  const climate::SkyDivision* sky_;
  Compass compass_;
  std::shared_ptr<const RayScene> scene_;
  std::vector<std::uint32_t> surface_of_;  // by triangle: solid x kFaces + face
  std::vector<float> reflectance_;         // of each solid
  Hash solids_key_;
};

/// Openings that always act alike: same plane, glazing, shade and well.
struct WindowGroup {
  std::vector<std::int32_t> openings;  ///< of the enclosure
  Vector3 outward;                     ///< unit normal away from the room, building axes
  double area_m2 = 0.0;
  std::size_t glazing = 0;  ///< index into the project's glazings
  std::int64_t shade = -1;  ///< index into the project's shades, or -1
  double frame_fraction = 0.0;
  std::optional<Well> well;  ///< below skylights
};

/// Light per unit luminance of each bin at a place inside, before glass: for a bin of luminance L (cd/m2),
/// coefficient x L is the reading in lx. For solids L is that of a white face: their reflectance is in the
/// coefficient.
using Coefficients = std::vector<float>;  ///< [group x bin_count + bin]

/// Where coefficients are wanted: a place, the direction it faces, and R(theta) of an observation point or of
/// a patch.
struct Target {
  Point3 at;
  Vector3 facing;
  double weight = 1.0;                                          ///< share of this sample in its row
  double (*response)(double cosine, const void* of) = nullptr;  ///< nullptr: 1
  const void* of = nullptr;
};

/// Adds the direct coefficients of `targets` (all belonging to one row) into `row` ([group x bin]). Openings
/// are sampled by solid angle, `samples` scrambled directions each and more where they look large, and scaled
/// to the exact configuration factor of the whole opening; inside shadows by segments, outside by
/// `Outside::look`.
void add_direct_coefficients(const Enclosure& room, const Outside& outside,
                             std::span<const WindowGroup> groups, std::span<const Target> targets,
                             int samples, std::uint32_t scramble, std::span<float> row);

/// Readings per unit luminance of an opening that is evenly bright: of the half of its light that descends
/// into the room, and of the half that rises. Lit and sampled as in `add_direct_coefficients`.
struct EvenLobes {
  double descending = 0.0;
  double rising = 0.0;
};
EvenLobes even_lobes(const Enclosure& room, std::int32_t opening, std::span<const Target> targets,
                     int samples, std::uint32_t scramble);

/// `count` equal-area points on an opening, the same for the same arguments.
std::vector<Point3> points_on_opening(const Surface& opening, std::uint32_t scramble, std::size_t count);

/// Illuminance on the outside of a group's openings per unit luminance of each bin, lx per cd/m2; lobes 0.
std::vector<float> incident_coefficients(const Enclosure& room, const Outside& outside,
                                         const WindowGroup& group, int samples);

}  // namespace halflight::daylight
