#pragma once
#include "controls/timeline.hpp"
#include "sim/electric_states.hpp"
#include "sim/replicate.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace halflight::sim {

/// What a cell's luminaires do at one instant, and why.
struct CellAtWork {
  const ControlCell* cell = nullptr;
  controls::Segment segment;             ///< of its timeline
  const domain::Scene* scene = nullptr;  ///< that is called; null: none
  double asked = 0.0;                    ///< fraction of full output that the sequence asks for, trimmed
  double level = 0.0;                    ///< the same as commanded
  bool limited = false;                  ///< daylight leaves less than the sequence asks for
  double light_w = 0.0;                  ///< drawn for light
  double standby_w = 0.0;                ///< drawn by drivers that are off and stay powered
};

/// A way of control in a replicate, instant by instant: what the year picture, the words about a minute and
/// the light on the plan all read. The replicate must outlive it; not safe from several threads at once.
class WayAtWork {
 public:
  WayAtWork(Replicate& replicate, Way way);

  [[nodiscard]] const Replicate& replicate() const { return replicate_; }
  [[nodiscard]] const Way& way() const { return way_; }
  [[nodiscard]] double trim() const { return trim_; }

  /// One a cell of the way's design, in the order of LitSpace::cells; `standard` in [0, kYear).
  [[nodiscard]] std::vector<CellAtWork> at(Seconds standard) const;
  /// What occupancy sensors notice for the cell that `at` gives as number `cell`.
  [[nodiscard]] const Replicate::Notice& notice(std::size_t cell) const { return strands_[cell].notice; }
  /// Since when what `at` gave as number `cell` stands for the same cause, hours of called scenes between
  /// left out.
  [[nodiscard]] Seconds since(std::size_t cell, Seconds standard) const;
  /// Since when the same cell has not been off.
  [[nodiscard]] Seconds lit_since(std::size_t cell, Seconds standard) const;
  /// Index of the sunny step that holds an instant; nothing in the dark.
  [[nodiscard]] std::optional<std::size_t> sunny_step(Seconds standard) const;
  /// Levels of every column of the scene; those of other designs are 0.
  [[nodiscard]] ColumnLevels columns(std::span<const CellAtWork> cells) const;
  /// Electric light on a task area with what `at` gave, mean, lx; light loss and reflectances as in this
  /// replicate.
  [[nodiscard]] double electric_on_task_lx(std::size_t task, std::span<const CellAtWork> cells) const;
  /// Daylight of the year with shades as a called scene has them at an instant.
  [[nodiscard]] const ShadedDaylight& daylight(Seconds standard) const;
  /// Daylight on a task area, mean, lx, behind shades as a called scene has them.
  [[nodiscard]] double daylight_on_task_lx(std::size_t task, Seconds standard) const;

 private:
  struct Strand {
    const ControlCell* cell = nullptr;
    const controls::Timeline* timeline = nullptr;
    controls::GroupLevels levels;
    std::vector<std::span<const double>> limits;  // by Setting::index()
    std::vector<const domain::Scene*> scenes;     // by Setting::index()
    std::span<const energy::PowerCurve> curves;
    Replicate::Notice notice;
    /// Its channels that give no less than so much light: mean on each task area at full output, lx.
    struct Part {
      double least_light = 0.0;
      std::vector<double> task_lx;
    };
    std::vector<Part> parts;
  };
  Replicate& replicate_;
  Way way_;
  double trim_ = 1.0;
  bool has_shade_scenes_ = false;
  std::vector<Strand> strands_;
};

}  // namespace halflight::sim
