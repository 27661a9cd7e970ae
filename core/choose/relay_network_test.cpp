#include "choose/relay_network.hpp"

#include "base/random.hpp"

#include <bit>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

bool serves(const RelayProblem& problem, std::uint32_t set) {
  std::uint32_t reached = 0;
  for (bool grows = true; grows;) {
    grows = false;
    for (std::size_t r = 0; r < problem.by_root.size(); ++r) {
      if ((set >> r & 1U) == 0 || (reached >> r & 1U) != 0) continue;
      bool is_heard = problem.by_root[r];
      for (std::size_t s = 0; s < problem.by_root.size(); ++s)
        is_heard = is_heard || ((reached >> s & 1U) != 0 && problem.hears[s][r]);
      if (!is_heard) continue;
      reached |= 1U << r;
      grows = true;
    }
  }
  if (reached != set) return false;
  for (const auto& relays : problem.heard_by) {
    bool is_heard = false;
    for (const std::size_t r : relays) is_heard = is_heard || (set >> r & 1U) != 0;
    if (!is_heard) return false;
  }
  return true;
}

/// Against every set of relays there is (exhaustive search).
TEST(FewestRelays, AreAsFewAsAnySetThatServes) {
  int served = 0;
  int over_several = 0;
  for (std::uint32_t trial = 0; trial < 400; ++trial) {
    RelayProblem problem;
    const auto draw = [&](std::uint32_t what, std::uint32_t i, std::uint32_t k) {
      return random_uniform({trial, what}, {i, 0, 0, k});
    };
    const std::size_t n = 4 + trial % 6;
    std::vector<Point2> at;
    for (std::uint32_t r = 0; r < n; ++r) at.push_back({9.0 * draw(1, r, 0), 9.0 * draw(1, r, 1)});
    const auto near = [](Point2 a, Point2 b) { return length(a - b) < 4.2; };
    for (std::size_t r = 0; r < n; ++r) {
      problem.by_root.push_back(near(at[r], {0.0, 0.0}));
      std::vector<bool> row;
      for (std::size_t s = 0; s < n; ++s) row.push_back(r != s && near(at[r], at[s]));
      problem.hears.push_back(row);
    }
    for (std::uint32_t d = 0; d < 4; ++d) {
      const Point2 device{9.0 * draw(2, d, 0), 9.0 * draw(2, d, 1)};
      if (near(device, {0.0, 0.0})) continue;
      std::vector<std::size_t> relays;
      for (std::size_t r = 0; r < n; ++r)
        if (near(at[r], device)) relays.push_back(r);
      problem.heard_by.push_back(relays);
    }
    std::optional<int> fewest;
    for (std::uint32_t set = 0; set < 1U << n; ++set)
      if (serves(problem, set) && (!fewest || std::popcount(set) < *fewest)) fewest = std::popcount(set);
    const auto found = fewest_relays(problem);
    ASSERT_EQ(found.has_value(), fewest.has_value()) << trial;
    if (!found) continue;
    std::uint32_t set = 0;
    for (const std::size_t r : *found) set |= 1U << r;
    EXPECT_TRUE(serves(problem, set)) << trial;
    EXPECT_EQ(static_cast<int>(found->size()), *fewest) << trial;
    ++served;
    if (*fewest > 2) ++over_several;
  }
  EXPECT_GT(served, 100);
  EXPECT_GT(over_several, 20);
}

/// A corridor with a room at each end.
domain::Project corridor(double length_m, domain::WallBuild build) {
  domain::Project project;
  project.radio.emplace();
  project.radio->band = domain::Radio::Band::mhz_2450;
  project.radio->shadowing_db = 6.0;
  project.storeys.push_back({"ground", "Ground", 0.0, {}});
  for (int i = 0; i * 10.0 < length_m; ++i) {
    domain::Space& space = project.spaces.emplace_back();
    space.id = "R" + std::to_string(i);
    space.storey = "ground";
    space.wall_build = build;
    const double x = 10.0 * i;
    space.floor = {{x, 0}, {x + 9.9, 0}, {x + 9.9, 6}, {x, 6}};
  }
  domain::Design& design = project.designs.emplace_back();
  design.id = "proposal";
  return project;
}

void add_sensor(domain::Project& project, const std::string& id, const std::string& space, Point3 at) {
  domain::OccupancySensor& sensor = project.designs[0].occupancy_sensors.emplace_back();
  sensor.id = id;
  sensor.space = space;
  sensor.at = at;
  sensor.link = domain::Link::radio;
}

TEST(RelayProposal, OneGatewayServesASmallFloorAndALongOneNeedsMore) {
  domain::Project small = corridor(20.0, domain::WallBuild::light);
  small.radio->transmit_power_dbm = 6.0;
  add_sensor(small, "O1", "R0", {2, 3, 2.7});
  add_sensor(small, "O2", "R1", {18, 3, 2.7});
  const auto found = propose_relays(small, {}, small.designs[0]);
  ASSERT_TRUE(found.has_value());
  EXPECT_EQ(found->gateways.size(), 1u);
  EXPECT_EQ(found->repeaters.size(), 0u);
  EXPECT_TRUE(found->out_of_reach.empty());
  EXPECT_GE(found->weakest, kLinkAvailability);

  domain::Project large = corridor(100.0, domain::WallBuild::heavy);
  add_sensor(large, "O1", "R0", {2, 3, 2.7});
  add_sensor(large, "O2", "R9", {98, 3, 2.7});
  const auto far = propose_relays(large, {}, large.designs[0]);
  ASSERT_TRUE(far.has_value());
  EXPECT_GT(far->repeaters.size(), 0u);
  EXPECT_TRUE(far->out_of_reach.empty());
  EXPECT_GE(far->weakest, kLinkAvailability);
}

TEST(RelayProposal, WhatStandsIsKeptAndWhatIsAddedMakesTheDesignWork) {
  domain::Project project = corridor(80.0, domain::WallBuild::heavy);
  add_sensor(project, "O1", "R0", {2, 3, 2.7});
  add_sensor(project, "O2", "R7", {78, 3, 2.7});
  domain::Infrastructure gateway;
  gateway.id = "GW";
  gateway.space = "R0";
  gateway.at = {5, 3, 2.7};
  gateway.kind = domain::Infrastructure::Kind::gateway;
  gateway.link = domain::Link::radio;
  project.designs[0].infrastructure.push_back(gateway);
  const auto found = propose_relays(project, {}, project.designs[0]);
  ASSERT_TRUE(found.has_value());
  EXPECT_TRUE(found->gateways.empty());
  ASSERT_FALSE(found->repeaters.empty());
  // The network as a study judges it (sensing/radio_network.hpp), with what was added.
  int number = 0;
  for (domain::Infrastructure repeater : found->repeaters) {
    repeater.id = "R" + std::to_string(++number);
    project.designs[0].infrastructure.push_back(repeater);
  }
  const sensing::RadioNetwork network(project, project.designs[0]);
  for (const domain::Space& space : project.spaces)
    for (const sensing::RadioLink& link : network.links_in(space)) {
      ASSERT_NE(link.to, nullptr);
      EXPECT_GE(link.availability, kLinkAvailability) << space.id;
    }
  // Proposed to what was proposed nothing is added.
  const auto again = propose_relays(project, {}, project.designs[0]);
  ASSERT_TRUE(again.has_value());
  EXPECT_TRUE(again->repeaters.empty());
}

TEST(RelayProposal, SaysWhatStandsInItsWay) {
  domain::Project project = corridor(20.0, domain::WallBuild::light);
  add_sensor(project, "O1", "R0", {2, 3, 2.7});
  project.radio.reset();
  const auto found = propose_relays(project, {}, project.designs[0]);
  ASSERT_FALSE(found.has_value());
  EXPECT_EQ(found.error().front().where, "/radio");
}

}  // namespace
}  // namespace halflight::choose
