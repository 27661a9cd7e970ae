#include "base/base64.hpp"

#include <array>
#include <cstddef>
#include <cstdint>

namespace halflight {

namespace {

constexpr std::string_view kAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

}  // namespace

std::string base64(std::string_view bytes) {
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t left = bytes.size() - i;
    std::uint32_t three = 0;
    for (std::size_t k = 0; k < 3; ++k)
      three = (three << 8U) | (k < left ? static_cast<unsigned char>(bytes[i + k]) : 0U);
    for (std::size_t k = 0; k < 4; ++k)
      text += k <= left ? kAlphabet[(three >> (18U - 6U * k)) & 0x3FU] : '=';
  }
  return text;
}

std::optional<std::string> from_base64(std::string_view text) {
  if (text.size() % 4 != 0) return std::nullopt;
  static const std::array<std::int8_t, 256> kValues = [] {
    std::array<std::int8_t, 256> values{};
    values.fill(-1);
    for (std::size_t i = 0; i < kAlphabet.size(); ++i)
      values[static_cast<unsigned char>(kAlphabet[i])] = static_cast<std::int8_t>(i);
    return values;
  }();
  std::string bytes;
  bytes.reserve(text.size() / 4 * 3);
  for (std::size_t i = 0; i < text.size(); i += 4) {
    std::size_t padding = 0;
    if (i + 4 == text.size()) padding = text[i + 3] != '=' ? 0 : text[i + 2] != '=' ? 1 : 2;
    std::uint32_t three = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const std::int8_t value = k + padding >= 4 ? 0 : kValues[static_cast<unsigned char>(text[i + k])];
      if (value < 0) return std::nullopt;
      three = (three << 6U) | static_cast<std::uint32_t>(value);
    }
    for (std::size_t k = 0; k < 3 - padding; ++k)
      bytes += static_cast<char>((three >> (16U - 8U * k)) & 0xFFU);
    if (padding > 0 && (three & ((1U << (8U * padding)) - 1U)) != 0) return std::nullopt;
  }
  return bytes;
}

}  // namespace halflight
