#pragma once
#include "choose/building_line.hpp"
#include "choose/hvac_contacts.hpp"
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

/// What --take calls the designs at the knee of the building's line.
inline constexpr const char* kMostForTheBuildingsMoney = "most for the building's money";

/// Rooms that are alike, ids, and what was found for them: at least one design.
struct RoomsFound {
  std::vector<std::string> ids;
  choose::RoomProposals found;
};
std::vector<choose::RoomsOnLine> on_line(const std::vector<RoomsFound>& rooms);
/// The rooms together: what the building comes to at the ends and at the knee of its line, and where the next
/// of the money buys most.
std::string building_text(const domain::Project& project, const std::vector<RoomsFound>& rooms,
                          const choose::BuildingLine& line, int scrambles);
nlohmann::json building_json(const std::vector<RoomsFound>& rooms, const choose::BuildingLine& line,
                             int scrambles);

/// Gateways and repeaters that the designs known as `take` need.
std::string relays_text(const domain::Project& project, const choose::RelayProposal& relays,
                        const std::string& take);
nlohmann::json relays_json(const choose::RelayProposal& relays);

/// What is to tell HVAC of rooms.
std::string contacts_text(const domain::Project& project, const choose::ContactProposal& contacts);
nlohmann::json contacts_json(const choose::ContactProposal& contacts);

}  // namespace halflight::cli
