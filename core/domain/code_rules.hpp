#pragma once
#include "domain/site.hpp"

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

// What a code asks of a space's lighting controls, as data (library/codes/*.json, one file per code and
// edition, read by formats/code_rules_file). A rule names one requirement of a closed set that codes/
// implements and gives it figures; when it binds and what excuses from it are lists of comparisons of facts.
// docs/rules/codes.md documents each requirement, fact and parameter.

namespace halflight::domain {

/// How well a figure or a rule's wording is known. Carried into every finding that rests on it.
enum class HowKnown {
  confirmed,    ///< read in a public copy of the code's text, or of a text that quotes it
  from_memory,  ///< believed right, not found in a look-up
  low,          ///< from memory, with low confidence: compare with the document before any use
};

/// A figure as the code gives it, and in SI. Units known to the reader: ft2, m2, ft, m, min, h, s, W, W/ft2,
/// W/m2, fc, lx, %, and "" for pure numbers and counts.
struct Figure {
  double entered = 0.0;
  std::string unit;
  double si = 0.0;  ///< m2, m, s, W, W/m2, lx, or a fraction (from %)
  HowKnown how_known = HowKnown::from_memory;
};

enum class RuleFamily {
  automatic_shut_off,
  automatic_on,
  daylight_response,
  manual_control,
  light_reduction,
  lighting_power,
  egress_light,
  receptacles,
  safety,
};
inline constexpr std::array<std::pair<RuleFamily, std::string_view>, 9> kRuleFamilyNames = {{
    {RuleFamily::automatic_shut_off, "automatic_shut_off"},
    {RuleFamily::automatic_on, "automatic_on"},
    {RuleFamily::daylight_response, "daylight_response"},
    {RuleFamily::manual_control, "manual_control"},
    {RuleFamily::light_reduction, "light_reduction"},
    {RuleFamily::lighting_power, "lighting_power"},
    {RuleFamily::egress_light, "egress_light"},
    {RuleFamily::receptacles, "receptacles"},
    {RuleFamily::safety, "safety"},
}};

/// The closed set of requirements. Each names the limits that it reads.
enum class Requirement {
  /// All lights off by themselves within `delay_max` after the last person leaves.
  vacancy_off,
  /// Power cut by at least `reduction_min` within `delay_max` of vacancy; full off complies.
  vacancy_reduction,
  /// Zones of at most `zone_area_max`, each cut by `reduction_min` within `delay_max`; the whole space off
  /// within
  /// `delay_max` or, with `schedule_may_turn_off` = 1, by a time switch.
  vacancy_zones,
  /// Off by a schedule with override of at most `override_max`; where given, a clock back-up of at least
  /// `backup_min` and an override area of at most `override_area_max`.
  scheduled_off,
  /// vacancy_off or scheduled_off, whichever holds.
  vacancy_or_scheduled_off,
  /// Nothing comes on by itself above `power_max` of full power; manual on complies.
  automatic_on_limit,
  /// A manual control in the space that can turn its lights off.
  manual_control,
  /// People can cut the power by about half: dimming (below `dim_power_below` of full power where that limit
  /// is
  /// given), or a step in [`step_min`, `step_max`].
  light_reduction,
  /// Every general luminaire in the zones named in `zone_kinds` follows a photosensor.
  daylight_control,
  /// A daylight group never mixes zone kinds (toplit, primary, secondary).
  daylight_zones_apart,
  /// A daylight group never mixes sidelit zones of different cardinal directions; up to `exempt_power_max`
  /// may join.
  daylight_orientations_apart,
  /// Daylight control dims continuously, to `light_max` of full output or less where that limit is given.
  daylight_dims,
  /// Daylight control can turn the controlled lights fully off.
  daylight_off,
  /// Installed power within the allowance of `by_space_type`, summed over the building.
  lighting_power,
  /// Floor light on egress paths while occupied: `level_min`, `stair_min`, at every point.
  egress_normal,
  /// Floor light on egress paths on emergency power: `point_min`, `ratio_max`, and `mean_min` where given.
  egress_emergency,
  /// At least `controlled_min` of the receptacles follow the room.
  receptacle_control,
  /// Nothing switches the space's lights off by itself.
  no_automatic_off,
  /// Loss of a sensor, controller, network or clock, and power return, leave light.
  loss_leaves_light,
  /// A dip of at least `warning_min` seconds comes before vacancy off.
  warning_before_off,
  /// Defines the daylight zones of the edition (`zones`); gives no finding of its own.
  daylight_zone_definition,
};
inline constexpr std::array<std::pair<Requirement, std::string_view>, 21> kRequirementNames = {{
    {Requirement::vacancy_off, "vacancy_off"},
    {Requirement::vacancy_reduction, "vacancy_reduction"},
    {Requirement::vacancy_zones, "vacancy_zones"},
    {Requirement::scheduled_off, "scheduled_off"},
    {Requirement::vacancy_or_scheduled_off, "vacancy_or_scheduled_off"},
    {Requirement::automatic_on_limit, "automatic_on_limit"},
    {Requirement::manual_control, "manual_control"},
    {Requirement::light_reduction, "light_reduction"},
    {Requirement::daylight_control, "daylight_control"},
    {Requirement::daylight_zones_apart, "daylight_zones_apart"},
    {Requirement::daylight_orientations_apart, "daylight_orientations_apart"},
    {Requirement::daylight_dims, "daylight_dims"},
    {Requirement::daylight_off, "daylight_off"},
    {Requirement::lighting_power, "lighting_power"},
    {Requirement::egress_normal, "egress_normal"},
    {Requirement::egress_emergency, "egress_emergency"},
    {Requirement::receptacle_control, "receptacle_control"},
    {Requirement::no_automatic_off, "no_automatic_off"},
    {Requirement::loss_leaves_light, "loss_leaves_light"},
    {Requirement::warning_before_off, "warning_before_off"},
    {Requirement::daylight_zone_definition, "daylight_zone_definition"},
}};

/// The limits without which a requirement cannot be judged.
inline std::vector<std::string_view> required_limits(Requirement requirement) {
  switch (requirement) {
    case Requirement::vacancy_off:
      return {"delay_max"};
    case Requirement::vacancy_reduction:
      return {"delay_max", "reduction_min"};
    case Requirement::vacancy_zones:
      return {"delay_max", "reduction_min", "zone_area_max"};
    case Requirement::scheduled_off:
      return {"override_max"};
    case Requirement::vacancy_or_scheduled_off:
      return {"delay_max", "override_max"};
    case Requirement::automatic_on_limit:
      return {"power_max"};
    case Requirement::light_reduction:
      return {"step_min", "step_max"};
    case Requirement::daylight_orientations_apart:
      return {"exempt_power_max"};
    case Requirement::egress_normal:
      return {"level_min", "stair_min"};
    case Requirement::egress_emergency:
      return {"point_min", "ratio_max"};
    case Requirement::receptacle_control:
      return {"controlled_min"};
    case Requirement::warning_before_off:
      return {"warning_min"};
    case Requirement::manual_control:
    case Requirement::daylight_control:
    case Requirement::daylight_zones_apart:
    case Requirement::daylight_dims:
    case Requirement::daylight_off:
    case Requirement::lighting_power:
    case Requirement::no_automatic_off:
    case Requirement::loss_leaves_light:
    case Requirement::daylight_zone_definition:
      return {};
  }
  return {};
}

/// A number known about a space, in SI.
enum class Fact {
  area,                                    ///< m2 of floor
  general_lighting,                        ///< W connected
  lighting_power_density,                  ///< W/m2
  luminaires,                              ///< count
  primary_general_lighting,                ///< W in the primary sidelit zones
  primary_and_secondary_general_lighting,  ///< W in the primary and secondary sidelit zones together
  toplit_general_lighting,                 ///< W in the toplit zones
  automatic_on,                            ///< 1 when occupancy or a schedule brings the light on, else 0
  manual_stations,                         ///< count
  share_replaced,                          ///< of the luminaires; 1 unless the project is an alteration
  added_power,                             ///< W connected above as found (negative: less)
};
inline constexpr std::array<std::pair<Fact, std::string_view>, 11> kFactNames = {{
    {Fact::area, "area"},
    {Fact::general_lighting, "general_lighting"},
    {Fact::lighting_power_density, "lighting_power_density"},
    {Fact::luminaires, "luminaires"},
    {Fact::primary_general_lighting, "primary_general_lighting"},
    {Fact::primary_and_secondary_general_lighting, "primary_and_secondary_general_lighting"},
    {Fact::toplit_general_lighting, "toplit_general_lighting"},
    {Fact::automatic_on, "automatic_on"},
    {Fact::manual_stations, "manual_stations"},
    {Fact::share_replaced, "share_replaced"},
    {Fact::added_power, "added_power"},
}};

enum class Comparison { above, at_least, below, at_most };
inline constexpr std::array<std::pair<Comparison, std::string_view>, 4> kComparisonNames = {{
    {Comparison::above, "above"},
    {Comparison::at_least, "at_least"},
    {Comparison::below, "below"},
    {Comparison::at_most, "at_most"},
}};

/// A comparison of one fact with one figure.
struct RuleCondition {
  Fact fact = Fact::area;
  Comparison comparison = Comparison::above;
  Figure figure;
};

/// What excuses from a rule: all conditions hold in one of the space types (none listed: any). An exception
/// without conditions and types rests on a judgement; it is only named, as something the designer may claim.
struct RuleException {
  std::string id;
  std::string text;
  std::vector<std::string> space_types;
  std::vector<RuleCondition> conditions;
};

/// Daylight zones of a code (docs/rules/codes.md, "Daylight zones"). H is the head height above the floor, CH
/// the ceiling height.
struct DaylightZoneRule {
  double primary_depth_head_heights = 1.0;  ///< depth from the glass, in H
  /// Far edge of the secondary zone from the glass, in H; equal to the primary depth: no secondary zone.
  double secondary_depth_head_heights = 2.0;
  double side_m = 0.0;                  ///< added at each end of the window...
  double side_head_heights = 0.5;       ///< ...plus this many H
  double toplit_ceiling_heights = 0.7;  ///< added around a roof opening, in CH
  /// Opaque obstructions inside the room at least this high cut a sidelit zone; unset: only full-height ones
  /// do.
  std::optional<double> obstruction_height_m;
  double toplit_obstruction_ceiling_heights =
      0.7;                              ///< obstructions higher than this cut a toplit zone, in CH
  double sidelit_glazing_min_m2 = 0.0;  ///< less glazing in the space's windows makes no sidelit zone
  /// A window counts for nothing when an outside obstruction rises by this times its distance or more...
  double outside_rise_per_distance = 1.0;
  /// ...above the window's head (true) or its sill (false).
  bool outside_rise_from_head = false;
  /// Share of a luminaire's outline inside the zone from which it counts as in it; 0: any part.
  double luminaire_share_min = 0.0;
};

struct CodeRule {
  std::string id;       ///< unique within code and edition: "IECC-OS-1"
  std::string code;     ///< "IECC", "90.1", "IBC", "NFPA 101", "EN 1838", or "halflight" for our own
  std::string edition;  ///< "2021"
  std::string section;
  std::string title;
  RuleFamily family = RuleFamily::automatic_shut_off;
  Requirement requirement = Requirement::vacancy_off;
  HowKnown how_known = HowKnown::from_memory;
  std::string source;     ///< where it was read, or "from memory"
  std::string data_date;  ///< date of the rule data
  /// Somebody compared the record with the adopted document; lifts the caveat that goes with `how_known`.
  bool verified = false;

  std::vector<std::string> space_types;           ///< of the codes' tables; empty: all
  std::vector<std::string> excluded_space_types;  ///< does not apply there
  std::map<std::string, std::string> judgement;   ///< space type -> why a person has to decide there
  std::vector<RuleCondition> trigger;             ///< the rule binds when all of these hold...
  std::vector<RuleCondition> trigger_any;         ///< ...and, where any are listed, at least one of these
  std::map<std::string, Figure> limits;           ///< parameters of the requirement, by name
  std::map<std::string, Figure> by_space_type;    ///< lighting_power: allowance
  std::vector<std::string> zone_kinds;            ///< daylight_control: "primary", "secondary", "toplit"
  std::optional<DaylightZoneRule> zones;          ///< daylight_zone_definition
  std::vector<RuleException> exceptions;
  std::string evidence_wanted;  ///< what a reviewer asks to see
  std::string note;
  bool blocks_issue = false;  ///< a design that fails it is not to be issued
  bool fallback = false;      ///< holds only when no adopted code has a rule with the same requirement
};

}  // namespace halflight::domain
