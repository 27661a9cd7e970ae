#include "sim/capacity.hpp"

#include "controls/load_capacity.hpp"
#include "domain/electrical_rules.hpp"
#include "domain/names.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

using controls::CapacityLimit;
using controls::ChannelLoad;
using controls::LimitUse;

/// What a controller or a circuit names: luminaires and their channels.
std::vector<std::string> entries_of(const domain::Design& design, const domain::LoadController& controller) {
  std::vector<std::string> entries = controller.luminaires;
  for (const std::string& id : controller.groups)
    if (const domain::Group* group = domain::find_by_id(design.groups, id))
      entries.insert(entries.end(), group->channels.begin(), group->channels.end());
  for (const domain::Luminaire& luminaire : design.luminaires)
    if (std::find(controller.circuits.begin(), controller.circuits.end(), luminaire.circuit) !=
        controller.circuits.end())
      entries.push_back(luminaire.id);
  return entries;
}

/// Of each luminaire the channel that asks most of a bus: what one driver for all of its channels takes.
std::vector<ChannelLoad> one_a_luminaire(const std::vector<ChannelLoad>& channels) {
  std::map<std::string, ChannelLoad> by_luminaire;
  for (const ChannelLoad& channel : channels) {
    if (channel.protocol != domain::Protocol::digital_bus) continue;
    const auto [at, is_first] = by_luminaire.emplace(channel.luminaire, channel);
    if (!is_first && channel.driver.control_ma > at->second.driver.control_ma) at->second = channel;
  }
  std::vector<ChannelLoad> kept;
  for (auto& [luminaire, channel] : by_luminaire) kept.push_back(std::move(channel));
  return kept;
}

std::vector<LimitUse> bus_uses(const domain::Project& project, const domain::Library& library,
                               const domain::LoadController& controller,
                               const std::vector<ChannelLoad>& channels) {
  domain::LoadControl control;
  const domain::DeviceKind* kind = domain::find_by_id(project.device_kinds, controller.device_kind);
  if (kind == nullptr) kind = domain::find_by_id(library.device_kinds, controller.device_kind);
  if (kind != nullptr && kind->load) control.addresses = kind->load->addresses;
  control.action = controller.action;
  control.bus_limit_ma = controller.bus_limit_ma;
  return controls::controller_uses(channels, 0, control, 0.0);
}

LimitUse load_current(const domain::LoadController& controller, const std::vector<ChannelLoad>& channels) {
  double load_a = 0.0;
  for (const ChannelLoad& channel : channels) load_a += channel.driver.amperes();
  return {CapacityLimit::output_current, load_a, controller.limit_a};
}

/// The uses that are beyond their limits, in words; empty where all are kept.
std::string beyond(const std::vector<LimitUse>& uses, const std::string& electrical_rules) {
  std::string words;
  for (const LimitUse& use : uses) {
    if (use.holds()) continue;
    words += words.empty() ? "" : "; ";
    switch (use.limit) {
      case CapacityLimit::breaker_current:
        words += fmt::format("{:.1f} A, at most {:.1f} A for hours on a breaker of {:g} A{}", use.used,
                             use.allowed(), use.rated, electrical_rules);
        break;
      case CapacityLimit::breaker_inrush_table:
        words +=
            fmt::format("inrush: as many drivers as {:.2f} breakers bear by the makers' tables", use.used);
        break;
      case CapacityLimit::bus_current:
        words += fmt::format("{:g} mA of bus current, at most {:g} mA", use.used, use.allowed());
        break;
      case CapacityLimit::bus_addresses:
        words += fmt::format("{:g} addresses, at most {:g}", use.used, use.allowed());
        break;
      default:
        words += fmt::format("{:.1f} A of load, at most {:g} A", use.used, use.allowed());
    }
  }
  return words;
}

}  // namespace

std::vector<results::Finding> capacity_findings(const domain::Project& project,
                                                const domain::Library& library, const domain::Design& design,
                                                const std::string& space) {
  std::vector<results::Finding> findings;
  for (const domain::LoadController& controller : design.load_controllers) {
    if (controller.space != space || !domain::stands_in(design, controller.status)) continue;
    const auto channels = controls::channel_loads(project, library, design, entries_of(design, controller));
    std::vector<LimitUse> uses = bus_uses(project, library, controller, channels);
    uses.push_back(load_current(controller, channels));
    std::string words = beyond(uses, "");
    if (words.empty()) continue;
    const bool may_do = uses.back().holds() &&
                        controls::all_hold(bus_uses(project, library, controller, one_a_luminaire(channels)));
    if (may_do) words += "; kept if one driver with one address feeds all channels of a luminaire";
    findings.push_back(
        {kControllerWithinLimits, "", "", "", "Load controller carries no more than it may",
         may_do ? results::Finding::Verdict::needs_evidence : results::Finding::Verdict::fail,
         domain::named(controller.tag, controller.id) + ": " + words,
         may_do ? "ask for drivers that feed all channels of a luminaire from one address, or share its load "
                  "among more load controllers"
                : "share its load among more load controllers, or take one that carries it",
         results::Finding::Confidence::confirmed, false});
  }
  const domain::ElectricalRules* rules = domain::electrical_rules_of(project, library);
  for (const domain::Circuit& circuit : design.circuits) {
    std::vector<std::string> on_it;
    bool feeds_space = false;
    for (const domain::Luminaire& luminaire : design.luminaires) {
      if (luminaire.circuit != circuit.id || !domain::stands_in(design, luminaire.status)) continue;
      on_it.push_back(luminaire.id);
      feeds_space = feeds_space || luminaire.space == space;
    }
    if (!feeds_space) continue;
    const auto channels = controls::channel_loads(project, library, design, on_it);
    const std::string words =
        beyond(controls::breaker_uses(channels, rules == nullptr ? 1.0 : rules->continuous_share, 0.0),
               rules == nullptr ? "" : ", " + rules->name);
    if (!words.empty())
      findings.push_back({kCircuitWithinBreaker, "", "", "", "Circuit carries no more than it may",
                          results::Finding::Verdict::fail, circuit.id + ": " + words,
                          "share its luminaires among more circuits",
                          results::Finding::Confidence::from_memory, false});
  }
  return findings;
}

}  // namespace halflight::sim
