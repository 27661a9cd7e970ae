#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "projects/photometry_suspicions.hpp"
#include "projects/project_files.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

int run(const ValidateCommand& command) {
  const std::string name = command.project.string();
  const auto files = projects::read_project(command.project);
  Diagnostics diagnostics = files ? files->diagnostics : files.error();
  if (files) {
    const Diagnostics suspicions = projects::photometry_suspicions(*files);
    diagnostics.insert(diagnostics.end(), suspicions.begin(), suspicions.end());
  }
  const auto errors = count(diagnostics, Diagnostic::Severity::error);
  const auto warnings = count(diagnostics, Diagnostic::Severity::warning);
  const auto missing = count(diagnostics, Diagnostic::Severity::missing);
  const std::size_t defaults = files ? files->document.project().defaults_taken.size() : 0;
  const std::size_t spaces = files ? files->document.project().spaces.size() : 0;

  if (command.json) {
    print_json({{"file", name},
                {"valid", errors == 0},
                {"errors", errors},
                {"warnings", warnings},
                {"missing", missing},
                {"spaces", spaces},
                {"defaults_taken", defaults},
                {"diagnostics", to_json(diagnostics)}});
  } else {
    print_diagnostics(diagnostics);
    fmt::print("{}: {}\n  {}, {}, {} missing; {}, {} left to the library\n", name,
               errors == 0 ? "can be studied as far as it goes" : "cannot be studied as it stands",
               counted(errors, "error"), counted(warnings, "warning"), missing, counted(spaces, "space"),
               counted(defaults, "value"));
  }
  return errors == 0 ? ExitCode::done : ExitCode::bad_input;
}

}  // namespace halflight::cli
