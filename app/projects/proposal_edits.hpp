#pragma once
#include "choose/hvac_contacts.hpp"
#include "choose/relay_network.hpp"
#include "choose/room_controls.hpp"
#include "choose/shared_controllers.hpp"
#include "formats/project_json.hpp"

#include <string>
#include <vector>

namespace halflight::projects {

/// What puts other controls of a space into the proposal of a document: objects that are gone are taken out,
/// new ones added after those that stay, and of the sequence only the rules that differ are written. Load
/// controllers of several rooms that are left with nothing to drive go. Nothing that stays loses a byte. Of a
/// room that inherits from a typical the block of the typical is changed, and with it every room that
/// inherits. The document must be without errors.
std::vector<formats::DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                             const std::string& space, const choose::RoomControls& controls);

/// What adds gateways and repeaters to the proposal of a document, with ids of their own.
std::vector<formats::DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                             const choose::RelayProposal& relays);

/// What adds contacts to HVAC and what they tell to the proposal of a document, with ids of their own.
std::vector<formats::DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                             const choose::ContactProposal& contacts);

/// What puts load controllers that rooms share into the proposal of a document, with ids of their own, and
/// takes those out that they replace.
std::vector<formats::DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                             const choose::SharedControllers& shared);

}  // namespace halflight::projects
