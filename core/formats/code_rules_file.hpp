#pragma once
#include "base/diagnostic.hpp"
#include "domain/code_rules.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace halflight::formats {

/// Reads one file of code rules (library/codes/*.json: one code, one edition; docs/rules/codes.md describes
/// the form). File-level exceptions are copied into every rule. Refused, each with its place: unknown keys,
/// words outside the closed sets, units that do not fit, missing required limits, ids given twice. At most
/// 500 errors are listed.
Result<std::vector<domain::CodeRule>> read_code_rules(std::string_view text, const std::string& file);

/// The value in SI of a figure in `unit`; nothing for an unknown unit.
std::optional<double> figure_si(double value, std::string_view unit);

}  // namespace halflight::formats
