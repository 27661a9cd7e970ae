// The front door: parses the command line, runs the command, and turns what happened into an exit code.
#include "base/context.hpp"
#include "cli/command_line.hpp"
#include "cli/exit_code.hpp"

#include <cerrno>
#include <cstdio>
#include <exception>
#include <new>
#include <system_error>
#include <variant>

#include <fmt/format.h>
#include <malloc.h>

namespace halflight::cli {

namespace {

struct Runner {
  int operator()(const Notice& notice) const {
    fmt::print("{}", notice.text);
    return ExitCode::done;
  }
  int operator()(const UsageError& error) const {
    fmt::print(stderr, "{}", error.text);
    return ExitCode::bad_input;
  }
  template <class Command>
  int operator()(const Command& command) const {
    return run(command);
  }
};

int guarded_main(int argc, const char* const* argv) {
  // Years are worked through in arrays of about a megabyte that come and go: keeping freed memory saves the
  // kernel from handing out and clearing the same pages thousands of times.
  mallopt(M_MMAP_THRESHOLD, 1 << 28);
  mallopt(M_TRIM_THRESHOLD, 1 << 29);
  try {
    return std::visit(Runner{}, parse_command_line(argc, argv));
  } catch (const Cancelled&) {
    fmt::print(stderr, "cancelled; nothing was written\n");
    return ExitCode::cancelled;
  } catch (const std::bad_alloc&) {
    fmt::print(stderr,
               "internal fault: the machine has not enough memory; study fewer spaces with --space\n");
  } catch (const std::exception& fault) {
    fmt::print(stderr, "internal fault: {}; please report it together with the project file\n", fault.what());
  }
  return ExitCode::internal_fault;
}

}  // namespace

}  // namespace halflight::cli

int main(int argc, char** argv) {
  const int code = halflight::cli::guarded_main(argc, argv);
  // A full disk behind standard output must not look like success.
  if (std::fflush(stdout) != 0 && code == halflight::cli::ExitCode::done) {
    fmt::print(stderr, "error: standard output cannot be written: {}\n",
               std::generic_category().message(errno));
    return halflight::cli::ExitCode::bad_input;
  }
  return code;
}
