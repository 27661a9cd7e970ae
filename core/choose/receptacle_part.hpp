#pragma once
#include "choose/first_cost.hpp"
#include "domain/code_rules.hpp"
#include "results/finding.hpp"
#include "results/study.hpp"
#include "sim/plug_years.hpp"

#include <string>
#include <vector>

// What takes the power of plugged-in devices when a room is empty (docs/methods/proposals.md).

namespace halflight::choose {

/// Years within which what is saved has to pay for a switched outlet (assumption).
inline constexpr double kYearsToPayBack = 10.0;
/// The price of a kWh where the project has no tariff, in the library's currency (assumption).
inline constexpr double kUsualPricePerKwh = 0.15;
/// Nothing is switched that would go out on somebody who is at it for longer in a year (assumption).
inline constexpr double kMostCutWithPeople_h = 1.0;
/// What one outlet counts for on its relay (NFPA 70 220.14(I): 180 VA for each yoke, at 120 V; from memory).
inline constexpr double kOutlet_a = 1.5;

struct ReceptaclePart {
  domain::PlugLoads loads;      ///< of the space, with what is chosen
  FirstCost cost;               ///< controlled outlets, their relays, outlets with a sensor
  results::Estimate saved_kwh;  ///< a year, against the same room with nothing switched
  std::vector<std::string> why;
};

/// How many of a space's outlets have to be controlled for those of `findings` that fail by a rule on
/// receptacles among `rules`; 0 where none does.
int outlets_asked_for(const domain::PlugLoads& loads, const std::vector<results::Finding>& findings,
                      const std::vector<domain::CodeRule>& rules);

/// Chooses for each kind of device of a space whether nothing takes its power, a controlled receptacle or a
/// plug-in outlet with a sensor of its own: what saves most over kYearsToPayBack after it has been paid for,
/// of all combinations of the eight kinds that could save most. Medical, refrigeration and network equipment
/// and whatever else must never be switched stays on and takes up outlets that are not controlled. At least
/// `asked` outlets are controlled. `space.plug_loads` has nothing chosen yet but what turns controlled
/// receptacles off; `years`: by replicate, one a device of domain::devices_of (DesignTrials::plugs).
ReceptaclePart receptacle_part(const domain::Project& project, const domain::Library& library,
                               const domain::Space& space, int asked,
                               const std::vector<std::vector<sim::PlugUseByWay>>& years, int scrambles);

}  // namespace halflight::choose
