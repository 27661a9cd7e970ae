#include "sim/daylight_limits.hpp"

#include <algorithm>

namespace halflight::sim {

double signal_of(const SpaceModel& model, std::size_t sensor, double reflected, double depreciation,
                 const std::function<bool(const ControlCell&)>& counts) {
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  double sum = 0.0;
  for (const ControlCell& cell : model.lit->cells)
    if (cell.design == proposal && counts(cell))
      sum += cell_lx(model, model.lit->sensor_rows[sensor], cell, reflected,
                     model.sensor_scales[sensor].electric) *
             depreciation;
  return sum;
}

double reading_of_group(const SpaceModel& model, std::size_t sensor, const std::string& group) {
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  const auto is_of_group = [&](const ControlCell& cell) { return cell.daylight_group == group; };
  double lx = 0.0;
  for (const ControlCell& cell : model.lit->cells)
    if (cell.design == proposal && is_of_group(cell))
      lx += cell_lx(model, model.lit->sensor_rows[sensor], cell, 1.0);
  return lx > 0.0 ? signal_of(model, sensor, 1.0, 1.0, is_of_group) / lx : 0.0;
}

namespace {

struct LoopSet {
  std::vector<controls::Loop> loops;
  std::vector<double> signal_matrix;
  std::vector<double> fixed_signal;
  std::vector<std::string> group;   // of each loop
  std::vector<std::size_t> sensor;  // index into lit->sensors
};

LoopSet make_loops(const SpaceModel& model, const domain::Sequence& sequence, double trim, double reflected,
                   double depreciation) {
  LoopSet set;
  const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal);
  if (design == nullptr) return set;
  const std::vector<domain::DaylightRule>& commissioned = model.proposal.sequence.daylight;
  for (const domain::DaylightRule& rule : sequence.daylight) {
    // Another sequence may give the proposal's rules in an order of its own.
    const auto found =
        std::find_if(commissioned.begin(), commissioned.end(), [&](const domain::DaylightRule& known) {
          return known.group == rule.group && known.photosensor == rule.photosensor;
        });
    if (found == commissioned.end()) continue;
    const auto r = static_cast<std::size_t>(found - commissioned.begin());
    const std::size_t sensor = model.rule_sensor[r];
    if (sensor >= model.lit->sensors.size() || model.rule_task[r] >= model.lit->task_rows.size()) continue;
    const domain::Photosensor& device = design->photosensors[model.lit->sensors[sensor]];
    set.loops.push_back(controls::make_loop(rule, model.calibrations[r], trim, device.range_lx));
    set.group.push_back(rule.group);
    set.sensor.push_back(sensor);
  }
  const std::size_t n = set.loops.size();
  set.signal_matrix.assign(n * n, 0.0);
  set.fixed_signal.assign(n, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j)
      set.signal_matrix[i * n + j] =
          signal_of(model, set.sensor[i], reflected, depreciation,
                    [&](const ControlCell& cell) { return cell.daylight_group == set.group[j]; });
    set.fixed_signal[i] =
        trim * signal_of(model, set.sensor[i], reflected, depreciation, [&](const ControlCell& cell) {
          return std::find(set.group.begin(), set.group.end(), cell.daylight_group) == set.group.end();
        });
    double night = set.fixed_signal[i];
    for (std::size_t j = 0; j < n; ++j) night += set.signal_matrix[i * n + j] * set.loops[j].maximum_level;
    // Commissioned at night in this very state: the stored signal follows trim and the room as it is.
    set.loops[i].night_signal_lx = night;
  }
  return set;
}

}  // namespace

DaylightLimits daylight_limits(const SpaceModel& model, const domain::Sequence& sequence, double trim,
                               double reflected, double depreciation, const ShadedDaylight& daylight) {
  DaylightLimits limits;
  if (daylight.sensors.empty() || sequence.daylight.empty()) return limits;
  const LoopSet set = make_loops(model, sequence, trim, reflected, depreciation);
  const std::size_t n = set.loops.size();
  std::vector<std::span<const float>> signals;
  for (std::size_t i = 0; i < n; ++i) {
    signals.emplace_back(daylight.sensors[set.sensor[i]]);
    limits.groups.push_back({set.group[i], std::vector<double>(model.sunny->step.size())});
  }
  if (n == 1) {
    controls::run_loop(set.loops[0], set.signal_matrix[0], signals[0], set.fixed_signal[0], kStep_s,
                       limits.groups[0].level);
  } else {
    std::vector<std::span<double>> levels;
    for (DaylightLimits::Group& group : limits.groups) levels.emplace_back(group.level);
    controls::run_loops(set.loops, set.signal_matrix, signals, set.fixed_signal, kStep_s, levels);
  }
  return limits;
}

controls::Coupling coupling_of_loops(const SpaceModel& model, const domain::Sequence& sequence) {
  const LoopSet set = make_loops(model, sequence, 1.0, 1.0, 1.0);
  return controls::examine_coupling(set.loops, set.signal_matrix);
}

}  // namespace halflight::sim
