#include "service/long_work.hpp"
#include "service/proposals.hpp"
#include "service/routes.hpp"

#include <algorithm>
#include <memory>

// Control designs for a room, and what puts one of them into the document.

namespace halflight::service {

namespace {

/// The parts that stay: those that are named, else what the document has decided.
Answer<std::set<choose::Part>> kept_parts(const Request& request, const OpenRevision& revision,
                                          std::size_t space) {
  if (request.has_param("keep")) return parts_named(request.get_param_value("keep"));
  const domain::Project& project = revision.files.document.project();
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  if (proposal == nullptr) return std::set<choose::Part>();
  return choose::decided_parts(project, *proposal, project.spaces[space].id);
}

/// A list of parts; none where it is absent.
std::set<choose::Part> parts_of(const Json* list, Fields& fields) {
  std::set<choose::Part> parts;
  if (list == nullptr) return parts;
  const bool fits =
      list->is_array() && !list->empty() && std::all_of(list->begin(), list->end(), [&](const Json& name) {
        const auto part = name.is_string() ? part_named(name.get<std::string>()) : std::nullopt;
        if (part) parts.insert(*part);
        return part.has_value();
      });
  if (!fits) fields.wrong("parts", "is no list of parts of a room's controls");
  return parts;
}

Answer<Json> edits_of_proposals(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t number = fields.whole("revision");
  const std::string id = fields.text("proposals");
  const std::int64_t design = fields.whole("design");
  const auto chosen = parts_of(fields.any("parts"), fields);
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto opened = workbench.revision(request.matches[1], std::to_string(number));
  if (!opened) return tl::unexpected(opened.error());
  const auto index = space_of(*opened, request.matches[2]);
  if (!index) return tl::unexpected(index.error());
  const auto proposals = workbench.proposals.known(id);
  if (proposals == nullptr || proposals->project != (*opened)->project ||
      proposals->space != request.matches[2].str())
    return refuse(Problem::Code::not_found, "these proposals are not kept any more",
                  "ask for proposals again", "/proposals");
  if (design < 0 || static_cast<std::size_t>(design) >= proposals->found.designs.size())
    return refuse(Problem::Code::bad_request, "\"design\" is no number of a design that may be proposed",
                  "count the designs of the proposals from 0", "/design");
  std::set<choose::Part> parts(proposals->found.free.begin(), proposals->found.free.end());
  for (const choose::Part part : chosen)
    if (!parts.contains(part))
      return refuse(Problem::Code::bad_request,
                    fmt::format("\"{}\" was not free to choose when these were found", choose::name_of(part)),
                    "ask for proposals with that part free", "/parts");
  if (!chosen.empty()) parts = chosen;
  return edits_of_design(workbench.desk, *opened, *proposals, static_cast<std::size_t>(design), parts);
}

}  // namespace

void add_proposal_routes(httplib::Server& server, Workbench& workbench) {
  server.Get(std::string(kRoom) + "/proposals", [&workbench](const Request& request, Response& response) {
    const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"));
    if (!opened) return send(response, opened.error());
    const auto index = space_of(*opened, request.matches[2]);
    if (!index) return send(response, index.error());
    const auto kept = kept_parts(request, **opened, *index);
    if (!kept) return send(response, kept.error());
    if (const auto why = why_none(**opened, *index, *kept)) return send(response, *why);
    const auto find = [&workbench, revision = *opened, space = *index, kept = *kept](
                          const Context& context, LongWork&) -> Answer<Json> {
      const auto found = workbench.proposals.find(revision, space, kept, context);
      if (!found) return tl::unexpected(found.error());
      return to_json(workbench.desk, revision, **found);
    };
    stream(workbench, response,
           [work = std::make_shared<LongWork>(workbench.desk.background_context(1), true, find)] {
             return work->next();
           });
  });
  server.Post(std::string(kRoom) + "/proposals/edits",
              [&workbench](const Request& request, Response& response) {
                respond(response, [&] { return edits_of_proposals(workbench, request); });
              });
}

}  // namespace halflight::service
