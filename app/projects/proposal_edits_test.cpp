// What writes a proposal into a document: that it reads back as it was proposed, and that nothing else
// changes.
#include "projects/proposal_edits.hpp"

#include "formats/object_text.hpp"
#include "projects/own_library_test.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::projects {
namespace {

using choose::RoomControls;
using formats::ProjectDocument;

ProjectDocument load(const std::string& text) {
  return ProjectDocument::load(std::as_bytes(std::span(text.data(), text.size())), "test", library());
}
const domain::Design& proposal(const ProjectDocument& document) {
  return *domain::find_design(document.project(), domain::Design::Role::proposal);
}
RoomControls controls(const ProjectDocument& document, const std::string& space) {
  return choose::controls_of(document.project(), proposal(document), space);
}
std::string errors(const ProjectDocument& document) {
  std::string text;
  for (const Diagnostic& d : document.diagnostics())
    if (d.severity == Diagnostic::Severity::error) text += to_text(d) + "\n";
  return text;
}

/// Every object as a document has it, to the millimetre, by list and id.
std::map<std::string, std::string> texts(const RoomControls& controls) {
  std::map<std::string, std::string> all;
  const auto add = [&](const char* list, const auto& objects) {
    for (const auto& one : objects) all[list + one.id] = formats::object_text(one, 1.0);
  };
  add("group ", controls.groups);
  add("scene ", controls.scenes);
  add("sensor ", controls.occupancy_sensors);
  add("photosensor ", controls.photosensors);
  add("station ", controls.stations);
  add("controller ", controls.load_controllers);
  add("partition sensor ", controls.partition_sensors);
  all["sequence"] = formats::object_text(controls.sequence, 1.0);
  return all;
}

/// A document of one design; rooms are 4 m x 5 m. `room`: more keys of the space "1"; `lists`: more lists of
/// the proposal; `ft`: in feet.
std::string document_of(const std::string& lists, bool ft = false) {
  return std::string(R"({
  "format": "halflight-project/1", "id": "t",  )") +
         (ft ? R"("coordinates": "ft", )" : "") + R"("storeys": [{"id": "s"}],
  "calendars": [{"id": "c", "hours": [{"weekdays": ["mon"], "open": "08:00", "close": "17:00"}]}],
  "spaces": [
    {"id": "1", "kind": "office_enclosed", "storey": "s", "height": "3 m", "floor": )" +
         (ft ? "[[0,0],[13,0],[13,16],[0,16]]" : "[[0,0],[4,0],[4,5],[0,5]]") + R"(,
     "occupancy": {"calendar":   "c"}},
    {"id": "2", "kind": "corridor", "storey": "s", "height": "3 m", "floor": )" +
         (ft ? "[[13,0],[26,0],[26,16],[13,16]]" : "[[4,0],[8,0],[8,5],[4,5]]") + R"(}],
  "designs": [{"id": "p", "role": "proposal",
    "luminaires": [
      {"id": "A", "type": "panel_600", "space": "1", "at": [1,   1.0, 2.9]},
      {"id": "B", "type": "panel_600", "space": "1", "at": [3, 4, 2.9]},
      {"id": "C", "type": "panel_600", "space": "2", "at": )" +
         (ft ? "[20, 4, 2.9]" : "[6, 2, 2.9]") + R"(}])" + lists + R"(}]
})";
}

/// What a proposal could be for a room: a group and a device of each sort.
RoomControls proposed(const std::string& space, const std::string& stem, Point2 corner,
                      const std::vector<std::string>& luminaires) {
  RoomControls made;
  made.groups = {{stem + "day", space, domain::Strategy::daylight, "by the window", {luminaires[0]}},
                 {stem + "all", space, domain::Strategy::occupancy, "whole room", luminaires},
                 {stem + "a", space, domain::Strategy::scene, "a", luminaires}};
  domain::Scene scene;
  scene.id = stem + "normal";
  scene.space = space;
  scene.name = "Normal";
  scene.levels = {{stem + "a", 1.0}};
  made.scenes = {scene};
  domain::OccupancySensor sensor;
  sensor.id = stem + "O1";
  sensor.space = space;
  sensor.at = {corner.x + 2.0, corner.y + 2.5, 2.7};
  sensor.device_kind = "ceiling_infrared";
  sensor.standby_w = 0.5;
  sensor.groups = {stem + "all"};
  made.occupancy_sensors = {sensor};
  domain::Photosensor eye;
  eye.id = stem + "P1";
  eye.space = space;
  eye.at = {corner.x + 1.25, corner.y + 1.75, 2.7};
  eye.device_kind = "photosensor_closed";
  eye.groups = {stem + "day"};
  made.photosensors = {eye};
  domain::Station station;
  station.id = stem + "S1";
  station.space = space;
  station.at = {corner.x + 0.1, corner.y + 1.0, 1.1};
  station.device_kind = "station_four";
  station.buttons = {"on", "off", "raise", "lower"};
  made.stations = {station};
  domain::LoadController controller;
  controller.id = stem + "LC1";
  controller.space = space;
  controller.at = {corner.x + 0.1, corner.y + 1.0, 2.9};
  controller.device_kind = "room_bus";
  controller.luminaires = luminaires;
  made.load_controllers = {controller};
  domain::Interface contact;
  contact.id = stem + "PW1";
  contact.space = space;
  contact.at = {corner.x + 2.0, corner.y + 0.1, 2.9};
  contact.kind = domain::Interface::Kind::partition_sensor;
  contact.direction = domain::Interface::Direction::in;
  contact.device_kind = "partition_contact";
  made.partition_sensors = {contact};
  domain::Sequence& sequence = made.sequence;
  sequence.space = space;
  sequence.normal_scene = scene.id;
  sequence.on = {domain::OnRule::By::occupancy, 0.45, 2.0};
  sequence.vacancy.emplace().delay_s = 1200.0;
  sequence.schedule.emplace().calendar = "c";
  sequence.trim.emplace();
  domain::DaylightRule rule;
  rule.group = stem + "day";
  rule.photosensor = eye.id;
  rule.task_area = "floor";
  rule.minimum_level = 0.2;
  sequence.daylight = {rule};
  sequence.manual = domain::ManualRule{{station.id}, domain::ManualRule::HoldsUntil::vacancy, 7200.0};
  return made;
}

/// Puts it in; the document must be valid, hold just that, and ask for no more edits.
ProjectDocument applied(ProjectDocument document, const std::string& space, const RoomControls& wanted) {
  EXPECT_EQ(errors(document), "");
  const std::vector<formats::DocumentEdit> edits = edits_for(document, space, wanted);
  EXPECT_FALSE(edits.empty());
  for (const Diagnostic& d : document.apply(edits)) ADD_FAILURE() << to_text(d);
  EXPECT_EQ(errors(document), "");
  EXPECT_EQ(texts(controls(document, space)), texts(wanted));
  EXPECT_EQ(edits_for(document, space, wanted).size(), 0U) << "what stands is written once";
  return document;
}

std::string task_of(const ProjectDocument& document) {
  return document.project().spaces[0].task_areas.at(0).id;
}

TEST(ProposalEdits, FillARoomThatHasNothingYet) {
  const std::string text = document_of("");
  const ProjectDocument document = load(text);
  RoomControls wanted = proposed("1", "1-", {0, 0}, {"A", "B"});
  wanted.sequence.daylight[0].task_area = task_of(document);
  const ProjectDocument after = applied(document, "1", wanted);
  // Nothing that stood has lost a byte: the old text is what is left when the lists are taken out again.
  EXPECT_EQ(after.text().substr(0, text.find("2.9]}])") + 5), text.substr(0, text.find("2.9]}])") + 5));
  EXPECT_NE(after.text().find(R"("at": [1,   1.0, 2.9])"), std::string::npos);
  EXPECT_TRUE(controls(after, "2").groups.empty());
}

TEST(ProposalEdits, ReplaceWhatIsThereAndLeaveTheRest) {
  const std::string lists = R"(,
    "groups": [
      {"id": "old", "space": "1", "strategy": "occupancy",   "channels": ["A", "B"]},
      {"id": "walk", "space": "2", "strategy": "occupancy", "channels": ["C"]},
      {"id": "1-a", "space": "1", "strategy": "scene", "name": "a",  "channels": ["A", "B"]}],
    "scenes": [{"id": "1-normal", "space": "1", "name": "Normal", "levels": [{"group": "1-a", "level": 0.85}]}],
    "occupancy_sensors": [
      {"id": "X", "space": "1", "at": [2, 2, 2.8], "groups": ["old"]},
      {"id": "gone", "space": "1", "status": "remove", "at": [1.9, 2, 2.8], "groups": ["old"]},
      {"id": "Y", "space": "2", "at": )"
                            "[6, 3,   2.8]"
                            R"(, "groups": ["walk"]}],
    "load_controllers": [{"id": "LC", "space": "2", "at": [6, 1, 2.9], "groups": ["old", "walk"], "luminaires": ["A"]}],
    "sequences": [
      {"space": "1", "normal_scene": "1-normal", "on": {"by":  "hand"}, "vacancy": {"delay": "10 min"}, "loss": {"sensor_lost": 0.7}},
      {"space": "2", "on": {"by": "occupancy"}, "vacancy": {"delay": "9 min"}}])";
  const ProjectDocument document = load(document_of(lists));
  RoomControls wanted = proposed("1", "1-", {0, 0}, {"A", "B"});
  wanted.sequence.daylight[0].task_area = task_of(document);
  wanted.sequence.loss = controls(document, "1").sequence.loss;
  // A scene that stands may have got levels since the proposal was made: they stay.
  wanted.scenes = controls(document, "1").scenes;
  const ProjectDocument after = applied(document, "1", wanted);
  for (const char* stays :
       {R"({"id": "walk", "space": "2", "strategy": "occupancy", "channels": ["C"]})",
        R"({"id": "1-a", "space": "1", "strategy": "scene", "name": "a",  "channels": ["A", "B"]})",
        R"("levels": [{"group": "1-a", "level": 0.85}])", R"("at": [6, 3,   2.8])",
        R"("loss": {"sensor_lost": 0.7})",
        R"({"space": "2", "on": {"by": "occupancy"}, "vacancy": {"delay": "9 min"}})"})
    EXPECT_NE(after.text().find(stays), std::string::npos) << stays;
  for (const char* goes : {"\"old\"", "\"X\"", "\"10 min\""})
    EXPECT_EQ(after.text().find(goes), std::string::npos) << goes;
  // The corridor's controller drives the corridor alone; what is to be removed stays on the list.
  const domain::LoadController* shared = domain::find_by_id(proposal(after).load_controllers, "LC");
  ASSERT_NE(shared, nullptr);
  EXPECT_EQ(shared->groups, std::vector<std::string>{"walk"});
  EXPECT_TRUE(shared->luminaires.empty());
  EXPECT_NE(domain::find_by_id(proposal(after).occupancy_sensors, "gone"), nullptr);

  // And taken out again: a room that is left with its scenes.
  RoomControls bare;
  bare.sequence.space = "1";
  bare.sequence.normal_scene = "1-normal";
  bare.sequence.loss = wanted.sequence.loss;
  bare.groups = {wanted.groups[2]};
  bare.scenes = wanted.scenes;
  const ProjectDocument emptied = applied(after, "1", bare);
  EXPECT_FALSE(controls(emptied, "1").sequence.vacancy);
}

TEST(ProposalEdits, TellHvacOfRoomsByContactsOfTheirOwn) {
  for (const bool in_feet : {false, true}) {
    const std::string at = in_feet ? "[20, 4, 2.9]" : "[6, 2, 2.9]";
    std::string text = document_of(
        R"(, "interfaces": [{"id": "HV1", "space": "2", "kind": "fire_alarm", "at": )" + at + "}]", in_feet);
    text.replace(text.find(R"("spaces")"), 0, R"("hvac_zones": [{"id": "fan"}], )");
    text.replace(text.find(R"("kind": "office_enclosed")"), 0, R"("hvac_zone": "fan", )");
    ProjectDocument document = load(text);
    RoomControls wanted = proposed("1", "1-", {0, 0}, {"A", "B"});
    wanted.sequence.daylight[0].task_area = task_of(document);
    for (const Diagnostic& d : document.apply(edits_for(document, "1", wanted))) ADD_FAILURE() << to_text(d);
    const choose::ContactProposal contacts =
        choose::propose_contacts(document.project(), library(), proposal(document));
    ASSERT_EQ(contacts.contacts.size(), 1U);
    for (const Diagnostic& d : document.apply(edits_for(document, contacts))) ADD_FAILURE() << to_text(d);
    EXPECT_EQ(errors(document), "");
    const domain::Design& design = proposal(document);
    const domain::Interface* contact = domain::find_by_id(design.interfaces, "HV2");
    ASSERT_NE(contact, nullptr) << "HV1 is taken";
    EXPECT_NEAR(contact->at.x, contacts.contacts[0].at.x, 1e-3);
    ASSERT_EQ(design.hvac_hand_offs.size(), 1U);
    EXPECT_EQ(design.hvac_hand_offs[0].space, "1");
    EXPECT_EQ(design.hvac_hand_offs[0].interface, "HV2");
    EXPECT_TRUE(choose::propose_contacts(document.project(), library(), design).told.empty()) << "told once";
  }
}

TEST(ProposalEdits, WriteWhatTakesThePowerOfWhatIsPluggedIn) {
  using domain::PlugDevice;
  // Devices of the kind of space, which the document does not list, and some that it does.
  const std::string listed =
      R"("plug_loads": {"receptacles": 4, "devices": [{"kind": "screen", "on": "27.60 W", "idle": "20 W", "standby": "1 W"}]}, )";
  for (const std::string& own : {std::string(), listed}) {
    std::string text = document_of("");
    text.replace(text.find(R"("kind": "office_enclosed")"), 0, own);
    const ProjectDocument document = load(text);
    ASSERT_EQ(errors(document), "");
    RoomControls wanted = controls(document, "1");
    ASSERT_FALSE(wanted.plug_loads.devices.empty());
    wanted.plug_loads.devices.back().switched_by = PlugDevice::SwitchedBy::plug_in_outlet;
    wanted.plug_loads.devices.back().switch_w = 0.5;
    wanted.plug_loads.off_when = domain::PlugLoads::OffWhen::closed;
    wanted.plug_loads.controlled_receptacles = own.empty() ? 0 : 2;
    ProjectDocument after = document;
    for (const Diagnostic& d : after.apply(edits_for(document, "1", wanted))) ADD_FAILURE() << to_text(d);
    EXPECT_EQ(errors(after), "");
    const domain::PlugLoads& has = after.project().spaces[0].plug_loads;
    EXPECT_EQ(formats::object_text(has, 1.0), formats::object_text(wanted.plug_loads, 1.0));
    EXPECT_EQ(edits_for(after, "1", wanted).size(), 0U);
    if (!own.empty()) {
      EXPECT_NE(after.text().find("27.60 W"), std::string::npos) << "stays as it was typed";
    }
    // And taken back.
    const RoomControls before = controls(document, "1");
    ProjectDocument back = after;
    for (const Diagnostic& d : back.apply(edits_for(after, "1", before))) ADD_FAILURE() << to_text(d);
    EXPECT_EQ(formats::object_text(back.project().spaces[0].plug_loads, 1.0),
              formats::object_text(before.plug_loads, 1.0));
  }
}

/// Two rooms that inherit, one by its origin and one by a floor of its own, and a third with a sequence of
/// its own.
const std::string kTypicals = R"({
  "format": "halflight-project/1", "id": "t",
  "storeys": [{"id": "s"}],
  "calendars": [{"id": "c", "hours": [{"weekdays": ["mon"], "open": "08:00", "close": "17:00"}]}],
  "typicals": [{"id": "cell", "space": {"kind": "office_enclosed", "storey": "s", "height": "3 m",
    "floor": [[0,0],[4,0],[4,5],[0,5]], "task_areas": [{"id": "desk", "plan": [[1,1],[2,1],[2,2],[1,2]]}]}}],
  "spaces": [
    {"id": "1.1", "typical": "cell", "origin": [0, 0]},
    {"id": "2", "typical": "cell", "floor": [[10,5],[14,5],[14,10],[10,10]]},
    {"id": "3", "typical": "cell", "origin": [20, 0]}],
  "designs": [{"id": "p", "role": "proposal",
    "load_controllers": [{"id": "LC", "space": "2", "at": [11, 6, 2.9], "groups": ["1.1.old", "2.old", "3.old"]}],
    "sequences": [{"space": "3", "on": {"by": "hand"}, "vacancy": {"delay": "8 min", "groups": ["3.old"]}}],
    "typicals": [{"typical": "cell",
      "luminaires": [{"id": "A", "type": "panel_600", "at": [1, 1, 2.9]}, {"id": "B", "type": "panel_600", "at": [3, 4,  2.9]}],
      "groups": [{"id": "old", "strategy": "occupancy", "channels": ["A", "B"]}],
      "sequences": [{"on": {"by":   "hand"}, "vacancy": {"delay": "8 min", "groups": ["old"]}}]}]}]
})";

TEST(ProposalEdits, WriteWhatTakesThePowerForAllRoomsOfATypical) {
  std::string text = kTypicals;
  text.replace(
      text.find(R"("height")"), 0,
      R"("plug_loads": {"devices": [{"kind": "screen", "on": "20 W", "idle": "20 W", "standby": "1 W"}]}, )");
  const ProjectDocument document = load(text);
  ASSERT_EQ(errors(document), "");
  const std::string first = document.project().spaces[0].id;
  RoomControls wanted = controls(document, first);
  ASSERT_EQ(wanted.plug_loads.devices.size(), 1U);
  wanted.plug_loads.devices[0].switched_by = domain::PlugDevice::SwitchedBy::controlled_receptacle;
  ProjectDocument after = document;
  for (const Diagnostic& d : after.apply(edits_for(document, first, wanted))) ADD_FAILURE() << to_text(d);
  EXPECT_EQ(errors(after), "");
  int rooms = 0;
  for (const domain::Space& space : after.project().spaces)
    if (!space.typical.empty()) {
      ++rooms;
      ASSERT_EQ(space.plug_loads.devices.size(), 1U) << space.id;
      EXPECT_EQ(space.plug_loads.devices[0].switched_by,
                domain::PlugDevice::SwitchedBy::controlled_receptacle)
          << space.id;
    }
  EXPECT_GE(rooms, 2);
}

TEST(ProposalEdits, LetRoomsOfATypicalShareALoadController) {
  std::string text = kTypicals;
  text.replace(
      text.find(R"("groups": [{"id": "old")"), 0,
      R"("load_controllers": [{"id": "OWN", "device_kind": "room_bus", "at": [1, 1, 2.9], "luminaires": ["A", "B"]}], )");
  const ProjectDocument document = load(text);
  ASSERT_EQ(errors(document), "");
  choose::SharedControllers shared;
  shared.replaced = {"1.1.OWN", "2.OWN", "3.OWN"};
  domain::LoadController& one = shared.controllers.emplace_back();
  one.space = "2";
  one.at = {11, 6, 2.9};
  one.device_kind = "storey_bus";
  one.luminaires = {"1.1.A", "1.1.B", "2.A", "2.B", "3.A", "3.B"};
  ProjectDocument after = document;
  for (const Diagnostic& d : after.apply(edits_for(document, shared))) ADD_FAILURE() << to_text(d);
  EXPECT_EQ(errors(after), "");
  std::vector<std::string> ids;
  for (const domain::LoadController& controller : proposal(after).load_controllers)
    ids.push_back(controller.id);
  EXPECT_EQ(ids, (std::vector<std::string>{"LC", "LC1"})) << "what they have instead, and what is not theirs";
  EXPECT_EQ(proposal(after).load_controllers[1].luminaires, one.luminaires);
}

TEST(ProposalEdits, WriteCoordinatesInFeet) {
  const ProjectDocument document = load(document_of("", true));
  RoomControls wanted = proposed("1", "1-", {0, 0}, {"A", "B"});
  wanted.sequence.daylight[0].task_area = task_of(document);
  ProjectDocument after = document;
  for (const Diagnostic& d : after.apply(edits_for(document, "1", wanted))) ADD_FAILURE() << to_text(d);
  EXPECT_EQ(errors(after), "");
  const RoomControls has = controls(after, "1");
  // To a thousandth of a foot, and heights never above.
  EXPECT_NEAR(has.photosensors.at(0).at.x, 1.25, 0.0005 * 0.3048);
  EXPECT_NEAR(has.photosensors.at(0).at.y, 1.75, 0.0005 * 0.3048);
  EXPECT_NEAR(has.photosensors.at(0).at.z, 2.7, 0.001 * 0.3048);
  EXPECT_LE(has.photosensors.at(0).at.z, 2.7 + 1e-12);
  EXPECT_EQ(edits_for(after, "1", wanted).size(), 0U);
}

TEST(ProposalEdits, ARoomThatInheritsGivesAllItsLikeTheSame) {
  const struct {
    std::string space;
    Point2 corner;
  } rooms[] = {{"1.1", {0, 0}}, {"2", {10, 5}}, {"3", {20, 0}}};
  for (const auto& chosen : rooms) {
    SCOPED_TRACE(chosen.space);
    const ProjectDocument document = load(kTypicals);
    EXPECT_TRUE(choose::inherits_design(document.project().spaces[0], proposal(document)));
    EXPECT_EQ(choose::rooms_alike(document.project(), proposal(document), document.project().spaces[1]),
              (std::vector<std::string>{"2", "1.1", "3"}));
    const std::string stem = chosen.space + ".";
    RoomControls wanted = proposed(chosen.space, stem, chosen.corner, {stem + "A", stem + "B"});
    wanted.sequence.daylight[0].task_area = "desk";
    const ProjectDocument after = applied(document, chosen.space, wanted);
    for (const auto& room : rooms) {
      const std::string own = room.space + ".";
      RoomControls same = proposed(room.space, own, room.corner, {own + "A", own + "B"});
      same.sequence.daylight[0].task_area = "desk";
      EXPECT_EQ(texts(controls(after, room.space)), texts(same)) << room.space;
    }
    EXPECT_EQ(domain::find_by_id(proposal(after).load_controllers, "LC"), nullptr)
        << "left with nothing to drive";
    EXPECT_NE(after.text().find(R"("at": [3, 4,  2.9])"), std::string::npos);
    for (const char* gone : {"\"old\"", ".old\""})
      EXPECT_EQ(after.text().find(gone), std::string::npos) << gone;
  }
}

}  // namespace
}  // namespace halflight::projects
