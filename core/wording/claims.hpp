#pragma once
#include "results/claim.hpp"

#include <string>

namespace halflight::wording {

/// The claim's text with {value}, {low} and {high} replaced by figures that show no more digits than the
/// interval carries. `value` is what the claim's pointer finds in the study (results::StudyNumbers).
std::string claim_sentence(const results::Claim& claim, double value);

}  // namespace halflight::wording
