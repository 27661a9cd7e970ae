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
    for (std::uint32_t d = 0; d < kDimensions; ++d)
      for (std::uint32_t i = 0; i < kTabulated; ++i) t[d][i] = compute(i, d);
    return t;
  }();
  return table;
}

SampleStream::SampleStream(std::uint32_t scramble, std::uint32_t subject)
    : table_(&tabulated()),
      shift_(random_words({scramble, subject}, {.decision = hash_name("SampleStream")})) {}

SampleStream::Words SampleStream::compute_eight(std::uint32_t first, std::uint32_t dimension) {
  Words words;
  for (std::uint32_t lane = 0; lane < kLanes; ++lane) words[lane] = compute(first + lane, dimension);
  return words;
}

}  // namespace halflight
