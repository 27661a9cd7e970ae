#pragma once
#include "base/diagnostic.hpp"
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "domain/weather.hpp"
#include "formats/project_json.hpp"
#include "lightresponse/scene.hpp"

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace halflight::cli {

/// A project with everything that it refers to, read.
struct ProjectFiles {
  std::unique_ptr<const domain::Library> library;  ///< at a fixed address: the document refers to it
  formats::ProjectDocument document;
  /// The keys' files are relative to the document's folder.
  lightresponse::PhotometryFiles photometry_files;
  std::vector<domain::CodeRule> code_rules;        ///< all of the library
  std::vector<domain::WeatherYear> weather_years;  ///< of the site's weather file, when it names one
  domain::ClimateNormals normals;                  ///< of the site's library climate, when it names one
  /// Of the document and of all other files: errors, warnings and what is missing.
  Diagnostics diagnostics;
};

/// The diagnostics of the Result say why there is no document at all; what is wrong inside is in
/// `diagnostics`.
Result<ProjectFiles> read_project(const std::filesystem::path& path);

/// For sim::StudyInputs::content_keys: of the document's part in each space, and of this very program with
/// its library.
std::vector<Hash> years_content_keys(const ProjectFiles& files);

}  // namespace halflight::cli
