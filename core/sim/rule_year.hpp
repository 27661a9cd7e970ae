#pragma once
#include "sim/replicate.hpp"

#include <span>
#include <vector>

namespace halflight::sim {

/// Below this share of the light that is promised a task counts as under-lit (E. Lee, D. DiBartolomeo and
/// S. Selkowitz, LBNL-40867, 1998, count the year in which it is not).
inline constexpr double kUnderLit = 0.9;
/// More light beyond what an ideal loop gives than this share of what the loop is set to hold counts as
/// over-lit; assumption, as far from the set-point as `kUnderLit`.
inline constexpr double kOverLit = 0.1;

/// What one daylight rule made of the light on its task in one building-year, while somebody was there, the
/// sequence asked its group for light and the sun was up (docs/methods/controls.md).
struct RuleYear {
  double hours = 0.0;
  double under_h = 0.0;         ///< with less than `kUnderLit` of what is promised
  double shortfall_lx_h = 0.0;  ///< below that
  double over_h = 0.0;          ///< with more than `kOverLit` beyond an ideal loop
  double over_wh = 0.0;         ///< drawn beyond an ideal loop
  double saved_wh = 0.0;        ///< against what the sequence asks for
  double ideal_saved_wh = 0.0;  ///< the same by an ideal loop
};

/// A part of a group: what is commanded alike and gives no less than so much light while on.
struct GroupPart {
  double asked = 0.0;        ///< level before daylight
  double least_light = 0.0;  ///< sim::least_light
  double full_lx = 0.0;      ///< on the task at full output
};

/// The level that gives `needed_lx` and no more; at least `minimum` and at most what is asked of all parts.
/// 0 where nothing is needed and it may go off.
double ideal_level(std::span<const GroupPart> parts, double needed_lx, double minimum, bool may_switch_off);

/// One a daylight rule of the proposal, all zero where its task is elsewhere or no daylight reaches the
/// space; states are those in the middle of each step of five minutes. `way`: of the proposal.
std::vector<RuleYear> rule_years(Replicate& replicate, const Way& way);

}  // namespace halflight::sim
