#include "projects/variants.hpp"
#include "projects/what_if_json.hpp"
#include "service/long_work.hpp"
#include "service/routes.hpp"

#include <algorithm>
#include <memory>

// What values of one thing would make of a room.

namespace halflight::service {

namespace {

constexpr std::size_t kMostValues = 12;

/// "5 min,10 min" taken apart.
std::vector<std::string> values_of(const std::string& list) {
  std::vector<std::string> values;
  for (std::size_t begin = 0; begin <= list.size() && !list.empty();) {
    const std::size_t end = std::min(list.find(',', begin), list.size());
    values.push_back(list.substr(begin, end - begin));
    begin = end + 1;
  }
  return values;
}

Answer<Json> what_if(Desk& desk, const Revision& revision, std::size_t space, const std::string& what,
                     const std::vector<std::string>& values, const Context& context) {
  const domain::Project& project = revision->files.document.project();
  const std::string& id = project.spaces[space].id;
  const auto variation = projects::variation_of(revision->files.document, id, what);
  if (!variation) return tl::unexpected(problem_of(Problem::Code::bad_request, variation.error()));
  const auto others = desk.files_of(revision->project);
  std::vector<projects::ProjectFiles> variants;
  for (const std::string& value : values) {
    auto variant = projects::variant_of(revision->files, *others, *variation, value);
    if (!variant) return tl::unexpected(problem_of(Problem::Code::bad_request, variant.error()));
    variants.push_back(*std::move(variant));
  }
  std::vector<const domain::Project*> as_projects;
  for (const projects::ProjectFiles& variant : variants) as_projects.push_back(&variant.document.project());
  sim::StudyOptions options;
  options.points_per_scramble = sim::kPointsOfTrials;
  lightresponse::StageLog log;
  const auto found =
      choose::what_if(revision->inputs(), space, as_projects, variation->light_stays, options, context, log);
  if (!found) return tl::unexpected(problem_of(Problem::Code::bad_request, found.error()));
  Json json = {{"revision", revision->number}};
  json.update(projects::what_if_json(id, what, values, *found));
  return json;
}

}  // namespace

void add_what_if_routes(httplib::Server& server, Workbench& workbench) {
  server.Get(std::string(kRoom) + "/what_if", [&workbench](const Request& request, Response& response) {
    const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"),
                                           request.get_param_value("design"));
    if (!opened) return send(response, opened.error());
    const auto index = space_of(*opened, request.matches[2]);
    if (!index) return send(response, index.error());
    const std::string what = request.get_param_value("what");
    const std::vector<std::string> values = values_of(request.get_param_value("values"));
    if (what.empty() || values.empty() || values.size() > kMostValues)
      return send(response,
                  Problem{Problem::Code::bad_request,
                          what.empty() ? "\"what\" says nothing that could be varied"
                                       : fmt::format("\"values\" holds {} values", values.size()),
                          fmt::format("give what=delay and 1 to {} values=5 min,10 min", kMostValues),
                          what.empty() ? "/what" : "/values"});
    for (const Diagnostic& d : (*opened)->files.diagnostics)
      if (d.severity == Diagnostic::Severity::error)
        return send(response, Problem{Problem::Code::bad_request, d.problem, d.remedy, d.where});
    const auto work = [&workbench, revision = *opened, space = *index, what, values](const Context& context,
                                                                                     LongWork&) {
      return what_if(workbench.desk, revision, space, what, values, context);
    };
    stream(workbench, response,
           [work = std::make_shared<LongWork>(workbench.desk.background_context(1), false, work)] {
             return work->next();
           });
  });
}

}  // namespace halflight::service
