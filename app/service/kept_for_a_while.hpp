#pragma once
#include "base/context.hpp"

#include <cstddef>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <vector>

namespace halflight::service {

/// Blobs of questions that pass, such as a luminaire under the pointer: what another store keeps can be read
/// through it, and what is put here stays in memory until there is too much of it. Safe from any thread.
class KeptForAWhile final : public BlobStore {
 public:
  /// `below` must outlive it.
  KeptForAWhile(BlobStore& below, std::size_t most_bytes) : below_(below), most_bytes_(most_bytes) {}

  std::optional<std::vector<std::byte>> get(const Hash& key) override {
    {
      const std::lock_guard lock(mutex_);
      if (const auto found = blobs_.find(key); found != blobs_.end()) return found->second;
    }
    auto blob = below_.get(key);
    // Asked for again and again while something is dragged: not from the disk each time.
    if (blob) put(key, *blob);
    return blob;
  }

  void put(const Hash& key, std::span<const std::byte> bytes) override {
    const std::lock_guard lock(mutex_);
    if (held_bytes_ + bytes.size() > most_bytes_) {
      blobs_.clear();
      held_bytes_ = 0;
    }
    if (blobs_.emplace(key, std::vector<std::byte>(bytes.begin(), bytes.end())).second)
      held_bytes_ += bytes.size();
  }

 private:
  BlobStore& below_;
  std::size_t most_bytes_;
  std::mutex mutex_;
  std::map<Hash, std::vector<std::byte>> blobs_;
  std::size_t held_bytes_ = 0;
};

}  // namespace halflight::service
