// A room second by second, in code of its own: people, timers and loops as devices on the bus would run them,
// against timelines that walk from edge to edge and loops that are settled every five minutes.
#include "base/random.hpp"
#include "controls/daylight_loop.hpp"
#include "controls/group_timeline_test.hpp"
#include "published.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

namespace halflight::controls {
namespace {

constexpr Seconds kStep_s = 300;
constexpr Seconds kDays = 28;
constexpr Seconds kHorizon = kDays * kDay;
constexpr double kRange_lx = 400.0;

/// P = P_rated (a + (1 - a) f) while on.
double watts(double level) { return level > 0.0 ? 40.0 * (0.05 + 0.95 * level) : 0.0; }

/// Stays of some minutes to hours, absences of some minutes to an hour, from eight to six.
IntervalSet people() {
  std::vector<Interval> stays;
  for (Seconds day = 0; day < kDays; ++day) {
    Seconds t = day * kDay + 8 * kHour;
    for (std::uint32_t k = 0;; ++k) {
      const auto [a, b] = random_uniform_pair({5, 6}, {0, static_cast<std::uint32_t>(day), 0, k});
      t += 60 + static_cast<Seconds>(3000.0 * a * a);
      const Seconds end = t + 30 + static_cast<Seconds>(5400.0 * b * b);
      if (end > day * kDay + 18 * kHour) break;
      stays.push_back({t, end});
      t = end;
    }
  }
  return IntervalSet(stays);
}

/// Daylight on the tasks by five-minute step, lx: a bright bow with clouds, 0 at night.
std::vector<double> sky(double noon_lx) {
  std::vector<double> lx(static_cast<std::size_t>(kHorizon / kStep_s), 0.0);
  double cloud = 0.5;
  for (std::size_t k = 0; k < lx.size(); ++k) {
    const double hour = static_cast<double>(k % 288) / 12.0;
    const double u = random_uniform({7, 8}, {0, 0, 0, static_cast<std::uint32_t>(k)});
    cloud = std::clamp(cloud + 0.4 * (u - 0.5), 0.1, 1.0);
    lx[k] = std::max(0.0, std::sin((hour - 6.5) / 11.5 * 3.14159265)) * noon_lx * cloud;
    if (hour < 6.5 || hour > 18.0) lx[k] = 0.0;
  }
  return lx;
}

/// Groups of one room and what governs them.
struct Room {
  struct Group {
    Method method = Method::closed_loop_proportional;
    std::size_t sensor = 0;
    double task_lx = 500.0;  ///< of its own light, at full output
    double day_ratio = 0.16;
    double minimum = 0.1;
    bool may_switch_off = false;
    double share_of_sky = 1.0;  ///< daylight on its task
  };
  std::vector<Group> groups;
  std::vector<std::vector<double>> seen;  // [sensor][group], lx at full output
  std::vector<double> daylight_seen;      // [sensor], lx per lux of the sky
  double noon_lx = 900.0;
  double delay_s = 600.0;

  double night_lx(std::size_t sensor) const {
    double lx = 0.0;
    for (const double one : seen[sensor]) lx += one;
    return lx;
  }
};

/// Edges of a group's output above off: instant, and whether it comes on.
using Events = std::vector<std::pair<Seconds, bool>>;

struct Year {
  double wh = 0.0;
  std::vector<Events> events;  // by group
};

/// The devices: each second a motion sensor with its delay and dip, a clock that sweeps, and for every group
/// a controller that reads its photosensor, knows what its own lamps add, and fades towards what its law asks
/// for.
Year by_second(const Room& room, const IntervalSet& motion) {
  const std::vector<double> daylight = sky(room.noon_lx);
  const std::size_t n = room.groups.size();
  std::vector<double> loop(n, 1.0);
  std::vector<double> output(n, 0.0);
  std::vector<Seconds> low_for(n, 0);
  std::vector<bool> off(n, false);
  Year year;
  year.events.resize(n);
  const auto read = [](double lx) {
    return std::round(std::clamp(lx / kRange_lx, 0.0, 1.0) * 4095.0) * kRange_lx / 4095.0;
  };
  auto stay = motion.intervals().begin();
  std::optional<Seconds> last_motion;  // first second after it
  double watt_seconds = 0.0;
  for (Seconds t = 0; t < kHorizon; ++t) {
    while (stay != motion.intervals().end() && stay->end <= t) ++stay;
    const bool moving = stay != motion.intervals().end() && stay->begin <= t;
    if (moving) last_motion = t + 1;
    const auto delay = static_cast<Seconds>(room.delay_s);
    const bool called = last_motion && t < *last_motion + delay;
    const bool dip = called && !moving && t >= *last_motion + delay - 30;
    const double sequence = !called ? 0.0 : dip ? 0.5 : 1.0;
    // Loops go on reading while the lamps are off; each corrects for what its own lamps add.
    std::vector<double> next = loop;
    for (std::size_t i = 0; i < n; ++i) {
      const Room::Group& group = room.groups[i];
      double signal = room.daylight_seen[group.sensor] * daylight[static_cast<std::size_t>(t / kStep_s)];
      for (std::size_t j = 0; j < n; ++j)
        signal += room.seen[group.sensor][j] * (called ? output[j] : loop[j]);
      const double own = room.seen[group.sensor][i];
      const double others = read(signal) - own * (called ? output[i] : loop[i]);
      const double night = room.night_lx(group.sensor);
      double asked = 0.0;
      if (group.method == Method::integral_reset) {
        asked = (night - others) / own;
      } else {
        // level = 1 + M (own level + others - night), solved for the level.
        const double m = -1.0 / (group.task_lx * (group.day_ratio - own / group.task_lx));
        asked = (1.0 + m * (others - night)) / (1.0 - m * own);
      }
      if (group.may_switch_off) {
        if (asked <= -0.5) {
          if (low_for[i] >= 600) off[i] = true;
          ++low_for[i];
        } else {
          low_for[i] = 0;
          if (asked > 0.0) off[i] = false;
        }
      }
      // Ten seconds over all of the output.
      next[i] =
          off[i] ? 0.0 : loop[i] + std::clamp(std::clamp(asked, group.minimum, 1.0) - loop[i], -0.1, 0.1);
      if (!off[i]) next[i] = std::max(next[i], group.minimum);
    }
    loop = next;
    for (std::size_t i = 0; i < n; ++i) {
      const double before = output[i];
      output[i] = std::min(sequence, loop[i]);
      if ((before > 0.0) != (output[i] > 0.0)) year.events[i].emplace_back(t, output[i] > 0.0);
      watt_seconds += watts(output[i]);
    }
  }
  year.wh = watt_seconds / 3600.0;
  return year;
}

/// The same by what the product runs.
Year by_edges(const Room& room, const IntervalSet& motion) {
  const std::size_t n = room.groups.size();
  domain::Sequence sequence;
  sequence.on.by = domain::OnRule::By::occupancy;
  sequence.vacancy = domain::VacancyRule{};
  sequence.vacancy->delay_s = room.delay_s;
  sequence.vacancy->warning_s = 30.0;
  sequence.vacancy->warning_level = 0.5;
  Hands hands(motion, {}, {}, {1, 2}, 0);
  const IntervalSet always({{0, kYear}});
  const IntervalSet never;
  TimelineInputs inputs{sequence, motion, hands, always, never};
  inputs.horizon = kHorizon;
  const auto segments = halflight::controls::levels_of(base_timeline(inputs), GroupLevels(sequence, 1.0, {}));

  std::vector<Loop> loops;
  std::vector<double> matrix;
  const std::vector<double> daylight = sky(room.noon_lx);
  std::vector<std::vector<float>> signals(n);
  std::vector<std::vector<double>> levels(n, std::vector<double>(daylight.size()));
  for (std::size_t i = 0; i < n; ++i) {
    const Room::Group& group = room.groups[i];
    CalibrationInputs in;
    in.method = group.method;
    in.own_signal_lx = room.seen[group.sensor][i];
    in.own_task_lx = group.task_lx;
    in.night_signal_lx = room.night_lx(group.sensor);
    in.set_by_day = CalibrationInputs::Day{100.0 * group.day_ratio, 100.0, 0.0};
    domain::DaylightRule rule;
    rule.method = group.method;
    rule.minimum_level = group.minimum;
    rule.may_switch_off = group.may_switch_off;
    rule.fade_s_per_tenth = 1.0;
    loops.push_back(make_loop(rule, calibrate(in), 1.0, kRange_lx));
    loops.back().night_signal_lx = room.night_lx(group.sensor);
    for (const double one : room.seen[group.sensor]) matrix.push_back(one);
    for (const double lx : daylight)
      signals[i].push_back(static_cast<float>(room.daylight_seen[group.sensor] * lx));
  }
  EXPECT_FALSE(examine_coupling(loops, matrix).hunts());
  std::vector<std::span<const float>> in;
  std::vector<std::span<double>> out;
  for (std::size_t i = 0; i < n; ++i) {
    in.emplace_back(signals[i]);
    out.emplace_back(levels[i]);
  }
  run_loops(loops, matrix, in, std::vector<double>(n, 0.0), kStep_s, out);

  Year year;
  year.events.resize(n);
  double watt_seconds = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    bool lit = false;
    for (const LevelSegment& s : segments)
      for (Seconds t = s.begin; t < s.end;) {
        const Seconds until = std::min(s.end, (t / kStep_s + 1) * kStep_s);
        const double level = std::min(s.level, levels[i][static_cast<std::size_t>(t / kStep_s)]);
        watt_seconds += watts(level) * static_cast<double>(until - t);
        if ((level > 0.0) != lit) year.events[i].emplace_back(t, lit = level > 0.0);
        t = until;
      }
  }
  year.wh = watt_seconds / 3600.0;
  return year;
}

constexpr const char* kSeconds = "the same room simulated second by second, in the test";

TEST(OneSecond, SequenceAndOneLoopAgreeInEnergyAndInEverySwitching) {  // OCC-2, OCC-6, DIM-6
  Room room;
  room.groups = {{Method::closed_loop_proportional, 0, 500.0, 0.16, 0.1, true}};
  room.seen = {{50.0}};
  room.daylight_seen = {0.16};
  room.noon_lx = 1600.0;
  const IntervalSet motion = people();
  const Year seconds = by_second(room, motion);
  const Year edges = by_edges(room, motion);
  EXPECT_PUBLISHED(kSeconds, "four weeks of a delay and a closed loop that may go off: energy", "Wh",
                   seconds.wh, edges.wh, published::relative(0.005));
  EXPECT_EQ(edges.events, seconds.events);
  EXPECT_GT(edges.events[0].size(), 200U);
  // Some are by daylight: more than arrivals and departures alone would make.
  room.groups[0].may_switch_off = false;
  EXPECT_NE(by_edges(room, motion).events, edges.events);
}

TEST(OneSecond, TwoPhotosensorsWithThreeCoupledGroupsAgree) {  // DIM-7
  Room room;
  // Two rows by the window share a photosensor; the inner row has its own and sees the others' light.
  room.groups = {{Method::closed_loop_proportional, 0, 400.0, 0.22, 0.1, false},
                 {Method::closed_loop_proportional, 0, 300.0, 0.26, 0.05, false},
                 {Method::closed_loop_proportional, 1, 500.0, 0.18, 0.1, true}};
  room.seen = {{40.0, 25.0, 10.0}, {8.0, 15.0, 50.0}};
  room.daylight_seen = {0.18, 0.11};
  room.noon_lx = 1100.0;
  const IntervalSet motion = people();
  const Year seconds = by_second(room, motion);
  const Year edges = by_edges(room, motion);
  EXPECT_PUBLISHED(kSeconds, "four weeks of two photosensors and three coupled groups: energy", "Wh",
                   seconds.wh, edges.wh, published::relative(0.005));
  for (std::size_t i = 0; i < 3; ++i) EXPECT_EQ(edges.events[i], seconds.events[i]) << "group " << i;
}

TEST(OneSecond, LoopsThatHuntSwingAndAreReported) {  // DIM-7
  // Each sees the other's light more than its own. Devices that correct at once, once a second, swing from
  // limit to limit for ever; the product says beforehand that they hunt.
  constexpr std::array<double, 4> kSeen = {50.0, 60.0, 60.0, 50.0};
  Loop loop;
  loop.method = Method::integral_reset;
  loop.night_signal_lx = 110.0;
  loop.minimum_level = 0.1;
  const std::array<Loop, 2> loops = {loop, loop};
  const Coupling coupling = examine_coupling(loops, kSeen);
  EXPECT_TRUE(coupling.hunts());
  EXPECT_GT(coupling.spectral_radius, 1.0);
  std::array<double, 2> level = {1.0, 1.0};
  double least = 1.0;
  double most = 0.0;
  for (int second = 0; second < 3600; ++second) {
    std::array<double, 2> next{};
    for (std::size_t i = 0; i < 2; ++i)
      next[i] = std::clamp((110.0 - 50.0 - 60.0 * level[1 - i]) / 50.0, 0.1, 1.0);
    level = next;
    if (second < 3000) continue;
    least = std::min(least, level[0]);
    most = std::max(most, level[0]);
  }
  EXPECT_EQ(least, 0.1);
  EXPECT_EQ(most, 1.0);
  // With less than half of the light from the other group they come to rest.
  EXPECT_FALSE(examine_coupling(loops, std::array<double, 4>{50.0, 20.0, 20.0, 50.0}).hunts());
}

}  // namespace
}  // namespace halflight::controls
