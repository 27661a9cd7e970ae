#pragma once
#include "geometry/vector.hpp"

#include <cstddef>
#include <span>
#include <vector>

#include <Eigen/Core>
#include <immintrin.h>

namespace halflight {

/// Single-precision numbers of eight neighbours: arithmetic on them takes one instruction for all eight.
inline constexpr std::size_t kLanes = 8;
using Lanes = Eigen::Array<float, kLanes, 1>;
/// Rounded exactly. The matrix library's own starts from the processor's estimate, which depends on its make.
inline Lanes square_root(const Lanes& x) {
  Lanes root;
  _mm256_store_ps(root.data(), _mm256_sqrt_ps(_mm256_load_ps(x.data())));
  return root;
}

/// Rays as the ray library reads them: eight side by side in a block, in single precision about a point near
/// where they start, so that far from a building's origin they resolve as well as at it. A ray runs along its
/// direction from its origin; off the surface that it leaves, see `Enclosure::kClearance_m`.
class Rays {
 public:
  struct Block {
    Lanes x, y, z;     ///< origins from `about`, m
    Lanes dx, dy, dz;  ///< directions

    Block() {}  // not even zero: a room takes millions
    /// One starts at a place.
    void start(std::size_t lane, Vector3 from_about);
    /// All eight start at one place.
    void start_at(Vector3 from_about);
  };

  /// `count` rays, to be set block by block; lanes past the last ray must be set too.
  explicit Rays(Point3 about, std::size_t count = 0)
      : about_(about), size_(count), blocks_((count + kLanes - 1) / kLanes) {}

  void clear() {
    size_ = 0;
    blocks_.clear();
  }
  void add(Point3 origin, Vector3 direction);

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] Point3 about() const { return about_; }
  [[nodiscard]] std::span<Block> blocks() { return blocks_; }
  [[nodiscard]] std::span<const Block> blocks() const { return blocks_; }

  [[nodiscard]] Vector3 direction(std::size_t ray) const;
  /// The place so many lengths of its direction along a ray.
  [[nodiscard]] Point3 at(std::size_t ray, double distance) const;

 private:
  Point3 about_;
  std::size_t size_;
  std::vector<Block> blocks_;
};

inline void Rays::Block::start(std::size_t lane, Vector3 from_about) {
  const auto i = static_cast<Eigen::Index>(lane);
  x[i] = static_cast<float>(from_about.x);
  y[i] = static_cast<float>(from_about.y);
  z[i] = static_cast<float>(from_about.z);
}

inline void Rays::Block::start_at(Vector3 from_about) {
  x.setConstant(static_cast<float>(from_about.x));
  y.setConstant(static_cast<float>(from_about.y));
  z.setConstant(static_cast<float>(from_about.z));
}

inline void Rays::add(Point3 origin, Vector3 direction) {
  const std::size_t lane = size_++ % kLanes;
  if (lane == 0) {
    Block& block = blocks_.emplace_back();
    block.start_at({});
    block.dx.setZero();
    block.dy.setZero();
    block.dz.setOnes();  // for lanes past the last ray
  }
  Block& block = blocks_.back();
  block.start(lane, origin - about_);
  const auto i = static_cast<Eigen::Index>(lane);
  block.dx[i] = static_cast<float>(direction.x);
  block.dy[i] = static_cast<float>(direction.y);
  block.dz[i] = static_cast<float>(direction.z);
}

inline Vector3 Rays::direction(std::size_t ray) const {
  const Block& block = blocks_[ray / kLanes];
  const auto i = static_cast<Eigen::Index>(ray % kLanes);
  return {block.dx[i], block.dy[i], block.dz[i]};
}

inline Point3 Rays::at(std::size_t ray, double distance) const {
  const Block& block = blocks_[ray / kLanes];
  const auto i = static_cast<Eigen::Index>(ray % kLanes);
  return about_ + (Vector3{block.x[i], block.y[i], block.z[i]} + distance * direction(ray));
}

}  // namespace halflight
