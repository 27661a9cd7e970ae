#include "people/calendar.hpp"
#include "people/habits.hpp"
#include "people/presence.hpp"
#include "published.hpp"

#include <array>
#include <cmath>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::people {
namespace {

using Pattern = domain::Occupancy::Pattern;

constexpr int kThursday = 3;  // 1 January 2026
const CivilTime kNoSaving(std::nullopt, kThursday);
const IntervalSet kWholeYear({{0, kYear}});

/// Last Sunday of March 01:00 to last Sunday of October 01:00 standard time.
CivilTime with_saving() { return {DaylightSaving{{3, -1, 6, kHour}, {10, -1, 6, kHour}, kHour}, kThursday}; }

Seconds at(MonthDay date, Seconds second_of_day) { return day_of_year(date) * kDay + second_of_day; }

domain::Calendar weekdays_nine_to_five() {
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4}, 9 * kHour, 17 * kHour}};
  return calendar;
}

/// Mean of a measured share over replicates, and four standard errors of it: what a right model stays within
/// in all but one of 16,000 tests.
struct Sampled {
  double mean = 0.0;
  double four_sigma = 0.0;
};
template <class Share>
Sampled over_replicates(std::uint32_t count, Share share) {
  double sum = 0.0;
  double squares = 0.0;
  for (std::uint32_t r = 0; r < count; ++r) {
    const double x = share(r);
    sum += x;
    squares += x * x;
  }
  const double mean = sum / count;
  return {mean, 4.0 * std::sqrt(std::max(squares / count - mean * mean, 0.0) / (count - 1))};
}

double lit_share(const IntervalSet& motion, Seconds delay) {
  return static_cast<double>(motion.extended(delay, kYear).measure()) / static_cast<double>(kYear);
}

// --- calendar
// --------------------------------------------------------------------------------------------------

TEST(Calendar, OpensByTheClockAndClosesOnHolidays) {
  domain::Calendar calendar = weekdays_nine_to_five();
  calendar.holidays = {{{12, 24}, {1, 2}}};  // spans the new year
  const IntervalSet open = open_time(calendar, with_saving());
  EXPECT_FALSE(open.contains(at({1, 1}, 12 * kHour)));  // Thursday, holiday
  EXPECT_FALSE(open.contains(at({1, 3}, 12 * kHour)));  // Saturday
  EXPECT_TRUE(open.contains(at({1, 5}, 9 * kHour)));    // Monday, to the second
  EXPECT_FALSE(open.contains(at({1, 5}, 9 * kHour - 1)));
  EXPECT_FALSE(open.contains(at({1, 5}, 17 * kHour)));
  EXPECT_TRUE(open.contains(at({3, 30}, 8 * kHour)));  // first Monday of saving: nine by the clock
  EXPECT_FALSE(open.contains(at({3, 30}, 16 * kHour)));
  EXPECT_FALSE(open.contains(at({12, 24}, 12 * kHour)));
  // 2026 has 261 weekdays; 1 and 2 January and 24, 25, 28 to 31 December fall out.
  EXPECT_EQ(open.measure(), (261 - 8) * 8 * kHour);
}

TEST(Calendar, ADayOfClockChangeIsAnHourShorterOrLonger) {
  domain::Calendar calendar;
  calendar.hours = {{{6}, 0, kDay}};  // Sundays, round the clock
  const IntervalSet open = open_time(calendar, with_saving());
  const auto length_from = [&](MonthDay date, Seconds shift) {
    const Seconds begin = at(date, 0) - shift;
    EXPECT_TRUE(open.contains(begin));
    EXPECT_FALSE(open.contains(begin - 1));
    for (const Interval& i : open.intervals())
      if (i.begin == begin) return i.end - i.begin;
    return Seconds{0};
  };
  EXPECT_EQ(length_from({3, 29}, 0), 23 * kHour);
  EXPECT_EQ(length_from({10, 25}, kHour), 25 * kHour);
}

TEST(Calendar, HoursPastMidnightRunIntoTheNextDay) {
  domain::Calendar calendar;
  calendar.hours = {{{4}, 20 * kHour, 2 * kHour}};  // Friday evening
  const IntervalSet open = open_time(calendar, kNoSaving);
  EXPECT_TRUE(open.contains(at({1, 3}, kHour)));  // Saturday
  EXPECT_FALSE(open.contains(at({1, 3}, 2 * kHour)));
}

TEST(Calendar, ACleanerVisitsOnceAndStaysWithinTheWindow) {
  domain::Calendar calendar = weekdays_nine_to_five();
  calendar.cleaning = domain::DayHours{{0, 1, 2, 3, 4}, 18 * kHour, 20 * kHour};
  const IntervalSet cleaning = cleaning_time(calendar, kNoSaving);
  const IntervalSet visits = cleaning_visits(cleaning, 1, 0, "a");
  EXPECT_EQ(visits.size(), 261U);
  EXPECT_EQ(visits.measure(), 261 * 600);
  EXPECT_TRUE(subtracted(visits, cleaning).empty());
  EXPECT_NE(visits, cleaning_visits(cleaning, 1, 0, "b"));
}

// --- visitors
// --------------------------------------------------------------------------------------------------

// A delay tau lengthens every stay, so that a room with Poisson arrivals at rate lambda and mean stay m is
// lit for 1 - exp(-lambda (m + tau)) of the time, whatever the distribution of stays (queue with any number
// of servers).
struct VisitorCase {
  Pattern pattern;
  double arrivals_per_h;
  double dwell_min;
  double delay_min;
  double lit;  // worked from the formula to three digits
};

class Visitors : public testing::TestWithParam<VisitorCase> {};

TEST_P(Visitors, LitShareFollowsTheClosedForm) {
  const VisitorCase& c = GetParam();
  domain::Occupancy occupancy;
  occupancy.pattern = c.pattern;
  occupancy.arrivals_per_h = c.arrivals_per_h;
  occupancy.dwell_min = c.dwell_min;
  const Sampled lit = over_replicates(24, [&](std::uint32_t r) {
    const Presence presence = simulate_presence(occupancy, kWholeYear, kNoSaving, 7, r, "space");
    return lit_share(presence.any, static_cast<Seconds>(c.delay_min * 60.0));
  });
  const double exact = 1.0 - std::exp(-c.arrivals_per_h / 60.0 * (c.dwell_min + c.delay_min));
  EXPECT_NEAR(exact, c.lit, 0.0005);
  const char* const kind = c.pattern == Pattern::circulation ? "corridor"
                           : c.pattern == Pattern::shared    ? "shared room"
                                                             : "room visited rarely";
  EXPECT_PUBLISHED("closed form 1 - exp(-a (m + d)): arrivals a, stays m, delay d",
                   fmt::format("lit share of a {}, a = {} an hour, m = {} min, d = {} min", kind,
                               c.arrivals_per_h, c.dwell_min, c.delay_min),
                   "", exact, lit.mean, lit.four_sigma);
  EXPECT_LT(lit.four_sigma, 0.004);  // sharp enough to see a delay wrong by half a minute
}

INSTANTIATE_TEST_SUITE_P(Spaces, Visitors,
                         testing::Values(VisitorCase{Pattern::circulation, 6.0, 0.5, 10.0, 0.650},
                                         VisitorCase{Pattern::circulation, 6.0, 0.3, 5.0, 0.411},
                                         VisitorCase{Pattern::circulation, 30.0, 0.4, 1.0, 0.503},
                                         VisitorCase{Pattern::shared, 6.0, 3.0, 0.0, 0.259},
                                         VisitorCase{Pattern::shared, 6.0, 3.0, 5.0, 0.551},
                                         VisitorCase{Pattern::shared, 6.0, 3.0, 20.0, 0.900},
                                         VisitorCase{Pattern::shared, 2.0, 45.0, 0.0, 0.777},
                                         VisitorCase{Pattern::shared, 2.0, 45.0, 15.0, 0.865},
                                         VisitorCase{Pattern::none, 0.5, 5.0, 10.0, 0.118}));

TEST(Visitors, ExponentialPassagesHaveTheSameLitShare) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::circulation;
  occupancy.arrivals_per_h = 6.0;
  occupancy.dwell_min = 2.0;
  PresenceAssumptions assumed;
  assumed.exponential_passages = true;
  const Sampled lit = over_replicates(16, [&](std::uint32_t r) {
    return lit_share(simulate_presence(occupancy, kWholeYear, kNoSaving, 7, r, "s", 1.0, assumed).any, 300);
  });
  EXPECT_NEAR(lit.mean, 1.0 - std::exp(-0.7), lit.four_sigma);
}

TEST(Visitors, PeopleAndStayGiveArrivalsWhereNoneAreStated) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::shared;
  occupancy.people = 1.5;
  occupancy.dwell_min = 20.0;  // Little's law: empty with probability exp(-1.5)
  const Sampled lit = over_replicates(16, [&](std::uint32_t r) {
    return lit_share(simulate_presence(occupancy, kWholeYear, kNoSaving, 7, r, "s").any, 0);
  });
  EXPECT_PUBLISHED("Little's law and Poisson arrivals",
                   "used share of a room that holds 1.5 people on average", "", 1.0 - std::exp(-1.5),
                   lit.mean, lit.four_sigma);
}

TEST(Visitors, MoreArrivalsKeepTheEventsOfFewer) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::shared;
  occupancy.arrivals_per_h = 4.0;
  occupancy.dwell_min = 6.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const IntervalSet few = simulate_presence(occupancy, open, kNoSaving, 7, 0, "s", 1.0).any;
  const IntervalSet many = simulate_presence(occupancy, open, kNoSaving, 7, 0, "s", 1.3).any;
  EXPECT_TRUE(subtracted(few, many).empty());
  EXPECT_GT(many.measure(), few.measure());
  EXPECT_TRUE(subtracted(many, open).empty());
  EXPECT_TRUE(simulate_presence(occupancy, open, kNoSaving, 7, 0, "s", 0.0).any.empty());
}

TEST(Visitors, APeakKeepsTheNumberAndMovesItToNoon) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::circulation;
  occupancy.arrivals_per_h = 2.0;
  occupancy.dwell_min = 0.1;
  PresenceAssumptions peaked;
  peaked.profile = PresenceAssumptions::Profile::peaked;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  double flat_visits = 0;
  double peak_visits = 0;
  double peak_middle = 0;
  for (std::uint32_t r = 0; r < 16; ++r) {
    flat_visits += static_cast<double>(simulate_presence(occupancy, open, kNoSaving, 7, r, "s").any.size());
    const Presence busy = simulate_presence(occupancy, open, kNoSaving, 7, r, "s", 1.0, peaked);
    peak_visits += static_cast<double>(busy.any.size());
    for (const Interval& i : busy.any.intervals())
      if (i.begin % kDay >= 11 * kHour && i.begin % kDay < 15 * kHour) ++peak_middle;
  }
  const double expected = 16.0 * 261 * 8 * 2.0;  // Poisson: standard deviation is the root
  EXPECT_NEAR(flat_visits, expected,
              4.0 * std::sqrt(expected) + 0.005 * expected);  // 0.5 %: visits that overlap
  EXPECT_NEAR(peak_visits, expected, 4.0 * std::sqrt(expected) + 0.005 * expected);
  // The middle half of a day holds 1/2 + 0.6/pi of the arrivals.
  EXPECT_NEAR(peak_middle / peak_visits, 0.5 + 0.6 / 3.14159265, 4.0 * 0.5 / std::sqrt(expected));
}

// --- desks
// -----------------------------------------------------------------------------------------------------

// N people, each present for a share p with exponential absences of mean v, leave a zone vacant past a delay
// tau for (1 - p)^N exp(-N tau / v) of the time, whatever the distribution of their stays.
struct ZoneCase {
  int people;
  double delay_min;
  double saved;
};
class Zone : public testing::TestWithParam<ZoneCase> {};

TEST_P(Zone, VacantShareFollowsTheClosedForm) {
  const ZoneCase& c = GetParam();
  domain::Occupancy occupancy;
  occupancy.people = c.people;
  occupancy.present_fraction = 0.7;
  occupancy.absence_min = 45.0;
  PresenceAssumptions alike;  // stays keep their two phases
  alike.absence_spread = 1.0;
  alike.long_absence_chance = 0.0;
  const Sampled saved = over_replicates(24, [&](std::uint32_t r) {
    return 1.0 - lit_share(simulate_presence(occupancy, kWholeYear, kNoSaving, 3, r, "zone", 1.0, alike).any,
                           static_cast<Seconds>(c.delay_min * 60.0));
  });
  const double exact = std::pow(0.3, c.people) * std::exp(-c.people * c.delay_min / 45.0);
  EXPECT_NEAR(exact, c.saved, 0.0005);
  EXPECT_PUBLISHED(
      "closed form (1 - p)^N exp(-N d / v): N people, present for a share p, absences v, delay d",
      fmt::format("vacant share of a zone, N = {}, p = 0.7, v = 45 min, d = {} min", c.people, c.delay_min),
      "", exact, saved.mean, saved.four_sigma);
  EXPECT_LT(saved.four_sigma, 0.01);
}
INSTANTIATE_TEST_SUITE_P(Sizes, Zone,
                         testing::Values(ZoneCase{1, 0, 0.300}, ZoneCase{1, 10, 0.240},
                                         ZoneCase{1, 20, 0.192}, ZoneCase{2, 0, 0.090}, ZoneCase{2, 5, 0.072},
                                         ZoneCase{2, 20, 0.037}, ZoneCase{4, 0, 0.008},
                                         ZoneCase{4, 10, 0.003}));

TEST(Desks, AreEmptyAQuarterToAThirdOfTheNominalDay) {
  // Bauman et al., as cited by Wang et al. 2005: 25 to 30 % of the nominally occupied hours. Long absences
  // come on top and are left out here.
  domain::Occupancy occupancy;
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4}, 8 * kHour + 30 * kMinute, 17 * kHour + 15 * kMinute}};
  const IntervalSet open = open_time(calendar, kNoSaving);
  PresenceAssumptions assumed;
  assumed.long_absence_chance = 0.0;
  const Sampled present = over_replicates(40, [&](std::uint32_t r) {
    const Presence p = simulate_presence(occupancy, open, kNoSaving, 5, r, "desk", 1.0, assumed);
    return static_cast<double>(p.any.measure()) / static_cast<double>(open.measure());
  });
  EXPECT_GT(present.mean, 0.68);
  EXPECT_LT(present.mean, 0.75);
}

TEST(Desks, LongAbsencesTakeTheirShareOfWorkingDays) {
  domain::Occupancy occupancy;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  PresenceAssumptions assumed;
  assumed.arrival_sd_s = assumed.departure_sd_s = 0.0;
  const Sampled away = over_replicates(200, [&](std::uint32_t r) {
    const Presence p = simulate_presence(occupancy, open, kNoSaving, 5, r, "desk", 1.0, assumed);
    int days = 0;
    for (const Interval& day : open.intervals()) days += p.any.contains(day.begin) ? 0 : 1;
    return days / 261.0;
  });
  // Alternating renewal: absences of 3 days on average after 1/0.02 - 1 days without one.
  EXPECT_PUBLISHED("alternating renewal: mean length over mean cycle",
                   "share of working days lost to long absences", "", 3.0 / (3.0 + 49.0), away.mean,
                   away.four_sigma + 0.001);  // the year starts with nobody away
}

TEST(Desks, OnePersonsDrawsAreTheirOwn) {
  domain::Occupancy one;
  one.people = 1;
  domain::Occupancy three = one;
  three.people = 3;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const Presence alone = simulate_presence(one, open, kNoSaving, 5, 2, "desk");
  const Presence together = simulate_presence(three, open, kNoSaving, 5, 2, "desk");
  ASSERT_EQ(together.people.size(), 3U);
  EXPECT_EQ(together.people[0], alone.people[0]);
  EXPECT_NE(together.people[0], together.people[1]);
  EXPECT_EQ(together.any, united(together.people[0], united(together.people[1], together.people[2])));
  EXPECT_NE(simulate_presence(one, open, kNoSaving, 5, 3, "desk").any, alone.any);
  EXPECT_EQ(simulate_presence(one, open, kNoSaving, 5, 2, "desk").any, alone.any);
}

TEST(Desks, NobodyIsAtADeskWithoutPresenceOrSeats) {
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  domain::Occupancy occupancy;
  occupancy.present_fraction = 0.0;
  EXPECT_TRUE(simulate_presence(occupancy, open, kNoSaving, 5, 2, "desk").any.empty());
  occupancy.present_fraction = 0.7;
  occupancy.people = 0;
  EXPECT_TRUE(simulate_presence(occupancy, open, kNoSaving, 5, 2, "desk").any.empty());
  EXPECT_TRUE(simulate_presence({}, IntervalSet(), kNoSaving, 5, 2, "desk").any.empty());
}

// --- bookings
// --------------------------------------------------------------------------------------------------

TEST(Bookings, FillTheRoomAsOftenAsAsked) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.bookings_per_day = 6.0;
  const Sampled used = over_replicates(24, [&](std::uint32_t r) {
    return lit_share(simulate_presence(occupancy, kWholeYear, kNoSaving, 9, r, "meeting").any, 0);
  });
  // Mean length 57.9 min; a fifth ends early by 10 min plus half of what is left to half the length, on
  // average; 15 % of bookings stay empty.
  const double mean_min = 0.35 * 30 + 0.45 * 60 + 0.12 * 90 + 0.08 * 120;
  const double early_min = 0.2 * (10.0 + 0.5 * (0.5 * mean_min - 10.0));
  EXPECT_PUBLISHED("expectation of the stated lengths", "used share of a room booked six times a day", "",
                   6.0 * 0.85 * (mean_min - early_min) / 1440.0, used.mean, used.four_sigma);
  EXPECT_LT(used.four_sigma, 0.003);
}

TEST(Bookings, LastAsLongOnAverageAsTheDocumentSays) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.bookings_per_day = 4.0;
  for (const double mean_min : {15.0, 40.0, 57.9, 95.0}) {
    occupancy.dwell_min = mean_min;
    const Sampled used = over_replicates(24, [&](std::uint32_t r) {
      return lit_share(simulate_presence(occupancy, kWholeYear, kNoSaving, 9, r, "meeting").any, 0);
    });
    // As above, with all four lengths stretched alike; nobody ends earlier than half way.
    double early_min = 0.0;
    double share_of_mean = 0.0;
    for (const auto& [share, half_hours] : {std::pair{0.35, 1}, {0.45, 2}, {0.12, 3}, {0.08, 4}}) {
      const double length = mean_min / 57.9 * 30.0 * half_hours;
      const double least = std::min(10.0, 0.5 * length);
      early_min += 0.2 * share * (least + 0.5 * (0.5 * length - least));
      share_of_mean += share * length;
    }
    EXPECT_NEAR(share_of_mean, mean_min, 1e-9);
    EXPECT_NEAR(used.mean, 4.0 * 0.85 * (mean_min - early_min) / 1440.0, used.four_sigma) << mean_min;
  }
  // Without a mean of its own the room keeps the table's lengths, to the second.
  occupancy.dwell_min = 57.9;
  domain::Occupancy by_table = occupancy;
  by_table.dwell_min = 0.0;
  EXPECT_EQ(simulate_presence(occupancy, kWholeYear, kNoSaving, 9, 0, "meeting").any,
            simulate_presence(by_table, kWholeYear, kNoSaving, 9, 0, "meeting").any);
}

TEST(Bookings, StartOnTheHalfHourOfTheClockAndEndByClosing) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.bookings_per_day = 3.0;
  const CivilTime clock = with_saving();
  const IntervalSet open = open_time(weekdays_nine_to_five(), clock);
  const IntervalSet used = simulate_presence(occupancy, open, clock, 9, 0, "meeting").any;
  EXPECT_GT(used.size(), 300U);
  EXPECT_TRUE(subtracted(used, open).empty());
  for (const Interval& i : used.intervals()) EXPECT_EQ(clock.civil(i.begin) % 1800, 0);
}

TEST(Bookings, MoreThanFitFillEveryHalfHour) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.bookings_per_day = 1000.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const IntervalSet used = simulate_presence(occupancy, open, kNoSaving, 9, 0, "meeting").any;
  const double share = static_cast<double>(used.measure()) / static_cast<double>(open.measure());
  EXPECT_GT(share, 0.70);  // 85 % attended, less early ends
  EXPECT_LT(share, 0.85);
}

// --- habits
// ----------------------------------------------------------------------------------------------------

TEST(Habits, SwitchOnFollowsHuntsTable) {
  // Hunt 1979, evaluated to three digits from the coefficients.
  constexpr std::array<std::array<double, 2>, 9> kTable = {{{10, .984},
                                                            {20, .908},
                                                            {50, .628},
                                                            {100, .320},
                                                            {150, .180},
                                                            {200, .111},
                                                            {300, .049},
                                                            {400, .024},
                                                            {500, .011}}};
  for (const auto& [lux, chance] : kTable)
    EXPECT_PUBLISHED("Hunt 1979, coefficients from memory",
                     fmt::format("chance of switching on at arrival, {} lx of daylight", lux), "", chance,
                     switch_on_at_arrival(lux), 0.0006);
  EXPECT_EQ(switch_on_at_arrival(0.0), 1.0);
  EXPECT_EQ(switch_on_at_arrival(6.9), 1.0);
  EXPECT_EQ(switch_on_at_arrival(658.0), 0.0);
  // The published end points meet the curve.
  EXPECT_NEAR(switch_on_at_arrival(7.0), 1.0, 0.002);
  EXPECT_NEAR(switch_on_at_arrival(657.0), 0.0, 0.001);
  EXPECT_GT(switch_on_at_arrival(100.0, 0.25), switch_on_at_arrival(100.0));
}

TEST(Habits, SwitchOnWhileStayingDropsAboveItsThreshold) {
  EXPECT_EQ(switch_on_while_staying(239.0), 0.02);
  EXPECT_EQ(switch_on_while_staying(241.0), 0.003);
}

TEST(Habits, SwitchOffGrowsWithTheLengthOfAbsence) {
  const std::array<Seconds, 6> absences = {29 * kMinute, 30 * kMinute, 90 * kMinute,
                                           3 * kHour,    5 * kHour,    13 * kHour};
  const std::array<double, 6> off = {0.086, 0.314, 0.380, 0.600, 0.960, 1.0};
  for (std::size_t i = 0; i < 6; ++i) {
    EXPECT_PUBLISHED("Pigg et al. 1996 as used by Reinhart 2004, from memory",
                     fmt::format("chance of switching off on leaving for {} min", absences[i] / kMinute), "",
                     off[i], switch_off_at_departure(absences[i], AutomaticOff::none), 0.0);
    EXPECT_DOUBLE_EQ(switch_off_at_departure(absences[i], AutomaticOff::sensor),
                     off[i] * (i < 4 ? 0.6 : 0.5));
  }
}

TEST(Habits, PassiveUsersLeaveItOnUntilTheyGoHome) {
  const Habit passive{UserType::passive, 0.0};
  EXPECT_EQ(passive.on_at_arrival(10000.0), 1.0);
  EXPECT_EQ(passive.off_at_departure(3 * kHour, AutomaticOff::none), 0.0);
  EXPECT_EQ(passive.off_at_departure(14 * kHour, AutomaticOff::none), 1.0);
}

TEST(Habits, UserTypesAndShiftsHaveTheirStatedSpread) {
  int passive = 0;
  double sum = 0.0;
  double squares = 0.0;
  constexpr int kRooms = 4000;
  for (std::uint32_t r = 0; r < kRooms; ++r) {
    const Habit habit = draw_habit(1, r, "room");
    passive += habit.type == UserType::passive ? 1 : 0;
    sum += habit.shift_log10;
    squares += habit.shift_log10 * habit.shift_log10;
  }
  EXPECT_NEAR(passive / 4000.0, 0.25, 4.0 * std::sqrt(0.25 * 0.75 / kRooms));
  EXPECT_NEAR(sum / kRooms, 0.0, 4.0 * 0.25 / std::sqrt(kRooms));
  EXPECT_NEAR(std::sqrt(squares / kRooms), 0.25, 4.0 * 0.25 / std::sqrt(2.0 * kRooms));
}

}  // namespace
}  // namespace halflight::people
