#pragma once
#include "base/interval_set.hpp"

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

namespace halflight::people {

/// Probability that a person switches the light on at arrival, for the least daylight on the work plane
/// (D. Hunt, Building and Environment 14, 1979; coefficients from memory, checked against their end points: 1
/// at 7 lx and below, 0 at 658 lx and above). `shift_log10` moves the person's curve along log10 of
/// illuminance: positive means on at more daylight.
double switch_on_at_arrival(double daylight_lx, double shift_log10 = 0.0);

/// Switching on while staying, per five minutes: `below` under `threshold_lx` of daylight, else `above`
/// (C. Reinhart, K. Voss, Lighting Research and Technology 35, 2003; two readings of it disagree, these are
/// between them).
struct IntermediateSwitchOn {
  double below = 0.02;
  double above = 0.003;
  double threshold_lx = 240.0;
};
double switch_on_while_staying(double daylight_lx, const IntermediateSwitchOn& habit = {});

/// What people see about switching at the door.
enum class AutomaticOff { none, sensor };

/// Probability of switching off at departure, by the length of the absence that follows (S. Pigg, M. Eilers,
/// J. Reed, ACEEE 1996, as used by C. Reinhart, Solar Energy 77, 2004; from memory). With a sensor people
/// leave it to the sensor: factor 0.6 up to four hours, 0.5 beyond (assumption; the direction is Pigg's).
double switch_off_at_departure(Seconds absence, AutomaticOff automatic);

/// Light on the desk that people dim to: lognormal between people.
struct PreferredLight {
  double median_lx =
      380.0;            ///< G. Newsham, J. Veitch, Lighting Research and Technology 33(2), 2001: 200 to 500
  double spread = 1.5;  ///< geometric standard deviation, so that 200 to 500 lx holds two thirds (assumption)
  double dims_on_a_day = 0.5;  ///< chance that whoever comes first dims on that day at all (assumption)
  double anew_a_day = 0.02;    ///< chance that a person's preference is another from that day on (assumption)
};

/// What whoever is first in the room on a day dims the light to, by day of standard time (0..364), lx; 0
/// where nobody comes or who comes leaves the light as it is. `people`: one set for each person.
std::vector<double> preferred_light(std::span<const IntervalSet> people, std::uint32_t seed,
                                    std::uint32_t replicate, std::string_view space_id,
                                    const PreferredLight& preferred = {});

/// active: decides by daylight, as above; passive: on at the first arrival and left on until a long absence.
enum class UserType { active, passive };

/// One room's habit, drawn once a replicate.
struct Habit {
  UserType type = UserType::active;
  double shift_log10 = 0.0;
  [[nodiscard]] double on_at_arrival(double daylight_lx) const;
  [[nodiscard]] double off_at_departure(Seconds absence, AutomaticOff automatic) const;
};

/// `passive_share`: of people who are passive (assumption 0.25); `spread_log10`: standard deviation of the
/// shift between people (assumption 0.25).
Habit draw_habit(std::uint32_t seed, std::uint32_t replicate, std::string_view space_id,
                 double passive_share = 0.25, double spread_log10 = 0.25);

}  // namespace halflight::people
