#pragma once
#include "base/context.hpp"
#include "climate/sky_division.hpp"
#include "domain/code_rules.hpp"
#include "formats/project_json.hpp"
#include "sim/study.hpp"

#include <vector>

namespace halflight::bench {

/// A furnished open office of `width_m` by `depth_m`, 3 m high, `rooms` of them side by side: a desk for each
/// 8 m2, a luminaire for each 6.7 m2, windows along two walls, and a proposal in which every strategy is at
/// work. Invented.
struct Office {
  Office(double width_m, double depth_m, int rooms = 1);
  Office(const Office&) = delete;
  Office& operator=(const Office&) = delete;

  [[nodiscard]] const domain::Project& project() const { return document.project(); }
  [[nodiscard]] sim::StudyInputs inputs() const;

  domain::Library library;
  domain::ClimateNormals normals;
  std::vector<domain::CodeRule> rules;
  formats::ProjectDocument document;
};

/// On two threads, results kept in memory.
struct Machine {
  std::unique_ptr<Executor> executor = make_pool_executor(2);
  std::unique_ptr<BlobStore> blobs = make_memory_blob_store();
  Context context{*executor, *blobs, nullptr, {}};
};

}  // namespace halflight::bench
