#pragma once
#include "choose/building_line.hpp"
#include "choose/hvac_contacts.hpp"
#include "choose/relay_network.hpp"
#include "choose/room_proposals.hpp"
#include "choose/shared_controllers.hpp"
#include "formats/project_json.hpp"
#include "projects/project_files.hpp"

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

// Proposals for the rooms of a document together: for which rooms they are found, the building's line, and
// the document with the designs that are taken.

namespace halflight::projects {

/// Why nothing can be chosen for a room.
enum class NoChoice { no_luminaires, all_kept };
/// Whose parts `kept` stay; nothing where something can be chosen.
std::optional<NoChoice> why_no_choice(const domain::Project& project, const domain::Design& proposal,
                                      const domain::Space& space, const std::set<choose::Part>& kept);
/// "1.06 has no luminaires to control", ...
std::string in_words(NoChoice why, const domain::Space& space);

/// Rooms that get one design: a room by itself, or several that inherit from one typical.
struct RoomsAlike {
  std::vector<std::size_t> spaces;  ///< indices; the first stands for all
  std::set<choose::Part> kept;      ///< parts of their controls that stay
};
/// Which rooms have something to choose, and why the others have not.
struct RoomsWithChoice {
  std::vector<RoomsAlike> rooms;
  struct Without {
    std::vector<std::size_t> spaces;
    std::string because;
  };
  std::vector<Without> without;
};
/// `wanted`: indices of spaces, each once. `kept`: what stays in every room; nothing: what each has decided.
RoomsWithChoice rooms_with_choice(const domain::Project& project, const domain::Design& proposal,
                                  std::span<const std::size_t> wanted,
                                  const std::optional<std::set<choose::Part>>& kept);

/// What is asked for a room by whoever asks: parts of `kept` stay, the document's own design is mended where
/// codes say how, and trials run through the building-years of trials. `files` must outlive it.
choose::ProposalWish proposal_wish(const ProjectFiles& files, std::size_t space, std::set<choose::Part> kept,
                                   sim::StudyOptions options);

/// Looks for designs of several rooms at once and hands them over in the order of the rooms, each as soon as
/// those before it are done, one at a time from any thread. Throws Cancelled.
void propose_rooms(const ProjectFiles& files, std::span<const RoomsAlike> rooms,
                   const sim::StudyOptions& options, const Context& context, lightresponse::StageLog& log,
                   const std::function<void(const RoomsAlike&, Result<choose::RoomProposals>)>& take);

/// Rooms that are alike, ids, and what was found for them: at least one design.
struct RoomsFound {
  std::vector<std::string> ids;
  std::shared_ptr<const choose::RoomProposals> found;
};
/// A design for a room and those alike.
struct DesignToTake {
  std::vector<std::string> spaces;  ///< ids; the first is the one whose controls these are
  choose::RoomControls controls;
  bool may_share = false;  ///< its load controllers were free to choose, and may be those of several rooms
};
/// One of the designs that were found, to be taken; its controllers may be shared where they were free.
DesignToTake design_to_take(const RoomsFound& rooms, std::size_t design);
/// `rooms` must outlive it.
std::vector<choose::RoomsOnLine> on_line(std::span<const RoomsFound> rooms);

/// What the designs at the knee of the building's line are called.
inline constexpr const char* kMostForTheBuildingsMoney = "most for the building's money";
/// The ends of a line and its knee, each once, by how many steps they take; no point of a line without rooms.
std::vector<std::pair<const char*, std::size_t>> points_of(const choose::BuildingLine& line);

/// The line as a program reads it (docs/formats/proposals.md); null without rooms.
nlohmann::json building_json(std::span<const RoomsFound> rooms, const choose::BuildingLine& line,
                             int scrambles);

/// A document with designs in its rooms and what these need of the building.
struct TakenDesigns {
  formats::ProjectDocument document;
  std::vector<formats::DocumentEdit> edits;       ///< that make it, each on what the one before has left
  std::vector<choose::SharedControllers> shared;  ///< by storey
  std::optional<choose::RelayProposal> relays;    ///< nothing where no device talks by radio
  Diagnostics no_relays;                          ///< why gateways and repeaters could not be proposed
  choose::ContactProposal contacts;
};
/// Without any designs the document stays as it is. Load controllers that rooms share, gateways, repeaters
/// and contacts to HVAC come as the document then needs them. `files`: of the document, perhaps before other
/// edits. Errors: of shared_controllers; the document refuses an edit, which is a fault of the program.
Result<TakenDesigns> take_designs(const formats::ProjectDocument& document, const ProjectFiles& files,
                                  std::span<const DesignToTake> designs);

/// Load controllers that rooms share, as a program reads them.
nlohmann::json shared_json(std::span<const choose::SharedControllers> shared);
/// Gateways and repeaters that are proposed, as a program reads them.
nlohmann::json relays_json(const choose::RelayProposal& relays);
/// What is to tell HVAC of rooms, as a program reads it.
nlohmann::json contacts_json(const choose::ContactProposal& contacts);

}  // namespace halflight::projects
