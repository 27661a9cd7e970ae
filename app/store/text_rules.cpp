#include "store/text_rules.hpp"

#include "store/store.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdint>

#include <fmt/format.h>

namespace halflight::store {

namespace {

struct CodePoint {
  std::uint32_t value = 0;
  std::size_t bytes = 0;  // 0: no UTF-8 starts here
};

/// The code point that `text`, which is not empty, starts with.
CodePoint first_code_point(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(0);
  if (lead < 0x80U) return {lead, 1};
  const std::size_t bytes = lead >= 0xF0U ? 4 : lead >= 0xE0U ? 3 : 2;
  if (lead < 0xC2U || lead > 0xF4U || text.size() < bytes) return {};
  std::uint32_t value = lead & (0x7FU >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return {};
    value = (value << 6U) | (byte(i) & 0x3FU);
  }
  constexpr std::array<std::uint32_t, 5> smallest = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = value >= 0xD800U && value <= 0xDFFFU;
  if (value < smallest[bytes] || value > 0x10FFFFU || surrogate) return {};
  return {value, bytes};
}

bool is_control(std::uint32_t code_point) {
  return code_point < 0x20U || (code_point >= 0x7FU && code_point < 0xA0U);
}

Diagnostic bad_path(std::string_view path, std::string problem, std::string remedy) {
  return {Diagnostic::Severity::error, shown(path), "", std::move(problem), std::move(remedy)};
}

}  // namespace

std::optional<std::string> text_problem(std::string_view text, std::size_t longest) {
  if (text.size() > longest) return fmt::format("has {} bytes, {} are the limit", text.size(), longest);
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint c = first_code_point(text.substr(at));
    if (c.bytes == 0) return fmt::format("is not valid UTF-8 at byte {}", at + 1);
    if (is_control(c.value))
      return fmt::format("has the control character U+{:04X} at byte {}", c.value, at + 1);
    at += c.bytes;
  }
  return std::nullopt;
}

std::string shown(std::string_view text) {
  constexpr std::size_t longest = 60;
  std::string out = "\"";
  std::size_t at = 0;
  while (at < text.size() && at < longest) {
    const CodePoint c = first_code_point(text.substr(at));
    if (c.bytes == 0 || is_control(c.value)) {
      out += fmt::format("\\x{:02x}", static_cast<unsigned char>(text[at]));
      ++at;
    } else {
      out += text.substr(at, c.bytes);
      at += c.bytes;
    }
  }
  return out + (at < text.size() ? "...\"" : "\"");
}

std::string id_from(std::string_view name) {
  constexpr std::size_t longest = 40;
  std::string id;
  for (const char c : name) {
    const bool upper = c >= 'A' && c <= 'Z';
    const bool kept = upper || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (kept) {
      id += upper ? static_cast<char>(c - 'A' + 'a') : c;
    } else if (!id.empty() && id.back() != '-') {
      id += '-';
    }
    if (id.size() == longest) break;
  }
  while (!id.empty() && id.back() == '-') id.pop_back();
  return id.empty() ? "project" : id;
}

std::optional<Diagnostic> path_problem(std::string_view path) {
  constexpr std::string_view example = "give a path inside the project like \"photometry/panel.ies\"";
  if (path.empty()) return bad_path(path, "is no path", std::string(example));
  if (const auto problem = text_problem(path, kLongestPath))
    return bad_path(path, *problem, "rename the file and the reference to it");
  if (path.find('\\') != std::string_view::npos)
    return bad_path(path, "has a backslash", "separate folders with /");
  const bool drive = path.size() >= 2 && path[1] == ':' && std::isalpha(static_cast<unsigned char>(path[0]));
  if (path.front() == '/' || drive) return bad_path(path, "is absolute", std::string(example));
  for (std::size_t start = 0; start <= path.size();) {
    const std::size_t end = std::min(path.find('/', start), path.size());
    const std::string_view component = path.substr(start, end - start);
    if (component.empty()) return bad_path(path, "has a part without a name", "leave out the / too many");
    if (component == "." || component == "..") {
      return bad_path(path, fmt::format("has the part \"{}\"", component),
                      "bring the file into the project's folder and name it from there");
    }
    start = end + 1;
  }
  return std::nullopt;
}

}  // namespace halflight::store
