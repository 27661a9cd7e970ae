#include "formats/climate_normals_file.hpp"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

const std::string kGood = R"({"format": "halflight-library/1", "climates": [{
  "id": "x", "name": "Invented", "source": "invented", "latitude_deg": 44, "longitude_deg": -90, "elevation_m": 250,
  "utc_offset_h": -6,
  "global_wh_m2_day": [1800, 2800, 3900, 4800, 5700, 6300, 6200, 5300, 4100, 2800, 1800, 1400],
  "dry_bulb_c": [-9, -6.5, 0.5, 8, 14.5, 20, 22.5, 21, 16.5, 9.5, 1.5, -6],
  "daily_range_k": [9, 10, 10, 11, 12, 12, 11, 11, 11, 11, 8, 8],
  "dew_point_c": [-13, -11, -5.5, 0, 7, 13.5, 16.5, 16, 11.5, 4.5, -2.5, -10]}]})";

std::string with(const std::string& from, const std::string& to) {
  std::string text = kGood;
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

std::string first_place(const std::string& text) {
  const auto climates = read_climate_normals(text, "c.json");
  return climates ? "accepted" : climates.error().front().where;
}

TEST(ClimateNormalsFile, IsReadMonthByMonth) {
  const auto climates = read_climate_normals(kGood, "c.json");
  ASSERT_TRUE(climates);
  ASSERT_EQ(climates->size(), 1u);
  const domain::ClimateNormals& c = climates->front();
  EXPECT_EQ(c.id, "x");
  EXPECT_EQ(c.longitude_deg, -90.0);
  EXPECT_EQ(c.utc_offset_h, -6.0);
  EXPECT_EQ(c.global_wh_m2_day[0], 1800.0);
  EXPECT_EQ(c.global_wh_m2_day[11], 1400.0);
  EXPECT_EQ(c.dry_bulb_c[6], 22.5);
  EXPECT_EQ(c.daily_range_k[4], 12.0);
  EXPECT_EQ(c.dew_point_c[1], -11.0);
}

TEST(ClimateNormalsFile, MistakesHaveTheirPlace) {
  EXPECT_EQ(first_place(with("\"latitude_deg\": 44", "\"latitude_deg\": 440")), "/climates/0/latitude_deg");
  EXPECT_EQ(first_place(with("\"latitude_deg\": 44, ", "")), "/climates/0/latitude_deg");
  EXPECT_EQ(first_place(with("\"id\": \"x\"", "\"id\": 3")), "/climates/0/id");
  EXPECT_EQ(first_place(with("[1800, ", "[")), "/climates/0/global_wh_m2_day");
  EXPECT_EQ(first_place(with("2800, 3900", "\"2800\", 3900")), "/climates/0/global_wh_m2_day/1");
  EXPECT_EQ(first_place(with("-2.5, -10]", "-2.5, -5.9]")), "/climates/0/dew_point_c/11");
  EXPECT_EQ(first_place(with("\"utc_offset_h\"", "\"zone\": 1, \"utc_offset_h\"")), "/climates/0/zone");
  EXPECT_EQ(first_place(with("library/1", "library/2")), "/format");
  EXPECT_EQ(first_place("{\"format\": \"halflight-library/1\"}"), "/climates");
  EXPECT_EQ(first_place("{\"format\": \"halflight-library/1\", \"climates\": [3]}"), "/climates/0/id");
  EXPECT_NE(first_place("{"), "accepted");
}

TEST(ClimateNormalsFile, ReadsEveryClimateOfTheLibrary) {
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(HALFLIGHT_SOURCE_DIR "/library/climates")) {
    std::ifstream in(entry.path());
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    const auto climates = read_climate_normals(text, entry.path().filename().string());
    EXPECT_TRUE(climates) << to_text(climates.error().front());
    ++files;
  }
  EXPECT_GT(files, 0);
}

TEST(ClimateNormalsFile, ListsABoundedNumberOfErrors) {
  std::string climates = "{}";
  for (int i = 0; i < 10'000; ++i) climates += ", {}";
  const auto refused =
      read_climate_normals(R"({"format": "halflight-library/1", "climates": [)" + climates + "]}", "c");
  EXPECT_GE(refused.error().size(), 500u);
  EXPECT_LT(refused.error().size(), 520u);
}

}  // namespace
}  // namespace halflight::formats
