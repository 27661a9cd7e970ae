#include "geometry/enclosure.hpp"

#include "base/sums.hpp"
#include "geometry/grid_lines.hpp"
#include "geometry/low_discrepancy.hpp"
#include "geometry/ray_scene.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

namespace halflight {

std::string_view name_of(SurfaceKind kind) {
  switch (kind) {
    case SurfaceKind::floor:
      return "floor";
    case SurfaceKind::ceiling:
      return "ceiling";
    case SurfaceKind::wall:
      return "wall";
    case SurfaceKind::opening:
      return "opening";
    case SurfaceKind::object:
      return "object";
  }
  return "";
}

namespace {

constexpr double kContact = Enclosure::kContact_m;
constexpr double kClearance = Enclosure::kClearance_m;
constexpr double kSliverShare = 0.2;  // of a full cell: less than this joins a neighbour
// Between wall and furniture hardly any light passes: a patch that reaches from there into the open would
// carry light past the edge.
constexpr double kClose_m = 0.1;
constexpr double kThinnest_m = 2e-4;   // pieces thinner than this are rounding, not surface
constexpr double kLiftWithin_m = 0.1;  // see Enclosure::observation_origin
constexpr double kBeyond_m = 0.01;     // how far a standing prism's box is sunk into the floor for rays
constexpr double kShortestWall_m = 0.01;
constexpr double kLargestRoom_m = 1000.0;
constexpr double kSteepest = 2.0;            // rise of a ceiling per metre
constexpr std::size_t kMostVertices = 2000;  // of one outline: checks are quadratic in it
constexpr std::size_t kMostParts = 2000;  // prisms, or openings of one kind: each is compared with all others
constexpr std::size_t kMostCellsOfLookUp = 20'000;  // of one surface
constexpr std::size_t kMostCells = 200'000;         // of all grids together, against patches of a hair's size

Point3 at_height(Point2 p, double z) { return {p.x, p.y, z}; }
Point2 plan_of(Point3 p) { return {p.x, p.y}; }

Point2 to_local(const Surface& s, Point3 p) {
  const Vector3 d = p - s.corner;
  return {dot(d, s.frame.x), dot(d, s.frame.y)};
}
Point3 from_local(const Surface& s, Point2 p) { return (s.corner + p.x * s.frame.x) + p.y * s.frame.y; }

// The outline in a surface's plane, which is not upright, over a plan.
Polygon to_local(const Surface& s, const Polygon& plan) {
  Polygon local;
  local.reserve(plan.size());
  const Vector3 n = s.frame.z;
  for (const Point2 p : plan) {
    const double rise = (n.x * (p.x - s.corner.x) + n.y * (p.y - s.corner.y)) / n.z;
    local.push_back(to_local(s, at_height(p, s.corner.z - rise)));
  }
  if (!is_counter_clockwise(local)) std::reverse(local.begin(), local.end());
  return local;
}

Vector2 edge_of(const Polygon& polygon, std::size_t i) {
  return polygon[(i + 1) % polygon.size()] - polygon[i];
}
Vector2 edge_direction(const Polygon& polygon, std::size_t i) {
  const Vector2 e = edge_of(polygon, i);
  return (1.0 / length(e)) * e;
}
std::size_t longest_edge(const Polygon& polygon) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < polygon.size(); ++i)
    // Equal within rounding goes to the first, so that turning a room does not turn its grid.
    if (length(edge_of(polygon, i)) > length(edge_of(polygon, best)) * (1.0 + 1e-9)) best = i;
  return best;
}

// A horizontal frame along the plan's longest edge; `up` is +1 for faces that look up and -1 for those that
// look down.
Frame horizontal_frame(const Polygon& plan, double up) {
  const Vector2 d = edge_direction(plan, longest_edge(plan));
  const Vector3 x{d.x, d.y, 0.0};
  const Vector3 z{0.0, 0.0, up};
  return {x, cross(z, x), z};
}
// Rise of a plane with a gradient from the origin to a place.
double rise_to(Vector2 gradient, Point2 p) { return gradient.x * p.x + gradient.y * p.y; }
// The frame of a ceiling that rises by `gradient` per metre in plan.
Frame ceiling_frame(const Polygon& plan, Vector2 gradient) {
  if (gradient.x == 0.0 && gradient.y == 0.0) return horizontal_frame(plan, -1.0);
  const Vector2 d = edge_direction(plan, longest_edge(plan));
  const Vector3 x = normalized({d.x, d.y, dot(gradient, d)});
  const Vector3 z = normalized({gradient.x, gradient.y, -1.0});
  return {x, cross(z, x), z};
}
// A vertical frame with y up; `normal` horizontal.
Frame vertical_frame(Vector2 normal) {
  const Vector3 z{normal.x, normal.y, 0.0};
  const Vector3 y{0.0, 0.0, 1.0};
  return {cross(y, z), y, z};
}

struct Interval1 {
  double low;
  double high;
};

// The parts of the segment from `a` to `b` that run inside `polygon`, as distances from `a`.
std::vector<Interval1> parts_inside(Point2 a, Point2 b, const Polygon& polygon) {
  const Vector2 d = b - a;
  const double whole = length(d);
  std::vector<double> cuts{0.0, 1.0};
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vector2 e = edge_of(polygon, i);
    const double denominator = cross(d, e);
    if (denominator == 0.0) continue;
    const Vector2 to_edge = polygon[i] - a;
    const double t = cross(to_edge, e) / denominator;
    const double s = cross(to_edge, d) / denominator;
    if (t > 0.0 && t < 1.0 && s >= -1e-9 && s <= 1.0 + 1e-9) cuts.push_back(t);
  }
  std::sort(cuts.begin(), cuts.end());
  std::vector<Interval1> parts;
  for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
    if ((cuts[i + 1] - cuts[i]) * whole < 0.1 * kContact) continue;
    if (contains(polygon, a + 0.5 * (cuts[i] + cuts[i + 1]) * d))
      parts.push_back({cuts[i] * whole, cuts[i + 1] * whole});
  }
  return parts;
}

std::vector<Interval1> complement(const std::vector<Interval1>& parts, double whole) {
  std::vector<Interval1> rest;
  double from = 0.0;
  for (const Interval1 part : parts) {
    if (part.low > from) rest.push_back({from, part.low});
    from = part.high;
  }
  if (from < whole) rest.push_back({from, whole});
  return rest;
}

double thickness(const PolygonWithHoles& piece) { return 2.0 * area(piece) / perimeter(piece.outline); }

void drop_slivers(Region& region) {
  std::erase_if(region, [](const PolygonWithHoles& piece) { return thickness(piece) < kThinnest_m; });
}

void add_to_key_polygon(KeyBuilder& key, const Polygon& polygon) {
  key.add(polygon.size());
  for (const Point2 p : polygon) key.add(p.x).add(p.y);
}

}  // namespace

struct Enclosure::Data {
  struct Grid {
    GridLines u;  ///< between columns, in local coordinates of the surface
    GridLines v;  ///< between rows
    /// Row after row. For a cell of which nothing is seen, the nearest patch; for one in several pieces, that
    /// of the largest.
    std::vector<std::uint32_t> patch_of_cell;
    struct Piece {
      std::int32_t cell = 0;
      std::uint32_t patch = 0;
      PolygonWithHoles outline;
    };
    std::vector<Piece> divided;  ///< the pieces of cells in several pieces, cell after cell

    [[nodiscard]] std::int32_t cell(std::int32_t column, std::int32_t row) const {
      return row * u.cells() + column;
    }
    [[nodiscard]] Box2 box(std::int32_t cell_index) const {
      const std::int32_t column = cell_index % u.cells();
      const std::int32_t row = cell_index / u.cells();
      return {{u.low(column), v.low(row)}, {u.high(column), v.high(row)}};
    }
    [[nodiscard]] std::int32_t cell_at(Point2 local) const {
      return cell(u.cell_of(local.x), v.cell_of(local.y));
    }
    [[nodiscard]] bool is_divided(std::int32_t index) const {
      const auto piece = first_piece_of(index);
      return piece != divided.end() && piece->cell == index;
    }
    /// The patch at or nearest to a place, in local coordinates; kNone without patches.
    [[nodiscard]] std::uint32_t patch_at(Point2 local) const {
      if (patch_of_cell.empty()) return SurfaceHit::kNone;
      const std::int32_t index = cell_at(local);
      return divided.empty() ? patch_of_cell[static_cast<std::size_t>(index)] : patch_in_pieces(index, local);
    }

   private:
    [[nodiscard]] std::vector<Piece>::const_iterator first_piece_of(std::int32_t index) const {
      return std::lower_bound(divided.begin(), divided.end(), index,
                              [](const Piece& a, std::int32_t cell_index) { return a.cell < cell_index; });
    }
    /// The patch of a place, in local coordinates, in cell `index`: that of the piece it lies in or is
    /// nearest to.
    [[nodiscard]] std::uint32_t patch_in_pieces(std::int32_t index, Point2 local) const {
      std::uint32_t patch = patch_of_cell[static_cast<std::size_t>(index)];
      double nearest = std::numeric_limits<double>::infinity();
      auto piece = first_piece_of(index);
      for (; piece != divided.end() && piece->cell == index; ++piece) {
        if (contains(Region{piece->outline}, local)) return piece->patch;
        const double away = distance_to_boundary(piece->outline.outline, local);
        if (away < nearest) {
          nearest = away;
          patch = piece->patch;
        }
      }
      return patch;
    }
  };
  struct Area {  ///< where on its surface a patch or an opening lies
    Box2 box;
    Region clipped;  ///< empty: the whole box

    [[nodiscard]] bool holds(Point2 p) const {
      return p.x >= box.low.x && p.x <= box.high.x && p.y >= box.low.y && p.y <= box.high.y &&
             (clipped.empty() || contains(clipped, p));
    }
  };
  struct Hole {  ///< an opening in a wall or ceiling
    Area area;   ///< in the local coordinates of that
    std::uint32_t surface = 0;
  };
  /// Patches of a surface that rays meet and of the openings in it, by cells of a grid whose lines are the
  /// lines of them all.
  struct LookUp {
    static constexpr std::uint32_t kCloser = 0xfffffffeU;  ///< the cell is not of one patch
    GridLines u;
    GridLines v;
    std::vector<std::uint32_t> patch_of_cell{SurfaceHit::kNone};  ///< row after row

    [[nodiscard]] std::uint32_t at(Point2 local) const {
      return patch_of_cell[static_cast<std::size_t>(v.cell_of(local.y) * u.cells() + u.cell_of(local.x))];
    }
  };
  /// A triangle of the ray scene: where on which surface a hit with barycentric coordinates lies.
  struct Triangle {
    Point2 first;  ///< vertex, in local coordinates of the surface
    Vector2 to_second;
    Vector2 to_third;
    const LookUp* look_up = nullptr;
    std::uint32_t surface = 0;
  };

  EnclosureShape shape;
  double patch_m = 0.0;
  std::vector<Surface> surfaces;
  std::vector<Grid> grids;               ///< by surface
  std::vector<std::vector<Hole>> holes;  ///< by surface
  std::vector<LookUp> look_ups;          ///< by surface; nothing for openings
  std::vector<Triangle> triangles;       ///< of the ray scene
  std::vector<Patch> patches;
  std::vector<Area> areas;  ///< by patch
  std::uint32_t block_count = 0;
  std::uint32_t first_wall = 2;
  std::uint32_t first_opening = 0;
  double total_area_m2 = 0.0;
  double volume_m3 = 0.0;
  std::unique_ptr<const RayScene> scene;

  double lowest_rise_m = 0.0;  ///< of the gradient over the floor's vertices, from the origin
  [[nodiscard]] bool is_level() const {
    return shape.ceiling_gradient.x == 0.0 && shape.ceiling_gradient.y == 0.0;
  }
  [[nodiscard]] double ceiling_z(Point2 p) const {
    return shape.floor_z_m + shape.height_m + (rise_to(shape.ceiling_gradient, p) - lowest_rise_m);
  }
  /// A prism's top that a level ceiling closes; below a sloped one tops are free.
  [[nodiscard]] bool meets_ceiling(double z) const {
    return is_level() && z >= shape.floor_z_m + shape.height_m - kContact;
  }

  void build();
  /// Places, in local coordinates of a surface, where light on it ends sharply.
  struct Breaks {
    std::vector<double> u;
    std::vector<double> v;
  };
  void add_surface(Surface surface, const Polygon& outline, const std::vector<Polygon>& covered,
                   Breaks breaks = {});
  /// Divides what is seen of the latest surface along the lines of a grid over it.
  void add_patches(Surface& surface, GridLines u, GridLines v);
  [[nodiscard]] std::vector<Polygon> covers_of_horizontal(const Surface& surface, std::int32_t self) const;
  struct Cover {
    Interval1 along;   ///< from the edge's first vertex
    Interval1 height;  ///< building z
  };
  [[nodiscard]] std::vector<Cover> covers_of_vertical(Point2 a, Point2 b, Vector2 normal, Interval1 height,
                                                      std::int32_t self) const;
  /// What stands close before a wall or against it.
  [[nodiscard]] std::vector<Cover> close_before(Point2 a, Point2 b, Vector2 normal) const;
  void cut_holes();
  [[nodiscard]] LookUp look_up_of(std::uint32_t surface) const;
  void build_scene();
  void measure_volume();
  [[nodiscard]] std::uint32_t patch_at(std::uint32_t surface, Point3 p) const {
    return grids[surface].patch_at(to_local(surfaces[surface], p));
  }
  /// The patch of a surface or of an opening in it, whatever cuts its cells.
  [[nodiscard]] std::uint32_t patch_closer_at(std::uint32_t surface, Point2 local) const;
  /// What up to eight rays met, as patches.
  void name_patches(const HitBlock& hits, std::span<SurfaceHit> out) const;
  [[nodiscard]] bool is_clear(Point3 p) const;
  [[nodiscard]] std::optional<Point3> moved_into_room(Point3 p) const;
};

// ---------------------------------------------------------------------------------------------------------------
// Validation
// ---------------------------------------------------------------------------------------------------------------

namespace {

class Validation {
 public:
  Validation(EnclosureShape& shape, double patch_m) : shape_(shape), patch_m_(patch_m) {}

  Diagnostics run() {
    if (!(patch_m_ > 0.0) || !std::isfinite(patch_m_))
      error("/patch_m", fmt::format("{} m is not a size for patches", patch_m_), "give a length above 0 m");
    if (!(shape_.height_m >= 0.1 && shape_.height_m <= 200.0))
      error("/height_m", fmt::format("{} m is not the height of a room", shape_.height_m),
            "give a height between 0.1 m and 200 m");
    if (!(length(shape_.ceiling_gradient) <= kSteepest))
      error("/ceiling_gradient",
            fmt::format("the ceiling rises by {} m per metre", length(shape_.ceiling_gradient)),
            fmt::format("give at most {}", kSteepest));
    if (!(std::abs(shape_.floor_z_m) <= 1e5))
      error("/floor_z_m", fmt::format("{} m is not the level of a floor", shape_.floor_z_m),
            "give a level within 100 km of the datum");
    count("/wall_openings", shape_.wall_openings.size());
    count("/roof_openings", shape_.roof_openings.size());
    count("/prisms", shape_.prisms.size());
    floor();
    if (!found_.empty()) return found_;  // all the rest is measured against the floor
    for (std::size_t i = 0; i < shape_.wall_openings.size(); ++i) wall_opening(i);
    for (std::size_t i = 0; i < shape_.roof_openings.size(); ++i) roof_opening(i);
    for (std::size_t i = 0; i < shape_.prisms.size(); ++i) prism(i);
    return found_;
  }

 private:
  void error(std::string where, std::string problem, std::string remedy) {
    found_.push_back(
        {Diagnostic::Severity::error, {}, std::move(where), std::move(problem), std::move(remedy)});
  }

  void count(std::string where, std::size_t parts) {
    if (parts > kMostParts)
      error(std::move(where), fmt::format("{} parts are more than one room can have", parts),
            fmt::format("give at most {}, or divide the room", kMostParts));
  }

  // Whether the outline may be looked at further; says why not.
  bool usable_outline(const std::string& where, const Polygon& outline) {
    if (outline.size() > kMostVertices) {
      error(where, fmt::format("the outline has {} vertices", outline.size()),
            fmt::format("simplify it to at most {}", kMostVertices));
    } else if (!is_simple(outline)) {
      error(
          where,
          fmt::format("the outline of {} vertices crosses or touches itself, or has no area", outline.size()),
          "give at least three different vertices in order around it");
    } else {
      return true;
    }
    return false;
  }

  void floor() {
    const Polygon& floor = shape_.floor;
    if (!usable_outline("/floor", floor)) return;
    if (!is_counter_clockwise(floor))
      return error("/floor", "the outline runs clockwise", "list the vertices counter-clockwise");
    const Box2 box = bounds(floor);
    if (box.high.x - box.low.x > kLargestRoom_m || box.high.y - box.low.y > kLargestRoom_m)
      return error("/floor", fmt::format("the room is more than {} m long", kLargestRoom_m),
                   "check the unit of length, or divide the room");
    for (std::size_t i = 0; i < floor.size(); ++i)
      if (length(edge_of(floor, i)) < kShortestWall_m)
        error(fmt::format("/floor/{}", i),
              fmt::format("wall {} is {:.4f} m long", i, length(edge_of(floor, i))),
              fmt::format("leave out vertices closer than {} m to the next", kShortestWall_m));
  }

  void wall_opening(std::size_t i) {
    WallOpening& o = shape_.wall_openings[i];
    const std::string where = fmt::format("/wall_openings/{}", i);
    if (o.wall < 0 || o.wall >= static_cast<std::int32_t>(shape_.floor.size()))
      return error(where, fmt::format("wall {} does not exist", o.wall),
                   fmt::format("name a wall from 0 to {}", shape_.floor.size() - 1));
    if (!(o.width_m >= kContact && o.height_m >= kContact))
      return error(where, fmt::format("{} m by {} m is not the size of an opening", o.width_m, o.height_m),
                   "give a width and a height of at least 0.001 m");
    const double wall_m = length(edge_of(shape_.floor, static_cast<std::size_t>(o.wall)));
    if (!(o.offset_m >= -kContact && o.offset_m + o.width_m <= wall_m + kContact))
      return error(where,
                   fmt::format("it runs from {:.3f} m to {:.3f} m along wall {}, which is {:.3f} m long",
                               o.offset_m, o.offset_m + o.width_m, o.wall, wall_m),
                   "move it or make it narrower");
    const auto w = static_cast<std::size_t>(o.wall);
    const Vector2 along = edge_direction(shape_.floor, w);
    const double room_m = height_over({shape_.floor[w] + std::max(0.0, o.offset_m) * along,
                                       shape_.floor[w] + std::min(wall_m, o.offset_m + o.width_m) * along});
    if (!(o.sill_m >= -kContact && o.sill_m + o.height_m <= room_m + kContact))
      return error(where,
                   fmt::format("it reaches from {:.3f} m to {:.3f} m above the floor of a room {:.3f} m high",
                               o.sill_m, o.sill_m + o.height_m, room_m),
                   "move it or make it lower");
    for (std::size_t k = 0; k < i; ++k) {
      const WallOpening& other = shape_.wall_openings[k];
      if (other.wall != o.wall) continue;
      const double across = std::min(o.offset_m + o.width_m, other.offset_m + other.width_m) -
                            std::max(o.offset_m, other.offset_m);
      const double upright =
          std::min(o.sill_m + o.height_m, other.sill_m + other.height_m) - std::max(o.sill_m, other.sill_m);
      if (across > kContact && upright > kContact)
        error(where,
              fmt::format("it overlaps opening {} of the same wall by {:.3f} m by {:.3f} m", k, across,
                          upright),
              "move one of them");
    }
  }

  // Height of the room where it is least over some places.
  double height_over(const std::vector<Point2>& places) const {
    const auto rise = [&](Point2 a, Point2 b) {
      return rise_to(shape_.ceiling_gradient, a) < rise_to(shape_.ceiling_gradient, b);
    };
    const Point2 lowest = *std::min_element(shape_.floor.begin(), shape_.floor.end(), rise);
    const Point2 here = *std::min_element(places.begin(), places.end(), rise);
    return shape_.height_m +
           (rise_to(shape_.ceiling_gradient, here) - rise_to(shape_.ceiling_gradient, lowest));
  }

  // Parts of `plan` outside the floor, beyond what touching a wall explains.
  bool leaves_floor(const Polygon& plan) const {
    return area(difference(plan, shape_.floor)) > kContact * perimeter(plan);
  }

  void roof_opening(std::size_t i) {
    const std::string where = fmt::format("/roof_openings/{}", i);
    Polygon& plan = shape_.roof_openings[i].plan;
    if (!usable_outline(where, plan)) return;
    if (!is_counter_clockwise(plan)) plan = reversed(plan);
    if (leaves_floor(plan))
      error(where, "it reaches beyond the ceiling", "keep it inside the outline of the room");
    for (std::size_t k = 0; k < i; ++k) {
      const Polygon& other = shape_.roof_openings[k].plan;
      if (other.size() <= kMostVertices && is_simple(other) &&
          area(intersection(plan, other)) > kContact * perimeter(plan))
        error(where, fmt::format("it overlaps roof opening {}", k), "move one of them");
    }
  }

  void prism(std::size_t i) {
    const std::string where = fmt::format("/prisms/{}", i);
    Prism& p = shape_.prisms[i];
    if (!usable_outline(where, p.plan)) return;
    if (!is_counter_clockwise(p.plan)) p.plan = reversed(p.plan);
    if (!(p.top_z_m - p.bottom_z_m >= kContact))
      return error(where, fmt::format("it reaches from {} m to {} m", p.bottom_z_m, p.top_z_m),
                   "put its top above its bottom");
    const double ceiling = shape_.floor_z_m + height_over(p.plan);
    if (p.bottom_z_m < shape_.floor_z_m - kContact || p.top_z_m > ceiling + kContact)
      return error(where,
                   fmt::format("it reaches from {:.3f} m to {:.3f} m in a room from {:.3f} m to {:.3f} m",
                               p.bottom_z_m, p.top_z_m, shape_.floor_z_m, ceiling),
                   "keep it between floor and ceiling");
    p.bottom_z_m = std::max(p.bottom_z_m, shape_.floor_z_m);
    p.top_z_m = std::min(p.top_z_m, ceiling);
    if (leaves_floor(p.plan))
      error(where, "it reaches through a wall", "keep it inside the outline of the room");
  }

  EnclosureShape& shape_;
  double patch_m_;
  Diagnostics found_;
};

}  // namespace

Result<Enclosure> Enclosure::make(const EnclosureShape& shape, double patch_m) {
  auto data = std::make_shared<Data>();
  data->shape = shape;
  data->patch_m = patch_m;
  if (Diagnostics found = Validation(data->shape, patch_m).run(); !found.empty())
    return tl::make_unexpected(std::move(found));
  data->lowest_rise_m = std::numeric_limits<double>::infinity();
  double highest_rise_m = -data->lowest_rise_m;
  for (const Point2 p : shape.floor) {
    const double rise = rise_to(shape.ceiling_gradient, p);
    data->lowest_rise_m = std::min(data->lowest_rise_m, rise);
    highest_rise_m = std::max(highest_rise_m, rise);
  }
  const double walls_m2 = perimeter(shape.floor) * (shape.height_m + (highest_rise_m - data->lowest_rise_m));
  double surface_m2 = 2.0 * area(shape.floor) + walls_m2;
  for (const Prism& p : shape.prisms)
    surface_m2 += 2.0 * area(p.plan) + perimeter(p.plan) * (p.top_z_m - p.bottom_z_m);
  const double cells = surface_m2 / (patch_m * patch_m);
  if (cells > static_cast<double>(kMostCells))
    return tl::make_unexpected(
        Diagnostics{{Diagnostic::Severity::error,
                     {},
                     "/patch_m",
                     fmt::format("patches of {} m would make {:.0f} of them", patch_m, cells),
                     fmt::format("give a larger size, for at most {}", kMostCells)}});
  data->build();
  return Enclosure(std::move(data));
}

// ---------------------------------------------------------------------------------------------------------------
// Surfaces and patches
// ---------------------------------------------------------------------------------------------------------------

void Enclosure::Data::build() {
  const Polygon& floor = shape.floor;
  const std::size_t walls = floor.size();

  const auto horizontal = [&](SurfaceKind kind, std::int32_t index, std::int32_t face, const Polygon& plan,
                              double z, double up, std::int32_t self, const std::vector<Polygon>& cut) {
    Surface s;
    s.kind = kind;
    s.index = index;
    s.face = face;
    s.corner = at_height(plan.front(), z);
    s.frame = horizontal_frame(plan, up);
    std::vector<Polygon> covered = covers_of_horizontal(s, self);
    covered.insert(covered.end(), cut.begin(), cut.end());
    for (Polygon& polygon : covered) polygon = to_local(s, polygon);
    add_surface(std::move(s), to_local(s, plan), covered);
  };
  const auto in_ceiling = [&](SurfaceKind kind, std::int32_t index, const Polygon& plan,
                              const std::vector<Polygon>& cut) {
    const double z = ceiling_z(plan.front());
    if (is_level()) return horizontal(kind, index, 0, plan, z, -1.0, -1, cut);
    Surface s;
    s.kind = kind;
    s.index = index;
    s.corner = at_height(plan.front(), z);
    s.frame = ceiling_frame(plan, shape.ceiling_gradient);
    std::vector<Polygon> covered;  // no prism lies against it: their tops are level
    for (const Polygon& polygon : cut) covered.push_back(to_local(s, polygon));
    add_surface(std::move(s), to_local(s, plan), covered);
  };
  std::vector<Polygon> roof;
  for (const RoofOpening& o : shape.roof_openings) roof.push_back(o.plan);
  horizontal(SurfaceKind::floor, 0, 0, floor, shape.floor_z_m, 1.0, -1, {});
  in_ceiling(SurfaceKind::ceiling, 0, floor, roof);

  // A vertical face over the edge a-b between two heights, or from the lower one to the ceiling. Local u may
  // run either way along the edge.
  const auto vertical = [&](Surface s, Point2 a, Point2 b, Vector2 normal, Interval1 height,
                            std::int32_t self, const std::vector<Cover>& cut) {
    const double width = length(b - a);
    s.frame = vertical_frame(normal);
    const bool forward = s.frame.x.x * (b.x - a.x) + s.frame.x.y * (b.y - a.y) > 0.0;
    s.corner = at_height(forward ? a : b, height.low);
    std::vector<Cover> covers = covers_of_vertical(a, b, normal, height, self);
    covers.insert(covers.end(), cut.begin(), cut.end());
    const auto box_of = [&](const Cover& c) {
      const double from = forward ? c.along.low : width - c.along.high;
      const double to = forward ? c.along.high : width - c.along.low;
      return Box2{{from, c.height.low - height.low}, {to, c.height.high - height.low}};
    };
    std::vector<Polygon> covered;
    for (const Cover& c : covers) {
      const Box2 box = box_of(c);
      covered.push_back(rectangle(box.low, box.high));
    }
    const bool is_wall = s.kind == SurfaceKind::wall;
    Breaks breaks;
    if (is_wall)
      for (const Cover& c : close_before(a, b, normal)) {
        const Box2 box = box_of(c);
        breaks.u.insert(breaks.u.end(), {box.low.x, box.high.x});
        breaks.v.insert(breaks.v.end(), {box.low.y, box.high.y});
      }
    Polygon outline = rectangle({0.0, 0.0}, {width, height.high - height.low});
    if (is_wall && !is_level()) {
      outline[2].y = ceiling_z(forward ? b : a) - height.low;
      outline[3].y = ceiling_z(forward ? a : b) - height.low;
    }
    add_surface(std::move(s), outline, covered, std::move(breaks));
  };
  const auto inward = [&](std::size_t wall) {
    const Vector2 d = edge_direction(floor, wall);
    return Vector2{-d.y, d.x};
  };

  std::vector<std::vector<std::size_t>> openings_of_wall(walls);
  for (std::size_t i = 0; i < shape.wall_openings.size(); ++i)
    openings_of_wall[static_cast<std::size_t>(shape.wall_openings[i].wall)].push_back(i);
  for (std::size_t w = 0; w < walls; ++w) {
    std::vector<Cover> cut;
    for (const std::size_t i : openings_of_wall[w]) {
      const WallOpening& o = shape.wall_openings[i];
      const double sill = shape.floor_z_m + o.sill_m;
      cut.push_back({{o.offset_m, o.offset_m + o.width_m}, {sill, sill + o.height_m}});
    }
    Surface s;
    s.kind = SurfaceKind::wall;
    s.index = static_cast<std::int32_t>(w);
    const Point2 next = floor[(w + 1) % walls];
    vertical(std::move(s), floor[w], next, inward(w),
             {shape.floor_z_m, std::max(ceiling_z(floor[w]), ceiling_z(next))}, -1, cut);
  }

  first_opening = static_cast<std::uint32_t>(surfaces.size());
  std::int32_t index = 0;
  for (const WallOpening& o : shape.wall_openings) {
    const auto w = static_cast<std::size_t>(o.wall);
    const double wall_m = length(edge_of(floor, w));
    const Vector2 d = edge_direction(floor, w);
    const double from = std::max(0.0, o.offset_m);
    const double to = std::min(wall_m, o.offset_m + o.width_m);
    const double low = std::max(0.0, o.sill_m);
    const double room_m =
        std::min(ceiling_z(floor[w] + from * d), ceiling_z(floor[w] + to * d)) - shape.floor_z_m;
    const double high = std::min(is_level() ? shape.height_m : room_m, o.sill_m + o.height_m);
    Surface s;
    s.kind = SurfaceKind::opening;
    s.index = index++;
    vertical(std::move(s), floor[w] + from * d, floor[w] + to * d, inward(w),
             {shape.floor_z_m + low, shape.floor_z_m + high}, -1, {});
  }
  for (const RoofOpening& o : shape.roof_openings) in_ceiling(SurfaceKind::opening, index++, o.plan, {});

  for (std::size_t k = 0; k < shape.prisms.size(); ++k) {
    const Prism& p = shape.prisms[k];
    const auto self = static_cast<std::int32_t>(k);
    horizontal(SurfaceKind::object, self, Surface::kTop, p.plan, p.top_z_m, 1.0, self, {});
    horizontal(SurfaceKind::object, self, Surface::kBottom, p.plan, p.bottom_z_m, -1.0, self, {});
    for (std::size_t e = 0; e < p.plan.size(); ++e) {
      const Vector2 d = edge_direction(p.plan, e);
      Surface s;
      s.kind = SurfaceKind::object;
      s.index = self;
      s.face = static_cast<std::int32_t>(e);
      vertical(std::move(s), p.plan[e], p.plan[(e + 1) % p.plan.size()], {d.y, -d.x},
               {p.bottom_z_m, p.top_z_m}, self, {});
    }
  }

  CompensatedSum total;
  for (const Patch& patch : patches) total.add(patch.area_m2);
  total_area_m2 = total.value();
  measure_volume();
  cut_holes();
  for (std::uint32_t i = 0; i < surfaces.size(); ++i)
    look_ups.push_back(surfaces[i].kind == SurfaceKind::opening ? LookUp{} : look_up_of(i));
  build_scene();
}

// Outlines, in plan, of what lies against the face from the side it looks to: prisms, and for prism faces the
// floor and the ceiling. Where two prisms share one plane and one side, the first of them keeps it.
std::vector<Polygon> Enclosure::Data::covers_of_horizontal(const Surface& surface, std::int32_t self) const {
  std::vector<Polygon> covers;
  const double up = surface.frame.z.z;
  const double z = surface.corner.z;
  if (self >= 0 && ((up > 0.0 && meets_ceiling(z)) || (up < 0.0 && z <= shape.floor_z_m + kContact)))
    return {shape.floor};
  for (std::size_t k = 0; k < shape.prisms.size(); ++k) {
    const auto other = static_cast<std::int32_t>(k);
    if (other == self) continue;
    const Prism& p = shape.prisms[k];
    const auto spans = [&](double level) { return p.bottom_z_m < level && level < p.top_z_m; };
    const bool outside = spans(z + up * kContact);
    const bool same_plane = other < self && spans(z - up * kContact);
    if (outside || same_plane) covers.push_back(p.plan);
  }
  return covers;
}

std::vector<Enclosure::Data::Cover> Enclosure::Data::covers_of_vertical(Point2 a, Point2 b, Vector2 normal,
                                                                        Interval1 height,
                                                                        std::int32_t self) const {
  std::vector<Cover> covers;
  const Vector2 shift = kContact * normal;
  if (self >= 0)
    for (const Interval1 part : complement(parts_inside(a + shift, b + shift, shape.floor), length(b - a)))
      covers.push_back({part, height});
  for (std::size_t k = 0; k < shape.prisms.size(); ++k) {
    const auto other = static_cast<std::int32_t>(k);
    if (other == self) continue;
    const Prism& p = shape.prisms[k];
    const Interval1 common{std::max(height.low, p.bottom_z_m), std::min(height.high, p.top_z_m)};
    if (common.high - common.low <= kContact) continue;
    for (const Interval1 part : parts_inside(a + shift, b + shift, p.plan)) covers.push_back({part, common});
    if (other < self)
      for (const Interval1 part : parts_inside(a + (-1.0 * shift), b + (-1.0 * shift), p.plan))
        covers.push_back({part, common});
  }
  return covers;
}

std::vector<Enclosure::Data::Cover> Enclosure::Data::close_before(Point2 a, Point2 b, Vector2 normal) const {
  std::vector<Cover> close;
  const Vector2 shift = kClose_m * normal;
  for (const Prism& p : shape.prisms)
    for (const Interval1 part : parts_inside(a + shift, b + shift, p.plan))
      close.push_back({part, {p.bottom_z_m, p.top_z_m}});
  return close;
}

namespace {

Point2 middle_of(const Box2& box) { return box.low + 0.5 * (box.high - box.low); }
double area_of(const Box2& box) { return (box.high.x - box.low.x) * (box.high.y - box.low.y); }

// Lines between two places: some of the breaks, and between each two of these an even number of cells, so
// that blocks are whole. Breaks that would leave less than a sliver between them are passed over. A side
// without breaks may be a single cell.
GridLines lines_between(Interval1 side, std::vector<double> breaks, double patch_m, bool one_cell) {
  const double least = kSliverShare * patch_m;
  std::sort(breaks.begin(), breaks.end());
  std::vector<double> ends{side.low};
  for (const double at : breaks)
    if (at - ends.back() > least && side.high - at > least) ends.push_back(at);
  ends.push_back(side.high);
  if (ends.size() == 2 && one_cell) return GridLines({side.low, side.high});
  std::vector<double> lines{side.low};
  for (std::size_t i = 0; i + 1 < ends.size(); ++i) {
    const double length = ends[i + 1] - ends[i];
    const int cells = 2 * std::max(1, static_cast<int>(std::ceil(0.5 * length / patch_m - 1e-6)));
    for (int k = 1; k < cells; ++k) lines.push_back(ends[i] + length * k / cells);
    lines.push_back(ends[i + 1]);
  }
  return GridLines(std::move(lines));
}

}  // namespace

void Enclosure::Data::add_surface(Surface surface, const Polygon& outline,
                                  const std::vector<Polygon>& covered, Breaks breaks) {
  surface.region = {{outline, {}}};
  if (!covered.empty()) {
    surface.region = difference(outline, covered);
    drop_slivers(surface.region);
  }
  surface.area_m2 = area(surface.region);
  surface.first_patch = static_cast<std::uint32_t>(patches.size());
  grids.emplace_back();
  if (!surface.region.empty()) {
    const Box2 box = bounds(surface.region);
    const double width = box.high.x - box.low.x;
    const double depth = box.high.y - box.low.y;
    // The edge of a table top is one patch, however long.
    const bool small = breaks.u.empty() && width * depth <= patch_m * patch_m;
    add_patches(
        surface,
        lines_between({box.low.x, box.high.x}, std::move(breaks.u), patch_m, small || width <= patch_m),
        lines_between({box.low.y, box.high.y}, std::move(breaks.v), patch_m, small || depth <= patch_m));
  }
  surface.patch_count = static_cast<std::uint32_t>(patches.size()) - surface.first_patch;
  surfaces.push_back(std::move(surface));
}

namespace {

bool edge_may_enter(Point2 a, Point2 b, const Box2& box) {
  return std::max(a.x, b.x) > box.low.x && std::min(a.x, b.x) < box.high.x &&
         std::max(a.y, b.y) > box.low.y && std::min(a.y, b.y) < box.high.y;
}

// Whether some edge of the region may run through the inside of the box. Edges along its sides do not.
bool boundary_may_enter(const Region& region, const Box2& box) {
  const Box2 inner{{box.low.x + kPolygonGrid_m, box.low.y + kPolygonGrid_m},
                   {box.high.x - kPolygonGrid_m, box.high.y - kPolygonGrid_m}};
  const auto enters = [&](const Polygon& polygon) {
    for (std::size_t i = 0; i < polygon.size(); ++i)
      if (edge_may_enter(polygon[i], polygon[(i + 1) % polygon.size()], inner)) return true;
    return false;
  };
  return std::any_of(region.begin(), region.end(), [&](const PolygonWithHoles& piece) {
    return enters(piece.outline) || std::any_of(piece.holes.begin(), piece.holes.end(), enters);
  });
}

// What is seen of a cell, in one piece: what a wall or a screen cuts apart never shares a patch, or light
// would pass from one side to the other.
struct Piece {
  std::int32_t cell = 0;
  Box2 box;  // of the whole cell
  double area_m2 = 0.0;
  Region clipped;          // empty for a whole cell
  std::int32_t group = 0;  // index of the piece that stands for the patch
  std::int32_t block = 0;  // index of a piece of the same block
};

std::int32_t root_of(const std::vector<Piece>& pieces, std::int32_t i,
                     std::int32_t Piece::*parent = &Piece::group) {
  while (pieces[static_cast<std::size_t>(i)].*parent != i) i = pieces[static_cast<std::size_t>(i)].*parent;
  return i;
}

// The parts of a piece's outline along one side of its cell: the line u = `at` for an upright side, v = `at`
// for a level one.
std::vector<Interval1> along_side(const Piece& piece, bool upright, double at) {
  if (piece.clipped.empty())
    return {upright ? Interval1{piece.box.low.y, piece.box.high.y}
                    : Interval1{piece.box.low.x, piece.box.high.x}};
  std::vector<Interval1> parts;
  const Polygon& outline = piece.clipped.front().outline;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Point2 a = outline[i];
    const Point2 b = outline[(i + 1) % outline.size()];
    const double off = std::max(std::abs((upright ? a.x : a.y) - at), std::abs((upright ? b.x : b.y) - at));
    if (off > kThinnest_m) continue;
    const auto [low, high] = std::minmax(upright ? a.y : a.x, upright ? b.y : b.x);
    parts.push_back({low, high});
  }
  return parts;
}

// Whether two pieces of neighbouring cells meet along more than a point.
bool touch(const Piece& a, const Piece& b, bool upright, double at) {
  for (const Interval1 p : along_side(a, upright, at))
    for (const Interval1 q : along_side(b, upright, at))
      if (std::min(p.high, q.high) - std::max(p.low, q.low) > kThinnest_m) return true;
  return false;
}

}  // namespace

void Enclosure::Data::add_patches(Surface& surface, GridLines u, GridLines v) {
  Grid& grid = grids.back();
  grid.u = std::move(u);
  grid.v = std::move(v);
  const std::int32_t columns = grid.u.cells();
  const std::int32_t rows = grid.v.cells();
  const auto cell_count = static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows);
  std::vector<Piece> pieces;
  std::vector<std::int32_t> first_piece;  // by cell, and one past the last
  for (std::int32_t cell = 0; cell < static_cast<std::int32_t>(cell_count); ++cell) {
    first_piece.push_back(static_cast<std::int32_t>(pieces.size()));
    const Box2 box = grid.box(cell);
    const auto add = [&](double area_m2, Region clipped) {
      pieces.push_back({cell, box, area_m2, std::move(clipped), static_cast<std::int32_t>(pieces.size())});
    };
    if (boundary_may_enter(surface.region, box)) {
      Region clipped = intersection(surface.region, rectangle(box.low, box.high));
      drop_slivers(clipped);
      for (PolygonWithHoles& piece : clipped) {
        const double area_m2 = area(piece);
        if (area_m2 > 0.0) add(area_m2, {std::move(piece)});
      }
    } else if (contains(surface.region, middle_of(box))) {
      add(area_of(box), {});
    }
  }
  first_piece.push_back(static_cast<std::int32_t>(pieces.size()));

  // Small pieces join the largest that they touch, the smallest first, so that no patch is too small to be
  // sampled.
  std::vector<std::int32_t> small_pieces;
  for (std::size_t i = 0; i < pieces.size(); ++i)
    if (pieces[i].area_m2 < kSliverShare * area_of(pieces[i].box))
      small_pieces.push_back(static_cast<std::int32_t>(i));
  std::stable_sort(small_pieces.begin(), small_pieces.end(), [&](std::int32_t a, std::int32_t b) {
    return pieces[static_cast<std::size_t>(a)].area_m2 < pieces[static_cast<std::size_t>(b)].area_m2;
  });
  for (const std::int32_t i : small_pieces) {
    const Piece& piece = pieces[static_cast<std::size_t>(i)];
    const std::int32_t column = piece.cell % columns;
    const std::int32_t row = piece.cell / columns;
    std::int32_t best = -1;
    for (const auto& [dc, dr] : {std::pair{-1, 0}, {1, 0}, {0, -1}, {0, 1}}) {
      const std::int32_t c = column + dc;
      const std::int32_t r = row + dr;
      if (c < 0 || r < 0 || c >= columns || r >= rows) continue;
      const bool upright = dc != 0;
      const double side = dc < 0   ? piece.box.low.x
                          : dc > 0 ? piece.box.high.x
                          : dr < 0 ? piece.box.low.y
                                   : piece.box.high.y;
      const auto k = static_cast<std::size_t>(grid.cell(c, r));
      for (std::int32_t other = first_piece[k]; other < first_piece[k + 1]; ++other) {
        const Piece& neighbour = pieces[static_cast<std::size_t>(other)];
        if (root_of(pieces, other) == root_of(pieces, i) || !touch(piece, neighbour, upright, side)) continue;
        if (best < 0 || neighbour.area_m2 > pieces[static_cast<std::size_t>(best)].area_m2) best = other;
      }
    }
    if (best >= 0) pieces[static_cast<std::size_t>(root_of(pieces, i))].group = root_of(pieces, best);
  }

  // Patches of one block of two by two cells, where they touch.
  const auto block_of = [&](std::int32_t piece) {
    const std::int32_t cell = pieces[static_cast<std::size_t>(root_of(pieces, piece))].cell;
    return std::pair(cell % columns / 2, cell / columns / 2);
  };
  for (std::size_t i = 0; i < pieces.size(); ++i)
    pieces[i].block = root_of(pieces, static_cast<std::int32_t>(i));
  for (std::int32_t i = 0; i < static_cast<std::int32_t>(pieces.size()); ++i) {
    const Piece& piece = pieces[static_cast<std::size_t>(i)];
    const std::int32_t column = piece.cell % columns;
    const std::int32_t row = piece.cell / columns;
    for (const bool upright : {true, false}) {
      const std::int32_t c = column + (upright ? 1 : 0);
      const std::int32_t r = row + (upright ? 0 : 1);
      if (c >= columns || r >= rows) continue;
      const auto k = static_cast<std::size_t>(grid.cell(c, r));
      for (std::int32_t other = first_piece[k]; other < first_piece[k + 1]; ++other) {
        if (block_of(other) != block_of(i) || !touch(piece, pieces[static_cast<std::size_t>(other)], upright,
                                                     upright ? piece.box.high.x : piece.box.high.y))
          continue;
        pieces[static_cast<std::size_t>(root_of(pieces, other, &Piece::block))].block =
            root_of(pieces, i, &Piece::block);
      }
    }
  }

  std::vector<std::uint32_t> patch_of_root(pieces.size(), SurfaceHit::kNone);
  std::vector<std::uint32_t> block_of_root(pieces.size(), SurfaceHit::kNone);
  grid.patch_of_cell.assign(cell_count, SurfaceHit::kNone);
  std::vector<double> largest_m2(cell_count, 0.0);
  const auto surface_id = static_cast<std::uint32_t>(surfaces.size());
  std::vector<Vector2> moments;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const Piece& piece = pieces[i];
    std::uint32_t& id =
        patch_of_root[static_cast<std::size_t>(root_of(pieces, static_cast<std::int32_t>(i)))];
    const Region region =
        piece.clipped.empty() ? Region{{rectangle(piece.box.low, piece.box.high), {}}} : piece.clipped;
    const Point2 middle = *centroid(region);
    const Vector2 moment{piece.area_m2 * middle.x, piece.area_m2 * middle.y};
    if (id == SurfaceHit::kNone) {
      id = static_cast<std::uint32_t>(patches.size());
      std::uint32_t& block = block_of_root[static_cast<std::size_t>(
          root_of(pieces, static_cast<std::int32_t>(i), &Piece::block))];
      if (block == SurfaceHit::kNone) block = block_count++;
      patches.push_back({surface_id, {}, surface.frame.z, piece.area_m2, block});
      areas.push_back({piece.box, piece.clipped});
      moments.push_back(moment);
    } else {
      Patch& patch = patches[id];
      Area& where = areas[id];
      if (where.clipped.empty()) where.clipped = {{rectangle(where.box.low, where.box.high), {}}};
      where.clipped.insert(where.clipped.end(), region.begin(), region.end());
      where.box.low = {std::min(where.box.low.x, piece.box.low.x),
                       std::min(where.box.low.y, piece.box.low.y)};
      where.box.high = {std::max(where.box.high.x, piece.box.high.x),
                        std::max(where.box.high.y, piece.box.high.y)};
      patch.area_m2 += piece.area_m2;
      Vector2& m = moments[id - surface.first_patch];
      m = {m.x + moment.x, m.y + moment.y};
    }
    const auto cell = static_cast<std::size_t>(piece.cell);
    if (first_piece[cell + 1] - first_piece[cell] > 1)
      grid.divided.push_back({piece.cell, id, piece.clipped.front()});
    if (piece.area_m2 > largest_m2[cell]) {
      largest_m2[cell] = piece.area_m2;
      grid.patch_of_cell[cell] = id;
    }
  }

  // Clipping rounds corners to the polygon grid; one factor per surface makes the patches add up to it.
  CompensatedSum sum;
  for (std::size_t k = surface.first_patch; k < patches.size(); ++k) sum.add(patches[k].area_m2);
  for (std::size_t k = surface.first_patch; k < patches.size(); ++k) {
    Patch& patch = patches[k];
    const Vector2 m = (1.0 / patch.area_m2) * moments[k - surface.first_patch];
    patch.centroid = from_local(surface, {m.x, m.y});
    patch.area_m2 *= surface.area_m2 / sum.value();
    Area& where = areas[k];
    if (!where.clipped.empty()) where.box = bounds(where.clipped);
  }

  for (std::size_t i = 0; i < cell_count; ++i) {
    if (largest_m2[i] > 0.0) continue;
    const auto middle_of_cell = [&](std::size_t cell) {
      return middle_of(grid.box(static_cast<std::int32_t>(cell)));
    };
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < cell_count; ++k) {
      if (largest_m2[k] <= 0.0) continue;
      const double d = length(middle_of_cell(k) - middle_of_cell(i));
      if (d < nearest) {
        nearest = d;
        grid.patch_of_cell[i] = grid.patch_of_cell[k];
      }
    }
  }
}

void Enclosure::Data::measure_volume() {
  std::vector<double> levels;
  for (const Prism& p : shape.prisms) {
    levels.push_back(p.bottom_z_m);
    levels.push_back(p.top_z_m);
  }
  std::sort(levels.begin(), levels.end());
  CompensatedSum volume;
  // Under a plane, the mean height is that at the centroid.
  volume.add(area(shape.floor) * (is_level()
                                      ? shape.height_m
                                      : ceiling_z(*centroid(Region{{shape.floor, {}}})) - shape.floor_z_m));
  for (std::size_t i = 0; i + 1 < levels.size(); ++i) {
    const double height = levels[i + 1] - levels[i];
    if (height <= 0.0) continue;
    const double middle = levels[i] + 0.5 * height;
    std::vector<Polygon> plans;
    for (const Prism& p : shape.prisms)
      if (p.bottom_z_m < middle && middle < p.top_z_m) plans.push_back(p.plan);
    if (!plans.empty()) volume.add(-height * area(intersection(united(plans), shape.floor)));
  }
  volume_m3 = volume.value();
}

void Enclosure::Data::cut_holes() {
  holes.resize(surfaces.size());
  std::uint32_t opening = first_opening;
  for (const WallOpening& o : shape.wall_openings) {
    const auto w = static_cast<std::size_t>(o.wall);
    const std::uint32_t wall = first_wall + static_cast<std::uint32_t>(o.wall);
    const auto corner = [&](double along, double above) {
      return to_local(surfaces[wall], at_height(shape.floor[w] + along * edge_direction(shape.floor, w),
                                                shape.floor_z_m + above));
    };
    const Polygon diagonal{corner(o.offset_m, o.sill_m),
                           corner(o.offset_m + o.width_m, o.sill_m + o.height_m)};
    holes[wall].push_back({{bounds(diagonal), {}}, opening++});
  }
  for (const RoofOpening& o : shape.roof_openings) {
    const Polygon outline = to_local(surfaces[1], o.plan);
    holes[1].push_back({{bounds(outline), {{outline, {}}}}, opening++});
  }
}

namespace {

// Lines of a grid among which several are perhaps one.
GridLines distinct(std::vector<double> lines) {
  std::sort(lines.begin(), lines.end());
  const auto same = [](double a, double b) { return b - a < kPolygonGrid_m; };
  lines.erase(std::unique(lines.begin(), lines.end(), same), lines.end());
  return GridLines(std::move(lines));
}

void add_lines(const GridLines& from, double shift, std::vector<double>& lines) {
  for (std::int32_t i = 0; i < from.cells(); ++i) lines.push_back(from.low(i) + shift);
  lines.push_back(from.high(from.cells() - 1) + shift);
}

bool overlap(const Box2& a, const Box2& b) {
  return std::min(a.high.x, b.high.x) - std::max(a.low.x, b.low.x) > kPolygonGrid_m &&
         std::min(a.high.y, b.high.y) - std::max(a.low.y, b.low.y) > kPolygonGrid_m;
}

}  // namespace

Enclosure::Data::LookUp Enclosure::Data::look_up_of(std::uint32_t surface) const {
  const Grid& own = grids[surface];
  const std::vector<Hole>& its_holes = holes[surface];
  if (own.patch_of_cell.empty() && its_holes.empty()) return {};
  std::vector<double> u;
  std::vector<double> v;
  if (!own.patch_of_cell.empty()) {
    add_lines(own.u, 0.0, u);
    add_lines(own.v, 0.0, v);
  }
  for (const Hole& hole : its_holes) {
    const Box2 box = hole.area.box;
    u.insert(u.end(), {box.low.x, box.high.x});
    v.insert(v.end(), {box.low.y, box.high.y});
    const Grid& grid = grids[hole.surface];
    if (!hole.area.clipped.empty() || grid.patch_of_cell.empty()) continue;
    const Point2 corner = to_local(surfaces[surface], surfaces[hole.surface].corner);
    add_lines(grid.u, corner.x, u);
    add_lines(grid.v, corner.y, v);
  }
  // Hundreds of openings make more cells than they are worth.
  const bool closer_at_holes = u.size() * v.size() > kMostCellsOfLookUp;
  if (closer_at_holes && own.patch_of_cell.empty()) return {{}, {}, {LookUp::kCloser}};
  LookUp look_up =
      closer_at_holes ? LookUp{own.u, own.v, {}} : LookUp{distinct(std::move(u)), distinct(std::move(v)), {}};
  const auto patch_of = [&](const Box2& cell) {
    const Grid* grid = &own;
    Point2 middle = middle_of(cell);
    const auto hole = std::find_if(its_holes.begin(), its_holes.end(),
                                   [&](const Hole& h) { return overlap(cell, h.area.box); });
    if (hole != its_holes.end()) {
      if (closer_at_holes || !hole->area.clipped.empty()) return LookUp::kCloser;
      grid = &grids[hole->surface];
      middle = to_local(surfaces[hole->surface], from_local(surfaces[surface], middle));
    }
    return grid->is_divided(grid->cell_at(middle)) ? LookUp::kCloser : grid->patch_at(middle);
  };
  for (std::int32_t row = 0; row < look_up.v.cells(); ++row)
    for (std::int32_t column = 0; column < look_up.u.cells(); ++column)
      look_up.patch_of_cell.push_back(patch_of(
          {{look_up.u.low(column), look_up.v.low(row)}, {look_up.u.high(column), look_up.v.high(row)}}));
  return look_up;
}

void Enclosure::Data::build_scene() {
  std::vector<Point3> vertices;
  std::vector<SceneTriangle> corners;
  const auto add_triangle = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t id) {
    const Surface& s = surfaces[id];
    // Its front is the side that looks into the room.
    if (dot(cross(vertices[b] - vertices[a], vertices[c] - vertices[a]), s.frame.z) < 0.0) std::swap(b, c);
    corners.push_back({a, b, c});
    const Point2 first = to_local(s, vertices[a]);
    triangles.push_back(
        {first, to_local(s, vertices[b]) - first, to_local(s, vertices[c]) - first, &look_ups[id], id});
  };
  // A closed box over `plan`; surface ids by function of the face.
  const auto add_box = [&](const Polygon& plan, double low, auto&& high_at, auto&& id_of) {
    const auto base = static_cast<std::uint32_t>(vertices.size());
    const auto n = static_cast<std::uint32_t>(plan.size());
    for (const Point2 p : plan) vertices.push_back(at_height(p, low));
    for (const Point2 p : plan) vertices.push_back(at_height(p, high_at(p)));
    for (const auto& [a, b, c] : triangulate(plan)) {
      add_triangle(base + a, base + b, base + c, id_of(Surface::kBottom));
      add_triangle(base + n + a, base + n + b, base + n + c, id_of(Surface::kTop));
    }
    for (std::uint32_t i = 0; i < n; ++i) {
      const std::uint32_t k = (i + 1) % n;
      const std::uint32_t id = id_of(static_cast<std::int32_t>(i));
      add_triangle(base + i, base + k, base + n + k, id);
      add_triangle(base + i, base + n + k, base + n + i, id);
    }
  };
  const auto ceiling = [&](Point2 p) { return ceiling_z(p); };
  add_box(shape.floor, shape.floor_z_m, ceiling, [&](std::int32_t face) -> std::uint32_t {
    if (face == Surface::kBottom) return 0;
    if (face == Surface::kTop) return 1;
    return first_wall + static_cast<std::uint32_t>(face);
  });
  std::uint32_t next =
      first_opening + static_cast<std::uint32_t>(shape.wall_openings.size() + shape.roof_openings.size());
  for (const Prism& p : shape.prisms) {
    // A box that stands on the floor is sunk into it: no ray can slip between the two. Likewise at the
    // ceiling.
    const double low =
        p.bottom_z_m <= shape.floor_z_m + kContact ? shape.floor_z_m - kBeyond_m : p.bottom_z_m;
    const double high = meets_ceiling(p.top_z_m) ? shape.floor_z_m + shape.height_m + kBeyond_m : p.top_z_m;
    add_box(
        p.plan, low, [high](Point2) { return high; },
        [&](std::int32_t face) -> std::uint32_t {
          if (face == Surface::kTop) return next;
          if (face == Surface::kBottom) return next + 1;
          return next + 2 + static_cast<std::uint32_t>(face);
        });
    next += 2 + static_cast<std::uint32_t>(p.plan.size());
  }
  assert(next == surfaces.size());
  scene = std::make_unique<const RayScene>(vertices, corners);
}

// ---------------------------------------------------------------------------------------------------------------
// Queries
// ---------------------------------------------------------------------------------------------------------------

const EnclosureShape& Enclosure::shape() const { return data_->shape; }
std::span<const Surface> Enclosure::surfaces() const { return data_->surfaces; }
std::span<const Patch> Enclosure::patches() const { return data_->patches; }
std::size_t Enclosure::block_count() const { return data_->block_count; }
std::int32_t Enclosure::opening_count() const {
  return static_cast<std::int32_t>(data_->shape.wall_openings.size() + data_->shape.roof_openings.size());
}
std::uint32_t Enclosure::opening_surface(std::int32_t opening) const {
  assert(opening >= 0 && opening < opening_count());
  return data_->first_opening + static_cast<std::uint32_t>(opening);
}
std::uint32_t Enclosure::wall_surface(std::int32_t wall) const {
  return data_->first_wall + static_cast<std::uint32_t>(wall);
}
std::uint32_t Enclosure::floor_surface() const { return 0; }
std::uint32_t Enclosure::ceiling_surface() const { return 1; }
double Enclosure::total_area_m2() const { return data_->total_area_m2; }
double Enclosure::volume_m3() const { return data_->volume_m3; }
double Enclosure::ceiling_z_at(Point2 p) const { return data_->ceiling_z(p); }

std::uint32_t Enclosure::patch_of(std::uint32_t surface, Point3 p) const {
  return data_->patch_at(surface, p);
}

void Enclosure::sample_patch(std::uint32_t patch, std::uint32_t scramble, std::span<Point3> out) const {
  const Data::Area& where = data_->areas[patch];
  const Surface& surface = data_->surfaces[data_->patches[patch].surface];
  const SampleStream stream(scramble, patch);
  const Vector2 size = where.box.high - where.box.low;
  // Regions with less than a hundredth of their box are not met; past that many trials the centroid has to
  // do.
  const std::size_t most = 100 * out.size() + 1000;
  std::size_t found = 0;
  for (std::uint32_t i = 0; found < out.size() && i < most; ++i) {
    const Point2 p{where.box.low.x + stream(i, 0) * size.x, where.box.low.y + stream(i, 1) * size.y};
    if (!where.clipped.empty() && !contains(where.clipped, p)) continue;
    out[found++] = from_local(surface, p);
  }
  for (; found < out.size(); ++found) out[found] = data_->patches[patch].centroid;
  if (data_->is_level()) return;
  // Where ceiling and wall meet at less than a right angle, a ray moved off the very edge of one would start
  // behind the other.
  constexpr double kDrawnIn = 4e-3;
  const Point3 middle = data_->patches[patch].centroid;
  for (Point3& p : out) p = p + kDrawnIn * (middle - p);
}

Point3 Enclosure::middle() const { return data_->scene->middle(); }

std::uint32_t Enclosure::Data::patch_closer_at(std::uint32_t surface, Point2 local) const {
  for (const Hole& hole : holes[surface])
    if (hole.area.holds(local)) return patch_at(hole.surface, from_local(surfaces[surface], local));
  return grids[surface].patch_at(local);
}

void Enclosure::Data::name_patches(const HitBlock& hits, std::span<SurfaceHit> out) const {
  for (std::size_t lane = 0; lane < out.size(); ++lane) {
    SurfaceHit& hit = out[lane];
    const auto i = static_cast<Eigen::Index>(lane);
    hit.distance_m = hits.distance[i];
    // From behind a surface is from outside the air.
    if (hits.triangle[lane] == HitBlock::kNone || hits.onward[i] > 0.0F) {
      hit.patch = SurfaceHit::kNone;
      continue;
    }
    const Triangle& triangle = triangles[hits.triangle[lane]];
    const Point2 local = (triangle.first + static_cast<double>(hits.u[i]) * triangle.to_second) +
                         static_cast<double>(hits.v[i]) * triangle.to_third;
    hit.patch = triangle.look_up->at(local);
    if (hit.patch == LookUp::kCloser) hit.patch = patch_closer_at(triangle.surface, local);
  }
}

void Enclosure::trace(const Rays& rays, std::span<SurfaceHit> out) const {
  assert(rays.size() == out.size());
  constexpr std::size_t kBatch = 32;
  std::array<HitBlock, kBatch> hits;
  const std::span<const Rays::Block> blocks = rays.blocks();
  for (std::size_t first = 0; first < blocks.size(); first += kBatch) {
    const std::size_t count = std::min(kBatch, blocks.size() - first);
    data_->scene->intersect(rays.about(), blocks.subspan(first, count), std::span(hits).first(count));
    for (std::size_t k = 0; k < count; ++k) {
      const std::size_t ray = kLanes * (first + k);
      data_->name_patches(hits[k], out.subspan(ray, std::min(kLanes, out.size() - ray)));
    }
  }
}

void Enclosure::occluded(const Rays& rays, std::span<std::uint8_t> out) const {
  data_->scene->occluded(rays, kClearance_m, out);
}

void Enclosure::exit_opening(const Rays& rays, std::span<std::int32_t> out) const {
  assert(rays.size() == out.size());
  std::vector<SurfaceHit> hits(rays.size());
  trace(rays, hits);
  for (std::size_t i = 0; i < rays.size(); ++i) {
    out[i] = -1;
    if (hits[i].patch == SurfaceHit::kNone) continue;
    const Surface& surface = data_->surfaces[data_->patches[hits[i].patch].surface];
    if (surface.kind == SurfaceKind::opening) out[i] = surface.index;
  }
}

bool Enclosure::in_air(Point3 p) const {
  const Data& d = *data_;
  if (p.z < d.shape.floor_z_m || p.z > d.ceiling_z(plan_of(p)) || !contains(d.shape.floor, plan_of(p)))
    return false;
  return std::none_of(d.shape.prisms.begin(), d.shape.prisms.end(), [&](const Prism& prism) {
    return prism.bottom_z_m < p.z && p.z < prism.top_z_m && contains(prism.plan, plan_of(p)) &&
           distance_to_boundary(prism.plan, plan_of(p)) > kPolygonGrid_m;
  });
}

// Half a clearance away from every prism: a ray that starts here cannot take a prism's face for its own.
bool Enclosure::Data::is_clear(Point3 p) const {
  constexpr double margin = 0.5 * kClearance;
  return std::none_of(shape.prisms.begin(), shape.prisms.end(), [&](const Prism& prism) {
    return prism.bottom_z_m - margin < p.z && p.z < prism.top_z_m + margin &&
           (contains(prism.plan, plan_of(p)) || distance_to_boundary(prism.plan, plan_of(p)) < margin);
  });
}

// A point in the room or at most kContact outside it, moved to be kClearance from floor, ceiling and walls.
std::optional<Point3> Enclosure::Data::moved_into_room(Point3 p) const {
  if (p.z < shape.floor_z_m - kContact || p.z > ceiling_z(plan_of(p)) + kContact) return std::nullopt;
  // Clear of a slope by its normal: further in height.
  const double below = kClearance * (is_level() ? 1.0 : std::hypot(1.0, length(shape.ceiling_gradient)));
  const Polygon& floor = shape.floor;
  if (!contains(floor, plan_of(p)) && distance_to_boundary(floor, plan_of(p)) > kContact) return std::nullopt;
  // Off one wall of a corner at a time; a sharp corner takes several turns.
  for (int turn = 0; turn < 16; ++turn) {
    bool moved = false;
    p.z = std::clamp(p.z, shape.floor_z_m + kClearance, ceiling_z(plan_of(p)) - below);
    for (std::size_t w = 0; w < floor.size(); ++w) {
      const Point2 here = plan_of(p);
      if (distance_to_segment(here, floor[w], floor[(w + 1) % floor.size()]) > 2.0 * kContact) continue;
      const Vector2 d = edge_direction(floor, w);
      const double inside = cross(d, here - floor[w]);
      if (inside >= (1.0 - 1e-6) * kClearance || inside < -2.0 * kContact) continue;
      const Point2 pushed = here + (kClearance - inside) * Vector2{-d.y, d.x};
      p.x = pushed.x;
      p.y = pushed.y;
      moved = true;
    }
    if (!moved) return p;
  }
  return contains(floor, plan_of(p)) ? std::optional(p) : std::nullopt;
}

ObservationOrigin Enclosure::observation_origin(Point3 p, Vector3 direction) const {
  using State = ObservationOrigin::State;
  const Data& d = *data_;
  const auto start = d.moved_into_room(p);
  if (!start) return {p, State::outside};
  if (d.is_clear(*start)) return {*start, State::clear};
  if (const auto ahead = d.moved_into_room(*start + kClearance_m * direction); ahead && d.is_clear(*ahead))
    return {*ahead, State::clear};
  // Lifted off one prism it may be inside the next of a stack.
  Point3 lifted = *start;
  for (std::size_t turn = 0; turn <= d.shape.prisms.size(); ++turn) {
    double top = -std::numeric_limits<double>::infinity();
    for (const Prism& prism : d.shape.prisms)
      if (prism.bottom_z_m - kClearance_m < lifted.z && lifted.z < prism.top_z_m + kClearance_m &&
          (contains(prism.plan, plan_of(lifted)) ||
           distance_to_boundary(prism.plan, plan_of(lifted)) < kClearance_m))
        top = std::max(top, prism.top_z_m);
    if (!(top - p.z <= kLiftWithin_m) || top + kClearance_m >= d.ceiling_z(plan_of(lifted))) break;
    lifted.z = top + kClearance_m;
    if (d.is_clear(lifted)) return {lifted, State::clear};
  }
  return {p, State::inside_object};
}

void Enclosure::add_to_key(KeyBuilder& key) const {
  constexpr std::uint32_t kMethod = 6;  // raise when the same shape gives other surfaces, patches or samples
  const EnclosureShape& s = data_->shape;
  key.add("enclosure").add(kMethod).add(data_->patch_m);
  add_to_key_polygon(key, s.floor);
  key.add(s.height_m).add(s.floor_z_m);
  if (!data_->is_level()) key.add("slope").add(s.ceiling_gradient.x).add(s.ceiling_gradient.y);
  key.add(s.wall_openings.size());
  for (const WallOpening& o : s.wall_openings)
    key.add(o.wall).add(o.offset_m).add(o.sill_m).add(o.width_m).add(o.height_m);
  key.add(s.roof_openings.size());
  for (const RoofOpening& o : s.roof_openings) add_to_key_polygon(key, o.plan);
  key.add(s.prisms.size());
  for (const Prism& p : s.prisms) {
    add_to_key_polygon(key, p.plan);
    key.add(p.bottom_z_m).add(p.top_z_m);
  }
}

}  // namespace halflight
