#include "projects/what_if_json.hpp"

#include "projects/figures_json.hpp"

namespace halflight::projects {

using nlohmann::json;

json what_if_json(const std::string& space, const std::string& what, const std::vector<std::string>& values,
                  const std::vector<choose::WhatIf>& found) {
  json variants = json::array();
  for (std::size_t i = 0; i < found.size(); ++i) {
    const sim::DesignTrial& trial = found[i].trial;
    variants.push_back({{"value", values[i]},
                        {"connected_w", found[i].connected_w},
                        {"kwh", figure_json(trial.year_kwh)},
                        {"under_lit_h", figure_json(trial.under_lit_h)},
                        {"over_lit_kwh", figure_json(trial.over_lit_kwh)},
                        {"taken_from_people", figure_json(trial.taken_from_people)},
                        {"dips_on_people", figure_json(trial.dips_on_people)},
                        {"lit_for_nobody_h", figure_json(trial.lit_for_nobody_h)},
                        {"does_not_stand", trial.refused_because()}});
  }
  return {{"space", space}, {"what", what}, {"variants", variants}};
}

}  // namespace halflight::projects
