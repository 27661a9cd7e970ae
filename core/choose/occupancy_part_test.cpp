#include "choose/occupancy_part.hpp"

#include "choose/proposal_room_test.hpp"

#include <algorithm>
#include <map>
#include <set>

#include <gtest/gtest.h>

namespace halflight::choose {
namespace {

class OccupancyPartTest : public testing::Test {
 protected:
  std::vector<OccupancyPart> parts() {
    return occupancy_parts(project_, library_, project_.designs[1], project_.spaces[0]);
  }
  static bool has(const std::vector<OccupancyPart>& parts, const std::string& what) {
    return std::any_of(parts.begin(), parts.end(),
                       [&](const OccupancyPart& part) { return part.words.find(what) != std::string::npos; });
  }
  domain::Project project_ = bare_office();
  domain::Library library_ = device_library();
};

TEST_F(OccupancyPartTest, OffersOneSetOfEachMountingAndNone) {
  const std::vector<OccupancyPart> found = parts();
  EXPECT_TRUE(has(found, "1 ceiling sensor"));
  EXPECT_TRUE(has(found, "8 luminaire sensors"));
  EXPECT_EQ(found.back().words, "no occupancy sensors");
  EXPECT_TRUE(found.back().sensors.empty());
  std::vector<std::string> words;
  for (const OccupancyPart& part : found) {
    words.push_back(part.words);
    EXPECT_FALSE(part.why.empty()) << part.words;
    EXPECT_TRUE(part.group_of.empty()) << "a room of 48 m2 is one zone";
    for (const domain::OccupancySensor& sensor : part.sensors)
      EXPECT_NE(domain::find_by_id(library_.device_kinds, sensor.device_kind), nullptr);
  }
  std::sort(words.begin(), words.end());
  EXPECT_EQ(std::adjacent_find(words.begin(), words.end()), words.end());
}

TEST_F(OccupancyPartTest, AShutCeilingTakesRadioSensors) {
  project_.spaces[0].hazardous_material = true;
  const std::vector<OccupancyPart> found = parts();
  for (const OccupancyPart& part : found)
    for (const domain::OccupancySensor& sensor : part.sensors)
      EXPECT_NE(sensor.device_kind, "ceiling_sensor") << part.words;
  EXPECT_TRUE(has(found, "ceiling sensor"));
  project_.requirements.radio_allowed = false;
  EXPECT_FALSE(has(parts(), "ceiling sensor"));
}

TEST_F(OccupancyPartTest, LargeRoomsGetAGroupForEachSensorToo) {
  // 600 ft2 and more (IECC C405.2.1.3): 16 m x 6 m.
  domain::Space& space = project_.spaces[0];
  space.floor = {{0, 0}, {16, 0}, {16, 6}, {0, 6}};
  const std::vector<OccupancyPart> found = parts();
  EXPECT_TRUE(has(found, ", a group for each"));
}

// The wall hides each half from the sensors of the other (geometry), so that each has its own.
TEST_F(OccupancyPartTest, ADividedRoomHasSensorsOnEachSideOfItsWall) {
  project_ = divided_office();
  const domain::Partition wall = project_.spaces[0].partitions[0];
  const std::vector<OccupancyPart> found = parts();
  EXPECT_TRUE(has(found, "2 ceiling sensors, by side of the wall"));
  for (const OccupancyPart& part : found) {
    if (part.sensors.empty()) continue;
    ASSERT_EQ(part.group_of.size(), part.sensors.size()) << part.words;
    std::map<std::size_t, std::set<int>> sides;
    for (std::size_t s = 0; s < part.sensors.size(); ++s)
      sides[part.group_of[s]].insert(domain::side_of(wall, {part.sensors[s].at.x, part.sensors[s].at.y}));
    EXPECT_GE(sides.size(), 2U) << part.words;
    for (const auto& [group, its] : sides) EXPECT_EQ(its.size(), 1U) << part.words;
  }
}

TEST_F(OccupancyPartTest, ManySensorsAreGroupedAsLargeAsAZoneMayBe) {
  // 24 m x 12 m with a luminaire for each 12 m2, each with a sensor: 288 m2 make at least six zones of 55.74
  // m2.
  domain::Space& space = project_.spaces[0];
  space.floor = {{0, 0}, {24, 0}, {24, 12}, {0, 12}};
  space.doors.clear();
  space.openings.clear();
  domain::Design& design = project_.designs[1];
  const domain::Luminaire first = design.luminaires.front();
  design.luminaires.clear();
  for (int i = 0; i < 24; ++i) {
    domain::Luminaire& light = design.luminaires.emplace_back(first);
    light.id = "L" + std::to_string(i);
    light.at.x = 1.5 + 3.0 * (i % 8);
    light.at.y = 2.0 + 4.0 * (i / 8);
  }
  const std::vector<OccupancyPart> found = parts();
  const auto part = std::find_if(found.begin(), found.end(), [](const OccupancyPart& one) {
    return one.words.find("luminaire sensors, in ") != std::string::npos;
  });
  ASSERT_NE(part, found.end());
  ASSERT_EQ(part->group_of.size(), part->sensors.size());
  std::map<std::size_t, std::vector<Point2>> groups;
  for (std::size_t s = 0; s < part->sensors.size(); ++s)
    groups[part->group_of[s]].push_back({part->sensors[s].at.x, part->sensors[s].at.y});
  EXPECT_GE(groups.size(), 6U);
  EXPECT_LE(groups.size(), 8U) << "nor many more than there must be";
  EXPECT_EQ(groups.rbegin()->first, groups.size() - 1) << "without a gap";
  for (const auto& [number, places] : groups) {
    EXPECT_LE(12.0 * static_cast<double>(places.size()), 55.74) << number;
    // Neighbours: none farther from another than across four luminaires.
    for (const Point2 a : places)
      for (const Point2 b : places) EXPECT_LE(length(a - b), 9.5) << number;
  }
}

}  // namespace
}  // namespace halflight::choose
