#include "formats/object_text.hpp"

#include "formats/project_json.hpp"

#include <string>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::formats {
namespace {

using domain::Strategy;

constexpr double kMetresPerFoot = 0.3048;

domain::Sequence sequence() {
  domain::Sequence s;
  s.space = "101";
  s.on.by = domain::OnRule::By::occupancy;
  s.on.level = 0.5;
  s.vacancy.emplace().delay_s = 600.0;
  s.trim.emplace();
  s.manual.emplace().stations = {"S1"};
  return s;
}

/// The project of a document whose one proposal holds these objects.
domain::Project read_again(double metres_per_unit, const domain::Sequence& s, const domain::Luminaire& l,
                           const domain::Station& station) {
  static domain::Library library;
  const std::string text = fmt::format(
      R"({{"format": "halflight-project/1", "id": "p", "coordinates": "{}",
           "designs": [{{"id": "d", "role": "proposal", "luminaires": [{}], "stations": [{}], "sequences": [{}]}}]}})",
      metres_per_unit == 1.0 ? "m" : "ft", object_text(l, metres_per_unit),
      object_text(station, metres_per_unit), object_text(s, metres_per_unit));
  return ProjectDocument::load(std::as_bytes(std::span(text.data(), text.size())), "test", library).project();
}

TEST(ObjectText, ReadsBackAsWhatWasWritten) {
  domain::Luminaire luminaire;
  luminaire.id = "A1";
  luminaire.type = "panel";
  luminaire.space = "101";
  luminaire.at = {1.25, 2.5, 2.7};
  luminaire.rotation_deg = 90.0;
  domain::Station station;
  station.id = "S1";
  station.space = "101";
  station.at = {0.1, 0.2, 1.1};
  station.buttons = {"off", "raise"};
  for (const double unit : {1.0, kMetresPerFoot}) {
    const domain::Project project = read_again(unit, sequence(), luminaire, station);
    ASSERT_EQ(project.designs.size(), 1u);
    const domain::Design& design = project.designs.front();
    ASSERT_EQ(design.luminaires.size(), 1u);
    constexpr double kWritten_m = 5e-4;  // positions are written to a thousandth of the unit
    EXPECT_NEAR(design.luminaires[0].at.x, 1.25, kWritten_m);
    EXPECT_NEAR(design.luminaires[0].at.y, 2.5, kWritten_m);
    EXPECT_EQ(design.luminaires[0].rotation_deg, 90.0);
    EXPECT_EQ(design.stations.at(0).buttons, station.buttons);
    const domain::Sequence& read = design.sequences.at(0);
    EXPECT_EQ(read.on, sequence().on);
    EXPECT_EQ(read.vacancy, sequence().vacancy);
    EXPECT_TRUE(read.trim.has_value());
    EXPECT_EQ(read.manual, sequence().manual);
    EXPECT_FALSE(read.schedule);
  }
}

TEST(ObjectText, NothingOnACeilingIsWrittenAboveIt) {
  domain::Luminaire luminaire;
  luminaire.id = "A1";
  luminaire.type = "panel";
  luminaire.space = "101";
  domain::Station station;
  station.id = "S1";
  for (const double unit : {1.0, kMetresPerFoot})
    for (const double ceiling_m : {2.8956, 2.7, 3.0 - 1e-4, 9.5 * kMetresPerFoot}) {
      luminaire.at = {1.0, 1.0, ceiling_m};
      const double z = read_again(unit, sequence(), luminaire, station).designs[0].luminaires[0].at.z;
      constexpr double kRounding_m = 1e-9;
      EXPECT_LE(z, ceiling_m + kRounding_m) << unit;
      EXPECT_GE(z, ceiling_m - 1e-3) << unit;
    }
}

TEST(ObjectText, LeavesOutWhatSaysNothingAndTheSpaceOfATypical) {
  domain::Group group;
  group.id = "row-a";
  group.channels = {"A1", "A2"};
  EXPECT_EQ(object_text(group, 1.0), R"({"id": "row-a", "strategy": "scene", "channels": ["A1", "A2"]})");
}

}  // namespace
}  // namespace halflight::formats
