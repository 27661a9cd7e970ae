#pragma once
#include "domain/plug_loads.hpp"
#include "domain/site.hpp"
#include "geometry/polygon.hpp"
#include "geometry/vector.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace halflight::domain {

/// Diffuse reflectances, 0..1.
struct Reflectances {
  double ceiling = 0.7;
  double walls = 0.5;
  double floor = 0.2;
  double furniture = 0.3;
};

enum class CeilingType { lay_in, gypsum, open, concrete, timber };
enum class CeilingAccess { tiles, panels, none };

/// What radio waves pass through in a wall or partition: light is plasterboard, timber or glass, or has many
/// openings; heavy is load-bearing or thicker than 10 cm, of brick or concrete (COST 231).
enum class WallBuild { light, heavy };

/// A glazing build-up, shared by openings.
struct Glazing {
  enum class Kind { clear, diffusing };
  std::string id;
  Kind kind = Kind::clear;
  double transmittance = 0.7;        ///< visible, at normal incidence, 0..1
  int panes = 2;                     ///< 1..3; sets the angular law together with `transmittance`
  double maintenance = 0.9;          ///< dirt factor on the light that enters, 0..1
  double reflectance_inside = 0.12;  ///< diffuse, seen from the room
};

/// A shade cloth or a slatted blind inside the glass, or glass that switches from clear to dark or milky:
/// drawn is switched. One shade group moves as one.
struct Shade {
  enum class Kind { cloth, slats, switched_glass };
  enum class Operation { manual, automatic, fixed_open, fixed_closed };
  std::string id;
  Kind kind = Kind::cloth;
  double openness = 0.03;               ///< cloth: share of beam that passes straight through, 0..1
  double diffuse_transmittance = 0.10;  ///< cloth: share that passes scattered, 0..1
  double slat_width_m = 0.025;
  double slat_spacing_m = 0.020;
  double slat_tilt_deg = 30.0;    ///< of drawn slats from level; positive: the outer edge is the lower one
  double slat_reflectance = 0.7;  ///< diffuse, both faces, 0..1
  // Switched glass: what the whole glazing does instead of its own when switched.
  double switched_transmittance = 0.05;  ///< visible, at normal incidence, 0..1
  bool switched_diffusing = false;       ///< what passes is scattered
  Operation operation = Operation::manual;
};

/// Whether somebody or something moves it.
inline bool moves(const Shade& shade) {
  return shade.operation == Shade::Operation::manual || shade.operation == Shade::Operation::automatic;
}

struct Opening {
  enum class Kind { window, skylight, inner_glazing };
  std::string id;
  Kind kind = Kind::window;
  int wall = 0;           ///< window, inner_glazing: edge of the floor polygon from vertex `wall` to the next
  double offset_m = 0.0;  ///< along the wall from that vertex to the near edge of the opening
  double sill_m = 0.9;    ///< above the floor
  double width_m = 1.0;
  double height_m = 1.0;
  Polygon plan;              ///< skylight: outline in plan
  std::string glazing;       ///< id of a Glazing
  std::string shade;         ///< id of a Shade, or empty
  std::string borrows_from;  ///< inner_glazing: id of the space on the other side, whose daylight it passes
  double frame_fraction = 0.15;  ///< share of the opening that is frame and passes no light
  // Skylight: the shaft between ceiling and glass, with upright walls.
  double well_depth_m = 0.0;
  double well_reflectance = 0.7;  ///< diffuse
  // Around the glass outside; windows only.
  double reveal_m = 0.0;              ///< depth of the wall in front of the glass
  double overhang_m = 0.0;            ///< how far a level slab above the opening reaches out
  double overhang_above_m = 0.0;      ///< its underside above the head of the opening
  double overhang_beyond_m = 0.0;     ///< how far it goes on past each jamb
  double fins_m = 0.0;                ///< how far upright slabs at both jambs reach out
  double surround_reflectance = 0.3;  ///< diffuse, of reveal, overhang and fins
};

/// Whether anything stands around the glass outside.
inline bool has_surround(const Opening& o) {
  return o.reveal_m > 0.0 || o.overhang_m > 0.0 || o.fins_m > 0.0;
}

struct Door {
  enum class Latch { left, right };  ///< seen from inside the space
  enum class Swing { in, out };
  std::string id;
  int wall = 0;
  double offset_m = 0.0;
  double width_m = 0.9;
  double height_m = 2.1;
  std::string leads_to;  ///< id of a space, or "outside"
  Latch latch = Latch::right;
  Swing swing = Swing::in;
  double glass_fraction = 0.0;
  std::string glazing;  ///< id of a Glazing: the glass of the shut leaf passes daylight; empty: it does not
  bool normally_open = false;
  bool is_exit = false;
};

/// A screen, part-height wall or movable wall across a space.
struct Partition {
  enum class Kind { fixed, part_height, movable };
  std::string id;
  Kind kind = Kind::fixed;
  Point2 from;
  Point2 to;
  double height_m = 1.4;
  double thickness_m = 0.06;
  double reflectance = 0.5;
  WallBuild build = WallBuild::light;
  /// movable: state names. "open" leaves nothing across the room, in all others it stands. Electric light and
  /// ways out are lit in every one, daylight in the first. People and sensors have the first through the year
  /// too, save where bookings divide the room (domain::wall_in_use).
  std::vector<std::string> states;
};

/// A box with a plan outline: table, desk, shelf, counter. Its faces take the space's furniture reflectance
/// unless it states its own.
struct Furniture {
  std::string id;
  std::string kind;  ///< "table", "desk", "shelf", "counter", ... printed on the plan
  Polygon plan;
  double bottom_m = 0.0;
  double top_m = 0.75;
  std::optional<double> reflectance;
};

/// A way out that must be lit: a centre line with a width, on the floor or up a flight of stairs or a ramp.
struct EgressPath {
  enum class Surface { level, stair };
  std::string id;
  std::vector<Point2> centre_line;
  double width_m = 1.0;
  Surface surface = Surface::level;
  // Of the walking surface above the storey's floor at the first and last vertex; it rises evenly between.
  double from_height_m = 0.0;
  double to_height_m = 0.0;
};

/// A projection screen or a display, as it is without light from the room. Matt.
struct Screen {
  double white_cd_m2 = 0.0;              ///< luminance of its white
  double black_cd_m2 = 0.0;              ///< luminance of its black
  double reflectance = 0.0;              ///< of light that falls on it, diffuse, 0..1
  std::optional<double> least_contrast;  ///< ratio of white to black that must be left in one scene at least
};

/// An area with a lighting task and a target.
struct TaskArea {
  enum class Plane { horizontal, vertical };
  std::string id;
  std::string name;
  Polygon plan;            ///< outline; vertical: the strip of wall or shelf front seen from above
  double height_m = 0.75;  ///< of the horizontal plane, or of the middle of the vertical one
  Plane plane = Plane::horizontal;
  double facing_deg = 0.0;  ///< vertical: direction that the surface faces, degrees clockwise from plan north
  double target_lx = 300.0;  ///< maintained mean
  double uniformity = 0.4;   ///< least minimum / mean
  /// Horizontal: greatest unified glare rating for people at it; nothing: not judged.
  std::optional<double> ugr_limit;
  std::optional<Screen> screen;  ///< vertical: what it shows
};

/// Who is in the space and when.
struct Occupancy {
  enum class Pattern {
    desks,        ///< people with a seat of their own: arrive, leave, short absences
    shared,       ///< visitors come and go while the building is open
    circulation,  ///< passers-by
    bookings,     ///< meetings with start, length, no-shows and overruns
    timetable,    ///< lessons or classes in blocks with gaps, week by week, and visitors beside them
    sleeping,     ///< people who sleep here; by day they come and go
    none,         ///< visited rarely: storage, plant
  };
  Pattern pattern = Pattern::desks;
  /// desks: seats; shared: typical number present; bookings, timetable: typical number at a meeting or
  /// lesson, its teacher among them; sleeping: beds.
  double people = 1.0;
  std::string calendar;  ///< id of a Calendar: the hours within which the pattern runs
  /// Poisson arrivals of visitors per hour of the calendar: shared, circulation, none; timetable and
  /// sleeping: beside those who have lessons or beds here.
  double arrivals_per_h = 0.0;
  double dwell_min = 0.0;          ///< mean stay of a visitor; bookings: mean length; minutes
  double absence_min = 22.0;       ///< desks, sleeping: mean short absence, minutes
  double present_fraction = 0.77;  ///< share of the time that a person is here; desks: between breaks,
                                   ///< sleeping: by day
  double bookings_per_day = 0.0;   ///< bookings, timetable: mean number of meetings or lessons a day
  double no_show_fraction = 0.15;  ///< bookings, timetable: share to which nobody comes
  double overrun_fraction = 0.20;  ///< bookings: share that goes on past its end when the room stays free
  /// bookings: share that needs one part of a room with a movable wall (domain::dividing_wall), which then
  /// stands; the other part can be booked by others meanwhile. Without such a wall 0.
  double divided_fraction = 0.0;
  Seconds first_lesson_s = 8 * kHour;  ///< timetable: the first block begins, by the clock
  double lesson_min = 45.0;            ///< timetable: length of a block, minutes
  double gap_min = 10.0;               ///< timetable: from the end of one block to the next, minutes
  Seconds asleep_from_s = 23 * kHour;  ///< sleeping: mean times by the clock
  Seconds asleep_until_s = 7 * kHour;
  Source source = Source::assumed;
};

/// Whether people have seats or beds of their own.
inline bool has_own_seats(const Occupancy& o) {
  return o.pattern == Occupancy::Pattern::desks || o.pattern == Occupancy::Pattern::sleeping;
}

struct Space {
  std::string id;
  std::string number;  ///< as on the drawing
  std::string number_on_door;
  std::string name;
  std::string storey;
  std::string kind;                ///< id of a SpaceKind
  std::string typical;             ///< id of a Typical it inherits from, or empty
  Polygon floor;                   ///< counter-clockwise, metres, building axes
  double height_m = 2.7;           ///< where the ceiling is lowest
  double ceiling_slope_deg = 0.0;  ///< of the one plane of the ceiling against level
  double ceiling_rises_deg = 0.0;  ///< direction in which it rises, degrees clockwise from plan north
  CeilingType ceiling_type = CeilingType::lay_in;
  CeilingAccess ceiling_access = CeilingAccess::tiles;
  bool hazardous_material = false;          ///< found or suspected above the ceiling: nothing is opened there
  bool neutral_in_boxes = true;             ///< the boxes of its switches have a neutral conductor
  WallBuild wall_build = WallBuild::light;  ///< of the walls about it; between two spaces the heavier counts
  Reflectances reflectances;
  Source reflectance_source = Source::assumed;
  /// Share of the light that dirt on ceiling, walls and floor leaves between cleanings, 0..1.
  double surface_depreciation = 1.0;
  std::vector<Opening> openings;
  std::vector<Door> doors;
  std::vector<Partition> partitions;
  std::vector<Furniture> furniture;
  std::vector<EgressPath> egress_paths;
  std::vector<TaskArea> task_areas;
  Occupancy occupancy;
  PlugLoads plug_loads;
  std::string hvac_zone;
  std::string meter;
  /// Where darkness or strobing is dangerous (rotating machinery, electrical gear): automatic off is refused.
  bool automatic_off_refused = false;
  std::string notes;
};

}  // namespace halflight::domain
