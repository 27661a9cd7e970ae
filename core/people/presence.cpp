#include "people/presence.hpp"

#include "people/patterns.hpp"

#include <algorithm>
#include <utility>

namespace halflight::people {

namespace {

Presence of_visits(Visits found) {
  Presence presence;
  presence.people = std::move(found.visitors);
  presence.any = std::move(found.any);
  return presence;
}

}  // namespace

IntervalSet Presence::awake() const { return sleepers.empty() ? any : united(people); }

int Presence::headcount(Seconds t) const {
  const auto there = [t](const IntervalSet& person) { return person.contains(t); };
  return static_cast<int>(std::count_if(people.begin(), people.end(), there) +
                          std::count_if(sleepers.begin(), sleepers.end(), there));
}

Presence simulate_presence(const domain::Occupancy& occupancy, const IntervalSet& open,
                           const CivilTime& clock, std::uint32_t seed, std::uint32_t replicate,
                           std::string_view space_id, double intensity, const PresenceAssumptions& assumed) {
  using Pattern = domain::Occupancy::Pattern;
  using Stay = Visits::Stay;
  const Room room{occupancy, open, clock, seed, replicate, space_id, intensity, assumed};
  switch (occupancy.pattern) {
    case Pattern::desks:
      return desks(room);
    case Pattern::shared: {
      // Little's law where the document gives the number present instead of the arrivals.
      const double stay_h = occupancy.dwell_min / 60.0;
      const double arrivals_per_h = occupancy.arrivals_per_h > 0.0 || stay_h <= 0.0
                                        ? occupancy.arrivals_per_h
                                        : occupancy.people / stay_h;
      return of_visits(visits(room, arrivals_per_h * intensity, Stay::lognormal, true));
    }
    case Pattern::circulation: {
      Presence presence =
          of_visits(visits(room, occupancy.arrivals_per_h * intensity,
                           assumed.exponential_passages ? Stay::exponential : Stay::fixed, false));
      presence.people = {presence.any};
      return presence;
    }
    case Pattern::bookings:
      return bookings(room);
    case Pattern::timetable:
      return timetable(room);
    case Pattern::sleeping:
      return sleeping(room);
    case Pattern::none:
      return of_visits(visits(room, occupancy.arrivals_per_h * intensity, Stay::lognormal, true));
  }
  return {};
}

}  // namespace halflight::people
