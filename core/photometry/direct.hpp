#pragma once
#include "domain/intensity_distribution.hpp"
#include "geometry/vector.hpp"

#include <cstddef>
#include <utility>
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

/// Whether an opening has luminous sides: boxes, cylinders, spheres and ellipsoids. All other shapes are flat
/// or a point.
bool has_sides(const domain::LuminousOpening& opening);

/// Area in m2 of a luminous opening projected along a unit vector of the luminaire frame, either way along
/// it; 0 for a point.
double projected_area_m2(const domain::LuminousOpening& opening, Vector3 unit_direction);

/// Counts of emitting points along the length (x) and width (y) of a rectangle, each >= 1.
struct Subdivision {
  int along_length = 1;
  int along_width = 1;
  friend bool operator==(const Subdivision&, const Subdivision&) = default;
  [[nodiscard]] int count() const { return along_length * along_width; }
};

/// Counts such that no part of a rectangular opening is longer than a fifth of `nearest_distance_m` (the
/// five-times rule of point-source calculation, common practice), and an undivided axis is no longer than a
/// tenth. Counts above one are even, because pairs of points stand at the two-point Gauss positions of their
/// common interval: equal shares, fourth-order accuracy. At most 64 along the longer axis, and parts of that
/// size along the other; `emitting_points` divides otherwise before that limit is met.
Subdivision required_subdivision(const LuminaireSource& source, double nearest_distance_m);

/// How finely an opening is divided: as the five-times rule asks, or every part in two along each axis, which
/// an error bound is taken from.
enum class Fineness { usual, check };

/// A point that stands for a part of the luminous opening.
struct EmittingPoint {
  Point3 position;        ///< building axes
  double share = 1.0;     ///< of the luminaire's intensity in the direction in which the point is seen
  double extent_m = 0.0;  ///< longest side of the part, m
  std::size_t cell = 0;   ///< piece of the opening, counted alike at either fineness
};

/// The points that `seen_from` receives light from.
///
/// Flat openings: shares in every direction by area, summing to 1. A rectangle has equal parts as
/// `required_subdivision` asks, except nearer than 5 cm or 5/64 of its longer side. There, and on ellipses
/// always, each part is as small as its own distance asks.
///
/// Openings with sides: points on the surfaces that can be seen, none when `seen_from` is inside. A surface's
/// share in a direction d is w A(d) / sum of w A(d) over all surfaces, A(d) its area projected along d and w
/// its mean luminance along its own normal, I(n) / A(n), but at least a thousandth of that of the brightest
/// surface. Shares in one direction therefore sum to 1: the far field is the file's, and a body of even
/// luminance is exact at any distance (docs/methods/photometry.md).
std::vector<EmittingPoint> emitting_points(const LuminaireSource& source, Point3 seen_from,
                                           Fineness fineness = Fineness::usual);

/// Emitting points of one luminaire for many places; keeps what several places share. The source must outlive
/// it. Not for use by several threads at once.
class SeenOpening {
 public:
  explicit SeenOpening(const LuminaireSource& source) : source_(source) {}
  /// As `emitting_points`; valid until the next call.
  const std::vector<EmittingPoint>& from(Point3 at);

 private:
  const LuminaireSource& source_;
  std::vector<std::pair<Subdivision, std::vector<EmittingPoint>>> equal_parts_;
  std::vector<EmittingPoint> own_;
};

/// Unshadowed illuminance in lx at full output from one emitting point: share I cos / d^2, 0 from behind
/// `normal` (unit). For callers that test a shadow ray per emitting point.
double contribution_lx(const LuminaireSource& source, const EmittingPoint& from, Point3 at, Vector3 normal);

/// Shortest distance in m from a point to the bounding box of the luminous opening; 0 inside.
double distance_to_opening_m(const LuminaireSource& source, Point3 at);

/// Unshadowed direct illuminance in lx at full output on a surface with unit `normal`. Divides the opening
/// anew for each point, as its distance asks.
double direct_illuminance_lx(const LuminaireSource& source, Point3 at, Vector3 normal);

/// An illuminance and how far the division of the opening may have moved it.
struct BoundedIlluminance {
  double lx = 0.0;        ///< as `direct_illuminance_lx`
  double bound_lx = 0.0;  ///< of |lx - the integral over the opening|
};
/// The bound is twice the sum over pieces of the opening of |difference to the checking division|, plus a
/// sixteenth of the greatest error that the rule can have on parts of this size and distance when they shine
/// by the cosine law, 840 / 4320 (2 s / r)^4 for each axis: it covers places where both divisions happen to
/// err alike. It is computed for this place, table and surface, whatever the distance, but rests on the finer
/// division being the better one; tests hold it against closed forms. Costs five times the illuminance.
BoundedIlluminance direct_illuminance(const LuminaireSource& source, Point3 at, Vector3 normal);

}  // namespace halflight::photometry
