#pragma once
#include "domain/weather.hpp"
#include "results/study.hpp"
#include "sim/replicate.hpp"

#include <optional>
#include <vector>

// Events of demand response (docs/methods/demand_response.md).

namespace halflight::sim {

struct SpaceRuns;
class Estimates;

/// When demand response is called in a weather year, standard time: the listed events in their order, then
/// those of the hottest working days, in the order of the year. As many in every year.
std::vector<Interval> demand_events_of(const domain::Project& project, const domain::WeatherYear& weather);

/// A space at one event; means over its five-minute steps, of light over those with somebody there.
struct EventRun {
  double before_w = 0.0;  ///< drawn for light without the event
  double shed_w = 0.0;
  std::vector<double> task_lx;  ///< left on each task area, with daylight; -1: nobody is there
};

/// One an event of the replicate's weather year, by the proposal; without a rule for it nothing is shed.
std::vector<EventRun> event_runs(Replicate& replicate);

/// Nothing without events; of a room, nothing without a rule either.
std::optional<results::LoadShed> load_shed(const SpaceModel& model, const SpaceRuns& runs,
                                           const Estimates& estimates);
std::optional<results::BuildingShed> load_shed_of_building(const std::vector<SpaceModel>& models,
                                                           const std::vector<SpaceRuns>& runs,
                                                           const Estimates& estimates);

}  // namespace halflight::sim
