#include "formats/project_json.hpp"

#include "base/random.hpp"
#include "formats/content_key.hpp"
#include "formats/field_reader.hpp"
#include "formats/library_json.hpp"
#include "formats/quantity_text.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

std::string read_file(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in) << path;
  return {std::istreambuf_iterator<char>(in), {}};
}
const std::filesystem::path kRoot = HALFLIGHT_SOURCE_DIR;

std::span<const std::byte> bytes_of(const std::string& text) {
  return std::as_bytes(std::span(text.data(), text.size()));
}

const domain::Library& library() {
  static const domain::Library loaded = [] {
    std::vector<std::string> texts;
    for (const char* name : {"kinds_of_space.json", "drivers.json", "luminaires.json", "device_kinds.json",
                             "electrical_rules.json"})
      texts.push_back(read_file(kRoot / "library" / name));
    std::vector<LibrarySource> sources;
    for (const std::string& text : texts) sources.push_back({"library", bytes_of(text)});
    const Result<domain::Library> result = load_library(sources);
    if (!result)
      for (const Diagnostic& d : result.error()) ADD_FAILURE() << to_text(d);
    return result.value_or(domain::Library{});
  }();
  return loaded;
}

ProjectDocument load(const std::string& text, const std::string& name = "test") {
  return ProjectDocument::load(bytes_of(text), name, library());
}
ProjectDocument one_room() { return load(read_file(kRoot / "tests/documents/one_room.halflight.json")); }

std::string said(const Diagnostics& diagnostics) {
  std::string text;
  for (const Diagnostic& d : diagnostics) text += to_text(d) + "\n";
  return text;
}

// ---------------------------------------------------------------------------------------------------------
// The small whole project

TEST(ProjectDocument, ReadsTheOneRoom) {
  const ProjectDocument document = one_room();
  EXPECT_EQ(said(document.diagnostics()), "");
  const domain::Project& p = document.project();
  ASSERT_EQ(p.spaces.size(), 1u);
  const domain::Space& room = p.spaces.front();
  EXPECT_EQ(room.height_m, 2.7);
  EXPECT_EQ(room.openings.at(0).sill_m, 0.9);
  EXPECT_EQ(room.plug_loads.controlled_fraction, 0.35);
  EXPECT_EQ(room.reflectances.ceiling, 0.7) << "from the kind of space";
  EXPECT_EQ(p.calendars.at(0).hours.at(0).open_s, 8 * kHour);
  EXPECT_EQ(p.calendars.at(0).hours.at(0).weekdays, (std::vector<int>{0, 1, 2, 3, 4}));
  ASSERT_NE(domain::find_design(p, domain::Design::Role::proposal), nullptr);
  const domain::Design& proposal = *domain::find_design(p, domain::Design::Role::proposal);
  EXPECT_EQ(proposal.sequences.at(0).vacancy->delay_s, 900.0);
  EXPECT_FALSE(proposal.sequences.at(0).trim->high.has_value());
  EXPECT_EQ(domain::channels_of(p, proposal, "N1"), std::vector<std::string>{"N1/all"})
      << "the library's type was adopted";
  EXPECT_NE(domain::find_by_id(p.drivers, "led_digital"), nullptr);
}

TEST(ProjectDocument, RecordsEachDefaultWithItsSource) {
  const ProjectDocument document = one_room();
  const domain::Project& p = document.project();
  const auto find = [&](const std::string& pointer) {
    const auto found = std::find_if(p.defaults_taken.begin(), p.defaults_taken.end(),
                                    [&](const domain::DefaultTaken& d) { return d.pointer == pointer; });
    return found == p.defaults_taken.end() ? domain::DefaultTaken{} : *found;
  };
  EXPECT_EQ(find("/designs/1/occupancy_sensors/0/major_radius").value, "5.4 m");
  EXPECT_EQ(find("/designs/1/occupancy_sensors/0/major_radius").source, "common practice, no source");
  EXPECT_EQ(find("/spaces/0/occupancy/absence").value, "22 min");
  EXPECT_EQ(find("/spaces/0/occupancy/absence").source.substr(0, 33), "kind of space \"office_enclosed\": ");
  EXPECT_EQ(find("/spaces/0/occupancy/people").value, "") << "people was given";
  EXPECT_EQ(find("/spaces/0/occupancy/bookings_per_day").value, "") << "means nothing for desks";
}

TEST(ProjectDocument, ASpaceThatSaysNothingOfPlugsTakesThoseOfItsKind) {
  ProjectDocument document = one_room();
  const auto defaulted = [&] {
    const auto& taken = document.project().defaults_taken;
    const auto found = std::find_if(taken.begin(), taken.end(), [](const domain::DefaultTaken& d) {
      return d.pointer == "/spaces/0/plug_loads/devices";
    });
    return found == taken.end() ? "" : found->value + "; " + found->source.substr(0, 32);
  };
  EXPECT_TRUE(document.project().spaces[0].plug_loads.devices.empty()) << "installed says all there is";
  EXPECT_EQ(defaulted(), "");
  EXPECT_EQ(said(document.replace("/spaces/0/occupancy/people", "3")), "");
  EXPECT_EQ(said(document.remove("/spaces/0/plug_loads")), "");
  const std::vector<domain::PlugDevice>& devices = document.project().spaces[0].plug_loads.devices;
  ASSERT_EQ(devices.size(), 2u);
  EXPECT_EQ(devices[1].kind, "screen");
  EXPECT_EQ(devices[1].count, 3) << "one a seat";
  EXPECT_EQ(defaulted(), "3 desktop computer, 3 screen; kind of space \"office_enclosed\":");
  // In a room without seats they are everybody's.
  EXPECT_EQ(said(document.replace("/spaces/0/occupancy/pattern", "\"shared\"")), "");
  EXPECT_FALSE(document.project().spaces[0].plug_loads.devices[1].at_seats);
  // An empty list says that there are none.
  EXPECT_EQ(said(document.apply(std::vector<DocumentEdit>{
                {DocumentEdit::Operation::add, "/spaces/0/plug_loads", R"({"devices": []})"}})),
            "");
  EXPECT_TRUE(document.project().spaces[0].plug_loads.devices.empty());
}

TEST(ProjectDocument, TakesTheShareOfDividedBookingsOnlyWhereAWallCanDivide) {
  ProjectDocument document = one_room();
  const auto share = [&] { return document.project().spaces[0].occupancy.divided_fraction; };
  const auto is_default = [&] {
    const auto& taken = document.project().defaults_taken;
    return std::any_of(taken.begin(), taken.end(), [](const domain::DefaultTaken& d) {
      return d.pointer == "/spaces/0/occupancy/divided_fraction";
    });
  };
  EXPECT_EQ(said(document.replace("/spaces/0/kind", "\"multipurpose\"")), "");
  EXPECT_EQ(said(document.replace("/spaces/0/occupancy/pattern", "\"bookings\"")), "");
  EXPECT_EQ(share(), 0.0);
  EXPECT_FALSE(is_default());
  const Box2 box = bounds(document.project().spaces[0].floor);
  const double x = 0.5 * (box.low.x + box.high.x);
  EXPECT_EQ(said(document.apply(std::vector<DocumentEdit>{
                {DocumentEdit::Operation::add, "/spaces/0/partitions",
                 fmt::format(R"([{{"id": "w", "kind": "movable", "from": [{0}, {1}], "to": [{0}, {2}],
                               "height": "2.5 m", "states": ["open", "closed"]}}])",
                             x, box.low.y, box.high.y)}})),
            "");
  EXPECT_EQ(share(), 0.3);
  EXPECT_TRUE(is_default());
  EXPECT_EQ(said(document.apply(std::vector<DocumentEdit>{
                {DocumentEdit::Operation::add, "/spaces/0/occupancy/divided_fraction", "\"10 %\""}})),
            "");
  EXPECT_EQ(share(), 0.1);
  EXPECT_FALSE(is_default());
}

TEST(ProjectDocument, ReadsPlugDevicesAndEvents) {
  ProjectDocument document = one_room();
  EXPECT_EQ(said(document.replace("/spaces/0/plug_loads", R"({"devices": [{"kind": "screen", "count": 2,
      "on": "28 W", "idle": "20 W", "standby": "0.5 W", "at_seats": true, "sleeps_after": "10 min",
      "left_on": "40 %", "switched_by": "plug_in_outlet"}], "off_when": "empty_or_closed",
      "off_after": "15 min", "calendar": "office-hours"})")),
            "");
  const domain::PlugLoads& loads = document.project().spaces[0].plug_loads;
  ASSERT_EQ(loads.devices.size(), 1u);
  EXPECT_EQ(loads.devices[0].idle_w, 20.0);
  EXPECT_EQ(loads.devices[0].left_on, 0.4);
  EXPECT_EQ(loads.devices[0].switched_by, domain::PlugDevice::SwitchedBy::plug_in_outlet);
  EXPECT_EQ(loads.off_when, domain::PlugLoads::OffWhen::empty_or_closed);
  EXPECT_EQ(loads.off_after_s, 900.0);
  EXPECT_EQ(
      said(document.apply(std::vector<DocumentEdit>{
          {DocumentEdit::Operation::add, "/demand_events",
           R"({"events": [{"on": "12 Jan", "at": "17:00", "lasts": "1 h"}], "hottest_afternoons": 4})"}})),
      "");
  const domain::DemandEvents& events = document.project().demand_events;
  EXPECT_EQ(events.events.at(0).lasts_s, 3600.0);
  EXPECT_EQ(events.hottest_afternoons, 4);
}

TEST(ProjectDocument, ASpaceWithoutTaskAreasTakesTheWholeFloor) {
  ProjectDocument document = one_room();
  EXPECT_EQ(said(document.remove("/spaces/0/task_areas")), "");
  const domain::TaskArea& area = document.project().spaces.at(0).task_areas.at(0);
  EXPECT_EQ(area.id, "whole");
  EXPECT_EQ(area.target_lx, 500.0);
  EXPECT_EQ(area.plan, document.project().spaces.at(0).floor);
  EXPECT_EQ(said(document.replace("/spaces/0/task_areas", "[]")), "");
  EXPECT_TRUE(document.project().spaces.at(0).task_areas.empty()) << "an empty list says that there are none";
}

TEST(ProjectDocument, AppliesEditsTogetherOrNotAtAll) {
  using Operation = DocumentEdit::Operation;
  ProjectDocument document = one_room();
  const std::string before = document.text();
  const auto names = [&] {
    std::vector<std::string> all;
    for (const domain::TaskArea& area : document.project().spaces.at(0).task_areas) all.push_back(area.name);
    return all;
  };
  const std::vector<std::string> names_before = names();
  const std::string area = R"({"id": "x", "name": "X", "plan": [[0, 0], [1, 0], [1, 1]]})";

  // The second cannot be made: the first leaves no trace.
  EXPECT_NE(said(document.apply(std::vector<DocumentEdit>{{Operation::add, "/spaces/0/task_areas/0", area},
                                                          {Operation::replace, "/spaces/7/name", "\"n\""}})),
            "");
  EXPECT_EQ(document.text(), before);
  EXPECT_EQ(names(), names_before);
  // A value that is not there cannot be replaced, only added.
  EXPECT_NE(
      said(document.apply(std::vector<DocumentEdit>{{Operation::replace, "/spaces/0/hvac_zone", "\"z\""}})),
      "");

  // In front of the item at the index, and taken out again: the same bytes.
  EXPECT_EQ(said(document.apply(std::vector<DocumentEdit>{{Operation::add, "/spaces/0/task_areas/0", area}})),
            "");
  std::vector<std::string> with_x = names_before;
  with_x.insert(with_x.begin(), "X");
  EXPECT_EQ(names(), with_x);
  EXPECT_EQ(
      said(document.apply(std::vector<DocumentEdit>{{Operation::remove, "/spaces/0/task_areas/0", ""}})), "");
  EXPECT_EQ(document.text(), before);
}

TEST(ProjectDocument, TakesCoordinatesInFeet) {
  ProjectDocument document = one_room();
  EXPECT_EQ(said(document.replace("/coordinates", "\"ft\"")), "");
  EXPECT_DOUBLE_EQ(document.project().spaces.at(0).floor.at(2).y, 5 * 0.3048);
  EXPECT_DOUBLE_EQ(document.project().designs.at(0).luminaires.at(0).at.z, 2.7 * 0.3048);
  EXPECT_EQ(document.project().spaces.at(0).height_m, 2.7) << "a length with its unit stays";
}

TEST(ProjectDocument, TurnsAClockwiseFloorAndKeepsWindowsInTheirWalls) {
  const std::string head = R"({"format": "halflight-project/1", "id": "t", "storeys": [{"id": "s"}],
    "glazings": [{"id": "g"}], "spaces": [{"id": "1", "storey": "s", "kind": "corridor", "openings": [
    {"id": "w", "wall": )";
  // The same window in the wall y = 0, one metre from x = 4.
  const ProjectDocument clockwise =
      load(head +
           R"(3, "offset": "1 m", "width": "2 m", "glazing": "g"}], "floor": [[0,0],[0,5],[4,5],[4,0]]}]})");
  const domain::Space& s = clockwise.project().spaces.at(0);
  EXPECT_GT(signed_area(s.floor), 0.0);
  const domain::Opening& w = s.openings.at(0);
  const Point2 from = s.floor.at(static_cast<std::size_t>(w.wall));
  const Point2 to = s.floor.at((static_cast<std::size_t>(w.wall) + 1) % 4);
  const Point2 near = from + w.offset_m / length(to - from) * (to - from);
  EXPECT_NEAR(near.x, 1.0, 1e-12) << "the wall now runs from x = 0, so the window begins 1 m from there";
  EXPECT_NEAR(near.y, 0.0, 1e-12);
  EXPECT_NE(said(clockwise.diagnostics()).find("warning: test /spaces/0/floor: the floor runs clockwise"),
            std::string::npos);
}

// ---------------------------------------------------------------------------------------------------------
// Text

TEST(ProjectDocument, KeepsTheTextByteForByte) {
  const std::string text = read_file(kRoot / "tests/documents/one_room.halflight.json");
  EXPECT_EQ(load(text).text(), text);
  const std::string odd = "\xEF\xBB\xBF{ \"format\" :\t\"halflight-project/1\",\r\n\"id\":\"a\" }\r\n\r\n";
  EXPECT_EQ(load(odd).text(), odd);
  EXPECT_EQ(load("not json").text(), "not json");
}

TEST(ProjectDocument, AnEditChangesOnlyItsBytes) {
  ProjectDocument document = one_room();
  const std::string before = document.text();
  const Hash hash = document.hash();
  EXPECT_EQ(said(document.replace("/spaces/0/height", "\"9 ft 6 in\"")), "");
  EXPECT_NEAR(document.project().spaces.at(0).height_m, 2.8956, 1e-12) << "9.5 x 0.3048";
  EXPECT_NE(document.hash(), hash);
  std::string expected = before;
  const std::size_t at = expected.find("\"2.70 m\"");
  ASSERT_NE(at, std::string::npos);
  EXPECT_EQ(document.text(), expected.replace(at, 8, "\"9 ft 6 in\""));
  EXPECT_EQ(said(document.replace("/spaces/0/height", "\"2.70 m\"")), "");
  EXPECT_EQ(document.text(), before);
  EXPECT_EQ(document.hash(), hash);
}

TEST(ProjectDocument, AddsAndRemovesKeysAndItems) {
  ProjectDocument document = one_room();
  const std::string before = document.text();
  EXPECT_EQ(said(document.replace("/spaces/0/notes", "\"quiet\"")), "");
  EXPECT_EQ(document.project().spaces.at(0).notes, "quiet");
  EXPECT_NE(document.text().find(",\n      \"notes\": \"quiet\"\n"), std::string::npos)
      << "laid out as its neighbours are";
  EXPECT_EQ(said(document.remove("/spaces/0/notes")), "");
  EXPECT_EQ(document.text(), before);
  EXPECT_EQ(said(document.replace("/storeys/-", R"({"id": "upper"})")), "");
  EXPECT_EQ(document.project().storeys.size(), 2u);
  EXPECT_EQ(said(document.remove("/storeys/1")), "");
  EXPECT_EQ(document.text(), before);
  EXPECT_EQ(said(document.replace("/codes/0", R"({"code": "A", "edition": "1"})")), "");
  EXPECT_EQ(document.project().codes.size(), 1u);
  EXPECT_EQ(said(document.remove("/codes/0")), "");
  EXPECT_EQ(document.text(), before);
  EXPECT_EQ(said(document.remove("/spaces/0/openings/0/id")), "") << "a document with errors is a document";
  EXPECT_TRUE(has_errors(document.diagnostics()));
}

TEST(ProjectDocument, RefusesAnEditThatCannotBe) {
  ProjectDocument document = one_room();
  const std::string before = document.text();
  EXPECT_NE(said(document.replace("/spaces/0/height", "\"2.7 m")), "");
  EXPECT_NE(said(document.replace("/spaces/0/height", "1, 2")), "");
  EXPECT_NE(said(document.replace("/spaces/7/height", "1")), "");
  EXPECT_NE(said(document.replace("height", "1")), "");
  EXPECT_NE(said(document.remove("/spaces/0/nothing")), "");
  EXPECT_NE(said(document.remove("")), "");
  EXPECT_EQ(document.text(), before);
  EXPECT_FALSE(has_errors(document.diagnostics()));
}

// ---------------------------------------------------------------------------------------------------------
// Typicals

const char* const kTypicals = R"({
  "format": "halflight-project/1", "id": "t",
  "storeys": [{"id": "s"}], "glazings": [{"id": "g"}],
  "calendars": [{"id": "c", "hours": [{"weekdays": ["mon"], "open": "08:00", "close": "17:00"}]}],
  "typicals": [{"id": "cell", "name": "Cell", "space": {
    "kind": "office_enclosed", "storey": "s", "height": "3 m", "floor": [[0,0],[3,0],[3,4],[0,4]],
    "openings": [{"id": "w", "wall": 0, "offset": "1 m", "width": "1 m", "glazing": "g"}],
    "task_areas": [{"id": "desk", "plan": [[1,1],[2,1],[2,2],[1,2]]}]}}],
  "spaces": [
    {"id": "1", "typical": "cell", "origin": [0, 0]},
    {"id": "2", "typical": "cell", "floor": [[10,5],[13,5],[13,9],[10,9]], "height": "2.5 m"}],
  "designs": [{"id": "p", "role": "proposal",
    "luminaires": [{"id": "2.A", "type": "panel_600", "space": "2", "at": [11, 6, 2.5]}],
    "typicals": [{"typical": "cell",
      "luminaires": [{"id": "A", "type": "panel_600", "at": [1, 1, 2.5]}, {"id": "B", "type": "panel_600", "at": [2, 3, 2.5]}],
      "groups": [{"id": "day", "strategy": "daylight", "channels": ["A/all", "B"]}],
      "scenes": [{"id": "work", "levels": []}],
      "photosensors": [{"id": "P", "at": [1.5, 2, 2.5], "groups": ["day"]}],
      "stations": [{"id": "S", "at": [0.1, 3, 1.2], "buttons": ["work", "off"]}],
      "sequences": [{"normal_scene": "work", "on": {"by": "hand"}, "manual": {"stations": ["S"]},
        "daylight": [{"group": "day", "photosensor": "P", "task_area": "desk"}]}]}]}]
})";

TEST(Typicals, SpacesInheritWhatTheyDoNotList) {
  const ProjectDocument document = load(kTypicals);
  EXPECT_FALSE(has_errors(document.diagnostics())) << said(document.diagnostics());
  const domain::Project& p = document.project();
  EXPECT_EQ(p.typicals.at(0).spaces, (std::vector<std::string>{"1", "2"}));
  EXPECT_EQ(p.spaces.at(0).height_m, 3.0);
  EXPECT_EQ(p.spaces.at(1).height_m, 2.5) << "listed, so its own";
  EXPECT_EQ(p.spaces.at(1).task_areas.at(0).plan.at(0), (Point2{11, 6}))
      << "from the corner of its own floor";
  EXPECT_EQ(p.spaces.at(0).task_areas.at(0).plan.at(0), (Point2{1, 1}));
  EXPECT_EQ(document.document_pointer("/spaces/1/openings/0/width"), "/typicals/0/space/openings/0/width");
  EXPECT_EQ(document.document_pointer("/spaces/1/height"), "/spaces/1/height");
}

TEST(Typicals, DesignsGiveEachSpaceItsOwnObjects) {
  const ProjectDocument document = load(kTypicals);
  const domain::Design& d = document.project().designs.at(0);
  std::vector<std::string> ids;
  for (const domain::Luminaire& l : d.luminaires) ids.push_back(l.id + " in " + l.space);
  EXPECT_EQ(ids, (std::vector<std::string>{"2.A in 2", "1.A in 1", "1.B in 1", "2.B in 2"}))
      << "2.A stands in the design itself";
  EXPECT_EQ(d.luminaires.at(3).at, (Point3{12, 8, 2.5}));
  EXPECT_EQ(d.groups.at(1).channels, (std::vector<std::string>{"2.A/all", "2.B"}));
  EXPECT_EQ(d.stations.at(0).buttons, (std::vector<std::string>{"1.work", "off"}));
  EXPECT_EQ(d.sequences.at(1).daylight.at(0).photosensor, "2.P");
  EXPECT_EQ(d.sequences.at(1).daylight.at(0).task_area, "desk") << "task areas belong to the space";
  EXPECT_EQ(document.document_pointer("/designs/0/luminaires/3/at"), "/designs/0/typicals/0/luminaires/1/at");
}

TEST(Typicals, MistakesPointAtTheTypical) {
  ProjectDocument document = load(kTypicals);
  EXPECT_EQ(said(document.replace("/designs/0/typicals/0/luminaires/1/at", "[2, 3, 2.8]")), "");
  // 2.8 m is below the ceiling of space 1 and above that of space 2.
  ASSERT_TRUE(has_errors(document.diagnostics()));
  const auto first =
      std::find_if(document.diagnostics().begin(), document.diagnostics().end(),
                   [](const Diagnostic& d) { return d.severity == Diagnostic::Severity::error; });
  EXPECT_EQ(first->where, "/designs/0/typicals/0/luminaires/1/at");
  EXPECT_EQ(first->problem, "2.B hangs at 2.80 m, above the ceiling of 2 at 2.50 m");
}

TEST(Typicals, CannotFillTheMemory) {
  std::string text =
      R"({"format": "halflight-project/1", "id": "t", "typicals": [{"id": "c", "space": {}}], "spaces": [)";
  for (int i = 0; i < 500; ++i)
    text +=
        fmt::format(R"({}{{"id": "{}", "typical": "c", "floor": [[0,0],[1,0],[1,1]]}})", i > 0 ? "," : "", i);
  text += R"(], "designs": [{"id": "p", "role": "proposal", "typicals": [{"typical": "c", "scenes": [)";
  for (int i = 0; i < 500; ++i) text += fmt::format(R"({}{{"id": "{}"}})", i > 0 ? "," : "", i);
  const ProjectDocument document = load(text + "]}]}]}");
  // A million values, a scene here being eleven.
  EXPECT_LE(document.project().designs.at(0).scenes.size(), 100'000u);
  EXPECT_GT(document.project().designs.at(0).scenes.size(), 80'000u);
  EXPECT_NE(said(document.diagnostics()).find("typicals give more than"), std::string::npos);
}

// ---------------------------------------------------------------------------------------------------------
// Documents of a few ten thousand bytes that once took minutes or gigabytes. What they now do is said in
// messages; the limit of time of the test program is the rest of the check.

std::string repeated(std::string_view item, int count) {
  std::string list;
  for (int i = 0; i < count; ++i) list += (i > 0 ? "," : "") + std::string(item);
  return list;
}
std::string numbered(const char* before, const char* after, int count) {
  std::string list;
  for (int i = 0; i < count; ++i)
    list += (i > 0 ? "," : "") + std::string(before) + std::to_string(i) + after;
  return list;
}
/// An outline like a comb, its teeth 1 m apart.
std::string comb(int teeth) {
  std::string list = "[";
  for (int i = 0; i < teeth; ++i) list += fmt::format("[{},{}],", i, i % 2 + 1);
  return list + fmt::format("[{},0],[0,0]]", teeth - 1);
}
constexpr const char* kSquare = "[[0,0],[9,0],[9,9],[0,9]]";

/// What is said about a project of these members. Never a list that grows with the square of the document.
std::string said_of(const std::string& members) {
  const ProjectDocument document = load(R"({"format": "halflight-project/1", )" + members + "}");
  EXPECT_LT(document.diagnostics().size(), 3100u);
  return said(document.diagnostics());
}
bool holds(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

TEST(SmallDocuments, ThatGiveRoomsTooMuch) {
  const auto inheriting = [](const std::string& space, int rooms, const char* after) {
    return fmt::format(R"("typicals": [{{"id": "t", "space": {{"floor": {}, {}}}}}], "spaces": [{}])",
                       kSquare, space, numbered(R"({"id":"s)", after, rooms));
  };
  EXPECT_TRUE(holds(said_of(inheriting(R"("openings": [)" + numbered(R"({"id":"o)", R"("})", 3000) + "]",
                                       1100, R"(","typical":"t"})")),
                    "typicals give more than a project may have"));
  // The same through the blocks of a design, all rooms at one place.
  const std::string text = inheriting(R"("name": "n")", 700, R"(","typical":"t","origin":[0,0]})") +
                           R"(, "designs": [{"id": "d", "typicals": [{"typical": "t", "luminaires": [)" +
                           numbered(R"({"id":"l)", R"("})", 3000) + "]}]}]";
  EXPECT_TRUE(holds(said_of(text), "typicals give more than a project may have"));
}

TEST(SmallDocuments, OfOutlinesWithTooManyCorners) {
  EXPECT_TRUE(holds(said_of(R"("spaces": [{"id": "s", "floor": )" + comb(6000) + "}]"), "6002 positions"));
  EXPECT_FALSE(holds(said_of(R"("spaces": [{"id": "s", "floor": )" + comb(900) + "}]"), "positions"));
}

TEST(SmallDocuments, OfFloorsThatAllOverlap) {
  const auto rooms = [](const std::string& floor, int count) {
    return R"("typicals": [{"id": "t", "space": {"floor": )" + floor + R"(}}], "spaces": [)" +
           numbered(R"({"id":"s)", R"(","typical":"t","origin":[0,0]})", count) + "]";
  };
  EXPECT_TRUE(holds(said_of(rooms(kSquare, 1400)), "more messages"));
  EXPECT_TRUE(holds(said_of(rooms(comb(900), 60)), "too many floors lie over each other"));
  EXPECT_FALSE(holds(said_of(rooms(kSquare, 20)), "too many floors"));
}

TEST(SmallDocuments, OfOpeningsThatAllOverlap) {
  const std::string text = said_of(fmt::format(R"("spaces": [{{"id": "s", "floor": {}, "openings": [{}]}}])",
                                               kSquare, repeated("{}", 20'000)));
  EXPECT_TRUE(holds(text, "overlaps"));
  EXPECT_TRUE(holds(text, "more messages"));
}

TEST(SmallDocuments, OfWaysOutThatGoToAndFro) {
  const auto way = [](const char* legs, int count) {
    return said_of(
        R"("spaces": [{"id": "s", "floor": [[0,0],[900,0],[900,900],[0,900]], "egress_paths": [{"id": "e", "centre_line": [[0,0],)" +
        repeated(legs, count) + R"(]}], "furniture": [)" +
        repeated(R"({"id":"f","plan":[[1,1],[2,1],[2,2]]})", 1000) + "]}]");
  };
  EXPECT_TRUE(holds(way("[900,900],[0,0]", 400), "the ways out of s are 1018234 m long"));
  EXPECT_TRUE(holds(way("[90,90],[0,0]", 3), "f stands in the middle of the way"));
}

TEST(SmallDocuments, OfGroupsThatRepeatALuminaireWithManyChannels) {
  const std::string text = said_of(
      R"("luminaire_types": [{"id": "t", "channels": [)" + numbered(R"({"id":"c)", R"("})", 1500) +
      fmt::format(R"(]}}], "spaces": [{{"id": "s", "floor": {}}}], )", kSquare) +
      R"("designs": [{"id": "d", "luminaires": [{"id": "l", "type": "t", "space": "s"}], "groups": [{"id": "g", "space": "s", "channels": [)" +
      repeated(R"("l")", 4000) + "]}]}]");
  EXPECT_TRUE(holds(text, "the group g names l/c0 twice"));
  EXPECT_FALSE(holds(text, "l/c1 twice"));
}

TEST(SmallDocuments, OfReferencesToNothing) {
  const std::string text =
      said_of(R"("designs": [{"id": "d", "luminaires": [)" + numbered(R"({"id":"l)", R"("})", 2000) +
              R"(], "groups": [{"id": "g", "channels": [)" + repeated(R"("q")", 8000) + "]}]}]");
  EXPECT_TRUE(holds(text, R"(there is no luminaire "q")"));
  EXPECT_TRUE(holds(text, "more messages"));
}

// ---------------------------------------------------------------------------------------------------------
// Quantities: what is typed, and what is meant

TEST(Quantities, AreReadInEveryUnitAndRefusedWithReason) {
  const auto value = [](std::string_view text, const Dimension& dimension, std::string_view unit) {
    return parse_quantity(text, dimension, unit).value();
  };
  // Definitions: 1 ft = 0.3048 m, 1 in = 0.0254 m, 1 fc = 1 lm/ft2.
  EXPECT_EQ(value("2.70 m", kLength, "m"), 2.7);
  EXPECT_EQ(value("2.70m", kLength, "m"), 2.7);
  EXPECT_DOUBLE_EQ(value("9 ft 6 in", kLength, "m"), 9 * 0.3048 + 6 * 0.0254);
  EXPECT_DOUBLE_EQ(value("270 cm", kLength, "m"), 2.7);
  EXPECT_DOUBLE_EQ(value("30 fc", kIlluminance, "lx"), 30 / (0.3048 * 0.3048));
  EXPECT_EQ(value("-3 h 30 min", kDuration, "h"), -3.5);
  EXPECT_EQ(value("+5 h", kDuration, "h"), 5.0);
  EXPECT_EQ(value("12 min", kDuration, "min"), 12.0);
  EXPECT_EQ(value("12 min", kDuration, "s"), 720.0);
  EXPECT_EQ(value("250 mA", kCurrent, "mA"), 250.0);
  EXPECT_EQ(value("0.25 A", kCurrent, "mA"), 250.0);
  for (const char* bad : {"", "m", "2.7", "2.7 lx", "2.7  m", " 2.7 m", "2.7 m ", "6 in 9 ft", "2 m 2 m",
                          "1e3 m", "2,7 m", ".5 m", "5. m", "--2 m", "2.7 M", "nan m", "inf m"})
    EXPECT_FALSE(parse_quantity(bad, kLength, "m")) << bad;
  // More digits than a number has room for: beyond every range, never 0.
  EXPECT_EQ(value(std::string(400, '9') + " m", kLength, "m"), HUGE_VAL);
  EXPECT_EQ(value("0." + std::string(400, '0') + "1 m", kLength, "m"), 0.0);
}

TEST(Quantities, ReadBackAsTheyArePrinted) {
  for (std::uint32_t i = 0; i < 2000; ++i) {
    const double value = 1000.0 * random_uniform({3, 0}, {0, 0, 0, i}) - 300.0;
    const std::string text = quantity_text(value, kLength, "m");
    EXPECT_EQ(parse_quantity(text, kLength, "m").value(), value) << text;
  }
  EXPECT_EQ(quantity_text(900, kDuration, "s"), "15 min");
  EXPECT_EQ(quantity_text(90, kDuration, "s"), "90 s");
  EXPECT_EQ(quantity_text(0, kDuration, "s"), "0 s");
  EXPECT_EQ(quantity_text(2.7, kLength, "m"), "2.7 m");
}

// ---------------------------------------------------------------------------------------------------------
// A small validator for the part of JSON Schema 2020-12 that the project's schema uses

bool matches(const JsonNode& schema, const JsonNode& value, const JsonNode& root);

bool keyword_holds(const std::string& word, const JsonNode& argument, const JsonNode& schema,
                   const JsonNode& value, const JsonNode& root) {
  using Kind = JsonNode::Kind;
  const auto same = [](const JsonNode& a, const JsonNode& b) { return a.kind == b.kind && a.text == b.text; };
  const auto all_of = [](const auto& items, auto&& test) {
    return std::all_of(items.begin(), items.end(), test);
  };
  const auto any_of = [](const auto& items, auto&& test) {
    return std::any_of(items.begin(), items.end(), test);
  };
  if (word == "$ref") return matches(*at_pointer(root, argument.text.substr(1)), value, root);
  if (word == "anyOf") return any_of(argument.children, [&](auto& s) { return matches(s, value, root); });
  if (word == "const") return same(argument, value);
  if (word == "enum") return any_of(argument.children, [&](auto& a) { return same(a, value); });
  if (word == "type") {
    const std::map<std::string, Kind> kinds = {{"object", Kind::object},  {"array", Kind::array},
                                               {"string", Kind::string},  {"number", Kind::number},
                                               {"integer", Kind::number}, {"boolean", Kind::boolean}};
    return kinds.at(argument.text) == value.kind &&
           (argument.text != "integer" || value.number == std::floor(value.number));
  }
  if (value.kind == Kind::number && word == "minimum") return value.number >= argument.number;
  if (value.kind == Kind::number && word == "maximum") return value.number <= argument.number;
  if (value.kind == Kind::string && word == "pattern")
    return std::regex_search(value.text, std::regex(argument.text));
  if (value.kind == Kind::string && word == "maxLength") return value.text.size() <= argument.number;
  if (value.kind == Kind::array && word == "minItems") return value.children.size() >= argument.number;
  if (value.kind == Kind::array && word == "maxItems") return value.children.size() <= argument.number;
  if (value.kind == Kind::array && word == "items")
    return all_of(value.children, [&](auto& item) { return matches(argument, item, root); });
  if (value.kind == Kind::object && word == "required")
    return all_of(argument.children, [&](auto& key) { return value.find(key.text) != nullptr; });
  if (value.kind == Kind::object && (word == "properties" || word == "additionalProperties")) {
    const JsonNode* properties = schema.find("properties");
    for (std::size_t i = 0; i < value.keys.size(); ++i) {
      const JsonNode* property = properties == nullptr ? nullptr : properties->find(value.keys[i].name);
      if (word == "properties" && property != nullptr && !matches(*property, value.children[i], root))
        return false;
      if (word == "additionalProperties" && property == nullptr &&
          (argument.kind == Kind::boolean ? !argument.boolean : !matches(argument, value.children[i], root)))
        return false;
    }
    return true;
  }
  static const std::set<std::string> kKnown = {
      "$schema",  "$defs",   "title",    "description", "default",
      "minimum",  "maximum", "pattern",  "maxLength",   "minItems",
      "maxItems", "items",   "required", "properties",  "additionalProperties"};
  EXPECT_TRUE(kKnown.contains(word)) << "this validator does not know " << word;
  return true;
}

bool matches(const JsonNode& schema, const JsonNode& value, const JsonNode& root) {
  for (std::size_t i = 0; i < schema.keys.size(); ++i)
    if (!keyword_holds(schema.keys[i].name, schema.children[i], schema, value, root)) return false;
  return true;
}

/// Empty when the text is valid.
std::string against_schema(const std::string& text) {
  static const JsonNode root = *parse_json(project_schema_json(), "schema");
  const Result<JsonNode> document = parse_json(text, "");
  return document && matches(root, *document, root) ? "" : "the document does not match";
}

// ---------------------------------------------------------------------------------------------------------
// Completeness: every member of every described type is read, and read back as it was written

/// Gives every member another value than its default and writes the document that says so.
class SampleWriter : public ValuesOnly {
 public:
  explicit SampleWriter(int& counter) : counter_(counter) {}
  [[nodiscard]] std::string text() const { return "{" + members_ + "}"; }

  template <class T, class Codec>
  void required(std::string_view key, T& member, const Codec& codec, std::string_view) {
    const std::string standard = codec.text(member);
    do member = codec.sample(counter_++);
    while (codec.text(member) == standard);
    add(key, codec.text(member));
  }
  template <class T, class Codec>
  void with_default(std::string_view key, T& member, const Codec& codec, const Basis&, std::string_view doc,
                    bool = true) {
    required(key, member, codec, doc);
  }
  template <class T, class Codec>
  void optional(std::string_view key, T& member, const Codec& codec, std::string_view doc) {
    required(key, member, codec, doc);
  }
  template <class T>
  void object(std::string_view key, T& member, std::string_view) {
    SampleWriter inner(counter_);
    describe(inner, member);
    add(key, inner.text());
  }
  template <class T>
  void maybe(std::string_view key, std::optional<T>& member, std::string_view doc) {
    object(key, member.emplace(), doc);
  }
  template <class T>
  void list(std::string_view key, std::vector<T>& member, std::string_view) {
    SampleWriter inner(counter_);
    describe(inner, member.emplace_back());
    add(key, "[" + inner.text() + "]");
  }
  void owner(std::string& space) { required("space", space, Reference{Thing::space}, ""); }

 private:
  void add(std::string_view key, const std::string& json) {
    members_ += (members_.empty() ? "" : ", ") + json_string(key) + ": " + json;
  }
  int& counter_;
  std::string members_;
};

/// Lists what a value holds, and counts the members that its description names.
class FieldLister : public ValuesOnly {
 public:
  explicit FieldLister(std::string pointer = "") : pointer_(std::move(pointer)) {}
  std::map<std::string, std::string> fields;
  std::size_t own_members = 0;

  template <class T, class Codec>
  void required(std::string_view key, T& member, const Codec& codec, std::string_view) {
    ++own_members;
    EXPECT_TRUE(fields.emplace(pointer_ + "/" + std::string(key), codec.text(member)).second) << key;
  }
  template <class T, class Codec>
  void with_default(std::string_view key, T& member, const Codec& codec, const Basis&, std::string_view doc,
                    bool = true) {
    required(key, member, codec, doc);
  }
  template <class T, class Codec>
  void optional(std::string_view key, T& member, const Codec& codec, std::string_view doc) {
    required(key, member, codec, doc);
  }
  template <class T>
  void object(std::string_view key, T& member, std::string_view) {
    ++own_members;
    FieldLister inner(pointer_ + "/" + std::string(key));
    describe(inner, member);
    fields.merge(inner.fields);
  }
  template <class T>
  void maybe(std::string_view key, std::optional<T>& member, std::string_view doc) {
    if (member) {
      object(key, *member, doc);
    } else {
      ++own_members;
    }
  }
  template <class T>
  void list(std::string_view key, std::vector<T>& members, std::string_view) {
    ++own_members;
    for (std::size_t i = 0; i < members.size(); ++i) {
      FieldLister inner(fmt::format("{}/{}/{}", pointer_, key, i));
      describe(inner, members[i]);
      fields.merge(inner.fields);
    }
  }
  void owner(std::string& space) { required("space", space, Reference{Thing::space}, ""); }
  template <class>
  void partial_space(domain::Typical&, std::string_view, std::string_view) {
    ++own_members;  // fills `spaces` through the spaces that inherit
  }

 private:
  std::string pointer_;
};

TEST(Completeness, EveryKeyIsReadBackWithItsValue) {
  int counter = 0;
  SampleWriter writer(counter);
  domain::Project written;
  describe(writer, written);
  const std::string header = R"({"format": "halflight-project/1", "coordinates": "m", )";
  const Result<JsonNode> root = parse_json(header + writer.text().substr(1), "sample");
  ASSERT_TRUE(root);
  FieldReader reader("sample", nullptr);
  ProjectFile file;
  reader.read(*root, file);
  domain::Project& read = file.project;
  EXPECT_EQ(said(reader.take_diagnostics()), "");

  FieldLister expected;
  describe(expected, written);
  FieldLister got;
  describe(got, read);
  EXPECT_EQ(got.fields, expected.fields);
  EXPECT_GT(got.fields.size(), 250u);
  EXPECT_EQ(against_schema(header + writer.text().substr(1)), "")
      << "the schema takes all that the reader takes";
}

TEST(Completeness, EveryKeyOfTheLibraryIsReadBackWithItsValue) {
  int counter = 0;
  SampleWriter writer(counter);
  LibraryFile written;
  describe(writer, written);
  FieldReader reader("sample", nullptr);
  LibraryFile read;
  reader.read(*parse_json(writer.text(), "sample"), read);
  EXPECT_EQ(said(reader.take_diagnostics()), "");
  FieldLister expected;
  describe(expected, written);
  FieldLister got;
  describe(got, read);
  EXPECT_EQ(got.fields, expected.fields);
}

/// Stands for any member in braces, so that the members of an aggregate can be counted.
struct AnyMember {
  template <class T>
  operator T() const;
};
template <class T, class... Members>
consteval std::size_t member_count() {
  if constexpr (requires { T{Members{}..., AnyMember{}}; })
    return member_count<T, Members..., AnyMember>();
  else
    return sizeof...(Members);
}

template <class T>
void expect_all_members_described(std::size_t not_from_the_document = 0) {
  T value{};
  FieldLister lister;
  describe(lister, value);
  std::size_t members = member_count<T>();
  // A device's base counts as one member.
  if constexpr (std::is_base_of_v<domain::Device, T>) members += member_count<domain::Device>() - 1;
  EXPECT_EQ(lister.own_members + not_from_the_document, members) << kTypeName<T>;
}

template <class... T>
void expect_all_members_described_of() {
  (expect_all_members_described<T>(), ...);
}

TEST(Completeness, NoMemberIsForgottenInItsDescription) {
  using namespace domain;
  static_assert(member_count<Reflectances>() == 4);
  expect_all_members_described_of<ClockChange, DaylightSaving, ClimateReference, Site, ProjectType,
                                  OwnerRequirements, CodeEdition, Storey, Obstruction, Meter, HvacZone,
                                  DemandEvent, DemandEvents, Glazing, Shade, DayHours, DateRange, Calendar,
                                  Tariff, CostItem, Confirmation>();
  expect_all_members_described_of<Reflectances, Opening, Door, Partition, Furniture, EgressPath, TaskArea,
                                  Occupancy, PlugDevice, PlugLoads, Space, Typical, StartingPoint,
                                  SpaceKind>();
  expect_all_members_described_of<Driver, PhotometryReference, Channel, LuminaireType, Emergency, Luminaire,
                                  Circuit, Group, AdjustableSetting, OccupancySensor, Photosensor, Station,
                                  LoadController, TimeClock, Interface, Infrastructure>();
  expect_all_members_described_of<SceneLevel, Scene, OnRule, VacancyRule, ScheduleRule, TrimRule,
                                  DaylightRule, ManualRule, DemandResponseRule, LossRule, Sequence,
                                  HvacHandOff, Design>();
  expect_all_members_described<Project>(1);  // defaults_taken is what the reader finds
}

/// Gives the `target`-th value that a description names another value.
class OneChange : public ValuesOnly {
 public:
  OneChange(int target, int& counter) : target_(target), counter_(counter) {}
  template <class T, class Codec>
  void required(std::string_view, T& member, const Codec& codec, std::string_view) {
    if (counter_++ != target_) return;
    const std::string before = codec.text(member);
    for (int n = 0; codec.text(member) == before; ++n) member = codec.sample(n);
  }
  template <class T, class Codec>
  void with_default(std::string_view key, T& member, const Codec& codec, const Basis&, std::string_view doc,
                    bool = true) {
    required(key, member, codec, doc);
  }
  template <class T, class Codec>
  void optional(std::string_view key, T& member, const Codec& codec, std::string_view doc) {
    required(key, member, codec, doc);
  }
  template <class T>
  void object(std::string_view, T& member, std::string_view) {
    describe(*this, member);
  }
  template <class T>
  void maybe(std::string_view, std::optional<T>& member, std::string_view) {
    if (member) describe(*this, *member);
  }
  template <class T>
  void list(std::string_view, std::vector<T>& members, std::string_view) {
    for (T& member : members) describe(*this, member);
  }
  void owner(std::string&) {}

 private:
  int target_;
  int& counter_;
};

/// One of everything, all of it in space "room", and a second space without anything.
domain::Project one_of_everything() {
  int counter = 0;
  SampleWriter writer(counter);
  domain::Project project;
  describe(writer, project);
  project.spaces[0].id = "room";
  const auto in_the_room = [](auto& items) {
    for (auto& item : items) item.space = "room";
  };
  domain::Design& design = project.designs[0];
  in_the_room(design.luminaires);
  in_the_room(design.groups);
  in_the_room(design.scenes);
  in_the_room(design.sequences);
  in_the_room(design.occupancy_sensors);
  in_the_room(design.photosensors);
  in_the_room(design.stations);
  in_the_room(design.load_controllers);
  in_the_room(design.time_clocks);
  in_the_room(design.interfaces);
  in_the_room(design.infrastructure);
  in_the_room(design.hvac_hand_offs);
  project.spaces.push_back(project.spaces[0]);
  project.spaces[1].id = "other";
  return project;
}

TEST(ContentKeys, ChangeWithEveryValueThatConcernsTheSpaceAndWithNoOther) {
  const domain::Project project = one_of_everything();
  const std::vector<Hash> before = content_keys(project);
  ASSERT_EQ(before.size(), 2U);
  FieldLister lister;
  domain::Project listed = project;
  describe(lister, listed);
  int counter = 0;
  for (int target = 0; target <= counter; ++target) {
    domain::Project changed = project;
    OneChange change(target, counter = 0);
    describe(change, changed);
    if (target >= counter) break;
    FieldLister after;
    describe(after, changed);
    std::string where;
    for (const auto& [pointer, text] : after.fields)
      if (lister.fields.at(pointer) != text) where = pointer;
    const auto under = [&](std::string_view prefix) { return where.starts_with(prefix); };
    // Readings weigh years and change none; kinds of devices and rules of circuits say what may be chosen.
    const bool of_no_year = where == "/name" || where == "/client" || where == "/author" ||
                            where == "/electrical_rules" || under("/device_kinds/") || under("/tariffs/") ||
                            under("/estimate/") || under("/costs/") || under("/confirmations/") ||
                            under("/readings/");
    const bool of_the_other = under("/spaces/1/");
    const std::vector<Hash> keys = content_keys(changed);
    EXPECT_EQ(keys[0] == before[0], of_no_year || of_the_other) << where;
    if (where != "/spaces/0/id") {  // then the design's objects stand in another space
      const bool only_of_the_room =
          under("/spaces/0/") || (under("/designs/0/") && std::count(where.begin(), where.end(), '/') > 3 &&
                                  !under("/designs/0/circuits") && !under("/designs/0/load_controllers"));
      EXPECT_EQ(keys[1] == before[1], of_no_year || only_of_the_room) << where;
    }
  }
  EXPECT_GT(counter, 300);
}

// ---------------------------------------------------------------------------------------------------------
// Schema

TEST(ProjectSchema, IsTheFileThatIsPublished) {
  EXPECT_EQ(read_file(kRoot / "schema/project.schema.json"), project_schema_json())
      << "docs/formats/project.md says how to write it anew";
}

/// Not run by itself: formats_test --gtest_also_run_disabled_tests
/// --gtest_filter=ProjectSchema.DISABLED_WriteAnew
TEST(ProjectSchema, DISABLED_WriteAnew) {
  std::ofstream(kRoot / "schema/project.schema.json", std::ios::binary) << project_schema_json();
}

TEST(ProjectSchema, TakesGoodDocumentsAndRefusesBadOnes) {
  EXPECT_EQ(against_schema(read_file(kRoot / "tests/documents/one_room.halflight.json")), "");
  EXPECT_EQ(against_schema(kTypicals), "");
  for (const char* name :
       {"key_misspelt", "enum_word", "unit_missing", "unit_wrong", "unit_unknown", "type_flag",
        "type_text_for_list", "id_bad_characters", "floor_two_points", "fraction_percent", "format_newer",
        "format_missing", "null_value", "date_impossible", "not_an_object"})
    EXPECT_NE(
        against_schema(read_file(kRoot / "tests/broken/documents" / (std::string(name) + ".halflight.json"))),
        "")
        << name;
}

TEST(ProjectSchema, NamesEveryKeyWithADescription) {
  const Result<JsonNode> schema = parse_json(project_schema_json(), "schema");
  ASSERT_TRUE(schema);
  const JsonNode* definitions = schema->find("$defs");
  ASSERT_NE(definitions, nullptr);
  EXPECT_GT(definitions->children.size(), 50u);
  for (std::size_t i = 0; i < definitions->children.size(); ++i) {
    const JsonNode& definition = definitions->children[i];
    EXPECT_FALSE(definition.find("additionalProperties")->boolean) << definitions->keys[i].name;
    for (const JsonNode& property : definition.find("properties")->children)
      EXPECT_GT(property.find("description")->text.size(), 3u) << definitions->keys[i].name;
  }
}

// ---------------------------------------------------------------------------------------------------------
// Broken documents

TEST(BrokenDocuments, SayExactlyWhatIsWrong) {
  // One table: a line "== name", then its errors and warnings in order; what is missing is listed only for
  // documents whose name begins with "missing".
  const std::filesystem::path folder = kRoot / "tests/broken/documents";
  std::map<std::string, std::string> expected;
  std::istringstream table(read_file(folder / "expected.txt"));
  std::string name;
  for (std::string line; std::getline(table, line);) {
    if (line.starts_with("== "))
      expected[name = line.substr(3)];
    else if (!line.empty())
      expected[name] += line + "\n";
  }
  std::map<std::string, std::string> got;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const std::string file = entry.path().filename().string();
    if (!file.ends_with(".halflight.json")) continue;
    Diagnostics diagnostics = load(read_file(entry.path()), "").diagnostics();
    if (!file.starts_with("missing"))
      std::erase_if(diagnostics,
                    [](const Diagnostic& d) { return d.severity == Diagnostic::Severity::missing; });
    got[file] = said(diagnostics);
    EXPECT_FALSE(got[file].empty()) << file;
  }
  EXPECT_GE(got.size(), 25u);
  for (const auto& [file, text] : got) EXPECT_EQ(text, expected[file]) << file;
  EXPECT_EQ(expected.size(), got.size());
}

TEST(BrokenDocuments, NoDamageCrashesTheReader) {
  // Counter-based, so that a failure can be repeated from its number.
  const std::vector<std::string> sources = {read_file(kRoot / "tests/documents/one_room.halflight.json"),
                                            kTypicals};
  for (std::uint32_t i = 0; i < 600; ++i) {
    std::string text = sources[i % sources.size()];
    const auto w = random_words({7, hash_name("damage")}, {0, 0, 0, i});
    const auto more = random_words({8, hash_name("damage")}, {0, 0, 0, i});
    const std::size_t at = w[0] % text.size();
    const std::size_t length = 1 + w[1] % 40;
    switch (w[2] % 6) {
      case 0:
        text[at] = static_cast<char>(more[0] & 0xFFu);
        break;
      case 1:
        text.resize(at);
        break;
      case 2:
        text.erase(at, length);
        break;
      case 3:
        text.insert(at, text.substr(more[0] % text.size(), length));
        break;
      case 4:
        text[at] = static_cast<char>(text[at] ^ (1 << (more[0] % 8)));
        break;
      case 5:
        text.replace(at, 1, std::to_string(static_cast<std::int32_t>(more[0])));
        break;
    }
    const ProjectDocument document = load(text);
    EXPECT_EQ(document.text(), text) << i;
    for (const Diagnostic& d : document.diagnostics()) EXPECT_FALSE(d.problem.empty()) << i;
  }
}

TEST(BrokenDocuments, EveryValueMayBeOfAnotherKind) {
  // Puts each kind of JSON value in the place of each value of a whole document.
  const ProjectDocument whole = load(kTypicals);
  std::vector<std::string> pointers;
  const auto collect = [&](auto&& self, const JsonNode& node, const std::string& pointer) -> void {
    pointers.push_back(pointer);
    for (std::size_t i = 0; i < node.children.size(); ++i)
      self(self, node.children[i],
           pointer + "/" + (node.keys.empty() ? std::to_string(i) : pointer_step(node.keys[i].name)));
  };
  collect(collect, *parse_json(kTypicals, ""), "");
  for (const std::string& pointer : pointers)
    for (const char* value : {"null", "true", "-1", "1e300", "\"\"", "\"x\"", "[]", "[[]]", "[null]", "{}"}) {
      ProjectDocument document = whole;
      EXPECT_EQ(said(document.replace(pointer, value)), "") << pointer;
    }
}

// ---------------------------------------------------------------------------------------------------------
// Library

TEST(Library, HoldsTheKindsOfSpaceDriversAndLuminaires) {
  EXPECT_GE(library().kinds.size(), 16u);
  EXPECT_GE(library().drivers.size(), 5u);
  EXPECT_GE(library().luminaire_types.size(), 12u);
  for (const domain::SpaceKind& kind : library().kinds) {
    EXPECT_FALSE(kind.target_source.empty()) << kind.id;
    EXPECT_FALSE(kind.occupancy_source.empty()) << kind.id;
    EXPECT_FALSE(kind.code_space_type.empty()) << kind.id;
  }
  EXPECT_TRUE(domain::find_by_id(library().kinds, "plant")->automatic_off_refused);
  EXPECT_EQ(domain::find_by_id(library().kinds, "corridor")->task_height_m, 0.0);
  // A luminaire that makes more light from a watt than any on the market is a slip of the hand.
  for (const domain::LuminaireType& type : library().luminaire_types)
    for (const domain::Channel& channel : type.channels) {
      EXPECT_GT(channel.lumens / channel.input_w, 25.0) << type.id;
      EXPECT_LT(channel.lumens / channel.input_w, 160.0) << type.id;
      EXPECT_FALSE(channel.photometry.formula.empty()) << type.id;
    }
}

TEST(Library, HoldsKindsOfDevicesThatDoSomethingAndSayWhereTheirFiguresComeFrom) {
  using Mounting = domain::DeviceKind::Mounting;
  EXPECT_GE(library().device_kinds.size(), 25u);
  for (const domain::DeviceKind& kind : library().device_kinds) {
    EXPECT_FALSE(kind.name.empty() || kind.source.empty()) << kind.id;
    const bool is_chosen_by_id = kind.id == "partition_contact";  // choose/partition_sensor.cpp
    EXPECT_TRUE(kind.occupancy || kind.light || kind.load || kind.buttons > 0 || kind.infrastructure ||
                kind.switches_plugs || is_chosen_by_id)
        << kind.id;
    EXPECT_GT(kind.price.material.most, 0.0) << kind.id;
    // A device draws from the mains or lives on a battery.
    if (kind.battery_years) {
      EXPECT_EQ(kind.standby_w, 0.0) << kind.id;
      EXPECT_EQ(kind.link, domain::Link::radio) << kind.id;
    }
    if (kind.occupancy) {
      EXPECT_LE(kind.occupancy->minor_radius_m, kind.occupancy->major_radius_m) << kind.id;
      EXPECT_TRUE(kind.mounting == Mounting::ceiling || kind.mounting == Mounting::wall ||
                  kind.mounting == Mounting::wall_box || kind.mounting == Mounting::in_luminaire)
          << kind.id;
    }
  }
  // NFPA 70 210.20(A) counts continuous loads at 125 % (from memory).
  EXPECT_DOUBLE_EQ(domain::find_by_id(library().electrical_rules, "nfpa_70")->continuous_share, 1.0 / 1.25);
}

TEST(Library, RefusesAFileWithMistakes) {
  const auto messages = [](const std::string& text) {
    const LibrarySource source{"lib.json", bytes_of(text)};
    const Result<domain::Library> result = load_library(std::span(&source, 1));
    return result ? std::string() : said(result.error());
  };
  EXPECT_EQ(messages(R"({"format": "halflight-library/1", "drivers": [{"id": "d"}]})"), "");
  EXPECT_EQ(messages(R"({"format": "halflight-library/2"})"),
            "error: lib.json /format: \"halflight-library/2\" is no format of a library file; write "
            "\"halflight-library/1\"\n");
  EXPECT_NE(messages(R"({"format": "halflight-library/1", "drivers": [{"id": "d", "standby": "5 lm"}]})"),
            "");
  EXPECT_NE(messages(R"({"format": "halflight-library/1", "luminaire_types": [{"id": "t", "channels": [
      {"id": "all", "driver": "no", "input": "3 W", "lumens": "9 lm"}]}]})")
                .find("names the driver \"no\", which no file defines"),
            std::string::npos);
  EXPECT_NE(messages(R"({"format": "halflight-library/1", "drivers": [{"id": "d"}, {"id": "d"}]})"), "");
  EXPECT_EQ(
      messages(R"({"format": "halflight-library/1", "device_kinds": [{"id": "k", "name": "k",
      "mounting": "wall", "price": {"material": {"least": 9, "most": 8}, "labour_hours": {"least": 0, "most": 1},
      "set_up_hours": {"least": 0, "most": 0}}, "source": "s"}]})"),
      "error: library: the price of \"k\" is at least 9 and at most 8; give the smaller figure as least\n");
}

}  // namespace
}  // namespace halflight::formats
