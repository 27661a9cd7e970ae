#pragma once
#include "results/study.hpp"
#include "sim/space_year.hpp"

#include <vector>

namespace halflight::sim {

/// What the designer can be held to in one space, each with the test that could refute it. `pointer`: JSON
/// pointer of the space in the study. `half_hour_w`: the drawn replicate, for how much a test of some weeks
/// would vary.
std::vector<results::Claim> claims_of(const SpaceModel& model, const results::SpaceStudy& study,
                                      const std::string& pointer, const std::vector<float>& half_hour_w,
                                      const Uncertainty& uncertainty);

/// Chance that a one-sided 5 % test whose figure has standard deviation `sigma` notices a shortfall.
double chance_of_noticing(double shortfall, double sigma);

}  // namespace halflight::sim
