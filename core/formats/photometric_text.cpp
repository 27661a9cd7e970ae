#include "formats/photometric_text.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <fmt/format.h>

namespace halflight::formats {
namespace {

bool is_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const auto lead = static_cast<unsigned char>(text[i]);
    const std::size_t length = lead < 0x80                   ? 1
                               : lead >= 0xC2 && lead < 0xE0 ? 2
                               : lead >= 0xE0 && lead < 0xF0 ? 3
                                                             : 0;
    if (length == 0 || i + length > text.size()) return false;
    for (std::size_t k = 1; k < length; ++k)
      if ((static_cast<unsigned char>(text[i + k]) & 0xC0U) != 0x80U) return false;
    if (length == 3) {
      const auto second = static_cast<unsigned char>(text[i + 1]);
      if ((lead == 0xE0 && second < 0xA0) || (lead == 0xED && second >= 0xA0)) return false;
    }
    i += length;
  }
  return true;
}

}  // namespace

std::string shown(std::string_view token) {
  constexpr std::size_t kLongest = 32;
  std::string text;
  for (const char c : token.substr(0, kLongest)) text += c >= ' ' && c <= '~' ? c : '?';
  if (token.size() > kLongest) text += "...";
  return "\"" + text + "\"";
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

std::string upper(std::string_view text) {
  std::string result(text);
  for (char& c : result)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return result;
}

std::string as_utf8(std::string_view text) {
  const bool utf8 = is_utf8(text);
  std::string result;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte == 0x7F) {
      result += ' ';
    } else if (utf8 || byte < 0x80) {
      result += c;
    } else {
      result += static_cast<char>(0xC0U | (byte >> 6U));
      result += static_cast<char>(0x80U | (byte & 0x3FU));
    }
  }
  return result;
}

void append_seam_warnings(const domain::PhotometricData& data, const std::string& file,
                          const std::string& where, Diagnostics& warnings) {
  if (data.type != domain::PhotometricType::c || data.horizontal_deg.size() < 2) return;
  const std::size_t stride = data.vertical_deg.size();
  const std::size_t planes = data.horizontal_deg.size();
  double nadir = 0.0;
  double zenith = 0.0;
  double seam = 0.0;
  for (std::size_t h = 1; h < planes; ++h) {
    nadir = std::max(nadir, std::abs(data.candela[h * stride] - data.candela[0]));
    zenith = std::max(zenith, std::abs(data.candela[h * stride + stride - 1] - data.candela[stride - 1]));
  }
  if (data.horizontal_deg.back() == 360)
    for (std::size_t v = 0; v < stride; ++v)
      seam = std::max(seam, std::abs(data.candela[(planes - 1) * stride + v] - data.candela[v]));
  const double peak = *std::max_element(data.candela.begin(), data.candela.end());
  const auto warn_above = [&](double difference, std::string_view what, std::string_view remedy) {
    constexpr double kAllowed = 0.01;
    if (difference > kAllowed * peak)
      warnings.push_back({Diagnostic::Severity::warning, file, where,
                          fmt::format("{} differ by {:.4g} cd, {:.0f} % of the largest intensity", what,
                                      difference, 100.0 * difference / peak),
                          fmt::format("{} (PHO-9)", remedy)});
  };
  if (data.vertical_deg.front() == 0)
    warn_above(nadir, "straight down the planes", "every plane has the same intensity at vertical angle 0");
  if (data.vertical_deg.back() == 180)
    warn_above(zenith, "straight up the planes", "every plane has the same intensity at vertical angle 180");
  warn_above(seam, "the planes at 0 and 360", "they are the same plane; measure or copy one of them again");
}

}  // namespace halflight::formats
