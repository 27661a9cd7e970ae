#include "cli/cache.hpp"

#include "cli/diagnostics_output.hpp"

#include <fmt/format.h>

namespace halflight::cli {

Cache::Cache(const std::optional<std::filesystem::path>& folder, bool in_memory_only,
             const std::string& who) {
  const std::optional<std::filesystem::path> place = folder ? folder : files::default_cache_folder();
  if (!in_memory_only && place) {
    auto opened = files::DiskBlobStore::open(*place);
    if (opened) {
      disk_ = std::move(*opened);
      return;
    }
    for (Diagnostic reason : opened.error()) {
      reason.severity = Diagnostic::Severity::warning;
      reason.remedy =
          fmt::format("{} goes on without a cache; give another folder with --cache, or --no-cache", who);
      print_diagnostics({reason});
    }
  }
  memory_ = make_memory_blob_store();
}

void Cache::warn_of_trouble() const {
  if (disk_ && disk_->warning()) print_diagnostics({*disk_->warning()});
}

}  // namespace halflight::cli
