#include "sim/divided_room.hpp"

#include "sim/explain.hpp"
#include "sim/lit_room_fixture_test.hpp"
#include "sim/watched_people.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

constexpr std::size_t kProposal = 1;

/// The room of ten luminaires with a movable wall 6 m from the west: six of them in the west, part 0, and
/// four in the east, part 1. Each part has an occupancy group, a sensor that reports to it, and tables;
/// `divided` of the bookings need one part. Light is on while somebody is noticed.
domain::Project hall(double divided) {
  domain::Project project = ten_luminaires();
  domain::Space& room = project.spaces[0];
  domain::Partition wall;
  wall.id = "wall";
  wall.kind = domain::Partition::Kind::movable;
  wall.from = {5.5, 0};
  wall.to = {5.5, 6};
  wall.height_m = room.height_m;
  wall.states = {"open", "closed"};
  room.partitions.push_back(wall);
  for (const int side : {3, 1}) {
    domain::Door door;
    door.id = side == 3 ? "DW" : "DE";
    door.wall = side;
    door.offset_m = 2.5;
    room.doors.push_back(door);
  }
  room.occupancy.pattern = domain::Occupancy::Pattern::bookings;
  room.occupancy.people = 4;
  room.occupancy.bookings_per_day = 4.0;
  room.occupancy.dwell_min = 60.0;
  room.occupancy.divided_fraction = divided;
  domain::Design& proposal = project.designs[kProposal];
  for (const bool west : {true, false}) {
    domain::Group group;
    group.id = west ? "west" : "east";
    group.space = "room";
    group.strategy = domain::Strategy::occupancy;
    for (const domain::Luminaire& luminaire : proposal.luminaires)
      if ((luminaire.at.x < 5.5) == west) group.channels.push_back(luminaire.id);
    proposal.groups.push_back(group);
    domain::OccupancySensor sensor;
    sensor.id = west ? "MW" : "ME";
    sensor.space = "room";
    sensor.at = west ? Point3{4.5, 3, 2.7} : Point3{7.5, 3, 2.7};
    sensor.groups = {group.id};
    proposal.occupancy_sensors.push_back(sensor);
  }
  domain::Sequence& sequence = proposal.sequences[0];
  sequence.schedule.reset();
  sequence.on.by = domain::OnRule::By::occupancy;
  sequence.vacancy.emplace();
  sequence.vacancy->delay_s = 0.0;
  sequence.vacancy->warning_s = 0.0;
  return project;
}

void add_partition_sensor(domain::Project& project) {
  domain::Interface contact;
  contact.id = "PW";
  contact.space = "room";
  contact.at = {5.5, 5, 2.6};
  contact.kind = domain::Interface::Kind::partition_sensor;
  contact.direction = domain::Interface::Direction::in;
  project.designs[kProposal].interfaces.push_back(contact);
}

const ControlCell& cell_of(const Bench& bench, const std::string& group) {
  for (const ControlCell& cell : bench.lit[0].cells)
    if (cell.design == kProposal && cell.occupancy_group == group) return cell;
  ADD_FAILURE() << "no cell of " << group;
  return bench.lit[0].cells.front();
}

/// People in a part, or with the whole room.
IntervalSet people_of(const people::Presence& presence, int part) {
  std::vector<IntervalSet> all;
  for (std::size_t k = 0; k < presence.people.size(); ++k)
    if (presence.part[k] == part) all.push_back(presence.people[k]);
  return united(all);
}

IntervalSet lit(const controls::Timeline& timeline) {
  std::vector<Interval> on;
  for (const controls::Segment& s : timeline.segments)
    if (s.setting.kind != controls::Setting::Kind::off) on.push_back({s.begin, s.end});
  return IntervalSet(std::move(on));
}

double hours(const IntervalSet& set) { return static_cast<double>(set.measure()) / kSecondsPerHour; }

/// The proposal with everybody noticed at once.
Way way_of_sharp_sensors(const SpaceModel& model) {
  Way way = way_of_proposal(model);
  way.sensors.reset();
  return way;
}

// DIV-1: closed form: light of a part is on while its own people, or those of the whole room, are there.
TEST(DividedRoom, APartIsLitForItsOwnPeople) {
  const Bench bench(hall(0.6));
  ASSERT_EQ(bench.model.part_of_cell.size(), bench.lit[0].cells.size());
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const Way way = way_of_sharp_sensors(bench.model);
  const people::Presence presence = presence_in(bench.model, Draws{});
  const IntervalSet whole = people_of(presence, people::Presence::kWholeRoom);
  const IntervalSet west = united(people_of(presence, 0), whole);
  const IntervalSet east = united(people_of(presence, 1), whole);
  ASSERT_GT(subtracted(west, east).measure(), 100 * kHour);
  ASSERT_GT(subtracted(east, west).measure(), 100 * kHour);
  EXPECT_EQ(lit(replicate.timeline(way, cell_of(bench, "west"))), west);
  EXPECT_EQ(lit(replicate.timeline(way, cell_of(bench, "east"))), east);
  // Six and four luminaires of 30 W.
  EXPECT_NEAR(replicate.evaluate(way).light_wh, 180.0 * hours(west) + 120.0 * hours(east), 1.0);
  EXPECT_EQ(replicate.divided(), united(people_of(presence, 0), people_of(presence, 1)));
}

// DIV-1: by hand too: nobody reaches a switch past the wall.
TEST(DividedRoom, HandsOfAPartSwitchItsOwnLight) {
  domain::Project project = hall(1.0);
  domain::Sequence& sequence = project.designs[kProposal].sequences[0];
  sequence.on.by = domain::OnRule::By::hand;
  sequence.manual.emplace();
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const IntervalSet west = lit(replicate.timeline(way_of_sharp_sensors(bench.model), cell_of(bench, "west")));
  ASSERT_FALSE(west.empty());
  EXPECT_TRUE(subtracted(west, people_of(replicate.presence(), 0)).empty());
}

// DIV-1: the standing wall hides people from the sensor on its other side.
TEST(DividedRoom, ASensorSeesNobodyPastTheWall) {
  const Bench bench(hall(1.0));
  const Watch* west = bench.model.watched.watch_of(kProposal, "west");
  ASSERT_NE(west, nullptr);
  bool any_seen_open = false;
  for (std::size_t k = 0; k < bench.model.watched.seats.size(); ++k) {
    if (bench.model.watched.part_of_seat[k] != 1) continue;
    any_seen_open = any_seen_open || west->all.places[k].busy_per_min > 0.0;
    EXPECT_EQ(west->all.behind_wall[k].busy_per_min, 0.0) << bench.model.watched.seats[k].x;
  }
  EXPECT_TRUE(any_seen_open);
  // What it reports while only the other part is used are reports without cause: 0.2 a day of a second each.
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const IntervalSet only_east = subtracted(people_of(replicate.presence(), 1),
                                           people_of(replicate.presence(), 0).extended(kHour, kYear));
  ASSERT_GT(hours(only_east), 50.0);
  const IntervalSet* noticed = replicate.notice(way_of_proposal(bench.model), cell_of(bench, "west")).when;
  EXPECT_LE(intersected(*noticed, only_east).measure(), 4 * 73);
}

// DIV-1
TEST(DividedRoom, PeopleOfAPartSitInIt) {
  const Bench bench(hall(0.5));
  const people::Presence presence = presence_in(bench.model, Draws{});
  for (std::size_t k = 0; k < presence.people.size(); ++k) {
    const std::size_t seat = seat_of(bench.model.watched, presence, k);
    if (presence.part[k] == people::Presence::kWholeRoom) continue;
    EXPECT_EQ(bench.model.watched.part_of_seat[seat], presence.part[k]) << k;
  }
}

// DIV-2
TEST(DividedRoom, TogetherOnlyWhereTheControlsKnowTheWall) {
  domain::Project project = hall(0.5);
  for (domain::OccupancySensor& sensor : project.designs[kProposal].occupancy_sensors) {
    sensor.major_radius_m = 1.5;  // so that each misses most of the other part's seats
    sensor.minor_radius_m = 1.0;
  }
  const auto differ_h = [](const Bench& bench) {
    Replicate replicate(bench.model, bench.daylight, Draws{});
    const Way way = way_of_proposal(bench.model);
    const IntervalSet& west = *replicate.notice(way, cell_of(bench, "west")).when;
    const IntervalSet& east = *replicate.notice(way, cell_of(bench, "east")).when;
    return hours(subtracted(united(subtracted(west, east), subtracted(east, west)), replicate.divided()));
  };
  EXPECT_GT(differ_h(Bench(project)), 1.0);
  add_partition_sensor(project);
  EXPECT_EQ(differ_h(Bench(project)), 0.0);
}

// DIV-3
TEST(DividedRoom, AGroupOnBothSidesGoesByBothParts) {
  domain::Project project = hall(1.0);
  domain::Design& proposal = project.designs[kProposal];
  proposal.groups[0].channels.push_back(proposal.groups[1].channels.back());
  proposal.groups[1].channels.pop_back();
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const Way way = way_of_sharp_sensors(bench.model);
  EXPECT_EQ(lit(replicate.timeline(way, cell_of(bench, "west"))), replicate.presence().any);
  EXPECT_EQ(lit(replicate.timeline(way, cell_of(bench, "east"))), people_of(replicate.presence(), 1));
  const auto finding = divided_room_finding(bench.model);
  ASSERT_TRUE(finding);
  EXPECT_EQ(finding->verdict, results::Finding::Verdict::fail);
  EXPECT_NE(finding->evidence.find("luminaires of west are on both sides"), std::string::npos)
      << finding->evidence;
}

TEST(DividedRoom, ControlsThatDoNotKnowTheWallAreAFinding) {
  domain::Project project = hall(0.5);
  const auto finding = divided_room_finding(Bench(project).model);
  ASSERT_TRUE(finding);
  EXPECT_EQ(finding->verdict, results::Finding::Verdict::needs_evidence);
  EXPECT_NE(finding->fix.find("partition sensor"), std::string::npos) << finding->fix;
  add_partition_sensor(project);
  EXPECT_FALSE(divided_room_finding(Bench(project).model));
  project.spaces[0].occupancy.divided_fraction = 0.0;
  EXPECT_FALSE(divided_room_finding(Bench(project).model));
}

// DIV-4
TEST(DividedRoom, AScenesStateOfTheWallSaysWhenItIsCalled) {
  domain::Project project = hall(0.5);
  domain::Design& proposal = project.designs[kProposal];
  domain::Group all;
  all.id = "all";
  all.space = "room";
  for (const domain::Luminaire& luminaire : proposal.luminaires) all.channels.push_back(luminaire.id);
  proposal.groups.push_back(all);
  for (const std::string state : {"open", "closed"}) {
    domain::Scene scene;
    scene.id = state;
    scene.space = "room";
    scene.partition_state = state;
    scene.use_fraction = 1.0;
    scene.levels = {{"all", state == "open" ? 0.5 : 0.25}};
    proposal.scenes.push_back(scene);
  }
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{});
  const Way way = way_of_sharp_sensors(bench.model);
  const controls::GroupLevels levels = replicate.levels(way, cell_of(bench, "west"));
  double lit_s = 0.0;
  for (const controls::Segment& s : replicate.timeline(way, cell_of(bench, "west")).segments) {
    if (s.setting.kind == controls::Setting::Kind::off) continue;
    const IntervalSet span({{s.begin, s.end}});
    const bool open = levels.of(s.setting) == 0.5;
    EXPECT_EQ(intersected(replicate.divided(), span).measure(), open ? 0 : s.end - s.begin) << s.begin;
    lit_s += static_cast<double>(s.end - s.begin);
  }
  EXPECT_GT(lit_s, 100.0 * kHour);
}

// HND-8: with DIV-4, in the hours of its calendar and while the wall stands so.
TEST(DividedRoom, AScenesCalendarAndStateHoldTogether) {
  domain::Project project = hall(0.5);
  domain::Calendar mornings = project.calendars[0];
  mornings.id = "mornings";
  mornings.hours = {{{0, 1, 2, 3, 4}, 9 * kHour, 11 * kHour}};
  project.calendars.push_back(mornings);
  domain::Design& proposal = project.designs[kProposal];
  domain::Group all;
  all.id = "all";
  all.space = "room";
  for (const domain::Luminaire& luminaire : proposal.luminaires) all.channels.push_back(luminaire.id);
  proposal.groups.push_back(all);
  domain::Scene talk;
  talk.id = "talk";
  talk.space = "room";
  talk.calendar = "mornings";
  talk.levels = {{"all", 0.5}};
  domain::Scene film = talk;
  film.id = "film";
  film.calendar.clear();
  film.use_fraction = 1.0;
  film.levels = {{"all", 0.25}};
  proposal.scenes = {film, talk};
  const auto at_level = [&](double level) {
    const Bench bench(project);
    Replicate replicate(bench.model, bench.daylight, Draws{});
    const Way way = way_of_sharp_sensors(bench.model);
    const controls::GroupLevels levels = replicate.levels(way, cell_of(bench, "west"));
    std::vector<Interval> when;
    for (const controls::Segment& s : replicate.timeline(way, cell_of(bench, "west")).segments)
      if (levels.of(s.setting) == level) when.push_back({s.begin, s.end});
    return IntervalSet(std::move(when));
  };
  const Bench bench(project);
  const people::Presence presence = presence_in(bench.model, Draws{});
  const IntervalSet west = united(people_of(presence, 0), people_of(presence, people::Presence::kWholeRoom));
  const IntervalSet open = open_of(bench.model, "mornings");
  EXPECT_EQ(at_level(0.5), intersected(west, open)) << "before what is called at any time";
  EXPECT_EQ(at_level(0.25), subtracted(west, open));
  project.designs[kProposal].scenes[1].partition_state = "closed";
  EXPECT_EQ(at_level(0.5), intersected(people_of(presence, 0), open));
}

TEST(DividedRoom, AMinuteSaysWhoIsOnWhichSide) {
  const Bench bench(hall(1.0));
  Replicate replicate(bench.model, bench.daylight, Draws{}, Replicate::Causes::tell);
  const Interval first = replicate.divided().intervals().front();
  const results::Moment moment =
      explain_moment(WayAtWork(replicate, way_of_proposal(bench.model)), first.end - 1);
  EXPECT_TRUE(moment.sentences.front().starts_with("wall divides the room: ")) << moment.sentences.front();
}

TEST(DividedRoom, AMinuteKeepsThePartsApart) {
  domain::Project project = hall(1.0);
  add_partition_sensor(project);
  project.designs[kProposal].sequences[0].on.by = domain::OnRule::By::hand;
  const Bench bench(project);
  Replicate replicate(bench.model, bench.daylight, Draws{}, Replicate::Causes::tell);
  const WayAtWork work(replicate, way_of_proposal(bench.model));
  int one_part_in_use = 0;
  for (Seconds t = 10 * kHour; t < kYear; t += kHour) {
    const people::Presence& presence = replicate.presence();
    std::array<bool, 2> in_use{};
    for (std::size_t k = 0; k < presence.people.size(); ++k)
      if (presence.people[k].contains(t) && presence.part[k] != people::Presence::kWholeRoom)
        in_use[static_cast<std::size_t>(presence.part[k])] = true;
    const std::vector<CellAtWork> cells = work.at(t);
    const bool all_lit = std::all_of(cells.begin(), cells.end(), [](const auto& c) { return c.level > 0.0; });
    const bool none_lit =
        std::none_of(cells.begin(), cells.end(), [](const auto& c) { return c.level > 0.0; });
    if (in_use[0] == in_use[1] || all_lit || none_lit) continue;
    ++one_part_in_use;
    for (const std::string& sentence : explain_moment(work, t).sentences) {
      EXPECT_EQ(sentence.find("has not switched on"), std::string::npos) << sentence;
      if (sentence.starts_with(in_use[0] ? "ME" : "MW")) {
        EXPECT_EQ(sentence.find("although somebody is there"), std::string::npos) << sentence;
      }
    }
  }
  EXPECT_GT(one_part_in_use, 10);
}

TEST(DividedRoom, WithoutDividedBookingsNothingChanges) {
  const Bench bench(hall(0.0));
  EXPECT_TRUE(bench.model.part_of_cell.empty());
  Replicate replicate(bench.model, bench.daylight, Draws{});
  EXPECT_TRUE(replicate.divided().empty());
  const Way way = way_of_sharp_sensors(bench.model);
  EXPECT_EQ(lit(replicate.timeline(way, cell_of(bench, "west"))), replicate.presence().any);
}

}  // namespace
}  // namespace halflight::sim
