#include "controls/load_capacity.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace halflight::controls {

namespace {

// A limit is kept when only the last digits of the arithmetic are missing.
constexpr double kRounding = 1e-9;

int whole_below(double x) { return static_cast<int>(std::floor(x * (1.0 + kRounding))); }

bool counts_things(CapacityLimit limit) {
  return limit == CapacityLimit::output_drivers || limit == CapacityLimit::bus_addresses ||
         limit == CapacityLimit::outputs;
}

/// What the rating of a limit is called, with its figure.
std::string rating_in_words(CapacityLimit limit, double rated) {
  switch (limit) {
    case CapacityLimit::breaker_current:
      return fmt::format("breaker of {:g} A", rated);
    case CapacityLimit::breaker_inrush_table:
      return "inrush by the makers' tables of drivers on a breaker";
    case CapacityLimit::output_current:
      return fmt::format("{:g} A of an output", rated);
    case CapacityLimit::output_inrush:
      return fmt::format("{:g} A of inrush on an output", rated);
    case CapacityLimit::output_drivers:
      return fmt::format("{:g} {} on an output", rated, rated == 1.0 ? "driver" : "drivers");
    case CapacityLimit::sink_current:
      return fmt::format("{:g} mA that the 0-10 V control sinks", rated);
    case CapacityLimit::bus_current:
      return fmt::format("{:g} mA of the digital bus", rated);
    case CapacityLimit::bus_addresses:
      return fmt::format("{:g} {}", rated, rated == 1.0 ? "address" : "addresses");
    case CapacityLimit::outputs:
      break;
  }
  return fmt::format("{:g} {}", rated, rated == 1.0 ? "output" : "outputs");
}

template <class Of>
double sum_over(std::span<const ChannelLoad> channels, const Of& of) {
  double sum = 0.0;
  for (const ChannelLoad& channel : channels) sum += of(channel);
  return sum;
}

double amperes(std::span<const ChannelLoad> channels) {
  return sum_over(channels, [](const ChannelLoad& c) { return c.driver.amperes(); });
}

/// Length on which a current loses a voltage there and back.
double length_of_drop_m(double drop_v, double ma, double section_mm2) {
  return drop_v * section_mm2 / (2.0 * kWarmCopper_ohm_mm2_m * ma / 1000.0);
}

template <class T>
const T* found_in(const std::vector<T>& first, const std::vector<T>& second, const std::string& id) {
  const T* found = domain::find_by_id(first, id);
  return found != nullptr ? found : domain::find_by_id(second, id);
}

}  // namespace

std::string_view name_of(CapacityLimit limit) {
  switch (limit) {
    case CapacityLimit::breaker_current:
      return "steady current of the breaker";
    case CapacityLimit::breaker_inrush_table:
      return "inrush on the breaker";
    case CapacityLimit::output_current:
      return "steady current of an output";
    case CapacityLimit::output_inrush:
      return "inrush of an output";
    case CapacityLimit::output_drivers:
      return "drivers on an output";
    case CapacityLimit::sink_current:
      return "current that the 0-10 V control sinks";
    case CapacityLimit::bus_current:
      return "current of the digital bus";
    case CapacityLimit::bus_addresses:
      return "addresses of the digital bus";
    case CapacityLimit::outputs:
      break;
  }
  return "outputs";
}

double LimitUse::allowed() const {
  const double left = rated * continuous_share * (1.0 - spare);
  return counts_things(limit) ? whole_below(left) : left;
}

double LimitUse::share_used() const {
  const double most = allowed();
  if (most > 0.0) return used / most;
  return used > 0.0 ? std::numeric_limits<double>::infinity() : 0.0;
}

bool LimitUse::holds() const { return used <= allowed() * (1.0 + kRounding); }

std::string LimitUse::in_words() const {
  std::string words = rating_in_words(limit, rated);
  if (continuous_share < 1.0)
    words += fmt::format(", of which a continuous load may draw {:g} %", 100.0 * continuous_share);
  if (spare > 0.0) words += fmt::format(" less {:g} % spare", 100.0 * spare);
  return words;
}

const LimitUse& tightest(std::span<const LimitUse> uses) {
  return *std::max_element(uses.begin(), uses.end(), [](const LimitUse& a, const LimitUse& b) {
    const double share_a = a.share_used();
    const double share_b = b.share_used();
    return share_a != share_b ? share_a < share_b : a.limit > b.limit;
  });
}

bool all_hold(std::span<const LimitUse> uses) {
  return std::all_of(uses.begin(), uses.end(), [](const LimitUse& use) { return use.holds(); });
}

std::string DriversOnBreaker::in_words() const {
  if (limit == CapacityLimit::breaker_inrush_table)
    return fmt::format("inrush: the maker's table has {} drivers on a breaker", count);
  return fmt::format("steady current: {} drivers on a breaker{}", count,
                     by_table ? "" : "; for inrush no maker's table is stated");
}

DriversOnBreaker most_on_breaker(const DriverLoad& driver, double continuous_share) {
  DriversOnBreaker most;
  most.by_current = whole_below(driver.breaker_a * continuous_share / driver.amperes());
  most.by_table = driver.most_per_breaker;
  most.count = most.by_current;
  if (most.by_table && *most.by_table < most.by_current) {
    most.count = *most.by_table;
    most.limit = CapacityLimit::breaker_inrush_table;
  }
  return most;
}

std::vector<LimitUse> breaker_uses(std::span<const ChannelLoad> channels, double continuous_share,
                                   double spare) {
  if (channels.empty()) return {};
  std::vector<LimitUse> uses = {{CapacityLimit::breaker_current, amperes(channels),
                                 channels.front().driver.breaker_a, continuous_share, spare}};
  const double breakers = sum_over(channels, [](const ChannelLoad& c) {
    return c.driver.most_per_breaker ? 1.0 / *c.driver.most_per_breaker : 0.0;
  });
  if (breakers > 0.0) uses.push_back({CapacityLimit::breaker_inrush_table, breakers, 1.0, 1.0, spare});
  return uses;
}

std::vector<LimitUse> output_uses(std::span<const ChannelLoad> channels, const domain::LoadControl& control,
                                  double spare) {
  std::vector<LimitUse> uses = {
      {CapacityLimit::output_current, amperes(channels), control.limit_a, 1.0, spare}};
  const double inrush_a = sum_over(channels, [](const ChannelLoad& c) { return c.driver.inrush_a; });
  if (control.inrush_limit_a && inrush_a > 0.0)
    uses.push_back({CapacityLimit::output_inrush, inrush_a, *control.inrush_limit_a, 1.0, spare});
  if (control.most_drivers)
    uses.push_back({CapacityLimit::output_drivers, static_cast<double>(channels.size()),
                    static_cast<double>(*control.most_drivers), 1.0, spare});
  if (control.action == domain::LoadController::Action::analogue_0_10v)
    uses.push_back({CapacityLimit::sink_current,
                    sum_over(channels,
                             [](const ChannelLoad& c) {
                               return c.protocol == domain::Protocol::analogue_0_10v ? c.driver.control_ma
                                                                                     : 0.0;
                             }),
                    control.sink_limit_ma, 1.0, spare});
  return uses;
}

std::vector<LimitUse> controller_uses(std::span<const ChannelLoad> channels, int used_outputs,
                                      const domain::LoadControl& control, double spare) {
  std::vector<LimitUse> uses;
  if (control.action == domain::LoadController::Action::digital_bus) {
    const auto of_digital = [&](const auto& figure) {
      return sum_over(channels, [&](const ChannelLoad& c) {
        return c.protocol == domain::Protocol::digital_bus ? figure(c) : 0.0;
      });
    };
    uses.push_back({CapacityLimit::bus_current,
                    of_digital([](const ChannelLoad& c) { return c.driver.control_ma; }),
                    control.bus_limit_ma, 1.0, spare});
    uses.push_back({CapacityLimit::bus_addresses, of_digital([](const ChannelLoad&) { return 1.0; }),
                    static_cast<double>(control.addresses), 1.0, spare});
  }
  uses.push_back({CapacityLimit::outputs, static_cast<double>(used_outputs),
                  static_cast<double>(control.outputs), 1.0, 0.0});
  return uses;
}

double spare_of(const domain::DeviceKind& kind, double spare) {
  using Mounting = domain::DeviceKind::Mounting;
  return kind.mounting == Mounting::in_luminaire || kind.mounting == Mounting::plug_in ? 0.0 : spare;
}

std::vector<ChannelLoad> channel_loads(const domain::Project& project, const domain::Library& library,
                                       const domain::Design& design, std::span<const std::string> entries) {
  static const domain::Driver plain_driver;
  static const domain::Circuit plain_circuit;
  std::vector<ChannelLoad> loads;
  std::set<std::pair<std::string, std::string>> seen;
  for (const std::string& entry : entries) {
    const std::size_t slash = entry.find('/');
    const domain::Luminaire* luminaire = domain::find_by_id(design.luminaires, entry.substr(0, slash));
    if (luminaire == nullptr || !domain::stands_in(design, luminaire->status)) continue;
    const domain::LuminaireType* type =
        found_in(project.luminaire_types, library.luminaire_types, luminaire->type);
    if (type == nullptr) continue;
    const domain::Circuit* named = domain::find_by_id(design.circuits, luminaire->circuit);
    const domain::Circuit& circuit = named != nullptr ? *named : plain_circuit;
    for (const domain::Channel& channel : type->channels) {
      if (slash != std::string::npos && entry.substr(slash + 1) != channel.id) continue;
      if (!seen.insert({luminaire->id, channel.id}).second) continue;
      const domain::Driver* known = found_in(project.drivers, library.drivers, channel.driver);
      const domain::Driver& driver = known != nullptr ? *known : plain_driver;
      const double extra_w = type->watts_per_luminaire_extra_w / static_cast<double>(type->channels.size());
      ChannelLoad load;
      load.luminaire = luminaire->id;
      load.channel = channel.id;
      load.protocol = driver.protocol;
      load.dims = driver.dims;
      load.circuit = circuit.id;
      load.supply = circuit.supply;
      load.space = luminaire->space;
      load.at = luminaire->at;
      load.driver = {channel.input_w + extra_w, driver.power_factor, circuit.voltage_v, driver.inrush_a,
                     driver.most_per_breaker,   driver.control_ma,   circuit.breaker_a};
      loads.push_back(std::move(load));
    }
  }
  std::sort(loads.begin(), loads.end(), [](const ChannelLoad& a, const ChannelLoad& b) {
    return std::tie(a.luminaire, a.channel) < std::tie(b.luminaire, b.channel);
  });
  return loads;
}

double longest_bus_m(double bus_ma, double section_mm2) {
  return std::min(kLongestBus_m, length_of_drop_m(kBusDrop_v, bus_ma, section_mm2));
}

double longest_pair_m(double pair_ma, double section_mm2) {
  return length_of_drop_m(kPairDrop_v, pair_ma, section_mm2);
}

int most_on_sink(double sink_ma, double driver_ma) { return whole_below(sink_ma / driver_ma); }

double wire_estimate_m(std::span<const Point2> places, Point2 controller, double rise_m) {
  if (places.empty()) return 0.0;
  const auto run_m = [](Point2 a, Point2 b) { return std::abs(a.x - b.x) + std::abs(a.y - b.y); };
  // Prim: of each place that is not joined yet, the run to the nearest one that is.
  std::vector<double> nearest_m;
  for (const Point2& place : places) nearest_m.push_back(run_m(place, controller));
  std::vector<bool> is_joined(places.size(), false);
  double sum_m = rise_m;
  for (std::size_t joined = 0; joined < places.size(); ++joined) {
    std::size_t next = places.size();
    for (std::size_t i = 0; i < places.size(); ++i)
      if (!is_joined[i] && (next == places.size() || nearest_m[i] < nearest_m[next])) next = i;
    is_joined[next] = true;
    sum_m += nearest_m[next];
    for (std::size_t i = 0; i < places.size(); ++i)
      if (!is_joined[i]) nearest_m[i] = std::min(nearest_m[i], run_m(places[i], places[next]));
  }
  return sum_m;
}

}  // namespace halflight::controls
