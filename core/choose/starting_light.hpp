#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "choose/luminaire_grid.hpp"
#include "results/study.hpp"
#include "sim/study.hpp"

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace halflight::choose {

/// Luminaires of one type on a grid, with the light that they make.
struct LitGrid {
  LuminaireGrid grid;
  double height_m = 0.0;  ///< of the luminous openings above the floor
  struct Task {
    double mean_lx = 0.0;  ///< maintained, all on
    double min_lx = 0.0;
    double target_lx = 0.0;
  };
  std::vector<Task> tasks;  ///< as the horizontal task areas of the space
  results::PlanGrid plan;   ///< maintained, all on
  double error_lx = 0.0;    ///< numerical, of any point (lightresponse::numerical_error_lx)
  double installed_w = 0.0;
  /// What the lumen method asked for before the light was computed.
  double needed = 0.0;
  double utilisation = 0.0;

  /// Whether the mean on every task area reaches its target.
  [[nodiscard]] bool holds_targets() const;
};

/// An empty room in which luminaires are tried. Light between its surfaces is computed once. Not safe from
/// several threads at once.
class TrialRoom {
 public:
  /// `space`: index in the project. `inputs` and what `context` refers to must outlive it. Luminaires that
  /// the project has in the space do not shine. Errors: the room cannot be lit, or has no horizontal task
  /// area.
  static Result<std::unique_ptr<TrialRoom>> make(const sim::StudyInputs& inputs, std::size_t space,
                                                 const Context& context);
  ~TrialRoom();
  TrialRoom(const TrialRoom&) = delete;
  TrialRoom& operator=(const TrialRoom&) = delete;

  /// The fewest luminaires of a type, by id in the project or the library, whose light holds every target;
  /// the lumen method says where to begin, the room's own light decides. Where no even grid holds them: the
  /// brightest. Errors: an unknown type, photometry that cannot be had, a room too small for one.
  Result<LitGrid> fewest(const std::string& luminaire_type);
  /// The grid of that many, or of the nearest number above that an even grid has.
  Result<LitGrid> of_count(const std::string& luminaire_type, std::size_t count);

 private:
  struct State;
  explicit TrialRoom(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace halflight::choose
