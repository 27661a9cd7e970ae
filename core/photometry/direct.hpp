#pragma once
#include "domain/intensity_distribution.hpp"
#include "geometry/vector.hpp"

#include <vector>

namespace halflight::photometry {

/// A luminaire in place. Its distribution must outlive it.
struct LuminaireSource {
  const domain::IntensityDistribution& distribution;
  Point3 position;    ///< centre of the luminous opening, building axes
  Frame orientation;  ///< the luminaire frame's axes in building axes (domain/intensity_distribution.hpp)
};

/// Orientation of a luminaire: first roll about its width axis y (positive lifts +x, so the downward aim
/// swings towards +x), then tilt about its length axis x (positive swings the downward aim towards +y, the
/// 90-degree C-plane), then rotation about the vertical (counter-clockwise seen from above; 0 leaves the
/// length along building x). All in degrees.
Frame luminaire_frame(double rotation_deg, double tilt_deg, double roll_deg);

/// Counts of emitting points along the luminaire's length (x), width (y) and height (z), each >= 1.
struct Subdivision {
  int along_length = 1;
  int along_width = 1;
  int along_height = 1;
  friend bool operator==(const Subdivision&, const Subdivision&) = default;
  [[nodiscard]] int count() const { return along_length * along_width * along_height; }
};

/// Counts such that no part is longer than a fifth of `nearest_distance_m` (the five-times rule of
/// point-source calculation, common practice), and an undivided axis is no longer than a tenth. Counts above
/// one are even, because pairs of points stand at the two-point Gauss positions of their common interval:
/// equal shares, fourth-order accuracy. At most 64 along the longest axis, and parts of that size along the
/// others.
///
/// Error against the exact integral over the opening, at points no nearer than `nearest_distance_m`, for a
/// cosine distribution on a flat rectangle: at most 0.17 % for each undivided axis (s^2 / 6 d^2 at s = d/10)
/// and 0.05 % for each divided one (72/4320 (2 s/d)^4 at s = d/5). A beam that changes over a few degrees
/// adds the curvature of its own table. Nearer than 1/13 of the length the cap of 64 rules, and the bound no
/// longer holds.
Subdivision required_subdivision(const LuminaireSource& source, double nearest_distance_m);

/// A point that stands for an equal part of the luminous opening.
struct EmittingPoint {
  Point3 position;     ///< building axes
  double share = 1.0;  ///< of the luminaire's intensity in every direction; shares sum to 1
};
/// Equal shares over the luminous opening: over the face of flat openings, through the volume of boxes and
/// cylinders, over the surface of spheres and ellipsoids (docs/methods/photometry.md).
std::vector<EmittingPoint> emitting_points(const LuminaireSource& source, Subdivision subdivision);

/// Unshadowed illuminance in lx at full output from one emitting point: share I cos / d^2, 0 from behind
/// `normal` (unit). For callers that test a shadow ray per emitting point.
double contribution_lx(const LuminaireSource& source, const EmittingPoint& from, Point3 at, Vector3 normal);

/// Shortest distance in m from a point to the bounding box of the luminous opening; 0 inside.
double distance_to_opening_m(const LuminaireSource& source, Point3 at);

/// Unshadowed direct illuminance in lx at full output on a surface with unit `normal`. Divides the opening
/// anew for each point, as its distance asks.
double direct_illuminance_lx(const LuminaireSource& source, Point3 at, Vector3 normal);

}  // namespace halflight::photometry
