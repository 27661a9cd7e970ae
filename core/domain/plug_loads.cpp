#include "domain/plug_loads.hpp"

namespace halflight::domain {

std::vector<PlugDevice> devices_of(const PlugLoads& loads) {
  std::vector<PlugDevice> devices = loads.devices;
  const auto add_unlisted = [&](double watts, PlugDevice::SwitchedBy by) {
    if (watts <= 0.0) return;
    PlugDevice device;
    device.kind = by == PlugDevice::SwitchedBy::nothing ? "not listed" : "not listed, controlled";
    device.on_w = watts;
    device.idle_w = device.standby_w = kUnlistedWithNobody * watts;
    device.switched_by = by;
    devices.push_back(std::move(device));
  };
  add_unlisted(loads.installed_w * (1.0 - loads.controlled_fraction), PlugDevice::SwitchedBy::nothing);
  add_unlisted(loads.installed_w * loads.controlled_fraction, PlugDevice::SwitchedBy::controlled_receptacle);
  return devices;
}

bool may_be_switched(const PlugDevice& device) { return device.must_stay_on == PlugDevice::MustStayOn::no; }

const char* words_of(PlugDevice::MustStayOn why) {
  switch (why) {
    case PlugDevice::MustStayOn::no:
      return "";
    case PlugDevice::MustStayOn::medical:
      return "medical equipment";
    case PlugDevice::MustStayOn::refrigeration:
      return "refrigeration";
    case PlugDevice::MustStayOn::network:
      return "network equipment";
    case PlugDevice::MustStayOn::never_switched:
      return "never to be switched";
  }
  return "";
}

const char* words_of(PlugDevice::SwitchedBy what) {
  switch (what) {
    case PlugDevice::SwitchedBy::nothing:
      return "nothing";
    case PlugDevice::SwitchedBy::controlled_receptacle:
      return "controlled receptacle";
    case PlugDevice::SwitchedBy::plug_in_outlet:
      return "plug-in outlet with its own sensor";
  }
  return "nothing";
}

}  // namespace halflight::domain
