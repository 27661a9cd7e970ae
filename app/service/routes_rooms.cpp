#include "choose/room_scenes.hpp"
#include "codes/check.hpp"
#include "projects/scene_levels_json.hpp"
#include "service/light_json.hpp"
#include "service/radio_json.hpp"
#include "service/reach_json.hpp"
#include "service/room_json.hpp"
#include "service/routes.hpp"

namespace halflight::service {

namespace {

/// Opens the revision and the room, and answers with what `use` makes of it once lit.
template <class Use>
Answer<Json> of_room(Workbench& workbench, const Request& request, Use use) {
  const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"),
                                         request.get_param_value("design"));
  if (!opened) return tl::unexpected(opened.error());
  const auto index = space_of(*opened, request.matches[2]);
  if (!index) return tl::unexpected(index.error());
  Answer<Json> answer = Json();
  const auto lit = workbench.desk.with_room(*opened, *index, [&](sim::LiveRoom& room, const OpenRevision&) {
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
Answer<Seconds> instant(const Request& request) {
  const auto at = whole_number(request.get_param_value("at_civil_s"));
  if (!at || *at < 0 || *at >= kYear)
    return refuse(Problem::Code::bad_request, "\"at_civil_s\" is no second of the year",
                  fmt::format("give 0 to {}", kYear - 1), "/at_civil_s");
  return *at;
}

Answer<Json> light(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t number = fields.whole("revision");
  const std::int64_t at = fields.whole("at_civil_s", -1);
  const std::string scene = fields.text("scene", "");
  const std::string design = fields.text("design", "");
  const bool with_points = fields.flag("points");
  const bool with_radio = fields.flag("radio");
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

  const auto opened = workbench.revision(request.matches[1], std::to_string(number), design);
  if (!opened) return tl::unexpected(opened.error());
  const auto index = space_of(*opened, request.matches[2]);
  if (!index) return tl::unexpected(index.error());
  Revision changed;
  if (!edits.empty()) {
    const auto edited = workbench.desk.what_if(**opened, edits);
    if (!edited) return tl::unexpected(edited.error());
    changed = *edited;
    if (const auto still = space_of(changed, request.matches[2]); !still || *still != *index)
      return refuse(Problem::Code::bad_request, "the edits take the room away", "save them first");
  }
  Answer<Json> answer = Json();
  const auto lit = workbench.desk.with_room(*opened, *index, [&](sim::LiveRoom& room, const OpenRevision&) {
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
    const domain::Project& drawn = (changed == nullptr ? *opened : changed)->files.document.project();
    json["reach"] = reach_json(drawn, drawn.spaces[*index]);
    json["radio"] = with_radio ? radio_json(drawn, drawn.spaces[*index]) : Json();
    answer = std::move(json);
  });
  if (!lit) return tl::unexpected(lit.error());
  return answer;
}

/// Levels that hold what a scene is for, after edits that may change its targets; nothing is saved.
Answer<Json> scene_levels(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t number = fields.whole("revision");
  const std::string id = fields.text("scene");
  const std::string design = fields.text("design", "");
  const auto edits = edits_of(fields.any("edits"), fields);
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);

  const auto opened = workbench.revision(request.matches[1], std::to_string(number), design);
  if (!opened) return tl::unexpected(opened.error());
  const auto index = space_of(*opened, request.matches[2]);
  if (!index) return tl::unexpected(index.error());
  Revision asked = *opened;
  if (!edits.empty()) {
    const auto edited = workbench.desk.what_if(**opened, edits);
    if (!edited) return tl::unexpected(edited.error());
    asked = *edited;
  }
  for (const Diagnostic& d : asked->files.diagnostics)
    if (d.severity == Diagnostic::Severity::error)
      return refuse(Problem::Code::bad_request, d.problem, d.remedy, d.where);
  const domain::Project& project = asked->files.document.project();
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  const domain::Scene* scene = nullptr;
  if (proposal != nullptr)
    for (const domain::Scene& one : proposal->scenes)
      if (one.id == id && one.space == (*opened)->files.document.project().spaces[*index].id) scene = &one;
  if (scene == nullptr)
    return refuse(Problem::Code::bad_request, fmt::format("the room has no scene {}", id),
                  "name one of its scenes", "/scene");
  Answer<Json> answer = Json();
  const auto lit = workbench.desk.with_room(*opened, *index, [&](sim::LiveRoom& room, const OpenRevision&) {
    const choose::SceneInRoom place{&room.model(), scene};
    const Result<choose::RoomScene> found =
        choose::propose_scene(std::span(&place, 1), codes::rules_in_force(project, asked->files.code_rules));
    if (!found) {
      answer = tl::unexpected(problem_of(Problem::Code::bad_request, found.error()));
      return;
    }
    Json json = {{"revision", number}, {"scene", id}};
    json.update(projects::scene_levels_json(*found));
    answer = std::move(json);
  });
  if (!lit) return tl::unexpected(lit.error());
  return answer;
}

}  // namespace

void add_room_routes(httplib::Server& server, Workbench& workbench) {
  server.Get(kRoom, [&workbench](const Request& request, Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto opened = workbench.revision(request.matches[1], request.get_param_value("revision"),
                                             request.get_param_value("design"));
      if (!opened) return tl::unexpected(opened.error());
      const auto index = space_of(*opened, request.matches[2]);
      if (!index) return tl::unexpected(index.error());
      Json json = {{"project", (*opened)->project}, {"revision", (*opened)->number}};
      json.update(room_json((*opened)->files, *index));
      return json;
    });
  });
  server.Get(std::string(kRoom) + "/year", [&workbench](const Request& request, Response& response) {
    respond(response, [&] {
      return of_room(workbench, request, [&](sim::LiveRoom& room) -> Answer<Json> {
        const std::string asked = request.get_param_value("quantity");
        for (std::size_t q = 0; q < sim::kYearQuantityNames.size(); ++q)
          if (asked == sim::kYearQuantityNames[q]) return year_json(room, static_cast<sim::YearQuantity>(q));
        return refuse(Problem::Code::bad_request, fmt::format("\"{}\" is no quantity of a year", asked),
                      fmt::format("one of {}", fmt::join(sim::kYearQuantityNames, ", ")), "/quantity");
      });
    });
  });
  server.Get(std::string(kRoom) + "/why", [&workbench](const Request& request, Response& response) {
    respond(response, [&] {
      return of_room(workbench, request, [&](sim::LiveRoom& room) -> Answer<Json> {
        const auto at = instant(request);
        if (!at) return tl::unexpected(at.error());
        return why_json(room, *at);
      });
    });
  });
  server.Post(std::string(kRoom) + "/scene_levels", [&workbench](const Request& request, Response& response) {
    respond(response, [&] { return scene_levels(workbench, request); });
  });
  server.Post(std::string(kRoom) + "/light", [&workbench](const Request& request, Response& response) {
    respond(response, [&] { return light(workbench, request); });
  });
}

}  // namespace halflight::service
