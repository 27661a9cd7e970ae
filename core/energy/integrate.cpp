#include "energy/integrate.hpp"

#include <algorithm>

#include <Eigen/Core>

namespace halflight::energy {

namespace {

/// Sums over runs go round eight partial sums, which the machine adds side by side.
using Lanes = Eigen::Array<double, 8, 1>;
constexpr std::size_t kLanes = 8;

/// Watts, and 1 for lit, of one curve at a level through steps with limits.
class StepSums {
 public:
  StepSums(const PowerCurve& curve, double level)
      : curve_(curve),
        level_(level),
        in_dark_w_(curve.rated_w * curve.power_at_zero),
        by_light_w_(curve.rated_w * (1.0 - curve.power_at_zero)) {}

  void add(std::span<const double> limit) {
    std::size_t k = 0;
    for (; k + kLanes <= limit.size(); k += kLanes) {
      const Lanes light = Eigen::Map<const Lanes>(limit.data() + k).min(level_);
      const Lanes on = (light > 0.0).cast<double>();
      lane_watts_ += on * (in_dark_w_ + by_light_w_ * light.max(curve_.minimum_light));
      lane_lit_ += on;
    }
    for (; k < limit.size(); ++k) {
      const double light = std::min(level_, limit[k]);
      if (light <= 0.0) continue;
      watts_ += in_dark_w_ + by_light_w_ * std::max(light, curve_.minimum_light);
      lit_ += 1.0;
    }
  }
  [[nodiscard]] double watts() const { return sum(lane_watts_, watts_); }
  [[nodiscard]] double lit_steps() const { return sum(lane_lit_, lit_); }

 private:
  const PowerCurve& curve_;
  double level_;
  double in_dark_w_;
  double by_light_w_;
  Lanes lane_watts_ = Lanes::Zero();
  Lanes lane_lit_ = Lanes::Zero();
  double watts_ = 0.0;
  double lit_ = 0.0;
  static double sum(const Lanes& lanes, double rest) {
    for (const double lane : lanes) rest += lane;
    return rest;
  }
};

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
  for (const PowerCurve& curve : curves) {
    StepSums sums(curve, level);
    for (const TimeInSteps::Run& run : time.whole_steps())
      sums.add(limit_of_full.subspan(run.first, run.last - run.first));
    drawn.watt_seconds += sums.watts() * step_s;
    // Every curve of the group is lit at once: count the first.
    if (&curve == curves.data()) drawn.lit_s += sums.lit_steps() * step_s;
  }
  for (const TimeInSteps::Part& part : time.parts()) {
    const double limit = limit_of_full[part.index];
    drawn.watt_seconds += on_w(curves, std::min(level, limit)) * part.seconds;
    if (limit > 0.0) drawn.lit_s += part.seconds;
  }
  return drawn;
}

}  // namespace halflight::energy
