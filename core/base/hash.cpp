#include "base/hash.hpp"

#include <fmt/format.h>
#include <xxhash.h>

namespace halflight {

std::string Hash::hex() const { return fmt::format("{:016x}{:016x}", high, low); }

Hash hash_bytes(std::span<const std::byte> bytes) {
  const XXH128_hash_t h = XXH3_128bits(bytes.data(), bytes.size());
  return {h.high64, h.low64};
}

KeyBuilder& KeyBuilder::add_raw(std::span<const std::byte> bytes) {
  bytes_.insert(bytes_.end(), bytes.begin(), bytes.end());
  return *this;
}

KeyBuilder& KeyBuilder::add_word(std::uint64_t word) { return add_raw(std::as_bytes(std::span(&word, 1))); }

KeyBuilder& KeyBuilder::add(std::string_view text) {
  add_word(text.size());
  return add_raw(std::as_bytes(std::span(text.data(), text.size())));
}

KeyBuilder& KeyBuilder::add(const Hash& hash) { return add_word(hash.high).add_word(hash.low); }

KeyBuilder& KeyBuilder::add(double value) {
  // Minus zero and zero are one input.
  return add_word(std::bit_cast<std::uint64_t>(value == 0.0 ? 0.0 : value));
}

}  // namespace halflight
