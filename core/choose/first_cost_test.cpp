// What a design costs, against sums by hand.
#include "choose/first_cost.hpp"

#include "choose/proposal_room_test.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

domain::OccupancySensor sensor(const std::string& kind, Point3 at) {
  domain::OccupancySensor made;
  made.id = kind;
  made.device_kind = kind;
  made.at = at;
  return made;
}
domain::LoadController controller(const std::string& kind, Point3 at) {
  domain::LoadController made;
  made.id = kind + "-LC";
  made.device_kind = kind;
  made.at = at;
  return made;
}

class FirstCostTest : public testing::Test {
 protected:
  FirstCostTest() {
    project_ = bare_office();
    project_.estimate = {"GBP", 50.0, 0.8};
    domain::DeviceKind& kind = library_.device_kinds.front();
    kind.price = {{60.0, 110.0}, {0.4, 0.8}, {0.15, 0.3}};
  }
  FirstCost cost() const { return first_cost(project_, library_, controls_); }

  domain::Project project_;
  domain::Library library_ = device_library();
  RoomControls controls_;
};

TEST_F(FirstCostTest, AddsMaterialInTheEstimatesCurrencyAndHoursAtItsRate) {
  controls_.occupancy_sensors = {sensor("ceiling_sensor", {1, 1, 2.7}),
                                 sensor("ceiling_sensor", {5, 1, 2.7})};
  const FirstCost found = cost();
  ASSERT_EQ(found.quantities.size(), 1U);
  EXPECT_EQ(found.quantities[0].count, 2);
  // By hand: 60 USD at 0.8 and 0.55 h at 50; 110 USD at 0.8 and 1.1 h at 50.
  EXPECT_DOUBLE_EQ(found.cost.least, 2.0 * (48.0 + 27.5));
  EXPECT_DOUBLE_EQ(found.cost.most, 2.0 * (88.0 + 55.0));
  EXPECT_DOUBLE_EQ(found.set_up_h.least, 0.3);
  EXPECT_DOUBLE_EQ(found.set_up_h.most, 0.6);
  EXPECT_DOUBLE_EQ(found.middle(), 0.5 * (151.0 + 286.0));
}

TEST_F(FirstCostTest, TakesTheProjectsOwnFiguresFirst) {
  controls_.occupancy_sensors = {sensor("ceiling_sensor", {1, 1, 2.7})};
  // A cost item stands for material and labour; setting up is as the library has it.
  project_.costs = {{"c", "ceiling_sensor", 70.0, 0.5}};
  EXPECT_DOUBLE_EQ(cost().cost.least, 70.0 + 50.0 * (0.5 + 0.15));
  EXPECT_DOUBLE_EQ(cost().cost.most, 70.0 + 50.0 * (0.5 + 0.3));
  // A kind of the project's own is priced in its own currency.
  project_.costs.clear();
  project_.device_kinds = {library_.device_kinds.front()};
  EXPECT_DOUBLE_EQ(cost().cost.least, 60.0 + 50.0 * 0.55);
}

TEST_F(FirstCostTest, OneDeviceThatDoesSeveralThingsIsOneDevice) {
  const Point3 here{1, 1, 2.7};
  const Point3 there{5, 1, 2.7};
  controls_.occupancy_sensors = {sensor("luminaire_sensor", {1.00004, 1, 2.7})};  // as places turn
  controls_.load_controllers = {controller("luminaire_sensor", here), controller("luminaire_sensor", there)};
  FirstCost found = cost();
  ASSERT_EQ(found.quantities.size(), 1U);
  EXPECT_EQ(found.quantities[0].count, 2);
  // Two in one box are two, and what else hangs there is something else.
  controls_.load_controllers = {controller("luminaire_sensor", here), controller("luminaire_sensor", here),
                                controller("relay_pack", here)};
  found = cost();
  ASSERT_EQ(found.quantities.size(), 2U);
  EXPECT_EQ(found.quantities[0].count, 2);
  EXPECT_EQ(found.quantities[1].count, 1);
}

TEST_F(FirstCostTest, WhatStaysCostsNothingAndWhatIsUnknownIsNamed) {
  controls_.occupancy_sensors = {sensor("ceiling_sensor", {1, 1, 2.7}), sensor("", {2, 1, 2.7})};
  controls_.occupancy_sensors[0].status = domain::Status::remain;
  controls_.occupancy_sensors[1].id = "O7";
  const FirstCost found = cost();
  EXPECT_EQ(found.cost.most, 0.0);
  EXPECT_EQ(found.unpriced, std::vector<std::string>{"O7"});
}

TEST_F(FirstCostTest, LuminairesAreNewOnes) {
  const domain::Design& proposal = project_.designs[1];
  // By hand: 8 of 100 and an hour at 50; the price is the project's.
  EXPECT_DOUBLE_EQ(luminaire_cost(project_, library_, proposal, "room").cost.least, 8.0 * 150.0);
  library_.luminaire_types = {project_.luminaire_types[1]};
  EXPECT_DOUBLE_EQ(luminaire_cost(project_, library_, proposal, "room").cost.least, 8.0 * 130.0);
  project_.designs[1].luminaires[0].status = domain::Status::remain;
  EXPECT_DOUBLE_EQ(luminaire_cost(project_, library_, proposal, "room").cost.least, 7.0 * 130.0);
  project_.luminaire_types[1].price.reset();
  EXPECT_EQ(luminaire_cost(project_, library_, proposal, "room").unpriced.size(), 7U);
  project_.costs = {{"c", "new", 90.0, 0.5}};
  EXPECT_DOUBLE_EQ(luminaire_cost(project_, library_, proposal, "room").cost.most, 7.0 * 115.0);
  EXPECT_EQ(luminaire_cost(project_, library_, proposal, "elsewhere").cost.most, 0.0);
}

TEST_F(FirstCostTest, SumsLineByLine) {
  controls_.occupancy_sensors = {sensor("ceiling_sensor", {1, 1, 2.7})};
  const FirstCost one = cost();
  const FirstCost all = one + one + luminaire_cost(project_, library_, project_.designs[1], "room");
  ASSERT_EQ(all.quantities.size(), 2U);
  EXPECT_EQ(all.quantities[0].count, 2);
  EXPECT_DOUBLE_EQ(all.cost.least, 2.0 * one.cost.least + 1200.0);
  EXPECT_DOUBLE_EQ(all.set_up_h.most, 2.0 * one.set_up_h.most);
}

}  // namespace
}  // namespace halflight::choose
