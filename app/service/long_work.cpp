#include "service/long_work.hpp"

#include "service/notices.hpp"

#include <exception>
#include <utility>

namespace halflight::service {

LongWork::LongWork(Context context, bool tells_stage, Work work)
    : tells_stage_(tells_stage),
      worker_([this, context = std::move(context), work = std::move(work)](const std::stop_token& stop) {
        run(context, work, stop);
      }) {}

void LongWork::report(std::string_view stage, std::size_t done, std::size_t total) {
  const std::lock_guard lock(mutex_);
  if (stage == stage_ && done <= done_) return;  // threads overtake one another
  stage_ = stage;
  done_ = done;
  total_ = total;
  is_new_ = true;
  changed_.notify_all();
}

void LongWork::tell(Json more) {
  const std::lock_guard lock(mutex_);
  more_ = std::move(more);
  stage_.clear();
  done_ = 0;
  total_ = 0;
  is_new_ = true;
  changed_.notify_all();
}

Event LongWork::next() {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, kHeartbeat, [&] { return is_new_; });
  Event event;
  if (!is_new_) return event;
  is_new_ = false;
  if (end_) return *end_;
  Json json = {{"done", done_}, {"total", total_}};
  if (tells_stage_) json["stage"] = stage_;
  json.update(more_);
  event.name = "progress";
  event.data = text_of(json);
  return event;
}

void LongWork::run(Context context, const Work& work, const std::stop_token& stop) {
  try {
    context.progress = this;
    context.stop = stop;
    const Answer<Json> answer = work(context, *this);
    if (!answer) return end({"failed", text_of({{"error", to_json(answer.error())}}), true});
    end({"done", text_of(*answer), true});
  } catch (const Cancelled&) {
    // Nobody listens any more.
  } catch (const std::exception& fault) {
    const Problem problem{Problem::Code::internal, fault.what(), "try again; if it stays, report it"};
    end({"failed", text_of({{"error", to_json(problem)}}), true});
  }
}

void LongWork::end(Event event) {
  const std::lock_guard lock(mutex_);
  end_ = std::move(event);
  is_new_ = true;
  changed_.notify_all();
}

}  // namespace halflight::service
