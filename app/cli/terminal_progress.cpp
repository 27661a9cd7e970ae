#include "cli/terminal_progress.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include <fmt/format.h>
#include <unistd.h>

namespace halflight::cli {

namespace {

constexpr auto kRedraw = std::chrono::milliseconds(100);
constexpr double kEnoughToTell_s = 1.0;  // before that a forecast jumps about

std::string duration_text(double seconds) {
  const auto s = static_cast<long>(std::ceil(seconds));
  return s < 120 ? fmt::format("{} s", s) : fmt::format("{} min", (s + 59) / 60);
}

}  // namespace

std::string progress_line(std::string_view stage, std::size_t done, std::size_t total, double elapsed_s) {
  if (total == 0) return std::string(stage);
  const std::size_t percent = 100 * done / total;
  std::string line = fmt::format("{}: {} % ({} of {})", stage, percent, done, total);
  if (done > 0 && done < total && elapsed_s >= kEnoughToTell_s) {
    const double left_s = elapsed_s * static_cast<double>(total - done) / static_cast<double>(done);
    line += fmt::format(", about {} left", duration_text(left_s));
  }
  return line;
}

TerminalProgress::~TerminalProgress() {
  if (!stage_.empty()) std::fputs("\r\033[K", stderr);
}

void TerminalProgress::report(std::string_view stage, std::size_t done, std::size_t total) {
  const std::lock_guard lock(mutex_);
  const auto now = Clock::now();
  // A stage that comes again for the next space counts from the start.
  const bool again = total != total_ || (furthest_ >= total && done < total / 2);
  const bool new_stage = stage != stage_ || again;
  if (new_stage) {
    stage_ = stage;
    total_ = total;
    stage_began_ = now;
    furthest_ = 0;
  }
  // Threads report out of order; the line never runs backwards.
  furthest_ = std::max(furthest_, done);
  if (!new_stage && furthest_ < total && now - last_drawn_ < kRedraw) return;
  last_drawn_ = now;
  const double elapsed_s = std::chrono::duration<double>(now - stage_began_).count();
  fmt::print(stderr, "\r\033[K{}", progress_line(stage, furthest_, total, elapsed_s));
  std::fflush(stderr);
}

std::unique_ptr<Progress> make_terminal_progress() {
  if (::isatty(STDERR_FILENO) == 0) return nullptr;
  return std::make_unique<TerminalProgress>();
}

}  // namespace halflight::cli
