#pragma once
#include "geometry/vector.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace halflight {

/// A simple polygon in metres: vertices in order, counter-clockwise by convention, the last one joined to the
/// first and not repeated. Edge i runs from vertex i to vertex i + 1.
using Polygon = std::vector<Point2>;

/// One connected piece of a plane area: a counter-clockwise outline and clockwise holes.
struct PolygonWithHoles {
  Polygon outline;
  std::vector<Polygon> holes;
};
/// A plane area: disjoint pieces, possibly none.
using Region = std::vector<PolygonWithHoles>;

/// Topology (simple or not, triangulation, booleans, offsets) is decided on an integer grid of this pitch,
/// where every test is exact. Coordinates may reach +-1e6 m from the origin.
inline constexpr double kPolygonGrid_m = 1e-6;

/// Positive when counter-clockwise (shoelace formula), m2.
double signed_area(const Polygon& polygon);
/// m2, never negative.
double area(const Polygon& polygon);
double area(const PolygonWithHoles& piece);
double area(const Region& region);
double perimeter(const Polygon& polygon);
/// Centroid of the area; the mean vertex of a polygon without area.
Point2 centroid(const Polygon& polygon);
/// Centroid of the area; nothing for an empty region.
std::optional<Point2> centroid(const Region& region);

struct Box2 {
  Point2 low;
  Point2 high;
};
/// The smallest axis-parallel box; `polygon` must have a vertex.
Box2 bounds(const Polygon& polygon);
Box2 bounds(const Region& region);

bool is_counter_clockwise(const Polygon& polygon);
/// At least three vertices, no edge of zero length, no two edges that cross, touch or fold back on each
/// other. Vertices inside a straight edge are allowed.
bool is_simple(const Polygon& polygon);
bool is_convex(const Polygon& polygon);
/// Counter-clockwise, without repeated vertices or vertices inside a straight edge, starting at the canonical
/// vertex: two descriptions of one outline become equal. Renumbers edges.
Polygon normalised(const Polygon& polygon);
/// Rotated to start at the vertex of least x, then least y. Orientation and vertex set stay.
Polygon with_canonical_start(const Polygon& polygon);
Polygon reversed(const Polygon& polygon);
Polygon rectangle(Point2 low, Point2 high);

/// Whether `p` lies in the closed polygon: points on the boundary count as inside.
bool contains(const Polygon& polygon, Point2 p);
/// As above; a point on the edge of a hole counts as inside.
bool contains(const Region& region, Point2 p);
double distance_to_segment(Point2 p, Point2 from, Point2 to);
/// Distance to the nearest edge, m; zero on the boundary, positive on both sides.
double distance_to_boundary(const Polygon& polygon, Point2 p);

using TriangleIndices = std::array<std::uint32_t, 3>;
/// Counter-clockwise triangles over exactly the vertices of a simple polygon, straight-angle vertices
/// included, so that neighbours sharing the vertices share the edges too (no T-junctions). Ear clipping on
/// the integer grid, O(n^2) for the usual room and O(n^3) at worst. Always n - 2 triangles. `polygon` must be
/// simple; either orientation.
std::vector<TriangleIndices> triangulate(const Polygon& polygon);

/// Booleans of simple polygons, to `kPolygonGrid_m` (Vatti clipping).
Region intersection(const Polygon& a, const Polygon& b);
Region intersection(const Region& a, const Polygon& b);
Region difference(const Polygon& a, const Polygon& b);
Region difference(const Polygon& a, const std::vector<Polygon>& b);
Region difference(const Region& a, const std::vector<Polygon>& b);
Region difference(const Region& a, const Region& b);
Region united(const std::vector<Polygon>& polygons);
Region united(const std::vector<Region>& regions);
/// All points within `distance_m` of the polygon (outward, positive; corners mitred up to four times the
/// distance) or farther than -`distance_m` from its outside (inward, negative). May be empty or in several
/// pieces.
Region offset(const Polygon& polygon, double distance_m);

/// Points of calculation over an area. Columns run along `along`, rows to its left; `cells` keeps each
/// point's place so that contours can be drawn although points outside the area are absent.
struct PointGrid {
  std::vector<Point2> points;
  std::vector<std::array<std::int32_t, 2>> cells;  ///< column and row of each point
  std::int32_t columns = 0;
  std::int32_t rows = 0;
  double column_spacing_m = 0.0;
  double row_spacing_m = 0.0;
  Point2 corner;  ///< of the bounding rectangle; the first cell's centre is half a spacing in from it
  Vector2 along;  ///< unit vector of increasing column
};
/// The largest spacing that EN 12464-1 (clause on the illuminance grid; formula from memory) allows over a
/// field whose longer side is `longer_m` and shorter side `shorter_m`: p = 0.2 * 5^(log10 d) m, at most 10 m,
/// where d is the longer side, or the shorter one when the longer is at least twice it.
double en12464_spacing_m(double longer_m, double shorter_m);
/// A regular grid over `area` without a band of `border_m` along its edges. The area's bounding rectangle is
/// taken along its longest edge; the number of points along the deciding side (see `en12464_spacing_m`) is
/// the nearest whole number of side / p, at least one, and along the other side the nearest whole number of
/// its length over the spacing so found; points are the centres of the cells, those inside the inset area are
/// kept. `max_spacing_m`, when positive, is an upper bound on both spacings. Where the border leaves nothing,
/// it is dropped; where no centre of a cell falls inside, the result is one point inside the area.
PointGrid grid_points(const Polygon& area, double border_m, double max_spacing_m = 0.0);

}  // namespace halflight
