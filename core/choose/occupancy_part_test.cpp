#include "choose/occupancy_part.hpp"

#include "choose/proposal_room_test.hpp"

#include <algorithm>

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
    EXPECT_FALSE(part.has_group_each) << "a room of 48 m2 is one zone";
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

}  // namespace
}  // namespace halflight::choose
