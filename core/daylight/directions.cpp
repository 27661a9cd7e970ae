#include "daylight/directions.hpp"

#include "base/random.hpp"
#include "base/units.hpp"
#include "geometry/configuration_factor.hpp"
#include "geometry/spherical_rectangle.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::daylight {

Compass::Compass(double plan_north_deg)
    : c_(std::cos(plan_north_deg * kRadPerDeg)), s_(std::sin(plan_north_deg * kRadPerDeg)) {}

std::vector<OutsideSolid> solids_of(const std::vector<domain::Obstruction>& obstructions,
                                    double storey_elevation_m) {
  std::vector<OutsideSolid> solids;
  for (const domain::Obstruction& o : obstructions) {
    OutsideSolid solid{{}, o.bottom_m - storey_elevation_m, o.top_m - storey_elevation_m, o.reflectance};
    for (const auto& p : o.plan_m) solid.plan.push_back({p[0], p[1]});
    solids.push_back(std::move(solid));
  }
  return solids;
}

void add_surrounds(const domain::Space& space, std::vector<OutsideSolid>& solids) {
  constexpr double thickness_m = 0.02;
  for (const domain::Opening& o : space.openings) {
    if (o.kind != domain::Opening::Kind::window) continue;
    const auto first = static_cast<std::size_t>(o.wall);
    const Point2 corner = space.floor[first];
    const Vector2 wall = space.floor[(first + 1) % space.floor.size()] - corner;
    const Vector2 along = (1.0 / length(wall)) * wall;
    const Vector2 outward{along.y, -along.x};  // the floor is counter-clockwise
    const double left = o.offset_m;
    const double right = o.offset_m + o.width_m;
    const double head = o.sill_m + o.height_m;
    const auto add = [&](double from, double to, double reach, double bottom, double top) {
      const auto at = [&](double u, double w) { return corner + u * along + w * outward; };
      solids.push_back({{at(from, reach), at(from, 0.0), at(to, 0.0), at(to, reach)},
                        bottom,
                        top,
                        o.surround_reflectance});
      // Counter-clockwise as seen from above: outward lies to the right of the wall's direction.
      std::reverse(solids.back().plan.begin(), solids.back().plan.end());
    };
    if (o.reveal_m > 0.0) {
      add(left - thickness_m, right + thickness_m, o.reveal_m, head, head + thickness_m);
      add(left - thickness_m, right + thickness_m, o.reveal_m, o.sill_m - thickness_m, o.sill_m);
      add(left - thickness_m, left, o.reveal_m, o.sill_m, head);
      add(right, right + thickness_m, o.reveal_m, o.sill_m, head);
    }
    if (o.overhang_m > 0.0)
      add(left - o.overhang_beyond_m, right + o.overhang_beyond_m, o.overhang_m, head + o.overhang_above_m,
          head + o.overhang_above_m + thickness_m);
    if (o.fins_m > 0.0) {
      add(left - thickness_m, left, o.fins_m, o.sill_m, head);
      add(right, right + thickness_m, o.fins_m, o.sill_m, head);
    }
  }
}

namespace {

constexpr std::size_t kSectors = 8;
constexpr std::size_t kUp = kSectors;
constexpr std::size_t kDown = kSectors + 1;

std::size_t sector_of(Vector2 normal) {
  const double turns = std::atan2(normal.y, normal.x) / (2.0 * kPi);
  return static_cast<std::size_t>(std::floor((turns + 1.0) * kSectors + 0.5)) % kSectors;
}

}  // namespace

Vector3 Outside::face_normal(std::size_t face) {
  if (face == kUp) return {0.0, 0.0, 1.0};
  if (face == kDown) return {0.0, 0.0, -1.0};
  const double angle = 2.0 * kPi * static_cast<double>(face) / kSectors;
  return {std::cos(angle), std::sin(angle), 0.0};
}

Outside::Outside(const climate::SkyDivision& sky, Compass compass, std::span<const OutsideSolid> solids)
    : sky_(&sky), compass_(compass) {
  std::vector<Point3> vertices;
  std::vector<SceneTriangle> triangles;
  const auto add = [&](const SceneTriangle& triangle, std::uint32_t surface) {
    triangles.push_back(triangle);
    surface_of_.push_back(surface);
  };
  KeyBuilder key;
  for (const OutsideSolid& solid : solids) {
    const auto surface = [&](std::size_t face) {
      return static_cast<std::uint32_t>(reflectance_.size() * kFaces + face);
    };
    const auto base = static_cast<std::uint32_t>(vertices.size());
    const auto n = static_cast<std::uint32_t>(solid.plan.size());
    for (const Point2 p : solid.plan) vertices.push_back({p.x, p.y, solid.bottom_m});
    for (const Point2 p : solid.plan) vertices.push_back({p.x, p.y, solid.top_m});
    for (std::uint32_t i = 0; i < n; ++i) {
      const std::uint32_t j = (i + 1) % n;
      const Vector2 edge = solid.plan[j] - solid.plan[i];
      const std::uint32_t side = surface(sector_of({edge.y, -edge.x}));
      add({base + i, base + j, base + n + j}, side);
      add({base + i, base + n + j, base + n + i}, side);
    }
    for (const TriangleIndices& t : triangulate(solid.plan)) {
      add({base + n + t[0], base + n + t[1], base + n + t[2]}, surface(kUp));
      add({base + t[0], base + t[1], base + t[2]}, surface(kDown));
    }
    reflectance_.push_back(static_cast<float>(solid.reflectance));
    key.add(solid.bottom_m).add(solid.top_m).add(solid.reflectance).add(solid.plan.size());
    for (const Point2 p : solid.plan) key.add(p.x).add(p.y);
  }
  if (!triangles.empty()) scene_ = std::make_shared<const RayScene>(vertices, triangles);
  solids_key_ = key.key();
}

void Outside::look(const Rays& rays, std::span<Seen> seen) const {
  std::vector<HitBlock> hits;
  if (scene_ != nullptr) {
    hits.resize(rays.blocks().size());
    scene_->intersect(rays.about(), rays.blocks(), hits);
  }
  for (std::size_t i = 0; i < rays.size(); ++i) {
    const Vector3 direction = rays.direction(i);
    const std::uint32_t triangle =
        scene_ == nullptr ? HitBlock::kNone : hits[i / kLanes].triangle[i % kLanes];
    if (triangle != HitBlock::kNone)
      seen[i] = {static_cast<std::uint32_t>(face_bin(surface_of_[triangle] % kFaces)),
                 reflectance_[surface_of_[triangle] / kFaces], true};
    else if (direction.z <= 0.0)
      seen[i] = {static_cast<std::uint32_t>(ground_bin()), 1.0F, false};
    else
      seen[i] = {static_cast<std::uint32_t>(sky_->patch_of(compass_.world_from_plan(direction))), 1.0F,
                 false};
  }
}

void Outside::add_to_key(KeyBuilder& key) const {
  const Vector3 north = compass_.world_from_plan({0, 1, 0});
  key.add(sky_->size()).add(north.x).add(north.y).add(solids_key_);
}

namespace {

/// pi times this is the illuminance at a target per luminance of a bare opening that nothing hides.
double factor_of(const Surface& opening, Point3 at, Vector3 facing) {
  std::vector<Point3> corners;
  const auto of = [&](const Polygon& outline) {
    corners.clear();
    for (const Point2 p : outline)
      corners.push_back(opening.corner + p.x * opening.frame.x + p.y * opening.frame.y);
    return std::abs(configuration_factor(at, facing, corners));
  };
  double factor = 0.0;
  for (const PolygonWithHoles& piece : opening.region) {
    factor += of(piece.outline);
    for (const Polygon& hole : piece.holes) factor -= of(hole);
  }
  return factor;
}

/// An opening within its bounding rectangle: places outside its outline are rejected.
class Outline {
 public:
  explicit Outline(const Surface& surface)
      : surface_(surface), box_(surface.region.empty() ? Box2{} : bounds(surface.region)) {
    const Vector2 size = box_.high - box_.low;
    is_rectangle_ = std::abs(size.x * size.y - surface.area_m2) < 1e-9 * size.x * size.y;
  }
  /// Evenly by area.
  void points(std::uint32_t scramble, std::size_t count, std::vector<Point3>& out) const {
    const Vector2 size = box_.high - box_.low;
    out.clear();
    for (std::uint32_t i = 0; out.size() < count && i < 64 * count; ++i) {
      const Point2 uv{box_.low.x + sobol(i, 0, scramble) * size.x,
                      box_.low.y + sobol(i, 1, scramble) * size.y};
      if (holds(uv)) out.push_back(place(uv));
    }
  }
  [[nodiscard]] SphericalRectangle seen_from(Point3 at) const {
    const Vector2 size = box_.high - box_.low;
    return {at, place(box_.low), surface_.frame, size.x, size.y};
  }
  /// Evenly by solid angle: `count` tries, of which those off the outline are left out.
  void points(const SphericalRectangle& seen, std::uint32_t scramble, std::size_t count,
              std::vector<Point3>& out) const {
    out.clear();
    for (std::uint32_t i = 0; i < count; ++i) {
      const Point2 uv = box_.low + (seen.at(sobol(i, 0, scramble), sobol(i, 1, scramble)) - Point2{});
      if (holds(uv)) out.push_back(place(uv));
    }
  }

 private:
  [[nodiscard]] bool holds(Point2 uv) const { return is_rectangle_ || contains(surface_.region, uv); }
  [[nodiscard]] Point3 place(Point2 uv) const {
    return surface_.corner + uv.x * surface_.frame.x + uv.y * surface_.frame.y;
  }

  const Surface& surface_;
  Box2 box_;
  bool is_rectangle_ = false;
};

}  // namespace

std::vector<Point3> points_on_opening(const Surface& opening, std::uint32_t scramble, std::size_t count) {
  std::vector<Point3> points;
  Outline(opening).points(scramble, count, points);
  return points;
}

namespace {

/// Rays from samples of an opening on to what lies behind it, each with its share in the reading of targets.
struct OpeningView {
  Rays rays;
  std::vector<double> weights;  // 0 for what the room hides
};

void view_through(const Enclosure& room, std::int32_t opening, Vector3 outward,
                  std::span<const Target> targets, int samples, std::uint32_t scramble, OpeningView& view) {
  constexpr double kMorePerSteradian = 4.0;
  const Surface& surface = room.surfaces()[room.opening_surface(opening)];
  const Outline outline(surface);
  std::vector<Point3> points;
  Rays paths(room.middle());
  view.rays.clear();
  view.weights.clear();
  if (surface.area_m2 <= 0.0) return;
  for (std::size_t t = 0; t < targets.size(); ++t) {
    const Target& target = targets[t];
    const double away = dot(surface.corner - target.at, outward);
    if (away <= 1e-6) continue;  // in the opening's own plane
    const SphericalRectangle from_here = outline.seen_from(target.at);
    // The more directions lead through the opening, the more differ outside.
    const double solid_angle = from_here.solid_angle_sr();
    const auto count =
        static_cast<std::size_t>(samples) * (1 + static_cast<std::size_t>(kMorePerSteradian * solid_angle));
    outline.points(from_here,
                   scramble + static_cast<std::uint32_t>(t) * 0x9e3779b9U +
                       static_cast<std::uint32_t>(opening) * 0x85ebca6bU,
                   count, points);
    const std::size_t first = view.weights.size();
    double sampled = 0.0;
    for (const Point3 q : points) {
      const Vector3 d = normalized(q - target.at);
      const double cos_target = dot(d, target.facing);
      if (cos_target <= 0.0) continue;
      const double each = cos_target * solid_angle / static_cast<double>(count);
      sampled += each;
      const double response = target.response == nullptr ? 1.0 : target.response(cos_target, target.of);
      if (response <= 0.0) continue;
      paths.add(target.at, q - target.at);
      view.rays.add(q + 1e-3 * outward, d);
      view.weights.push_back(target.weight * response * each);
    }
    // What the points make of the whole opening is known exactly; the same ratio mends its parts.
    if (sampled <= 0.0) continue;
    const double exactly = kPi * factor_of(surface, target.at, target.facing) / sampled;
    for (std::size_t i = first; i < view.weights.size(); ++i) view.weights[i] *= exactly;
  }
  std::vector<std::uint8_t> hidden(paths.size());
  room.occluded(paths, hidden);
  for (std::size_t i = 0; i < hidden.size(); ++i)
    if (hidden[i] != 0) view.weights[i] = 0.0;
}

bool rises(Vector3 direction) { return direction.z <= 0.0; }

}  // namespace

void add_direct_coefficients(const Enclosure& room, const Outside& outside,
                             std::span<const WindowGroup> groups, std::span<const Target> targets,
                             int samples, std::uint32_t scramble, std::span<float> row) {
  const std::size_t bins = outside.bin_count();
  OpeningView view{Rays(room.middle()), {}};
  std::vector<Outside::Seen> seen;
  std::vector<double> sum(row.begin(), row.end());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    for (const std::int32_t opening : groups[g].openings) {
      view_through(room, opening, groups[g].outward, targets, samples, scramble, view);
      seen.resize(view.rays.size());
      outside.look(view.rays, seen);
      for (std::size_t i = 0; i < view.rays.size(); ++i) {
        sum[g * bins + seen[i].bin] += seen[i].reflectance * view.weights[i];
        sum[g * bins + (rises(view.rays.direction(i)) ? outside.rising_bin() : outside.descending_bin())] +=
            view.weights[i];
      }
    }
  }
  for (std::size_t i = 0; i < row.size(); ++i) row[i] = static_cast<float>(sum[i]);
}

EvenLobes even_lobes(const Enclosure& room, std::int32_t opening, std::span<const Target> targets,
                     int samples, std::uint32_t scramble) {
  const Vector3 outward = -room.surfaces()[room.opening_surface(opening)].frame.z;
  OpeningView view{Rays(room.middle()), {}};
  view_through(room, opening, outward, targets, samples, scramble, view);
  EvenLobes lobes;
  for (std::size_t i = 0; i < view.rays.size(); ++i)
    (rises(view.rays.direction(i)) ? lobes.rising : lobes.descending) += view.weights[i];
  return lobes;
}

std::vector<float> incident_coefficients(const Enclosure& room, const Outside& outside,
                                         const WindowGroup& group, int samples) {
  std::vector<double> sum(outside.bin_count(), 0.0);
  const Frame frame = frame_about(group.outward);
  Rays rays(room.middle());
  std::vector<Outside::Seen> seen;
  double area = 0.0;
  for (const std::int32_t opening : group.openings) {
    const Surface& surface = room.surfaces()[room.opening_surface(opening)];
    std::vector<Point3> points;
    Outline(surface).points(0x51edU + static_cast<std::uint32_t>(opening), static_cast<std::size_t>(samples),
                            points);
    rays.clear();
    for (std::uint32_t i = 0; i < points.size(); ++i) {
      // Cosine-distributed directions: each carries pi / n of illuminance per unit luminance.
      const double radius = std::sqrt(sobol(i, 2, 0x0d1cU));
      const double angle = 2.0 * kPi * sobol(i, 3, 0x0d1cU);
      const double x = radius * std::cos(angle);
      const double y = radius * std::sin(angle);
      const double z = std::sqrt(std::max(0.0, 1.0 - x * x - y * y));
      rays.add(points[i] + 1e-3 * group.outward, x * frame.x + y * frame.y + z * frame.z);
    }
    seen.resize(rays.size());
    outside.look(rays, seen);
    for (std::size_t i = 0; i < rays.size(); ++i)
      sum[seen[i].bin] += seen[i].reflectance * surface.area_m2 * kPi / static_cast<double>(rays.size());
    area += surface.area_m2;
  }
  std::vector<float> mean(sum.size());
  for (std::size_t i = 0; i < sum.size(); ++i) mean[i] = static_cast<float>(area > 0.0 ? sum[i] / area : 0.0);
  return mean;
}

}  // namespace halflight::daylight
