#pragma once
#include "choose/room_proposals.hpp"

#include <cstddef>
#include <span>
#include <vector>

// The rooms of a building together on one line between first cost and energy: where the next of the money
// buys most (docs/methods/proposals.md).

namespace halflight::choose {

/// Rooms of one typical count as often as they are.
struct RoomsOnLine {
  const RoomProposals* found = nullptr;  ///< with at least one design
  std::size_t count = 1;
};

struct BuildingLine {
  /// One change of one room from a design of its hull to the next.
  struct Step {
    std::size_t room = 0;
    std::size_t from = 0;    ///< index in RoomProposals::designs, that the room has before
    std::size_t design = 0;  ///< the same, that it changes to
    double cost = 0.0;       ///< of all alike, currency
    double kwh = 0.0;        ///< saved a year by all alike
    /// Currency for a kWh a year.
    [[nodiscard]] double per_kwh() const { return cost / kwh; }
  };
  /// By what they cost for each kWh, the least first; of one room in the order of its hull.
  std::vector<Step> steps;
  /// How many of `steps` the knee takes: where the line of the whole building lies farthest below the line
  /// from its first to its last point, both axes scaled to 1.
  std::size_t knee = 0;

  /// Design of each room once the first so many steps are taken. No other choice of designs costs as little
  /// and draws less.
  [[nodiscard]] std::vector<std::size_t> after(std::size_t steps_taken) const;
  std::vector<std::size_t> cheapest;  ///< design of each room before the first step
};
BuildingLine building_line(std::span<const RoomsOnLine> rooms);

/// What one choice of designs comes to in all rooms.
struct BuildingSum {
  FirstCost cost;
  std::vector<double> kwh;  ///< by replicate
  results::Estimate year_kwh;
  results::Estimate saving;  ///< over the lighting as found, as fraction
};
/// `design`: of each room. Replicates of rooms have their causes in common; of rooms alike the first stands
/// for all, chance and all. `scrambles` as in the study.
BuildingSum sum_of(std::span<const RoomsOnLine> rooms, std::span<const std::size_t> design, int scrambles);

/// What the rooms come to with other designs.
struct SumsApart {
  /// First cost of the one over the other, currency: what both have cancels, and the price of what only one
  /// has may lie anywhere in its range.
  domain::Range cost;
  results::Estimate saved_kwh;  ///< a year, paired by replicate
};
/// Of the same rooms. `scrambles` as in the study.
SumsApart apart(const BuildingSum& from, const BuildingSum& to, int scrambles);

}  // namespace halflight::choose
