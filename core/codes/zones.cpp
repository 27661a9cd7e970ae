#include "codes/zones.hpp"

#include "base/units.hpp"
#include "geometry/polygon.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

namespace halflight::codes {
namespace {

using domain::DaylightZoneRule;
using domain::Design;
using domain::Opening;
using domain::Partition;
using domain::Project;
using domain::Space;
using results::DaylightZone;

constexpr double kFar_m = 1e4;       // longer than any room, within the range of the polygon grid
constexpr double kSliver_m2 = 1e-4;  // what rounding to the polygon grid leaves along 100 m of shared edge
constexpr double kHeightSlack_m = 0.01;  // a wall this much short of the ceiling still is full-height
constexpr double kOverlap = 1e-6;        // share of a luminaire's outline that is more than touching

// A frame along an opening: u along it, v into the room (or the second plan direction of a roof opening),
// with the opening itself the core rectangle. Zones are built here and carried back to plan.
struct OpeningFrame {
  Point2 origin;
  Vector2 along;
  Vector2 inward;
  double u0 = 0.0;
  double u1 = 0.0;
  double v0 = 0.0;
  double v1 = 0.0;

  [[nodiscard]] Point2 to_plan(Point2 p) const { return origin + p.x * along + p.y * inward; }
  [[nodiscard]] Point2 to_local(Point2 p) const { return {dot(p - origin, along), dot(p - origin, inward)}; }
};

Polygon mapped(const Polygon& polygon, const OpeningFrame& frame, Point2 (OpeningFrame::*map)(Point2) const) {
  Polygon out;
  out.reserve(polygon.size());
  for (const Point2 p : polygon) out.push_back((frame.*map)(p));
  return out;
}

// The edge of the floor with this number, or nothing when there is none.
std::optional<std::pair<Point2, Point2>> wall_edge(const Space& space, int wall) {
  const auto n = static_cast<int>(space.floor.size());
  if (wall < 0 || wall >= n || n < 3) return std::nullopt;
  const auto i = static_cast<std::size_t>(wall);
  return std::pair{space.floor[i], space.floor[(i + 1) % space.floor.size()]};
}

std::optional<OpeningFrame> window_frame(const Space& space, const Opening& window) {
  const auto edge = wall_edge(space, window.wall);
  if (!edge || length(edge->second - edge->first) == 0.0) return std::nullopt;
  const Vector2 along = (1.0 / length(edge->second - edge->first)) * (edge->second - edge->first);
  OpeningFrame frame;
  frame.origin = edge->first;
  frame.along = along;
  frame.inward = {-along.y, along.x};  // the floor is counter-clockwise: the room is to the left of its edges
  frame.u0 = window.offset_m;
  frame.u1 = window.offset_m + window.width_m;
  return frame;
}

// The rectangle around a roof opening in the direction of its longest edge.
std::optional<OpeningFrame> skylight_frame(const Opening& skylight) {
  if (skylight.plan.size() < 3) return std::nullopt;
  Vector2 longest{};
  for (std::size_t i = 0; i < skylight.plan.size(); ++i) {
    const Vector2 edge = skylight.plan[(i + 1) % skylight.plan.size()] - skylight.plan[i];
    if (length(edge) > length(longest)) longest = edge;
  }
  if (length(longest) == 0.0) return std::nullopt;
  OpeningFrame frame;
  frame.origin = skylight.plan.front();
  frame.along = (1.0 / length(longest)) * longest;
  frame.inward = {-frame.along.y, frame.along.x};
  const Box2 box = bounds(mapped(skylight.plan, frame, &OpeningFrame::to_local));
  frame.u0 = box.low.x;
  frame.u1 = box.high.x;
  frame.v0 = box.low.y;
  frame.v1 = box.high.y;
  return frame;
}

// The part of a segment with lo <= p.*axis <= hi, if any has length.
std::optional<std::pair<Point2, Point2>> clipped(std::pair<Point2, Point2> s, double Point2::*axis, double lo,
                                                 double hi) {
  for (const auto& [limit, keep_above] : {std::pair{lo, true}, std::pair{hi, false}}) {
    const auto depth = [&](Point2 p) { return keep_above ? p.*axis - limit : limit - p.*axis; };
    const double a = depth(s.first);
    const double b = depth(s.second);
    if (a < 0.0 && b < 0.0) return std::nullopt;
    const auto cut = [&] { return s.first + (a / (a - b)) * (s.second - s.first); };
    if (a < 0.0)
      s.first = cut();
    else if (b < 0.0)
      s.second = cut();
  }
  if (length(s.second - s.first) < kPolygonGrid_m) return std::nullopt;
  return s;
}

// What a segment hides when it is swept along `direction`; nothing for a sweep along itself.
std::optional<Polygon> swept(std::pair<Point2, Point2> s, Vector2 direction) {
  Polygon shadow = {s.first, s.second, s.second + kFar_m * direction, s.first + kFar_m * direction};
  const double twice_area = cross(s.second - s.first, direction);
  if (std::abs(twice_area) < kPolygonGrid_m) return std::nullopt;
  if (twice_area < 0.0) shadow = reversed(shadow);
  return shadow;
}

// Adds the shadows that a segment in the opening's frame casts away from the opening: onward where it stands
// before or behind, sideways where it stands beside. A wall of the room hides onward only straight in front
// of the opening, because light passes along it obliquely; an obstruction standing free cuts the zone at its
// distance over its whole length.
void add_shadows(std::pair<Point2, Point2> segment, const OpeningFrame& frame, bool is_wall,
                 std::vector<Polygon>& shadows) {
  const auto add = [&](std::optional<std::pair<Point2, Point2>> part, Vector2 direction) {
    if (!part) return;
    if (const auto shadow = swept(*part, direction)) shadows.push_back(*shadow);
  };
  std::optional<std::pair<Point2, Point2>> before = segment;
  if (is_wall) before = clipped(segment, &Point2::x, frame.u0, frame.u1);
  if (before) {
    add(clipped(*before, &Point2::y, frame.v1 + kPolygonGrid_m, kFar_m), {0, 1});
    if (frame.v1 > frame.v0) add(clipped(*before, &Point2::y, -kFar_m, frame.v0 - kPolygonGrid_m), {0, -1});
  }
  add(clipped(segment, &Point2::x, frame.u1 + kPolygonGrid_m, kFar_m), {1, 0});
  add(clipped(segment, &Point2::x, -kFar_m, frame.u0 - kPolygonGrid_m), {-1, 0});
}

bool stands_closed(const Partition& partition) {
  return partition.kind != Partition::Kind::movable || partition.states.empty() ||
         partition.states.front() == "closed";
}

// Shadows of everything inside the room that is at least `height_m` high, and of its walls.
std::vector<Polygon> shadows_in(const Space& space, const OpeningFrame& frame, double height_m) {
  std::vector<Polygon> shadows;
  const auto local = [&](Point2 a, Point2 b) { return std::pair{frame.to_local(a), frame.to_local(b)}; };
  for (std::size_t i = 0; i < space.floor.size(); ++i) {
    const auto edge = local(space.floor[i], space.floor[(i + 1) % space.floor.size()]);
    add_shadows(edge, frame, true, shadows);
  }
  for (const Partition& p : space.partitions)
    if (p.height_m >= height_m - kHeightSlack_m && stands_closed(p))
      add_shadows(local(p.from, p.to), frame, false, shadows);
  for (const domain::Furniture& f : space.furniture)
    if (f.top_m >= height_m - kHeightSlack_m)
      for (std::size_t i = 0; i < f.plan.size(); ++i)
        add_shadows(local(f.plan[i], f.plan[(i + 1) % f.plan.size()]), frame, false, shadows);
  return shadows;
}

// Whether something outside rises so high before the window that the code no longer counts the window.
bool is_blocked_outside(const Project& project, const Space& space, const Opening& window,
                        const OpeningFrame& frame, const DaylightZoneRule& rule) {
  const domain::Storey* storey = domain::find_by_id(project.storeys, space.storey);
  const double floor_m = storey != nullptr ? storey->elevation_m : 0.0;
  const double from_m = floor_m + window.sill_m + (rule.outside_rise_from_head ? window.height_m : 0.0);
  for (const domain::Obstruction& obstruction : project.obstructions) {
    Polygon plan;
    for (const auto& p : obstruction.plan_m) plan.push_back(frame.to_local({p[0], p[1]}));
    double distance_m = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < plan.size(); ++i) {
      auto part = clipped({plan[i], plan[(i + 1) % plan.size()]}, &Point2::x, frame.u0, frame.u1);
      if (part) part = clipped(*part, &Point2::y, -kFar_m, 0.0);
      if (part) distance_m = std::min({distance_m, -part->first.y, -part->second.y});
    }
    if (obstruction.top_m - from_m >= rule.outside_rise_per_distance * distance_m) return true;
  }
  return false;
}

// Outlines without holes: a piece with a hole is cut through the hole's middle until none is left.
void append_simple(const PolygonWithHoles& piece, std::vector<Polygon>& out) {
  if (area(piece) < kSliver_m2) return;
  if (piece.holes.empty()) {
    out.push_back(piece.outline);
    return;
  }
  const Box2 box = bounds(piece.outline);
  const double x = centroid(piece.holes.front()).x;
  for (const Polygon& half : {rectangle(box.low, {x, box.high.y}), rectangle({x, box.low.y}, box.high)})
    for (const PolygonWithHoles& part : intersection(Region{piece}, half)) append_simple(part, out);
}

// A rectangle in an opening's frame less its shadows and what other zones have taken, within the room.
std::vector<Polygon> cut_to_room(const OpeningFrame& frame, Point2 low, Point2 high,
                                 const std::vector<Polygon>& shadows, const std::vector<Polygon>& taken,
                                 const Space& space) {
  std::vector<Polygon> holes = taken;
  for (const Polygon& shadow : shadows) holes.push_back(mapped(shadow, frame, &OpeningFrame::to_plan));
  const Polygon whole = mapped(rectangle(low, high), frame, &OpeningFrame::to_plan);
  std::vector<Polygon> pieces;
  for (const PolygonWithHoles& piece : intersection(difference(whole, holes), space.floor))
    append_simple(piece, pieces);
  return pieces;
}

// Collects zones by id, in order of first mention, and remembers all that is taken.
class ZoneSet {
 public:
  void add(DaylightZone::Kind kind, const std::string& id, const Opening& opening, const OpeningFrame& frame,
           double head_m, const std::vector<Polygon>& pieces) {
    if (pieces.empty()) return;
    auto zone = std::find_if(zones_.begin(), zones_.end(), [&](const DaylightZone& z) { return z.id == id; });
    if (zone == zones_.end()) {
      DaylightZone fresh;
      fresh.id = id;
      fresh.kind = kind;
      zone = zones_.insert(zones_.end(), fresh);
    }
    zone->openings.push_back(opening.id);
    zone->head_height_m = std::max(zone->head_height_m, head_m);
    for (const Polygon& piece : pieces) {
      for (const Point2 p : piece) zone->depth_m = std::max(zone->depth_m, frame.to_local(p).y - frame.v1);
      zone->area_m2 += area(piece);
      zone->outline.push_back(piece);
      taken_.push_back(piece);
    }
  }
  [[nodiscard]] const std::vector<Polygon>& taken() const { return taken_; }
  [[nodiscard]] std::vector<DaylightZone> zones() const { return zones_; }

 private:
  std::vector<DaylightZone> zones_;
  std::vector<Polygon> taken_;
};

// The luminaire's luminous outline in plan; a circle as a polygon of 24 sides.
Polygon outline_of(const domain::Luminaire& luminaire, const domain::LuminaireType& type) {
  const Point2 centre{luminaire.at.x, luminaire.at.y};
  Polygon outline;
  if (type.shape == domain::LuminaireType::Shape::circle) {
    constexpr int kSides = 24;
    for (int i = 0; i < kSides; ++i) {
      const double t = 2.0 * kPi * i / kSides;
      outline.push_back(centre + 0.5 * type.length_m * Vector2{std::cos(t), std::sin(t)});
    }
    return outline;
  }
  const double t = luminaire.rotation_deg * kRadPerDeg;
  const Vector2 half_length = 0.5 * type.length_m * Vector2{std::cos(t), std::sin(t)};
  const Vector2 half_width = 0.5 * type.width_m * Vector2{-std::sin(t), std::cos(t)};
  for (const auto& [a, b] :
       {std::pair{-1.0, -1.0}, std::pair{1.0, -1.0}, std::pair{1.0, 1.0}, std::pair{-1.0, 1.0}})
    outline.push_back(centre + a * half_length + b * half_width);
  return outline;
}

bool lies_in(const Polygon& outline, const DaylightZone& zone, double share_min) {
  double inside_m2 = 0.0;
  for (const Polygon& piece : zone.outline) inside_m2 += area(intersection(outline, piece));
  const double whole_m2 = area(outline);
  return share_min > 0.0 ? inside_m2 >= share_min * whole_m2 * (1.0 - kOverlap)
                         : inside_m2 > kOverlap * whole_m2;
}

}  // namespace

std::string facing(const domain::Site& site, const Space& space, int wall) {
  const auto edge = wall_edge(space, wall);
  if (!edge) return "unknown";
  const Vector2 along = edge->second - edge->first;
  const Vector2 outward{along.y, -along.x};
  // Bearing clockwise from plan north (+y), then from true north.
  const double bearing_deg = std::atan2(outward.x, outward.y) * kDegPerRad + site.plan_north_deg;
  const double quarter = std::floor((bearing_deg + 45.0) / 90.0);
  constexpr std::array<const char*, 4> kNames = {"north", "east", "south", "west"};
  return kNames[static_cast<std::size_t>(quarter - 4.0 * std::floor(quarter / 4.0))];
}

double input_w(const Project& project, const domain::Luminaire& luminaire) {
  const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
  if (type == nullptr) return 0.0;
  double total_w = type->watts_per_luminaire_extra_w;
  for (const domain::Channel& channel : type->channels) total_w += channel.input_w;
  return total_w;
}

std::vector<std::vector<std::string>> luminaires_by_zone(const Project& project, const Design& design,
                                                         const Space& space,
                                                         const std::vector<DaylightZone>& zones,
                                                         double share_min) {
  std::vector<std::vector<std::string>> inside(zones.size());
  for (const domain::Luminaire& luminaire : design.luminaires) {
    if (luminaire.space != space.id || luminaire.status == domain::Status::remove) continue;
    const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
    if (type == nullptr) continue;
    const Polygon outline = outline_of(luminaire, *type);
    for (std::size_t z = 0; z < zones.size(); ++z)
      if (lies_in(outline, zones[z], share_min)) {
        inside[z].push_back(luminaire.id);
        break;
      }
  }
  return inside;
}

std::vector<DaylightZone> daylight_zones(const Project& project, const Design& design, const Space& space,
                                         const DaylightZoneRule& rule) {
  ZoneSet set;
  if (space.floor.size() < 3) return {};

  for (const Opening& opening : space.openings) {
    if (opening.kind != Opening::Kind::skylight) continue;
    const auto frame = skylight_frame(opening);
    if (!frame) continue;
    // Under a sloped ceiling, the height at the skylight's lower edge.
    const double height_m = domain::height_over(space, opening.plan);
    const double reach_m = rule.toplit_ceiling_heights * height_m;
    const auto shadows = shadows_in(space, *frame, rule.toplit_obstruction_ceiling_heights * height_m);
    set.add(DaylightZone::Kind::toplit, "toplit", opening, *frame, height_m,
            cut_to_room(*frame, {frame->u0 - reach_m, frame->v0 - reach_m},
                        {frame->u1 + reach_m, frame->v1 + reach_m}, shadows, set.taken(), space));
  }

  std::vector<const Opening*> windows;
  double glazing_m2 = 0.0;
  for (const Opening& opening : space.openings)
    if (opening.kind == Opening::Kind::window) {
      windows.push_back(&opening);
      glazing_m2 += opening.width_m * opening.height_m * (1.0 - opening.frame_fraction);
    }
  if (glazing_m2 < rule.sidelit_glazing_min_m2 * (1.0 - kOverlap)) windows.clear();

  const bool has_secondary = rule.secondary_depth_head_heights > rule.primary_depth_head_heights;
  for (const auto kind : {DaylightZone::Kind::primary, DaylightZone::Kind::secondary}) {
    const bool primary = kind == DaylightZone::Kind::primary;
    if (!primary && !has_secondary) continue;
    for (const Opening* window : windows) {
      const auto frame = window_frame(space, *window);
      if (!frame || is_blocked_outside(project, space, *window, *frame, rule)) continue;
      const double head_m = window->sill_m + window->height_m;
      const double side_m = rule.side_m + rule.side_head_heights * head_m;
      const double from_m = primary ? 0.0 : rule.primary_depth_head_heights * head_m;
      const double to_m =
          (primary ? rule.primary_depth_head_heights : rule.secondary_depth_head_heights) * head_m;
      const auto shadows = shadows_in(space, *frame, rule.obstruction_height_m.value_or(space.height_m));
      const std::string id =
          (primary ? "primary " : "secondary ") + facing(project.site, space, window->wall);
      set.add(kind, id, *window, *frame, head_m,
              cut_to_room(*frame, {frame->u0 - side_m, from_m}, {frame->u1 + side_m, to_m}, shadows,
                          set.taken(), space));
    }
  }

  std::vector<DaylightZone> zones = set.zones();
  const auto inside = luminaires_by_zone(project, design, space, zones, rule.luminaire_share_min);
  for (std::size_t z = 0; z < zones.size(); ++z)
    for (const std::string& id : inside[z])
      zones[z].general_lighting_w += input_w(project, *domain::find_by_id(design.luminaires, id));
  return zones;
}

}  // namespace halflight::codes
