#include "cli/what_if_output.hpp"

#include <fmt/format.h>

namespace halflight::cli {

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

}  // namespace halflight::cli
