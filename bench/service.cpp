// The service as its pages feel it: requests over the loopback, one after another, about the demo's reading
// room.
#include "base/background_executor.hpp"
#include "base/context.hpp"
#include "measure.hpp"
#include "parts.hpp"
#include "service/http_service.hpp"

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include <fmt/format.h>
#include <httplib.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

namespace halflight::bench {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kRoom = "/api/projects/demo/rooms/G02";
constexpr int kTimes = 25;

/// A service over a store of its own, and a client that speaks to it.
class Service {
 public:
  Service(const std::filesystem::path& store, const service::Executors& executors, BlobStore& blobs)
      : store_(store::ProjectStore::open(store).value()),
        service_(*store_, executors, blobs),
        client_("127.0.0.1", service_.bind(0).value()),
        thread_([this](const std::stop_token& stop) { service_.serve(stop); }) {
    client_.set_keep_alive(true);
    client_.set_tcp_nodelay(true);
    client_.set_read_timeout(300);
    // As browsers ask.
    client_.set_default_headers({{"Accept-Encoding", "gzip, deflate, br, zstd"}});
  }

  std::string get(const std::string& path) { return must(client_.Get(path)); }
  std::string post(const std::string& path, const Json& body) {
    return must(client_.Post(path, body.dump(), "application/json"));
  }

 private:
  static std::string must(const httplib::Result& answer) {
    if (!answer || answer->status >= 300)
      throw std::runtime_error(answer ? answer->body : "the service does not answer");
    return answer->body;
  }
  std::unique_ptr<store::ProjectStore> store_;
  service::HttpService service_;
  httplib::Client client_;
  std::jthread thread_;
};

/// Seconds that half of the runs need at most; `piece` gets the number of the run.
template <class Numbered>
double median_s(const Numbered& piece) {
  std::vector<double> seconds;
  for (int i = 0; i < kTimes; ++i) seconds.push_back(once([&] { piece(i); }));
  std::nth_element(seconds.begin(), seconds.begin() + kTimes / 2, seconds.end());
  return seconds[kTimes / 2];
}

}  // namespace

void service() {
  heading("The service, the demo's reading room (154 m2, 28 luminaires), medians of 25");
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("halflight-bench-{}", getpid());
  std::filesystem::create_directories(folder);
  const auto at_hand = make_pool_executor(0);
  const auto background = make_background_executor();
  const service::Executors executors{*at_hand, *background};
  const auto blobs = make_memory_blob_store();
  const auto open = [](Service& of) {
    of.get(kRoom);
    of.get(std::string(kRoom) + "/year?quantity=power");
    of.post(std::string(kRoom) + "/light", {{"revision", 1}, {"at_civil_s", 6'600'000}});
  };
  double cold_s = 0.0;
  {
    Service first(folder / "projects.sqlite", executors, *blobs);
    first.post("/api/projects", {{"from", "demo"}, {"name", "demo"}});
    cold_s = once([&] { open(first); });
  }
  Service of(folder / "projects.sqlite", executors, *blobs);
  const double stored_s = once([&] { open(of); });
  const double lit_s = median_s([&](int) { open(of); });
  const auto light = [&](const Json& more) {
    Json body = {{"revision", 1}};
    body.update(more);
    return of.post(std::string(kRoom) + "/light", body);
  };
  const Json room = Json::parse(of.get(kRoom));
  const Json& luminaire = room["luminaires"][5];
  const double x = luminaire["at"][0].get<double>();
  const double y = luminaire["at"][1].get<double>();
  const std::string place = luminaire["pointer"].get<std::string>() + "/at";
  std::string group;
  for (const Json& one : room["groups"])
    if (one["strategy"] == "scene" && group.empty()) group = one["id"].get<std::string>();

  const double nothing_s = median_s([&](int) { of.get("/api/about"); });
  const auto moved = [&](int i) {
    light({{"edits",
            Json::array({{{"op", "replace"},
                          {"path", place},
                          {"value", {x + 0.01 * (i + 1), y + 0.02 * (i + 1), luminaire["at"][2]}}}})}});
  };
  moved(-2);  // the first one has the points look about
  const double moved_s = median_s(moved);
  const double levels_s = median_s([&](int i) { light({{"levels", {{group, 0.02 * i}}}}); });
  const double instant_s = median_s([&](int i) { light({{"at_civil_s", 6'600'000 + 86'400 * 7 * i}}); });
  const double why_s = median_s(
      [&](int i) { of.get(fmt::format("{}/why?at_civil_s={}", kRoom, 6'600'000 + 86'400 * 7 * i)); });
  std::string year;
  const double year_s =
      median_s([&](int) { year = of.get(std::string(kRoom) + "/year?quantity=task_light"); });
  std::filesystem::remove_all(folder);

  constexpr double kMs = 1000.0;
  print({"a request for nothing", kMs * nothing_s, "ms"});
  print({"light of a moved luminaire", kMs * moved_s, "ms", 100.0});
  print({"light of other levels", kMs * levels_s, "ms", 16.0});
  print({"light of an instant, daylight at every point", kMs * instant_s, "ms"});
  print({"why this minute", kMs * why_s, "ms"});
  print({"the year on the table", kMs * year_s, "ms"});
  print({"the same, bytes of the answer", static_cast<double>(year.size()) / 1000.0, "kB"});
  print({"opening the room from nothing", cold_s, "s"});
  print({"opening it with its light in the store / from nothing", stored_s / cold_s, ""});
  print({"opening it while it is lit / from nothing", lit_s / cold_s, ""});
  print({"a moved luminaire / lighting the room from nothing", moved_s / cold_s, ""});
  print({"other levels / a moved luminaire", levels_s / moved_s, ""});
}

}  // namespace halflight::bench
