#pragma once
#include "domain/project.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// How much a breaker, an output of a load controller and a whole controller carry, how long the wires of
// their control may be, and which limit binds (docs/methods/controllers.md).

namespace halflight::controls {

/// What one driver asks of whatever feeds and commands it.
struct DriverLoad {
  double input_w = 0.0;  ///< at full output
  double power_factor = 0.95;
  double voltage_v = 230.0;             ///< of its circuit
  double inrush_a = 0.0;                ///< peak at switch-on; 0: its maker does not state it
  std::optional<int> most_per_breaker;  ///< on one breaker of its circuit's rating, by its maker's table
  double control_ma = 2.0;              ///< drawn from its bus, or sourced on its control pair
  double breaker_a = 20.0;              ///< rating of its circuit's breaker

  /// Steady current, W / (V power factor), A.
  [[nodiscard]] double amperes() const { return input_w / (voltage_v * power_factor); }
};

/// One channel of one luminaire with its driver and its circuit: the smallest thing that an output carries.
struct ChannelLoad {
  std::string luminaire;
  std::string channel;
  domain::Protocol protocol = domain::Protocol::digital_bus;
  bool dims = true;
  std::string circuit;  ///< empty: none is named; voltage and breaker are those of a plain circuit
  domain::Circuit::Supply supply = domain::Circuit::Supply::normal;
  std::string space;
  Point3 at{};
  DriverLoad driver{};

  [[nodiscard]] std::string id() const { return luminaire + "/" + channel; }
};

/// What bounds a number of drivers. In the order in which equal ones are named.
enum class CapacityLimit {
  breaker_current,       ///< A
  breaker_inrush_table,  ///< breakers' worth of drivers by their makers' tables
  output_current,        ///< A
  output_inrush,         ///< A, peak
  output_drivers,        ///< drivers
  sink_current,          ///< mA that a 0-10 V control sinks
  bus_current,           ///< mA that a digital bus's supply gives
  bus_addresses,         ///< control gear on a digital bus
  outputs,               ///< outputs of a controller
};
/// "steady current of the breaker", for people.
std::string_view name_of(CapacityLimit limit);

/// How far a limit is used.
struct LimitUse {
  CapacityLimit limit = CapacityLimit::output_current;
  double used = 0.0;              ///< in the limit's unit
  double rated = 0.0;             ///< by the maker or the standard
  double continuous_share = 1.0;  ///< of `rated`, for loads of three hours and more
  double spare = 0.0;             ///< share of that which stays free, 0..1

  /// rated continuous_share (1 - spare), whole where it counts things.
  [[nodiscard]] double allowed() const;
  /// used / allowed; infinite where nothing is allowed and something used.
  [[nodiscard]] double share_used() const;
  /// Whether the limit is kept, to within rounding.
  [[nodiscard]] bool holds() const;
  /// "64 addresses less 15 % spare".
  [[nodiscard]] std::string in_words() const;
};
/// The use that is nearest to its limit, or farthest beyond it; of equal ones the first by
/// `CapacityLimit`. `uses` must not be empty.
const LimitUse& tightest(std::span<const LimitUse> uses);
bool all_hold(std::span<const LimitUse> uses);

/// Most drivers of one kind on one breaker.
struct DriversOnBreaker {
  int count = 0;
  CapacityLimit limit = CapacityLimit::breaker_current;
  int by_current = 0;           ///< floor of breaker_a continuous_share V power factor / W
  std::optional<int> by_table;  ///< the maker's table for inrush; none: not stated
  /// "inrush: the maker's table has 30 drivers on a breaker".
  [[nodiscard]] std::string in_words() const;
};
/// The least of steady current and the maker's table, which binds only where it is below. `driver.input_w`,
/// voltage and power factor must be above 0. `continuous_share` is that of domain::ElectricalRules (NFPA 70
/// 210.20(A): 0.8, from memory). Watts alone prove nothing: without a table, inrush is not judged.
DriversOnBreaker most_on_breaker(const DriverLoad& driver, double continuous_share);

/// Uses of one circuit's breaker by all that hangs on it: steady current and, of the drivers that have a
/// maker's table, the sum of 1 / (drivers that the table has on a breaker) against 1. A table speaks of one
/// kind of driver; adding the shares of mixed ones is common practice, no source. Drivers without a table
/// count for nothing there, so that a kept limit proves less than a broken one. The breaker is that of the
/// first channel; empty without channels.
std::vector<LimitUse> breaker_uses(std::span<const ChannelLoad> channels, double continuous_share,
                                   double spare);

/// Uses of one output of a load controller by the channels on it: steady current, peak inrush (the sum of
/// peaks: drivers switch on at one instant of the mains, the worst case), number of drivers, and for an
/// analogue control what its pair sinks of the 0-10 V drivers among them. Limits that the kind does not
/// state are left out, and so is inrush that no maker states.
std::vector<LimitUse> output_uses(std::span<const ChannelLoad> channels, const domain::LoadControl& control,
                                  double spare);
/// Uses of a whole controller by all its channels and its used outputs: outputs, of which no spare is kept,
/// and for a digital bus current and addresses, of the digital drivers among them: one each.
std::vector<LimitUse> controller_uses(std::span<const ChannelLoad> channels, int used_outputs,
                                      const domain::LoadControl& control, double spare);
/// Spare for what can be added later: none in a luminaire or for what plugs in, which are made for one load.
double spare_of(const domain::DeviceKind& kind, double spare);

/// The channels that entries "luminaire" or "luminaire/channel" of a design name, each once, in the order of
/// their ids; those of luminaires that the design removes are left out, and so is what does not exist. Types
/// and drivers are the project's, then the library's; a driver that neither has is one with every default.
/// What controls built into a luminaire draw always is shared among its channels.
std::vector<ChannelLoad> channel_loads(const domain::Project& project, const domain::Library& library,
                                       const domain::Design& design, std::span<const std::string> entries);

// ---------------------------------------------------------------------------------------------------------
// Wires of control

/// Resistivity of copper at 60 degrees C, ohm mm2 / m: wires lie in warm ceilings.
inline constexpr double kWarmCopper_ohm_mm2_m = 0.0203;
/// IEC 62386-101: cable between the two units of a digital bus that are furthest apart, and voltage that may
/// be lost on it (the latter from memory).
inline constexpr double kLongestBus_m = 300.0;
inline constexpr double kBusDrop_v = 2.0;
/// Voltage that may be lost on a 0-10 V pair: a hundredth of its range, which lifts the lowest level as
/// little (common practice, no source).
inline constexpr double kPairDrop_v = 0.1;

/// Longest digital bus, m: the least of 300 m and V A / (2 rho I). All current is taken at the far end.
/// `bus_ma` and `section_mm2` must be above 0.
double longest_bus_m(double bus_ma, double section_mm2);
/// Longest 0-10 V pair, m, in the same way; its drivers source the current and its control sinks it (IEC
/// 60929 Annex E).
double longest_pair_m(double pair_ma, double section_mm2);
/// Most drivers on one 0-10 V control: floor of what it sinks over what each sources.
int most_on_sink(double sink_ma, double driver_ma);

/// Estimate of the wire that joins places to a controller, m: least tree over all of them in plan with runs
/// along the axes of the building (Prim 1957; a tree with branch points of its own may be up to a third
/// shorter, F. K. Hwang 1976), plus the rise to the controller once. 0 without places.
double wire_estimate_m(std::span<const Point2> places, Point2 controller, double rise_m);

}  // namespace halflight::controls
