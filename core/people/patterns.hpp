#pragma once
// The patterns behind simulate_presence (presence.hpp), one function each.
#include "people/draws.hpp"
#include "people/presence.hpp"

#include <vector>

namespace halflight::people {

/// The room as its pattern sees it.
struct Room {
  const domain::Occupancy& occupancy;
  const IntervalSet& open;
  const CivilTime& clock;
  std::uint32_t seed = 0;
  std::uint32_t replicate = 0;
  std::string_view id;
  double intensity = 1.0;
  const PresenceAssumptions& assumed;

  [[nodiscard]] Draws draws() const { return {{seed, hash_name(id)}, replicate}; }
  [[nodiscard]] Draws draws_of(long person) const;
};

/// Poisson arrivals within the open hours; each stays for a time of its own, at most until closing.
struct Visits {
  enum class Stay { fixed, exponential, lognormal };
  IntervalSet any;
  std::vector<IntervalSet> visitors;  ///< by lowest free place; empty where they are not told apart
};
Visits visits(const Room& room, double arrivals_per_h, Visits::Stay stay, bool told_apart);

/// Working days that a person is away for long: asked day by day, in order.
class LongAbsences {
 public:
  LongAbsences(const Draws& draws, const PresenceAssumptions& assumed) : draws_(draws), assumed_(assumed) {}
  /// Whether the person is away on the next working day, `civil_day`.
  bool on(std::uint32_t civil_day);

 private:
  Draws draws_;
  const PresenceAssumptions& assumed_;
  int days_left_ = 0;
};

/// Comings and goings of one person, in the renewal form.
struct Renewal {
  double absence_s = 0.0;  ///< the person's own mean
  double stay_s = 0.0;
};
/// Those of a person who is present for the share `present` < 1.
Renewal renewal_of(const Room& room, const Draws& person, double present);
/// Adds the stays between `arrive` and `leave`, present at first. `stint` counts within the day.
void add_stays(const Draws& draws, const Renewal& person, const PresenceAssumptions& assumed,
               std::uint32_t day, std::uint32_t stint, double arrive, double leave,
               std::vector<Interval>& found);
/// The document's share of presence at the room's intensity, at most 0.98.
double present_share(const Room& room);

Presence desks(const Room& room);
Presence bookings(const Room& room);
Presence timetable(const Room& room);
Presence sleeping(const Room& room);

/// People at meetings or lessons: the first `n` sets hold who takes part.
class Participants {
 public:
  void add(std::size_t number, Interval there);
  [[nodiscard]] std::vector<IntervalSet> taken();

 private:
  std::vector<std::vector<Interval>> sets_;
};
/// Number at a meeting or lesson, at least 1: one and a Poisson number of others, `mean` together.
int attendance(double mean, double u);

}  // namespace halflight::people
