#include "controls/arbitration.hpp"

#include <algorithm>

namespace halflight::controls {

const char* words_of(Rank rank) {
  switch (rank) {
    case Rank::emergency:
      return "emergency";
    case Rank::lock_out:
      return "maintenance lock-out";
    case Rank::vacancy:
      return "vacancy";
    case Rank::manual:
      return "by hand";
    case Rank::standing:
      return "schedule or occupancy";
  }
  return "schedule or occupancy";
}

Level arbitrate(const ArbitrationInputs& inputs) {
  if (inputs.emergency_of_full) return {*inputs.emergency_of_full, Rank::emergency, Limit::none};
  if (inputs.lock_out_of_full) return {*inputs.lock_out_of_full, Rank::lock_out, Limit::none};

  double level = inputs.manual.value_or(inputs.standing);
  Level result{0.0, inputs.manual ? Rank::manual : Rank::standing, Limit::none};
  if (inputs.vacant) {
    level = std::min(level, *inputs.vacant);
    result.decided_by = Rank::vacancy;
  }
  result.of_full = level * inputs.trim_high;
  const auto limit_to = [&](double of_full, Limit by) {
    // Daylight may switch off; short of that nothing dims below the low-end trim.
    const double limit = of_full <= 0.0 ? 0.0 : std::max(of_full, inputs.trim_low);
    if (limit >= result.of_full) return;
    result.of_full = limit;
    result.limited_by = by;
  };
  if (inputs.daylight_of_full) limit_to(*inputs.daylight_of_full, Limit::daylight);
  if (inputs.demand_response_cap) {
    const Capped capped{*inputs.demand_response_cap, inputs.trim_high, inputs.trim_low};
    limit_to(capped.level(inputs.trim_high), Limit::demand_response);
  }
  // The power is needed elsewhere: no low-end trim stands in the way.
  const double left = inputs.load_shed_level.value_or(1.0) * inputs.trim_high;
  if (left < result.of_full) {
    result.of_full = left;
    result.limited_by = Limit::load_shed;
  }
  return result;
}

}  // namespace halflight::controls
