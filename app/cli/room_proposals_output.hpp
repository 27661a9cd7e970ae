#pragma once
#include "choose/relay_network.hpp"
#include "choose/room_proposals.hpp"
#include "domain/project.hpp"

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace halflight::cli {

/// The proposals for a room as text for a terminal. `spaces`: the rooms that they are for, ids.
std::string proposals_text(const domain::Project& project, const std::vector<std::string>& spaces,
                           const choose::RoomProposals& proposals, int scrambles);

/// Gateways and repeaters that the designs known as `take` need.
std::string relays_text(const domain::Project& project, const choose::RelayProposal& relays,
                        const std::string& take);
nlohmann::json relays_json(const choose::RelayProposal& relays);

}  // namespace halflight::cli
