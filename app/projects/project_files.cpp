#include "projects/project_files.hpp"

#include "files/embedded_files.hpp"
#include "files/file.hpp"
#include "files/program_digest.hpp"
#include "formats/climate_normals_file.hpp"
#include "formats/code_rules_file.hpp"
#include "formats/content_key.hpp"
#include "formats/library_json.hpp"
#include "formats/weather_file.hpp"
#include "photometry/flux.hpp"
#include "projects/photometric_input.hpp"

#include <algorithm>
#include <optional>
#include <stdexcept>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace halflight::projects {

namespace {

/// The library was checked when the program was built: a mistake in it is no bad input.
template <class T>
T library_value(Result<T> result) {
  if (!result) throw std::logic_error("the library is damaged: " + to_text(result.error().front()));
  return std::move(*result);
}

std::shared_ptr<const domain::Library> read_library() {
  std::vector<formats::LibrarySource> records;
  for (const files::EmbeddedFile& file : files::embedded_library()) {
    if (file.name.find('/') == file.name.npos) records.push_back({std::string(file.name), file.bytes});
  }
  return std::make_shared<const domain::Library>(library_value(formats::load_library(records)));
}

std::vector<domain::CodeRule> read_code_rules() {
  std::vector<domain::CodeRule> all;
  for (const files::EmbeddedFile& file : files::embedded_library()) {
    if (!file.name.starts_with("codes/")) continue;
    const auto rules =
        library_value(formats::read_code_rules(files::as_text(file.bytes), std::string(file.name)));
    all.insert(all.end(), rules.begin(), rules.end());
  }
  return all;
}

}  // namespace

std::vector<domain::ClimateNormals> library_climates() {
  std::vector<domain::ClimateNormals> all;
  for (const files::EmbeddedFile& file : files::embedded_library()) {
    if (!file.name.starts_with("climates/")) continue;
    const auto climates =
        library_value(formats::read_climate_normals(files::as_text(file.bytes), std::string(file.name)));
    all.insert(all.end(), climates.begin(), climates.end());
  }
  return all;
}

namespace {

/// Reads what the document refers to by file name, and collects what is wrong with it.
class References {
 public:
  References(ProjectFiles& project, const OtherFiles& others) : project_(project), others_(others) {}

  void read_photometry() {
    const domain::Project& project = project_.document.project();
    for (std::size_t t = 0; t < project.luminaire_types.size(); ++t)
      for (std::size_t c = 0; c < project.luminaire_types[t].channels.size(); ++c) {
        const domain::Channel& channel = project.luminaire_types[t].channels[c];
        if (channel.photometry.file.empty()) continue;
        const std::string place = fmt::format("/luminaire_types/{}/channels/{}", t, c);
        const domain::IntensityDistribution* light = light_of(channel.photometry, place + "/photometry");
        if (light == nullptr) continue;
        project_.document.take_from_file(t, c, photometry::flux_lm(*light), light->data().input_w);
        if (channel.input_w <= 0.0)
          add(Diagnostic::Severity::missing, project_.document.document_pointer(place) + "/input",
              fmt::format("input is not given, and {} does not state it", channel.photometry.file),
              "at full output");
      }
  }

  void read_climate() {
    const domain::ClimateReference& reference = project_.document.project().site.climate;
    if (!reference.file.empty()) {
      const auto bytes = read(reference.file, reference.file_hash, "/site/climate");
      if (!bytes) return;
      auto year = formats::read_weather(*bytes, others_.shown(reference.file), &project_.diagnostics);
      if (year) {
        project_.weather_years.push_back(std::move(*year));
      } else {
        append(year.error());
      }
    } else if (!reference.library.empty()) {
      const auto climates = library_climates();
      if (const auto* found = domain::find_by_id(climates, reference.library)) {
        project_.normals = *found;
        return;
      }
      std::string known;
      for (const domain::ClimateNormals& climate : climates)
        known += (known.empty() ? "" : ", ") + climate.id;
      add(Diagnostic::Severity::error, project_.document.document_pointer("/site/climate") + "/library",
          fmt::format("the library has no climate \"{}\"", reference.library), "one of " + known);
    }
  }

 private:
  /// Null after a report. Each file is read once for each set of lamps.
  const domain::IntensityDistribution* light_of(const domain::PhotometryReference& reference,
                                                const std::string& domain_path) {
    const auto found = project_.photometry_files.find(reference.key());
    if (found != project_.photometry_files.end()) return &found->second;
    const auto bytes = read(reference.file, reference.file_hash, domain_path);
    if (!bytes) return nullptr;
    std::optional<int> lamp_set = reference.lamp_set;
    if (lamp_set) {
      // The file as it stands says how many sets there are; if it cannot be read, that is told below.
      const auto any = read_photometry_of(others_, reference.file, *bytes, nullptr);
      const std::size_t sets = any ? any->data().statements.lamp_sets.size() : 0;
      const std::string place = project_.document.document_pointer(domain_path) + "/lamp_set";
      if (any && sets == 0) {
        add(Diagnostic::Severity::warning, place,
            fmt::format("{} is no EULUMDAT file and holds no sets of lamps to choose among", reference.file),
            "leave it out");
        lamp_set.reset();
      } else if (any && static_cast<std::size_t>(*lamp_set) > sets) {
        add(Diagnostic::Severity::error, place,
            fmt::format("there is no set of lamps {}; {} holds {}", *lamp_set, reference.file, sets),
            sets == 1 ? "leave it out" : fmt::format("choose 1 to {}", sets));
        return nullptr;
      }
    }
    Diagnostics warnings;
    auto light = read_photometry_of(others_, reference.file, *bytes, &warnings, lamp_set);
    append_new(warnings);
    if (!light) {
      append(light.error());
      return nullptr;
    }
    return &project_.photometry_files.emplace(reference.key(), std::move(*light)).first->second;
  }

  std::optional<files::Bytes> read(const std::string& file, const std::string& hash,
                                   const std::string& domain_path) {
    const std::string place = project_.document.document_pointer(domain_path);
    auto bytes = others_.read(file);
    if (!bytes) {
      const Diagnostic& reason = bytes.error().front();
      add(Diagnostic::Severity::error, place + "/file", fmt::format("{} {}", reason.file, reason.problem),
          "correct the name, which is relative to the project's folder, or put the file there");
      return std::nullopt;
    }
    const Hash found = hash_bytes(*bytes);
    project_.files_read.insert_or_assign(file, found);
    if (!hash.empty() && found.hex() != hash) {
      add(Diagnostic::Severity::warning, place + "/file_hash",
          fmt::format("{} has changed since it was referenced", file),
          fmt::format("if the change is wanted, write \"{}\"", found.hex()));
    }
    return std::move(*bytes);
  }
  void add(Diagnostic::Severity severity, std::string where, std::string problem, std::string remedy) {
    project_.diagnostics.push_back(
        {severity, project_.document.file_name(), std::move(where), std::move(problem), std::move(remedy)});
  }
  void append(const Diagnostics& more) {
    project_.diagnostics.insert(project_.diagnostics.end(), more.begin(), more.end());
  }

  /// What another set of lamps of the same file has already raised is not said again.
  void append_new(const Diagnostics& warnings) {
    for (const Diagnostic& warning : warnings) {
      const std::string text = to_text(warning);
      if (std::none_of(project_.diagnostics.begin(), project_.diagnostics.end(),
                       [&](const Diagnostic& said) { return to_text(said) == text; }))
        project_.diagnostics.push_back(warning);
    }
  }

  ProjectFiles& project_;
  const OtherFiles& others_;
};

}  // namespace

namespace {

ProjectFiles with_references(std::shared_ptr<const domain::Library> library,
                             formats::ProjectDocument document, std::vector<domain::CodeRule> code_rules,
                             const OtherFiles& others) {
  ProjectFiles project{.library = std::move(library),
                       .document = std::move(document),
                       .photometry_files = {},
                       .code_rules = std::move(code_rules),
                       .weather_years = {},
                       .normals = {},
                       .files_read = {},
                       .diagnostics = {}};
  project.diagnostics = project.document.diagnostics();
  References references(project, others);
  references.read_photometry();
  references.read_climate();
  return project;
}

}  // namespace

ProjectFiles read_project(std::span<const std::byte> document, std::string file_name,
                          const OtherFiles& others) {
  auto library = read_library();
  auto loaded = formats::ProjectDocument::load(document, std::move(file_name), *library);
  return with_references(std::move(library), std::move(loaded), read_code_rules(), others);
}

ProjectFiles read_again(formats::ProjectDocument document, const ProjectFiles& before,
                        const OtherFiles& others) {
  return with_references(before.library, std::move(document), before.code_rules, others);
}

Result<ProjectFiles> read_project(const std::filesystem::path& path) {
  const auto bytes = files::read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  return read_project(*bytes, path.string(), *files_in(path.parent_path()));
}

sim::StudyInputs study_inputs(const ProjectFiles& files, std::vector<Hash> content_keys) {
  return {.project = files.document.project(),
          .library = *files.library,
          .code_rules = files.code_rules,
          .photometry_files = files.photometry_files,
          .weather_years = files.weather_years,
          .normals = files.normals,
          .content_keys = std::move(content_keys)};
}

std::vector<Hash> years_content_keys(const ProjectFiles& files) {
  std::vector<Hash> keys = formats::content_keys(files.document.project());
  for (Hash& key : keys) key = KeyBuilder().add(files::program_digest()).add(key).key();
  return keys;
}

}  // namespace halflight::projects
