#pragma once
#include "base/interval_set.hpp"
#include "sim/daylight_year.hpp"
#include "sim/space_model.hpp"
#include "sim/uncertainty.hpp"

#include <vector>

namespace halflight::sim {

/// Daylight of one replicate, lx by sunny step, shades as they stand.
struct ShadedDaylight {
  std::vector<std::vector<float>> tasks;    ///< on task areas
  std::vector<std::vector<float>> sensors;  ///< as photosensors read it
  /// Whether the shade of each window group is drawn; empty for a group without one.
  std::vector<std::vector<bool>> drawn;
  std::vector<std::vector<float>> far_side;  ///< on the far side of each inner pane
};

/// Draws and raises the shades of a year as the people of the replicate do (docs/methods/daylight.md).
ShadedDaylight shaded_daylight(const SpaceModel& model, const SpaceDaylight& daylight,
                               const IntervalSet& presence, const Draws& draws);

/// The same year, which is `as_they_stand`, with every shade of the space that moves held drawn or raised.
ShadedDaylight with_shades_held(const SpaceModel& model, const SpaceDaylight& daylight,
                                const ShadedDaylight& as_they_stand, bool drawn, const Draws& draws);

/// What a photosensor of such scale reads of one more row in the same year, shades and far sides as they
/// stand in `year`; `panes`: of the same points. Without glass nothing.
std::vector<float> sensor_reading(const SpaceModel& model, const SensorScale& scale, const RowSeries& series,
                                  const lightresponse::PaneRows& panes, const ShadedDaylight& year,
                                  double reflected);

}  // namespace halflight::sim
