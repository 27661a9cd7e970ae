#pragma once
#include "base/context.hpp"
#include "results/study.hpp"
#include "sim/space_year.hpp"
#include "sim/study.hpp"
#include "sim/way_at_work.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace halflight::sim {

/// "Why this minute": what stands at second `standard` of standard time, in [0, kYear), cause before effect.
/// The replicate must tell causes.
results::Moment explain_moment(const WayAtWork& work, Seconds standard);
/// The same of the proposal in a replicate that is run for this alone.
results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds standard);

/// Luminaires that stand alike at an instant, with who decided on their level.
struct GroupAtWork {
  std::string name;        ///< for people; what tells them from the others of the room
  double level = 0.0;      ///< fraction of full output
  double power_w = 0.0;    ///< standby of drivers included
  std::string decided_by;  ///< rank of the sequence (docs/rules/controls.md), in words
  std::string limited_by;  ///< "daylight", "trim", both, or empty
};
std::vector<GroupAtWork> groups_at_work(const WayAtWork& work, Seconds standard);

/// One instant of a space.
struct ExplainedSpace {
  std::size_t space = 0;              ///< index in the project
  std::string not_explained_because;  ///< why it could not be lit; empty where it could
  results::Moment moment;
  std::vector<GroupAtWork> groups;
};
/// One instant of one building-year, and what that year was drawn from.
struct ExplainedInstant {
  std::size_t weather_year = 0;  ///< index
  std::size_t weather_years = 0;
  std::string climate;
  std::vector<ExplainedSpace> spaces;
};
/// Lights `spaces` (indices in the project, ascending) and no others, and runs the proposal in them through
/// building-year number `building_year` (from 0) of the study with the same options. Throws Cancelled.
ExplainedInstant explain_spaces(const StudyInputs& inputs, const StudyOptions& options,
                                const std::vector<std::size_t>& spaces, std::size_t building_year,
                                Seconds standard, const Context& context);

}  // namespace halflight::sim
