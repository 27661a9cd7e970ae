#include "files/file.hpp"
#include "service/embedded_pages.hpp"
#include "service/routes.hpp"

#include <algorithm>
#include <string_view>

namespace halflight::service {

namespace {

const char* media_type_of(std::string_view name) {
  const std::string_view ending = name.substr(std::min(name.size(), name.rfind('.')));
  if (ending == ".html") return "text/html; charset=utf-8";
  if (ending == ".js") return "text/javascript; charset=utf-8";
  if (ending == ".css") return "text/css; charset=utf-8";
  if (ending == ".woff2") return "font/woff2";
  if (ending == ".svg") return "image/svg+xml";
  return "application/octet-stream";
}

}  // namespace

void add_page_routes(httplib::Server& server) {
  server.Get("/.*", [](const Request& request, Response& response) {
    if (request.path.starts_with("/api/"))
      return send(response, Problem{Problem::Code::not_found, "there is nothing here", "check the address"});
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

}  // namespace halflight::service
