#pragma once

namespace halflight::cli {

/// What the program tells a script. docs/command_line.md documents them.
struct ExitCode {
  static constexpr int done = 0;
  static constexpr int does_not_hold = 1;  ///< something asked with --require
  static constexpr int bad_input = 2;
  static constexpr int internal_fault = 3;
  static constexpr int cancelled = 130;
};

}  // namespace halflight::cli
