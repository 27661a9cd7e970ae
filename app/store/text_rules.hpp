#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace halflight::store {

/// Nothing for valid UTF-8 without control characters of at most `longest` bytes; else what is wrong.
std::optional<std::string> text_problem(std::string_view text, std::size_t longest);

/// For messages: in quotation marks, cut at 60 bytes, with what a terminal might obey written as \xNN.
std::string shown(std::string_view text);

/// What stands for a name in an address: [a-z0-9] with single '-' between, 1 to 40 characters.
std::string id_from(std::string_view name);

}  // namespace halflight::store
