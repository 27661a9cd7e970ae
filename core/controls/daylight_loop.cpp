#include "controls/daylight_loop.hpp"

#include "base/quantile.hpp"
#include "base/sums.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
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

Line line_of(const Loop& loop, double own_signal_lx) {
  if (loop.method == Method::integral_reset) {
    if (own_signal_lx <= 0.0) return {loop.maximum_level, 0.0};
    return {loop.night_signal_lx / own_signal_lx, -1.0 / own_signal_lx};
  }
  const double reference_lx = loop.method == Method::closed_loop_proportional ? loop.night_signal_lx : 0.0;
  const double damping = 1.0 - loop.gain * own_signal_lx;
  return {(loop.maximum_level - loop.gain * reference_lx) / damping, loop.gain / damping};
}

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
      : n_(loops.size()),
        lines_(n_),
        coupling_(n_ * n_, 0.0),
        places_(n_),
        right_(n_),
        exact_(n_),
        asks_(n_) {
    for (std::size_t i = 0; i < n_; ++i) {
      lines_[i] = line_of(loops[i], signal_matrix[i * n_ + i]);
      for (std::size_t j = 0; j < n_; ++j)
        if (j != i) coupling_[i * n_ + j] = -lines_[i].slope * signal_matrix[i * n_ + j];
      double row = 0.0;
      for (std::size_t j = 0; j < n_; ++j) row += std::abs(coupling_[i * n_ + j]);
      reach_ = std::max(reach_, row);
    }
  }

  [[nodiscard]] double coupling(std::size_t i, std::size_t j) const { return coupling_[i * n_ + j]; }

  /// What loop i asks for beside the levels `x` of the others.
  [[nodiscard]] double asked(std::size_t i, double other_lx, std::span<const double> x) const {
    double ask = lines_[i].at_zero + lines_[i].slope * other_lx;
    for (std::size_t j = 0; j < n_; ++j) ask -= coupling_[i * n_ + j] * x[j];
    return ask;
  }

  /// Settles within [low, high] from high. Where the last settling's guess of who stands at a limit holds
  /// again, it is taken without looking anew, and the answer is the same to the bit: a row sum of |B| below
  /// 1 makes x -> clamp(b - B x) a contraction, so that any other guess that `solve` lets pass lies within
  /// its slack over 1 - reach of this one, and a margin above that leaves no other guess.
  void settle_again(std::span<const double> other_lx, std::span<const double> low,
                    std::span<const double> high, std::span<double> x) {
    constexpr double kReach = 0.9;  // also enough for the rounds below to come to rest
    if (placed_ && reach_ <= kReach && n_ <= kMostLoopsSearched && solve(other_lx, low, high) &&
        clear_of_limits(low, high)) {
      std::copy(exact_.begin(), exact_.end(), x.begin());
      return;
    }
    std::copy(high.begin(), high.end(), x.begin());
    settle(other_lx, low, high, x);
    placed_ = true;
  }

  /// Settles within [low, high]; `x` comes in as the point to start from.
  void settle(std::span<const double> other_lx, std::span<const double> low, std::span<const double> high,
              std::span<double> x) {
    // A few rounds are enough to see which loops stand at a limit; only a wrong guess asks for more.
    for (const double still : {1e-3, 1e-6, 1e-9}) {
      if (!rounds(other_lx, low, high, still, x)) break;
      for (std::size_t i = 0; i < n_; ++i) {
        const double ask = asked(i, other_lx[i], x);
        places_[i] = ask <= low[i] ? Place::low : ask >= high[i] ? Place::high : Place::free;
      }
      if (solve(other_lx, low, high)) {
        std::copy(exact_.begin(), exact_.end(), x.begin());
        return;
      }
    }
    if (search(other_lx, low, high)) std::copy(exact_.begin(), exact_.end(), x.begin());
  }

 private:
  enum class Place : std::uint8_t { low, free, high };

  /// Projected Gauss-Seidel until no level moves by more than `still`; false if it does not come to rest.
  bool rounds(std::span<const double> other_lx, std::span<const double> low, std::span<const double> high,
              double still, std::span<double> x) const {
    constexpr int kMostRounds = 200;
    for (int round = 0; round < kMostRounds; ++round) {
      double moved = 0.0;
      for (std::size_t i = 0; i < n_; ++i) {
        const double next = std::clamp(asked(i, other_lx[i], x), low[i], high[i]);
        moved = std::max(moved, std::abs(next - x[i]));
        x[i] = next;
      }
      if (moved <= still) return true;
    }
    return false;
  }

  /// After `solve`: every loop stands where it does by more than a hair.
  [[nodiscard]] bool clear_of_limits(std::span<const double> low, std::span<const double> high) const {
    constexpr double kMargin = 1e-6;
    for (std::size_t i = 0; i < n_; ++i) {
      if (low[i] == high[i]) {
        if (places_[i] == Place::free) return false;
        continue;  // switched off: both limits are one level
      }
      if (places_[i] == Place::low && asks_[i] > low[i] - kMargin) return false;
      if (places_[i] == Place::high && asks_[i] < high[i] + kMargin) return false;
      if (places_[i] == Place::free && (exact_[i] < low[i] + kMargin || exact_[i] > high[i] - kMargin))
        return false;
    }
    return true;
  }

  /// Solves into `exact_` for the loops that stand at no limit; true when every loop then wants to stand
  /// where `places_` says.
  bool solve(std::span<const double> other_lx, std::span<const double> low, std::span<const double> high) {
    free_.clear();
    for (std::size_t i = 0; i < n_; ++i) {
      exact_[i] = places_[i] == Place::low ? low[i] : places_[i] == Place::high ? high[i] : 0.0;
      if (places_[i] == Place::free) free_.push_back(i);
    }
    if (!free_.empty() && !eliminate(other_lx)) return false;
    constexpr double kSlack = 1e-9;
    for (std::size_t i = 0; i < n_; ++i) {
      if (!(exact_[i] >= low[i] - kSlack && exact_[i] <= high[i] + kSlack)) return false;
      const double ask = asks_[i] = asked(i, other_lx[i], exact_);
      if (places_[i] == Place::low && ask > low[i] + kSlack) return false;
      if (places_[i] == Place::high && ask < high[i] - kSlack) return false;
    }
    for (std::size_t i = 0; i < n_; ++i) exact_[i] = std::clamp(exact_[i], low[i], high[i]);
    return true;
  }

  /// (I + B) over one set of free loops after Gaussian elimination with row pivots. It does not depend on
  /// the light, so that a year eliminates each set once.
  struct Eliminated {
    std::vector<std::size_t> free;
    std::vector<double> rows;        // m x m: above and on the diagonal what is left, below it the factors
    std::vector<std::size_t> pivot;  // row that changed places with row k
    bool singular = false;
  };

  [[nodiscard]] Eliminated eliminated() const {
    Eliminated e;
    e.free = free_;
    const std::size_t m = free_.size();
    e.rows.resize(m * m);
    e.pivot.resize(m);
    std::vector<double>& rows = e.rows;
    for (std::size_t r = 0; r < m; ++r)
      for (std::size_t c = 0; c < m; ++c) rows[r * m + c] = r == c ? 1.0 : coupling(free_[r], free_[c]);
    for (std::size_t k = 0; k < m; ++k) {
      std::size_t pivot = k;
      for (std::size_t r = k + 1; r < m; ++r)
        if (std::abs(rows[r * m + k]) > std::abs(rows[pivot * m + k])) pivot = r;
      e.singular = std::abs(rows[pivot * m + k]) < 1e-12;
      if (e.singular) return e;
      e.pivot[k] = pivot;
      if (pivot != k)
        for (std::size_t c = 0; c < m; ++c) std::swap(rows[k * m + c], rows[pivot * m + c]);
      for (std::size_t r = k + 1; r < m; ++r) {
        const double factor = rows[r * m + k] / rows[k * m + k];
        rows[r * m + k] = factor;
        for (std::size_t c = k + 1; c < m; ++c) rows[r * m + c] -= factor * rows[k * m + c];
      }
    }
    return e;
  }

  /// Solves (I + B) x = ask over the free loops; false when it is singular.
  bool eliminate(std::span<const double> other_lx) {
    auto known =
        std::find_if(known_.begin(), known_.end(), [&](const Eliminated& e) { return e.free == free_; });
    if (known == known_.end()) known = known_.insert(known_.end(), eliminated());
    if (known->singular) return false;
    const std::size_t m = free_.size();
    const double* rows = known->rows.data();
    double* right = right_.data();
    for (std::size_t r = 0; r < m; ++r)
      right[r] = asked(free_[r], other_lx[free_[r]], exact_);  // the free ones are still 0 there
    // Factors were stored before later rows changed places, and change places with them.
    for (std::size_t k = 0; k < m; ++k) std::swap(right[k], right[known->pivot[k]]);
    for (std::size_t k = 0; k < m; ++k)
      for (std::size_t r = k + 1; r < m; ++r) right[r] -= rows[r * m + k] * right[k];
    for (std::size_t k = m; k-- > 0;) {
      double value = right[k];
      for (std::size_t c = k + 1; c < m; ++c) value -= rows[k * m + c] * exact_[free_[c]];
      exact_[free_[k]] = value / rows[k * m + k];
    }
    return true;
  }

  /// Tries every combination of limits, brightest first; for the rare system on which the rounds go in
  /// circles.
  bool search(std::span<const double> other_lx, std::span<const double> low, std::span<const double> high) {
    if (n_ > kMostLoopsSearched) return false;
    static constexpr std::array<Place, 3> kOrder = {Place::high, Place::free, Place::low};
    std::size_t combinations = 1;
    for (std::size_t i = 0; i < n_; ++i) combinations *= 3;
    for (std::size_t code = 0; code < combinations; ++code) {
      std::size_t rest = code;
      for (std::size_t i = 0; i < n_; ++i, rest /= 3) places_[i] = kOrder[rest % 3];
      if (solve(other_lx, low, high)) return true;
    }
    return false;
  }

  std::size_t n_;
  std::vector<Line> lines_;
  std::vector<double> coupling_;
  // Scratch of one settling, kept so that a year allocates once.
  std::vector<Place> places_;
  std::vector<std::size_t> free_;
  std::vector<Eliminated> known_;
  std::vector<double> right_;
  std::vector<double> exact_;
  std::vector<double> asks_;
  double reach_ = 0.0;   // largest row sum of |B|
  bool placed_ = false;  // `places_` is of the settling before
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
  for (std::size_t k = 0; k < in.daylight_task_lx.size(); ++k) {
    const double task = in.daylight_task_lx[k];
    if (task < in.daylit_from_lx) continue;
    const double signal = in.daylight_signal_lx[k];
    ratios.push_back(signal / task);
    s.add(signal);
    e.add(task);
  }
  found.steps = ratios.size();
  if (found.steps >= 2) {
    std::sort(ratios.begin(), ratios.end());
    found.day_ratio = sorted_quantile(ratios, in.percentile / 100.0);
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

  const bool lit = in.own_task_lx > 0.0;
  switch (in.method) {
    case Method::integral_reset:
      found.usable = in.own_signal_lx > 0.0;
      break;
    case Method::open_loop_proportional:
      found.usable = lit && found.day_ratio > 0.0;
      if (found.usable) found.gain = -1.0 / (in.own_task_lx * found.day_ratio);
      break;
    case Method::closed_loop_proportional:
      found.usable = lit && found.steps >= 2 && found.day_ratio > found.night_ratio;
      if (found.usable) found.gain = -1.0 / (in.own_task_lx * (found.day_ratio - found.night_ratio));
      break;
  }
  return found;
}

Loop make_loop(const domain::DaylightRule& rule, const Calibration& calibration, double maximum_level,
               double range_lx) {
  Loop loop;
  // Without a usable calibration nothing is dimmed: a proportional law without gain stays at its maximum.
  loop.method = calibration.usable ? rule.method : Method::open_loop_proportional;
  loop.gain = calibration.usable ? calibration.gain : 0.0;
  loop.night_signal_lx = quantised_lx(calibration.night_signal_lx, range_lx);
  loop.maximum_level = maximum_level;
  loop.minimum_level = std::min(rule.minimum_level, maximum_level);
  loop.may_switch_off = rule.may_switch_off;
  loop.range_lx = range_lx;
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
  const Eigen::MatrixXd a = Eigen::MatrixXd::Identity(size, size) - rounds;
  for (unsigned subset = 1; subset < (1U << n); ++subset) {
    std::vector<Eigen::Index> kept;
    for (Eigen::Index i = 0; i < size; ++i)
      if ((subset >> i) & 1U) kept.push_back(i);
    const Eigen::MatrixXd minor = a(kept, kept);
    if (minor.determinant() <= 1e-12) coupling.unique = false;
  }
  return coupling;
}

void settle(std::span<const Loop> loops, std::span<const double> signal_matrix,
            std::span<const double> other_signal_lx, std::span<double> levels) {
  System system(loops, signal_matrix);
  std::vector<double> low;
  std::vector<double> high;
  for (std::size_t i = 0; i < loops.size(); ++i) {
    low.push_back(loops[i].minimum_level);
    high.push_back(loops[i].maximum_level);
    levels[i] = loops[i].maximum_level;
  }
  system.settle(other_signal_lx, low, high, levels);
}

void run_loops(std::span<const Loop> loops, std::span<const double> signal_matrix,
               std::span<const std::span<const float>> daylight_signal_lx,
               std::span<const double> fixed_signal_lx, Seconds step_s,
               std::span<const std::span<double>> levels) {
  const std::size_t n = loops.size();
  if (n == 0) return;
  System system(loops, signal_matrix);
  std::vector<OffState> states(n);
  std::vector<double> other(n);
  std::vector<double> low(n);
  std::vector<double> high(n);
  std::vector<double> x(n);
  for (std::size_t k = 0; k < levels[0].size(); ++k) {
    for (std::size_t i = 0; i < n; ++i)
      other[i] =
          quantised_lx(static_cast<double>(daylight_signal_lx[i][k]) + fixed_signal_lx[i], loops[i].range_lx);
    const auto solve = [&] {
      for (std::size_t i = 0; i < n; ++i) {
        low[i] = states[i].off() ? 0.0 : loops[i].minimum_level;
        high[i] = states[i].off() ? 0.0 : loops[i].maximum_level;
      }
      system.settle_again(other, low, high, x);
    };
    solve();
    bool changed = false;
    for (std::size_t i = 0; i < n; ++i) {
      const bool was = states[i].off();
      changed |= states[i].step(loops[i], system.asked(i, other[i], x), step_s) != was;
    }
    if (changed) solve();
    for (std::size_t i = 0; i < n; ++i) levels[i][k] = x[i];
  }
}

}  // namespace halflight::controls
