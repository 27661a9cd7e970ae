#include "formats/point_values_csv.hpp"

#include "base/units.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>
#include <vector>

#include <fmt/format.h>

namespace halflight::formats {

namespace {

/// A field that may hold anything a document may.
std::string field(std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

/// Of every space, in the order in which they first appear.
std::vector<std::string> states_of(const results::Study& study) {
  std::vector<std::string> names;
  for (const results::SpaceStudy& space : study.spaces)
    for (const results::PointValues& area : space.points)
      for (const results::PointValues::State& state : area.states)
        if (std::find(names.begin(), names.end(), state.name) == names.end()) names.push_back(state.name);
  return names;
}

/// Elevation above the horizon, and azimuth clockwise from plan north, empty for what faces straight up.
std::string facing_text(Vector3 facing) {
  const double level = std::hypot(facing.x, facing.y);
  const double elevation = std::atan2(facing.z, level) / kRadPerDeg;
  if (level < 1e-9) return fmt::format("{:.1f},", elevation);
  const double azimuth = std::fmod(std::atan2(facing.x, facing.y) / kRadPerDeg + 360.0, 360.0);
  // Adding zero turns -0 into 0.
  return fmt::format("{:.1f},{:.1f}", elevation + 0.0, azimuth + 0.0);
}

}  // namespace

std::string point_values_csv(const results::Study& study) {
  const std::vector<std::string> states = states_of(study);
  std::string text = "space,area,x_m,y_m,z_m,facing_elevation_deg,facing_azimuth_deg";
  for (const std::string& state : states) text += "," + field(state + " lx");
  text += "\r\n";
  for (const results::SpaceStudy& space : study.spaces) {
    for (const results::PointValues& area : space.points) {
      std::vector<const results::PointValues::State*> columns;
      for (const std::string& name : states) {
        const auto found = std::find_if(area.states.begin(), area.states.end(),
                                        [&](const auto& state) { return state.name == name; });
        columns.push_back(found == area.states.end() ? nullptr : &*found);
      }
      const std::string facing = facing_text(area.facing);
      for (std::size_t p = 0; p < area.at.size(); ++p) {
        const Point3 at = area.at[p];
        text += fmt::format("{},{},{:.4f},{:.4f},{:.4f},{}", field(space.id), field(area.area), at.x, at.y,
                            at.z, facing);
        for (const results::PointValues::State* column : columns)
          text += column == nullptr ? "," : fmt::format(",{}", column->lx[p]);
        text += "\r\n";
      }
    }
  }
  return text;
}

}  // namespace halflight::formats
