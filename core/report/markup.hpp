#pragma once
#include <initializer_list>
#include <string>
#include <string_view>

namespace halflight::report {

/// A number in a drawing or attribute: at most `decimals` decimals, no trailing zeros, never an exponent.
std::string num(double value, int decimals = 2);

struct Attribute {
  Attribute(std::string_view attribute, std::string_view text) : name(attribute), value(text) {}
  Attribute(std::string_view attribute, double number) : name(attribute), value(num(number)) {}
  std::string_view name;
  std::string value;
};
using Attributes = std::initializer_list<Attribute>;

/// Writes HTML and SVG. Whatever comes from a project passes through `text` or an attribute's value, both of
/// which escape, so that a hostile name can never become an element, an attribute or a script. Tag and
/// attribute names are literals of this program.
class Markup {
 public:
  /// Closes its element when it goes out of scope.
  class Element {
   public:
    Element(Markup& markup, std::string_view tag) : markup_(markup), tag_(tag) {}
    ~Element() { markup_.close(tag_); }
    Element(const Element&) = delete;
    Element& operator=(const Element&) = delete;

   private:
    Markup& markup_;
    std::string_view tag_;
  };

  [[nodiscard]] Element open(std::string_view tag, Attributes attributes = {});
  /// An element that holds text only.
  void leaf(std::string_view tag, Attributes attributes, std::string_view text);
  void leaf(std::string_view tag, std::string_view text) { leaf(tag, {}, text); }
  /// An element without content.
  void empty(std::string_view tag, Attributes attributes = {});
  void text(std::string_view text);
  /// Markup written by this program, not by a document: a style sheet, a doctype, a finished drawing.
  void trusted(std::string_view markup) { out_ += markup; }
  [[nodiscard]] const std::string& str() const { return out_; }

 private:
  void start(std::string_view tag, Attributes attributes);
  void close(std::string_view tag);
  void escape(std::string_view text);
  std::string out_;
};

}  // namespace halflight::report
