#pragma once
#include "base/interval_set.hpp"
#include "base/time_axis.hpp"
#include "geometry/polygon.hpp"
#include "geometry/vector.hpp"
#include "results/claim.hpp"
#include "results/finding.hpp"

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

// What a study produced: plain data. schema/study.schema.json describes the part of it that other programs
// read (written by formats/study_json); the rest is for drawing. Nothing here holds a time of day, a path of
// the machine or a number of threads, so that equal inputs give equal bytes.

namespace halflight::results {

/// A figure over replicates. `low` and `high` are the 5th and 95th percentile; `standard_error` is that of
/// the mean and comes from the independent scrambles.
struct Estimate {
  double mean = 0.0;
  double low = 0.0;
  double high = 0.0;
  double standard_error = 0.0;
};

/// The four cases of a study, in this order everywhere.
enum class Case { as_found, relamped, code_minimum, proposal };
inline constexpr std::array<const char*, 4> kCaseNames = {"as_found", "relamped", "code_minimum", "proposal"};
template <class T>
using PerCase = std::array<T, 4>;

/// One case of one space over a year.
struct CaseYear {
  Estimate lighting_kwh;  ///< light only, without standby
  Estimate standby_kwh;   ///< drivers off but powered, sensors, controllers
  Estimate lit_hours;     ///< power-weighted hours at any level above off
  Estimate peak_w;
  std::string contents;  ///< in words: what this case holds ("lights by hand, by habit; ...")
};

/// Saving of the proposal, as a fraction of the other case's energy including standby.
struct Savings {
  Estimate against_as_found;
  Estimate against_relamped;
  Estimate against_code_minimum;
};

/// Part of the difference between as found and proposal. Negative for standby that is added.
struct Share {
  std::string strategy;  ///< "lamp_replacement" (new luminaires), "schedule", "occupancy", "trim",
                         ///< "daylight", "scenes", "standby"
  Estimate kwh;
};

struct Assumption {
  std::string path;    ///< JSON pointer of the value, or of the default's absent place
  std::string value;   ///< with unit
  std::string source;  ///< "assumed", "table", a reference, or who confirmed it
  /// Points of saving (fraction of as-found energy) that one standard deviation of this input moves.
  double effect = 0.0;
  /// Of the variance of the building's saving, what this input alone accounts for; 0 for what was not varied.
  double share_of_variance = 0.0;
  std::string typical;
  bool confirmed = false;
};

/// Light on one task area in one state of a group.
struct TaskAreaLight {
  std::string id;
  std::string state;  ///< "initial", "maintained", "trimmed", or a scene's name
  std::string plane;  ///< "horizontal 0.75 m" or "vertical 1.20 m facing 180 deg"
  double mean_lx = 0.0;
  double min_lx = 0.0;
  double max_lx = 0.0;
  double uniformity = 0.0;
  double error_lx = 0.0;  ///< of the calculation: 19 in 20 points are off by no more
  /// What is not known of the room (reflectances, photometry, light loss), one standard deviation of the
  /// mean.
  double input_spread_lx = 0.0;
  double target_lx = 0.0;  ///< maintained
};
struct GroupLight {
  std::string group;  ///< "all", or a scene group's id
  double power_w = 0.0;
  std::vector<TaskAreaLight> task_areas;
};

/// Glare where it is worst for people at a task area: CIE 117.
struct Glare {
  double ugr = 0.0;
  double x_m = 0.0;  ///< place of the eye
  double y_m = 0.0;
  double looking_deg = 0.0;  ///< level line of sight, clockwise from plan north
  int sources = 0;           ///< luminaires in its field of view that can be seen
  int too_small = 0;         ///< of these, seen under less than 0.0003 sr: the rating exaggerates them
  int too_large = 0;         ///< of these, seen under more than 0.1 sr: the rating is not made for them
};

/// What people at a horizontal task area have at their eyes in one state of all groups.
struct EyeLight {
  std::string task_area;
  std::string state;  ///< as in TaskAreaLight
  double eye_height_m = 0.0;
  int positions = 0;
  int directions = 0;           ///< lines of sight at each
  std::optional<Glare> glare;   ///< nothing where no luminaire is in any field of view
  int luminaires_left_out = 0;  ///< that are lit and state no luminous area
  std::optional<double> ugr_limit;
  double cylindrical_mean_lx = 0.0;
  double cylindrical_min_lx = 0.0;
  double modelling_index = 0.0;  ///< mean cylindrical / mean horizontal illuminance at the eye; 0 in the dark
};

/// Light on the walls or on the ceiling of a space in one state of all groups.
struct RoomSurfaceLight {
  std::string surface;  ///< "walls" or "ceiling"
  std::string state;    ///< as in TaskAreaLight
  int points = 0;
  double mean_lx = 0.0;
  double min_lx = 0.0;
  double uniformity = 0.0;
  double luminance_cd_m2 = 0.0;  ///< mean, matt
};

/// What the electric light leaves of the contrast of a screen.
struct ScreenLight {
  std::string task_area;
  std::string state;  ///< as in TaskAreaLight
  double spill_mean_lx = 0.0;
  double spill_max_lx = 0.0;
  double contrast = 0.0;           ///< white / black, at the mean of the spill
  double contrast_at_worst = 0.0;  ///< at the most lit point
  double contrast_alone = 0.0;     ///< without light from the room
};

/// Illuminance at every point of a task area or of the plan's grid, for export.
struct PointValues {
  struct State {
    std::string name;  ///< as in TaskAreaLight
    std::vector<float> lx;
  };
  std::string area;  ///< id of the task area, or "plan"
  std::vector<Point3> at;
  Vector3 facing{0, 0, 1};  ///< unit
  std::vector<State> states;
};

/// An axis-aligned grid of values over a space, for contours. Cells outside the floor hold a negative number.
/// The value in row r and column c stands at the point (x0_m + c step_m, y0_m + r step_m).
struct PlanGrid {
  std::string quantity;  ///< "maintained illuminance, all on, at 0.75 m"
  double x0_m = 0.0;
  double y0_m = 0.0;
  double step_m = 0.25;
  int columns = 0;
  int rows = 0;
  std::vector<float> values_lx;  ///< row by row from the south
};

/// What daylight alone does on a grid over the floor through one year of weather, the first one studied.
struct DaylightAvailability {
  int points = 0;
  double height_m = 0.0;   ///< of the grid
  double border_m = 0.0;   ///< band along the walls that is left out
  double spacing_m = 0.0;  ///< largest
  /// LM-83: share of the points with 300 lx in half of the hours from 8 to 18 by the clock, shades drawn by
  /// its rule; and with more than 250 of those hours of direct sun above 1,000 lx, shades open.
  double spatial_daylight_autonomy = 0.0;
  double annual_sunlight_exposure = 0.0;
  /// Useful daylight illuminance: share of the same hours, mean over the points, below 100 lx, from there to
  /// 300, to 3,000, and above; shades as for the autonomy.
  double below_100_lx = 0.0;
  double from_100_to_300_lx = 0.0;
  double from_300_to_3000_lx = 0.0;
  double above_3000_lx = 0.0;
  /// EN 17037: what half of the points, and 95 % of them, have in half of the hours with the sun up; shades
  /// open.
  double half_of_points_lx = 0.0;
  double nearly_all_points_lx = 0.0;
  std::string recommendation;  ///< "none", "minimum", "medium" or "high"
  PlanGrid half_the_time;      ///< for drawing: what each place has in half of the hours with the sun up
};

struct DaylightOnTask {
  std::string task_area;
  double hours_above_target_fraction = 0.0;  ///< of the open hours, by daylight alone with shades as used
};

struct EgressState {
  std::string path;
  std::string state;  ///< "normal scene", "vacant", "demand response", "normal power lost", "scene Talk", ...
  double min_lx = 0.0;
  double mean_lx = 0.0;
  double limit_lx = 0.0;  ///< on the minimum in normal states, on the mean on emergency power
  bool holds = false;
  std::string why;  ///< the comparison in words
};

/// A year at a glance: 365 columns of `per_day` cells, civil time, first cell at midnight.
struct YearPicture {
  std::string quantity;  ///< "power, share of connected"
  std::string unit;
  int per_day = 48;
  std::vector<float> values;     ///< day by day
  std::vector<float> sunrise_h;  ///< civil hours, one a day
  std::vector<float> sunset_h;
};

/// A zone that daylight counts for under a code: drawn and used by the rules.
struct DaylightZone {
  enum class Kind { primary, secondary, toplit };
  std::string id;
  Kind kind = Kind::primary;
  std::vector<std::string> openings;
  std::vector<Polygon> outline;  ///< clipped to the room; disjoint pieces
  double depth_m = 0.0;
  double head_height_m = 0.0;
  double area_m2 = 0.0;
  double general_lighting_w = 0.0;  ///< of the space's general lighting in it
};

/// A photosensor as calibrated.
struct SensorCalibration {
  std::string photosensor;
  std::string group;
  double night_signal_lx = 0.0;  ///< of its group at trim
  double day_ratio = 0.0;        ///< signal per lux of daylight at the task, at the chosen percentile
  double night_ratio = 0.0;      ///< signal per lux of electric light
  double gain = 0.0;
  double correlation = 0.0;      ///< R^2 of task daylight against daylight signal over the occupied year
  bool usable = true;            ///< day ratio above night ratio
  double daylight_factor = 1.0;  ///< lx read per lx of daylight on it
  double electric_factor = 1.0;  ///< lx read per lx of its group's light on it; 0 where it sees none
};

/// A place where people stay, before the occupancy sensors that report to a group.
struct SeatNotice {
  double x_m = 0.0;
  double y_m = 0.0;
  std::string group;             ///< occupancy group, by id
  double movements_per_h = 0.0;  ///< noticed of one person alone, on average
  double delay_s = 0.0;          ///< after which the group answers vacancy
  double taken_per_h = 0.0;      ///< times an hour that one person alone, always there, loses the light
  [[nodiscard]] bool is_noticed() const { return movements_per_h > 0.0; }
};
/// What one fault of the installed controls costs in a year, against the proposal as designed, people and
/// weather alike.
struct FaultCost {
  std::string fault;           ///< "covered-sensor/M1"
  std::string name;            ///< in words
  Estimate kwh;                ///< more energy, standby included; below 0: less
  Estimate under_lit_hours;    ///< more hours of DaylightLoopYear::under_lit_hours, all loops together
  Estimate taken_from_people;  ///< more times that light is taken from people
};
/// How well the light follows the people of a space. Interval figures are a year's.
struct LightForPeople {
  std::vector<SeatNotice> seats;  ///< proposal; empty without sensors or a vacancy rule
  Estimate lit_for_nobody_h;      ///< of the proposal, as hours at full power, daylight aside
  Estimate lit_for_nobody_as_found_h;
  Estimate taken_from_people;  ///< times that the proposal takes the light from people who are there
  Estimate dips_on_people;     ///< warnings while somebody is there
};

/// What one daylight rule makes of the light on its task through the year, while somebody is there, the
/// sequence asks its group for light and the sun is up.
struct DaylightLoopYear {
  std::string photosensor;
  std::string group;
  std::string task_area;
  Estimate hours;
  Estimate under_lit_hours;  ///< with less than 90 % of the target, or of what the lamps alone would give
  Estimate shortfall_lx_h;   ///< of light, below those 90 %
  Estimate over_lit_hours;   ///< with at least a tenth more than an ideal loop leaves
  Estimate over_lit_kwh;     ///< drawn beyond what an ideal loop draws
  Estimate realised_share;   ///< of what an ideal loop would save
};

/// Energy of the plugged-in devices of one kind. Interval figures are a year's.
struct PlugDeviceYear {
  std::string kind;  ///< in words
  int count = 0;
  std::string switched_by;   ///< of a space's list: what takes their power in the proposal, in words
  std::string must_stay_on;  ///< of a space's list: why they may not lose it, in words; empty: they may
  Estimate found_kwh;
  Estimate proposed_kwh;
  Estimate saved_kwh;
  /// Of one of them on average: hours without power while somebody is at it; proposal.
  Estimate cut_with_people_h;
};
/// What is plugged in; never part of the figures of lighting.
struct PlugLoadsYear {
  std::vector<PlugDeviceYear> devices;
  Estimate found_kwh;
  Estimate proposed_kwh;
  Estimate saved_kwh;
  Estimate saving;  ///< fraction of `found_kwh`
};

/// What an HVAC zone is told through the year. Hours; nothing is claimed about its energy.
struct HvacZoneYear {
  std::string id;
  std::string name;
  std::vector<std::string> spaces;  ///< ids of all that it serves, studied or not
  std::vector<std::string>
      not_heard;  ///< of these, that nothing tells of: occupied in their calendar's hours
  bool standby_allowed = false;
  double scheduled_h = 0.0;  ///< that the zone runs by its hours
  Estimate occupied_h;       ///< that the contact says occupied
  Estimate set_back_h;       ///< within its hours, that the contact says empty
  Estimate out_of_hours_h;   ///< outside its hours, that the contact says occupied
};

/// A room that a movable wall divides for some of its bookings.
struct DividedRoom {
  std::string partition;       ///< id of the wall
  Estimate hours;              ///< a year that it stands with somebody in a part
  bool controls_know = false;  ///< a partition sensor of the proposal tells them
};

/// What the events of demand response do in a space, by the sequence of the proposal.
struct LoadShed {
  struct Task {
    std::string task_area;
    double target_lx = 0.0;
    Estimate left_lx;   ///< maintained mean, daylight included; mean over the events
    Estimate least_lx;  ///< at the darkest event
  };
  double cap = 1.0;
  Estimate before_w;      ///< what the light would draw; mean over the events
  Estimate shed_w;        ///< mean over the events
  Estimate least_shed_w;  ///< at the event that sheds least
  std::vector<Task> tasks;
};
/// The building at those events; all rooms together, event by event.
struct BuildingShed {
  std::vector<std::string> events;  ///< of the first weather year, by the clock
  Estimate before_kw;
  Estimate shed_kw;
  Estimate least_shed_kw;
};

/// What a signal does to a space that asks for power at once, by the sequence of the proposal; against its
/// normal scene at trim with everything on and no daylight, rated watts.
struct ShedSignal {
  struct Task {
    std::string task_area;
    double target_lx = 0.0;
    double left_lx = 0.0;  ///< maintained mean
  };
  struct Way {
    std::string path;
    std::string state;  ///< of EgressState, the one that leaves least
    double min_lx = 0.0;
    double limit_lx = 0.0;
    bool holds = false;
  };
  std::string interface;            ///< id
  double level = 0.0;               ///< of trimmed output, at most
  std::vector<std::string> groups;  ///< ids; empty: all of the space
  double before_w = 0.0;
  double shed_w = 0.0;
  std::vector<Task> tasks;
  std::vector<Way> ways;
};
/// All spaces that one interface brings the signal to.
struct BuildingShedSignal {
  std::string interface;
  std::vector<std::string> spaces;  ///< ids
  double before_w = 0.0;
  double shed_w = 0.0;
};

/// A moment of the year explained: cause before effect.
struct Moment {
  Seconds at_civil_s = 0;
  std::vector<std::string> sentences;
};

struct SceneState {
  std::string name;
  std::vector<std::pair<std::string, double>> levels;  ///< group name, level
  double power_w = 0.0;
};

struct SpaceStudy {
  std::string id;
  std::string number;
  std::string name;
  std::string kind;
  std::string storey;
  std::string typical;
  double area_m2 = 0.0;
  double connected_w = 0.0;  ///< proposal
  double lpd_w_m2 = 0.0;
  double connected_as_found_w = 0.0;
  bool studied = true;
  std::string not_studied_because;
  std::vector<GroupLight> electric;
  std::vector<EyeLight> eye_light;
  std::vector<RoomSurfaceLight> room_surfaces;
  std::vector<ScreenLight> screens;
  std::vector<DaylightOnTask> daylight;
  std::optional<DaylightAvailability> daylight_availability;  ///< nothing without windows
  std::vector<Estimate> daylight_intervals;                   ///< of each entry's fraction
  std::vector<EgressState> egress;
  int step_s = 300;
  PerCase<CaseYear> cases;
  Savings saving;
  Estimate saving_as_usually_found;  ///< against as found, with the faults of such systems
  std::vector<Share> shares;
  std::vector<Finding> findings;
  std::vector<Claim> claims;
  // For drawing and for tables of points.
  std::vector<PointValues> points;
  std::vector<PlanGrid> grids;
  std::vector<YearPicture> pictures;
  std::vector<DaylightZone> daylight_zones;
  std::vector<SensorCalibration> sensors;
  std::vector<DaylightLoopYear> loops;  ///< as `sensors`
  LightForPeople light_for_people;
  std::optional<DividedRoom> divided;  ///< nothing where bookings do not divide the room
  std::vector<FaultCost> faults;       ///< dearest first
  PlugLoadsYear plug_loads;
  std::optional<LoadShed> load_shed;  ///< nothing without a rule, or without events
  std::optional<ShedSignal> shed_signal;
  std::vector<SceneState> scenes;
  std::vector<Moment> moments;
};

struct BuildingTotals {
  double area_m2 = 0.0;
  double connected_w = 0.0;
  PerCase<Estimate> kwh;  ///< lighting and standby
  Savings saving;
  Estimate saving_as_usually_found;
  std::vector<Share> shares;
  PlugLoadsYear plug_loads;               ///< by kind of device
  std::optional<BuildingShed> load_shed;  ///< nothing without events
  std::vector<BuildingShedSignal> shed_signals;
};

/// A reading of the lighting as found beside what the model gives for it.
struct ReadingCheck {
  std::string id;    ///< as in the project
  std::string of;    ///< in words: of what, and when
  std::string unit;  ///< "kWh" or "h"
  double value = 0.0;
  Estimate before;        ///< of the model, all replicates alike
  Estimate after;         ///< with those counting more that fit the readings
  double residual = 0.0;  ///< what the model gives after, over the reading, less 1
  std::string not_used_because;
};
/// Two weeks of logging the energy of a space as found, and how much narrower the building's saving would be.
struct Logging {
  std::string space;  ///< id
  MonthDay from;
  MonthDay to;
  double narrowing = 0.0;  ///< share of the interval's width, on average
};
/// The saving by the first replicates alone.
struct ConvergenceStep {
  int replicates = 0;
  Estimate saving;  ///< of the building against as found
};
/// What the intervals of a study rest on.
struct Proof {
  std::vector<ReadingCheck> readings;        ///< in the order of the project
  double effective_replicates = 0.0;         ///< that would tell as much if all counted alike
  double widened = 1.0;                      ///< factor on the spreads of readings that no replicate fits
  std::vector<Logging> logging;              ///< most telling first
  std::vector<ConvergenceStep> convergence;  ///< scramble by scramble; the last is the study's own
  /// Of the saving's variance: what no single varied input accounts for, people's own days among it.
  double variance_of_the_rest = 0.0;
};

/// What was computed and what was found in the cache, by stage. Not part of the study's JSON.
struct CacheReport {
  struct Stage {
    std::string name;
    int computed = 0;
    int reused = 0;
  };
  std::vector<Stage> stages;
};

struct Study {
  std::string project_id;
  std::string project_name;
  int replicates = 0;
  std::uint32_t seed = 0;
  std::string accuracy;
  std::string climate;  ///< in words, with source
  BuildingTotals totals;
  Proof proof;
  std::vector<SpaceStudy> spaces;
  std::vector<HvacZoneYear> hvac_zones;  ///< those that a space is in
  std::vector<Assumption> assumptions;   ///< largest effect first
  bool may_be_issued = true;
  std::vector<std::string> not_to_be_issued_because;
  CacheReport cache;
};

}  // namespace halflight::results
