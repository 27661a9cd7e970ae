#pragma once
#include "base/interval_set.hpp"
#include "energy/power_curve.hpp"

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace halflight::energy {

/// Neighbouring steps of the clock that a series holds values for. Daylight series leave the nights out.
struct SeriesRun {
  Seconds begin = 0;  ///< a whole number of steps
  Seconds end = 0;
  std::size_t first = 0;  ///< index in the series of the step at `begin`
};

/// Some time of the year laid out on the steps of a series: whole steps in runs, parts of steps one by one,
/// and what lies outside the series as a sum. Exact to the second.
class TimeInSteps {
 public:
  /// `runs`: in ascending order, not overlapping; must outlive this. step_s > 0.
  TimeInSteps(std::span<const SeriesRun> runs, Seconds step_s) : series_(runs), step_s_(step_s) {}

  /// Adds [begin, end), which must not lie before anything added.
  void add(Seconds begin, Seconds end);

  struct Run {
    std::uint32_t first = 0;
    std::uint32_t last = 0;  ///< not included
  };
  struct Part {
    std::uint32_t index = 0;
    double seconds = 0.0;
  };
  [[nodiscard]] std::span<const Run> whole_steps() const { return runs_; }
  [[nodiscard]] std::span<const Part> parts() const { return parts_; }
  /// Seconds in steps that the series does not hold.
  [[nodiscard]] double outside_s() const { return static_cast<double>(outside_); }
  [[nodiscard]] Seconds total_s() const { return total_; }
  [[nodiscard]] Seconds step_s() const { return step_s_; }

 private:
  std::span<const SeriesRun> series_;
  Seconds step_s_;
  std::size_t at_ = 0;  // run of the series that the next piece may begin in
  std::vector<Run> runs_;
  std::vector<Part> parts_;
  Seconds outside_ = 0;
  Seconds total_ = 0;
  void add_within(const SeriesRun& run, Seconds begin, Seconds end);
};

/// What a group draws over some time.
struct Drawn {
  double watt_seconds = 0.0;  ///< while on
  double lit_s = 0.0;         ///< above off
};

/// A group that asks for `level` (fraction of full output) throughout `time`.
Drawn drawn_at(std::span<const PowerCurve> curves, double level, Seconds time);

/// The same where daylight leaves no more than `limit_of_full[k]` in step k of the series (0: switched off)
/// and nothing limits outside it: the sum of P(min(level, limit)). Its order of summation is fixed.
Drawn drawn_under_limit(std::span<const PowerCurve> curves, double level, const TimeInSteps& time,
                        std::span<const double> limit_of_full);

}  // namespace halflight::energy
