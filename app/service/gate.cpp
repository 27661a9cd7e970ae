#include "service/gate.hpp"

#include "service/problem_json.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cstdint>
#include <string>
#include <string_view>

#include <fmt/format.h>
#include <httplib.h>

namespace halflight::service {

namespace {

/// Without parameters and in lower case: "application/json" for "Application/JSON; charset=utf-8".
std::string media_type(std::string_view content_type) {
  std::string type(content_type.substr(0, content_type.find(';')));
  while (!type.empty() && type.back() == ' ') type.pop_back();
  std::transform(type.begin(), type.end(), type.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return type;
}

Problem bad(std::string problem, std::string remedy) {
  return {Problem::Code::bad_request, std::move(problem), std::move(remedy)};
}

}  // namespace

std::optional<Problem> stranger(const httplib::Request& request, int port) {
  const std::array<std::string, 2> hosts = {fmt::format("127.0.0.1:{}", port),
                                            fmt::format("localhost:{}", port)};
  const auto is_own = [&](std::string_view host) {
    return std::find(hosts.begin(), hosts.end(), host) != hosts.end();
  };
  if (request.get_header_value_count("Host") != 1 || !is_own(request.get_header_value("Host")))
    return Problem{Problem::Code::refused, "the request names another host",
                   fmt::format("use http://{}", hosts[0])};
  if (request.has_header("Origin")) {
    const std::string origin = request.get_header_value("Origin");
    constexpr std::string_view kScheme = "http://";
    if (request.get_header_value_count("Origin") != 1 || !origin.starts_with(kScheme) ||
        !is_own(std::string_view(origin).substr(kScheme.size())))
      return Problem{Problem::Code::refused, "the request comes from a page of another origin",
                     "use the workbench's own pages"};
  }
  // Programs do not say it; "none" is an address that somebody typed.
  if (request.path.starts_with("/api/") && request.has_header("Sec-Fetch-Site")) {
    const std::string site = request.get_header_value("Sec-Fetch-Site");
    if (request.get_header_value_count("Sec-Fetch-Site") != 1 || (site != "same-origin" && site != "none"))
      return Problem{Problem::Code::refused, "the request comes from a page of another site",
                     "use the workbench's own pages"};
  }
  return std::nullopt;
}

std::optional<Problem> unreadable(const httplib::Request& request) {
  if (request.has_header("Transfer-Encoding"))
    return bad("the length of the body is not said beforehand", "send Content-Length, and no parts");
  const std::size_t lengths = request.get_header_value_count("Content-Length");
  const bool needs_body = request.method == "POST" || request.method == "PATCH" || request.method == "PUT";
  std::uint64_t length = 0;
  if (lengths > 0) {
    const std::string said = request.get_header_value("Content-Length");
    const auto [end, error] = std::from_chars(said.data(), said.data() + said.size(), length);
    if (lengths > 1 || said.empty() || end != said.data() + said.size() ||
        (error != std::errc() && error != std::errc::result_out_of_range))
      return bad("Content-Length is no length", "send it once, in bytes");
    if (error == std::errc::result_out_of_range || length > kLargestBody)
      return Problem{Problem::Code::too_large,
                     fmt::format("the request is larger than {} MiB", kLargestBody >> 20),
                     "send less at once"};
  }
  if (!needs_body) {
    if (length == 0) return std::nullopt;
    return bad(fmt::format("a {} has no body here", request.method), "leave the body away");
  }
  if (lengths == 0) return bad("the request has no body", "send a JSON object with its Content-Length");
  // Compressed bytes grow a thousandfold; nothing here is worth it.
  if (request.has_header("Content-Encoding"))
    return bad("the body is encoded", "send the JSON as it is, without Content-Encoding");
  if (request.get_header_value_count("Content-Type") != 1 ||
      media_type(request.get_header_value("Content-Type")) != "application/json")
    return bad("the body is not declared as application/json", "send Content-Type: application/json");
  return std::nullopt;
}

void turn_away(httplib::Response& response, const Problem& problem) {
  const std::string body = text_of({{"error", to_json(problem)}});
  response.status = status_of(problem.code);
  response.set_header("Cache-Control", "no-store");
  response.set_header("Connection", "close");
  // The HTTP library ends a connection only when an answer cannot be given whole: so it is told, once the
  // whole of it has been written.
  response.set_content_provider(body.size(), "application/json",
                                [body](std::size_t, std::size_t, httplib::DataSink& sink) {
                                  sink.write(body.data(), body.size());
                                  return false;
                                });
}

}  // namespace halflight::service
