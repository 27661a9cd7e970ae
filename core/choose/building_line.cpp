#include "choose/building_line.hpp"

#include "energy/estimate.hpp"

#include <algorithm>

namespace halflight::choose {

namespace {

domain::Range times(const domain::Range& range, double n) { return {n * range.least, n * range.most}; }

FirstCost times(FirstCost cost, std::size_t count) {
  const auto n = static_cast<double>(count);
  for (Quantity& line : cost.quantities) {
    line.count *= static_cast<int>(count);
    line.cost = times(line.cost, n);
    line.set_up_h = times(line.set_up_h, n);
  }
  cost.cost = times(cost.cost, n);
  cost.set_up_h = times(cost.set_up_h, n);
  return cost;
}

}  // namespace

std::vector<std::size_t> BuildingLine::after(std::size_t steps_taken) const {
  std::vector<std::size_t> design = cheapest;
  for (std::size_t s = 0; s < std::min(steps_taken, steps.size()); ++s)
    design[steps[s].room] = steps[s].design;
  return design;
}

BuildingLine building_line(std::span<const RoomsOnLine> rooms) {
  BuildingLine line;
  for (std::size_t r = 0; r < rooms.size(); ++r) {
    const RoomProposals& found = *rooms[r].found;
    const auto n = static_cast<double>(rooms[r].count);
    line.cheapest.push_back(found.front.hull.front());
    for (std::size_t h = 1; h < found.front.hull.size(); ++h) {
      const Merits before = rounded(found.designs[found.front.hull[h - 1]].merits());
      const Merits next = rounded(found.designs[found.front.hull[h]].merits());
      line.steps.push_back({r, found.front.hull[h - 1], found.front.hull[h], n * (next.cost - before.cost),
                            n * (before.kwh - next.kwh)});
    }
  }
  // A hull is convex: no step of a room comes before the one that leads to it.
  std::stable_sort(line.steps.begin(), line.steps.end(),
                   [](const auto& a, const auto& b) { return a.per_kwh() < b.per_kwh(); });
  double all_cost = 0.0;
  double all_kwh = 0.0;
  for (const BuildingLine::Step& step : line.steps) {
    all_cost += step.cost;
    all_kwh += step.kwh;
  }
  if (all_cost <= 0.0 || all_kwh <= 0.0) return line;
  double cost = 0.0;
  double kwh = 0.0;
  double farthest = 1e-9;
  for (std::size_t s = 0; s < line.steps.size(); ++s) {
    cost += line.steps[s].cost;
    kwh += line.steps[s].kwh;
    const double below = kwh / all_kwh - cost / all_cost;
    if (below > farthest) {
      farthest = below;
      line.knee = s + 1;
    }
  }
  return line;
}

BuildingSum sum_of(std::span<const RoomsOnLine> rooms, std::span<const std::size_t> design, int scrambles) {
  BuildingSum sum;
  std::vector<double> found_kwh;
  for (std::size_t r = 0; r < rooms.size(); ++r) {
    const RoomProposals& room = *rooms[r].found;
    const RoomDesign& chosen = room.designs[design[r]];
    const auto n = static_cast<double>(rooms[r].count);
    sum.cost = std::move(sum.cost) + times(chosen.cost, rooms[r].count);
    sum.kwh.resize(chosen.trial.kwh.size(), 0.0);
    found_kwh.resize(chosen.trial.kwh.size(), 0.0);
    for (std::size_t i = 0; i < sum.kwh.size(); ++i) {
      sum.kwh[i] += n * chosen.trial.kwh[i];
      found_kwh[i] += n * room.as_found.kwh[i];
    }
  }
  std::vector<double> saved;
  for (std::size_t i = 0; i < sum.kwh.size(); ++i) saved.push_back(found_kwh[i] - sum.kwh[i]);
  sum.year_kwh = energy::estimate(sum.kwh, scrambles);
  sum.saving = energy::ratio_estimate(saved, found_kwh, scrambles);
  return sum;
}

SumsApart apart(const BuildingSum& from, const BuildingSum& to, int scrambles) {
  SumsApart sums;
  const auto add = [&](const Quantity& line, double more) {
    const domain::Range each = times(line.cost, more / line.count);
    sums.cost.least += std::min(each.least, each.most);
    sums.cost.most += std::max(each.least, each.most);
  };
  const auto same = [](const std::vector<Quantity>& lines, const std::string& id) {
    return std::find_if(lines.begin(), lines.end(), [&](const Quantity& line) { return line.id == id; });
  };
  for (const Quantity& line : to.cost.quantities) {
    const auto before = same(from.cost.quantities, line.id);
    add(line, before == from.cost.quantities.end() ? line.count : line.count - before->count);
  }
  for (const Quantity& line : from.cost.quantities)
    if (same(to.cost.quantities, line.id) == to.cost.quantities.end()) add(line, -line.count);
  std::vector<double> saved;
  for (std::size_t i = 0; i < to.kwh.size(); ++i) saved.push_back(from.kwh[i] - to.kwh[i]);
  sums.saved_kwh = energy::estimate(saved, scrambles);
  return sums;
}

}  // namespace halflight::choose
