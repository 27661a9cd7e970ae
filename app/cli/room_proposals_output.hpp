#pragma once
#include "choose/room_proposals.hpp"
#include "domain/project.hpp"

#include <string>
#include <vector>

namespace halflight::cli {

/// The proposals for a room as text for a terminal. `spaces`: the rooms that they are for, ids.
std::string proposals_text(const domain::Project& project, const std::vector<std::string>& spaces,
                           const choose::RoomProposals& proposals, int scrambles);

}  // namespace halflight::cli
