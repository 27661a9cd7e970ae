#pragma once
#include "base/context.hpp"

#include <cstddef>
#include <list>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <utility>
#include <vector>

namespace halflight::service {

/// Blobs in memory, as many as there is room for: those that were used longest ago go first. Safe from any
/// thread.
class ScratchStore final : public BlobStore {
 public:
  explicit ScratchStore(std::size_t most_bytes) : most_bytes_(most_bytes) {}

  std::optional<std::vector<std::byte>> get(const Hash& key) override {
    const std::lock_guard lock(mutex_);
    const auto found = places_.find(key);
    if (found == places_.end()) return std::nullopt;
    blobs_.splice(blobs_.begin(), blobs_, found->second);
    return found->second->second;
  }

  void put(const Hash& key, std::span<const std::byte> bytes) override {
    if (bytes.size() > most_bytes_) return;
    const std::lock_guard lock(mutex_);
    if (places_.contains(key)) return;
    blobs_.emplace_front(key, std::vector<std::byte>(bytes.begin(), bytes.end()));
    places_.emplace(key, blobs_.begin());
    held_bytes_ += bytes.size();
    while (held_bytes_ > most_bytes_) {
      held_bytes_ -= blobs_.back().second.size();
      places_.erase(blobs_.back().first);
      blobs_.pop_back();
    }
  }

 private:
  using Blob = std::pair<Hash, std::vector<std::byte>>;
  std::size_t most_bytes_;
  std::mutex mutex_;
  std::list<Blob> blobs_;  // the last used first
  std::map<Hash, std::list<Blob>::iterator> places_;
  std::size_t held_bytes_ = 0;
};

}  // namespace halflight::service
