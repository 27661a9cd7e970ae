#include "geometry/ray_scene.hpp"

#include <algorithm>
#include <cassert>
#include <limits>
#include <stdexcept>

#include <embree3/rtcore.h>
#include <immintrin.h>
#include <tbb/global_control.h>

namespace halflight {

namespace {

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

// What every ray has alike. Traversal leaves it as it is, so that one setting serves all.
void set_common(RTCRay8& packet) {
  for (std::size_t lane = 0; lane < kLanes; ++lane) {
    packet.time[lane] = 0.0F;
    packet.mask[lane] = 0xffffffffU;
    packet.id[lane] = 0;
    packet.flags[lane] = 0;
  }
}

// Eight fields of a packet.
Eigen::Map<Lanes, Eigen::Aligned32> of(float* field) { return Eigen::Map<Lanes, Eigen::Aligned32>(field); }

}  // namespace

struct RayScene::Impl {
  RTCScene scene = nullptr;
  Point3 middle;

  Impl() = default;
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;
  ~Impl() {
    if (scene != nullptr) rtcReleaseScene(scene);
  }

  /// Sets origins and directions; `shift` leads from the rays' own point of reference to the scene's.
  static void set_rays(RTCRay8& packet, const Rays::Block& rays, const Eigen::Array3f& shift) {
    of(packet.org_x) = rays.x + shift.x();
    of(packet.org_y) = rays.y + shift.y();
    of(packet.org_z) = rays.z + shift.z();
    of(packet.dir_x) = rays.dx;
    of(packet.dir_y) = rays.dy;
    of(packet.dir_z) = rays.dz;
  }
  [[nodiscard]] Eigen::Array3f shift_from(Point3 about) const {
    const Vector3 shift = about - middle;
    return {static_cast<float>(shift.x), static_cast<float>(shift.y), static_cast<float>(shift.z)};
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
  for (const SceneTriangle& triangle : triangles)
    for (const std::uint32_t vertex : triangle) {
      assert(vertex < vertices.size());
      *index++ = vertex;
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

Point3 RayScene::middle() const { return impl_->middle; }

void RayScene::intersect(Point3 about, std::span<const Rays::Block> rays, std::span<HitBlock> out) const {
  assert(rays.size() == out.size());
  static_assert(HitBlock::kNone == RTC_INVALID_GEOMETRY_ID);
  const DenormalsAreZero mode;
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);  // incoherent rays
  alignas(32) constexpr std::array<int, kLanes> all{-1, -1, -1, -1, -1, -1, -1, -1};
  const Eigen::Array3f shift = impl_->shift_from(about);
  alignas(32) RTCRayHit8 packet;
  set_common(packet.ray);
  for (std::size_t block = 0; block < rays.size(); ++block) {
    Impl::set_rays(packet.ray, rays[block], shift);
    of(packet.ray.tnear).setZero();
    of(packet.ray.tfar).setConstant(std::numeric_limits<float>::infinity());
    std::fill_n(packet.hit.geomID, kLanes, RTC_INVALID_GEOMETRY_ID);
    std::fill_n(packet.hit.primID, kLanes, RTC_INVALID_GEOMETRY_ID);
    std::fill_n(packet.hit.instID[0], kLanes, RTC_INVALID_GEOMETRY_ID);
    rtcIntersect8(all.data(), impl_->scene, &context, &packet);
    HitBlock& hits = out[block];
    std::copy_n(packet.hit.primID, kLanes, hits.triangle.begin());
    hits.distance = of(packet.ray.tfar);
    hits.u = of(packet.hit.u);
    hits.v = of(packet.hit.v);
    hits.onward = of(packet.hit.Ng_x) * rays[block].dx + of(packet.hit.Ng_y) * rays[block].dy +
                  of(packet.hit.Ng_z) * rays[block].dz;
  }
}

void RayScene::occluded(const Rays& rays, double clearance_m, std::span<std::uint8_t> out) const {
  assert(rays.size() == out.size());
  const DenormalsAreZero mode;
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  const Eigen::Array3f shift = impl_->shift_from(rays.about());
  const auto clearance = static_cast<float>(clearance_m);
  alignas(32) RTCRay8 packet;
  set_common(packet);
  std::size_t first = 0;
  for (const Rays::Block& block : rays.blocks()) {
    Impl::set_rays(packet, block, shift);
    // A ray's ends are told in lengths of its direction, so that no direction needs to be made a unit vector.
    const Lanes drawn_in = clearance / square_root(block.dx.square() + block.dy.square() + block.dz.square());
    of(packet.tnear) = drawn_in;
    of(packet.tfar) = 1.0F - drawn_in;
    alignas(32) std::array<int, kLanes> valid;
    for (std::size_t lane = 0; lane < kLanes; ++lane)
      valid[lane] = packet.tnear[lane] < packet.tfar[lane] ? -1 : 0;
    rtcOccluded8(valid.data(), impl_->scene, &context, &packet);
    std::array<std::uint8_t, kLanes> hidden;
    for (std::size_t lane = 0; lane < kLanes; ++lane)
      // An occluded lane comes back with a reach of minus infinity.
      hidden[lane] = static_cast<std::uint8_t>(valid[lane] & (packet.tfar[lane] < 0.0F ? 1 : 0));
    const std::size_t count = std::min(kLanes, out.size() - first);
    std::copy_n(hidden.begin(), count, out.begin() + static_cast<std::ptrdiff_t>(first));
    first += count;
  }
}

}  // namespace halflight
