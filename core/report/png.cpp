#include "report/png.hpp"

#include "base/base64.hpp"

#include <zlib.h>

namespace halflight::report {
namespace {

std::string word(std::uint32_t value) {
  std::string bytes(4, '\0');
  for (std::size_t i = 0; i < 4; ++i) bytes[i] = static_cast<char>((value >> (24U - 8U * i)) & 0xFFU);
  return bytes;
}

const Bytef* as_bytes(const std::string& text) { return reinterpret_cast<const Bytef*>(text.data()); }

std::string chunk(std::string_view type, const std::string& data) {
  const std::string body = std::string(type) + data;
  const auto check = static_cast<std::uint32_t>(crc32(0L, as_bytes(body), static_cast<uInt>(body.size())));
  return word(static_cast<std::uint32_t>(data.size())) + body + word(check);
}

}  // namespace

std::string png(const IndexedPicture& picture, const std::array<Colour, 256>& palette) {
  std::string header =
      word(static_cast<std::uint32_t>(picture.width)) + word(static_cast<std::uint32_t>(picture.height));
  header += std::string("\x08\x03\x00\x00\x00", 5);
  std::string colours;
  for (const Colour& c : palette)
    for (const std::uint8_t channel : {c.red, c.green, c.blue}) colours += static_cast<char>(channel);
  std::string rows;
  for (int y = 0; y < picture.height; ++y) {
    rows += '\0';  // filter: none
    const auto* first =
        reinterpret_cast<const char*>(picture.pixels.data()) + static_cast<std::ptrdiff_t>(y) * picture.width;
    rows.append(first, static_cast<std::size_t>(picture.width));
  }
  uLongf size = compressBound(static_cast<uLong>(rows.size()));
  std::string packed(size, '\0');
  compress2(reinterpret_cast<Bytef*>(packed.data()), &size, as_bytes(rows), static_cast<uLong>(rows.size()),
            Z_BEST_COMPRESSION);
  packed.resize(size);
  return std::string("\x89PNG\r\n\x1a\n", 8) + chunk("IHDR", header) + chunk("PLTE", colours) +
         chunk("IDAT", packed) + chunk("IEND", "");
}

std::string png_data_uri(const IndexedPicture& picture, const std::array<Colour, 256>& palette) {
  return "data:image/png;base64," + base64(png(picture, palette));
}

}  // namespace halflight::report
