#include "energy/integrate.hpp"

#include <algorithm>
#include <array>

namespace halflight::energy {

namespace {

/// Sums over a run go round this many partial sums, which the machine adds side by side.
constexpr std::size_t kLanes = 8;

struct Sums {
  double watts = 0.0;
  double lit_steps = 0.0;
};

Sums over_whole_steps(const PowerCurve& curve, double level, std::span<const double> limit) {
  const double in_dark_w = curve.rated_w * curve.power_at_zero;
  const double by_light_w = curve.rated_w * (1.0 - curve.power_at_zero);
  const double minimum = curve.minimum_light;
  std::array<double, kLanes> watts{};
  std::array<double, kLanes> lit{};
  const auto take = [&](std::size_t lane, double limited) {
    const double light = std::min(level, limited);
    const double on = light > 0.0 ? 1.0 : 0.0;
    watts[lane] += on * (in_dark_w + by_light_w * std::max(light, minimum));
    lit[lane] += on;
  };
  std::size_t k = 0;
  for (; k + kLanes <= limit.size(); k += kLanes)
    for (std::size_t lane = 0; lane < kLanes; ++lane) take(lane, limit[k + lane]);
  for (std::size_t lane = 0; k < limit.size(); ++k, ++lane) take(lane, limit[k]);
  Sums sums;
  for (std::size_t lane = 0; lane < kLanes; ++lane) {
    sums.watts += watts[lane];
    sums.lit_steps += lit[lane];
  }
  return sums;
}

}  // namespace

void TimeInSteps::add(Seconds begin, Seconds end) {
  total_ += end - begin;
  while (at_ < series_.size() && series_[at_].end <= begin) ++at_;
  for (std::size_t r = at_; begin < end; ++r) {
    if (r == series_.size() || series_[r].begin >= end) {
      outside_ += end - begin;
      return;
    }
    if (begin < series_[r].begin) {
      outside_ += series_[r].begin - begin;
      begin = series_[r].begin;
    }
    const Seconds until = std::min(end, series_[r].end);
    add_within(series_[r], begin, until);
    begin = until;
  }
}

void TimeInSteps::add_within(const SeriesRun& run, Seconds begin, Seconds end) {
  const auto index_at = [&](Seconds t) {
    return static_cast<std::uint32_t>(run.first + static_cast<std::size_t>((t - run.begin) / step_s_));
  };
  const auto add_part = [&](Seconds from, Seconds to) {
    const std::uint32_t index = index_at(from);
    const auto seconds = static_cast<double>(to - from);
    if (!parts_.empty() && parts_.back().index == index)
      parts_.back().seconds += seconds;
    else
      parts_.push_back({index, seconds});
  };
  const Seconds into_step = (begin - run.begin) % step_s_;
  if (into_step != 0) {
    const Seconds until = std::min(end, begin - into_step + step_s_);
    add_part(begin, until);
    begin = until;
  }
  const Seconds left = (end - begin) % step_s_;
  if (end - begin > left) {
    const std::uint32_t first = index_at(begin);
    const std::uint32_t last = first + static_cast<std::uint32_t>((end - left - begin) / step_s_);
    if (!runs_.empty() && runs_.back().last == first)
      runs_.back().last = last;
    else
      runs_.push_back({first, last});
  }
  if (left > 0) add_part(end - left, end);
}

Drawn drawn_at(std::span<const PowerCurve> curves, double level, Seconds time) {
  if (level <= 0.0) return {};
  const auto seconds = static_cast<double>(time);
  return {on_w(curves, level) * seconds, seconds};
}

Drawn drawn_under_limit(std::span<const PowerCurve> curves, double level, const TimeInSteps& time,
                        std::span<const double> limit_of_full) {
  if (level <= 0.0) return {};
  Drawn drawn{on_w(curves, level) * time.outside_s(), time.outside_s()};
  const auto step_s = static_cast<double>(time.step_s());
  for (const TimeInSteps::Run& run : time.whole_steps()) {
    const std::span<const double> limit = limit_of_full.subspan(run.first, run.last - run.first);
    for (const PowerCurve& curve : curves) {
      const Sums sums = over_whole_steps(curve, level, limit);
      drawn.watt_seconds += sums.watts * step_s;
      // Every curve of the group is lit at once: count the first.
      if (&curve == curves.data()) drawn.lit_s += sums.lit_steps * step_s;
    }
  }
  for (const TimeInSteps::Part& part : time.parts()) {
    const double limit = limit_of_full[part.index];
    drawn.watt_seconds += on_w(curves, std::min(level, limit)) * part.seconds;
    if (limit > 0.0) drawn.lit_s += part.seconds;
  }
  return drawn;
}

}  // namespace halflight::energy
