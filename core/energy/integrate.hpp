#pragma once
#include "base/interval_set.hpp"
#include "energy/power_curve.hpp"

#include <concepts>
#include <cstddef>
#include <span>
#include <utility>
#include <vector>

namespace halflight::energy {

/// Integrals of a series of equal steps over any whole seconds, by prefix sums: two look-ups each. Right to
/// rounding of the sum of the whole series.
class StepIntegral {
 public:
  StepIntegral() = default;
  /// `values[k]` holds over [k, k + 1) * step_s. step_s > 0.
  StepIntegral(std::span<const double> values, Seconds step_s)
      : StepIntegral(values.size(), step_s, [&](std::size_t k) { return values[k]; }) {}
  /// The same with values from a function of k.
  template <class Value>
  StepIntegral(std::size_t steps, Seconds step_s, Value value_of) {
    assign(steps, step_s, value_of);
  }
  /// Starts anew in the memory already held.
  template <class Value>
  void assign(std::size_t steps, Seconds step_s, Value value_of) {
    length_ = static_cast<Seconds>(steps) * step_s;
    step_s_ = static_cast<double>(step_s);
    per_s_ = 1.0 / step_s_;
    sums_.resize(steps + 2);  // one step of nothing after the last, so that the end of the series is inside
    sums_[0] = 0.0;
    double sum = 0.0;
    for (std::size_t k = 0; k < steps; ++k) sums_[k + 1] = sum += value_of(k) * step_s_;
    sums_[steps + 1] = sum;
  }
  /// Value times seconds over [begin, end), which must lie within the series.
  [[nodiscard]] double over(Seconds begin, Seconds end) const { return until(end) - until(begin); }
  [[nodiscard]] Seconds length() const { return length_; }

 private:
  [[nodiscard]] double until(Seconds t) const {
    // Rounding may put the start of a step at the end of the one before, where the integral is the same.
    const auto at = static_cast<double>(t);
    const auto k = static_cast<std::size_t>(at * per_s_);
    return sums_[k] + (at - static_cast<double>(k) * step_s_) * ((sums_[k + 1] - sums_[k]) * per_s_);
  }
  Seconds length_ = 0;
  double step_s_ = 1.0;
  double per_s_ = 1.0;
  std::vector<double> sums_;  // up to the start of step k
};

/// A piece of a timeline of base levels.
template <class T>
concept LevelPiece = requires(const T& piece) {
  { piece.begin } -> std::convertible_to<Seconds>;
  { piece.end } -> std::convertible_to<Seconds>;
  { piece.level } -> std::convertible_to<double>;
};

struct LightingEnergy {
  double light_wh = 0.0;    ///< while on
  double standby_wh = 0.0;  ///< drivers off but powered
  double lit_s = 0.0;       ///< at any level above off
};

/// Power of one group under a daylight limit: P(min(level x trim, limit)), integrated exactly over any
/// timeline. Keeps one table per distinct base level, made when first asked for; not safe from several
/// threads at once.
class GroupEnergy {
 public:
  /// `trim`: high-end trim, fraction of full output at level 1. `limit_of_full`: per step, the fraction of
  /// full output that daylight leaves (0: switched off by daylight); empty: nothing limits.
  GroupEnergy(std::vector<PowerCurve> curves, double trim, std::span<const double> limit_of_full,
              Seconds step_s);

  /// The same group under another trim and other limits, in the memory already held: fresh pages cost more
  /// than the sums.
  void set_limit(double trim, std::span<const double> limit_of_full);

  /// Power times seconds while on at base level `level` over [begin, end).
  [[nodiscard]] double on_watt_seconds(double level, Seconds begin, Seconds end);
  /// Seconds above off at a base level above 0.
  [[nodiscard]] double lit_seconds(Seconds begin, Seconds end) const;

  template <LevelPiece Piece>
  LightingEnergy over(std::span<const Piece> timeline) {
    double on_ws = 0.0;
    LightingEnergy sum;
    Seconds total = 0;
    for (const Piece& piece : timeline) {
      total += piece.end - piece.begin;
      if (piece.level <= 0.0) continue;
      on_ws += on_watt_seconds(piece.level, piece.begin, piece.end);
      sum.lit_s += lit_seconds(piece.begin, piece.end);
    }
    sum.light_wh = on_ws / 3600.0;
    sum.standby_wh = standby_w_ * (static_cast<double>(total) - sum.lit_s) / 3600.0;
    return sum;
  }

 private:
  std::vector<PowerCurve> curves_;
  double trim_ = 1.0;
  double standby_w_ = 0.0;
  std::vector<double> limit_;
  Seconds step_s_ = 300;
  StepIntegral daylight_on_;  // 1 where daylight has not switched off; kept only when it ever does
  bool daylight_switches_ = false;
  struct Table {
    double level = 0.0;
    double flat_w = 0.0;  // where nothing limits
    StepIntegral watts;
  };
  std::vector<Table> tables_;  // the first `made_` are of the present limits
  std::size_t made_ = 0;
  Table& table_of(double level);
  [[nodiscard]] double over_few_steps(double asked, Seconds begin, Seconds end) const;
};

}  // namespace halflight::energy
