#include "people/calendar.hpp"
#include "people/habits.hpp"
#include "people/markov_chain.hpp"
#include "people/presence.hpp"
#include "published.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
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

TEST(Calendar, IsShutOutsideItsTermsAsOnHolidays) {
  domain::Calendar calendar = weekdays_nine_to_five();
  calendar.cleaning = domain::DayHours{{0, 1, 2, 3, 4}, 18 * kHour, 20 * kHour};
  calendar.terms = {{{1, 5}, {3, 27}}, {{9, 1}, {12, 18}}};
  calendar.holidays = {{{2, 16}, {2, 20}}};
  const IntervalSet open = open_time(calendar, with_saving());
  EXPECT_FALSE(open.contains(at({1, 2}, 12 * kHour)));   // Friday before the first term
  EXPECT_TRUE(open.contains(at({1, 5}, 12 * kHour)));    // its first day
  EXPECT_FALSE(open.contains(at({2, 18}, 12 * kHour)));  // a holiday within it
  EXPECT_TRUE(open.contains(at({3, 27}, 12 * kHour)));   // its last day
  EXPECT_FALSE(open.contains(at({3, 30}, 12 * kHour)));
  EXPECT_FALSE(cleaning_time(calendar, with_saving()).contains(at({7, 15}, 19 * kHour)));
  // 12 weeks of 5 days, less one of holidays, and 15 weeks and 4 days (2026: 1 September is a Tuesday).
  EXPECT_EQ(open.measure(), (12 * 5 - 5 + 15 * 5 + 4) * 8 * kHour);
  EXPECT_EQ(shut_days(calendar).size(), 365U - (82 - 5) - 109);

  calendar.terms = {{{9, 1}, {6, 30}}};  // spans the new year
  EXPECT_TRUE(open_time(calendar, with_saving()).contains(at({1, 2}, 12 * kHour)));
  EXPECT_FALSE(open_time(calendar, with_saving()).contains(at({7, 15}, 12 * kHour)));
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

// Erlang: the number present in a queue with any number of servers is Poisson with mean rate x stay.
TEST(Visitors, NumberPresentIsPoisson) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::shared;
  occupancy.arrivals_per_h = 4.0;
  occupancy.dwell_min = 30.0;
  constexpr std::size_t kMost = 4;
  std::array<Sampled, kMost + 1> share;
  for (std::size_t n = 0; n <= kMost; ++n)
    share[n] = over_replicates(40, [&](std::uint32_t r) {
      const IntervalSet month({{0, 28 * kDay}});
      const Presence presence = simulate_presence(occupancy, month, kNoSaving, 7, r, "s");
      int there = 0;
      int asked = 0;
      for (Seconds t = kDay; t < 27 * kDay; t += 3 * kHour, ++asked)
        there += presence.headcount(t) == static_cast<int>(n) ? 1 : 0;
      return there / static_cast<double>(asked);
    });
  double expected = std::exp(-2.0);
  for (std::size_t n = 0; n <= kMost; ++n) {
    EXPECT_PUBLISHED("Poisson law of the number in a queue with any number of servers",
                     fmt::format("share of the time with {} visitors, 2 on average", n), "", expected,
                     share[n].mean, share[n].four_sigma);
    expected *= 2.0 / static_cast<double>(n + 1);
  }
}

TEST(Visitors, TheirNumberInADayHasTheMomentsOfPoisson) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::none;
  occupancy.arrivals_per_h = 2.5;
  occupancy.dwell_min = 0.1;
  const IntervalSet day({{9 * kHour, 17 * kHour}});
  const auto visits = [&](std::uint32_t r) {
    double number = 0.0;
    for (const IntervalSet& place : simulate_presence(occupancy, day, kNoSaving, 13, r, "s").people)
      number += static_cast<double>(place.size());
    return number;
  };
  const Sampled mean = over_replicates(1000, visits);
  const Sampled square = over_replicates(1000, [&](std::uint32_t r) { return std::pow(visits(r), 2); });
  EXPECT_PUBLISHED("Poisson law", "mean number of visits in 8 h at 2.5 an hour", "", 20.0, mean.mean,
                   mean.four_sigma);
  EXPECT_PUBLISHED("Poisson law", "mean square of the number of visits in 8 h at 2.5 an hour", "", 420.0,
                   square.mean, square.four_sigma);
}

TEST(Visitors, TakeTheLowestFreePlace) {
  domain::Occupancy occupancy;
  occupancy.arrivals_per_h = 10.0;
  occupancy.dwell_min = 20.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  for (const Pattern pattern : {Pattern::shared, Pattern::none, Pattern::circulation}) {
    occupancy.pattern = pattern;
    const Presence presence = simulate_presence(occupancy, open, kNoSaving, 7, 0, "s");
    EXPECT_EQ(united(presence.people), presence.any);
    EXPECT_EQ(presence.awake(), presence.any);
    EXPECT_TRUE(presence.asleep.empty());
    if (pattern == Pattern::circulation) {
      EXPECT_EQ(presence.people.size(), 1U);
      continue;
    }
    ASSERT_GT(presence.people.size(), 5U);
    // Nobody sits down while a lower place is free: a stay begins only where all below are taken.
    for (std::size_t k = 1; k < presence.people.size(); ++k)
      for (const Interval& stay : presence.people[k].intervals())
        for (std::size_t below = 0; below < k; ++below)
          ASSERT_TRUE(presence.people[below].contains(stay.begin)) << k << " " << below;
  }
}

// --- the chain
// -------------------------------------------------------------------------------------------------

// Closed forms for a constant chance of presence P: memory (1 - mu) / (1 + mu), mean absence
// (1 + mu) / (2 mu P), mean presence (1 + mu) / (2 mu (1 - P)), 4 mu P (1 - P) / (1 + mu) transitions a step.
struct ChainCase {
  double mobility;
  double memory;
  double absence;
  double presence;
  double transitions;
};
class Chain : public testing::TestWithParam<ChainCase> {};

TEST_P(Chain, HasTheClosedFormsOfConstantPresence) {
  const ChainCase& c = GetParam();
  const ChainStep step = chain_step(0.7, 0.7, c.mobility);
  const auto expect = [&](const char* what, double expected, double computed, double rounding) {
    EXPECT_PUBLISHED("closed forms of the chain of Page et al. 2008, constant presence of 0.7",
                     fmt::format("{} at a mobility of {}", what, c.mobility), "", expected, computed,
                     rounding);
  };
  expect("memory", c.memory, step.stays - step.appears, 0.0005);
  expect("mean absence in steps", c.absence, 1.0 / step.appears, 0.005);
  expect("mean presence in steps", c.presence, 1.0 / (1.0 - step.stays), 0.05);
  expect("transitions a step", c.transitions, 0.3 * step.appears + 0.7 * (1.0 - step.stays), 0.0005);
  EXPECT_NEAR(mobility_of(0.7, 1.0 / step.appears), c.mobility, 1e-12);
}
INSTANTIATE_TEST_SUITE_P(Mobilities, Chain,
                         testing::Values(ChainCase{0.1, 0.818, 7.86, 18.3, 0.0764},
                                         ChainCase{0.2, 0.667, 4.29, 10.0, 0.140},
                                         ChainCase{0.5, 0.333, 2.14, 5.0, 0.280},
                                         ChainCase{1.0, 0.0, 1.43, 3.33, 0.420}));

TEST(Chain, MobilityBelongsToTheStep) {
  // mu = 1 / (2 P A / dt - 1): P = 0.7, A = 30 min.
  EXPECT_PUBLISHED("mobility from the mean absence, derived from Page et al. 2008",
                   "mobility for absences of 30 min in steps of 1 min", "", 0.0244, mobility_of(0.7, 30.0),
                   5e-5);
  EXPECT_PUBLISHED("mobility from the mean absence, derived from Page et al. 2008",
                   "mobility for absences of 30 min in steps of 5 min", "", 0.135, mobility_of(0.7, 6.0),
                   5e-4);
  EXPECT_EQ(mobility_of(0.1, 2.0), 1.0);  // absences would be longer than asked without any memory
}

TEST(Chain, FollowsAProfileThatIsTooSteepForItsMemory) {
  for (const double mobility : {0.01, 0.1, 0.5, 1.0})
    for (const double now : {0.0, 0.05, 0.5, 0.95, 1.0})
      for (const double next : {0.0, 0.05, 0.5, 0.95, 1.0}) {
        const ChainStep step = chain_step(now, next, mobility);
        EXPECT_GE(step.appears, 0.0);
        EXPECT_LE(step.stays, 1.0);
        EXPECT_GE(step.stays, step.appears - 1e-15);
        EXPECT_NEAR(now * step.stays + (1.0 - now) * step.appears, next, 1e-15);
      }
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
  PresenceAssumptions alike;  // one person's stays keep their two phases
  alike.absence_spread = 1.0;
  alike.long_absence_chance = 0.0;
  alike.variable_swing = 0.0;
  alike.longest_step_s =
      60.0;  // several: the chain's absences are geometric, in steps short against the delay
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

// First and second moment of one absence each, the sixth of its person, in 1,000 replicates. One desk:
// exponential. Several: a geometric number of steps, begun and ended anywhere in a step, with the variance
// dt^2 ((1 - q) / q^2 + 1 / 6) for q = dt / A.
TEST(Desks, AbsencesHaveTheMomentsOfTheirLaw) {
  for (const double people : {1.0, 2.0}) {
    domain::Occupancy occupancy;
    occupancy.people = people;
    occupancy.absence_min = 30.0;
    occupancy.present_fraction = 0.7;
    PresenceAssumptions assumed;
    assumed.long_absence_chance = 0.0;
    assumed.absence_spread = 1.0;
    assumed.profile_shares = {0, 0, 0, 0, 1};
    const IntervalSet days({{0, 3 * kDay}});
    const auto absence_min = [&](std::uint32_t r) {
      const IntervalSet at_desk =
          simulate_presence(occupancy, days, kNoSaving, 11, r, "desk", 1.0, assumed).people[0];
      const std::vector<Interval>& stays = at_desk.intervals();
      return static_cast<double>(stays.at(6).begin - stays.at(5).end) / 60.0;
    };
    const Sampled mean = over_replicates(1000, absence_min);
    const Sampled square =
        over_replicates(1000, [&](std::uint32_t r) { return std::pow(absence_min(r), 2); });
    const char* const law =
        people == 1.0 ? "exponential law" : "geometric law of the chain, placed in its steps";
    const double q = 5.0 / 30.0;
    const double expected_square =
        people == 1.0 ? 2.0 * 30.0 * 30.0 : 30.0 * 30.0 + 25.0 * ((1.0 - q) / (q * q) + 1.0 / 6.0);
    const char* const where = people == 1.0 ? "a private office" : "one of two desks";
    EXPECT_PUBLISHED(law, fmt::format("mean absence from {}", where), "min", 30.0, mean.mean,
                     mean.four_sigma);
    EXPECT_PUBLISHED(law, fmt::format("mean square of absences from {}", where), "min2", expected_square,
                     square.mean, square.four_sigma);
  }
}

constexpr std::array<std::array<double, 5>, 5> kOnlyProfile = {
    {{1, 0, 0, 0, 0}, {0, 1, 0, 0, 0}, {0, 0, 1, 0, 0}, {0, 0, 0, 1, 0}, {0, 0, 0, 0, 1}}};

TEST(Desks, SeveralKeepTheDocumentsShareAndAbsenceWhateverTheirProfile) {
  domain::Occupancy occupancy;
  occupancy.people = 2;
  occupancy.present_fraction = 0.7;
  occupancy.absence_min = 30.0;
  for (const std::array<double, 5>& shares : kOnlyProfile) {
    PresenceAssumptions assumed;
    assumed.profile_shares = shares;
    assumed.long_absence_chance = 0.0;
    assumed.absence_spread = 1.0;
    const Sampled present = over_replicates(200, [&](std::uint32_t r) {
      const IntervalSet weeks({{0, 14 * kDay}});  // round the clock: no breaks
      const Presence p = simulate_presence(occupancy, weeks, kNoSaving, 5, r, "desk", 1.0, assumed);
      return static_cast<double>(p.people[1].measure()) / static_cast<double>(weeks.measure());
    });
    EXPECT_NEAR(present.mean, 0.7, present.four_sigma);
    EXPECT_LT(present.four_sigma, 0.02);
    const Sampled absence_s = over_replicates(200, [&](std::uint32_t r) {
      const IntervalSet weeks({{0, 14 * kDay}});
      const IntervalSet at_desk =
          simulate_presence(occupancy, weeks, kNoSaving, 5, r, "desk", 1.0, assumed).people[1];
      const Interval whole{at_desk.intervals().front().begin, at_desk.intervals().back().end};
      return static_cast<double>(whole.end - whole.begin - at_desk.measure()) /
             static_cast<double>(at_desk.size() - 1);
    });
    EXPECT_NEAR(absence_s.mean, 1800.0, absence_s.four_sigma);
    EXPECT_LT(absence_s.four_sigma, 60.0);
  }
}

TEST(Desks, ProfilesHaveTheirValleys) {
  domain::Occupancy occupancy;
  occupancy.people = 2;
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4}, 8 * kHour, 18 * kHour}};
  const IntervalSet open = open_time(calendar, kNoSaving);
  // Presence at a time of the day, over the year's working days.
  const auto share_at = [&](DayProfile profile, double hour) {
    PresenceAssumptions assumed;
    assumed.profile_shares = kOnlyProfile[static_cast<std::size_t>(profile)];
    assumed.long_absence_chance = 0.0;
    assumed.meeting_chance = 0.0;
    return over_replicates(16, [&](std::uint32_t r) {
      const Presence p = simulate_presence(occupancy, open, kNoSaving, 5, r, "desk", 1.0, assumed);
      int there = 0;
      for (const Interval& day : open.intervals())
        there += p.people[0].contains(day.begin - 8 * kHour + static_cast<Seconds>(hour * 3600.0)) ? 1 : 0;
      return there / 261.0;
    });
  };
  // Lunch lies about 12:17, the afternoon's break about 15:09.
  for (const DayProfile profile : {DayProfile::one_square, DayProfile::one_valley, DayProfile::two_valley,
                                   DayProfile::variable, DayProfile::flat}) {
    const Sampled morning = share_at(profile, 10.75);
    if (profile == DayProfile::variable)
      EXPECT_NEAR(morning.mean, 0.77, 0.25 * 0.77 + morning.four_sigma);
    else
      EXPECT_NEAR(morning.mean, 0.77, morning.four_sigma) << static_cast<int>(profile);
    const bool has_lunch = profile != DayProfile::one_square && profile != DayProfile::flat;
    EXPECT_EQ(share_at(profile, 12.6).mean < 0.5, has_lunch) << static_cast<int>(profile);
  }
  EXPECT_LT(share_at(DayProfile::two_valley, 15.35).mean, 0.67);
  EXPECT_GT(share_at(DayProfile::one_valley, 15.35).mean, 0.72);
  // Flat: there are people before anybody has arrived, and after.
  EXPECT_GT(share_at(DayProfile::flat, 8.02).mean, 0.72);
  EXPECT_LT(share_at(DayProfile::one_square, 8.02).mean, 0.5);
}

TEST(Desks, SeveralAreEmptyAQuarterToAThirdOfTheNominalDay) {
  // Bauman et al., as cited by Wang et al. 2005: 25 to 30 % of the nominally occupied hours, per person.
  domain::Occupancy occupancy;
  occupancy.people = 6;
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4}, 8 * kHour + 30 * kMinute, 17 * kHour + 15 * kMinute}};
  const IntervalSet open = open_time(calendar, kNoSaving);
  PresenceAssumptions assumed;
  assumed.long_absence_chance = 0.0;
  const Sampled present = over_replicates(24, [&](std::uint32_t r) {
    const Presence p = simulate_presence(occupancy, open, kNoSaving, 5, r, "desk", 1.0, assumed);
    double sum = 0.0;
    for (const IntervalSet& person : p.people) sum += static_cast<double>(person.measure());
    return sum / 6.0 / static_cast<double>(open.measure());
  });
  EXPECT_PUBLISHED("Bauman et al. as cited by Wang et al. 2005: 25 to 30 % of the nominal hours away",
                   "share of the nominal hours at one of six desks", "", 0.725, present.mean, 0.025);
}

TEST(Desks, ColleaguesAreAwayTogetherAtLunchAndInMeetings) {
  domain::Occupancy occupancy;
  occupancy.people = 6;
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4}, 8 * kHour, 18 * kHour}};
  const IntervalSet open = open_time(calendar, kNoSaving);
  PresenceAssumptions together;
  together.profile_shares = kOnlyProfile[1];
  PresenceAssumptions apart = together;
  apart.lunch_together = 0.0;
  apart.meeting_chance = 0.0;
  const auto empty_h = [&](const PresenceAssumptions& assumed) {
    return over_replicates(24, [&](std::uint32_t r) {
      const IntervalSet any = simulate_presence(occupancy, open, kNoSaving, 5, r, "zone", 1.0, assumed).any;
      IntervalSet core;
      for (const Interval& day : open.intervals())
        core = united(core, IntervalSet({{day.begin + 2 * kHour, day.end - 2 * kHour}}));
      return static_cast<double>(subtracted(core, any).measure()) / 3600.0;
    });
  };
  const Sampled shared = empty_h(together);
  const Sampled independent = empty_h(apart);
  EXPECT_GT(shared.mean, 1.5 * independent.mean);
  RecordProperty("empty_h_together", fmt::format("{:.1f}", shared.mean));
  RecordProperty("empty_h_apart", fmt::format("{:.1f}", independent.mean));
}

TEST(Desks, OnePersonsDrawsAreTheirOwn) {
  domain::Occupancy two;
  two.people = 2;
  domain::Occupancy six = two;
  six.people = 6;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const Presence few = simulate_presence(two, open, kNoSaving, 5, 2, "desk");
  const Presence many = simulate_presence(six, open, kNoSaving, 5, 2, "desk");
  ASSERT_EQ(many.people.size(), 6U);
  EXPECT_EQ(many.people[0], few.people[0]);
  EXPECT_EQ(many.people[1], few.people[1]);
  EXPECT_NE(many.people[0], many.people[1]);
  EXPECT_EQ(many.any, united(many.people));
  EXPECT_NE(simulate_presence(two, open, kNoSaving, 5, 3, "desk").any, few.any);
  EXPECT_EQ(simulate_presence(two, open, kNoSaving, 5, 2, "desk").any, few.any);
}

TEST(Desks, MorePresenceKeepsWhoIsThere) {
  domain::Occupancy occupancy;
  occupancy.people = 3;
  PresenceAssumptions assumed;
  assumed.variable_swing = 0.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const Presence few = simulate_presence(occupancy, open, kNoSaving, 5, 2, "desk", 0.8, assumed);
  const Presence many = simulate_presence(occupancy, open, kNoSaving, 5, 2, "desk", 1.1, assumed);
  for (std::size_t k = 0; k < 3; ++k) {
    EXPECT_TRUE(subtracted(few.people[k], many.people[k]).empty());
    EXPECT_GT(many.people[k].measure(), few.people[k].measure());
  }
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
  // average; a fifth runs over by 10 min on average where the next half hour stays free; 15 % of bookings
  // stay empty. From one booking to the next, 8 half hours, it is 57.9 min and (1 - c) / c half hours that
  // are not taken.
  const double mean_min = 0.35 * 30 + 0.45 * 60 + 0.12 * 90 + 0.08 * 120;
  const double early_min = 0.2 * (10.0 + 0.5 * (0.5 * mean_min - 10.0));
  const double taken = 1.0 / (1.0 + 8.0 - mean_min / 30.0);
  const double over_min = 0.2 * 10.0 * (1.0 - taken);
  EXPECT_PUBLISHED("expectation of the stated lengths", "used share of a room booked six times a day", "",
                   6.0 * 0.85 * (mean_min - early_min + over_min) / 1440.0, used.mean, used.four_sigma);
  EXPECT_LT(used.four_sigma, 0.0035);
}

TEST(Bookings, LastAsLongOnAverageAsTheDocumentSays) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.bookings_per_day = 4.0;
  occupancy.overrun_fraction = 0.0;
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

TEST(Bookings, RunOverUntilTheNextAndNoFurther) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.people = 1;
  occupancy.bookings_per_day = 3.0;
  occupancy.no_show_fraction = 0.0;
  occupancy.overrun_fraction = 1.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const IntervalSet used = simulate_presence(occupancy, open, kNoSaving, 9, 0, "meeting").any;
  for (const Interval& i : used.intervals()) {
    EXPECT_EQ(i.begin % 1800, 0);
    if (i.end % kDay == 17 * kHour) continue;  // closing
    EXPECT_GE(i.end % 1800, 300);
    EXPECT_LE(i.end % 1800, 900);
  }
  occupancy.overrun_fraction = 0.0;
  const IntervalSet punctual = simulate_presence(occupancy, open, kNoSaving, 9, 0, "meeting").any;
  EXPECT_TRUE(subtracted(punctual, used).empty());
}

TEST(Bookings, AreAttendedByAsManyAsTheDocumentSays) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.people = 6.0;
  occupancy.bookings_per_day = 3.0;
  PresenceAssumptions punctual;
  punctual.late_s = punctual.leaves_early_s = 0.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const Sampled number = over_replicates(1000, [&](std::uint32_t r) {
    const IntervalSet week({{0, 7 * kDay}});
    const Presence p =
        simulate_presence(occupancy, intersected(open, week), kNoSaving, 9, r, "meeting", 1.0, punctual);
    double sum = 0.0;
    for (const IntervalSet& person : p.people) sum += static_cast<double>(person.measure());
    return p.any.empty() ? 6.0 : sum / static_cast<double>(p.any.measure());
  });
  EXPECT_PUBLISHED("expectation of one and a Poisson number of others", "mean number at a meeting", "", 6.0,
                   number.mean, number.four_sigma);
  EXPECT_LT(number.four_sigma, 0.15);

  const Presence few = simulate_presence(occupancy, open, kNoSaving, 9, 0, "meeting");
  EXPECT_EQ(few.people[0], few.any);
  EXPECT_EQ(united(few.people), few.any);
  occupancy.people = 9.0;
  const Presence more = simulate_presence(occupancy, open, kNoSaving, 9, 0, "meeting");
  EXPECT_EQ(more.any, few.any);
  for (std::size_t k = 0; k < few.people.size(); ++k)
    EXPECT_TRUE(subtracted(few.people[k], more.people[k]).empty());
}

TEST(Bookings, OfADivisibleRoomUseOnePartOrTheWhole) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::bookings;
  occupancy.people = 5.0;
  occupancy.bookings_per_day = 4.0;
  occupancy.overrun_fraction = 0.0;
  occupancy.no_show_fraction = 0.0;
  PresenceAssumptions assumed;
  assumed.ends_early = 0.0;
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  EXPECT_TRUE(simulate_presence(occupancy, open, kNoSaving, 9, 0, "hall").part.empty());
  occupancy.divided_fraction = 0.6;
  std::array<double, 3> first_comers_h{};
  double bookings = 0.0;
  for (std::uint32_t r = 0; r < 16; ++r) {
    const Presence p = simulate_presence(occupancy, open, kNoSaving, 9, r, "hall", 1.0, assumed);
    ASSERT_EQ(p.part.size(), p.people.size());
    EXPECT_EQ(united(p.people), p.any);
    std::array<IntervalSet, 3> used;
    for (std::size_t k = 0; k < p.people.size(); ++k) {
      IntervalSet& part = used.at(static_cast<std::size_t>(p.part[k] + 1));
      part = united(part, p.people[k]);
    }
    // The wall either stands or does not.
    EXPECT_TRUE(intersected(used[0], united(used[1], used[2])).empty());
    EXPECT_FALSE(intersected(used[1], used[2]).empty());
    for (std::size_t part = 0; part < 3; ++part)
      first_comers_h[part] += static_cast<double>(used[part].measure()) / 3600.0;
    // One comes first at each booking.
    std::array<bool, 3> seen{};
    for (std::size_t k = 0; k < p.people.size(); ++k)
      if (bool& known = seen.at(static_cast<std::size_t>(p.part[k] + 1)); !known) {
        known = true;
        bookings += static_cast<double>(p.people[k].size());
      }
  }
  // Bookings that follow at once are one interval: a little fewer than 4 a day.
  EXPECT_LT(bookings / (16.0 * 261.0), 4.0);
  EXPECT_GT(bookings / (16.0 * 261.0), 3.0);
  // Of the first of two, 60 % are in a part; half of these have a neighbour.
  const double in_parts_h = first_comers_h[1] + first_comers_h[2];
  EXPECT_NEAR(in_parts_h / (in_parts_h + first_comers_h[0]), 0.9 / 1.3, 0.05);
  EXPECT_NEAR(first_comers_h[1] / in_parts_h, 0.5, 0.03);
}

// --- timetable
// -------------------------------------------------------------------------------------------------

domain::Occupancy lessons(double per_day) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::timetable;
  occupancy.people = 25;
  occupancy.bookings_per_day = per_day;
  return occupancy;
}

PresenceAssumptions to_the_minute() {
  PresenceAssumptions assumed;
  assumed.teacher_before_s = assumed.teacher_after_s = 0.0;
  assumed.pupils_before_s = assumed.pupils_late_s = 0.0;
  return assumed;
}

TEST(Timetable, HoldsAsManyLessonsAsAsked) {
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const Sampled used = over_replicates(1000, [&](std::uint32_t r) {
    const IntervalSet weeks = intersected(open, IntervalSet({{0, 28 * kDay}}));
    const Presence p = simulate_presence(lessons(5.0), weeks, kNoSaving, 9, r, "class", 1.0, to_the_minute());
    return static_cast<double>(p.any.measure()) / static_cast<double>(weeks.measure());
  });
  EXPECT_PUBLISHED("expectation of the stated lessons",
                   "used share of a classroom, 5 lessons of 45 min in 8 h, 15 % not held", "",
                   5.0 * 0.85 * 45.0 / 480.0, used.mean, used.four_sigma);
  EXPECT_LT(used.four_sigma, 0.01);
}

TEST(Timetable, KeepsToTheClockAndToTheWeek) {
  domain::Occupancy occupancy = lessons(4.0);
  occupancy.no_show_fraction = 0.0;
  domain::Calendar calendar = weekdays_nine_to_five();
  calendar.terms = {{{1, 5}, {3, 27}}, {{4, 13}, {7, 17}}};
  const CivilTime clock = with_saving();
  const IntervalSet open = open_time(calendar, clock);
  const IntervalSet used = simulate_presence(occupancy, open, clock, 9, 0, "class", 1.0, to_the_minute()).any;
  EXPECT_TRUE(subtracted(used, open).empty());
  // Blocks of 45 min begin every 55 min from 8:00; the building opens at 9:00, which leaves those from 9:50.
  for (const Interval& i : used.intervals()) {
    EXPECT_EQ((clock.civil(i.begin) % kDay - 8 * kHour) % (55 * kMinute), 0);
    EXPECT_EQ(i.end - i.begin, 45 * kMinute);
  }
  const auto week_of = [&](MonthDay monday) {
    const Seconds begin = clock.standard(at(monday, 0));
    std::vector<Seconds> begins;
    for (const Interval& i : used.intervals())
      if (i.begin >= begin && i.begin < begin + 7 * kDay) begins.push_back(i.begin - begin);
    return begins;
  };
  EXPECT_GT(week_of({1, 5}).size(), 10U);
  EXPECT_EQ(week_of({1, 5}), week_of({3, 9}));    // the same week after week,
  EXPECT_NE(week_of({3, 9}), week_of({5, 4}));    // anew after the holidays,
  EXPECT_EQ(week_of({4, 13}), week_of({7, 13}));  // and by the clock in summer
  EXPECT_TRUE(week_of({4, 6}).empty());
}

TEST(Timetable, TeachersComeEarlyAndStayAndVisitorsComeBeside) {
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  domain::Occupancy occupancy = lessons(4.0);
  const Presence exact = simulate_presence(occupancy, open, kNoSaving, 9, 0, "class", 1.0, to_the_minute());
  const Presence usual = simulate_presence(occupancy, open, kNoSaving, 9, 0, "class");
  EXPECT_TRUE(subtracted(exact.people[0], usual.people[0]).empty());
  EXPECT_GT(usual.any.measure(), exact.any.measure());
  EXPECT_EQ(united(usual.people), usual.any);
  // Five minutes before and after on average, less what closing and joined lessons take away.
  const auto held = static_cast<double>(exact.people[0].size());
  const double longer_min =
      static_cast<double>(usual.people[0].measure() - exact.people[0].measure()) / 60.0 / held;
  EXPECT_GT(longer_min, 7.0);
  EXPECT_LT(longer_min, 10.0);
  occupancy.arrivals_per_h = 1.0;
  occupancy.dwell_min = 30.0;
  const Presence visited = simulate_presence(occupancy, open, kNoSaving, 9, 0, "class");
  EXPECT_TRUE(subtracted(usual.any, visited.any).empty());
  EXPECT_GT(visited.people.size(), usual.people.size());
  EXPECT_EQ(united(visited.people), visited.any);
}

TEST(Timetable, MoreLessonsAndPupilsKeepThoseThereAre) {
  const IntervalSet open = open_time(weekdays_nine_to_five(), kNoSaving);
  const Presence few = simulate_presence(lessons(4.0), open, kNoSaving, 9, 0, "class", 1.0);
  const Presence more = simulate_presence(lessons(4.0), open, kNoSaving, 9, 0, "class", 1.3);
  EXPECT_TRUE(subtracted(few.any, more.any).empty());
  EXPECT_GT(more.any.measure(), few.any.measure());
  domain::Occupancy larger = lessons(4.0);
  larger.people = 30;
  const Presence crowd = simulate_presence(larger, open, kNoSaving, 9, 0, "class", 1.0);
  for (std::size_t k = 0; k < few.people.size(); ++k)
    EXPECT_TRUE(subtracted(few.people[k], crowd.people[k]).empty());
}

// --- sleeping
// --------------------------------------------------------------------------------------------------

domain::Occupancy beds(double number) {
  domain::Occupancy occupancy;
  occupancy.pattern = Pattern::sleeping;
  occupancy.people = number;
  occupancy.present_fraction = 0.4;
  return occupancy;
}

TEST(Sleeping, NightsAreAsLongAsTheDocumentSays) {
  PresenceAssumptions assumed;
  assumed.long_absence_chance = 0.0;
  const Sampled asleep_h = over_replicates(100, [&](std::uint32_t r) {
    return static_cast<double>(simulate_presence(beds(1), kWholeYear, kNoSaving, 9, r, "bed", 1.0, assumed)
                                   .asleep.measure()) /
           3600.0 / 365.0;
  });
  EXPECT_NEAR(asleep_h.mean, 8.0, asleep_h.four_sigma);  // 23:00 to 7:00
  EXPECT_LT(asleep_h.four_sigma, 0.02);
  const Sampled away = over_replicates(200, [&](std::uint32_t r) {
    const IntervalSet asleep = simulate_presence(beds(1), kWholeYear, kNoSaving, 9, r, "bed").asleep;
    return 1.0 - static_cast<double>(asleep.measure()) / (8.0 * 3600.0 * 365.0);
  });
  EXPECT_NEAR(away.mean, 3.0 / (3.0 + 49.0), away.four_sigma + 0.001);  // as at desks
}

TEST(Sleeping, TellsWhoIsAwakeFromWhoSleeps) {
  domain::Occupancy occupancy = beds(2);
  const Presence two = simulate_presence(occupancy, kWholeYear, with_saving(), 9, 0, "ward");
  ASSERT_EQ(two.people.size(), 2U);
  ASSERT_EQ(two.sleepers.size(), 2U);
  for (std::size_t k = 0; k < 2; ++k) EXPECT_TRUE(intersected(two.people[k], two.sleepers[k]).empty());
  EXPECT_EQ(two.asleep, united(two.sleepers));
  EXPECT_EQ(two.any, united(two.asleep, two.awake()));
  EXPECT_NE(two.any, two.awake());
  EXPECT_EQ(two.headcount(at({5, 20}, 2 * kHour)), 2);
  EXPECT_FALSE(two.awake().contains(at({5, 20}, 2 * kHour)));
  // The clock decides when it is night: in summer an hour earlier by the sun.
  const auto first_wakes = [&](MonthDay date) {
    double latest = 0.0;
    for (const Interval& i : two.asleep.intervals())
      if (i.begin < at(date, 3 * kHour) && i.end > at(date, 3 * kHour))
        latest = static_cast<double>(i.end - at(date, 0)) / 3600.0;
    return latest;
  };
  double winter = 0.0;
  double summer = 0.0;
  for (int d = 1; d <= 28; ++d) {
    winter += first_wakes({2, d}) / 28.0;
    summer += first_wakes({7, d}) / 28.0;
  }
  EXPECT_NEAR(winter - summer, 1.0, 4.0 * 0.5 * std::sqrt(2.0 / 28.0));

  occupancy.people = 3;
  const Presence three = simulate_presence(occupancy, kWholeYear, with_saving(), 9, 0, "ward");
  for (std::size_t k = 0; k < 2; ++k) {
    EXPECT_EQ(three.people[k], two.people[k]);
    EXPECT_EQ(three.sleepers[k], two.sleepers[k]);
  }
  occupancy.people = 2;
  occupancy.arrivals_per_h = 1.0;
  occupancy.dwell_min = 8.0;
  const Presence visited = simulate_presence(occupancy, kWholeYear, with_saving(), 9, 0, "ward");
  EXPECT_EQ(visited.sleepers[0], two.sleepers[0]);
  EXPECT_GT(intersected(visited.awake(), visited.asleep).measure(),
            intersected(two.awake(), two.asleep).measure());
  EXPECT_TRUE(simulate_presence(occupancy, kWholeYear, with_saving(), 9, 0, "ward", 0.0).any.empty());
}

TEST(Occupancy, EveryKeyOfAPatternChangesWhoIsThere) {
  using Change = void (*)(domain::Occupancy&);
  struct KeyCase {
    Pattern pattern;
    const char* key;
    Change change;
  };
  const std::array<KeyCase, 26> cases = {{
      {Pattern::desks, "people", [](domain::Occupancy& o) { o.people = 3; }},
      {Pattern::desks, "absence", [](domain::Occupancy& o) { o.absence_min = 40; }},
      {Pattern::desks, "present_fraction", [](domain::Occupancy& o) { o.present_fraction = 0.5; }},
      {Pattern::shared, "arrivals_per_h", [](domain::Occupancy& o) { o.arrivals_per_h = 3; }},
      {Pattern::shared, "dwell", [](domain::Occupancy& o) { o.dwell_min = 15; }},
      {Pattern::circulation, "arrivals_per_h", [](domain::Occupancy& o) { o.arrivals_per_h = 3; }},
      {Pattern::none, "dwell", [](domain::Occupancy& o) { o.dwell_min = 15; }},
      {Pattern::bookings, "people", [](domain::Occupancy& o) { o.people = 3; }},
      {Pattern::bookings, "bookings_per_day", [](domain::Occupancy& o) { o.bookings_per_day = 3; }},
      {Pattern::bookings, "dwell", [](domain::Occupancy& o) { o.dwell_min = 70; }},
      {Pattern::bookings, "no_show_fraction", [](domain::Occupancy& o) { o.no_show_fraction = 0.4; }},
      {Pattern::bookings, "overrun_fraction", [](domain::Occupancy& o) { o.overrun_fraction = 0.5; }},
      {Pattern::bookings, "divided_fraction", [](domain::Occupancy& o) { o.divided_fraction = 0.5; }},
      {Pattern::timetable, "people", [](domain::Occupancy& o) { o.people = 3; }},
      {Pattern::timetable, "bookings_per_day", [](domain::Occupancy& o) { o.bookings_per_day = 3; }},
      {Pattern::timetable, "no_show_fraction", [](domain::Occupancy& o) { o.no_show_fraction = 0.4; }},
      {Pattern::timetable, "first_lesson", [](domain::Occupancy& o) { o.first_lesson_s = 9 * kHour; }},
      {Pattern::timetable, "lesson", [](domain::Occupancy& o) { o.lesson_min = 50; }},
      {Pattern::timetable, "gap", [](domain::Occupancy& o) { o.gap_min = 5; }},
      {Pattern::timetable, "arrivals_per_h", [](domain::Occupancy& o) { o.arrivals_per_h = 3; }},
      {Pattern::sleeping, "people", [](domain::Occupancy& o) { o.people = 3; }},
      {Pattern::sleeping, "asleep_from", [](domain::Occupancy& o) { o.asleep_from_s = 22 * kHour; }},
      {Pattern::sleeping, "asleep_until", [](domain::Occupancy& o) { o.asleep_until_s = 6 * kHour; }},
      {Pattern::sleeping, "absence", [](domain::Occupancy& o) { o.absence_min = 40; }},
      {Pattern::sleeping, "present_fraction", [](domain::Occupancy& o) { o.present_fraction = 0.5; }},
      {Pattern::sleeping, "dwell", [](domain::Occupancy& o) { o.dwell_min = 15; }},
  }};
  for (const KeyCase& c : cases) {
    domain::Occupancy occupancy;
    occupancy.pattern = c.pattern;
    occupancy.people = 2;
    occupancy.arrivals_per_h = 1;
    occupancy.dwell_min = 10;
    occupancy.bookings_per_day = 2;
    const auto there = [&] {
      const IntervalSet month({{0, 28 * kDay}});
      Presence p = simulate_presence(occupancy, month, kNoSaving, 9, 0, "room");
      p.people.insert(p.people.end(), p.sleepers.begin(), p.sleepers.end());
      return p.people;
    };
    const std::vector<IntervalSet> before = there();
    c.change(occupancy);
    EXPECT_NE(before, there()) << static_cast<int>(c.pattern) << " " << c.key;
  }
}

TEST(RoundTheClock, EveryPatternRunsThroughTheNight) {
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4, 5, 6}, 0, kDay}};
  const IntervalSet open = open_time(calendar, with_saving());
  ASSERT_EQ(open.size(), 1U);
  for (const Pattern pattern : {Pattern::desks, Pattern::shared, Pattern::circulation, Pattern::bookings,
                                Pattern::timetable, Pattern::sleeping, Pattern::none}) {
    for (const double people : {1.0, 3.0}) {
      domain::Occupancy occupancy;
      occupancy.pattern = pattern;
      occupancy.people = people;
      occupancy.arrivals_per_h = 2.0;
      occupancy.dwell_min = 20.0;
      occupancy.bookings_per_day = 12.0;
      occupancy.first_lesson_s = 0;
      const Presence p = simulate_presence(occupancy, open, with_saving(), 9, 0, "room");
      std::array<Seconds, 2> used_s{};  // 00:00 to 06:00 and 10:00 to 16:00
      for (Seconds day = 0; day < 365; ++day)
        for (std::size_t part = 0; part < 2; ++part) {
          const Seconds begin = day * kDay + (part == 0 ? 0 : 10) * kHour;
          used_s.at(part) += intersected(p.any, IntervalSet({{begin, begin + 6 * kHour}})).measure();
        }
      const double night = static_cast<double>(used_s[0]) / static_cast<double>(used_s[1]);
      EXPECT_GT(night, 0.8) << static_cast<int>(pattern);
      // People who sleep here are in the room by night and in and out by day.
      const double most = pattern == Pattern::sleeping ? 4.0 : 1.25;
      EXPECT_LT(night, most) << static_cast<int>(pattern);
      EXPECT_TRUE(subtracted(p.any, kWholeYear).empty());
    }
  }
}

// --- wasted light
// ----------------------------------------------------------------------------------------------

// Share of light that burns for nobody when it is left on in all open hours, and what is saved of it with a
// delay: D. VonNeida, D. Maniccia, A. Tweed, IES paper 43, 2000, logs of 158 rooms. The 5-minute figures of
// restroom, classroom and conference room are confirmed, all others from memory. 0.15 is the spread between
// buildings of one type in published field results (assumption from their ranges).
constexpr double kSpread = 0.15;
/// What one kind of space saves, without delay, with 5 min and with 20 min.
struct Logged {
  double share = 0.0;  ///< negative: not published
  published::Side side{};
  const char* why_outside = nullptr;  ///< null: within the spread
};
struct WasteCase {
  const char* kind;
  domain::Occupancy occupancy;  // of the library's kind of space
  std::array<Logged, 3> logged;
  Logged fall_5_to_20min;  // that may be 0.08 to 0.20 (assumption, a little wider than the logs)
  double least_20min;      // beyond these a model is wrong (assumption, a little wider than the field)
  double most_5min;
};

domain::Occupancy of_kind(Pattern pattern, double people, double per_h, double dwell_min, double per_day) {
  domain::Occupancy occupancy;
  occupancy.pattern = pattern;
  occupancy.people = people;
  occupancy.arrivals_per_h = per_h;
  occupancy.dwell_min = dwell_min;
  occupancy.bookings_per_day = per_day;
  if (pattern == Pattern::timetable) occupancy.no_show_fraction = 0.05;
  return occupancy;
}

/// Of the open hours of a year, saved with a delay of 0, 5 and 20 min.
std::array<double, 3> saved_shares(const domain::Occupancy& occupancy) {
  domain::Calendar calendar;
  calendar.hours = {{{0, 1, 2, 3, 4}, 8 * kHour, 18 * kHour}};
  const IntervalSet open = open_time(calendar, kNoSaving);
  std::array<double, 3> saved{};
  const std::array<Seconds, 3> delays = {0, 300, 1200};
  for (std::size_t d = 0; d < 3; ++d)
    saved[d] = over_replicates(24, [&](std::uint32_t r) {
                 const IntervalSet any = simulate_presence(occupancy, open, kNoSaving, 7, r, "room").any;
                 return static_cast<double>(subtracted(open, any.extended(delays[d], kYear)).measure()) /
                        static_cast<double>(open.measure());
               }).mean;
  return saved;
}

TEST(WastedLight, FallsWithTheDelayAsLoggedByKindOfSpace) {
  using published::Side;
  domain::Occupancy often_away;  // what the logged curve of private offices implies
  often_away.present_fraction = 0.5;
  often_away.absence_min = 49.0;
  const Logged unknown{-1.0};
  const char* steady =
      "steady arrivals leave few gaps as long as the delay; the logs pool 42 rooms of other traffic "
      "(inference)";
  const char* evenings =
      "light that stayed on in the evening, or fewer lessons than six a day, would explain the logs "
      "(inference)";
  const char* off_between =
      "the base here is light left on all day; logged light was presumably off for part of the "
      "time in which nobody met (inference)";
  const std::array<WasteCase, 6> cases = {
      {{"restroom",
        of_kind(Pattern::shared, 1, 6, 3.5, 0),
        {{{0.68}, {0.60, Side::below, steady}, {0.47, Side::below, steady}}},
        {0.14, Side::above, steady},
        0.0,
        1.0},
       {"classroom",
        of_kind(Pattern::timetable, 25, 0.25, 15, 6),
        {{{0.63, Side::below, evenings}, {0.58, Side::below, evenings}, {0.52, Side::below, evenings}}},
        unknown,
        0.05,
        0.65},
       {"conference room",
        of_kind(Pattern::bookings, 6, 0, 60, 4),
        {{{0.57}, {0.50, Side::above, off_between}, {0.39, Side::above, off_between}}},
        {0.14, Side::below,
         "bookings of an hour and more are followed by gaps of half an hour and more, longer than either "
         "delay; "
         "just below the limit"},
        0.0,
        1.0},
       {"break room", of_kind(Pattern::shared, 2, 4, 10, 0), {{unknown, {0.29}, {0.17}}}, unknown, 0.0, 1.0},
       {"private office", {}, {{unknown, {0.38}, {0.28}}}, unknown, 0.20, 0.55},
       {"private office, often away", often_away, {{unknown, {0.38}, {0.28}}}, unknown, 0.20, 0.55}}};
  const std::string source = "VonNeida et al. 2000, logs of 158 rooms";
  constexpr std::array<int, 3> kDelays_min = {0, 5, 20};
  const auto compare = [&](const std::string& quantity, const Logged& logged, double computed,
                           double spread) {
    if (logged.share < 0.0) return;
    if (logged.why_outside == nullptr)
      EXPECT_PUBLISHED(source, quantity, "", logged.share, computed, spread);
    else
      EXPECT_OUTSIDE_PUBLISHED(source, quantity, "", logged.share, computed, spread, logged.side,
                               logged.why_outside);
  };
  for (const WasteCase& c : cases) {
    const std::array<double, 3> saved = saved_shares(c.occupancy);
    for (std::size_t d = 0; d < 3; ++d)
      compare(fmt::format("light saved in a {}, left on in open hours, {} min", c.kind, kDelays_min[d]),
              c.logged[d], saved[d], kSpread);
    compare(fmt::format("fall of what is saved in a {}, 5 to 20 min", c.kind), c.fall_5_to_20min,
            saved[1] - saved[2], 0.06);
    EXPECT_GT(saved[0], saved[1]) << c.kind;
    EXPECT_GT(saved[1], saved[2]) << c.kind;
    EXPECT_GE(saved[2], c.least_20min) << c.kind;
    EXPECT_LE(saved[1], c.most_5min) << c.kind;
  }
}

// --- habits
// ----------------------------------------------------------------------------------------------------

/// Mean of what is saved of 500 lx by people who dim, over the days on which somebody comes.
double saved_by_dimming(const PreferredLight& preferred) {
  constexpr double kMost_lx = 500.0;
  // One person a day, each day another of many, so that a year holds many preferences.
  return over_replicates(24,
                         [&](std::uint32_t r) {
                           std::vector<IntervalSet> people;
                           for (Seconds day = 0; day < 365; ++day)
                             people.emplace_back(
                                 std::vector<Interval>{{day * kDay + 9 * kHour, day * kDay + 17 * kHour}});
                           double saved = 0.0;
                           for (const double lx : preferred_light(people, 7, r, "room", preferred))
                             if (lx > 0.0) saved += (1.0 - std::min(lx, kMost_lx) / kMost_lx) / 365.0;
                           return saved;
                         })
      .mean;
}

TEST(PreferredLight, IsLognormalAndSavesAsInLaboratoryAndField) {
  std::vector<double> logs;
  std::vector<IntervalSet> people;
  for (Seconds day = 0; day < 365; ++day)
    people.emplace_back(std::vector<Interval>{{day * kDay + 9 * kHour, day * kDay + 17 * kHour}});
  PreferredLight always;
  always.dims_on_a_day = 1.0;
  for (std::uint32_t r = 0; r < 20; ++r)
    for (const double lx : preferred_light(people, 3, r, "room", always)) logs.push_back(std::log(lx));
  const auto count = static_cast<double>(logs.size());
  ASSERT_EQ(logs.size(), 7300U);
  const double mean = std::accumulate(logs.begin(), logs.end(), 0.0) / count;
  const double within =
      static_cast<double>(std::count_if(
          logs.begin(), logs.end(), [](double x) { return x >= std::log(200.0) && x <= std::log(500.0); })) /
      count;
  // Four standard errors.
  EXPECT_NEAR(mean, std::log(380.0), 4.0 * std::log(1.5) / std::sqrt(count));
  EXPECT_NEAR(within, 0.694, 4.0 * std::sqrt(0.694 * 0.306 / count));  // closed form of the lognormal law

  EXPECT_PUBLISHED("Newsham et al. 2008, 40 people in a daylit laboratory, against a fixed 500 lx",
                   "saved by people who dim every day, 500 lx at most", "", 0.25, saved_by_dimming(always),
                   0.10);
  EXPECT_PUBLISHED("Newsham et al. 2007, 86 desks in use, individual dimming alone",
                   "saved by people who dim on half of the days, 500 lx at most", "", 0.11,
                   saved_by_dimming({}), 0.05);
}

TEST(PreferredLight, StaysWithThePersonWhoComesFirst) {
  // Two people take turns; each keeps a preference, and nobody comes on the last days.
  std::vector<Interval> even;
  std::vector<Interval> odd;
  for (Seconds day = 0; day < 360; ++day)
    (day % 2 == 0 ? even : odd).push_back({day * kDay + 8 * kHour, day * kDay + 16 * kHour});
  const std::vector<IntervalSet> people = {IntervalSet(even), IntervalSet(odd)};
  PreferredLight steady;
  steady.dims_on_a_day = 1.0;
  steady.anew_a_day = 0.0;
  const std::vector<double> chosen = preferred_light(people, 1, 0, "room", steady);
  ASSERT_EQ(chosen.size(), 365U);
  EXPECT_NE(chosen[0], chosen[1]);
  for (std::size_t day = 0; day < 360; ++day) EXPECT_EQ(chosen[day], chosen[day % 2]);
  EXPECT_EQ(chosen[362], 0.0);
  // Another person changes nobody's choice on the days on which they are not first.
  std::vector<IntervalSet> three = people;
  three.emplace_back(std::vector<Interval>{{10 * kDay + kHour, 10 * kDay + 2 * kHour}});
  const std::vector<double> with_third = preferred_light(three, 1, 0, "room", steady);
  for (std::size_t day = 0; day < 365; ++day) {
    if (day == 10) continue;
    EXPECT_EQ(with_third[day], chosen[day]);
  }
  EXPECT_NE(with_third[10], chosen[10]);
}

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
