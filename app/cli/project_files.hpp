#pragma once
#include "base/diagnostic.hpp"
#include "domain/intensity_distribution.hpp"
#include "domain/project.hpp"
#include "formats/project_json.hpp"

#include <filesystem>
#include <map>
#include <memory>
#include <string>

namespace halflight::cli {

/// A project with everything that it refers to, read.
struct ProjectFiles {
  std::unique_ptr<const domain::Library> library;  ///< at a fixed address: the document refers to it
  formats::ProjectDocument document;
  /// By the reference's `file` as written in the document, which is relative to the document's folder.
  std::map<std::string, domain::IntensityDistribution> photometry_files;
  /// Of the document and of all other files: errors, warnings and what is missing.
  Diagnostics diagnostics;
};

/// The diagnostics of the Result say why there is no document at all; what is wrong inside is in
/// `diagnostics`.
Result<ProjectFiles> read_project(const std::filesystem::path& path);

}  // namespace halflight::cli
