#include "files/program_digest.hpp"
#include "report/cautions.hpp"
#include "service/embedded_pages.hpp"
#include "service/room_json.hpp"
#include "service/routes.hpp"
#include "store/text_rules.hpp"

#include <algorithm>
#include <optional>
#include <stdexcept>
#include <string_view>

namespace halflight::service {

namespace {

/// A file of schema/.
std::string schema(std::string_view name) {
  for (const files::EmbeddedFile& file : embedded_schemas())
    if (file.name == name) return std::string(files::as_text(file.bytes));
  throw std::logic_error(fmt::format("{} is not built in", name));
}

/// Nothing for a document that the store has room for.
std::optional<Problem> too_large(std::string_view document) {
  if (document.size() <= store::kLargestDocument) return std::nullopt;
  return Problem{Problem::Code::too_large,
                 fmt::format("the document is larger than {} MiB", store::kLargestDocument >> 20),
                 "divide the building into several projects"};
}

/// What of a document's name can be the name of a project; a document may have a longer one.
std::string name_for_a_project(std::string name) {
  std::erase_if(name, [](unsigned char c) { return c < 0x20 || c == 0x7F; });
  name.resize(std::min(name.size(), store::kLongestText));
  while (store::text_problem(name, store::kLongestText)) name.pop_back();  // half a letter at its end
  return name;
}

/// Keeps edits as the next revision, or says what stands in the way.
void save(Workbench& workbench, Response& response, const std::string& id,
          const Result<store::Appended>& appended, Revision opened) {
  if (!appended) return send(response, problem_of(Problem::Code::storage, appended.error()));
  if (const auto* conflict = std::get_if<store::Conflict>(&*appended)) {
    Json since = Json::array();
    for (const store::Revision& one : conflict->since) since.push_back(to_json(one));
    return send(
        response,
        {{"error", to_json(Problem{Problem::Code::conflict, "somebody has saved since this edit was begun",
                                   "look at what was saved, then do it again on top"})},
         {"head", conflict->head},
         {"since", since}},
        409);
  }
  const auto& kept = std::get<store::Revision>(*appended);
  if (opened != nullptr) {
    OpenRevision numbered = *opened;
    numbered.number = kept.number;
    opened = std::make_shared<const OpenRevision>(std::move(numbered));
    workbench.desk.put(opened);
  } else {
    const auto read = workbench.desk.open(id, kept.number);
    if (!read) return send(response, read.error());
    opened = *read;
  }
  workbench.notices.say(id, text_of(to_json(kept)));
  send(response, {{"revision", kept.number}, {"diagnostics", to_json(opened->files.diagnostics)}}, 201);
}

Answer<Json> create(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::string from = fields.text("from", "");
  std::string document = fields.text("document", "");
  std::string name = fields.name("name", "");
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  std::string label = "imported";
  if (from == "demo") {
    document = files::as_text(embedded_projects().front().bytes);
    label = "the demo building";
  } else if (from == "empty") {
    document = fmt::format("{{\n  \"format\": \"{}\",\n  \"id\": \"building\",\n  \"name\": {}\n}}\n",
                           formats::kProjectFormat, text_of(Json(name.empty() ? "New building" : name)));
    label = "begun";
  } else if (!from.empty() || document.empty()) {
    return refuse(Problem::Code::bad_request, "it is not said what the project begins with",
                  R"(send "from": "demo" or "empty", or a "document")", "/from");
  }
  if (const auto problem = too_large(document)) return tl::unexpected(*problem);
  const Json parsed = Json::parse(document, nullptr, false);
  if (parsed.is_discarded() || !parsed.is_object())
    return refuse(Problem::Code::bad_request, "the document is no JSON object",
                  "choose a file that ends in .halflight.json", "/document");
  if (name.empty() && parsed.contains("name") && parsed["name"].is_string())
    name = name_for_a_project(parsed["name"].get<std::string>());
  if (name.empty()) name = "Unnamed building";
  const auto made = workbench.store.create_project(name, {files::as_bytes(document), now_s(), label, ""});
  if (!made) return tl::unexpected(problem_of(Problem::Code::storage, made.error()));
  return to_json(*made);
}

}  // namespace

void add_project_routes(httplib::Server& server, Workbench& workbench) {
  server.Get("/api/about", [](const Request&, Response& response) {
    send(response, {{"version", std::string(files::program_digest().substr(0, 12))}});
  });
  server.Get("/api/schema/project", [](const Request&, Response& response) {
    response.set_content(formats::project_schema_json(), "application/schema+json");
  });
  server.Get("/api/schema/study", [](const Request&, Response& response) {
    response.set_content(schema("study.schema.json"), "application/schema+json");
  });
  server.Get("/api/openapi", [](const Request&, Response& response) {
    response.set_content(schema("service.openapi.json"), "application/json");
  });
  server.Get("/api/projects", [&workbench](const Request&, Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto all = stored(workbench.store.projects());
      if (!all) return tl::unexpected(all.error());
      Json list = Json::array();
      for (const store::Project& one : *all)
        if (!one.put_away) list.push_back(to_json(one));
      return list;
    });
  });
  server.Post("/api/projects", [&workbench](const Request& request, Response& response) {
    respond(
        response, [&] { return create(workbench, request); }, 201);
  });
  server.Get(kProject, [&workbench](const Request& request, Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto found = workbench.project(request.matches[1]);
      if (!found) return tl::unexpected(found.error());
      return to_json(*found);
    });
  });
  server.Get(
      std::string(kProject) + R"(/document)", [&workbench](const Request& request, Response& response) {
        const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"));
        if (!opened) return send(response, opened.error());
        response.set_header("Cache-Control", "no-store");
        response.set_header("Content-Disposition",
                            fmt::format("attachment; filename=\"{}.halflight.json\"", (*opened)->project));
        response.set_content((*opened)->files.document.text(), "application/json");
      });
  server.Get(std::string(kProject) + R"(/revisions)",
             [&workbench](const Request& request, Response& response) {
               respond(response, [&]() -> Answer<Json> {
                 const auto found = workbench.project(request.matches[1]);
                 if (!found) return tl::unexpected(found.error());
                 std::int64_t newer = 0;
                 if (request.has_param("before")) {
                   const auto before = whole_number(request.get_param_value("before"));
                   if (!before || *before < 1)
                     return refuse(Problem::Code::bad_request, "\"before\" is no number of a revision",
                                   fmt::format("give 2 to {}", found->head), "/before");
                   newer = std::max<std::int64_t>(0, found->head - *before + 1);
                 }
                 const auto list = stored(workbench.store.revisions(found->id, 1000, newer));
                 if (!list) return tl::unexpected(list.error());
                 Json all = Json::array();
                 for (const store::Revision& one : *list) all.push_back(to_json(one));
                 return all;
               });
             });
  server.Patch(std::string(kProject) + R"(/revisions/(\d{1,12}))", [&workbench](const Request& request,
                                                                                Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto body = body_of(request.body);
      if (!body) return tl::unexpected(body.error());
      Fields fields(*body);
      const std::string name = fields.name("name");
      if (const auto problem = fields.problem()) return tl::unexpected(*problem);
      const std::string id = request.matches[1];
      const std::int64_t number = *whole_number(request.matches[2]);
      const auto kept = stored(workbench.store.revision(id, number));
      if (!kept) return tl::unexpected(kept.error());
      if (!*kept)
        return refuse(Problem::Code::not_found, fmt::format("there is no revision {} of {}", number, id),
                      "open the project anew");
      if ((*kept)->issue)
        return refuse(Problem::Code::bad_request, "the revision is issued and keeps its name",
                      "name a later revision");
      const auto renamed = stored(workbench.store.rename_revision(id, number, name));
      if (!renamed) return tl::unexpected(renamed.error());
      return to_json(*renamed);
    });
  });
  server.Post(std::string(kProject) + R"(/edits)", [&workbench](const Request& request, Response& response) {
    const std::string id = request.matches[1];
    const auto body = body_of(request.body);
    if (!body) return send(response, body.error());
    Fields fields(*body);
    const std::int64_t base = fields.whole("base");
    const std::string label = fields.name("label");
    const auto edits = edits_of(fields.any("edits"), fields);
    if (const auto problem = fields.problem()) return send(response, *problem);
    const auto found = workbench.project(id);
    if (!found) return send(response, found.error());
    const auto from = workbench.desk.open(id, base);
    if (!from) return send(response, from.error());
    const auto edited = workbench.desk.what_if(**from, edits);
    if (!edited) return send(response, edited.error());
    const std::string& text = (*edited)->files.document.text();
    if (const auto problem = too_large(text)) return send(response, *problem);
    save(workbench, response, id,
         workbench.store.append(id, base, {files::as_bytes(text), now_s(), label, ""}), *edited);
  });
  server.Post(
      std::string(kProject) + R"(/restore)", [&workbench](const Request& request, Response& response) {
        const std::string id = request.matches[1];
        const auto body = body_of(request.body);
        if (!body) return send(response, body.error());
        Fields fields(*body);
        const std::int64_t base = fields.whole("base");
        const std::int64_t number = fields.whole("revision");
        const std::string label = fields.name("label", fmt::format("back to revision {}", number));
        if (const auto problem = fields.problem()) return send(response, *problem);
        const auto found = workbench.project(id);
        if (!found) return send(response, found.error());
        const auto as_it_was = workbench.desk.open(id, number);
        if (!as_it_was) return send(response, as_it_was.error());
        save(workbench, response, id, workbench.store.restore(id, base, number, label, now_s()), *as_it_was);
      });
  server.Get(std::string(kProject) + R"(/events)", [&workbench](const Request& request, Response& response) {
    const auto found = workbench.project(request.matches[1]);
    if (!found) return send(response, found.error());
    stream(workbench, response,
           [&workbench, id = found->id, seen = workbench.notices.count(found->id)]() mutable {
             Event event;
             if (auto said = workbench.notices.wait(id, seen)) event = {"revision", *std::move(said)};
             return event;
           });
  });
  server.Get(std::string(kProject) + R"(/cautions)", [&workbench](const Request& request,
                                                                  Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"));
      if (!opened) return tl::unexpected(opened.error());
      Json all = Json::array();
      for (const report::Caution& caution : report::applicable_cautions((*opened)->files.document.project()))
        all.push_back({{"id", caution.id}, {"brief", caution.brief}, {"text", caution.text}});
      return all;
    });
  });
  server.Get(
      std::string(kProject) + R"(/building)", [&workbench](const Request& request, Response& response) {
        respond(response, [&]() -> Answer<Json> {
          const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"));
          if (!opened) return tl::unexpected(opened.error());
          Json json = {{"project", (*opened)->project}, {"revision", (*opened)->number}};
          json.update(building_json((*opened)->files));
          return json;
        });
      });
}

}  // namespace halflight::service
