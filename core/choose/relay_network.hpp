#pragma once
#include "base/diagnostic.hpp"
#include "domain/project.hpp"
#include "sensing/radio_network.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

// Where a gateway and repeaters stand so that every radio device of a building is heard
// (docs/methods/radio_links.md).

namespace halflight::choose {

/// Who hears whom. Relays are places where a repeater may stand.
struct RelayProblem {
  std::vector<std::vector<bool>> hears;  ///< [relay][relay]: the first the second
  std::vector<bool> by_root;             ///< relays that a gateway hears
  /// By device: the relays that hear it; those that a gateway hears are left out.
  std::vector<std::vector<std::size_t>> heard_by;
};
/// The fewest relays so that each device is heard by one, and each relay's word reaches a gateway over relays
/// that are chosen: by integer programming, with a row for each set that was found cut off. Nothing where a
/// device cannot be reached at all. Of equally few some.
std::optional<std::vector<std::size_t>> fewest_relays(const RelayProblem& problem);

/// Availability that each link is given at least: with three links in a row 97 % of a message's tries come
/// through (common practice, no source: 99 % of locations at the edge of a cell).
inline constexpr double kLinkAvailability = 0.99;

/// What the radio of a building lacks.
struct RelayProposal {
  std::size_t devices = 0;                       ///< that talk by radio
  std::vector<domain::Infrastructure> gateways;  ///< that are added, without ids
  std::vector<domain::Infrastructure> repeaters;
  /// Devices that nothing reaches: ids.
  std::vector<std::string> out_of_reach;
  double weakest = 1.0;  ///< least availability of a link of a device or repeater, 0..1
};
/// Gateways and repeaters that stand are kept. Places: the middle of each room's ceiling, and of its parts
/// where a room is larger than 60 m2. Where no gateway stands, one is put where it takes the fewest
/// repeaters, and of such places where the weakest link is strongest. Errors: no radio is chosen; more places
/// than can be looked at (400).
Result<RelayProposal> propose_relays(const domain::Project& project, const domain::Library& library,
                                     const domain::Design& design);

}  // namespace halflight::choose
