#include "energy/plug_loads.hpp"

#include "base/time_axis.hpp"
#include "base/units.hpp"

#include <cmath>

namespace halflight::energy {

PlugDeviceUse use_of(const domain::PlugDevice& device, const IntervalSet& at_it, const IntervalSet& powered,
                     const PlugDeviceDraw& draw) {
  const IntervalSet awake = at_it.extended(static_cast<Seconds>(std::lround(device.sleeps_after_s)), kYear);
  const auto on_s = static_cast<double>(intersected(at_it, powered).measure());
  const double awake_s = static_cast<double>(intersected(awake, powered).measure());
  const double asleep_s = static_cast<double>(powered.measure()) - awake_s;
  const double long_absence_w = draw.left_on * device.idle_w + (1.0 - draw.left_on) * device.standby_w;
  PlugDeviceUse use;
  use.wh = draw.watts * (on_s * device.on_w + (awake_s - on_s) * device.idle_w + asleep_s * long_absence_w) /
           kSecondsPerHour;
  use.cut_with_people_h = (static_cast<double>(at_it.measure()) - on_s) / kSecondsPerHour;
  return use;
}

}  // namespace halflight::energy
