#pragma once
#include "base/context.hpp"
#include "service/json.hpp"
#include "service/problem.hpp"
#include "service/routes.hpp"

#include <condition_variable>
#include <cstddef>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <thread>

namespace halflight::service {

/// Work on a thread of its own that tells of its progress and its end as events, for as long as somebody
/// listens: it stops when it is let go.
class LongWork final : public Progress {
 public:
  /// What is to be done: given a context whose progress and stop are this work's, and the work itself; throws
  /// Cancelled.
  using Work = std::function<Answer<Json>(const Context&, LongWork&)>;
  /// `context`: as the desk gives it. `tells_stage`: progress names what is being done.
  LongWork(Context context, bool tells_stage, Work work);

  /// More fields of every progress that is told from now on, in place of those before.
  void tell(Json more);
  void report(std::string_view stage, std::size_t done, std::size_t total) override;

  /// What has happened since it was last asked, the last being "done" or "failed"; waits for it, but no
  /// longer than a heartbeat.
  Event next();

 private:
  void run(Context context, const Work& work, const std::stop_token& stop);
  void end(Event event);

  const bool tells_stage_;
  std::mutex mutex_;
  std::condition_variable changed_;
  Json more_ = Json::object();
  std::string stage_;
  std::size_t done_ = 0;
  std::size_t total_ = 0;
  bool is_new_ = false;
  std::optional<Event> end_;
  std::jthread worker_;  // last: it ends before what it writes to
};

}  // namespace halflight::service
