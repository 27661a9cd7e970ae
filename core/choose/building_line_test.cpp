// The line of a building against every choice of designs in its rooms.
#include "choose/building_line.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

RoomDesign design_of(double cost, double kwh) {
  RoomDesign design;
  design.cost.cost = {cost, cost};
  design.trial.kwh = {kwh - 1.0, kwh + 1.0};
  design.trial.year_kwh.mean = kwh;
  return design;
}

RoomProposals room_of(const std::vector<std::pair<double, double>>& designs) {
  RoomProposals found;
  std::vector<Merits> merits;
  for (const auto& [cost, kwh] : designs) {
    found.designs.push_back(design_of(cost, kwh));
    merits.push_back(found.designs.back().merits());
  }
  found.front = front_of(merits);
  found.as_found.kwh = {1000.0, 1000.0};
  return found;
}

struct Sum {
  double cost = 0.0;
  double kwh = 0.0;
};
Sum of(const std::vector<RoomsOnLine>& rooms, const std::vector<std::size_t>& design) {
  Sum sum;
  for (std::size_t r = 0; r < rooms.size(); ++r) {
    const Merits merits = rooms[r].found->designs[design[r]].merits();
    sum.cost += static_cast<double>(rooms[r].count) * merits.cost;
    sum.kwh += static_cast<double>(rooms[r].count) * merits.kwh;
  }
  return sum;
}

/// 300 buildings of three rooms of four designs each: no choice of designs, on a hull or not, costs as little
/// as a point of the line and draws less.
TEST(BuildingLine, NoOtherChoiceCostsAsLittleAndDrawsLess) {
  for (std::uint32_t building = 0; building < 300; ++building) {
    const RandomKey key{building, 7};
    std::vector<RoomProposals> found;
    for (std::uint32_t r = 0; r < 3; ++r) {
      std::vector<std::pair<double, double>> designs;
      for (std::uint32_t d = 0; d < 4; ++d)
        designs.emplace_back(std::round(1000.0 * random_uniform(key, {r, d, 0, 0})),
                             std::round(900.0 * random_uniform(key, {r, d, 1, 0})));
      found.push_back(room_of(designs));
    }
    std::vector<RoomsOnLine> rooms;
    for (std::size_t r = 0; r < 3; ++r) rooms.push_back({&found[r], r + 1});
    const BuildingLine line = building_line(rooms);
    ASSERT_LE(line.knee, line.steps.size());
    double last_kwh = of(rooms, line.cheapest).kwh + 1.0;
    for (std::size_t s = 0; s <= line.steps.size(); ++s) {
      const Sum point = of(rooms, line.after(s));
      EXPECT_LT(point.kwh, last_kwh);
      last_kwh = point.kwh;
      for (std::size_t a = 0; a < 4; ++a)
        for (std::size_t b = 0; b < 4; ++b)
          for (std::size_t c = 0; c < 4; ++c) {
            const Sum other = of(rooms, {a, b, c});
            EXPECT_FALSE(other.cost <= point.cost && other.kwh < point.kwh - 1e-9)
                << "building " << building << ", step " << s;
          }
    }
  }
}

/// By hand: 10 a kWh in the first room; 2, then 20 in the other, of which there are two.
TEST(BuildingLine, TheCheapestKilowattHourComesFirst) {
  const RoomProposals first = room_of({{0.0, 100.0}, {500.0, 50.0}});
  const RoomProposals second = room_of({{100.0, 80.0}, {140.0, 60.0}, {340.0, 50.0}});
  const std::vector<RoomsOnLine> rooms = {{&first, 1}, {&second, 2}};
  const BuildingLine line = building_line(rooms);
  ASSERT_EQ(line.steps.size(), 3U);
  EXPECT_EQ(line.steps[0].room, 1U);
  EXPECT_NEAR(line.steps[0].per_kwh(), 2.0, 1e-12);
  EXPECT_NEAR(line.steps[0].cost, 80.0, 1e-12) << "in both of them";
  EXPECT_EQ(line.steps[1].room, 0U);
  EXPECT_NEAR(line.steps[2].per_kwh(), 20.0, 1e-12);
  EXPECT_EQ(line.knee, 1U);
  EXPECT_EQ(line.after(2), (std::vector<std::size_t>{1, 1}));
  const BuildingSum sum = sum_of(rooms, line.after(1), 1);
  EXPECT_NEAR(sum.cost.middle(), 0.0 + 2.0 * 140.0, 1e-12);
  EXPECT_EQ(sum.kwh, (std::vector{99.0 + 2.0 * 59.0, 101.0 + 2.0 * 61.0}));
  EXPECT_NEAR(sum.saving.mean, (3000.0 - 220.0) / 3000.0, 1e-12);
}

/// What both have cancels, prices of what only one has are anything in their range, and what is saved is
/// paired by replicate.
TEST(BuildingLine, SumsStandApartByWhatTheirRoomsDifferBy) {
  RoomProposals room = room_of({{100.0, 80.0}, {140.0, 60.0}});
  const Quantity sensor{"sensor", "sensor", 2, {40.0, 80.0}, {}};
  room.designs[0].cost.quantities = {sensor, {"switch", "switch", 1, {10.0, 30.0}, {}}};
  room.designs[1].cost.quantities = {{"sensor", "sensor", 3, {60.0, 120.0}, {}},
                                     {"meter", "meter", 1, {50.0, 90.0}, {}}};
  room.designs[1].trial.kwh = {60.0, 58.0};
  const std::vector<RoomsOnLine> rooms = {{&room, 3}};
  const std::vector<std::size_t> first = {0};
  const std::vector<std::size_t> second = {1};
  const SumsApart up = apart(sum_of(rooms, first, 1), sum_of(rooms, second, 1), 1);
  EXPECT_NEAR(up.cost.least, 3.0 * (20.0 + 50.0 - 30.0), 1e-12) << "one more sensor, a meter, no switch";
  EXPECT_NEAR(up.cost.most, 3.0 * (40.0 + 90.0 - 10.0), 1e-12);
  EXPECT_NEAR(up.saved_kwh.mean, 3.0 * (19.0 + 23.0) / 2.0, 1e-12) << "79 to 60 and 81 to 58";
  const SumsApart down = apart(sum_of(rooms, second, 1), sum_of(rooms, first, 1), 1);
  EXPECT_NEAR(down.cost.least, -up.cost.most, 1e-12);
  EXPECT_NEAR(down.cost.most, -up.cost.least, 1e-12);
  const SumsApart none = apart(sum_of(rooms, second, 1), sum_of(rooms, second, 1), 1);
  EXPECT_EQ(none.cost.least, 0.0);
  EXPECT_EQ(none.cost.most, 0.0);
}

}  // namespace
}  // namespace halflight::choose
