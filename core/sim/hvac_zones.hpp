#pragma once
#include "base/interval_set.hpp"
#include "results/study.hpp"
#include "sim/readings.hpp"
#include "sim/replicate.hpp"

#include <cstddef>
#include <cstdint>
#include <vector>

// What HVAC is told of the people in its zones (docs/methods/hvac_contact.md).

namespace halflight::sim {

/// Building-years that zones are told of people in: of all that a study draws the first. What sensors notice
/// is most of their cost, and hours need fewer years than energy.
inline constexpr std::size_t kYearsOfContacts = 32;

/// When the contact of a space says occupied: from when motion has gone on for `occupied_after_s`, until
/// `delay_s` after the last. `noticed`: by the sensors of the space.
IntervalSet contact_of(const domain::HvacHandOff& hand_off, const IntervalSet& noticed);

/// Instants at which the contact of the proposal for a space changes in one building-year, s, ascending, to
/// "occupied" first. Empty where nothing tells of the space, and beyond the first kYearsOfContacts
/// replicates.
std::vector<std::int32_t> contact_changes(Replicate& replicate);

/// One a zone that the proposal tells of a space's people, in the order of the project.
std::vector<results::HvacZoneYear> hvac_zone_years(const domain::Project& project,
                                                   const StudiedSpaces& spaces);

}  // namespace halflight::sim
