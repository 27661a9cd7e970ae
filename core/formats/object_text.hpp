#pragma once
#include "domain/project.hpp"

#include <string>

namespace halflight::formats {

// Objects of a design as JSON text that a document takes: what was chosen is written out, also where it
// equals a default, and what is optional and says nothing is left out. Quantities are written in the unit
// that is usual for them. An object whose `space` is empty is written for the block of a typical.
//
// `metres_per_unit`: of the document's coordinates, 1 or 0.3048.

std::string object_text(const domain::LuminaireType& type, double metres_per_unit);
std::string object_text(const domain::Luminaire& luminaire, double metres_per_unit);
std::string object_text(const domain::Group& group, double metres_per_unit);
std::string object_text(const domain::Scene& scene, double metres_per_unit);
std::string object_text(const domain::OccupancySensor& sensor, double metres_per_unit);
std::string object_text(const domain::Photosensor& sensor, double metres_per_unit);
std::string object_text(const domain::Station& station, double metres_per_unit);
std::string object_text(const domain::LoadController& controller, double metres_per_unit);
std::string object_text(const domain::Infrastructure& device, double metres_per_unit);
std::string object_text(const domain::Interface& device, double metres_per_unit);
std::string object_text(const domain::HvacHandOff& hand_off, double metres_per_unit);
std::string object_text(const domain::Sequence& sequence, double metres_per_unit);
std::string object_text(const domain::PlugLoads& loads, double metres_per_unit);

}  // namespace halflight::formats
