#pragma once
#include "choose/daylight_part.hpp"
#include "choose/existing_wiring.hpp"
#include "choose/occupancy_part.hpp"
#include "choose/room_design.hpp"
#include "choose/scene_set.hpp"
#include "domain/project.hpp"
#include "lightresponse/scene.hpp"
#include "sim/study.hpp"

#include <cstddef>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace halflight::choose {

/// How the light comes on: as is usual for the kind, or otherwise.
enum class Coming { usually, by_hand, half_by_motion };

/// Puts designs for a room together from what is kept and what is chosen (docs/methods/proposals.md). What it
/// is made from must outlive it.
class RoomAssembly {
 public:
  /// `kept`: the room's controls without the parts that are `free` to choose. The project must have a
  /// proposal.
  RoomAssembly(const sim::StudyInputs& inputs, std::size_t space, const RoomControls& kept,
               const std::set<Part>& free);
  /// Scenes for a room without any whose light can be told its level.
  void take_scenes(SceneSet scenes) { scenes_ = std::move(scenes); }
  /// Whether the document leaves scenes and their groups open, and something dims.
  [[nodiscard]] bool wants_scenes() const;
  /// Only where it `wants_scenes`.
  [[nodiscard]] const domain::SpaceKind& kind() const { return *kind_; }
  [[nodiscard]] const std::vector<domain::Luminaire>& luminaires() const { return luminaires_; }
  /// The room's channels with their light, by which load controllers are chosen.
  void take_columns(const std::vector<lightresponse::ChannelColumn>& columns) { columns_ = &columns; }
  /// Luminaires that no daylight group has.
  void keep_for_the_way_out(std::vector<std::string> luminaires) { for_the_way_out_ = std::move(luminaires); }
  /// Ids that nothing new may have.
  [[nodiscard]] const std::set<std::string>& taken() const { return taken_; }
  /// What the ids of new things begin with: "G02-", of rooms that inherit "G02.".
  [[nodiscard]] const std::string& id_stem() const { return stem_; }
  /// Scenes and their groups where the document has none: those that are usual for the kind where the light
  /// `dims`, else everything together or, where it is switched by the wires that are there, by leg.
  [[nodiscard]] RoomControls with_scene(RoomControls controls, std::set<std::string>& taken, bool dims,
                                        bool by_leg = false) const;
  /// The kind of a set's sensors where each is a load controller too and may command the room; null where
  /// others have to.
  [[nodiscard]] const domain::DeviceKind* that_carries(const OccupancyPart& part) const;
  /// Whether a set switches the light in the boxes of its switches, where nothing dims.
  [[nodiscard]] bool is_in_boxes(const OccupancyPart* part) const;
  /// A design that is not yet tried: with `occupancy` and `daylight` where these are free, null leaving them
  /// out; `refused` says what cannot be built or would take the light from people.
  [[nodiscard]] RoomDesign design(const OccupancyPart* occupancy, const DaylightPart* daylight,
                                  Coming coming) const;
  /// Of devices and new luminaires. Loads that are to be commanded and that no controller drives have no
  /// price.
  [[nodiscard]] FirstCost cost_of(const RoomControls& controls) const;
  /// Ways beside the usual one.
  [[nodiscard]] std::vector<Coming> other_ways_of_coming(const OccupancyPart& part) const;
  /// Whether the luminaires dim and something that the room can have commands them to.
  [[nodiscard]] bool can_dim(const OccupancyPart* part) const;

 private:
  [[nodiscard]] std::vector<std::string> ids() const;
  [[nodiscard]] bool any_dims(const std::vector<std::string>& luminaires) const;
  /// Whether a room whose wiring stays is left to its switches.
  [[nodiscard]] bool is_switched_by_hand(const OccupancyPart* occupancy, const DaylightPart* daylight) const;
  /// Whether each scene group holds whole switch legs, or there is but one.
  [[nodiscard]] bool follows_legs(const RoomControls& controls) const;
  void add_occupancy(const OccupancyPart& part, Coming coming, RoomControls& controls,
                     std::set<std::string>& taken, RoomDesign& made) const;
  /// Without one, a divided room's sides stay apart while the wall is open.
  void add_partition_sensor(RoomControls& controls, std::set<std::string>& taken,
                            std::vector<std::string>& why) const;
  /// What only switches has no level between off and full.
  static void take_steps_out(domain::Sequence& sequence, std::vector<std::string>& why);
  /// A box in the place of each leg's switch.
  void add_boxes(const OccupancyPart& part, RoomControls& controls, std::set<std::string>& taken,
                 RoomDesign& made) const;
  /// Of each sensor the luminaires that are nearer to it than to any other, of a divided room to any on their
  /// side of the wall; sorted.
  [[nodiscard]] std::vector<std::vector<std::string>> nearest_luminaires(
      const std::vector<domain::OccupancySensor>& sensors) const;
  void add_daylight(const DaylightPart& part, RoomControls& controls, std::vector<std::string>& why) const;
  /// The switches that are there: of each leg one, where there are several.
  void keep_switches(RoomControls& controls, std::set<std::string>& taken,
                     std::vector<std::string>& why) const;
  static bool has_scenes(const RoomControls& controls);
  static std::vector<std::string> scene_groups(const RoomControls& controls);
  /// `box`: the kind in the boxes of the switches that is the room's station too; null: one is chosen.
  void add_stations(const domain::DeviceKind* box, bool dims, RoomControls& controls,
                    std::set<std::string>& taken, std::vector<std::string>& why) const;

  const domain::Project& project_;
  const domain::Library& library_;
  const domain::Space& space_;
  const domain::Design& design_;
  const domain::SpaceKind* kind_;
  RoomControls kept_;
  std::set<Part> free_;
  std::string stem_;
  std::set<std::string> taken_;
  bool wiring_stays_;
  const domain::Partition* wall_;  // by which bookings divide the room
  std::vector<SwitchLeg> legs_;
  std::vector<domain::Luminaire> luminaires_;
  std::vector<std::string> for_the_way_out_;
  SceneSet scenes_;
  const std::vector<lightresponse::ChannelColumn>* columns_ = nullptr;
};

}  // namespace halflight::choose
