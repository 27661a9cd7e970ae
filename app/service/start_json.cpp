#include "service/start_json.hpp"

#include "choose/starting_control.hpp"
#include "codes/code_minimum.hpp"
#include "formats/object_text.hpp"
#include "formats/project_fields.hpp"
#include "formats/quantity_text.hpp"
#include "service/light_json.hpp"
#include "wording/figures.hpp"
#include "wording/sequence.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include <fmt/format.h>

namespace halflight::service {

namespace {

using domain::Design;

/// What a study can use of a room of this size; larger ones are several rooms.
constexpr double kLargestSide_m = 200.0;
constexpr double kSmallestSide_m = 0.8;
/// Along the walls, where there is no task (EN 12464-1, area of the grid, from memory).
constexpr double kEdge_m = 0.5;
/// Between a room whose place is not known and those that are there.
constexpr double kApart_m = 1.0;

template <class E>
std::string_view word(E e) {
  return formats::Words<E>::kAll[static_cast<std::size_t>(e)];
}

Answer<double> length_of(const std::string& text, const char* key) {
  const Result<double> metres = formats::parse_quantity(text, formats::kLength, "m");
  if (!metres)
    return refuse(Problem::Code::bad_request, fmt::format("the {} {}", key, metres.error().front().problem),
                  metres.error().front().remedy, fmt::format("/{}", key));
  return *metres;
}

const Json& list_of(const Json& document, const char* key) {
  static const Json kNone = Json::array();
  const auto found = document.find(key);
  return found != document.end() && found->is_array() ? *found : kNone;
}
std::string text_at(const Json& object, const char* key) {
  const auto found = object.is_object() ? object.find(key) : object.end();
  return found != object.end() && found->is_string() ? found->get<std::string>() : "";
}

/// `wanted`, or with a number behind it where the list has such an id already.
std::string free_id(const Json& list, const std::string& wanted) {
  std::set<std::string> taken;
  for (const Json& item : list) taken.insert(text_at(item, "id"));
  std::string id = wanted;
  for (int n = 2; taken.count(id) > 0; ++n) id = fmt::format("{}-{}", wanted, n);
  return id;
}

/// An id out of what people write on doors.
std::string id_of(const std::string& words) {
  constexpr std::size_t kLongest = 40;
  std::string id;
  for (const char c : words) {
    const bool is_letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    const bool is_mark = c == '.' || c == '_' || c == '-';
    if (is_letter || (is_mark && !id.empty()))
      id += c;
    else if (!id.empty() && id.back() != '-')
      id += '-';
    if (id.size() == kLongest) break;
  }
  while (!id.empty() && id.back() == '-') id.pop_back();
  return id;
}

/// Pointer of the design of a role; it is made where there is none.
std::string design_of(Draft& draft, Design::Role role) {
  const Json& designs = list_of(draft.document(), "designs");
  for (std::size_t d = 0; d < designs.size(); ++d)
    if (text_at(designs[d], "role") == word(role)) return fmt::format("/designs/{}", d);
  const bool found = role == Design::Role::as_found;
  draft.append("/designs", {{"id", free_id(designs, found ? "as-found" : "proposal")},
                            {"name", found ? "As found" : "Proposal"},
                            {"role", word(role)}});
  return fmt::format("/designs/{}", list_of(draft.document(), "designs").size() - 1);
}

Json outline(const Polygon& polygon, double metres_per_unit) {
  const auto rounded = [&](double metres) { return std::round(1000.0 * metres / metres_per_unit) / 1000.0; };
  Json all = Json::array();
  for (const Point2 p : polygon) all.push_back({rounded(p.x), rounded(p.y)});
  return all;
}

/// The floor without its edge; the whole floor where little else would be left.
Polygon task_outline(const Polygon& floor) {
  constexpr double kLeastShare = 0.35;
  const Region inner = offset(floor, -kEdge_m);
  if (inner.size() == 1 && inner.front().holes.empty() && area(inner) >= kLeastShare * area(floor))
    return inner.front().outline;
  return floor;
}

std::vector<formats::DocumentEdit> steps_of(const Json& edits) {
  std::vector<formats::DocumentEdit> steps;
  for (const Json& edit : edits)
    steps.push_back({edit["op"] == "add" ? formats::DocumentEdit::Operation::add
                                         : formats::DocumentEdit::Operation::replace,
                     edit["path"].get<std::string>(), text_of(edit["value"])});
  return steps;
}

/// The document after the edits of a draft; refused where they bring an error that was not there before.
Answer<Revision> drafted(Desk& desk, const OpenRevision& revision, const Draft& draft) {
  const auto edited = desk.what_if(revision, steps_of(draft.edits()));
  if (!edited) return edited;
  const Diagnostics& before = revision.files.diagnostics;
  for (const Diagnostic& d : (*edited)->files.diagnostics)
    if (d.severity == Diagnostic::Severity::error &&
        std::none_of(before.begin(), before.end(),
                     [&](const Diagnostic& known) { return to_text(known) == to_text(d); }))
      return refuse(Problem::Code::bad_request, d.problem, d.remedy, d.where);
  return edited;
}

// ---------------------------------------------------------------------------------------------------------
// The new room

struct NewSpace {
  std::string id;
  Polygon floor;
};

/// Right of all rooms of the storey.
Point2 free_place(const OpenRevision& revision, const std::string& storey) {
  double right = 0.0;
  bool any = false;
  for (const domain::Space& space : revision.files.document.project().spaces) {
    if (space.storey != storey || space.floor.empty()) continue;
    right = any ? std::max(right, bounds(space.floor).high.x) : bounds(space.floor).high.x;
    any = true;
  }
  return {any ? std::ceil(right + kApart_m) : 0.0, 0.0};
}

Answer<Polygon> floor_of(const OpenRevision& revision, const RoomWish& wish, const std::string& storey) {
  Polygon floor = wish.floor;
  if (floor.empty()) {
    const auto width = length_of(wish.width, "width");
    if (!width) return tl::unexpected(width.error());
    const auto depth = length_of(wish.length, "length");
    if (!depth) return tl::unexpected(depth.error());
    const Point2 corner = free_place(revision, storey);
    if (*width > 0.0 && *depth > 0.0) floor = rectangle(corner, corner + Vector2{*width, *depth});
  }
  if (wish.apart && !wish.floor.empty()) {
    const Vector2 by = free_place(revision, storey) - bounds(floor).low;
    for (Point2& corner : floor) corner = corner + by;
  }
  if (!is_simple(floor))
    return refuse(Problem::Code::bad_request, "the outline of the room is no area, or crosses itself",
                  "draw it anew, corner by corner", "/floor");
  if (!is_counter_clockwise(floor)) floor = reversed(floor);
  const Box2 box = bounds(floor);
  const double shorter = std::min(box.high.x - box.low.x, box.high.y - box.low.y);
  const double longer = std::max(box.high.x - box.low.x, box.high.y - box.low.y);
  if (shorter < kSmallestSide_m || longer > kLargestSide_m)
    return refuse(Problem::Code::bad_request,
                  fmt::format("a room of {:.2f} m x {:.2f} m cannot be lit here", longer, shorter),
                  fmt::format("give sides from {} m to {} m", kSmallestSide_m, kLargestSide_m), "/floor");
  return floor;
}

/// The glazing and the shade that windows of a new room take: the document's first, or a usual one.
std::pair<std::string, std::string> window_parts(Draft& draft) {
  const Json& glazings = list_of(draft.document(), "glazings");
  std::string glazing = glazings.empty() ? "" : text_at(glazings.front(), "id");
  if (glazing.empty()) {
    glazing = "clear-double";
    draft.append("/glazings", {{"id", glazing}, {"kind", "clear"}, {"transmittance", 0.7}, {"panes", 2}});
  }
  std::string shade;
  for (const Json& one : list_of(draft.document(), "shades"))
    if (text_at(one, "operation") == "manual" && shade.empty()) shade = text_at(one, "id");
  if (shade.empty()) {
    shade = free_id(list_of(draft.document(), "shades"), "inner-cloth");
    draft.append("/shades", {{"id", shade},
                             {"kind", "cloth"},
                             {"openness", "3 %"},
                             {"diffuse_transmittance", "10 %"},
                             {"operation", "manual"}});
  }
  return {glazing, shade};
}

Answer<NewSpace> add_space(const OpenRevision& revision, const RoomWish& wish, Draft& draft) {
  const domain::Project& project = revision.files.document.project();
  const domain::SpaceKind* kind = domain::find_by_id(revision.files.library->kinds, wish.kind);
  if (kind == nullptr)
    return refuse(Problem::Code::bad_request, fmt::format("there is no kind of space \"{}\"", wish.kind),
                  "choose one of the list", "/kind");
  std::string storey = wish.storey;
  if (storey.empty()) {
    if (list_of(draft.document(), "storeys").empty())
      draft.append("/storeys", {{"id", "ground"}, {"name", "Ground floor"}, {"elevation", "0 m"}});
    storey = text_at(list_of(draft.document(), "storeys").front(), "id");
  } else if (domain::find_by_id(project.storeys, storey) == nullptr) {
    return refuse(Problem::Code::bad_request, fmt::format("there is no storey \"{}\"", storey),
                  "choose one of the building's", "/storey");
  }
  const auto floor = floor_of(revision, wish, storey);
  if (!floor) return tl::unexpected(floor.error());
  const double unit = draft.metres_per_unit();

  NewSpace made;
  made.floor = *floor;
  std::string wanted = id_of(wish.number);
  if (wanted.empty()) wanted = id_of(wish.name);
  if (wanted.empty()) wanted = "room";
  made.id = free_id(list_of(draft.document(), "spaces"), wanted);
  Json space = {
      {"id", made.id},     {"number", wish.number}, {"name", wish.name.empty() ? kind->name : wish.name},
      {"kind", wish.kind}, {"storey", storey},      {"floor", outline(*floor, unit)}};
  if (!wish.height.empty()) space["height"] = wish.height;
  if (!wish.windows.empty()) {
    const auto [glazing, shade] = window_parts(draft);
    Json openings = Json::array();
    for (const Json& window : wish.windows) {
      Json opening = {{"id", fmt::format("W{}", openings.size() + 1)}, {"kind", "window"}};
      for (const auto& [key, value] : window.items()) opening[key] = value;
      opening["glazing"] = glazing;
      opening["shade"] = shade;
      openings.push_back(std::move(opening));
    }
    space["openings"] = std::move(openings);
  }
  if (!wish.doors.empty()) {
    Json doors = Json::array();
    for (const Json& one : wish.doors) {
      Json door = {{"id", fmt::format("D{}", doors.size() + 1)}};
      for (const auto& [key, value] : one.items()) door[key] = value;
      doors.push_back(std::move(door));
    }
    space["doors"] = std::move(doors);
  }
  Json task = {{"id", "floor"}};
  const Polygon inner = task_outline(*floor);
  task["name"] = kind->task_height_m > 0.0 ? "the work plane" : "the floor";
  task["plan"] = outline(inner, unit);
  if (!wish.target.empty()) task["target"] = wish.target;
  space["task_areas"] = Json::array({std::move(task)});
  draft.append("/spaces", std::move(space));
  return made;
}

// ---------------------------------------------------------------------------------------------------------
// Its lighting

/// By the energy code that the project names. Where none asks for a secondary zone there is none: so far from
/// the glass a sensor saves less than by the window.
domain::DaylightZoneRule zone_rule(const projects::ProjectFiles& files) {
  const domain::Project& project = files.document.project();
  if (const auto* adopted = codes::adopted_zone_rule(project, files.code_rules)) return *adopted;
  domain::DaylightZoneRule primary_only;
  primary_only.secondary_depth_head_heights = primary_only.primary_depth_head_heights;
  return primary_only;
}

Answer<const domain::LuminaireType*> type_of(const projects::ProjectFiles& files, const std::string& id) {
  if (const auto* own = domain::find_by_id(files.document.project().luminaire_types, id)) return own;
  if (const auto* known = domain::find_by_id(files.library->luminaire_types, id)) return known;
  return refuse(Problem::Code::bad_request, fmt::format("there is no luminaire type \"{}\"", id),
                "choose one of the list", "/luminaire_type");
}

double watts_of(const domain::LuminaireType& type) {
  double watts = type.watts_per_luminaire_extra_w;
  for (const domain::Channel& channel : type.channels) watts += channel.input_w;
  return watts;
}
double lumens_of(const domain::LuminaireType& type) {
  double lumens = 0.0;
  for (const domain::Channel& channel : type.channels) lumens += channel.lumens;
  return lumens;
}

/// A place in a typical counts from the corner of its floor's box.
template <class T>
void localise(std::vector<T>& objects, Point2 corner) {
  for (T& object : objects) {
    object.space.clear();
    if constexpr (requires { object.at; }) {
      object.at.x -= corner.x;
      object.at.y -= corner.y;
    }
  }
}

void add_room(Draft& draft, const std::string& at, const choose::StartingRoom& start) {
  const double unit = draft.metres_per_unit();
  const auto add_all = [&](const char* list, const auto& objects) {
    for (const auto& object : objects)
      draft.append(at + "/" + list, Json::parse(formats::object_text(object, unit)));
  };
  add_all("luminaires", start.luminaires);
  add_all("groups", start.groups);
  add_all("scenes", start.scenes);
  add_all("occupancy_sensors", start.occupancy_sensors);
  add_all("photosensors", start.photosensors);
  add_all("stations", start.stations);
  draft.append(at + "/sequences", Json::parse(formats::object_text(start.sequence, unit)));
}

/// Where objects of a room of a design go: the design itself, or its block of a typical.
std::string home_of(Draft& draft, Design::Role role, const std::string& typical) {
  const std::string design = design_of(draft, role);
  if (typical.empty()) return design;
  const Json& at = draft.document().at(Json::json_pointer(design));
  const Json& blocks = list_of(at, "typicals");
  for (std::size_t b = 0; b < blocks.size(); ++b)
    if (text_at(blocks[b], "typical") == typical) return fmt::format("{}/typicals/{}", design, b);
  draft.append(design + "/typicals", {{"typical", typical}});
  return fmt::format("{}/typicals/{}", design,
                     list_of(draft.document().at(Json::json_pointer(design)), "typicals").size() - 1);
}

void settle(choose::StartingRoom& start, const std::string& typical, Point2 corner) {
  if (typical.empty()) return;
  localise(start.luminaires, corner);
  localise(start.groups, corner);
  localise(start.scenes, corner);
  localise(start.occupancy_sensors, corner);
  localise(start.photosensors, corner);
  localise(start.stations, corner);
  start.sequence.space.clear();
}

/// The type as found, with the watts that somebody typed.
Answer<domain::LuminaireType> found_type(Draft& draft, const projects::ProjectFiles& files,
                                         const FoundWish& wish, const domain::SpaceKind& kind) {
  const auto known =
      type_of(files, wish.luminaire_type.empty() ? kind.start.found_luminaire_type : wish.luminaire_type);
  if (!known) return tl::unexpected(known.error());
  domain::LuminaireType type = **known;
  if (wish.watts.empty()) return type;
  const Result<double> watts = formats::parse_quantity(wish.watts, formats::kPower, "W");
  if (!watts || *watts <= 0.0)
    return refuse(Problem::Code::bad_request, fmt::format("\"{}\" is no power of a luminaire", wish.watts),
                  "write it as \"72 W\"", "/as_found/watts");
  const double share = (*watts - type.watts_per_luminaire_extra_w) / watts_of(**known);
  for (domain::Channel& channel : type.channels) channel.input_w *= share;
  type.watts_source = domain::Source::interview;
  type.id = fmt::format("{}-{}w", type.id, std::lround(*watts));
  if (domain::find_by_id(files.document.project().luminaire_types, type.id) == nullptr) {
    Json written = Json::parse(formats::object_text(type, draft.metres_per_unit()));
    if (type.channels.size() == 1) written["channels"][0]["input"] = wish.watts;
    draft.append("/luminaire_types", std::move(written));
  }
  return type;
}

Json drawn(const choose::LitGrid& lit) {
  Json all = Json::array();
  for (const Point2 p : lit.grid.at) all.push_back(to_json(p));
  return all;
}

template <class T>
Json places(const std::vector<T>& devices) {
  Json all = Json::array();
  for (const T& device : devices)
    all.push_back({{"tag", device.tag}, {"at", to_json(Point2{device.at.x, device.at.y})}});
  return all;
}

Json type_json(const domain::LuminaireType& type) {
  return {{"id", type.id},
          {"tag", type.tag},
          {"name", type.name},
          {"lumens", lumens_of(type)},
          {"input_w", watts_of(type)},
          {"length_m", type.length_m},
          {"width_m", type.width_m},
          {"shape", word(type.shape)},
          {"mounting", word(type.mounting)}};
}

Json lighting_json(const choose::LitGrid& lit, const domain::LuminaireType& type, double floor_m2) {
  const choose::LitGrid::Task& task = lit.tasks.front();
  return {{"type", type_json(type)},
          {"luminaires", drawn(lit)},
          {"rotation_deg", lit.grid.rotation_deg},
          {"count", lit.grid.at.size()},
          {"rows", lit.grid.rows},
          {"along_m", lit.grid.along_m},
          {"across_m", lit.grid.across_m},
          {"mounted_m", lit.height_m},
          {"mean_lx", task.mean_lx},
          {"min_lx", task.min_lx},
          {"target_lx", task.target_lx},
          {"error_lx", lit.error_lx},
          {"holds", lit.holds_targets()},
          {"installed_w", lit.installed_w},
          {"w_m2", lit.installed_w / floor_m2},
          {"needed", lit.needed},
          {"utilisation", lit.utilisation}};
}

/// The paragraph of a room's sequence; what the document says in other units than SI is said as it was typed.
std::string sentence_of(const projects::ProjectFiles& files, const std::string& space) {
  const domain::Project& project = files.document.project();
  const Design* proposal = domain::find_design(project, Design::Role::proposal);
  const domain::Sequence* sequence = proposal == nullptr ? nullptr : domain::find_sequence(*proposal, space);
  if (sequence == nullptr) return "";
  const Json document = Json::parse(files.document.text(), nullptr, false);
  std::string text;
  for (const wording::Phrase& phrase : wording::sequence_sentence(project, *proposal, *sequence)) {
    const Json::json_pointer at(phrase.is_value() ? files.document.document_pointer(phrase.pointer) : "");
    const bool is_typed = phrase.is_value() && document.contains(at) && document[at].is_string() &&
                          document[at].get<std::string>().ends_with(" fc");
    text += is_typed ? document[at].get<std::string>() : phrase.text;
  }
  return text;
}

/// "G.02 Reading room".
std::string named_room(const domain::Space& space) {
  return space.number.empty() ? space.name : space.number + " " + space.name;
}

bool has_lighting(const domain::Project& project, const std::string& space) {
  return std::any_of(project.designs.begin(), project.designs.end(), [&](const Design& design) {
    return std::any_of(design.luminaires.begin(), design.luminaires.end(),
                       [&](const domain::Luminaire& l) { return l.space == space; });
  });
}

}  // namespace

// ---------------------------------------------------------------------------------------------------------

Draft::Draft(const std::string& text) : document_(Json::parse(text, nullptr, false)) {
  if (!document_.is_object()) document_ = Json::object();
}

void Draft::set(const std::string& pointer, Json value) {
  const Json::json_pointer at(pointer);
  const char* op = document_.contains(at) ? "replace" : "add";
  document_[at] = value;
  edits_.push_back({{"op", op}, {"path", pointer}, {"value", std::move(value)}});
}

void Draft::append(const std::string& pointer, Json value) {
  const Json::json_pointer at(pointer);
  if (!document_.contains(at)) return set(pointer, Json::array({std::move(value)}));
  document_[at].push_back(value);
  edits_.push_back({{"op", "add"}, {"path", pointer + "/-"}, {"value", std::move(value)}});
}

double Draft::metres_per_unit() const {
  constexpr double kMetresPerFoot = 0.3048;
  return text_at(document_, "coordinates") == "ft" ? kMetresPerFoot : 1.0;
}

Json library_json() {
  const projects::ProjectFiles files =
      projects::read_project(files::as_bytes("{}"), "library", *projects::files_in({}));
  Json kinds = Json::array();
  for (const domain::SpaceKind& kind : files.library->kinds)
    kinds.push_back({{"id", kind.id},
                     {"name", kind.name},
                     {"target_lx", kind.target_lx},
                     {"target_source", kind.target_source},
                     {"uniformity", kind.uniformity},
                     {"task_height_m", kind.task_height_m},
                     {"pattern", word(kind.occupancy.pattern)},
                     {"people", kind.occupancy.people},
                     {"luminaire_type", kind.start.luminaire_type},
                     {"found_luminaire_type", kind.start.found_luminaire_type},
                     {"start_source", kind.start.source}});
  Json types = Json::array();
  for (const domain::LuminaireType& type : files.library->luminaire_types) {
    Json one = type_json(type);
    one["existing"] = type.channels.front().spectrum == domain::SourceSpectrum::fluorescent;
    types.push_back(std::move(one));
  }
  Json climates = Json::array();
  for (const domain::ClimateNormals& climate : projects::library_climates())
    climates.push_back({{"id", climate.id},
                        {"name", climate.name},
                        {"source", climate.source},
                        {"latitude_deg", climate.latitude_deg},
                        {"longitude_deg", climate.longitude_deg},
                        {"utc_offset_h", climate.utc_offset_h}});
  Json codes = Json::array();
  std::set<std::pair<std::string, std::string>> seen;
  for (const domain::CodeRule& rule : files.code_rules)
    if (seen.emplace(rule.code, rule.edition).second && rule.code != "halflight")
      codes.push_back({{"code", rule.code}, {"edition", rule.edition}});
  return {{"kinds", kinds}, {"luminaire_types", types}, {"climates", climates}, {"codes", codes}};
}

Answer<Json> site_edits(Desk& desk, const OpenRevision& revision, const SiteWish& wish) {
  Draft draft(revision.files.document.text());
  Json site = draft.document().value("site", Json::object());
  struct Place {
    double latitude_deg;
    double longitude_deg;
    double elevation_m;
    double utc_offset_h;
  };
  std::optional<Place> place;  // of a climate that is new to the document
  if (!wish.weather_file.empty()) {
    const auto file = desk.weather(revision.project, wish.weather_file);
    if (!file) return tl::unexpected(file.error());
    place = {file->year.latitude_deg, file->year.longitude_deg, file->year.elevation_m,
             file->year.utc_offset_h};
    site["climate"] = {{"file", wish.weather_file}, {"file_hash", file->hash.hex()}};
  } else if (!wish.climate.empty() || !site.contains("climate")) {
    const auto climates = projects::library_climates();
    const domain::ClimateNormals* found = domain::find_by_id(climates, wish.climate);
    if (found == nullptr)
      return refuse(Problem::Code::bad_request, fmt::format("there is no climate \"{}\"", wish.climate),
                    "choose one of the list, or drop a weather file", "/climate");
    place = {found->latitude_deg, found->longitude_deg, found->elevation_m, found->utc_offset_h};
    site["climate"] = {{"library", found->id}};
  }
  const auto set = [&](const char* key, const std::optional<double>& wished, double Place::*of,
                       const formats::Dimension& dimension, const char* unit) {
    if (!wished && !place) return;
    site[key] = formats::quantity_text(wished ? *wished : (*place).*of, dimension, unit);
  };
  set("latitude", wish.latitude_deg, &Place::latitude_deg, formats::kAngle, "deg");
  set("longitude", wish.longitude_deg, &Place::longitude_deg, formats::kAngle, "deg");
  set("elevation", std::nullopt, &Place::elevation_m, formats::kLength, "m");
  set("utc_offset", wish.utc_offset_h, &Place::utc_offset_h, formats::kDuration, "h");
  const auto change = [](int month, int week, double standard_h) -> Json {
    const int minutes = static_cast<int>(std::lround(60.0 * standard_h));
    return {{"month", month},
            {"week", week},
            {"weekday", "sun"},
            {"at_standard", fmt::format("{:02}:{:02}", minutes / 60, minutes % 60)}};
  };
  if (wish.clock == "europe") {
    // At 01:00 universal time, last Sundays of March and October.
    const double offset_h = wish.utc_offset_h.value_or(
        place ? place->utc_offset_h : revision.files.document.project().site.utc_offset_h);
    const double at_h = std::clamp(1.0 + offset_h, 0.0, 24.0);
    site["daylight_saving"] = {
        {"begin", change(3, -1, at_h)}, {"end", change(10, -1, at_h)}, {"shift", "1 h"}};
  } else if (wish.clock == "north_america") {
    // At 02:00 by the clock, second Sunday of March and first of November.
    site["daylight_saving"] = {{"begin", change(3, 2, 2.0)}, {"end", change(11, 1, 1.0)}, {"shift", "1 h"}};
  } else if (wish.clock == "none") {
    site.erase("daylight_saving");
  } else if (!wish.clock.empty()) {
    return refuse(Problem::Code::bad_request, fmt::format("\"{}\" is no rule of clocks", wish.clock),
                  "one of none, europe, north_america", "/clock");
  }
  if (draft.document().find("spaces") == draft.document().end() && wish.unit == "ft")
    draft.set("/coordinates", "ft");
  draft.set("/site", std::move(site));
  if (!wish.kind.empty() && text_at(draft.document().value("type", Json::object()), "kind") != wish.kind)
    draft.set("/type", {{"kind", wish.kind}});
  if (wish.codes) draft.set("/codes", *wish.codes);
  if (list_of(draft.document(), "storeys").empty())
    draft.append("/storeys", {{"id", "ground"},
                              {"name", wish.storey.empty() ? "Ground floor" : wish.storey},
                              {"elevation", "0 m"}});
  if (list_of(draft.document(), "calendars").empty() && !wish.hours.empty())
    draft.append("/calendars",
                 {{"id", "open"}, {"name", "Open"}, {"hours", wish.hours}, {"source", "assumed"}});
  design_of(draft, Design::Role::as_found);
  design_of(draft, Design::Role::proposal);
  if (const auto fine = drafted(desk, revision, draft); !fine) return tl::unexpected(fine.error());
  return Json{{"edits", draft.edits()}, {"label", "place, hours and codes"}};
}

Answer<Json> room_edits(Desk& desk, const Revision& revision, const RoomWish& wish) {
  Draft draft(revision->files.document.text());
  std::string id = wish.space;
  if (!wish.typical.empty()) {
    const domain::Typical* typical =
        domain::find_by_id(revision->files.document.project().typicals, wish.typical);
    if (typical == nullptr || typical->spaces.empty())
      return refuse(Problem::Code::bad_request, fmt::format("no room follows a typical \"{}\"", wish.typical),
                    "choose one that rooms follow", "/typical");
    id = typical->spaces.front();
  }
  const bool is_new = id.empty();
  if (is_new) {
    const auto added = add_space(*revision, wish, draft);
    if (!added) return tl::unexpected(added.error());
    id = added->id;
  }
  // The room alone first: its kind, its surfaces and its windows, resolved.
  const auto with_space = drafted(desk, *revision, draft);
  if (!with_space) return tl::unexpected(with_space.error());
  const projects::ProjectFiles& files = (*with_space)->files;
  const domain::Project& project = files.document.project();
  const auto index = (*with_space)->space(id);
  if (!index)
    return refuse(Problem::Code::not_found, fmt::format("there is no room {}", id),
                  "choose one of the building's", "/space");
  const domain::Space& space = project.spaces[*index];
  if (!is_new && has_lighting(project, id))
    return refuse(Problem::Code::bad_request, fmt::format("the room {} has luminaires already", id),
                  "change them on its page, or take them away there first", "/space");
  const domain::SpaceKind* kind = domain::find_by_id(files.library->kinds, space.kind);
  if (kind == nullptr)
    return refuse(Problem::Code::bad_request, fmt::format("nothing says of what kind the room {} is", id),
                  "choose its kind", "/space");
  const auto type =
      type_of(files, wish.luminaire_type.empty() ? kind->start.luminaire_type : wish.luminaire_type);
  if (!type) return tl::unexpected(type.error());

  const sim::StudyInputs inputs = (*with_space)->inputs();
  const auto trial = choose::TrialRoom::make(inputs, *index, desk.context(1));
  if (!trial) return tl::unexpected(problem_of(Problem::Code::bad_request, trial.error()));
  const auto lit = (*trial)->fewest((*type)->id);
  if (!lit) return tl::unexpected(problem_of(Problem::Code::bad_request, lit.error()));

  const domain::DaylightZoneRule zones = zone_rule(files);
  const choose::RoomForControl asked{project, space, *kind, zones, wish.typical.empty() ? id + "-" : ""};
  const Point2 corner = bounds(space.floor).low;
  const double floor_m2 = area(space.floor);
  choose::StartingRoom start = choose::starting_room(asked, **type, *lit);
  Json preview = lighting_json(*lit, **type, floor_m2);
  preview["floor"] = to_json(space.floor);
  preview["area_m2"] = floor_m2;
  preview["sensors"] = places(start.occupancy_sensors);
  preview["photosensors"] = places(start.photosensors);
  preview["stations"] = places(start.stations);
  preview.update(plan_json(lit->plan, space));
  Json notes = start.notes;
  if (!lit->holds_targets())
    notes.push_back(fmt::format("No even grid of this type holds {}: {} is the most that it gives here.",
                                wording::printed(lit->tasks.front().target_lx, "lx"),
                                wording::printed(lit->tasks.front().mean_lx, "lx")));
  constexpr double kFarMore = 1.3;
  if (lit->holds_targets() && static_cast<double>(lit->grid.at.size()) > kFarMore * std::ceil(lit->needed))
    notes.push_back(
        fmt::format("The target alone asks for about {}; so many are needed to keep the spacing that this "
                    "type lights evenly. A type with less light, or a wider beam, needs less power.",
                    std::lround(std::ceil(lit->needed))));
  settle(start, wish.typical, corner);
  add_room(draft, home_of(draft, Design::Role::proposal, wish.typical), start);

  preview["as_found"] = Json();
  if (wish.as_found) {
    const auto old_type = found_type(draft, files, *wish.as_found, *kind);
    if (!old_type) return tl::unexpected(old_type.error());
    // Watts have nothing to do with light, so the type of the library is tried.
    const std::string& tried = wish.as_found->luminaire_type.empty() ? kind->start.found_luminaire_type
                                                                     : wish.as_found->luminaire_type;
    auto old =
        wish.as_found->count ? (*trial)->of_count(tried, *wish.as_found->count) : (*trial)->fewest(tried);
    if (!old) return tl::unexpected(problem_of(Problem::Code::bad_request, old.error()));
    old->installed_w = static_cast<double>(old->grid.at.size()) * watts_of(*old_type);
    choose::StartingRoom found = choose::found_room(asked, *old_type, *old);
    preview["as_found"] = lighting_json(*old, *old_type, floor_m2);
    settle(found, wish.typical, corner);
    add_room(draft, home_of(draft, Design::Role::as_found, wish.typical), found);
  }
  const auto whole = drafted(desk, *revision, draft);
  if (!whole) return tl::unexpected(whole.error());
  preview["sentence"] = sentence_of((*whole)->files, id);
  preview["notes"] = std::move(notes);
  const std::string called = wish.typical.empty() ? named_room(space) : "typical " + wish.typical;
  return Json{{"edits", draft.edits()},
              {"label", is_new ? "add " + called : "light " + called},
              {"space", id},
              {"preview", std::move(preview)}};
}

}  // namespace halflight::service
