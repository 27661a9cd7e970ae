#pragma once
#include "base/interval_set.hpp"
#include "base/time_axis.hpp"
#include "domain/space.hpp"

#include <cstdint>
#include <string_view>
#include <vector>

namespace halflight::people {

/// Who is in a room, to the second, within [0, kYear).
struct Presence {
  IntervalSet any;                  ///< anybody
  std::vector<IntervalSet> people;  ///< desks: one set a person; other patterns: one set, equal to `any`
};

/// What the document does not say about people. Every number is an assumption of ours unless a source is
/// named; docs/methods/people.md lists them.
struct PresenceAssumptions {
  // Desks (renewal form after D. Wang, C. Federspiel, F. Rubinstein, Energy and Buildings 37(2), 2005:
  // absences are exponential with a rate of the person's own).
  double arrival_sd_s = 1800.0;    ///< about opening
  double departure_sd_s = 2700.0;  ///< about closing
  double lunch_at = 3.0 / 7.0;     ///< mean start, as a share of the open hours
  double lunch_sd_s = 1200.0;
  double lunch_mean_s = 2700.0;  ///< 0: no lunch
  double lunch_length_sd_s = 900.0;
  double lunch_from_open_s = 21600.0;  ///< days open for less have no lunch
  double absence_spread = 1.6;  ///< geometric standard deviation of the mean absence between people; 1: none
  double short_stay_share = 0.5;  ///< two-phase stay at the desk: share of short ones, and their mean as a
  double short_stay_ratio = 0.4;  ///< share of the overall mean; ratio 1: exponential
  double long_absence_chance = 0.02;  ///< a working day on which a holiday, illness or journey begins
  double long_absence_days = 3.0;     ///< geometric mean length, working days
  // Visitors.
  double dwell_spread = 1.6;  ///< shared, none: geometric standard deviation of the lognormal stay; 1: fixed
  bool exponential_passages = false;  ///< circulation: exponential instead of fixed time to walk through
  enum class Profile {
    flat,
    peaked
  } profile = Profile::flat;  ///< peaked: 0.4 to 1.6 times the mean, most at noon
};

/// Draws who is in the space. `open`: the open hours of its calendar (calendar.hpp). `intensity` multiplies
/// arrivals and bookings, and the share of time that a person is at the desk (at most 0.98); 1 is nominal, 0
/// empty.
///
/// Every draw is a function of (seed, space and person, replicate, civil day, question, slot): another
/// intensity keeps the events that both runs have, and one person's parameters never touch another's draws.
Presence simulate_presence(const domain::Occupancy& occupancy, const IntervalSet& open,
                           const CivilTime& clock, std::uint32_t seed, std::uint32_t replicate,
                           std::string_view space_id, double intensity = 1.0,
                           const PresenceAssumptions& assumptions = {});

}  // namespace halflight::people
