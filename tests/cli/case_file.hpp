#pragma once
#include <optional>
#include <string>
#include <utility>
#include <vector>

// Whole-program cases as plain text, so that anybody can read what the program promises and add to it:
//
//   # Why this case exists.                      a story, for people
//   given tests/documents/one_room.halflight.json  copies a file of the source tree beside the command
//   given lamp.ies                               makes a file; its lines follow, each after "| "
//   | IESNA:LM-63-2002
//   $ halflight sun --latitude 39.742476 ...     the command; single and double quotes group words
//   > zenith_deg 50.1116 +-0.0001 ...            a line of standard output
//   ! error: lamp.ies ...                        a line of standard error
//   no ! ...                                     nothing on standard error
//   exit 2                                       0 when not given
//
// Expected lines must appear in their order; other lines may stand between. Words are compared one by one,
// however far apart; "*" stands for any one word, "..." for any number of words, and a number followed by
// "+-0.5" for any number that near. A case may run several commands, one after the other, in one folder.

namespace halflight::tests {

struct ExpectedLine {
  enum class Stream { output, error } stream = Stream::output;
  std::string text;
  int line = 0;  ///< in the case file
};

struct Step {
  std::vector<std::string> command;  ///< words after "halflight"
  std::vector<ExpectedLine> expected;
  bool silent_on_error_stream = false;
  int exit_code = 0;
  int line = 0;
};

struct CaseFile {
  std::vector<std::string> copied;                           ///< paths in the source tree
  std::vector<std::pair<std::string, std::string>> written;  ///< name, contents
  std::vector<Step> steps;
};

/// Throws std::runtime_error with the line of what cannot be understood.
CaseFile parse_case(const std::string& text);

/// Whether a line has the expected words.
bool line_matches(const std::string& expected, const std::string& actual);

/// The first expected line that is not found in its place; nothing when all are there.
std::optional<ExpectedLine> first_missing(const std::vector<ExpectedLine>& expected,
                                          ExpectedLine::Stream stream, const std::string& text);

}  // namespace halflight::tests
