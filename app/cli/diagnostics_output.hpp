#pragma once
#include "base/diagnostic.hpp"

#include <nlohmann/json_fwd.hpp>

namespace halflight::cli {

/// All of them on standard error, one a line, errors first.
void print_diagnostics(const Diagnostics& diagnostics);

std::size_t count(const Diagnostics& diagnostics, Diagnostic::Severity severity);

/// "1 error", "2 errors".
std::string counted(std::size_t count, std::string_view noun);

/// [{"severity", "file", "where", "problem", "remedy"}, ...]
nlohmann::ordered_json to_json(const Diagnostics& diagnostics);

/// On standard output, indented. Bytes that are not UTF-8 are replaced, never a fault.
void print_json(const nlohmann::ordered_json& json);

}  // namespace halflight::cli
