#pragma once
#include "base/interval_set.hpp"
#include "base/random.hpp"
#include "base/time_axis.hpp"
#include "controls/arbitration.hpp"
#include "domain/control.hpp"

#include <cstdint>
#include <functional>
#include <optional>
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
  scene,            ///< a stored scene called by hand
  lowered_by_hand,  ///< to the light that somebody prefers
  waiting,          ///< nobody noticed, the vacancy delay runs
  stepped_down,     ///< nobody noticed, at the vacancy rule's step level
  warning,          ///< the dip before off
  sweep_warning,    ///< the same before a sweep
  left_on,          ///< empty, and no rule follows vacancy
};
/// "nobody noticed, the vacancy delay runs".
const char* words_of(Cause cause);
/// Who decides by that cause. While a delay runs it is vacancy, which leaves the level as it was.
Rank rank_of(Cause cause);

/// What the sequence calls a group to. The groups of a space that follow the same rules share it; what level
/// it comes to is each group's own (GroupLevels).
struct Setting {
  enum class Kind : std::uint8_t { off, normal, partly_on, stepped_down, stored_scene } kind = Kind::off;
  std::uint16_t scene = 0;  ///< which of TimelineInputs::scene_use; beyond them, what LoweredFrom names
  bool dipped = false;      ///< a warning before off
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
  // What the vacancy rule does to people whom no sensor notices, times a year.
  int taken_from_people = 0;  ///< goes off, or steps down
  int dips_on_people = 0;     ///< warnings, noticed by them or not
  /// The segment at `t`, which must lie in [0, horizon).
  [[nodiscard]] const Segment& at(Seconds t) const;
};

/// The levels of one group, as fractions of trimmed full output, before daylight, demand response and trim
/// limit them.
class GroupLevels {
 public:
  /// `normal`: in the sequence's normal scene; `scenes`: in each stored scene, as TimelineInputs::scene_use,
  /// and at each level that hands can set.
  GroupLevels(const domain::Sequence& sequence, double normal, std::span<const double> scenes);
  [[nodiscard]] double of(Setting setting) const { return by_index_[setting.index()]; }
  /// By Setting::index().
  [[nodiscard]] std::span<const double> by_index() const { return by_index_; }

 private:
  std::vector<double> by_index_;
};

/// From second `from` on people have the light at this one of the levels that their hands can set below the
/// normal scene; none: as it is. In GroupLevels those levels follow the stored scenes.
struct LoweredFrom {
  Seconds from = 0;
  std::optional<std::uint16_t> step;
  friend bool operator==(const LoweredFrom&, const LoweredFrom&) = default;
};

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
  /// Chance that somebody who sits still notices a dip and moves so that the sensors notice (assumption).
  double heeds_dip = 0.8;
  /// Until people move, or go to the switch, once light has been taken from them or a dip heeded, s; above 0
  /// (assumption).
  Seconds answers_after_s = 10;
};

/// People of one space through one year and what they decide at the switch. Draws are addressed by instant,
/// so that every sequence asks the same questions and its groups decide together; answers are kept, so that
/// a sequence walked through after another asks them for nothing. Not safe from several threads at once.
class Hands {
 public:
  /// `presence`: people and cleaners, in [0, kYear); `task_daylight_lx`: for their decisions, unset: dark.
  /// Both must outlive this.
  Hands(const IntervalSet& presence, HandHabits habits, std::function<double(Seconds)> task_daylight_lx,
        RandomKey key, std::uint32_t replicate);

  [[nodiscard]] const IntervalSet& presence() const { return presence_; }
  /// Whether whoever begins stay number `stay` of `presence` switches on.
  bool on_at_arrival(std::size_t stay);
  /// The same for a question at another instant: the room opens around people who are there.
  [[nodiscard]] bool wants_light(Seconds t) const;
  /// Whether whoever ends that stay switches off.
  bool off_at_departure(std::size_t stay);
  /// Whether somebody heeds the dip that begins at `t`.
  [[nodiscard]] bool heeds_dip(Seconds t) const;
  [[nodiscard]] Seconds answers_after_s() const { return habits_.answers_after_s; }
  /// The first instant in [from, to) at which somebody who stays switches on or up, or max of Seconds;
  /// `but_not_at`: an instant at which they have decided already.
  Seconds switches_while_staying(Seconds from, Seconds to, Seconds but_not_at);

 private:
  const IntervalSet& presence_;
  HandHabits habits_;
  std::function<double(Seconds)> task_daylight_lx_;
  RandomKey key_;
  std::uint32_t replicate_;
  RandomSeries staying_;
  enum class Answer : std::uint8_t { unasked, no, yes };
  std::vector<Answer> arrivals_;
  std::vector<Answer> departures_;
  [[nodiscard]] RandomCounter counter(Seconds t, std::uint32_t question) const;
  [[nodiscard]] bool happens(double chance, RandomCounter question) const;
  [[nodiscard]] double daylight_lx(Seconds t) const { return task_daylight_lx_ ? task_daylight_lx_(t) : 0.0; }
};

/// Holds references; they must outlive the call.
struct TimelineInputs {
  const domain::Sequence& sequence;
  /// What the sensors notice, cleaners too; the hands' presence itself where there are none.
  const IntervalSet& motion;
  Hands& hands;
  const IntervalSet& open;      ///< open hours of the schedule's calendar
  const IntervalSet& cleaning;  ///< the cleaner's part of the presence, who always switches on
  /// Those who miss the groups' light when it goes: whoever sits elsewhere in the room does not. Null: the
  /// hands' presence. Must be it where `motion` is.
  const IntervalSet* served = nullptr;
  /// When somebody sleeps there, whom movement switches no light on for. Null: nobody ever.
  const IntervalSet* asleep = nullptr;
  /// Share of the clock's whole hours for which each stored scene is called. At most 65,000 scenes.
  std::span<const double> scene_use{};
  /// When each stored scene can be called, as `scene_use`; null: always. Empty: all of them always. The share
  /// is of those times. Where shares add up to more than 1, the first scenes have theirs.
  std::span<const IntervalSet* const> scene_when{};
  /// How people lower the light, in order of time; empty: not at all.
  std::span<const LoweredFrom> lowered{};
  RandomKey key{};  ///< of the space, for the hours of scenes
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
