#pragma once
#include <atomic>
#include <stop_token>
#include <thread>

namespace halflight::cli {

/// While it lives, the first SIGINT or SIGTERM asks the work to stop, and the second ends the process at once
/// with exit code 130. Create it before any other thread, so that all threads leave the signals to it.
class Cancellation {
 public:
  Cancellation();
  ~Cancellation();
  Cancellation(const Cancellation&) = delete;
  Cancellation& operator=(const Cancellation&) = delete;

  [[nodiscard]] std::stop_token token() const { return source_.get_token(); }

 private:
  std::stop_source source_;
  std::atomic<bool> over_ = false;
  std::thread watcher_;
};

}  // namespace halflight::cli
