#pragma once
#include "domain/control.hpp"
#include "domain/device_kind.hpp"

namespace halflight::choose {

/// Gives a device what every device has from its kind: how it talks, what it draws, what may be bought for
/// it.
inline void take_kind(domain::Device& device, const domain::DeviceKind& kind) {
  device.link = kind.link;
  device.make_and_catalogue_number = kind.make_and_catalogue_number;
  device.device_kind = kind.id;
  device.standby_w = kind.standby_w;
}

}  // namespace halflight::choose
