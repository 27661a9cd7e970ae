#pragma once
#include "base/units.hpp"
#include "domain/project.hpp"
#include "geometry/polygon.hpp"
#include "report/report.hpp"
#include "results/study.hpp"

#include <algorithm>
#include <cmath>
#include <string>

// A TEST FIXTURE: a project and a study made up so that every part of the report has something to show. No
// figure in it was computed by the program; shapes are formulas that merely look like light.

namespace halflight::report {

struct Fixture {
  domain::Project project;
  results::Study study;
  ReportOptions options;
};

namespace fixture_detail {

using namespace domain;

inline Luminaire luminaire(const std::string& id, const char* type, const char* space, double x, double y,
                           double z) {
  Luminaire l;
  l.id = l.tag = id;
  l.type = type;
  l.space = space;
  l.at = {x, y, z};
  l.circuit = "LP1-7";
  return l;
}

template <class Device>
Device device(const char* id, const char* space, double x, double y, double z) {
  Device d;
  d.id = d.tag = id;
  d.space = space;
  d.at = {x, y, z};
  d.standby_w = 0.4;
  return d;
}

inline LuminaireType type(const char* id, const char* name, double l, double w, double watts, double lumens) {
  LuminaireType t;
  t.id = t.tag = id;
  t.name = name;
  t.length_m = l;
  t.width_m = w;
  t.channels.resize(1);
  t.channels[0].id = "all";
  t.channels[0].input_w = watts;
  t.channels[0].lumens = lumens;
  return t;
}

inline Opening window(const char* id, int wall, double offset_m, double width_m) {
  Opening o;
  o.id = id;
  o.wall = wall;
  o.offset_m = offset_m;
  o.width_m = width_m;
  o.sill_m = 0.6;
  o.height_m = 2.4;
  return o;
}

inline void reading_room(Project& p, Design& d) {
  Space s;
  s.id = "reading";
  s.number = "201";
  s.name = "Reading room";
  s.storey = "upper";
  s.kind = "reading_room";
  s.floor = rectangle({0.0, 0.0}, {14.4, 9.6});
  s.height_m = 4.2;
  s.openings = {window("W1", 0, 0.9, 1.9), window("W2", 0, 3.8, 1.9), window("W3", 0, 6.7, 2.0),
                window("W4", 0, 9.6, 1.9), window("W5", 0, 12.4, 1.4)};
  Opening skylight;
  skylight.id = "S1";
  skylight.kind = Opening::Kind::skylight;
  skylight.plan = rectangle({6.0, 5.2}, {8.4, 6.4});
  s.openings.push_back(skylight);
  Door west;
  west.id = "D1";
  west.wall = 3;
  west.offset_m = 2.5;
  west.width_m = 1.0;
  west.leads_to = "stair";
  Door east = west;
  east.id = "D2";
  east.wall = 1;
  east.offset_m = 6.0;
  east.latch = Door::Latch::left;
  east.swing = Door::Swing::out;
  s.doors = {west, east};
  for (int row = 0; row < 2; ++row)
    for (int i = 0; i < 4; ++i)
      s.furniture.push_back({"t" + std::to_string(4 * row + i),
                             "table",
                             rectangle({1.4 + 3.2 * i, 1.2 + 3.1 * row}, {3.4 + 3.2 * i, 2.2 + 3.1 * row}),
                             0.0,
                             0.75,
                             {}});
  for (int i = 0; i < 6; ++i)
    s.furniture.push_back({"s" + std::to_string(i),
                           "shelf",
                           rectangle({0.6 + 2.2 * i, 8.0}, {2.0 + 2.2 * i, 8.4}),
                           0.0,
                           2.1,
                           {}});
  s.egress_paths = {
      {"way-1", {{0.6, 6.9}, {12.9, 6.9}, {12.9, 6.5}, {14.3, 6.5}}, 1.2, EgressPath::Surface::level}};
  TaskArea tables;
  tables.id = "tables";
  tables.name = "the tables";
  tables.plan = rectangle({1.0, 0.9}, {13.4, 5.6});
  tables.target_lx = 400.0;
  TaskArea fronts;
  fronts.id = "shelves";
  fronts.name = "the shelf fronts";
  fronts.plan = rectangle({0.6, 7.9}, {13.0, 8.0});
  fronts.plane = TaskArea::Plane::vertical;
  fronts.height_m = 1.2;
  fronts.target_lx = 200.0;
  s.task_areas = {tables, fronts};
  s.plug_loads.controlled_receptacles = 8;
  p.spaces.push_back(s);

  for (int row = 0; row < 3; ++row)
    for (int i = 0; i < 4; ++i)
      d.luminaires.push_back(luminaire(std::string(1, static_cast<char>('A' + row)) + std::to_string(i + 1),
                                       "P1", "reading", 2.4 + 3.2 * i, 1.7 + 2.6 * row, 3.0));
  for (int i = 0; i < 8; ++i)
    d.luminaires.push_back(luminaire("D" + std::to_string(i + 1), "W1", "reading", 1.2 + 1.7 * i, 9.1, 3.4));
  for (const int i : {1, 6, 9})
    d.luminaires[static_cast<std::size_t>(i)].emergency = {EmergencyType::own_battery, true, 0.15, "LP1-7"};
  d.luminaires[3].rotation_deg = 20.0;
  for (int row = 0; row < 4; ++row) {
    const std::string letter(1, static_cast<char>('A' + row));
    Group g{"reading-" + letter, "reading", Strategy::scene, letter, {}};
    for (int i = 0; i < (row == 3 ? 8 : 4); ++i) g.channels.push_back(letter + std::to_string(i + 1));
    d.groups.push_back(g);
  }
  d.groups.push_back({"reading-day-A", "reading", Strategy::daylight, "row A", {"A1", "A2", "A3", "A4"}});
  d.groups.push_back({"reading-day-B", "reading", Strategy::daylight, "row B", {"B1", "B2", "B3", "B4"}});
  auto scene = [&](const char* id, const char* name, std::vector<SceneLevel> levels) {
    Scene sc;
    sc.id = id;
    sc.name = name;
    sc.space = "reading";
    sc.levels = std::move(levels);
    d.scenes.push_back(sc);
  };
  scene("open", "Open", {{"reading-A", 1.0}, {"reading-B", 1.0}, {"reading-C", 0.9}, {"reading-D", 0.75}});
  scene("story", "Story hour",
        {{"reading-A", 0.1}, {"reading-B", 0.25}, {"reading-C", 0.9}, {"reading-D", 0.2}});
  scene("clean", "Cleaning",
        {{"reading-A", 0.8}, {"reading-B", 0.8}, {"reading-C", 0.8}, {"reading-D", 0.0}});
  for (const auto& [id, x] : {std::pair{"M1", 3.6}, std::pair{"M2", 10.8}}) {
    auto m = device<OccupancySensor>(id, "reading", x, 3.7, 4.0);
    m.major_radius_m = 3.4;
    m.minor_radius_m = 2.1;
    d.occupancy_sensors.push_back(m);
  }
  auto p1 = device<Photosensor>("P1", "reading", 7.2, 3.4, 4.0);
  p1.groups = {"reading-day-A"};
  auto p2 = device<Photosensor>("P2", "reading", 9.0, 5.3, 4.0);
  p2.groups = {"reading-day-B"};
  d.photosensors = {p1, p2};
  auto w1 = device<Station>("W1", "reading", 14.3, 5.6, 1.1);
  w1.buttons = {"open", "story", "clean", "off"};
  auto w2 = w1;
  w2.id = w2.tag = "W2";
  w2.at = {0.1, 6.0, 1.1};
  w2.public_access = false;
  d.stations = {w1, w2};
  auto k1 = device<LoadController>("K1", "reading", 7.2, 7.6, 4.0);
  k1.groups = {"reading-A", "reading-B", "reading-C", "reading-D"};
  d.load_controllers = {k1};
  d.interfaces = {device<Interface>("H1", "reading", 12.2, 7.6, 4.0)};
  d.interfaces[0].signal = "reading room occupied";
  d.hvac_hand_offs = {{"reading", "H1", 300.0}};

  Sequence q;
  q.space = "reading";
  q.normal_scene = "open";
  q.on = {OnRule::By::schedule, 1.0, 20.0};
  q.schedule = ScheduleRule{"public", 900.0, 0.0, true, 7200.0};
  q.vacancy = VacancyRule{720.0, 0.15, 300.0, 0.5, 30.0, {}};
  q.trim = TrimRule{0.82, 0.0};
  DaylightRule day;
  day.group = "reading-day-A";
  day.photosensor = "P1";
  day.task_area = "tables";
  day.minimum_level = 0.08;
  DaylightRule second = day;
  second.group = "reading-day-B";
  second.photosensor = "P2";
  q.daylight = {day, second};
  q.manual = ManualRule{{"W1", "W2"}, ManualRule::HoldsUntil::vacancy, 7200.0};
  q.demand_response = DemandResponseRule{0.8};
  d.sequences.push_back(q);
}

inline void office(Project& p, Design& d) {
  Space s;
  s.id = "office";
  s.number = "207";
  s.name = "Head librarian";
  s.storey = "upper";
  s.kind = "office_private";
  s.floor = {{20.0, 0.0}, {24.5, 0.0}, {24.5, 3.0}, {22.6, 3.0}, {22.6, 4.2}, {20.0, 4.2}};
  s.openings = {window("O1", 5, 1.0, 1.8)};
  Door door;
  door.id = "OD";
  door.wall = 3;
  door.offset_m = 0.15;
  door.width_m = 0.9;
  s.doors = {door};
  s.furniture = {{"desk", "desk", rectangle({20.6, 1.2}, {22.2, 2.0}), 0.0, 0.75, {}}};
  TaskArea desk;
  desk.id = "desk";
  desk.name = "the desk";
  desk.plan = rectangle({20.6, 1.2}, {22.2, 2.0});
  desk.target_lx = 500.0;
  s.task_areas = {desk};
  p.spaces.push_back(s);
  d.luminaires.push_back(luminaire("L1", "R1", "office", 21.2, 1.4, 2.7));
  d.luminaires.push_back(luminaire("L2", "R1", "office", 23.4, 1.4, 2.7));
  d.groups.push_back({"office-all", "office", Strategy::scene, "room", {"L1", "L2"}});
  d.occupancy_sensors.push_back(device<OccupancySensor>("M3", "office", 24.3, 2.8, 2.4));
  d.occupancy_sensors.back().coverage = OccupancySensor::Coverage::sector;
  d.occupancy_sensors.back().aim_deg = 235.0;
  d.occupancy_sensors.back().sector_deg = 90.0;
  d.stations.push_back(device<Station>("W3", "office", 22.5, 3.4, 1.1));
  Sequence q;
  q.space = "office";
  q.on = {OnRule::By::occupancy, 0.5, 2.0};
  q.vacancy = VacancyRule{900.0, 0.0, -1.0, 0.5, 30.0, {}};
  q.manual = ManualRule{{"W3"}, ManualRule::HoldsUntil::vacancy, 7200.0};
  d.sequences.push_back(q);
}

/// Looks like light: bright below luminaires and near the south windows.
inline results::PlanGrid grid(const Space& s, const Design& d, double electric, double day,
                              const char* quantity) {
  results::PlanGrid g;
  const Box2 b = bounds(s.floor);
  g.quantity = quantity;
  g.x0_m = b.low.x + 0.125;
  g.y0_m = b.low.y + 0.125;
  g.columns = static_cast<int>((b.high.x - b.low.x) / g.step_m);
  g.rows = static_cast<int>((b.high.y - b.low.y) / g.step_m);
  for (int r = 0; r < g.rows; ++r)
    for (int c = 0; c < g.columns; ++c) {
      const Point2 p{g.x0_m + c * g.step_m, g.y0_m + r * g.step_m};
      double lx = 40.0 * electric + 20.0 * day;
      for (const Luminaire& l : d.luminaires)
        if (l.space == s.id) {
          const double h2 = 5.0, r2 = (p.x - l.at.x) * (p.x - l.at.x) + (p.y - l.at.y) * (p.y - l.at.y);
          lx += electric * 210.0 * h2 * h2 / ((r2 + h2) * (r2 + h2));
        }
      lx += day * 1400.0 * std::exp(-(p.y - b.low.y) / 1.6) +
            day * 700.0 * std::exp(-0.5 * ((p.x - 7.2) * (p.x - 7.2) + (p.y - 5.8) * (p.y - 5.8)) / 2.2);
      g.values_lx.push_back(contains(s.floor, p) ? static_cast<float>(lx) : -1.0F);
    }
  return g;
}

inline results::YearPicture year(double strength) {
  results::YearPicture y;
  y.quantity = "power, share of connected";
  y.unit = "fraction";
  for (int day = 0; day < 365; ++day) {
    const double season = std::cos(2.0 * kPi * (day + 10) / 365.0);
    const bool summer_time = day >= 87 && day < 297;
    y.sunrise_h.push_back(static_cast<float>(6.4 + 1.6 * season + (summer_time ? 1.0 : 0.0)));
    y.sunset_h.push_back(static_cast<float>(18.0 - 2.0 * season + (summer_time ? 1.0 : 0.0)));
    for (int cell = 0; cell < y.per_day; ++cell) {
      const double h = 0.5 * cell + 0.25;
      const bool is_open = day % 7 != 6 && h > 8.75 && h < (day % 7 == 5 ? 17.0 : 20.0);
      const double sun =
          std::max(0.0, std::sin(kPi * (h - y.sunrise_h.back()) / (y.sunset_h.back() - y.sunrise_h.back())));
      const double wobble = 0.08 * std::sin(12.9898 * day + 78.233 * cell);
      y.values.push_back(is_open ? static_cast<float>(std::clamp(
                                       0.95 - strength * sun * (0.7 - 0.25 * season) + wobble, 0.05, 1.0))
                                 : 0.01F);
    }
  }
  return y;
}

inline results::Estimate around(double mean, double share) {
  return {mean, mean * (1.0 - share), mean * (1.0 + share), mean * share * 0.02};
}

inline void cases(results::SpaceStudy& s, double kwh) {
  const double factors[] = {1.0, 0.72, 0.66, 0.52};
  const char* contents[] = {
      "lights by hand, by habit; sweep at closing", "the proposal's luminaires, lights by hand",
      "vacancy off after 20 min, daylight control by the windows", "as the sequence above says"};
  for (std::size_t c = 0; c < 4; ++c) {
    s.cases[c].lighting_kwh = around(kwh * factors[c], 0.09);
    s.cases[c].standby_kwh = around(c == 3 ? 0.02 * kwh : 0.001 * kwh, 0.05);
    s.cases[c].lit_hours = around(3100.0 * (c == 3 ? 0.8 : 1.0), 0.06);
    s.cases[c].peak_w = around(kwh * factors[c] / 2.9, 0.03);
    s.cases[c].contents = contents[c];
  }
  s.saving.against_as_found = {0.463, 0.41, 0.51, 0.003};
  s.saving.against_relamped = {0.25, 0.19, 0.31, 0.003};
  s.saving.against_code_minimum = {0.19, 0.12, 0.25, 0.003};
  s.saving_as_usually_found = {0.29, 0.2, 0.38, 0.004};
  s.shares = {{"lamp_replacement", around(0.28 * kwh, 0.08)},
              {"trim", around(0.07 * kwh, 0.2)},
              {"daylight", around(0.09 * kwh, 0.25)},
              {"occupancy", around(0.05 * kwh, 0.4)},
              {"schedule", around(0.012 * kwh, 0.9)},
              {"standby", {-0.019 * kwh, -0.021 * kwh, -0.017 * kwh, 0.1}}};
}

inline results::Claim claim(const char* id, const char* text, const char* result, const char* unit,
                            double low, double high) {
  results::Claim c;
  c.id = id;
  c.text = text;
  c.result = result;
  c.unit = unit;
  c.low = low;
  c.high = high;
  return c;
}

inline results::Study study(const Project& p, const Design& d) {
  results::Study st;
  st.project_id = p.id;
  st.project_name = p.name;
  st.replicates = 128;
  st.seed = 1;
  st.accuracy = "design";
  st.climate = "synthetic years from monthly normals, mid-latitude coast (invented)";
  results::SpaceStudy s;
  s.id = "reading";
  s.number = "201";
  s.name = "Reading room";
  s.kind = "reading_room";
  s.storey = "upper";
  s.area_m2 = 138.24;
  s.connected_w = 624.0;
  s.lpd_w_m2 = 4.51;
  s.connected_as_found_w = 1180.0;
  s.electric = {
      {"all",
       624.0,
       {{"tables", "maintained", "horizontal 0.75 m", 512.0, 398.0, 640.0, 0.777, 1.6, 400.0},
        {"shelves", "maintained", "vertical 1.20 m facing 180 deg", 214.0, 121.0, 301.0, 0.565, 1.1, 200.0}}},
      {"reading-A",
       168.0,
       {{"tables", "trimmed", "horizontal 0.75 m", 118.0, 31.0, 260.0, 0.263, 0.6, 400.0}}}};
  s.eye_light = {{"tables", "maintained", 1.2, 10, 8, results::Glare{20.37, 3.2, 1.4, 90.0, 9, 1, 2}, 1, 19.0,
                  171.0, 122.0, 0.412},
                 {"tables", "scene Dark", 1.2, 10, 8, {}, 0, {}, 0.0, 0.0, 0.0}};
  s.room_surfaces = {{"walls", "maintained", 48, 143.0, 61.0, 0.427, 22.8},
                     {"ceiling", "maintained", 24, 88.0, 52.0, 0.591, 19.6}};
  s.screens = {{"shelves", "scene Talk", 34.0, 41.0, 17.4, 14.6, 800.0}};
  s.points = {{"tables", {{2.0, 2.0, 0.75}, {6.0, 2.0, 0.75}}, {0, 0, 1}, {{"trimmed", {431.4F, 8.34F}}}}};
  s.daylight = {{"tables", 0.614}, {"shelves", 0.207}};
  s.egress = {{"way-1", "scene Open", 61.0, 140.0, 10.8, true, "61 lx is above the limit of 10.8 lx"},
              {"way-1", "vacant", 12.4, 26.0, 10.8, true, "12.4 lx is above the limit of 10.8 lx"},
              {"way-1", "normal power lost", 0.6, 8.1, 10.8, false, "mean of 8.1 lx is below 10.8 lx"}};
  cases(s, 3480.0);
  s.findings = {
      {"lpd", "Example Energy Code", "2024", "C405.3", "Lighting power", results::Finding::Verdict::pass,
       "4.51 W/m\u00B2 against 8.8 W/m\u00B2 allowed", "", results::Finding::Confidence::confirmed, false},
      {"toplit", "Example Energy Code", "2024", "C405.2.4", "Daylight control under skylights",
       results::Finding::Verdict::fail,
       "row C lies 0.4 m inside the zone under the skylight and is not controlled by daylight",
       "move C2 to the daylight group of row B", results::Finding::Confidence::from_memory, false},
      {"delay", "Example Energy Code", "2024", "C405.2.1", "Vacancy delay",
       results::Finding::Verdict::needs_evidence,
       "delay 12 min; whether the room counts as a library reading area is a judgement", "",
       results::Finding::Confidence::low, false}};
  auto saving =
      claim("saving-against-as-found", "The room uses {value} less lighting energy than stands there now.",
            "/spaces/0/annual/saving/against_as_found", "fraction", 0.41, 0.51);
  saving.method = "annual-energy";
  saving.assumptions = {"/spaces/0/occupancy/people", "/spaces/0/reflectances/walls"};
  saving.test = {"kWh of circuit LP1-7 by logger, 15-minute readings",
                 0.463,
                 0.09,
                 90.0,
                 "10 points",
                 0.83,
                 "Two weeks cannot tell"};
  auto light = claim("tables-hold", "The tables hold their target of 400 lx in {value} of the open hours.",
                     "/spaces/0/daylight/0/hours_above_target_fraction", "fraction", 0.59, 0.64);
  light.method = "daylight-coefficients";
  light.test = {
      "illuminance meter at table 7, noon, overcast", 0.61, 0.05, 1.0, "10 % of the mean", 0.41, ""};
  auto lux = claim("tables-mean", "The tables have {value} at night with everything on.",
                   "/spaces/0/electric/0/task_areas/0/mean_lx", "lx", 470.0, 554.0);
  lux.method = "interreflection";
  lux.assumptions = {"/spaces/0/reflectances/walls"};
  lux.test = {
      "meter at 12 points after dark, new lamps corrected", 512.0, 45.0, 0.5, "10 % of the mean", 0.94, ""};
  auto standby = claim("standby", "Drivers and controls draw {value} a year while the room is dark.",
                       "/spaces/0/annual/cases/proposal/standby_kwh", "kWh", 66.0, 73.0);
  standby.method = "annual-energy";
  standby.test = {"power of LP1-7 at 03:00, mean of a week", 69.6, 6.0, 7.0, "10 kWh", 0.97, ""};
  s.claims = {saving, light, lux, standby};
  s.grids = {grid(p.spaces[0], d, 0.8, 0.0, "maintained illuminance, all on, at 0.75 m"),
             grid(p.spaces[0], d, 0.0, 0.8, "daylight, 21 March 12:00, overcast, at 0.75 m"),
             grid(p.spaces[0], d, 0.1, 0.0, "scene Story hour, at 0.75 m")};
  s.pictures = {year(0.9)};
  s.daylight_zones = {{"zone-south",
                       results::DaylightZone::Kind::primary,
                       {"W1"},
                       {rectangle({0.0, 0.0}, {14.4, 3.0})},
                       3.0,
                       3.0,
                       43.2,
                       168.0},
                      {"zone-south-2",
                       results::DaylightZone::Kind::secondary,
                       {"W1"},
                       {rectangle({0.0, 3.0}, {14.4, 6.0})},
                       3.0,
                       3.0,
                       43.2,
                       168.0}};
  s.sensors = {{"P1", "reading-day-A", 131.0, 0.42, 0.27, 0.0031, 0.87, true},
               {"P2", "reading-day-B", 118.0, 0.21, 0.24, 0.0, 0.52, false}};
  s.loops = {{"P1",
              "reading-day-A",
              "tables",
              {2110.0, 2020.0, 2200.0, 9.0},
              {31.0, 18.0, 47.0, 1.5},
              {420.0, 230.0, 690.0, 22.0},
              {304.0, 240.0, 380.0, 7.0},
              {29.0, 24.0, 35.0, 0.6},
              {0.92, 0.89, 0.94, 0.003}}};
  s.scenes = {{"Open", {{"A", 1.0}, {"B", 1.0}, {"C", 0.9}, {"D", 0.75}}, 480.0},
              {"Story hour", {{"A", 0.1}, {"B", 0.25}, {"C", 0.9}, {"D", 0.2}}, 242.0},
              {"Cleaning", {{"A", 0.8}, {"B", 0.8}, {"C", 0.8}, {"D", 0.0}}, 409.0}};
  s.moments = {{75 * kDay + 14 * kHour + 35 * kMinute,
                {"23 people are in the room; the last movement was 40 s ago at table 2, seen by M1.",
                 "P1 reads 148 lx; its calibrated target is 131 lx: enough daylight, so row A lowers.",
                 "Row A would go to 31 %, but fades 2 % a minute at most and stands at 36 %.",
                 "The tables near the glass have 512 lx, of which 96 lx are from lamps."}}};
  st.spaces.push_back(s);

  results::SpaceStudy o;
  o.id = "office";
  o.number = "207";
  o.name = "Head librarian";
  o.kind = "office_private";
  o.storey = "upper";
  o.area_m2 = 16.6;
  o.connected_w = 64.0;
  o.lpd_w_m2 = 3.86;
  o.electric = {
      {"all", 64.0, {{"desk", "maintained", "horizontal 0.75 m", 531.0, 470.0, 580.0, 0.885, 2.2, 500.0}}}};
  cases(o, 210.0);
  auto office_saving =
      claim("saving-against-as-found", "The office uses {value} less lighting energy than stands there now.",
            "/spaces/1/annual/saving/against_as_found", "fraction", 0.41, 0.51);
  office_saving.test.remark = "No test of less than a year can tell: one person's habits decide";
  o.claims = {office_saving};
  o.grids = {grid(p.spaces[1], d, 1.3, 0.0, "maintained illuminance, all on, at 0.75 m")};
  o.pictures = {year(0.5)};
  st.spaces.push_back(o);
  results::SpaceStudy plant;
  plant.id = "plant";
  plant.number = "B03";
  plant.name = "Plant room";
  plant.kind = "plant";
  plant.area_m2 = 22.0;
  plant.studied = false;
  plant.not_studied_because = "it has no luminaires yet";
  st.spaces.push_back(plant);

  st.totals.area_m2 = 154.8;
  st.totals.connected_w = 688.0;
  for (std::size_t c = 0; c < 4; ++c)
    st.totals.kwh[c] = around(s.cases[c].lighting_kwh.mean + s.cases[c].standby_kwh.mean +
                                  o.cases[c].lighting_kwh.mean + o.cases[c].standby_kwh.mean,
                              0.08);
  st.totals.saving = s.saving;
  st.totals.saving_as_usually_found = s.saving_as_usually_found;
  st.totals.shares = s.shares;
  st.assumptions = {
      {"/spaces/0/occupancy/people", "14 people, +- 20 %", "interview", 0.021, 0.62, "", true},
      {"/spaces/0/reflectances/walls", "wall reflectance 0.50", "assumed", 0.012, 0.21, "", false},
      {"/spaces/0/openings/0/glazing", "transmittance 0.62", "table", 0.0046, 0.04, "", false}};
  st.proof.readings = {{"bill", "meter Panel, 1 Jan to 31 Dec", "kWh", 1630.0, around(1500.0, 0.15),
                        around(1600.0, 0.06), -0.018, ""},
                       {"loft", "3.01 Loft, 1 Jan to 14 Jan", "h", 71.0, {}, {}, 0.0, "not studied: 3.01"}};
  st.proof.effective_replicates = 47.0;
  st.proof.logging = {{s.id, {3, 12}, {3, 25}, 0.21}};
  st.proof.convergence = {{16, around(0.45, 0.1)}, {32, around(0.46, 0.1)}};
  st.proof.variance_of_the_rest = 0.13;
  st.may_be_issued = false;
  st.not_to_be_issued_because = {
      "201 Reading room, way-1, normal power lost: mean of 8.1 lx is below 10.8 lx"};
  return st;
}

}  // namespace fixture_detail

inline Fixture fixture() {
  using namespace fixture_detail;
  Fixture f;
  Project& p = f.project;
  p.id = "fixture";
  p.name = "Test Fixture Library";
  p.type.kind = ProjectType::Kind::alteration;
  p.site.plan_north_deg = 12.0;
  p.storeys = {{"upper", "upper storey", 4.2, {}}};
  p.calendars.resize(1);
  p.calendars[0].id = "public";
  p.calendars[0].name = "Public hours";
  p.luminaire_types = {type("P1", "linear pendant, down and up light", 2.4, 0.12, 42.0, 5200.0),
                       type("W1", "recessed wall washer", 0.18, 0.18, 15.0, 1300.0),
                       type("R1", "recessed panel", 1.2, 0.3, 32.0, 3900.0)};
  p.luminaire_types[1].shape = LuminaireType::Shape::circle;
  Design d;
  d.id = "proposal";
  d.name = "Proposal";
  d.role = Design::Role::proposal;
  reading_room(p, d);
  office(p, d);
  p.designs = {d};
  p.defaults_taken = {{"/spaces/0/reflectances/ceiling", "0.70", "library, kind of space reading_room", ""},
                      {"/spaces/1/height_m", "2.7 m", "library", ""}};
  p.confirmations = {
      {"/spaces/0/occupancy/people", "head librarian", "2026-03-02", "count at the desk over two weeks"}};
  f.study = fixture_detail::study(p, d);
  f.options.revision = "7";
  f.options.date = "17 March 2026";
  f.options.missing = {{Diagnostic::Severity::missing, "fixture", "/spaces/1/egress_paths",
                        "no way out is drawn", "draw the centre line of the way out"}};
  return f;
}

}  // namespace halflight::report
