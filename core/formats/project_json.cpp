#include "formats/project_json.hpp"

#include "domain/validation.hpp"
#include "formats/field_reader.hpp"

#include <charconv>
#include <utility>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

/// Appends the library's drivers and luminaire types that the project uses and does not define itself, so
/// that everything after the reader finds them in one place.
void adopt_library(domain::Project& project, const domain::Library& library) {
  const auto adopt_type = [&](const std::string& id) {
    if (domain::find_by_id(project.luminaire_types, id) != nullptr) return;
    if (const domain::LuminaireType* type = domain::find_by_id(library.luminaire_types, id))
      project.luminaire_types.push_back(*type);
  };
  for (const domain::Design& design : project.designs)
    for (const domain::Luminaire& luminaire : design.luminaires) adopt_type(luminaire.type);
  for (const domain::LuminaireType& type : project.luminaire_types)
    for (const domain::Channel& channel : type.channels) {
      if (domain::find_by_id(project.drivers, channel.driver) != nullptr) continue;
      if (const domain::Driver* driver = domain::find_by_id(library.drivers, channel.driver))
        project.drivers.push_back(*driver);
    }
}

/// Whether the document's format can be read. Says so where it cannot. Older formats are migrated here, one
/// version after the other, once there is a second version.
bool check_format(const JsonNode& root, const std::string& file, Diagnostics& diagnostics) {
  constexpr std::string_view kFamily = "halflight-project/";
  const auto refuse = [&](std::string problem, std::string remedy) {
    diagnostics.push_back(
        {Diagnostic::Severity::error, file, "/format", std::move(problem), std::move(remedy)});
    return false;
  };
  const JsonNode* format = root.find("format");
  const std::string remedy = fmt::format("begin the document with \"format\": \"{}\"", kProjectFormat);
  if (format == nullptr) return refuse("the format is not given", remedy);
  if (format->kind != JsonNode::Kind::string || !format->text.starts_with(kFamily))
    return refuse(fmt::format("{} is no format of a project", shown(*format)), remedy);
  if (format->text == kProjectFormat) return true;
  const std::string version = format->text.substr(kFamily.size());
  int number = 0;
  const auto [end, error] = std::from_chars(version.data(), version.data() + version.size(), number);
  if (error != std::errc() || end != version.data() + version.size() || number < 1)
    return refuse(fmt::format("{} is no version of the format", shown(*format)), remedy);
  return refuse(fmt::format("the document has format {}, and this program reads up to {}", number, 1),
                "open it with a newer Halflight; saving it here would lose what it says");
}

/// The blanks in front of `offset` when nothing else stands between them and the start of the line.
std::optional<std::string> margin_before(std::string_view text, std::size_t offset) {
  std::size_t begin = offset;
  while (begin > 0 && (text[begin - 1] == ' ' || text[begin - 1] == '\t')) --begin;
  if (begin > 0 && text[begin - 1] != '\n') return std::nullopt;
  return std::string(text.substr(begin, offset - begin));
}

std::string_view newline_of(std::string_view text) {
  return text.find("\r\n") == std::string_view::npos ? "\n" : "\r\n";
}

std::string with_inserted(const std::string& text, std::size_t at, std::size_t end, std::string_view piece) {
  return text.substr(0, at) + std::string(piece) + text.substr(end);
}

/// Where a child begins, its key included.
std::size_t begin_of(const JsonNode& parent, std::size_t child) {
  return parent.kind == JsonNode::Kind::object ? parent.keys[child].begin : parent.children[child].begin;
}

/// `text` with `member` added at the end of `parent`, laid out as its siblings are.
std::string with_appended(const std::string& text, const JsonNode& parent, const std::string& member) {
  if (!parent.children.empty()) {
    const std::size_t end = parent.children.back().end;
    const auto margin = margin_before(text, begin_of(parent, parent.children.size() - 1));
    const std::string gap = margin ? std::string(newline_of(text)) + *margin : " ";
    return with_inserted(text, end, end, "," + gap + member);
  }
  return with_inserted(text, parent.begin + 1, parent.end - 1, member);
}

std::pair<std::string, std::string> split_pointer(std::string_view pointer) {
  const std::size_t slash = pointer.rfind('/');
  return {std::string(pointer.substr(0, slash)), pointer_steps(pointer.substr(slash)).front()};
}

}  // namespace

ProjectDocument ProjectDocument::load(std::span<const std::byte> bytes, std::string file_name,
                                      const domain::Library& library) {
  ProjectDocument document;
  document.text_.assign(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  document.file_name_ = std::move(file_name);
  document.library_ = &library;
  document.read();
  return document;
}

void ProjectDocument::read() {
  project_ = {};
  diagnostics_.clear();
  origins_.clear();
  Result<JsonNode> root = parse_json(text_, file_name_);
  is_json_ = root.has_value();
  if (!root) {
    diagnostics_ = root.error();
    return;
  }
  root_ = std::move(*root);
  if (root_.kind == JsonNode::Kind::object && !check_format(root_, file_name_, diagnostics_)) return;

  FieldReader reader(file_name_, library_);
  ProjectFile file;
  reader.read(root_, file);
  reader.resolve_references();
  project_ = std::move(file.project);
  project_.defaults_taken = reader.defaults();
  origins_ = reader.origins();
  diagnostics_ = reader.take_diagnostics();
  if (root_.kind != JsonNode::Kind::object) return;
  adopt_library(project_, *library_);
  for (Diagnostic& d : domain::validate(project_)) {
    d.file = file_name_;
    d.where = document_pointer(d.where);
    diagnostics_.push_back(std::move(d));
  }
}

Hash ProjectDocument::hash() const {
  return hash_bytes(std::as_bytes(std::span(text_.data(), text_.size())));
}

std::string ProjectDocument::document_pointer(const std::string& domain_path) const {
  // The longest known beginning decides; what follows it is the same in both.
  for (std::size_t length = domain_path.size(); length != std::string::npos && length > 0;
       length = domain_path.rfind('/', length - 1)) {
    const auto found = origins_.find(domain_path.substr(0, length));
    if (found != origins_.end()) return found->second + domain_path.substr(length);
  }
  return domain_path;
}

void ProjectDocument::take_from_file(std::size_t luminaire_type, std::size_t channel, double lumens,
                                     double input_w) {
  domain::Channel& taker = project_.luminaire_types[luminaire_type].channels[channel];
  if (taker.lumens <= 0.0) taker.lumens = lumens;
  if (taker.input_w <= 0.0) taker.input_w = input_w;
}

Diagnostics ProjectDocument::refuse(std::string_view pointer, std::string problem, std::string remedy) const {
  return {
      {Diagnostic::Severity::error, file_name_, std::string(pointer), std::move(problem), std::move(remedy)}};
}

Diagnostics ProjectDocument::splice(std::string text) {
  Result<JsonNode> parsed = parse_json(text, file_name_);
  if (!parsed) return parsed.error();
  text_ = std::move(text);
  root_ = *std::move(parsed);
  return {};
}

Diagnostics ProjectDocument::replace(std::string_view pointer, std::string_view json) {
  Diagnostics refused = put(pointer, json);
  if (refused.empty()) read();
  return refused;
}

Diagnostics ProjectDocument::remove(std::string_view pointer) {
  Diagnostics refused = take_out(pointer);
  if (refused.empty()) read();
  return refused;
}

Diagnostics ProjectDocument::apply(std::span<const DocumentEdit> edits) {
  const std::string before = text_;
  for (const DocumentEdit& edit : edits) {
    Diagnostics refused;
    switch (edit.operation) {
      case DocumentEdit::Operation::add:
        refused = insert(edit.pointer, edit.json);
        break;
      case DocumentEdit::Operation::replace:
        refused = at_pointer(root_, edit.pointer) == nullptr
                      ? refuse(edit.pointer, "the document has no value here to replace",
                               "name a value that is there, or add one")
                      : put(edit.pointer, edit.json);
        break;
      case DocumentEdit::Operation::remove:
        refused = take_out(edit.pointer);
        break;
    }
    if (!refused.empty()) {
      if (text_ != before) splice(before);
      return refused;
    }
  }
  read();
  return {};
}

Diagnostics ProjectDocument::insert(std::string_view pointer, std::string_view json) {
  const JsonNode* node = is_json_ ? at_pointer(root_, pointer) : nullptr;
  const JsonNode* parent =
      node == nullptr || pointer.empty() ? nullptr : at_pointer(root_, split_pointer(pointer).first);
  if (parent == nullptr || parent->kind != JsonNode::Kind::array) return put(pointer, json);
  if (Result<JsonNode> value = parse_json(json, "the new value"); !value) return value.error();
  const auto margin = margin_before(text_, node->begin);
  const std::string gap = margin ? std::string(newline_of(text_)) + *margin : " ";
  return splice(with_inserted(text_, node->begin, node->begin, std::string(json) + "," + gap));
}

Diagnostics ProjectDocument::put(std::string_view pointer, std::string_view json) {
  if (!is_json_) return refuse(pointer, "the document is no JSON", "mend its syntax first");
  if (Result<JsonNode> value = parse_json(json, "the new value"); !value) return value.error();
  if (const JsonNode* node = at_pointer(root_, pointer))
    return splice(with_inserted(text_, node->begin, node->end, json));
  if (pointer.empty() || pointer.front() != '/')
    return refuse(pointer, "this is no JSON pointer", "begin it with /");
  const auto [parent_pointer, step] = split_pointer(pointer);
  const JsonNode* parent = at_pointer(root_, parent_pointer);
  if (parent != nullptr && parent->kind == JsonNode::Kind::object)
    return splice(with_appended(text_, *parent, json_string(step) + ": " + std::string(json)));
  if (parent != nullptr && parent->kind == JsonNode::Kind::array &&
      (step == "-" || step == std::to_string(parent->children.size())))
    return splice(with_appended(text_, *parent, std::string(json)));
  return refuse(pointer, "the document has no such place",
                "name a value that is there, or a key to add to an object");
}

Diagnostics ProjectDocument::take_out(std::string_view pointer) {
  if (!is_json_) return refuse(pointer, "the document is no JSON", "mend its syntax first");
  const JsonNode* node = at_pointer(root_, pointer);
  if (node == nullptr || pointer.empty())
    return refuse(pointer, "the document has no such place", "name a key or an item that is there");
  const JsonNode* parent = at_pointer(root_, split_pointer(pointer).first);
  const auto index = static_cast<std::size_t>(node - parent->children.data());
  // With the comma and blanks on one side, so that the neighbours stay as they are.
  std::size_t begin = begin_of(*parent, index);
  std::size_t end = node->end;
  if (index > 0)
    begin = parent->children[index - 1].end;
  else if (parent->children.size() > 1)
    end = begin_of(*parent, 1);
  else
    begin = parent->begin + 1, end = parent->end - 1;
  return splice(with_inserted(text_, begin, end, ""));
}

}  // namespace halflight::formats
