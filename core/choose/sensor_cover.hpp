#pragma once
#include "base/diagnostic.hpp"
#include "choose/sensor_demands.hpp"
#include "choose/sensor_positions.hpp"
#include "domain/luminaire.hpp"
#include "domain/space.hpp"

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
