#pragma once
#include "base/context.hpp"
#include "base/units.hpp"
#include "geometry/enclosure.hpp"

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include <Eigen/Core>

namespace halflight {

/// How an observer weighs light by its angle theta from the axis: response = integral of L R(theta)
/// cos(theta) dOmega. R = cos^exponent(theta) up to `cut_off_rad`, zero beyond; `extra`, when set, multiplies
/// it (a measured curve). The default is an illuminance meter.
struct AngularResponse {
  double exponent = 0.0;           ///< 0..200
  double cut_off_rad = 0.5 * kPi;  ///< above 0, at most a quarter turn
  std::function<double(double theta_rad)> extra{};

  /// Integral of R(theta) cos(theta) / pi over the hemisphere, without `extra`: 1 for an illuminance meter;
  /// by this the response to a room of one luminance L is pi L times itself.
  [[nodiscard]] double total() const;
};

struct GatherPoint {
  Point3 position;
  Vector3 direction;  ///< unit
  AngularResponse response;
  /// Points of one scramble share their ray pattern: their errors vary smoothly from point to point and
  /// cancel in differences.
  std::uint32_t scramble = 0;
};

/// `count` rays from `origin`, distributed as R(theta) cos(theta) about the direction of a point, whose place
/// `origin` stands for.
Rays gather_rays(const Enclosure& enclosure, const GatherPoint& point, Point3 origin, std::uint32_t count);

struct GatherOptions {
  std::uint32_t rays = 2048;  ///< per point
};

struct Gather {
  /// P x N: response of point p to reflected light = sum over j of weights(p, j) M_j, in lx for an
  /// illuminance meter and M in lm/m2. weights(p, j) is the integral of R cos / pi over what p sees of patch
  /// j.
  Eigen::MatrixXd weights;
  /// Whether each point could be placed (see `Enclosure::observation_origin`); the row of one that could not
  /// is zero.
  std::vector<ObservationOrigin::State> states;
  std::uint64_t rays = 0;
  std::uint64_t leaks = 0;
};

/// Gather weights by `rays` directions per point, distributed as R(theta) cos(theta). Rays carry only what
/// patches emit and reflect; light straight from luminaires is found otherwise and added. One piece of work
/// per point; the result does not depend on the number of threads.
Gather gather(const Context& context, const Enclosure& enclosure, std::span<const GatherPoint> points,
              const GatherOptions& options = {});

/// One ray of a point with the weight it carries, for observers that need more than patch means at what they
/// see (a photosensor that looks at a lit patch of wall).
struct GatherHit {
  std::uint32_t surface = SurfaceHit::kNone;
  std::uint32_t patch = SurfaceHit::kNone;
  Point3 position;
  double weight = 0.0;
};
/// The rays behind one row of `gather`, leaks left out; empty for a point that cannot be placed.
std::vector<GatherHit> gather_hits(const Enclosure& enclosure, const GatherPoint& point,
                                   const GatherOptions& options = {});

}  // namespace halflight
