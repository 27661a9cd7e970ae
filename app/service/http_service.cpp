#include "service/http_service.hpp"

#include "base/base64.hpp"
#include "files/program_digest.hpp"
#include "formats/project_json.hpp"
#include "formats/study_json.hpp"
#include "report/report.hpp"
#include "service/desk.hpp"
#include "service/embedded_pages.hpp"
#include "service/light_json.hpp"
#include "service/problem_json.hpp"
#include "service/room_json.hpp"
#include "service/runs.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <charconv>
#include <chrono>
#include <condition_variable>
#include <cstring>
#include <map>
#include <mutex>
#include <optional>
#include <set>
#include <thread>
#include <utility>

#include <fmt/format.h>
#include <httplib.h>

namespace halflight::service {

namespace {

using httplib::Request;
using httplib::Response;
using store::ProjectStore;

/// Each open stream of events holds a thread; the others answer requests.
constexpr std::size_t kThreads = 64;
constexpr int kMostStreams = 40;
constexpr std::size_t kLargestBody = std::size_t{66} << 20;
constexpr std::size_t kLargestEdit = 20'000;  // steps
constexpr int kDeepestJson = 64;
constexpr auto kHeartbeat = std::chrono::milliseconds(500);

std::int64_t now_s() {
  using namespace std::chrono;
  return duration_cast<seconds>(system_clock::now().time_since_epoch()).count();
}

/// "2026-03-17T14:35:00Z".
std::string iso_time(std::int64_t seconds_since_1970) {
  using namespace std::chrono;
  const sys_seconds t{seconds(seconds_since_1970)};
  const auto day = floor<days>(t);
  const year_month_day date(day);
  const hh_mm_ss clock(t - day);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", int(date.year()), unsigned(date.month()),
                     unsigned(date.day()), clock.hours().count(), clock.minutes().count(),
                     clock.seconds().count());
}

Json to_json(const store::Revision& revision) {
  Json issued;
  if (revision.issue) issued = {{"by", revision.issue->by}, {"at", iso_time(revision.issue->at_s)}};
  return {{"number", revision.number},
          {"saved_at", iso_time(revision.saved_at_s)},
          {"label", revision.label},
          {"name", revision.name},
          {"restores", revision.restores ? Json(*revision.restores) : Json()},
          {"document_hash", revision.document.hex()},
          {"issued", issued}};
}

Json to_json(const store::Project& project) {
  return {{"id", project.id},
          {"name", project.name},
          {"head", project.head},
          {"saved_at", iso_time(project.head_saved_at_s)}};
}

template <class T>
Answer<T> stored(Result<T> result) {
  if (!result) return tl::unexpected(problem_of(Problem::Code::storage, result.error()));
  return std::move(*result);
}

void send(Response& response, const Json& json, int status = 200) {
  response.status = status;
  response.set_header("Cache-Control", "no-store");
  response.set_content(text_of(json), "application/json");
}
void send(Response& response, const Problem& problem) {
  send(response, {{"error", to_json(problem)}}, status_of(problem.code));
}

/// The body as JSON; never deeper than `kDeepestJson`.
Answer<Json> body_of(const Request& request) {
  struct TooDeep {};
  try {
    Json json = Json::parse(request.body, [](int depth, Json::parse_event_t, Json&) {
      if (depth > kDeepestJson) throw TooDeep{};
      return true;
    });
    if (!json.is_object())
      return refuse(Problem::Code::bad_request, "the body is no JSON object", "send an object");
    return json;
  } catch (const TooDeep&) {
    return refuse(Problem::Code::bad_request, fmt::format("the body nests deeper than {}", kDeepestJson),
                  "send flatter JSON");
  } catch (const Json::exception& e) {
    return refuse(Problem::Code::bad_request, fmt::format("the body is no JSON: {}", e.what()),
                  "send a JSON object, UTF-8");
  }
}

/// Reads fields of a body and remembers the first that is wrong; keys that nothing asked for are wrong too.
class Fields {
 public:
  explicit Fields(const Json& json) : json_(json) {}

  std::string text(const char* key, std::optional<std::string> otherwise = {}) {
    const Json* value = find(key, otherwise.has_value());
    if (value == nullptr) return otherwise.value_or("");
    if (!value->is_string()) return wrong(key, "is no text"), "";
    return value->get<std::string>();
  }
  std::int64_t whole(const char* key, std::optional<std::int64_t> otherwise = {}) {
    const Json* value = find(key, otherwise.has_value());
    if (value == nullptr) return otherwise.value_or(0);
    if (!value->is_number_integer()) return wrong(key, "is no whole number"), 0;
    return value->get<std::int64_t>();
  }
  bool flag(const char* key) {
    const Json* value = find(key, true);
    if (value == nullptr) return false;
    if (!value->is_boolean()) return wrong(key, "is neither true nor false"), false;
    return value->get<bool>();
  }
  /// Null where the key is absent.
  const Json* any(const char* key) { return find(key, true); }

  void wrong(const std::string& key, const std::string& what) {
    if (!problem_)
      problem_ = Problem{Problem::Code::bad_request, fmt::format("\"{}\" {}", key, what),
                         "see the description of the interface", "/" + key};
  }
  std::optional<Problem> problem() {
    for (const auto& [key, value] : json_.items())
      if (asked_.count(key) == 0) wrong(key, "is not known here");
    return problem_;
  }

 private:
  const Json* find(const char* key, bool may_be_absent) {
    asked_.insert(key);
    const auto found = json_.find(key);
    if (found != json_.end()) return &*found;
    if (!may_be_absent) wrong(key, "is missing");
    return nullptr;
  }
  const Json& json_;
  std::set<std::string> asked_;
  std::optional<Problem> problem_;
};

/// RFC 6902 without "move", "copy" and "test".
std::vector<formats::DocumentEdit> edits_of(const Json* list, Fields& fields) {
  using Operation = formats::DocumentEdit::Operation;
  std::vector<formats::DocumentEdit> edits;
  if (list == nullptr) return edits;
  if (!list->is_array() || list->size() > kLargestEdit) {
    fields.wrong("edits", fmt::format("is no list of at most {} steps", kLargestEdit));
    return edits;
  }
  for (const Json& step : *list) {
    const auto op = step.is_object() ? step.find("op") : step.end();
    const auto path = step.is_object() ? step.find("path") : step.end();
    if (op == step.end() || path == step.end() || !op->is_string() || !path->is_string()) {
      fields.wrong("edits", "holds a step without op and path");
      return {};
    }
    formats::DocumentEdit edit;
    edit.pointer = path->get<std::string>();
    const std::string name = op->get<std::string>();
    if (name == "add" || name == "replace") {
      edit.operation = name == "add" ? Operation::add : Operation::replace;
      const auto value = step.find("value");
      if (value == step.end()) {
        fields.wrong("edits", "holds a step without a value");
        return {};
      }
      edit.json = text_of(*value);
    } else if (name == "remove") {
      edit.operation = Operation::remove;
    } else {
      fields.wrong("edits", fmt::format("holds \"{}\", which is none of add, replace and remove", name));
      return {};
    }
    edits.push_back(std::move(edit));
  }
  return edits;
}

/// Whoever looks at a project hears of what others save.
class Notices {
 public:
  void say(const std::string& project, const Json& revision) {
    {
      const std::lock_guard lock(mutex_);
      Project& at = projects_[project];
      at.count++;
      at.last = text_of(revision);
    }
    changed_.notify_all();
  }
  std::uint64_t count(const std::string& project) {
    const std::lock_guard lock(mutex_);
    return projects_[project].count;
  }
  /// The last notice when there was one after number `seen`, which is then brought up to date.
  std::optional<std::string> wait(const std::string& project, std::uint64_t& seen) {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, kHeartbeat, [&] { return projects_[project].count != seen; });
    const Project& at = projects_[project];
    if (at.count == seen) return std::nullopt;
    seen = at.count;
    return at.last;
  }

 private:
  struct Project {
    std::uint64_t count = 0;
    std::string last;
  };
  std::mutex mutex_;
  std::condition_variable changed_;
  std::map<std::string, Project> projects_;
};

const char* media_type_of(std::string_view name) {
  const std::string_view ending = name.substr(std::min(name.size(), name.rfind('.')));
  if (ending == ".html") return "text/html; charset=utf-8";
  if (ending == ".js") return "text/javascript; charset=utf-8";
  if (ending == ".css") return "text/css; charset=utf-8";
  if (ending == ".woff2") return "font/woff2";
  if (ending == ".svg") return "image/svg+xml";
  return "application/octet-stream";
}

std::optional<sim::Accuracy> accuracy_of(std::string_view name) {
  if (name == "draft") return sim::Accuracy::draft;
  if (name == "design") return sim::Accuracy::design;
  if (name == "proof") return sim::Accuracy::proof;
  return std::nullopt;
}

std::optional<std::int64_t> whole_number(const std::string& text) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

}  // namespace

struct HttpService::State {
  State(ProjectStore& its_store, Executor& executor, BlobStore& blobs)
      : store(its_store), desk(store, executor, blobs), runs(desk) {
    server.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
    server.set_tcp_nodelay(true);
    server.set_keep_alive_max_count(100'000);
    server.set_payload_max_length(kLargestBody);
    server.set_pre_routing_handler([this](const Request& request, Response& response) {
      if (const auto problem = stranger(request)) {
        send(response, *problem);
        return httplib::Server::HandlerResponse::Handled;
      }
      return httplib::Server::HandlerResponse::Unhandled;
    });
    server.set_post_routing_handler([](const Request&, Response& response) {
      response.set_header("X-Content-Type-Options", "nosniff");
      response.set_header("Referrer-Policy", "no-referrer");
      response.set_header("Cross-Origin-Resource-Policy", "same-origin");
      response.set_header("Content-Security-Policy",
                          "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; "
                          "script-src 'self'; connect-src 'self'; object-src 'none'; base-uri 'none'; "
                          "form-action 'none'; frame-ancestors 'none'");
    });
    server.set_exception_handler([](const Request&, Response& response, std::exception_ptr fault) {
      std::string what = "an unknown fault";
      try {
        std::rethrow_exception(fault);
      } catch (const std::exception& e) {
        what = e.what();
      } catch (...) {
      }
      send(response, Problem{Problem::Code::internal, what, "try again; if it stays, report it"});
    });
    server.set_error_handler([](const Request&, Response& response) {
      if (!response.body.empty()) return;
      if (response.status == 413)
        send(response, Problem{Problem::Code::too_large,
                               fmt::format("the request is larger than {} MiB", kLargestBody >> 20),
                               "send less at once"});
      else if (response.status == 404)
        send(response, Problem{Problem::Code::not_found, "there is nothing here", "check the address"});
      else
        send(response,
             Problem{Problem::Code::bad_request, "the request cannot be understood", "check the address"});
    });
    add_project_routes();
    add_room_routes();
    add_run_routes();
    add_pages();
  }

  // ---- who may ask
  // ------------------------------------------------------------------------------------------

  /// Another site's page, or another name for this machine, must not reach in.
  [[nodiscard]] std::optional<Problem> stranger(const Request& request) const {
    const std::array<std::string, 2> hosts = {fmt::format("127.0.0.1:{}", port),
                                              fmt::format("localhost:{}", port)};
    const auto is_own = [&](const std::string& host) {
      return std::find(hosts.begin(), hosts.end(), host) != hosts.end();
    };
    if (request.get_header_value_count("Host") != 1 || !is_own(request.get_header_value("Host")))
      return Problem{Problem::Code::refused, "the request names another host",
                     fmt::format("use http://{}", hosts[0])};
    if (request.has_header("Origin")) {
      const std::string origin = request.get_header_value("Origin");
      constexpr std::string_view kScheme = "http://";
      if (!origin.starts_with(kScheme) || !is_own(origin.substr(kScheme.size())))
        return Problem{Problem::Code::refused, "the request comes from a page of another origin",
                       "use the workbench's own pages"};
    }
    const std::string site = request.get_header_value("Sec-Fetch-Site");
    if (request.path.starts_with("/api/") && (site == "cross-site" || site == "same-site"))
      return Problem{Problem::Code::refused, "the request comes from a page of another site",
                     "use the workbench's own pages"};
    const bool has_body = request.method == "POST" || request.method == "PATCH" || request.method == "PUT";
    if (has_body && !request.get_header_value("Content-Type").starts_with("application/json"))
      return Problem{Problem::Code::bad_request, "the body is not declared as application/json",
                     "send Content-Type: application/json"};
    return std::nullopt;
  }

  // ---- what most requests begin with
  // ------------------------------------------------------------------------

  Answer<store::Project> project(const std::string& id) {
    auto found = stored(store.project(id));
    if (!found) return tl::unexpected(found.error());
    if (!*found)
      return refuse(Problem::Code::not_found, fmt::format("there is no project {}", id),
                    "choose one of the list");
    return **found;
  }

  /// The revision that "?revision=" names; the newest without.
  Answer<Revision> revision(const std::string& id, const Request& request) {
    const auto of = project(id);
    if (!of) return tl::unexpected(of.error());
    std::int64_t number = of->head;
    if (request.has_param("revision")) {
      const auto asked = whole_number(request.get_param_value("revision"));
      if (!asked)
        return refuse(Problem::Code::bad_request, "\"revision\" is no whole number", "give its number");
      number = *asked;
    }
    return desk.open(id, number);
  }

  static Answer<std::size_t> space(const Revision& revision, const std::string& id) {
    if (const auto index = revision->space(id)) return *index;
    return refuse(Problem::Code::not_found, fmt::format("revision {} has no room {}", revision->number, id),
                  "open the building");
  }

  /// Runs `answer`, which gives an Answer<Json>, and sends what it gives.
  template <class Fn>
  static void respond(Response& response, Fn answer, int status = 200) {
    const Answer<Json> json = answer();
    if (json)
      send(response, *json, status);
    else
      send(response, json.error());
  }

  // ---- projects and revisions
  // -------------------------------------------------------------------------------

  /// Keeps edits as the next revision, or says what stands in the way.
  void save(Response& response, const std::string& id, const Result<store::Appended>& appended,
            Revision opened) {
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
      desk.put(opened);
    } else {
      const auto read = desk.open(id, kept.number);
      if (!read) return send(response, read.error());
      opened = *read;
    }
    notices.say(id, to_json(kept));
    send(response, {{"revision", kept.number}, {"diagnostics", to_json(opened->files.diagnostics)}}, 201);
  }

  void add_project_routes() {
    server.Get("/api/about", [](const Request&, Response& response) {
      send(response,
           {{"version", std::string(files::program_digest().substr(0, 12))}, {"cautions", Json::array()}});
    });
    server.Get("/api/schema/project", [](const Request&, Response& response) {
      response.set_content(formats::project_schema_json(), "application/schema+json");
    });
    server.Get("/api/projects", [this](const Request&, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto all = stored(store.projects());
        if (!all) return tl::unexpected(all.error());
        Json list = Json::array();
        for (const store::Project& one : *all)
          if (!one.put_away) list.push_back(to_json(one));
        return list;
      });
    });
    server.Post("/api/projects", [this](const Request& request, Response& response) {
      respond(
          response, [&] { return create(request); }, 201);
    });
    server.Get(R"(/api/projects/([a-z0-9-]+))", [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto found = project(request.matches[1]);
        if (!found) return tl::unexpected(found.error());
        return to_json(*found);
      });
    });
    server.Get(R"(/api/projects/([a-z0-9-]+)/document)", [this](const Request& request, Response& response) {
      const auto opened = revision(request.matches[1], request);
      if (!opened) return send(response, opened.error());
      response.set_header("Cache-Control", "no-store");
      response.set_header("Content-Disposition",
                          fmt::format("attachment; filename=\"{}.halflight.json\"", (*opened)->project));
      response.set_content((*opened)->files.document.text(), "application/json");
    });
    server.Get(R"(/api/projects/([a-z0-9-]+)/revisions)", [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto found = project(request.matches[1]);
        if (!found) return tl::unexpected(found.error());
        const auto list = stored(store.revisions(found->id, 1000));
        if (!list) return tl::unexpected(list.error());
        Json all = Json::array();
        for (const store::Revision& one : *list) all.push_back(to_json(one));
        return all;
      });
    });
    server.Patch(R"(/api/projects/([a-z0-9-]+)/revisions/(\d{1,12}))",
                 [this](const Request& request, Response& response) {
                   respond(response, [&]() -> Answer<Json> {
                     const auto body = body_of(request);
                     if (!body) return tl::unexpected(body.error());
                     Fields fields(*body);
                     const std::string name = fields.text("name");
                     if (const auto problem = fields.problem()) return tl::unexpected(*problem);
                     const auto renamed = store.rename_revision(request.matches[1].str(),
                                                                *whole_number(request.matches[2]), name);
                     if (!renamed)
                       return tl::unexpected(problem_of(Problem::Code::bad_request, renamed.error()));
                     return to_json(*renamed);
                   });
                 });
    server.Post(R"(/api/projects/([a-z0-9-]+)/edits)", [this](const Request& request, Response& response) {
      const std::string id = request.matches[1];
      const auto body = body_of(request);
      if (!body) return send(response, body.error());
      Fields fields(*body);
      const std::int64_t base = fields.whole("base");
      const std::string label = fields.text("label");
      const auto edits = edits_of(fields.any("edits"), fields);
      if (const auto problem = fields.problem()) return send(response, *problem);
      const auto found = project(id);
      if (!found) return send(response, found.error());
      const auto from = desk.open(id, base);
      if (!from) return send(response, from.error());
      const auto edited = desk.what_if(**from, edits);
      if (!edited) return send(response, edited.error());
      const std::string& text = (*edited)->files.document.text();
      save(response, id, store.append(id, base, {files::as_bytes(text), now_s(), label, ""}), *edited);
    });
    server.Post(R"(/api/projects/([a-z0-9-]+)/restore)", [this](const Request& request, Response& response) {
      const std::string id = request.matches[1];
      const auto body = body_of(request);
      if (!body) return send(response, body.error());
      Fields fields(*body);
      const std::int64_t base = fields.whole("base");
      const std::int64_t number = fields.whole("revision");
      const std::string label = fields.text("label", fmt::format("back to revision {}", number));
      if (const auto problem = fields.problem()) return send(response, *problem);
      const auto found = project(id);
      if (!found) return send(response, found.error());
      const auto as_it_was = desk.open(id, number);
      if (!as_it_was) return send(response, as_it_was.error());
      save(response, id, store.restore(id, base, number, label, now_s()), *as_it_was);
    });
    server.Get(R"(/api/projects/([a-z0-9-]+)/events)", [this](const Request& request, Response& response) {
      const auto found = project(request.matches[1]);
      if (!found) return send(response, found.error());
      stream(response, [this, id = found->id, seen = notices.count(found->id)]() mutable {
        Event event;
        if (auto said = notices.wait(id, seen)) event = {"revision", *std::move(said)};
        return event;
      });
    });
    server.Get(R"(/api/projects/([a-z0-9-]+)/building)", [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto opened = revision(request.matches[1], request);
        if (!opened) return tl::unexpected(opened.error());
        Json json = {{"project", (*opened)->project}, {"revision", (*opened)->number}};
        json.update(building_json((*opened)->files));
        return json;
      });
    });
  }

  Answer<Json> create(const Request& request) {
    const auto body = body_of(request);
    if (!body) return tl::unexpected(body.error());
    Fields fields(*body);
    const std::string from = fields.text("from", "");
    std::string document = fields.text("document", "");
    std::string name = fields.text("name", "");
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
    const Json parsed = Json::parse(document, nullptr, false);
    if (parsed.is_discarded() || !parsed.is_object())
      return refuse(Problem::Code::bad_request, "the document is no JSON object",
                    "choose a file that ends in .halflight.json", "/document");
    if (name.empty() && parsed.contains("name") && parsed["name"].is_string())
      name = parsed["name"].get<std::string>().substr(0, store::kLongestText);
    if (name.empty()) name = "Unnamed building";
    const auto made = store.create_project(name, {files::as_bytes(document), now_s(), label, ""});
    if (!made) return tl::unexpected(problem_of(Problem::Code::storage, made.error()));
    return to_json(*made);
  }

  // ---- rooms
  // ------------------------------------------------------------------------------------------------

  static constexpr const char* kRoom =
      R"(/api/projects/([a-z0-9-]+)/rooms/([A-Za-z0-9][A-Za-z0-9._-]{0,79}))";

  /// Opens the revision and the room, and answers with what `use` makes of it once lit.
  template <class Use>
  Answer<Json> of_room(const Request& request, Use use) {
    const auto opened = revision(request.matches[1], request);
    if (!opened) return tl::unexpected(opened.error());
    const auto index = space(*opened, request.matches[2]);
    if (!index) return tl::unexpected(index.error());
    Answer<Json> answer = Json();
    const auto lit = desk.with_room(*opened, *index, [&](sim::LiveRoom& room, const OpenRevision&) {
      answer = use(room);
      if (answer) {
        Json json = {{"revision", (*opened)->number}};
        json.update(*answer);
        answer = std::move(json);
      }
    });
    if (!lit) return tl::unexpected(lit.error());
    return answer;
  }

  /// The second of the civil year that "?at_civil_s=" names.
  static Answer<Seconds> instant(const Request& request) {
    const auto at = whole_number(request.get_param_value("at_civil_s"));
    if (!at || *at < 0 || *at >= kYear)
      return refuse(Problem::Code::bad_request, "\"at_civil_s\" is no second of the year",
                    fmt::format("give 0 to {}", kYear - 1), "/at_civil_s");
    return *at;
  }

  void add_room_routes() {
    server.Get(kRoom, [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto opened = revision(request.matches[1], request);
        if (!opened) return tl::unexpected(opened.error());
        const auto index = space(*opened, request.matches[2]);
        if (!index) return tl::unexpected(index.error());
        Json json = {{"project", (*opened)->project}, {"revision", (*opened)->number}};
        json.update(room_json((*opened)->files, *index));
        return json;
      });
    });
    server.Get(std::string(kRoom) + "/year", [this](const Request& request, Response& response) {
      respond(response, [&] {
        return of_room(request, [&](sim::LiveRoom& room) -> Answer<Json> {
          const std::string asked = request.get_param_value("quantity");
          for (std::size_t q = 0; q < sim::kYearQuantityNames.size(); ++q)
            if (asked == sim::kYearQuantityNames[q])
              return year_json(room, static_cast<sim::YearQuantity>(q));
          return refuse(Problem::Code::bad_request, fmt::format("\"{}\" is no quantity of a year", asked),
                        fmt::format("one of {}", fmt::join(sim::kYearQuantityNames, ", ")), "/quantity");
        });
      });
    });
    server.Get(std::string(kRoom) + "/why", [this](const Request& request, Response& response) {
      respond(response, [&] {
        return of_room(request, [&](sim::LiveRoom& room) -> Answer<Json> {
          const auto at = instant(request);
          if (!at) return tl::unexpected(at.error());
          return why_json(room, *at);
        });
      });
    });
    server.Post(std::string(kRoom) + "/light", [this](const Request& request, Response& response) {
      respond(response, [&] { return light(request); });
    });
  }

  Answer<Json> light(const Request& request) {
    const auto body = body_of(request);
    if (!body) return tl::unexpected(body.error());
    Fields fields(*body);
    const std::int64_t number = fields.whole("revision");
    const std::int64_t at = fields.whole("at_civil_s", -1);
    const std::string scene = fields.text("scene", "");
    const bool with_points = fields.flag("points");
    sim::LiveRoom::HeldLevels held;
    if (const Json* levels = fields.any("levels")) {
      if (!levels->is_object()) fields.wrong("levels", "is no object of levels by group");
      for (const auto& [group, level] : levels->items())
        if (level.is_number() && level.get<double>() >= 0.0 && level.get<double>() <= 1.0)
          held[group] = level.get<double>();
        else
          fields.wrong("levels",
                       fmt::format("holds {} for {}, which is no level from 0 to 1", text_of(level), group));
    }
    const auto edits = edits_of(fields.any("edits"), fields);
    if (at < -1 || at >= kYear) fields.wrong("at_civil_s", "is no second of the year");
    if (const auto problem = fields.problem()) return tl::unexpected(*problem);

    const auto opened = desk.open(request.matches[1], number);
    if (!opened) return tl::unexpected(opened.error());
    const auto index = space(*opened, request.matches[2]);
    if (!index) return tl::unexpected(index.error());
    Revision changed;
    if (!edits.empty()) {
      const auto edited = desk.what_if(**opened, edits);
      if (!edited) return tl::unexpected(edited.error());
      changed = *edited;
      if (const auto still = space(changed, request.matches[2]); !still || *still != *index)
        return refuse(Problem::Code::bad_request, "the edits take the room away", "save them first");
    }
    Answer<Json> answer = Json();
    const auto lit = desk.with_room(*opened, *index, [&](sim::LiveRoom& room, const OpenRevision&) {
      sim::RoomLight now = at >= 0 ? room.light_at(at, held) : room.light_of_scene(scene, held);
      if (changed != nullptr) {
        auto with = room.light_with(changed->inputs(), now);
        if (!with) {
          answer = tl::unexpected(problem_of(Problem::Code::bad_request, with.error()));
          return;
        }
        now = *std::move(with);
      }
      Json json = {{"revision", number}};
      json.update(light_json(room, now, with_points));
      answer = std::move(json);
    });
    if (!lit) return tl::unexpected(lit.error());
    return answer;
  }

  // ---- studies
  // ----------------------------------------------------------------------------------------------

  Answer<std::shared_ptr<Run>> run_of(const Request& request) {
    if (auto run = runs.find(request.matches[1])) return run;
    return refuse(Problem::Code::not_found, "there is no such study, or it was long ago", "begin it anew");
  }
  /// The study of a run that is done.
  Answer<std::shared_ptr<const results::Study>> study_of(const Run& run) {
    if (auto study = run.study()) return study;
    return refuse(Problem::Code::not_found, "the study is not done", "wait for its end");
  }

  Answer<Json> begin_study(const Request& request) {
    const auto body = body_of(request);
    if (!body) return tl::unexpected(body.error());
    Fields fields(*body);
    const std::int64_t number = fields.whole("revision");
    const auto accuracy = accuracy_of(fields.text("accuracy", "design"));
    if (!accuracy) fields.wrong("accuracy", "is none of draft, design and proof");
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
    const auto opened = desk.open(request.matches[1], number);
    if (!opened) return tl::unexpected(opened.error());
    for (const std::string& id : order.options.spaces)
      if (const auto known = space(*opened, id); !known) return tl::unexpected(known.error());
    for (const Diagnostic& d : (*opened)->files.diagnostics)
      if (d.severity == Diagnostic::Severity::error ||
          (d.severity == Diagnostic::Severity::missing && d.where.starts_with("/site")))
        return refuse(Problem::Code::bad_request, d.problem, d.remedy, d.where);
    order.revision = *opened;
    order.options.accuracy = *accuracy;
    const auto run = runs.begin(std::move(order));
    if (!run) return tl::unexpected(run.error());
    return to_json(**run, (*run)->standing());
  }

  void add_run_routes() {
    server.Post(R"(/api/projects/([a-z0-9-]+)/studies)", [this](const Request& request, Response& response) {
      respond(
          response, [&] { return begin_study(request); }, 202);
    });
    server.Get(R"(/api/runs/(run-\d{1,12}))", [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto run = run_of(request);
        if (!run) return tl::unexpected(run.error());
        return to_json(**run, (*run)->standing());
      });
    });
    server.Delete(R"(/api/runs/(run-\d{1,12}))", [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto run = run_of(request);
        if (!run) return tl::unexpected(run.error());
        (*run)->cancel();
        return to_json(**run, (*run)->standing());
      });
    });
    server.Get(R"(/api/runs/(run-\d{1,12})/events)", [this](const Request& request, Response& response) {
      const auto run = run_of(request);
      if (!run) return send(response, run.error());
      stream(response, [run = *run, seen = std::uint64_t(-1)]() mutable {
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
    server.Get(R"(/api/runs/(run-\d{1,12})/study)", [this](const Request& request, Response& response) {
      const auto run = run_of(request);
      if (!run) return send(response, run.error());
      const auto study = study_of(**run);
      if (!study) return send(response, study.error());
      response.set_header("Cache-Control", "no-store");
      response.set_content(formats::study_json(**study), "application/json");
    });
    server.Get(R"(/api/runs/(run-\d{1,12})/drawings)", [this](const Request& request, Response& response) {
      respond(response, [&]() -> Answer<Json> {
        const auto run = run_of(request);
        if (!run) return tl::unexpected(run.error());
        const auto study = study_of(**run);
        if (!study) return tl::unexpected(study.error());
        return drawings(**study);
      });
    });
    server.Get(R"(/api/runs/(run-\d{1,12})/report)", [this](const Request& request, Response& response) {
      const auto run = run_of(request);
      if (!run) return send(response, run.error());
      const auto study = study_of(**run);
      if (!study) return send(response, study.error());
      const OpenRevision& of = *(*run)->order().revision;
      report::ReportOptions options;
      options.revision = std::to_string(of.number);
      options.date = iso_time(now_s()).substr(0, 10);
      options.missing = of.files.diagnostics;
      response.set_content(report::html_report(**study, of.files.document.project(), options),
                           "text/html; charset=utf-8");
    });
  }

  /// What of a study is for drawing only: small pictures of the year and daylight zones, by room.
  static Json drawings(const results::Study& study) {
    static constexpr std::array<const char*, 3> kZoneKinds = {"primary", "secondary", "toplit"};
    Json rooms = Json::array();
    for (const results::SpaceStudy& one : study.spaces) {
      Json room = {{"id", one.id}, {"daylight_zones", Json::array()}};
      for (const results::DaylightZone& zone : one.daylight_zones) {
        Json outline = Json::array();
        for (const Polygon& piece : zone.outline) outline.push_back(to_json(piece));
        room["daylight_zones"].push_back({{"id", zone.id},
                                          {"kind", kZoneKinds[static_cast<std::size_t>(zone.kind)]},
                                          {"outline", outline},
                                          {"depth_m", zone.depth_m},
                                          {"area_m2", zone.area_m2}});
      }
      if (!one.pictures.empty()) {
        const results::YearPicture& picture = one.pictures.front();
        std::string bytes;
        for (const float value : picture.values)
          bytes +=
              static_cast<char>(static_cast<std::uint8_t>(std::clamp(255.0F * value + 0.5F, 0.0F, 255.0F)));
        room["year"] = {
            {"quantity", picture.quantity}, {"per_day", picture.per_day}, {"bytes", base64(bytes)}};
      }
      rooms.push_back(std::move(room));
    }
    return {{"rooms", rooms}};
  }

  // ---- streams of events
  // ------------------------------------------------------------------------------------

  struct Event {
    std::string name;  ///< empty: nothing has happened
    std::string data;
    bool is_last = false;
  };

  /// Server-sent events: `next` waits for at most a heartbeat and gives what happened.
  template <class Next>
  void stream(Response& response, Next next) {
    if (streams.fetch_add(1) >= kMostStreams) {
      streams.fetch_sub(1);
      return send(response, Problem{Problem::Code::busy, "too many windows listen already", "close some"});
    }
    response.set_header("Cache-Control", "no-store");
    response.set_chunked_content_provider(
        "text/event-stream",
        [this, next = std::move(next)](std::size_t, httplib::DataSink& sink) mutable {
          if (stopping) return false;
          const Event event = next();
          const std::string text = event.name.empty()
                                       ? std::string(":\n\n")
                                       : fmt::format("event: {}\ndata: {}\n\n", event.name, event.data);
          if (!sink.write(text.data(), text.size())) return false;
          if (event.is_last) sink.done();
          return true;
        },
        [this](bool) { streams.fetch_sub(1); });
  }

  // ---- pages
  // ------------------------------------------------------------------------------------------------

  void add_pages() {
    server.Get("/.*", [](const Request& request, Response& response) {
      if (request.path.starts_with("/api/"))
        return send(response,
                    Problem{Problem::Code::not_found, "there is nothing here", "check the address"});
      const bool is_asset = request.path.starts_with("/assets/");
      const std::string_view wanted =
          is_asset ? std::string_view(request.path).substr(1) : std::string_view("index.html");
      for (const files::EmbeddedFile& file : embedded_pages()) {
        if (file.name != wanted) continue;
        // Assets are named by their content; the page itself is looked at each time.
        response.set_header("Cache-Control", is_asset ? "public, max-age=31536000, immutable" : "no-cache");
        response.set_content(std::string(files::as_text(file.bytes)), media_type_of(file.name));
        return;
      }
      send(response, Problem{Problem::Code::not_found, "there is nothing here", "check the address"});
    });
  }

  ProjectStore& store;
  Desk desk;
  Runs runs;
  Notices notices;
  std::atomic<int> streams = 0;
  std::atomic<bool> stopping = false;
  int port = 0;
  httplib::Server server;
};

HttpService::HttpService(ProjectStore& store, Executor& executor, BlobStore& blobs)
    : state_(std::make_unique<State>(store, executor, blobs)) {}
HttpService::~HttpService() = default;

Result<int> HttpService::bind(int port) {
  constexpr const char* kLoopback = "127.0.0.1";
  const int bound = port == 0 ? state_->server.bind_to_any_port(kLoopback)
                              : (state_->server.bind_to_port(kLoopback, port) ? port : -1);
  if (bound < 0)
    return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "--port", "",
                                       fmt::format("port {} of this machine cannot be taken", port),
                                       "give another one, or 0 for any that is free"}});
  state_->port = bound;
  return bound;
}

void HttpService::serve(const std::stop_token& stop) {
  const std::stop_callback stop_server(stop, [this] {
    state_->stopping = true;
    state_->server.stop();
  });
  if (!stop.stop_requested()) state_->server.listen_after_bind();
}

}  // namespace halflight::service
