#pragma once
#include "base/diagnostic.hpp"
#include "choose/linear_program.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

// The levels of a scene: least power that keeps what is asked, or the smallest set of demands that cannot be
// kept together (docs/methods/scene_levels.md). Levels are fractions of trimmed full light output.

namespace halflight::choose {

/// Luminaires that stand at one level: off, or between the lowest level and full output.
struct SceneGroup {
  std::string id;
  double full_w = 0.0;       ///< input power at full output
  double least_level = 0.0;  ///< lowest level while on, 0..1; 1: it only switches
  bool may_be_off = true;
};

/// Light on the points of an area.
struct SceneArea {
  std::string id;
  std::vector<std::vector<double>> light_lx;  ///< [point][group], at full output, maintained
  std::vector<std::vector<double>> given_lx;  ///< [state][point], from elsewhere, such as daylight
};

/// One thing that is asked of a scene, in every state.
struct SceneDemand {
  enum class Kind {
    mean_at_least,   ///< lx, over the points of the area
    mean_at_most,    ///< lx
    point_at_least,  ///< lx, at every point of the area: of a way out, for one
    point_at_most,   ///< lx, at every point of the area
    uniformity,      ///< smallest over mean illuminance of the area, at least, 0..1; a dark area has 1
    level_at_least,  ///< level of every one of the groups: of egress luminaires, for one
    level_spread,    ///< highest less lowest level of the groups, at most; 0: they stand at one level
  };
  Kind kind = Kind::mean_at_least;
  double asked = 0.0;               ///< 0 or more
  std::string area;                 ///< id; of the first five kinds
  std::vector<std::string> groups;  ///< ids; of the last two kinds
};

struct SceneProblem {
  std::vector<SceneGroup> groups;
  std::vector<std::string> states;  ///< of what is given from elsewhere (day, dusk, night), at least one
  std::vector<SceneArea> areas;
  std::vector<SceneDemand> demands;
  int steps = 20;           ///< from off to full output: levels are whole multiples of 1 / steps
  int most_nodes = 20'000;  ///< of each search
};

/// How a scene keeps a demand.
struct DemandKept {
  double reached = 0.0;   ///< in the unit of `asked`, in the state in which it is nearest to failing
  std::size_t state = 0;  ///< that state; 0 for demands on levels
  /// Watts that the least power without steps would fall by for each unit (lx, or 1) that `asked` gives way.
  /// 0: the demand does not bind. Of several sets of prices that are right, as where demands coincide, one.
  double price_w = 0.0;
};

struct SceneLevels {
  std::vector<double> level;  ///< of each group, exactly k / steps
  double power_w = 0.0;
  /// Proved: no levels on steps draw less. The gap to `power_w` is within kSamePower_w unless a search ended
  /// at its most nodes.
  double bound_w = 0.0;
  bool is_most_even = false;     ///< proved: of equal power, no levels on steps differ less from one another
  DualityCheck without_steps;    ///< least power where groups dim to any level, and its proof
  std::vector<DemandKept> kept;  ///< as `SceneProblem::demands`
};

/// A demand that others rule out.
struct DemandAtOdds {
  std::size_t demand = 0;   ///< index in `SceneProblem::demands`
  double attainable = 0.0;  ///< the nearest to `asked` that it can be with the other members of the conflict
  /// The same with all other demands of the problem; none where they cannot be kept even without this one.
  std::optional<double> attainable_with_all;
};

/// Demands that cannot be kept together, though without any one of them the others can.
struct SceneConflict {
  std::vector<DemandAtOdds> members;  ///< in the order of `SceneProblem::demands`
};

/// Powers nearer than this are equal: the more even levels are taken.
inline constexpr double kSamePower_w = 1e-3;
/// Demands are kept to within this, in lx or of a level: what the solver's arithmetic leaves open.
inline constexpr double kKeptWithin = 1e-6;
/// Nearer than this to what is asked, of light, some other levels on steps may come: finding the very nearest
/// takes long and helps nobody. For a uniformity it is a share of the mean.
inline constexpr double kAttainableWithin_lx = 0.1;

/// Levels of least power; of equal power, those that differ least (the sum over pairs of groups). The order
/// of groups, areas and demands changes nothing but the order of the answer. Errors: ids that are not unique
/// or not known, sizes that do not fit, values out of range, and a search that ended undecided.
Result<std::variant<SceneLevels, SceneConflict>> scene_levels(const SceneProblem& problem);

/// What any levels make of a demand of a problem without errors; without a price.
DemandKept reached_at(const SceneProblem& problem, std::size_t demand, std::span<const double> level);

}  // namespace halflight::choose
