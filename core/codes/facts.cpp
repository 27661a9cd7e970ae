#include "codes/facts.hpp"

#include "codes/zones.hpp"
#include "geometry/polygon.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::codes {
namespace {

using domain::Design;
using domain::Fact;
using domain::Project;
using domain::Space;
using results::DaylightZone;

bool is_confirmed(const Project& project, const std::string& pointer) {
  return std::any_of(project.confirmations.begin(), project.confirmations.end(),
                     [&](const domain::Confirmation& c) { return c.pointer == pointer; });
}

// Whether the vacancy delay of sequence `s` of design `d` is a default that nobody has confirmed. The
// document may state the sequence itself or through the space's typical.
bool delay_is_default(const Project& project, const Design& design, std::size_t s, const Space& space) {
  const auto d = static_cast<std::size_t>(&design - project.designs.data());
  const std::string of_design = "/designs/" + std::to_string(d) + "/";
  const std::string own = of_design + "sequences/" + std::to_string(s) + "/vacancy/delay";
  for (const domain::DefaultTaken& taken : project.defaults_taken) {
    const bool through_typical = !space.typical.empty() && taken.typical == space.typical &&
                                 taken.pointer.starts_with(of_design + "typicals/") &&
                                 taken.pointer.ends_with("/vacancy/delay");
    if ((taken.pointer == own || through_typical) && !is_confirmed(project, taken.pointer)) return true;
  }
  return false;
}

// The luminaires of the space that stand in the design, with what their drivers can do.
std::vector<LuminaireFacts> luminaires_of(const Project& project, const domain::Library& library,
                                          const Design& design, const Space& space) {
  std::vector<LuminaireFacts> found;
  const std::map<std::string, std::string> switched = domain::switched_channels(project, design);
  for (const domain::Luminaire& luminaire : design.luminaires) {
    if (luminaire.space != space.id || luminaire.status == domain::Status::remove) continue;
    const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
    if (type == nullptr) continue;
    LuminaireFacts fact;
    fact.id = luminaire.id;
    fact.at = {luminaire.at.x, luminaire.at.y};
    fact.input_w = input_w(project, luminaire);
    for (const domain::Channel& channel : type->channels) {
      LuminaireFacts::Channel c;
      c.input_w = channel.input_w;
      const domain::Driver* driver = domain::find_by_id(project.drivers, channel.driver);
      if (driver == nullptr) driver = domain::find_by_id(library.drivers, channel.driver);
      if (driver != nullptr) {
        c.dims = driver->dims;
        c.minimum_light = driver->minimum_light;
        c.power_at_zero = driver->power_at_zero;
      }
      const std::string name = luminaire.id + "/" + channel.id;
      if (switched.contains(name)) c.dims = false;
      for (const domain::Group& group : design.groups)
        for (const std::string& entry : group.channels)
          if (entry == luminaire.id || entry == name) c.groups.insert(group.id);
      fact.channels.push_back(c);
    }
    found.push_back(fact);
  }
  return found;
}

/// Whether switches of those scene groups reach every light of the space that the design puts into a group.
bool turns_all_off(const Design& design, const Space& space, const std::vector<std::string>& legs) {
  return !legs.empty() &&
         std::all_of(design.groups.begin(), design.groups.end(), [&](const domain::Group& group) {
           return group.space != space.id || group.strategy != domain::Strategy::scene ||
                  std::find(legs.begin(), legs.end(), group.id) != legs.end();
         });
}

std::vector<StationFacts> stations_of(const Design& design, const Space& space,
                                      const domain::Sequence* sequence) {
  std::vector<StationFacts> found;
  for (const domain::Station& station : design.stations) {
    const bool listed =
        sequence != nullptr && sequence->manual &&
        std::count(sequence->manual->stations.begin(), sequence->manual->stations.end(), station.id) > 0;
    if ((station.space != space.id && !listed) || station.status == domain::Status::remove) continue;
    StationFacts fact;
    fact.id = station.id;
    fact.switch_legs = station.switch_legs;
    fact.buttons_known = !station.buttons.empty() || !station.switch_legs.empty();
    fact.can_turn_off = turns_all_off(design, space, station.switch_legs);
    bool raises = false;
    bool lowers = false;
    for (const std::string& button : station.buttons) {
      if (button == "off") fact.can_turn_off = true;
      raises = raises || button == "raise";
      lowers = lowers || button == "lower";
      const domain::Scene* scene = domain::find_by_id(design.scenes, button);
      if (scene != nullptr && !scene->levels.empty() &&
          std::all_of(scene->levels.begin(), scene->levels.end(),
                      [](const auto& l) { return l.level == 0.0; }))
        fact.can_turn_off = true;
    }
    fact.can_dim = raises && lowers;
    found.push_back(fact);
  }
  return found;
}

double channel_power_w(const LuminaireFacts::Channel& channel, double light) {
  if (light <= 0.0) return 0.0;
  if (!channel.dims) return channel.input_w;
  const double f = std::clamp(light, channel.minimum_light, 1.0);
  return channel.input_w * (channel.power_at_zero + (1.0 - channel.power_at_zero) * f);
}

}  // namespace

SpaceFacts facts(const Project& project, const domain::Library& library, const Design& design,
                 const Space& space, const results::SpaceStudy& study,
                 const domain::DaylightZoneRule* zone_rule) {
  SpaceFacts f;
  f.project = &project;
  f.design = &design;
  f.space = &space;
  if (const domain::SpaceKind* kind = domain::find_by_id(library.kinds, space.kind)) {
    f.code_space_type = kind->code_space_type;
    f.is_egress_component = kind->is_egress_component;
    f.automatic_off_refused = kind->automatic_off_refused;
  }
  f.automatic_off_refused = f.automatic_off_refused || space.automatic_off_refused;
  f.area_m2 = area(space.floor);
  if (study.connected_as_found_w > 0.0) f.as_found_w = study.connected_as_found_w;
  f.egress = study.egress;

  for (std::size_t s = 0; s < design.sequences.size(); ++s)
    if (design.sequences[s].space == space.id) {
      f.sequence = design.sequences[s];
      f.vacancy_delay_given =
          f.sequence->vacancy.has_value() && std::isfinite(f.sequence->vacancy->delay_s) &&
          f.sequence->vacancy->delay_s >= 0.0 && !delay_is_default(project, design, s, space);
      break;
    }
  f.stations = stations_of(design, space, f.sequence ? &*f.sequence : nullptr);
  f.luminaires = luminaires_of(project, library, design, space);
  for (const LuminaireFacts& l : f.luminaires) f.general_lighting_w += l.input_w;

  if (zone_rule != nullptr) {
    f.zones_known = true;
    f.zones = daylight_zones(project, design, space, *zone_rule);
    const auto inside = luminaires_by_zone(project, design, space, f.zones, zone_rule->luminaire_share_min);
    for (std::size_t z = 0; z < inside.size(); ++z)
      for (LuminaireFacts& l : f.luminaires)
        if (std::count(inside[z].begin(), inside[z].end(), l.id) > 0) l.zone = static_cast<int>(z);
  }
  return f;
}

std::optional<double> SpaceFacts::value(Fact fact) const {
  const auto zone_w = [&](std::initializer_list<DaylightZone::Kind> kinds) -> std::optional<double> {
    if (!zones_known) return std::nullopt;
    double total_w = 0.0;
    for (const DaylightZone& zone : zones)
      if (std::count(kinds.begin(), kinds.end(), zone.kind) > 0) total_w += zone.general_lighting_w;
    return total_w;
  };
  switch (fact) {
    case Fact::area:
      return area_m2 > 0.0 ? std::optional(area_m2) : std::nullopt;
    case Fact::general_lighting:
      return general_lighting_w;
    case Fact::lighting_power_density:
      return area_m2 > 0.0 ? std::optional(general_lighting_w / area_m2) : std::nullopt;
    case Fact::luminaires:
      return static_cast<double>(luminaires.size());
    case Fact::primary_general_lighting:
      return zone_w({DaylightZone::Kind::primary});
    case Fact::primary_and_secondary_general_lighting:
      return zone_w({DaylightZone::Kind::primary, DaylightZone::Kind::secondary});
    case Fact::toplit_general_lighting:
      return zone_w({DaylightZone::Kind::toplit});
    case Fact::automatic_on: {
      if (!sequence) return std::nullopt;
      const auto by = sequence->on.by;
      return by == domain::OnRule::By::occupancy || by == domain::OnRule::By::schedule ? 1.0 : 0.0;
    }
    case Fact::manual_stations:
      return static_cast<double>(stations.size());
    case Fact::share_replaced:
      return project->type.kind == domain::ProjectType::Kind::alteration ? project->type.share_replaced : 1.0;
    case Fact::added_power:
      return as_found_w ? std::optional(general_lighting_w - *as_found_w) : std::nullopt;
  }
  return std::nullopt;
}

double SpaceFacts::power_fraction(double level, const std::set<std::string>& groups) const {
  const double trim = sequence && sequence->trim && sequence->trim->high ? *sequence->trim->high : 1.0;
  double full_w = 0.0;
  double at_level_w = 0.0;
  for (const LuminaireFacts& luminaire : luminaires)
    for (const LuminaireFacts::Channel& channel : luminaire.channels) {
      const bool counted =
          groups.empty() || std::any_of(groups.begin(), groups.end(),
                                        [&](const std::string& g) { return channel.groups.contains(g); });
      if (!counted) continue;
      full_w += channel.input_w;
      at_level_w += channel_power_w(channel, level * trim);
    }
  return full_w > 0.0 ? at_level_w / full_w : level;
}

std::optional<double> SpaceFacts::level_at_power(double power) const {
  if (power_fraction(1.0) <= power) return 1.0;
  // The power curve never falls with the level: halve the interval until it is narrower than a per mille of a
  // per cent, and keep the end that holds.
  double low = 1e-6;
  double high = 1.0;
  if (power_fraction(low) > power) return std::nullopt;
  while (high - low > 1e-5) {
    const double middle = 0.5 * (low + high);
    (power_fraction(middle) <= power ? low : high) = middle;
  }
  return low;
}

double SpaceFacts::scene_power_fraction(const domain::Scene& scene) const {
  const double trim = sequence && sequence->trim && sequence->trim->high ? *sequence->trim->high : 1.0;
  double full_w = 0.0;
  double scene_w = 0.0;
  for (const LuminaireFacts& luminaire : luminaires)
    for (const LuminaireFacts::Channel& channel : luminaire.channels) {
      double level = 1.0;
      for (const domain::SceneLevel& l : scene.levels)
        if (channel.groups.contains(l.group)) level = l.level;
      full_w += channel.input_w;
      scene_w += channel_power_w(channel, level * trim);
    }
  return full_w > 0.0 ? scene_w / full_w : 1.0;
}

const domain::DaylightRule* SpaceFacts::daylight_rule_of(const LuminaireFacts::Channel& channel) const {
  if (!sequence) return nullptr;
  for (const domain::DaylightRule& rule : sequence->daylight)
    if (channel.groups.contains(rule.group)) return &rule;
  return nullptr;
}

}  // namespace halflight::codes
