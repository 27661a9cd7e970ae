#pragma once
#include "domain/code_rules.hpp"

#include <optional>
#include <string>

namespace halflight::codes {

// Sums of watts and products of feet carry rounding, so that "exactly at the limit" needs a width: this
// share of the limit, and of one unit for limits below it.
inline constexpr double kRelativeSlack = 1e-9;

bool holds(double value, domain::Comparison comparison, double limit);
inline bool at_most(double value, double limit) { return holds(value, domain::Comparison::at_most, limit); }
inline bool at_least(double value, double limit) { return holds(value, domain::Comparison::at_least, limit); }

/// At most four significant digits, without exponent or trailing zeros: "166", "0.71", "1800".
std::string number_text(double value);
/// A value in SI shown in the figure's unit, with SI beside it where they differ: "600 ft2 (55.74 m2)", "20
/// min".
std::string value_text(double si, const domain::Figure& in_unit_of);
/// "52 %" of a fraction.
std::string percent_text(double fraction);

/// The rule's limit of this name in SI; nothing when the data has none.
std::optional<double> limit_of(const domain::CodeRule& rule, const std::string& name);

}  // namespace halflight::codes
