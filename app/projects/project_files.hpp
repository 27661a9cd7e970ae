#pragma once
#include "base/diagnostic.hpp"
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "domain/weather.hpp"
#include "formats/project_json.hpp"
#include "lightresponse/scene.hpp"
#include "projects/other_files.hpp"
#include "sim/study.hpp"

#include <filesystem>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace halflight::projects {

/// A project with everything that it refers to, read.
struct ProjectFiles {
  std::shared_ptr<const domain::Library> library;  ///< at a fixed address: the document refers to it
  formats::ProjectDocument document;
  /// The keys' files are relative to the document's folder.
  lightresponse::PhotometryFiles photometry_files;
  std::vector<domain::CodeRule> code_rules;        ///< all of the library
  std::vector<domain::WeatherYear> weather_years;  ///< of the site's weather file, when it names one
  domain::ClimateNormals normals;                  ///< of the site's library climate, when it names one
  std::map<std::string, Hash> files_read;  ///< hash of every other file, by the name that refers to it
  /// Of the document and of all other files: errors, warnings and what is missing.
  Diagnostics diagnostics;
};

/// Reads a document and what it refers to. Never fails: what is wrong is in `diagnostics`. `file_name`: how
/// the user calls the document, for messages.
ProjectFiles read_project(std::span<const std::byte> document, std::string file_name,
                          const OtherFiles& others);

/// The same after edits of the document: the library and the rules are those of `before`, files are read
/// anew.
ProjectFiles read_again(formats::ProjectDocument document, const ProjectFiles& before,
                        const OtherFiles& others);

/// A document on the disk, with the files beside it. The diagnostics of the Result say why there is no
/// document at all; what is wrong inside is in `diagnostics`.
Result<ProjectFiles> read_project(const std::filesystem::path& path);

/// What a study of the files starts from. `files` must outlive it. `content_keys`: years_content_keys where
/// years of use are to be kept, or none.
sim::StudyInputs study_inputs(const ProjectFiles& files, std::vector<Hash> content_keys = {});

/// The climates of the library.
std::vector<domain::ClimateNormals> library_climates();

/// For sim::StudyInputs::content_keys: of the document's part in each space, and of this very program with
/// its library.
std::vector<Hash> years_content_keys(const ProjectFiles& files);

}  // namespace halflight::projects
