// Cites the rules of docs/rules/controls.md by their numbers.
#include "sim/capacity.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::sim {
namespace {

/// Luminaires of 40 W with power factor 0.95 at 277 V on one circuit of 20 A, in two rooms: 0.152 A each.
struct Bench {
  domain::Project project;
  domain::Library library;
  domain::Design design;

  explicit Bench(int luminaires) {
    domain::Driver driver;
    driver.id = "driver";
    driver.control_ma = 2.0;
    project.drivers = {driver};
    domain::LuminaireType type;
    type.id = "type";
    type.channels.resize(1);
    type.channels[0].id = "all";
    type.channels[0].driver = "driver";
    type.channels[0].input_w = 40.0;
    project.luminaire_types = {type};
    project.codes = {{"IECC", "2021"}};
    domain::ElectricalRules iec;
    iec.id = "iec_60364";
    iec.name = "IEC 60364";
    domain::ElectricalRules nfpa;
    nfpa.id = "nfpa_70";
    nfpa.name = "NFPA 70";
    nfpa.continuous_share = 0.8;  // 210.20(A), from memory
    nfpa.codes = {"IECC"};
    library.electrical_rules = {iec, nfpa};
    domain::Circuit circuit;
    circuit.id = "L1";
    circuit.voltage_v = 277.0;
    design.circuits = {circuit};
    domain::Group group;
    group.id = "group";
    for (int i = 0; i < luminaires; ++i) {
      domain::Luminaire luminaire;
      luminaire.id = fmt::format("A{}", i);
      luminaire.type = "type";
      luminaire.space = i == 0 ? "101" : "102";
      luminaire.circuit = "L1";
      design.luminaires.push_back(luminaire);
      group.channels.push_back(luminaire.id);
    }
    design.groups = {group};
  }
  domain::LoadController& add_controller(domain::LoadController::Action action) {
    domain::LoadController controller;
    controller.id = "C1";
    controller.tag = "LC-1";
    controller.space = "101";
    controller.action = action;
    controller.groups = {"group"};
    controller.circuits = {"L1"};  // the same luminaires: counted once
    design.load_controllers = {controller};
    return design.load_controllers.front();
  }
  [[nodiscard]] std::vector<std::string> evidence(
      const std::string& space = "101",
      results::Finding::Verdict verdict = results::Finding::Verdict::fail) const {
    std::vector<std::string> words;
    for (const results::Finding& finding : capacity_findings(project, library, design, space)) {
      EXPECT_EQ(finding.verdict, verdict);
      words.push_back(finding.evidence);
    }
    return words;
  }
};
using Evidence = std::vector<std::string>;

// CAP-2
TEST(Capacity, NamesACircuitThatDrawsMoreThanItsBreakerMayCarry) {
  // 16 A x 277 V x 0.95 / 40 W = 105.3 drivers.
  EXPECT_EQ(Bench(105).evidence(), Evidence{});
  EXPECT_EQ(Bench(106).evidence(),
            Evidence{"L1: 16.1 A, at most 16.0 A for hours on a breaker of 20 A, NFPA 70"});
  EXPECT_EQ(Bench(106).evidence("102").size(), 1U) << "in every room that it feeds";
  EXPECT_EQ(Bench(106).evidence("103"), Evidence{});
  Bench removed(106);
  removed.design.luminaires.back().status = domain::Status::remove;
  EXPECT_EQ(removed.evidence(), Evidence{});
}

// CAP-2
TEST(Capacity, NamesACircuitWithMoreDriversThanTheMakersTableHas) {
  Bench bench(31);
  EXPECT_EQ(bench.evidence(), Evidence{});
  bench.project.drivers[0].most_per_breaker = 30;
  EXPECT_EQ(bench.evidence(),
            Evidence{"L1: inrush: as many drivers as 1.03 breakers bear by the makers' tables"});
  bench.project.drivers[0].most_per_breaker = 31;
  EXPECT_EQ(bench.evidence(), Evidence{});
}

// CAP-3
TEST(Capacity, TakesTheElectricalRulesThatAreInForce) {
  Bench bench(106);
  bench.project.electrical_rules = "iec_60364";
  EXPECT_EQ(bench.evidence(), Evidence{});
  bench.project.electrical_rules.clear();
  bench.project.codes.clear();
  EXPECT_EQ(bench.evidence(), Evidence{}) << "those beside no energy code";
  bench.project.electrical_rules = "nfpa_70";
  EXPECT_EQ(bench.evidence().size(), 1U);
  std::reverse(bench.library.electrical_rules.begin(), bench.library.electrical_rules.end());
  EXPECT_EQ(bench.evidence().size(), 1U);
}

// CAP-1
TEST(Capacity, NamesALoadControllerThatDrawsMoreThanItsLimit) {
  Bench bench(66);  // 10.03 A
  bench.add_controller(domain::LoadController::Action::on_off).limit_a = 10.0;
  EXPECT_EQ(bench.evidence(), Evidence{"LC-1: 10.0 A of load, at most 10 A"});
  EXPECT_EQ(bench.evidence("102"), Evidence{}) << "where it stands";
  bench.design.load_controllers[0].limit_a = 10.04;
  EXPECT_EQ(bench.evidence(), Evidence{});
}

// CAP-1
TEST(Capacity, NamesABusWithTooMuchCurrentOrTooManyAddresses) {
  Bench bench(64);
  domain::LoadController& controller = bench.add_controller(domain::LoadController::Action::digital_bus);
  controller.bus_limit_ma = 128.0;
  EXPECT_EQ(bench.evidence(), Evidence{});
  controller.bus_limit_ma = 127.0;
  EXPECT_EQ(bench.evidence(), Evidence{"LC-1: 128 mA of bus current, at most 127 mA"});
  Bench more(65);
  more.add_controller(domain::LoadController::Action::digital_bus);
  EXPECT_EQ(more.evidence(), Evidence{"LC-1: 65 addresses, at most 64"});
  domain::DeviceKind kind;
  kind.id = "large";
  kind.load = domain::LoadControl{};
  kind.load->addresses = 128;
  more.library.device_kinds = {kind};
  more.design.load_controllers[0].device_kind = "large";
  EXPECT_EQ(more.evidence(), Evidence{});
}

// CAP-1
TEST(Capacity, AsksForEvidenceWhereOneDriverForAllChannelsWouldDo) {
  Bench bench(40);
  bench.add_controller(domain::LoadController::Action::digital_bus);
  std::vector<domain::Channel>& channels = bench.project.luminaire_types[0].channels;
  channels.push_back(channels[0]);
  channels[1].id = "cool";
  EXPECT_EQ(
      bench.evidence("101", results::Finding::Verdict::needs_evidence),
      Evidence{"LC-1: 80 addresses, at most 64; kept if one driver with one address feeds all channels of "
               "a luminaire"});
  bench.design.load_controllers[0].limit_a = 10.0;  // 12.2 A, whatever the drivers
  EXPECT_EQ(bench.evidence().size(), 1U);
  bench.design.load_controllers[0].limit_a = 16.0;
  bench.design.load_controllers[0].bus_limit_ma = 79.0;  // 40 drivers of 2 mA
  EXPECT_EQ(bench.evidence(),
            Evidence{"LC-1: 160 mA of bus current, at most 79 mA; 80 addresses, at most 64"});
}

}  // namespace
}  // namespace halflight::sim
