#pragma once
#include "base/time_axis.hpp"
#include "domain/control.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

// Daylight-responsive loops: calibration and the level each loop settles to.
//
// One photosensor sees S = D + F + sum_j H_j level_j: daylight, groups that no loop moves, and groups that
// loops move; all in lx at the sensor. Levels here are fractions of *full* output; at night a loop stands at
// `maximum_level`, the high-end trim. The laws are those of F. Rubinstein, G. Ward, R. Verderber, IEEE Trans.
// Ind. Appl. 25(6), 1989; with G the task illuminance per unit of level and r the signal per lux at the task:
//   integral reset             S = S_night
//   open-loop proportional     level = maximum + gain S,              gain = -1 / (G r_day)
//   closed-loop proportional   level = maximum + gain (S - S_night),  gain = -1 / (G (r_day - r_night))
// A dual loop reads a second photosensor that sees daylight alone, S_open, and
//   level = maximum + gain q S_open,                                  gain = -1 / (G r_day)
// where q follows the ratio of the daylight that both photosensors read (see LearningChannel).

namespace halflight::controls {

using Method = domain::DaylightRule::Method;

struct Loop {
  Method method = Method::closed_loop_proportional;
  double night_signal_lx = 0.0;  ///< stored at night with everything at trim
  double gain = 0.0;             ///< level per lx at the sensor, not above 0; integral reset does not use it
  double minimum_level = 0.1;    ///< of full output; of a loop that only switches as `maximum_level`
  double maximum_level = 1.0;    ///< high-end trim
  bool may_switch_off = false;
  double range_lx = 2000.0;  ///< full scale of the sensor's 12-bit converter; dual loop: of the open one's
  /// The level stays while the loop asks for one within this share of `maximum_level` of it.
  double deadband = 0.0;
  double fade_s_per_tenth = 0.0;
  double open_share = 1.0;  ///< dual loop: q as commissioned

  /// Whether a step's level depends on the steps before it, switching off aside: a dual loop learns, a
  /// deadband holds, and a fade over all of the output that takes longer than a step lags.
  [[nodiscard]] bool remembers(Seconds step_s) const {
    return method == Method::dual_loop || deadband > 0.0 || fades_beyond(step_s);
  }
  [[nodiscard]] bool fades_beyond(Seconds step_s) const {
    return 10.0 * fade_s_per_tenth > static_cast<double>(step_s);
  }
};

/// What the converter reports: whole counts of range / 4095, saturated at both ends.
double quantised_lx(double signal_lx, double range_lx);

/// Daylight at the task from which a step of the year counts as daylit, lx.
inline constexpr double kDaylitFrom_lx = 10.0;

struct CalibrationInputs {
  Method method = Method::closed_loop_proportional;
  /// Daylight at the sensor and at the task over the occupied daylit steps of the year, same length. Steps
  /// with less than `daylit_from_lx` at the task are passed over.
  std::span<const float> daylight_signal_lx;
  std::span<const float> daylight_task_lx;
  double daylit_from_lx = kDaylitFrom_lx;
  double own_signal_lx = 0.0;    ///< at the sensor, per unit of the group's level (H_ii)
  double own_task_lx = 0.0;      ///< at the task, per unit of the group's level (G); above 0
  double night_signal_lx = 0.0;  ///< total with everything at trim
  double percentile = 95.0;  ///< of the signal-to-task ratio; high is bright and safe, low saves and darkens
  /// Dual loop: daylight at the open photosensor over the same steps.
  std::span<const float> open_signal_lx;
  /// Readings of daylight at one instant by day, which the loop is set with instead of the percentile.
  struct Day {
    double signal_lx = 0.0;
    double task_lx = 0.0;
    double open_signal_lx = 0.0;
  };
  std::optional<Day> set_by_day;
};

struct Calibration {
  double night_signal_lx = 0.0;
  double day_ratio = 0.0;    ///< r_day: signal per lux of daylight at the task, at the percentile
  double night_ratio = 0.0;  ///< r_night: signal per lux of electric light at the task
  double gain = 0.0;         ///< 0 when not usable: the loop then stays at its maximum
  double correlation = 0.0;  ///< R^2 of task daylight against daylight signal
  double open_share = 0.0;   ///< dual loop: q, daylight signal per lx of it at the open photosensor
  std::size_t steps = 0;     ///< daylit ones that it rests on
  /// closed loop: day ratio above night ratio (else more light would call for more light); open and dual
  /// loop: any daylight seen, by both sensors; reset: the group is seen. False also with fewer than two
  /// daylit steps, and for an instant by day with less than `daylit_from_lx`.
  bool usable = false;
};

Calibration calibrate(const CalibrationInputs& inputs);

/// `maximum_level`: the high-end trim in force; `range_lx`: of the photosensor. An unusable calibration gives
/// a loop that stays at its maximum. `only_switches`: its group can give all or nothing; the loop then stands
/// at full output, untrimmed, or is off where the rule lets it.
Loop make_loop(const domain::DaylightRule& rule, const Calibration& calibration, double maximum_level,
               double range_lx, bool only_switches = false);

/// The level that one loop asks for before its limits, alone with its group.
/// `other_signal_lx` is daylight plus what no loop moves, as quantised; of a dual loop at its open
/// photosensor, with q as commissioned.
double unlimited_level(const Loop& loop, double own_signal_lx, double other_signal_lx);
/// The same within the limits: it never leaves [minimum, maximum].
double settled_level(const Loop& loop, double own_signal_lx, double other_signal_lx);

/// Off when the loop has asked for less than minus `kOffMargin` of its maximum for `kOffHold` (daylight at
/// least 150 % of what the light gives); on again once it asks for more than nothing.
inline constexpr double kOffMargin = 0.5;
inline constexpr Seconds kOffHold = 600;

/// A loop through a series of equal steps: `levels[k]` is the settled level of step k, 0 where it has
/// switched off. `daylight_signal_lx` in lx at the sensor; `fixed_signal_lx`: from groups that no loop moves.
void run_loop(const Loop& loop, double own_signal_lx, std::span<const float> daylight_signal_lx,
              double fixed_signal_lx, Seconds step_s, std::span<double> levels);

/// Whether coupled loops have one settled state whatever the light.
struct Coupling {
  bool unique = true;  ///< every principal minor of the system is positive (a P-matrix)
  /// Of the change of all levels from one round of dead-beat answers to the next; 1 or more means that loops
  /// which answer at full speed swing.
  double spectral_radius = 0.0;
  [[nodiscard]] bool hunts() const { return !unique; }
};

/// Up to this many coupled loops uniqueness is decided exactly; beyond, by a sufficient condition.
inline constexpr std::size_t kMostLoopsSearched = 8;

/// `signal_matrix`: row i, column j: signal of loop i per unit level of loop j's group, row-major, n x n.
Coupling examine_coupling(std::span<const Loop> loops, std::span<const double> signal_matrix);

/// Levels of coupled loops for one instant. `other_signal_lx[i]`: daylight plus what no loop moves. Projected
/// Gauss-Seidel finds which loops stand at a limit; the others are then solved exactly. Where the state is
/// not unique (examine_coupling) the answer is the one reached from full light.
void settle(std::span<const Loop> loops, std::span<const double> signal_matrix,
            std::span<const double> other_signal_lx, std::span<double> levels);

/// What a dual loop learns q from: its closed photosensor, which sees daylight and the lamps.
///   S_day = S - (S_night - H maximum) - H level,    q <- q + (S_day / S_open - q) (1 - exp(-step / time))
/// in steps in which S_open has changed by `kDaylightChanged` and S_day / S_open lies within `kSceneChanged`
/// of q. A change at the closed photosensor alone (furniture, stock, people, a screen) so moves nothing.
struct LearningChannel {
  std::span<const float> daylight_lx;  ///< as the signals of the series
  double fixed_lx = 0.0;               ///< from groups that no loop moves
  std::vector<double> seen_lx;         ///< per unit level of each loop's group
  double range_lx = 2000.0;
};
/// Assumptions, all three: the step of the open signal that counts as a change of daylight, how far apart the
/// two photosensors may be before the scene is taken to have changed, and how long q takes to follow.
inline constexpr double kDaylightChanged = 0.02;
inline constexpr double kSceneChanged = 0.2;
inline constexpr Seconds kLearningTime = 3 * kDay;
/// Share of the open photosensor's range below which nothing is learnt: rounding would be more than 1 %.
inline constexpr double kLearnFrom = 0.02;

/// What loops that remember know beyond the light of a step.
struct Memories {
  /// One a loop; those of loops that are not dual are not looked at. Empty where none is.
  std::span<const LearningChannel> learning;
  /// Ascending indices of steps that the dark came before: loops begin them at their maximum.
  std::span<const std::size_t> mornings;
};

/// Coupled loops through a series. `daylight_signal_lx[i]` and `levels[i]` belong to loop i; signals of a
/// dual loop are those of its open photosensor. Without loops that remember, each step is settled by itself.
/// Where one does, bounds of a step are what the fade can reach in it, a level within its deadband stays, and
/// `levels` are means over the step.
void run_loops(std::span<const Loop> loops, std::span<const double> signal_matrix,
               std::span<const std::span<const float>> daylight_signal_lx,
               std::span<const double> fixed_signal_lx, Seconds step_s,
               std::span<const std::span<double>> levels, const Memories& memories = {});

}  // namespace halflight::controls
