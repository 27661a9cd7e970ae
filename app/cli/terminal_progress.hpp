#pragma once
#include "base/context.hpp"

#include <chrono>
#include <memory>
#include <mutex>
#include <string>

namespace halflight::cli {

/// One line on a terminal that says what goes on, how far it is and how long it may still take.
class TerminalProgress final : public Progress {
 public:
  ~TerminalProgress() override;
  void report(std::string_view stage, std::size_t done, std::size_t total) override;

 private:
  using Clock = std::chrono::steady_clock;
  std::mutex mutex_;
  std::string stage_;
  Clock::time_point stage_began_;
  Clock::time_point last_drawn_;
  std::size_t total_ = 0;
  std::size_t furthest_ = 0;
};

/// Nothing when standard error is not a terminal: a log file wants no redrawn lines.
std::unique_ptr<Progress> make_terminal_progress();

/// "light response: 17 % (3 of 17), about 12 s left". `elapsed_s` is the time since the stage began.
std::string progress_line(std::string_view stage, std::size_t done, std::size_t total, double elapsed_s);

}  // namespace halflight::cli
