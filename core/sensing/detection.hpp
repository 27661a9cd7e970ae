#pragma once
#include "base/interval_set.hpp"
#include "base/random.hpp"
#include "domain/control.hpp"
#include "domain/space.hpp"
#include "geometry/vector.hpp"
#include "sensing/coverage.hpp"

#include <cstdint>
#include <span>
#include <vector>

// What occupancy sensors notice of people in time (docs/methods/occupancy_detection.md). Somebody who stays
// is either busy or still, for exponential times; in each state movements come as a Poisson process, and each
// is noticed with the chance that its place has (coverage.hpp, Sight).

namespace halflight::sensing {

/// Movements of one person a minute.
struct Movements {
  double minor = 0.0;
  double major = 0.0;
};

/// How somebody who stays in a room moves. No measured distribution of the time between movements of seated
/// people was found: all figures are assumptions.
struct Activity {
  Movements busy;
  Movements still;
  double busy_min = 20.0;  ///< mean length of a busy bout
  double still_min = 8.0;  ///< mean length of a still one; 0: never still
};
/// Desk work, reading, meetings: two small movements a minute, a large one in seven minutes; while still, a
/// tenth of that.
Activity seated_activity();
/// Fetching, sorting, mending: on one's feet all the time.
Activity standing_activity();
/// Asleep: two small movements an hour.
Activity sleeping_activity();

/// Movements that people make while they walk, a second: a cell of the test of NEMA WD 7 (0.91 m) at its pace
/// of 1.2 m/s.
inline constexpr double kWalk_m_s = 1.2;
inline constexpr double kWalkedCells_per_s = kWalk_m_s / 0.91;

/// How often the sensors of one group notice one person at a place.
struct NoticeRates {
  double busy_per_min = 0.0;
  double still_per_min = 0.0;
  double walking_per_s = 0.0;  ///< on the way between door and place
  double way_s = 0.0;          ///< the time that the way takes
};
/// `sights`: of the sensors that report to the group; `place`: in plan.
NoticeRates notice_rates(std::span<const Sight> sights, const domain::Space& space, const Activity& activity,
                         Point2 place);
/// The same for somebody who walks about the whole room: noticed as at a random place of the floor.
NoticeRates notice_rates_about(std::span<const Sight> sights, const domain::Space& space);

/// Times an hour that one person alone goes unnoticed for longer than `delay_s`, while present all the time:
/// `[B_b l_b, B_s l_s] / (B_b + B_s) expm(A tau) [1, 1]`, the rate at which gaps that long occur in a Poisson
/// process whose rate alternates (Markov-modulated; algebra of two exponentials).
double unnoticed_per_hour(const Activity& activity, const NoticeRates& rates, double delay_s);

/// One person before the sensors of a group.
struct Watched {
  const IntervalSet* stays = nullptr;
  RandomKey key;  ///< of the person: the same movements meet every sensor and every design
  Activity activity;
  /// Of the places where the person may be, one drawn for each stay; one: a seat of one's own.
  std::span<const NoticeRates> places;
};

/// Which of `places` the person is at from `stay_begin` on.
std::size_t place_of_stay(RandomKey key, std::uint32_t replicate, Seconds stay_begin, std::size_t places);

/// What of the gaps between movements has to be exact: all of them, or those of ten seconds, two or ten
/// minutes and more. Shorter gaps may then be filled, which spares nearly all draws.
enum class Grain : std::uint8_t { every_movement, ten_seconds, two_minutes, ten_minutes };
/// The coarsest that still tells each gap of `answered_s` and more.
Grain grain_for(double answered_s);

/// When anything was noticed, in whole seconds. Linear in the minutes of presence.
IntervalSet noticed(std::span<const Watched> people, std::uint32_t replicate, Grain grain);

/// When a sensor reports somebody though nobody is there, one second each: warm air, sound, a draught. 0.2 a
/// day for infrared and dual, 0.5 for ultrasonic and microwave (assumptions), and `more_a_day`.
IntervalSet false_reports(const domain::OccupancySensor& sensor, std::uint32_t seed, std::uint32_t replicate,
                          double more_a_day = 0.0);

}  // namespace halflight::sensing
