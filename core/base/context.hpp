#pragma once
#include "base/hash.hpp"

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <stdexcept>
#include <stop_token>
#include <string>
#include <string_view>
#include <vector>

namespace halflight {

/// Thrown by `Context::check_cancelled` and caught once, at the front door. A cancelled run stores nothing.
class Cancelled : public std::runtime_error {
 public:
  Cancelled() : std::runtime_error("cancelled") {}
};

/// Runs independent pieces of work. Implementations may use any number of threads; callers must write results
/// by index only and combine them in index order, so that the number of threads can never change an answer.
class Executor {
 public:
  virtual ~Executor() = default;
  /// Calls `work(i)` once for each i in [0, count). An exception of any piece is rethrown after all stop.
  virtual void for_each(std::size_t count, const std::function<void(std::size_t)>& work) = 0;
};

/// On the calling thread.
class SerialExecutor final : public Executor {
 public:
  void for_each(std::size_t count, const std::function<void(std::size_t)>& work) override {
    for (std::size_t i = 0; i < count; ++i) work(i);
  }
};

/// A pool of `threads` threads (0: as many as the machine has).
std::unique_ptr<Executor> make_pool_executor(std::size_t threads);

/// What long work is doing. Called from any thread.
class Progress {
 public:
  virtual ~Progress() = default;
  /// `done` of `total` units of `stage`, e.g. ("light response", 3, 17).
  virtual void report(std::string_view stage, std::size_t done, std::size_t total) = 0;
};

/// Content-addressed bytes. `get` returns nothing for an absent *or damaged* blob. Safe from any thread.
class BlobStore {
 public:
  virtual ~BlobStore() = default;
  virtual std::optional<std::vector<std::byte>> get(const Hash& key) = 0;
  virtual void put(const Hash& key, std::span<const std::byte> bytes) = 0;
};

/// Keeps blobs for the life of the process; for tests and for runs without a cache folder.
std::unique_ptr<BlobStore> make_memory_blob_store();

/// Everything ambient that a computation may use. Nothing in core reads a clock, a file, the environment or a
/// global; what is here changes speed and visibility, never an answer.
struct Context {
  Executor& executor;
  BlobStore& blobs;
  Progress* progress = nullptr;
  std::stop_token stop{};
  /// For bulky things that are quick to make anew, kept for a while by whoever asks again and again; may be
  /// null.
  BlobStore* scratch = nullptr;

  void check_cancelled() const {
    if (stop.stop_requested()) throw Cancelled();
  }
  void report(std::string_view stage, std::size_t done, std::size_t total) const {
    if (progress != nullptr) progress->report(stage, done, total);
  }
};

}  // namespace halflight
