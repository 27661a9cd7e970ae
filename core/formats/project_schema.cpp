#include "formats/project_fields.hpp"
#include "formats/project_json.hpp"

#include <map>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

/// Reading a default's own text back tells whether it may be written: some members hold a mark for "left
/// out".
class Silent final : public ValueContext {
 public:
  void report(std::string, std::string) override {}
  void identify(Thing, std::string&) override {}
  void refer(Thing, std::string&) override {}
};

/// Collects the definitions of all types reached from the first.
class SchemaWriter {
 public:
  /// How an object of a type stands in a document: in full, as a typical's space without required keys, or in
  /// a block of a typical without its "space".
  enum class Form { full, partial, local };

  template <class T>
  std::string define(Form form = Form::full) {
    std::string name(kTypeName<T>);
    if (form == Form::partial) name += "_inherited";
    if (form == Form::local) name += "_local";
    const std::string reference = fmt::format(R"("$ref": "#/$defs/{}")", name);
    if (definitions_.contains(name)) return reference;
    definitions_[name] = "";  // in work: a type that contains itself would come back here
    SchemaWriter inner(definitions_, form);
    T value{};
    describe(inner, value);
    definitions_[name] = inner.object_schema();
    return reference;
  }

  SchemaWriter(std::map<std::string, std::string>& definitions, Form form)
      : definitions_(definitions), form_(form) {}

  [[nodiscard]] std::string object_schema() const {
    std::string required;
    if (may_inherit_ && form_ == Form::full) {
      required = fmt::format(
          R"(, "required": ["id"], "anyOf": [{{"required": ["typical"]}}, {{"required": [{}]}}])", required_);
    } else if (!required_.empty()) {
      required = fmt::format(R"(, "required": [{}])", required_);
    }
    return fmt::format(R"({{"type": "object", "properties": {{{}}}{}, "additionalProperties": false}})",
                       properties_, required);
  }

  template <class T, class Codec>
  void required(std::string_view key, T&, const Codec& codec, std::string_view doc) {
    property(key, codec.schema(), doc, "");
    if (form_ != Form::partial) required_ += (required_.empty() ? "" : ", ") + json_string(key);
  }
  template <class T, class Codec>
  void with_default(std::string_view key, T& member, const Codec& codec, const Basis& basis,
                    std::string_view doc, bool = true) {
    const bool from_kind = basis.part != Basis::Part::field;
    std::string text(doc);
    text += from_kind ? " Default: that of the kind of space." : fmt::format(" Default: {}.", basis.source);
    property(key, codec.schema(), text, from_kind ? "" : default_of(member, codec));
  }
  template <class T, class Codec>
  void optional(std::string_view key, T& member, const Codec& codec, std::string_view doc) {
    property(key, codec.schema(), doc, default_of(member, codec));
  }
  template <class T>
  void object(std::string_view key, T&, std::string_view doc) {
    property(key, define<T>(), doc, "");
  }
  template <class T>
  void maybe(std::string_view key, std::optional<T>&, std::string_view doc) {
    property(key, define<T>(), doc, "");
  }
  template <class T>
  void list(std::string_view key, std::vector<T>&, std::string_view doc) {
    constexpr bool has_owner = requires(T & t) { t.space; };
    const bool local = form_ == Form::local && has_owner;
    property(key,
             fmt::format(R"("type": "array", "items": {{{}}})", define<T>(local ? Form::local : Form::full)),
             doc, "");
  }
  void owner(std::string& space) {
    if (form_ != Form::local)
      required("space", space, Reference{Thing::space}, "Id of the space that it belongs to.");
  }
  template <class Codec>
  void document_only(std::string_view key, const Codec& codec, std::string_view doc) {
    property(key, codec.schema(), doc, "");
  }
  template <class Space>
  void partial_space(domain::Typical&, std::string_view key, std::string_view doc) {
    property(key, define<Space>(Form::partial), doc, "");
  }
  template <class Block>
  void typical_blocks(std::string_view key, std::string_view doc) {
    property(key, fmt::format(R"("type": "array", "items": {{{}}})", define<Block>(Form::local)), doc, "");
  }
  void header_read(ProjectFile&) {}
  void kind_chosen(domain::Space&) {}
  void space_done(domain::Space&) { may_inherit_ = true; }

 private:
  void property(std::string_view key, const std::string& schema, std::string_view doc,
                const std::string& standard) {
    properties_ +=
        fmt::format(R"({}{}: {{"description": {}, {}{}}})", properties_.empty() ? "" : ", ", json_string(key),
                    json_string(doc), schema, standard.empty() ? "" : R"(, "default": )" + standard);
  }

  /// The default as JSON text; nothing for empty text and lists, and for what cannot be written.
  template <class T, class Codec>
  static std::string default_of(const T& member, const Codec& codec) {
    std::string text = codec.text(member);
    if (text.empty() || text == "\"\"" || text == "[]" || text == "{}") return "";
    const Result<JsonNode> node = parse_json(text, "");
    T back{};
    Silent silent;
    return node && codec.read(*node, back, silent) ? text : "";
  }

  std::map<std::string, std::string>& definitions_;
  Form form_;
  std::string properties_;
  std::string required_;
  bool may_inherit_ = false;  ///< what is required may come from a typical instead
};

}  // namespace

std::string project_schema_json() {
  std::map<std::string, std::string> definitions;
  SchemaWriter writer(definitions, SchemaWriter::Form::full);
  const std::string root = writer.define<ProjectFile>();
  std::string text = fmt::format(
      R"({{"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Halflight project", )"
      R"("description": "A project document, format {}. Generated from core/formats/project_fields.hpp.", {}, )"
      R"("$defs": {{)",
      kProjectFormat, root);
  bool first = true;
  for (const auto& [name, schema] : definitions) {
    text += (first ? "" : ", ") + json_string(name) + ": " + schema;
    first = false;
  }
  text += "}}";
  return format_json(*parse_json(text, "")) + "\n";
}

}  // namespace halflight::formats
