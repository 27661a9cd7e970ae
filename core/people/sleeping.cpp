#include "people/patterns.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace halflight::people {

namespace {

/// One person's night that begins on a civil day, in standard time.
struct Night {
  bool away = false;
  double asleep = 0.0;
  double awake = 0.0;
};

Night night_of(const Room& room, const Draws& person, int civil_day, LongAbsences& absences) {
  static const std::uint32_t kAsleep = hash_name("falls asleep");
  static const std::uint32_t kAwake = hash_name("wakes");
  const domain::Occupancy& occupancy = room.occupancy;
  const auto day = static_cast<std::uint32_t>((civil_day + 365) % 365);
  const Seconds wakes = occupancy.asleep_until_s > occupancy.asleep_from_s ? occupancy.asleep_until_s
                                                                           : occupancy.asleep_until_s + kDay;
  const auto at = [&](Seconds clock, std::uint32_t question) {
    return static_cast<double>(room.clock.standard(civil_day * kDay + clock)) +
           room.assumed.sleep_sd_s * person.normal(day, question, 0);
  };
  Night night;
  night.away = absences.on(day);
  night.asleep = at(occupancy.asleep_from_s, kAsleep);
  night.awake = std::max(at(wakes, kAwake), night.asleep);
  return night;
}

/// Somebody who sleeps here: awake and asleep.
std::pair<IntervalSet, IntervalSet> sleeper(const Room& room, const Draws& person) {
  static const std::uint32_t kSettles = hash_name("settles");
  const double present = present_share(room);
  const Renewal renewal = renewal_of(room, person, present);
  LongAbsences absences(person, room.assumed);
  std::vector<Interval> awake;
  std::vector<Interval> asleep;
  // The night before the year and the one that begins on its last day reach into it.
  Night last = night_of(room, person, -1, absences);
  for (int civil_day = 0; civil_day <= 365; ++civil_day) {
    const Night next = night_of(room, person, civil_day, absences);
    const auto day = static_cast<std::uint32_t>(civil_day % 365);
    if (!last.away) asleep.push_back(whole_seconds(last.asleep, last.awake - last.asleep));
    const auto [after, before] = person.pair(day, kSettles, 0);
    const double woken = std::min(last.awake + room.assumed.settling_s * after, next.asleep);
    const double to_bed = std::max(next.asleep - room.assumed.settling_s * before, last.awake);
    if (!last.away) awake.push_back(whole_seconds(last.awake, woken - last.awake));
    if (!next.away) awake.push_back(whole_seconds(to_bed, next.asleep - to_bed));
    if (!last.away && !next.away && present > 0.0 && woken < to_bed)
      add_stays(person, renewal, room.assumed, day, 0, woken, to_bed, awake);
    last = next;
  }
  const IntervalSet sleeps = intersected(IntervalSet(std::move(asleep)), room.open);
  return {subtracted(intersected(IntervalSet(std::move(awake)), room.open), sleeps), sleeps};
}

}  // namespace

Presence sleeping(const Room& room) {
  Presence presence;
  if (room.intensity <= 0.0) return presence;
  const auto beds = std::max(0L, std::lround(room.occupancy.people));
  for (long k = 0; k < beds; ++k) {
    auto [awake, asleep] = sleeper(room, room.draws_of(k));
    presence.people.push_back(std::move(awake));
    presence.sleepers.push_back(std::move(asleep));
  }
  Visits visitors =
      visits(room, room.occupancy.arrivals_per_h * room.intensity, Visits::Stay::lognormal, true);
  presence.asleep = united(presence.sleepers);
  presence.any = united(united(presence.asleep, united(presence.people)), visitors.any);
  std::move(visitors.visitors.begin(), visitors.visitors.end(), std::back_inserter(presence.people));
  return presence;
}

}  // namespace halflight::people
