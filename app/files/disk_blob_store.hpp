#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>

namespace halflight::files {

inline constexpr std::uint64_t kDefaultCacheBytes = std::uint64_t{2} << 30;

/// $XDG_CACHE_HOME/halflight, else $HOME/.cache/halflight; nothing when neither variable is an absolute path.
std::optional<std::filesystem::path> default_cache_folder();

/// A cache of blobs in a folder: one file per key, with a header that holds the key, the length and a
/// checksum of the bytes. A file that is damaged, cut short or misnamed is a miss, never an answer. Any
/// number of processes and threads may share the folder: a blob appears under its name in one step or not at
/// all. When the folder grows beyond `largest_bytes`, the blobs that were used longest ago are removed first.
class DiskBlobStore final : public BlobStore {
 public:
  /// The folder is made when absent. The diagnostics say why it cannot serve.
  static Result<std::unique_ptr<DiskBlobStore>> open(const std::filesystem::path& folder,
                                                     std::uint64_t largest_bytes = kDefaultCacheBytes);
  ~DiskBlobStore() override;

  std::optional<std::vector<std::byte>> get(const Hash& key) override;
  /// Storing is best effort: without room on the disk nothing is stored, and `warning` says so.
  void put(const Hash& key, std::span<const std::byte> bytes) override;

  /// The first reason why a blob could not be stored.
  [[nodiscard]] std::optional<Diagnostic> warning() const;
  /// Where the blob of `key` is kept.
  [[nodiscard]] std::filesystem::path path_of(const Hash& key) const;

 private:
  struct State;
  explicit DiskBlobStore(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace halflight::files
