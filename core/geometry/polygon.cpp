#include "geometry/polygon.hpp"

#include "base/sums.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include <polyclipping/clipper.hpp>

namespace halflight {

namespace {

namespace cl = ClipperLib;
__extension__ using Int128 = __int128;  // products of two grid differences, exactly

cl::IntPoint to_grid(Point2 p) {
  return {static_cast<cl::cInt>(std::llround(p.x / kPolygonGrid_m)),
          static_cast<cl::cInt>(std::llround(p.y / kPolygonGrid_m))};
}
// Dividing by 1e6 gives the double nearest to the decimal number; multiplying by 1e-6 would not.
constexpr double kGridPerMetre = 1e6;
Point2 from_grid(cl::IntPoint p) {
  return {static_cast<double>(p.X) / kGridPerMetre, static_cast<double>(p.Y) / kGridPerMetre};
}

cl::Path to_path(const Polygon& polygon) {
  cl::Path path;
  path.reserve(polygon.size());
  for (const Point2 p : polygon) path.push_back(to_grid(p));
  return path;
}
// Clipping fills by non-zero winding, so that orientation as given does not matter.
cl::Path to_ccw_path(const Polygon& polygon) {
  cl::Path path = to_path(polygon);
  if (!cl::Orientation(path)) cl::ReversePath(path);
  return path;
}
cl::Paths to_ccw_paths(const std::vector<Polygon>& polygons) {
  cl::Paths paths;
  paths.reserve(polygons.size());
  for (const Polygon& polygon : polygons) paths.push_back(to_ccw_path(polygon));
  return paths;
}
Polygon from_path(const cl::Path& path) {
  Polygon polygon;
  polygon.reserve(path.size());
  for (const cl::IntPoint p : path) polygon.push_back(from_grid(p));
  return polygon;
}

void collect(const cl::PolyNode& node, Region& region) {
  for (const cl::PolyNode* outer : node.Childs) {
    PolygonWithHoles piece{from_path(outer->Contour), {}};
    for (const cl::PolyNode* hole : outer->Childs) {
      piece.holes.push_back(from_path(hole->Contour));
      collect(*hole, region);  // an island inside a hole is a piece of its own
    }
    region.push_back(std::move(piece));
  }
}

Region clip(cl::ClipType type, const cl::Paths& subject, const cl::Paths& with) {
  cl::Clipper clipper;
  clipper.AddPaths(subject, cl::ptSubject, true);
  clipper.AddPaths(with, cl::ptClip, true);
  cl::PolyTree tree;
  clipper.Execute(type, tree, cl::pftNonZero, cl::pftNonZero);
  Region region;
  collect(tree, region);
  return region;
}

cl::Paths to_paths(const Region& region) {
  cl::Paths paths;
  for (const PolygonWithHoles& piece : region) {
    paths.push_back(to_path(piece.outline));
    for (const Polygon& hole : piece.holes) paths.push_back(to_path(hole));
  }
  return paths;
}

int sign(Int128 v) { return v > 0 ? 1 : v < 0 ? -1 : 0; }
// Side of c seen from a to b: 1 left, -1 right, 0 on the line.
int turn(const cl::IntPoint& a, const cl::IntPoint& b, const cl::IntPoint& c) {
  return sign(static_cast<Int128>(b.X - a.X) * (c.Y - a.Y) - static_cast<Int128>(b.Y - a.Y) * (c.X - a.X));
}
// For c known to lie on the line through a and b.
bool within_box(const cl::IntPoint& a, const cl::IntPoint& b, const cl::IntPoint& c) {
  return std::min(a.X, b.X) <= c.X && c.X <= std::max(a.X, b.X) && std::min(a.Y, b.Y) <= c.Y &&
         c.Y <= std::max(a.Y, b.Y);
}
bool segments_meet(const cl::IntPoint& a, const cl::IntPoint& b, const cl::IntPoint& c,
                   const cl::IntPoint& d) {
  const int abc = turn(a, b, c);
  const int abd = turn(a, b, d);
  const int cda = turn(c, d, a);
  const int cdb = turn(c, d, b);
  if (abc != abd && cda != cdb && abc * abd <= 0 && cda * cdb <= 0) return true;
  return (abc == 0 && within_box(a, b, c)) || (abd == 0 && within_box(a, b, d)) ||
         (cda == 0 && within_box(c, d, a)) || (cdb == 0 && within_box(c, d, b));
}

bool crosses_rightward(Point2 a, Point2 b, Point2 p) {
  if ((a.y > p.y) == (b.y > p.y)) return false;
  return p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
}
bool strictly_or_weakly_inside(const Polygon& polygon, Point2 p) {
  bool inside = false;
  for (std::size_t i = 0, n = polygon.size(); i < n; ++i)
    if (crosses_rightward(polygon[i], polygon[(i + 1) % n], p)) inside = !inside;
  return inside;
}

}  // namespace

double signed_area(const Polygon& polygon) {
  if (polygon.size() < 3) return 0.0;
  // Relative to the first vertex: a room far from the origin keeps its digits.
  const Point2 o = polygon.front();
  CompensatedSum twice;
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i) twice.add(cross(polygon[i] - o, polygon[i + 1] - o));
  return 0.5 * twice.value();
}

double area(const Polygon& polygon) { return std::abs(signed_area(polygon)); }

double area(const PolygonWithHoles& piece) {
  double a = area(piece.outline);
  for (const Polygon& hole : piece.holes) a -= area(hole);
  return a;
}

double area(const Region& region) {
  CompensatedSum sum;
  for (const PolygonWithHoles& piece : region) sum.add(area(piece));
  return sum.value();
}

double perimeter(const Polygon& polygon) {
  CompensatedSum sum;
  for (std::size_t i = 0, n = polygon.size(); i < n; ++i) sum.add(length(polygon[(i + 1) % n] - polygon[i]));
  return sum.value();
}

Point2 centroid(const Polygon& polygon) {
  assert(!polygon.empty());
  const Point2 o = polygon.front();
  const double a = signed_area(polygon);
  Vector2 moment{};
  Vector2 mean{};
  for (std::size_t i = 0, n = polygon.size(); i < n; ++i) {
    const Vector2 p = polygon[i] - o;
    const Vector2 q = polygon[(i + 1) % n] - o;
    const double c = cross(p, q);
    moment = {moment.x + (p.x + q.x) * c, moment.y + (p.y + q.y) * c};
    mean = {mean.x + p.x / static_cast<double>(n), mean.y + p.y / static_cast<double>(n)};
  }
  if (a == 0.0) return o + mean;
  return o + (1.0 / (6.0 * a)) * moment;
}

std::optional<Point2> centroid(const Region& region) {
  double total = 0.0;
  Vector2 moment{};
  const auto add = [&](const Polygon& polygon, double weight) {
    const double a = weight * area(polygon);
    const Point2 c = centroid(polygon);
    total += a;
    moment = {moment.x + a * c.x, moment.y + a * c.y};
  };
  for (const PolygonWithHoles& piece : region) {
    add(piece.outline, 1.0);
    for (const Polygon& hole : piece.holes) add(hole, -1.0);
  }
  if (total <= 0.0) return std::nullopt;
  return Point2{moment.x / total, moment.y / total};
}

Box2 bounds(const Polygon& polygon) {
  assert(!polygon.empty());
  Box2 box{polygon.front(), polygon.front()};
  for (const Point2 p : polygon) {
    box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
    box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
  }
  return box;
}

Box2 bounds(const Region& region) {
  assert(!region.empty());
  Box2 box = bounds(region.front().outline);
  for (const PolygonWithHoles& piece : region) {
    const Box2 b = bounds(piece.outline);
    box.low = {std::min(box.low.x, b.low.x), std::min(box.low.y, b.low.y)};
    box.high = {std::max(box.high.x, b.high.x), std::max(box.high.y, b.high.y)};
  }
  return box;
}

bool is_counter_clockwise(const Polygon& polygon) { return signed_area(polygon) > 0.0; }

bool is_simple(const Polygon& polygon) {
  const std::size_t n = polygon.size();
  if (n < 3) return false;
  for (const Point2 p : polygon)
    if (!(std::abs(p.x) <= 1e6 && std::abs(p.y) <= 1e6)) return false;  // also refuses what is not a number
  const cl::Path v = to_path(polygon);
  for (std::size_t i = 0; i < n; ++i) {
    const auto& a = v[i];
    const auto& b = v[(i + 1) % n];
    if (a == b) return false;
    const auto& c = v[(i + 2) % n];
    // Neighbouring edges may be in line but must not fold back.
    const Int128 along =
        static_cast<Int128>(b.X - a.X) * (c.X - b.X) + static_cast<Int128>(b.Y - a.Y) * (c.Y - b.Y);
    if (turn(a, b, c) == 0 && along <= 0) return false;
    for (std::size_t j = i + 2; j < n; ++j) {
      if (i == 0 && j == n - 1) continue;  // the neighbour on the other side
      if (segments_meet(a, b, v[j], v[(j + 1) % n])) return false;
    }
  }
  return true;
}

bool is_convex(const Polygon& polygon) {
  const cl::Path v = to_path(polygon);
  int seen = 0;
  for (std::size_t i = 0, n = v.size(); i < n; ++i) {
    const int t = turn(v[i], v[(i + 1) % n], v[(i + 2) % n]);
    if (t == 0) continue;
    if (seen != 0 && t != seen) return false;
    seen = t;
  }
  return seen != 0;
}

Polygon reversed(const Polygon& polygon) { return {polygon.rbegin(), polygon.rend()}; }

Polygon rectangle(Point2 low, Point2 high) { return {low, {high.x, low.y}, high, {low.x, high.y}}; }

Polygon with_canonical_start(const Polygon& polygon) {
  const auto first = std::min_element(polygon.begin(), polygon.end(), [](Point2 a, Point2 b) {
    return a.x < b.x || (a.x == b.x && a.y < b.y);
  });
  Polygon rotated(first, polygon.end());
  rotated.insert(rotated.end(), polygon.begin(), first);
  return rotated;
}

Polygon normalised(const Polygon& polygon) {
  Polygon kept = polygon;
  // Removing one vertex can put its neighbours in line, hence the repetition.
  for (bool changed = true; changed && kept.size() > 2;) {
    changed = false;
    for (std::size_t i = 0; i < kept.size() && kept.size() > 2;) {
      const std::size_t n = kept.size();
      const auto a = to_grid(kept[(i + n - 1) % n]);
      const auto b = to_grid(kept[i]);
      const auto c = to_grid(kept[(i + 1) % n]);
      if (turn(a, b, c) == 0) {  // repeated vertices turn nowhere either
        kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(i));
        changed = true;
      } else {
        ++i;
      }
    }
  }
  if (!is_counter_clockwise(kept)) std::reverse(kept.begin(), kept.end());
  return with_canonical_start(kept);
}

double distance_to_segment(Point2 p, Point2 from, Point2 to) {
  const Vector2 d = to - from;
  const double squared = dot(d, d);
  const double t = squared > 0.0 ? std::clamp(dot(p - from, d) / squared, 0.0, 1.0) : 0.0;
  return length(p - (from + t * d));
}

double distance_to_boundary(const Polygon& polygon, Point2 p) {
  double nearest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0, n = polygon.size(); i < n; ++i)
    nearest = std::min(nearest, distance_to_segment(p, polygon[i], polygon[(i + 1) % n]));
  return nearest;
}

bool contains(const Polygon& polygon, Point2 p) {
  // Half a grid step: points computed to lie on an edge count as on it.
  return strictly_or_weakly_inside(polygon, p) || distance_to_boundary(polygon, p) <= 0.5 * kPolygonGrid_m;
}

bool contains(const Region& region, Point2 p) {
  for (const PolygonWithHoles& piece : region) {
    if (!contains(piece.outline, p)) continue;
    const bool in_hole = std::any_of(piece.holes.begin(), piece.holes.end(), [&](const Polygon& hole) {
      return strictly_or_weakly_inside(hole, p) && distance_to_boundary(hole, p) > 0.5 * kPolygonGrid_m;
    });
    if (!in_hole) return true;
  }
  return false;
}

std::vector<TriangleIndices> triangulate(const Polygon& polygon) {
  assert(is_simple(polygon));
  const cl::Path v = to_path(polygon);
  std::vector<std::uint32_t> left(polygon.size());
  for (std::uint32_t i = 0; i < left.size(); ++i) left[i] = i;
  if (!is_counter_clockwise(polygon)) std::reverse(left.begin(), left.end());

  const auto is_ear = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c) {
    if (turn(v[a], v[b], v[c]) <= 0) return false;
    // A vertex on the triangle's edge also forbids the ear: it would be left on a diagonal.
    return std::none_of(left.begin(), left.end(), [&](std::uint32_t k) {
      return k != a && k != b && k != c && turn(v[a], v[b], v[k]) >= 0 && turn(v[b], v[c], v[k]) >= 0 &&
             turn(v[c], v[a], v[k]) >= 0;
    });
  };

  std::vector<TriangleIndices> triangles;
  triangles.reserve(polygon.size());
  std::size_t at = 0;
  for (std::size_t tried = 0; left.size() > 3 && tried < left.size();) {
    const std::size_t n = left.size();
    at %= n;
    const std::uint32_t a = left[(at + n - 1) % n];
    const std::uint32_t b = left[at];
    const std::uint32_t c = left[(at + 1) % n];
    if (is_ear(a, b, c)) {
      triangles.push_back({a, b, c});
      left.erase(left.begin() + static_cast<std::ptrdiff_t>(at));
      tried = 0;
      ++at;  // skipping a neighbour keeps triangles from fanning out of one vertex
    } else {
      ++at;
      ++tried;
    }
  }
  if (left.size() == 3) triangles.push_back({left[0], left[1], left[2]});
  assert(triangles.size() + 2 == polygon.size());
  return triangles;
}

Region intersection(const Polygon& a, const Polygon& b) {
  return clip(cl::ctIntersection, {to_ccw_path(a)}, {to_ccw_path(b)});
}
Region intersection(const Region& a, const Polygon& b) {
  return clip(cl::ctIntersection, to_paths(a), {to_ccw_path(b)});
}
Region difference(const Polygon& a, const Polygon& b) {
  return clip(cl::ctDifference, {to_ccw_path(a)}, {to_ccw_path(b)});
}
Region difference(const Polygon& a, const std::vector<Polygon>& b) {
  return clip(cl::ctDifference, {to_ccw_path(a)}, to_ccw_paths(b));
}
Region difference(const Region& a, const std::vector<Polygon>& b) {
  return clip(cl::ctDifference, to_paths(a), to_ccw_paths(b));
}
Region difference(const Region& a, const Region& b) {
  return clip(cl::ctDifference, to_paths(a), to_paths(b));
}
Region united(const std::vector<Polygon>& polygons) { return clip(cl::ctUnion, to_ccw_paths(polygons), {}); }
Region united(const std::vector<Region>& regions) {
  cl::Paths paths;
  for (const Region& region : regions)
    for (cl::Path& path : to_paths(region)) paths.push_back(std::move(path));
  return clip(cl::ctUnion, paths, {});
}
Region offset(const Polygon& polygon, double distance_m) {
  constexpr double kMiterLimit = 4.0;
  cl::ClipperOffset offsetter(kMiterLimit);
  offsetter.AddPath(to_ccw_path(polygon), cl::jtMiter, cl::etClosedPolygon);
  cl::PolyTree tree;
  offsetter.Execute(tree, distance_m / kPolygonGrid_m);
  Region region;
  collect(tree, region);
  return region;
}

double en12464_spacing_m(double longer_m, double shorter_m) {
  const double d = longer_m >= 2.0 * shorter_m ? shorter_m : longer_m;
  return std::min(10.0, 0.2 * std::pow(5.0, std::log10(d)));
}

namespace {

Vector2 longest_edge_direction(const Polygon& polygon) {
  Vector2 best{1.0, 0.0};
  double longest = 0.0;
  for (std::size_t i = 0, n = polygon.size(); i < n; ++i) {
    const Vector2 edge = polygon[(i + 1) % n] - polygon[i];
    // Ties go to the first edge: a hair's difference must not turn the grid.
    if (length(edge) > longest * (1.0 + 1e-9)) {
      longest = length(edge);
      best = (1.0 / longest) * edge;
    }
  }
  return best;
}

// A point well inside: the centroid of the largest triangle.
Point2 point_inside(const Polygon& polygon) {
  Point2 best = polygon.front();
  double largest = -1.0;
  for (const auto& [a, b, c] : triangulate(polygon)) {
    const Polygon triangle{polygon[a], polygon[b], polygon[c]};
    if (const double size = area(triangle); size > largest) {
      largest = size;
      best = centroid(triangle);
    }
  }
  return best;
}

}  // namespace

PointGrid grid_points(const Polygon& area_outline, double border_m, double max_spacing_m) {
  assert(is_simple(area_outline));
  Region inset = border_m > 0.0 ? offset(area_outline, -border_m) : Region{};
  if (area(inset) <= 0.0) inset = {{area_outline, {}}};

  PointGrid grid;
  grid.along = longest_edge_direction(area_outline);
  const Vector2 up{-grid.along.y, grid.along.x};
  const Point2 o = area_outline.front();
  Point2 low{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity()};
  Point2 high{-low.x, -low.y};
  for (const PolygonWithHoles& piece : inset) {
    for (const Point2 p : piece.outline) {
      const Vector2 d = p - o;
      const Point2 local{dot(d, grid.along), dot(d, up)};
      low = {std::min(low.x, local.x), std::min(low.y, local.y)};
      high = {std::max(high.x, local.x), std::max(high.y, local.y)};
    }
  }
  const double width = high.x - low.x;
  const double depth = high.y - low.y;
  const double longer = std::max(width, depth);
  const double shorter = std::min(width, depth);
  const double spacing = en12464_spacing_m(longer, shorter);
  const auto whole = [&](double side, double p) {
    auto n = std::max<std::int32_t>(1, static_cast<std::int32_t>(std::lround(side / p)));
    // A hair over the bound from rounding must not add a row.
    if (max_spacing_m > 0.0)
      n = std::max(n, static_cast<std::int32_t>(std::ceil(side / max_spacing_m * (1.0 - 1e-9))));
    return n;
  };
  const bool width_decides = (width >= depth) == (longer < 2.0 * shorter);
  if (width_decides) {
    grid.columns = whole(width, spacing);
    grid.rows = whole(depth, width / grid.columns);
  } else {
    grid.rows = whole(depth, spacing);
    grid.columns = whole(width, depth / grid.rows);
  }
  grid.column_spacing_m = width / grid.columns;
  grid.row_spacing_m = depth / grid.rows;
  const auto place = [&](double u, double v) { return (o + u * grid.along) + v * up; };
  grid.corner = place(low.x, low.y);
  for (std::int32_t row = 0; row < grid.rows; ++row) {
    for (std::int32_t column = 0; column < grid.columns; ++column) {
      const Point2 p =
          place(low.x + (column + 0.5) * grid.column_spacing_m, low.y + (row + 0.5) * grid.row_spacing_m);
      if (!contains(inset, p)) continue;
      grid.points.push_back(p);
      grid.cells.push_back({column, row});
    }
  }
  if (grid.points.empty()) {
    const Point2 p = point_inside(inset.front().outline);
    const Vector2 d = p - grid.corner;
    const auto cell = [](double along_m, double step_m, std::int32_t count) {
      return std::clamp(static_cast<std::int32_t>(along_m / step_m), 0, count - 1);
    };
    grid.points.push_back(p);
    grid.cells.push_back({cell(dot(d, grid.along), grid.column_spacing_m, grid.columns),
                          cell(dot(d, up), grid.row_spacing_m, grid.rows)});
  }
  return grid;
}

}  // namespace halflight
