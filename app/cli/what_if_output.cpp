#include "cli/what_if_output.hpp"

#include <fmt/format.h>

namespace halflight::cli {

namespace {

using nlohmann::json;

json as_json(const results::Estimate& e) { return {{"mean", e.mean}, {"low", e.low}, {"high", e.high}}; }

}  // namespace

std::string what_if_text(const std::vector<std::string>& values, const std::vector<choose::WhatIf>& found) {
  std::string text = fmt::format("  {:<16} {:>9}  {:<18} {:>11} {:>11} {:>11} {:>10}\n", "value", "kWh/year",
                                 "(5 to 95 %)", "against 1st", "too dark h", "light taken", "for nobody");
  const double first_kwh = found.empty() ? 0.0 : found.front().trial.year_kwh.mean;
  for (std::size_t i = 0; i < found.size(); ++i) {
    const sim::DesignTrial& trial = found[i].trial;
    text += fmt::format("  {:<16} {:>9.1f}  {:<18} {:>11} {:>11.0f} {:>11.1f} {:>8.0f} h\n", values[i],
                        trial.year_kwh.mean,
                        fmt::format("({:.0f} to {:.0f})", trial.year_kwh.low, trial.year_kwh.high),
                        i == 0 || first_kwh <= 0.0
                            ? ""
                            : fmt::format("{:+.1f} %", 100.0 * (trial.year_kwh.mean / first_kwh - 1.0)),
                        trial.under_lit_h.mean, trial.taken_from_people.mean, trial.lit_for_nobody_h.mean);
    for (const std::string& because : trial.refused_because())
      text += fmt::format("    does not stand: {}\n", because);
  }
  return text;
}

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

}  // namespace halflight::cli
