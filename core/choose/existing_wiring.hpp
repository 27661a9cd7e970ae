#pragma once
#include "domain/project.hpp"

#include <string>
#include <vector>

// What stays of the wires of a room, and what can be commanded apart by them (docs/methods/proposals.md).

namespace halflight::choose {

/// Whether nothing new can be wired to the luminaires of a room: something hazardous lies above its ceiling,
/// or an existing ceiling cannot be opened. Sensors and stations then talk by radio or stand in the boxes of
/// the switches, and what commands a luminaire is in the luminaire or in such a box.
bool wiring_stays(const domain::Project& project, const domain::Space& space);

/// Luminaires that one switch turns on and off, since no other wires run to them.
struct SwitchLeg {
  std::string name;                     ///< as on the drawing, or the circuit's id
  std::vector<std::string> luminaires;  ///< ids, sorted
};

/// Of the luminaires of a design in a space that do not plug in: those of one circuit and switch leg are one;
/// by name. All those whose circuit names no leg are one as well, for nothing tells them apart.
std::vector<SwitchLeg> switch_legs(const domain::Project& project, const domain::Design& design,
                                   const std::string& space);

}  // namespace halflight::choose
