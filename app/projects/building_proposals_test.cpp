// Rooms of a document together: which have something to choose, and the document with designs in several
// rooms.
#include "projects/building_proposals.hpp"

#include "projects/own_library_test.hpp"

#include <numeric>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::projects {
namespace {

using choose::Part;
using formats::ProjectDocument;

/// Two cells of one typical, a third room with nothing decided, and one without luminaires.
ProjectDocument document() {
  static const std::string text = R"({
  "format": "halflight-project/1", "id": "t", "storeys": [{"id": "s"}],
  "calendars": [{"id": "c", "hours": [{"weekdays": ["mon"], "open": "08:00", "close": "17:00"}]}],
  "luminaire_types": [{"id": "panel", "length": "0.6 m", "width": "0.6 m", "channels": [{"id": "all", "driver": "led_digital", "input": "28 W", "lumens": "3600 lm",
    "photometry": {"formula": "two_plane_cosine", "parameters": {"along_exponent": 1.2, "across_exponent": 1.5}}}]}],
  "typicals": [{"id": "cell", "space": {"kind": "office_enclosed", "height": "3 m", "floor": [[0,0],[4,0],[4,5],[0,5]], "occupancy": {"calendar": "c"}}}],
  "spaces": [
    {"id": "1", "number": "1.01", "typical": "cell", "storey": "s"},
    {"id": "2", "number": "1.02", "kind": "corridor", "storey": "s", "height": "3 m", "floor": [[0,5],[4,5],[4,7],[0,7]], "occupancy": {"calendar": "c"}},
    {"id": "3", "number": "1.03", "typical": "cell", "storey": "s", "origin": [5, 0]},
    {"id": "4", "number": "1.04", "kind": "corridor", "storey": "s", "height": "3 m", "floor": [[0,8],[4,8],[4,9],[0,9]], "occupancy": {"calendar": "c"}}],
  "designs": [
    {"id": "before", "role": "as_found"},
    {"id": "after", "role": "proposal",
     "luminaires": [{"id": "B", "space": "2", "type": "panel", "at": [2, 6, 3]}],
     "typicals": [{"typical": "cell", "luminaires": [{"id": "A", "type": "panel", "at": [2, 2, 3]}],
       "groups": [{"id": "all", "strategy": "scene", "channels": ["A"]}, {"id": "occ", "strategy": "occupancy", "channels": ["A"]}],
       "occupancy_sensors": [{"id": "O", "at": [2, 2, 3], "technology": "infrared", "coverage": "circle", "major_radius": "3 m", "minor_radius": "2 m", "groups": ["occ"]}],
       "stations": [{"id": "W", "at": [0, 1, 1.2], "buttons": ["off"]}],
       "sequences": [{"on": {"by": "occupancy"}, "vacancy": {"delay": "15 min", "groups": ["occ"]}}]}]}]
})";
  return ProjectDocument::load(std::as_bytes(std::span(text.data(), text.size())), "test", library());
}
const domain::Design& proposal(const ProjectDocument& document) {
  return *domain::find_design(document.project(), domain::Design::Role::proposal);
}
std::vector<std::size_t> every_space(const ProjectDocument& document) {
  std::vector<std::size_t> all(document.project().spaces.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  return all;
}

TEST(BuildingProposals, RoomsOfOneTypicalAreOneAndThoseWithoutAChoiceSayWhy) {
  const ProjectDocument here = document();
  for (const Diagnostic& d : here.diagnostics())
    ASSERT_NE(d.severity, Diagnostic::Severity::error) << to_text(d);
  const auto spaces = every_space(here);
  const RoomsWithChoice open =
      rooms_with_choice(here.project(), proposal(here), spaces, std::set<Part>{Part::stations});
  ASSERT_EQ(open.rooms.size(), 2U);
  EXPECT_EQ(open.rooms[0].spaces, (std::vector<std::size_t>{0, 2}));
  EXPECT_EQ(open.rooms[1].spaces, std::vector<std::size_t>{1});
  EXPECT_EQ(open.rooms[1].kept, std::set<Part>{Part::stations});
  ASSERT_EQ(open.without.size(), 1U);
  EXPECT_EQ(open.without[0].spaces, std::vector<std::size_t>{3});
  EXPECT_EQ(open.without[0].because, "1.04 has no luminaires to control");

  const std::set<Part> all(choose::kParts.begin(), choose::kParts.end());
  const RoomsWithChoice shut = rooms_with_choice(here.project(), proposal(here), spaces, all);
  EXPECT_TRUE(shut.rooms.empty());
  ASSERT_EQ(shut.without.size(), 3U);
  EXPECT_EQ(shut.without[0].spaces, (std::vector<std::size_t>{0, 2})) << "both cells with one reason";
  EXPECT_EQ(shut.without[0].because, "nothing is left to choose: all controls of 1.01 stay as they are");
}

TEST(BuildingProposals, WithoutAWordEachRoomKeepsWhatItHasDecided) {
  const ProjectDocument here = document();
  const RoomsWithChoice choice =
      rooms_with_choice(here.project(), proposal(here), every_space(here), std::nullopt);
  ASSERT_EQ(choice.rooms.size(), 2U);
  EXPECT_EQ(choice.rooms[0].kept, (std::set<Part>{Part::occupancy, Part::stations}));
  EXPECT_EQ(choice.rooms[1].kept, std::set<Part>{Part::receptacles}) << "nothing is plugged in";
}

/// The edits of all rooms follow one another, so that they are one change of the first document.
TEST(BuildingProposals, EditsOfSeveralRoomsAreOneChange) {
  const ProjectDocument here = document();
  choose::RoomControls cell = choose::controls_of(here.project(), proposal(here), "1");
  cell.stations.clear();
  choose::RoomControls corridor = choose::controls_of(here.project(), proposal(here), "2");
  corridor.groups.push_back({});
  corridor.groups.back().id = "C-all";
  corridor.groups.back().space = "2";
  corridor.groups.back().channels = {"B"};
  const std::vector<DesignToTake> designs = {{{"1", "3"}, cell}, {{"2"}, corridor}};
  ProjectFiles files;
  files.library = std::make_shared<const domain::Library>(library());
  const auto taken = take_designs(here, files, designs);
  ASSERT_TRUE(taken) << to_text(taken.error().front());
  ProjectDocument again = here;
  EXPECT_TRUE(again.apply(taken->edits).empty());
  EXPECT_EQ(again.text(), taken->document.text());
  EXPECT_NE(again.text(), here.text());
  const domain::Design& after = proposal(again);
  EXPECT_TRUE(after.stations.empty()) << "in both cells";
  EXPECT_TRUE(std::any_of(after.groups.begin(), after.groups.end(),
                          [](const domain::Group& group) { return group.id == "C-all"; }));
  EXPECT_FALSE(taken->relays) << "nothing talks by radio";

  const auto nothing = take_designs(here, files, {});
  ASSERT_TRUE(nothing);
  EXPECT_TRUE(nothing->edits.empty());
  EXPECT_EQ(nothing->document.text(), here.text());
}

choose::RoomProposals found_with(std::vector<std::pair<double, double>> designs, bool has_own) {
  choose::RoomProposals found;
  std::vector<choose::Merits> merits;
  for (const auto& [cost, kwh] : designs) {
    choose::RoomDesign design;
    design.name = std::to_string(found.designs.size());
    design.cost.cost = {cost, cost};
    design.cost.quantities = {{"thing", "thing", 1 + static_cast<int>(cost), {1.0 + cost, 1.0 + cost}, {}}};
    design.trial.kwh = {kwh, kwh};
    design.trial.year_kwh.mean = kwh;
    merits.push_back(design.merits());
    found.designs.push_back(std::move(design));
  }
  found.front = choose::front_of(merits);
  found.as_found.kwh = {100.0, 100.0};
  found.has_own = has_own;
  return found;
}

TEST(BuildingProposals, TheLineTellsEveryPointAndWhatStands) {
  const auto first = found_with({{50.0, 90.0}, {0.0, 80.0}, {20.0, 40.0}}, true);
  auto second = found_with({{0.0, 80.0}, {100.0, 70.0}}, true);
  std::vector<RoomsFound> rooms = {{{"a"}, std::make_shared<const choose::RoomProposals>(first)},
                                   {{"b", "c"}, std::make_shared<const choose::RoomProposals>(second)}};
  const choose::BuildingLine line = choose::building_line(on_line(rooms));
  const nlohmann::json json = building_json(rooms, line, 1);
  ASSERT_EQ(json["steps"].size(), 2U);
  ASSERT_EQ(json["sums"].size(), 3U) << "one more than steps";
  EXPECT_EQ(json["sums"][0]["designs"], (nlohmann::json{1, 0}));
  EXPECT_EQ(json["sums"][2]["designs"], (nlohmann::json{2, 1}));
  EXPECT_EQ(json["sums"][2]["cost"]["most"], 20.0 + 2 * 100.0);
  EXPECT_EQ(json["sums"][0]["cost_over_least"]["most"], 0.0);
  EXPECT_EQ(json["sums"][2]["cost_over_least"]["least"], 220.0);
  EXPECT_EQ(json["sums"][2]["saved_over_least_kwh"]["mean"], 40.0 + 2 * 10.0);
  EXPECT_EQ(json["points"].size(), 3U);
  EXPECT_EQ(json["rooms"][0]["designs"].size(), 3U) << "the hull, and what stands";
  EXPECT_EQ(json["stands"]["cost"]["least"], 50.0);
  EXPECT_EQ(json["stands"]["cost_over_least"]["least"], 50.0);
  EXPECT_EQ(json["stands"]["saved_over_least_kwh"]["mean"], -10.0) << "it draws more";
  EXPECT_EQ(json["stands"]["kwh"]["mean"], 90.0 + 2 * 80.0);

  second.has_own = false;
  rooms[1].found = std::make_shared<const choose::RoomProposals>(second);
  EXPECT_TRUE(building_json(rooms, line, 1)["stands"].is_null()) << "one room's own may not be proposed";
  EXPECT_TRUE(building_json({}, choose::building_line({}), 1).is_null());
}

}  // namespace
}  // namespace halflight::projects
