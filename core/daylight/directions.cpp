#include "daylight/directions.hpp"

#include "base/random.hpp"
#include "base/units.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::daylight {

Compass::Compass(double plan_north_deg)
    : c_(std::cos(plan_north_deg * kRadPerDeg)), s_(std::sin(plan_north_deg * kRadPerDeg)) {}

Outside::Outside(const climate::SkyDivision& sky, Compass compass,
                 const std::vector<domain::Obstruction>& obstructions, double storey_elevation_m)
    : sky_(&sky), compass_(compass) {
  std::vector<Point3> vertices;
  std::vector<SceneTriangle> triangles;
  KeyBuilder key;
  for (const domain::Obstruction& o : obstructions) {
    const double z0 = o.bottom_m - storey_elevation_m;
    const double z1 = o.top_m - storey_elevation_m;
    Polygon plan;
    for (const auto& p : o.plan_m) plan.push_back({p[0], p[1]});
    const auto base = static_cast<std::uint32_t>(vertices.size());
    const auto n = static_cast<std::uint32_t>(plan.size());
    for (const Point2 p : plan) vertices.push_back({p.x, p.y, z0});
    for (const Point2 p : plan) vertices.push_back({p.x, p.y, z1});
    for (std::uint32_t i = 0; i < n; ++i) {
      const std::uint32_t j = (i + 1) % n;
      triangles.push_back({{base + i, base + j, base + n + j}, 0});
      triangles.push_back({{base + i, base + n + j, base + n + i}, 0});
    }
    for (const TriangleIndices& t : triangulate(plan))
      triangles.push_back({{base + n + t[0], base + n + t[1], base + n + t[2]}, 0});
    reflectance_ += o.reflectance / static_cast<double>(obstructions.size());
    key.add(z0).add(z1);
    for (const Point2 p : plan) key.add(p.x).add(p.y);
  }
  if (!triangles.empty()) scene_ = std::make_shared<const RayScene>(vertices, triangles);
  obstructions_key_ = key.key();
}

std::uint32_t Outside::open_sky(Vector3 direction) const {
  if (direction.z <= 0.0) return static_cast<std::uint32_t>(ground_bin());
  return static_cast<std::uint32_t>(sky_->patch_of(compass_.world_from_plan(direction)));
}

void Outside::look(std::span<const Ray> rays, std::span<std::uint32_t> bins) const {
  std::vector<Hit> hits;
  if (scene_ != nullptr) {
    hits.resize(rays.size());
    scene_->intersect(rays, hits);
  }
  for (std::size_t i = 0; i < rays.size(); ++i) {
    const bool blocked = scene_ != nullptr && hits[i].surface != Hit::kNone;
    bins[i] = blocked ? static_cast<std::uint32_t>(obstruction_bin()) : open_sky(rays[i].direction);
  }
}

void Outside::add_to_key(KeyBuilder& key) const {
  const Vector3 north = compass_.world_from_plan({0, 1, 0});
  key.add(sky_->size()).add(north.x).add(north.y).add(obstructions_key_);
}

namespace {

/// Equal-area points on an opening: rectangles directly, other outlines by rejection in their bounding box.
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

void add_direct_coefficients(const Enclosure& room, const Outside& outside,
                             std::span<const WindowGroup> groups, std::span<const Target> targets,
                             int samples, std::uint32_t scramble, std::span<float> row) {
  const std::size_t bins = outside.bin_count();
  std::vector<Point3> points;
  std::vector<Segment> segments;
  std::vector<Ray> rays;
  std::vector<double> weights;
  std::vector<std::uint8_t> hidden;
  std::vector<std::uint32_t> seen;
  std::vector<double> sum(row.begin(), row.end());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const Vector3 outward = groups[g].outward;
    for (const std::int32_t opening : groups[g].openings) {
      const Surface& surface = room.surfaces()[room.opening_surface(opening)];
      if (surface.area_m2 <= 0.0) continue;
      segments.clear();
      rays.clear();
      weights.clear();
      for (std::size_t t = 0; t < targets.size(); ++t) {
        const Target& target = targets[t];
        const double away = dot(surface.corner - target.at, outward);
        if (away <= 1e-6) continue;  // in the opening's own plane
        // Parts no longer than a third of the distance to the plane keep the solid angle of a part within a
        // few per cent of its centre's, and the stratification averages what is left.
        const auto wanted = static_cast<std::size_t>(9.0 * surface.area_m2 / (away * away));
        const std::size_t count =
            std::clamp(wanted, static_cast<std::size_t>(samples),
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
          rays.push_back({q + 1e-3 * outward, d});
          weights.push_back(target.weight * response * cos_target * cos_opening * surface.area_m2 /
                            (static_cast<double>(points.size()) * r * r));
        }
      }
      hidden.assign(segments.size(), 0);
      room.occluded(segments, hidden);
      seen.assign(rays.size(), 0);
      outside.look(rays, seen);
      for (std::size_t i = 0; i < rays.size(); ++i)
        if (hidden[i] == 0) sum[g * bins + seen[i]] += weights[i];
    }
  }
  for (std::size_t i = 0; i < row.size(); ++i) row[i] = static_cast<float>(sum[i]);
}

std::vector<float> incident_coefficients(const Enclosure& room, const Outside& outside,
                                         const WindowGroup& group, int samples) {
  std::vector<double> sum(outside.bin_count(), 0.0);
  const Frame frame = frame_about(group.outward);
  std::vector<Ray> rays;
  std::vector<std::uint32_t> seen;
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
    seen.assign(rays.size(), 0);
    outside.look(rays, seen);
    for (std::size_t i = 0; i < rays.size(); ++i)
      sum[seen[i]] += surface.area_m2 * kPi / static_cast<double>(rays.size());
    area += surface.area_m2;
  }
  std::vector<float> mean(sum.size());
  for (std::size_t i = 0; i < sum.size(); ++i) mean[i] = static_cast<float>(area > 0.0 ? sum[i] / area : 0.0);
  return mean;
}

}  // namespace halflight::daylight
