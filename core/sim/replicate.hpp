#pragma once
#include "controls/sequence_merge.hpp"
#include "controls/timeline.hpp"
#include "energy/integrate.hpp"
#include "people/habits.hpp"
#include "people/presence.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/lowered_by_hand.hpp"
#include "sim/shaded_daylight.hpp"
#include "sim/space_model.hpp"

#include <array>
#include <memory>
#include <optional>
#include <span>
#include <vector>

namespace halflight::sim {

inline constexpr Seconds kHalfHour = 1800;
inline constexpr auto kHalfHours = static_cast<std::size_t>(kYear / kHalfHour);

/// Bits of controls::Strategies.
enum StrategyBit : unsigned { kSchedule = 1, kOccupancy = 2, kScenes = 4, kTrim = 8, kDaylight = 16 };

/// One case of one replicate.
struct CaseRun {
  double light_wh = 0.0;
  double standby_wh = 0.0;
  double lit_h = 0.0;   ///< power-weighted
  double peak_w = 0.0;  ///< largest power that the sequence calls for, daylight aside
  /// What the sequence calls for with nobody there, daylight aside, as hours at the watts of full output.
  double lit_for_nobody_h = 0.0;
  // What vacancy does to people whom no sensor notices, times a year, of the group that fares worst.
  double taken_from_people = 0.0;
  double dips_on_people = 0.0;
};

/// A way day by day of standard time.
struct DaysOfUse {
  std::array<float, 365> wh{};     ///< standby included
  std::array<float, 365> lit_h{};  ///< power-weighted
};

/// How an installed system differs from what its sequence says (faults.hpp); not at all by default.
struct Installed {
  Hindrance sensors;
  double clock_fast_s = 0.0;
  bool holidays_unknown = false;  ///< to the clock
  LoopFaults loops;
  friend bool operator==(const Installed&, const Installed&) = default;
};

/// A way of controlling the luminaires of one design.
struct Way {
  domain::Sequence sequence;
  domain::Design::Role luminaires = domain::Design::Role::proposal;
  bool scenes_of_design = false;  ///< normal scene and scenes in use are those of `luminaires`
  bool drivers_stay_powered = false;
  double device_standby_w = 0.0;
  /// Whose occupancy sensors report to the groups; nothing: whoever is there is noticed at once, as a code
  /// that asks for the function has it.
  std::optional<domain::Design::Role> sensors = domain::Design::Role::proposal;
  Installed installed;
  bool schedule_as_used = true;  ///< open hours as people keep them; false: as the clock's calendar says
};

/// A space in one building-year: people, shades and daylight as drawn, and what ways of control make of
/// them. Ways share whatever they have in common: timelines where they differ in luminaires, trim or
/// daylight only, and daylight loops where they differ in people's rules only.
class Replicate {
 public:
  enum class Causes { leave_out, tell };
  /// `model` and `daylight` must outlive it.
  Replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
            Causes causes = Causes::leave_out);
  Replicate(const Replicate&) = delete;  // people's habits look at the replicate they live in
  Replicate& operator=(const Replicate&) = delete;

  [[nodiscard]] const ShadedDaylight& daylight() const { return daylight_; }
  /// The same while a scene does so to the shades.
  const ShadedDaylight& daylight(domain::Scene::Shades shades);
  [[nodiscard]] const IntervalSet& open_as_used() const { return open_as_used_; }
  [[nodiscard]] const people::Presence& presence() const { return presence_; }
  /// When a cleaner is there, who is not among the presence.
  [[nodiscard]] const IntervalSet& cleaning() const { return cleaning_; }
  /// When a movable wall divides the room (domain::wall_in_use); empty where none does.
  [[nodiscard]] const IntervalSet& divided() const { return divided_; }
  /// A space whose people hold the light here, and when its sensors notice them.
  struct HeldBy {
    const domain::Space* space = nullptr;
    IntervalSet when;
  };
  /// What occupancy sensors notice for a cell's groups; gaps under two minutes may be filled.
  struct Notice {
    const Watch* watch = nullptr;  ///< null: no sensor, or none that the sequence asks
    const IntervalSet* when = nullptr;
    const IntervalSet* served = nullptr;  ///< when anybody is there whom the groups serve
    const Watch* while_open = nullptr;    ///< these count too while the wall does not divide the room
    const IntervalSet* here = nullptr;    ///< the part of `when` that is noticed in this room
    /// What is noticed in each space that holds the light here (VacancyRule::held_by); null: none does, or
    /// causes are left out.
    const std::vector<HeldBy>* held_by = nullptr;
  };
  Notice notice(const Way& way, const ControlCell& cell);
  /// What all sensors of a design notice in the space; gaps shorter than what is answered may be filled. Null
  /// without a sensor.
  const IntervalSet* noticed_by_all(domain::Design::Role design, double answered_s);
  [[nodiscard]] const Draws& draws() const { return draws_; }
  [[nodiscard]] double reflected() const { return reflected_; }
  /// Factor of this replicate on the light loss factor.
  [[nodiscard]] double depreciation() const { return draws_.depreciation; }
  /// Factor on the watts of the proposal's luminaires.
  [[nodiscard]] double new_watts() const { return draws_.new_watts; }
  [[nodiscard]] std::size_t weather_year() const { return draws_.weather_year; }
  [[nodiscard]] const SpaceModel& model() const { return model_; }
  /// Power of cell number `cell` of the space, with the watts of this replicate.
  [[nodiscard]] std::span<const energy::PowerCurve> curves(std::size_t cell) const { return curves_[cell]; }

  CaseRun evaluate(const Way& way);
  /// Mean watts, standby included, by half hour of standard time, kHalfHours of them.
  std::vector<float> half_hour_w(const Way& way);
  DaysOfUse days_of_use(const Way& way);

  /// The timeline of a cell's groups; GroupLevels say what its settings come to.
  const controls::Timeline& timeline(const Way& way, const ControlCell& cell) {
    return course(way, cell).timeline;
  }
  [[nodiscard]] controls::GroupLevels levels(const Way& way, const ControlCell& cell) const;
  [[nodiscard]] double trim(const Way& way) const;
  /// What daylight leaves a cell in each setting of its timeline, by Setting::index() of GroupLevels: by
  /// sunny step, or empty where nothing limits it.
  std::vector<std::span<const double>> limits(const Way& way, const ControlCell& cell, double trim);
  /// The scene that stands in each setting, as `limits`; null where none is called.
  [[nodiscard]] std::vector<const domain::Scene*> scenes(const Way& way, const ControlCell& cell) const;
  /// When a scene can be called; null: always.
  const IntervalSet* when_called(const domain::Scene& scene);

 private:
  /// A task lamp: who sits at it, and what they do at its switch.
  struct Lamp {
    const ControlCell* cell = nullptr;
    IntervalSet at_it;
    std::optional<double> sensor_delay_s;  ///< of the plug-in controller that drives it
    std::unique_ptr<controls::Hands> hands;
    std::vector<controls::LoweredFrom> lowered;  ///< empty where its controller does not dim
  };
  const Lamp& lamp_of(const ControlCell& cell);
  /// What a timeline depends on. Ways that agree in it share it.
  struct CourseKey {
    domain::OnRule on;
    std::optional<domain::VacancyRule> vacancy;
    std::optional<domain::ScheduleRule> schedule;
    std::optional<domain::ManualRule> manual;
    bool as_used = true;
    double clock_fast_s = 0.0;
    bool holidays_unknown = false;
    const IntervalSet* motion = nullptr;
    const IntervalSet* served = nullptr;
    int part = people::Presence::kWholeRoom;
    const Lamp* lamp = nullptr;
    std::vector<double> scene_use;
    std::vector<const IntervalSet*> scene_when;
    std::vector<controls::LoweredFrom> lowered;
    friend bool operator==(const CourseKey&, const CourseKey&) = default;
  };
  /// A timeline with its time by Setting::index().
  struct Course {
    CourseKey key;
    controls::Timeline timeline;
    std::vector<Seconds> seconds;
    std::vector<Seconds> seconds_for_nobody;    // the part of them in which nobody is there
    std::vector<energy::TimeInSteps> in_steps;  // made when daylight first limits it
  };
  Course& course(const Way& way, const ControlCell& cell);
  [[nodiscard]] Course walked(const domain::Sequence& sequence, CourseKey key);
  /// The way's sequence as it stands for a cell's groups: what is permitted, and the rules that name them.
  [[nodiscard]] domain::Sequence sequence_for(const Way& way, const ControlCell& cell);
  /// `when` and `served` are everybody at the switch where no sensor reports to the groups.
  Notice notice_by(const Way& way, const ControlCell& cell, const domain::Sequence& sequence);
  const IntervalSet& noticed(const Watch& watch, sensing::Grain grain, Hindrance hindrance);
  /// `own` and what sensors of a design notice in the spaces that hold the light here.
  struct Held {
    const IntervalSet* own = nullptr;
    std::vector<std::string> holders;
    domain::Design::Role design{};
    IntervalSet when;
    std::vector<HeldBy> each;  // where causes are told
  };
  const Held& held(const IntervalSet& own, const std::vector<std::string>& holders,
                   domain::Design::Role design, sensing::Grain grain);
  const IntervalSet& served(std::size_t design, const std::string& group, int part);
  /// `own` while the wall divides the room, and what `all` of a design notice while it does not.
  const IntervalSet& joined(const IntervalSet& own, const Watch& all, sensing::Grain grain,
                            const Hindrance& hindrance);
  /// The part of a divided room that a cell acts in, or people::Presence::kWholeRoom.
  [[nodiscard]] int part_of(const ControlCell& cell) const;
  /// People who are awake and have a part or the whole room, and cleaners.
  [[nodiscard]] const IntervalSet& at_the_switch(int part) const { return at_the_switch_[place_of(part)]; }
  /// Of a part, the whole room first.
  [[nodiscard]] static std::size_t place_of(int part) {
    return static_cast<std::size_t>(part - people::Presence::kWholeRoom);
  }
  std::span<const double> limit(const Way& way, const ControlCell& cell, double trim,
                                domain::Scene::Shades shades);
  [[nodiscard]] std::vector<const domain::Scene*> scenes_in_use(const Way& way, std::size_t design) const;
  /// What its stations let people do.
  [[nodiscard]] HandLevels by_hand(const Way& way) const;
  /// What people set under a way: nothing where no station of its manual rule can, or where nobody has a
  /// place of their own.
  const std::vector<controls::LoweredFrom>& lowered(const Way& way);
  [[nodiscard]] std::vector<controls::LoweredFrom> find_lowered(const Way& way) const;
  /// Light that whoever comes first prefers, by day; empty where nobody has a place of their own.
  [[nodiscard]] std::vector<double> preferred_lx(const people::PreferredLight& preferred) const;
  /// What the person at a lamp dims it to.
  [[nodiscard]] std::vector<controls::LoweredFrom> lamp_lowered(const Lamp& lamp) const;
  [[nodiscard]] double least_daylight_lx(Seconds t) const;
  void lay_on_steps(Course& course) const;
  /// Calls `piece(cell number, begin, end, level)` for the whole year of each cell of a way, cut where the
  /// given level or the multiple of `bin` changes.
  template <class Piece>
  void each_piece(const Way& way, Seconds bin, Piece piece);

  const SpaceModel& model_;
  const SpaceDaylight& before_shades_;
  Draws draws_;
  Causes causes_;
  std::size_t proposal_;
  IntervalSet open_as_used_;
  people::Presence presence_;
  IntervalSet cleaning_;
  IntervalSet divided_;
  std::vector<IntervalSet> at_the_switch_;  // by place_of a part; the whole room alone where none is divided
  people::Habit habit_;
  std::vector<double> preferred_lx_;  // with a dimmer, by day; empty where nobody has a place of their own
  double reflected_ = 1.0;
  ShadedDaylight daylight_;
  std::array<std::unique_ptr<ShadedDaylight>, 2> held_shades_;  // drawn, raised; made when first asked for
  std::vector<controls::Hands> hands_;  // as at_the_switch_, without and with a sensor that switches off
  std::vector<std::vector<energy::PowerCurve>> curves_;  // of each cell
  std::vector<std::unique_ptr<Lamp>> lamps_;
  std::vector<std::unique_ptr<Course>> courses_;
  struct Noticed {
    const Watch* watch = nullptr;
    sensing::Grain grain{};
    Hindrance hindrance;
    IntervalSet when;
  };
  std::vector<std::unique_ptr<Noticed>> noticed_;
  std::vector<std::unique_ptr<Held>> held_;
  struct Served {
    std::size_t design = 0;
    std::string group;
    int part = people::Presence::kWholeRoom;
    IntervalSet when;
  };
  std::vector<std::unique_ptr<Served>> served_;
  struct Joined {
    const IntervalSet* own = nullptr;
    const IntervalSet* all = nullptr;
    IntervalSet when;
  };
  std::vector<std::unique_ptr<Joined>> joined_;
  struct SceneWhen {
    const domain::Scene* scene = nullptr;
    std::optional<IntervalSet> when;
  };
  std::vector<std::unique_ptr<SceneWhen>> scene_when_;
  struct Lowered {
    domain::Design::Role luminaires{};
    bool scenes_of_design = false;
    std::string normal_scene;
    domain::OnRule::By on_by{};
    std::optional<domain::ManualRule> manual;
    bool is_trimmed = false;
    std::optional<double> trim_high;
    std::vector<controls::LoweredFrom> from;
  };
  std::vector<std::unique_ptr<Lowered>> lowered_;
  struct LimitsUnder {
    double trim = 1.0;
    std::vector<domain::DaylightRule> rules;
    LoopFaults faults;
    domain::Scene::Shades shades{};
    DaylightLimits limits;
  };
  std::vector<std::unique_ptr<LimitsUnder>> limits_;
};

}  // namespace halflight::sim
