#pragma once
#include "base/context.hpp"
#include "formats/project_json.hpp"
#include "projects/project_files.hpp"
#include "service/executors.hpp"
#include "service/problem.hpp"
#include "service/scratch_store.hpp"
#include "sim/live_room.hpp"
#include "sim/study.hpp"
#include "store/store.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <stop_token>
#include <string>
#include <vector>

namespace halflight::service {

/// A revision of a project with everything that it refers to, read.
struct OpenRevision {
  std::string project;
  std::int64_t number = 0;
  std::string design;  ///< the proposal that was chosen, or empty for the first
  projects::ProjectFiles files;
  std::vector<Hash> content;  ///< by space: all that its light and its years depend on

  [[nodiscard]] sim::StudyInputs inputs() const;
  /// Index of a space; nothing for an unknown id.
  [[nodiscard]] std::optional<std::size_t> space(const std::string& id) const;
};
using Revision = std::shared_ptr<const OpenRevision>;
/// The first error of its document, which says more than what a room would make of it; nothing without one.
std::optional<Problem> error_in(const OpenRevision& revision);

/// What the service has open: revisions that were read and rooms that were lit, the last few of each. Rooms
/// that a later revision leaves alone stay lit. Safe from any thread.
class Desk {
 public:
  /// All must outlive it.
  Desk(store::ProjectStore& store, const Executors& executors, BlobStore& blobs);
  ~Desk();

  /// Reads a revision, or gives it as read before.
  Answer<Revision> open(const std::string& project, std::int64_t number);
  /// The same document after edits that are not kept.
  Answer<Revision> what_if(const OpenRevision& revision, std::span<const formats::DocumentEdit> edits);
  /// The same document with one of its proposals as the first, which is the one that is lit and studied.
  Answer<Revision> with_design(const OpenRevision& revision, const std::string& design);
  /// A revision that was just kept, so that it need not be read again.
  void put(Revision revision);

  /// Lights a room, or takes it as lit before, and lets `use` have it alone.
  using Use = std::function<void(sim::LiveRoom&, const OpenRevision& lit_as)>;
  Answer<void> with_room(const Revision& revision, std::size_t space, const Use& use);

  /// Where a daylight rule's photosensor would hold the light how well (sim::LiveRoom); kept with the room.
  /// The room is free for others meanwhile. Throws Cancelled when `context` says so; `context`: as this desk
  /// gives.
  Answer<std::shared_ptr<const sim::PhotosensorPlaces>> photosensor_places(const Revision& revision,
                                                                           std::size_t space,
                                                                           std::size_t rule,
                                                                           const Context& context);

  /// The project's files, by path.
  [[nodiscard]] std::unique_ptr<const projects::OtherFiles> files_of(const std::string& project) const;
  /// A weather file of a project, read.
  struct Weather {
    domain::WeatherYear year;
    Hash hash;
    Diagnostics warnings;
  };
  [[nodiscard]] Answer<Weather> weather(const std::string& project, const std::string& path) const;

  /// Ends what is being lit; no room is lit any more.
  void stop() { stop_.request_stop(); }

  /// For what somebody waits for with the hand on the page; `spaces`: how many at once.
  [[nodiscard]] Context context(std::size_t spaces);
  /// For what takes longer, such as a study, and must not hold up the former.
  [[nodiscard]] Context background_context(std::size_t spaces);

 private:
  struct LitRoom;
  std::shared_ptr<LitRoom> room_of(const Revision& revision, std::size_t space);
  /// Lights it if it is not lit; its mutex is held.
  Answer<void> need_light(LitRoom& lit);

  Context context_on(Executor& executor, std::size_t spaces);

  Executors executors_;
  store::ProjectStore& store_;
  BlobStore& blobs_;
  ScratchStore scratch_;
  std::stop_source stop_;
  std::mutex mutex_;
  std::list<Revision> revisions_;              // the last used first
  std::list<std::shared_ptr<LitRoom>> rooms_;  // the last used first
};

}  // namespace halflight::service
