#include "service/runs.hpp"

#include "service/problem_json.hpp"

#include <algorithm>
#include <exception>
#include <utility>

#include <fmt/format.h>

namespace halflight::service {

namespace {

constexpr std::size_t kMostWaiting = 16;
constexpr std::size_t kMostKnown = 24;

const char* name_of(Run::State state) {
  switch (state) {
    case Run::State::waiting:
      return "waiting";
    case Run::State::running:
      return "running";
    case Run::State::done:
      return "done";
    case Run::State::failed:
      return "failed";
    case Run::State::cancelled:
      return "cancelled";
  }
  return "failed";
}

/// Studies of equal orders are equal to the last bit: seeds are part of the options.
bool asks_the_same(const StudyOrder& a, const StudyOrder& b) {
  return a.revision->project == b.revision->project && a.revision->number == b.revision->number &&
         a.revision->design == b.revision->design && a.options.accuracy == b.options.accuracy &&
         a.options.seed == b.options.seed && a.options.spaces == b.options.spaces;
}

bool is_over(Run::State state) { return state != Run::State::waiting && state != Run::State::running; }

}  // namespace

template <class Change>
void Run::change(Change change) {
  {
    const std::lock_guard lock(mutex_);
    if (is_over(standing_.state)) return;
    change(standing_);
    ++standing_.version;
  }
  changed_.notify_all();
}

/// Writes the progress of a study into its run.
class RunProgress final : public Progress {
 public:
  explicit RunProgress(Run& run) : run_(run) {}
  void report(std::string_view stage, std::size_t done, std::size_t total) override {
    run_.change([&](Run::Standing& standing) {
      standing.stage = stage;
      standing.done = done;
      standing.total = total;
    });
  }

 private:
  Run& run_;
};

Run::Standing Run::standing() const {
  const std::lock_guard lock(mutex_);
  return standing_;
}

Run::Standing Run::wait(std::uint64_t version, std::chrono::milliseconds longest) const {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, longest, [&] { return standing_.version != version; });
  return standing_;
}

void Run::cancel() {
  stop_.request_stop();
  // One that waits is over at once; one that runs ends at its next look at the token.
  const std::lock_guard lock(mutex_);
  if (standing_.state != State::waiting) return;
  standing_.state = State::cancelled;
  ++standing_.version;
  changed_.notify_all();
}

std::shared_ptr<const results::Study> Run::study() const {
  const std::lock_guard lock(mutex_);
  return study_;
}

Runs::Runs(Desk& desk) : desk_(desk), worker_([this](const std::stop_token& stop) { work(stop); }) {}

Runs::~Runs() {
  worker_.request_stop();
  const std::lock_guard lock(mutex_);
  for (const std::shared_ptr<Run>& run : known_) run->cancel();
}

Answer<std::shared_ptr<Run>> Runs::begin(StudyOrder order) {
  std::shared_ptr<Run> run;
  {
    const std::lock_guard lock(mutex_);
    for (const std::shared_ptr<Run>& known : known_)
      if (asks_the_same(known->order(), order) && known->standing().state == Run::State::done) return known;
    std::erase_if(queue_, [](const auto& waiting) { return is_over(waiting->standing().state); });
    if (queue_.size() >= kMostWaiting)
      return refuse(Problem::Code::busy, fmt::format("{} studies are waiting already", queue_.size()),
                    "wait for one to end, or cancel some");
    run = std::make_shared<Run>(fmt::format("run-{}", ++count_), std::move(order));
    queue_.push_back(run);
    known_.push_back(run);
    // Those that are not over are fewer than are kept.
    if (known_.size() > kMostKnown)
      known_.erase(std::find_if(known_.begin(), known_.end(),
                                [](const auto& known) { return is_over(known->standing().state); }));
  }
  waiting_.notify_one();
  return run;
}

std::shared_ptr<Run> Runs::find(const std::string& id) const {
  const std::lock_guard lock(mutex_);
  for (const std::shared_ptr<Run>& run : known_)
    if (run->id() == id) return run;
  return nullptr;
}

void Runs::work(const std::stop_token& stop) {
  while (!stop.stop_requested()) {
    std::shared_ptr<Run> next;
    {
      std::unique_lock lock(mutex_);
      if (!waiting_.wait(lock, stop, [&] { return !queue_.empty(); })) return;
      next = queue_.front();
      queue_.pop_front();
    }
    run(*next);
  }
}

void Runs::run(Run& run) {
  run.change([](Run::Standing& standing) { standing.state = Run::State::running; });
  if (is_over(run.standing().state)) return;
  RunProgress progress(run);
  Context context = desk_.background_context(run.order().options.spaces.size());
  context.progress = &progress;
  context.stop = run.stop_.get_token();
  try {
    auto study = std::make_shared<const results::Study>(
        sim::run_study(run.order().revision->inputs(), run.order().options, context));
    {
      const std::lock_guard lock(run.mutex_);
      run.study_ = std::move(study);
    }
    run.change([](Run::Standing& standing) { standing.state = Run::State::done; });
  } catch (const Cancelled&) {
    run.change([](Run::Standing& standing) { standing.state = Run::State::cancelled; });
  } catch (const std::exception& fault) {
    run.change([&](Run::Standing& standing) {
      standing.state = Run::State::failed;
      standing.problem = Problem{Problem::Code::internal, fault.what(), "try again; if it stays, report it"};
    });
  }
}

Json to_json(const Run& run, const Run::Standing& standing) {
  Json json = {{"id", run.id()},
               {"project", run.order().revision->project},
               {"revision", run.order().revision->number},
               {"design", run.order().revision->design},
               {"spaces", run.order().options.spaces},
               {"state", name_of(standing.state)},
               {"stage", standing.stage},
               {"done", standing.done},
               {"total", standing.total}};
  if (standing.problem) json["problem"] = to_json(*standing.problem);
  return json;
}

}  // namespace halflight::service
