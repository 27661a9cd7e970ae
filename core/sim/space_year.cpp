#include "sim/space_year.hpp"

#include "base/random.hpp"
#include "photometry/spectrum.hpp"
#include "sim/divided_room.hpp"
#include "sim/hvac_zones.hpp"
#include "sim/scene_targets.hpp"
#include "sim/task_lamps.hpp"

#include <algorithm>
#include <cmath>

namespace halflight::sim {

using domain::Design;

namespace {

template <class Devices>
double standby_of(const Design& design, const Devices& devices, const std::string& space) {
  double sum = 0.0;
  for (const auto& device : devices)
    if (device.space == space && domain::stands_in(design, device.status)) sum += device.standby_w;
  return sum;
}

template <class Devices>
bool any_in(const Design& design, const Devices& devices, const std::string& space) {
  return std::any_of(devices.begin(), devices.end(),
                     [&](const auto& d) { return d.space == space && domain::stands_in(design, d.status); });
}

double device_standby(const domain::Project& project, const Design& design, const std::string& space) {
  double sum = standby_of(design, design.occupancy_sensors, space) +
               standby_of(design, design.photosensors, space) + standby_of(design, design.stations, space) +
               standby_of(design, design.load_controllers, space) +
               standby_of(design, design.time_clocks, space) + standby_of(design, design.interfaces, space) +
               standby_of(design, design.infrastructure, space);
  for (const domain::Luminaire& luminaire : design.luminaires) {
    if (luminaire.space != space || !domain::stands_in(design, luminaire.status)) continue;
    if (const auto* type = domain::find_by_id(project.luminaire_types, luminaire.type))
      sum += type->watts_per_luminaire_extra_w;
  }
  return sum;
}

bool has_devices(const Design& design, const std::string& space) {
  return any_in(design, design.occupancy_sensors, space) || any_in(design, design.photosensors, space) ||
         any_in(design, design.load_controllers, space) || any_in(design, design.time_clocks, space) ||
         any_in(design, design.infrastructure, space);
}

/// Strategies that can make a difference here; the others are null players.
unsigned active_strategies(const SpaceModel& model) {
  const domain::Sequence& a = model.as_found.sequence;
  const domain::Sequence& p = model.proposal.sequence;
  unsigned mask = 0;
  if (a.schedule != p.schedule) mask |= kSchedule;
  if (a.vacancy || p.vacancy || a.on.by != p.on.by || a.on.level != p.on.level || any_lamp_sensor(model))
    mask |= kOccupancy;
  const Design* design = domain::find_design(*model.project, Design::Role::proposal);
  const bool scenes =
      design != nullptr &&
      std::any_of(design->scenes.begin(), design->scenes.end(), [&](const domain::Scene& s) {
        return s.space == model.space->id && (s.id == p.normal_scene || domain::use_share(s) > 0.0);
      });
  if (scenes || a.manual || p.manual) mask |= kScenes;
  if (a.trim || p.trim) mask |= kTrim;
  if (!a.daylight.empty() || !p.daylight.empty()) mask |= kDaylight;
  return mask;
}

Way way_of_coalition(const SpaceModel& model, unsigned mask) {
  Way way;
  way.sequence = controls::merged(model.as_found.sequence, model.proposal.sequence,
                                  controls::Strategies::from_mask(mask));
  way.scenes_of_design = (mask & kScenes) != 0;
  way.sensors = (mask & kOccupancy) != 0 ? Design::Role::proposal : Design::Role::as_found;
  way.schedule_as_used = (mask & active_strategies(model) & kSchedule) == 0;
  return way;
}

}  // namespace

Way way_as_found(const SpaceModel& model) {
  Way way;
  way.sequence = model.as_found.sequence;
  way.luminaires = Design::Role::as_found;
  way.sensors = Design::Role::as_found;
  way.scenes_of_design = !way.sequence.normal_scene.empty();
  way.device_standby_w = model.device_standby_as_found_w;
  return way;
}

Way way_of_relamped(const SpaceModel& model) {
  Way way = way_of_coalition(model, 0);
  way.device_standby_w = model.device_standby_as_found_w;
  return way;
}

Way way_of_proposal(const SpaceModel& model) {
  Way way = way_of_coalition(model, 31);
  way.drivers_stay_powered = model.proposal_has_devices;
  way.device_standby_w = model.device_standby_w;
  return way;
}

namespace {

/// How the light was when somebody set a loop by day. Where the sun stands is known, whether a cloud hid it
/// only for tasks.
DaySetUp day_set_up(const SpaceModel& model, const SpaceDaylight& daylight, const ShadedDaylight& shaded,
                    std::size_t sensor, std::size_t task, const domain::DaySetting& setting) {
  DaySetUp found;
  const std::optional<std::size_t> step = sunny_step_of(model, setting);
  if (!step) return found;
  found.task_lx = shaded.tasks[task][*step];
  const LitSpace& lit = *model.lit;
  for (std::size_t g = 0; g < lit.scene.window_groups.size(); ++g) {
    if (g < shaded.drawn.size() && !shaded.drawn[g].empty() && shaded.drawn[g][*step]) continue;
    const auto reaches = [&](const std::vector<lightresponse::SunlitShares>& all, std::size_t i) {
      return i < all.size() && g < all[i].groups && all[i].of(0, g)[*step] > 0.0F;
    };
    const bool shines = g < daylight.beam_on_tasks_w_m2.size() && !daylight.beam_on_tasks_w_m2[g].empty() &&
                        daylight.beam_on_tasks_w_m2[g][*step] > 0.0F;
    found.sun_on_task = found.sun_on_task || (shines && reaches(lit.task_sun, task));
    found.sun_may_reach_sensor = found.sun_may_reach_sensor || reaches(lit.sensor_sun, sensor);
  }
  return found;
}

/// A space with its people and nothing that is controlled.
SpaceModel model_of_people(const domain::Project& project, const domain::Space& space, const LitSpace& lit,
                           const SunnySteps& sunny, std::uint32_t seed) {
  SpaceModel model;
  model.project = &project;
  model.space = &space;
  model.lit = &lit;
  model.sunny = &sunny;
  model.seed = seed;
  model.clock = clock_of(project.site);
  model.open = open_of(model, model.space->occupancy.calendar);
  return model;
}

}  // namespace

SpaceModel make_space_model(const domain::Project& project, const LitSpace& lit, const SunnySteps& sunny,
                            const CaseControl& code_minimum, const SpaceDaylight& daylight,
                            std::uint32_t seed) {
  const domain::Space& space = project.spaces[lit.index];
  SpaceModel model = model_of_people(project, space, lit, sunny, seed);
  for (const BorrowedPane& pane : lit.panes)
    model.lenders.push_back(pane.lender == nullptr ? nullptr
                                                   : std::make_shared<const SpaceModel>(model_of_people(
                                                         project, project.spaces[pane.lender->index],
                                                         *pane.lender, sunny, seed)));
  model.code_minimum = code_minimum;
  model.watched = watched_space(project, *model.space);
  model.part_of_cell = parts_of_cells(project, space, lit);
  const std::string& id = model.space->id;
  domain::Sequence by_hand;
  by_hand.space = id;
  model.as_found.sequence = by_hand;
  model.proposal.sequence = by_hand;
  if (const Design* design = domain::find_design(project, Design::Role::as_found)) {
    if (const domain::Sequence* sequence = domain::find_sequence(*design, id))
      model.as_found.sequence = *sequence;
    model.device_standby_as_found_w = device_standby(project, *design, id);
  }
  const Design* proposal = domain::find_design(project, Design::Role::proposal);
  if (proposal != nullptr)
    if (const domain::Sequence* sequence = domain::find_sequence(*proposal, id))
      model.proposal.sequence = *sequence;
  for (const CaseControl* control : {&model.as_found, &model.proposal})
    if (control->sequence.vacancy)
      for (const std::string& holder : control->sequence.vacancy->held_by) {
        const domain::Space* other = domain::find_by_id(project.spaces, holder);
        if (other == nullptr || other == model.space || model.holder(holder) != nullptr) continue;
        auto people = std::make_shared<SpaceModel>(model_of_people(project, *other, lit, sunny, seed));
        people->watched = watched_space(project, *other);
        model.holders.push_back(std::move(people));
      }
  if (proposal == nullptr) return model;
  model.device_standby_w = device_standby(project, *proposal, id);
  model.proposal_has_devices = has_devices(*proposal, id);
  for (const std::size_t sensor : lit.sensors)
    model.sensor_scales.push_back(sensor_scale(project, lit, proposal->photosensors[sensor]));

  // Commissioning: signal and task light are recorded through a year with shades as used, people as expected.
  Replicate replicate(model, daylight, Draws{});
  model.by_day = daylight_beside_scenes(replicate);
  const std::vector<std::size_t> occupied = open_steps(model);
  for (const domain::DaylightRule& rule : model.proposal.sequence.daylight) {
    std::size_t sensor = lit.sensors.size();
    for (std::size_t s = 0; s < lit.sensors.size(); ++s)
      if (proposal->photosensors[lit.sensors[s]].id == rule.photosensor) sensor = s;
    std::size_t open = lit.sensors.size();
    for (std::size_t s = 0; s < lit.sensors.size(); ++s)
      if (proposal->photosensors[lit.sensors[s]].id == rule.open_photosensor) open = s;
    std::size_t task = lit.task_rows.size();
    for (std::size_t t = 0; t < model.space->task_areas.size(); ++t)
      if (model.space->task_areas[t].id == rule.task_area) task = t;
    model.rule_sensor.push_back(sensor);
    model.rule_open_sensor.push_back(open);
    model.rule_task.push_back(task);
    controls::Calibration calibration;
    std::optional<DaySetUp> set_up;
    if (sensor < lit.sensors.size() && task < lit.task_rows.size() && !replicate.daylight().sensors.empty()) {
      const std::span<const float> open_lx = open < lit.sensors.size()
                                                 ? std::span<const float>(replicate.daylight().sensors[open])
                                                 : std::span<const float>();
      calibration = commissioned(model, rule, sensor, task, replicate.daylight().sensors[sensor],
                                 replicate.daylight().tasks[task], open_lx, occupied);
      if (rule.calibrated_at)
        set_up = day_set_up(model, daylight, replicate.daylight(), sensor, task, *rule.calibrated_at);
    }
    model.calibrations.push_back(calibration);
    model.day_set_up.push_back(set_up);
  }
  return model;
}

SensorScale sensor_scale(const domain::Project& project, const LitSpace& lit,
                         const domain::Photosensor& sensor) {
  SensorScale scale;
  scale.daylight = photometry::reading_per_lx_of_daylight(sensor);
  for (const lightresponse::ChannelColumn& column : lit.scene.columns)
    scale.electric.push_back(
        photometry::reading_per_lx_of(sensor, type_of(project, column).channels[column.channel].spectrum));
  return scale;
}

std::vector<std::size_t> open_steps(const SpaceModel& model) {
  std::vector<std::size_t> steps;
  for (std::size_t i = 0; i < model.sunny->step.size(); ++i)
    if (model.open.contains(static_cast<Seconds>(model.sunny->step[i]) * kStep_s)) steps.push_back(i);
  return steps;
}

std::optional<std::size_t> sunny_step_of(const SpaceModel& model, const domain::DaySetting& setting) {
  const Seconds civil = day_of_year(setting.on) * kDay + setting.at_s;
  const Seconds standard = std::clamp<Seconds>(model.clock.standard(civil), 0, kYear - 1);
  const std::int32_t index = model.sunny->index_of_step[static_cast<std::size_t>(standard / kStep_s)];
  if (index < 0) return std::nullopt;
  return static_cast<std::size_t>(index);
}

controls::Calibration commissioned(const SpaceModel& model, const domain::DaylightRule& rule,
                                   std::size_t sensor, std::size_t task, std::span<const float> signal_lx,
                                   std::span<const float> task_lx, std::span<const float> open_lx,
                                   std::span<const std::size_t> occupied) {
  std::vector<float> signal;
  std::vector<float> lux;
  std::vector<float> open;
  for (const std::size_t i : occupied) {
    signal.push_back(signal_lx[i]);
    lux.push_back(task_lx[i]);
    if (!open_lx.empty()) open.push_back(open_lx[i]);
  }
  const auto mine = [&](const ControlCell& cell) { return cell.daylight_group == rule.group; };
  controls::CalibrationInputs inputs;
  inputs.method = rule.method;
  inputs.daylight_signal_lx = signal;
  inputs.daylight_task_lx = lux;
  inputs.open_signal_lx = open;
  if (rule.calibrated_at) {
    inputs.set_by_day.emplace();
    if (const std::optional<std::size_t> i = sunny_step_of(model, *rule.calibrated_at))
      inputs.set_by_day =
          controls::CalibrationInputs::Day{signal_lx[*i], task_lx[*i], open_lx.empty() ? 0.0 : open_lx[*i]};
  }
  inputs.own_signal_lx = signal_of(model, sensor, 1.0, 1.0, mine);
  for (const ControlCell& cell : model.lit->cells)
    if (cell.design == design_index(model, Design::Role::proposal) && mine(cell))
      inputs.own_task_lx += cell_lx(model, model.lit->task_rows[task], cell, 1.0);
  inputs.night_signal_lx =
      trimmed_signal_of(model, sensor, high_end_trim(model, model.proposal.sequence, 1.0, 1.0), 1.0, 1.0,
                        [](const ControlCell&) { return true; });
  inputs.percentile = rule.calibration_percentile;
  return inputs.own_task_lx > 0.0 ? controls::calibrate(inputs) : controls::Calibration{};
}

ReplicateRun run_replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                           bool keep_picture) {
  Replicate replicate(model, daylight, draws);
  ReplicateRun run;

  const Way found = way_as_found(model);
  run.cases[0] = replicate.evaluate(found);
  run.as_found_by_day = replicate.days_of_use(found);
  run.cases[1] = replicate.evaluate(way_of_relamped(model));

  Way code;
  code.sequence = model.code_minimum.sequence;
  code.sensors.reset();
  code.schedule_as_used = false;
  // Its sensors switch through relays, which leave the drivers without power.
  code.device_standby_w =
      code.sequence.vacancy || !code.sequence.daylight.empty() ? model.device_standby_w : 0.0;
  run.cases[2] = replicate.evaluate(code);

  const Way proposal = way_of_proposal(model);
  run.cases[3] = replicate.evaluate(proposal);
  run.rules = rule_years(replicate, proposal);
  const std::vector<Fault> faults = faults_of(model);
  if (draws.replicate < kYearsOfFaults) run.faults = fault_runs(replicate, faults);
  run.as_usually_found =
      replicate.evaluate(usually_found(model, faults, draws.replicate, run.cases[3].taken_from_people));
  run.plugs = plug_runs(replicate);
  run.events = event_runs(replicate);
  run.contact_changes = contact_changes(replicate);
  run.divided_h = static_cast<double>(replicate.divided().measure()) / kSecondsPerHour;
  if (keep_picture) run.half_hour_w = replicate.half_hour_w(proposal);

  const unsigned active = active_strategies(model);
  for (unsigned mask = 0; mask < 32; ++mask) {
    if ((mask & ~active) != 0) {
      run.coalition_wh[mask] = run.coalition_wh[mask & active];
    } else if (mask == 0) {
      run.coalition_wh[mask] = run.cases[1].light_wh;
    } else if (mask == active) {
      run.coalition_wh[mask] = run.cases[3].light_wh;
    } else {
      run.coalition_wh[mask] = replicate.evaluate(way_of_coalition(model, mask)).light_wh;
    }
  }

  std::size_t open_steps = 0;
  std::vector<std::size_t> above(model.lit->task_rows.size(), 0);
  for (const Interval& open : replicate.open_as_used().intervals()) {
    const auto first = static_cast<std::size_t>((open.begin + kStep_s - 1) / kStep_s);
    const auto last = static_cast<std::size_t>((open.end + kStep_s - 1) / kStep_s);
    for (std::size_t k = first; k < last; ++k) {
      ++open_steps;
      const std::int32_t i = model.sunny->index_of_step[k];
      if (i < 0) continue;
      for (std::size_t t = 0; t < above.size(); ++t)
        if (replicate.daylight().tasks[t][static_cast<std::size_t>(i)] >=
            model.space->task_areas[t].target_lx)
          ++above[t];
    }
  }
  for (const std::size_t n : above)
    run.daylight_hours_fraction.push_back(
        open_steps == 0 ? 0.0 : static_cast<double>(n) / static_cast<double>(open_steps));
  return run;
}

}  // namespace halflight::sim
