#pragma once
#include "base/diagnostic.hpp"
#include "base/hash.hpp"
#include "domain/project.hpp"
#include "formats/format_names.hpp"
#include "formats/json_tree.hpp"

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <string_view>

namespace halflight::formats {

/// One step of a change to a document, as RFC 6902 has it: `add` puts a new key into an object, or inserts
/// into a list before the item at that index ("-": at its end).
struct DocumentEdit {
  enum class Operation { add, replace, remove } operation = Operation::replace;
  std::string pointer;
  std::string json;  ///< the value's JSON text; not read by `remove`
};

/// A project document: the text as somebody typed it, and what it means. The text is the source of truth: it
/// is never laid out anew, and an edit changes only the bytes of the value concerned.
class ProjectDocument {
 public:
  /// Reads a document. Never fails: what cannot be understood is in `diagnostics`, and the project holds what
  /// can. `file_name` is how the user calls the file, for messages. `library` must outlive the document.
  static ProjectDocument load(std::span<const std::byte> bytes, std::string file_name,
                              const domain::Library& library);

  /// Spaces are resolved from their typicals, typicals of designs expanded, defaults filled in, and the
  /// drivers and luminaire types of the library that are used follow the project's own.
  [[nodiscard]] const domain::Project& project() const { return project_; }
  /// Errors, warnings and what is missing; `where` is a JSON pointer into the text, or line and column where
  /// the text is no JSON.
  [[nodiscard]] const Diagnostics& diagnostics() const { return diagnostics_; }
  [[nodiscard]] const std::string& text() const { return text_; }
  [[nodiscard]] const std::string& file_name() const { return file_name_; }
  /// Of the text, byte for byte.
  [[nodiscard]] Hash hash() const;

  /// Puts the JSON text `json` in place of the value at `pointer`. A key that the object does not have yet is
  /// added at its end; "-" or the next index adds to the end of a list. Returns why the edit was refused, and
  /// then nothing has changed; if nothing is returned, `project` and `diagnostics` are those of the new text
  /// (which may have new errors: an unfinished document is a document).
  Diagnostics replace(std::string_view pointer, std::string_view json);
  /// Takes the key or item at `pointer` out. Returns why that was refused.
  Diagnostics remove(std::string_view pointer);

  /// Makes all edits, each on what the one before has left, or none of them. Returns why they were refused.
  /// Many edits in one call are read once.
  Diagnostics apply(std::span<const DocumentEdit> edits);

  /// The document's pointer of a place in the domain, such as "/spaces/3/openings/0" for
  /// `project().spaces[3].openings[0]`: objects that come from typicals stand elsewhere in the text.
  [[nodiscard]] std::string document_pointer(const std::string& domain_path) const;

  /// Gives a channel the lumens and input watts of its photometric file, where the document leaves them to it
  /// (they are 0). An edit takes them back.
  void take_from_file(std::size_t luminaire_type, std::size_t channel, double lumens, double input_w);

 private:
  void read();
  // These change the text and its tree; what it means is read when all is done.
  Diagnostics splice(std::string text);
  Diagnostics put(std::string_view pointer, std::string_view json);
  Diagnostics insert(std::string_view pointer, std::string_view json);
  Diagnostics take_out(std::string_view pointer);
  [[nodiscard]] Diagnostics refuse(std::string_view pointer, std::string problem, std::string remedy) const;

  std::string text_;
  std::string file_name_;
  const domain::Library* library_ = nullptr;
  JsonNode root_;
  bool is_json_ = false;
  domain::Project project_;
  Diagnostics diagnostics_;
  std::map<std::string, std::string> origins_;
};

/// JSON Schema (2020-12) of a project document, generated from the same description that reads it.
/// schema/project.schema.json is this text.
std::string project_schema_json();

}  // namespace halflight::formats
