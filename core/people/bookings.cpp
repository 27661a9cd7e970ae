#include "people/patterns.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <set>
#include <utility>

namespace halflight::people {

namespace {

constexpr Seconds kHalfHour = 1800;
// Lengths of 30, 60, 90 and 120 minutes. Assumption.
constexpr std::array<double, 4> kLengthShare = {0.35, 0.45, 0.12, 0.08};
constexpr double kMeanLength_s = 1800.0 * (0.35 * 1 + 0.45 * 2 + 0.12 * 3 + 0.08 * 4);

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
  /// Which of the four, by a draw.
  [[nodiscard]] static std::size_t drawn(double u) {
    std::size_t d = 0;
    for (double share = kLengthShare[0]; d < 3 && u >= share; share += kLengthShare[d]) ++d;
    return d;
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

/// The chance that a free half hour is taken: it fills the room `per_day` times on the mean day, or is 1
/// where the room cannot be filled so often.
double chance_of_booking(const Room& room, const BookingLengths& lengths, double per_day) {
  std::map<std::size_t, int> days_of_length;
  std::set<Seconds> days;
  for (const Interval& hours : room.open.intervals()) {
    ++days_of_length[half_hours(hours, room.clock)];
    for (Seconds day = room.clock.civil(hours.begin) / kDay; day * kDay < room.clock.civil(hours.end); ++day)
      days.insert(day);
  }
  const double wanted = per_day * static_cast<double>(days.size());
  if (wanted <= 0.0) return 0.0;
  double low = 0.0;
  double high = 1.0;
  for (int i = 0; i < 50; ++i) {
    const double chance = 0.5 * (low + high);
    double total = 0.0;
    for (const auto& [slots, count] : days_of_length)
      total += count * expected_bookings(lengths, slots, chance);
    (total < wanted ? low : high) = chance;
  }
  return high;
}

/// A booking and what became of it.
struct Meeting {
  Interval there;  // empty: nobody came
  std::uint32_t day = 0;
  std::uint32_t slot = 0;
  int part = Presence::kWholeRoom;
};

bool share_floor(int a, int b) { return a == Presence::kWholeRoom || b == Presence::kWholeRoom || a == b; }

// The other part's bookings are asked for as half hours of a second day.
constexpr std::uint32_t kOtherPart = kDay / kHalfHour;

class BookedRoom {
 public:
  explicit BookedRoom(const Room& room)
      : room_(room), draws_(room.draws()), lengths_(room.occupancy.dwell_min * 60.0) {
    const double divided = room.occupancy.divided_fraction;
    // While the wall stands two bookings can share the time of one.
    chance_ = chance_of_booking(
        room, lengths_,
        room.occupancy.bookings_per_day * room.intensity / (1.0 + divided * room.assumed.other_part_booked));
  }

  std::vector<Meeting> meetings() {
    static const std::uint32_t kBooked = hash_name("booked");
    static const std::uint32_t kDivided = hash_name("divided");
    static const std::uint32_t kOther = hash_name("other part booked");
    for (const Interval& hours : room_.open.intervals()) {
      for (Seconds t = next_half_hour(hours.begin, room_.clock); t < hours.end;) {
        const std::uint32_t day = civil_day(t, room_.clock);
        const auto slot = static_cast<std::uint32_t>(room_.clock.civil(t) % kDay / kHalfHour);
        const auto [taken, length] = draws_.pair(day, kBooked, slot);
        if (taken >= chance_) {
          t += kHalfHour;
          continue;
        }
        const std::size_t d = BookingLengths::drawn(length);
        const auto kept = static_cast<Seconds>(lengths_.slots[d]) * kHalfHour;
        const auto [divided, which] = draws_.pair(day, kDivided, slot);
        const bool stands = divided < room_.occupancy.divided_fraction;
        const int part = stands ? static_cast<int>(2.0 * which) : Presence::kWholeRoom;
        add({{t, t + lengths_.length_s[d]}, day, slot, part}, hours.end);
        if (stands) {
          const auto [other, other_length] = draws_.pair(day, kOther, slot);
          if (other < room_.assumed.other_part_booked) {
            const Seconds until = t + std::min(kept, lengths_.length_s[BookingLengths::drawn(other_length)]);
            add({{t, until}, day, slot + kOtherPart, 1 - part}, hours.end);
          }
        }
        t += kept;
      }
    }
    return std::move(all_);
  }

 private:
  /// What becomes of the booking `meeting` whose room closes at `close`.
  void add(Meeting meeting, Seconds close) {
    static const std::uint32_t kAttended = hash_name("attended");
    static const std::uint32_t kEnds = hash_name("ends early");
    const PresenceAssumptions& assumed = room_.assumed;
    const Seconds begin = meeting.there.begin;
    // Whoever is still there makes room.
    for (std::size_t k = all_.size() > 2 ? all_.size() - 2 : 0; k < all_.size(); ++k)
      if (all_[k].there.begin < begin && share_floor(all_[k].part, meeting.part))
        all_[k].there.end = std::min(all_[k].there.end, begin);
    const auto booked = static_cast<double>(meeting.there.end - begin);
    meeting.there.end = std::min(meeting.there.end, close);
    if (draws_.uniform(meeting.day, kAttended, meeting.slot) < room_.occupancy.no_show_fraction) return;
    const auto [ends, by_how_much] = draws_.pair(meeting.day, kEnds, meeting.slot);
    if (ends >= 1.0 - room_.occupancy.overrun_fraction) {
      const double over =
          assumed.overrun_least_s + by_how_much * (assumed.overrun_most_s - assumed.overrun_least_s);
      meeting.there.end = std::min(meeting.there.end + static_cast<Seconds>(over), close);
    } else if (ends < assumed.ends_early) {
      const double most = assumed.early_at_most * booked;
      const double least = std::min(assumed.early_at_least_s, most);
      meeting.there.end -= static_cast<Seconds>(least + by_how_much * (most - least));
    }
    all_.push_back(meeting);
  }

  const Room& room_;
  Draws draws_;
  BookingLengths lengths_;
  double chance_ = 0.0;
  std::vector<Meeting> all_;
};

// Of one meeting or lesson; arrivals of its participants are asked for by slot and number.
constexpr int kMostAtOnce = 16384;
constexpr std::uint32_t kNumbersPerMeeting = 2 * kMostAtOnce;

}  // namespace

void Participants::add(std::size_t number, Interval there) {
  if (number >= sets_.size()) sets_.resize(number + 1);
  sets_[number].push_back(there);
}

std::vector<IntervalSet> Participants::taken() {
  std::vector<IntervalSet> all;
  all.reserve(sets_.size());
  for (std::vector<Interval>& set : sets_) all.emplace_back(std::move(set));
  sets_.clear();
  return all;
}

int attendance(double mean, double u) {
  return 1 + std::clamp(Poisson(std::max(mean - 1.0, 0.0)).at(u), 0, kMostAtOnce - 1);
}

Presence bookings(const Room& room) {
  static const std::uint32_t kNumber = hash_name("number at a meeting");
  static const std::uint32_t kComes = hash_name("comes late, leaves early");
  const PresenceAssumptions& assumed = room.assumed;
  const Draws draws = room.draws();
  RandomSeries comes = draws.series(kComes);
  std::array<Participants, 3> by_part;  // the whole room, then its parts
  std::vector<Interval> any;
  for (const Meeting& meeting : BookedRoom(room).meetings()) {
    const auto length = static_cast<double>(meeting.there.end - meeting.there.begin);
    if (length <= 0.0) continue;
    any.push_back(meeting.there);
    Participants& participants = by_part[static_cast<std::size_t>(meeting.part - Presence::kWholeRoom)];
    participants.add(0, meeting.there);
    const int number = attendance(room.occupancy.people, draws.uniform(meeting.day, kNumber, meeting.slot));
    const double late_s = std::min(assumed.late_s, 0.5 * length);
    const double early_s = std::min(assumed.leaves_early_s, 0.25 * length);
    for (int k = 1; k < number; ++k) {
      const std::uint32_t at = meeting.slot * kNumbersPerMeeting + 2 * static_cast<std::uint32_t>(k);
      const auto late = static_cast<Seconds>(late_s * comes.at(meeting.day, at));
      const auto early = static_cast<Seconds>(early_s * comes.at(meeting.day, at + 1));
      participants.add(static_cast<std::size_t>(k), {meeting.there.begin + late, meeting.there.end - early});
    }
  }
  Presence presence;
  presence.any = IntervalSet(std::move(any));
  for (std::size_t p = 0; p < by_part.size(); ++p) {
    for (IntervalSet& person : by_part[p].taken()) {
      presence.people.push_back(std::move(person));
      presence.part.push_back(static_cast<int>(p) + Presence::kWholeRoom);
    }
  }
  if (room.occupancy.divided_fraction <= 0.0) presence.part.clear();
  return presence;
}

// --- timetable

namespace {

constexpr std::uint32_t kMinutesPerDay = kDay / kMinute;

/// A block of the timetable.
struct Lesson {
  Interval booked;
  Interval open;            // hours that it lies in
  std::uint32_t day = 0;    // civil
  std::uint32_t plan = 0;   // civil day on which the plan of these weeks was drawn
  std::uint32_t block = 0;  // within the week: weekday and minute of its beginning
};

/// All blocks that fit into the open hours.
std::vector<Lesson> blocks(const Room& room) {
  const domain::Occupancy& occupancy = room.occupancy;
  const auto length = static_cast<Seconds>(std::lround(occupancy.lesson_min * 60.0));
  const auto period = length + static_cast<Seconds>(std::lround(occupancy.gap_min * 60.0));
  std::vector<Lesson> all;
  if (length <= 0) return all;
  std::uint32_t plan = 0;
  Seconds last_end = -kYear;
  for (const Interval& hours : room.open.intervals()) {
    if (static_cast<double>(hours.begin - last_end) > room.assumed.new_plan_after_s)
      plan = civil_day(hours.begin, room.clock);
    last_end = hours.end;
    const Seconds first_day = room.clock.civil(hours.begin) / kDay;
    for (Seconds day = first_day; day * kDay < room.clock.civil(hours.end); ++day) {
      for (Seconds at = occupancy.first_lesson_s; at + length <= kDay; at += period) {
        const Interval booked{room.clock.standard(day * kDay + at),
                              room.clock.standard(day * kDay + at + length)};
        if (booked.begin < hours.begin || booked.end > hours.end) continue;
        const auto civil = static_cast<std::uint32_t>((day + 365) % 365);
        all.push_back(
            {booked, hours, civil, plan,
             static_cast<std::uint32_t>(room.clock.weekday_of(static_cast<int>(civil))) * kMinutesPerDay +
                 static_cast<std::uint32_t>(at / kMinute)});
      }
    }
  }
  return all;
}

}  // namespace

Presence timetable(const Room& room) {
  static const std::uint32_t kPlanned = hash_name("lesson planned");
  static const std::uint32_t kHeld = hash_name("lesson held");
  static const std::uint32_t kBefore = hash_name("teacher comes early");
  static const std::uint32_t kComes = hash_name("comes and leaves");
  const PresenceAssumptions& assumed = room.assumed;
  const Draws draws = room.draws();
  RandomSeries comes = draws.series(kComes);

  const std::vector<Lesson> lessons = blocks(room);
  std::set<std::uint32_t> days;
  for (const Lesson& lesson : lessons) days.insert(lesson.day);
  const double wanted = room.occupancy.bookings_per_day * room.intensity * static_cast<double>(days.size());
  const double chance = lessons.empty() ? 0.0 : std::min(wanted / static_cast<double>(lessons.size()), 1.0);

  std::vector<Interval> used;
  Participants participants;
  for (const Lesson& lesson : lessons) {
    // The same week after week.
    const auto [planned, size] = draws.pair(lesson.plan, kPlanned, lesson.block);
    if (planned >= chance) continue;
    const std::uint32_t slot = lesson.block % kMinutesPerDay;
    if (draws.uniform(lesson.day, kHeld, slot) < room.occupancy.no_show_fraction) continue;
    const auto clipped = [&](Seconds begin, Seconds end) {
      return Interval{std::max(begin, lesson.open.begin), std::min(end, lesson.open.end)};
    };
    const auto [before, after] = draws.pair(lesson.day, kBefore, slot);
    Interval there =
        clipped(lesson.booked.begin + static_cast<Seconds>(assumed.teacher_before_s * std::log(before)),
                lesson.booked.end - static_cast<Seconds>(assumed.teacher_after_s * std::log(after)));
    participants.add(0, there);
    const int number = attendance(room.occupancy.people, size);
    for (int k = 1; k < number; ++k) {
      const std::uint32_t at = slot * kNumbersPerMeeting + 2 * static_cast<std::uint32_t>(k);
      const double comes_s = (assumed.pupils_before_s + assumed.pupils_late_s) * comes.at(lesson.day, at);
      const double stays_s = assumed.pupils_late_s * comes.at(lesson.day, at + 1);
      const Interval pupil =
          clipped(lesson.booked.begin + static_cast<Seconds>(comes_s - assumed.pupils_before_s),
                  lesson.booked.end + static_cast<Seconds>(stays_s));
      participants.add(static_cast<std::size_t>(k), pupil);
      there = {std::min(there.begin, pupil.begin), std::max(there.end, pupil.end)};
    }
    used.push_back(there);
  }
  Visits visitors =
      visits(room, room.occupancy.arrivals_per_h * room.intensity, Visits::Stay::lognormal, true);
  Presence presence;
  presence.any = united(IntervalSet(std::move(used)), visitors.any);
  presence.people = participants.taken();
  std::move(visitors.visitors.begin(), visitors.visitors.end(), std::back_inserter(presence.people));
  return presence;
}

}  // namespace halflight::people
