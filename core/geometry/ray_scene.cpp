#include "geometry/ray_scene.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <stdexcept>

#include <embree3/rtcore.h>
#include <immintrin.h>
#include <tbb/global_control.h>

namespace halflight {

namespace {

constexpr std::size_t kPacket = 8;

// One device for the process. Its option "threads=1" would pin *every* task of the process to one thread for
// as long as the device lives, so the tree's thread is bound at the build instead (see
// `commit_on_one_thread`).
RTCDevice device() {
  static const RTCDevice the_device = [] {
    RTCDevice created = rtcNewDevice("max_isa=avx2");
    if (created == nullptr) throw std::runtime_error("the ray library does not start on this machine");
    return created;
  }();
  return the_device;
}

void commit_on_one_thread(RTCScene scene) {
  const tbb::global_control one(tbb::global_control::max_allowed_parallelism, 1);
  rtcCommitScene(scene);
}

// The ray library is faster, and the same on every thread, when denormal floats read and write as zero. The
// caller's arithmetic gets its own mode back.
class DenormalsAreZero {
 public:
  DenormalsAreZero() : before_(_mm_getcsr()) { _mm_setcsr(before_ | 0x8040U); }
  ~DenormalsAreZero() { _mm_setcsr(before_); }
  DenormalsAreZero(const DenormalsAreZero&) = delete;
  DenormalsAreZero& operator=(const DenormalsAreZero&) = delete;

 private:
  unsigned before_;
};

}  // namespace

struct RayScene::Impl {
  RTCScene scene = nullptr;
  Point3 middle;
  std::vector<std::uint32_t> surface_of;  ///< by triangle

  Impl() = default;
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;
  ~Impl() {
    if (scene != nullptr) rtcReleaseScene(scene);
  }

  // What every ray has alike. Traversal leaves it as it is, so that one setting serves a whole batch.
  static void load_common(RTCRay8& packet) {
    for (std::size_t lane = 0; lane < kPacket; ++lane) {
      packet.tnear[lane] = 0.0F;
      packet.time[lane] = 0.0F;
      packet.mask[lane] = 0xffffffffU;
      packet.id[lane] = 0;
      packet.flags[lane] = 0;
    }
  }

  // Lanes past the end of the batch are switched off by the mask, but still need finite numbers.
  void load(RTCRay8& packet, std::size_t lane, Point3 origin, Vector3 direction, float reach) const {
    packet.org_x[lane] = static_cast<float>(origin.x - middle.x);
    packet.org_y[lane] = static_cast<float>(origin.y - middle.y);
    packet.org_z[lane] = static_cast<float>(origin.z - middle.z);
    packet.dir_x[lane] = static_cast<float>(direction.x);
    packet.dir_y[lane] = static_cast<float>(direction.y);
    packet.dir_z[lane] = static_cast<float>(direction.z);
    packet.tfar[lane] = reach;
  }
};

RayScene::RayScene(std::span<const Point3> vertices, std::span<const SceneTriangle> triangles)
    : impl_(std::make_unique<Impl>()) {
  if (!vertices.empty()) {
    Point3 low = vertices.front();
    Point3 high = low;
    for (const Point3 p : vertices) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
    }
    impl_->middle = low + 0.5 * (high - low);
  }
  impl_->scene = rtcNewScene(device());
  rtcSetSceneFlags(impl_->scene, RTC_SCENE_FLAG_ROBUST);
  rtcSetSceneBuildQuality(impl_->scene, RTC_BUILD_QUALITY_HIGH);

  RTCGeometry mesh = rtcNewGeometry(device(), RTC_GEOMETRY_TYPE_TRIANGLE);
  auto* position = static_cast<float*>(rtcSetNewGeometryBuffer(
      mesh, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float), vertices.size()));
  for (std::size_t i = 0; i < vertices.size(); ++i) {
    position[3 * i + 0] = static_cast<float>(vertices[i].x - impl_->middle.x);
    position[3 * i + 1] = static_cast<float>(vertices[i].y - impl_->middle.y);
    position[3 * i + 2] = static_cast<float>(vertices[i].z - impl_->middle.z);
  }
  auto* index = static_cast<std::uint32_t*>(rtcSetNewGeometryBuffer(
      mesh, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 3 * sizeof(std::uint32_t), triangles.size()));
  impl_->surface_of.reserve(triangles.size());
  for (std::size_t i = 0; i < triangles.size(); ++i) {
    for (std::size_t k = 0; k < 3; ++k) {
      assert(triangles[i].vertices[k] < vertices.size());
      index[3 * i + k] = triangles[i].vertices[k];
    }
    impl_->surface_of.push_back(triangles[i].surface);
  }
  rtcCommitGeometry(mesh);
  rtcAttachGeometry(impl_->scene, mesh);
  rtcReleaseGeometry(mesh);
  commit_on_one_thread(impl_->scene);
  if (rtcGetDeviceError(device()) != RTC_ERROR_NONE)
    throw std::runtime_error("the ray library refused the scene");
}

RayScene::~RayScene() = default;
RayScene::RayScene(RayScene&&) noexcept = default;
RayScene& RayScene::operator=(RayScene&&) noexcept = default;

void RayScene::intersect(std::span<const Ray> rays, std::span<Hit> out) const {
  assert(rays.size() == out.size());
  const DenormalsAreZero mode;
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);  // incoherent rays
  alignas(32) RTCRayHit8 packet;
  Impl::load_common(packet.ray);
  for (std::size_t first = 0; first < rays.size(); first += kPacket) {
    const std::size_t count = std::min(kPacket, rays.size() - first);
    alignas(32) std::array<int, kPacket> valid{};
    for (std::size_t lane = 0; lane < kPacket; ++lane) {
      const Ray& ray = rays[first + std::min(lane, count - 1)];
      impl_->load(packet.ray, lane, ray.origin, ray.direction, static_cast<float>(ray.max_distance_m));
      packet.hit.geomID[lane] = RTC_INVALID_GEOMETRY_ID;
      packet.hit.primID[lane] = RTC_INVALID_GEOMETRY_ID;
      packet.hit.instID[0][lane] = RTC_INVALID_GEOMETRY_ID;
      valid[lane] = lane < count ? -1 : 0;
    }
    rtcIntersect8(valid.data(), impl_->scene, &context, &packet);
    for (std::size_t lane = 0; lane < count; ++lane) {
      Hit& hit = out[first + lane];
      if (packet.hit.geomID[lane] == RTC_INVALID_GEOMETRY_ID) {
        hit = Hit{};
        continue;
      }
      const Ray& ray = rays[first + lane];
      hit.surface = impl_->surface_of[packet.hit.primID[lane]];
      hit.distance_m = static_cast<double>(packet.ray.tfar[lane]);
      hit.position = ray.origin + hit.distance_m * ray.direction;
    }
  }
}

void RayScene::occluded(std::span<const Segment> segments, std::span<std::uint8_t> out) const {
  assert(segments.size() == out.size());
  const DenormalsAreZero mode;
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  alignas(32) RTCRay8 packet;
  Impl::load_common(packet);
  for (std::size_t first = 0; first < segments.size(); first += kPacket) {
    const std::size_t count = std::min(kPacket, segments.size() - first);
    alignas(32) std::array<int, kPacket> valid{};
    for (std::size_t lane = 0; lane < kPacket; ++lane) {
      const Segment& segment = segments[first + std::min(lane, count - 1)];
      const Vector3 whole = segment.to - segment.from;
      const double distance = length(whole);
      const bool usable = lane < count && distance > 0.0;
      impl_->load(packet, lane, segment.from, usable ? (1.0 / distance) * whole : Vector3{0, 0, 1},
                  static_cast<float>(distance));
      valid[lane] = usable ? -1 : 0;
    }
    rtcOccluded8(valid.data(), impl_->scene, &context, &packet);
    for (std::size_t lane = 0; lane < count; ++lane)
      // An occluded lane comes back with a reach of minus infinity.
      out[first + lane] = valid[lane] != 0 && packet.tfar[lane] < 0.0F ? 1 : 0;
  }
}

}  // namespace halflight
