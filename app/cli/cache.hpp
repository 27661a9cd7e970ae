#pragma once
#include "base/context.hpp"
#include "files/disk_blob_store.hpp"

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

namespace halflight::cli {

/// Where computed light and years are kept: on the disk, or in memory with a warning when there is no place.
class Cache {
 public:
  /// `folder`: none: the user's cache folder. `who`: what goes on without a cache, for the warning.
  Cache(const std::optional<std::filesystem::path>& folder, bool in_memory_only, const std::string& who);

  BlobStore& store() { return disk_ ? static_cast<BlobStore&>(*disk_) : *memory_; }
  void warn_of_trouble() const;

 private:
  std::unique_ptr<files::DiskBlobStore> disk_;
  std::unique_ptr<BlobStore> memory_;
};

}  // namespace halflight::cli
