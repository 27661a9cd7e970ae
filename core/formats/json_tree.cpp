#include "formats/json_tree.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

/// Thrown inside the parser only: the first syntax error ends the reading.
struct SyntaxError {
  std::size_t offset;
  std::string problem;
  std::string remedy;
};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Bytes of the UTF-8 sequence at the head of `s`, or 0 when it is none (RFC 3629).
std::size_t utf8_length(std::string_view s) {
  const auto byte = [&](std::size_t i) { return i < s.size() ? static_cast<unsigned char>(s[i]) : 0u; };
  const auto continues = [&](std::size_t i) { return (byte(i) & 0xC0u) == 0x80u; };
  const unsigned lead = byte(0);
  if (lead < 0x80u) return 1;
  if (lead >= 0xC2u && lead <= 0xDFu && continues(1)) return 2;
  if (lead >= 0xE0u && lead <= 0xEFu && continues(1) && continues(2)) {
    if (lead == 0xE0u && byte(1) < 0xA0u) return 0;   // overlong
    if (lead == 0xEDu && byte(1) >= 0xA0u) return 0;  // surrogate
    return 3;
  }
  if (lead >= 0xF0u && lead <= 0xF4u && continues(1) && continues(2) && continues(3)) {
    if (lead == 0xF0u && byte(1) < 0x90u) return 0;
    if (lead == 0xF4u && byte(1) >= 0x90u) return 0;
    return 4;
  }
  return 0;
}

void append_utf8(std::string& out, std::uint32_t code) {
  const auto put = [&](std::uint32_t b) { out += static_cast<char>(b); };
  if (code < 0x80u) {
    put(code);
  } else if (code < 0x800u) {
    put(0xC0u | (code >> 6));
    put(0x80u | (code & 0x3Fu));
  } else if (code < 0x10000u) {
    put(0xE0u | (code >> 12));
    put(0x80u | ((code >> 6) & 0x3Fu));
    put(0x80u | (code & 0x3Fu));
  } else {
    put(0xF0u | (code >> 18));
    put(0x80u | ((code >> 12) & 0x3Fu));
    put(0x80u | ((code >> 6) & 0x3Fu));
    put(0x80u | (code & 0x3Fu));
  }
}

class Parser {
 public:
  explicit Parser(std::string_view text) : text_(text) {}

  JsonNode whole() {
    if (text_.substr(0, 3) == "\xEF\xBB\xBF") at_ = 3;
    JsonNode root = value(0);
    skip_space();
    if (at_ < text_.size()) fail("something follows the end of the document", "remove it");
    return root;
  }

 private:
  [[noreturn]] void fail(std::string problem, std::string remedy = "") {
    throw SyntaxError{at_, std::move(problem), std::move(remedy)};
  }
  [[nodiscard]] char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  [[nodiscard]] std::string what_stands_here() const {
    if (at_ >= text_.size()) return "the text ends";
    const std::size_t length = utf8_length(text_.substr(at_));
    if (length == 0 || static_cast<unsigned char>(text_[at_]) < 0x20u)
      return fmt::format("byte 0x{:02X} stands", static_cast<unsigned char>(text_[at_]));
    return fmt::format("'{}' stands", text_.substr(at_, length));
  }
  void skip_space() {
    while (at_ < text_.size() &&
           (text_[at_] == ' ' || text_[at_] == '\n' || text_[at_] == '\r' || text_[at_] == '\t'))
      ++at_;
  }

  JsonNode value(int depth) {
    skip_space();
    if (depth > kMaxJsonDepth)
      fail(fmt::format("more than {} levels of brackets", kMaxJsonDepth), "a project needs fewer than 12");
    if (++values_ > kMaxJsonValues)
      fail(fmt::format("more than {} values", kMaxJsonValues), "divide the building into several projects");
    JsonNode node;
    node.begin = static_cast<std::uint32_t>(at_);
    switch (peek()) {
      case '{':
        object(node, depth);
        break;
      case '[':
        array(node, depth);
        break;
      case '"':
        node.kind = JsonNode::Kind::string;
        node.text = string();
        break;
      case 't':
        word(node, "true", JsonNode::Kind::boolean, true);
        break;
      case 'f':
        word(node, "false", JsonNode::Kind::boolean, false);
        break;
      case 'n':
        word(node, "null", JsonNode::Kind::null, false);
        break;
      default:
        number(node);
    }
    node.end = static_cast<std::uint32_t>(at_);
    return node;
  }

  void word(JsonNode& node, std::string_view expected, JsonNode::Kind kind, bool boolean) {
    if (text_.substr(at_, expected.size()) != expected)
      fail(what_stands_here() + " where a value is expected", "write text in double quotation marks");
    at_ += expected.size();
    node.kind = kind;
    node.boolean = boolean;
  }

  void object(JsonNode& node, int depth) {
    node.kind = JsonNode::Kind::object;
    ++at_;
    skip_space();
    if (peek() == '}') {
      ++at_;
      return;
    }
    while (true) {
      skip_space();
      if (peek() != '"')
        fail(what_stands_here() + " where a key is expected", "write keys in double quotation marks");
      const auto key_begin = static_cast<std::uint32_t>(at_);
      std::string name = string();
      if (name.size() > kMaxJsonKey) {
        at_ = key_begin;
        fail(fmt::format("a key of {} bytes", name.size()), fmt::format("give it at most {}", kMaxJsonKey));
      }
      skip_space();
      if (peek() != ':') fail(what_stands_here() + " where ':' is expected after a key");
      ++at_;
      node.keys.push_back({std::move(name), key_begin});
      node.children.push_back(value(depth + 1));
      if (!more('}', "object")) return;
    }
  }

  void array(JsonNode& node, int depth) {
    node.kind = JsonNode::Kind::array;
    ++at_;
    skip_space();
    if (peek() == ']') {
      ++at_;
      return;
    }
    while (true) {
      node.children.push_back(value(depth + 1));
      if (!more(']', "array")) return;
    }
  }

  /// After an item: true at a comma, false at the closing bracket.
  bool more(char close, const char* what) {
    skip_space();
    if (peek() == close && at_ < text_.size()) {
      ++at_;
      return false;
    }
    if (peek() != ',')
      fail(fmt::format("{} where ',' or '{}' is expected in an {}", what_stands_here(), close, what));
    ++at_;
    skip_space();
    if (peek() == close) fail("a comma stands before the closing bracket", "remove the comma");
    return true;
  }

  void number(JsonNode& node) {
    const std::size_t begin = at_;
    if (peek() == '-') ++at_;
    if (!is_digit(peek())) {
      at_ = begin;
      fail(what_stands_here() + " where a value is expected");
    }
    if (peek() == '0') {
      ++at_;
      if (is_digit(peek())) fail("a number begins with a superfluous 0", "remove the 0");
    }
    while (is_digit(peek())) ++at_;
    if (peek() == '.') {
      ++at_;
      if (!is_digit(peek())) fail("digits are missing after the decimal point");
      while (is_digit(peek())) ++at_;
    }
    if (peek() == 'e' || peek() == 'E') {
      ++at_;
      if (peek() == '+' || peek() == '-') ++at_;
      if (!is_digit(peek())) fail("digits are missing in the exponent");
      while (is_digit(peek())) ++at_;
    }
    node.kind = JsonNode::Kind::number;
    node.text = std::string(text_.substr(begin, at_ - begin));
    const auto [end, error] =
        std::from_chars(node.text.data(), node.text.data() + node.text.size(), node.number);
    if (error == std::errc::result_out_of_range) {
      // Too small is zero for every purpose here; too large is a slip of the hand.
      if (node.text.find("e-") == std::string::npos && node.text.find("E-") == std::string::npos) {
        at_ = begin;
        fail(fmt::format("the number {} is beyond any quantity", node.text.substr(0, 40)));
      }
      node.number = 0.0;
    }
  }

  std::uint32_t hex4() {
    std::uint32_t code = 0;
    const std::string_view digits = text_.substr(at_, 4);
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), code, 16);
    if (error != std::errc() || end != digits.data() + 4 || digits.size() != 4)
      fail("\\u needs four hexadecimal digits");
    at_ += 4;
    return code;
  }

  std::string string() {
    std::string out;
    ++at_;
    while (true) {
      if (at_ >= text_.size()) fail("the text ends inside a string", "close it with a quotation mark");
      const char c = text_[at_];
      if (c == '"') {
        ++at_;
        return out;
      }
      if (static_cast<unsigned char>(c) < 0x20u)
        fail(c == '\n' ? std::string("a string runs past the end of its line")
                       : what_stands_here() + " in a string",
             c == '\n' ? "close it with a quotation mark, or write \\n" : "write it as an escape");
      if (c != '\\') {
        const std::size_t length = utf8_length(text_.substr(at_));
        if (length == 0) fail(what_stands_here() + " in a string and is not UTF-8", "save the file as UTF-8");
        out += text_.substr(at_, length);
        at_ += length;
        continue;
      }
      ++at_;
      escape(out);
    }
  }

  void escape(std::string& out) {
    static constexpr std::string_view kLetters = "\"\\/bfnrt";
    static constexpr std::string_view kMeaning = "\"\\/\b\f\n\r\t";
    if (peek() == 'u') {
      ++at_;
      std::uint32_t code = hex4();
      if (code >= 0xD800u && code <= 0xDBFFu && text_.substr(at_, 2) == "\\u") {
        at_ += 2;
        const std::uint32_t low = hex4();
        if (low < 0xDC00u || low > 0xDFFFu) fail("half of a surrogate pair stands alone");
        code = 0x10000u + ((code - 0xD800u) << 10) + (low - 0xDC00u);
      } else if (code >= 0xD800u && code <= 0xDFFFu) {
        fail("half of a surrogate pair stands alone");
      }
      append_utf8(out, code);
      return;
    }
    const std::size_t which = at_ < text_.size() ? kLetters.find(text_[at_]) : std::string_view::npos;
    if (which == std::string_view::npos)
      fail("\\ begins no escape that JSON knows", "write \\\\ for the sign itself");
    out += kMeaning[which];
    ++at_;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t values_ = 0;
};

std::size_t line_of(std::string_view text, std::size_t offset) {
  return 1 + static_cast<std::size_t>(
                 std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(offset), '\n'));
}

// Each is looked up in the text for its line.
constexpr std::size_t kMostDuplicates = 20;

void find_duplicates(const JsonNode& node, std::string_view text, const std::string& file,
                     const std::string& pointer, Diagnostics& out) {
  if (node.kind == JsonNode::Kind::object) {
    std::vector<const JsonNode::Key*> order;
    for (const JsonNode::Key& key : node.keys) order.push_back(&key);
    std::stable_sort(order.begin(), order.end(), [](auto* a, auto* b) { return a->name < b->name; });
    for (std::size_t i = 1; i < order.size() && out.size() < kMostDuplicates; ++i)
      if (order[i]->name == order[i - 1]->name)
        out.push_back(
            {Diagnostic::Severity::error, file, pointer + "/" + pointer_step(order[i]->name),
             fmt::format("the key {} is given twice, on line {} and on line {}", json_string(order[i]->name),
                         line_of(text, order[i - 1]->begin), line_of(text, order[i]->begin)),
             "keep one"});
  }
  for (std::size_t i = 0; i < node.children.size(); ++i)
    if (!node.children[i].children.empty())
      find_duplicates(
          node.children[i], text, file,
          pointer + "/" + (node.keys.empty() ? std::to_string(i) : pointer_step(node.keys[i].name)), out);
}

bool is_leaf(const JsonNode& node) {
  return node.kind != JsonNode::Kind::array && node.kind != JsonNode::Kind::object;
}

/// The value on one line.
void append_flat(const JsonNode& node, std::string& out) {
  switch (node.kind) {
    case JsonNode::Kind::null:
      out += "null";
      return;
    case JsonNode::Kind::boolean:
      out += node.boolean ? "true" : "false";
      return;
    case JsonNode::Kind::number:
      out += node.text;
      return;
    case JsonNode::Kind::string:
      out += json_string(node.text);
      return;
    case JsonNode::Kind::array:
    case JsonNode::Kind::object:
      break;
  }
  const bool is_object = node.kind == JsonNode::Kind::object;
  out += is_object ? "{" : "[";
  for (std::size_t i = 0; i < node.children.size(); ++i) {
    if (i > 0) out += ", ";
    if (is_object) out += json_string(node.keys[i].name) + ": ";
    append_flat(node.children[i], out);
  }
  out += is_object ? "}" : "]";
}

/// Arrays of plain values or of points, and objects of plain values or points, read best on one line.
bool may_be_flat(const JsonNode& node) {
  const auto is_row = [](const JsonNode& child) {
    return is_leaf(child) || (child.kind == JsonNode::Kind::array &&
                              std::all_of(child.children.begin(), child.children.end(), is_leaf));
  };
  return std::all_of(node.children.begin(), node.children.end(), is_row);
}

void append_formatted(const JsonNode& node, std::size_t indent, std::size_t used, std::string& out) {
  constexpr std::size_t kColumns = 110;
  if (is_leaf(node) || node.children.empty() || may_be_flat(node)) {
    std::string flat;
    append_flat(node, flat);
    if (is_leaf(node) || node.children.empty() || used + flat.size() <= kColumns) {
      out += flat;
      return;
    }
  }
  const bool is_object = node.kind == JsonNode::Kind::object;
  const std::string margin(indent + 2, ' ');
  out += is_object ? "{\n" : "[\n";
  for (std::size_t i = 0; i < node.children.size(); ++i) {
    out += margin;
    std::size_t lead = margin.size() + 1;  // the comma
    if (is_object) {
      const std::string key = json_string(node.keys[i].name) + ": ";
      lead += key.size();
      out += key;
    }
    append_formatted(node.children[i], indent + 2, lead, out);
    out += i + 1 < node.children.size() ? ",\n" : "\n";
  }
  out += std::string(indent, ' ') + (is_object ? "}" : "]");
}

}  // namespace

const JsonNode* JsonNode::find(std::string_view key) const {
  for (std::size_t i = 0; i < keys.size(); ++i)
    if (keys[i].name == key) return &children[i];
  return nullptr;
}

Result<JsonNode> parse_json(std::string_view text, const std::string& file) {
  const auto refuse = [&](std::string where, std::string problem, std::string remedy) {
    return tl::unexpected(Diagnostics{
        {Diagnostic::Severity::error, file, std::move(where), std::move(problem), std::move(remedy)}});
  };
  if (text.size() > kMaxJsonBytes)
    return refuse("", fmt::format("{} bytes are more than a project may have", text.size()),
                  fmt::format("keep it below {} MiB", kMaxJsonBytes >> 20));
  try {
    JsonNode root = Parser(text).whole();
    Diagnostics duplicates;
    find_duplicates(root, text, file, "", duplicates);
    if (!duplicates.empty()) return tl::unexpected(std::move(duplicates));
    return root;
  } catch (const SyntaxError& error) {
    return refuse(line_and_column(text, error.offset), error.problem, error.remedy);
  }
}

std::vector<std::string> pointer_steps(std::string_view pointer) {
  std::vector<std::string> steps;
  while (!pointer.empty()) {
    pointer.remove_prefix(1);
    const std::size_t next = std::min(pointer.find('/'), pointer.size());
    std::string step;
    for (std::size_t i = 0; i < next; ++i) {
      const bool escaped =
          pointer[i] == '~' && i + 1 < next && (pointer[i + 1] == '0' || pointer[i + 1] == '1');
      step += !escaped ? pointer[i] : pointer[i + 1] == '0' ? '~' : '/';
      if (escaped) ++i;
    }
    steps.push_back(std::move(step));
    pointer.remove_prefix(next);
  }
  return steps;
}

const JsonNode* at_pointer(const JsonNode& root, std::string_view pointer) {
  if (!pointer.empty() && pointer.front() != '/') return nullptr;
  const JsonNode* node = &root;
  for (const std::string& step : pointer_steps(pointer)) {
    if (node->kind == JsonNode::Kind::array) {
      std::size_t index = 0;
      const auto [end, error] = std::from_chars(step.data(), step.data() + step.size(), index);
      if (error != std::errc() || end != step.data() + step.size() || index >= node->children.size())
        return nullptr;
      node = &node->children[index];
    } else {
      node = node->find(step);
      if (node == nullptr) return nullptr;
    }
  }
  return node;
}

std::string pointer_step(std::string_view key) {
  std::string out;
  for (const char c : key) {
    if (c == '~')
      out += "~0";
    else if (c == '/')
      out += "~1";
    else
      out += c;
  }
  return out;
}

std::string line_and_column(std::string_view text, std::size_t offset) {
  const std::string_view before = text.substr(0, offset);
  const std::size_t newline = before.rfind('\n');
  const std::string_view row = newline == std::string_view::npos ? before : before.substr(newline + 1);
  const auto starts_character = [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; };
  return fmt::format("line {}, column {}", line_of(text, before.size()),
                     1 + std::count_if(row.begin(), row.end(), starts_character));
}

std::string json_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    switch (c) {
      case '"':
        out += "\\\"";
        break;
      case '\\':
        out += "\\\\";
        break;
      case '\n':
        out += "\\n";
        break;
      case '\r':
        out += "\\r";
        break;
      case '\t':
        out += "\\t";
        break;
      default:
        if (static_cast<unsigned char>(c) < 0x20u)
          out += fmt::format("\\u{:04x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
        else
          out += c;
    }
  }
  return out + "\"";
}

std::string json_number(double value) { return fmt::format("{}", value == 0.0 ? 0.0 : value); }

std::string format_json(const JsonNode& node) {
  std::string out;
  append_formatted(node, 0, 0, out);
  return out;
}

}  // namespace halflight::formats
