#include "base/base64.hpp"
#include "formats/weather_file.hpp"
#include "photometry/summary.hpp"
#include "projects/photometric_input.hpp"
#include "service/routes.hpp"
#include "service/start_json.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <string_view>

// The way in: what the library offers, what a place or a room adds to a document, and files that are brought
// along.

namespace halflight::service {

namespace {

// ---------------------------------------------------------------------------------------------------------
// Requests

std::optional<double> number(const Json* value, const char* key, Fields& fields) {
  if (value == nullptr) return std::nullopt;
  if (!value->is_number()) fields.wrong(key, "is no number");
  return value->is_number() ? std::optional(value->get<double>()) : std::nullopt;
}

Json list(const Json* value, const char* key, std::size_t most, Fields& fields) {
  if (value == nullptr) return Json::array();
  const bool fits =
      value->is_array() && value->size() <= most &&
      std::all_of(value->begin(), value->end(), [](const Json& one) { return one.is_object(); });
  if (!fits) fields.wrong(key, fmt::format("is no list of at most {} objects", most));
  return fits ? *value : Json::array();
}

Polygon polygon(const Json* value, const char* key, Fields& fields) {
  constexpr std::size_t kMostCorners = 200;
  Polygon outline;
  if (value == nullptr) return outline;
  if (value->is_array() && value->size() <= kMostCorners)
    for (const Json& at : *value)
      if (at.is_array() && at.size() == 2 && at[0].is_number() && at[1].is_number() &&
          std::abs(at[0].get<double>()) < 1e5 && std::abs(at[1].get<double>()) < 1e5)
        outline.push_back({at[0].get<double>(), at[1].get<double>()});
  if (!value->is_array() || outline.size() != value->size() || outline.size() < 3)
    fields.wrong(key, fmt::format("is no outline of 3 to {} positions [x, y] in metres", kMostCorners));
  return outline;
}

std::optional<FoundWish> found_wish(const Json* value, Fields& fields) {
  if (value == nullptr || value->is_null()) return std::nullopt;
  if (!value->is_object()) {
    fields.wrong("as_found", "is no object");
    return std::nullopt;
  }
  Fields of(*value);
  FoundWish wish;
  wish.luminaire_type = of.text("luminaire_type", "");
  wish.watts = of.text("watts", "");
  const std::int64_t count = of.whole("count", 0);
  if (count < 0 || count > 400) of.wrong("count", "is no number of luminaires from 1 to 400");
  if (count > 0) wish.count = static_cast<std::size_t>(count);
  if (const auto problem = of.problem()) fields.wrong("as_found", problem->problem);
  return wish;
}

Answer<Json> start_site(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t revision = fields.whole("revision");
  SiteWish wish;
  wish.climate = fields.text("climate", "");
  wish.weather_file = fields.text("weather_file", "");
  wish.latitude_deg = number(fields.any("latitude_deg"), "latitude_deg", fields);
  wish.longitude_deg = number(fields.any("longitude_deg"), "longitude_deg", fields);
  wish.utc_offset_h = number(fields.any("utc_offset_h"), "utc_offset_h", fields);
  wish.clock = fields.text("clock", "");
  wish.kind = fields.text("kind", "");
  wish.unit = fields.text("unit", "m");
  if (const Json* codes = fields.any("codes")) wish.codes = list(codes, "codes", 10, fields);
  wish.hours = list(fields.any("hours"), "hours", 7, fields);
  wish.storey = fields.text("storey", "");
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto opened = workbench.desk.open(request.matches[1], revision);
  if (!opened) return tl::unexpected(opened.error());
  return site_edits(workbench.desk, **opened, wish);
}

Answer<Json> start_room(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::int64_t revision = fields.whole("revision");
  RoomWish wish;
  wish.space = fields.text("space", "");
  wish.typical = fields.text("typical", "");
  wish.kind = fields.text("kind", "");
  wish.number = fields.text("number", "");
  wish.name = fields.text("name", "");
  wish.storey = fields.text("storey", "");
  wish.width = fields.text("width", "");
  wish.length = fields.text("length", "");
  wish.floor = polygon(fields.any("floor"), "floor", fields);
  wish.apart = fields.flag("apart");
  wish.height = fields.text("height", "");
  wish.windows = list(fields.any("windows"), "windows", 40, fields);
  wish.doors = list(fields.any("doors"), "doors", 20, fields);
  wish.luminaire_type = fields.text("luminaire_type", "");
  wish.target = fields.text("target", "");
  wish.as_found = found_wish(fields.any("as_found"), fields);
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto opened = workbench.desk.open(request.matches[1], revision);
  if (!opened) return tl::unexpected(opened.error());
  return room_edits(workbench.desk, *opened, wish);
}

// ---------------------------------------------------------------------------------------------------------
// Files

enum class FileRole { photometry, weather, background };

struct Ending {
  std::string_view ending;
  FileRole role;
};
constexpr std::array<Ending, 10> kEndings = {{{".ies", FileRole::photometry},
                                              {".ldt", FileRole::photometry},
                                              {".epw", FileRole::weather},
                                              {".csv", FileRole::weather},
                                              {".png", FileRole::background},
                                              {".jpg", FileRole::background},
                                              {".jpeg", FileRole::background},
                                              {".svg", FileRole::background},
                                              {".dxf", FileRole::background},
                                              {".pdf", FileRole::background}}};

std::optional<FileRole> role_of(std::string path) {
  std::transform(path.begin(), path.end(), path.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (const Ending& one : kEndings)
    if (path.ends_with(one.ending)) return one.role;
  return std::nullopt;
}

/// "files/P6 wide.ies" gives "P6 wide".
std::string stem(const std::string& path) {
  const std::size_t from = path.rfind('/') == path.npos ? 0 : path.rfind('/') + 1;
  return path.substr(from, path.rfind('.') - from);
}

/// A luminaire type whose light is the file's, ready for a document.
Json type_from(const std::string& path, const Hash& hash, const photometry::PhotometricSummary& summary) {
  using Shape = domain::LuminousOpening::Shape;
  std::string id;
  for (const char c : stem(path)) {
    const bool fits = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (fits || (!id.empty() && id.back() != '-')) id += fits ? c : '-';
  }
  while (!id.empty() && id.back() == '-') id.pop_back();
  const bool is_round = summary.opening.shape == Shape::circle || summary.opening.shape == Shape::sphere ||
                        summary.opening.shape == Shape::vertical_cylinder;
  const auto side = [](double metres) {
    constexpr double kPoint_m = 0.1;
    return fmt::format("{:.3f} m", metres > 0.01 ? metres : kPoint_m);
  };
  Json channel = {{"id", "all"}, {"driver", "led_digital"}};
  if (summary.input_w <= 0.0) channel["input"] = "0 W";
  channel["photometry"] = {{"file", path}, {"file_hash", hash.hex()}};
  return {{"id", id.empty() ? "from-file" : id},
          {"tag", ""},
          {"name", stem(path)},
          {"mounting", summary.upward_fraction > 0.1 ? "pendant" : "recessed"},
          {"shape", is_round ? "circle" : "rectangle"},
          {"length", side(summary.opening.length_m)},
          {"width", side(summary.opening.width_m)},
          {"channels", Json::array({std::move(channel)})},
          {"watts_source", "label"}};
}

/// What the reader says of a file that is about to be kept.
Answer<Json> read_file(Workbench& workbench, const std::string& project, const std::string& path,
                       FileRole role, std::span<const std::byte> bytes) {
  if (role == FileRole::photometry) {
    Diagnostics warnings;
    const auto light =
        projects::read_photometry_of(*workbench.desk.files_of(project), path, bytes, &warnings);
    if (!light) return tl::unexpected(problem_of(Problem::Code::bad_request, light.error()));
    const photometry::PhotometricSummary summary = photometry::photometric_summary(*light, path);
    warnings.insert(warnings.end(), summary.warnings.begin(), summary.warnings.end());
    Json type = type_from(path, hash_bytes(bytes), summary);
    return Json{{"role", "photometry"},
                {"lumens", summary.lumens},
                {"input_w", summary.input_w},
                {"length_m", summary.opening.length_m},
                {"width_m", summary.opening.width_m},
                {"downward_fraction", summary.downward_fraction},
                {"warnings", to_json(warnings)},
                {"luminaire_type", std::move(type)}};
  }
  if (role == FileRole::weather) {
    Diagnostics warnings;
    const auto year = formats::read_weather(bytes, path, &warnings);
    if (!year) return tl::unexpected(problem_of(Problem::Code::bad_request, year.error()));
    return Json{{"role", "weather"},
                {"place", year->name},
                {"source", year->source},
                {"latitude_deg", year->latitude_deg},
                {"longitude_deg", year->longitude_deg},
                {"utc_offset_h", year->utc_offset_h},
                {"warnings", to_json(warnings)}};
  }
  constexpr std::size_t kLargestBackground = std::size_t{20} << 20;
  if (bytes.size() > kLargestBackground)
    return refuse(Problem::Code::too_large, fmt::format("{} has {} MiB", path, bytes.size() >> 20),
                  fmt::format("keep a background below {} MiB", kLargestBackground >> 20), "/base64");
  return Json{{"role", "background"}, {"warnings", Json::array()}};
}

Answer<Json> put_file(Workbench& workbench, const Request& request) {
  const auto body = body_of(request.body);
  if (!body) return tl::unexpected(body.error());
  Fields fields(*body);
  const std::string path = fields.text("path");
  const std::string text = fields.text("base64");
  const auto bytes = from_base64(text);
  if (!bytes) fields.wrong("base64", "is no base64 text");
  if (const auto problem = fields.problem()) return tl::unexpected(*problem);
  const auto project = workbench.project(request.matches[1]);
  if (!project) return tl::unexpected(project.error());
  if (const auto wrong = store::path_problem(path))
    return refuse(Problem::Code::bad_request, wrong->problem, wrong->remedy, "/path");
  const auto role = role_of(path);
  if (!role)
    return refuse(
        Problem::Code::bad_request, fmt::format("nothing here reads a file called \"{}\"", path),
        "bring photometry (.ies, .ldt), weather (.epw, .csv) or a background (.png, .jpg, .svg, .dxf, .pdf)",
        "/path");
  auto said = read_file(workbench, project->id, path, *role, files::as_bytes(*bytes));
  if (!said) return said;
  const auto kept = stored(workbench.store.put_file(project->id, {path, files::as_bytes(*bytes)}));
  if (!kept) return tl::unexpected(kept.error());
  Json json = {{"path", kept->path}, {"hash", kept->hash.hex()}, {"size", kept->size}};
  json.update(*said);
  return json;
}

}  // namespace

void add_start_routes(httplib::Server& server, Workbench& workbench) {
  server.Get("/api/library", [](const Request&, Response& response) { send(response, library_json()); });
  server.Post(std::string(kProject) + "/start/site",
              [&workbench](const Request& request, Response& response) {
                respond(response, [&] { return start_site(workbench, request); });
              });
  server.Post(std::string(kProject) + "/start/room",
              [&workbench](const Request& request, Response& response) {
                respond(response, [&] { return start_room(workbench, request); });
              });
  server.Get(std::string(kProject) + "/files", [&workbench](const Request& request, Response& response) {
    respond(response, [&]() -> Answer<Json> {
      const auto project = workbench.project(request.matches[1]);
      if (!project) return tl::unexpected(project.error());
      const auto kept = stored(workbench.store.files(project->id));
      if (!kept) return tl::unexpected(kept.error());
      Json all = Json::array();
      for (const store::FileVersion& one : *kept)
        all.push_back({{"path", one.path}, {"hash", one.hash.hex()}, {"size", one.size}});
      return all;
    });
  });
  server.Post(std::string(kProject) + "/files", [&workbench](const Request& request, Response& response) {
    respond(
        response, [&] { return put_file(workbench, request); }, 201);
  });
  server.Get(std::string(kProject) + "/files/(.+)", [&workbench](const Request& request, Response& response) {
    const auto kept = stored(workbench.store.file(request.matches[1].str(), request.matches[2].str()));
    if (!kept) return send(response, kept.error());
    if (!*kept)
      return send(response, Problem{Problem::Code::not_found,
                                    fmt::format("there is no file {}", request.matches[2].str()),
                                    "choose one of the project's"});
    // Never shown by the browser itself: a drawing may hold script.
    response.set_header("Cache-Control", "no-store");
    response.set_header("Content-Disposition", "attachment");
    response.set_content(std::string(files::as_text((**kept).bytes)), "application/octet-stream");
  });
}

}  // namespace halflight::service
