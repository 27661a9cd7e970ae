#pragma once
#include "choose/room_controls.hpp"
#include "domain/code_rules.hpp"
#include "sim/design_trials.hpp"
#include "sim/photosensor_siting.hpp"

#include <memory>
#include <string>
#include <vector>

// Which luminaires of a room follow daylight together, and the photosensor of each group
// (docs/methods/proposals.md).

namespace halflight::choose {

/// A daylight group with what governs it.
struct GovernedGroup {
  domain::Group group;
  domain::Photosensor photosensor;  ///< of the same id where groups share one
  domain::DaylightRule rule;
  sim::LightHeld held;  ///< mean over several building-years
};

/// One way to let a room follow daylight.
struct DaylightPart {
  std::vector<GovernedGroup> groups;
  double saved_kwh = 0.0;  ///< a year, by an ideal loop for each group while the room is open
};

/// Kinds of photosensors that a group may get: one that looks down at the task, one that looks at the window.
/// Null: none.
struct PhotosensorOffer {
  const domain::DeviceKind* closed = nullptr;
  const domain::DeviceKind* open = nullptr;
};

/// The places where photosensors are tried, and meters on the task below each luminaire: what a bench for the
/// trials of a room is fitted with.
struct DaylightPlaces {
  std::vector<std::string> luminaires;      ///< of the proposal in the space, in canonical order
  std::vector<domain::Photosensor> meters;  ///< one for each
  std::vector<domain::Photosensor> closed;  ///< first those between luminaires
  std::vector<domain::Photosensor> open;
  std::size_t between = 0;  ///< how many of `closed` hang between luminaires

  [[nodiscard]] std::vector<domain::Photosensor> all() const;
};
/// Meters lie on the plane of the first horizontal task, facing up. Photosensors that look down hang between
/// neighbouring luminaires, at most 24 of them, well spread, and on a raster of at most 100 places; those
/// that look out hang before the middle of the glass of each wall. Empty for a room without glass or without
/// a horizontal task. Errors: the room has no scene (lightresponse::make_scene).
Result<DaylightPlaces> daylight_places(const sim::StudyInputs& inputs, std::size_t space,
                                       const PhotosensorOffer& offer,
                                       const lightresponse::LightOptions& options);

/// Of the same room on a bench that has all of `places`: how much more each further group saves, and ways
/// with one group for each of `zones` and more while the next group still buys a twentieth of what all
/// luminaires apart would save; at most four. Luminaires that would save less than a tenth of their energy
/// stay out. `controls`: of the room, whose groups a daylight rule stands beside; `id_stem` begins new ids.
struct DaylightChoice {
  std::vector<double> saved_kwh;  ///< by number of groups, from the fewest
  std::size_t fewest = 0;         ///< that number
  /// Ids of luminaires that daylight could dim and that stay out, because they light the way out by day.
  std::vector<std::string> for_the_way_out;
  std::vector<DaylightPart> parts;
};
DaylightChoice daylight_choice(const sim::DesignTrials& trials, const domain::Project& project,
                               const RoomControls& controls, const DaylightPlaces& places,
                               const std::string& id_stem, const std::set<std::string>& taken,
                               const Context& context);

}  // namespace halflight::choose
