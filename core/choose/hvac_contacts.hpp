#pragma once
#include "domain/price.hpp"
#include "domain/project.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

// Which rooms HVAC is not told of though their sensors know who is there (docs/methods/hvac_contact.md).

namespace halflight::choose {

/// What tells HVAC of rooms in its zones.
struct ContactProposal {
  std::vector<domain::Interface> contacts;  ///< that are added, without ids
  struct Told {
    std::string space;
    std::string interface;               ///< that stands and takes the room in; empty: a new contact
    std::optional<std::size_t> contact;  ///< index of that in `contacts`
  };
  std::vector<Told> told;
  /// Of the contacts, installed and set to work, in the currency of the estimate; nothing where their kind
  /// has no price.
  std::optional<domain::Range> cost;
};
/// A hand-off for each space of an HVAC zone in which an occupancy sensor of `design` stands and of which
/// nothing tells yet. Points of a network that stand take in every room, else each room gets a volt-free
/// contact, at the ceiling beside its first load controller or sensor; its kind is the library's first of
/// those that are so called (`hvac_contact`).
ContactProposal propose_contacts(const domain::Project& project, const domain::Library& library,
                                 const domain::Design& design);

}  // namespace halflight::choose
