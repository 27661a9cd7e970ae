#include "service/proposals.hpp"

#include "base/hash.hpp"
#include "projects/building_proposals.hpp"
#include "projects/proposal_edits.hpp"
#include "projects/room_proposals_json.hpp"
#include "service/room_json.hpp"

#include <algorithm>
#include <chrono>
#include <string_view>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::service {

namespace {

using choose::Part;
using choose::RoomDesign;

/// The rooms of a building, so that a search of them all goes on where it was stopped; a few MB each at most.
constexpr std::size_t kMostKept = 40;

/// Hash of all that proposals depend on, as text.
std::string id_of(const OpenRevision& revision, std::size_t space, const std::set<Part>& kept) {
  KeyBuilder key;
  key.add(hash_bytes(files::as_bytes(revision.files.document.text())));
  key.add(revision.content[space]);
  key.add(revision.project);
  key.add(revision.files.document.project().spaces[space].id);
  for (const Part part : kept) key.add(std::string(choose::name_of(part)));
  return key.key().hex().substr(0, 24);
}

/// The revision with other controls in a room, and the edits that make it so.
struct Changed {
  std::vector<formats::DocumentEdit> edits;
  Revision revision;
};
Answer<Changed> changed(Desk& desk, const Revision& revision, const std::string& space,
                        const choose::RoomControls& controls) {
  Changed made;
  made.edits = projects::edits_for(revision->files.document, space, controls);
  const auto edited = desk.what_if(*revision, made.edits);
  if (!edited) return tl::unexpected(edited.error());
  if (const auto error = error_in(**edited)) return tl::unexpected(*error);
  made.revision = *edited;
  return made;
}

}  // namespace

Json names_of(const std::set<Part>& parts) {
  Json names = Json::array();
  for (const Part part : parts) names.push_back(choose::name_of(part));
  return names;
}

Json to_json(const std::vector<formats::DocumentEdit>& edits) {
  using Operation = formats::DocumentEdit::Operation;
  Json steps = Json::array();
  for (const formats::DocumentEdit& edit : edits) {
    Json step = {{"op", edit.operation == Operation::add       ? "add"
                        : edit.operation == Operation::replace ? "replace"
                                                               : "remove"},
                 {"path", edit.pointer}};
    if (edit.operation != Operation::remove) step["value"] = Json::parse(edit.json);
    steps.push_back(std::move(step));
  }
  return steps;
}

Problem no_proposal() {
  return {Problem::Code::bad_request, "the project has no proposal",
          "add a design whose role is \"proposal\"", "/designs"};
}

std::optional<Problem> why_none(const OpenRevision& revision, std::size_t space, const std::set<Part>& kept) {
  if (const auto error = error_in(revision)) return error;
  const domain::Project& project = revision.files.document.project();
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  if (proposal == nullptr) return no_proposal();
  const domain::Space& room = project.spaces[space];
  if (const auto why = projects::why_no_choice(project, *proposal, room, kept)) {
    const bool is_dark = *why == projects::NoChoice::no_luminaires;
    return Problem{Problem::Code::bad_request, projects::in_words(*why, room),
                   is_dark ? "put luminaires into the room first" : "free a part", is_dark ? "" : "/keep"};
  }
  return std::nullopt;
}

std::optional<Part> part_named(std::string_view name) {
  const auto part = std::find_if(choose::kParts.begin(), choose::kParts.end(),
                                 [&](Part one) { return choose::name_of(one) == name; });
  return part == choose::kParts.end() ? std::nullopt : std::optional(*part);
}

Answer<std::set<Part>> parts_named(std::string_view list) {
  std::set<Part> parts;
  if (list == "none") return parts;
  for (;;) {
    const std::string_view name = list.substr(0, list.find(','));
    const auto part = part_named(name);
    if (!part) {
      std::vector<std::string> known;
      for (const Part one : choose::kParts) known.emplace_back(choose::name_of(one));
      return refuse(Problem::Code::bad_request, fmt::format("\"{}\" is no part of a room's controls", name),
                    fmt::format("give some of {} with commas between them, or none", fmt::join(known, ", ")),
                    "/keep");
    }
    parts.insert(*part);
    if (name.size() == list.size()) return parts;
    list.remove_prefix(name.size() + 1);
  }
}

Answer<std::shared_ptr<const KeptProposals>> Proposals::find(const Revision& revision, std::size_t space,
                                                             const std::set<Part>& kept,
                                                             const Context& context) {
  using namespace std::chrono_literals;
  if (const auto why = why_none(*revision, space, kept)) return tl::unexpected(*why);
  const std::string id = id_of(*revision, space, kept);
  if (auto before = known(id)) return before;
  std::unique_lock turn(working_, std::defer_lock);
  while (!turn.try_lock_for(100ms)) {
    context.report("waits for other proposals", 0, 0);
    context.check_cancelled();
  }
  if (auto before = known(id)) return before;

  const choose::ProposalWish wish = projects::proposal_wish(revision->files, space, kept, {});
  lightresponse::StageLog log;
  auto found = choose::propose_room(revision->inputs(), space, wish, context, log);
  if (!found) return tl::unexpected(problem_of(Problem::Code::bad_request, found.error()));
  auto made = std::make_shared<const KeptProposals>(
      KeptProposals{id, revision->project, revision->files.document.project().spaces[space].id, kept,
                    wish.options.scrambles, *std::move(found)});
  const std::lock_guard lock(mutex_);
  kept_.push_front(made);
  if (kept_.size() > kMostKept) kept_.pop_back();
  return made;
}

std::shared_ptr<const KeptProposals> Proposals::known(const std::string& id) const {
  const std::lock_guard lock(mutex_);
  for (const auto& one : kept_)
    if (one->id == id) return one;
  return nullptr;
}

Answer<Json> to_json(Desk& desk, const Revision& revision, const KeptProposals& proposals) {
  const domain::Project& project = revision->files.document.project();
  const choose::RoomProposals& found = proposals.found;
  const std::size_t index = *revision->space(proposals.space);
  // There is one where something has been proposed.
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  Json json = projects::proposals_json(choose::rooms_alike(project, *proposal, project.spaces[index]), found,
                                       proposals.scrambles);
  json["proposals"] = proposals.id;
  json["revision"] = revision->number;
  json["room"] = proposals.space;
  json["kept"] = names_of(proposals.kept);
  json["free"] = names_of({found.free.begin(), found.free.end()});
  json["currency"] = project.estimate.currency;
  json["own"] = found.has_own ? Json(0) : Json();
  std::vector<std::size_t> shown = found.front.members;
  if (found.has_own && std::find(shown.begin(), shown.end(), 0) == shown.end()) shown.push_back(0);
  Json drawn = Json::array();
  for (const std::size_t i : shown) {
    const auto with = changed(desk, revision, proposals.space, found.designs[i].controls);
    if (!with) return tl::unexpected(with.error());
    const Json room = room_json(with->revision->files, index);
    drawn.push_back({{"design", i},
                     {"devices", room["devices"]},
                     {"groups", room["groups"]},
                     {"reach", room["reach"]},
                     {"sentence", room["sequence"].is_null() ? Json::array() : room["sequence"]["sentence"]},
                     {"edits", to_json(with->edits)}});
  }
  json["drawn"] = std::move(drawn);
  return json;
}

Answer<Json> edits_of_design(Desk& desk, const Revision& revision, const KeptProposals& proposals,
                             std::size_t design, const std::set<Part>& parts) {
  if (const auto error = error_in(*revision)) return tl::unexpected(*error);
  const domain::Project& project = revision->files.document.project();
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  const RoomDesign& chosen = proposals.found.designs[design];
  if (proposal == nullptr)
    return refuse(Problem::Code::bad_request, "the project has no proposal any more",
                  "ask for proposals again");
  const choose::RoomControls controls =
      choose::with_parts_of(choose::controls_of(project, *proposal, proposals.space), chosen.controls, parts);
  const auto with = changed(desk, revision, proposals.space, controls);
  if (!with)
    return refuse(Problem::Code::bad_request,
                  fmt::format("the room has changed, and \"{}\" no longer fits it: {}", chosen.name,
                              with.error().problem),
                  "ask for proposals again", with.error().where);
  return Json{{"revision", revision->number},
              {"design", design},
              {"parts", names_of(parts)},
              {"edits", to_json(with->edits)}};
}

}  // namespace halflight::service
