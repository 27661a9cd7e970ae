#include "service/http_service.hpp"

#include "service/gate.hpp"
#include "service/routes.hpp"

#include <exception>
#include <string>

namespace halflight::service {

namespace {

/// Streams of events hold one each; the others answer requests.
constexpr std::size_t kThreads = 64;

/// How long a connection waits for its next request, s: a stop waits for it, and it holds a thread.
constexpr int kLongestIdle_s = 1;

/// Three things that the HTTP library does with a request and that nobody here wants. The request is its own
/// variable, const only in the handlers.
void put_right(const Request& request) {
  auto& own = const_cast<Request&>(request);
  // It waits for the body that a DELETE without a length might yet have.
  if (own.method == "DELETE" && !own.has_header("Content-Length")) own.set_header("Content-Length", "0");
  // It would send any part as often as it is asked for: thousands of times the answer.
  own.ranges.clear();
  // It would pack each answer as tightly as it can, by Brotli where a browser takes that: 0.3 s for a
  // document that its own machine reads in 1 ms. Answers go as they are, pages by gzip.
  const bool takes_gzip = own.get_header_value("Accept-Encoding").find("gzip") != std::string::npos;
  own.headers.erase("Accept-Encoding");
  if (takes_gzip && !own.path.starts_with("/api/")) own.set_header("Accept-Encoding", "gzip");
}

}  // namespace

void send(Response& response, const Json& json, int status) {
  response.status = status;
  response.set_header("Cache-Control", "no-store");
  response.set_content(text_of(json), "application/json");
}
void send(Response& response, const Problem& problem) {
  send(response, {{"error", to_json(problem)}}, status_of(problem.code));
}

struct HttpService::State {
  State(store::ProjectStore& store, const Executors& executors, BlobStore& blobs)
      : workbench(store, executors, blobs) {
    server.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
    server.set_tcp_nodelay(true);
    // Without SO_REUSEPORT, which the library sets: a port that another process answers on is taken.
    server.set_socket_options([](socket_t socket) {
      const int yes = 1;
      setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    });
    server.set_keep_alive_max_count(100'000);
    server.set_keep_alive_timeout(kLongestIdle_s);
    server.set_pre_routing_handler([this](const Request& request, Response& response) {
      auto problem = stranger(request, port);
      if (!problem) problem = unreadable(request);
      if (problem) {
        turn_away(response, *problem);
        return httplib::Server::HandlerResponse::Handled;
      }
      put_right(request);
      return httplib::Server::HandlerResponse::Unhandled;
    });
    server.set_post_routing_handler([](const Request&, Response& response) {
      response.set_header("X-Content-Type-Options", "nosniff");
      response.set_header("Referrer-Policy", "no-referrer");
      response.set_header("Cross-Origin-Resource-Policy", "same-origin");
      if (response.has_header("Content-Security-Policy")) return;  // a route that is stricter
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
      if (response.has_header("Content-Type")) return;  // it says already what is wrong
      if (response.status == 404)
        send(response, Problem{Problem::Code::not_found, "there is nothing here", "check the address"});
      else
        send(response,
             Problem{Problem::Code::bad_request, "the request cannot be understood", "check the address"});
    });
    add_project_routes(server, workbench);
    add_room_routes(server, workbench);
    add_place_routes(server, workbench);
    add_proposal_routes(server, workbench);
    add_building_proposal_routes(server, workbench);
    add_what_if_routes(server, workbench);
    add_run_routes(server, workbench);
    add_start_routes(server, workbench);
    add_issue_routes(server, workbench);
    add_page_routes(server);
  }

  Workbench workbench;
  int port = 0;
  httplib::Server server;
};

HttpService::HttpService(store::ProjectStore& store, const Executors& executors, BlobStore& blobs)
    : state_(std::make_unique<State>(store, executors, blobs)) {}
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
    state_->workbench.stopping = true;
    state_->workbench.desk.stop();
    state_->server.stop();
  });
  if (!stop.stop_requested()) state_->server.listen_after_bind();
}

}  // namespace halflight::service
