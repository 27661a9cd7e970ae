#pragma once
#include "base/diagnostic.hpp"

#include <nlohmann/json_fwd.hpp>

namespace halflight::cli {

/// All of them on standard error, one a line, errors first; then how many there are of each kind.
void print_diagnostics(const Diagnostics& diagnostics);

/// [{"severity", "file", "where", "problem", "remedy"}, ...]
nlohmann::ordered_json to_json(const Diagnostics& diagnostics);

/// On standard output, indented. Bytes that are not UTF-8 are replaced, never a fault.
void print_json(const nlohmann::ordered_json& json);

}  // namespace halflight::cli
