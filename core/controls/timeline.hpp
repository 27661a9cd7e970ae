#pragma once
#include "base/interval_set.hpp"
#include "base/random.hpp"
#include "base/time_axis.hpp"
#include "domain/control.hpp"

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

// A sequence of operations as a timeline of levels, to the second. The rules are numbered in
// docs/rules/controls.md and the tests cite them.

namespace halflight::controls {

/// Why the level is what it is.
enum class Cause : std::uint8_t {
  not_switched_on,  ///< nobody has switched it on
  off_by_hand,
  off_vacant,
  off_by_schedule,
  on_by_hand,
  on_by_motion,      ///< at the full level of the scene
  partly_by_motion,  ///< partial-on
  raised_by_hand,    ///< from partial-on
  on_by_schedule,
  always_on,
  override_by_hand,  ///< after hours
  cleaning,
  scene,         ///< a stored scene called by hand
  waiting,       ///< empty, the vacancy delay runs
  stepped_down,  ///< empty, at the vacancy rule's step level
  warning,       ///< the dip before off
  left_on,       ///< empty, and no rule follows vacancy
};
/// "empty, the vacancy delay runs".
const char* words_of(Cause cause);

/// What the sequence calls a group to. The groups of a space that follow the same rules share it; what level
/// it comes to is each group's own (GroupLevels).
struct Setting {
  enum class Kind : std::uint8_t { off, normal, partly_on, stepped_down, stored_scene } kind = Kind::off;
  std::uint8_t scene = 0;  ///< which of TimelineInputs::scene_use
  bool dipped = false;     ///< a warning before off
  friend bool operator==(const Setting&, const Setting&) = default;
  /// Dense, from 0; off is 0.
  [[nodiscard]] std::size_t index() const {
    const std::size_t place = static_cast<std::size_t>(kind) + scene;
    return 2 * place + (dipped ? 1 : 0);
  }
};

struct Segment {
  Seconds begin = 0;
  Seconds end = 0;
  Setting setting;
  Cause cause = Cause::not_switched_on;
  friend bool operator==(const Segment&, const Segment&) = default;
};

/// In order, without gaps, from 0 to the horizon; neighbours differ in setting or cause.
struct Timeline {
  std::vector<Segment> segments;
  /// The segment at `t`, which must lie in [0, horizon).
  [[nodiscard]] const Segment& at(Seconds t) const;
};

/// The levels of one group, as fractions of trimmed full output, before daylight, demand response and trim
/// limit them.
class GroupLevels {
 public:
  /// `normal`: in the sequence's normal scene; `scenes`: in each stored scene, as TimelineInputs::scene_use.
  GroupLevels(const domain::Sequence& sequence, double normal, std::span<const double> scenes);
  [[nodiscard]] double of(Setting setting) const { return by_index_[setting.index()]; }
  /// By Setting::index().
  [[nodiscard]] std::span<const double> by_index() const { return by_index_; }

 private:
  std::vector<double> by_index_;
};

/// A piece of a group's timeline; level 0 is off.
struct LevelSegment {
  Seconds begin = 0;
  Seconds end = 0;
  double level = 0.0;
  Cause cause = Cause::not_switched_on;
  friend bool operator==(const LevelSegment&, const LevelSegment&) = default;
};
/// A group's own timeline; neighbours differ in level or cause.
std::vector<LevelSegment> levels_of(const Timeline& timeline, const GroupLevels& levels);

/// What people do at the switch. Probabilities come from people/habits.hpp or from any other model.
struct HandHabits {
  /// At arrival, by the daylight on the task. Unset: always.
  std::function<double(double daylight_lx)> on_at_arrival{};
  /// While staying, per five minutes on the clock.
  double on_while_staying_below = 0.02;
  double on_while_staying_above = 0.003;
  double on_while_staying_threshold_lx = 240.0;
  /// At departure, by the length of the absence that follows. Unset: never.
  std::function<double(Seconds absence)> off_at_departure{};
};

/// Holds references; they must outlive the call.
struct TimelineInputs {
  const domain::Sequence& sequence;
  const IntervalSet& motion;           ///< what the sensors report; without sensors, presence
  const IntervalSet& presence;         ///< people, who decide by hand
  const IntervalSet& open;             ///< open hours of the schedule's calendar
  const IntervalSet& cleaning;         ///< a cleaner is in the room: moves, and switches on by hand
  /// Share of the clock's whole hours for which each stored scene is called. At most 100 scenes.
  std::span<const double> scene_use{};
  /// Daylight on the task for decisions by hand; unset: dark.
  std::function<double(Seconds)> task_daylight_lx{};
  HandHabits habits{};
  RandomKey key{};  ///< of the space, so that its groups decide together
  std::uint32_t replicate = 0;
  Seconds horizon = kYear;
  /// Without, every cause is `not_switched_on` and only the settings count: much shorter for a busy corridor.
  bool with_causes = true;
};

/// The settings that the sequence's on, vacancy, schedule and manual rules and scenes give. Linear in the
/// number of intervals. `vacancy.groups` is the caller's business: a group that the rule does not name gets a
/// sequence without it. Automatic off in rooms that refuse it is likewise the caller's to remove.
Timeline base_timeline(const TimelineInputs& inputs);

}  // namespace halflight::controls
