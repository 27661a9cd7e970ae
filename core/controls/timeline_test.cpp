#include "controls/timeline.hpp"

#include "controls/group_timeline_test.hpp"
#include "published.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

using By = domain::OnRule::By;
using Levels = std::vector<LevelSegment>;

const IntervalSet kNone;
const IntervalSet kAlways({{0, kYear}});

/// A room for a test: what is not set is absent.
struct Room {
  domain::Sequence sequence;
  IntervalSet motion;
  IntervalSet presence;
  IntervalSet open;
  IntervalSet cleaning;
  double normal_level = 1.0;
  struct Scene {
    double use_fraction;
    double level;
  };
  std::vector<Scene> scenes;
  std::vector<const IntervalSet*> scene_when;
  HandHabits habits;
  double daylight_lx = 0.0;
  IntervalSet asleep;
  std::uint32_t replicate = 0;
  Seconds horizon = kDay;

  /// The timeline of one group of the room.
  struct Run {
    Levels levels;
    [[nodiscard]] const LevelSegment& at(Seconds t) const {
      return *std::find_if(levels.begin(), levels.end(), [&](const LevelSegment& s) { return t < s.end; });
    }
    [[nodiscard]] IntervalSet lit() const {
      std::vector<Interval> above_off;
      for (const LevelSegment& s : levels)
        if (s.level > 0.0) above_off.push_back({s.begin, s.end});
      return IntervalSet(std::move(above_off));
    }
  };
  [[nodiscard]] Run run() const {
    const IntervalSet all_motion = united(motion, cleaning);
    const IntervalSet all_people = united(presence, cleaning);
    Hands hands(
        all_people, habits, [this](Seconds) { return daylight_lx; }, {1, 2}, replicate);
    TimelineInputs in{
        .sequence = sequence, .motion = all_motion, .hands = hands, .open = open, .cleaning = cleaning};
    in.asleep = &asleep;
    in.scene_when = scene_when;
    std::vector<double> use;
    std::vector<double> scene_levels;
    for (const Scene& scene : scenes) {
      use.push_back(scene.use_fraction);
      scene_levels.push_back(scene.level);
    }
    in.scene_use = use;
    in.key = {1, 2};
    in.replicate = replicate;
    in.horizon = horizon;
    return {levels_of(base_timeline(in), GroupLevels(sequence, normal_level, scene_levels))};
  }
  [[nodiscard]] Levels levels() const { return run().levels; }
  /// Levels only, neighbours joined.
  [[nodiscard]] std::vector<std::pair<Seconds, double>> steps() const {
    std::vector<std::pair<Seconds, double>> found;
    for (const LevelSegment& s : levels())
      if (found.empty() || found.back().second != s.level) found.emplace_back(s.begin, s.level);
    return found;
  }
};
using Steps = std::vector<std::pair<Seconds, double>>;

/// Occupancy on and off with everybody seen.
Room sensed(std::vector<Interval> stays, double delay_s, double warning_s = 0.0) {
  Room room;
  room.motion = room.presence = IntervalSet(std::move(stays));
  room.sequence.on.by = By::occupancy;
  room.sequence.vacancy = domain::VacancyRule{};
  room.sequence.vacancy->delay_s = delay_s;
  room.sequence.vacancy->warning_s = warning_s;
  return room;
}

/// Switched by hand, with fixed probabilities.
Room by_hand(std::vector<Interval> stays, double on, double off) {
  Room room;
  room.motion = room.presence = IntervalSet(std::move(stays));
  room.sequence.on.by = By::hand;
  room.habits.on_at_arrival = [on](double) { return on; };
  room.habits.off_at_departure = [off](Seconds) { return off; };
  room.habits.on_while_staying_below = room.habits.on_while_staying_above = 0.0;
  return room;
}

/// Alternating renewal with exponential stays and absences, present first.
std::vector<Interval> renewal(double stay_s, double absence_s, Seconds horizon, std::uint32_t replicate) {
  std::vector<Interval> stays;
  double t = 0.0;
  for (std::uint32_t k = 0; t < static_cast<double>(horizon); ++k) {
    const auto [a, b] = random_uniform_pair({77, 1}, {replicate, 0, 0, k});
    const double end = t - stay_s * std::log(a);
    stays.push_back({static_cast<Seconds>(t), static_cast<Seconds>(end)});
    t = end - absence_s * std::log(b);
  }
  return stays;
}

// --- occupancy
// -------------------------------------------------------------------------------------------------

TEST(Occupancy, MotionLightsAtOnceAndTheDelayRunsFromItsEnd) {  // OCC-1, OCC-2
  const Room room = sensed({{1000, 1500}}, 600);
  EXPECT_EQ(room.levels(), (Levels{{0, 1000, 0.0, Cause::not_switched_on},
                                   {1000, 1500, 1.0, Cause::on_by_motion},
                                   {1500, 2100, 1.0, Cause::waiting},
                                   {2100, kDay, 0.0, Cause::off_vacant}}));
}

TEST(Occupancy, LevelStaysBelowTheNormalScene) {  // OCC-1
  Room room = sensed({{1000, 1500}}, 600);
  room.normal_level = 0.6;
  EXPECT_EQ(room.run().at(1200).level, 0.6);
  room.sequence.on.level = 0.8;  // partial-on above the scene
  room.habits.on_at_arrival = [](double) { return 0.0; };
  EXPECT_EQ(room.run().at(1200).level, 0.6);
}

TEST(Occupancy, WaitsLessAfterABriefVisit) {  // OCC-18
  Room room = sensed({{1000, 1030}, {5000, 5200}, {9000, 9030}, {9060, 9200}}, 600);
  room.sequence.vacancy->brief_visit_s = 120.0;
  room.sequence.vacancy->brief_delay_s = 60.0;
  // A look in; a visit; and one that begins with a look in and goes on within the short delay.
  EXPECT_EQ(room.steps(),
            (Steps{{0, 0.0}, {1000, 1.0}, {1090, 0.0}, {5000, 1.0}, {5800, 0.0}, {9000, 1.0}, {9800, 0.0}}));
  room.sequence.vacancy->brief_delay_s = 3600.0;
  EXPECT_EQ(room.run().lit(), sensed({{1000, 1030}, {5000, 5200}, {9000, 9200}}, 600).run().lit())
      << "never longer than the delay";
}

TEST(Occupancy, AVisitToASteppedRoomIsAVisitOfItsOwn) {  // OCC-18
  Room room = sensed({{1000, 1500}, {5000, 5030}}, 600);
  room.sequence.vacancy->step_level = 0.2;
  room.sequence.vacancy->brief_visit_s = 120.0;
  room.sequence.vacancy->brief_delay_s = 60.0;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2100, 0.2}, {5000, 1.0}, {5090, 0.2}}));
}

TEST(Occupancy, BriefVisitsPassedAtOnceChangeNothing) {  // OCC-18
  Room room = sensed(renewal(40.0, 90.0, kDay, 3), 300, 30);
  room.sequence.vacancy->brief_visit_s = 60.0;
  room.sequence.vacancy->brief_delay_s = 100.0;
  const IntervalSet all = room.motion;
  Hands hands(
      all, room.habits, [](Seconds) { return 0.0; }, {1, 2}, 0);
  TimelineInputs in{
      .sequence = room.sequence, .motion = all, .hands = hands, .open = kNone, .cleaning = kNone};
  in.horizon = kDay;
  in.with_causes = false;
  const GroupLevels levels(room.sequence, 1.0, {});
  std::vector<Interval> lit;
  for (const LevelSegment& s : levels_of(base_timeline(in), levels))
    if (s.level > 0.0) lit.push_back({s.begin, s.end});
  EXPECT_EQ(IntervalSet(lit), room.run().lit());
}

TEST(Occupancy, StepsDownAndThenGoesOff) {  // OCC-3
  Room room = sensed({{1000, 1500}}, 600);
  room.sequence.vacancy->step_level = 0.4;
  room.sequence.vacancy->off_after_s = 900;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2100, 0.4}, {3000, 0.0}}));
  room.sequence.vacancy->off_after_s = -1;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2100, 0.4}}));
  EXPECT_EQ(room.run().at(50000).cause, Cause::stepped_down);
}

TEST(Occupancy, MotionRestoresFromDelayDipAndStep) {  // OCC-5
  Room room = sensed({{1000, 1500}, {2000, 2001}}, 600, 30);
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2571, 0.5}, {2601, 0.0}}));
  room = sensed({{1000, 1500}, {2080, 2081}}, 600, 30);  // within the dip
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2070, 0.5}, {2080, 1.0}, {2651, 0.5}, {2681, 0.0}}));
  room = sensed({{1000, 1500}, {5000, 5001}}, 600, 0);
  room.sequence.vacancy->step_level = 0.3;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2100, 0.3}, {5000, 1.0}, {5601, 0.3}}));
}

TEST(Occupancy, WarningIsOneDipWithinTheDelay) {  // OCC-6
  Room room = sensed({{1000, 1500}}, 600, 30);
  EXPECT_EQ(room.levels(), (Levels{{0, 1000, 0.0, Cause::not_switched_on},
                                   {1000, 1500, 1.0, Cause::on_by_motion},
                                   {1500, 2070, 1.0, Cause::waiting},
                                   {2070, 2100, 0.5, Cause::warning},
                                   {2100, kDay, 0.0, Cause::off_vacant}}));
  room.sequence.vacancy->delay_s = 20;  // shorter than the warning
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {1500, 0.5}, {1520, 0.0}}));
  room.sequence.vacancy->delay_s = 600;
  room.sequence.vacancy->step_level = 0.4;  // no warning of the step, one of the off
  room.sequence.vacancy->off_after_s = 300;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2100, 0.4}, {2370, 0.2}, {2400, 0.0}}));
}

TEST(Occupancy, PartialOnWaitsForAHandAndVacancyClearsIt) {  // OCC-7
  Room room = sensed({{1000, 4000}, {4300, 5000}, {20000, 21000}}, 600);
  room.sequence.on.level = 0.5;
  room.habits.on_while_staying_below = room.habits.on_while_staying_above = 0.0;
  room.habits.on_at_arrival = [](double) { return 0.0; };
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 0.5}, {5600, 0.0}, {20000, 0.5}, {21600, 0.0}}));
  EXPECT_EQ(room.run().at(2000).cause, Cause::partly_by_motion);
  room.habits.on_at_arrival = [](double) { return 1.0; };
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {5600, 0.0}, {20000, 1.0}, {21600, 0.0}}));
  EXPECT_EQ(room.run().at(2000).cause, Cause::raised_by_hand);
  // A limit in time lets it fall back.
  room.sequence.manual = domain::ManualRule{{}, domain::ManualRule::HoldsUntil::time_limit, 1200};
  EXPECT_EQ(room.run().at(2199).level, 1.0);
  EXPECT_EQ(room.run().at(2200).level, 0.5);
}

TEST(Occupancy, WithoutDelayLightIsMotionToTheSecond) {  // OCC-8
  const Room room = sensed({{7, 8}, {10, 12}, {100, 161}, {86390, 86400}}, 0, 30);
  EXPECT_EQ(room.run().lit(), room.motion);
}

TEST(Occupancy, EmptyRoomStaysDark) {  // OCC-10
  EXPECT_EQ(sensed({}, 600).levels(), (Levels{{0, kDay, 0.0, Cause::not_switched_on}}));
  EXPECT_EQ(by_hand({}, 1.0, 0.0).levels(), (Levels{{0, kDay, 0.0, Cause::not_switched_on}}));
}

TEST(Occupancy, MidnightIsNoEvent) {  // OCC-11
  Room room = sensed({{kDay - 100, kDay + 50}}, 600);
  room.horizon = 2 * kDay;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {kDay - 100, 1.0}, {kDay + 650, 0.0}}));
  // Nor is the end of the horizon: the delay is cut there.
  room.horizon = kDay + 200;
  EXPECT_EQ(room.levels().back().end, kDay + 200);
  EXPECT_EQ(room.levels().back().cause, Cause::waiting);
}

TEST(Occupancy, AStepAboveTheSceneDoesNotRaise) {  // OCC-12
  Room room = sensed({{1000, 1500}}, 600);
  room.normal_level = 0.2;
  room.sequence.vacancy->step_level = 0.4;
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 0.2}}));
}

TEST(Occupancy, WithoutVacancyRuleAnEmptyRoomKeepsItsLight) {  // OCC-13
  Room room = sensed({{1000, 1500}}, 600);
  room.sequence.vacancy.reset();
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}}));
  EXPECT_EQ(room.run().at(5000).cause, Cause::left_on);
}

TEST(Occupancy, ALongerDelayNeverLowersLitTime) {  // OCC-9, HND-4
  domain::VacancyRule step;
  step.step_level = 0.3;
  step.off_after_s = 1200;
  for (std::uint32_t r = 0; r < 20; ++r) {
    for (const By by : {By::hand, By::occupancy, By::schedule, By::always}) {
      for (const bool stepped : {false, true}) {
        Room room = by_hand(renewal(1500, 1500, 4 * kDay, r), 0.6, 0.3);
        room.habits.on_while_staying_below = 0.05;
        room.replicate = r;
        room.horizon = 4 * kDay;
        room.open = IntervalSet({{8 * kHour, 18 * kHour}, {kDay + 8 * kHour, kDay + 18 * kHour}});
        room.sequence.on.by = by;
        room.sequence.on.level = 0.5;
        if (r % 2 == 1) room.sequence.schedule = domain::ScheduleRule{};
        room.sequence.vacancy = stepped ? step : domain::VacancyRule{};
        Room::Run before;
        for (const double delay : {0.0, 1.0, 29.0, 300.0, 900.0, 1200.0, 4000.0}) {
          room.sequence.vacancy->delay_s = delay;
          const Room::Run now = room.run();
          if (delay > 0.0) {
            EXPECT_TRUE(subtracted(before.lit(), now.lit()).empty())
                << "replicate " << r << " delay " << delay;
          }
          before = now;
        }
      }
    }
  }
}

TEST(Occupancy, SavingOfADelayFollowsTheClosedForm) {  // OCC-2
  // Against light left on: occupied for a share rho, exponential vacancies of mean v: (1 - rho) exp(-tau /
  // v).
  struct Row {
    double rho, vacancy_min, delay_min, saved;
  };
  for (const Row& row : {Row{0.70, 30, 5, 0.254}, Row{0.70, 30, 20, 0.154}, Row{0.50, 49, 10, 0.408},
                         Row{0.35, 61, 5, 0.599}, Row{0.35, 61, 20, 0.468}}) {
    const double v = row.vacancy_min * 60.0;
    const double exact = (1.0 - row.rho) * std::exp(-row.delay_min / row.vacancy_min);
    EXPECT_NEAR(exact, row.saved, 0.0006);
    double sum = 0.0;
    double squares = 0.0;
    constexpr int kRuns = 24;
    for (std::uint32_t r = 0; r < kRuns; ++r) {
      Room room = sensed(renewal(v * row.rho / (1.0 - row.rho), v, kYear, r), row.delay_min * 60.0, 30);
      room.horizon = kYear;
      const double saved = 1.0 - static_cast<double>(room.run().lit().measure()) / static_cast<double>(kYear);
      sum += saved;
      squares += saved * saved;
    }
    const double mean = sum / kRuns;
    const double four_sigma = 4.0 * std::sqrt((squares / kRuns - mean * mean) / (kRuns - 1));
    EXPECT_PUBLISHED("closed form (1 - p) exp(-d / v): occupied for a share p, vacancies v, delay d",
                     fmt::format("saving of switching off when vacant, p = {}, v = {} min, d = {} min",
                                 row.rho, row.vacancy_min, row.delay_min),
                     "", exact, mean, four_sigma);
    EXPECT_LT(four_sigma, 0.01);
  }
}

// --- people whom no sensor notices
// -----------------------------------------------------------------------------------------------

/// Somebody stays from 1000 s to 9000 s and is noticed only at `noticed`.
Room unnoticed(std::vector<Interval> noticed, double warning_s, double heeds) {
  Room room = sensed({}, 600.0, warning_s);
  room.motion = IntervalSet(std::move(noticed));
  room.presence = IntervalSet({{1000, 9000}});
  room.habits.heeds_dip = heeds;
  room.habits.answers_after_s = 10;
  return room;
}

TEST(Unnoticed, PeopleLoseTheLightAndBringItBack) {  // OCC-14
  const Room room = unnoticed({{1000, 1001}, {8000, 8001}}, 0.0, 0.0);
  // Off 600 s after the movement, back when they wave 10 s later; and so on until the sensor sees more.
  Steps expected = {{0, 0.0}, {1000, 1.0}};
  Seconds off = 1601;
  for (; off < 8000; off += 610) {
    expected.push_back({off, 0.0});
    expected.push_back({off + 10, 1.0});
  }
  expected.push_back({8601, 0.0});
  expected.push_back({8611, 1.0});
  expected.push_back({9211, 0.0});  // nobody is there to wave
  EXPECT_EQ(room.steps(), expected);
}

TEST(Unnoticed, WhoeverHeedsADipKeepsTheLight) {  // OCC-15
  const Room heeding = unnoticed({{1000, 1001}}, 30.0, 1.0);
  const Steps steps = heeding.steps();
  // Each dip lasts the 10 s until somebody moves; nothing goes off while they are there.
  ASSERT_GT(steps.size(), 6U);
  EXPECT_EQ(steps[2], (std::pair<Seconds, double>{1571, 0.5}));
  EXPECT_EQ(steps[3], (std::pair<Seconds, double>{1581, 1.0}));
  for (const auto& [at, level] : steps)
    if (at >= 1000 && at < 9000) {
      EXPECT_GT(level, 0.0) << at;
    }
  const Room heedless = unnoticed({{1000, 1001}}, 30.0, 0.0);
  const Steps without = heedless.steps();
  EXPECT_EQ(without[3], (std::pair<Seconds, double>{1601, 0.0}));
}

TEST(Sleepers, WhoTurnsOverIsLeftInTheDark) {  // OCC-16
  Room room = sensed({{1000, 2000}}, 300);
  room.motion = IntervalSet({{1000, 2000}, {5000, 5001}, {9000, 9500}});
  room.asleep = IntervalSet({{2000, 9000}});
  // Turning over at 5000 s switches nothing on; who wakes and moves at 9000 s has light.
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {2300, 0.0}, {9000, 1.0}, {9800, 0.0}}));
  room.asleep = {};
  EXPECT_EQ(room.steps(),
            (Steps{{0, 0.0}, {1000, 1.0}, {2300, 0.0}, {5000, 1.0}, {5301, 0.0}, {9000, 1.0}, {9800, 0.0}}));
}

TEST(Sleepers, KeepLightThatIsOnAndWhoComesGoesToTheSwitch) {  // OCC-16
  Room room = sensed({{1000, 1200}, {5000, 5600}}, 300);
  room.asleep = IntervalSet({{1100, 9000}});
  room.habits.on_at_arrival = [](double) { return 1.0; };
  room.habits.answers_after_s = 10;
  // Light that is on follows the delay; somebody who comes at 5000 s is noticed and switches on by hand.
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {1500, 0.0}, {5010, 1.0}, {5900, 0.0}}));
  EXPECT_EQ(room.run().at(5020).cause, Cause::on_by_hand);
  room.habits.on_at_arrival = [](double) { return 0.0; };
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 1.0}, {1500, 0.0}}));
}

TEST(Dimmed, HoldsForAsLongAsItIsChosenBelowScenesAndSteps) {  // HND-7
  Room room = sensed({{1000, 3000}}, 600);
  room.sequence.vacancy->step_level = 0.2;
  room.sequence.vacancy->off_after_s = 300.0;
  const Hands no_hands(room.presence, room.habits, {}, {1, 2}, 0);
  Hands hands = no_hands;
  const std::vector<LoweredFrom> lowered = {
      {0, std::uint16_t{3}}, {2000, std::nullopt}, {2500, std::uint16_t{0}}};
  TimelineInputs in{.sequence = room.sequence,
                    .motion = room.motion,
                    .hands = hands,
                    .open = room.open,
                    .cleaning = room.cleaning,
                    .lowered = lowered,
                    .horizon = kDay};
  // No stored scene: the steps of the dimmer stand first.
  const std::vector<double> steps = {0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9};
  const GroupLevels levels(room.sequence, 1.0, steps);
  const Levels expected = {{0, 1000, 0.0, Cause::not_switched_on}, {1000, 2000, 0.4, Cause::lowered_by_hand},
                           {2000, 2500, 1.0, Cause::on_by_motion}, {2500, 3000, 0.1, Cause::lowered_by_hand},
                           {3000, 3600, 0.1, Cause::waiting},      {3600, 3900, 0.2, Cause::stepped_down},
                           {3900, kDay, 0.0, Cause::off_vacant}};
  EXPECT_EQ(levels_of(base_timeline(in), levels), expected);
}

TEST(Unnoticed, AreCounted) {
  Room room = unnoticed({{1000, 1001}}, 30.0, 0.0);
  Hands hands(room.presence, room.habits, {}, {1, 2}, 0);
  const TimelineInputs in{.sequence = room.sequence,
                          .motion = room.motion,
                          .hands = hands,
                          .open = room.open,
                          .cleaning = room.cleaning,
                          .horizon = kDay};
  const Timeline timeline = base_timeline(in);
  // From 1001 s to 9000 s one loss each 610 s: at 1601, 2211, ... 8921.
  EXPECT_EQ(timeline.taken_from_people, 13);
  EXPECT_EQ(timeline.dips_on_people, 13);
}

TEST(Unnoticed, GoToTheSwitchWhereHandsSwitchOnAndDaylightIsPoor) {  // OCC-14
  Room room = unnoticed({{1000, 1001}}, 0.0, 0.0);
  room.sequence.on.by = By::hand;
  room.habits.on_at_arrival = [](double) { return 1.0; };
  EXPECT_EQ(room.steps()[2], (std::pair<Seconds, double>{1601, 0.0}));
  EXPECT_EQ(room.steps()[3], (std::pair<Seconds, double>{1611, 1.0}));
  room.habits.on_at_arrival = [first = true](double) mutable {
    return std::exchange(first, false) ? 1.0 : 0.0;
  };
  room.habits.on_while_staying_below = room.habits.on_while_staying_above = 0.0;
  EXPECT_EQ(room.steps().back(), (std::pair<Seconds, double>{1601, 0.0}));
}

/// Segments follow one another from 0 to the horizon.
void expect_no_gap_or_overlap(const Levels& levels, Seconds horizon) {
  Seconds at = 0;
  for (const LevelSegment& s : levels) {
    ASSERT_EQ(s.begin, at);
    ASSERT_GT(s.end, s.begin);
    at = s.end;
  }
  EXPECT_EQ(at, horizon);
}

TEST(Unnoticed, ANeverNoticedPersonWavesAllYear) {  // OCC-14
  Room room = unnoticed({}, 0.0, 0.0);
  room.presence = kAlways;
  room.horizon = kYear;
  // Off at 0, waved on at 10 s, off again 600 s later.
  const Levels levels = room.levels();
  expect_no_gap_or_overlap(levels, kYear);
  EXPECT_EQ(levels.size(), static_cast<std::size_t>(2 * (kYear / 610) + 2));
}

TEST(Unnoticed, ComingsAndGoingsLeaveNoGapOrOverlap) {
  for (std::uint32_t r = 0; r < 20; ++r)
    for (const double warning_s : {0.0, 30.0, 700.0})
      for (const double step_level : {0.0, 0.3}) {
        Room room = unnoticed(renewal(1.0, 900.0, kDay, r), warning_s, 0.5);
        room.presence = IntervalSet(renewal(1500.0, 700.0, kDay, 100 + r));
        room.cleaning = IntervalSet({{70000, 71000}});
        room.sequence.vacancy->step_level = step_level;
        room.sequence.vacancy->off_after_s = 300.0;
        room.replicate = r;
        expect_no_gap_or_overlap(room.levels(), kDay);
      }
}

TEST(Unnoticed, AreNotThereForASensorThatComesLate) {  // OCC-1
  Room room = unnoticed({{1003, 1004}}, 0.0, 0.0);
  EXPECT_EQ(room.steps()[1], (std::pair<Seconds, double>{1003, 1.0}));
}

TEST(Unnoticed, RaisePartialLightOnceTheyAreNoticed) {  // OCC-7
  Room room = unnoticed({{1003, 1004}}, 0.0, 0.0);
  room.sequence.on.level = 0.5;
  room.habits.on_at_arrival = [](double) { return 1.0; };
  EXPECT_EQ(room.steps()[1], (std::pair<Seconds, double>{1003, 1.0}));
  room.habits.on_at_arrival = [](double) { return 0.0; };
  room.habits.on_while_staying_below = room.habits.on_while_staying_above = 0.0;
  EXPECT_EQ(room.steps()[1], (std::pair<Seconds, double>{1003, 0.5}));
}

// --- by hand
// ---------------------------------------------------------------------------------------------------

TEST(ByHand, MotionNeverRaisesFromOff) {  // OCC-4
  Room room = by_hand({{1000, 1500}, {30000, 31000}}, 0.0, 0.0);
  room.sequence.vacancy = domain::VacancyRule{};
  EXPECT_TRUE(room.run().lit().empty());
  // Lit by hand at first; after the off the next motion leaves it dark.
  room.presence = IntervalSet({{1000, 1500}});
  room.habits.on_at_arrival = [](double) { return 1.0; };
  room.sequence.vacancy->delay_s = 600;
  EXPECT_EQ(room.run().lit(), IntervalSet({{1000, 2100}}));
}

TEST(ByHand, ArrivalDecidesByTheDaylightOfTheSecond) {  // HND-1
  std::vector<Interval> stays;
  for (Seconds t = 1000; t < kYear - 2000; t += 7200) stays.push_back({t, t + 600});
  Room room = by_hand(stays, 1.0, 1.0);
  room.horizon = kYear;
  room.daylight_lx = 150.0;
  room.habits.on_at_arrival = [](double lux) { return lux == 150.0 ? 0.18 : 1.0; };
  const double n = static_cast<double>(stays.size());
  const double lit = static_cast<double>(room.run().lit().size()) / n;
  EXPECT_NEAR(lit, 0.18, 4.0 * std::sqrt(0.18 * 0.82 / n));
}

TEST(ByHand, WhoStaysReconsidersEveryFiveMinutes) {  // HND-2
  Room room = by_hand({{1000, 5000}}, 0.0, 1.0);
  room.habits.on_while_staying_below = 1.0;
  EXPECT_EQ(room.run().lit(), IntervalSet({{1200, 5000}}));
  room.daylight_lx = 1000.0;  // the other side of the threshold
  EXPECT_TRUE(room.run().lit().empty());

  // The wait is geometric: 0.02 a step.
  double steps = 0.0;
  constexpr int kRuns = 2000;
  room.daylight_lx = 0.0;
  room.habits.on_while_staying_below = 0.02;
  room.motion = room.presence = IntervalSet({{0, 10 * kDay}});
  room.horizon = 10 * kDay;
  for (std::uint32_t r = 0; r < kRuns; ++r) {
    room.replicate = r;
    const IntervalSet lit = room.run().lit();
    steps += static_cast<double>(lit.intervals().at(0).begin / 300);
  }
  EXPECT_PUBLISHED("geometric distribution, mean 1 / 0.02",
                   "wait for a switch-on with a chance of 0.02 a step", "steps", 50.0, steps / kRuns,
                   4.0 * 50.0 / std::sqrt(kRuns));  // standard deviation close to the mean
}

TEST(ByHand, DepartureAsksByTheLengthOfAbsence) {  // HND-3
  Room room = by_hand({{1000, 2000}, {3000, 4000}, {20000, 21000}}, 1.0, 0.0);
  room.habits.off_at_departure = [](Seconds absence) { return absence >= 16000 ? 1.0 : 0.0; };
  EXPECT_EQ(room.run().lit(), IntervalSet({{1000, 4000}, {20000, 21000}}));
  EXPECT_EQ(room.run().at(4000).cause, Cause::off_by_hand);
  EXPECT_EQ(room.run().at(2500).cause, Cause::left_on);
  // Automatic rooms with a vacancy rule are left to it; without one people may switch off.
  room.sequence.on.by = By::occupancy;
  EXPECT_EQ(room.run().at(4000).cause, Cause::off_by_hand);
  room.sequence.vacancy = domain::VacancyRule{};
  EXPECT_EQ(room.run().at(4000).cause, Cause::waiting);
}

TEST(ByHand, SequencesThatPartStillGetTheSameAnswers) {  // HND-4
  Room with = by_hand(renewal(2000, 4000, 20 * kDay, 3), 0.5, 0.5);
  with.horizon = 20 * kDay;
  Room without = with;
  with.sequence.vacancy = domain::VacancyRule{};
  // Whatever is lit with the sensor is lit without it.
  EXPECT_TRUE(subtracted(with.run().lit(), without.run().lit()).empty());
  EXPECT_LT(with.run().lit().measure(), without.run().lit().measure());
}

TEST(ByHand, CleanersSwitchOn) {  // HND-5
  Room room = by_hand({}, 0.0, 1.0);
  room.cleaning = IntervalSet({{70000, 70600}});
  room.daylight_lx = 5000.0;
  EXPECT_EQ(room.levels(), (Levels{{0, 70000, 0.0, Cause::not_switched_on},
                                   {70000, 70600, 1.0, Cause::cleaning},
                                   {70600, kDay, 0.0, Cause::off_by_hand}}));
}

TEST(ByHand, ScenesTakeTheirShareOfHours) {  // HND-6
  Room room = sensed({{0, kYear}}, 600);
  room.horizon = kYear;
  room.normal_level = 0.9;
  room.scenes = {{0.25, 0.4}, {0.10, 0.0}};
  double at_scene = 0.0;
  double at_dark = 0.0;
  for (const LevelSegment& s : room.levels()) {
    EXPECT_EQ(s.begin % kHour, 0);
    EXPECT_EQ(s.cause == Cause::scene, s.level != 0.9);
    if (s.level == 0.4) at_scene += static_cast<double>(s.end - s.begin) / kYear;
    if (s.level == 0.0) at_dark += static_cast<double>(s.end - s.begin) / kYear;
  }
  EXPECT_NEAR(at_scene, 0.25, 4.0 * std::sqrt(0.25 * 0.75 / 8760));
  EXPECT_NEAR(at_dark, 0.10, 4.0 * std::sqrt(0.10 * 0.90 / 8760));
  // Vacancy clears the scene: the step counts from the normal one.
  room = sensed({{1000, 1500}}, 600);
  room.sequence.vacancy->step_level = 0.3;
  room.scenes = {{1.0, 0.1}};
  EXPECT_EQ(room.steps(), (Steps{{0, 0.0}, {1000, 0.1}, {2100, 0.3}}));
}

TEST(ByHand, AScenesShareIsOfTheTimesAtWhichItCanBeCalled) {  // HND-6
  Room room = sensed({{0, kYear}}, 600);
  room.horizon = kYear;
  room.normal_level = 0.9;
  room.scenes = {{1.0, 0.4}, {0.5, 0.2}};
  // The first from 09:30 to 11:10 of every day, the other at any time: then the first has the room alone.
  std::vector<Interval> mornings;
  for (Seconds day = 0; day < kYear; day += kDay) mornings.push_back({day + 34200, day + 40200});
  const IntervalSet when(mornings);
  room.scene_when = {&when, nullptr};
  std::vector<Interval> first;
  double at_other = 0.0;
  for (const LevelSegment& s : room.levels()) {
    if (s.level == 0.4) first.push_back({s.begin, s.end});
    if (s.level == 0.2) at_other += static_cast<double>(s.end - s.begin);
  }
  EXPECT_EQ(IntervalSet(first), when);
  const double left = static_cast<double>(kYear - when.measure());
  EXPECT_NEAR(at_other / left, 0.5, 4.0 * std::sqrt(0.25 / 8760));
}

// --- schedule
// --------------------------------------------------------------------------------------------------

Room scheduled(double before, double after) {
  Room room;
  room.sequence.on.by = By::schedule;
  room.sequence.schedule = domain::ScheduleRule{"week", before, after};
  room.open = IntervalSet({{32400, 61200}});
  return room;
}

TEST(Schedule, LightsFromBeforeOpeningToAfterClosing) {  // SCH-1, SCH-4
  Room room = scheduled(900, 1800);
  EXPECT_EQ(room.levels(), (Levels{{0, 31500, 0.0, Cause::not_switched_on},
                                   {31500, 62970, 1.0, Cause::on_by_schedule},
                                   {62970, 63000, 0.5, Cause::sweep_warning},
                                   {63000, kDay, 0.0, Cause::off_by_schedule}}));
  room.sequence.schedule.reset();  // switched on by a schedule that has no rule: the open hours
  EXPECT_EQ(room.run().lit(), room.open);
}

TEST(Schedule, SweepsWhateverHadSwitchedOn) {  // SCH-2
  Room room = by_hand({{40000, 41000}}, 1.0, 0.0);
  room.open = IntervalSet({{32400, 61200}});
  room.sequence.schedule = domain::ScheduleRule{};
  EXPECT_EQ(room.run().lit(), IntervalSet({{40000, 61200}}));
  room = sensed({{40000, 41000}}, 40000);
  room.open = IntervalSet({{32400, 61200}});
  room.sequence.schedule = domain::ScheduleRule{};
  EXPECT_EQ(room.run().lit(), IntervalSet({{40000, 61200}}));
  EXPECT_EQ(room.run().at(61200).cause, Cause::off_by_schedule);
  room.sequence.on.by = By::always;
  room.sequence.vacancy.reset();
  EXPECT_EQ(room.run().lit(), room.open);
  EXPECT_EQ(room.run().at(50000).cause, Cause::always_on);
}

TEST(Schedule, WhoIsThereAfterHoursHoldsTheLight) {  // SCH-3
  Room room = scheduled(0, 0);
  room.motion = room.presence = IntervalSet({{70000, 70500}});
  EXPECT_EQ(room.run().lit(), IntervalSet({{32400, 61200}, {70000, 77200}}));
  EXPECT_EQ(room.run().at(71000).cause, Cause::override_by_hand);
  // Who stays past closing presses then, and again while there: two times two hours.
  room.motion = room.presence = IntervalSet({{60000, 61200 + 8000}});
  EXPECT_EQ(room.run().lit(), IntervalSet({{32400, 61200 + 14400}}));
  // Vacancy ends it sooner.
  room.sequence.vacancy = domain::VacancyRule{};
  room.sequence.vacancy->delay_s = 600;
  EXPECT_EQ(room.run().lit().intervals().back().end, 61200 + 8600);
  room.sequence.schedule->override_s = 0;
  EXPECT_EQ(room.run().lit().intervals().back().end, 61200);
}

TEST(Schedule, VacancyActsInOpenHoursAndMotionBringsBack) {  // SCH-5
  Room room = scheduled(0, 0);
  room.motion = room.presence = IntervalSet({{40000, 40100}});
  room.sequence.vacancy = domain::VacancyRule{};
  room.sequence.vacancy->delay_s = 600;
  room.sequence.vacancy->warning_s = 0;
  EXPECT_EQ(room.run().lit(), IntervalSet({{32400, 33000}, {40000, 40700}}));
  room.sequence.vacancy->step_level = 0.2;
  EXPECT_EQ(room.run().at(35000).level, 0.2);
  EXPECT_EQ(room.run().at(40050).level, 1.0);
}

TEST(Schedule, WithoutSweepsNothingIsSwitchedOff) {  // SCH-6
  Room room = scheduled(0, 0);
  room.sequence.schedule->sweeps_off = false;
  EXPECT_EQ(room.run().lit(), IntervalSet({{32400, kDay}}));
}

// --- form
// ------------------------------------------------------------------------------------------------------

TEST(Timeline, CoversTheHorizonWithoutGaps) {
  Room room = sensed(renewal(600, 900, 30 * kDay, 1), 300, 30);
  room.horizon = 30 * kDay;
  room.scenes = {{0.2, 0.5}};
  const Levels all = room.levels();
  EXPECT_EQ(all.front().begin, 0);
  EXPECT_EQ(all.back().end, room.horizon);
  for (std::size_t i = 1; i < all.size(); ++i) {
    EXPECT_EQ(all[i].begin, all[i - 1].end);
    EXPECT_TRUE(all[i].level != all[i - 1].level || all[i].cause != all[i - 1].cause);
  }
  for (int c = 0; c <= static_cast<int>(Cause::left_on); ++c)
    EXPECT_FALSE(std::string(words_of(static_cast<Cause>(c))).empty());
}

TEST(Busy, BriefGapsPassedAtOnceChangeNothing) {
  // Cleaners among those who are there change nothing where nobody decides by hand, but the walk stops at
  // each of their comings and goings: the reference.
  for (std::uint32_t k = 0; k < 200; ++k) {
    const auto u = [&](std::uint32_t question) { return random_uniform({31, k}, {0, 0, question, 0}); };
    Room room;
    room.horizon = 3 * kDay;
    room.open = IntervalSet({{8 * kHour, 18 * kHour}, {kDay + 8 * kHour, kDay + 18 * kHour}});
    if (u(0) < 0.5) room.cleaning = IntervalSet({{19 * kHour, 19 * kHour + 900}});
    room.sequence.on.by = u(1) < 0.4 ? By::occupancy : u(1) < 0.7 ? By::schedule : By::always;
    if (u(2) < 0.8) {
      room.sequence.vacancy.emplace();
      room.sequence.vacancy->delay_s = 60.0 + std::floor(600.0 * u(3));
      room.sequence.vacancy->warning_s = u(4) < 0.5 ? 0.0 : 30.0;
      room.sequence.vacancy->step_level = u(5) < 0.5 ? 0.0 : 0.3;
      room.sequence.vacancy->off_after_s = u(6) < 0.5 ? -1.0 : 1200.0;
    }
    if (u(7) < 0.5) {
      room.sequence.schedule.emplace();
      room.sequence.schedule->sweeps_off = true;
    }
    if (u(10) < 0.5) room.scenes = {{0.3, 0.5}, {0.2, 0.0}};
    std::vector<Interval> passages;
    Seconds t = 0;
    for (std::uint32_t i = 0; t < room.horizon; ++i) {
      const auto [gap, stay] = random_uniform_pair({31, k}, {0, 0, 8, i});
      t += 1 + static_cast<Seconds>(-400.0 * u(9) * std::log(gap));
      const Seconds begin = t;
      t += 1 + static_cast<Seconds>(60.0 * stay);
      passages.push_back({begin, t});
    }
    room.motion = room.presence = IntervalSet(passages);
    Room stopping = room;
    stopping.cleaning = united(room.motion, room.cleaning);
    const Levels reference = stopping.levels();
    EXPECT_EQ(room.levels(), reference) << "room " << k;
    // The same when sensors and people are one set rather than two alike.
    const IntervalSet everybody = united(room.motion, room.cleaning);
    Hands hands(everybody, {}, {}, {1, 2}, 0);
    TimelineInputs one{.sequence = room.sequence,
                       .motion = everybody,
                       .hands = hands,
                       .open = room.open,
                       .cleaning = room.cleaning};
    one.key = {1, 2};
    one.horizon = room.horizon;
    std::vector<double> use;
    std::vector<double> scene_levels;
    for (const Room::Scene& scene : room.scenes) {
      use.push_back(scene.use_fraction);
      scene_levels.push_back(scene.level);
    }
    one.scene_use = use;
    const GroupLevels own(room.sequence, 1.0, scene_levels);
    EXPECT_EQ(levels_of(base_timeline(one), own), reference) << "room " << k;
    // Told without causes, the levels are the same.
    one.with_causes = false;
    Levels joined;
    for (const LevelSegment& s : reference) {
      if (!joined.empty() && joined.back().level == s.level)
        joined.back().end = s.end;
      else
        joined.push_back({s.begin, s.end, s.level});
    }
    EXPECT_EQ(levels_of(base_timeline(one), own), joined) << "room " << k;
  }
}

}  // namespace
}  // namespace halflight::controls
