#pragma once
#include "domain/project.hpp"
#include "results/finding.hpp"

#include <string>
#include <vector>

// Load controllers and circuits of a design that carry more than they may.

namespace halflight::sim {

/// Rules of the findings.
inline constexpr const char* kControllerWithinLimits = "load-controller-within-its-limits";
inline constexpr const char* kCircuitWithinBreaker = "circuit-within-its-breaker";

/// One for each load controller that stands in a space and for each circuit that feeds a luminaire there,
/// where what they carry is beyond a limit; in the order of the document. A controller has its load current,
/// and a digital bus its current and its addresses (those of its kind; else 64, IEC 62386-102); where only
/// one driver for all channels of a luminaire (IEC 62386-209, from memory) would keep the bus within its
/// limits, that needs evidence. A circuit has what its breaker may carry for hours by the electrical rules in
/// force, and its drivers' tables for inrush. No spare is asked: that is for whoever chooses.
std::vector<results::Finding> capacity_findings(const domain::Project& project,
                                                const domain::Library& library, const domain::Design& design,
                                                const std::string& space);

}  // namespace halflight::sim
