#pragma once
#include "base/diagnostic.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace halflight::formats {

/// A JSON text (RFC 8259) as a tree that knows where each value stands in the text, so that an edit can
/// replace exactly the bytes of one value and leave the rest as somebody typed it.
struct JsonNode {
  enum class Kind : std::uint8_t { null, boolean, number, string, array, object };
  struct Key {
    std::string name;
    std::uint32_t begin = 0;  ///< byte offset of its opening quotation mark
  };

  Kind kind = Kind::null;
  bool boolean = false;
  std::uint32_t begin = 0;  ///< byte range of the value in the text
  std::uint32_t end = 0;    ///< not included
  double number = 0.0;
  std::string text;                ///< string: its characters; number: the token as typed
  std::vector<Key> keys;           ///< object: one for each child
  std::vector<JsonNode> children;  ///< object: values; array: items

  /// The value of `key`, or nullptr when this is no object or has no such key.
  [[nodiscard]] const JsonNode* find(std::string_view key) const;
};

/// What bounds a document, so that no input can exhaust the stack or the memory.
inline constexpr std::size_t kMaxJsonBytes = 32u << 20;
inline constexpr std::size_t kMaxJsonValues = 1'000'000;
inline constexpr int kMaxJsonDepth = 64;
/// Of a key, in bytes: every message about what stands below repeats it.
inline constexpr std::size_t kMaxJsonKey = 200;

/// Reads a whole text. Refused, with line and column: broken syntax, invalid UTF-8, numbers beyond a double,
/// text after the end, and whatever exceeds the bounds above. Refused, with JSON pointer and lines: a key
/// given twice (the first 20 of them are listed). A byte order mark is skipped.
Result<JsonNode> parse_json(std::string_view text, const std::string& file);

/// The value at a JSON pointer (RFC 6901), or nullptr.
const JsonNode* at_pointer(const JsonNode& root, std::string_view pointer);
/// `key` with "~" and "/" escaped, as one step of a JSON pointer.
std::string pointer_step(std::string_view key);
/// The keys and indices of a pointer, unescaped.
std::vector<std::string> pointer_steps(std::string_view pointer);

/// "line 12, column 4" of a byte offset; columns count characters, both from 1.
std::string line_and_column(std::string_view text, std::size_t offset);

/// `text` as a JSON string with its quotation marks.
std::string json_string(std::string_view text);
/// The shortest decimal number that reads back as `value`, which must be finite.
std::string json_number(double value);

/// The text of `node` laid out anew: two spaces a level, arrays of numbers or words and small flat objects on
/// one line where they fit in 110 columns, keys and number tokens as they were.
std::string format_json(const JsonNode& node);

}  // namespace halflight::formats
