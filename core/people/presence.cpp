#include "people/presence.hpp"

#include "base/random.hpp"
#include "base/units.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

namespace halflight::people {

namespace {

/// The questions of one subject (a room or a person), by civil day and slot.
struct Draws {
  RandomKey key;
  std::uint32_t replicate = 0;

  [[nodiscard]] double uniform(std::uint32_t day, std::uint32_t question, std::uint32_t slot) const {
    return random_uniform(key, {replicate, day, question, slot});
  }
  [[nodiscard]] std::array<double, 2> pair(std::uint32_t day, std::uint32_t question,
                                           std::uint32_t slot) const {
    return random_uniform_pair(key, {replicate, day, question, slot});
  }
  [[nodiscard]] double normal(std::uint32_t day, std::uint32_t question, std::uint32_t slot) const {
    return random_normal(key, {replicate, day, question, slot});
  }
};

std::uint32_t civil_day(Seconds t, const CivilTime& clock) {
  return static_cast<std::uint32_t>((clock.civil(t) + kYear) % kYear / kDay);
}

/// An event of `length_s` from `at_s`, in whole seconds. Both ends are rounded down, so that the mean length
/// stays what it is; nothing is shorter than a second.
Interval whole_seconds(double at_s, double length_s) {
  const auto begin = static_cast<Seconds>(std::floor(at_s));
  const auto end = static_cast<Seconds>(std::floor(at_s + length_s));
  return {begin, std::max(end, begin + 1)};
}

/// Lognormal by its mean and geometric standard deviation; the mean itself when the spread is 1.
double lognormal_of_mean(double mean, double spread, double u) {
  if (spread <= 1.0) return mean;
  const double sigma = std::log(spread);
  return mean * std::exp(sigma * inverse_normal(u) - 0.5 * sigma * sigma);
}

/// Poisson number by inversion: grows with the mean for the same `u`, so that a busier run keeps a quiet
/// run's events.
class Poisson {
 public:
  explicit Poisson(double mean) : mean_(mean), none_(std::exp(-mean)) {}
  [[nodiscard]] int at(double u) const {
    double p = none_;
    double below = p;
    int n = 0;
    while (u > below && p > 0.0) {
      ++n;
      p *= mean_ / n;
      below += p;
    }
    return n;
  }

 private:
  double mean_;
  double none_;  // chance of no event
};

// --- visitors
// ----------------------------------------------------------------------------------------------------

constexpr Seconds kSlot = 900;
constexpr auto kSlotsPerDay = static_cast<std::uint32_t>(kDay / kSlot);
// exp(-mean) must not underflow; at 2,000 arrivals an hour a room is not empty in any case.
constexpr double kMostPerSlot = 500.0;
// Positions of one slot's arrivals are asked for by slot and number.
constexpr std::uint32_t kNumbersPerSlot = 4096;

enum class Stay { fixed, exponential, lognormal };

double stay_s(Stay kind, double mean_s, double spread, double u) {
  switch (kind) {
    case Stay::fixed:
      return mean_s;
    case Stay::exponential:
      return -mean_s * std::log(u);
    case Stay::lognormal:
      return lognormal_of_mean(mean_s, spread, u);
  }
  return mean_s;
}

/// Poisson arrivals within the open hours; each stays for a time of its own, at most until closing.
IntervalSet visits(const Draws& draws, const IntervalSet& open, double arrivals_per_h, Stay kind,
                   double mean_stay_s, const PresenceAssumptions& assumed) {
  static const std::uint32_t kCount = hash_name("arrivals");
  static const std::uint32_t kArrival = hash_name("arrival");
  static const std::uint32_t kLength = hash_name("length of a visit");
  RandomSeries count(draws.key, draws.replicate, kCount);
  RandomSeries place(draws.key, draws.replicate, kArrival);
  RandomSeries length(draws.key, draws.replicate, kLength);
  const double even = arrivals_per_h * static_cast<double>(kSlot) / 3600.0;
  std::vector<Poisson> arrivals;  // by slot of the open time, which is alike on most days
  Interval alike{0, 0};
  std::vector<Interval> of_this_slot;
  std::vector<Interval> found;
  for (const Interval& hours : open.intervals()) {
    const Seconds first_slot = hours.begin / kSlot;
    const Interval hours_from_slot{hours.begin - first_slot * kSlot, hours.end - first_slot * kSlot};
    if (hours_from_slot != alike) {
      alike = hours_from_slot;
      arrivals.clear();
      for (Seconds start = 0; start < alike.end; start += kSlot) {
        const double x = (static_cast<double>(start - alike.begin) + 0.5 * static_cast<double>(kSlot)) /
                         static_cast<double>(alike.end - alike.begin);
        const bool peaked = assumed.profile == PresenceAssumptions::Profile::peaked;
        arrivals.emplace_back(
            std::min(kMostPerSlot, peaked ? even * (1.0 - 0.6 * std::cos(2.0 * kPi * x)) : even));
      }
    }
    for (std::size_t s = 0; s < arrivals.size(); ++s) {
      const Seconds slot = first_slot + static_cast<Seconds>(s);
      const auto start = static_cast<double>(slot * kSlot);
      const auto day = static_cast<std::uint32_t>(slot / kSlotsPerDay);
      const auto slot_of_day = static_cast<std::uint32_t>(slot % kSlotsPerDay);
      const int n = arrivals[s].at(count.at(day, slot_of_day));
      of_this_slot.clear();
      for (int k = 0; k < n; ++k) {
        const std::uint32_t number = slot_of_day * kNumbersPerSlot + static_cast<std::uint32_t>(k);
        const double stay_time =
            kind == Stay::fixed ? mean_stay_s
                                : stay_s(kind, mean_stay_s, assumed.dwell_spread, length.at(day, number));
        Interval stay = whole_seconds(start + place.at(day, number) * static_cast<double>(kSlot), stay_time);
        // Outside the open hours: the part of a slot that they do not fill.
        if (stay.begin < hours.begin || stay.begin >= hours.end) continue;
        stay.end = std::min(stay.end, hours.end);
        of_this_slot.push_back(stay);
      }
      std::sort(of_this_slot.begin(), of_this_slot.end(),
                [](const Interval& a, const Interval& b) { return a.begin < b.begin; });
      // In order from slot to slot, so that whoever is met on the way is joined at once.
      for (const Interval& stay : of_this_slot) {
        if (!found.empty() && stay.begin <= found.back().end)
          found.back().end = std::max(found.back().end, stay.end);
        else
          found.push_back(stay);
      }
    }
  }
  return IntervalSet(std::move(found));
}

// --- desks
// -------------------------------------------------------------------------------------------------------

constexpr double kMostPresent = 0.98;
// Stays are asked for by stint of the day and number within it.
constexpr std::uint32_t kStaysPerStint = 1U << 24;

struct Desk {
  double absence_s = 0.0;  // the person's own mean
  double stay_s = 0.0;
};

/// Comings and goings between `arrive` and `leave`, at the desk first.
void add_stays(const Draws& draws, const Desk& desk, const PresenceAssumptions& assumed, std::uint32_t day,
               std::uint32_t stint, double arrive, double leave, std::vector<Interval>& found) {
  static const std::uint32_t kStay = hash_name("stay at the desk");
  static const std::uint32_t kAbsence = hash_name("short absence");
  const double short_s = assumed.short_stay_ratio * desk.stay_s;
  const double long_s = assumed.short_stay_share < 1.0 ? (desk.stay_s - assumed.short_stay_share * short_s) /
                                                             (1.0 - assumed.short_stay_share)
                                                       : desk.stay_s;
  double t = arrive;
  for (std::uint32_t k = 0; t < leave; ++k) {
    const std::uint32_t slot = stint * kStaysPerStint + k;
    const auto [phase, u] = draws.pair(day, kStay, slot);
    const double stay = -(phase < assumed.short_stay_share ? short_s : long_s) * std::log(u);
    found.push_back(whole_seconds(t, std::min(stay, leave - t)));
    t += stay - desk.absence_s * std::log(draws.uniform(day, kAbsence, slot));
  }
}

IntervalSet one_desk(const Draws& draws, const domain::Occupancy& occupancy, const IntervalSet& open,
                     const CivilTime& clock, double intensity, const PresenceAssumptions& assumed) {
  static const std::uint32_t kPace = hash_name("mean absence");
  static const std::uint32_t kLong = hash_name("long absence");
  static const std::uint32_t kLongLength = hash_name("length of a long absence");
  static const std::uint32_t kArrive = hash_name("arrive");
  static const std::uint32_t kLeave = hash_name("leave");
  static const std::uint32_t kLunch = hash_name("lunch");
  static const std::uint32_t kLunchLength = hash_name("length of lunch");

  const double present = std::min(occupancy.present_fraction * intensity, kMostPresent);
  if (present <= 0.0) return {};
  Desk desk;
  desk.absence_s =
      lognormal_of_mean(occupancy.absence_min * 60.0, assumed.absence_spread, draws.uniform(0, kPace, 0));
  desk.stay_s = desk.absence_s * present / (1.0 - present);

  std::vector<Interval> at_desk;
  std::vector<Interval> at_lunch;
  int days_away = 0;
  std::uint32_t stint = 0;
  std::uint32_t last_day = ~0U;
  for (const Interval& hours : open.intervals()) {
    const std::uint32_t day = civil_day(hours.begin, clock);
    stint = day == last_day ? stint + 1 : 0;
    if (day != last_day) {
      if (days_away > 0) {
        --days_away;
      } else if (draws.uniform(day, kLong, 0) < assumed.long_absence_chance) {
        const double goes_on = 1.0 - 1.0 / std::max(assumed.long_absence_days, 1.0);
        const double u = draws.uniform(day, kLongLength, 0);
        days_away = 1 + (goes_on > 0.0 ? static_cast<int>(std::log(u) / std::log(goes_on)) : 0);
      }
    }
    last_day = day;
    if (days_away > 0) continue;

    const auto begin = static_cast<double>(hours.begin);
    const auto end = static_cast<double>(hours.end);
    const bool round_the_clock = hours.end - hours.begin > kDay;
    double arrive = begin;
    double leave = end;
    if (!round_the_clock) {
      arrive += assumed.arrival_sd_s * draws.normal(day, kArrive, stint);
      leave += assumed.departure_sd_s * draws.normal(day, kLeave, stint);
    }
    arrive = std::max(arrive, 0.0);
    leave = std::min(leave, static_cast<double>(kYear));
    if (arrive >= leave) continue;
    if (desk.absence_s <= 0.0) {
      at_desk.push_back(whole_seconds(arrive, leave - arrive));
    } else {
      add_stays(draws, desk, assumed, day, stint, arrive, leave, at_desk);
    }
    if (!round_the_clock && assumed.lunch_mean_s > 0.0 && end - begin >= assumed.lunch_from_open_s) {
      const double start =
          begin + assumed.lunch_at * (end - begin) + assumed.lunch_sd_s * draws.normal(day, kLunch, stint);
      const double length =
          assumed.lunch_mean_s + assumed.lunch_length_sd_s * draws.normal(day, kLunchLength, stint);
      if (length > 0.0) at_lunch.push_back(whole_seconds(start, length));
    }
  }
  return subtracted(IntervalSet(std::move(at_desk)), IntervalSet(std::move(at_lunch)));
}

// --- bookings
// ----------------------------------------------------------------------------------------------------

constexpr Seconds kHalfHour = 1800;
// Lengths of 30, 60, 90 and 120 minutes; no-shows; meetings that end ten minutes early or more. Assumptions.
constexpr std::array<double, 4> kLengthShare = {0.35, 0.45, 0.12, 0.08};
constexpr double kMeanLength_s = 1800.0 * (0.35 * 1 + 0.45 * 2 + 0.12 * 3 + 0.08 * 4);
constexpr double kNoShow = 0.15;
constexpr double kEndsEarly = 0.20;
constexpr double kEarlyAtLeast_s = 600.0;

/// The lengths that bookings come in, by `kLengthShare`, and the half hours that each keeps the room.
struct BookingLengths {
  std::array<Seconds, 4> length_s{};
  std::array<std::size_t, 4> slots{};

  /// The table as it stands, or all of it stretched to the mean `mean_s` above 0.
  explicit BookingLengths(double mean_s) {
    const double stretch = mean_s > 0.0 ? mean_s / kMeanLength_s : 1.0;
    for (std::size_t d = 0; d < 4; ++d) {
      const double length = stretch * static_cast<double>(kHalfHour) * static_cast<double>(d + 1);
      length_s[d] = std::max<Seconds>(std::lround(length), 1);
      slots[d] = static_cast<std::size_t>((length_s[d] + kHalfHour - 1) / kHalfHour);
    }
  }
};

/// Expected number of bookings in `slots` half hours when each free one is taken with probability `chance`.
double expected_bookings(const BookingLengths& lengths, std::size_t slots, double chance) {
  std::vector<double> longer(lengths.slots.back(), 1.0);  // longer[d]: P(kept for more than d + 1 slots)
  double left = 1.0;
  for (std::size_t d = 0, next = 0; d < longer.size(); ++d) {
    for (; next < 4 && lengths.slots[next] == d + 1; ++next) left -= kLengthShare[next];
    longer[d] = left;
  }
  std::vector<double> starts(slots, 0.0);
  double total = 0.0;
  for (std::size_t i = 0; i < slots; ++i) {
    double busy = 0.0;
    for (std::size_t d = 1; d <= std::min(i, longer.size() - 1); ++d) busy += starts[i - d] * longer[d - 1];
    starts[i] = chance * (1.0 - busy);
    total += starts[i];
  }
  return total;
}

/// First half hour of the clock at or after `t`.
Seconds next_half_hour(Seconds t, const CivilTime& clock) {
  const Seconds past = (clock.civil(t) % kHalfHour + kHalfHour) % kHalfHour;
  return past == 0 ? t : t + kHalfHour - past;
}

std::size_t half_hours(const Interval& hours, const CivilTime& clock) {
  const Seconds first = next_half_hour(hours.begin, clock);
  return first < hours.end ? static_cast<std::size_t>((hours.end - first + kHalfHour - 1) / kHalfHour) : 0;
}

IntervalSet meetings(const Draws& draws, const IntervalSet& open, const CivilTime& clock, double per_day,
                     double mean_length_s) {
  static const std::uint32_t kBooked = hash_name("booked");
  static const std::uint32_t kAttended = hash_name("attended");
  static const std::uint32_t kEnds = hash_name("ends early");
  const BookingLengths lengths(mean_length_s);
  std::map<std::size_t, int> days_of_length;
  std::set<Seconds> days;
  for (const Interval& hours : open.intervals()) {
    ++days_of_length[half_hours(hours, clock)];
    for (Seconds day = clock.civil(hours.begin) / kDay; day * kDay < clock.civil(hours.end); ++day)
      days.insert(day);
  }
  const double wanted = per_day * static_cast<double>(days.size());
  // The chance that fills the room as often as wanted, or 1 where it cannot be filled so often.
  double low = 0.0;
  double high = 1.0;
  for (int i = 0; i < 50; ++i) {
    const double chance = 0.5 * (low + high);
    double total = 0.0;
    for (const auto& [slots, count] : days_of_length)
      total += count * expected_bookings(lengths, slots, chance);
    (total < wanted ? low : high) = chance;
  }
  const double chance = wanted > 0.0 ? high : 0.0;

  std::vector<Interval> found;
  for (const Interval& hours : open.intervals()) {
    for (Seconds t = next_half_hour(hours.begin, clock); t < hours.end;) {
      const std::uint32_t day = civil_day(t, clock);
      const auto slot = static_cast<std::uint32_t>(clock.civil(t) % kDay / kHalfHour);
      const auto [taken, length] = draws.pair(day, kBooked, slot);
      if (taken >= chance) {
        t += kHalfHour;
        continue;
      }
      std::size_t d = 0;
      for (double share = kLengthShare[0]; d < 3 && length >= share; share += kLengthShare[d]) ++d;
      const Seconds booked = lengths.length_s[d];
      Interval meeting{t, std::min(t + booked, hours.end)};
      t += static_cast<Seconds>(lengths.slots[d]) * kHalfHour;
      if (draws.uniform(day, kAttended, slot) < kNoShow) continue;
      const auto [early, how_early] = draws.pair(day, kEnds, slot);
      if (early < kEndsEarly) {
        const double half = 0.5 * static_cast<double>(booked);
        const double least = std::min(kEarlyAtLeast_s, half);
        meeting.end -= static_cast<Seconds>(least + how_early * (half - least));
      }
      found.push_back(meeting);
    }
  }
  return IntervalSet(std::move(found));
}

}  // namespace

Presence simulate_presence(const domain::Occupancy& occupancy, const IntervalSet& open,
                           const CivilTime& clock, std::uint32_t seed, std::uint32_t replicate,
                           std::string_view space_id, double intensity, const PresenceAssumptions& assumed) {
  using Pattern = domain::Occupancy::Pattern;
  const Draws room{{seed, hash_name(space_id)}, replicate};
  const double stay_s = occupancy.dwell_min * 60.0;
  // Little's law where the document gives the number present instead of the arrivals.
  const double arrivals_per_h = occupancy.arrivals_per_h > 0.0 || stay_s <= 0.0
                                    ? occupancy.arrivals_per_h
                                    : 3600.0 * occupancy.people / stay_s;
  Presence presence;
  switch (occupancy.pattern) {
    case Pattern::desks: {
      const auto seats = std::max(0L, std::lround(occupancy.people));
      for (long k = 0; k < seats; ++k) {
        const Draws person{{seed, hash_name(fmt::format("{}#{}", space_id, k))}, replicate};
        presence.people.push_back(one_desk(person, occupancy, open, clock, intensity, assumed));
      }
      break;
    }
    case Pattern::shared:
      presence.people.push_back(
          visits(room, open, arrivals_per_h * intensity, Stay::lognormal, stay_s, assumed));
      break;
    case Pattern::circulation:
      presence.people.push_back(visits(room, open, occupancy.arrivals_per_h * intensity,
                                       assumed.exponential_passages ? Stay::exponential : Stay::fixed, stay_s,
                                       assumed));
      break;
    case Pattern::bookings:
      presence.people.push_back(meetings(room, open, clock, occupancy.bookings_per_day * intensity, stay_s));
      break;
    case Pattern::none:
      presence.people.push_back(
          visits(room, open, occupancy.arrivals_per_h * intensity, Stay::lognormal, stay_s, assumed));
      break;
  }
  presence.any = united(presence.people);
  return presence;
}

}  // namespace halflight::people
