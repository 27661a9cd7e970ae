#include "service/building_proposals.hpp"
#include "service/long_work.hpp"
#include "service/routes.hpp"

#include <memory>
#include <string_view>

// The line of a building between first cost and energy, and what puts its designs into the document.

namespace halflight::service {

namespace {

/// What a request asks about: a revision, its rooms, and what stays.
struct Asked {
  Revision revision;
  std::vector<std::size_t> spaces;
  std::optional<std::set<choose::Part>> kept;  ///< nothing: what each room has decided
};

/// The rooms of `rooms=101,102`; all where nothing is named.
Answer<std::vector<std::size_t>> rooms_named(const Request& request, const Revision& revision) {
  std::vector<std::size_t> spaces;
  if (!request.has_param("rooms")) {
    for (std::size_t s = 0; s < revision->files.document.project().spaces.size(); ++s) spaces.push_back(s);
    return spaces;
  }
  const std::string list = request.get_param_value("rooms");
  for (std::string_view rest = list;;) {
    const std::string_view id = rest.substr(0, rest.find(','));
    if (id.empty())
      return refuse(Problem::Code::bad_request, "\"rooms\" names no room",
                    "give ids of rooms with commas between them", "/rooms");
    const auto space = space_of(revision, std::string(id));
    if (!space) return tl::unexpected(space.error());
    spaces.push_back(*space);
    if (id.size() == rest.size()) return spaces;
    rest.remove_prefix(id.size() + 1);
  }
}

Answer<Asked> asked(Workbench& workbench, const Request& request) {
  Asked asked;
  const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"));
  if (!opened) return tl::unexpected(opened.error());
  asked.revision = *opened;
  auto spaces = rooms_named(request, *opened);
  if (!spaces) return tl::unexpected(spaces.error());
  asked.spaces = *std::move(spaces);
  if (request.has_param("keep")) {
    auto kept = parts_named(request.get_param_value("keep"));
    if (!kept) return tl::unexpected(kept.error());
    asked.kept = *std::move(kept);
  }
  if (const auto why = why_no_line(**opened)) return tl::unexpected(*why);
  return asked;
}

Json to_json(const RoomAtWork& at) {
  return {{"spaces", at.spaces}, {"rooms_done", at.done}, {"rooms_total", at.total}};
}

Answer<Json> edits_of_proposals(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t number = fields.whole("revision");
  const std::string id = fields.text("proposals");
  const std::int64_t steps = fields.whole("steps");
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto opened = workbench.revision(request.matches[1], std::to_string(number));
  if (!opened) return tl::unexpected(opened.error());
  const auto line = workbench.building_proposals.known(id);
  if (line == nullptr || line->project != (*opened)->project)
    return refuse(Problem::Code::not_found, "these proposals are not kept any more",
                  "ask for proposals again", "/proposals");
  if (steps < 0 || static_cast<std::size_t>(steps) > line->line.steps.size())
    return refuse(
        Problem::Code::bad_request,
        fmt::format("the line has {} steps, and \"steps\" is no number of them", line->line.steps.size()),
        "give how many are taken, from 0", "/steps");
  return edits_of_line(workbench.desk, *opened, *line, static_cast<std::size_t>(steps));
}

}  // namespace

void add_building_proposal_routes(httplib::Server& server, Workbench& workbench) {
  server.Get(std::string(kProject) + "/proposals", [&workbench](const Request& request, Response& response) {
    const auto what = asked(workbench, request);
    if (!what) return send(response, what.error());
    const auto find = [&workbench, what = *what](const Context& context, LongWork& itself) -> Answer<Json> {
      const auto line =
          workbench.building_proposals.find(what.revision, what.spaces, what.kept, context,
                                            [&](const RoomAtWork& at) { itself.tell(to_json(at)); });
      if (!line) return tl::unexpected(line.error());
      return to_json(what.revision, **line);
    };
    stream(workbench, response,
           [work = std::make_shared<LongWork>(workbench.desk.background_context(1), true, find)] {
             return work->next();
           });
  });
  server.Post(std::string(kProject) + "/proposals/edits",
              [&workbench](const Request& request, Response& response) {
                respond(response, [&] { return edits_of_proposals(workbench, request); });
              });
}

}  // namespace halflight::service
