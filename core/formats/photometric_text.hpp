#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"

#include <string>
#include <string_view>

// Small text tools shared by the readers of photometric files.
namespace halflight::formats {

inline bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\v' || c == '\f'; }
inline bool is_line_end(char c) { return c == '\n' || c == '\r'; }
/// Without blanks at either end.
std::string_view trimmed(std::string_view text);
/// ASCII letters in upper case.
std::string upper(std::string_view text);
/// A token as a message may show it: in quotes, short, printable ASCII only.
std::string shown(std::string_view token);
/// Text as UTF-8: old files are in one-byte Western encodings. Control characters become blanks.
std::string as_utf8(std::string_view text);

/// Warns of directions that several entries of a type C table share with different intensities: straight
/// down, straight up, and the planes at 0 and 360 degrees. Differences up to 1 % of the largest intensity
/// pass.
void append_seam_warnings(const domain::PhotometricData& data, const std::string& file,
                          const std::string& where, Diagnostics& warnings);

}  // namespace halflight::formats
