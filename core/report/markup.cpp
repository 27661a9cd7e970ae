#include "report/markup.hpp"

#include <charconv>
#include <cmath>
#include <system_error>

namespace halflight::report {

std::string num(double value, int decimals) {
  if (!std::isfinite(value)) return "0";
  char digits[64];
  const auto written =
      std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, decimals);
  if (written.ec != std::errc()) return "0";
  std::string text(digits, written.ptr);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

void Markup::escape(std::string_view text) {
  for (const char c : text) {
    switch (c) {
      case '&':
        out_ += "&amp;";
        break;
      case '<':
        out_ += "&lt;";
        break;
      case '>':
        out_ += "&gt;";
        break;
      case '"':
        out_ += "&quot;";
        break;
      case '\'':
        out_ += "&#39;";
        break;
      default:
        // Control characters have no place in a document and some of them end one.
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') out_ += c;
    }
  }
}

void Markup::start(std::string_view tag, Attributes attributes) {
  out_.append("<").append(tag);
  for (const Attribute& a : attributes) {
    out_.append(" ").append(a.name).append("=\"");
    escape(a.value);
    out_ += '"';
  }
}

Markup::Element Markup::open(std::string_view tag, Attributes attributes) {
  start(tag, attributes);
  out_ += '>';
  return {*this, tag};
}

void Markup::close(std::string_view tag) { out_.append("</").append(tag).append(">\n"); }

void Markup::leaf(std::string_view tag, Attributes attributes, std::string_view text) {
  start(tag, attributes);
  out_ += '>';
  escape(text);
  out_.append("</").append(tag).append(">");
}

void Markup::empty(std::string_view tag, Attributes attributes) {
  start(tag, attributes);
  out_ += "/>";
}

void Markup::text(std::string_view text) { escape(text); }

}  // namespace halflight::report
