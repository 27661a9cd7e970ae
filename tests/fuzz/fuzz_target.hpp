#pragma once
#include "base/diagnostic.hpp"

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <string_view>

/// What a target is: called with one input after the other, by libFuzzer or by replay_main.cpp. Returns 0.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace halflight::fuzz {

inline std::span<const std::byte> bytes_of(const std::uint8_t* data, std::size_t size) {
  return std::as_bytes(std::span(data, size));
}
inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

/// Ends the program when what every input must keep is broken.
inline void require(bool kept, const char* what) {
  if (kept) return;
  std::fprintf(stderr, "broken: %s\n", what);
  std::abort();
}

/// A refusal names the file and says what would be right; there are not so many that they fill a screen's
/// memory.
inline void require_good_refusal(const Diagnostics& diagnostics) {
  require(!diagnostics.empty(), "a refusal gives its reason");
  require(diagnostics.size() < 3000, "the number of messages is bounded");
  std::size_t bytes = 0;
  for (const Diagnostic& d : diagnostics) {
    require(!d.problem.empty(), "a message says what is wrong");
    bytes += d.where.size() + d.problem.size() + d.remedy.size();
  }
  require(bytes < std::size_t{16} << 20U, "the messages together are short");
}

}  // namespace halflight::fuzz
