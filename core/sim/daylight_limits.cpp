#include "sim/daylight_limits.hpp"

#include <algorithm>
#include <utility>

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

double trimmed_signal_of(const SpaceModel& model, std::size_t sensor, double trim, double reflected,
                         double depreciation, const std::function<bool(const ControlCell&)>& counts) {
  return trim * signal_of(model, sensor, reflected, depreciation,
                          [&](const ControlCell& cell) { return !cell.only_switched && counts(cell); }) +
         signal_of(model, sensor, reflected, depreciation,
                   [&](const ControlCell& cell) { return cell.only_switched && counts(cell); });
}

bool only_switches(const SpaceModel& model, const std::string& group) {
  const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
  bool any = false;
  for (const ControlCell& cell : model.lit->cells) {
    if (cell.design != proposal || cell.daylight_group != group) continue;
    for (const std::size_t column : cell.columns) {
      if (least_light(*model.project, model.lit->scene.columns[column]) < 1.0) return false;
      any = true;
    }
  }
  return any;
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
  std::vector<std::string> group;                   // of each loop
  std::vector<std::size_t> sensor;                  // whose signal its law takes: index into lit->sensors
  std::vector<std::size_t> closed;                  // of the rule's photosensor; another one in a dual loop
  std::vector<controls::LearningChannel> learning;  // of dual loops; empty without
};

LoopSet make_loops(const SpaceModel& model, const domain::Sequence& sequence, double trim, double reflected,
                   double depreciation, const LoopFaults& faults = {}) {
  LoopSet set;
  const domain::Design* design = domain::find_design(*model.project, domain::Design::Role::proposal);
  if (design == nullptr) return set;
  const std::vector<domain::DaylightRule>& commissioned = model.proposal.sequence.daylight;
  bool any_learns = false;
  for (const domain::DaylightRule& rule : sequence.daylight) {
    // Another sequence may give the proposal's rules in an order of its own.
    const auto found =
        std::find_if(commissioned.begin(), commissioned.end(), [&](const domain::DaylightRule& known) {
          return known.group == rule.group && known.photosensor == rule.photosensor;
        });
    if (found == commissioned.end()) continue;
    const auto r = static_cast<std::size_t>(found - commissioned.begin());
    const std::size_t closed = model.rule_sensor[r];
    if (closed >= model.lit->sensors.size() || model.rule_task[r] >= model.lit->task_rows.size()) continue;
    const std::size_t open = model.rule_open_sensor[r];
    const bool dual = rule.method == controls::Method::dual_loop && open < model.lit->sensors.size();
    const std::size_t sensor = dual ? open : closed;
    any_learns = any_learns || dual;
    const domain::Photosensor& device = design->photosensors[model.lit->sensors[sensor]];
    set.loops.push_back(controls::make_loop(rule, model.calibrations[r], trim, device.range_lx,
                                            only_switches(model, rule.group)));
    set.group.push_back(rule.group);
    set.sensor.push_back(sensor);
    set.closed.push_back(closed);
  }
  const std::size_t n = set.loops.size();
  for (controls::Loop& loop : set.loops) loop.gain *= faults.gain;
  if (faults.first_two_swapped && n >= 2) std::swap(set.group[0], set.group[1]);
  const auto seen_of = [&](std::size_t sensor, std::size_t loop) {
    return signal_of(model, sensor, reflected, depreciation,
                     [&](const ControlCell& cell) { return cell.daylight_group == set.group[loop]; });
  };
  const auto fixed_of = [&](std::size_t sensor) {
    return trimmed_signal_of(model, sensor, trim, reflected, depreciation, [&](const ControlCell& cell) {
      return std::find(set.group.begin(), set.group.end(), cell.daylight_group) == set.group.end();
    });
  };
  set.signal_matrix.assign(n * n, 0.0);
  set.fixed_signal.assign(n, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) set.signal_matrix[i * n + j] = seen_of(set.sensor[i], j);
    set.fixed_signal[i] = fixed_of(set.sensor[i]);
    controls::LearningChannel closed;
    closed.fixed_lx = set.fixed_signal[i];
    closed.range_lx = design->photosensors[model.lit->sensors[set.closed[i]]].range_lx;
    closed.seen_lx.assign(set.signal_matrix.begin() + static_cast<std::ptrdiff_t>(i * n),
                          set.signal_matrix.begin() + static_cast<std::ptrdiff_t>((i + 1) * n));
    if (set.closed[i] != set.sensor[i]) {
      closed.fixed_lx = fixed_of(set.closed[i]);
      for (std::size_t j = 0; j < n; ++j) closed.seen_lx[j] = seen_of(set.closed[i], j);
    }
    double night = closed.fixed_lx;
    for (std::size_t j = 0; j < n; ++j) night += closed.seen_lx[j] * set.loops[j].maximum_level;
    // Commissioned at night in this very state: the stored signal follows trim and the room as it is.
    set.loops[i].night_signal_lx =
        set.loops[i].method == controls::Method::integral_reset ? night / faults.gain : night;
    if (any_learns) set.learning.push_back(std::move(closed));
  }
  return set;
}

}  // namespace

DaylightLimits daylight_limits(const SpaceModel& model, const domain::Sequence& sequence, double trim,
                               double reflected, double depreciation, const ShadedDaylight& daylight,
                               const LoopFaults& faults) {
  DaylightLimits limits;
  if (daylight.sensors.empty() || sequence.daylight.empty()) return limits;
  LoopSet set = make_loops(model, sequence, trim, reflected, depreciation, faults);
  const std::size_t n = set.loops.size();
  std::vector<std::span<const float>> signals;
  for (std::size_t i = 0; i < n; ++i) {
    signals.emplace_back(daylight.sensors[set.sensor[i]]);
    limits.groups.push_back({set.group[i], std::vector<double>(model.sunny->step.size())});
  }
  if (n == 1 && !set.loops[0].remembers(kStep_s)) {
    controls::run_loop(set.loops[0], set.signal_matrix[0], signals[0], set.fixed_signal[0], kStep_s,
                       limits.groups[0].level);
  } else {
    for (std::size_t i = 0; i < set.learning.size(); ++i)
      set.learning[i].daylight_lx = daylight.sensors[set.closed[i]];
    std::vector<std::size_t> mornings;
    for (const energy::SeriesRun& day : model.sunny->runs) mornings.push_back(day.first);
    std::vector<std::span<double>> levels;
    for (DaylightLimits::Group& group : limits.groups) levels.emplace_back(group.level);
    controls::run_loops(set.loops, set.signal_matrix, signals, set.fixed_signal, kStep_s, levels,
                        {set.learning, mornings});
  }
  return limits;
}

controls::Coupling coupling_of_loops(const SpaceModel& model, const domain::Sequence& sequence) {
  const LoopSet set = make_loops(model, sequence, 1.0, 1.0, 1.0);
  return controls::examine_coupling(set.loops, set.signal_matrix);
}

}  // namespace halflight::sim
