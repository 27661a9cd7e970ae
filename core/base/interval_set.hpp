#pragma once
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace halflight {

/// Integer seconds from 1 January 00:00 local standard time (base/time_axis.hpp).
using Seconds = std::int64_t;

struct Interval {
  Seconds begin = 0;
  Seconds end = 0;  ///< not included
  friend bool operator==(const Interval&, const Interval&) = default;
};

/// Disjoint, ordered, non-touching half-open intervals: presence, lit time, schedules.
/// Every operation is linear in the number of intervals.
class IntervalSet {
 public:
  IntervalSet() = default;
  /// Sorts, drops empty ones and joins what touches or overlaps.
  explicit IntervalSet(std::vector<Interval> intervals);

  [[nodiscard]] const std::vector<Interval>& intervals() const { return intervals_; }
  [[nodiscard]] bool empty() const { return intervals_.empty(); }
  [[nodiscard]] std::size_t size() const { return intervals_.size(); }
  [[nodiscard]] Seconds measure() const;
  [[nodiscard]] bool contains(Seconds t) const;
  /// Each interval lengthened at its end by `delay` >= 0 seconds (what a vacancy delay does), clipped at
  /// `limit`.
  [[nodiscard]] IntervalSet extended(Seconds delay, Seconds limit) const;

  friend IntervalSet united(const IntervalSet& a, const IntervalSet& b);
  friend IntervalSet intersected(const IntervalSet& a, const IntervalSet& b);
  /// a without b.
  friend IntervalSet subtracted(const IntervalSet& a, const IntervalSet& b);
  friend bool operator==(const IntervalSet&, const IntervalSet&) = default;

 private:
  std::vector<Interval> intervals_;
};

IntervalSet united(const IntervalSet& a, const IntervalSet& b);
IntervalSet united(std::span<const IntervalSet> sets);
IntervalSet intersected(const IntervalSet& a, const IntervalSet& b);
IntervalSet subtracted(const IntervalSet& a, const IntervalSet& b);

}  // namespace halflight
