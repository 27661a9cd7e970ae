#pragma once
#include "base/time_axis.hpp"
#include "domain/control.hpp"
#include "domain/device_kind.hpp"
#include "domain/luminaire.hpp"
#include "domain/site.hpp"
#include "domain/space.hpp"

#include <map>
#include <optional>
#include <string>
#include <vector>

namespace halflight::domain {

struct DayHours {
  std::vector<int> weekdays;   ///< 0 = Monday ... 6 = Sunday
  Seconds open_s = 9 * kHour;  ///< civil seconds after midnight
  Seconds close_s = 17 * kHour;
};
struct DateRange {
  MonthDay from;
  MonthDay to;  ///< included
};
struct Calendar {
  std::string id;
  std::string name;
  std::vector<DayHours> hours;       ///< days not named are closed
  std::vector<DateRange> terms;      ///< closed on days outside them; none: all year is term
  std::vector<DateRange> holidays;   ///< closed
  std::optional<DayHours> cleaning;  ///< time when cleaners are about
  Source source = Source::interview;
};

struct Tariff {
  std::string id;
  std::string currency;
  double energy_per_kwh = 0.0;
  double demand_per_kw_month = 0.0;  ///< documented as unused until life-cycle cost is computed
};

/// What one of a thing costs here, in the place of the library's range.
struct CostItem {
  std::string id;
  std::string applies_to;  ///< id of a luminaire type or of a DeviceKind
  double material = 0.0;   ///< in the currency of the estimate
  double labour_h = 0.0;   ///< to install one
};

/// One state of the building's lighting over the one geometry: as found, or a proposal.
struct Design {
  enum class Role { as_found, proposal };
  std::string id;
  std::string name;
  Role role = Role::proposal;
  std::vector<Luminaire> luminaires;
  std::vector<Circuit> circuits;
  std::vector<Group> groups;
  std::vector<Scene> scenes;
  std::vector<Sequence> sequences;
  std::vector<OccupancySensor> occupancy_sensors;
  std::vector<Photosensor> photosensors;
  std::vector<Station> stations;
  std::vector<LoadController> load_controllers;
  std::vector<TimeClock> time_clocks;
  std::vector<Interface> interfaces;
  std::vector<Infrastructure> infrastructure;
  std::vector<HvacHandOff> hvac_hand_offs;
};

/// A room that others inherit from. In the document an inheriting space lists only what differs; here spaces
/// are already resolved, and this records which fields each took.
struct Typical {
  std::string id;
  std::string name;
  std::vector<std::string> spaces;  ///< ids of the spaces that inherit
};

/// A scene that rooms of a kind usually have beside the one that stands when nothing is called.
struct UsualScene {
  std::string name;
  double target_share = 1.0;       ///< of the target of each horizontal task area, 0..1
  std::optional<double> contrast;  ///< asked on screens; a room without one does not get the scene
  double fade_s = 2.0;
  Scene::Shades shades = Scene::Shades::as_they_stand;
  bool follows_daylight = true;
  bool in_demand_response = true;
};

/// How a room of a kind is usually begun: what lights it, how that is controlled, and what is found in older
/// buildings.
struct StartingPoint {
  std::string luminaire_type;  ///< id of a type of the library
  OnRule on;
  std::optional<VacancyRule> vacancy;
  bool sweeps_off = true;        ///< the project's first calendar turns the light off after closing
  double after_close_s = 0.0;    ///< so long after
  double before_open_s = 0.0;    ///< schedule-on: so long before opening
  bool follows_daylight = true;  ///< luminaires by the windows dim with daylight
  double daylight_minimum_level = 0.1;
  bool daylight_may_switch_off = false;
  std::vector<UsualScene> scenes;
  std::string found_luminaire_type;  ///< id of a type of the library
  OnRule found_on;
  std::string source;
};

/// A library record: what is usual for a kind of space, with sources (library/kinds_of_space.json).
struct SpaceKind {
  std::string id;
  std::string name;
  /// Name of the space type in the codes' tables (library/codes): "office_enclosed_le250", "corridor", ...
  std::string code_space_type;
  double target_lx = 300.0;
  std::string target_source;
  double uniformity = 0.4;      ///< least minimum / mean on the task
  double task_height_m = 0.75;  ///< of the horizontal plane on which the target holds; 0: the floor
  Reflectances reflectances;
  std::string reflectances_source;
  Occupancy occupancy;  ///< without a calendar: that is the project's
  std::string occupancy_source;
  std::vector<PlugDevice> plug_devices;  ///< of those at seats `count` is one a seat
  std::string plug_devices_source;
  bool is_egress_component = false;  ///< corridor, stair, lobby: lit while anyone is in the building
  bool automatic_off_refused = false;
  StartingPoint start;
};

/// A default that the document left to the library.
struct DefaultTaken {
  std::string pointer;  ///< JSON pointer of the absent value
  std::string value;    ///< with its unit, as it would be written
  std::string source;
  std::string typical;  ///< typical of the space concerned, or empty
};

/// An assumption that somebody has stood behind.
struct Confirmation {
  std::string pointer;
  std::string by;
  std::string on;  ///< date, as entered
  std::string how;
};

struct Project {
  std::string id;
  std::string name;
  std::string client;
  std::string author;
  Site site;
  ProjectType type;
  OwnerRequirements requirements;
  std::optional<Radio> radio;  ///< none: no radio has been chosen
  std::vector<CodeEdition> codes;
  std::vector<Storey> storeys;
  std::vector<Obstruction> obstructions;
  std::vector<Glazing> glazings;
  std::vector<Shade> shades;
  std::vector<Calendar> calendars;
  DemandEvents demand_events;
  std::vector<Typical> typicals;
  std::vector<Space> spaces;
  std::vector<HvacZone> hvac_zones;
  std::vector<Meter> meters;
  std::vector<Reading> readings;
  std::vector<Driver> drivers;
  std::vector<LuminaireType> luminaire_types;
  std::vector<DeviceKind> device_kinds;
  std::string electrical_rules;  ///< id of ElectricalRules; empty: those of its codes
  std::vector<Design> designs;
  std::vector<Tariff> tariffs;
  Estimate estimate;
  std::vector<CostItem> costs;
  std::vector<Confirmation> confirmations;
  std::vector<DefaultTaken> defaults_taken;
};

/// Measured or simulated, the records that the library ships beside the project.
struct Library {
  std::vector<SpaceKind> kinds;
  std::vector<Driver> drivers;
  std::vector<LuminaireType> luminaire_types;
  std::vector<DeviceKind> device_kinds;
  std::vector<ElectricalRules> electrical_rules;
};

/// The first element whose id is `id`, or nullptr.
template <class T>
const T* find_by_id(const std::vector<T>& items, const std::string& id) {
  for (const T& item : items)
    if (item.id == id) return &item;
  return nullptr;
}

/// Whether an object of a design is there: as found, everything is, and `remove` says what will happen to it;
/// a proposal keeps what it removes on the list only for the drawings.
inline bool stands_in(const Design& design, Status status) {
  return design.role == Design::Role::as_found || status != Status::remove;
}

/// Where the light on a way out is judged: along its centre line about every half metre, and to both sides at
/// the edges of its middle half. z above the storey's floor; of a flight, on the line through its nosings, so
/// at most a riser above the tread.
std::vector<Point3> points_of(const EgressPath& path);

/// Rise of the ceiling per metre in plan, building axes.
Vector2 ceiling_gradient(const Space& space);
/// Height of the ceiling above the floor where it is least over some places of the space in plan.
double height_over(const Space& space, const std::vector<Point2>& places);

/// One way in which the movable partitions of a space can stand together.
struct Arrangement {
  std::vector<std::size_t> state;  ///< by partition of the space: index into its states
  std::string name;                ///< "wall closed, screen open"; of the movable ones
};
/// More ways than this are not lit.
inline constexpr std::size_t kMostArrangements = 4;
/// Number of ways, 1 without movable partitions.
std::size_t arrangement_count(const Space& space);
/// The ways, the one of first states first; it alone where there are more than `kMostArrangements`.
std::vector<Arrangement> arrangements_of(const Space& space);
/// Whether a partition is across the room in a state, given by its index.
bool stands(const Partition& partition, std::size_t state);
/// Whether a scene is meant for an arrangement: it names no state, or one that a movable partition is in.
bool suits(const Scene& scene, const Space& space, const Arrangement& arrangement);

/// The wall by which bookings divide a space (Occupancy::divided_fraction): the first of its movable
/// partitions that can stand. Null where the space has none.
const Partition* dividing_wall(const Space& space);
/// The dividing wall of a space whose bookings use it; null where none does.
const Partition* wall_in_use(const Space& space);
/// On which side of a partition's line a place in plan lies: 0 to the left of the way from its first end to
/// its last, 1 to the right or on it.
int side_of(const Partition& partition, Point2 at);
/// A space as it is while its dividing wall stands, or while it does not, as its first arrangement; the same
/// space where the wall has no such state.
Space with_wall(const Space& space, bool standing);

/// Openings as light sees them: those of the space, then the glass of its doors that names a glazing, in the
/// middle of the shut leaf and with its proportions. A glazed door to another space is inner glazing, one to
/// the outside a window.
std::vector<Opening> light_openings(const Space& space);

/// How far the wall of another space may stand behind inner glazing, m: a thick wall (common practice, no
/// source).
inline constexpr double kThickestWall_m = 1.0;

/// How far behind the inner glazing `pane` of `space` the wall of `lender` stands, m; nothing where walls of
/// `lender` in one plane do not face the whole pane from within `kThickestWall_m`, or its ceiling is lower
/// than the pane. Both spaces must have a floor; wall numbers must exist.
std::optional<double> depth_behind(const Space& space, const Opening& pane, const Space& lender);

/// A driver by id; one with every default where the project does not describe it.
const Driver& driver_of(const Project& project, const std::string& id);
const Design* find_design(const Project& project, Design::Role role);
const Sequence* find_sequence(const Design& design, const std::string& space);

/// Whether a group of a design holds a channel of a luminaire.
bool in_any_group(const Design& design, const std::string& luminaire);
/// Whether a luminaire plugs in.
bool plugs_in(const Project& project, const Luminaire& luminaire);
/// Ids of the luminaires that a load controller drives by its groups, by its circuits or by name, in their
/// order.
std::vector<std::string> driven_luminaires(const Project& project, const Design& design,
                                           const LoadController& controller);

/// Channel ids in the form "luminaire/channel" that a group's entry names.
std::vector<std::string> channels_of(const Project& project, const Design& design, const std::string& entry);

/// Whether a load controller of such action can do no more than switch.
constexpr bool only_switches(LoadController::Action action) {
  return action == LoadController::Action::on_off || action == LoadController::Action::volt_free_contact;
}
/// Channels, as "luminaire/channel", that give all or nothing because every load controller of the design
/// that names them, by a group, by the luminaire's circuit or by itself, only switches. A channel that none
/// names follows its driver, save a task lamp in no group: that has its own switch. With the id of the first
/// such controller; of a task lamp empty.
std::map<std::string, std::string> switched_channels(const Project& project, const Design& design);

}  // namespace halflight::domain
