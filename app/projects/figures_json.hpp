#pragma once
#include "domain/price.hpp"
#include "results/study.hpp"

#include <nlohmann/json.hpp>

// Figures as a program reads them.

namespace halflight::projects {

inline nlohmann::json figure_json(const results::Estimate& e) {
  return {{"mean", e.mean}, {"low", e.low}, {"high", e.high}};
}
inline nlohmann::json figure_json(const domain::Range& r) { return {{"least", r.least}, {"most", r.most}}; }

}  // namespace halflight::projects
