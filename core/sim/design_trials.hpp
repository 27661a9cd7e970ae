#pragma once
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/finding.hpp"
#include "results/study.hpp"
#include "sim/ready_spaces.hpp"
#include "sim/space_year.hpp"
#include "sim/study.hpp"
#include "sim/uncertainty.hpp"

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

// Designs of one space that differ in control alone, tried in the same building-years: light is computed once
// (docs/methods/proposals.md).

namespace halflight::sim {

/// Building-years of a trial in each scramble: differences between designs are paired, so that fewer tell
/// them apart than a study takes for its intervals.
inline constexpr int kPointsOfTrials = 2;

/// What a study would say of a design, as far as designs are compared by it. Interval figures are a year's.
struct DesignTrial {
  std::vector<double> kwh;        ///< by replicate: light and standby
  results::Estimate year_kwh;     ///< of them
  results::Estimate under_lit_h;  ///< all loops together, as DaylightLoopYear::under_lit_hours
  results::Estimate over_lit_kwh;
  results::Estimate taken_from_people;  ///< as LightForPeople
  results::Estimate dips_on_people;
  results::Estimate lit_for_nobody_h;
  std::vector<results::Finding> findings;  ///< all rules in force and the findings of a study
  std::vector<results::EgressState> egress;

  /// Evidence of the findings that a design may not have: a rule of an adopted code or a loop that fails,
  /// groups across a movable wall that bookings divide the room by, or one that blocks issue. Empty: it may
  /// be proposed.
  [[nodiscard]] std::vector<std::string> refused_because() const;
};

class DesignTrials {
 public:
  /// `bench.project`: the project with every photosensor in the space's proposal that any design to be tried
  /// may have. It and everything else in `bench` must outlive this. `replicates` as StudyOptions has them.
  /// Throws Cancelled.
  DesignTrials(const StudyInputs& bench, const StudyOptions& options, std::size_t space,
               const Context& context, lightresponse::StageLog& log);

  /// Why the space could not be lit; empty where it could.
  [[nodiscard]] const std::string& why_dark() const { return ready_.why_dark.front(); }
  [[nodiscard]] const ReadySpaces& ready() const { return ready_; }
  [[nodiscard]] const std::vector<Draws>& draws() const { return uncertainty_.draws; }

  /// A space ready to run with what `project` makes of it. Refers to `project` and to these trials, which
  /// stay where they are.
  struct Room {
    LitSpace lit;
    std::vector<SpaceDaylight> daylight;  ///< by weather year
    SpaceModel model;
  };
  /// `project` differs from the bench in the controls of the space alone; each of its photosensors there is
  /// one of the bench's.
  [[nodiscard]] std::unique_ptr<Room> room(const domain::Project& project) const;

  /// Findings and ways out alone: no year is run.
  [[nodiscard]] DesignTrial judge(const domain::Project& project) const;
  /// A design that is refused is not run through years either. This and `judge` are safe from several threads
  /// at once.
  [[nodiscard]] DesignTrial of(const domain::Project& project) const;
  /// The same, also of a design that is refused.
  [[nodiscard]] DesignTrial through_years(const domain::Project& project) const;
  /// The lighting as found, and the proposal's luminaires controlled as those were.
  [[nodiscard]] DesignTrial as_found() const;
  [[nodiscard]] DesignTrial new_luminaires_only() const;

  /// What is plugged into the room through the same years, under the sensors of a design: by replicate, one a
  /// device of domain::devices_of the space.
  [[nodiscard]] std::vector<std::vector<PlugUseByWay>> plugs(const domain::Project& project) const;

 private:
  [[nodiscard]] DesignTrial judged(const Room& room) const;
  [[nodiscard]] DesignTrial years_of(const Room& room, DesignTrial judged) const;
  [[nodiscard]] DesignTrial run(const Room& room, const Way& way, bool has_loops) const;
  [[nodiscard]] results::Estimate estimate(const std::vector<double>& values) const;

  const StudyInputs& inputs_;
  int scrambles_;
  std::uint32_t seed_;
  ReadySpaces ready_;
  Uncertainty uncertainty_;
};

}  // namespace halflight::sim
