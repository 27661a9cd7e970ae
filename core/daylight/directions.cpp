#include "daylight/directions.hpp"

#include "base/random.hpp"
#include "base/units.hpp"

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
      triangles.push_back({{base + i, base + j, base + n + j}, side});
      triangles.push_back({{base + i, base + n + j, base + n + i}, side});
    }
    for (const TriangleIndices& t : triangulate(solid.plan)) {
      triangles.push_back({{base + n + t[0], base + n + t[1], base + n + t[2]}, surface(kUp)});
      triangles.push_back({{base + t[0], base + t[1], base + t[2]}, surface(kDown)});
    }
    reflectance_.push_back(static_cast<float>(solid.reflectance));
    key.add(solid.bottom_m).add(solid.top_m).add(solid.reflectance).add(solid.plan.size());
    for (const Point2 p : solid.plan) key.add(p.x).add(p.y);
  }
  if (!triangles.empty()) scene_ = std::make_shared<const RayScene>(vertices, triangles);
  solids_key_ = key.key();
}

void Outside::look(std::span<const Ray> rays, std::span<Seen> seen) const {
  std::vector<Hit> hits;
  if (scene_ != nullptr) {
    hits.resize(rays.size());
    scene_->intersect(rays, hits);
  }
  for (std::size_t i = 0; i < rays.size(); ++i) {
    const Vector3 direction = rays[i].direction;
    if (scene_ != nullptr && hits[i].surface != Hit::kNone)
      seen[i] = {static_cast<std::uint32_t>(face_bin(hits[i].surface % kFaces)),
                 reflectance_[hits[i].surface / kFaces], true};
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

/// Rectangles directly, other outlines by rejection in their bounding box.
void opening_points(const Surface& surface, std::uint32_t scramble, std::size_t count,
                    std::vector<Point3>& out) {
  Box2 box{{1e30, 1e30}, {-1e30, -1e30}};
  for (const PolygonWithHoles& piece : surface.region) {
    const Box2 b = bounds(piece.outline);
    box.low = {std::min(box.low.x, b.low.x), std::min(box.low.y, b.low.y)};
    box.high = {std::max(box.high.x, b.high.x), std::max(box.high.y, b.high.y)};
  }
  out.clear();
  const double box_area = (box.high.x - box.low.x) * (box.high.y - box.low.y);
  const bool is_rectangle = std::abs(box_area - surface.area_m2) < 1e-9 * box_area;
  for (std::uint32_t i = 0; out.size() < count && i < 64 * count; ++i) {
    const Point2 uv{box.low.x + sobol(i, 0, scramble) * (box.high.x - box.low.x),
                    box.low.y + sobol(i, 1, scramble) * (box.high.y - box.low.y)};
    if (!is_rectangle && !contains(surface.region, uv)) continue;
    out.push_back(surface.corner + uv.x * surface.frame.x + uv.y * surface.frame.y);
  }
}

}  // namespace

std::vector<Point3> points_on_opening(const Surface& opening, std::uint32_t scramble, std::size_t count) {
  std::vector<Point3> points;
  opening_points(opening, scramble, count, points);
  return points;
}

namespace {

/// Rays from samples of an opening on to what lies behind it, each with its share in the reading of targets.
struct OpeningView {
  std::vector<Ray> rays;
  std::vector<double> weights;  // 0 for what the room hides
};

void view_through(const Enclosure& room, std::int32_t opening, Vector3 outward,
                  std::span<const Target> targets, int samples, std::uint32_t scramble, OpeningView& view) {
  const Surface& surface = room.surfaces()[room.opening_surface(opening)];
  std::vector<Point3> points;
  std::vector<Segment> segments;
  view.rays.clear();
  view.weights.clear();
  if (surface.area_m2 <= 0.0) return;
  for (std::size_t t = 0; t < targets.size(); ++t) {
    const Target& target = targets[t];
    const double away = dot(surface.corner - target.at, outward);
    if (away <= 1e-6) continue;  // in the opening's own plane
    // Parts no longer than a third of the distance to the plane keep the solid angle of a part within a
    // few per cent of its centre's, and the stratification averages what is left.
    const auto wanted = static_cast<std::size_t>(9.0 * surface.area_m2 / (away * away));
    const std::size_t count = std::clamp(wanted, static_cast<std::size_t>(samples),
                                         static_cast<std::size_t>(32) * static_cast<std::size_t>(samples));
    opening_points(surface,
                   scramble + static_cast<std::uint32_t>(t) * 0x9e3779b9U +
                       static_cast<std::uint32_t>(opening) * 0x85ebca6bU,
                   count, points);
    for (const Point3 q : points) {
      const Vector3 to = q - target.at;
      const double r = length(to);
      const Vector3 d = (1.0 / r) * to;
      const double cos_target = dot(d, target.facing);
      const double cos_opening = dot(d, outward);
      if (cos_target <= 0.0 || cos_opening <= 0.0) continue;
      const double response = target.response == nullptr ? 1.0 : target.response(cos_target, target.of);
      if (response <= 0.0) continue;
      segments.push_back({target.at, q});
      view.rays.push_back({q + 1e-3 * outward, d});
      view.weights.push_back(target.weight * response * cos_target * cos_opening * surface.area_m2 /
                             (static_cast<double>(points.size()) * r * r));
    }
  }
  std::vector<std::uint8_t> hidden(segments.size(), 0);
  room.occluded(segments, hidden);
  for (std::size_t i = 0; i < segments.size(); ++i)
    if (hidden[i] != 0) view.weights[i] = 0.0;
}

bool rises(const Ray& ray) { return ray.direction.z <= 0.0; }

}  // namespace

void add_direct_coefficients(const Enclosure& room, const Outside& outside,
                             std::span<const WindowGroup> groups, std::span<const Target> targets,
                             int samples, std::uint32_t scramble, std::span<float> row) {
  const std::size_t bins = outside.bin_count();
  OpeningView view;
  std::vector<Outside::Seen> seen;
  std::vector<double> sum(row.begin(), row.end());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    for (const std::int32_t opening : groups[g].openings) {
      view_through(room, opening, groups[g].outward, targets, samples, scramble, view);
      seen.resize(view.rays.size());
      outside.look(view.rays, seen);
      for (std::size_t i = 0; i < view.rays.size(); ++i) {
        sum[g * bins + seen[i].bin] += seen[i].reflectance * view.weights[i];
        sum[g * bins + (rises(view.rays[i]) ? outside.rising_bin() : outside.descending_bin())] +=
            view.weights[i];
      }
    }
  }
  for (std::size_t i = 0; i < row.size(); ++i) row[i] = static_cast<float>(sum[i]);
}

EvenLobes even_lobes(const Enclosure& room, std::int32_t opening, std::span<const Target> targets,
                     int samples, std::uint32_t scramble) {
  const Vector3 outward = -room.surfaces()[room.opening_surface(opening)].frame.z;
  OpeningView view;
  view_through(room, opening, outward, targets, samples, scramble, view);
  EvenLobes lobes;
  for (std::size_t i = 0; i < view.rays.size(); ++i)
    (rises(view.rays[i]) ? lobes.rising : lobes.descending) += view.weights[i];
  return lobes;
}

std::vector<float> incident_coefficients(const Enclosure& room, const Outside& outside,
                                         const WindowGroup& group, int samples) {
  std::vector<double> sum(outside.bin_count(), 0.0);
  const Frame frame = frame_about(group.outward);
  std::vector<Ray> rays;
  std::vector<Outside::Seen> seen;
  double area = 0.0;
  for (const std::int32_t opening : group.openings) {
    const Surface& surface = room.surfaces()[room.opening_surface(opening)];
    std::vector<Point3> points;
    opening_points(surface, 0x51edU + static_cast<std::uint32_t>(opening), static_cast<std::size_t>(samples),
                   points);
    rays.clear();
    for (std::uint32_t i = 0; i < points.size(); ++i) {
      // Cosine-distributed directions: each carries pi / n of illuminance per unit luminance.
      const double radius = std::sqrt(sobol(i, 2, 0x0d1cU));
      const double angle = 2.0 * kPi * sobol(i, 3, 0x0d1cU);
      const double x = radius * std::cos(angle);
      const double y = radius * std::sin(angle);
      const double z = std::sqrt(std::max(0.0, 1.0 - x * x - y * y));
      rays.push_back({points[i] + 1e-3 * group.outward, x * frame.x + y * frame.y + z * frame.z});
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
