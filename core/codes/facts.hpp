#pragma once
#include "domain/code_rules.hpp"
#include "domain/project.hpp"
#include "results/study.hpp"

#include <optional>
#include <set>
#include <string>
#include <vector>

namespace halflight::codes {

/// One placed luminaire as the rules see it. Everything in a space counts as general lighting.
struct LuminaireFacts {
  struct Channel {
    double input_w = 0.0;
    bool dims = false;
    double minimum_light = 0.0;    ///< smallest light fraction while on
    double power_at_zero = 0.0;    ///< a of P = P_rated (a + (1 - a) f)
    std::set<std::string> groups;  ///< of every strategy
  };
  std::string id;
  Point2 at;
  double input_w = 0.0;  ///< with what is built into it
  std::vector<Channel> channels;
  int zone = -1;  ///< index into SpaceFacts::zones, or -1
};

struct StationFacts {
  std::string id;
  bool buttons_known = false;
  bool can_turn_off = false;
  bool can_dim = false;                  ///< raise and lower
  std::vector<std::string> switch_legs;  ///< scene groups that it switches one by one
};

/// What is known about a space under one code's definition of daylight zones.
struct SpaceFacts {
  const domain::Project* project = nullptr;  ///< outlives the facts, as do the two below
  const domain::Design* design = nullptr;
  const domain::Space* space = nullptr;
  std::string code_space_type;  ///< empty: the kind of space has none, or is unknown
  bool is_egress_component = false;
  bool automatic_off_refused = false;
  double area_m2 = 0.0;
  double general_lighting_w = 0.0;
  std::optional<double> as_found_w;
  std::vector<LuminaireFacts> luminaires;
  std::vector<StationFacts> stations;
  std::vector<results::DaylightZone> zones;
  bool zones_known = false;  ///< false: no definition of daylight zones was given
  std::optional<domain::Sequence> sequence;
  /// The vacancy delay was typed, or its default confirmed; a default that nobody confirmed is a missing
  /// fact.
  bool vacancy_delay_given = false;
  std::vector<results::EgressState> egress;

  [[nodiscard]] std::optional<double> value(domain::Fact fact) const;  ///< SI; nothing: unknown
  /// Power of the lights at `level` of trimmed output, as a fraction of full power. A channel that cannot dim
  /// draws full power at any level above 0, and one that can draws no less than at its minimum. Standby is
  /// left out. `groups`: only luminaires with a channel in one of them; empty: all.
  [[nodiscard]] double power_fraction(double level, const std::set<std::string>& groups = {}) const;
  /// The greatest level whose power is at most `power` (a fraction); nothing when no level above 0 is so low.
  [[nodiscard]] std::optional<double> level_at_power(double power) const;
  /// Power of a scene as a fraction of full power; groups that it does not name count at 1.
  [[nodiscard]] double scene_power_fraction(const domain::Scene& scene) const;
  /// The sequence's daylight rule that governs a channel, or nullptr.
  [[nodiscard]] const domain::DaylightRule* daylight_rule_of(const LuminaireFacts::Channel& channel) const;
};

/// Gathers the facts. `zone_rule` may be null: zones stay unknown. All references must outlive the result.
SpaceFacts facts(const domain::Project& project, const domain::Library& library, const domain::Design& design,
                 const domain::Space& space, const results::SpaceStudy& study,
                 const domain::DaylightZoneRule* zone_rule);

}  // namespace halflight::codes
