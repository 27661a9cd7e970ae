#include "choose/partition_sensor.hpp"

#include "choose/proposal_room_test.hpp"

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

std::optional<domain::Interface> sensor_of(const domain::Project& project,
                                           const domain::Library& library = device_library()) {
  return partition_sensor(project, library, project.spaces[0]);
}

TEST(PartitionSensor, IsAtTheEndOfTheWallThatADoorIsNearestTo) {
  // The doors are in the wall at 6 m.
  const std::optional<domain::Interface> sensor = sensor_of(divided_office());
  ASSERT_TRUE(sensor);
  EXPECT_EQ(sensor->kind, domain::Interface::Kind::partition_sensor);
  EXPECT_EQ(sensor->direction, domain::Interface::Direction::in);
  EXPECT_EQ(sensor->space, "room");
  EXPECT_EQ(sensor->device_kind, "partition_contact");
  EXPECT_NEAR(sensor->at.x, 4.0, 1e-12);
  EXPECT_NEAR(sensor->at.y, 5.9, 1e-12);
  EXPECT_NEAR(sensor->at.z, 2.6, 1e-12);
  domain::Project other_way = divided_office();
  std::swap(other_way.spaces[0].partitions[0].from, other_way.spaces[0].partitions[0].to);
  EXPECT_NEAR(sensor_of(other_way)->at.y, 5.9, 1e-12);
}

TEST(PartitionSensor, TurnsWithTheRoom) {
  const std::optional<domain::Interface> sensor = sensor_of(turned(divided_office(), 90.0));
  ASSERT_TRUE(sensor);
  EXPECT_NEAR(sensor->at.x, -5.9, 1e-9);
  EXPECT_NEAR(sensor->at.y, 4.0, 1e-9);
}

TEST(PartitionSensor, IsOnlyWhereBookingsDivideTheRoom) {
  domain::Project project = divided_office();
  project.spaces[0].occupancy.divided_fraction = 0.0;
  EXPECT_FALSE(sensor_of(project));
  EXPECT_FALSE(sensor_of(bare_office()));
}

TEST(PartitionSensor, HasNoKindWhereTheLibraryHasNone) {
  const std::optional<domain::Interface> sensor = sensor_of(divided_office(), domain::Library{});
  ASSERT_TRUE(sensor);
  EXPECT_TRUE(sensor->device_kind.empty());
}

}  // namespace
}  // namespace halflight::choose
