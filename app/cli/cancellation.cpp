#include "cli/cancellation.hpp"

#include "cli/exit_code.hpp"

#include <csignal>

#include <pthread.h>
#include <unistd.h>

namespace halflight::cli {

namespace {

sigset_t stop_signals() {
  sigset_t set;
  sigemptyset(&set);
  sigaddset(&set, SIGINT);
  sigaddset(&set, SIGTERM);
  return set;
}

}  // namespace

Cancellation::Cancellation() {
  const sigset_t signals = stop_signals();
  pthread_sigmask(SIG_BLOCK, &signals, nullptr);
  watcher_ = std::thread([this, signals] {
    while (true) {
      int signal = 0;
      if (sigwait(&signals, &signal) != 0 || over_) return;
      if (!source_.request_stop()) ::_exit(ExitCode::cancelled);
      constexpr char text[] = "\nstopping; once more to end at once\n";
      [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, text, sizeof text - 1);
    }
  });
}

Cancellation::~Cancellation() {
  over_ = true;
  // Only to wake it: the signal is blocked, and the watcher takes it with sigwait.
  pthread_kill(watcher_.native_handle(), SIGTERM);  // NOLINT(bugprone-bad-signal-to-kill-thread)
  watcher_.join();
  const sigset_t signals = stop_signals();
  pthread_sigmask(SIG_UNBLOCK, &signals, nullptr);
}

}  // namespace halflight::cli
