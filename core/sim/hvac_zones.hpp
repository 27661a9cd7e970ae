#pragma once
#include "base/context.hpp"
#include "results/study.hpp"
#include "sim/space_model.hpp"

#include <cstddef>
#include <vector>

// What HVAC is told of the people in its zones (docs/methods/hvac_contact.md).

namespace halflight::sim {

/// Building-years that zones are told of people in: of all that a study draws the first. What sensors notice
/// is most of their cost, and hours need fewer years than energy.
inline constexpr std::size_t kYearsOfContacts = 32;

/// When the contact of a space says occupied: from when motion has gone on for `occupied_after_s`, until
/// `delay_s` after the last. `noticed`: by the sensors of the space.
IntervalSet contact_of(const domain::HvacHandOff& hand_off, const IntervalSet& noticed);

/// One a zone that the proposal tells of a space's people, in the order of the project. `models`: the spaces
/// that are studied. Throws Cancelled.
std::vector<results::HvacZoneYear> hvac_zone_years(const domain::Project& project,
                                                   const std::vector<SpaceModel>& models,
                                                   const std::vector<Draws>& draws, const Context& context);

}  // namespace halflight::sim
