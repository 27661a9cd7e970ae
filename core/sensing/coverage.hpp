#pragma once
#include "domain/project.hpp"
#include "geometry/polygon.hpp"

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

// What occupancy sensors see of their room (docs/methods/sensor_coverage.md). Plan coordinates in building
// axes, metres.

namespace halflight::sensing {

/// Walking, or the small movements of a person who sits.
enum class Motion { major, minor };

/// Height above the floor at which a motion is seen: minor, an arm above the desk (NEMA WD 7 moves one 36 in
/// above the floor); major, the upper body of who walks (common practice, no source).
constexpr double height_m(Motion motion) { return motion == Motion::minor ? 0.9 : 1.2; }

/// Reach on the level at which a motion is seen, m. A lens has fixed angles, so that the reach grows as the
/// height over that level (geometry): r = r_rated (h - p) / (h_rated - p). Above 1.2 times the rated height
/// small movements are seen less far by h_rated / h (assumption). Sound and microwaves keep their reach,
/// which no angle limits; so do small movements before a dual sensor.
double reach_m(const domain::OccupancySensor& sensor, Motion motion);

/// The shape that the sensor would cover in an empty hall: the outline of its field at its reach for a
/// motion. Arcs are drawn in steps of 3.75 degrees, with the radius that keeps their area.
Polygon coverage_shape(const domain::OccupancySensor& sensor, Motion motion);

/// What somebody at `height` above the floor is hidden from by a thing that stands between `bottom_m` and
/// `top_m` over the outline `plan`: its shadow from `eye` on the level plane at `height`, as overlapping
/// pieces, exact within `reach_m` of the eye. Empty where no line between eye and plane meets it.
std::vector<Polygon> shadow(Point3 eye, const Polygon& plan, double bottom_m, double top_m, double height,
                            double reach_m);

/// A sensor's shape within the room, in two parts.
struct Field {
  Region seen;
  Region hidden;  ///< behind a corner of the room, a partition or furniture, where somebody could be
};

/// The part of the shape that the sensor sees of its room, movable partitions in their first state:
/// - infrared looks in straight lines; what stands as high as a line passes, stops it;
/// - ultrasonic goes round what leaves 0.1 m free below the ceiling (common practice, no source);
/// - microwave passes everything inside the room;
/// - dual needs both for walking, which turns on, and either for small movements, which hold on.
/// Nothing is seen outside the room.
Field field_of(const domain::OccupancySensor& sensor, const domain::Space& space, Motion motion);

/// Where people sit or stand to work: a piece of furniture on which a horizontal task area lies, or a task
/// area from 0.3 to 1.2 m above the floor that lies on none. Such furniture hides nothing: hands are above
/// it.
struct Place {
  enum class Kind { furniture, task_area };
  Kind kind = Kind::furniture;
  std::size_t index = 0;  ///< in the space's list of its kind
  Polygon plan;
  double seen_share = 0.0;  ///< of the plan within reach for small movements, 0..1
};
/// In reach: 95 % of the place is seen; out of reach: less than 5 % (common practice, no source: a hair at
/// the edge of a table is nobody's seat).
enum class PlaceReach { whole, partly, none };
PlaceReach reach_of(const Place& place);

/// The places of a space, `seen_share` left open.
std::vector<Place> places_of(const domain::Space& space);

/// How surely one sensor notices a movement somewhere in its room.
class Sight {
 public:
  Sight(const domain::OccupancySensor& sensor, const domain::Space& space);
  /// Chance that a movement of that kind is noticed, 0..1: one half on the outline of the shape, less outside
  /// and more inside as a logistic with a width of 8 % of the reach (assumption: a test on cells of 0.91 m
  /// cannot tell finer), and nothing where something hides the person.
  [[nodiscard]] double chance(Motion motion, Point2 at) const;

 private:
  struct View {
    Polygon shape;
    double edge_m = 0.0;
    std::vector<Polygon> hidden;
  };
  std::array<View, 2> views_;  // by Motion
};

/// Reach of all sensors of a space together.
struct RoomReach {
  struct Sensor {
    std::size_t index = 0;  ///< in the design's list of occupancy sensors
    Field major;
    Field minor;
  };
  std::vector<Sensor> sensors;
  std::vector<Place> places;
  /// Shares of the floor where somebody can be (not under what stands higher than the motion is seen) in
  /// reach of a sensor, 0..1; of a floor without such a place 0.
  double major_share = 0.0;
  double minor_share = 0.0;
};
/// Nothing where there is more to look at than somebody would wait for: the number of sensors times the
/// square of that of the corners of floor, partitions and furniture beyond 3e7.
std::optional<RoomReach> reach_of(const domain::Space& space, const domain::Design& design);

}  // namespace halflight::sensing
