#include "service/light_json.hpp"
#include "service/notices.hpp"
#include "service/routes.hpp"

#include <condition_variable>
#include <cstdint>
#include <exception>
#include <memory>
#include <mutex>
#include <string_view>
#include <thread>

namespace halflight::service {

namespace {

/// Places for a photosensor being tried, for as long as somebody listens: it stops when it is let go.
class PlacesWork final : public Progress {
 public:
  PlacesWork(Workbench& workbench, Revision revision, std::size_t space, std::size_t rule)
      : worker_([this, &workbench, revision = std::move(revision), space, rule](const std::stop_token& stop) {
          work(workbench, revision, space, rule, stop);
        }) {}

  void report(std::string_view, std::size_t done, std::size_t total) override {
    const std::lock_guard lock(mutex_);
    if (done <= done_) return;  // threads overtake one another
    done_ = done;
    total_ = total;
    is_new_ = true;
    changed_.notify_all();
  }

  /// What has happened since it was last asked; waits for it, but no longer than a heartbeat.
  Event next() {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, kHeartbeat, [&] { return is_new_; });
    Event event;
    if (!is_new_) return event;
    is_new_ = false;
    if (end_) return *end_;
    event.name = "progress";
    event.data = text_of({{"done", done_}, {"total", total_}});
    return event;
  }

 private:
  void work(Workbench& workbench, const Revision& revision, std::size_t space, std::size_t rule,
            const std::stop_token& stop) {
    try {
      Context context = workbench.desk.context(1);
      context.progress = this;
      context.stop = stop;
      const auto places = workbench.desk.photosensor_places(revision, space, rule, context);
      if (!places) return end({"failed", text_of({{"error", to_json(places.error())}}), true});
      Json json = {{"revision", revision->number}, {"rule", rule}};
      json.update(places_json(**places));
      end({"done", text_of(json), true});
    } catch (const Cancelled&) {
      // Nobody listens any more.
    } catch (const std::exception& fault) {
      const Problem problem{Problem::Code::internal, fault.what(), "try again; if it stays, report it"};
      end({"failed", text_of({{"error", to_json(problem)}}), true});
    }
  }
  void end(Event event) {
    const std::lock_guard lock(mutex_);
    end_ = std::move(event);
    is_new_ = true;
    changed_.notify_all();
  }

  std::mutex mutex_;
  std::condition_variable changed_;
  std::size_t done_ = 0;
  std::size_t total_ = 0;
  bool is_new_ = false;
  std::optional<Event> end_;
  std::jthread worker_;  // last: it ends before what it writes to
};

}  // namespace

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
    stream(workbench, response,
           [work = std::make_shared<PlacesWork>(workbench, *opened, *index,
                                                static_cast<std::size_t>(*rule))] { return work->next(); });
  });
}

}  // namespace halflight::service
