#pragma once
#include "service/json.hpp"
#include "service/problem_json.hpp"
#include "service/request.hpp"
#include "service/workbench.hpp"

#include <string>
#include <utility>

#include <fmt/format.h>
#include <httplib.h>

// What the sources of routes share. Beside them only gate.cpp includes the HTTP library.

namespace halflight::service {

using httplib::Request;
using httplib::Response;

inline constexpr const char* kProject = R"(/api/projects/([a-z0-9-]+))";
inline constexpr const char* kRoom = R"(/api/projects/([a-z0-9-]+)/rooms/([A-Za-z0-9][A-Za-z0-9._-]{0,79}))";

void add_project_routes(httplib::Server& server, Workbench& workbench);
void add_room_routes(httplib::Server& server, Workbench& workbench);
void add_place_routes(httplib::Server& server, Workbench& workbench);
void add_proposal_routes(httplib::Server& server, Workbench& workbench);
void add_building_proposal_routes(httplib::Server& server, Workbench& workbench);
void add_what_if_routes(httplib::Server& server, Workbench& workbench);
void add_run_routes(httplib::Server& server, Workbench& workbench);
void add_start_routes(httplib::Server& server, Workbench& workbench);
void add_issue_routes(httplib::Server& server, Workbench& workbench);
/// Everything that is not below /api: must come last.
void add_page_routes(httplib::Server& server);

void send(Response& response, const Json& json, int status = 200);
void send(Response& response, const Problem& problem);

/// Runs `answer`, which gives an Answer<Json>, and sends what it gives.
template <class Fn>
void respond(Response& response, Fn answer, int status = 200) {
  const Answer<Json> json = answer();
  if (json)
    send(response, *json, status);
  else
    send(response, json.error());
}

struct Event {
  std::string name;  ///< empty: nothing has happened
  std::string data;
  bool is_last = false;
};

/// Each open stream of events holds a thread of the server.
inline constexpr int kMostStreams = 40;

/// Server-sent events: `next` waits for at most a heartbeat and gives what happened.
template <class Next>
void stream(Workbench& workbench, Response& response, Next next) {
  if (workbench.streams.fetch_add(1) >= kMostStreams) {
    workbench.streams.fetch_sub(1);
    return send(response, Problem{Problem::Code::busy, "too many windows listen already", "close some"});
  }
  response.set_header("Cache-Control", "no-store");
  response.set_chunked_content_provider(
      "text/event-stream",
      [&workbench, next = std::move(next)](std::size_t, httplib::DataSink& sink) mutable {
        if (workbench.stopping) return false;
        const Event event = next();
        const std::string text = event.name.empty()
                                     ? std::string(":\n\n")
                                     : fmt::format("event: {}\ndata: {}\n\n", event.name, event.data);
        if (!sink.write(text.data(), text.size())) return false;
        if (event.is_last) sink.done();
        return true;
      },
      [&workbench](bool) { workbench.streams.fetch_sub(1); });
}

}  // namespace halflight::service
