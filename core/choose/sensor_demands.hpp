#pragma once
#include "choose/canonical_room.hpp"
#include "geometry/polygon.hpp"
#include "sensing/coverage.hpp"

#include <cstddef>
#include <string>
#include <vector>

// What a room asks of its occupancy sensors (docs/methods/sensor_cover.md).

namespace halflight::choose {

/// Shares that are asked for, 0..1. Of a place for small movements: what sensing::reach_of calls whole. Of
/// the floor of a room without places where people stay, for small movements, leaving out half a metre by the
/// walls where nobody stays: the same. Of the floor of a room where people only pass, for walking: less,
/// because the entries are asked for by themselves and who walks is out of an unseen corner within seconds
/// (common practice, no source).
inline constexpr double kPlaceShare = 0.95;
inline constexpr double kStayingShare = 0.95;
inline constexpr double kPassingShare = 0.90;

/// What a room asks to be seen.
struct SensorDemand {
  enum class Kind {
    place,    ///< small movements on a place of sensing::places_of
    seat,     ///< small movements at one seat of sensing::seats_of
    entry,    ///< walking just inside a door
    staying,  ///< small movements on the floor of a room without places
    passing,  ///< walking on the floor of a room where people only pass
  };
  Kind kind = Kind::place;
  std::string of;            ///< id of the furniture, task area, door or space
  Point2 at;                 ///< the seat, the point inside the door, the middle of the place or floor
  double asked_share = 1.0;  ///< 0..1
  double seen_share = 0.0;   ///< by the chosen and kept sensors, 0..1
  /// Why it is not kept; empty: it is. "desk D3 is seen to 40.0 % instead of 95 %: it is
  /// hidden from every place for a sensor that reaches so far".
  std::string why;
  Region gap;  ///< what of it is not seen, where it is not kept, building axes; of points a square of 0.3 m
};

/// A demand with what it is judged by, in the axes of the canonical room.
struct AskedOfRoom {
  SensorDemand demand;  ///< `at` in those axes
  sensing::Motion motion = sensing::Motion::minor;
  Region area;                  ///< of places and floors
  std::vector<Region> parts;    ///< of places up to 6 m2, of at most 0.6 m
  std::vector<Point2> points;   ///< middles of the cells of what is larger; of seats and entries the one
  std::vector<double> weights;  ///< of parts or points: their area, m2; of seats and entries 1
  /// Of parts or points, that a choice must cover. Parts count when one sensor sees 99 % of them, so that a
  /// choice that covers so many of them keeps the demand; points only stand for their cells.
  double share = 1.0;

  [[nodiscard]] bool is_point() const { return area.empty(); }
  [[nodiscard]] bool is_by_cells() const { return !area.empty() && parts.empty(); }
};

/// Places, seats of so many people, entries, and the floor of a room without places, in this order.
std::vector<AskedOfRoom> asked_of(const CanonicalRoom& room, std::size_t people);

/// What sensors see together.
struct SeenOfRoom {
  Region major;
  Region minor;
  [[nodiscard]] const Region& of(sensing::Motion motion) const {
    return motion == sensing::Motion::major ? major : minor;
  }
};

/// Share of a demand that is seen, 0..1: exact to the grid of polygons; of a point 0 or 1.
double seen_share(const AskedOfRoom& asked, const SeenOfRoom& seen);
/// What of a demand's area is not seen.
Region unseen(const AskedOfRoom& asked, const SeenOfRoom& seen);
/// Which parts or points of a demand are covered. Of a place that is seen whole every part is.
std::vector<bool> covered(const AskedOfRoom& asked, const SeenOfRoom& seen);

}  // namespace halflight::choose
