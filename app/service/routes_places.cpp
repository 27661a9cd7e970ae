#include "service/light_json.hpp"
#include "service/long_work.hpp"
#include "service/routes.hpp"

#include <cstdint>
#include <memory>

namespace halflight::service {

void add_place_routes(httplib::Server& server, Workbench& workbench) {
  server.Get(std::string(kRoom) + "/photosensor_places", [&workbench](const Request& request,
                                                                      Response& response) {
    const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"),
                                           request.get_param_value("design"));
    if (!opened) return send(response, opened.error());
    const auto index = space_of(*opened, request.matches[2]);
    if (!index) return send(response, index.error());
    const std::string text = request.get_param_value("rule");
    const auto rule = text.empty() ? std::optional<std::int64_t>(0) : whole_number(text);
    if (!rule || *rule < 0)
      return send(response, Problem{Problem::Code::bad_request, "\"rule\" is no number of a daylight rule",
                                    "count the rules of the room's sequence from 0", "/rule"});
    const auto try_places = [&workbench, revision = *opened, space = *index,
                             rule = static_cast<std::size_t>(*rule)](const Context& context,
                                                                     LongWork&) -> Answer<Json> {
      const auto places = workbench.desk.photosensor_places(revision, space, rule, context);
      if (!places) return tl::unexpected(places.error());
      Json json = {{"revision", revision->number}, {"rule", rule}};
      json.update(places_json(**places));
      return json;
    };
    stream(workbench, response,
           [work = std::make_shared<LongWork>(workbench.desk.background_context(1), false, try_places)] {
             return work->next();
           });
  });
}

}  // namespace halflight::service
