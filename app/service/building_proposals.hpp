#pragma once
#include "choose/building_line.hpp"
#include "projects/building_proposals.hpp"
#include "service/desk.hpp"
#include "service/json.hpp"
#include "service/problem.hpp"
#include "service/proposals.hpp"

#include <cstddef>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

// The rooms of a building on one line between first cost and energy, found, kept for a while and put into a
// document (docs/methods/proposals.md).

namespace halflight::service {

/// The line of a building, as it was found.
struct KeptLine {
  std::string id;  ///< of what it rests on: equal questions have equal ids
  std::string project;
  std::optional<std::set<choose::Part>> kept;  ///< nothing: what each room has decided
  /// The proposals of each set of rooms that get one design, and the same as the line has them.
  std::vector<std::shared_ptr<const KeptProposals>> proposals;
  std::vector<projects::RoomsFound> rooms;
  struct Without {
    std::vector<std::string> spaces;
    std::string because;
  };
  std::vector<Without> without;  ///< rooms that are not on the line
  choose::BuildingLine line;
  int scrambles = 0;
};

/// How far the search has come.
struct RoomAtWork {
  std::vector<std::string> spaces;  ///< ids of rooms that are alike, whose proposals are being found
  std::size_t done = 0;             ///< sets of rooms that are done
  std::size_t total = 0;
};

/// Lines are found from the proposals of each room; the last few are kept. Safe from any thread.
class BuildingProposals {
 public:
  BuildingProposals(Desk& desk, Proposals& proposals) : desk_(desk), proposals_(proposals) {}

  /// Finds the proposals of one set of rooms after another, or takes those that are kept. Rooms of one
  /// typical with those of `wanted` come along, for what one gets they all get. Rooms without proposals are
  /// told of with the reason; refused only where the document has an error or no proposal. `at_work` is
  /// called before each set of rooms. Throws Cancelled when `context` says so; what was found until then is
  /// kept.
  Answer<std::shared_ptr<const KeptLine>> find(const Revision& revision, std::span<const std::size_t> wanted,
                                               const std::optional<std::set<choose::Part>>& kept,
                                               const Context& context,
                                               const std::function<void(const RoomAtWork&)>& at_work);
  /// One that was found and is still kept; nothing for an unknown id.
  [[nodiscard]] std::shared_ptr<const KeptLine> known(const std::string& id) const;

 private:
  Desk& desk_;
  Proposals& proposals_;
  mutable std::mutex mutex_;
  std::deque<std::shared_ptr<const KeptLine>> kept_;  // the last found first
};

/// Why no line can be found for a revision; nothing where one can.
std::optional<Problem> why_no_line(const OpenRevision& revision);

/// As the page draws it (schema/service.openapi.json).
Json to_json(const Revision& revision, const KeptLine& line);

/// What puts the designs after so many steps into a revision, which may be later than the one that the line
/// was found for, with the gateways, repeaters and contacts that they need. `steps`: no more than there are.
/// Refused where a room has changed so that its design no longer fits.
Answer<Json> edits_of_line(Desk& desk, const Revision& revision, const KeptLine& line, std::size_t steps);

}  // namespace halflight::service
