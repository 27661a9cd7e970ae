#include "files/file.hpp"
#include "files/program_digest.hpp"
#include "formats/study_json.hpp"
#include "service/routes.hpp"

#include <cstdint>
#include <vector>

namespace halflight::service {

namespace {

/// Why the study of a run may not freeze revision `number` of a project; nothing when it may.
std::optional<Problem> objection(const Run& run, const std::string& project, std::int64_t number) {
  const StudyOrder& order = run.order();
  const auto refused = [](std::string problem, std::string remedy) {
    return Problem{Problem::Code::refused, std::move(problem), std::move(remedy), "/run"};
  };
  if (order.revision->project != project || order.revision->number != number)
    return refused(fmt::format("{} studied revision {} of {}, not revision {} of {}", run.id(),
                               order.revision->number, order.revision->project, number, project),
                   "study the revision that is to be issued");
  if (!order.options.spaces.empty())
    return refused(fmt::format("{} studied a part of the building only", run.id()),
                   "study all rooms of the building");
  if (!order.revision->design.empty())
    return refused(fmt::format("{} studied the proposal {}, not the first", run.id(), order.revision->design),
                   "make it the first of the document's proposals, then study that");
  const auto study = run.study();
  if (study == nullptr) return refused(fmt::format("{} is not done", run.id()), "wait for its end");
  if (!study->may_be_issued)
    return refused(fmt::format("the design is not to be issued because: {}",
                               fmt::join(study->not_to_be_issued_because, "; ")),
                   "put that right, then study it anew");
  return std::nullopt;
}

Answer<Json> issue(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t number = fields.whole("base");
  const std::string name = fields.name("name", "");
  const std::string by = fields.name("by");
  const std::string run_id = fields.text("run");
  if (by.find_first_not_of(' ') == std::string::npos) fields.wrong("by", "is empty");
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto found = workbench.project(request.matches[1]);
  if (!found) return tl::unexpected(found.error());
  const auto run = workbench.runs.find(run_id);
  if (run == nullptr)
    return refuse(Problem::Code::refused, fmt::format("there is no study {}, or it was long ago", run_id),
                  "study the building once more", "/run");
  if (const auto problem = objection(*run, found->id, number)) return tl::unexpected(*problem);

  const auto kept = stored(workbench.store.revision(found->id, number));
  if (!kept) return tl::unexpected(kept.error());
  if (*kept && (*kept)->issue)
    return refuse(Problem::Code::refused, fmt::format("revision {} is issued already", number),
                  "issue a later one", "/base");
  std::vector<store::FileReference> files;
  for (const auto& [path, hash] : run->order().revision->files.files_read) files.push_back({path, hash});
  if (!name.empty())
    if (const auto named = stored(workbench.store.rename_revision(found->id, number, name)); !named)
      return tl::unexpected(named.error());
  const std::string results = formats::study_json(*run->study());
  const auto issued = stored(workbench.store.issue(found->id, number,
                                                   {.by = by,
                                                    .at_s = now_s(),
                                                    .program_digest = std::string(files::program_digest()),
                                                    .results = files::as_bytes(results),
                                                    .files = std::move(files)}));
  if (!issued) return tl::unexpected(issued.error());
  return to_json(*issued);
}

}  // namespace

void add_issue_routes(httplib::Server& server, Workbench& workbench) {
  server.Post(std::string(kProject) + "/issue", [&workbench](const Request& request, Response& response) {
    respond(
        response, [&] { return issue(workbench, request); }, 201);
  });
  server.Get(std::string(kProject) + R"(/revisions/(\d{1,12})/results)", [&workbench](const Request& request,
                                                                                      Response& response) {
    const auto found = workbench.project(request.matches[1]);
    if (!found) return send(response, found.error());
    const std::int64_t number = *whole_number(request.matches[2]);
    const auto results = stored(workbench.store.issued_results(found->id, number));
    if (!results) return send(response, results.error());
    if (!*results)
      return send(response,
                  Problem{Problem::Code::not_found, fmt::format("revision {} was not issued", number),
                          "choose one that was"});
    response.set_header("Cache-Control", "no-store");
    response.set_header("Content-Disposition",
                        fmt::format("attachment; filename=\"{}-revision-{}.study.json\"", found->id, number));
    response.set_content(std::string(files::as_text(**results)), "application/json");
  });
}

}  // namespace halflight::service
