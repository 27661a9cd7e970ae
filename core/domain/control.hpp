#pragma once
#include "base/time_axis.hpp"
#include "domain/site.hpp"
#include "geometry/vector.hpp"

#include <optional>
#include <string>
#include <vector>

namespace halflight::domain {

/// What a group of channels is a group *for*; one channel belongs to at most one group per strategy.
enum class Strategy { scene, occupancy, daylight, schedule, demand_response, emergency };

struct Group {
  std::string id;
  std::string space;
  Strategy strategy = Strategy::scene;
  std::string name;                   ///< letter on the plan's margin, or a word
  std::vector<std::string> channels;  ///< "luminaire" (all its channels) or "luminaire/channel"
};

/// Who may change a setting and in what range; printed with the sequence.
struct AdjustableSetting {
  std::string setting;  ///< "vacancy delay", "scene levels", ...
  std::string by;       ///< role
  std::string range;    ///< "10 min to 20 min"
  friend bool operator==(const AdjustableSetting&, const AdjustableSetting&) = default;
};

/// How a device talks to the others.
enum class Link { wired, radio };

/// Common to every control device on plan.
struct Device {
  std::string id;
  std::string space;
  Point3 at;
  Status status = Status::added;
  Link link = Link::wired;
  std::string tag;
  std::string address;
  std::string make_and_catalogue_number;
  std::string device_kind;  ///< id of a DeviceKind: what an estimate takes its price from; or empty
  double standby_w = 0.0;   ///< drawn always
  std::vector<AdjustableSetting> adjustable;
  friend bool operator==(const Device&, const Device&) = default;
};

struct OccupancySensor : Device {
  enum class Technology { infrared, ultrasonic, dual, microwave };
  enum class Coverage { circle, half_circle, sector, strip, in_luminaire };
  Technology technology = Technology::infrared;
  Coverage coverage = Coverage::circle;
  double major_radius_m = 5.4;  ///< reach for walking
  double minor_radius_m = 3.2;  ///< reach for small movements of a seated person
  /// Above the floor, for which the reaches are stated; nothing: for the height at which it hangs.
  std::optional<double> rated_height_m;
  double aim_deg = 0.0;  ///< half_circle, sector, strip: direction, clockwise from plan north
  double sector_deg = 110.0;
  double strip_width_m = 3.0;
  std::vector<std::string> groups;  ///< occupancy groups it reports to
  friend bool operator==(const OccupancySensor&, const OccupancySensor&) = default;
};

struct Photosensor : Device {
  enum class Loop { closed, open };
  enum class Response { cosine, narrowed, shielded };
  enum class SpectralResponse {
    photopic,  ///< corrected to see as the eye does: reads lux
    silicon,   ///< a bare photodiode, which sees infrared
  };
  Loop loop = Loop::closed;
  Response response = Response::cosine;
  double cutoff_deg = 60.0;   ///< shielded: half-angle of the view; narrowed: half-value angle
  double aim_tilt_deg = 0.0;  ///< from straight down
  double aim_deg = 0.0;       ///< direction of the tilt, clockwise from plan north
  double range_lx = 2000.0;   ///< full scale of its 12-bit converter
  SpectralResponse spectral_response = SpectralResponse::photopic;
  /// lx read per lx of daylight, and per lx of any lamp's light, as measured by the maker; none: computed
  /// from the spectral response and each light's spectrum.
  std::optional<double> daylight_factor;
  std::optional<double> electric_factor;
  std::vector<std::string> groups;  ///< daylight groups it governs
};

/// A manual control: wall station, hand-held, key switch.
struct Station : Device {
  enum class Kind { wall, hand_held, key_switch };
  Kind kind = Kind::wall;
  std::vector<std::string> buttons;      ///< scene ids, or "on", "off", "raise", "lower"
  std::vector<std::string> switch_legs;  ///< scene groups that it turns on and off one by one, at most 4
  bool public_access = true;             ///< false: staff key or lock-out
};

/// Two axes: what it does to the load, and where it lives; with its limits.
struct LoadController : Device {
  enum class Action { on_off, phase_dim, analogue_0_10v, digital_bus, volt_free_contact };
  enum class Mounting { wall_box, ceiling_void, panel, in_luminaire, plug_in };
  Action action = Action::digital_bus;
  Mounting mounting = Mounting::ceiling_void;
  double limit_a = 16.0;
  double bus_limit_ma = 250.0;
  std::vector<std::string> circuits;
  std::vector<std::string> groups;
  std::vector<std::string> luminaires;  ///< that it drives beside them; plug_in: what plugs into it
  /// plug_in: off so long after its own sensor has seen nobody at the seat; nothing: it has no sensor.
  std::optional<double> sensor_delay_s;
};

struct TimeClock : Device {
  bool astronomical = false;
  double backup_h = 10.0;
};

/// A signal to or from another system.
struct Interface : Device {
  enum class Kind {
    hvac_contact,
    hvac_points,
    audio_visual,
    shades,
    demand_response,
    fire_alarm,
    partition_sensor,
    load_shed
  };
  enum class Direction { in, out };
  Kind kind = Kind::hvac_contact;
  Direction direction = Direction::out;
  std::string signal;
};

/// Bus supplies, gateways, repeaters: things that draw power and carry messages. Radio devices reach gateways
/// and repeaters whose own link is radio.
struct Infrastructure : Device {
  enum class Kind { bus_supply, gateway, repeater, emergency_transfer, emergency_bypass };
  Kind kind = Kind::bus_supply;
};

/// A stored set of levels, each the fraction of trimmed full light output of a scene group.
struct SceneLevel {
  std::string group;
  double level = 1.0;
};
/// What a scene is to give on a task area; its levels may be found from that (choose/scene_levels.hpp).
struct SceneTarget {
  std::string task_area;
  std::optional<double> least_lx;    ///< maintained mean at least
  std::optional<double> most_lx;     ///< maintained mean at most
  std::optional<double> uniformity;  ///< least minimum / mean
  std::optional<double> contrast;    ///< of the area's screen: least ratio of its white to its black
};
struct Scene {
  /// What a scene does to the shades of its space while it stands; afterwards they hang as before.
  enum class Shades { as_they_stand, drawn, raised };

  std::string id;
  std::string space;
  std::string name;
  std::vector<SceneLevel> levels;  ///< groups not named keep what stands
  double fade_s = 2.0;
  Shades shades = Shades::as_they_stand;
  bool follows_daylight = true;    ///< daylight rules lower its levels while it stands
  bool in_demand_response = true;  ///< the cap of the sequence holds for its levels
  std::string called_by;           ///< id of an audio-visual interface whose contact calls it too, or empty
  /// Share of the occupied time that the scene is in use, 0..1; what is left belongs to the sequence's scene.
  /// Of a scene with a calendar or a state of a partition, share of its own time. Unset: `use_share`.
  std::optional<double> use_fraction;
  std::string partition_state;  ///< of the movable partition, or empty
  std::string calendar;         ///< in whose open hours alone it is in use, or empty
  std::vector<SceneTarget> targets{};
};
/// A scene's use_fraction; where it has none, all of its calendar's hours, or none at all without a calendar.
inline double use_share(const Scene& scene) {
  return scene.use_fraction.value_or(scene.calendar.empty() ? 0.0 : 1.0);
}

// ---------------------------------------------------------------------------------------------------------
// The sequence of operations of a space: the same data as its sentence and its event-by-group matrix.

/// What brings the light on.
struct OnRule {
  enum class By {
    hand,       ///< people at the switch, by habit (people/habits.hpp)
    occupancy,  ///< motion, up to `level`
    schedule,   ///< the calendar's open hours
    always,     ///< never switched
  };
  By by = By::hand;
  double level = 1.0;  ///< occupancy: 1 full auto-on, below 1 partial-on (the rest by hand)
  double fade_s = 2.0;
  friend bool operator==(const OnRule&, const OnRule&) = default;
};

/// What an empty room does. Without it nothing follows vacancy.
struct VacancyRule {
  double delay_s = 900.0;      ///< from the last motion
  double step_level = 0.0;     ///< level after the delay; 0: off at once
  double off_after_s = -1.0;   ///< further time at `step_level` before off; negative: stays at the step
  double warning_level = 0.5;  ///< dip before off, as a share of the present level; never flashing
  double warning_s = 30.0;
  std::vector<std::string> groups;  ///< occupancy groups; empty: all of the space
  /// Spaces whose people count here as well: what their sensors notice holds the light.
  std::vector<std::string> held_by{};
  double brief_visit_s = 0.0;    ///< a visit shorter than this is brief; 0: none is
  double brief_delay_s = 120.0;  ///< the delay after a brief visit
  friend bool operator==(const VacancyRule&, const VacancyRule&) = default;
};

struct ScheduleRule {
  std::string calendar;               ///< open hours
  double before_open_s = 0.0;         ///< comes on this long before opening (schedule-on only)
  double after_close_s = 0.0;         ///< sweep this long after closing
  bool sweeps_off = true;             ///< off outside, except by override
  double override_s = 7200.0;         ///< after-hours use by hand, at most
  std::vector<std::string> groups{};  ///< schedule groups that the sweep turns off; empty: all of the space
  friend bool operator==(const ScheduleRule&, const ScheduleRule&) = default;
};

struct TrimRule {
  /// High-end trim as a fraction of full output; unset: chosen so that the task areas just hold their
  /// targets.
  std::optional<double> high;
  double low = 0.0;
};

/// When somebody sets a loop by day, by the clock on the wall.
struct DaySetting {
  MonthDay on{6, 15};
  Seconds at_s = 11 * kHour;  ///< after midnight
  friend bool operator==(const DaySetting&, const DaySetting&) = default;
};

/// Daylight-responsive control of one daylight group by one photosensor, or by two (dual loop).
struct DaylightRule {
  enum class Method { closed_loop_proportional, open_loop_proportional, integral_reset, dual_loop };
  std::string group;
  std::string photosensor;
  /// Dual loop: the photosensor that sees daylight alone and says whether it has changed.
  std::string open_photosensor;
  std::string task_area;  ///< where the target is held
  Method method = Method::closed_loop_proportional;
  double minimum_level = 0.1;  ///< of full output; 1: the loop only switches
  bool may_switch_off = false;
  double calibration_percentile = 95.0;     ///< of the signal-to-task ratio over the occupied daylit year
  std::optional<DaySetting> calibrated_at;  ///< set at this instant instead, in the first weather year
  /// The level stays while the loop asks for one that is no further off, as a share of the set-point: of the
  /// light that the group gives at its maximum.
  double deadband = 0.0;
  double fade_s_per_tenth = 30.0;  ///< seconds for a tenth of full output, both ways
  friend bool operator==(const DaylightRule&, const DaylightRule&) = default;
};

struct ManualRule {
  std::vector<std::string> stations;
  enum class HoldsUntil { vacancy, schedule, time_limit } holds_until = HoldsUntil::vacancy;
  double time_limit_s = 7200.0;
  friend bool operator==(const ManualRule&, const ManualRule&) = default;
};

struct DemandResponseRule {
  double cap = 1.0;  ///< of trimmed output during an event
};

/// What a signal does that asks for power at once: the building runs on its generator, the supply authority
/// calls an emergency. Apart from demand response, which is foreseen and fades in.
struct LoadShedRule {
  std::string interface;              ///< that brings the signal in
  double level = 0.0;                 ///< of trimmed output, at most, at once and until the signal clears
  std::vector<std::string> groups{};  ///< scene or demand response groups; empty: all of the space
};

/// What a loss rule has levels for.
enum class Trouble { sensor_lost, controller_lost, network_lost, clock_lost, power_return };

/// Levels of one scene group in place of the space's; unset: the space's.
struct GroupLoss {
  std::string group;
  std::optional<double> sensor_lost;
  std::optional<double> controller_lost;
  std::optional<double> network_lost;
  std::optional<double> clock_lost;
  std::optional<double> power_return;
};

/// Levels that the light takes when something fails or returns; no occupied room goes dark.
struct LossRule {
  double sensor_lost = 1.0;
  double controller_lost = 1.0;
  double network_lost = 1.0;
  double clock_lost = 1.0;
  double power_return = 1.0;
  double power_return_hold_s = 900.0;
  std::vector<GroupLoss> groups{};  ///< those that differ
};
/// Level of a scene group in a trouble.
double level_in(const LossRule& rule, Trouble trouble, const std::string& scene_group);

struct Sequence {
  std::string space;
  std::string normal_scene;  ///< id of the scene that stands when nothing else does; empty: all at 1
  OnRule on;
  std::optional<VacancyRule> vacancy;
  std::optional<ScheduleRule> schedule;
  std::optional<TrimRule> trim;
  std::vector<DaylightRule> daylight;
  std::optional<ManualRule> manual;
  std::optional<DemandResponseRule> demand_response;
  std::optional<LoadShedRule> load_shed;
  LossRule loss;
  /// hand: how the lights are used when people decide (as found).
  Source hours_source = Source::interview;
};

/// What HVAC is told of the people in a space. Its delays are its own, not those of the light.
struct HvacHandOff {
  std::string space;
  std::string interface;
  double delay_s = 300.0;         ///< the contact says occupied so long after the last motion
  double occupied_after_s = 0.0;  ///< and only once motion has gone on so long, gaps up to `delay_s` included
};

}  // namespace halflight::domain
