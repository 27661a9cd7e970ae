#pragma once
#include "choose/first_cost.hpp"
#include "choose/front.hpp"
#include "choose/receptacle_part.hpp"
#include "choose/room_controls.hpp"
#include "sim/design_trials.hpp"

#include <optional>
#include <string>
#include <vector>

namespace halflight::choose {

/// A design that was tried.
struct RoomDesign {
  std::string name;  ///< "2 ceiling sensors, 1 daylight group"; no two are named alike
  RoomControls controls;
  FirstCost cost;  ///< of its devices and of the new luminaires
  sim::DesignTrial trial;
  std::vector<std::string> why;      ///< each choice in a sentence
  std::vector<std::string> refused;  ///< why it may not be proposed; empty: it may
  /// Of the front and the document's own: what each design that is offered has over it, in words with
  /// figures.
  std::vector<std::string> gives_up{};
  /// What takes the power of plugged-in devices, where that is free to choose, of designs that are offered or
  /// on the hull of the front. Neither its cost nor what it saves is in `cost` and `trial`.
  std::optional<ReceptaclePart> receptacles{};
  [[nodiscard]] Merits merits() const {
    return {cost.middle(), trial.year_kwh.mean, trial.under_lit_h.mean, trial.taken_from_people.mean,
            cost.set_up_middle_h()};
  }
};

}  // namespace halflight::choose
