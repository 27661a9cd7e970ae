// Whole designs for a small office: what may be proposed, what never changes, and what a room that stays as
// it is wired can have. docs/methods/proposals.md
#include "choose/room_proposals.hpp"

#include "choose/proposal_room_test.hpp"
#include "sim/divided_room.hpp"

#include <algorithm>
#include <map>
#include <set>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

using domain::Strategy;

class RoomProposalsTest : public ProposalTest {
 protected:
  RoomProposals proposed(const domain::Project& project, const std::set<Part>& kept = {}) {
    const sim::StudyInputs its = inputs(project);
    Result<RoomProposals> found = propose_room(its, 0, {kept, options_}, context_, log_);
    EXPECT_TRUE(found) << (found ? "" : to_text(found.error().front()));
    return found ? *std::move(found) : RoomProposals{};
  }
};

const RoomDesign* named(const RoomProposals& found, const std::string& name) {
  for (const auto* list : {&found.designs, &found.refused})
    for (const RoomDesign& design : *list)
      if (design.name == name) return &design;
  return nullptr;
}

/// What a design is, whatever its room is called, turned and numbered: devices by kind, groups by the numbers
/// that luminaires had in the room as it was.
struct Signature {
  std::map<std::string, int> devices;
  std::set<std::pair<Strategy, std::set<int>>> groups;
  bool is_refused = false;
  double delay_s = 0.0;
  friend bool operator==(const Signature&, const Signature&) = default;
};

Signature signature_of(const RoomDesign& design, const std::map<std::string, int>& number) {
  Signature found;
  const RoomControls& controls = design.controls;
  const auto count = [&](const auto& devices) {
    for (const auto& device : devices) ++found.devices[device.device_kind];
  };
  count(controls.occupancy_sensors);
  count(controls.photosensors);
  count(controls.stations);
  count(controls.load_controllers);
  for (const domain::Group& group : controls.groups) {
    std::set<int> members;
    for (const std::string& channel : group.channels) members.insert(number.at(channel));
    found.groups.emplace(group.strategy, members);
  }
  found.is_refused = !design.refused.empty();
  if (controls.sequence.vacancy) found.delay_s = controls.sequence.vacancy->delay_s;
  return found;
}

std::map<std::string, int> numbers(const domain::Project& project) {
  std::map<std::string, int> all;
  for (std::size_t i = 0; i < project.designs[1].luminaires.size(); ++i)
    all[project.designs[1].luminaires[i].id] = static_cast<int>(i);
  return all;
}

// ---------------------------------------------------------------------------------------------------------

TEST_F(RoomProposalsTest, EveryDeviceSaysWhatItsKindIsBoughtAs) {
  for (domain::DeviceKind& kind : library_.device_kinds) kind.make_and_catalogue_number = "as " + kind.id;
  const RoomProposals found = proposed(bare_office());
  std::set<std::string> lists;
  const auto look = [&](const char* list, const auto& devices) {
    for (const auto& device : devices) {
      if (device.device_kind.empty()) continue;
      lists.insert(list);
      EXPECT_EQ(device.make_and_catalogue_number, "as " + device.device_kind) << list;
    }
  };
  for (const RoomDesign& design : found.designs) {
    look("occupancy sensors", design.controls.occupancy_sensors);
    look("photosensors", design.controls.photosensors);
    look("stations", design.controls.stations);
    look("load controllers", design.controls.load_controllers);
  }
  EXPECT_EQ(lists.size(), 4U) << "each must be among what was proposed";
}

// docs/rules/controls.md, DIV-3: a group on both sides goes by both parts, so that whoever is in one lights
// the other.
TEST_F(RoomProposalsTest, ADividedRoomsControlsFollowItsWall) {
  const domain::Project project = divided_office();
  const domain::Partition& wall = project.spaces[0].partitions[0];
  const RoomProposals found = proposed(project);
  ASSERT_FALSE(found.designs.empty());
  for (const RoomDesign& design : found.designs) {
    EXPECT_EQ(design.controls.partition_sensors.size(), 1U) << design.name;
    EXPECT_EQ(std::count_if(design.cost.quantities.begin(), design.cost.quantities.end(),
                            [](const Quantity& line) { return line.id == "partition_contact"; }),
              1)
        << design.name;
    for (const domain::Group& group : design.controls.groups) {
      if (group.strategy != Strategy::occupancy && group.strategy != Strategy::daylight) continue;
      std::set<int> sides;
      for (const std::string& channel : group.channels) {
        const domain::Luminaire& lamp = *domain::find_by_id(project.designs[1].luminaires, channel);
        sides.insert(domain::side_of(wall, {lamp.at.x, lamp.at.y}));
      }
      EXPECT_EQ(sides.size(), 1U) << design.name << ", " << group.name;
      for (const domain::Photosensor& eye : design.controls.photosensors)
        if (std::find(eye.groups.begin(), eye.groups.end(), group.id) != eye.groups.end() &&
            eye.device_kind.starts_with("photosensor_down")) {
          EXPECT_EQ(domain::side_of(wall, {eye.at.x, eye.at.y}), *sides.begin()) << design.name;
        }
    }
    for (const results::Finding& finding : design.trial.findings)
      EXPECT_NE(finding.rule, sim::kControlsFollowTheWall) << design.name << ": " << finding.evidence;
  }
  const RoomDesign* by_hand = named(found, "no occupancy sensors, no daylight control");
  ASSERT_NE(by_hand, nullptr);
  EXPECT_TRUE(std::any_of(by_hand->refused.begin(), by_hand->refused.end(), [](const std::string& because) {
    return because.find("on both sides") != std::string::npos;
  }));
}

TEST_F(RoomProposalsTest, WhatIsProposedMayBeBuiltAndIsNamedOnce) {
  const domain::Project project = bare_office();
  const RoomProposals found = proposed(project);
  ASSERT_GE(found.designs.size(), 3U);
  ASSERT_FALSE(found.refused.empty());
  EXPECT_EQ(found.free.size(), kParts.size());
  std::set<std::string> names;
  for (const RoomDesign& design : found.designs) {
    EXPECT_TRUE(design.refused.empty()) << design.name;
    EXPECT_TRUE(design.trial.refused_because().empty()) << design.name;
    EXPECT_FALSE(design.trial.kwh.empty()) << design.name;
    EXPECT_TRUE(names.insert(design.name).second) << design.name;
    EXPECT_FALSE(design.why.empty() && design.name != "the document's own") << design.name;
    for (const results::Finding& finding : design.trial.findings)
      if (!finding.code.empty()) {
        EXPECT_NE(finding.verdict, results::Finding::Verdict::fail) << finding.evidence;
      }
    // Saving follows from what is bought: less than the luminaires alone draw.
    EXPECT_LT(design.trial.year_kwh.mean, found.new_luminaires.year_kwh.mean * 1.05) << design.name;
  }
  for (const RoomDesign& design : found.refused) {
    EXPECT_FALSE(design.refused.empty());
    for (const std::string& because : design.refused) EXPECT_GT(because.size(), 10U) << design.name;
    EXPECT_TRUE(names.insert(design.name).second) << design.name;
  }
  // A room that nobody is noticed in does not go off by itself, as the code asks.
  const RoomDesign* dark = named(found, "no occupancy sensors, no daylight control");
  ASSERT_NE(dark, nullptr);
  EXPECT_NE(dark->refused.at(0).find("Code 1 2.3"), std::string::npos) << dark->refused.at(0);
  EXPECT_NE(named(found, "1 ceiling sensor, no daylight control"), nullptr);
  EXPECT_NE(named(found, "8 luminaire sensors, no daylight control"), nullptr);
  EXPECT_LT(found.as_found.year_kwh.mean, 10'000.0);
  EXPECT_GT(found.as_found.year_kwh.mean, found.new_luminaires.year_kwh.mean);
}

TEST_F(RoomProposalsTest, OffersAreOfTheFrontAndNoTwoAreOneDesign) {
  const domain::Project project = bare_office();
  const RoomProposals found = proposed(project);
  std::vector<Merits> merits;
  for (const RoomDesign& design : found.designs) merits.push_back(design.merits());
  // By definition: nobody would leave a member for another, and everybody else for some member.
  const std::set<std::size_t> members(found.front.members.begin(), found.front.members.end());
  for (std::size_t i = 0; i < merits.size(); ++i) {
    if (found.designs[i].cost.unpriced.size() > found.designs[found.front.members[0]].cost.unpriced.size())
      continue;
    if (members.contains(i)) {
      for (const std::size_t j : members) EXPECT_FALSE(dominates(merits[j], merits[i]));
    } else {
      ASSERT_TRUE(found.front.dominated_by[i]);
      EXPECT_TRUE(members.contains(*found.front.dominated_by[i]));
    }
  }
  ASSERT_FALSE(found.offers.empty());
  std::multiset<Pick> picks;
  std::set<std::size_t> offered;
  const std::map<std::string, int> number = numbers(project);
  for (const RoomProposals::Offer& offer : found.offers) {
    EXPECT_TRUE(members.contains(offer.design));
    EXPECT_TRUE(offered.insert(offer.design).second);
    for (const std::size_t other : offered)
      if (other != offer.design) {
        EXPECT_FALSE(
            signature_of(found.designs[other], number) == signature_of(found.designs[offer.design], number) &&
            found.designs[other].controls.sequence.on == found.designs[offer.design].controls.sequence.on);
      }
    picks.insert(offer.picked.begin(), offer.picked.end());
    for (const Pick pick : offer.picked)
      for (const std::size_t j : members) {
        const Merits mine = rounded(merits[offer.design]);
        const Merits other = rounded(merits[j]);
        if (pick == Pick::least_cost) {
          EXPECT_LE(mine.cost, other.cost);
        }
        if (pick == Pick::least_energy) {
          EXPECT_LE(mine.kwh, other.kwh);
        }
        if (pick == Pick::least_light_taken) {
          EXPECT_LE(mine.taken, other.taken);
        }
      }
  }
  for (const Pick pick : kPicks) EXPECT_EQ(picks.count(pick), 1U) << name_of(pick);
  // Each design of the front says in figures what it costs more than the cheapest, and what it draws more
  // than the thriftiest.
  const auto says = [&](std::size_t design, std::size_t against, const char* what) {
    const std::vector<std::string>& words = found.designs[design].gives_up;
    return std::any_of(words.begin(), words.end(), [&](const std::string& one) {
      return one.starts_with(found.designs[against].name + ": ") && one.find(what) != std::string::npos;
    });
  };
  const auto first_in = [&](Pick pick) {
    return std::find_if(found.offers.begin(), found.offers.end(),
                        [&](const auto& offer) {
                          return std::find(offer.picked.begin(), offer.picked.end(), pick) !=
                                 offer.picked.end();
                        })
        ->design;
  };
  const std::size_t cheapest = first_in(Pick::least_cost);
  const std::size_t thriftiest = first_in(Pick::least_energy);
  for (const std::size_t j : members) {
    EXPECT_EQ(says(j, cheapest, "less to buy"), rounded(merits[cheapest]).cost < rounded(merits[j]).cost);
    EXPECT_EQ(says(j, thriftiest, "kWh a year less"),
              rounded(merits[thriftiest]).kwh < rounded(merits[j]).kwh);
  }
}

TEST_F(RoomProposalsTest, WhatIsKeptNeverChanges) {
  // A loop and a sensor that leave the way out too dark unless somebody changes them.
  domain::Project project = bare_office();
  domain::Design& design = project.designs[1];
  design.sequences.emplace_back().space = "room";
  sim::add_daylight_loop(design, {4, 2, 2.7});
  design.sequences[0].daylight[0].may_switch_off = true;
  design.photosensors[0].device_kind = "photosensor_down";
  sim::add_occupancy_sensor(design, {4, 3, 2.7}, 600.0);
  domain::Station station;
  station.id = "S1";
  station.space = "room";
  station.at = {7, 5.9, 1.1};
  station.buttons = {"on", "off"};
  design.stations = {station};
  design.sequences[0].manual = domain::ManualRule{{"S1"}};
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{4, 0.8}, {4, 5.2}, {7, 5.7}}}};
  domain::CodeRule ways;
  ways.id = "ways";
  ways.code = "Code";
  ways.edition = "1";
  ways.requirement = domain::Requirement::egress_normal;
  for (const char* limit : {"level_min", "stair_min"}) ways.limits[limit] = {60.0, "lx", 60.0, {}};
  rules_.push_back(ways);

  library_.kinds[0].is_egress_component = true;  // so that an empty room is too dark as well

  const RoomControls own = controls_of(project, design, "room");
  for (const Part part : kParts) {
    const std::set<Part> kept =
        part == Part::controllers ? std::set<Part>{Part::occupancy, Part::daylight} : std::set<Part>{part};
    const RoomProposals found = proposed(project, kept);
    EXPECT_FALSE(found.designs.empty() && found.refused.empty());
    for (const auto* list : {&found.designs, &found.refused})
      for (const RoomDesign& one : *list) {
        const RoomControls& has = one.controls;
        if (kept.contains(Part::daylight)) {
          EXPECT_EQ(has.sequence.daylight, own.sequence.daylight) << one.name;
          ASSERT_EQ(has.photosensors.size(), 1U);
          EXPECT_EQ(has.photosensors[0].at.x, own.photosensors[0].at.x);
        }
        if (kept.contains(Part::occupancy)) {
          EXPECT_EQ(has.sequence.vacancy, own.sequence.vacancy) << one.name;
          EXPECT_EQ(has.sequence.on, own.sequence.on) << one.name;
          EXPECT_EQ(has.sequence.schedule, own.sequence.schedule) << one.name;
          ASSERT_EQ(has.occupancy_sensors.size(), 1U);
          EXPECT_EQ(has.occupancy_sensors[0].id, "M1");
        }
        if (kept.contains(Part::stations)) {
          ASSERT_EQ(has.stations.size(), 1U) << one.name;
          EXPECT_EQ(has.sequence.manual, own.sequence.manual) << one.name;
        }
      }
  }
}

TEST_F(RoomProposalsTest, WhatIsPluggedInFollowsTheSensorsOfEachDesign) {
  domain::Project project = bare_office();
  project.spaces[0].plug_loads.receptacles = 8;
  domain::PlugDevice heater;
  heater.kind = "heater";
  heater.count = 2;
  heater.on_w = heater.idle_w = 400.0;
  heater.standby_w = 300.0;
  project.spaces[0].plug_loads.devices = {heater};
  domain::DeviceKind outlet = device_kind("marked_outlet", domain::DeviceKind::Mounting::wall_box,
                                          domain::Link::wired, 20.0, 0.5, 0.0);
  outlet.switches_plugs = domain::PlugDevice::SwitchedBy::controlled_receptacle;
  library_.device_kinds.push_back(outlet);
  domain::DeviceKind relay = device_kind("relay_pack", domain::DeviceKind::Mounting::ceiling_void,
                                         domain::Link::wired, 70.0, 0.5, 0.1);
  relay.load.emplace();
  relay.load->action = domain::LoadController::Action::on_off;
  library_.device_kinds.push_back(relay);
  domain::CodeRule half;
  half.id = "half";
  half.code = "Code";
  half.edition = "1";
  half.section = "8.4";
  half.requirement = domain::Requirement::receptacle_control;
  half.limits["controlled_min"] = {50.0, "%", 0.5, {}};
  rules_.push_back(half);

  const RoomProposals found = proposed(project);
  ASSERT_FALSE(found.offers.empty());
  for (const RoomProposals::Offer& offer : found.offers) {
    const RoomDesign& design = found.designs[offer.design];
    ASSERT_TRUE(design.receptacles) << design.name;
    EXPECT_EQ(design.controls.plug_loads.controlled_receptacles, 4) << "half of eight, as the code asks";
    EXPECT_EQ(design.controls.plug_loads.devices[0].switched_by,
              domain::PlugDevice::SwitchedBy::controlled_receptacle);
    // 600 W off for the nights and weekends that make up most of 8,760 h, and never more than all of it.
    EXPECT_GT(design.receptacles->saved_kwh.mean, 0.6 * 4380.0) << design.name;
    EXPECT_LT(design.receptacles->saved_kwh.mean, 0.8 * 8760.0) << design.name;
  }
  // Kept, it stays, and the code refuses what it makes of the room.
  std::set<Part> kept = {Part::receptacles};
  const RoomProposals refused = proposed(project, kept);
  EXPECT_TRUE(refused.designs.empty());
  ASSERT_FALSE(refused.refused.empty());
  EXPECT_EQ(refused.refused.front().controls.plug_loads.controlled_receptacles, 0);
}

TEST_F(RoomProposalsTest, AStationHasAsManyScenesAsItHasButtons) {
  domain::Project project = bare_office();
  domain::Design& design = project.designs[1];
  design.groups = {{"g", "room", Strategy::scene, "a", {}}};
  for (const domain::Luminaire& luminaire : design.luminaires)
    design.groups[0].channels.push_back(luminaire.id);
  for (const char* id : {"s1", "s2", "s3", "s4"}) {
    domain::Scene scene;
    scene.id = id;
    scene.space = "room";
    scene.name = id;
    scene.levels = {{"g", 1.0}};
    design.scenes.push_back(scene);
  }
  const RoomProposals found = proposed(project);
  const RoomDesign* one = named(found, "1 ceiling sensor, no daylight control");
  ASSERT_NE(one, nullptr);
  // Four buttons: two scenes, off, and a rocker to raise and lower.
  const domain::Station& station = one->controls.stations.at(0);
  EXPECT_EQ(station.buttons, (std::vector<std::string>{"s1", "s2", "off", "raise", "lower"}));
  EXPECT_TRUE(station.device_kind.starts_with("station_four"));
  EXPECT_TRUE(std::any_of(one->why.begin(), one->why.end(), [](const std::string& why) {
    return why.find("there is none for s3, s4") != std::string::npos;
  }));
  EXPECT_TRUE(one->cost.unpriced.empty());
}

TEST_F(RoomProposalsTest, WaysOutAreLitInStepsByWhatIsFree) {
  domain::Project project = bare_office();
  project.codes.clear();
  project.spaces[0].egress_paths = {{.id = "way", .centre_line = {{4, 0.8}, {4, 5.2}, {7, 5.7}}}};
  library_.kinds[0].is_egress_component = true;  // lit while anybody is in the building
  domain::CodeRule ways;
  ways.id = "ways";
  ways.code = "halflight";
  ways.requirement = domain::Requirement::egress_normal;
  ways.blocks_issue = true;
  for (const char* limit : {"level_min", "stair_min"}) ways.limits[limit] = {10.0, "lx", 10.0, {}};
  rules_ = {ways};
  const RoomProposals found = proposed(project);
  int mended = 0;
  for (const RoomDesign& design : found.designs) {
    if (design.name == "the document's own") continue;
    SCOPED_TRACE(design.name);
    // No luminaire here has emergency power.
    for (const results::EgressState& state : design.trial.egress)
      EXPECT_EQ(state.holds, state.state != "normal power lost") << state.state;
    const domain::Sequence& sequence = design.controls.sequence;
    if (!sequence.vacancy) continue;
    ++mended;
    // A tenth of some 300 lx is more than 10 lx everywhere: one step is enough, and no more is taken.
    EXPECT_DOUBLE_EQ(sequence.vacancy->step_level, 0.1);
    EXPECT_LT(sequence.vacancy->off_after_s, 0.0);
    EXPECT_TRUE(std::any_of(design.why.begin(), design.why.end(), [](const std::string& why) {
      return why.find("so that the way out stays lit") != std::string::npos;
    }));
  }
  EXPECT_GE(mended, 2);
  // What only switches has no such step.
  const RoomDesign* boxes = named(found, "1 wall-box sensor, no daylight control");
  ASSERT_NE(boxes, nullptr);
  EXPECT_FALSE(boxes->refused.empty());
}

TEST_F(RoomProposalsTest, WhatHasNoPriceIsNotCheap) {
  domain::Project project = bare_office();
  domain::Design& design = project.designs[1];
  design.sequences.emplace_back().space = "room";
  sim::add_occupancy_sensor(design, {4, 3, 2.7}, 600.0);  // of no kind, and nothing that it commands
  const RoomProposals found = proposed(project);
  ASSERT_TRUE(found.has_own);
  EXPECT_EQ(found.designs[0].cost.unpriced.size(), 2U);
  EXPECT_LT(found.designs[0].cost.middle(), found.designs[found.front.members[0]].cost.middle());
  for (const std::size_t member : found.front.members) EXPECT_NE(member, 0U);
}

// ---------------------------------------------------------------------------------------------------------
// However the document describes the room

class Described : public RoomProposalsTest {
 protected:
  /// `back_deg`: by which `other` is turned. `number`: of its luminaires, those that they have in `project`.
  void expect_same(const RoomProposals& a, const domain::Project& project, const RoomProposals& b,
                   const std::map<std::string, int>& number, double back_deg) {
    const std::map<std::string, int> own = numbers(project);
    EXPECT_EQ(a.designs.size(), b.designs.size());
    EXPECT_EQ(a.refused.size(), b.refused.size());
    const double turn = back_deg * kRadPerDeg;
    for (const auto* list : {&a.designs, &a.refused})
      for (const RoomDesign& design : *list) {
        const RoomDesign* other = named(b, design.name);
        ASSERT_NE(other, nullptr) << design.name;
        EXPECT_TRUE(signature_of(design, own) == signature_of(*other, number)) << design.name;
        ASSERT_EQ(design.controls.photosensors.size(), other->controls.photosensors.size()) << design.name;
        for (const domain::Photosensor& sensor : other->controls.photosensors) {
          const Point2 back{sensor.at.x * std::cos(turn) + sensor.at.y * std::sin(turn),
                            -sensor.at.x * std::sin(turn) + sensor.at.y * std::cos(turn)};
          const bool is_there =
              std::any_of(design.controls.photosensors.begin(), design.controls.photosensors.end(),
                          [&](const auto& mine) {
                            return std::hypot(mine.at.x - back.x, mine.at.y - back.y) < 0.001 &&
                                   mine.device_kind == sensor.device_kind;
                          });
          EXPECT_TRUE(is_there) << design.name << ": " << back.x << ", " << back.y;
        }
      }
    ASSERT_EQ(a.offers.size(), b.offers.size());
    for (std::size_t i = 0; i < a.offers.size(); ++i) {
      EXPECT_EQ(a.designs[a.offers[i].design].name, b.designs[b.offers[i].design].name);
      EXPECT_EQ(a.offers[i].picked, b.offers[i].picked);
    }
  }
};

TEST_F(Described, TurnedItGetsTheSameDesigns) {
  const domain::Project project = bare_office();
  const RoomProposals as_drawn = proposed(project);
  for (const double by_deg : {90.0, 37.0}) {
    SCOPED_TRACE(by_deg);
    expect_same(as_drawn, project, proposed(turned(project, by_deg)), numbers(project), by_deg);
  }
}

TEST_F(Described, TurnedItIsGroupedAlikeWhereOnlyDaylightGroups) {
  // Without a code's zones, a window in the middle of the wall and nothing else that tells left from right.
  domain::Project project = bare_office();
  project.codes.clear();
  const RoomProposals as_drawn = proposed(project);
  for (const double by_deg : {180.0, 127.0})
    expect_same(as_drawn, project, proposed(turned(project, by_deg)), numbers(project), by_deg);
}

TEST_F(Described, RenumberedItGetsTheSameDesigns) {
  const domain::Project project = bare_office();
  domain::Project other = project;
  std::map<std::string, int> number;
  for (domain::Design& design : other.designs) {
    for (std::size_t i = 0; i < 8; ++i) {
      design.luminaires[i].id = "N" + std::to_string((5 * i + 3) % 8);
      number[design.luminaires[i].id] = static_cast<int>(i);
    }
    std::reverse(design.luminaires.begin(), design.luminaires.end());
  }
  // And begun at another corner: wall 0 is wall 2 then.
  domain::Space& space = other.spaces[0];
  std::rotate(space.floor.begin(), space.floor.begin() + 2, space.floor.end());
  space.openings[0].wall = 2;
  space.doors[0].wall = 0;
  std::rotate(space.task_areas[0].plan.begin(), space.task_areas[0].plan.begin() + 1,
              space.task_areas[0].plan.end());
  expect_same(proposed(project), project, proposed(other), number, 0.0);
}

// ---------------------------------------------------------------------------------------------------------
// A room that stays as it is wired

/// Ballasts that do not dim, on two switch legs under a hard ceiling.
domain::Project as_it_is_wired() {
  domain::Project project = bare_office();
  project.type.kind = domain::ProjectType::Kind::alteration;
  project.spaces[0].ceiling_access = domain::CeilingAccess::none;
  domain::Design& design = project.designs[1];
  for (const char* leg : {"a", "b"}) {
    domain::Circuit& circuit = design.circuits.emplace_back();
    circuit.id = std::string("C") + leg;
    circuit.switch_leg = leg;
  }
  for (std::size_t i = 0; i < 8; ++i) {
    design.luminaires[i].type = "old";
    design.luminaires[i].status = domain::Status::remain;
    design.luminaires[i].circuit = i < 4 ? "Ca" : "Cb";
  }
  project.drivers[0].protocol = domain::Protocol::switched;
  return project;
}

/// Groups of luminaires that a design turns on and off, or dims, apart.
std::set<std::set<std::string>> commanded_apart(const RoomDesign& design, const domain::Project& project) {
  std::set<std::set<std::string>> found;
  std::map<std::string, std::set<std::string>> key;
  for (const domain::Luminaire& luminaire : project.designs[1].luminaires) key[luminaire.id];
  for (const domain::Group& group : design.controls.groups)
    for (const std::string& channel : group.channels) key[channel].insert(group.id);
  for (const auto& [id, groups] : key) {
    std::set<std::string> together;
    for (const auto& [other, its] : key)
      if (its == groups) together.insert(other);
    found.insert(together);
  }
  return found;
}

TEST_F(RoomProposalsTest, WhatStaysWiredIsSwitchedByItsLegs) {
  const domain::Project project = as_it_is_wired();
  rules_.clear();  // so that the room may be left as it is
  domain::Project without_code = project;
  without_code.codes.clear();
  const RoomProposals found = proposed(without_code);
  ASSERT_FALSE(found.designs.empty());
  const std::set<std::set<std::string>> legs = {{"proposal0", "proposal1", "proposal2", "proposal3"},
                                                {"proposal4", "proposal5", "proposal6", "proposal7"}};
  for (const RoomDesign& design : found.designs) {
    SCOPED_TRACE(design.name);
    if (design.name == "the document's own") continue;
    const domain::Sequence& sequence = design.controls.sequence;
    // Nothing dims.
    EXPECT_FALSE(sequence.trim);
    EXPECT_TRUE(sequence.daylight.empty());
    if (sequence.vacancy) {
      EXPECT_EQ(sequence.vacancy->step_level, 0.0);
    }
    EXPECT_TRUE(sequence.on.by != domain::OnRule::By::occupancy || sequence.on.level == 1.0);
    for (const domain::Scene& scene : design.controls.scenes)
      for (const domain::SceneLevel& level : scene.levels)
        EXPECT_TRUE(level.level == 0.0 || level.level == 1.0);
    for (const domain::Station& station : design.controls.stations)
      EXPECT_EQ(std::count(station.buttons.begin(), station.buttons.end(), "raise"), 0);
    // No third group.
    EXPECT_EQ(commanded_apart(design, project), legs);
    EXPECT_EQ(design.cost.unpriced, std::vector<std::string>{});
  }
  // As it is: bought is nothing, and each leg has its switch.
  const RoomDesign* as_it_is = named(found, "no occupancy sensors, no daylight control");
  ASSERT_NE(as_it_is, nullptr);
  EXPECT_TRUE(as_it_is->refused.empty());
  EXPECT_EQ(as_it_is->cost.cost.most, 0.0);
  ASSERT_EQ(as_it_is->controls.stations.size(), 1U);
  EXPECT_EQ(as_it_is->controls.stations[0].status, domain::Status::remain);
  EXPECT_EQ(as_it_is->controls.stations[0].switch_legs.size(), 2U);
  EXPECT_FALSE(as_it_is->controls.sequence.schedule) << "no clock reaches the switches";
  // Sensors in the boxes of the switches: one for each leg, each a device with a price.
  const RoomDesign* boxes = named(found, "1 wall-box sensor, no daylight control");
  ASSERT_NE(boxes, nullptr);
  EXPECT_TRUE(boxes->refused.empty()) << boxes->refused[0];
  ASSERT_EQ(boxes->cost.quantities.size(), 1U);
  EXPECT_EQ(boxes->cost.quantities[0].id, "wall_box_sensor");
  EXPECT_EQ(boxes->cost.quantities[0].count, 2);
  ASSERT_EQ(boxes->controls.load_controllers.size(), 2U);
  EXPECT_TRUE(std::any_of(boxes->why.begin(), boxes->why.end(), [](const std::string& why) {
    return why.find("one in the box of each switch leg") != std::string::npos;
  }));
  EXPECT_LT(boxes->trial.year_kwh.mean, as_it_is->trial.year_kwh.mean);
  // What would need wires is refused and says so.
  bool says_why = false;
  for (const RoomDesign& design : found.refused)
    for (const std::string& because : design.refused)
      says_why = says_why || because.find("without opening the ceiling") != std::string::npos;
  EXPECT_TRUE(says_why);
}

TEST_F(RoomProposalsTest, GroupsThatPartALegAreNotLeftToItsSwitch) {
  domain::Project project = as_it_is_wired();
  project.codes.clear();
  domain::Design& design = project.designs[1];
  design.groups = {
      {"g1", "room", Strategy::scene, "a", {"proposal0", "proposal1"}},
      {"g2", "room", Strategy::scene, "b", {"proposal2", "proposal3"}},
      {"g3", "room", Strategy::scene, "c", {"proposal4", "proposal5", "proposal6", "proposal7"}}};
  const RoomProposals found = proposed(project);
  for (const char* name :
       {"no occupancy sensors, no daylight control", "1 wall-box sensor, no daylight control"}) {
    const RoomDesign* refused = named(found, name);
    ASSERT_NE(refused, nullptr) << name;
    EXPECT_FALSE(refused->refused.empty()) << name;
  }
}

TEST_F(RoomProposalsTest, NewLuminairesBringTheirOwnControl) {
  domain::Project project = as_it_is_wired();
  for (domain::Luminaire& luminaire : project.designs[1].luminaires) {
    luminaire.type = "new";
    luminaire.status = domain::Status::added;
  }
  const RoomProposals found = proposed(project);
  bool any_dims = false;
  for (const RoomDesign& design : found.designs) {
    if (design.name == "the document's own") continue;
    const bool dims = design.controls.sequence.trim || !design.controls.sequence.daylight.empty();
    any_dims = any_dims || dims;
    if (!dims) continue;
    // By a controller in each luminaire, which are named and priced as the luminaires are.
    EXPECT_EQ(design.controls.load_controllers.size(), 8U) << design.name;
    std::set<std::string> bought;
    for (const Quantity& line : design.cost.quantities) bought.insert(line.id);
    EXPECT_TRUE(bought.contains("luminaire_sensor") && bought.contains("new")) << design.name;
    for (const std::string& kind : bought)
      if (const auto* device = domain::find_by_id(library_.device_kinds, kind)) {
        EXPECT_TRUE(device->link == domain::Link::radio ||
                    device->mounting == domain::DeviceKind::Mounting::wall_box)
            << kind;
      }
  }
  EXPECT_TRUE(any_dims);
}

}  // namespace
}  // namespace halflight::choose
