#pragma once
#include "choose/building_line.hpp"
#include "choose/hvac_contacts.hpp"
#include "choose/relay_network.hpp"
#include "choose/room_proposals.hpp"
#include "domain/project.hpp"
#include "projects/building_proposals.hpp"

#include <span>
#include <string>
#include <vector>

namespace halflight::cli {

/// The proposals for a room as text for a terminal. `spaces`: the rooms that they are for, ids.
std::string proposals_text(const domain::Project& project, const std::vector<std::string>& spaces,
                           const choose::RoomProposals& proposals, int scrambles);

/// The rooms together: what the building comes to at the ends and at the knee of its line, and where the next
/// of the money buys most.
std::string building_text(const domain::Project& project, std::span<const projects::RoomsFound> rooms,
                          const choose::BuildingLine& line, int scrambles);

/// Gateways and repeaters that the designs known as `take` need.
std::string relays_text(const domain::Project& project, const choose::RelayProposal& relays,
                        const std::string& take);

/// Load controllers that rooms share.
std::string shared_text(const domain::Project& project, const std::vector<choose::SharedControllers>& shared);
/// What is to tell HVAC of rooms.
std::string contacts_text(const domain::Project& project, const choose::ContactProposal& contacts);

}  // namespace halflight::cli
