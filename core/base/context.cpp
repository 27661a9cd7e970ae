#include "base/context.hpp"

#include "base/background_executor.hpp"

#include <map>
#include <mutex>

#include <tbb/global_control.h>
#include <tbb/parallel_for.h>
#include <tbb/partitioner.h>
#include <tbb/task_arena.h>

namespace halflight {

namespace {

class PoolExecutor final : public Executor {
 public:
  PoolExecutor(std::size_t threads, tbb::task_arena::priority priority)
      : arena_(threads == 0 ? tbb::task_arena::automatic : static_cast<int>(threads), kReserved, priority) {
    // More threads than processors are allowed when asked for: determinism is tested that way.
    if (threads > 0) limit_.emplace(tbb::global_control::max_allowed_parallelism, threads);
  }

  void for_each(std::size_t count, const std::function<void(std::size_t)>& work) override {
    arena_.execute([&] {
      tbb::parallel_for(
          std::size_t{0}, count, [&](std::size_t i) { work(i); }, tbb::simple_partitioner());
    });
  }

 private:
  /// Slots for threads that call, which need not wait for a worker.
  static constexpr unsigned kReserved = 1;
  std::optional<tbb::global_control> limit_;
  tbb::task_arena arena_;
};

class MemoryBlobStore final : public BlobStore {
 public:
  std::optional<std::vector<std::byte>> get(const Hash& key) override {
    const std::lock_guard lock(mutex_);
    const auto found = blobs_.find(key);
    if (found == blobs_.end()) return std::nullopt;
    return found->second;
  }
  void put(const Hash& key, std::span<const std::byte> bytes) override {
    const std::lock_guard lock(mutex_);
    blobs_.insert_or_assign(key, std::vector<std::byte>(bytes.begin(), bytes.end()));
  }

 private:
  std::mutex mutex_;
  std::map<Hash, std::vector<std::byte>> blobs_;
};

}  // namespace

std::unique_ptr<Executor> make_pool_executor(std::size_t threads) {
  return std::make_unique<PoolExecutor>(threads, tbb::task_arena::priority::normal);
}

std::unique_ptr<Executor> make_background_executor() {
  return std::make_unique<PoolExecutor>(0, tbb::task_arena::priority::low);
}

std::unique_ptr<BlobStore> make_memory_blob_store() { return std::make_unique<MemoryBlobStore>(); }

}  // namespace halflight
