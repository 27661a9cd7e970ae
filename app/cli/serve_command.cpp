#include "base/background_executor.hpp"
#include "cli/cache.hpp"
#include "cli/cancellation.hpp"
#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "projects/project_files.hpp"
#include "service/http_service.hpp"
#include "store/store.hpp"

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <set>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace halflight::cli {

namespace {

namespace fs = std::filesystem;

/// $XDG_DATA_HOME/halflight/projects.sqlite, else below $HOME/.local/share; nothing without either.
std::optional<fs::path> default_store() {
  const auto folder = [](const char* variable) -> std::optional<fs::path> {
    const char* value = std::getenv(variable);
    if (value == nullptr || !fs::path(value).is_absolute()) return std::nullopt;
    return fs::path(value);
  };
  constexpr const char* kName = "halflight/projects.sqlite";
  if (const auto data = folder("XDG_DATA_HOME")) return *data / kName;
  if (const auto home = folder("HOME")) return *home / ".local/share" / kName;
  return std::nullopt;
}

/// Names of the files that a project refers to.
std::set<std::string> names_of_files(const domain::Project& project) {
  std::set<std::string> names;
  for (const domain::LuminaireType& type : project.luminaire_types)
    for (const domain::Channel& channel : type.channels)
      if (!channel.photometry.file.empty()) names.insert(channel.photometry.file);
  if (!project.site.climate.file.empty()) names.insert(project.site.climate.file);
  return names;
}

/// Whether a project of the store began with this document.
Result<bool> is_kept(const store::ProjectStore& store, const Hash& document) {
  const auto projects = store.projects();
  if (!projects) return tl::unexpected(projects.error());
  for (const store::Project& project : *projects) {
    const auto first = store.revision(project.id, 1);
    if (!first) return tl::unexpected(first.error());
    if (*first && (*first)->document == document) return true;
  }
  return false;
}

/// Takes a document and the files beside it into the store, unless it has been taken in before.
Result<void> take_in(store::ProjectStore& store, const fs::path& path) {
  const auto read = projects::read_project(path);
  if (!read) return tl::unexpected(read.error());
  const auto kept = is_kept(store, read->document.hash());
  if (!kept) return tl::unexpected(kept.error());
  if (*kept) return {};
  const domain::Project& project = read->document.project();
  std::vector<std::pair<std::string, files::Bytes>> others;
  for (const std::string& name : names_of_files(project))
    if (auto bytes = files::read_file(path.parent_path() / name))
      others.emplace_back(name, *std::move(bytes));
  std::vector<store::NewFile> files;
  for (const auto& [name, bytes] : others) files.push_back({name, bytes});
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  const store::NewRevision first{files::as_bytes(read->document.text()),
                                 std::chrono::duration_cast<std::chrono::seconds>(now).count(),
                                 fmt::format("from {}", path.filename().string()), ""};
  const auto made =
      store.create_project(project.name.empty() ? path.stem().string() : project.name, first, files);
  if (!made) return tl::unexpected(made.error());
  return {};
}

}  // namespace

int run(const ServeCommand& command) {
  const Cancellation cancellation;  // before any other thread
  const std::optional<fs::path> place = command.store ? command.store : default_store();
  if (!place) {
    print_diagnostics({{Diagnostic::Severity::error, "--store", "",
                        "there is no home folder to keep projects in", "name a file with --store"}});
    return ExitCode::bad_input;
  }
  const auto store = store::ProjectStore::open(*place);
  if (!store) {
    print_diagnostics(store.error());
    return ExitCode::bad_input;
  }
  for (const fs::path& project : command.projects)
    if (const auto taken = take_in(**store, project); !taken) {
      print_diagnostics(taken.error());
      return ExitCode::bad_input;
    }

  Cache cache(command.cache, false, "the service");
  const auto at_hand = make_pool_executor(0);
  const auto background = make_background_executor();
  service::HttpService service(**store, {*at_hand, *background}, cache.store());
  const auto port = service.bind(command.port);
  if (!port) {
    print_diagnostics(port.error());
    return ExitCode::bad_input;
  }
  fmt::print("Open http://127.0.0.1:{}/ in a browser. Projects are kept in {}. Ctrl-C ends.\n", *port,
             place->string());
  std::fflush(stdout);  // whoever waits for the address reads it from a pipe
  service.serve(cancellation.token());
  cache.warn_of_trouble();
  return ExitCode::done;
}

}  // namespace halflight::cli
