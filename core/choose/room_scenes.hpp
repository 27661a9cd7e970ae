#pragma once
#include "choose/scene_levels.hpp"
#include "domain/code_rules.hpp"
#include "sim/space_model.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

// Levels for the scenes of a room that say what they are for (docs/methods/scene_levels.md).

namespace halflight::choose {

/// A scene of the proposal in a space that is lit.
struct SceneInRoom {
  const sim::SpaceModel* model = nullptr;
  const domain::Scene* scene = nullptr;
};

/// A demand as the room knows it.
struct RoomDemand {
  SceneDemand::Kind kind = SceneDemand::Kind::mean_at_least;
  std::string on;         ///< "Table", with the room's number where several rooms share the scene
  double asked = 0.0;     ///< as SceneDemand::asked
  double contrast = 0.0;  ///< of the screen from which a limit follows; 0: it is stated as such
  /// Counted beside the light of the scene, mean, lx; 0 for whatever is asked at least.
  double daylight_lx = 0.0;
  double now = 0.0;  ///< what the levels of the document make of it, as DemandKept::reached
};
/// "Table at least 300 lx in the mean".
std::string in_words(const RoomDemand& demand);
/// "312 lx": a figure that is reached or attainable, in the unit of what is asked.
std::string figure_in_words(const RoomDemand& demand, double figure);

struct RoomScene {
  std::vector<std::string> groups;  ///< ids of the first room's scene groups, in the order of the document
  std::vector<std::string> group_names;
  std::vector<double> now;  ///< their levels in the document
  double now_w = 0.0;
  std::vector<RoomDemand> demands;
  std::variant<SceneLevels, SceneConflict> found;
  double proposed_w = 0.0;  ///< as `now_w`; 0 in a conflict
};

/// How alike the levels of a scene must look.
struct SceneLook {
  /// Greatest difference between the levels of two groups with luminaires of one type side by side, 0..1; 0:
  /// they stand at one level; nothing: any.
  std::optional<double> largest_step;
};
/// Luminaires of one type this far apart, or as far as the nearest of their type with a tenth to spare, are
/// side by side (common practice, no source).
inline constexpr double kSideBySide_m = 2.0;

/// The levels of a scene that several rooms of one typical share must hold in each of them; groups correspond
/// by their order. Beside the scene's targets every way out keeps what the rules in force ask of its normal
/// light. At night and, for what is asked at most, by day as well (sim/scene_targets.hpp); in the first
/// arrangement of movable partitions that suits the scene. Powers are sums over the rooms, with trim and with
/// what drivers draw at a level. Errors: no targets, or a search that ended undecided.
Result<RoomScene> propose_scene(std::span<const SceneInRoom> rooms,
                                const std::vector<domain::CodeRule>& rules, const SceneLook& look = {});

}  // namespace halflight::choose
