#include "projects/what_if_json.hpp"

namespace halflight::projects {

namespace {

using nlohmann::json;

json as_json(const results::Estimate& e) { return {{"mean", e.mean}, {"low", e.low}, {"high", e.high}}; }

}  // namespace

json what_if_json(const std::string& space, const std::string& what, const std::vector<std::string>& values,
                  const std::vector<choose::WhatIf>& found) {
  json variants = json::array();
  for (std::size_t i = 0; i < found.size(); ++i) {
    const sim::DesignTrial& trial = found[i].trial;
    variants.push_back({{"value", values[i]},
                        {"connected_w", found[i].connected_w},
                        {"kwh", as_json(trial.year_kwh)},
                        {"under_lit_h", as_json(trial.under_lit_h)},
                        {"over_lit_kwh", as_json(trial.over_lit_kwh)},
                        {"taken_from_people", as_json(trial.taken_from_people)},
                        {"dips_on_people", as_json(trial.dips_on_people)},
                        {"lit_for_nobody_h", as_json(trial.lit_for_nobody_h)},
                        {"does_not_stand", trial.refused_because()}});
  }
  return {{"space", space}, {"what", what}, {"variants", variants}};
}

}  // namespace halflight::projects
