#include "geometry/low_discrepancy.hpp"

#include "base/random.hpp"

#include <cassert>

namespace halflight {

namespace {
constexpr std::uint32_t kScramble = 0x9e3779b9U;  // any fixed word: the shift makes streams differ
}  // namespace

std::uint32_t SampleStream::compute(std::uint32_t index, std::uint32_t dimension) {
  return static_cast<std::uint32_t>(sobol(index, dimension, kScramble) * 0x1p32);
}

const SampleStream::Table& SampleStream::tabulated() {
  static const Table table = [] {
    Table t{};
    for (std::uint32_t d = 0; d < kDimensions; ++d)
      for (std::uint32_t i = 0; i < kTabulated; ++i) t[d][i] = compute(i, d);
    return t;
  }();
  return table;
}

SampleStream::SampleStream(std::uint32_t scramble, std::uint32_t subject)
    : table_(&tabulated()),
      shift_(random_words({scramble, subject}, {.decision = hash_name("SampleStream")})) {}

Lanes SampleStream::eight(std::uint32_t first, std::uint32_t dimension) const {
  assert(first % kLanes == 0);
  std::array<std::uint32_t, kLanes> beyond;
  const std::uint32_t* words = (*table_)[dimension].data() + first;
  if (first >= kTabulated) {
    for (std::uint32_t lane = 0; lane < kLanes; ++lane) beyond[lane] = compute(first + lane, dimension);
    words = beyond.data();
  }
  // The highest 24 bits, which single precision holds exactly.
  Eigen::Array<std::int32_t, kLanes, 1> bits;
  for (std::size_t lane = 0; lane < kLanes; ++lane)
    bits.data()[lane] = static_cast<std::int32_t>((words[lane] ^ shift_[dimension]) >> 8);
  return bits.cast<float>() * 0x1p-24F;
}

}  // namespace halflight
