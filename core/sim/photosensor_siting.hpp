#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "domain/control.hpp"
#include "geometry/vector.hpp"
#include "sim/ready_spaces.hpp"
#include "sim/replicate.hpp"
#include "sim/shaded_daylight.hpp"
#include "sim/space_model.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

// How well a photosensor holds the light on its task through a year, and how well it would elsewhere on the
// ceiling (docs/methods/photosensor_siting.md).

namespace halflight::sim {

/// Light on a task in one step, lx. What is wanted lies from `least_lx` to `most_lx`.
struct StepOnTask {
  double lx = 0.0;
  double least_lx = 0.0;
  double most_lx = 0.0;
};

/// How well the light on a task was held.
struct LightHeld {
  double rms = 0.0;          ///< root mean square of the distance from what is wanted, over the target
  double under_share = 0.0;  ///< of the steps: less than 90 % of what is promised
  double over = 0.0;         ///< mean of the light beyond what is wanted, over the target
};

/// `target_lx` > 0; `promised_lx`: the light that a step must not fall short of. All 0 without steps.
LightHeld light_held(std::span<const StepOnTask> steps, double target_lx, double promised_lx);

/// Share of the steps with too little light that nobody minds (assumption).
inline constexpr double kSeldom = 0.03;
/// Whether `a` holds the light better than `b`: light that is seldom too little comes before light that is
/// close to what is wanted. A strict weak order.
bool holds_better(const LightHeld& a, const LightHeld& b);

/// A year of daylight that loops answer to.
struct LoopYear {
  const ShadedDaylight& daylight;
  double trim = 1.0;
  double reflected = 1.0;
  double depreciation = 1.0;
};

/// What one daylight rule of the proposal makes of the light on its task, with the loops of all rules at work
/// and light called for at trim in the normal scene.
struct RuleHeld {
  LightHeld held;
  double night_lx = 0.0;  ///< on the task at trim, without daylight: what the loop is set to hold
  std::size_t steps = 0;  ///< of `occupied` that are daylit and were counted
};
/// `rule`: index; its task is in the space. `occupied`: numbers of sunny steps.
RuleHeld rule_held(const SpaceModel& model, std::size_t rule, const LoopYear& year,
                   std::span<const std::size_t> occupied);

/// Where a device hangs `below_m` under the ceiling over a place in plan of a space that may not be lit yet;
/// nothing outside the room, under a skylight, inside something, or where a luminaire of the proposal is.
std::optional<Point3> hanging_place(const domain::Project& project, const LitSpace& lit, Point2 place,
                                    double below_m);

/// A place on the ceiling and what a photosensor there would make of the light.
struct SensorPlace {
  Point3 at;
  bool usable = false;  ///< its calibration; an unusable one dims nothing
  LightHeld held;
};

/// The ceiling of a room as seen by one daylight rule.
struct PhotosensorPlaces {
  domain::Photosensor device;  ///< as it would hang at every place; `at`: where it hangs now, if it does
  double target_lx = 0.0;
  double night_lx = 0.0;            ///< RuleHeld
  std::size_t steps = 0;            ///< of five minutes that the figures rest on
  double spacing_m = 0.6;           ///< of places, along both axes
  std::vector<SensorPlace> places;  ///< row by row from the south, each from the west
  std::optional<SensorPlace> present;
  std::optional<std::size_t> best;  ///< the usable place that holds_better than all
};

/// At most so many places are looked at; larger rooms get them further apart.
inline constexpr std::size_t kMostPlaces = 150;
inline constexpr double kLeastSpacing_m = 0.6;

/// Tries a rule's photosensor at places all over the ceiling of the one chosen space of `ready`, in the year
/// of `replicate`. Results do not depend on the number of threads. Throws Cancelled. Errors: no such rule,
/// its task is elsewhere, no daylight reaches the room, or the ceiling has no place.
Result<PhotosensorPlaces> photosensor_places(const ReadySpaces& ready, const Replicate& replicate,
                                             std::size_t rule, const Context& context);

}  // namespace halflight::sim
