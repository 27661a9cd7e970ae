#pragma once
#include "energy/plug_loads.hpp"
#include "results/study.hpp"
#include "sim/replicate.hpp"

#include <array>
#include <vector>

// What is plugged in, through the year (docs/methods/plug_loads.md).

namespace halflight::sim {

struct SpaceRuns;
class Estimates;

/// All devices of one kind in one building-year.
struct PlugRun {
  double found_wh = 0.0;
  double proposed_wh = 0.0;
  double cut_with_people_h = 0.0;  ///< of one of them, on average; proposal
};

/// One a device of domain::devices_of the space.
std::vector<PlugRun> plug_runs(Replicate& replicate);
/// What all of the devices of one kind would use in one building-year of the proposal by each way of taking
/// their power (as PlugDevice::SwitchedBy); the draw of what switches them is not in it.
using PlugUseByWay = std::array<energy::PlugDeviceUse, 3>;
/// One a device of domain::devices_of the space.
std::vector<PlugUseByWay> plug_uses(Replicate& replicate);

/// The devices of a space by its runs.
results::PlugLoadsYear plug_loads_year(const SpaceModel& model, const SpaceRuns& runs,
                                       const Estimates& estimates);
/// The whole building by kind of device; runs and models as one another.
results::PlugLoadsYear plug_loads_of_building(const std::vector<SpaceModel>& models,
                                              const std::vector<SpaceRuns>& runs, const Estimates& estimates);

/// What is assumed of them beside the document; empty where nothing is plugged in.
std::vector<results::Assumption> plug_load_assumptions(const domain::Project& project);

}  // namespace halflight::sim
