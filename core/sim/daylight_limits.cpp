#include "sim/daylight_limits.hpp"

namespace halflight::sim {

double signal_of(const SpaceModel& model, std::size_t sensor, double reflected, double depreciation,
                 const std::function<bool(const ControlCell&)>& counts) {
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  double sum = 0.0;
  for (const ControlCell& cell : model.lit->cells)
    if (cell.design == proposal && counts(cell))
      sum += cell_lx(model, model.lit->sensor_rows[sensor], cell, reflected) * depreciation;
  return sum;
}

namespace {

struct LoopSet {
  std::vector<controls::Loop> loops;
  std::vector<double> signal_matrix;
  std::vector<double> fixed_signal;
  std::vector<std::size_t> rule;  // of each loop, index into the sequence's daylight rules
};

LoopSet make_loops(const SpaceModel& model, const domain::Sequence& sequence,
                   const std::vector<controls::Calibration>& calibrations, double trim, double reflected,
                   double depreciation) {
  LoopSet set;
  const domain::Design& design = *domain::find_design(*model.project, domain::Design::Role::proposal);
  for (std::size_t r = 0; r < sequence.daylight.size() && r < calibrations.size(); ++r) {
    if (model.rule_sensor[r] >= model.lit->sensors.size() ||
        model.rule_task[r] >= model.lit->task_rows.size())
      continue;
    const domain::Photosensor& sensor = design.photosensors[model.lit->sensors[model.rule_sensor[r]]];
    set.loops.push_back(controls::make_loop(sequence.daylight[r], calibrations[r], trim, sensor.range_lx));
    set.rule.push_back(r);
  }
  const std::size_t n = set.loops.size();
  set.signal_matrix.assign(n * n, 0.0);
  set.fixed_signal.assign(n, 0.0);
  const auto group_of = [&](std::size_t loop) { return sequence.daylight[set.rule[loop]].group; };
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t sensor = model.rule_sensor[set.rule[i]];
    for (std::size_t j = 0; j < n; ++j)
      set.signal_matrix[i * n + j] =
          signal_of(model, sensor, reflected, depreciation,
                    [&](const ControlCell& cell) { return cell.daylight_group == group_of(j); });
    set.fixed_signal[i] =
        trim * signal_of(model, sensor, reflected, depreciation, [&](const ControlCell& cell) {
          for (std::size_t j = 0; j < n; ++j)
            if (cell.daylight_group == group_of(j)) return false;
          return true;
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
  const LoopSet set = make_loops(model, sequence, model.calibrations, trim, reflected, depreciation);
  const std::size_t n = set.loops.size();
  std::vector<std::span<const float>> signals;
  for (std::size_t i = 0; i < n; ++i) {
    signals.emplace_back(daylight.sensors[model.rule_sensor[set.rule[i]]]);
    limits.groups.push_back(
        {sequence.daylight[set.rule[i]].group, std::vector<double>(model.sunny->step.size())});
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

}  // namespace halflight::sim
