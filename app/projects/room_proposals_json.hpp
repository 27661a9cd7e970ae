#pragma once
#include "choose/room_proposals.hpp"

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace halflight::projects {

/// The proposals for rooms that get one design (docs/formats/proposals.md). `spaces`: their ids.
nlohmann::json proposals_json(const std::vector<std::string>& spaces, const choose::RoomProposals& proposals,
                              int scrambles);

}  // namespace halflight::projects
