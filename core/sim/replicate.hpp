#pragma once
#include "controls/sequence_merge.hpp"
#include "controls/timeline.hpp"
#include "energy/integrate.hpp"
#include "people/habits.hpp"
#include "people/presence.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/shaded_daylight.hpp"
#include "sim/space_model.hpp"

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
};

/// A way of controlling the luminaires of one design.
struct Way {
  domain::Sequence sequence;
  domain::Design::Role luminaires = domain::Design::Role::proposal;
  bool scenes_of_design = false;  ///< normal scene and scenes in use are those of `luminaires`
  bool drivers_stay_powered = false;
  double device_standby_w = 0.0;
  bool schedule_as_used = true;  ///< open hours as people keep them; false: as the clock's calendar says
};

/// A space in one building-year: people, shades and daylight as drawn, and what ways of control make of
/// them. Ways share whatever they have in common: timelines where they differ in luminaires, trim or
/// daylight only, and daylight loops where they differ in people's rules only.
class Replicate {
 public:
  enum class Causes { leave_out, tell };
  Replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
            Causes causes = Causes::leave_out);
  Replicate(const Replicate&) = delete;  // people's habits look at the replicate they live in
  Replicate& operator=(const Replicate&) = delete;

  [[nodiscard]] const ShadedDaylight& daylight() const { return daylight_; }
  [[nodiscard]] const IntervalSet& open_as_used() const { return open_as_used_; }
  [[nodiscard]] const people::Presence& presence() const { return presence_; }
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

  /// The timeline of a cell's groups; GroupLevels say what its settings come to.
  const controls::Timeline& timeline(const Way& way, const ControlCell& cell) {
    return course(way, cell).timeline;
  }
  [[nodiscard]] controls::GroupLevels levels(const Way& way, const ControlCell& cell) const;
  [[nodiscard]] double trim(const Way& way) const;
  /// What daylight leaves a cell, by sunny step, or empty where nothing limits it.
  std::span<const double> limit(const Way& way, const ControlCell& cell, double trim);

 private:
  /// What a timeline depends on. Ways that agree in it share it.
  struct CourseKey {
    domain::OnRule on;
    std::optional<domain::VacancyRule> vacancy;
    std::optional<domain::ScheduleRule> schedule;
    std::optional<domain::ManualRule> manual;
    bool as_used = true;
    std::vector<double> scene_use;
    friend bool operator==(const CourseKey&, const CourseKey&) = default;
  };
  /// A timeline with its time by Setting::index().
  struct Course {
    CourseKey key;
    controls::Timeline timeline;
    std::vector<Seconds> seconds;
    std::vector<energy::TimeInSteps> in_steps;  // made when daylight first limits it
  };
  Course& course(const Way& way, const ControlCell& cell);
  [[nodiscard]] Course walked(const domain::Sequence& sequence, CourseKey key);
  [[nodiscard]] std::vector<const domain::Scene*> scenes_in_use(const Way& way, std::size_t design) const;
  [[nodiscard]] double least_daylight_lx(Seconds t) const;
  void lay_on_steps(Course& course) const;

  const SpaceModel& model_;
  Draws draws_;
  Causes causes_;
  std::size_t proposal_;
  IntervalSet open_as_used_;
  people::Presence presence_;
  IntervalSet cleaning_;
  IntervalSet at_the_switch_;  // people and cleaners
  people::Habit habit_;
  double reflected_ = 1.0;
  ShadedDaylight daylight_;
  std::vector<controls::Hands> hands_;                   // without and with a sensor that switches off
  std::vector<std::vector<energy::PowerCurve>> curves_;  // of each cell
  std::vector<std::unique_ptr<Course>> courses_;
  struct LimitsUnder {
    double trim = 1.0;
    std::vector<domain::DaylightRule> rules;
    DaylightLimits limits;
  };
  std::vector<std::unique_ptr<LimitsUnder>> limits_;
};

}  // namespace halflight::sim
