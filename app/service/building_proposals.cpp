#include "service/building_proposals.hpp"

#include "base/hash.hpp"
#include "service/request.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace halflight::service {

namespace {

using choose::Part;

constexpr std::size_t kMostKept = 4;

/// Hash of all that a line depends on, as text.
std::string id_of(const OpenRevision& revision, const projects::RoomsWithChoice& choice,
                  const std::optional<std::set<Part>>& kept) {
  KeyBuilder key;
  key.add(hash_bytes(files::as_bytes(revision.files.document.text())));
  key.add(revision.project);
  const std::vector<domain::Space>& spaces = revision.files.document.project().spaces;
  const auto add_rooms = [&](const std::vector<std::size_t>& rooms) {
    for (const std::size_t s : rooms) {
      key.add(spaces[s].id);
      key.add(revision.content[s]);
    }
  };
  for (const projects::RoomsAlike& room : choice.rooms) add_rooms(room.spaces);
  for (const projects::RoomsWithChoice::Without& room : choice.without) add_rooms(room.spaces);
  key.add(std::string(kept ? "kept" : "as decided"));
  if (kept)
    for (const Part part : *kept) key.add(std::string(choose::name_of(part)));
  return key.key().hex().substr(0, 24);
}

std::vector<std::string> ids_of(const domain::Project& project, const std::vector<std::size_t>& spaces) {
  std::vector<std::string> ids;
  for (const std::size_t s : spaces) ids.push_back(project.spaces[s].id);
  return ids;
}

/// With all that are alike with one of them, in the order of the document.
std::vector<std::size_t> with_alike(const domain::Project& project, const domain::Design& proposal,
                                    std::span<const std::size_t> wanted) {
  std::set<std::string> ids;
  for (const std::size_t s : wanted)
    for (std::string& id : choose::rooms_alike(project, proposal, project.spaces[s]))
      ids.insert(std::move(id));
  std::vector<std::size_t> all;
  for (std::size_t s = 0; s < project.spaces.size(); ++s)
    if (ids.contains(project.spaces[s].id)) all.push_back(s);
  return all;
}

/// Why none of the designs that were tried may be proposed.
std::string why_refused(const choose::RoomProposals& found) {
  if (found.refused.empty()) return "there is no design to try";
  return fmt::format("none of {} designs may be proposed: {}", found.refused.size(),
                     found.refused.front().refused.front());
}

}  // namespace

std::optional<Problem> why_no_line(const OpenRevision& revision) {
  if (const auto error = error_in(revision)) return error;
  if (domain::find_design(revision.files.document.project(), domain::Design::Role::proposal) == nullptr)
    return no_proposal();
  return std::nullopt;
}

Answer<std::shared_ptr<const KeptLine>> BuildingProposals::find(
    const Revision& revision, std::span<const std::size_t> wanted, const std::optional<std::set<Part>>& kept,
    const Context& context, const std::function<void(const RoomAtWork&)>& at_work) {
  if (const auto why = why_no_line(*revision)) return tl::unexpected(*why);
  const domain::Project& project = revision->files.document.project();
  const domain::Design& proposal = *domain::find_design(project, domain::Design::Role::proposal);
  const projects::RoomsWithChoice choice =
      projects::rooms_with_choice(project, proposal, with_alike(project, proposal, wanted), kept);
  KeptLine made;
  made.id = id_of(*revision, choice, kept);
  if (auto before = known(made.id)) return before;
  made.project = revision->project;
  made.kept = kept;
  for (const projects::RoomsWithChoice::Without& room : choice.without)
    made.without.push_back({ids_of(project, room.spaces), room.because});
  for (std::size_t r = 0; r < choice.rooms.size(); ++r) {
    const projects::RoomsAlike& room = choice.rooms[r];
    std::vector<std::string> ids = ids_of(project, room.spaces);
    at_work({ids, r, choice.rooms.size()});
    const auto found = proposals_.find(revision, room.spaces.front(), room.kept, context);
    if (!found) {
      made.without.push_back({std::move(ids), found.error().problem});
    } else if ((*found)->found.designs.empty()) {
      made.without.push_back({std::move(ids), why_refused((*found)->found)});
    } else {
      made.proposals.push_back(*found);
      made.rooms.push_back(
          {std::move(ids), std::shared_ptr<const choose::RoomProposals>(*found, &(*found)->found)});
      made.scrambles = (*found)->scrambles;
    }
  }
  made.line = choose::building_line(projects::on_line(made.rooms));
  auto line = std::make_shared<const KeptLine>(std::move(made));
  const std::lock_guard lock(mutex_);
  kept_.push_front(line);
  if (kept_.size() > kMostKept) kept_.pop_back();
  return line;
}

std::shared_ptr<const KeptLine> BuildingProposals::known(const std::string& id) const {
  const std::lock_guard lock(mutex_);
  for (const auto& one : kept_)
    if (one->id == id) return one;
  return nullptr;
}

Json to_json(const Revision& revision, const KeptLine& line) {
  Json without = Json::array();
  for (const KeptLine::Without& room : line.without)
    without.push_back({{"spaces", room.spaces}, {"because", room.because}});
  const Json building = projects::building_json(line.rooms, line.line, line.scrambles);
  return {{"proposals", line.id},
          {"revision", revision->number},
          {"kept", line.kept ? names_of(*line.kept) : Json()},
          {"currency", revision->files.document.project().estimate.currency},
          {"without", std::move(without)},
          {"building", building}};
}

Answer<Json> edits_of_line(Desk& desk, const Revision& revision, const KeptLine& line, std::size_t steps) {
  if (const auto why = why_no_line(*revision)) return tl::unexpected(*why);
  const domain::Project& project = revision->files.document.project();
  const domain::Design& proposal = *domain::find_design(project, domain::Design::Role::proposal);
  const std::vector<std::size_t> designs = line.line.after(steps);
  std::vector<projects::DesignToTake> taken;
  for (std::size_t r = 0; r < line.rooms.size(); ++r) {
    const std::string& id = line.rooms[r].ids.front();
    const choose::RoomProposals& found = *line.rooms[r].found;
    if (!revision->space(id))
      return refuse(Problem::Code::bad_request, fmt::format("there is no room {} any more", id),
                    "ask for proposals again");
    taken.push_back(projects::design_to_take(line.rooms[r], designs[r]));
    taken.back().controls =
        choose::with_parts_of(choose::controls_of(project, proposal, id), taken.back().controls,
                              {found.free.begin(), found.free.end()});
  }
  const auto with = projects::take_designs(revision->files.document, revision->files, taken);
  const auto no_longer_fits = [](const Problem& why) {
    return refuse(Problem::Code::bad_request,
                  fmt::format("rooms have changed, and the designs no longer fit them: {}", why.problem),
                  "ask for proposals again", why.where);
  };
  if (!with) return no_longer_fits(problem_of(Problem::Code::bad_request, with.error()));
  const auto becomes = desk.what_if(*revision, with->edits);
  if (!becomes) return no_longer_fits(becomes.error());
  if (const auto error = error_in(**becomes)) return no_longer_fits(*error);
  Json trouble = with->no_relays.empty() ? Json() : Json(with->no_relays.front().problem);
  const Json radio = with->relays ? Json(projects::relays_json(*with->relays)) : Json();
  const Json hvac = with->contacts.told.empty() ? Json() : Json(projects::contacts_json(with->contacts));
  return Json{{"revision", revision->number},
              {"steps", steps},
              {"shared_controllers", projects::shared_json(with->shared)},
              {"radio", radio},
              {"no_radio", std::move(trouble)},
              {"hvac", hvac},
              {"edits", to_json(with->edits)}};
}

}  // namespace halflight::service
