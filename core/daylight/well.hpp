#pragma once
#include "geometry/vector.hpp"

#include <vector>

namespace halflight::daylight {

/// The shaft between a skylight's glass and the ceiling: upright walls about a rectangle, level at both ends.
struct Well {
  Vector2 along{1.0, 0.0};  ///< unit, of the side `length_m`, building axes
  double length_m = 1.0;
  double width_m = 1.0;
  double depth_m = 1.0;
  double reflectance = 0.7;  ///< diffuse, of its walls

  friend bool operator==(const Well& a, const Well& b) {
    return a.along.x == b.along.x && a.along.y == b.along.y && a.length_m == b.length_m &&
           a.width_m == b.width_m && a.depth_m == b.depth_m && a.reflectance == b.reflectance;
  }
};

/// What a well passes of one unit of flux that enters at its top. Its walls are rings in height, each evenly
/// bright around; configuration factors between them follow from that of opposed rectangles (Howell,
/// configuration factors), and the exchange is solved directly.
class WellLaw {
 public:
  explicit WellLaw(const Well& well);
  /// Share of a beam from direction `towards` (unit, rising) that meets no wall.
  [[nodiscard]] double straight(Vector3 towards) const;
  /// Share of that beam that leaves at the bottom after reflection.
  [[nodiscard]] double scattered(Vector3 towards) const;
  /// Share of evenly bright light at the top that leaves at the bottom, reflected or not.
  [[nodiscard]] double even() const { return even_; }

 private:
  Well well_;
  std::vector<double> leaves_;  // by ring from the top: share of what meets it that leaves at the bottom
  double even_ = 0.0;
  [[nodiscard]] double straight_to(double depth_m, Vector3 towards) const;
};

}  // namespace halflight::daylight
