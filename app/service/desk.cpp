#include "service/desk.hpp"

#include "base/hash.hpp"
#include "formats/weather_file.hpp"
#include "service/json.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include <fmt/format.h>

namespace halflight::service {

namespace {

/// Revisions and rooms that stay open. A room takes some tens of megabytes.
constexpr std::size_t kMostRevisions = 12;
constexpr std::size_t kMostRooms = 6;

/// Daylight through a year, for rooms that are worked on: some ten megabytes each. A study of many rooms
/// shares its skies among them and would only push out what is worked on.
constexpr std::size_t kScratchBytes = std::size_t{640} << 20;
constexpr std::size_t kFewSpaces = 3;

/// Files of a project in the store.
class KeptFiles final : public projects::OtherFiles {
 public:
  KeptFiles(const store::ProjectStore& store, std::string project)
      : store_(store), project_(std::move(project)) {}
  [[nodiscard]] Result<files::Bytes> read(const std::string& name) const override {
    if (const auto wrong = store::path_problem(name)) return tl::unexpected(Diagnostics{*wrong});
    auto kept = store_.file(project_, name);
    if (!kept) return tl::unexpected(std::move(kept.error()));
    if (!*kept)
      return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, name, "",
                                         "is not among the project's files", "add it to the project"}});
    return std::move((**kept).bytes);
  }
  [[nodiscard]] std::string shown(const std::string& name) const override { return name; }

 private:
  const store::ProjectStore& store_;
  std::string project_;
};

/// Of each space, also of those whose light comes through its inner glazing.
std::vector<Hash> contents(const projects::ProjectFiles& files) {
  const domain::Project& project = files.document.project();
  const std::vector<Hash> own = projects::years_content_keys(files);
  std::vector<Hash> all;
  for (std::size_t s = 0; s < own.size(); ++s) {
    KeyBuilder key;
    key.add(own[s]);
    for (const domain::Opening& opening : domain::light_openings(project.spaces[s]))
      for (std::size_t other = 0; other < own.size(); ++other)
        if (project.spaces[other].id == opening.borrows_from) key.add(own[other]);
    all.push_back(key.key());
  }
  return all;
}

}  // namespace

sim::StudyInputs OpenRevision::inputs() const {
  return projects::study_inputs(files, projects::years_content_keys(files));
}

std::optional<std::size_t> OpenRevision::space(const std::string& id) const {
  const std::vector<domain::Space>& spaces = files.document.project().spaces;
  for (std::size_t s = 0; s < spaces.size(); ++s)
    if (spaces[s].id == id) return s;
  return std::nullopt;
}

std::optional<Problem> error_in(const OpenRevision& revision) {
  for (const Diagnostic& d : revision.files.diagnostics)
    if (d.severity == Diagnostic::Severity::error)
      return Problem{Problem::Code::bad_request, d.problem, d.remedy, d.where};
  return std::nullopt;
}

/// A room as lit for one content; the mutex is held while it is lit and while somebody uses it.
struct Desk::LitRoom {
  std::string project;
  std::string space;
  Hash content;
  std::mutex mutex;
  Revision revision;  // that it was lit from; its project outlives the room
  std::unique_ptr<sim::LiveRoom> room;
  std::optional<Problem> problem;
  std::mutex places_mutex;
  std::map<std::size_t, std::shared_ptr<const sim::PhotosensorPlaces>> places;  // by daylight rule
};

Desk::Desk(store::ProjectStore& store, const Executors& executors, BlobStore& blobs)
    : executors_(executors), store_(store), blobs_(blobs), scratch_(kScratchBytes) {}
Desk::~Desk() = default;

Context Desk::context(std::size_t spaces) { return context_on(executors_.at_hand, spaces); }
Context Desk::background_context(std::size_t spaces) { return context_on(executors_.background, spaces); }

Context Desk::context_on(Executor& executor, std::size_t spaces) {
  Context context{executor, blobs_};
  context.stop = stop_.get_token();
  if (spaces > 0 && spaces <= kFewSpaces) context.scratch = &scratch_;
  return context;
}

std::unique_ptr<const projects::OtherFiles> Desk::files_of(const std::string& project) const {
  return std::make_unique<const KeptFiles>(store_, project);
}

Answer<Desk::Weather> Desk::weather(const std::string& project, const std::string& path) const {
  const auto bytes = files_of(project)->read(path);
  if (!bytes) return tl::unexpected(problem_of(Problem::Code::bad_request, bytes.error()));
  Weather weather;
  auto year = formats::read_weather(*bytes, path, &weather.warnings);
  if (!year) return tl::unexpected(problem_of(Problem::Code::bad_request, year.error()));
  weather.year = *std::move(year);
  weather.hash = hash_bytes(*bytes);
  return weather;
}

Answer<Revision> Desk::open(const std::string& project, std::int64_t number) {
  {
    const std::lock_guard lock(mutex_);
    for (auto it = revisions_.begin(); it != revisions_.end(); ++it)
      if ((*it)->project == project && (*it)->number == number) {
        revisions_.splice(revisions_.begin(), revisions_, it);
        return revisions_.front();
      }
  }
  const auto document = store_.document(project, number);
  if (!document) return tl::unexpected(problem_of(Problem::Code::storage, document.error()));
  if (!*document)
    return refuse(Problem::Code::not_found, fmt::format("there is no revision {} of {}", number, project),
                  "open the project anew");
  auto files = projects::read_project(**document, project, KeptFiles(store_, project));
  std::vector<Hash> content = contents(files);
  auto revision = std::make_shared<const OpenRevision>(
      OpenRevision{project, number, "", std::move(files), std::move(content)});
  put(revision);
  return Revision(revision);
}

Answer<Revision> Desk::what_if(const OpenRevision& revision, std::span<const formats::DocumentEdit> edits) {
  formats::ProjectDocument document = revision.files.document;
  if (const Diagnostics refused = document.apply(edits); !refused.empty())
    return tl::unexpected(problem_of(Problem::Code::bad_request, refused));
  auto files = projects::read_again(std::move(document), revision.files, KeptFiles(store_, revision.project));
  std::vector<Hash> content = contents(files);
  return Revision(std::make_shared<const OpenRevision>(OpenRevision{
      revision.project, revision.number, revision.design, std::move(files), std::move(content)}));
}

Answer<Revision> Desk::with_design(const OpenRevision& revision, const std::string& design) {
  const Json document = Json::parse(revision.files.document.text(), nullptr, false);
  const Json* const designs =
      document.is_object() && document.contains("designs") ? &document["designs"] : nullptr;
  if (designs != nullptr && designs->is_array())
    for (std::size_t d = 0; d < designs->size(); ++d) {
      const Json& one = (*designs)[d];
      if (!one.is_object() || one.value("id", Json()) != design || one.value("role", Json()) != "proposal")
        continue;
      using Operation = formats::DocumentEdit::Operation;
      const std::array<formats::DocumentEdit, 2> to_front = {
          formats::DocumentEdit{Operation::remove, fmt::format("/designs/{}", d), ""},
          formats::DocumentEdit{Operation::add, "/designs/0", text_of(one)}};
      const auto changed = what_if(revision, to_front);
      if (!changed) return changed;
      OpenRevision chosen = **changed;
      chosen.design = design;
      return Revision(std::make_shared<const OpenRevision>(std::move(chosen)));
    }
  return refuse(Problem::Code::not_found,
                fmt::format("revision {} has no proposal {}", revision.number, design), "open the building");
}

void Desk::put(Revision revision) {
  const std::lock_guard lock(mutex_);
  revisions_.push_front(std::move(revision));
  if (revisions_.size() > kMostRevisions) revisions_.pop_back();
}

std::shared_ptr<Desk::LitRoom> Desk::room_of(const Revision& revision, std::size_t space) {
  const std::string& id = revision->files.document.project().spaces[space].id;
  const std::lock_guard lock(mutex_);
  for (auto it = rooms_.begin(); it != rooms_.end(); ++it)
    if ((*it)->project == revision->project && (*it)->space == id &&
        (*it)->content == revision->content[space]) {
      rooms_.splice(rooms_.begin(), rooms_, it);
      return rooms_.front();
    }
  auto made = std::make_shared<LitRoom>();
  made->project = revision->project;
  made->space = id;
  made->content = revision->content[space];
  made->revision = revision;
  rooms_.push_front(made);
  if (rooms_.size() > kMostRooms) rooms_.pop_back();
  return made;
}

Answer<void> Desk::need_light(LitRoom& lit) {
  if (lit.problem) return tl::unexpected(*lit.problem);
  if (lit.room != nullptr) return {};
  const std::optional<std::size_t> index = lit.revision->space(lit.space);
  lit.problem = error_in(*lit.revision);
  if (lit.problem) return tl::unexpected(*lit.problem);
  try {
    auto made = sim::LiveRoom::make(lit.revision->inputs(), sim::StudyOptions{}, *index, context(1));
    if (!made) {
      lit.problem = problem_of(Problem::Code::bad_request, made.error());
      return tl::unexpected(*lit.problem);
    }
    lit.room = *std::move(made);
  } catch (const Cancelled&) {
    return refuse(Problem::Code::busy, "the service is ending", "start it again");
  }
  return {};
}

Answer<void> Desk::with_room(const Revision& revision, std::size_t space, const Use& use) {
  const std::shared_ptr<LitRoom> lit = room_of(revision, space);
  const std::lock_guard lock(lit->mutex);
  if (const auto made = need_light(*lit); !made) return made;
  use(*lit->room, *lit->revision);
  return {};
}

Answer<std::shared_ptr<const sim::PhotosensorPlaces>> Desk::photosensor_places(const Revision& revision,
                                                                               std::size_t space,
                                                                               std::size_t rule,
                                                                               const Context& context) {
  const std::shared_ptr<LitRoom> lit = room_of(revision, space);
  {
    const std::lock_guard lock(lit->mutex);
    if (const auto made = need_light(*lit); !made) return tl::unexpected(made.error());
  }
  {
    const std::lock_guard lock(lit->places_mutex);
    if (const auto known = lit->places.find(rule); known != lit->places.end()) return known->second;
  }
  auto found = lit->room->photosensor_places(rule, context);
  if (!found) return tl::unexpected(problem_of(Problem::Code::bad_request, found.error()));
  auto places = std::make_shared<const sim::PhotosensorPlaces>(*std::move(found));
  const std::lock_guard lock(lit->places_mutex);
  lit->places.emplace(rule, places);
  return places;
}

}  // namespace halflight::service
