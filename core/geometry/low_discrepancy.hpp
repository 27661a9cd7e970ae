#pragma once
#include "geometry/rays.hpp"

#include <array>
#include <cstdint>

namespace halflight {

/// Owen-scrambled Sobol points of up to four dimensions, randomised per stream by a digital shift (exclusive
/// or of every coordinate with one random word), which keeps the points a net: as even as `sobol`, and fast
/// enough for millions of rays because the scrambled points are computed once. Two streams are independent;
/// one is a pure function of its name.
class SampleStream {
 public:
  static constexpr std::uint32_t kDimensions = 4;

  explicit SampleStream(std::uint32_t scramble, std::uint32_t subject = 0);
  /// Coordinate `dimension` < kDimensions of point `index`, in [0, 1).
  [[nodiscard]] double operator()(std::uint32_t index, std::uint32_t dimension) const {
    const std::uint32_t word = index < kTabulated ? (*table_)[dimension][index] : compute(index, dimension);
    return static_cast<double>(word ^ shift_[dimension]) * 0x1p-32;
  }
  /// The same of points `first`, a multiple of eight, to `first` + 7, rounded down to single precision.
  [[nodiscard]] Lanes eight(std::uint32_t first, std::uint32_t dimension) const {
    Words beyond;
    if (first >= kTabulated) beyond = compute_eight(first, dimension);
    const std::uint32_t* const words =
        first < kTabulated ? (*table_)[dimension].data() + first : beyond.data();
    // The highest 24 bits, which single precision holds exactly.
    Eigen::Array<std::int32_t, kLanes, 1> bits;
    for (std::size_t lane = 0; lane < kLanes; ++lane)
      bits.data()[lane] = static_cast<std::int32_t>((words[lane] ^ shift_[dimension]) >> 8);
    return bits.cast<float>() * 0x1p-24F;
  }

 private:
  static constexpr std::uint32_t kTabulated = 4096;
  using Table = std::array<std::array<std::uint32_t, kTabulated>, kDimensions>;
  static const Table& tabulated();
  static std::uint32_t compute(std::uint32_t index, std::uint32_t dimension);
  using Words = std::array<std::uint32_t, kLanes>;
  static Words compute_eight(std::uint32_t first, std::uint32_t dimension);

  const Table* table_;
  std::array<std::uint32_t, kDimensions> shift_;
};

}  // namespace halflight
