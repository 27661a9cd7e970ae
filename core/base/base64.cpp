#include "base/base64.hpp"

#include <cstddef>
#include <cstdint>

namespace halflight {

std::string base64(std::string_view bytes) {
  static constexpr char kAlphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
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

}  // namespace halflight
