#include "domain/validation.hpp"

#include <cmath>
#include <functional>
#include <string>

#include <gtest/gtest.h>

namespace halflight::domain {
namespace {

/// A movable wall across the room of `good_project`, by which half of its bookings divide it.
void divide(Space& s) {
  Partition wall;
  wall.id = "wall";
  wall.kind = Partition::Kind::movable;
  wall.from = {2.5, 0};
  wall.to = {2.5, 5};
  wall.states = {"open", "closed"};
  s.partitions = {wall};
  s.occupancy.pattern = Occupancy::Pattern::bookings;
  s.occupancy.bookings_per_day = 2.0;
  s.occupancy.divided_fraction = 0.5;
}

/// A signal that takes the scene group of `good_project` down.
void shed(Design& d) {
  Interface signal;
  signal.id = "LS";
  signal.space = "1";
  signal.at = {2, 2, 2};
  signal.kind = Interface::Kind::load_shed;
  signal.direction = Interface::Direction::in;
  d.interfaces = {signal};
  d.sequences[0].load_shed = LoadShedRule{"LS", 0.3, {"s"}};
}

/// A room with a window, a luminaire, a station, sensors and a whole sequence, in which nothing is wrong.
Project good_project() {
  Project p;
  p.site.climate.library = "any";
  p.calendars = {{.id = "hours",
                  .name = "",
                  .hours = {{{0}, 8 * kHour, 17 * kHour}},
                  .terms = {},
                  .holidays = {},
                  .cleaning = {}}};
  Space s;
  s.id = "1";
  s.storey = "ground";
  s.floor = rectangle({0, 0}, {4, 5});
  s.occupancy.calendar = "hours";
  Opening window;
  window.id = "w";
  window.offset_m = 1.0;
  window.width_m = 2.0;
  s.openings = {window};
  Door door;
  door.id = "d";
  door.wall = 2;
  door.offset_m = 1.0;
  s.doors = {door};
  Partition screen;
  screen.id = "screen";
  screen.from = {1, 3};
  screen.to = {3, 3};
  s.partitions = {screen};
  Furniture desk;
  desk.id = "desk";
  desk.plan = rectangle({1, 1}, {2, 2});
  s.furniture = {desk};
  TaskArea task;
  task.id = "t";
  task.plan = rectangle({1, 1}, {2, 2});
  s.task_areas = {task};
  s.egress_paths = {{.id = "way", .centre_line = {{3.3, 1}, {3.3, 4}}}};
  p.spaces = {s};

  LuminaireType type;
  type.id = "T";
  Channel all;
  all.id = "all";
  all.photometry.formula = "cosine_down";
  all.input_w = 30.0;
  all.lumens = 3000.0;
  type.channels = {all};
  p.luminaire_types = {type};

  Design proposal;
  proposal.id = "new";
  Luminaire lum;
  lum.id = "L";
  lum.type = "T";
  lum.space = "1";
  lum.at = {2, 2, 2.7};
  lum.circuit = "c";
  lum.emergency = {
      .type = EmergencyType::own_battery, .lights_egress = true, .output_fraction = 1, .senses_circuit = ""};
  proposal.luminaires = {lum};
  proposal.groups = {{"s", "1", Strategy::scene, "", {"L"}},
                     {"o", "1", Strategy::occupancy, "", {"L/all"}},
                     {"d", "1", Strategy::daylight, "", {"L"}}};
  Scene scene;
  scene.id = "work";
  scene.space = "1";
  scene.levels = {{"s", 1.0}};
  proposal.scenes = {scene};
  OccupancySensor sensor;
  sensor.id = "O";
  sensor.space = "1";
  sensor.at = {2, 2, 2.7};
  sensor.groups = {"o"};
  proposal.occupancy_sensors = {sensor};
  Photosensor photo;
  photo.id = "P";
  photo.space = "1";
  photo.at = {2, 2, 2.7};
  photo.groups = {"d"};
  proposal.photosensors = {photo};
  Station station;
  station.id = "S";
  station.space = "1";
  station.at = {0, 4, 1.2};
  station.buttons = {"work"};
  proposal.stations = {station};
  Sequence sequence;
  sequence.space = "1";
  sequence.normal_scene = "work";
  sequence.vacancy.emplace();
  sequence.trim.emplace();
  sequence.schedule.emplace().calendar = "hours";
  DaylightRule rule;
  rule.group = "d";
  rule.photosensor = "P";
  rule.task_area = "t";
  sequence.daylight = {rule};
  sequence.manual.emplace().stations = {"S"};
  proposal.sequences = {sequence};

  Design found;
  found.id = "found";
  found.role = Design::Role::as_found;
  p.designs = {found, proposal};
  return p;
}

std::string said(const Project& project) {
  std::string text;
  for (const Diagnostic& d : validate(project)) text += to_text(d) + "\n";
  return text;
}

TEST(Validation, HasNothingToSayAboutAGoodProject) { EXPECT_EQ(said(good_project()), ""); }

/// A fortnight's reading of the room in which nothing is wrong.
Reading good_reading() {
  Reading reading;
  reading.id = "r";
  reading.space = "1";
  reading.from = {3, 1};
  reading.to = {3, 14};
  reading.kwh = 20.0;
  return reading;
}

TEST(Validation, TakesReadingsOfASpaceOrAMeter) {
  Project p = good_project();
  p.readings = {good_reading(), good_reading()};
  p.meters = {{"M", ""}};
  p.spaces[0].meter = "M";
  p.readings[1].space.clear();
  p.readings[1].meter = "M";
  EXPECT_EQ(said(p), "");
}

struct Case {
  const char* name;
  std::function<void(Project&, Space&, Design&)> spoil;
  const char* severity_and_where;
};

TEST(Validation, LeavesLumensAndWattsToAPhotometricFile) {
  Project project = good_project();
  Channel& channel = project.luminaire_types[0].channels[0];
  channel.photometry = {"a.ldt", "", "", {}, 2};
  channel.input_w = 0.0;
  channel.lumens = 0.0;
  EXPECT_EQ(said(project), "");
}

TEST(Validation, FindsEachContradictionAtItsPlace) {
  const Case cases[] = {
      {"no climate", [](Project& p, Space&, Design&) { p.site.climate.library.clear(); },
       "missing: /site/climate: "},
      {"no as found", [](Project& p, Space&, Design&) { p.designs.erase(p.designs.begin()); },
       "missing: /designs: "},
      {"two as found", [](Project& p, Space&, Design&) { p.designs.push_back(p.designs[0]); },
       "error: /designs: "},
      {"no spaces", [](Project& p, Space&, Design&) { p.spaces.clear(); }, "missing: /spaces: "},
      {"reading of nothing",
       [](Project& p, Space&, Design&) {
         p.readings = {good_reading()};
         p.readings[0].space.clear();
       },
       "error: /readings/0: nothing says of what"},
      {"reading of two things",
       [](Project& p, Space& s, Design&) {
         p.readings = {good_reading()};
         p.readings[0].meter = s.meter = "M";
       },
       "error: /readings/0: both a meter and a space"},
      {"nothing read",
       [](Project& p, Space&, Design&) {
         p.readings = {good_reading()};
         p.readings[0].kwh.reset();
       },
       "error: /readings/0: nothing was read"},
      {"energy and hours in one",
       [](Project& p, Space&, Design&) {
         p.readings = {good_reading()};
         p.readings[0].lit_h = 90.0;
       },
       "error: /readings/0: both energy and hours"},
      {"hours of a meter",
       [](Project& p, Space& s, Design&) {
         p.readings = {good_reading()};
         p.readings[0].space.clear();
         p.readings[0].meter = s.meter = "M";
         p.readings[0].kwh.reset();
         p.readings[0].lit_h = 90.0;
       },
       "error: /readings/0/lit_h: "},
      {"more hours than there are",
       [](Project& p, Space&, Design&) {
         p.readings = {good_reading()};
         p.readings[0].kwh.reset();
         p.readings[0].lit_h = 337.0;
       },
       "error: /readings/0/lit_h: 337 h do not fit into 14 days"},
      {"reading over the new year",
       [](Project& p, Space&, Design&) {
         p.readings = {good_reading()};
         p.readings[0].from = {12, 20};
         p.readings[0].to = {1, 2};
       },
       "error: /readings/0/to: "},
      {"meter of no space",
       [](Project& p, Space&, Design&) {
         p.readings = {good_reading()};
         p.readings[0].space.clear();
         p.readings[0].meter = "M";
       },
       "error: /readings/0/meter: "},
      {"never open", [](Project& p, Space&, Design&) { p.calendars[0].hours.clear(); },
       "missing: /calendars/0/hours: "},
      {"timetable without lessons",
       [](Project&, Space& s, Design&) { s.occupancy.pattern = Occupancy::Pattern::timetable; },
       "warning: /spaces/0/occupancy/bookings_per_day: "},
      {"lessons after closing",
       [](Project&, Space& s, Design&) {
         s.occupancy.pattern = Occupancy::Pattern::timetable;
         s.occupancy.bookings_per_day = 2.0;
         s.occupancy.first_lesson_s = 17 * kHour;
       },
       "warning: /spaces/0/occupancy/first_lesson: "},
      {"bookings of a part without a movable wall",
       [](Project&, Space& s, Design&) {
         s.occupancy.pattern = Occupancy::Pattern::bookings;
         s.occupancy.bookings_per_day = 2.0;
         s.occupancy.divided_fraction = 0.5;
       },
       "error: /spaces/0/occupancy/divided_fraction: "},
      {"hard-wired luminaire on a plug-in controller",
       [](Project&, Space&, Design& d) {
         LoadController plug;
         plug.id = "PC";
         plug.space = "1";
         plug.at = {1, 1, 0.7};
         plug.mounting = LoadController::Mounting::plug_in;
         plug.luminaires = {"L"};
         d.load_controllers = {plug};
       },
       "error: /designs/1/load_controllers/0/mounting: "},
      {"loss of an occupancy group",
       [](Project&, Space&, Design& d) {
         d.sequences[0].loss.groups = {{"o", 0.5, {}, {}, {}, {}}};
       },
       "error: /designs/1/sequences/0/loss/groups/0/group: "},
      {"a sensor in a controller that does not plug in",
       [](Project&, Space&, Design& d) {
         LoadController panel;
         panel.id = "PC";
         panel.space = "1";
         panel.at = {1, 1, 1.7};
         panel.mounting = LoadController::Mounting::panel;
         panel.sensor_delay_s = 600.0;
         d.load_controllers = {panel};
       },
       "error: /designs/1/load_controllers/0/sensor_delay: "},
      {"scenes of one calendar for too long",
       [](Project&, Space&, Design& d) {
         Scene talk = d.scenes[0];
         talk.id = "talk";
         talk.calendar = "hours";
         talk.use_fraction = 0.7;
         d.scenes.push_back(talk);
         talk.id = "film";
         d.scenes.push_back(talk);
       },
       "error: /designs/1/scenes/2/use_fraction: "},
      {"scene that stands draws shades",
       [](Project& p, Space& s, Design& d) {
         p.shades = {{.id = "cloth"}};
         s.openings[0].shade = "cloth";
         d.scenes[0].shades = Scene::Shades::drawn;
       },
       "error: /designs/1/scenes/0/shades: "},
      {"scene that stands puts daylight aside",
       [](Project&, Space&, Design& d) { d.scenes[0].follows_daylight = false; },
       "error: /designs/1/scenes/0/follows_daylight: "},
      {"scene that stands keeps out of events",
       [](Project&, Space&, Design& d) { d.scenes[0].in_demand_response = false; },
       "error: /designs/1/scenes/0/in_demand_response: "},
      {"scene that is called by a contact of another kind",
       [](Project&, Space&, Design& d) {
         shed(d);
         Scene talk = d.scenes[0];
         talk.id = "talk";
         talk.called_by = "LS";
         d.scenes.push_back(talk);
       },
       "error: /designs/1/scenes/1/called_by: "},
      {"scene without a shade to draw",
       [](Project& p, Space& s, Design& d) {
         p.shades = {{.id = "cloth", .operation = Shade::Operation::fixed_open}};
         s.openings[0].shade = "cloth";
         Scene talk = d.scenes[0];
         talk.id = "talk";
         talk.shades = Scene::Shades::drawn;
         d.scenes.push_back(talk);
       },
       "warning: /designs/1/scenes/1/shades: "},
      {"scene with hours that is never in use",
       [](Project&, Space&, Design& d) {
         Scene talk = d.scenes[0];
         talk.id = "talk";
         talk.calendar = "hours";
         talk.use_fraction = 0.0;
         d.scenes.push_back(talk);
       },
       "warning: /designs/1/scenes/1/calendar: "},
      {"hours of the scene that stands",
       [](Project&, Space&, Design& d) { d.scenes[0].calendar = "hours"; },
       "warning: /designs/1/scenes/0/calendar: "},
      {"load shed by another signal",
       [](Project&, Space&, Design& d) {
         shed(d);
         d.interfaces[0].kind = Interface::Kind::fire_alarm;
       },
       "error: /designs/1/sequences/0/load_shed/interface: "},
      {"load shed by what only tells",
       [](Project&, Space&, Design& d) {
         shed(d);
         d.interfaces[0].direction = Interface::Direction::out;
       },
       "error: /designs/1/sequences/0/load_shed/interface: "},
      {"load shed that sheds nothing",
       [](Project&, Space&, Design& d) {
         shed(d);
         d.sequences[0].load_shed->level = 1.0;
       },
       "warning: /designs/1/sequences/0/load_shed/level: "},
      {"load shed of a group for daylight",
       [](Project&, Space&, Design& d) {
         shed(d);
         d.sequences[0].load_shed->groups = {"d"};
       },
       "error: /designs/1/sequences/0/load_shed/groups/0: "},
      {"bookings of a part with a wall that only opens",
       [](Project&, Space& s, Design&) {
         divide(s);
         s.partitions[0].states = {"open", "open"};
       },
       "error: /spaces/0/occupancy/divided_fraction: "},
      {"bookings of a part behind a wall with a gap",
       [](Project&, Space& s, Design&) {
         divide(s);
         s.partitions[0].to.y -= 0.5;
       },
       "warning: /spaces/0/occupancy/divided_fraction: "},
      {"bookings of a part with two walls",
       [](Project&, Space& s, Design&) {
         divide(s);
         s.partitions.push_back(s.partitions[0]);
         s.partitions[1].id = "second";
       },
       "warning: /spaces/0/occupancy/divided_fraction: "},
      {"scene for a state that the wall never has",
       [](Project&, Space& s, Design& d) {
         divide(s);
         s.occupancy.divided_fraction = 0.0;
         d.scenes[0].partition_state = "closed";
         d.scenes[0].use_fraction = 0.2;
       },
       "warning: /designs/1/scenes/0/use_fraction: "},
      {"no night",
       [](Project&, Space& s, Design&) {
         s.occupancy.pattern = Occupancy::Pattern::sleeping;
         s.occupancy.asleep_until_s = s.occupancy.asleep_from_s;
       },
       "error: /spaces/0/occupancy/asleep_until: "},
      {"tiny floor",
       [](Project&, Space& s, Design&) {
         s.floor = rectangle({0, 0}, {0.1, 0.1});
       },
       "error: /spaces/0/floor: "},
      {"crossed floor",
       [](Project&, Space& s, Design&) {
         s.floor = {{0, 0}, {4, 5}, {4, 0}, {0, 5}};
       },
       "error: /spaces/0/floor: "},
      {"floors overlap",
       [](Project& p, Space& s, Design&) {
         Space other = s;
         other.id = "2";
         p.spaces.push_back(other);
       },
       "warning: /spaces/1/floor: "},
      {"window beyond wall", [](Project&, Space& s, Design&) { s.openings[0].offset_m = 2.1; },
       "error: /spaces/0/openings/0: "},
      {"window over ceiling", [](Project&, Space& s, Design&) { s.openings[0].height_m = 1.9; },
       "error: /spaces/0/openings/0: "},
      {"door over window",
       [](Project&, Space& s, Design&) {
         s.doors[0].wall = 0;
         s.doors[0].offset_m = 2.5;
       },
       "error: /spaces/0/doors/0: "},
      {"no such wall", [](Project&, Space& s, Design&) { s.doors[0].wall = 4; },
       "error: /spaces/0/doors/0/wall: "},
      {"skylight without outline",
       [](Project&, Space& s, Design&) { s.openings[0].kind = Opening::Kind::skylight; },
       "missing: /spaces/0/openings/0/plan: "},
      {"skylight outside",
       [](Project&, Space& s, Design&) {
         s.openings[0].kind = Opening::Kind::skylight;
         s.openings[0].plan = rectangle({3, 4}, {5, 6});
       },
       "error: /spaces/0/openings/0/plan: "},
      {"inner glazing to nowhere",
       [](Project&, Space& s, Design&) { s.openings[0].kind = Opening::Kind::inner_glazing; },
       "missing: /spaces/0/openings/0/borrows_from: "},
      {"inner glazing with nothing near behind it",
       [](Project& p, Space& s, Design&) {
         s.openings[0].kind = Opening::Kind::inner_glazing;
         s.openings[0].borrows_from = "far";
         Space far;
         far.id = "far";
         far.storey = s.storey;
         far.floor = rectangle({0, -7}, {4, -2});
         far.occupancy.calendar = "hours";
         p.spaces.push_back(far);
       },
       "error: /spaces/0/openings/0/borrows_from: "},
      {"slats in a skylight",
       [](Project& p, Space& s, Design&) {
         Shade blind;
         blind.id = "blind";
         blind.kind = Shade::Kind::slats;
         p.shades.push_back(blind);
         s.openings[0].kind = Opening::Kind::skylight;
         s.openings[0].plan = rectangle({1, 1}, {2, 2});
         s.openings[0].shade = "blind";
       },
       "error: /spaces/0/openings/0/shade: "},
      {"glass that brightens when switched",
       [](Project& p, Space& s, Design&) {
         Shade bright;
         bright.id = "bright";
         bright.kind = Shade::Kind::switched_glass;
         bright.switched_transmittance = 0.9;
         p.shades.push_back(bright);
         Glazing glass;
         glass.id = s.openings[0].glazing = "glass";
         p.glazings.push_back(glass);
         s.openings[0].shade = "bright";
       },
       "warning: /spaces/0/openings/0/shade: "},
      {"a well below a window", [](Project&, Space& s, Design&) { s.openings[0].well_depth_m = 0.5; },
       "error: /spaces/0/openings/0/well_depth: "},
      {"a well in a slope",
       [](Project&, Space& s, Design&) {
         s.openings[0].kind = Opening::Kind::skylight;
         s.openings[0].plan = rectangle({1, 1}, {2, 2});
         s.openings[0].well_depth_m = 0.5;
         s.ceiling_slope_deg = 5.0;
       },
       "error: /spaces/0/openings/0/well_depth: "},
      {"fins on a skylight",
       [](Project&, Space& s, Design&) {
         s.openings[0].kind = Opening::Kind::skylight;
         s.openings[0].plan = rectangle({1, 1}, {2, 2});
         s.openings[0].fins_m = 0.5;
       },
       "error: /spaces/0/openings/0: "},
      {"screen above ceiling", [](Project&, Space& s, Design&) { s.partitions[0].height_m = 2.8; },
       "error: /spaces/0/partitions/0/height: "},
      {"flight through the ceiling", [](Project&, Space& s, Design&) { s.egress_paths[0].to_height_m = 2.7; },
       "error: /spaces/0/egress_paths/0: "},
      {"window above the low end of a slope",
       [](Project&, Space& s, Design&) {
         s.ceiling_slope_deg = 10.0;  // rises northwards, the window is in the south
         s.openings[0].sill_m = 1.5;
         s.openings[0].height_m = 1.5;
       },
       "error: /spaces/0/openings/0: "},
      {"screen without length",
       [](Project&, Space& s, Design&) { s.partitions[0].to = s.partitions[0].from; },
       "error: /spaces/0/partitions/0: "},
      {"movable wall without states",
       [](Project&, Space& s, Design&) { s.partitions[0].kind = Partition::Kind::movable; },
       "missing: /spaces/0/partitions/0/states: "},
      {"desk outside",
       [](Project&, Space& s, Design&) {
         s.furniture[0].plan = rectangle({3, 1}, {5, 2});
       },
       "error: /spaces/0/furniture/0/plan: "},
      {"desk upside down", [](Project&, Space& s, Design&) { s.furniture[0].bottom_m = 0.8; },
       "error: /spaces/0/furniture/0: "},
      {"way through a desk",
       [](Project&, Space& s, Design&) {
         s.furniture[0].plan = rectangle({3, 2}, {3.5, 3});
       },
       "warning: /spaces/0/egress_paths/0: "},
      {"way outside", [](Project&, Space& s, Design&) { s.egress_paths[0].centre_line[1].y = 6; },
       "error: /spaces/0/egress_paths/0: "},
      {"task outside",
       [](Project&, Space& s, Design&) {
         s.task_areas[0].plan = rectangle({3, 1}, {5, 2});
       },
       "error: /spaces/0/task_areas/0/plan: "},
      {"task at the ceiling", [](Project&, Space& s, Design&) { s.task_areas[0].height_m = 2.7; },
       "error: /spaces/0/task_areas/0/height: "},
      {"glare limit where nobody is",
       [](Project&, Space& s, Design&) {
         s.task_areas[0].plane = TaskArea::Plane::vertical;
         s.task_areas[0].ugr_limit = 19.0;
       },
       "error: /spaces/0/task_areas/0/ugr_limit: "},
      {"screen darker than black",
       [](Project&, Space& s, Design&) {
         s.task_areas[0].screen = Screen{100.0, 100.0, 0.5, {}};
       },
       "error: /spaces/0/task_areas/0/screen: "},
      {"no calendar", [](Project&, Space& s, Design&) { s.occupancy.calendar.clear(); },
       "missing: /spaces/0/occupancy/calendar: "},
      {"too many receptacles", [](Project&, Space& s, Design&) { s.plug_loads.controlled_receptacles = 1; },
       "error: /spaces/0/plug_loads/controlled_receptacles: "},
      // PLG-5
      {"refrigerator on a controlled receptacle",
       [](Project&, Space& s, Design&) {
         PlugDevice& device = s.plug_loads.devices.emplace_back();
         device.must_stay_on = PlugDevice::MustStayOn::refrigeration;
         device.switched_by = PlugDevice::SwitchedBy::controlled_receptacle;
       },
       "error: /spaces/0/plug_loads/devices/0/switched_by: "},
      {"medical equipment that a plug-in outlet cuts as found",
       [](Project&, Space& s, Design&) {
         PlugDevice& device = s.plug_loads.devices.emplace_back();
         device.must_stay_on = PlugDevice::MustStayOn::medical;
         device.switched_by_as_found = PlugDevice::SwitchedBy::plug_in_outlet;
       },
       "error: /spaces/0/plug_loads/devices/0/switched_by_as_found: "},
      {"devices at seats that nobody has",
       [](Project&, Space& s, Design&) {
         s.occupancy.pattern = Occupancy::Pattern::shared;
         s.plug_loads.devices.emplace_back().at_seats = true;
       },
       "error: /spaces/0/plug_loads/devices/0/at_seats: "},
      {"device that draws more asleep",
       [](Project&, Space& s, Design&) { s.plug_loads.devices.emplace_back().standby_w = 5.0; },
       "warning: /spaces/0/plug_loads/devices/0: "},
      {"controlled device without a controlled receptacle",
       [](Project&, Space& s, Design&) {
         s.plug_loads.receptacles = 4;
         s.plug_loads.devices.emplace_back().switched_by = PlugDevice::SwitchedBy::controlled_receptacle;
       },
       "warning: /spaces/0/plug_loads/devices/0/switched_by: "},
      {"controlled receptacles without a sensor",
       [](Project&, Space& s, Design& d) {
         d.occupancy_sensors.clear();
         d.sequences[0].vacancy.reset();
         s.plug_loads.devices.emplace_back().switched_by = PlugDevice::SwitchedBy::controlled_receptacle;
       },
       "warning: /spaces/0/plug_loads/off_when: "},
      {"a room that holds its own light",
       [](Project&, Space&, Design& d) { d.sequences[0].vacancy->held_by = {"1"}; },
       "error: /designs/1/sequences/0/vacancy/held_by/0: "},
      {"a longer delay after a brief visit",
       [](Project&, Space&, Design& d) {
         d.sequences[0].vacancy->brief_visit_s = 60.0;
         d.sequences[0].vacancy->brief_delay_s = d.sequences[0].vacancy->delay_s + 1.0;
       },
       "error: /designs/1/sequences/0/vacancy/brief_delay: "},
      {"events that overlap",
       [](Project& p, Space&, Design&) {
         p.demand_events.events = {{{7, 15}, 14 * kHour, 7200.0}, {{7, 15}, 15 * kHour, 7200.0}};
       },
       "error: /demand_events/events/1: "},
      {"no channel", [](Project& p, Space&, Design&) { p.luminaire_types[0].channels.clear(); },
       "missing: /luminaire_types/0/channels: "},
      {"no photometry",
       [](Project& p, Space&, Design&) { p.luminaire_types[0].channels[0].photometry.formula.clear(); },
       "missing: /luminaire_types/0/channels/0/photometry: "},
      {"two photometries",
       [](Project& p, Space&, Design&) { p.luminaire_types[0].channels[0].photometry.file = "a"; },
       "error: /luminaire_types/0/channels/0/photometry: "},
      {"no watts", [](Project& p, Space&, Design&) { p.luminaire_types[0].channels[0].input_w = 0.0; },
       "missing: /luminaire_types/0/channels/0/input: "},
      {"no lumens", [](Project& p, Space&, Design&) { p.luminaire_types[0].channels[0].lumens = 0.0; },
       "missing: /luminaire_types/0/channels/0/lumens: "},
      {"lamps of a formula",
       [](Project& p, Space&, Design&) { p.luminaire_types[0].channels[0].photometry.lamp_set = 2; },
       "warning: /luminaire_types/0/channels/0/photometry/lamp_set: "},
      {"luminaire outside", [](Project&, Space&, Design& d) { d.luminaires[0].at.x = 4.2; },
       "error: /designs/1/luminaires/0/at: "},
      {"luminaire above ceiling", [](Project&, Space&, Design& d) { d.luminaires[0].at.z = 2.71; },
       "error: /designs/1/luminaires/0/at: "},
      {"sensor below floor", [](Project&, Space&, Design& d) { d.photosensors[0].at.z = -0.1; },
       "error: /designs/1/photosensors/0/at: "},
      {"no circuit", [](Project&, Space&, Design& d) { d.luminaires[0].circuit.clear(); },
       "missing: /designs/1/luminaires: "},
      {"dark way out",
       [](Project&, Space&, Design& d) { d.luminaires[0].emergency.type = EmergencyType::none; },
       "missing: /designs/1/luminaires: "},
      {"generator that senses nothing",
       [](Project&, Space&, Design& d) { d.luminaires[0].emergency.type = EmergencyType::generator; },
       "missing: /designs/1/luminaires/0/emergency/senses_circuit: "},
      {"channel twice",
       [](Project&, Space&, Design& d) {
         d.groups[1].channels = {"L", "L/all"};
       },
       "error: /designs/1/groups/1/channels/1: "},
      {"channel in two groups",
       [](Project&, Space&, Design& d) {
         d.groups.push_back({"x", "1", Strategy::scene, "", {"L"}});
       },
       "error: /designs/1/groups/3/channels/0: "},
      {"no such channel", [](Project&, Space&, Design& d) { d.groups[1].channels = {"L/up"}; },
       "error: /designs/1/groups/1/channels/0: "},
      {"sensor reports to daylight",
       [](Project&, Space&, Design& d) { d.occupancy_sensors[0].groups = {"d"}; },
       "error: /designs/1/occupancy_sensors/0/groups/0: "},
      {"scene sets occupancy", [](Project&, Space&, Design& d) { d.scenes[0].levels[0].group = "o"; },
       "error: /designs/1/scenes/0/levels/0/group: "},
      {"scene sets twice",
       [](Project&, Space&, Design& d) {
         d.scenes[0].levels.push_back({"s", 0.5});
       },
       "error: /designs/1/scenes/0/levels/1/group: "},
      {"no such state", [](Project&, Space&, Design& d) { d.scenes[0].partition_state = "open"; },
       "error: /designs/1/scenes/0/partition_state: "},
      {"no sequence", [](Project&, Space&, Design& d) { d.sequences.clear(); },
       "missing: /designs/1/sequences: "},
      {"no sensor", [](Project&, Space&, Design& d) { d.occupancy_sensors.clear(); },
       "missing: /designs/1/sequences/0: "},
      {"no schedule",
       [](Project&, Space&, Design& d) {
         d.sequences[0].schedule.reset();
         d.sequences[0].on.by = OnRule::By::schedule;
       },
       "error: /designs/1/sequences/0/on/by: "},
      {"owner refuses",
       [](Project& p, Space&, Design& d) {
         p.requirements.automatic_on_allowed = false;
         d.sequences[0].on.by = OnRule::By::occupancy;
       },
       "error: /designs/1/sequences/0/on/by: "},
      {"no station", [](Project&, Space&, Design& d) { d.sequences[0].manual.reset(); },
       "missing: /designs/1/sequences/0/manual: "},
      {"trim upside down",
       [](Project&, Space&, Design& d) { d.sequences[0].trim = TrimRule{.high = 0.2, .low = 0.3}; },
       "error: /designs/1/sequences/0/trim: "},
      {"warning goes dark", [](Project&, Space&, Design& d) { d.sequences[0].vacancy->warning_level = 0.0; },
       "error: /designs/1/sequences/0/vacancy/warning_level: "},
      {"photosensor of another group", [](Project&, Space&, Design& d) { d.photosensors[0].groups.clear(); },
       "error: /designs/1/sequences/0/daylight/0/photosensor: "},
      {"second photosensor of a single loop",
       [](Project&, Space&, Design& d) { d.sequences[0].daylight[0].open_photosensor = "P"; },
       "warning: /designs/1/sequences/0/daylight/0/open_photosensor: "},
      {"dual loop with one photosensor",
       [](Project&, Space&, Design& d) {
         d.sequences[0].daylight[0].method = DaylightRule::Method::dual_loop;
       },
       "missing: /designs/1/sequences/0/daylight/0/open_photosensor: "},
      {"dual loop with the same photosensor twice",
       [](Project&, Space&, Design& d) {
         d.sequences[0].daylight[0].method = DaylightRule::Method::dual_loop;
         d.sequences[0].daylight[0].open_photosensor = "P";
       },
       "error: /designs/1/sequences/0/daylight/0/open_photosensor: "},
      {"dual loop with two closed photosensors",
       [](Project&, Space&, Design& d) {
         d.sequences[0].daylight[0].method = DaylightRule::Method::dual_loop;
         d.sequences[0].daylight[0].open_photosensor = "Q";
         Photosensor q = d.photosensors[0];
         q.id = "Q";
         d.photosensors.push_back(q);
       },
       "warning: /designs/1/sequences/0/daylight/0/open_photosensor: "},
      {"integral reset set by day",
       [](Project&, Space&, Design& d) {
         d.sequences[0].daylight[0].method = DaylightRule::Method::integral_reset;
         d.sequences[0].daylight[0].calibrated_at.emplace();
       },
       "warning: /designs/1/sequences/0/daylight/0/calibrated_at: "},
      {"dimming through a relay",
       [](Project&, Space&, Design& d) {
         LoadController relay;
         relay.id = "R";
         relay.space = "1";
         relay.at = {2, 2, 2.7};
         relay.action = LoadController::Action::on_off;
         relay.groups = {"s"};
         d.load_controllers.push_back(relay);
         d.sequences[0].daylight[0].may_switch_off = true;
       },
       "warning: /designs/1/sequences/0/daylight/0/minimum_level: "},
      {"a relay on the circuit that may not switch",
       [](Project&, Space&, Design& d) {
         LoadController relay;
         relay.id = "R";
         relay.space = "1";
         relay.at = {2, 2, 2.7};
         relay.action = LoadController::Action::volt_free_contact;
         relay.circuits = {"c"};
         d.load_controllers.push_back(relay);
         d.sequences[0].daylight[0].minimum_level = 1.0;
       },
       "warning: /designs/1/sequences/0/daylight/0/may_switch_off: "},
      {"no daylight", [](Project&, Space& s, Design&) { s.openings.clear(); },
       "warning: /designs/1/sequences/0/daylight/0: "},
      {"switch legs of another space",
       [](Project&, Space&, Design& d) {
         Station station;
         station.id = "W";
         station.space = "2";
         station.at = {2, 2, 1.2};
         station.switch_legs = {"s", "s"};
         d.stations = {station};
       },
       "error: /designs/1/stations/0/switch_legs/0: "},
      {"more switch legs in a space than anybody chooses among",
       [](Project&, Space&, Design& d) {
         for (const char* id : {"W", "X"}) {
           Station station;
           station.id = id;
           station.space = "1";
           station.at = {2, 2, 1.2};
           station.switch_legs = {"s", id + std::string("1"), id + std::string("2")};
           d.stations.push_back(station);
         }
       },
       "error: /designs/1/stations/1/switch_legs: "},
      {"a switch leg that is no scene group",
       [](Project&, Space&, Design& d) {
         Station station;
         station.id = "W";
         station.space = "1";
         station.at = {2, 2, 1.2};
         station.switch_legs = {"s", d.sequences[0].daylight[0].group};
         d.stations = {station};
       },
       "error: /designs/1/stations/0/switch_legs/1: "},
      {"a switch leg alone",
       [](Project&, Space&, Design& d) {
         Station station;
         station.id = "W";
         station.space = "1";
         station.at = {2, 2, 1.2};
         station.switch_legs = {"s"};
         d.stations = {station};
       },
       "warning: /designs/1/stations/0/switch_legs: "},
      {"scene targets that cannot both hold",
       [](Project&, Space& s, Design& d) {
         d.scenes[0].targets = {{s.task_areas[0].id, 300.0, 200.0, {}, {}}};
       },
       "error: /designs/1/scenes/0/targets/0/most: "},
      {"a contrast of what shows no picture",
       [](Project&, Space& s, Design& d) {
         d.scenes[0].targets = {{s.task_areas[0].id, {}, {}, {}, 15.0}};
       },
       "error: /designs/1/scenes/0/targets/0/contrast: "},
      {"a scene target of no task area",
       [](Project&, Space&, Design& d) { d.scenes[0].targets = {{"nowhere", 300.0, {}, {}, {}}}; },
       "error: /designs/1/scenes/0/targets/0/task_area: "},
      {"two targets on one task area",
       [](Project&, Space& s, Design& d) {
         d.scenes[0].targets = {{s.task_areas[0].id, 300.0, {}, {}, {}}, {s.task_areas[0].id, {}, 600.0, {}, {}}};
       },
       "error: /designs/1/scenes/0/targets/1/task_area: "},
      {"a scene target that asks nothing",
       [](Project&, Space& s, Design& d) { d.scenes[0].targets = {{s.task_areas[0].id, {}, {}, {}, {}}}; },
       "warning: /designs/1/scenes/0/targets/0: "},
      {"hand-off to a screen",
       [](Project&, Space&, Design& d) {
         Interface screen;
         screen.id = "I";
         screen.space = "1";
         screen.kind = Interface::Kind::audio_visual;
         d.interfaces = {screen};
         d.hvac_hand_offs = {{"1", "I", 300.0}};
       },
       "error: /designs/1/hvac_hand_offs/0/interface: "},
      {"HVAC told twice",
       [](Project& p, Space& s, Design& d) {
         p.hvac_zones.resize(1);
         p.hvac_zones[0].id = s.hvac_zone = "zone";
         d.hvac_hand_offs = {{"1", "I", 300.0}, {"1", "J", 300.0}};
       },
       "error: /designs/1/hvac_hand_offs/1: "},
      {"HVAC told of a space in no zone",
       [](Project&, Space&, Design& d) { d.hvac_hand_offs = {{"1", "I", 300.0}}; },
       "warning: /designs/1/hvac_hand_offs/0: "},
  };
  for (const Case& c : cases) {
    Project p = good_project();
    c.spoil(p, p.spaces[0], p.designs[1]);
    const std::string text = said(p);
    EXPECT_EQ(text.substr(0, std::string(c.severity_and_where).size()), c.severity_and_where)
        << c.name << "\n"
        << text;
  }
}

TEST(Validation, NothingGoesOutByItselfWhereDarknessIsDangerous) {
  Project p = good_project();
  p.spaces[0].automatic_off_refused = true;
  EXPECT_NE(said(p).find("error: /designs/1/sequences/0/vacancy: 1 must not go dark by itself"),
            std::string::npos);
  EXPECT_NE(said(p).find("error: /designs/1/sequences/0/schedule/sweeps_off: "), std::string::npos);
  // A step that never goes off, and a schedule that sweeps nothing, leave the light on.
  p.designs[1].sequences[0].vacancy->step_level = 0.3;
  p.designs[1].sequences[0].schedule->sweeps_off = false;
  EXPECT_EQ(said(p), "");
  p.designs[1].sequences[0].vacancy->off_after_s = 600.0;
  EXPECT_NE(said(p).find("error: /designs/1/sequences/0/vacancy: "), std::string::npos);
}

TEST(Validation, RadioDevicesNeedARadioAndAGatewayThatTalksByIt) {
  Project project = good_project();
  Design& design = project.designs[1];
  design.stations[0].link = Link::radio;
  EXPECT_NE(
      said(project).find("warning: /designs/1/stations/0/link: a device talks by radio, and the project "
                         "does not say by which"),
      std::string::npos)
      << said(project);
  project.radio.emplace();
  const std::string without = "a device talks by radio, and no gateway does";
  EXPECT_NE(said(project).find(without), std::string::npos) << said(project);
  Infrastructure gateway;
  gateway.id = "G";
  gateway.space = "1";
  gateway.at = {2, 2, 2.7};
  gateway.kind = Infrastructure::Kind::gateway;
  design.infrastructure = {gateway};
  EXPECT_NE(said(project).find(without), std::string::npos) << "its link is a wire: " << said(project);
  design.infrastructure[0].link = Link::radio;
  EXPECT_EQ(said(project), "");
  design.infrastructure[0].kind = Infrastructure::Kind::repeater;
  EXPECT_NE(said(project).find("2 devices talk by radio, and no gateway does"), std::string::npos)
      << said(project);
  design.infrastructure.clear();
  design.stations[0].status = Status::remove;
  EXPECT_EQ(said(project).find("by radio"), std::string::npos) << said(project);
}

TEST(Validation, PricesRunFromTheLeastToTheMostAndAreGivenOnce) {
  Project p = good_project();
  p.device_kinds.emplace_back().id = "sensor";
  Price& price = p.device_kinds[0].price;
  price.material = {60.0, 60.0};
  price.labour_h = {0.5, 0.4};
  p.luminaire_types.at(0).price = Price{{2.0, 1.0}, {}, {}};
  p.costs = {{"a", "sensor", 70.0, 0.5}, {"b", "sensor", 80.0, 0.5}};
  const std::string text = said(p);
  EXPECT_NE(text.find("/luminaire_types/0/price/material: at least 2 is more than at most 1"),
            std::string::npos)
      << text;
  EXPECT_NE(text.find("/device_kinds/0/price/labour_hours: at least 0.5 is more"), std::string::npos) << text;
  EXPECT_NE(text.find("warning: /costs/1/applies_to: sensor already has a cost"), std::string::npos) << text;
  price.labour_h = {0.4, 0.5};
  p.luminaire_types[0].price = Price{{1.0, 2.0}, {}, {}};
  p.costs.pop_back();
  EXPECT_EQ(said(p), "");
}

TEST(Validation, PositionsMayTouchWallsAndCeiling) {
  Project p = good_project();
  p.designs[1].luminaires[0].at = {4.0, 5.0, 2.7};
  p.spaces[0].openings[0].offset_m = 2.0;                         // ends exactly at the corner
  p.spaces[0].openings[0].height_m = p.spaces[0].height_m - 0.9;  // and exactly at the ceiling
  EXPECT_EQ(said(p), "");
}

TEST(InnerGlazing, TheWallBehindItIsFoundWhereItCoversTheWholePane) {
  Space front;
  front.floor = rectangle({0, 0}, {4, 5});
  Opening pane;
  pane.kind = Opening::Kind::inner_glazing;
  pane.wall = 1;  // x = 4, from y = 0 to y = 5
  pane.offset_m = 1.0;
  pane.sill_m = 0.9;
  pane.width_m = 2.0;
  pane.height_m = 1.5;
  Space behind;
  behind.floor = rectangle({4.2, 0}, {8, 5});
  EXPECT_NEAR(*depth_behind(front, pane, behind), 0.2, 1e-12);
  // A wall in two pieces of one plane covers it as well; one with a niche behind half of the pane does not.
  behind.floor = {{4.2, 0}, {8, 0}, {8, 5}, {4.2, 5}, {4.2, 2}};
  EXPECT_NEAR(*depth_behind(front, pane, behind), 0.2, 1e-12);
  behind.floor = {{4.2, 0}, {8, 0}, {8, 5}, {4.6, 5}, {4.6, 2}, {4.2, 2}};
  EXPECT_FALSE(depth_behind(front, pane, behind));
  // Too short, too far, too low, or on the other side.
  behind.floor = rectangle({4.2, 2}, {8, 5});
  EXPECT_FALSE(depth_behind(front, pane, behind));
  behind.floor = rectangle({5.1, 0}, {8, 5});
  EXPECT_FALSE(depth_behind(front, pane, behind));
  behind.floor = rectangle({4.2, 0}, {8, 5});
  behind.height_m = 2.3;
  EXPECT_FALSE(depth_behind(front, pane, behind));
  behind.height_m = 2.7;
  behind.floor = rectangle({-4, 0}, {-0.2, 5});
  EXPECT_FALSE(depth_behind(front, pane, behind));
}

TEST(Partitions, EveryWayToStandIsNamedAndTheFirstComesFirst) {
  Space space;
  EXPECT_EQ(arrangements_of(space).size(), 1U);
  Partition wall;
  wall.id = "wall";
  wall.kind = Partition::Kind::movable;
  wall.states = {"open", "closed"};
  Partition screen = wall;
  screen.id = "screen";
  screen.states = {"closed", "open"};
  Partition fixed;
  fixed.states = {"open"};  // says nothing about what does not move
  space.partitions = {wall, fixed, screen};
  const std::vector<Arrangement> all = arrangements_of(space);
  ASSERT_EQ(all.size(), 4U);
  EXPECT_EQ(all[0].name, "wall open, screen closed");
  EXPECT_EQ(all[3].name, "wall closed, screen open");
  EXPECT_FALSE(stands(wall, all[0].state[0]));
  EXPECT_TRUE(stands(wall, all[3].state[0]));
  EXPECT_TRUE(stands(fixed, all[0].state[1]));
  Scene scene;
  EXPECT_TRUE(suits(scene, space, all[2]));
  scene.partition_state = "closed";  // of any of them
  EXPECT_TRUE(suits(scene, space, all[0]));
  EXPECT_FALSE(suits(scene, space, all[2]));
  // Eight ways are too many.
  space.partitions.push_back(wall);
  EXPECT_EQ(arrangement_count(space), 8U);
  EXPECT_EQ(arrangements_of(space).size(), 1U);
}

TEST(Doors, GlassThatNamesAGlazingIsAnOpeningInTheMiddleOfTheLeaf) {
  Space space;
  space.floor = rectangle({0, 0}, {4, 5});
  Door door;
  door.id = "d";
  door.wall = 1;
  door.offset_m = 1.0;
  door.width_m = 1.0;
  door.height_m = 2.0;
  door.glass_fraction = 0.25;
  door.leads_to = "hall";
  space.doors = {door};
  EXPECT_TRUE(light_openings(space).empty());
  space.doors[0].glazing = "clear";
  const std::vector<Opening> openings = light_openings(space);
  ASSERT_EQ(openings.size(), 1U);
  EXPECT_EQ(openings[0].kind, Opening::Kind::inner_glazing);
  EXPECT_EQ(openings[0].borrows_from, "hall");
  EXPECT_DOUBLE_EQ(openings[0].width_m * openings[0].height_m, 0.25 * 1.0 * 2.0);
  EXPECT_DOUBLE_EQ(openings[0].offset_m, 1.25);
  EXPECT_DOUBLE_EQ(openings[0].sill_m, 0.5);
  space.doors[0].leads_to = "outside";
  EXPECT_EQ(light_openings(space)[0].kind, Opening::Kind::window);
}

TEST(EgressPath, AFlightIsJudgedAlongItsSlope) {
  EgressPath flight;
  flight.centre_line = {{0, 0}, {3, 0}, {3, 1}};
  flight.from_height_m = 0.2;
  flight.to_height_m = 2.2;
  // Seven places on the leg of 3 m and three on that of 1 m, three points each.
  const std::vector<Point3> points = points_of(flight);
  ASSERT_EQ(points.size(), 30U);
  EXPECT_DOUBLE_EQ(points.front().z, 0.2);
  EXPECT_DOUBLE_EQ(points.back().z, 2.2);
  for (const Point3 p : points)
    EXPECT_NEAR(p.z, 0.2 + 0.5 * std::min(3.0, p.x) + (p.x < 2.7 ? 0.0 : 0.5 * std::max(0.0, p.y)), 0.13);
  flight.from_height_m = flight.to_height_m = 0.0;
  for (const Point3 p : points_of(flight)) EXPECT_EQ(p.z, 0.0);
}

TEST(Ceiling, ASlopeIsMeasuredFromItsLowestPlace) {
  Space space;
  space.floor = rectangle({10, 0}, {14, 3});
  space.height_m = 2.0;
  EXPECT_EQ(height_over(space, {{12, 1}}), 2.0);
  space.ceiling_slope_deg = 45.0;
  space.ceiling_rises_deg = 90.0;  // east
  EXPECT_NEAR(height_over(space, {{10, 2}}), 2.0, 1e-12);
  EXPECT_NEAR(height_over(space, {{14, 0}}), 6.0, 1e-12);
  EXPECT_NEAR(height_over(space, {{13, 0}, {11, 3}}), 3.0, 1e-12) << "least of the places";
  space.ceiling_rises_deg = 180.0;  // south
  EXPECT_NEAR(height_over(space, {{12, 0}}), 5.0, 1e-12);
}

}  // namespace
}  // namespace halflight::domain
