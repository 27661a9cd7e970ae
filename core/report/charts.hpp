#pragma once
#include "report/markup.hpp"
#include "results/study.hpp"

#include <optional>
#include <string>
#include <vector>

namespace halflight::report {

/// A figure on its rail: the interval, a dot at the value and, where known, the tick for "as usually found".
struct Rail {
  double from = 0.0;  ///< ends of the rail, in the unit of the figure
  double to = 1.0;
  double low = 0.0;
  double high = 0.0;
  double value = 0.0;
  std::optional<double> as_usually_found;
};
void draw_rail(Markup& page, const Rail& rail, std::string_view label);

/// Ends that fit a figure: 0 to 1 for a fraction, otherwise from 0 to past its interval; zero is always on
/// the rail.
Rail rail_for(double value, double low, double high, std::string_view unit);

/// Energy of the four cases as bars with whiskers for the interval; standby on top where it is known apart.
struct CaseBar {
  std::string name;
  results::Estimate kwh;
  double standby_kwh = 0.0;
};
void draw_case_bars(Markup& page, const std::vector<CaseBar>& bars);

/// What each strategy takes away; negative shares run the other way from the same line.
void draw_shares(Markup& page, const std::vector<results::Share>& shares);

std::string strategy_name(std::string_view strategy);

}  // namespace halflight::report
