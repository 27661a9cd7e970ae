#pragma once
#include "domain/project.hpp"
#include "geometry/polygon.hpp"
#include "sensing/radio_link.hpp"

#include <cstddef>
#include <vector>

// Which gateway or repeater each radio device of a building reaches, and how well
// (docs/methods/radio_links.md).

namespace halflight::sensing {

/// Where a radio stands: a space and a place in it, z above its storey's floor.
struct RadioPlace {
  const domain::Space* space = nullptr;
  Point3 at;
};

/// The walls of a building, ready to be looked through. The project must outlive it.
class Walls {
 public:
  explicit Walls(const domain::Project& project);

  /// What the straight line between two places passes through: walls of the rooms of each storey that it runs
  /// in, the same wall seen from both sides once and as the heavier; partitions as high as it passes; floors
  /// between. A wall within 5 cm of an end is one that the end hangs on.
  [[nodiscard]] Crossed between(const RadioPlace& from, const RadioPlace& to) const;
  /// z above the datum of the storeys' elevations.
  [[nodiscard]] Point3 in_building(const RadioPlace& place) const;

  /// Edges of outlines and partitions in all storeys, to judge how long looking takes.
  [[nodiscard]] std::size_t count() const;

 private:
  struct Room {
    const domain::Space* space = nullptr;
    Box2 box;
  };
  struct Storey {
    const domain::Storey* storey = nullptr;
    std::vector<Room> rooms;
  };
  struct Line;
  void add(const Storey& storey, const Line& line, Crossed& crossed) const;

  std::vector<Storey> storeys_;  // from below
};

/// From a device to the gateway or repeater that it talks to.
struct RadioLink {
  const domain::Device* from = nullptr;
  const domain::Infrastructure* to = nullptr;  ///< nullptr: there is none, and no figure below stands
  double distance_m = 0.0;
  Crossed crossed;
  double loss_db = 0.0;
  double margin_db = 0.0;
  double availability = 0.0;       ///< of this link alone, 0..1
  double path_availability = 0.0;  ///< with those of the repeaters on to a gateway, 0..1
};

/// A link between two places by the project's radio, which must be chosen: `from`, `to` and
/// `path_availability` are left open. `sender_gain_dbi`: of the antenna at `from`; at `to` hangs that of a
/// gateway.
RadioLink link_between(const domain::Project& project, const Walls& walls, const RadioPlace& from,
                       const RadioPlace& to, double sender_gain_dbi);

/// Every device of a design whose link is radio and that stands, gateways and repeaters aside.
std::vector<const domain::Device*> radio_devices(const domain::Design& design);

/// The radios of a design. `project` and `design` must outlive it.
class RadioNetwork {
 public:
  RadioNetwork(const domain::Project& project, const domain::Design& design);

  /// Whether there is more to look at than a plan can be drawn from while somebody waits: beyond some
  /// hundred gateways and repeaters in a building of a thousand walls. Nothing else is to be asked then.
  [[nodiscard]] bool is_too_large() const { return is_too_large_; }
  /// Whether a radio was chosen and a gateway talks by it: without, no link has an end.
  [[nodiscard]] bool has_gateway() const;
  /// Links of the radio devices that stand in a space, repeaters among them, gateways not; in the document's
  /// order.
  [[nodiscard]] std::vector<RadioLink> links_in(const domain::Space& space) const;
  /// The margin that a device at a place would have, dB; only with a gateway.
  [[nodiscard]] double margin_at(const RadioPlace& place) const;

 private:
  struct Node {
    const domain::Infrastructure* device = nullptr;
    RadioPlace place;
    double availability = 1.0;  ///< of its path on to a gateway
  };
  [[nodiscard]] RadioLink link(const RadioPlace& from, const Node& to, double sender_gain_db) const;
  /// By the path of greatest availability, and of those of the greatest margin.
  [[nodiscard]] RadioLink best(const RadioPlace& from, const domain::Device* device) const;

  const domain::Project* project_;
  const domain::Design* design_;
  Walls walls_;
  bool is_too_large_ = false;
  std::vector<Node> nodes_;
};

}  // namespace halflight::sensing
