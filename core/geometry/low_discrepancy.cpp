#include "geometry/low_discrepancy.hpp"

#include "base/random.hpp"

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
    for (std::uint32_t i = 0; i < kTabulated; ++i)
      for (std::uint32_t d = 0; d < kDimensions; ++d) t[i][d] = compute(i, d);
    return t;
  }();
  return table;
}

SampleStream::SampleStream(std::uint32_t scramble, std::uint32_t subject)
    : table_(&tabulated()),
      shift_(random_words({scramble, subject}, {.decision = hash_name("SampleStream")})) {}

}  // namespace halflight
