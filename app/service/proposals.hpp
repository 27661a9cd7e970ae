#pragma once
#include "choose/room_proposals.hpp"
#include "service/desk.hpp"
#include "service/json.hpp"
#include "service/problem.hpp"

#include <cstddef>
#include <deque>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

// Control designs for a room (docs/methods/proposals.md), found, kept for a while and put into a document.

namespace halflight::service {

/// The proposals for one room, as they were found.
struct KeptProposals {
  std::string id;  ///< of what they rest on: equal questions have equal ids
  std::string project;
  std::string space;
  std::set<choose::Part> kept;
  int scrambles = 0;
  choose::RoomProposals found;
};

/// Proposals are found for one room after another; the last few are kept. Safe from any thread.
class Proposals {
 public:
  explicit Proposals(Desk& desk) : desk_(desk) {}

  /// Finds them, or gives them as found before; waits while those of another room are being found. Refused
  /// where nothing is free, nothing is lit, or the document has an error. Throws Cancelled when `context`
  /// says so.
  Answer<std::shared_ptr<const KeptProposals>> find(const Revision& revision, std::size_t space,
                                                    const std::set<choose::Part>& kept,
                                                    const Context& context);
  /// Those that were found and are still kept; nothing for an unknown id.
  [[nodiscard]] std::shared_ptr<const KeptProposals> known(const std::string& id) const;

 private:
  Desk& desk_;
  std::timed_mutex working_;
  mutable std::mutex mutex_;
  std::deque<std::shared_ptr<const KeptProposals>> kept_;  // the last found first
};

/// The document has no proposal whose controls could be chosen.
Problem no_proposal();
/// Why no proposals can be found for a room whose parts `kept` stay; nothing where they can.
std::optional<Problem> why_none(const OpenRevision& revision, std::size_t space,
                                const std::set<choose::Part>& kept);

/// What `keep=occupancy,stations` names; `none` alone keeps nothing. Errors: another word.
Answer<std::set<choose::Part>> parts_named(std::string_view list);
/// Nothing for another word.
std::optional<choose::Part> part_named(std::string_view name);

Json names_of(const std::set<choose::Part>& parts);
/// Edits as the pages send them back.
Json to_json(const std::vector<formats::DocumentEdit>& edits);

/// As the page compares and draws them (schema/service.openapi.json).
Answer<Json> to_json(Desk& desk, const Revision& revision, const KeptProposals& proposals);

/// What puts a design, or some of its parts, into a revision, which may be later than the one that the design
/// was found for. Refused where the room has changed so that it no longer fits.
Answer<Json> edits_of_design(Desk& desk, const Revision& revision, const KeptProposals& proposals,
                             std::size_t design, const std::set<choose::Part>& parts);

}  // namespace halflight::service
