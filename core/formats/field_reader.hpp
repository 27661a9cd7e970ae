#pragma once
#include "base/units.hpp"
#include "domain/project.hpp"
#include "formats/project_fields.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

namespace halflight::formats {

/// The part of the reader that does not depend on the type that is read: diagnostics, ids and references.
class ReaderState : public ValueContext {
 public:
  ReaderState(std::string file, const domain::Library* library) : file_(std::move(file)), library_(library) {}

  void report(std::string problem, std::string remedy) override;
  void identify(Thing thing, std::string& id) override;
  void refer(Thing thing, std::string& id) override;

  /// Adds unless the same was said before; after kMostDiagnostics of a severity only counts.
  void add(Diagnostic::Severity severity, const std::string& where, std::string problem, std::string remedy);
  /// Checks that every reference names something. Call once, after all is read.
  void resolve_references();

  [[nodiscard]] Diagnostics take_diagnostics();
  /// Where in the document an object stands that the domain holds at another path: "/spaces/3/openings" there
  /// may be "/typicals/0/space/openings" here. Only paths that differ.
  [[nodiscard]] const std::map<std::string, std::string>& origins() const { return origins_; }
  [[nodiscard]] const std::vector<domain::DefaultTaken>& defaults() const { return defaults_; }

 protected:
  static constexpr std::size_t kMostDiagnostics = 500;
  /// Values that rooms get from typicals, an object counted as ten; a slip of the hand must not fill the
  /// memory.
  static constexpr std::size_t kMostInherited = 1'000'000;

  /// Whether `value` may be read once more for a room that inherits it; says when that is too much.
  bool may_inherit(const JsonNode& value, const std::string& where);

  [[nodiscard]] std::string scope_key(Scope scope) const;
  /// Remembers an id; gives the place of the first of that name.
  std::string register_id(Thing thing, const std::string& id, const std::string& where);
  void take_default(const std::string& where, std::string text, std::string_view source);
  void report_unknown_keys(const JsonNode& node, const std::string& where,
                           const std::vector<std::string_view>& known);

  std::string file_;
  const domain::Library* library_;
  const domain::SpaceKind* kind_ = nullptr;  ///< of the space being read
  std::string design_scope_;
  std::string space_scope_;
  std::string type_scope_;
  std::string typical_;   ///< whose keys or blocks are being read
  bool partial_ = false;  ///< a typical's own space: nothing is missing, no default is taken
  // A block of a typical, as it stands for one space.
  bool local_ = false;
  bool collecting_ = false;  ///< only the block's own ids are wanted, and its mistakes
  std::string local_space_;
  std::set<std::pair<Thing, std::string>> local_ids_;
  std::map<std::string, std::string> origins_;

 private:
  [[nodiscard]] bool is_full(Diagnostic::Severity severity) const {
    return said_of_severity_[static_cast<std::size_t>(severity)] == kMostDiagnostics;
  }

  struct Use {
    Thing thing;
    std::string scope;
    std::string id;
    std::string pointer;
  };
  Diagnostics diagnostics_;
  std::set<std::string> said_;
  std::array<std::size_t, 3> said_of_severity_{};
  std::size_t unsaid_ = 0;
  std::size_t inherited_ = 0;
  std::map<std::pair<Thing, std::string>, std::map<std::string, std::string>> ids_;  ///< id -> pointer
  std::vector<Use> uses_;
  std::vector<domain::DefaultTaken> defaults_;
  std::set<std::string> defaulted_;
};

/// The visitor of project_fields.hpp that fills values from a document and says everything that is wrong with
/// it.
class FieldReader final : public ReaderState {
 public:
  using ReaderState::ReaderState;

  /// Reads a whole document or file.
  void read(const JsonNode& root, ProjectFile& file);
  void read(const JsonNode& root, LibraryFile& file);

  template <class T, class Codec>
  void required(std::string_view key, T& member, const Codec& codec, std::string_view doc) {
    const Found found = find(key);
    if (found.node != nullptr) {
      read_value(found, member, codec);
    } else if (!partial_) {
      // Without an id nothing can be said about the object; anything else may come later.
      constexpr bool is_id = std::is_same_v<Codec, Id>;
      add(is_id ? Diagnostic::Severity::error : Diagnostic::Severity::missing, found.pointer,
          std::string(key) + " is not given", lower_first(doc));
    }
  }

  template <class T, class Codec>
  void with_default(std::string_view key, T& member, const Codec& codec, const Basis& basis, std::string_view,
                    bool relevant = true) {
    const Found found = find(key);
    if (found.node != nullptr)
      read_value(found, member, codec);
    else if (relevant && !partial_)
      take_default(found.pointer, codec.text(member), source_of(basis));
  }

  template <class T, class Codec>
  void optional(std::string_view key, T& member, const Codec& codec, std::string_view) {
    const Found found = find(key);
    if (found.node != nullptr) read_value(found, member, codec);
  }

  template <class T>
  void object(std::string_view key, T& member, std::string_view) {
    const Found found = find(key);
    if (found.node == nullptr) {
      Frame inner{nullptr, found.pointer, path_of(key)};
      read_object(std::move(inner), member);
    } else if (is_object(*found.node, found.pointer)) {
      read_found(found, path_of(key), member);
    }
  }

  template <class T>
  void maybe(std::string_view key, std::optional<T>& member, std::string_view) {
    const Found found = find(key);
    if (found.node == nullptr || !is_object(*found.node, found.pointer)) return;
    read_found(found, path_of(key), member.emplace());
  }

  template <class T>
  void list(std::string_view key, std::vector<T>& member, std::string_view) {
    const Found found = find(key);
    if (found.node != nullptr) {
      member.clear();
      read_items(found, path_of(key), member);
    }
    if constexpr (requires { member.front().space; }) {
      if (frame_ == design_frame_) {
        const std::size_t own = member.size();
        for (const Block& block : blocks_) expand(block, key, member, own);
      }
    }
  }

  void owner(std::string& space) {
    if (local_) {
      space = local_space_;
      space_scope_ = space;
      return;
    }
    required("space", space, Reference{Thing::space}, "Id of the space that it belongs to.");
    space_scope_ = space;
  }

  void header_read(ProjectFile& file) {
    metres_per_unit = file.coordinates == CoordinateUnit::ft ? kMetresPerFoot : 1.0;
    project_ = &file.project;
  }

  void kind_chosen(domain::Space& space);
  void space_done(domain::Space& space);
  /// Keeps what the kind of space gives only where the document says nothing of what is plugged in.
  void plug_loads_done(domain::Space& space);
  /// Keeps the share of divided bookings that the kind of space gives only where a wall can divide it.
  void bookings_done(domain::Space& space);

  template <class Codec>
  void document_only(std::string_view key, const Codec&, std::string_view) {
    frame_->known.push_back(key);
  }

  template <class Space>
  void partial_space(domain::Typical& typical, std::string_view key, std::string_view) {
    const Found found = find(key);
    if (found.node == nullptr || !is_object(*found.node, found.pointer)) return;
    if (!typical.id.empty()) typical_sources_[typical.id] = {found.node, found.pointer};
    // Read once for its own sake, so that mistakes show even where no room inherits.
    partial_ = true;
    Space sketch;
    read_object({found.node, found.pointer, found.pointer}, sketch);
    partial_ = false;
    kind_ = nullptr;
  }

  /// The blocks were read before the design's lists (read_item), which take what they give.
  template <class>
  void typical_blocks(std::string_view key, std::string_view) {
    frame_->known.push_back(key);
  }

 private:
  struct Frame {
    const JsonNode* node = nullptr;   ///< nullptr: the object is not there and every key is absent
    std::string pointer;              ///< in the document
    std::string path;                 ///< in the domain
    const JsonNode* under = nullptr;  ///< the typical's space, for keys that `node` does not list
    std::string under_pointer = {};
    Point2 under_offset_m = {};
    std::vector<std::string_view> known = {};
  };
  struct Found {
    const JsonNode* node = nullptr;
    std::string pointer;
    Point2 offset_m;
  };
  struct TypicalSource {
    const JsonNode* space = nullptr;
    std::string pointer;
  };

  static std::string lower_first(std::string_view doc);
  [[nodiscard]] std::string source_of(const Basis& basis) const;
  [[nodiscard]] std::string path_of(std::string_view key) const {
    return frame_->path + "/" + std::string(key);
  }

  Found find(std::string_view key) {
    frame_->known.push_back(key);
    Found found{nullptr, frame_->pointer + "/" + std::string(key), offset_m};
    if (frame_->node != nullptr) found.node = frame_->node->find(key);
    if (found.node == nullptr && frame_->under != nullptr) {
      const JsonNode* inherited = frame_->under->find(key);
      if (inherited != nullptr && may_inherit(*inherited, frame_->under_pointer)) {
        found = {inherited, frame_->under_pointer + "/" + std::string(key), frame_->under_offset_m};
        origins_[path_of(key)] = found.pointer;
      }
    }
    return found;
  }

  bool is_object(const JsonNode& node, const std::string& where) {
    if (node.kind == JsonNode::Kind::object) return true;
    add(Diagnostic::Severity::error, where, shown(node) + " stands where an object is expected",
        "put it in { and }");
    return false;
  }

  template <class T, class Codec>
  void read_value(const Found& found, T& member, const Codec& codec) {
    pointer = found.pointer;
    if (found.node->kind == JsonNode::Kind::null) {
      report("null says nothing", "leave the key out, or give it a value");
      return;
    }
    const Point2 outer_offset = std::exchange(offset_m, found.offset_m);
    T value = member;
    if (codec.read(*found.node, value, *this)) member = std::move(value);
    offset_m = outer_offset;
  }

  template <class T>
  void read_found(const Found& found, std::string path, T& member) {
    const Point2 outer_offset = std::exchange(offset_m, found.offset_m);
    if (path != found.pointer) origins_[path] = found.pointer;
    read_object({found.node, found.pointer, std::move(path)}, member);
    offset_m = outer_offset;
  }

  template <class T>
  void read_root(const JsonNode& node, T& value) {
    if (node.kind == JsonNode::Kind::object) {
      read_object({&node, "", ""}, value);
    } else {
      add(Diagnostic::Severity::error, "", shown(node) + " stands where the document is expected",
          "begin with {");
    }
  }

  template <class T>
  void read_object(Frame frame, T& value) {
    Frame* const outer = std::exchange(frame_, &frame);
    describe(*this, value);
    if (frame.node != nullptr) report_unknown_keys(*frame.node, frame.pointer, frame.known);
    frame_ = outer;
  }

  template <class T>
  void read_item(const Found& found, std::string path, T& item) {
    read_found(found, std::move(path), item);
  }
  void read_item(const Found& found, std::string path, domain::Space& space);
  void read_item(const Found& found, std::string path, domain::Design& design);
  void read_item(const Found& found, std::string path, domain::LuminaireType& type);
  void read_item(const Found& found, std::string path, domain::TaskArea& area);

  template <class T>
  void read_items(const Found& found, const std::string& path, std::vector<T>& members) {
    if (found.node->kind != JsonNode::Kind::array) {
      add(Diagnostic::Severity::error, found.pointer, shown(*found.node) + " stands where a list is expected",
          "put it in [ and ]");
      return;
    }
    for (std::size_t i = 0; i < found.node->children.size(); ++i) {
      const Found item{&found.node->children[i], found.pointer + "/" + std::to_string(i), found.offset_m};
      if (!is_object(*item.node, item.pointer)) continue;
      std::string item_path = path + "/" + std::to_string(members.size());
      read_item(item, std::move(item_path), members.emplace_back());
    }
  }

  /// A block of a typical within a design.
  struct Block {
    const JsonNode* node = nullptr;
    std::string pointer;
    std::string typical;
    std::set<std::pair<Thing, std::string>> ids;
  };
  void read_blocks(const Found& design);

  /// Adds what `block` lists under `key` once for each inheriting space, save where one of the `own` first
  /// members, which the design lists itself, takes its place.
  template <class T>
  void expand(const Block& block, std::string_view key, std::vector<T>& members, std::size_t own) {
    const JsonNode* list = block.node->find(key);
    const domain::Typical* typical = domain::find_by_id(project_->typicals, block.typical);
    if (list == nullptr || list->kind != JsonNode::Kind::array || typical == nullptr) return;
    local_ = true;
    local_ids_ = block.ids;
    typical_ = block.typical;
    expand_items(block, *list, key, members, own, typical->spaces);
    local_ = false;
    local_ids_.clear();
    typical_.clear();
  }

  template <class T>
  void expand_items(const Block& block, const JsonNode& list, std::string_view key, std::vector<T>& members,
                    std::size_t own, const std::vector<std::string>& spaces) {
    for (const std::string& space_id : spaces) {
      const domain::Space* space = domain::find_by_id(project_->spaces, space_id);
      if (space == nullptr || space->floor.empty()) continue;
      for (std::size_t i = 0; i < list.children.size(); ++i) {
        const JsonNode& node = list.children[i];
        if (node.kind != JsonNode::Kind::object || is_overridden(node, space_id, members, own)) continue;
        if (!may_inherit(node, block.pointer)) return;
        local_space_ = space_id;
        const Found item{&node, block.pointer + "/" + std::string(key) + "/" + std::to_string(i),
                         bounds(space->floor).low};
        std::string path = path_of(key) + "/" + std::to_string(members.size());
        read_found(item, std::move(path), members.emplace_back());
      }
    }
  }

  template <class T>
  static bool is_overridden(const JsonNode& node, const std::string& space_id, const std::vector<T>& members,
                            std::size_t own) {
    return std::any_of(members.begin(), members.begin() + static_cast<std::ptrdiff_t>(own),
                       [&](const T& member) {
                         if constexpr (requires { member.id; }) {
                           const JsonNode* id = node.find("id");
                           return id != nullptr && member.id == space_id + "." + id->text;
                         } else {
                           return member.space == space_id;
                         }
                       });
  }

  Frame* frame_ = nullptr;
  std::map<std::string, TypicalSource> typical_sources_;
  domain::Project* project_ = nullptr;  ///< being read
  Frame* design_frame_ = nullptr;       ///< of the design whose lists take what typicals give
  std::vector<Block> blocks_;
};

}  // namespace halflight::formats
