#include "cli/project_files.hpp"

#include "files/embedded_library.hpp"
#include "files/file.hpp"
#include "formats/library_json.hpp"
#include "formats/photometric_file.hpp"

#include <stdexcept>
#include <vector>

#include <fmt/format.h>

namespace halflight::cli {

namespace {

/// The library was checked when the program was built: a mistake in it is no bad input.
template <class T>
T library_value(Result<T> result) {
  if (!result) throw std::logic_error("the library is damaged: " + to_text(result.error().front()));
  return std::move(*result);
}

std::unique_ptr<const domain::Library> read_library() {
  std::vector<formats::LibrarySource> records;
  for (const files::EmbeddedFile& file : files::embedded_library()) {
    if (file.name.find('/') == file.name.npos) records.push_back({std::string(file.name), file.bytes});
  }
  return std::make_unique<const domain::Library>(library_value(formats::load_library(records)));
}

/// Reads what the document refers to by file name, and collects what is wrong with it.
class References {
 public:
  References(ProjectFiles& project, std::filesystem::path folder)
      : project_(project), folder_(std::move(folder)) {}

  void read_photometry() {
    const domain::Project& project = project_.document.project();
    for (std::size_t t = 0; t < project.luminaire_types.size(); ++t) {
      const auto& channels = project.luminaire_types[t].channels;
      for (std::size_t c = 0; c < channels.size(); ++c) {
        const domain::PhotometryReference& reference = channels[c].photometry;
        if (reference.file.empty() || project_.photometry_files.contains(reference.file)) continue;
        const auto bytes = read(reference.file, reference.file_hash,
                                fmt::format("/luminaire_types/{}/channels/{}/photometry", t, c));
        if (!bytes) continue;
        auto distribution =
            formats::read_photometry(*bytes, (folder_ / reference.file).string(), &project_.diagnostics);
        if (distribution) {
          project_.photometry_files.emplace(reference.file, std::move(*distribution));
        } else {
          append(distribution.error());
        }
      }
    }
  }

 private:
  std::optional<files::Bytes> read(const std::string& file, const std::string& hash,
                                   const std::string& domain_path) {
    const std::string place = project_.document.document_pointer(domain_path);
    auto bytes = files::read_file(folder_ / file);
    if (!bytes) {
      const Diagnostic& reason = bytes.error().front();
      add(Diagnostic::Severity::error, place + "/file", fmt::format("{} {}", reason.file, reason.problem),
          "correct the name, which is relative to the project's folder, or put the file there");
      return std::nullopt;
    }
    if (!hash.empty() && hash_bytes(*bytes).hex() != hash) {
      add(Diagnostic::Severity::warning, place + "/file_hash",
          fmt::format("{} has changed since it was referenced", file),
          fmt::format("if the change is wanted, write \"{}\"", hash_bytes(*bytes).hex()));
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

  ProjectFiles& project_;
  std::filesystem::path folder_;
};

}  // namespace

Result<ProjectFiles> read_project(const std::filesystem::path& path) {
  const auto bytes = files::read_file(path);
  if (!bytes) return tl::unexpected(bytes.error());
  auto library = read_library();
  auto document = formats::ProjectDocument::load(*bytes, path.string(), *library);
  ProjectFiles project{std::move(library), std::move(document), {}, {}};
  project.diagnostics = project.document.diagnostics();
  References references(project, path.parent_path());
  references.read_photometry();
  return project;
}

}  // namespace halflight::cli
