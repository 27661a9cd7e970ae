#pragma once
#include "base/diagnostic.hpp"
#include "choose/sensor_positions.hpp"
#include "domain/luminaire.hpp"
#include "domain/space.hpp"
#include "sensing/coverage.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

// The least-cost occupancy sensors that see what a room asks of them (docs/methods/sensor_cover.md).

namespace halflight::choose {

struct SensorCoverProblem {
  domain::Space space;  ///< movable partitions count in their first state
  /// Of the design in the space, that could hold a sensor of their own; task lamps are left out by their
  /// type.
  std::vector<domain::Luminaire> luminaires;
  std::vector<domain::LuminaireType> luminaire_types;
  std::vector<SensorOffer> offers;
  std::vector<domain::OccupancySensor> kept;  ///< of the space, already decided: they see and cost nothing
  std::size_t people = 0;                     ///< who have seats (sensing::seats_of)
  int most_nodes = 300;                       ///< of each search
};

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
  /// Why it is not kept; empty: it is. "desk D3 is seen to 40 %: the rest is hidden from every place for a
  /// sensor".
  std::string why;
  Region gap;  ///< what of it is not seen, where it is not kept, building axes; of points a square of 0.3 m
};

/// The best that devices of one mounting do alone.
struct SensorFamily {
  domain::DeviceKind::Mounting mounting = domain::DeviceKind::Mounting::ceiling;
  std::optional<double> cost;  ///< of the cheapest that keeps every demand
  double bound = 0.0;          ///< proved: none costs less
  std::size_t devices = 0;
  std::string why;  ///< there is none; empty where there is
};

/// A place where a device of an offer must not hang, building axes.
struct RefusedSensor {
  std::size_t offer = 0;  ///< index
  Point3 at;
  Refusal why = Refusal::looks_out;
};

struct SensorCover {
  /// Without ids and groups. Of sensors in luminaires one for each luminaire that does not look out of an
  /// open door, though all are paid.
  std::vector<domain::OccupancySensor> sensors;
  double cost = 0.0;
  double bound = 0.0;       ///< proved: no choice among the candidates that keeps as much costs less
  bool is_proved = false;   ///< none costs less or has, at this cost, fewer devices
  std::size_t devices = 0;  ///< that are paid
  bool keeps_all = false;   ///< every demand
  std::vector<SensorDemand> demands;
  std::vector<SensorFamily> families;  ///< ceiling, wall, wall_box, in_luminaire
  std::vector<RefusedSensor> refused;
  std::size_t candidates = 0;  ///< places among which was chosen

  [[nodiscard]] double gap() const { return cost - bound; }
};

/// The cheapest choice that keeps every demand or, where none does, the cheapest that keeps as much as all
/// candidates together; of equal cost the fewest devices, then the widest view of the floor. It turns with
/// the room and does not depend on how the document orders or numbers things. Errors: a floor that is no
/// outline, kinds without occupancy sensing or of a mounting that no place is known for, costs below 0.
Result<SensorCover> sensor_cover(const SensorCoverProblem& problem);

}  // namespace halflight::choose
