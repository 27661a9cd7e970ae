// Enclosure::trace and occluded beside the ray library by itself: the same triangles, rays and packets.
#include "geometry/low_discrepancy.hpp"
#include "lightresponse/scene.hpp"
#include "measure.hpp"
#include "office.hpp"
#include "parts.hpp"
#include "sim/lit_space.hpp"
#include "transport/gather.hpp"

#include <cmath>
#include <stdexcept>
#include <vector>

#include <embree3/rtcore.h>
#include <immintrin.h>

namespace halflight::bench {

namespace {

constexpr std::size_t kPoints = 64;
constexpr std::size_t kRaysEach = 512;
constexpr std::size_t kRays = kPoints * kRaysEach;

/// The room's box and its furniture, as core/geometry/enclosure.cpp gives them to the ray library.
struct BareScene {
  RTCDevice device = rtcNewDevice("max_isa=avx2");
  RTCScene scene = rtcNewScene(device);
  Point3 middle;

  explicit BareScene(const EnclosureShape& shape) {
    std::vector<Point3> vertices;
    std::vector<std::array<std::uint32_t, 3>> triangles;
    const auto add_box = [&](const Polygon& plan, double low, double high) {
      const auto base = static_cast<std::uint32_t>(vertices.size());
      const auto n = static_cast<std::uint32_t>(plan.size());
      for (const Point2 p : plan) vertices.push_back({p.x, p.y, low});
      for (const Point2 p : plan) vertices.push_back({p.x, p.y, high});
      for (const auto& [a, b, c] : triangulate(plan)) {
        triangles.push_back({base + a, base + b, base + c});
        triangles.push_back({base + n + a, base + n + b, base + n + c});
      }
      for (std::uint32_t i = 0; i < n; ++i) {
        const std::uint32_t k = (i + 1) % n;
        triangles.push_back({base + i, base + k, base + n + k});
        triangles.push_back({base + i, base + n + k, base + n + i});
      }
    };
    add_box(shape.floor, shape.floor_z_m, shape.floor_z_m + shape.height_m);
    for (const Prism& p : shape.prisms) add_box(p.plan, p.bottom_z_m, p.top_z_m);
    Point3 low = vertices.front();
    Point3 high = low;
    for (const Point3 p : vertices) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
    }
    middle = low + 0.5 * (high - low);
    rtcSetSceneFlags(scene, RTC_SCENE_FLAG_ROBUST);
    rtcSetSceneBuildQuality(scene, RTC_BUILD_QUALITY_HIGH);
    RTCGeometry mesh = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
    auto* position = static_cast<float*>(rtcSetNewGeometryBuffer(
        mesh, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float), vertices.size()));
    for (const Point3 p : vertices) {
      *position++ = static_cast<float>(p.x - middle.x);
      *position++ = static_cast<float>(p.y - middle.y);
      *position++ = static_cast<float>(p.z - middle.z);
    }
    auto* index = static_cast<std::uint32_t*>(rtcSetNewGeometryBuffer(
        mesh, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 3 * sizeof(std::uint32_t), triangles.size()));
    for (const auto& triangle : triangles)
      for (const std::uint32_t v : triangle) *index++ = v;
    rtcCommitGeometry(mesh);
    rtcAttachGeometry(scene, mesh);
    rtcReleaseGeometry(mesh);
    rtcCommitScene(scene);
  }
  ~BareScene() {
    rtcReleaseScene(scene);
    rtcReleaseDevice(device);
  }
  BareScene(const BareScene&) = delete;
  BareScene& operator=(const BareScene&) = delete;

  void set(RTCRay8& packet, std::size_t lane, Point3 from, Vector3 direction, float reach) const {
    packet.org_x[lane] = static_cast<float>(from.x - middle.x);
    packet.org_y[lane] = static_cast<float>(from.y - middle.y);
    packet.org_z[lane] = static_cast<float>(from.z - middle.z);
    packet.dir_x[lane] = static_cast<float>(direction.x);
    packet.dir_y[lane] = static_cast<float>(direction.y);
    packet.dir_z[lane] = static_cast<float>(direction.z);
    packet.tnear[lane] = 0.0F;
    packet.tfar[lane] = reach;
    packet.time[lane] = 0.0F;
    packet.mask[lane] = 0xffffffffU;
    packet.id[lane] = 0;
    packet.flags[lane] = 0;
  }
};

struct Denormals {
  unsigned before = _mm_getcsr();
  Denormals() { _mm_setcsr(before | 0x8040U); }
  ~Denormals() { _mm_setcsr(before); }
  Denormals(const Denormals&) = delete;
  Denormals& operator=(const Denormals&) = delete;
};

}  // namespace

void rays() {
  heading("Rays: a furnished room of 80 m2, one thread, against the ray library alone");
  const Office office(10, 8);
  const auto scene =
      lightresponse::make_scene(office.project(), 0, {}, sim::light_options(sim::Accuracy::design)).value();
  const Enclosure& room = scene.enclosure;
  const BareScene bare(room.shape());

  std::vector<Point3> points;
  for (std::size_t i = 0; points.size() < kPoints; ++i) {
    const Point3 p{0.5 + static_cast<double>(i % 10) * 0.97, 0.5 + static_cast<double>(i / 10) * 0.83, 0.8};
    const ObservationOrigin origin = room.observation_origin(p, {0, 0, 1});
    if (origin.state == ObservationOrigin::State::clear) points.push_back(origin.position);
  }
  // As gathering makes them, point by point.
  const auto rays_from = [&](std::size_t p) {
    const GatherPoint point{points[p], {0, 0, 1}, {}, static_cast<std::uint32_t>(p)};
    return gather_rays(room, point, points[p], kRaysEach);
  };
  std::vector<Rays> rays;
  for (std::size_t p = 0; p < kPoints; ++p) rays.push_back(rays_from(p));
  std::vector<SurfaceHit> hits(kRays);
  std::vector<RTCRayHit8> packets(kRays / 8);
  for (std::size_t i = 0; i < kRays; ++i) {
    RTCRayHit8& packet = packets[i / 8];
    const Rays& made = rays[i / kRaysEach];
    bare.set(packet.ray, i % 8, made.at(i % kRaysEach, 0.0), made.direction(i % kRaysEach),
             std::numeric_limits<float>::infinity());
    packet.hit.geomID[i % 8] = RTC_INVALID_GEOMETRY_ID;
    packet.hit.primID[i % 8] = RTC_INVALID_GEOMETRY_ID;
    packet.hit.instID[0][i % 8] = RTC_INVALID_GEOMETRY_ID;
  }
  std::vector<float> reach(kRays);
  alignas(32) const std::array<int, 8> all{-1, -1, -1, -1, -1, -1, -1, -1};
  const auto alone = [&] {
    const Denormals mode;
    RTCIntersectContext context;
    rtcInitIntersectContext(&context);
    for (std::size_t p = 0; p < packets.size(); ++p) {
      alignas(32) RTCRayHit8 packet = packets[p];
      rtcIntersect8(all.data(), bare.scene, &context, &packet);
      for (std::size_t lane = 0; lane < 8; ++lane) reach[p * 8 + lane] = packet.ray.tfar[lane];
    }
    use(reach.data());
  };
  const auto hits_of = [&](std::size_t p) { return std::span(hits).subspan(p * kRaysEach, kRaysEach); };
  const auto traced = [&] {
    for (std::size_t p = 0; p < kPoints; ++p) room.trace(rays[p], hits_of(p));
    use(hits.data());
  };
  const auto made_and_traced = [&] {
    for (std::size_t p = 0; p < kPoints; ++p) room.trace(rays_from(p), hits_of(p));
    use(hits.data());
  };
  alone();
  traced();
  for (std::size_t i = 0; i < kRays; ++i)
    if (hits[i].patch == SurfaceHit::kNone || std::abs(hits[i].distance_m - reach[i]) > 1e-4F)
      throw std::logic_error("the two scenes differ");
  const std::vector<double> t = interleaved({alone, traced, made_and_traced}, 60);
  print({"the ray library, a million rays a second", kRays / t[0] / 1e6, "M/s"});
  print({"Enclosure::trace / the ray library", t[1] / t[0], "", 1.15});
  print({"making the rays and tracing them / the ray library", t[2] / t[0], "", 1.25});

  // Segments from each point to places under the ceiling.
  Rays segments(room.middle());
  std::vector<RTCRay8> segment_packets(kRays / 8);
  for (std::size_t i = 0; i < kRays; ++i) {
    const SampleStream stream(7, static_cast<std::uint32_t>(i / 4096));
    const auto k = static_cast<std::uint32_t>(i % 4096);
    const Point3 from = points[i / kRaysEach];
    const Vector3 whole = Point3{0.1 + 9.8 * stream(k, 0), 0.1 + 7.8 * stream(k, 1), 2.9} - from;
    segments.add(from, whole);
    bare.set(segment_packets[i / 8], i % 8, from, (1.0 / length(whole)) * whole,
             static_cast<float>(length(whole)));
  }
  std::vector<std::uint8_t> hidden(kRays);
  const auto segments_alone = [&] {
    const Denormals mode;
    RTCIntersectContext context;
    rtcInitIntersectContext(&context);
    for (std::size_t p = 0; p < segment_packets.size(); ++p) {
      alignas(32) RTCRay8 packet = segment_packets[p];
      rtcOccluded8(all.data(), bare.scene, &context, &packet);
      for (std::size_t lane = 0; lane < 8; ++lane) hidden[p * 8 + lane] = packet.tfar[lane] < 0.0F ? 1 : 0;
    }
    use(hidden.data());
  };
  const auto occluded = [&] {
    room.occluded(segments, hidden);
    use(hidden.data());
  };
  const std::vector<double> s = interleaved({segments_alone, occluded}, 60);
  print({"the ray library, a million segments a second", kRays / s[0] / 1e6, "M/s"});
  print({"Enclosure::occluded / the ray library", s[1] / s[0], "", 1.15});
}

}  // namespace halflight::bench
