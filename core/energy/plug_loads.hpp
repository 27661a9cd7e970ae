#pragma once
#include "base/interval_set.hpp"
#include "domain/plug_loads.hpp"

namespace halflight::energy {

/// What is not known of a device.
struct PlugDeviceDraw {
  double watts = 1.0;    ///< factor on all of its watts
  double left_on = 0.3;  ///< PlugDevice::left_on
};

/// A year of one device.
struct PlugDeviceUse {
  double wh = 0.0;
  double cut_with_people_h = 0.0;  ///< without power while somebody is at it
};

/// One device that is at `on_w` while somebody is at it, at `idle_w` for `sleeps_after_s` after that, and
/// then at `standby_w` but for the share that is left on; without `powered` it draws nothing. `at_it` and
/// `powered` lie in [0, kYear). What switches it is not counted.
PlugDeviceUse use_of(const domain::PlugDevice& device, const IntervalSet& at_it, const IntervalSet& powered,
                     const PlugDeviceDraw& draw);

}  // namespace halflight::energy
