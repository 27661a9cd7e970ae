#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace halflight {

/// Bytes as text: RFC 4648, section 4.
std::string base64(std::string_view bytes);

/// The bytes of such a text; nothing where it is none: another character, a length that is no multiple of
/// four, padding inside, bits behind the end.
std::optional<std::string> from_base64(std::string_view text);

}  // namespace halflight
