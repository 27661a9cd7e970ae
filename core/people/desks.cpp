#include "base/units.hpp"
#include "people/markov_chain.hpp"
#include "people/patterns.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace halflight::people {

namespace {

constexpr double kMostPresent = 0.98;
// Stays, and steps of the chain, are asked for by stint of the day and number within it.
constexpr std::uint32_t kNumbersPerStint = 1U << 24;

double own_absence_s(const Room& room, const Draws& person) {
  static const std::uint32_t kPace = hash_name("mean absence");
  return lognormal_of_mean(room.occupancy.absence_min * 60.0, room.assumed.absence_spread,
                           person.uniform(0, kPace, 0));
}

/// The working time of one open interval, and its breaks.
struct WorkingDay {
  std::size_t number = 0;   // of the open intervals
  std::uint32_t day = 0;    // civil
  std::uint32_t stint = 0;  // open intervals that began earlier on it
  double open = 0.0;
  double close = 0.0;
  bool round_the_clock = false;
  bool has_breaks = false;
};

/// The open hours, one by one.
template <class Each>
void for_each_working_day(const Room& room, Each each) {
  std::size_t number = 0;
  std::uint32_t stint = 0;
  std::uint32_t last_day = ~0U;
  for (const Interval& hours : room.open.intervals()) {
    WorkingDay work;
    work.number = number++;
    work.day = civil_day(hours.begin, room.clock);
    stint = work.day == last_day ? stint + 1 : 0;
    last_day = work.day;
    work.stint = stint;
    work.open = static_cast<double>(hours.begin);
    work.close = static_cast<double>(hours.end);
    work.round_the_clock = hours.end - hours.begin > kDay;
    work.has_breaks = !work.round_the_clock && work.close - work.open >= room.assumed.breaks_from_open_s;
    each(work);
  }
}

/// Open intervals on which the person is not away for long.
template <class Each>
void for_each_day_at_work(const Room& room, const Draws& person, Each each) {
  LongAbsences absences(person, room.assumed);
  std::uint32_t last_day = ~0U;
  bool away = false;
  for_each_working_day(room, [&](const WorkingDay& work) {
    if (work.day != last_day) away = absences.on(work.day);
    last_day = work.day;
    if (!away) each(work);
  });
}

/// From arrival to departure: about the open hours, where they end.
std::pair<double, double> at_work(const Draws& person, const WorkingDay& work,
                                  const PresenceAssumptions& assumed) {
  static const std::uint32_t kArrive = hash_name("arrive");
  static const std::uint32_t kLeave = hash_name("leave");
  double arrive = work.open;
  double leave = work.close;
  if (!work.round_the_clock) {
    arrive += assumed.arrival_sd_s * person.normal(work.day, kArrive, work.stint);
    leave += assumed.departure_sd_s * person.normal(work.day, kLeave, work.stint);
  }
  return {std::max(arrive, 0.0), std::min(leave, static_cast<double>(kYear))};
}

void add_lunch(const Draws& subject, const WorkingDay& work, const PresenceAssumptions& assumed,
               std::vector<Interval>& found) {
  static const std::uint32_t kLunch = hash_name("lunch");
  static const std::uint32_t kLunchLength = hash_name("length of lunch");
  if (assumed.lunch_mean_s <= 0.0) return;
  const double start = work.open + assumed.lunch_at * (work.close - work.open) +
                       assumed.lunch_sd_s * subject.normal(work.day, kLunch, work.stint);
  const double length =
      assumed.lunch_mean_s + assumed.lunch_length_sd_s * subject.normal(work.day, kLunchLength, work.stint);
  if (length > 0.0) found.push_back(whole_seconds(start, length));
}

/// A private office: renewal form.
IntervalSet one_desk(const Room& room, const Draws& person) {
  const double present = present_share(room);
  if (present <= 0.0) return {};
  const Renewal renewal = renewal_of(room, person, present);
  std::vector<Interval> at_desk;
  std::vector<Interval> away;
  for_each_day_at_work(room, person, [&](const WorkingDay& work) {
    const auto [arrive, leave] = at_work(person, work, room.assumed);
    if (arrive >= leave) return;
    if (renewal.absence_s <= 0.0)
      at_desk.push_back(whole_seconds(arrive, leave - arrive));
    else
      add_stays(person, renewal, room.assumed, work.day, work.stint, arrive, leave, at_desk);
    if (work.has_breaks) add_lunch(person, work, room.assumed, away);
  });
  return subtracted(IntervalSet(std::move(at_desk)), IntervalSet(std::move(away)));
}

// --- several desks

/// What the people of a room may do together, by open interval.
struct CommonBreaks {
  Interval lunch;
  Interval meeting;
};

std::vector<CommonBreaks> common_breaks(const Room& room) {
  static const std::uint32_t kMeets = hash_name("room meets");
  const Draws draws = room.draws();
  const PresenceAssumptions& assumed = room.assumed;
  std::vector<CommonBreaks> all;
  for_each_working_day(room, [&](const WorkingDay& work) {
    CommonBreaks& common = all.emplace_back();
    if (!work.has_breaks) return;
    std::vector<Interval> lunch;
    add_lunch(draws, work, assumed, lunch);
    if (!lunch.empty()) common.lunch = lunch.front();
    const auto [meets, when] = draws.pair(work.day, kMeets, work.stint);
    if (meets < assumed.meeting_chance)
      common.meeting =
          whole_seconds(work.open + when * (work.close - work.open - assumed.meeting_s), assumed.meeting_s);
  });
  return all;
}

DayProfile profile_of(const Draws& person, const PresenceAssumptions& assumed) {
  static const std::uint32_t kProfile = hash_name("day profile");
  double u = person.uniform(0, kProfile, 0);
  std::size_t k = 0;
  while (k + 1 < assumed.profile_shares.size() && u >= assumed.profile_shares[k])
    u -= assumed.profile_shares[k++];
  return static_cast<DayProfile>(k);
}

/// The chain of one person at one of several desks.
class DeskChain {
 public:
  DeskChain(const Room& room, const Draws& person)
      : person_(person),
        assumed_(room.assumed),
        profile_(profile_of(person, room.assumed)),
        present_(present_share(room)) {
    static const std::uint32_t kPhase = hash_name("phase of the day profile");
    const double absence_s = own_absence_s(room, person);
    // Of the document's share, so that another intensity keeps the steps. At half of the longest step
    // within which the chain can be as mobile as asked, discreteness no longer shows.
    step_s_ = std::clamp(0.5 * absence_s * room.occupancy.present_fraction, 1.0, assumed_.longest_step_s);
    phase_ = 2.0 * kPi * person.uniform(0, kPhase, 0);
    if (profile_ == DayProfile::variable)
      swing_ = std::min(assumed_.variable_swing, kMostPresent / present_ - 1.0);
    // Under a swing a there are fewer absences than presence p (1 - p) would make, p (1 - p) - p^2 a^2 / 2 on
    // average: each is made shorter so that their mean stays what it is.
    const double fewer = present_ * swing_ * swing_ / (2.0 * (1.0 - present_));
    mobility_ = mobility_of(present_, absence_s / step_s_ * (1.0 - fewer));
    steady_ = chain_step(present_, present_, mobility_);
  }
  [[nodiscard]] DayProfile profile() const { return profile_; }

  /// Adds the stays between `arrive` and `leave`.
  void run(const WorkingDay& work, double arrive, double leave, std::vector<Interval>& found) {
    static const std::uint32_t kStep = hash_name("step of the chain");
    static const std::uint32_t kPlace = hash_name("place within the step");
    std::uint32_t slot = work.stint * kNumbersPerStint;
    std::array<std::uint32_t, 4> words{};  // of one call serve four steps
    const auto draw = [&] {
      if (slot % 4 == 0) words = random_words(person_.key, {person_.replicate, work.day, kStep, slot / 4});
      return (static_cast<double>(words[slot++ % 4]) + 0.5) * 0x1p-32;
    };
    Wave wave(phase_, 2.0 * kPi * step_s_ / (leave - arrive));
    double now = present_ * (1.0 + swing_ * wave.sine());
    bool is_present = draw() < now;
    double since = arrive;
    ChainStep step = steady_;
    for (double t = arrive; t < leave; t += step_s_) {
      if (swing_ > 0.0) {
        wave.advance();
        const double next = present_ * (1.0 + swing_ * wave.sine());
        step = chain_step(now, next, mobility_);
        now = next;
      }
      if ((draw() < (is_present ? step.stays : step.appears)) == is_present) continue;
      const double at = t + step_s_ * person_.uniform(work.day, kPlace, slot);
      if (at >= leave) break;
      if (is_present) found.push_back(whole_seconds(since, at - since));
      is_present = !is_present;
      since = at;
    }
    if (is_present) found.push_back(whole_seconds(since, leave - since));
  }

 private:
  /// A sine in equal steps of its angle, by rotation.
  class Wave {
   public:
    Wave(double phase, double step)
        : sine_(std::sin(phase)),
          cosine_(std::cos(phase)),
          step_sine_(std::sin(step)),
          step_cosine_(std::cos(step)) {}
    [[nodiscard]] double sine() const { return sine_; }
    void advance() {
      const double sine = sine_ * step_cosine_ + cosine_ * step_sine_;
      cosine_ = cosine_ * step_cosine_ - sine_ * step_sine_;
      sine_ = sine;
    }

   private:
    double sine_;
    double cosine_;
    double step_sine_;
    double step_cosine_;
  };

  Draws person_;
  const PresenceAssumptions& assumed_;
  DayProfile profile_;
  double present_;
  double step_s_ = 0.0;
  double mobility_ = 1.0;
  double phase_ = 0.0;
  double swing_ = 0.0;
  ChainStep steady_;
};

IntervalSet one_of_several_desks(const Room& room, const std::vector<CommonBreaks>& common,
                                 const Draws& person) {
  static const std::uint32_t kTogether = hash_name("lunch together");
  static const std::uint32_t kJoins = hash_name("goes to the meeting");
  static const std::uint32_t kAfternoon = hash_name("break in the afternoon");
  static const std::uint32_t kAfternoonLength = hash_name("length of the break");
  if (present_share(room) <= 0.0) return {};
  const PresenceAssumptions& assumed = room.assumed;
  DeskChain chain(room, person);
  const DayProfile profile = chain.profile();
  const bool has_lunch = profile == DayProfile::one_valley || profile == DayProfile::two_valley ||
                         profile == DayProfile::variable;
  std::vector<Interval> at_desk;
  std::vector<Interval> away;
  for_each_day_at_work(room, person, [&](const WorkingDay& work) {
    const CommonBreaks& together = common[work.number];
    double arrive = work.open;
    double leave = work.close;
    if (profile != DayProfile::flat) std::tie(arrive, leave) = at_work(person, work, assumed);
    if (arrive >= leave) return;
    chain.run(work, arrive, leave, at_desk);
    if (!work.has_breaks) return;
    if (has_lunch) {
      if (person.uniform(work.day, kTogether, work.stint) < assumed.lunch_together)
        away.push_back(together.lunch);
      else
        add_lunch(person, work, assumed, away);
    }
    if (profile == DayProfile::two_valley) {
      const double start = work.open + assumed.afternoon_at * (work.close - work.open) +
                           assumed.afternoon_sd_s * person.normal(work.day, kAfternoon, work.stint);
      const double length =
          -assumed.afternoon_mean_s * std::log(person.uniform(work.day, kAfternoonLength, work.stint));
      away.push_back(whole_seconds(start, length));
    }
    if (together.meeting.end > 0 && person.uniform(work.day, kJoins, work.stint) < assumed.meeting_joins)
      away.push_back(together.meeting);
  });
  return subtracted(IntervalSet(std::move(at_desk)), IntervalSet(std::move(away)));
}

}  // namespace

Draws Room::draws_of(long person) const {
  return {{seed, hash_name(fmt::format("{}#{}", id, person))}, replicate};
}

double present_share(const Room& room) {
  return std::min(room.occupancy.present_fraction * room.intensity, kMostPresent);
}

bool LongAbsences::on(std::uint32_t civil_day) {
  static const std::uint32_t kLong = hash_name("long absence");
  static const std::uint32_t kLongLength = hash_name("length of a long absence");
  if (days_left_ > 0) {
    --days_left_;
  } else if (draws_.uniform(civil_day, kLong, 0) < assumed_.long_absence_chance) {
    const double goes_on = 1.0 - 1.0 / std::max(assumed_.long_absence_days, 1.0);
    const double u = draws_.uniform(civil_day, kLongLength, 0);
    days_left_ = 1 + (goes_on > 0.0 ? static_cast<int>(std::log(u) / std::log(goes_on)) : 0);
  }
  return days_left_ > 0;
}

Renewal renewal_of(const Room& room, const Draws& person, double present) {
  const double absence_s = own_absence_s(room, person);
  return {absence_s, absence_s * present / (1.0 - present)};
}

void add_stays(const Draws& draws, const Renewal& person, const PresenceAssumptions& assumed,
               std::uint32_t day, std::uint32_t stint, double arrive, double leave,
               std::vector<Interval>& found) {
  static const std::uint32_t kStay = hash_name("stay at the desk");
  static const std::uint32_t kAbsence = hash_name("short absence");
  const double short_s = assumed.short_stay_ratio * person.stay_s;
  const double long_s =
      assumed.short_stay_share < 1.0
          ? (person.stay_s - assumed.short_stay_share * short_s) / (1.0 - assumed.short_stay_share)
          : person.stay_s;
  double t = arrive;
  for (std::uint32_t k = 0; t < leave; ++k) {
    const std::uint32_t slot = stint * kNumbersPerStint + k;
    const auto [phase, u] = draws.pair(day, kStay, slot);
    const double stay = -(phase < assumed.short_stay_share ? short_s : long_s) * std::log(u);
    found.push_back(whole_seconds(t, std::min(stay, leave - t)));
    t += stay - person.absence_s * std::log(draws.uniform(day, kAbsence, slot));
  }
}

Presence desks(const Room& room) {
  Presence presence;
  const auto seats = std::max(0L, std::lround(room.occupancy.people));
  if (seats == 1) {
    presence.people.push_back(one_desk(room, room.draws_of(0)));
  } else if (seats > 1) {
    const std::vector<CommonBreaks> common = common_breaks(room);
    for (long k = 0; k < seats; ++k)
      presence.people.push_back(one_of_several_desks(room, common, room.draws_of(k)));
  }
  presence.any = united(presence.people);
  return presence;
}

}  // namespace halflight::people
