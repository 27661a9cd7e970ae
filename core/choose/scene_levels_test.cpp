#include "choose/scene_levels.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>
#include <stdexcept>
#include <tuple>

#include <gtest/gtest.h>
#include <malloc.h>

namespace halflight::choose {
namespace {

using Kind = SceneDemand::Kind;
using Solution = std::variant<SceneLevels, SceneConflict>;

Solution solved(const SceneProblem& problem) {
  auto found = scene_levels(problem);
  if (!found) throw std::runtime_error(to_text(found.error().front()));
  return *found;
}
SceneLevels levels_of(const SceneProblem& problem) { return std::get<SceneLevels>(solved(problem)); }
SceneConflict conflict_of(const SceneProblem& problem) { return std::get<SceneConflict>(solved(problem)); }

// --- Another way to the same answers: by the words of the header, state by state, without the solver
// ----------

const SceneArea& area_of(const SceneProblem& problem, const SceneDemand& demand) {
  return *std::find_if(problem.areas.begin(), problem.areas.end(),
                       [&](const SceneArea& area) { return area.id == demand.area; });
}

std::size_t group_of(const SceneProblem& problem, const std::string& id) {
  return static_cast<std::size_t>(
      std::find_if(problem.groups.begin(), problem.groups.end(), [&](const auto& g) { return g.id == id; }) -
      problem.groups.begin());
}

bool is_light(Kind kind) { return kind != Kind::level_at_least && kind != Kind::level_spread; }
bool at_least(Kind kind) {
  return kind == Kind::mean_at_least || kind == Kind::point_at_least || kind == Kind::uniformity ||
         kind == Kind::level_at_least;
}

/// A demand in one state: its figure, and by how much (lx, level) it fails.
struct Looked {
  double figure = 0.0;
  double short_by = 0.0;
};
Looked look(const SceneProblem& problem, const SceneDemand& demand, const std::vector<double>& levels,
            std::size_t state) {
  if (!is_light(demand.kind)) {
    std::vector<double> own;
    for (const std::string& id : demand.groups) own.push_back(levels[group_of(problem, id)]);
    const auto [low, high] = std::minmax_element(own.begin(), own.end());
    if (demand.kind == Kind::level_at_least) return {*low, demand.asked - *low};
    return {*high - *low, *high - *low - demand.asked};
  }
  const SceneArea& area = area_of(problem, demand);
  double sum = 0.0;
  double low = kUnlimited;
  double high = 0.0;
  for (std::size_t p = 0; p < area.light_lx.size(); ++p) {
    double lx = area.given_lx[state][p];
    for (std::size_t g = 0; g < levels.size(); ++g) lx += area.light_lx[p][g] * levels[g];
    sum += lx;
    low = std::min(low, lx);
    high = std::max(high, lx);
  }
  const double mean = sum / static_cast<double>(area.light_lx.size());
  switch (demand.kind) {
    case Kind::mean_at_least:
      return {mean, demand.asked - mean};
    case Kind::mean_at_most:
      return {mean, mean - demand.asked};
    case Kind::point_at_least:
      return {low, demand.asked - low};
    case Kind::point_at_most:
      return {high, high - demand.asked};
    default:
      return {mean > 0.0 ? low / mean : 1.0, demand.asked * mean - low};
  }
}

bool holds(const SceneProblem& problem, const std::vector<double>& levels) {
  for (const SceneDemand& demand : problem.demands)
    for (std::size_t s = 0; s < problem.states.size(); ++s)
      if (look(problem, demand, levels, s).short_by > kKeptWithin) return false;
  return true;
}

double worst(const SceneProblem& problem, const SceneDemand& demand, const std::vector<double>& levels) {
  double figure = look(problem, demand, levels, 0).figure;
  for (std::size_t s = 1; s < problem.states.size(); ++s) {
    const double here = look(problem, demand, levels, s).figure;
    figure = at_least(demand.kind) ? std::min(figure, here) : std::max(figure, here);
  }
  return figure;
}

bool may_stand_at(const SceneGroup& group, double level) {
  if (level == 0.0) return group.may_be_off;
  return level >= group.least_level - 1e-9;
}

/// Calls `each` with all levels on steps that groups may stand at.
void for_all_levels(const SceneProblem& problem,
                    const std::function<void(const std::vector<double>&)>& each) {
  std::vector<double> levels(problem.groups.size());
  const std::function<void(std::size_t)> from = [&](std::size_t g) {
    if (g == levels.size()) return each(levels);
    for (int k = 0; k <= problem.steps; ++k) {
      levels[g] = static_cast<double>(k) / problem.steps;
      if (may_stand_at(problem.groups[g], levels[g])) from(g + 1);
    }
  };
  from(0);
}

double power(const SceneProblem& problem, const std::vector<double>& levels) {
  double sum = 0.0;
  for (std::size_t g = 0; g < levels.size(); ++g) sum += problem.groups[g].full_w * levels[g];
  return sum;
}

/// The sum over pairs of groups of how far apart they stand.
double differences(const std::vector<double>& levels) {
  double sum = 0.0;
  for (std::size_t g = 0; g < levels.size(); ++g)
    for (std::size_t h = 0; h < g; ++h) sum += std::abs(levels[g] - levels[h]);
  return sum;
}

struct Enumerated {
  double power_w = 0.0;
  double differences = 0.0;  ///< the least at that power
};
std::optional<Enumerated> enumerated(const SceneProblem& problem) {
  std::optional<Enumerated> best;
  for_all_levels(problem, [&](const std::vector<double>& levels) {
    const Enumerated here{power(problem, levels), differences(levels)};
    if (best && here.power_w > best->power_w + 0.5 * kSamePower_w) return;
    if (!holds(problem, levels)) return;
    if (!best || here.power_w < best->power_w - 0.5 * kSamePower_w || here.differences < best->differences)
      best = here;
  });
  return best;
}

/// a . x >= b
struct HalfSpace {
  std::vector<double> a;
  double b = 0.0;
};

/// All that is asked of levels without steps, state by state.
std::vector<HalfSpace> half_spaces(const SceneProblem& problem) {
  const std::size_t groups = problem.groups.size();
  std::vector<HalfSpace> all;
  const auto unit = [&](std::size_t g, double sign) {
    std::vector<double> a(groups);
    a[g] = sign;
    return a;
  };
  for (std::size_t g = 0; g < groups; ++g) {
    all.push_back({unit(g, 1.0), problem.groups[g].may_be_off ? 0.0 : problem.groups[g].least_level});
    all.push_back({unit(g, -1.0), -1.0});
  }
  for (const SceneDemand& demand : problem.demands) {
    if (!is_light(demand.kind)) {
      for (const std::string& id : demand.groups) {
        std::vector<double> a = unit(group_of(problem, id), 1.0);
        if (demand.kind == Kind::level_at_least)
          all.push_back({a, demand.asked});
        else
          for (const std::string& other : demand.groups) {
            std::vector<double> apart = a;
            apart[group_of(problem, other)] -= 1.0;
            if (other != id) all.push_back({apart, -demand.asked});
          }
      }
      continue;
    }
    // Figures are linear in levels: their parts are had by looking at none and at one group in full.
    const SceneArea& area = area_of(problem, demand);
    const auto points = static_cast<double>(area.light_lx.size());
    std::vector<double> mean(groups);
    for (const auto& at_point : area.light_lx)
      for (std::size_t g = 0; g < groups; ++g) mean[g] += at_point[g] / points;
    for (const std::vector<double>& given : area.given_lx) {
      double given_mean = 0.0;
      for (const double lx : given) given_mean += lx / points;
      if (demand.kind == Kind::mean_at_least) all.push_back({mean, demand.asked - given_mean});
      if (demand.kind == Kind::mean_at_most) {
        all.push_back({mean, given_mean - demand.asked});
        for (double& a : all.back().a) a = -a;
      }
      for (std::size_t p = 0; p < given.size(); ++p) {
        HalfSpace here{area.light_lx[p], 0.0};
        if (demand.kind == Kind::point_at_least) {
          here.b = demand.asked - given[p];
          all.push_back(here);
        }
        if (demand.kind == Kind::point_at_most) {
          for (double& a : here.a) a = -a;
          here.b = given[p] - demand.asked;
          all.push_back(here);
        }
        if (demand.kind == Kind::uniformity) {
          for (std::size_t g = 0; g < groups; ++g) here.a[g] -= demand.asked * mean[g];
          here.b = demand.asked * given_mean - given[p];
          all.push_back(here);
        }
      }
    }
  }
  return all;
}

/// The point in which as many boundaries meet as there are groups, by elimination.
std::optional<std::vector<double>> meeting_point(std::vector<HalfSpace> m) {
  const std::size_t n = m.size();
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t pivot = c;
    for (std::size_t r = c + 1; r < n; ++r)
      if (std::abs(m[r].a[c]) > std::abs(m[pivot].a[c])) pivot = r;
    if (std::abs(m[pivot].a[c]) < 1e-9) return std::nullopt;
    std::swap(m[c], m[pivot]);
    for (std::size_t r = 0; r < n; ++r) {
      if (r == c) continue;
      const double f = m[r].a[c] / m[c].a[c];
      for (std::size_t k = c; k < n; ++k) m[r].a[k] -= f * m[c].a[k];
      m[r].b -= f * m[c].b;
    }
  }
  std::vector<double> x;
  for (std::size_t c = 0; c < n; ++c) x.push_back(m[c].b / m[c].a[c]);
  return x;
}

/// Least power without steps, over all corners of what is allowed.
std::optional<double> least_over_corners(const SceneProblem& problem) {
  const std::vector<HalfSpace> all = half_spaces(problem);
  std::optional<double> best;
  std::vector<HalfSpace> chosen;
  const std::function<void(std::size_t)> from = [&](std::size_t first) {
    if (chosen.size() == problem.groups.size()) {
      const auto x = meeting_point(chosen);
      if (!x || (best && power(problem, *x) >= *best)) return;
      for (const HalfSpace& half : all) {
        double value = -half.b;
        for (std::size_t g = 0; g < x->size(); ++g) value += half.a[g] * (*x)[g];
        if (value < -kKeptWithin) return;
      }
      best = power(problem, *x);
      return;
    }
    for (std::size_t i = first; i < all.size(); ++i) {
      chosen.push_back(all[i]);
      from(i + 1);
      chosen.pop_back();
    }
  };
  from(0);
  return best;
}

// --- Random problems
// ----------------------------------------------------------------------------------------

class RandomProblems {
 public:
  explicit RandomProblems(std::uint32_t number) : number_(number) {}

  SceneProblem problem() {
    SceneProblem made;
    const std::size_t groups = count(1, uniform() < 0.7 ? 3 : 6);
    for (std::size_t g = 0; g < groups; ++g) {
      SceneGroup group{"g" + std::to_string(g), std::round(between(20.0, 200.0))};
      const double sort = uniform();
      group.least_level = sort < 0.2 ? 1.0 : sort < 0.6 ? between(0.0, 0.4) : 0.05;
      group.may_be_off = uniform() < 0.8;
      made.groups.push_back(group);
    }
    // Often two groups alike, and watts that make ties.
    if (groups > 1 && uniform() < 0.5) made.groups[1].full_w = made.groups[0].full_w;
    const std::size_t states = count(1, 3);
    for (std::size_t s = 0; s < states; ++s) made.states.push_back("state " + std::to_string(s));
    const std::size_t areas = count(1, 2);
    for (std::size_t a = 0; a < areas; ++a) {
      SceneArea area;
      area.id = "a" + std::to_string(a);
      const std::size_t points = count(1, 3);
      for (std::size_t p = 0; p < points; ++p) {
        area.light_lx.emplace_back();
        for (std::size_t g = 0; g < groups; ++g) area.light_lx.back().push_back(between(5.0, 300.0));
      }
      for (std::size_t s = 0; s < states; ++s) {
        const double day_lx = s == 0 ? 0.0 : between(0.0, 300.0);
        area.given_lx.emplace_back();
        for (std::size_t p = 0; p < points; ++p) area.given_lx.back().push_back(day_lx * between(0.5, 1.0));
      }
      made.areas.push_back(std::move(area));
    }
    // What is asked is near what some levels give, so that it often, but not always, can be kept.
    std::vector<double> some;
    for (std::size_t g = 0; g < groups; ++g) some.push_back(uniform());
    const std::size_t demands = count(1, 6);
    for (std::size_t d = 0; d < demands; ++d) {
      SceneDemand demand;
      demand.kind = static_cast<Kind>(count(0, groups > 1 ? 6 : 5));
      if (is_light(demand.kind)) {
        demand.area = made.areas[count(0, areas - 1)].id;
        demand.asked = worst(made, demand, some) * between(0.8, 1.15);
        // A uniformity of 1 asks for equal light at all points, which levels on steps hardly ever have.
        if (demand.kind == Kind::uniformity) demand.asked = std::min(demand.asked, 0.95);
      } else {
        const std::size_t first = count(0, groups - 1);
        demand.groups.push_back(made.groups[first].id);
        if (demand.kind == Kind::level_at_least)
          demand.asked = 0.6 * uniform();
        else {
          demand.groups.push_back(made.groups[(first + 1) % groups].id);
          demand.asked = uniform() < 0.5 ? 0.0 : between(0.1, 0.5);
        }
      }
      made.demands.push_back(std::move(demand));
    }
    return made;
  }

  double uniform() { return random_uniform({20, hash_name("scene problem")}, {number_, 0, 0, slot_++}); }
  double between(double low, double high) { return low + (high - low) * uniform(); }
  std::size_t count(std::size_t least, std::size_t most) {
    return least + static_cast<std::size_t>(uniform() * static_cast<double>(most - least + 1));
  }

 private:
  std::uint32_t number_;
  std::uint32_t slot_ = 0;
};

constexpr std::uint32_t kProblems = 1000;
bool is_small(const SceneProblem& problem) { return problem.groups.size() <= 3; }

bool can_be_kept(const SceneProblem& problem) {
  return is_small(problem) ? enumerated(problem).has_value()
                           : std::holds_alternative<SceneLevels>(solved(problem));
}

void expect_levels(const SceneProblem& problem, const SceneLevels& found) {
  ASSERT_EQ(found.level.size(), problem.groups.size());
  for (std::size_t g = 0; g < found.level.size(); ++g) {
    const double k = std::round(found.level[g] * problem.steps);
    EXPECT_EQ(found.level[g], k / problem.steps) << "on a step, exactly";
    EXPECT_TRUE(may_stand_at(problem.groups[g], found.level[g])) << found.level[g];
  }
  EXPECT_TRUE(holds(problem, found.level));
  EXPECT_NEAR(found.power_w, power(problem, found.level), 1e-9) << "two orders of a sum of up to 1200 W";
  EXPECT_LE(found.bound_w, found.power_w);
  EXPECT_LE(found.power_w - found.bound_w, kSamePower_w);
  EXPECT_TRUE(found.is_most_even);
  double prices = 0.0;
  for (std::size_t d = 0; d < problem.demands.size(); ++d) {
    EXPECT_NEAR(found.kept[d].reached, worst(problem, problem.demands[d], found.level), 1e-9);
    EXPECT_NEAR(found.kept[d].reached,
                look(problem, problem.demands[d], found.level, found.kept[d].state).figure, 1e-9);
    EXPECT_GE(found.kept[d].price_w, 0.0);
    prices += found.kept[d].price_w;
  }

  // The solver keeps rows and reduced costs to 1e-7 each: of rows that is worth their price, of columns,
  // which run from 0 to 1, as much as it is.
  const double solver_w = 1e-7 * (prices + static_cast<double>(problem.groups.size()));
  EXPECT_LE(found.without_steps.violation, kKeptWithin);
  EXPECT_LE(std::abs(found.without_steps.gap()), solver_w);
  EXPECT_LE(found.without_steps.bound, found.power_w + 1e-9);
  if (!is_small(problem)) return;

  const auto corner_w = least_over_corners(problem);
  ASSERT_TRUE(corner_w);
  // Corners are allowed to be outside by kKeptWithin, which is worth the prices.
  EXPECT_NEAR(found.without_steps.cost, *corner_w, solver_w + kKeptWithin * prices + 1e-9);
  const auto all = enumerated(problem);
  ASSERT_TRUE(all);
  EXPECT_NEAR(found.power_w, all->power_w, kSamePower_w);
  EXPECT_NEAR(differences(found.level), all->differences, 1e-9);
}

void expect_conflict(const SceneProblem& problem, const SceneConflict& found) {
  ASSERT_FALSE(found.members.empty());
  const auto only_members = [&](std::optional<std::size_t> but) {
    SceneProblem rest = problem;
    rest.demands.clear();
    for (const DemandAtOdds& member : found.members)
      if (member.demand != but) rest.demands.push_back(problem.demands[member.demand]);
    return rest;
  };
  EXPECT_FALSE(can_be_kept(only_members(std::nullopt)));
  for (const DemandAtOdds& member : found.members) {
    const SceneDemand& demand = problem.demands[member.demand];
    const SceneProblem rest = only_members(member.demand);
    EXPECT_TRUE(can_be_kept(rest)) << "without any one member the others can be kept";
    EXPECT_TRUE(at_least(demand.kind) ? member.attainable < demand.asked : member.attainable > demand.asked);

    SceneProblem given_way = rest;
    given_way.demands.push_back(demand);
    given_way.demands.back().asked = member.attainable;
    EXPECT_TRUE(can_be_kept(given_way));

    SceneProblem with_all = problem;
    if (member.attainable_with_all) {
      with_all.demands[member.demand].asked = *member.attainable_with_all;
      EXPECT_TRUE(can_be_kept(with_all));
    } else {
      with_all.demands.erase(with_all.demands.begin() + static_cast<std::ptrdiff_t>(member.demand));
      EXPECT_FALSE(can_be_kept(with_all));
    }
    if (!is_small(problem)) continue;
    std::optional<double> best;
    double within = is_light(demand.kind) ? kAttainableWithin_lx : 0.0;
    for_all_levels(problem, [&](const std::vector<double>& levels) {
      const double figure = worst(problem, demand, levels);
      if (best && (at_least(demand.kind) ? figure <= *best : figure >= *best)) return;
      if (!holds(rest, levels)) return;
      best = figure;
      if (demand.kind == Kind::uniformity)
        within = kAttainableWithin_lx / worst(problem, {Kind::mean_at_least, 0.0, demand.area, {}}, levels);
    });
    ASSERT_TRUE(best);
    EXPECT_NEAR(member.attainable, *best, within + kKeptWithin) << "nothing nearer to what is asked";
  }
}

TEST(SceneLevels, ThousandRandomProblems) {
  // Each search takes and gives back megabytes. Handing them to the system every time takes most of the time.
  mallopt(M_TOP_PAD, 64 << 20);
  int with_levels = 0;
  int with_conflict = 0;
  for (std::uint32_t i = 0; i < kProblems; ++i) {
    SCOPED_TRACE(i);
    const SceneProblem problem = RandomProblems(i).problem();
    const Solution found = solved(problem);
    if (const auto* levels = std::get_if<SceneLevels>(&found)) {
      expect_levels(problem, *levels);
      ++with_levels;
    } else {
      EXPECT_FALSE(is_small(problem) && enumerated(problem));
      expect_conflict(problem, std::get<SceneConflict>(found));
      ++with_conflict;
    }
    if (HasFailure()) return;
  }
  EXPECT_GT(with_levels, 300);
  EXPECT_GT(with_conflict, 300);
}

/// What a conflict says, whichever of two demands alike it names.
std::vector<std::tuple<Kind, double, std::string, std::vector<std::string>, double, std::optional<double>>>
in_words(const SceneProblem& problem, const SceneConflict& conflict) {
  std::vector<std::tuple<Kind, double, std::string, std::vector<std::string>, double, std::optional<double>>>
      all;
  for (const DemandAtOdds& member : conflict.members) {
    SceneDemand demand = problem.demands[member.demand];
    std::sort(demand.groups.begin(), demand.groups.end());
    all.emplace_back(demand.kind, demand.asked, demand.area, demand.groups, member.attainable,
                     member.attainable_with_all);
  }
  std::sort(all.begin(), all.end());
  return all;
}

TEST(SceneLevels, OrderChangesOnlyTheOrderOfTheAnswer) {
  for (std::uint32_t i = 0; i < 100; ++i) {
    SCOPED_TRACE(i);
    const SceneProblem problem = RandomProblems(i).problem();
    SceneProblem turned = problem;
    std::reverse(turned.groups.begin(), turned.groups.end());
    std::reverse(turned.areas.begin(), turned.areas.end());
    std::reverse(turned.demands.begin(), turned.demands.end());
    for (SceneArea& area : turned.areas)
      for (auto& at_point : area.light_lx) std::reverse(at_point.begin(), at_point.end());
    for (SceneDemand& demand : turned.demands) std::reverse(demand.groups.begin(), demand.groups.end());

    Solution one = solved(problem);
    Solution other = solved(turned);
    ASSERT_EQ(one.index(), other.index());
    if (auto* levels = std::get_if<SceneLevels>(&one)) {
      auto& turned_levels = std::get<SceneLevels>(other);
      std::reverse(turned_levels.level.begin(), turned_levels.level.end());
      std::reverse(turned_levels.kept.begin(), turned_levels.kept.end());
      EXPECT_EQ(levels->level, turned_levels.level);
      EXPECT_EQ(levels->power_w, turned_levels.power_w);
      for (std::size_t d = 0; d < levels->kept.size(); ++d) {
        EXPECT_EQ(levels->kept[d].reached, turned_levels.kept[d].reached);
        // Of the same demand made twice either may have the price.
        const SceneDemand& demand = problem.demands[d];
        const auto twins = std::count_if(
            problem.demands.begin(), problem.demands.end(), [&](const SceneDemand& other_demand) {
              return other_demand.kind == demand.kind && other_demand.area == demand.area &&
                     other_demand.groups == demand.groups && other_demand.asked == demand.asked;
            });
        if (twins == 1) {
          EXPECT_EQ(levels->kept[d].price_w, turned_levels.kept[d].price_w);
        }
      }
    } else {
      EXPECT_EQ(in_words(problem, std::get<SceneConflict>(one)),
                in_words(turned, std::get<SceneConflict>(other)));
    }
  }
}

// --- By hand
// ------------------------------------------------------------------------------------------------

/// Desk 500 lx, screen 50 lx; `back` has 400 lx and 20 lx for 100 W, `front` 400 lx and 80 lx for 80 W.
SceneProblem desk_and_screen() {
  SceneProblem problem;
  problem.groups = {{"back", 100.0, 0.05}, {"front", 80.0, 0.05}};
  problem.states = {"night"};
  problem.areas = {{"desk", {{400.0, 400.0}}, {{0.0}}}, {"screen", {{20.0, 80.0}}, {{0.0}}}};
  problem.demands = {{Kind::mean_at_least, 500.0, "desk", {}}, {Kind::point_at_most, 50.0, "screen", {}}};
  return problem;
}

TEST(SceneLevels, DeskAndScreenByHand) {
  // Both bind: back + front = 1.25 and 20 back + 80 front = 50, so 0.8333 and 0.4167, at 116.67 W. Prices y:
  // 400 y_desk - 20 y_screen = 100 and 400 y_desk - 80 y_screen = 80. On steps 0.85 and 0.40 have 500 lx,
  // 49 lx and 117 W; 0.80 and 0.45 have 52 lx on the screen.
  const SceneLevels found = levels_of(desk_and_screen());
  EXPECT_EQ(found.level, (std::vector{17.0 / 20.0, 8.0 / 20.0}));
  EXPECT_NEAR(found.power_w, 117.0, 1e-9);
  EXPECT_NEAR(found.without_steps.cost, 350.0 / 3.0, 1e-7);
  EXPECT_NEAR(found.without_steps.bound, 350.0 / 3.0, 1e-7);
  EXPECT_NEAR(found.kept[0].price_w, 4.0 / 15.0, 1e-9);
  EXPECT_NEAR(found.kept[1].price_w, 1.0 / 3.0, 1e-9);
  EXPECT_NEAR(found.kept[0].reached, 500.0, 1e-9);
  EXPECT_NEAR(found.kept[1].reached, 49.0, 1e-9);
}

TEST(SceneLevels, PriceIsWhatALuxSaves) {
  SceneProblem problem = desk_and_screen();
  problem.areas[0] = {"desk", {{300.0, 100.0}, {100.0, 300.0}}, {{0.0, 0.0}}};
  problem.demands = {{Kind::mean_at_least, 300.0, "desk", {}}, {Kind::uniformity, 0.95, "desk", {}}};
  const SceneLevels before = levels_of(problem);
  for (std::size_t d = 0; d < 2; ++d) {
    SceneProblem given_way = problem;
    const double step = 1e-3;
    given_way.demands[d].asked -= step;
    const double saved_w = before.without_steps.cost - levels_of(given_way).without_steps.cost;
    EXPECT_GT(before.kept[d].price_w, 0.0);
    EXPECT_NEAR(saved_w / step, before.kept[d].price_w, 0.01 * before.kept[d].price_w)
        << "a difference quotient";
  }
}

TEST(SceneLevels, ScreenThatIsAskedTooDarkConflictsWithTheDesk) {
  // Below 30 lx on the screen, back at 1 leaves 10 lx to front: 0.10 on steps, 440 lx on the desk. With
  // 500 lx, back at 1 and front at 0.25 have 40 lx on the screen.
  SceneProblem problem = desk_and_screen();
  problem.demands[1].asked = 30.0;
  problem.demands.push_back({Kind::level_spread, 1.0, "", {"back", "front"}});
  const SceneConflict conflict = conflict_of(problem);
  ASSERT_EQ(conflict.members.size(), 2u);
  EXPECT_EQ(conflict.members[0].demand, 0u);
  EXPECT_NEAR(conflict.members[0].attainable, 440.0, 1e-9);
  EXPECT_EQ(conflict.members[1].demand, 1u);
  EXPECT_NEAR(conflict.members[1].attainable, 40.0, 1e-9);
  EXPECT_NEAR(conflict.members[1].attainable_with_all.value(), 40.0, 1e-9);
}

TEST(SceneLevels, SaysHowFarARatioAndALevelCanGo) {
  // left at 1, right at r: (100 + 300 r) / (200 + 200 r). A mean of 300 lx allows r = 0.5 and 5/6; 0.9 needs
  // r = 2/3, on steps 0.70 and 340 lx. Both with left at l: r >= 2/3 l and l + r <= 1.5, so 0.9 and 0.6.
  SceneProblem problem;
  problem.groups = {{"left", 50.0, 0.05}, {"right", 50.0, 0.05}};
  problem.states = {"night"};
  problem.areas = {{"hall", {{300.0, 100.0}, {100.0, 300.0}}, {{0.0, 0.0}}}};
  problem.demands = {{Kind::uniformity, 0.9, "hall", {}},
                     {Kind::mean_at_most, 300.0, "hall", {}},
                     {Kind::level_at_least, 1.0, "", {"left"}}};
  const SceneConflict conflict = conflict_of(problem);
  ASSERT_EQ(conflict.members.size(), 3u);
  EXPECT_NEAR(conflict.members[0].attainable, 5.0 / 6.0, 1e-9);
  EXPECT_NEAR(conflict.members[1].attainable, 340.0, 1e-9);
  EXPECT_NEAR(conflict.members[2].attainable, 0.9, 1e-9);
}

TEST(SceneLevels, KeepsADemandInEveryState) {
  SceneProblem problem = desk_and_screen();
  problem.states = {"day", "night"};
  problem.areas[0].given_lx = {{600.0}, {0.0}};
  problem.areas[1].given_lx = {{3.0}, {0.0}};
  const SceneLevels found = levels_of(problem);
  // The desk must do without the day, the screen with it: 47 lx are left to the luminaires.
  EXPECT_EQ(found.level, (std::vector{18.0 / 20.0, 7.0 / 20.0}));
  EXPECT_EQ(found.kept[0].state, 1u);
  EXPECT_NEAR(found.kept[0].reached, 500.0, 1e-9);
  EXPECT_EQ(found.kept[1].state, 0u);
  EXPECT_NEAR(found.kept[1].reached, 49.0, 1e-9);
}

TEST(SceneLevels, GroupsAlikeStandAlike) {
  SceneProblem problem;
  problem.groups = {{"a", 60.0, 0.05}, {"b", 60.0, 0.05}, {"c", 60.0, 0.05}};
  problem.states = {"night"};
  problem.areas = {{"desk", {{200.0, 200.0, 100.0}}, {{0.0}}}};
  problem.demands = {{Kind::mean_at_least, 160.0, "desk", {}}};  // sixteen steps of 10 lx
  EXPECT_EQ(levels_of(problem).level, (std::vector{8.0 / 20.0, 8.0 / 20.0, 0.0}));
  problem.demands[0].asked = 170.0;
  const std::vector<double> odd = levels_of(problem).level;
  EXPECT_NEAR(odd[0] + odd[1], 17.0 / 20.0, 1e-12);
  EXPECT_NEAR(std::abs(odd[0] - odd[1]), 1.0 / 20.0, 1e-12) << "a step apart where the steps are odd";
}

TEST(SceneLevels, AGroupIsOffOrAtItsLowestLevel) {
  SceneProblem problem;
  problem.groups = {{"dims", 100.0, 0.32}};
  problem.states = {"night"};
  problem.areas = {{"desk", {{100.0}}, {{0.0}}}};
  problem.demands = {{Kind::mean_at_least, 10.0, "desk", {}}};
  EXPECT_EQ(levels_of(problem).level, std::vector{7.0 / 20.0}) << "the step above the lowest level";
  problem.groups[0].least_level = 1.0;
  EXPECT_EQ(levels_of(problem).level, std::vector{1.0}) << "it only switches";
  problem.demands.clear();
  EXPECT_EQ(levels_of(problem).level, std::vector{0.0});
  problem.groups[0] = {"dims", 100.0, 0.0, false};
  EXPECT_EQ(levels_of(problem).level, std::vector{1.0 / 20.0}) << "what stays on is a step above off";
}

TEST(SceneLevels, StatesTheGapOfASearchThatEnds) {
  // Twelve unlike groups and a desk: hundreds of nodes.
  SceneProblem problem;
  problem.states = {"night"};
  problem.areas = {{"desk", {{}}, {{0.0}}}};
  RandomProblems draw(0);
  for (int g = 0; g < 12; ++g) {
    problem.groups.push_back({std::to_string(g), draw.between(50.0, 60.0), 0.3});
    problem.areas[0].light_lx[0].push_back(draw.between(100.0, 120.0));
  }
  problem.demands = {{Kind::mean_at_least, 555.5, "desk", {}}};
  const SceneLevels proved = levels_of(problem);
  EXPECT_LE(proved.power_w - proved.bound_w, kSamePower_w);
  problem.most_nodes = 3;
  const SceneLevels ended = levels_of(problem);
  EXPECT_TRUE(holds(problem, ended.level));
  EXPECT_FALSE(ended.is_most_even);
  EXPECT_GT(ended.power_w - ended.bound_w, kSamePower_w);
  EXPECT_LE(ended.bound_w, proved.power_w);
}

TEST(SceneLevels, RefusesWhatIsInconsistent) {
  const auto refuses = [](const std::function<void(SceneProblem&)>& change) {
    SceneProblem problem = desk_and_screen();
    change(problem);
    return !scene_levels(problem);
  };
  EXPECT_FALSE(refuses([](SceneProblem&) {}));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.groups.clear(); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.groups[1].id = "back"; }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.groups[1].full_w = -1.0; }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.groups[1].least_level = 1.5; }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.states.clear(); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.states.push_back("day"); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.areas[0].id = "screen"; }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.areas[0].light_lx.clear(); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.areas[0].light_lx[0][0] = std::nan(""); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.demands[0].area = "floor"; }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.demands[0].asked = -1.0; }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.demands.push_back({Kind::level_spread, 0.0, "", {"side"}}); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.demands.push_back({Kind::uniformity, 1.2, "desk", {}}); }));
  EXPECT_TRUE(refuses([](SceneProblem& p) { p.steps = 0; }));
}

}  // namespace
}  // namespace halflight::choose
