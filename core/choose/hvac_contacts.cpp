#include "choose/hvac_contacts.hpp"

#include "choose/device_of_kind.hpp"
#include "choose/first_cost.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

constexpr const char* kKindOfContact = "hvac_contact";

/// The first device of a list that stands in a space; null without one.
template <class T>
const T* first_in(const domain::Design& design, const std::vector<T>& devices, const std::string& space) {
  const auto found = std::find_if(devices.begin(), devices.end(), [&](const T& device) {
    return device.space == space && domain::stands_in(design, device.status);
  });
  return found == devices.end() ? nullptr : &*found;
}

}  // namespace

ContactProposal propose_contacts(const domain::Project& project, const domain::Library& library,
                                 const domain::Design& design) {
  ContactProposal proposal;
  const auto points = std::find_if(design.interfaces.begin(), design.interfaces.end(),
                                   [&](const domain::Interface& interface) {
                                     return interface.kind == domain::Interface::Kind::hvac_points &&
                                            domain::stands_in(design, interface.status);
                                   });
  const domain::DeviceKind* kind = device_kind_of(project, library, kKindOfContact);
  for (const domain::Space& space : project.spaces) {
    const domain::OccupancySensor* sensor = first_in(design, design.occupancy_sensors, space.id);
    const bool is_told =
        std::any_of(design.hvac_hand_offs.begin(), design.hvac_hand_offs.end(),
                    [&](const domain::HvacHandOff& hand_off) { return hand_off.space == space.id; });
    if (space.hvac_zone.empty() || sensor == nullptr || is_told) continue;
    if (points != design.interfaces.end()) {
      proposal.told.push_back({space.id, points->id, {}});
      continue;
    }
    const domain::LoadController* controller = first_in(design, design.load_controllers, space.id);
    domain::Interface& contact = proposal.contacts.emplace_back();
    contact.space = space.id;
    contact.at = controller == nullptr ? sensor->at : controller->at;
    contact.kind = domain::Interface::Kind::hvac_contact;
    contact.direction = domain::Interface::Direction::out;
    contact.signal = fmt::format("Somebody is in {}; on fault: occupied", space.number);
    if (kind != nullptr) take_kind(contact, *kind);
    proposal.told.push_back({space.id, "", proposal.contacts.size() - 1});
  }
  if (kind != nullptr) {
    const domain::Range one = unit_cost(project, kind->id, kind->price).cost;
    const auto n = static_cast<double>(proposal.contacts.size());
    proposal.cost = domain::Range{n * one.least, n * one.most};
  }
  return proposal;
}

}  // namespace halflight::choose
