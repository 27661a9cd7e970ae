#include "formats/point_values_csv.hpp"

#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

TEST(PointValuesCsv, HasALineForEveryPointAndAColumnForEveryState) {
  results::Study study;
  results::SpaceStudy& reading = study.spaces.emplace_back();
  reading.id = "reading";
  reading.points = {
      {"tables", {{1.0, 2.5, 0.75}, {3.0, 2.5, 0.75}}, {0, 0, 1}, {{"initial", {500.5F, 0.1F}}}},
      {"board", {{0.0, 1.0, 1.5}}, {-1, 0, 0}, {{"initial", {200.0F}}}}};
  results::SpaceStudy& hall = study.spaces.emplace_back();
  hall.id = "hall";
  hall.points = {{"plan", {{-1.0, 0.0, 0.0}}, {0, 0, 1}, {{"scene \"Talk\", low", {12.0F}}}}};
  EXPECT_EQ(point_values_csv(study),
            "space,area,x_m,y_m,z_m,facing_elevation_deg,facing_azimuth_deg,initial lx,"
            "\"scene \"\"Talk\"\", low lx\"\r\n"
            "reading,tables,1.0000,2.5000,0.7500,90.0,,500.5,\r\n"
            "reading,tables,3.0000,2.5000,0.7500,90.0,,0.1,\r\n"
            "reading,board,0.0000,1.0000,1.5000,0.0,270.0,200,\r\n"
            "hall,plan,-1.0000,0.0000,0.0000,90.0,,,12\r\n");
}

}  // namespace
}  // namespace halflight::formats
