#pragma once
#include "service/building_proposals.hpp"
#include "service/desk.hpp"
#include "service/notices.hpp"
#include "service/problem.hpp"
#include "service/proposals.hpp"
#include "service/runs.hpp"
#include "store/store.hpp"

#include <atomic>
#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>

namespace halflight::service {

/// What every request may need. Safe from any thread.
struct Workbench {
  Workbench(store::ProjectStore& its_store, const Executors& executors, BlobStore& blobs)
      : store(its_store),
        desk(store, executors, blobs),
        runs(desk),
        proposals(desk),
        building_proposals(desk, proposals) {}

  store::ProjectStore& store;
  Desk desk;
  Runs runs;
  Proposals proposals;
  BuildingProposals building_proposals;
  Notices notices;
  std::atomic<int> streams = 0;  ///< of events, open now
  std::atomic<bool> stopping = false;

  Answer<store::Project> project(const std::string& id);
  /// A revision by the text of its number; the newest for an empty text. `design`: the proposal that is
  /// meant, the first for an empty text.
  Answer<Revision> revision(const std::string& id, const std::string& number, const std::string& design = {});
};

/// Index of a room.
Answer<std::size_t> space_of(const Revision& revision, const std::string& id);

/// What the store gave, or why it could not.
template <class T>
Answer<T> stored(Result<T> result) {
  if (!result) return tl::unexpected(problem_of(Problem::Code::storage, result.error()));
  return std::move(*result);
}

/// Seconds since 1970, UTC, by the machine's clock.
std::int64_t now_s();
/// "2026-03-17T14:35:00Z".
std::string iso_time(std::int64_t seconds_since_1970);

Json to_json(const store::Revision& revision);
Json to_json(const store::Project& project);

}  // namespace halflight::service
