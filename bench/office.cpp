#include "office.hpp"

#include "files/embedded_files.hpp"
#include "formats/climate_normals_file.hpp"
#include "formats/code_rules_file.hpp"
#include "formats/library_json.hpp"

#include <cmath>
#include <stdexcept>
#include <string>

#include <fmt/format.h>

namespace halflight::bench {

namespace {

std::string rectangle_text(double x, double y, double w, double d) {
  return fmt::format("[[{0}, {1}], [{2}, {1}], [{2}, {3}], [{0}, {3}]]", x, y, x + w, y + d);
}
void append(std::string& list, const std::string& item) { list += (list.empty() ? "" : ",\n") + item; }

/// The lists of the document, filled room by room.
struct Lists {
  std::string spaces, found, luminaires, groups, scenes, occupancy, photosensors, stations, found_groups,
      found_sequences, sequences;

  void add_room(int r, double w, double d) {
    const double x0 = r * w;
    const std::string room = fmt::format("r{}", r);
    std::string desks;
    std::string openings;
    const int across = std::max(1, static_cast<int>(w / 2.9));
    const int deep = std::max(1, static_cast<int>(d / 2.6));
    // Rows of desks in large rooms stand as one piece of furniture.
    const int together = w * d > 500.0 ? 6 : 1;
    const double pitch_m = (w - 1.6) / across;
    for (int row = 0; row < deep; ++row)
      for (int i = 0; i < across; i += together) {
        const int desks_here = std::min(together, across - i);
        append(desks,
               fmt::format(R"({{"id": "k{}_{}", "kind": "desk", "plan": {}, "top": "0.73 m"}})", row, i,
                           rectangle_text(x0 + 0.8 + i * pitch_m, 1.0 + row * (d - 1.6) / deep,
                                          (desks_here - 1) * pitch_m + 1.6, 0.8)));
      }
    for (const int wall : {0, 1}) {
      const double length = wall == 0 ? w : d;
      const int windows = std::max(1, static_cast<int>(length / 2.5));
      for (int i = 0; i < windows; ++i)
        append(
            openings,
            fmt::format(
                R"({{"id": "w{}_{}", "kind": "window", "wall": {}, "offset": "{} m", "sill": "0.9 m", "width": "1.6 m", "height": "1.6 m", "glazing": "double", "shade": "blind"}})",
                wall, i, wall, (i + 0.5) * length / windows - 0.8));
    }
    append(
        spaces,
        fmt::format(
            R"({{"id": "{0}", "number": "{0}", "name": "Office", "kind": "office_open", "storey": "ground", "floor": {1}, "height": "3 m",
"openings": [{2}], "doors": [{{"id": "d", "wall": 2, "offset": "0.4 m", "leads_to": "outside"}}], "furniture": [{3}],
"task_areas": [{{"id": "desks", "name": "Desks", "plan": {4}, "height": "0.75 m", "target": "500 lx", "uniformity": 0.6}}],
"occupancy": {{"pattern": "desks", "people": {5}, "calendar": "hours"}}}})",
            room, rectangle_text(x0, 0.0, w, d), openings, desks,
            rectangle_text(x0 + 0.5, 0.5, w - 1.0, d - 1.0), across * deep));
    const int columns = std::max(1, static_cast<int>(std::lround(w / 2.5)));
    const int rows = std::max(1, static_cast<int>(std::lround(d / 2.67)));
    std::string all;
    std::string near;
    std::string old;
    for (int i = 0; i < columns * rows; ++i) {
      const std::string at = fmt::format("[{}, {}, 2.9]", x0 + (i % columns + 0.5) * w / columns,
                                         (i / columns + 0.5) * d / rows);
      append(
          found,
          fmt::format(
              R"({{"id": "F{0}_{1}", "type": "fl_troffer_3x32", "space": "{0}", "at": {2}, "circuit": "L1", "status": "remove"}})",
              room, i, at));
      append(
          luminaires,
          fmt::format(
              R"({{"id": "N{0}_{1}", "type": "troffer_1200", "space": "{0}", "at": {2}, "circuit": "L1"}})",
              room, i, at));
      append(all, fmt::format("\"N{}_{}\"", room, i));
      append(old, fmt::format("\"F{}_{}\"", room, i));
      if (i < columns) append(near, fmt::format("\"N{}_{}\"", room, i));
    }
    append(found_groups,
           fmt::format(
               R"({{"id": "f{0}", "space": "{0}", "strategy": "scene", "name": "a", "channels": [{1}]}})",
               room, old));
    for (const char* strategy : {"scene", "occupancy", "schedule"})
      append(groups,
             fmt::format(
                 R"({{"id": "{1}{0}", "space": "{0}", "strategy": "{1}", "name": "a", "channels": [{2}]}})",
                 room, strategy, all));
    append(
        groups,
        fmt::format(R"({{"id": "daylight{0}", "space": "{0}", "strategy": "daylight", "channels": [{1}]}})",
                    room, near));
    append(
        scenes,
        fmt::format(
            R"({{"id": "work{0}", "space": "{0}", "name": "Work", "levels": [{{"group": "scene{0}", "level": 1.0}}]}})",
            room));
    append(
        scenes,
        fmt::format(
            R"({{"id": "screen{0}", "space": "{0}", "name": "Screen", "use_fraction": 0.1, "levels": [{{"group": "scene{0}", "level": 0.4}}]}})",
            room));
    append(
        occupancy,
        fmt::format(
            R"({{"id": "O{0}", "space": "{0}", "at": [{1}, {2}, 3], "standby": "0.5 W", "groups": ["occupancy{0}"]}})",
            room, x0 + w / 2, d / 2));
    append(
        photosensors,
        fmt::format(
            R"({{"id": "P{0}", "space": "{0}", "at": [{1}, {2}, 2.9], "standby": "0.5 W", "loop": "closed", "response": "shielded", "cutoff": "60 deg", "range": "2000 lx", "groups": ["daylight{0}"]}})",
            room, x0 + w / 2, 0.3 * d));
    append(
        stations,
        fmt::format(
            R"({{"id": "S{0}", "space": "{0}", "at": [{1}, {2}, 1.2], "standby": "0.3 W", "buttons": ["on", "off"]}})",
            room, x0 + 1.0, d - 0.05));
    append(found_sequences, fmt::format(R"({{"space": "{0}", "on": {{"by": "hand"}}}})", room));
    append(
        sequences,
        fmt::format(
            R"({{"space": "{0}", "normal_scene": "work{0}", "on": {{"by": "occupancy"}}, "vacancy": {{"delay": "15 min"}}, "schedule": {{"calendar": "hours"}}, "trim": {{}}, "manual": {{"stations": ["S{0}"], "holds_until": "vacancy"}},
"daylight": [{{"group": "daylight{0}", "photosensor": "P{0}", "task_area": "desks", "method": "closed_loop_proportional", "minimum_level": 0.1}}]}})",
            room));
  }
};

std::string text_of(double width_m, double depth_m, int rooms) {
  Lists lists;
  for (int r = 0; r < rooms; ++r) lists.add_room(r, width_m, depth_m);
  return fmt::format(
      R"({{"format": "halflight-project/1", "id": "bench", "name": "Office", "site": {{"latitude": "52 deg", "longitude": "0 deg", "calendar_year": 2026,
"climate": {{"library": "temperate_maritime"}}}}, "storeys": [{{"id": "ground"}}], "glazings": [{{"id": "double", "transmittance": 0.7, "panes": 2}}],
"shades": [{{"id": "blind", "openness": "3 %"}}],
"calendars": [{{"id": "hours", "hours": [{{"weekdays": ["mon", "tue", "wed", "thu", "fri"], "open": "08:00", "close": "18:00"}}]}}],
"spaces": [{}], "designs": [
{{"id": "found", "role": "as_found", "circuits": [{{"id": "L1"}}], "luminaires": [{}], "groups": [{}], "sequences": [{}]}},
{{"id": "new", "role": "proposal", "circuits": [{{"id": "L1"}}], "luminaires": [{}], "groups": [{}], "scenes": [{}], "occupancy_sensors": [{}], "photosensors": [{}],
"stations": [{}], "sequences": [{}]}}]}})",
      lists.spaces, lists.found, lists.found_groups, lists.found_sequences, lists.luminaires, lists.groups,
      lists.scenes, lists.occupancy, lists.photosensors, lists.stations, lists.sequences);
}

std::string_view text_of(std::span<const std::byte> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

domain::Library read_library() {
  std::vector<formats::LibrarySource> records;
  for (const files::EmbeddedFile& file : files::embedded_library())
    if (file.name.find('/') == std::string_view::npos)
      records.push_back({std::string(file.name), file.bytes});
  return formats::load_library(records).value();
}

domain::ClimateNormals read_normals() {
  for (const files::EmbeddedFile& file : files::embedded_library())
    if (file.name == "climates/temperate_maritime.json")
      return formats::read_climate_normals(text_of(file.bytes), std::string(file.name)).value().front();
  throw std::logic_error("the library has lost a climate");
}

formats::ProjectDocument read_document(const std::string& text, const domain::Library& library) {
  auto document = formats::ProjectDocument::load(std::as_bytes(std::span(text)), "bench", library);
  for (const Diagnostic& d : document.diagnostics())
    if (d.severity == Diagnostic::Severity::error) throw std::logic_error(to_text(d));
  return document;
}

}  // namespace

Office::Office(double width_m, double depth_m, int rooms)
    : library(read_library()),
      normals(read_normals()),
      document(read_document(text_of(width_m, depth_m, rooms), library)) {}

sim::StudyInputs Office::inputs() const { return {project(), library, rules, {}, {}, normals, {}}; }

}  // namespace halflight::bench
