#include "base/interval_set.hpp"

#include <algorithm>

namespace halflight {

namespace {
bool earlier(const Interval& a, const Interval& b) { return a.begin < b.begin; }
}  // namespace

IntervalSet::IntervalSet(std::vector<Interval> intervals) {
  std::erase_if(intervals, [](const Interval& i) { return i.end <= i.begin; });
  // Most come in order already: visits, extended sets, schedules.
  if (!std::is_sorted(intervals.begin(), intervals.end(), earlier))
    std::sort(intervals.begin(), intervals.end(), earlier);
  std::size_t kept = 0;
  for (const Interval& i : intervals) {
    if (kept > 0 && i.begin <= intervals[kept - 1].end) {
      intervals[kept - 1].end = std::max(intervals[kept - 1].end, i.end);
    } else {
      intervals[kept++] = i;
    }
  }
  intervals.resize(kept);
  intervals_ = std::move(intervals);
}

Seconds IntervalSet::measure() const {
  Seconds total = 0;
  for (const Interval& i : intervals_) total += i.end - i.begin;
  return total;
}

bool IntervalSet::contains(Seconds t) const {
  const auto after = std::upper_bound(intervals_.begin(), intervals_.end(), t,
                                      [](Seconds value, const Interval& i) { return value < i.begin; });
  return after != intervals_.begin() && t < std::prev(after)->end;
}

IntervalSet IntervalSet::extended(Seconds delay, Seconds limit) const {
  std::vector<Interval> longer = intervals_;
  for (Interval& i : longer) i.end = std::min(i.end + delay, limit);
  return IntervalSet(std::move(longer));
}

IntervalSet united(const IntervalSet& a, const IntervalSet& b) {
  std::vector<Interval> all(a.size() + b.size());
  std::merge(a.intervals_.begin(), a.intervals_.end(), b.intervals_.begin(), b.intervals_.end(), all.begin(),
             earlier);
  return IntervalSet(std::move(all));
}

IntervalSet united(std::span<const IntervalSet> sets) {
  if (sets.empty()) return {};
  if (sets.size() == 1) return sets.front();
  const std::size_t half = sets.size() / 2;
  return united(united(sets.first(half)), united(sets.subspan(half)));
}

IntervalSet intersected(const IntervalSet& a, const IntervalSet& b) {
  IntervalSet both;
  auto i = a.intervals_.begin();
  auto j = b.intervals_.begin();
  while (i != a.intervals_.end() && j != b.intervals_.end()) {
    const Seconds begin = std::max(i->begin, j->begin);
    const Seconds end = std::min(i->end, j->end);
    if (begin < end) both.intervals_.push_back({begin, end});
    (i->end < j->end ? i : j)++;
  }
  return both;
}

IntervalSet subtracted(const IntervalSet& a, const IntervalSet& b) {
  IntervalSet rest;
  auto j = b.intervals_.begin();
  for (const Interval& i : a.intervals_) {
    Seconds begin = i.begin;
    while (j != b.intervals_.end() && j->end <= begin) ++j;
    for (auto k = j; k != b.intervals_.end() && k->begin < i.end; ++k) {
      if (k->begin > begin) rest.intervals_.push_back({begin, k->begin});
      begin = std::max(begin, k->end);
    }
    if (begin < i.end) rest.intervals_.push_back({begin, i.end});
  }
  return rest;
}

}  // namespace halflight
