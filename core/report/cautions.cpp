#include "report/cautions.hpp"

#include <algorithm>

namespace halflight::report {
namespace {

using namespace domain;

template <class Items, class Test>
bool any(const Items& items, Test test) {
  return std::any_of(items.begin(), items.end(), test);
}

/// Whether any proposal has something; work on the lighting as found is not proposed.
template <class Test>
bool proposed(const Project& p, Test test) {
  return any(p.designs, [&](const Design& d) { return d.role == Design::Role::proposal && test(d); });
}

bool darkens_on_its_own(const Sequence& s) {
  return (s.vacancy && (s.vacancy->step_level <= 0.0 || s.vacancy->off_after_s >= 0.0)) ||
         (s.schedule && s.schedule->sweeps_off);
}

bool has_stairs_or_machines(const Project& p) {
  return any(p.spaces, [](const Space& s) {
    return s.automatic_off_refused ||
           any(s.egress_paths, [](const EgressPath& e) { return e.surface == EgressPath::Surface::stair; });
  });
}

bool has_low_voltage_control(const Design& d) {
  using Action = LoadController::Action;
  return !d.infrastructure.empty() || any(d.load_controllers, [](const LoadController& c) {
    return c.action == Action::analogue_0_10v || c.action == Action::digital_bus ||
           c.action == Action::volt_free_contact;
  });
}

bool is_tunable(const LuminaireType& type) {
  return type.channels.size() > 1 &&
         any(type.channels, [&](const Channel& c) { return c.cct_k != type.channels.front().cct_k; });
}

bool is_networked(const Design& d) {
  return !d.interfaces.empty() || any(d.infrastructure, [](const Infrastructure& i) {
    return i.kind == Infrastructure::Kind::gateway || i.kind == Infrastructure::Kind::repeater;
  });
}

}  // namespace

std::vector<Caution> applicable_cautions(const Project& p) {
  constexpr double kReach_m = 2.0;  // above this a person works from a ladder or a lift
  std::vector<Caution> out = {
      {"electrician", "licensed electricians only",
       "Only a licensed electrician installs this or opens any equipment."},
      {"isolate", "isolate, lock, tag and test first",
       "Before anyone touches a wire: switch the circuit off at its disconnecting means, lock it, tag it, "
       "and "
       "test that it is dead. A wall switch that somebody watches is no isolation."},
      {"dark-may-be-live", "a dark luminaire may be live",
       "A dark luminaire may be live. A second circuit, often the emergency one, may feed the same "
       "housing and be missing from the drawings: trace both, label both."},
      {"controls-do-not-isolate", "off by controls is not isolated",
       "Off by the controls is not isolated: electronic outputs leak. Never work on a "
       "luminaire that only a control holds off."},
      {"egress", "lighting of the ways out is a separate life-safety design",
       "Lighting of the ways out is a separate life-safety design. Controls must never lower it; prove it by "
       "a test with the normal supply really lost, with bypass devices that are listed for the purpose."},
      {"authority", "local codes govern and their authority decides",
       "Local codes govern, and the authority that enforces them decides. Verdicts here are an aid to "
       "design, not an approval."},
      {"estimates", "estimates, not guarantees",
       "Figures of energy, light and money are estimates with intervals, not guarantees. Where the law asks "
       "for it, a responsible professional checks and seals the design."},
  };
  const auto add = [&](bool applies, Caution caution) {
    if (applies) out.push_back(caution);
  };
  add(proposed(p,
               [](const Design& d) {
                 return any(d.luminaires, [](const Luminaire& l) { return l.at.z > kReach_m; });
               }),
      {"height", "work at height",
       "Work at height: the right ladder or lift, on firm ground, nobody below. A shock on a ladder becomes "
       "a "
       "fall."});
  add(p.type.kind != ProjectType::Kind::new_building,
      {"old-building", "old building: asbestos, PCBs, mercury",
       "In an old building ceilings may hold asbestos, old ballasts PCBs, old lamps mercury. On suspicion "
       "stop, have it tested, and dispose of it as the law asks."});
  add(proposed(p, has_low_voltage_control),
      {"low-voltage-wiring", "low-voltage wiring apart from power",
       "Control conductors of low voltage keep apart from power conductors, whatever their "
       "insulation; cables in air plenums must be listed for them."});
  add(proposed(p,
               [](const Design& d) {
                 return any(d.sequences, [](const Sequence& s) { return s.vacancy.has_value(); });
               }),
      {"no-flashing", "dip, never flash",
       "Warnings before off are a dip, never a flash. Test modes and finding a luminaire by its light stay "
       "at one change a second or slower: flicker between about 3 and 70 times a second can set off a "
       "seizure."});
  add(has_stairs_or_machines(p),
      {"stairs-and-machines", "no automatic off at stairs and machines",
       "Stairs, electrical rooms and rooms with rotating machines: no automatic off, and no light "
       "whose ripple could make a turning part seem to stand still."});
  add(proposed(p, [](const Design& d) { return any(d.sequences, darkens_on_its_own); }),
      {"no-sudden-dark", "no sudden darkness",
       "Nobody is left in sudden darkness: the warning comes first, and the light of the way out "
       "stays."});
  add(any(p.luminaire_types, is_tunable),
      {"no-health-claims", "no claim on health",
       "Light whose colour changes is shown for its look. No effect on health or sleep is claimed."});
  add(proposed(p, is_networked),
      {"network", "secure the network",
       "Change every default password, install only signed firmware, keep life safety off this network, and "
       "have the owner's network staff agree."});
  add(proposed(p, [](const Design& d) { return !d.occupancy_sensors.empty(); }),
      {"presence-is-personal", "presence data are personal data",
       "Records of presence are personal data: keep few, keep them briefly, report them only in "
       "sums, and tell the people."});
  add(any(p.spaces, [](const Space& s) { return s.plug_loads.controlled_receptacles > 0; }),
      {"receptacles", "mark controlled receptacles",
       "Controlled receptacles are marked. Nothing medical, life-safety, refrigerating or holding data is "
       "ever plugged into one."});
  add(proposed(p, [](const Design& d) { return !d.hvac_hand_offs.empty(); }),
      {"ventilation", "ventilation rules first",
       "Ventilation goes to standby only where the ventilation, pressure and laboratory rules of the room "
       "allow it."});
  return out;
}

}  // namespace halflight::report
