#include "controls/load_capacity.hpp"

#include "published.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

using domain::Protocol;
using Action = domain::LoadController::Action;

constexpr double kNfpa70 = 0.8;  // NFPA 70 210.20(A), from memory

/// A driver of 40 W on a branch circuit of 277 V and 20 A.
DriverLoad driver_40_w() {
  DriverLoad driver;
  driver.input_w = 40.0;
  driver.voltage_v = 277.0;
  driver.power_factor = 0.95;
  driver.breaker_a = 20.0;
  return driver;
}

ChannelLoad channel(const std::string& luminaire, Protocol protocol = Protocol::digital_bus) {
  ChannelLoad load;
  load.luminaire = luminaire;
  load.channel = "all";
  load.protocol = protocol;
  load.circuit = "C1";
  load.driver = driver_40_w();
  load.driver.inrush_a = 30.0;
  return load;
}
std::vector<ChannelLoad> alike(int count, Protocol protocol = Protocol::digital_bus) {
  std::vector<ChannelLoad> loads;
  for (int i = 0; i < count; ++i) loads.push_back(channel(fmt::format("L{:03}", i), protocol));
  return loads;
}

const LimitUse& use_of(const std::vector<LimitUse>& uses, CapacityLimit limit) {
  const auto found =
      std::find_if(uses.begin(), uses.end(), [&](const LimitUse& use) { return use.limit == limit; });
  EXPECT_NE(found, uses.end()) << name_of(limit);
  return *found;
}
bool names(const std::vector<LimitUse>& uses, CapacityLimit limit) {
  return std::any_of(uses.begin(), uses.end(), [&](const LimitUse& use) { return use.limit == limit; });
}

// --- Breakers
// -------------------------------------------------------------------------------------------------------

TEST(LoadCapacity, TakesTheLeastOfCurrentAndTheMakersTable) {
  const std::string by_hand =
      "NFPA 70 210.20(A), from memory, worked by hand: floor(20 A x 0.8 x 277 V x 0.95 / 40 W)";
  DriverLoad driver = driver_40_w();
  DriversOnBreaker most = most_on_breaker(driver, kNfpa70);
  EXPECT_PUBLISHED(by_hand, "drivers of 40 W on a breaker of 20 A at 277 V, by steady current", "drivers",
                   105.0, most.count, 0.0);
  EXPECT_EQ(most.limit, CapacityLimit::breaker_current);
  EXPECT_EQ(most.in_words(),
            "steady current: 105 drivers on a breaker; for inrush no maker's table is stated");

  driver.most_per_breaker = 30;
  most = most_on_breaker(driver, kNfpa70);
  EXPECT_PUBLISHED("the least of all limits, by hand",
                   "the same with a maker's table of 30 on a breaker for inrush", "drivers", 30.0, most.count,
                   0.0);
  EXPECT_EQ(most.by_current, 105);
  EXPECT_EQ(most.limit, CapacityLimit::breaker_inrush_table);
  EXPECT_EQ(most.in_words(), "inrush: the maker's table has 30 drivers on a breaker");

  driver.most_per_breaker = 200;
  most = most_on_breaker(driver, kNfpa70);
  EXPECT_EQ(most.count, 105);
  EXPECT_EQ(most.limit, CapacityLimit::breaker_current);
  EXPECT_EQ(most.in_words(), "steady current: 105 drivers on a breaker");
  // Without the share for continuous loads (IEC 60364): 20 x 277 x 0.95 / 40 = 131.6.
  EXPECT_EQ(most_on_breaker(driver, 1.0).count, 131);
}

TEST(LoadCapacity, CountsWholeDriversExactlyAtALimit) {
  DriverLoad driver;
  driver.input_w = 23.0;
  driver.voltage_v = 230.0;
  driver.power_factor = 1.0;  // 0.1 A each: 160 exactly
  EXPECT_EQ(most_on_breaker(driver, kNfpa70).count, 160);
  driver.input_w = 23.001;
  EXPECT_EQ(most_on_breaker(driver, kNfpa70).count, 159);
}

TEST(LoadCapacity, AgreesWithTheUsesOfABreakerByThatManyDrivers) {
  for (const int table : {30, 104, 106, 500}) {
    std::vector<ChannelLoad> loads = alike(107);
    for (ChannelLoad& load : loads) load.driver.most_per_breaker = table;
    const DriversOnBreaker most = most_on_breaker(loads.front().driver, kNfpa70);
    const auto holds = [&](int count) {
      return all_hold(breaker_uses(std::span(loads).first(count), kNfpa70, 0.0));
    };
    EXPECT_TRUE(holds(most.count));
    EXPECT_FALSE(holds(most.count + 1));
    const auto beyond = breaker_uses(std::span(loads).first(most.count + 1), kNfpa70, 0.0);
    EXPECT_EQ(tightest(beyond).limit, most.limit);
  }
}

TEST(LoadCapacity, AddsSharesOfTheTablesOfMixedDrivers) {
  std::vector<ChannelLoad> loads = alike(20);
  for (std::size_t i = 0; i < loads.size(); ++i) loads[i].driver.most_per_breaker = i < 10 ? 20 : 40;
  const auto uses = breaker_uses(loads, kNfpa70, 0.0);
  EXPECT_NEAR(use_of(uses, CapacityLimit::breaker_inrush_table).used, 0.75, 1e-12);  // 10 / 20 + 10 / 40
  EXPECT_NEAR(use_of(uses, CapacityLimit::breaker_current).used, 20.0 * 40.0 / (277.0 * 0.95), 1e-12);
  EXPECT_NEAR(use_of(uses, CapacityLimit::breaker_current).allowed(), 16.0, 1e-12);
  EXPECT_FALSE(names(breaker_uses(alike(20), kNfpa70, 0.0), CapacityLimit::breaker_inrush_table));
  EXPECT_TRUE(breaker_uses({}, kNfpa70, 0.0).empty());
}

// --- Outputs and controllers
// ----------------------------------------------------------------------------------------

TEST(LoadCapacity, SumsWhatMixedDriversAskOfAnOutput) {
  // 12 of 40 W at 277 V and 8 of 57 W at power factor 0.9: 1.8241 + 1.8291 A, by hand.
  std::vector<ChannelLoad> loads = alike(20, Protocol::analogue_0_10v);
  for (std::size_t i = 12; i < 20; ++i) {
    loads[i].driver.input_w = 57.0;
    loads[i].driver.power_factor = 0.9;
    loads[i].driver.inrush_a = 20.0;
    loads[i].driver.control_ma = 0.5;
  }
  loads[19].protocol = Protocol::switched;  // sources nothing
  domain::LoadControl control;
  control.action = Action::analogue_0_10v;
  control.limit_a = 16.0;
  control.inrush_limit_a = 480.0;
  control.most_drivers = 25;
  control.sink_limit_ma = 60.0;
  const auto uses = output_uses(loads, control, 0.15);
  EXPECT_NEAR(use_of(uses, CapacityLimit::output_current).used, 3.6532, 1e-4);
  EXPECT_NEAR(use_of(uses, CapacityLimit::output_current).allowed(), 13.6, 1e-12);
  EXPECT_NEAR(use_of(uses, CapacityLimit::output_inrush).used, 12.0 * 30.0 + 8.0 * 20.0, 1e-12);
  EXPECT_NEAR(use_of(uses, CapacityLimit::output_inrush).allowed(), 408.0, 1e-12);
  EXPECT_EQ(use_of(uses, CapacityLimit::output_drivers).used, 20.0);
  EXPECT_EQ(use_of(uses, CapacityLimit::output_drivers).allowed(), 21.0);  // 21.25
  EXPECT_NEAR(use_of(uses, CapacityLimit::sink_current).used, 12.0 * 2.0 + 7.0 * 0.5, 1e-12);
  EXPECT_EQ(tightest(uses).limit, CapacityLimit::output_inrush);
  EXPECT_FALSE(all_hold(uses));
  EXPECT_TRUE(all_hold(output_uses(std::span(loads).first(13), control, 0.15)));   // 380 A
  EXPECT_FALSE(all_hold(output_uses(std::span(loads).first(15), control, 0.15)));  // 420 A
}

TEST(LoadCapacity, LeavesOutWhatNobodyStates) {
  domain::LoadControl control;
  control.action = Action::on_off;
  EXPECT_FALSE(names(output_uses(alike(3), control, 0.0), CapacityLimit::output_inrush));
  control.inrush_limit_a = 480.0;
  std::vector<ChannelLoad> loads = alike(3);
  EXPECT_TRUE(names(output_uses(loads, control, 0.0), CapacityLimit::output_inrush));
  for (ChannelLoad& load : loads) load.driver.inrush_a = 0.0;
  EXPECT_FALSE(names(output_uses(loads, control, 0.0), CapacityLimit::output_inrush));
  EXPECT_FALSE(names(output_uses(loads, control, 0.0), CapacityLimit::sink_current));
  EXPECT_FALSE(names(controller_uses(loads, 1, control, 0.0), CapacityLimit::bus_addresses));
}

TEST(LoadCapacity, CountsADigitalBusByGearAndCurrent) {
  // IEC 62386: 64 control gear, supply of at most 250 mA, 2 mA each. 15 % spare leaves 54 and 212.5 mA.
  domain::LoadControl control;
  control.action = Action::digital_bus;
  control.outputs = 16;
  auto uses = controller_uses(alike(54), 3, control, 0.15);
  EXPECT_TRUE(all_hold(uses));
  EXPECT_EQ(use_of(uses, CapacityLimit::bus_addresses).allowed(), 54.0);
  EXPECT_NEAR(use_of(uses, CapacityLimit::bus_current).used, 108.0, 1e-12);
  EXPECT_EQ(tightest(uses).limit, CapacityLimit::bus_addresses);
  EXPECT_EQ(tightest(uses).in_words(), "64 addresses less 15 % spare");
  EXPECT_FALSE(all_hold(controller_uses(alike(55), 3, control, 0.15)));
  EXPECT_TRUE(all_hold(controller_uses(alike(64), 3, control, 0.0)));

  std::vector<ChannelLoad> heavy = alike(50);
  for (ChannelLoad& load : heavy) load.driver.control_ma = 4.5;
  heavy.push_back(channel("relay", Protocol::switched));  // takes neither address nor current
  uses = controller_uses(heavy, 3, control, 0.15);
  EXPECT_EQ(use_of(uses, CapacityLimit::bus_addresses).used, 50.0);
  EXPECT_EQ(tightest(uses).limit, CapacityLimit::bus_current);
  EXPECT_NEAR(tightest(uses).used, 225.0, 1e-12);
  EXPECT_FALSE(tightest(uses).holds());
  EXPECT_EQ(tightest(uses).in_words(), "250 mA of the digital bus less 15 % spare");

  EXPECT_TRUE(use_of(controller_uses(alike(1), 16, control, 0.15), CapacityLimit::outputs).holds());
  EXPECT_FALSE(use_of(controller_uses(alike(1), 17, control, 0.15), CapacityLimit::outputs).holds());
}

TEST(LoadCapacity, NamesTheFirstOfLimitsThatAreEquallyUsed) {
  const LimitUse current{CapacityLimit::bus_current, 50.0, 100.0};
  const LimitUse addresses{CapacityLimit::bus_addresses, 5.0, 10.0};
  EXPECT_EQ(tightest(std::vector{addresses, current}).limit, CapacityLimit::bus_current);
  EXPECT_EQ(tightest(std::vector{current, addresses}).limit, CapacityLimit::bus_current);
  EXPECT_TRUE(std::isinf(LimitUse{CapacityLimit::outputs, 1.0, 0.0}.share_used()));
}

TEST(LoadCapacity, KeepsNoSpareInWhatIsMadeForOneLoad) {
  domain::DeviceKind kind;
  kind.mounting = domain::DeviceKind::Mounting::panel;
  EXPECT_EQ(spare_of(kind, 0.15), 0.15);
  kind.mounting = domain::DeviceKind::Mounting::in_luminaire;
  EXPECT_EQ(spare_of(kind, 0.15), 0.0);
  kind.mounting = domain::DeviceKind::Mounting::plug_in;
  EXPECT_EQ(spare_of(kind, 0.15), 0.0);
}

// --- From a design
// --------------------------------------------------------------------------------------------------

TEST(LoadCapacity, ReadsChannelsOfADesign) {
  domain::Driver own;
  own.id = "own";
  own.protocol = Protocol::analogue_0_10v;
  own.control_ma = 0.7;
  domain::Driver of_library;
  of_library.id = "shared";
  of_library.protocol = Protocol::switched;
  of_library.dims = false;
  of_library.most_per_breaker = 24;
  domain::LuminaireType pendant;
  pendant.id = "pendant";
  pendant.watts_per_luminaire_extra_w = 2.0;
  pendant.channels.resize(2);
  pendant.channels[0].id = "up";
  pendant.channels[0].driver = "own";
  pendant.channels[0].input_w = 30.0;
  pendant.channels[1].id = "down";
  pendant.channels[1].driver = "shared";
  pendant.channels[1].input_w = 20.0;
  domain::Project project;
  project.drivers = {own};
  domain::Library library;
  library.drivers = {of_library};
  library.luminaire_types = {pendant};
  domain::Circuit circuit;
  circuit.id = "E1";
  circuit.voltage_v = 120.0;
  circuit.breaker_a = 15.0;
  circuit.supply = domain::Circuit::Supply::emergency;
  domain::Design design;
  design.circuits = {circuit};
  design.luminaires.resize(3);
  for (std::size_t i = 0; i < 3; ++i) {
    design.luminaires[i].id = fmt::format("P{}", 3 - i);
    design.luminaires[i].type = "pendant";
    design.luminaires[i].space = "room";
    design.luminaires[i].at = {static_cast<double>(i), 1.0, 2.5};
  }
  design.luminaires[0].circuit = "E1";
  design.luminaires[1].status = domain::Status::remove;

  const auto loads = channel_loads(
      project, library, design, std::vector<std::string>{"P3/down", "P1", "P3", "P2", "nothing", "P1/side"});
  ASSERT_EQ(loads.size(), 4U);
  EXPECT_EQ(loads[0].id(), "P1/down");
  EXPECT_EQ(loads[1].id(), "P1/up");
  EXPECT_EQ(loads[2].id(), "P3/down");
  EXPECT_EQ(loads[3].id(), "P3/up");
  EXPECT_EQ(loads[0].circuit, "");
  EXPECT_EQ(loads[0].driver.voltage_v, 230.0);
  EXPECT_EQ(loads[2].circuit, "E1");
  EXPECT_EQ(loads[2].supply, domain::Circuit::Supply::emergency);
  EXPECT_EQ(loads[2].protocol, Protocol::switched);
  EXPECT_FALSE(loads[2].dims);
  EXPECT_EQ(loads[2].driver.most_per_breaker, 24);
  EXPECT_EQ(loads[2].driver.breaker_a, 15.0);
  EXPECT_NEAR(loads[2].driver.amperes(), 21.0 / (120.0 * 0.95), 1e-12);
  EXPECT_EQ(loads[3].protocol, Protocol::analogue_0_10v);
  EXPECT_EQ(loads[3].driver.control_ma, 0.7);
  EXPECT_EQ(loads[3].space, "room");
  EXPECT_EQ(loads[3].at, (Point3{0.0, 1.0, 2.5}));
}

// --- Wires
// ----------------------------------------------------------------------------------------------------------

TEST(LoadCapacity, BoundsTheLengthOfADigitalBus) {
  // V A / (2 rho I) with 2 V, 0.25 A and 0.0203 ohm mm2/m is 197.04 A; in whole metres.
  const std::string source =
      "IEC 62386-101: 250 mA, 2 V at most (from memory), copper at 60 degrees C; closed form V A / (2 rho I)";
  const auto row = [&](double section_mm2, double length_m) {
    EXPECT_PUBLISHED(source, fmt::format("longest digital bus of {} mm2 at 250 mA", section_mm2), "m",
                     length_m, longest_bus_m(250.0, section_mm2), 0.5);
  };
  row(0.5, 99.0);
  row(0.75, 148.0);
  row(1.0, 197.0);
  row(1.5, 296.0);
  EXPECT_PUBLISHED("IEC 62386-101: 300 m at most", "longest digital bus of 2.5 mm2 at 250 mA", "m", 300.0,
                   longest_bus_m(250.0, 2.5), 0.0);
  EXPECT_NEAR(longest_bus_m(125.0, 0.5), 197.04, 0.01) << "half the current reaches twice as far";
}

TEST(LoadCapacity, BoundsA0To10VPair) {
  // 0.1 V on 0.5 mm2 with 20 drivers of 2 mA: 0.1 x 0.5 / (2 x 0.0203 x 0.04) = 30.79 m.
  EXPECT_PUBLISHED("closed form V A / (2 rho I), 0.1 V", "longest 0-10 V pair of 0.5 mm2 at 40 mA", "m",
                   30.788, longest_pair_m(40.0, 0.5), 0.001);
  EXPECT_EQ(most_on_sink(100.0, 2.0), 50);
  EXPECT_EQ(most_on_sink(99.9, 2.0), 49);
  EXPECT_EQ(most_on_sink(60.0, 0.2), 300);
}

TEST(LoadCapacity, EstimatesTheWireOfARoom) {
  // Two rows of three luminaires, 2 m apart in the row and 3 m between rows; the controller 1 m west and 1 m
  // south of the first, 0.5 m above: each row 4 m, 3 m between them, 2 m to the controller, 0.5 m of rise.
  std::vector<Point2> places = {{0, 0}, {2, 0}, {4, 0}, {0, 3}, {2, 3}, {4, 3}};
  EXPECT_NEAR(wire_estimate_m(places, {-1, -1}, 0.5), 4.0 + 4.0 + 3.0 + 2.0 + 0.5, 1e-12);
  std::reverse(places.begin(), places.end());
  EXPECT_NEAR(wire_estimate_m(places, {-1, -1}, 0.5), 13.5, 1e-12);
  // Between the rows it joins both: 1 m and 2 m to them instead of 3 m from row to row.
  EXPECT_NEAR(wire_estimate_m(places, {2, 1}, 0.0), 4.0 + 4.0 + 1.0 + 2.0, 1e-12);
  EXPECT_EQ(wire_estimate_m({}, {0, 0}, 0.5), 0.0);
}

TEST(LoadCapacity, FindsTheLeastTreeAmongAll) {
  // All spanning trees of four places and a controller, by their Pruefer sequences (5^3).
  const std::vector<Point2> all = {{0.3, 5.1}, {4.2, 0.7}, {3.3, 3.9}, {1.1, 2.2}, {6.0, 6.4}};
  const auto run_m = [&](int a, int b) {
    return std::abs(all[a].x - all[b].x) + std::abs(all[a].y - all[b].y);
  };
  double least_m = 1e9;
  for (int code = 0; code < 125; ++code) {
    const std::array<int, 3> sequence = {code % 5, code / 5 % 5, code / 25};
    std::array<int, 5> degree = {1, 1, 1, 1, 1};
    for (const int v : sequence) ++degree[v];
    double sum_m = 0.0;
    for (const int v : sequence)
      for (int leaf = 0; leaf < 5; ++leaf)
        if (degree[leaf] == 1) {
          sum_m += run_m(leaf, v);
          --degree[leaf];
          --degree[v];
          break;
        }
    int first = -1;
    for (int v = 0; v < 5; ++v) {
      if (degree[v] != 1) continue;
      if (first >= 0) sum_m += run_m(first, v);
      first = v;
    }
    least_m = std::min(least_m, sum_m);
  }
  EXPECT_NEAR(wire_estimate_m(std::span(all).first(4), all[4], 0.0), least_m, 1e-12);
}

}  // namespace
}  // namespace halflight::controls
