#pragma once
#include "cli/commands.hpp"

#include <string>
#include <variant>

namespace halflight::cli {

/// Text that was asked for: help, or the version.
struct Notice {
  std::string text;
};

/// A command line that cannot be understood.
struct UsageError {
  std::string text;
};

using CommandLine = std::variant<Notice, UsageError, StudyCommand, ProposeCommand, ValidateCommand,
                                 PhotometryCommand, SunCommand, ServeCommand>;

CommandLine parse_command_line(int argc, const char* const* argv);

}  // namespace halflight::cli
