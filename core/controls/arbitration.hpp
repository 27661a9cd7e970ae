#pragma once
#include <algorithm>
#include <cstdint>
#include <optional>

namespace halflight::controls {

/// Who decides, highest first.
enum class Rank : std::uint8_t { emergency, lock_out, vacancy, manual, standing };
/// What a level was limited by last, if by anything.
enum class Limit : std::uint8_t { none, daylight, demand_response, load_shed };
const char* words_of(Rank rank);

/// What asks for a level of one group. Levels are fractions of trimmed full output, except where noted.
struct ArbitrationInputs {
  std::optional<double> emergency_of_full;  ///< fraction of *full* output, untrimmed
  std::optional<double> lock_out_of_full;   ///< likewise: maintenance or test
  std::optional<double> vacant;  ///< the vacancy rule's level now (step, or 0 for off); unset: occupied
  std::optional<double> manual;  ///< scene or level by hand, until what clears it has come
  double standing = 1.0;         ///< of the schedule or occupancy rule
  /// Level that daylight leaves, as a fraction of *full* output. Leave unset while a scene that daylight does
  /// not touch is in use.
  std::optional<double> daylight_of_full;
  std::optional<double> demand_response_cap;
  std::optional<double> load_shed_level;  ///< of a group that a signal takes down, while it stands
  double trim_low = 0.0;                  ///< of full output: daylight and demand response never go below it
  double trim_high = 1.0;                 ///< of full output
};

/// `of_full`: the light asked for, fraction of full output.
struct Level {
  double of_full = 0.0;
  Rank decided_by = Rank::standing;
  Limit limited_by = Limit::none;
};

/// What an event of demand response leaves of a level: at most `cap` of the trimmed output, but not less than
/// the low-end trim, and never more than there was.
struct Capped {
  double cap = 1.0;
  double trim_high = 1.0;  ///< of full output
  double trim_low = 0.0;   ///< of full output
  [[nodiscard]] double level(double of_full) const {
    const double most = cap <= 0.0 ? 0.0 : std::max(cap * trim_high, trim_low);
    return std::min(of_full, most);
  }
};

/// Emergency, lock-out, vacancy, manual until cleared, then the standing level; daylight, demand response,
/// load shed and trim limit the level that results and never raise it. A vacant room never gets more than it
/// would occupied.
Level arbitrate(const ArbitrationInputs& inputs);

}  // namespace halflight::controls
