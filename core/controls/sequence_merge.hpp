#pragma once
#include "domain/control.hpp"

namespace halflight::controls {

/// The players of the attribution game, and a set of them.
struct Strategies {
  bool schedule = false;
  bool occupancy = false;
  bool scenes = false;
  bool trim = false;
  bool daylight = false;
  static constexpr unsigned kCount = 5;
  /// Bit i of `mask` is the i-th field above.
  static Strategies from_mask(unsigned mask);
  [[nodiscard]] unsigned mask() const;
};
/// "schedule", "occupancy", "scenes", "trim", "daylight".
const char* name_of_strategy(unsigned bit);

/// The sequence with the proposal's rules for the strategies in `from_proposal` and the as-found rules for
/// the others. occupancy carries `on` and `vacancy`; scenes carries `normal_scene` and `manual`. All five
/// give the proposal itself, none the sequence as found. What no strategy owns (loss behaviour, demand
/// response, source of the hours) is the proposal's only when all are.
domain::Sequence merged(const domain::Sequence& as_found, const domain::Sequence& proposal,
                        Strategies from_proposal);

}  // namespace halflight::controls
