#pragma once
#include "base/context.hpp"
#include "base/diagnostic.hpp"
#include "results/study.hpp"
#include "sim/electric_states.hpp"
#include "sim/photosensor_siting.hpp"
#include "sim/study.hpp"
#include "sim/way_at_work.hpp"

#include <array>
#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace halflight::sim {

/// What the whole year of a room can be looked at for, one value each five minutes.
enum class YearQuantity {
  power,       ///< of light and of what stands by, share of the connected power
  presence,    ///< 1 while somebody is there
  task_light,  ///< on the first task area, lx
  daylight,    ///< daylight on the first task area, lx
};
inline constexpr std::array<const char*, 4> kYearQuantityNames = {"power", "presence", "task_light",
                                                                  "daylight"};

/// A state of the room's luminaires with the light that it makes.
struct RoomLight {
  std::map<std::string, double> channels;  ///< by id "luminaire/channel", level as fraction of full output
  struct Task {
    double mean_lx = 0.0;
    double min_lx = 0.0;
    double daylight_lx = 0.0;  ///< mean
    double electric_lx = 0.0;  ///< mean
  };
  std::vector<Task> tasks;  ///< as the space's task areas
  double power_w = 0.0;     ///< drawn for light
  results::PlanGrid plan;
  double error_lx = 0.0;  ///< numerical, of the electric light on the plan
  // What the state stands for: as designed, or an instant of the replicate.
  double depreciation = 1.0;            ///< factor on the light loss factor
  double reflected = 1.0;               ///< factor on reflected light
  double watts = 1.0;                   ///< factor on what luminaires draw
  std::vector<float> plan_daylight_lx;  ///< by point of the plan; empty without daylight
};

/// One room lit and run through one building-year, the first replicate of every study, kept in memory so that
/// questions about an instant, a scene or a small change are answered at once. The answers come from the code
/// that runs the year. Not safe from several threads at once, where nothing else is said.
class LiveRoom {
 public:
  /// `space`: index in the project. `inputs` and what `context` refers to must outlive it. Throws Cancelled.
  /// The diagnostics say why the room cannot be lit.
  static Result<std::unique_ptr<LiveRoom>> make(const StudyInputs& inputs, const StudyOptions& options,
                                                std::size_t space, const Context& context);
  ~LiveRoom();
  LiveRoom(const LiveRoom&) = delete;
  LiveRoom& operator=(const LiveRoom&) = delete;

  [[nodiscard]] const SpaceModel& model() const;
  [[nodiscard]] const WayAtWork& work() const;
  /// Watts of all the proposal's luminaires at full output.
  [[nodiscard]] double connected_w() const;

  /// kSteps values by the clock: the state at the beginning of each five minutes of the civil year.
  [[nodiscard]] std::vector<float> year(YearQuantity quantity) const;
  /// One of them; `civil` in [0, kYear).
  [[nodiscard]] double at(YearQuantity quantity, Seconds civil) const;
  /// Civil hour of sunrise and sunset of each day; -1 where the sun does not rise or set.
  struct SunHours {
    std::vector<float> rises;
    std::vector<float> sets;
  };
  [[nodiscard]] SunHours sun_hours() const;
  [[nodiscard]] results::Moment explain(Seconds civil) const;

  /// Levels by scene group id, as shares of trimmed full output, that stand instead of what is asked for.
  using HeldLevels = std::map<std::string, double>;
  /// The light at an instant, daylight included.
  [[nodiscard]] RoomLight light_at(Seconds civil, const HeldLevels& held = {});
  /// The light of a scene of the proposal at trim without daylight; an unknown id: of the normal scene.
  [[nodiscard]] RoomLight light_of_scene(const std::string& scene, const HeldLevels& held = {}) const;

  /// The same with other luminaires, or the same ones elsewhere: `changed` is the project after edits that
  /// move, turn, add or take away luminaires of the proposal and nothing else. Luminaires keep the level that
  /// they have in `like`; new ones take that of their group, or the trim.
  [[nodiscard]] Result<RoomLight> light_with(const StudyInputs& changed, const RoomLight& like);

  /// sim::photosensor_places for a daylight rule, in the year of the room. Safe beside anything else that is
  /// asked of the room.
  [[nodiscard]] Result<PhotosensorPlaces> photosensor_places(std::size_t rule, const Context& context) const;

 private:
  struct State;
  explicit LiveRoom(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace halflight::sim
