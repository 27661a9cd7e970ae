#pragma once
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace halflight {

/// 128-bit content hash (XXH3). Not cryptographic: it keys caches and detects damage, it proves nothing
/// against an adversary.
struct Hash {
  std::uint64_t high = 0;
  std::uint64_t low = 0;
  friend auto operator<=>(const Hash&, const Hash&) = default;
  [[nodiscard]] std::string hex() const;  ///< 32 lower-case hexadecimal digits
};

Hash hash_bytes(std::span<const std::byte> bytes);

/// Collects the canonical bytes of exactly the inputs that a stage depends on, then hashes them.
class KeyBuilder {
 public:
  KeyBuilder& add(std::string_view text);
  KeyBuilder& add(const Hash& hash);
  KeyBuilder& add(double value);
  template <class Integer>
  requires std::is_integral_v<Integer> KeyBuilder& add(Integer value) {
    return add_word(static_cast<std::uint64_t>(value));
  }
  /// Raw arrays of numbers, prefixed with their length.
  template <class T>
  requires std::is_arithmetic_v<T> KeyBuilder& add(std::span<const T> values) {
    add_word(values.size());
    return add_raw(std::as_bytes(values));
  }
  [[nodiscard]] Hash key() const { return hash_bytes(bytes_); }

 private:
  KeyBuilder& add_word(std::uint64_t word);
  KeyBuilder& add_raw(std::span<const std::byte> bytes);
  std::vector<std::byte> bytes_;
};

}  // namespace halflight
