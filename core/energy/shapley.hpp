#pragma once
#include <span>
#include <vector>

namespace halflight::energy {

/// Exact Shapley values (L. Shapley, "A value for n-person games", 1953) of a game with n <= 6 players from
/// its 2^n values: `worth[mask]` is what the players whose bits are set reach together. The values sum to
/// worth[all] - worth[0]; a player that changes nothing gets exactly 0 and interchangeable players get equal
/// shares.
std::vector<double> shapley(std::span<const double> worth);

}  // namespace halflight::energy
