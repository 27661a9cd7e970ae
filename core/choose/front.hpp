#pragma once
#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

// Which of several designs nobody would leave for another, and where more money buys little more
// (docs/methods/proposals.md).

namespace halflight::choose {

/// What designs are compared by; less is better in each.
struct Merits {
  double cost = 0.0;         ///< first cost, currency
  double kwh = 0.0;          ///< a year
  double under_lit_h = 0.0;  ///< a year, of all daylight loops
  double taken = 0.0;        ///< times a year that people lose the light
  double set_up_h = 0.0;     ///< hours to set it to work
};

/// In steps below which nobody would choose by a figure: 1 of currency, 0.1 kWh, 0.1 h of poor light, a
/// hundredth of a time a year, a minute of setting up.
Merits rounded(const Merits& merits);
/// No worse in anything and better in something, once both are rounded.
bool dominates(const Merits& a, const Merits& b);

struct Front {
  /// That no other dominates, by cost, then energy, then given order; of those that are equal in everything
  /// the first.
  std::vector<std::size_t> members;
  /// For each design the cheapest member that dominates or equals it; nothing for members.
  std::vector<std::optional<std::size_t>> dominated_by;
  /// Of `members`, on the lower hull of cost and energy: each saves the most for the money from the one
  /// before, the cheapest first.
  std::vector<std::size_t> hull;
  /// Marginal cost of a kWh a year from the hull's member before, currency; one for each but the first.
  std::vector<double> per_kwh;
  /// The hull's member that lies farthest below the line from its first to its last, both axes scaled to 1;
  /// the first where the hull has less than three.
  std::size_t knee = 0;
};
/// Of at least one design.
Front front_of(std::span<const Merits> designs);

}  // namespace halflight::choose
