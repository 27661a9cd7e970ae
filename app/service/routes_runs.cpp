#include "base/base64.hpp"
#include "formats/study_json.hpp"
#include "report/report.hpp"
#include "service/routes.hpp"

#include <algorithm>
#include <array>

namespace halflight::service {

namespace {

std::optional<sim::Accuracy> accuracy_of(std::string_view name) {
  if (name == "draft") return sim::Accuracy::draft;
  if (name == "design") return sim::Accuracy::design;
  if (name == "proof") return sim::Accuracy::proof;
  return std::nullopt;
}

Answer<std::shared_ptr<Run>> run_of(Workbench& workbench, const Request& request) {
  if (auto run = workbench.runs.find(request.matches[1])) return run;
  return refuse(Problem::Code::not_found, "there is no such study, or it was long ago", "begin it anew");
}
/// The study of a run that is done.
Answer<std::shared_ptr<const results::Study>> study_of(const Run& run) {
  if (auto study = run.study()) return study;
  return refuse(Problem::Code::not_found, "the study is not done", "wait for its end");
}

Answer<Json> begin_study(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t number = fields.whole("revision");
  const auto accuracy = accuracy_of(fields.text("accuracy", "design"));
  if (!accuracy) fields.wrong("accuracy", "is none of draft, design and proof");
  const std::string design = fields.text("design", "");
  StudyOrder order;
  if (const Json* spaces = fields.any("spaces")) {
    if (spaces->is_array())
      for (const Json& one : *spaces)
        if (one.is_string())
          order.options.spaces.push_back(one.get<std::string>());
        else
          fields.wrong("spaces", "holds something that is no id");
    else
      fields.wrong("spaces", "is no list of ids");
  }
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto opened = workbench.revision(request.matches[1], std::to_string(number), design);
  if (!opened) return tl::unexpected(opened.error());
  for (const std::string& id : order.options.spaces)
    if (const auto known = space_of(*opened, id); !known) return tl::unexpected(known.error());
  for (const Diagnostic& d : (*opened)->files.diagnostics)
    if (d.severity == Diagnostic::Severity::error ||
        (d.severity == Diagnostic::Severity::missing && d.where.starts_with("/site")))
      return refuse(Problem::Code::bad_request, d.problem, d.remedy, d.where);
  order.revision = *opened;
  order.options.accuracy = *accuracy;
  const auto run = workbench.runs.begin(std::move(order));
  if (!run) return tl::unexpected(run.error());
  return to_json(**run, (*run)->standing());
}

/// What of a study is for drawing only: small pictures of the year, by room.
Json drawings(const results::Study& study) {
  Json rooms = Json::array();
  for (const results::SpaceStudy& one : study.spaces) {
    Json room = {{"id", one.id}};
    if (!one.pictures.empty()) {
      const results::YearPicture& picture = one.pictures.front();
      std::string bytes;
      for (const float value : picture.values)
        bytes +=
            static_cast<char>(static_cast<std::uint8_t>(std::clamp(255.0F * value + 0.5F, 0.0F, 255.0F)));
      room["year"] = {{"quantity", picture.quantity}, {"per_day", picture.per_day}, {"bytes", base64(bytes)}};
    }
    rooms.push_back(std::move(room));
  }
  return {{"rooms", rooms}};
}

}  // namespace

void add_run_routes(httplib::Server& server, Workbench& workbench) {
  server.Post(std::string(kProject) + R"(/studies)",
              [&workbench](const Request& request, Response& response) {
                respond(
                    response, [&] { return begin_study(workbench, request); }, 202);
              });
  server.Get(R"(/api/runs/(run-\d{1,12}))", [&workbench](const Request& request, Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto run = run_of(workbench, request);
      if (!run) return tl::unexpected(run.error());
      return to_json(**run, (*run)->standing());
    });
  });
  server.Delete(R"(/api/runs/(run-\d{1,12}))", [&workbench](const Request& request, Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto run = run_of(workbench, request);
      if (!run) return tl::unexpected(run.error());
      (*run)->cancel();
      return to_json(**run, (*run)->standing());
    });
  });
  server.Get(R"(/api/runs/(run-\d{1,12})/events)", [&workbench](const Request& request, Response& response) {
    const auto run = run_of(workbench, request);
    if (!run) return send(response, run.error());
    stream(workbench, response, [run = *run, seen = std::uint64_t(-1)]() mutable {
      const Run::Standing now = run->wait(seen, kHeartbeat);
      Event event;
      if (now.version == seen) return event;
      seen = now.version;
      event.data = text_of(to_json(*run, now));
      switch (now.state) {
        case Run::State::waiting:
        case Run::State::running:
          event.name = "progress";
          break;
        case Run::State::done:
          event.name = "done";
          break;
        case Run::State::failed:
          event.name = "failed";
          break;
        case Run::State::cancelled:
          event.name = "cancelled";
          break;
      }
      event.is_last = event.name != "progress";
      return event;
    });
  });
  server.Get(R"(/api/runs/(run-\d{1,12})/study)", [&workbench](const Request& request, Response& response) {
    const auto run = run_of(workbench, request);
    if (!run) return send(response, run.error());
    const auto study = study_of(**run);
    if (!study) return send(response, study.error());
    response.set_header("Cache-Control", "no-store");
    response.set_content(formats::study_json(**study), "application/json");
  });
  server.Get(R"(/api/runs/(run-\d{1,12})/drawings)",
             [&workbench](const Request& request, Response& response) {
               respond(response, [&]() -> Answer<Json> {
                 const auto run = run_of(workbench, request);
                 if (!run) return tl::unexpected(run.error());
                 const auto study = study_of(**run);
                 if (!study) return tl::unexpected(study.error());
                 return drawings(**study);
               });
             });
  server.Get(R"(/api/runs/(run-\d{1,12})/report)", [&workbench](const Request& request, Response& response) {
    const auto run = run_of(workbench, request);
    if (!run) return send(response, run.error());
    const auto study = study_of(**run);
    if (!study) return send(response, study.error());
    const OpenRevision& of = *(*run)->order().revision;
    report::ReportOptions options;
    options.revision = std::to_string(of.number);
    options.date = iso_time(now_s()).substr(0, 10);
    options.missing = of.files.diagnostics;
    response.set_header("Cache-Control", "no-store");
    response.set_header("Content-Security-Policy",
                        "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'none'; "
                        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
    response.set_content(report::html_report(**study, of.files.document.project(), options),
                         "text/html; charset=utf-8");
  });
}

}  // namespace halflight::service
