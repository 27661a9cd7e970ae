#pragma once
#include "base/interval_set.hpp"
#include "base/time_axis.hpp"
#include "domain/space.hpp"

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

namespace halflight::people {

/// Who is in a room, to the second, within [0, kYear).
struct Presence {
  static constexpr int kWholeRoom = -1;

  IntervalSet any;     ///< somebody, awake or asleep
  IntervalSet asleep;  ///< somebody who sleeps: light that came on by itself would wake them
  /// Who can be told apart, while awake. desks, sleeping: one set a seat or bed; bookings, timetable: one a
  /// participant, who comes first at a meeting or lesson is the first; shared, none and the visitors of a
  /// timetable or of sleepers: one a place that a visitor takes, always the lowest that is free, of at
  /// most 256 (who finds none is in `any` only); circulation:
  /// one set for all, equal to `any`.
  std::vector<IntervalSet> people;
  /// sleeping: when each of the first of `people` sleeps; empty for other patterns.
  std::vector<IntervalSet> sleepers;
  /// For each of `people` the part of the room that they are in while its movable wall stands (0 or 1), or
  /// kWholeRoom. Empty: everybody has the whole room.
  std::vector<int> part;

  /// When somebody is awake: moves before a sensor, reaches for the switch.
  [[nodiscard]] IntervalSet awake() const;
  /// How many are there at `t`, awake or asleep. circulation: 1 while anybody passes.
  [[nodiscard]] int headcount(Seconds t) const;
};

/// Shapes of a person's average day at the desk (W.-K. Chang, T. Hong, Building Simulation 6, 2013).
enum class DayProfile {
  one_square,  ///< from arrival to departure without a break
  one_valley,  ///< with lunch
  two_valley,  ///< with lunch and a break in the afternoon
  variable,    ///< with lunch; more at the desk in one part of the day than in another
  flat         ///< in and out through all of the open hours alike
};

/// What the document does not say about people. Every number is an assumption of ours unless a source is
/// named; docs/methods/people.md lists them.
struct PresenceAssumptions {
  // Desks. One seat: renewal form after D. Wang, C. Federspiel, F. Rubinstein, Energy and Buildings 37(2),
  // 2005: absences are exponential with a rate of the person's own. Several seats: Markov chain
  // (markov_chain.hpp).
  double arrival_sd_s = 1800.0;    ///< about opening
  double departure_sd_s = 2700.0;  ///< about closing
  double lunch_at = 3.0 / 7.0;     ///< mean start, as a share of the open hours
  double lunch_sd_s = 1200.0;
  double lunch_mean_s = 2700.0;  ///< 0: no lunch
  double lunch_length_sd_s = 900.0;
  double breaks_from_open_s = 21600.0;  ///< days open for less have no lunch, break or meeting
  double absence_spread = 1.6;  ///< geometric standard deviation of the mean absence between people; 1: none
  double short_stay_share = 0.5;  ///< two-phase stay at the desk: share of short ones, and their mean as a
  double short_stay_ratio = 0.4;  ///< share of the overall mean; ratio 1: exponential
  double long_absence_chance = 0.02;  ///< a working day on which a holiday, illness or journey begins
  double long_absence_days = 3.0;     ///< geometric mean length, working days
  // Several seats only.
  double longest_step_s = 300.0;  ///< of the chain; shorter where absences are
  std::array<double, 5> profile_shares = {0.2, 0.2, 0.2, 0.2, 0.2};  ///< of people, in DayProfile's order
  double variable_swing = 0.25;     ///< variable: presence rises and falls by this share of its mean
  double afternoon_at = 5.0 / 7.0;  ///< two_valley: start of the second break, as a share of the open hours
  double afternoon_sd_s = 1200.0;
  double afternoon_mean_s = 1200.0;  ///< exponential length
  double lunch_together = 0.5;       ///< chance that a person joins the room's common lunch on a day
  double meeting_chance = 0.2;       ///< of a day on which the people of a room meet elsewhere
  double meeting_s = 3600.0;
  double meeting_joins = 0.8;  ///< chance that a person goes to it
  // Visitors.
  double dwell_spread = 1.6;          ///< geometric standard deviation of the lognormal stay; 1: fixed
  bool exponential_passages = false;  ///< circulation: exponential instead of fixed time to walk through
  enum class Profile {
    flat,
    peaked
  } profile = Profile::flat;  ///< peaked: 0.4 to 1.6 times the mean, most at noon
  // Meetings.
  double ends_early = 0.20;         ///< share, by a time between the next two
  double early_at_least_s = 600.0;  ///< or half the meeting
  double early_at_most = 0.5;       ///< share of the meeting
  double overrun_least_s = 300.0;
  double overrun_most_s = 900.0;
  double late_s = 300.0;           ///< all but the first come up to so late,
  double leaves_early_s = 120.0;   ///< and leave up to so early
  double other_part_booked = 0.5;  ///< chance that the other part has a booking while the movable wall stands
  // Lessons.
  double teacher_before_s = 300.0;  ///< exponential means: comes early and stays on
  double teacher_after_s = 300.0;
  double pupils_before_s = 240.0;      ///< come between so much before the beginning
  double pupils_late_s = 120.0;        ///< and so much after, and leave up to the same after the end
  double new_plan_after_s = 864000.0;  ///< the week's plan is drawn anew after so long a time without lessons
  // Sleep.
  double sleep_sd_s = 1800.0;  ///< of falling asleep and of waking, from night to night
  double settling_s = 1800.0;  ///< in the room for up to so long before sleep and after waking
};

/// Draws who is in the space. `open`: the open hours of its calendar (calendar.hpp). `intensity` multiplies
/// arrivals, bookings and lessons, and the share of time that a person is at the desk or, by day, in the room
/// (at most 0.98); 1 is nominal, 0 empty.
///
/// Every draw is a function of (seed, space and person, replicate, civil day, question, slot): another
/// intensity keeps the events that both runs have, and one person's parameters never touch another's draws.
/// One more person changes nobody else's day; but a second desk makes another kind of room of a private
/// office.
Presence simulate_presence(const domain::Occupancy& occupancy, const IntervalSet& open,
                           const CivilTime& clock, std::uint32_t seed, std::uint32_t replicate,
                           std::string_view space_id, double intensity = 1.0,
                           const PresenceAssumptions& assumptions = {});

}  // namespace halflight::people
