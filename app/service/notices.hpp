#pragma once
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>

namespace halflight::service {

/// How long a stream of events stays silent at most.
inline constexpr auto kHeartbeat = std::chrono::milliseconds(500);

/// Whoever looks at a project hears of what others save.
class Notices {
 public:
  void say(const std::string& project, std::string revision) {
    {
      const std::lock_guard lock(mutex_);
      Project& at = projects_[project];
      at.count++;
      at.last = std::move(revision);
    }
    changed_.notify_all();
  }
  std::uint64_t count(const std::string& project) {
    const std::lock_guard lock(mutex_);
    return projects_[project].count;
  }
  /// The last notice when there was one after number `seen`, which is then brought up to date.
  std::optional<std::string> wait(const std::string& project, std::uint64_t& seen) {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, kHeartbeat, [&] { return projects_[project].count != seen; });
    const Project& at = projects_[project];
    if (at.count == seen) return std::nullopt;
    seen = at.count;
    return at.last;
  }

 private:
  struct Project {
    std::uint64_t count = 0;
    std::string last;
  };
  std::mutex mutex_;
  std::condition_variable changed_;
  std::map<std::string, Project> projects_;
};

}  // namespace halflight::service
