#include "sim/lowered_by_hand.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace halflight::sim {

namespace {

constexpr std::size_t kDimmerSteps = 10;

}  // namespace

std::size_t HandLevels::count() const {
  if (dims) return kDimmerSteps - 1;
  // All of the legs together are the normal scene, none of them is off.
  return switch_legs.size() < 2 ? 0 : (std::size_t{1} << switch_legs.size()) - 2;
}

double HandLevels::of(std::size_t step, const std::string& scene_group, double normal, bool can_dim) const {
  if (dims) return can_dim ? normal * static_cast<double>(step + 1) / kDimmerSteps : normal;
  const auto leg = std::find(switch_legs.begin(), switch_legs.end(), scene_group);
  if (leg == switch_legs.end()) return normal;
  const std::size_t legs_on = step + 1;
  return (legs_on >> static_cast<std::size_t>(leg - switch_legs.begin()) & 1U) != 0 ? normal : 0.0;
}

HandLevels hand_levels(const SpaceModel& model, std::size_t design, const domain::Sequence& sequence) {
  HandLevels found;
  if (design >= model.project->designs.size() || !sequence.manual) return found;
  const domain::Design& of = model.project->designs[design];
  for (const domain::Station& station : of.stations) {
    if (station.space != model.space->id || !domain::stands_in(of, station.status) ||
        !names_group(sequence.manual->stations, station.id))
      continue;
    for (const std::string& button : station.buttons)
      found.dims = found.dims || button == "raise" || button == "lower";
    for (const std::string& leg : station.switch_legs)
      if (std::find(found.switch_legs.begin(), found.switch_legs.end(), leg) == found.switch_legs.end())
        found.switch_legs.push_back(leg);
  }
  if (found.dims) found.switch_legs.clear();
  return found;
}

bool can_dim(const SpaceModel& model, const ControlCell& cell) {
  return std::all_of(cell.columns.begin(), cell.columns.end(), [&](std::size_t column) {
    return least_light(*model.project, model.lit->scene.columns[column]) < 1.0;
  });
}

std::vector<controls::LoweredFrom> lowered_day_by_day(std::span<const double> preferred_lx, double normal_lx,
                                                      std::span<const double> lx_of_step) {
  std::vector<controls::LoweredFrom> lowered;
  for (std::size_t day = 0; day < preferred_lx.size(); ++day) {
    std::optional<std::uint16_t> step;
    double nearest_lx = normal_lx;
    for (std::size_t k = 0; preferred_lx[day] > 0.0 && k < lx_of_step.size(); ++k) {
      if (lx_of_step[k] <= 0.0) continue;
      const double off = std::abs(lx_of_step[k] - preferred_lx[day]);
      const double best = std::abs(nearest_lx - preferred_lx[day]);
      if (off > best || (off == best && lx_of_step[k] <= nearest_lx)) continue;
      nearest_lx = lx_of_step[k];
      step = static_cast<std::uint16_t>(k);
    }
    if (step != (lowered.empty() ? std::nullopt : lowered.back().step))
      lowered.push_back({static_cast<Seconds>(day) * kDay, step});
  }
  return lowered;
}

}  // namespace halflight::sim
