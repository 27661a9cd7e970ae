#pragma once
#include "climate/sky.hpp"
#include "climate/sun.hpp"
#include "climate/weather_track.hpp"
#include "energy/integrate.hpp"
#include "sim/lit_space.hpp"

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace halflight::sim {

inline constexpr Seconds kStep_s = 300;
inline constexpr std::size_t kSteps = static_cast<std::size_t>(kYear / kStep_s);

/// The steps of the year in which the sun is up at mid-step; light series hold only these.
struct SunnySteps {
  std::vector<std::uint32_t> step;          ///< ascending, 0..kSteps - 1
  std::vector<std::int32_t> index_of_step;  ///< [kSteps], -1 in the dark
  /// The daylit part of each day, as runs of neighbouring steps.
  std::vector<energy::SeriesRun> runs;
  std::vector<Vector3> sun;  ///< one a sunny step, true-north world axes, at a jittered instant of it
};
/// Direct sun is taken at an instant drawn within each step, so that shadow edges do not beat with the clock.
SunnySteps sunny_steps(const climate::SunTrack& track, std::uint32_t seed);

/// One row's daylight through one window group, shade open and drawn, lx by sunny step. `drawn` is empty
/// without a shade.
struct GroupSeries {
  std::vector<float> open;
  std::vector<float> drawn;
  double reflected_share = 1.0;  ///< of sky light, for small changes of reflectance
};
using RowSeries = std::vector<GroupSeries>;  ///< one a window group

/// Light on the far side of inner glazing, in the space that lends it.
struct PaneSeries {
  RowSeries far_side;  ///< through the lender's window groups
  /// SpaceDaylight::beam_on_tasks_w_m2 of the lender.
  std::vector<std::vector<float>> lender_beam_w_m2;
};

struct SpaceDaylight {
  std::vector<RowSeries> tasks;    ///< as LitSpace::task_rows
  std::vector<RowSeries> sensors;  ///< as LitSpace::sensor_rows
  /// Beam irradiance behind bare glass on the sunniest task area, W/m2, [group][sunny step]; people draw
  /// shades by it.
  std::vector<std::vector<float>> beam_on_tasks_w_m2;
  std::vector<PaneSeries> panes;  ///< as LitSpace::panes
};

/// A weather year through every space at once: sky tiles are made one day at a time and serve all rows.
/// Panes must be connected, and lenders be among `spaces`. `sky_key`: of all that the sky over the site and
/// the sun at each step depend on; with it, rows that were run before come from the context's scratch store.
std::vector<SpaceDaylight> daylight_year(const domain::Project& project, std::span<const LitSpace> spaces,
                                         const std::vector<daylight::Outside>& outside_of,
                                         const climate::SkyDivision& sky,
                                         const climate::WeatherTrack& weather, const SunnySteps& sunny,
                                         const Context& context, const Hash& sky_key = {});

/// More rows of one space through such a year: the mean of each set of points, as `rows` has it, with the
/// direct sun on it. `outside`: of the space.
std::vector<RowSeries> rows_through_year(const domain::Project& project, const LitSpace& lit,
                                         std::span<const lightresponse::PointRows> rows,
                                         std::span<const lightresponse::SunlitShares> sun,
                                         const daylight::Outside& outside, const climate::SkyDivision& sky,
                                         const climate::WeatherTrack& weather, const SunnySteps& sunny,
                                         const Context& context, const Hash& sky_key = {});

}  // namespace halflight::sim
