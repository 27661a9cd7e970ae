#include "controls/daylight_loop.hpp"

#include "base/quantile.hpp"
#include "base/sums.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <memory>
#include <utility>

#include <Eigen/Dense>

namespace halflight::controls {

namespace {

constexpr double kCounts = 4095.0;

/// A loop alone with its group asks for `at_zero + slope x other signal`.
struct Line {
  double at_zero = 0.0;
  double slope = 0.0;
};

/// `share`: q of a dual loop.
Line line_of(const Loop& loop, double own_signal_lx, double share) {
  if (loop.method == Method::integral_reset) {
    if (own_signal_lx <= 0.0) return {loop.maximum_level, 0.0};
    return {loop.night_signal_lx / own_signal_lx, -1.0 / own_signal_lx};
  }
  const double reference_lx = loop.method == Method::closed_loop_proportional ? loop.night_signal_lx : 0.0;
  const double gain = loop.method == Method::dual_loop ? loop.gain * share : loop.gain;
  const double damping = 1.0 - gain * own_signal_lx;
  return {(loop.maximum_level - gain * reference_lx) / damping, gain / damping};
}

Line line_of(const Loop& loop, double own_signal_lx) { return line_of(loop, own_signal_lx, loop.open_share); }

/// The loop that has switched its group off and when it does so.
class OffState {
 public:
  /// Takes what the loop asks for over one step; true where the group is off in it.
  bool step(const Loop& loop, double asked, Seconds step_s) {
    if (!loop.may_switch_off) return false;
    if (asked <= -kOffMargin * loop.maximum_level) {
      if (low_for_ >= kOffHold) off_ = true;
      low_for_ += step_s;
    } else {
      low_for_ = 0;
      if (asked > 0.0) off_ = false;
    }
    return off_;
  }
  [[nodiscard]] bool off() const { return off_; }

 private:
  bool off_ = false;
  Seconds low_for_ = 0;
};

/// Coupled loops as x_i = clamp(b_i - sum_j B_ij x_j): each row is the loop's own line, B has a zero
/// diagonal.
class System {
 public:
  System(std::span<const Loop> loops, std::span<const double> signal_matrix)
      : n_(loops.size()), loops_(loops), lines_(n_), coupling_(n_ * n_, 0.0), places_(n_), asks_(n_) {
    for (std::size_t i = 0; i < n_; ++i) {
      lines_[i] = line_of(loops[i], signal_matrix[i * n_ + i]);
      for (std::size_t j = 0; j < n_; ++j)
        if (j != i) coupling_[i * n_ + j] = -lines_[i].slope * signal_matrix[i * n_ + j];
    }
  }

  /// I + B over the loops of `kept`.
  [[nodiscard]] Eigen::MatrixXd interaction(std::span<const std::size_t> kept) const {
    const auto m = static_cast<Eigen::Index>(kept.size());
    Eigen::MatrixXd a = Eigen::MatrixXd::Identity(m, m);
    for (std::size_t r = 0; r < kept.size(); ++r)
      for (std::size_t c = 0; c < kept.size(); ++c)
        a(static_cast<Eigen::Index>(r), static_cast<Eigen::Index>(c)) += coupling(kept[r], kept[c]);
    return a;
  }

  [[nodiscard]] double coupling(std::size_t i, std::size_t j) const { return coupling_[i * n_ + j]; }

  /// What loop i asks for beside the levels `x` of the others.
  [[nodiscard]] double asked(std::size_t i, double other_lx, std::span<const double> x) const {
    double ask = lines_[i].at_zero + lines_[i].slope * other_lx;
    for (std::size_t j = 0; j < n_; ++j) ask -= coupling_[i * n_ + j] * x[j];
    return ask;
  }

  /// `asked` for the levels that the last settling gave.
  [[nodiscard]] double settled_ask(std::size_t i, double other_lx, std::span<const double> x) const {
    return answer_ == nullptr ? asked(i, other_lx, x) : asks_[i];
  }

  /// Settles from full light, with the groups of `off` switched off; `x` receives the levels. Where the last
  /// settling's guess of who stands at a limit holds again, or one that its asks lead to, it is taken without
  /// looking anew, and the answer is the same to the bit: where the settled state is unique, another guess
  /// that `holds` lets pass lies within `sway` times its slack of it, and a margin above that leaves no
  /// other.
  void settle_again(std::span<const double> other_lx, std::span<const OffState> off, std::span<double> x) {
    constexpr double kMostSway = 100.0;
    constexpr double kMargin = 10.0 * kMostSway * kSlack;
    constexpr int kMostMoves = 4;
    if (sway_ < 0.0) sway_ = sway();
    bool guess = sway_ <= kMostSway && answer_ != nullptr;
    bool switched = false;
    for (std::size_t i = 0; guess && i < n_; ++i) {
      if ((places_[i] == Place::off) == off[i].off()) continue;
      switched = true;
      places_[i] = off[i].off() ? Place::off : Place::low;
    }
    if (switched) answer_ = answer_of_places();
    for (int move = 0; guess && move < kMostMoves; ++move) {
      if (holds(other_lx, -kMargin)) {
        take(x);
        return;
      }
      guess = !answer_->singular;
      for (std::size_t i = 0; guess && i < n_; ++i)
        if (places_[i] != Place::off) places_[i] = place_by_ask(i, asks_[i]);
      answer_ = answer_of_places();
    }
    settle(other_lx, off, x);
  }

  /// The same without memory of the settling before.
  void settle(std::span<const double> other_lx, std::span<const OffState> off, std::span<double> x) {
    const auto is_off = [&](std::size_t i) { return !off.empty() && off[i].off(); };
    for (std::size_t i = 0; i < n_; ++i) x[i] = is_off(i) ? 0.0 : loops_[i].maximum_level;
    // A few rounds are enough to see which loops stand at a limit; only a wrong guess asks for more.
    for (const double still : {1e-3, 1e-6, 1e-9}) {
      if (!rounds(other_lx, is_off, still, x)) break;
      for (std::size_t i = 0; i < n_; ++i) {
        places_[i] = is_off(i) ? Place::off : place_by_ask(i, asked(i, other_lx[i], x));
      }
      answer_ = answer_of_places();
      if (holds(other_lx, kSlack)) {
        take(x);
        return;
      }
    }
    if (search(other_lx, is_off)) {
      take(x);
    } else {
      answer_ = nullptr;
    }
  }

 private:
  enum class Place : std::uint8_t { off, low, free, high };

  /// With every loop in its place, what all ask for is linear in the light that no loop moves: a year works
  /// each combination of places out once.
  struct Answer {
    std::vector<Place> places;
    std::uint64_t mark = 0;        // of the places: differs where they do, for any number up to 32
    std::vector<double> by_light;  // n x n: ask of loop i per lx of what else sensor j sees
    std::vector<double> in_dark;   // n
    bool singular = false;
  };

  static constexpr double kSlack = 1e-9;

  /// How far the settled levels can move for an error of 1 in what loops ask for: the largest row sum of
  /// |(I - D + D (I + B))^-1| over all diagonal D in [0, 1], which multiplies the residual in the error bound
  /// of linear complementarity problems (X. Chen and S. Xiang, Mathematical Programming 106, 2006). Entries
  /// of the inverse are extreme where every d is 0 or 1. Infinite where a state is not unique
  /// (examine_coupling) or there are too many loops to try.
  [[nodiscard]] double sway() const {
    constexpr double kUnbounded = std::numeric_limits<double>::infinity();
    if (n_ > kMostLoopsSearched) return kUnbounded;
    Eigen::MatrixXd largest =
        Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(n_), static_cast<Eigen::Index>(n_));
    for (unsigned subset = 0; subset < (1U << n_); ++subset) {
      Eigen::MatrixXd a = Eigen::MatrixXd::Identity(largest.rows(), largest.cols());
      for (std::size_t i = 0; i < n_; ++i)
        if ((subset >> i) & 1U)
          for (std::size_t j = 0; j < n_; ++j)
            a(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) += coupling(i, j);
      if (a.determinant() <= 1e-6) return kUnbounded;
      largest = largest.cwiseMax(a.inverse().cwiseAbs());
    }
    return largest.rowwise().sum().maxCoeff();
  }

  /// Projected Gauss-Seidel until no level moves by more than `still`; false if it does not come to rest.
  template <class IsOff>
  bool rounds(std::span<const double> other_lx, IsOff is_off, double still, std::span<double> x) const {
    constexpr int kMostRounds = 200;
    for (int round = 0; round < kMostRounds; ++round) {
      double moved = 0.0;
      for (std::size_t i = 0; i < n_; ++i) {
        if (is_off(i)) continue;
        const double next =
            std::clamp(asked(i, other_lx[i], x), loops_[i].minimum_level, loops_[i].maximum_level);
        moved = std::max(moved, std::abs(next - x[i]));
        x[i] = next;
      }
      if (moved <= still) return true;
    }
    return false;
  }

  [[nodiscard]] Place place_by_ask(std::size_t i, double ask) const {
    return ask <= loops_[i].minimum_level   ? Place::low
           : ask >= loops_[i].maximum_level ? Place::high
                                            : Place::free;
  }

  [[nodiscard]] double level_at(std::size_t i, Place place) const {
    return place == Place::low    ? loops_[i].minimum_level
           : place == Place::high ? loops_[i].maximum_level
                                  : 0.0;
  }

  /// Works out into `asks_` what all ask for; true when each then wants to stand in its place, give or take
  /// `slack`.
  bool holds(std::span<const double> other_lx, double slack) {
    if (answer_->singular) return false;
    const double* row = answer_->by_light.data();
    for (std::size_t i = 0; i < n_; ++i, row += n_) {
      double ask = answer_->in_dark[i];
      for (std::size_t j = 0; j < n_; ++j) ask += row[j] * other_lx[j];
      asks_[i] = ask;
    }
    for (std::size_t i = 0; i < n_; ++i) {
      const double low = loops_[i].minimum_level;
      const double high = loops_[i].maximum_level;
      if (places_[i] == Place::low && asks_[i] > low + slack) return false;
      if (places_[i] == Place::high && asks_[i] < high - slack) return false;
      if (places_[i] == Place::free && (asks_[i] < low - slack || asks_[i] > high + slack)) return false;
    }
    return true;
  }

  void take(std::span<double> x) const {
    for (std::size_t i = 0; i < n_; ++i)
      x[i] = places_[i] == Place::free
                 ? std::clamp(asks_[i], loops_[i].minimum_level, loops_[i].maximum_level)
                 : level_at(i, places_[i]);
  }

  const Answer* answer_of_places() {
    std::uint64_t mark = 0;
    for (const Place place : places_) mark = mark * 4 + static_cast<std::uint64_t>(place);
    for (const std::unique_ptr<Answer>& known : known_)
      if (known->mark == mark && known->places == places_) return known.get();
    known_.push_back(std::make_unique<Answer>(work_out()));
    known_.back()->mark = mark;
    return known_.back().get();
  }

  [[nodiscard]] Answer work_out() const {
    Answer answer;
    answer.places = places_;
    answer.by_light.assign(n_ * n_, 0.0);
    answer.in_dark.assign(n_, 0.0);
    std::vector<std::size_t> free;
    for (std::size_t i = 0; i < n_; ++i)
      if (places_[i] == Place::free) free.push_back(i);
    // (I + B) x = b over the free loops, b once a column: per lx of each signal, and the constant.
    const auto m = static_cast<Eigen::Index>(free.size());
    const auto n = static_cast<Eigen::Index>(n_);
    Eigen::MatrixXd x = Eigen::MatrixXd::Zero(m, n + 1);
    if (m > 0) {
      Eigen::MatrixXd b = Eigen::MatrixXd::Zero(m, n + 1);
      for (Eigen::Index r = 0; r < m; ++r) {
        const std::size_t i = free[static_cast<std::size_t>(r)];
        b(r, static_cast<Eigen::Index>(i)) = lines_[i].slope;
        b(r, n) = lines_[i].at_zero;
        for (std::size_t j = 0; j < n_; ++j) b(r, n) -= coupling(i, j) * level_at(j, places_[j]);
      }
      const Eigen::FullPivLU<Eigen::MatrixXd> factors(interaction(free));
      answer.singular = !factors.isInvertible();
      if (answer.singular) return answer;
      x = factors.solve(b);
    }
    for (std::size_t i = 0; i < n_; ++i) {
      double* row = answer.by_light.data() + i * n_;
      row[i] = lines_[i].slope;
      answer.in_dark[i] = lines_[i].at_zero;
      for (std::size_t j = 0; j < n_; ++j) answer.in_dark[i] -= coupling(i, j) * level_at(j, places_[j]);
      for (Eigen::Index r = 0; r < m; ++r) {
        const double share = coupling(i, free[static_cast<std::size_t>(r)]);
        for (std::size_t j = 0; j < n_; ++j) row[j] -= share * x(r, static_cast<Eigen::Index>(j));
        answer.in_dark[i] -= share * x(r, n);
      }
    }
    return answer;
  }

  /// Tries every combination of places, brightest first; for the rare system on which the rounds go in
  /// circles.
  template <class IsOff>
  bool search(std::span<const double> other_lx, IsOff is_off) {
    if (n_ > kMostLoopsSearched) return false;
    static constexpr std::array<Place, 3> kOrder = {Place::high, Place::free, Place::low};
    std::size_t combinations = 1;
    for (std::size_t i = 0; i < n_; ++i) combinations *= 3;
    for (std::size_t code = 0; code < combinations; ++code) {
      std::size_t rest = code;
      for (std::size_t i = 0; i < n_; ++i, rest /= 3) places_[i] = is_off(i) ? Place::off : kOrder[rest % 3];
      answer_ = answer_of_places();
      if (holds(other_lx, kSlack)) return true;
    }
    return false;
  }

  std::size_t n_;
  std::span<const Loop> loops_;
  std::vector<Line> lines_;
  std::vector<double> coupling_;
  double sway_ = -1.0;  // before it is worked out
  // Of the settling before, and scratch that a year allocates once.
  std::vector<Place> places_;
  std::vector<double> asks_;
  std::vector<std::unique_ptr<Answer>> known_;
  const Answer* answer_ = nullptr;  // for `places_`
};

}  // namespace

double quantised_lx(double signal_lx, double range_lx) {
  const double share = std::clamp(signal_lx / range_lx, 0.0, 1.0);
  return std::floor(share * kCounts + 0.5) * (range_lx / kCounts);
}

Calibration calibrate(const CalibrationInputs& in) {
  Calibration found;
  found.night_signal_lx = in.night_signal_lx;
  found.night_ratio = in.own_task_lx > 0.0 ? in.own_signal_lx / in.own_task_lx : 0.0;

  std::vector<double> ratios;
  CompensatedSum s;
  CompensatedSum e;
  CompensatedSum open;
  for (std::size_t k = 0; k < in.daylight_task_lx.size(); ++k) {
    const double task = in.daylight_task_lx[k];
    if (task < in.daylit_from_lx) continue;
    const double signal = in.daylight_signal_lx[k];
    ratios.push_back(signal / task);
    s.add(signal);
    e.add(task);
    if (!in.open_signal_lx.empty()) open.add(in.open_signal_lx[k]);
  }
  found.steps = ratios.size();
  if (found.steps >= 2) {
    found.day_ratio = quantile(ratios, in.percentile / 100.0);
    if (open.value() > 0.0) found.open_share = s.value() / open.value();
    const auto n = static_cast<double>(found.steps);
    const double mean_s = s.value() / n;
    const double mean_e = e.value() / n;
    double ss = 0.0;
    double ee = 0.0;
    double se = 0.0;
    for (std::size_t k = 0; k < in.daylight_task_lx.size(); ++k) {
      if (in.daylight_task_lx[k] < in.daylit_from_lx) continue;
      const double ds = in.daylight_signal_lx[k] - mean_s;
      const double de = in.daylight_task_lx[k] - mean_e;
      ss += ds * ds;
      ee += de * de;
      se += ds * de;
    }
    if (ss > 0.0 && ee > 0.0) found.correlation = se * se / (ss * ee);
  }

  if (in.set_by_day) {
    const CalibrationInputs::Day& day = *in.set_by_day;
    found.day_ratio = day.task_lx >= in.daylit_from_lx ? day.signal_lx / day.task_lx : 0.0;
    found.open_share = day.open_signal_lx > 0.0 ? day.signal_lx / day.open_signal_lx : 0.0;
  }

  const bool lit = in.own_task_lx > 0.0;
  const bool by_day = in.set_by_day ? found.day_ratio > 0.0 : found.steps >= 2;
  switch (in.method) {
    case Method::integral_reset:
      found.usable = in.own_signal_lx > 0.0;
      break;
    case Method::open_loop_proportional:
      found.usable = lit && found.day_ratio > 0.0;
      if (found.usable) found.gain = -1.0 / (in.own_task_lx * found.day_ratio);
      break;
    case Method::closed_loop_proportional:
      found.usable = lit && by_day && found.day_ratio > found.night_ratio;
      if (found.usable) found.gain = -1.0 / (in.own_task_lx * (found.day_ratio - found.night_ratio));
      break;
    case Method::dual_loop:
      found.usable = lit && found.day_ratio > 0.0 && found.open_share > 0.0;
      if (found.usable) found.gain = -1.0 / (in.own_task_lx * found.day_ratio);
      break;
  }
  return found;
}

Loop make_loop(const domain::DaylightRule& rule, const Calibration& calibration, double maximum_level,
               double range_lx, bool only_switches) {
  Loop loop;
  // Without a usable calibration nothing is dimmed: a proportional law without gain stays at its maximum.
  loop.method = calibration.usable ? rule.method : Method::open_loop_proportional;
  loop.gain = calibration.usable ? calibration.gain : 0.0;
  loop.night_signal_lx = quantised_lx(calibration.night_signal_lx, range_lx);
  loop.maximum_level = only_switches ? 1.0 : maximum_level;
  loop.minimum_level = only_switches ? 1.0 : std::min(rule.minimum_level, maximum_level);
  loop.may_switch_off = rule.may_switch_off;
  loop.range_lx = range_lx;
  loop.open_share = calibration.open_share;
  // What stands still by itself has nothing to hold or to fade.
  if (loop.minimum_level < loop.maximum_level && calibration.usable) {
    loop.deadband = rule.deadband;
    loop.fade_s_per_tenth = rule.fade_s_per_tenth;
  }
  return loop;
}

double unlimited_level(const Loop& loop, double own_signal_lx, double other_signal_lx) {
  const Line line = line_of(loop, own_signal_lx);
  return line.at_zero + line.slope * other_signal_lx;
}

double settled_level(const Loop& loop, double own_signal_lx, double other_signal_lx) {
  return std::clamp(unlimited_level(loop, own_signal_lx, other_signal_lx), loop.minimum_level,
                    loop.maximum_level);
}

void run_loop(const Loop& loop, double own_signal_lx, std::span<const float> daylight_signal_lx,
              double fixed_signal_lx, Seconds step_s, std::span<double> levels) {
  const Line line = line_of(loop, own_signal_lx);
  OffState state;
  for (std::size_t k = 0; k < levels.size(); ++k) {
    const double other =
        quantised_lx(static_cast<double>(daylight_signal_lx[k]) + fixed_signal_lx, loop.range_lx);
    const double asked = line.at_zero + line.slope * other;
    const bool off = state.step(loop, asked, step_s);
    levels[k] = off ? 0.0 : std::clamp(asked, loop.minimum_level, loop.maximum_level);
  }
}

Coupling examine_coupling(std::span<const Loop> loops, std::span<const double> signal_matrix) {
  const System system(loops, signal_matrix);
  const std::size_t n = loops.size();
  const auto size = static_cast<Eigen::Index>(n);
  Eigen::MatrixXd rounds = Eigen::MatrixXd::Zero(size, size);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      if (i != j) rounds(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = -system.coupling(i, j);

  Coupling coupling;
  if (n < 2) return coupling;
  coupling.spectral_radius = rounds.eigenvalues().cwiseAbs().maxCoeff();
  if (n > kMostLoopsSearched) {
    // Too many minors to look at; a radius of |B| below 1 makes an H-matrix, which has one settled state too.
    coupling.unique = rounds.cwiseAbs().eigenvalues().cwiseAbs().maxCoeff() < 1.0;
    return coupling;
  }
  for (unsigned subset = 1; subset < (1U << n); ++subset) {
    std::vector<std::size_t> kept;
    for (std::size_t i = 0; i < n; ++i)
      if ((subset >> i) & 1U) kept.push_back(i);
    if (system.interaction(kept).determinant() <= 1e-12) coupling.unique = false;
  }
  return coupling;
}

void settle(std::span<const Loop> loops, std::span<const double> signal_matrix,
            std::span<const double> other_signal_lx, std::span<double> levels) {
  System(loops, signal_matrix).settle(other_signal_lx, {}, levels);
}

namespace {

/// Loops of which some remember, step by step.
class RememberingLoops {
 public:
  RememberingLoops(std::span<const Loop> loops, std::span<const double> signal_matrix, Seconds step_s)
      : n_(loops.size()),
        loops_(loops),
        seen_(signal_matrix),
        step_s_(step_s),
        lines_(n_),
        share_(n_),
        low_(n_),
        high_(n_),
        level_(n_),
        begun_(n_),
        moves_(n_),
        off_(n_),
        open_before_(n_, -1.0) {
    for (std::size_t i = 0; i < n_; ++i) share_[i] = loops[i].open_share;
    begin_day();
  }

  /// After the dark every loop stands at its maximum.
  void begin_day() {
    for (std::size_t i = 0; i < n_; ++i) {
      level_[i] = loops_[i].maximum_level;
      open_before_[i] = -1.0;
    }
  }

  /// `other_lx`: as read, by loop. Levels at the end of the step are in `level`, means over it in `mean`.
  void step(std::span<const double> other_lx, std::span<double> mean) {
    for (std::size_t i = 0; i < n_; ++i) {
      lines_[i] = line_of(loops_[i], seen_[i * n_ + i], share_[i]);
      begun_[i] = off_[i].off() ? 0.0 : level_[i];
    }
    settle(other_lx);
    bool changed = false;
    for (std::size_t i = 0; i < n_; ++i) {
      const bool was = off_[i].off();
      changed |= off_[i].step(loops_[i], asked(i, other_lx[i]), step_s_) != was;
    }
    if (changed) settle(other_lx);
    for (std::size_t i = 0; i < n_; ++i) mean[i] = mean_of(i);
  }

  [[nodiscard]] std::span<const double> level() const { return level_; }

  /// Lets dual loop i learn from what its photosensors read at the end of a step.
  void learn(std::size_t i, double open_lx, double closed_lx, double own_lx) {
    const Loop& loop = loops_[i];
    const double before = std::exchange(open_before_[i], open_lx);
    if (before < 0.0 || open_lx < kLearnFrom * loop.range_lx) return;
    if (std::abs(open_lx - before) < kDaylightChanged * before) return;
    const double daylight_lx =
        closed_lx - (loop.night_signal_lx - own_lx * loop.maximum_level) - own_lx * level_[i];
    const double now = daylight_lx / open_lx;
    if (std::abs(now / share_[i] - 1.0) > kSceneChanged) return;
    share_[i] +=
        (now - share_[i]) * -std::expm1(-static_cast<double>(step_s_) / static_cast<double>(kLearningTime));
  }

 private:
  [[nodiscard]] double asked(std::size_t i, double other_lx) const {
    double signal = other_lx;
    for (std::size_t j = 0; j < n_; ++j)
      if (j != i) signal += seen_[i * n_ + j] * level_[j];
    return lines_[i].at_zero + lines_[i].slope * signal;
  }
  /// What it would go to, the fade aside.
  [[nodiscard]] double aim(std::size_t i, double other_lx) const {
    return std::clamp(asked(i, other_lx), loops_[i].minimum_level, loops_[i].maximum_level);
  }

  void settle(std::span<const double> other_lx) {
    for (std::size_t i = 0; i < n_; ++i) {
      const Loop& loop = loops_[i];
      // What comes on again begins at its lowest level.
      level_[i] = off_[i].off() ? 0.0 : std::max(begun_[i], loop.minimum_level);
      const double reach =
          loop.fades_beyond(step_s_) ? 0.1 * static_cast<double>(step_s_) / loop.fade_s_per_tenth : 1.0;
      low_[i] = std::max(loop.minimum_level, level_[i] - reach);
      high_[i] = std::min(loop.maximum_level, level_[i] + reach);
      moves_[i] = false;
    }
    // A loop that leaves its deadband may push others out of theirs; none goes back in.
    for (bool more = true; more;) {
      more = false;
      for (std::size_t i = 0; i < n_; ++i) {
        if (moves_[i] || off_[i].off()) continue;
        const double allowed = loops_[i].deadband * loops_[i].maximum_level;
        if (std::abs(aim(i, other_lx[i]) - level_[i]) <= allowed) continue;
        moves_[i] = true;
        more = true;
      }
      if (more) rounds(other_lx);
    }
  }

  /// Projected Gauss-Seidel of those that move.
  void rounds(std::span<const double> other_lx) {
    constexpr int kMostRounds = 200;
    constexpr double kStill = 1e-10;
    for (int round = 0; round < kMostRounds; ++round) {
      double moved = 0.0;
      for (std::size_t i = 0; i < n_; ++i) {
        if (!moves_[i]) continue;
        const double next = std::clamp(asked(i, other_lx[i]), low_[i], high_[i]);
        moved = std::max(moved, std::abs(next - level_[i]));
        level_[i] = next;
      }
      if (moved <= kStill) return;
    }
  }

  /// Of a level that fades evenly from where the step began and then stays.
  [[nodiscard]] double mean_of(std::size_t i) const {
    if (off_[i].off() || !loops_[i].fades_beyond(step_s_)) return level_[i];
    const double from = std::max(begun_[i], loops_[i].minimum_level);
    const double way = level_[i] - from;
    const double takes_s = std::abs(way) * 10.0 * loops_[i].fade_s_per_tenth;
    return level_[i] - 0.5 * way * std::min(1.0, takes_s / static_cast<double>(step_s_));
  }

  std::size_t n_;
  std::span<const Loop> loops_;
  std::span<const double> seen_;
  Seconds step_s_;
  std::vector<Line> lines_;
  std::vector<double> share_;  // q of dual loops
  std::vector<double> low_;    // that the fade can reach in the step
  std::vector<double> high_;
  std::vector<double> level_;
  std::vector<double> begun_;  // level at the beginning of the step, 0 where off
  std::vector<bool> moves_;    // is out of its deadband
  std::vector<OffState> off_;
  std::vector<double> open_before_;  // reading of the open photosensor in the step before; negative: none
};

void run_remembering(std::span<const Loop> loops, std::span<const double> signal_matrix,
                     std::span<const std::span<const float>> daylight_signal_lx,
                     std::span<const double> fixed_signal_lx, Seconds step_s,
                     std::span<const std::span<double>> levels, const Memories& memories) {
  const std::size_t n = loops.size();
  RememberingLoops running(loops, signal_matrix, step_s);
  std::vector<double> other(n);
  std::vector<double> mean(n);
  auto morning = memories.mornings.begin();
  for (std::size_t k = 0; k < levels[0].size(); ++k) {
    if (morning != memories.mornings.end() && *morning == k) {
      running.begin_day();
      ++morning;
    }
    for (std::size_t i = 0; i < n; ++i)
      other[i] =
          quantised_lx(static_cast<double>(daylight_signal_lx[i][k]) + fixed_signal_lx[i], loops[i].range_lx);
    running.step(other, mean);
    for (std::size_t i = 0; i < n; ++i) {
      levels[i][k] = mean[i];
      if (loops[i].method != Method::dual_loop || memories.learning.empty()) continue;
      const LearningChannel& closed = memories.learning[i];
      double open_lx = other[i];
      double closed_lx = static_cast<double>(closed.daylight_lx[k]) + closed.fixed_lx;
      for (std::size_t j = 0; j < n; ++j) {
        open_lx += signal_matrix[i * n + j] * running.level()[j];
        closed_lx += closed.seen_lx[j] * running.level()[j];
      }
      running.learn(i, open_lx, quantised_lx(closed_lx, closed.range_lx), closed.seen_lx[i]);
    }
  }
}

}  // namespace

void run_loops(std::span<const Loop> loops, std::span<const double> signal_matrix,
               std::span<const std::span<const float>> daylight_signal_lx,
               std::span<const double> fixed_signal_lx, Seconds step_s,
               std::span<const std::span<double>> levels, const Memories& memories) {
  const std::size_t n = loops.size();
  if (n == 0) return;
  if (std::any_of(loops.begin(), loops.end(), [&](const Loop& loop) { return loop.remembers(step_s); })) {
    run_remembering(loops, signal_matrix, daylight_signal_lx, fixed_signal_lx, step_s, levels, memories);
    return;
  }
  System system(loops, signal_matrix);
  std::vector<OffState> states(n);
  std::vector<double> other(n);
  std::vector<double> x(n);
  for (std::size_t k = 0; k < levels[0].size(); ++k) {
    for (std::size_t i = 0; i < n; ++i)
      other[i] =
          quantised_lx(static_cast<double>(daylight_signal_lx[i][k]) + fixed_signal_lx[i], loops[i].range_lx);
    system.settle_again(other, states, x);
    bool changed = false;
    for (std::size_t i = 0; i < n; ++i) {
      if (!loops[i].may_switch_off) continue;
      const bool was = states[i].off();
      changed |= states[i].step(loops[i], system.settled_ask(i, other[i], x), step_s) != was;
    }
    if (changed) system.settle_again(other, states, x);
    for (std::size_t i = 0; i < n; ++i) levels[i][k] = x[i];
  }
}

}  // namespace halflight::controls
