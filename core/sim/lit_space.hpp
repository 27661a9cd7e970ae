#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "lightresponse/response.hpp"
#include "sim/sample_points.hpp"
#include "sim/study.hpp"

#include <algorithm>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace halflight::sim {

/// Method options of each accuracy. draft: a glance while moving things; design: the default; proof: for a
/// figure that somebody signs. docs/methods/light_response.md says what each buys.
lightresponse::LightOptions light_options(Accuracy accuracy);

/// Channels of a space that always get one command: members of the same group for every strategy, whose load
/// controllers can do the same.
struct ControlCell {
  std::size_t design = 0;
  std::vector<std::size_t> columns;  ///< of the scene
  std::string scene_group;           ///< id of its group for scenes, or empty
  std::string occupancy_group;
  std::string daylight_group;
  std::string schedule_group;
  std::string demand_response_group;
  std::string name;            ///< for people: the scene group's name, or "ungrouped"
  bool only_switched = false;  ///< by its load controllers (domain::switched_channels)
  bool lights_egress = false;
  std::string lamp;  ///< id of the one luminaire, which plugs in and is in no group; else empty
};
/// Full output of a cell where the sequence trims to `trim`: a task lamp is beyond its reach.
inline double high_end_of(const ControlCell& cell, double trim) { return cell.lamp.empty() ? trim : 1.0; }

/// Inner glazing of another space that takes light from this one.
struct LentPane {
  std::size_t borrower = 0;     ///< index of the other space in the project
  std::size_t opening = 0;      ///< index into its domain::light_openings
  lightresponse::PointSet set;  ///< on the wall here, facing into this space
  lightresponse::PointRows rows;
  lightresponse::SunlitShares sun;
};

/// Electric light with movable partitions in another arrangement than the first.
struct OtherArrangement {
  domain::Arrangement arrangement;
  std::vector<lightresponse::PointRows> task_rows;
  std::vector<lightresponse::PointRows> egress_rows;
};

struct LitSpace;

/// Inner glazing of a space, and where its light comes from.
struct BorrowedPane {
  const LitSpace* lender = nullptr;
  const LentPane* lent = nullptr;  ///< one of the lender's
  // Luminance that the pane shows per lx on its far side, cd/m2 per lx, by half.
  double descending_per_lx = 0.0;
  double rising_per_lx = 0.0;

  /// lx at a point per lx on the far side of the pane: in all, and as it arrives after reflection.
  [[nodiscard]] double gain(const lightresponse::PaneRows::Reading& reading) const {
    return reading.descending * descending_per_lx + reading.rising * rising_per_lx;
  }
  [[nodiscard]] double reflected_gain(const lightresponse::PaneRows::Reading& reading) const {
    return reading.descending_reflected * descending_per_lx + reading.rising_reflected * rising_per_lx;
  }
};

/// The light of one space, ready for everything that follows.
struct LitSpace {
  LitSpace(std::size_t index_of_space, lightresponse::SpaceScene its_scene)
      : index(index_of_space), scene(std::move(its_scene)) {}
  std::size_t index = 0;  ///< of the space in the project
  lightresponse::SpaceScene scene;
  std::vector<ControlCell> cells;                  ///< of all designs
  std::vector<lightresponse::PointSet> task_sets;  ///< one a task area
  std::vector<lightresponse::PointRows> task_rows;
  std::vector<lightresponse::PointSet> egress_sets;  ///< one an egress path
  std::vector<lightresponse::PointRows> egress_rows;
  std::vector<std::size_t> sensors;  ///< indices of the proposal's photosensors in this space
  std::vector<lightresponse::PointSet> sensor_sets;
  std::vector<lightresponse::PointRows> sensor_rows;
  lightresponse::PointSet plan_set;
  lightresponse::PointRows plan_rows;
  double plan_height_m = 0.75;
  double plan_step_m = 0.5;             ///< of an axis-parallel grid over the floor's bounding box
  std::vector<std::size_t> plan_cells;  ///< cell of each plan row, row by row from the south
  std::vector<EyePoints> eyes;          ///< one a task area; without places over vertical ones
  std::vector<lightresponse::PointRows> eye_rows;
  SurfacePoints walls;
  lightresponse::PointRows wall_rows;
  SurfacePoints ceiling;
  lightresponse::PointRows ceiling_rows;
  lightresponse::PointSet grid_set;  ///< of daylight availability; empty without windows
  lightresponse::PointRows grid_rows;
  std::vector<float> incident;  ///< [group x bins]
  // Direct sun by 5-minute step of the year (mid-step): task areas first, then sensors.
  std::vector<lightresponse::SunlitShares> task_sun;
  std::vector<lightresponse::SunlitShares> sensor_sun;
  std::vector<float> sun_on_groups;
  std::vector<OtherArrangement> other_arrangements;
  // Light through inner glazing: what points here receive of each pane, what other spaces take from here, and
  // (once all spaces are lit, see `connect_panes`) where the light of each pane comes from.
  std::vector<lightresponse::PaneRows> task_panes;
  std::vector<lightresponse::PaneRows> sensor_panes;
  lightresponse::PaneRows grid_panes;
  std::vector<LentPane> lent;
  std::vector<BorrowedPane> panes;  ///< as scene.panes; empty until connected
  double leak_share = 0.0;

  [[nodiscard]] bool has_daylight() const { return !scene.window_groups.empty() || !scene.panes.empty(); }
};

/// The cells of channels of a space: of all designs, in the order of their first channel.
std::vector<ControlCell> control_cells(const domain::Project& project, const std::string& space,
                                       const std::vector<lightresponse::ChannelColumn>& columns);

/// Where a photosensor looks from, and how.
lightresponse::PointSet sensor_point(const domain::Photosensor& sensor);

/// A space with its cells and points of tasks, ways out, sensors and daylight, and nothing lit.
Result<LitSpace> space_without_light(const StudyInputs& inputs, std::size_t space,
                                     const lightresponse::LightOptions& options);

/// Builds and lights one space. `sun`: direction towards the sun at each step, true-north world axes.
Result<LitSpace> light_space(const StudyInputs& inputs, std::size_t space, const daylight::Outside& outside,
                             const lightresponse::LightOptions& options, std::span<const Vector3> sun,
                             const Context& context, lightresponse::StageLog& log);

/// The same for a space that is wanted only as a lender: its rows are those of the panes that it lends to.
Result<LitSpace> light_lender(const StudyInputs& inputs, std::size_t space, const daylight::Outside& outside,
                              const lightresponse::LightOptions& options, std::span<const Vector3> sun,
                              const Context& context, lightresponse::StageLog& log);

/// Tells every inner pane of `spaces` its lender among them. They must stay where they are from then on.
void connect_panes(const domain::Project& project, std::span<LitSpace> spaces);

/// Points of calculation of a task area by EN 12464-1 (its outline is its own border), and those of a way
/// out, on the floor or along a flight; points beyond the room (a path ends in its door) belong to the next
/// one.
lightresponse::PointSet task_points(const domain::TaskArea& task);
lightresponse::PointSet egress_points(const domain::EgressPath& path, const Polygon& floor);

/// Level of a group in a scene; `otherwise` without a scene, for no group, or where the scene does not name
/// it.
double level_in(const domain::Scene* scene, const std::string& group, double otherwise);

/// Factor by which the light of a column is multiplied for maintained values: the loss of its type and of its
/// space's surfaces.
double light_loss(const domain::Project& project, const lightresponse::ChannelColumn& column);
/// Rated input watts of a column's channel.
double input_w(const domain::Project& project, const lightresponse::ChannelColumn& column);
/// Least light of a column while it is on, as a fraction of full: 1 where the driver does not dim or load
/// controllers only switch it.
double least_light(const domain::Project& project, const lightresponse::ChannelColumn& column);
/// What a column that gives no less than `least` makes of the level that it is asked for.
inline double light_given(double least, double asked) {
  return asked <= 0.0 ? 0.0 : std::clamp(asked, least, 1.0);
}
const domain::LuminaireType& type_of(const domain::Project& project,
                                     const lightresponse::ChannelColumn& column);
const domain::Luminaire& luminaire_of(const domain::Project& project,
                                      const lightresponse::ChannelColumn& column);

}  // namespace halflight::sim
