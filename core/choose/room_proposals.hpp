#pragma once
#include "choose/daylight_part.hpp"
#include "choose/first_cost.hpp"
#include "choose/front.hpp"
#include "choose/room_design.hpp"
#include "sim/design_trials.hpp"

#include <array>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

// Complete control designs for a room, on the line between cost and saving (docs/methods/proposals.md).

namespace halflight::choose {

/// The document's own controls of a room with code fixes.
struct MendedControls {
  RoomControls controls;
  std::vector<std::string> why;  ///< each fix in a sentence
};

/// What is asked of the proposals for a room.
struct ProposalWish {
  std::set<Part> kept;  ///< that stay as the document has them
  sim::StudyOptions options;
  /// Where the document's own design may not be proposed: the same with the code fixes that its findings
  /// suggest, which are tried like any design; nothing where there are none. May be empty.
  std::function<std::optional<MendedControls>(const std::vector<results::Finding>&)> mend{};
};

/// What a design of the front may be the first in.
enum class Pick {
  least_cost,
  most_for_the_money,  ///< the knee
  least_energy,
  least_light_taken,  ///< from people
};
inline constexpr std::array kPicks = {Pick::least_cost, Pick::most_for_the_money, Pick::least_energy,
                                      Pick::least_light_taken};
/// "least cost", ...
const char* name_of(Pick pick);

struct RoomProposals {
  std::string space;
  std::vector<Part> free;           ///< that were decided here
  std::vector<RoomDesign> designs;  ///< that may be proposed; the document's own, if it may, is the first
  std::vector<RoomDesign> refused;
  Front front;           ///< of `designs`; empty where none may be proposed
  bool has_own = false;  ///< the document's own design is among `designs`
  sim::DesignTrial as_found;
  sim::DesignTrial new_luminaires;  ///< the proposal's luminaires controlled as those that were found
  FirstCost luminaires;             ///< what these cost
  DaylightChoice daylight;
  /// What the front offers, each once: least cost, knee, least energy, the fewest times that people lose the
  /// light.
  struct Offer {
    std::size_t design = 0;    ///< index in `designs`
    std::vector<Pick> picked;  ///< what it is of the front
  };
  std::vector<Offer> offers;  ///< by cost
};

/// Errors: no proposal in the project, the space cannot be lit. Throws Cancelled.
Result<RoomProposals> propose_room(const sim::StudyInputs& inputs, std::size_t space,
                                   const ProposalWish& wish, const Context& context,
                                   lightresponse::StageLog& log);

/// Saving of a design over another, by replicate, as fraction of what the other draws.
results::Estimate saving_of(const sim::DesignTrial& design, const sim::DesignTrial& against, int scrambles);

}  // namespace halflight::choose
