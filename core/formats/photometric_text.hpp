#pragma once
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

}  // namespace halflight::formats
