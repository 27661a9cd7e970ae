#pragma once
#include "results/study.hpp"
#include "service/desk.hpp"
#include "service/json.hpp"
#include "service/problem.hpp"

#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <memory>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

namespace halflight::service {

/// What is studied.
struct StudyOrder {
  Revision revision;
  sim::StudyOptions options;
};

/// One study, from the queue to its result.
class Run {
 public:
  enum class State { waiting, running, done, failed, cancelled };
  struct Standing {
    State state = State::waiting;
    std::string stage;
    std::size_t done = 0;
    std::size_t total = 0;
    std::optional<Problem> problem;
    std::uint64_t version = 0;  ///< grows with every change
  };

  Run(std::string id, StudyOrder order) : id_(std::move(id)), order_(std::move(order)) {}

  [[nodiscard]] const std::string& id() const { return id_; }
  [[nodiscard]] const StudyOrder& order() const { return order_; }
  [[nodiscard]] Standing standing() const;
  /// Waits until the standing differs from `version`, or for `longest`; gives what stands then.
  Standing wait(std::uint64_t version, std::chrono::milliseconds longest) const;
  void cancel();
  /// Null until it is done.
  [[nodiscard]] std::shared_ptr<const results::Study> study() const;

 private:
  friend class Runs;
  friend class RunProgress;
  template <class Change>
  void change(Change change);

  std::string id_;
  StudyOrder order_;
  std::stop_source stop_;
  mutable std::mutex mutex_;
  mutable std::condition_variable changed_;
  Standing standing_;
  std::shared_ptr<const results::Study> study_;
};

/// Studies one after another on a thread of its own. The last few stay with their results.
class Runs {
 public:
  explicit Runs(Desk& desk);
  /// Cancels what runs.
  ~Runs();
  Runs(const Runs&) = delete;
  Runs& operator=(const Runs&) = delete;

  /// Gives the run of an equal order that is known and done. Refused when too many wait already.
  Answer<std::shared_ptr<Run>> begin(StudyOrder order);
  [[nodiscard]] std::shared_ptr<Run> find(const std::string& id) const;

 private:
  void work(const std::stop_token& stop);
  void run(Run& run);

  Desk& desk_;
  mutable std::mutex mutex_;
  std::condition_variable_any waiting_;
  std::deque<std::shared_ptr<Run>> queue_;
  std::deque<std::shared_ptr<Run>> known_;
  std::uint64_t count_ = 0;
  std::jthread worker_;
};

Json to_json(const Run& run, const Run::Standing& standing);

}  // namespace halflight::service
