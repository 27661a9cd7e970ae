#include "choose/scene_levels.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <span>
#include <tuple>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

using Kind = SceneDemand::Kind;

bool is_of_light(Kind kind) { return kind != Kind::level_at_least && kind != Kind::level_spread; }

bool asks_at_least(Kind kind) {
  return kind == Kind::mean_at_least || kind == Kind::point_at_least || kind == Kind::uniformity ||
         kind == Kind::level_at_least;
}

// --- What is wrong with a problem
// ---------------------------------------------------------------------------

class Complaints {
 public:
  void unless(bool is_right, const std::string& where, const std::string& problem,
              const std::string& remedy) {
    if (!is_right) found_.push_back({Diagnostic::Severity::error, "", where, problem, remedy});
  }
  Diagnostics found() && { return std::move(found_); }

 private:
  Diagnostics found_;
};

bool is_at_least_0(double x) { return std::isfinite(x) && x >= 0.0; }

bool is_table(const std::vector<std::vector<double>>& table, std::size_t rows, std::size_t columns) {
  return table.size() == rows && std::all_of(table.begin(), table.end(), [&](const auto& row) {
           return row.size() == columns && std::all_of(row.begin(), row.end(), is_at_least_0);
         });
}

Diagnostics complaints(const SceneProblem& problem) {
  Complaints complain;
  complain.unless(problem.steps >= 1 && problem.most_nodes >= 1, "", "no steps or no nodes",
                  "at least one of each");
  complain.unless(!problem.groups.empty(), "/groups", "there is no group", "at least one");
  complain.unless(!problem.states.empty(), "/states", "there is no state", "at least one, such as night");
  std::set<std::string> groups;
  for (std::size_t g = 0; g < problem.groups.size(); ++g) {
    const SceneGroup& group = problem.groups[g];
    const std::string where = fmt::format("/groups/{}", g);
    complain.unless(groups.insert(group.id).second, where, fmt::format("the id \"{}\" is taken", group.id),
                    "ids that are not alike");
    complain.unless(is_at_least_0(group.full_w), where, fmt::format("{} W is not a power", group.full_w),
                    "0 W or more");
    complain.unless(group.least_level >= 0.0 && group.least_level <= 1.0, where,
                    fmt::format("{} is not a lowest level", group.least_level), "0 to 1");
  }
  std::set<std::string> areas;
  for (std::size_t a = 0; a < problem.areas.size(); ++a) {
    const SceneArea& area = problem.areas[a];
    const std::string where = fmt::format("/areas/{}", a);
    complain.unless(areas.insert(area.id).second, where, fmt::format("the id \"{}\" is taken", area.id),
                    "ids that are not alike");
    complain.unless(
        !area.light_lx.empty() && is_table(area.light_lx, area.light_lx.size(), problem.groups.size()),
        where + "/light_lx", "light of the groups at the points is incomplete or below 0",
        "for each point 0 lx or more of each group");
    complain.unless(is_table(area.given_lx, problem.states.size(), area.light_lx.size()), where + "/given_lx",
                    "light from elsewhere is incomplete or below 0",
                    "for each state 0 lx or more at each point");
  }
  for (std::size_t d = 0; d < problem.demands.size(); ++d) {
    const SceneDemand& demand = problem.demands[d];
    const std::string where = fmt::format("/demands/{}", d);
    const double most = demand.kind == Kind::uniformity || !is_of_light(demand.kind) ? 1.0 : kUnlimited;
    complain.unless(is_at_least_0(demand.asked) && demand.asked <= most, where,
                    fmt::format("{} cannot be asked", demand.asked),
                    "0 lx or more; 0 to 1 for a uniformity or a level");
    if (is_of_light(demand.kind)) {
      complain.unless(areas.contains(demand.area), where, fmt::format("there is no area \"{}\"", demand.area),
                      "the id of an area");
      complain.unless(demand.groups.empty(), where, "a demand on light names groups", "only an area");
    } else {
      complain.unless(demand.area.empty(), where, "a demand on levels names an area", "only groups");
      complain.unless(!demand.groups.empty(), where, "no group is named", "the ids of groups");
      for (const std::string& id : demand.groups)
        complain.unless(groups.contains(id), where, fmt::format("there is no group \"{}\"", id),
                        "the id of a group");
    }
  }
  return std::move(complain).found();
}

// --- Demands as rows
// ----------------------------------------------------------------------------------------

/// The problem in an order of its own, that of ids, so that the order in which it is given cannot matter.
struct OrderedProblem {
  SceneProblem problem;
  std::vector<std::size_t> group_at;   // of each group here, its place in the problem as given
  std::vector<std::size_t> demand_at;  // of each demand
  std::map<std::string, std::size_t> group_of, area_of;
};

std::vector<std::size_t> in_order_of(std::size_t count, const auto& key) {
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
  return order;
}

OrderedProblem ordered(const SceneProblem& given) {
  OrderedProblem made;
  made.problem = given;
  made.group_at = in_order_of(given.groups.size(), [&](std::size_t g) { return given.groups[g].id; });
  for (std::size_t g = 0; g < given.groups.size(); ++g) {
    made.problem.groups[g] = given.groups[made.group_at[g]];
    made.group_of[made.problem.groups[g].id] = g;
  }
  for (SceneArea& area : made.problem.areas)
    for (std::vector<double>& at_point : area.light_lx) {
      const std::vector<double> as_given = at_point;
      for (std::size_t g = 0; g < at_point.size(); ++g) at_point[g] = as_given[made.group_at[g]];
    }
  for (std::size_t a = 0; a < given.areas.size(); ++a) made.area_of[given.areas[a].id] = a;
  for (SceneDemand& demand : made.problem.demands) std::sort(demand.groups.begin(), demand.groups.end());
  const std::vector<SceneDemand> demands = made.problem.demands;
  made.demand_at = in_order_of(demands.size(), [&](std::size_t d) {
    return std::tuple(demands[d].kind, demands[d].area, demands[d].groups, demands[d].asked);
  });
  for (std::size_t d = 0; d < demands.size(); ++d) made.problem.demands[d] = demands[made.demand_at[d]];
  return made;
}

double mean(std::span<const double> values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

double dot(std::span<const double> a, std::span<const double> b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
}

/// least <= per_level . levels <= most
struct DemandRow {
  std::vector<double> per_level;
  double least = -kUnlimited;
  double most = kUnlimited;
  std::size_t state = 0;  // that draws the bound
};

class Demands {
 public:
  explicit Demands(const OrderedProblem& ordered) : ordered_(ordered), problem_(ordered.problem) {}

  /// The rows of a demand with another figure in place of what is asked. Of all states only the one that asks
  /// most of a row is kept: states differ in what is given, not in what the groups give.
  [[nodiscard]] std::vector<DemandRow> rows(std::size_t d, double asked) const {
    const SceneDemand& demand = problem_.demands[d];
    const std::size_t groups = problem_.groups.size();
    std::vector<DemandRow> made;
    if (demand.kind == Kind::level_at_least) {
      for (const std::string& id : demand.groups) {
        made.push_back({std::vector<double>(groups), asked});
        made.back().per_level[group(id)] = 1.0;
      }
      return made;
    }
    if (demand.kind == Kind::level_spread) {
      for (std::size_t i = 0; i < demand.groups.size(); ++i)
        for (std::size_t j = 0; j < i; ++j) {
          made.push_back({std::vector<double>(groups), -asked, asked});
          made.back().per_level[group(demand.groups[j])] += 1.0;
          made.back().per_level[group(demand.groups[i])] -= 1.0;
        }
      return made;
    }
    const SceneArea& area = area_of(demand);
    const std::vector<double> mean_light = mean_light_lx(area);
    if (demand.kind == Kind::mean_at_least || demand.kind == Kind::mean_at_most) {
      DemandRow row{mean_light};
      for (std::size_t s = 0; s < area.given_lx.size(); ++s)
        tighten(row, demand.kind, asked - mean(area.given_lx[s]), s);
      return {row};
    }
    for (std::size_t p = 0; p < area.light_lx.size(); ++p) {
      DemandRow row{area.light_lx[p]};
      if (demand.kind == Kind::uniformity)
        for (std::size_t g = 0; g < groups; ++g) row.per_level[g] -= asked * mean_light[g];
      for (std::size_t s = 0; s < area.given_lx.size(); ++s) {
        const double from = demand.kind == Kind::uniformity ? asked * mean(area.given_lx[s]) : asked;
        tighten(row, demand.kind, from - area.given_lx[s][p], s);
      }
      made.push_back(std::move(row));
    }
    return made;
  }

  /// What levels make of a demand, in the state in which it is nearest to failing.
  [[nodiscard]] DemandKept reached(std::size_t d, std::span<const double> levels) const {
    const SceneDemand& demand = problem_.demands[d];
    if (!is_of_light(demand.kind)) {
      double lowest = 1.0;
      double highest = 0.0;
      for (const std::string& id : demand.groups) {
        lowest = std::min(lowest, levels[group(id)]);
        highest = std::max(highest, levels[group(id)]);
      }
      return {demand.kind == Kind::level_at_least ? lowest : highest - lowest};
    }
    const SceneArea& area = area_of(demand);
    std::vector<double> electric_lx;
    for (const std::vector<double>& at_point : area.light_lx) electric_lx.push_back(dot(at_point, levels));
    DemandKept kept;
    for (std::size_t s = 0; s < area.given_lx.size(); ++s) {
      std::vector<double> lx = electric_lx;
      for (std::size_t p = 0; p < lx.size(); ++p) lx[p] += area.given_lx[s][p];
      double value = mean(lx);
      if (demand.kind == Kind::point_at_least) value = *std::min_element(lx.begin(), lx.end());
      if (demand.kind == Kind::point_at_most) value = *std::max_element(lx.begin(), lx.end());
      if (demand.kind == Kind::uniformity)
        value = value > 0.0 ? *std::min_element(lx.begin(), lx.end()) / value : 1.0;
      if (s == 0 || (asks_at_least(demand.kind) ? value < kept.reached : value > kept.reached))
        kept = {value, s};
    }
    return kept;
  }

  /// By how much levels pass any row of a demand.
  [[nodiscard]] double violation(std::size_t d, std::span<const double> levels) const {
    double most = 0.0;
    for (const DemandRow& row : rows(d, problem_.demands[d].asked)) {
      const double value = dot(row.per_level, levels);
      most = std::max({most, row.least - value, value - row.most});
    }
    return most;
  }

  /// What a row's bound moves by for each unit of what is asked, at levels.
  [[nodiscard]] double per_asked(std::size_t d, const DemandRow& row, std::span<const double> levels) const {
    if (problem_.demands[d].kind != Kind::uniformity) return 1.0;
    const SceneArea& area = area_of(problem_.demands[d]);
    return dot(mean_light_lx(area), levels) + mean(area.given_lx[row.state]);
  }

 private:
  const OrderedProblem& ordered_;
  const SceneProblem& problem_;

  [[nodiscard]] std::size_t group(const std::string& id) const { return ordered_.group_of.at(id); }
  [[nodiscard]] const SceneArea& area_of(const SceneDemand& demand) const {
    return problem_.areas[ordered_.area_of.at(demand.area)];
  }
  [[nodiscard]] std::vector<double> mean_light_lx(const SceneArea& area) const {
    std::vector<double> sum(problem_.groups.size());
    for (const std::vector<double>& at_point : area.light_lx)
      for (std::size_t g = 0; g < sum.size(); ++g) sum[g] += at_point[g];
    for (double& lx : sum) lx /= static_cast<double>(area.light_lx.size());
    return sum;
  }
  static void tighten(DemandRow& row, Kind kind, double bound, std::size_t state) {
    if (asks_at_least(kind) ? bound <= row.least : bound >= row.most) return;
    (asks_at_least(kind) ? row.least : row.most) = bound;
    row.state = state;
  }
};

// --- Programmes
// ---------------------------------------------------------------------------------------------

void add_row(LinearProgram& program, std::vector<double> per_column, double least, double most) {
  per_column.resize(program.columns.size());
  program.rows.push_back({std::move(per_column), least, most});
}

/// Levels without steps, in the order of groups, and the demands as rows in their order.
LinearProgram program_without_steps(const SceneProblem& problem, const Demands& demands) {
  LinearProgram program;
  for (const SceneGroup& group : problem.groups)
    program.columns.push_back({group.full_w, group.may_be_off ? 0.0 : group.least_level, 1.0});
  for (std::size_t d = 0; d < problem.demands.size(); ++d)
    for (DemandRow& row : demands.rows(d, problem.demands[d].asked))
      add_row(program, std::move(row.per_level), row.least, row.most);
  return program;
}

/// Levels on steps. The columns of groups count steps, or whether a group that only switches is on.
class StepProgram {
 public:
  StepProgram(const SceneProblem& problem, const Demands& demands) : problem_(problem), demands_(demands) {
    const int steps = problem.steps;
    for (const SceneGroup& group : problem.groups) {
      const bool only_switches = group.least_level >= 1.0;
      most_.push_back(only_switches ? 1 : steps);
      // A lowest level between two steps begins at the upper one; what is on stands a step above off at
      // least.
      least_on_.push_back(
          only_switches ? 1 : std::max(1, static_cast<int>(std::ceil(group.least_level * steps - 1e-9))));
      program_.columns.push_back(
          {0.0, group.may_be_off ? 0.0 : least_on_.back(), static_cast<double>(most_.back()), true});
    }
    // Off or above the lowest level: a column that says whether the group is on.
    for (std::size_t g = 0; g < problem.groups.size(); ++g)
      if (problem.groups[g].may_be_off && least_on_[g] > 1) {
        const std::size_t on = add_column({0.0, 0.0, 1.0, true});
        add({{g, 1.0}, {on, -static_cast<double>(least_on_[g])}}, 0.0, kUnlimited);
        add({{g, 1.0}, {on, -static_cast<double>(most_[g])}}, -kUnlimited, 0.0);
      }
  }

  void keep(std::size_t d) { add_demand(d, problem_.demands[d].asked, std::nullopt); }

  void minimise_power() {
    for (std::size_t g = 0; g < problem_.groups.size(); ++g) program_.columns[g].cost = watts_per_count(g);
  }

  /// The sum over pairs of groups of how far apart they stand, in steps, at no more than `power_w`.
  void minimise_differences(double power_w) {
    std::vector<double> watts;
    for (std::size_t g = 0; g < problem_.groups.size(); ++g) {
      watts.push_back(watts_per_count(g));
      program_.columns[g].cost = 0.0;
    }
    add_row(program_, watts, -kUnlimited, power_w);
    for (std::size_t g = 0; g < problem_.groups.size(); ++g)
      for (std::size_t h = 0; h < g; ++h) {
        const std::size_t apart = add_column({1.0});
        const double steps_g = static_cast<double>(problem_.steps) / most_[g];
        const double steps_h = static_cast<double>(problem_.steps) / most_[h];
        add({{g, steps_g}, {h, -steps_h}, {apart, 1.0}}, 0.0, kUnlimited);
        add({{g, -steps_g}, {h, steps_h}, {apart, 1.0}}, 0.0, kUnlimited);
      }
  }

  /// How far a demand must give way, in the unit of its rows, from `asked`; below 0 where it need not.
  void minimise_giving(std::size_t d, double asked) {
    const std::size_t giving = add_column({1.0, -kUnlimited});
    add_demand(d, asked, giving);
  }

  [[nodiscard]] WholeOptimum optimum(double same_cost) const {
    return whole_optimum(program_, problem_.most_nodes, same_cost);
  }

  [[nodiscard]] std::vector<double> levels(const WholeOptimum& optimum) const {
    std::vector<double> levels;
    for (std::size_t g = 0; g < problem_.groups.size(); ++g) levels.push_back(optimum.x[g] / most_[g]);
    return levels;
  }

 private:
  const SceneProblem& problem_;
  const Demands& demands_;
  std::vector<int> most_;
  std::vector<int> least_on_;
  LinearProgram program_;

  [[nodiscard]] double watts_per_count(std::size_t g) const { return problem_.groups[g].full_w / most_[g]; }

  std::size_t add_column(LinearProgram::Column column) {
    program_.columns.push_back(column);
    for (LinearProgram::Row& row : program_.rows) row.per_column.push_back(0.0);
    return program_.columns.size() - 1;
  }

  void add(std::initializer_list<std::pair<std::size_t, double>> terms, double least, double most) {
    std::vector<double> per_column(program_.columns.size());
    for (const auto& [column, factor] : terms) per_column[column] += factor;
    add_row(program_, std::move(per_column), least, most);
  }

  void add_demand(std::size_t d, double asked, std::optional<std::size_t> giving) {
    for (const DemandRow& row : demands_.rows(d, asked)) {
      std::vector<double> per_column(program_.columns.size());
      for (std::size_t g = 0; g < row.per_level.size(); ++g) per_column[g] = row.per_level[g] / most_[g];
      if (!giving) {
        add_row(program_, std::move(per_column), row.least, row.most);
        continue;
      }
      if (std::isfinite(row.least)) {
        per_column[*giving] = 1.0;
        add_row(program_, per_column, row.least, kUnlimited);
      }
      if (std::isfinite(row.most)) {
        per_column[*giving] = -1.0;
        add_row(program_, per_column, -kUnlimited, row.most);
      }
    }
  }
};

// --- Solving
// ------------------------------------------------------------------------------------------------

Diagnostics undecided(const char* what) {
  return {{Diagnostic::Severity::error, "", "", fmt::format("the search for {} ended undecided", what),
           "more nodes, fewer groups or fewer steps"}};
}

/// Looks for the demands at odds where not all can be kept.
class ConflictSearch {
 public:
  ConflictSearch(const SceneProblem& problem, const Demands& demands)
      : problem_(problem), demands_(demands) {}

  /// A deletion filter: each demand in turn is left out for good where the rest cannot be kept without it
  /// either. Those on levels are tried first, so that a conflict names them only where it needs them.
  Result<SceneConflict> conflict() {
    std::vector<std::size_t> kept(problem_.demands.size());
    std::iota(kept.begin(), kept.end(), std::size_t{0});
    const std::vector<std::size_t> all = kept;
    for (auto d = all.rbegin(); d != all.rend(); ++d) {
      const auto can = can_be_kept(without(kept, *d));
      if (!can) return tl::unexpected(can.error());
      if (!*can) kept = without(kept, *d);
    }
    SceneConflict found;
    for (const std::size_t d : kept) {
      const auto within = attainable(d, without(kept, d));
      if (!within) return tl::unexpected(within.error());
      if (!*within) return tl::unexpected(undecided("a conflict"));
      const auto with_all = attainable(d, without(all, d));
      if (!with_all) return tl::unexpected(with_all.error());
      found.members.push_back({d, **within, *with_all});
    }
    return found;
  }

 private:
  const SceneProblem& problem_;
  const Demands& demands_;

  static std::vector<std::size_t> without(std::vector<std::size_t> set, std::size_t d) {
    std::erase(set, d);
    return set;
  }

  [[nodiscard]] StepProgram keeping(const std::vector<std::size_t>& set) const {
    StepProgram program(problem_, demands_);
    for (const std::size_t d : set) program.keep(d);
    return program;
  }

  [[nodiscard]] Result<bool> can_be_kept(const std::vector<std::size_t>& set) const {
    const WholeOptimum optimum = keeping(set).optimum(0.0);
    if (optimum.state == WholeOptimum::State::undecided) return tl::unexpected(undecided("a conflict"));
    return optimum.state != WholeOptimum::State::none;
  }

  /// What the search need not tell apart, in the unit of a demand's rows. Levels differ by whole steps.
  [[nodiscard]] double same_giving(std::size_t d) const {
    return is_of_light(problem_.demands[d].kind) ? kAttainableWithin_lx : 0.5 / problem_.steps;
  }

  /// The figure nearest to what is asked that demand d can have with `set`; none where `set` cannot be kept.
  /// One step does for all kinds but uniformity, a ratio: there each step asks for the ratio that the last
  /// one reached, until nothing is left to gain (W. Dinkelbach, "On nonlinear fractional programming",
  /// Management Science 13, 1967). Levels on steps are finitely many, and every step gains.
  [[nodiscard]] Result<std::optional<double>> attainable(std::size_t d,
                                                         const std::vector<std::size_t>& set) const {
    double asked = problem_.demands[d].asked;
    std::optional<double> best;
    for (;;) {
      StepProgram program = keeping(set);
      program.minimise_giving(d, asked);
      const WholeOptimum optimum = program.optimum(same_giving(d));
      if (optimum.state == WholeOptimum::State::none) return best;
      if (optimum.state != WholeOptimum::State::proved)
        return tl::unexpected(undecided("what can be attained"));
      const double reached = demands_.reached(d, program.levels(optimum)).reached;
      if (best && reached <= *best + 1e-9) return best;
      best = reached;
      if (problem_.demands[d].kind != Kind::uniformity) return best;
      asked = reached;
    }
  }
};

double power_w(const SceneProblem& problem, std::span<const double> levels) {
  double sum = 0.0;
  for (std::size_t g = 0; g < levels.size(); ++g) sum += problem.groups[g].full_w * levels[g];
  return sum;
}

/// Levels, or none where no levels on steps keep the demands.
Result<std::optional<SceneLevels>> least_power(const SceneProblem& problem, const Demands& demands) {
  StepProgram program(problem, demands);
  for (std::size_t d = 0; d < problem.demands.size(); ++d) program.keep(d);
  program.minimise_power();
  WholeOptimum optimum = program.optimum(1e-6);
  if (optimum.state == WholeOptimum::State::none) return std::nullopt;
  if (optimum.state == WholeOptimum::State::undecided) return tl::unexpected(undecided("levels"));

  SceneLevels found;
  found.level = program.levels(optimum);
  found.bound_w = std::min(optimum.bound, power_w(problem, found.level));
  program.minimise_differences(power_w(problem, found.level) + 0.5 * kSamePower_w);
  // Differences are whole numbers of steps.
  if (WholeOptimum even = program.optimum(0.999); !even.x.empty()) {
    found.level = program.levels(even);
    found.is_most_even = even.state == WholeOptimum::State::proved;
  }
  found.power_w = power_w(problem, found.level);
  for (std::size_t d = 0; d < problem.demands.size(); ++d) {
    if (demands.violation(d, found.level) > kKeptWithin) return tl::unexpected(undecided("levels"));
    found.kept.push_back(demands.reached(d, found.level));
  }

  const LinearProgram without_steps = program_without_steps(problem, demands);
  const auto linear = linear_optimum(without_steps);
  if (!linear) return tl::unexpected(undecided("levels without steps"));
  found.without_steps = check_duality(without_steps, linear->x, linear->price);
  std::size_t at = 0;
  for (std::size_t d = 0; d < problem.demands.size(); ++d)
    for (const DemandRow& row : demands.rows(d, problem.demands[d].asked))
      found.kept[d].price_w += std::abs(linear->price[at++]) * demands.per_asked(d, row, linear->x);
  return found;
}

}  // namespace

Result<std::variant<SceneLevels, SceneConflict>> scene_levels(const SceneProblem& given) {
  if (Diagnostics wrong = complaints(given); !wrong.empty()) return tl::unexpected(std::move(wrong));
  const OrderedProblem in_order = ordered(given);
  const Demands demands(in_order);
  auto found = least_power(in_order.problem, demands);
  if (!found) return tl::unexpected(std::move(found.error()));
  if (*found) {
    SceneLevels as_given = **found;
    for (std::size_t g = 0; g < in_order.group_at.size(); ++g)
      as_given.level[in_order.group_at[g]] = (*found)->level[g];
    for (std::size_t d = 0; d < in_order.demand_at.size(); ++d)
      as_given.kept[in_order.demand_at[d]] = (*found)->kept[d];
    return as_given;
  }
  auto conflict = ConflictSearch(in_order.problem, demands).conflict();
  if (!conflict) return tl::unexpected(std::move(conflict.error()));
  for (DemandAtOdds& member : conflict->members) member.demand = in_order.demand_at[member.demand];
  std::sort(conflict->members.begin(), conflict->members.end(),
            [](const DemandAtOdds& a, const DemandAtOdds& b) { return a.demand < b.demand; });
  return std::move(*conflict);
}

DemandKept reached_at(const SceneProblem& problem, std::size_t demand, std::span<const double> level) {
  const OrderedProblem in_order = ordered(problem);
  std::vector<double> own(level.size());
  for (std::size_t g = 0; g < own.size(); ++g) own[g] = level[in_order.group_at[g]];
  const auto at = std::find(in_order.demand_at.begin(), in_order.demand_at.end(), demand);
  return Demands(in_order).reached(static_cast<std::size_t>(at - in_order.demand_at.begin()), own);
}

}  // namespace halflight::choose
