#include "formats/study_json.hpp"

#include "results/study_document.hpp"

#include <charconv>
#include <cmath>
#include <cstdint>
#include <string_view>
#include <vector>

namespace halflight::formats {
namespace {

/// Length of the well-formed UTF-8 sequence at the start of `text`, or 0 (RFC 3629: shortest form, no
/// surrogates).
std::size_t utf8_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xF0 && first <= 0xF4   ? 4
                             : first >= 0xE0 && first <= 0xEF ? 3
                             : first >= 0xC2 && first <= 0xDF ? 2
                                                              : 0;
  if (length == 0 || text.size() < length) return 0;
  std::uint32_t code = first & (0xFFU >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return 0;
    code = (code << 6U) | (byte(i) & 0x3FU);
  }
  static constexpr std::uint32_t kLeast[] = {0, 0, 0x80, 0x800, 0x10000};
  if (code < kLeast[length] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return 0;
  return length;
}

class JsonText {
 public:
  void begin_object(std::string_view name) { open(name, '{', '}'); }
  void end_object() { close(); }
  void begin_array(std::string_view name) { open(name, '[', ']'); }
  void end_array() { close(); }
  void number(std::string_view name, double value) {
    start(name);
    if (!std::isfinite(value)) {
      text_ += "null";
      return;
    }
    char digits[32];
    // Adding zero turns -0 into 0: the sign of nothing is not a result.
    text_.append(digits, std::to_chars(digits, digits + sizeof digits, value + 0.0).ptr);
  }
  void text(std::string_view name, std::string_view value) {
    start(name);
    quote(value);
  }
  void boolean(std::string_view name, bool value) {
    start(name);
    text_ += value ? "true" : "false";
  }
  std::string take() { return std::move(text_) + '\n'; }

 private:
  struct Level {
    char closing = '}';
    bool is_empty = true;
  };

  void new_line() { text_.append("\n").append(2 * levels_.size(), ' '); }
  void start(std::string_view name) {
    if (!levels_.empty()) {
      if (!levels_.back().is_empty) text_ += ',';
      levels_.back().is_empty = false;
      new_line();
    }
    if (name.empty()) return;
    quote(name);
    text_ += ": ";
  }
  void open(std::string_view name, char opening, char closing) {
    start(name);
    text_ += opening;
    levels_.push_back({closing, true});
  }
  void close() {
    const Level level = levels_.back();
    levels_.pop_back();
    if (!level.is_empty) new_line();
    text_ += level.closing;
  }
  void quote(std::string_view value) {
    static constexpr char kHex[] = "0123456789abcdef";
    text_ += '"';
    while (!value.empty()) {
      const auto c = static_cast<unsigned char>(value.front());
      const std::size_t length = utf8_length(value);
      if (c == '"' || c == '\\') {
        text_ += '\\';
        text_ += value.front();
      } else if (c < 0x20) {
        text_.append("\\u00") += kHex[c >> 4U];
        text_ += kHex[c & 0xFU];
      } else if (length == 0) {
        text_ += "\xEF\xBF\xBD";
      } else {
        text_.append(value.substr(0, length));
      }
      value.remove_prefix(length == 0 ? 1 : length);
    }
    text_ += '"';
  }

  std::string text_;
  std::vector<Level> levels_;
};

}  // namespace

std::string study_json(const results::Study& study) {
  JsonText json;
  results::walk_study(json, study);
  return json.take();
}

}  // namespace halflight::formats
