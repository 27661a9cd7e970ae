#include "choose/least_cover.hpp"

#include "choose/linear_program.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <numeric>
#include <optional>
#include <utility>

namespace halflight::choose {

namespace {

constexpr double kSameWeight = 1e-9;        // of a demand's weight: rounding of its sums
constexpr double kHundredths = 100.0;       // of the unit of money, in which costs count
constexpr double kRounding = 1e-6;          // of a step between costs, left to the solver's arithmetic
constexpr std::size_t kMostStarts = 40;     // of the greedy choice
constexpr std::size_t kMostSwapped = 4000;  // columns among which swaps of two for one are sought

/// A set of small numbers.
class Bits {
 public:
  explicit Bits(std::size_t size = 0) : words_((size + 63) / 64, 0) {}
  void set(std::size_t i) { words_[i / 64] |= std::uint64_t{1} << (i % 64); }
  void reset(std::size_t i) { words_[i / 64] &= ~(std::uint64_t{1} << (i % 64)); }
  [[nodiscard]] bool test(std::size_t i) const { return ((words_[i / 64] >> (i % 64)) & 1U) != 0; }
  [[nodiscard]] bool within(const Bits& other) const {
    for (std::size_t w = 0; w < words_.size(); ++w)
      if ((words_[w] & ~other.words_[w]) != 0) return false;
    return true;
  }
  [[nodiscard]] std::size_t count() const {
    std::size_t n = 0;
    for (const std::uint64_t word : words_) n += static_cast<std::size_t>(std::popcount(word));
    return n;
  }
  [[nodiscard]] bool none() const {
    return std::all_of(words_.begin(), words_.end(), [](std::uint64_t w) { return w == 0; });
  }
  /// Calls `f` with each member, ascending.
  template <class F>
  void each(F f) const {
    for (std::size_t w = 0; w < words_.size(); ++w)
      for (std::uint64_t word = words_[w]; word != 0; word &= word - 1)
        f(w * 64 + static_cast<std::size_t>(std::countr_zero(word)));
  }
  friend auto operator<=>(const Bits&, const Bits&) = default;

 private:
  std::vector<std::uint64_t> words_;
};

double weight_of(const CoverProblem& problem, std::size_t demand) {
  double sum = 0.0;
  for (const CoverProblem::Row& row : problem.rows)
    if (row.demand == demand) sum += row.weight;
  return sum;
}

/// Weight of each demand that columns cover.
std::vector<double> covered_weights(const CoverProblem& problem, std::span<const std::size_t> columns) {
  std::vector<bool> is_covered(problem.rows.size(), false);
  for (const std::size_t c : columns)
    for (const std::size_t r : problem.columns[c].rows) is_covered[r] = true;
  std::vector<double> weights(problem.demands.size(), 0.0);
  for (std::size_t r = 0; r < problem.rows.size(); ++r)
    if (is_covered[r]) weights[problem.rows[r].demand] += problem.rows[r].weight;
  return weights;
}

std::vector<std::size_t> all_columns(const CoverProblem& problem) {
  std::vector<std::size_t> all(problem.columns.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  return all;
}

/// Weight that each demand asks for, as far as it can be had.
std::vector<double> asked_weights(const CoverProblem& problem) {
  const std::vector<double> most = covered_weights(problem, all_columns(problem));
  std::vector<double> asked(problem.demands.size(), 0.0);
  for (std::size_t d = 0; d < asked.size(); ++d)
    asked[d] = std::min(most[d], problem.demands[d].least_share * weight_of(problem, d));
  return asked;
}

/// A row that has to be covered (without a demand), or that counts towards a share.
struct ActiveRow {
  Bits columns;
  std::optional<std::size_t> demand;
  double weight = 0.0;
};

/// What is left of a problem once all that follows is drawn from it. Whole-number prices rank by cost, then
/// by devices.
struct Core {
  std::vector<std::int64_t> price;   // by column of the problem
  std::int64_t per_hundredth = 1;    // of the price: more than the devices of any best cover
  std::vector<std::size_t> columns;  // of the problem, that are left
  std::vector<ActiveRow> rows;       // their bits are columns of the problem
  std::vector<double> asked;         // by demand: weight still asked for of its rows
  std::vector<std::size_t> taken;    // of the problem, that every best cover has, or one does
  std::vector<Bits> rows_of;         // by column of the problem
};

std::int64_t hundredths(double cost) { return std::llround(cost * kHundredths); }

class Presolve {
 public:
  Presolve(const CoverProblem& problem, Core& core) : core_(core), is_left_(problem.columns.size(), true) {
    core_.asked = asked_weights(problem);
    std::vector<Bits> columns(problem.rows.size(), Bits(problem.columns.size()));
    for (std::size_t c = 0; c < problem.columns.size(); ++c)
      for (const std::size_t r : problem.columns[c].rows) columns[r].set(c);
    demand_weight_.assign(problem.demands.size(), 0.0);
    for (std::size_t r = 0; r < problem.rows.size(); ++r) {
      demand_weight_[problem.rows[r].demand] += problem.rows[r].weight;
      if (!columns[r].none())
        core_.rows.push_back({std::move(columns[r]), problem.rows[r].demand, problem.rows[r].weight});
    }
  }

  void run() {
    while (true) {
      harden();
      merge_rows();
      drop_implied_rows();
      const bool has_taken = take_only_columns();
      if (!drop_dominated_columns() && !has_taken) break;
    }
    for (std::size_t c = 0; c < is_left_.size(); ++c)
      if (is_left_[c]) core_.columns.push_back(c);
  }

 private:
  [[nodiscard]] double slack(std::size_t demand) const { return kSameWeight * demand_weight_[demand]; }

  /// A row without which its demand cannot be kept must be covered; a demand that is kept asks for nothing.
  void harden() {
    std::vector<double> left(core_.asked.size(), 0.0);
    for (const ActiveRow& row : core_.rows)
      if (row.demand) left[*row.demand] += row.weight;
    for (ActiveRow& row : core_.rows) {
      if (!row.demand) continue;
      const std::size_t d = *row.demand;
      if (core_.asked[d] > slack(d) && left[d] - row.weight < core_.asked[d] - slack(d)) row.demand.reset();
      // What must be covered is no longer asked for by share.
      if (!row.demand) {
        core_.asked[d] -= row.weight;
        left[d] -= row.weight;
      }
    }
    std::erase_if(core_.rows, [&](const ActiveRow& row) {
      return row.demand && core_.asked[*row.demand] <= slack(*row.demand);
    });
  }

  void merge_rows() {
    std::map<std::pair<std::size_t, Bits>, double> merged;  // 0: must be covered
    for (ActiveRow& row : core_.rows)
      merged[{row.demand ? *row.demand + 1 : 0, std::move(row.columns)}] += row.weight;
    core_.rows.clear();
    for (const auto& [key, weight] : merged)
      core_.rows.push_back({key.second, key.first > 0 ? std::optional(key.first - 1) : std::nullopt, weight});
  }

  /// Whatever covers a row that must be covered, covers these too.
  void drop_implied_rows() {
    std::vector<bool> is_implied(core_.rows.size(), false);
    for (std::size_t h = 0; h < core_.rows.size(); ++h) {
      if (core_.rows[h].demand || is_implied[h]) continue;
      for (std::size_t r = 0; r < core_.rows.size(); ++r)
        if (r != h && !is_implied[r] && core_.rows[h].columns.within(core_.rows[r].columns)) {
          is_implied[r] = true;
          if (core_.rows[r].demand) core_.asked[*core_.rows[r].demand] -= core_.rows[r].weight;
        }
    }
    std::size_t i = 0;
    std::erase_if(core_.rows, [&](const ActiveRow&) { return is_implied[i++]; });
  }

  /// Rows that a single column covers.
  bool take_only_columns() {
    bool has_taken = false;
    for (std::size_t h = 0; h < core_.rows.size();) {
      if (core_.rows[h].demand || core_.rows[h].columns.count() != 1) {
        ++h;
        continue;
      }
      std::size_t column = 0;
      core_.rows[h].columns.each([&](std::size_t c) { column = c; });
      core_.taken.push_back(column);
      is_left_[column] = false;
      has_taken = true;
      std::erase_if(core_.rows, [&](const ActiveRow& row) {
        if (!row.columns.test(column)) return false;
        if (row.demand) core_.asked[*row.demand] -= row.weight;
        return true;
      });
      h = 0;
    }
    return has_taken;
  }

  bool drop_dominated_columns() {
    core_.rows_of.assign(is_left_.size(), Bits(core_.rows.size()));
    for (std::size_t r = 0; r < core_.rows.size(); ++r)
      core_.rows[r].columns.each([&](std::size_t c) { core_.rows_of[c].set(r); });
    bool has_dropped = false;
    for (std::size_t c = 0; c < is_left_.size(); ++c) {
      if (!is_left_[c]) continue;
      bool is_dominated = core_.rows_of[c].none();
      for (std::size_t k = 0; k < is_left_.size() && !is_dominated; ++k) {
        if (k == c || !is_left_[k] || core_.price[k] > core_.price[c]) continue;
        if (!core_.rows_of[c].within(core_.rows_of[k])) continue;
        const bool is_alike = core_.price[k] == core_.price[c] && core_.rows_of[k] == core_.rows_of[c];
        is_dominated = !is_alike || k < c;
      }
      if (!is_dominated) continue;
      is_left_[c] = false;
      has_dropped = true;
      for (ActiveRow& row : core_.rows) row.columns.reset(c);
    }
    return has_dropped;
  }

  Core& core_;
  std::vector<bool> is_left_;
  std::vector<double> demand_weight_;
};

/// Covers of a core by rules of thumb; sets of columns are of the problem's.
class Heuristic {
 public:
  explicit Heuristic(const Core& core) : core_(core) {
    for (const double asked : core.asked) slack_.push_back(kSameWeight * std::max(1.0, asked));
  }

  /// The best of greedy choices that begin with each column in turn, bettered by swaps.
  [[nodiscard]] std::vector<std::size_t> best() const {
    std::vector<std::size_t> best = bettered(greedy({}));
    std::int64_t price = price_of(best);
    const std::size_t stride = core_.columns.size() / kMostStarts + 1;
    for (std::size_t i = 0; i < core_.columns.size(); i += stride) {
      std::vector<std::size_t> other = bettered(greedy({core_.columns[i]}));
      if (const std::int64_t p = price_of(other); p < price) {
        price = p;
        best = std::move(other);
      }
    }
    return best;
  }

  [[nodiscard]] std::int64_t price_of(const std::vector<std::size_t>& columns) const {
    std::int64_t sum = 0;
    for (const std::size_t c : columns) sum += core_.price[c];
    return sum;
  }

 private:
  /// What is still to be covered.
  struct Open {
    std::vector<bool> row;
    std::vector<double> asked;
  };
  [[nodiscard]] Open open_after(const std::vector<std::size_t>& columns) const {
    Open open{std::vector<bool>(core_.rows.size(), true), core_.asked};
    for (const std::size_t c : columns) cover(open, c);
    return open;
  }
  void cover(Open& open, std::size_t column) const {
    core_.rows_of[column].each([&](std::size_t r) {
      if (!open.row[r]) return;
      open.row[r] = false;
      if (core_.rows[r].demand) open.asked[*core_.rows[r].demand] -= core_.rows[r].weight;
    });
  }
  [[nodiscard]] bool is_kept(const Open& open) const {
    for (std::size_t d = 0; d < open.asked.size(); ++d)
      if (open.asked[d] > slack_[d]) return false;
    for (std::size_t r = 0; r < core_.rows.size(); ++r)
      if (open.row[r] && !core_.rows[r].demand) return false;
    return true;
  }
  /// What a column adds: rows that must be covered count 1, of others the share of what is still asked.
  [[nodiscard]] double gain(const Open& open, std::size_t column) const {
    double sum = 0.0;
    core_.rows_of[column].each([&](std::size_t r) {
      if (!open.row[r]) return;
      const std::optional<std::size_t> d = core_.rows[r].demand;
      if (!d)
        sum += 1.0;
      else if (open.asked[*d] > slack_[*d])
        sum += core_.rows[r].weight / core_.asked[*d] * static_cast<double>(core_.rows.size());
    });
    return sum;
  }
  [[nodiscard]] std::vector<std::size_t> greedy(std::vector<std::size_t> chosen) const {
    Open open = open_after(chosen);
    while (!is_kept(open)) {
      std::optional<std::size_t> next;
      double most = 0.0;
      for (const std::size_t c : core_.columns) {
        const double g = gain(open, c) / (1.0 + static_cast<double>(core_.price[c]));
        if (g > most) {
          most = g;
          next = c;
        }
      }
      assert(next);  // what is asked can be had
      if (!next) break;
      chosen.push_back(*next);
      cover(open, *next);
    }
    return chosen;
  }
  [[nodiscard]] static std::vector<std::size_t> without(const std::vector<std::size_t>& chosen, std::size_t i,
                                                        std::size_t j) {
    std::vector<std::size_t> rest;
    for (std::size_t k = 0; k < chosen.size(); ++k)
      if (k != i && k != j) rest.push_back(chosen[k]);
    return rest;
  }
  [[nodiscard]] bool closes(const Open& open, const Bits& must, std::size_t column) const {
    if (!must.within(core_.rows_of[column])) return false;
    std::vector<double> asked = open.asked;
    core_.rows_of[column].each([&](std::size_t r) {
      if (open.row[r] && core_.rows[r].demand) asked[*core_.rows[r].demand] -= core_.rows[r].weight;
    });
    for (std::size_t d = 0; d < asked.size(); ++d)
      if (asked[d] > slack_[d]) return false;
    return true;
  }
  /// One change for the better: a column left out, or one or two for a cheaper one.
  bool better(std::vector<std::size_t>& chosen) const {
    for (std::size_t i = 0; i < chosen.size(); ++i)
      for (std::size_t j = i; j < chosen.size(); ++j) {
        const std::vector<std::size_t> rest = without(chosen, i, j);
        const Open open = open_after(rest);
        if (is_kept(open)) {
          chosen = rest;
          return true;
        }
        Bits must(core_.rows.size());
        for (std::size_t r = 0; r < core_.rows.size(); ++r)
          if (open.row[r] && !core_.rows[r].demand) must.set(r);
        const std::int64_t spent =
            core_.price[chosen[i]] + (i == j ? std::int64_t{0} : core_.price[chosen[j]]);
        for (const std::size_t c : core_.columns)
          if (core_.price[c] < spent && closes(open, must, c)) {
            chosen = rest;
            chosen.push_back(c);
            return true;
          }
      }
    return false;
  }
  [[nodiscard]] std::vector<std::size_t> bettered(std::vector<std::size_t> chosen) const {
    if (core_.columns.size() > kMostSwapped) return chosen;
    while (better(chosen)) {
    }
    return chosen;
  }

  const Core& core_;
  std::vector<double> slack_;
};

/// The core as a programme over `columns`: whole numbers for columns, shares for rows that count.
LinearProgram program_of(const Core& core, const std::vector<std::size_t>& columns) {
  LinearProgram program;
  const double unit = static_cast<double>(core.per_hundredth);
  for (const std::size_t c : columns)
    program.columns.push_back({static_cast<double>(core.price[c]) / unit, 0.0, 1.0, true});
  std::vector<std::size_t> share_of(core.rows.size(), 0);
  for (std::size_t r = 0; r < core.rows.size(); ++r)
    if (core.rows[r].demand) {
      share_of[r] = program.columns.size();
      program.columns.push_back({0.0, 0.0, 1.0, false});
    }
  const std::size_t n = program.columns.size();
  for (std::size_t r = 0; r < core.rows.size(); ++r) {
    LinearProgram::Row& row = program.rows.emplace_back();
    row.per_column.assign(n, 0.0);
    for (std::size_t j = 0; j < columns.size(); ++j)
      if (core.rows[r].columns.test(columns[j])) row.per_column[j] = 1.0;
    row.least = core.rows[r].demand ? 0.0 : 1.0;
    if (core.rows[r].demand) row.per_column[share_of[r]] = -1.0;
  }
  for (std::size_t d = 0; d < core.asked.size(); ++d) {
    LinearProgram::Row row{std::vector<double>(n, 0.0), core.asked[d]};
    bool has_rows = false;
    for (std::size_t r = 0; r < core.rows.size(); ++r)
      if (core.rows[r].demand == d) {
        row.per_column[share_of[r]] = core.rows[r].weight;
        has_rows = true;
      }
    row.least -= kSameWeight * std::max(1.0, row.least);
    if (has_rows) program.rows.push_back(std::move(row));
  }
  return program;
}

/// The smallest price that a sum of the columns' prices can be without being below `bound`.
std::int64_t next_price(double bound, std::int64_t step) {
  if (!(bound > 0.0)) return 0;
  const double steps = std::ceil(bound / static_cast<double>(step) - kRounding);
  return static_cast<std::int64_t>(steps) * step;
}

struct Searched {
  std::vector<std::size_t> columns;
  std::int64_t price = 0;
  std::int64_t bound = 0;
};

/// Prices in which a device weighs as much as it can beside a hundredth: nothing as cheap as `known` has more
/// devices than cost as much. The solver tells larger differences more surely.
void sharpen(Core& core, const std::vector<std::size_t>& known) {
  const auto hundredths_of = [&](std::size_t c) { return core.price[c] / core.per_hundredth; };
  const auto devices_of = [&](std::size_t c) { return core.price[c] % core.per_hundredth; };
  std::int64_t spent = 0;
  for (const std::size_t c : known) spent += hundredths_of(c);
  double most = static_cast<double>(core.per_hundredth - 1);
  double each = std::numeric_limits<double>::infinity();
  for (const std::size_t c : core.columns)
    each = std::min(each, static_cast<double>(hundredths_of(c)) / static_cast<double>(devices_of(c)));
  if (each > 0.0) most = std::min(most, static_cast<double>(spent) / each);
  const std::int64_t per_hundredth = static_cast<std::int64_t>(std::floor(most)) + 1;
  for (std::int64_t& price : core.price)
    price = price / core.per_hundredth * per_hundredth + price % core.per_hundredth;
  core.per_hundredth = per_hundredth;
}

Searched search(Core& core, int most_nodes) {
  Searched found;
  if (core.rows.empty()) return found;
  const Heuristic heuristic(core);
  found.columns = heuristic.best();
  sharpen(core, found.columns);
  found.price = heuristic.price_of(found.columns);
  std::int64_t step = 0;
  for (const std::size_t c : core.columns) step = std::gcd(step, core.price[c]);
  step = std::max(step, std::int64_t{1});
  const double unit = static_cast<double>(core.per_hundredth);

  const LinearProgram whole = program_of(core, core.columns);
  const std::optional<LinearOptimum> relaxed = linear_optimum(whole);
  if (!relaxed) return found;
  const double relaxed_bound = unit * check_duality(whole, relaxed->x, relaxed->price).bound;
  found.bound = std::min(found.price, next_price(relaxed_bound, step));
  if (found.bound >= found.price || most_nodes <= 0) return found;

  // Only what is cheaper by a step is sought, and no column whose price alone makes that impossible.
  const std::int64_t sought = found.price - step;
  std::vector<std::size_t> columns;
  for (std::size_t j = 0; j < core.columns.size(); ++j) {
    double reduced = whole.columns[j].cost;
    for (std::size_t r = 0; r < whole.rows.size(); ++r)
      reduced -= std::max(0.0, relaxed->price[r]) * whole.rows[r].per_column[j];
    if (relaxed_bound + unit * reduced <= static_cast<double>(sought) + kRounding * static_cast<double>(step))
      columns.push_back(core.columns[j]);
  }
  LinearProgram program = program_of(core, columns);
  LinearProgram::Row cheaper;
  cheaper.per_column.reserve(program.columns.size());
  for (const LinearProgram::Column& column : program.columns) cheaper.per_column.push_back(column.cost);
  cheaper.most = (static_cast<double>(sought) + 0.5 * static_cast<double>(step)) / unit;
  program.rows.push_back(std::move(cheaper));
  const double same_cost = 0.9 * static_cast<double>(step) / unit;
  const WholeOptimum optimum = whole_optimum(program, most_nodes, same_cost);
  if (optimum.state == WholeOptimum::State::none) {
    found.bound = found.price;
    return found;
  }
  if (optimum.x.empty()) return found;
  found.columns.clear();
  for (std::size_t j = 0; j < columns.size(); ++j)
    if (optimum.x[j] > 0.5) found.columns.push_back(columns[j]);
  found.price = heuristic.price_of(found.columns);
  found.bound = optimum.state == WholeOptimum::State::proved
                    ? found.price
                    : std::clamp(next_price(unit * optimum.bound, step), found.bound, found.price);
  return found;
}

}  // namespace

std::vector<double> covered_shares(const CoverProblem& problem, std::span<const std::size_t> columns) {
  std::vector<double> shares = covered_weights(problem, columns);
  for (std::size_t d = 0; d < shares.size(); ++d) {
    const double weight = weight_of(problem, d);
    shares[d] = weight > 0.0 ? std::min(1.0, shares[d] / weight) : 1.0;
  }
  return shares;
}

bool keeps_demands(const CoverProblem& problem, std::span<const std::size_t> columns) {
  const std::vector<double> asked = asked_weights(problem);
  const std::vector<double> has = covered_weights(problem, columns);
  for (std::size_t d = 0; d < asked.size(); ++d)
    if (has[d] < asked[d] - kSameWeight * weight_of(problem, d)) return false;
  return true;
}

Cover least_cover(const CoverProblem& problem, int most_nodes) {
  Core core;
  // No best cover has more devices than cost as much as any cover, or than one column for each row.
  double dearest = 0.0;
  double least_per_device = std::numeric_limits<double>::infinity();
  std::size_t most_devices = 1;
  for (const CoverProblem::Column& column : problem.columns) {
    const double devices = static_cast<double>(std::max<std::size_t>(1, column.devices));
    dearest = std::max(dearest, column.cost);
    least_per_device = std::min(least_per_device, column.cost / devices);
    most_devices = std::max(most_devices, column.devices);
  }
  const double rows = static_cast<double>(problem.rows.size());
  double most = rows * static_cast<double>(most_devices);
  if (least_per_device > 0.0) most = std::min(most, rows * dearest / least_per_device);
  core.per_hundredth = static_cast<std::int64_t>(std::floor(most)) + 1;
  for (const CoverProblem::Column& column : problem.columns)
    core.price.push_back(hundredths(column.cost) * core.per_hundredth +
                         static_cast<std::int64_t>(std::max<std::size_t>(1, column.devices)));
  Presolve(problem, core).run();
  const Searched found = search(core, most_nodes);

  Cover cover;
  cover.columns = found.columns;
  cover.columns.insert(cover.columns.end(), core.taken.begin(), core.taken.end());
  std::sort(cover.columns.begin(), cover.columns.end());
  double taken_cost = 0.0;
  for (const std::size_t c : core.taken) taken_cost += problem.columns[c].cost;
  for (const std::size_t c : cover.columns) {
    cover.cost += problem.columns[c].cost;
    cover.devices += problem.columns[c].devices;
  }
  cover.is_proved = found.bound >= found.price;
  // A price holds fewer devices than one hundredth is worth.
  const std::int64_t least_hundredths = found.bound / core.per_hundredth;
  const bool costs_least = least_hundredths >= found.price / core.per_hundredth;
  cover.bound = costs_least
                    ? cover.cost
                    : std::min(cover.cost, taken_cost + static_cast<double>(least_hundredths) / kHundredths);
  return cover;
}

Cover least_cover(std::span<const double> costs, std::span<const std::vector<std::size_t>> covers,
                  std::size_t rows, int most_nodes) {
  assert(costs.size() == covers.size());
  CoverProblem problem;
  problem.demands.emplace_back();
  problem.rows.assign(rows, {});
  for (std::size_t c = 0; c < costs.size(); ++c) problem.columns.push_back({costs[c], 1, covers[c]});
  return least_cover(problem, most_nodes);
}

}  // namespace halflight::choose
