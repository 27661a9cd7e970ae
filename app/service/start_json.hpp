#pragma once
#include "projects/project_files.hpp"
#include "service/desk.hpp"
#include "service/json.hpp"
#include "service/problem.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

// From nothing to a studied room: what a place, a room and its first lighting add to a document, as edits
// that the page shows before it saves them.

namespace halflight::service {

/// Edits of a document, with the document as they leave it.
class Draft {
 public:
  /// `text`: of a document that is JSON.
  explicit Draft(const std::string& text);

  /// Puts `value` at the key or item that `pointer` names, there or not.
  void set(const std::string& pointer, Json value);
  /// Adds `value` to the end of the list at `pointer`, which is made where it is not there yet.
  void append(const std::string& pointer, Json value);

  [[nodiscard]] const Json& document() const { return document_; }
  [[nodiscard]] const Json& edits() const { return edits_; }
  /// Of the document's coordinates.
  [[nodiscard]] double metres_per_unit() const;

 private:
  Json document_;
  Json edits_ = Json::array();
};

/// What the library offers to begin with: kinds of space, luminaire types, climates, code editions.
Json library_json();

/// What is left out, or empty, stays as the document has it.
struct SiteWish {
  std::string climate;                 ///< of the library; or
  std::string weather_file;            ///< of the project's files
  std::optional<double> latitude_deg;  ///< left out with a new climate or file: as that has it
  std::optional<double> longitude_deg;
  std::optional<double> utc_offset_h;
  std::string clock;           ///< when clocks change: "none", "europe", "north_america"
  std::string kind;            ///< of the project: "new_building", "addition", "alteration"
  std::string unit;            ///< of coordinates, "m" or "ft"; only where no room is drawn yet
  std::optional<Json> codes;   ///< {code, edition}
  Json hours = Json::array();  ///< {weekdays, open, close} of the calendar, where there is none yet
  std::string storey;          ///< name of the first storey, where there is none yet
};
/// {edits, label}: site, type, codes, and where they are missing a storey, a calendar and two designs.
Answer<Json> site_edits(Desk& desk, const OpenRevision& revision, const SiteWish& wish);

struct FoundWish {
  std::string luminaire_type;        ///< empty: what is usual for the kind
  std::optional<std::size_t> count;  ///< left out: as many as hold the same target
  std::string watts;                 ///< of one, as typed; empty: of the type
};
struct RoomWish {
  std::string space;    ///< id of a room that is there and has no lighting yet; or
  std::string typical;  ///< of a typical, whose rooms all get it; or a new room:
  std::string kind;
  std::string number;
  std::string name;
  std::string storey;  ///< empty: the first
  std::string width;   ///< as typed; or
  std::string length;
  Polygon floor;                 ///< metres, building axes
  bool apart = false;            ///< the floor's place says nothing: it goes beside the rooms that are there
  std::string height;            ///< as typed; empty: the default
  Json windows = Json::array();  ///< {wall, offset, sill, width, height}, lengths as typed
  Json doors = Json::array();    ///< {wall, offset, width}
  // Its lighting:
  std::string luminaire_type;  ///< empty: what is usual for the kind
  std::string target;          ///< as typed; empty: that of the kind
  std::optional<FoundWish> as_found;
};
/// {edits, label, space, preview}: a room with luminaires that hold its target in its own light, devices,
/// groups and the usual sequence; with `as_found` also the lighting that it is compared with.
Answer<Json> room_edits(Desk& desk, const Revision& revision, const RoomWish& wish);

}  // namespace halflight::service
