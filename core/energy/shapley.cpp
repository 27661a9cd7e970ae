#include "energy/shapley.hpp"

#include "base/sums.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cstddef>

namespace halflight::energy {

std::vector<double> shapley(std::span<const double> worth) {
  const auto n = static_cast<unsigned>(std::bit_width(worth.size())) - 1U;
  assert(worth.size() == (std::size_t{1} << n) && n <= 6);
  constexpr std::array<double, 7> kFactorial = {1, 1, 2, 6, 24, 120, 720};
  std::vector<double> shares(n, 0.0);
  for (unsigned player = 0; player < n; ++player) {
    const unsigned bit = 1U << player;
    CompensatedSum share;
    for (unsigned size = 0; size < n; ++size) {
      std::vector<double> gains;
      for (unsigned others = 0; others < worth.size(); ++others)
        if ((others & bit) == 0 && static_cast<unsigned>(std::popcount(others)) == size)
          gains.push_back(worth[others | bit] - worth[others]);
      // In ascending order, so that interchangeable players get the same bits.
      std::sort(gains.begin(), gains.end());
      const double weight = kFactorial[size] * kFactorial[n - size - 1] / kFactorial[n];
      for (const double gain : gains) share.add(weight * gain);
    }
    shares[player] = share.value();
  }
  return shares;
}

}  // namespace halflight::energy
