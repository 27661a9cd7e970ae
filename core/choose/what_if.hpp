#pragma once
#include "base/diagnostic.hpp"
#include "sim/design_trials.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace halflight::choose {

/// One project as it would be, tried in one space.
struct WhatIf {
  sim::DesignTrial trial;
  double connected_w = 0.0;  ///< of the proposal's luminaires in the space
};

/// What each of `variants` makes of a space, in the same building-years and with the same people, so that
/// differences are those of the variants. All years are run, also of a variant that breaks a rule. Where
/// `light_stays` the variants differ in sequences and scenes alone, and light is computed once. `inputs`: its
/// project is not looked at. Throws Cancelled. Errors: the space cannot be lit in a variant.
Result<std::vector<WhatIf>> what_if(const sim::StudyInputs& inputs, std::size_t space,
                                    std::span<const domain::Project* const> variants, bool light_stays,
                                    const sim::StudyOptions& options, const Context& context,
                                    lightresponse::StageLog& log);

}  // namespace halflight::choose
