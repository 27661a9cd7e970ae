#pragma once
#include "base/hash.hpp"
#include "climate/sky.hpp"
#include "domain/site.hpp"
#include "geometry/enclosure.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <cstdint>
#include <memory>
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

/// What stands outside one storey: sky by patch, level ground without bounds below the horizon, and
/// obstructions. A direction that leaves an opening belongs to one *bin*: the sky's patches first, then the
/// ground, then obstructions, which share one luminance.
class Outside {
 public:
  Outside(const climate::SkyDivision& sky, Compass compass,
          const std::vector<domain::Obstruction>& obstructions, double storey_elevation_m);

  [[nodiscard]] std::size_t bin_count() const { return sky_->size() + 2; }
  [[nodiscard]] std::size_t ground_bin() const { return sky_->size(); }
  [[nodiscard]] std::size_t obstruction_bin() const { return sky_->size() + 1; }
  [[nodiscard]] const climate::SkyDivision& sky() const { return *sky_; }
  [[nodiscard]] const Compass& compass() const { return compass_; }

  /// The bin that each ray meets; `rays` in building axes from the outside of an opening.
  void look(std::span<const Ray> rays, std::span<std::uint32_t> bins) const;
  /// Mean over the obstructions, 0 without any.
  [[nodiscard]] double obstruction_reflectance() const { return reflectance_; }
  void add_to_key(KeyBuilder& key) const;

 private:
  const climate::SkyDivision* sky_;
  Compass compass_;
  std::shared_ptr<const RayScene> scene_;
  double reflectance_ = 0.0;
  Hash obstructions_key_;
  [[nodiscard]] std::uint32_t open_sky(Vector3 direction) const;
};

/// Openings that always act alike: same plane, glazing and shade.
struct WindowGroup {
  std::vector<std::int32_t> openings;  ///< of the enclosure
  Vector3 outward;                     ///< unit normal away from the room, building axes
  double area_m2 = 0.0;
  std::size_t glazing = 0;  ///< index into the project's glazings
  std::int64_t shade = -1;  ///< index into the project's shades, or -1
  double frame_fraction = 0.0;
};

/// Light per unit luminance of each bin at a place inside, before glass: for a bin of luminance L (cd/m2)
/// seen whole, coefficient x L is the reading in lx.
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
/// are sampled by area, `samples` scrambled points each, more where a target is close; inside shadows by
/// segments, outside by `Outside::look`.
void add_direct_coefficients(const Enclosure& room, const Outside& outside,
                             std::span<const WindowGroup> groups, std::span<const Target> targets,
                             int samples, std::uint32_t scramble, std::span<float> row);

/// Illuminance on the outside of a group's openings per unit luminance of each bin, lx per cd/m2.
std::vector<float> incident_coefficients(const Enclosure& room, const Outside& outside,
                                         const WindowGroup& group, int samples);

}  // namespace halflight::daylight
