#pragma once
#include "report/colour.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace halflight::report {

/// A picture of one byte a pixel, row by row from the top.
struct IndexedPicture {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> pixels;
};

/// The picture as a PNG file (ISO/IEC 15948: colour type 3, 8 bits, no filter).
std::string png(const IndexedPicture& picture, const std::array<Colour, 256>& palette);

/// "data:image/png;base64,...": a picture inside a page, so that the page needs no other file.
std::string png_data_uri(const IndexedPicture& picture, const std::array<Colour, 256>& palette);

}  // namespace halflight::report
