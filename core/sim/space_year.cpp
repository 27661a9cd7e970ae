#include "sim/space_year.hpp"

#include "base/random.hpp"
#include "controls/arbitration.hpp"
#include "energy/integrate.hpp"
#include "energy/power_curve.hpp"
#include "people/calendar.hpp"
#include "people/habits.hpp"
#include "people/presence.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include <fmt/format.h>

namespace halflight::sim {

double reflected_factor(const LitSpace& lit, double shift) {
  double weighted = 0.0;
  double total = 0.0;
  const auto surfaces = lit.scene.enclosure.surfaces();
  for (std::size_t i = 0; i < surfaces.size(); ++i) {
    weighted += lit.scene.reflectance[i] * surfaces[i].area_m2;
    total += surfaces[i].area_m2;
  }
  // Black rooms reflect nothing to begin with: keep clear of the pole.
  const double rho = std::clamp(weighted / total, 0.02, 0.95);
  const double moved = std::clamp(rho + shift, 0.02, 0.95);
  return moved / (1.0 - moved) * (1.0 - rho) / rho;
}

namespace {

using domain::Design;

/// Beam irradiance behind the glass at which people draw a shade (C. Reinhart and K. Voss, Lighting Research
/// and Technology 35, 2003: above 50 W/m2 in the room).
constexpr double kShadeBeam_w_m2 = 50.0;

/// Share of systems found not to work as meant, for "as usually found". Daylight: 64 of 123 sidelit spaces
/// saved nothing (field study of 2005). The others are assumptions: no survey with figures was found.
constexpr double kDaylightFault = 0.52;
constexpr double kOccupancyFault = 0.10;
constexpr double kTrimFault = 0.20;
constexpr double kScheduleFault = 0.10;

// Bits of controls::Strategies.
enum Bit : unsigned { kSchedule = 1, kOccupancy = 2, kScenes = 4, kTrim = 8, kDaylight = 16 };

const Design& design_of(const SpaceModel& model, Design::Role role) {
  return *domain::find_design(*model.project, role);
}

std::size_t design_index(const SpaceModel& model, Design::Role role) {
  const Design* design = domain::find_design(*model.project, role);
  return design == nullptr ? model.project->designs.size()
                           : static_cast<std::size_t>(design - model.project->designs.data());
}

int first_weekday(int year) {
  // Gauss's rule for 1 January (Gregorian calendar), here with 0 = Monday.
  const int y = year - 1;
  return (5 * (y % 4) + 4 * (y % 100) + 6 * (y % 400)) % 7;
}

IntervalSet shifted(const IntervalSet& open, double shift_s) {
  const auto shift = static_cast<Seconds>(std::lround(shift_s));
  std::vector<Interval> moved;
  for (const Interval& i : open.intervals())
    moved.push_back(
        {std::clamp<Seconds>(i.begin - shift, 0, kYear), std::clamp<Seconds>(i.end + shift, 0, kYear)});
  return IntervalSet(std::move(moved));
}

IntervalSet open_of(const SpaceModel& model, const std::string& calendar) {
  const domain::Calendar* found = domain::find_by_id(model.project->calendars, calendar);
  return found == nullptr ? IntervalSet() : people::open_time(*found, model.clock);
}

/// Mean over the points of rows, initial lx at full output of the columns of a cell, times their light loss.
double cell_lx(const SpaceModel& model, const lightresponse::PointRows& rows, const ControlCell& cell,
               double reflected) {
  double sum = 0.0;
  for (const std::size_t c : cell.columns) {
    double mean = 0.0;
    for (std::size_t p = 0; p < rows.points; ++p) mean += rows.electric_of(p)[c];
    mean /= static_cast<double>(std::max<std::size_t>(1, rows.points));
    sum += (mean + (reflected - 1.0) * rows.electric_reflected[c]) *
           light_loss(*model.project, model.lit->scene.columns[c]);
  }
  return sum;
}

const domain::Scene* scene_of(const Design& design, const std::string& id) {
  return id.empty() ? nullptr : domain::find_by_id(design.scenes, id);
}

/// Rooms that refuse automatic off keep their lights whatever the sequence says.
domain::Sequence permitted(const domain::Space& space, domain::Sequence sequence) {
  if (space.automatic_off_refused) {
    sequence.vacancy.reset();
    if (sequence.schedule) sequence.schedule->sweeps_off = false;
  }
  return sequence;
}

/// What is not replaced keeps the watts it was found with, and their error.
bool is_as_found(const domain::Project& project, const lightresponse::ChannelColumn& column) {
  const domain::Status status = luminaire_of(project, column).status;
  return project.designs[column.design].role == Design::Role::as_found || status == domain::Status::remain ||
         status == domain::Status::relocate;
}

std::vector<energy::PowerCurve> curves_of(const SpaceModel& model, const ControlCell& cell,
                                          const Draws& draws) {
  std::map<std::string, std::pair<double, int>> by_driver;
  for (const std::size_t c : cell.columns) {
    const lightresponse::ChannelColumn& column = model.lit->scene.columns[c];
    const domain::Channel& channel = type_of(*model.project, column).channels[column.channel];
    auto& [watts, count] = by_driver[channel.driver];
    watts += channel.input_w * (is_as_found(*model.project, column) ? draws.baseline_watts : draws.new_watts);
    ++count;
  }
  std::vector<energy::PowerCurve> curves;
  for (const auto& [driver_id, total] : by_driver) {
    const domain::Driver* driver = domain::find_by_id(model.project->drivers, driver_id);
    const domain::Driver plain;
    curves.push_back(
        energy::PowerCurve::of(driver == nullptr ? plain : *driver, Watts(total.first), total.second));
  }
  return curves;
}

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

// ---------------------------------------------------------------------------------------------------------

/// Daylight of one replicate on tasks and sensors, by sunny step, shades as they stand.
struct ReplicateDaylight {
  std::vector<std::vector<float>> tasks;
  std::vector<std::vector<float>> sensors;
};

/// Whether each group's shade is drawn at each sunny step.
std::vector<std::vector<bool>> shades_drawn(const SpaceModel& model, const SpaceDaylight& daylight,
                                            const IntervalSet& presence, const Draws& draws) {
  const auto& groups = model.lit->scene.window_groups;
  const std::size_t instants = model.sunny->step.size();
  std::vector<std::vector<bool>> drawn(groups.size());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    if (groups[g].shade < 0) continue;
    const domain::Shade& shade = model.project->shades[static_cast<std::size_t>(groups[g].shade)];
    drawn[g].assign(instants, shade.operation == domain::Shade::Operation::fixed_closed);
    if (shade.operation == domain::Shade::Operation::fixed_closed ||
        shade.operation == domain::Shade::Operation::fixed_open)
      continue;
    const bool by_hand = shade.operation == domain::Shade::Operation::manual;
    const RandomKey key{model.seed, hash_name(model.space->id + "/shade/" + shade.id)};
    bool down = false;
    std::uint32_t today = 0;
    auto person = presence.intervals().begin();
    for (std::size_t i = 0; i < instants; ++i) {
      const auto day = static_cast<std::uint32_t>(model.sunny->step[i] / 288);
      if (day != today) {
        today = day;
        if (down && random_uniform(key, {draws.replicate, day, hash_name("raise"), 0}) < draws.shade_raise)
          down = false;
      }
      const bool sunny = daylight.beam_on_tasks_w_m2[g][i] > kShadeBeam_w_m2;
      if (by_hand) {
        if (sunny && !down) {
          const Seconds t = static_cast<Seconds>(model.sunny->step[i]) * kStep_s;
          while (person != presence.intervals().end() && person->end <= t) ++person;
          down = person != presence.intervals().end() && person->begin < t + kStep_s;
        }
      } else {
        down = sunny;
      }
      drawn[g][i] = down;
    }
  }
  return drawn;
}

std::vector<float> standing(const RowSeries& series, const std::vector<std::vector<bool>>& drawn,
                            double reflected, std::size_t instants) {
  std::vector<float> sum(instants, 0.0F);
  for (std::size_t g = 0; g < series.size(); ++g) {
    const auto factor = static_cast<float>(1.0 + series[g].reflected_share * (reflected - 1.0));
    const bool moves = !series[g].drawn.empty();
    for (std::size_t i = 0; i < instants; ++i)
      sum[i] += factor * (moves && drawn[g][i] ? series[g].drawn[i] : series[g].open[i]);
  }
  return sum;
}

ReplicateDaylight daylight_of(const SpaceModel& model, const SpaceDaylight& daylight,
                              const IntervalSet& presence, const Draws& draws) {
  const auto drawn = shades_drawn(model, daylight, presence, draws);
  const double reflected = reflected_factor(*model.lit, draws.reflectance_shift);
  const std::size_t instants = model.sunny->step.size();
  ReplicateDaylight now;
  for (const RowSeries& series : daylight.tasks)
    now.tasks.push_back(standing(series, drawn, reflected, instants));
  for (const RowSeries& series : daylight.sensors)
    now.sensors.push_back(standing(series, drawn, reflected, instants));
  return now;
}

// ---------------------------------------------------------------------------------------------------------

/// The loops of the proposal's daylight rules under one trim, as commissioned.
struct LoopSet {
  std::vector<controls::Loop> loops;
  std::vector<double> signal_matrix;
  std::vector<double> fixed_signal;
  std::vector<std::size_t> rule;  // of each loop, index into the sequence's daylight rules
};

/// Signal at sensor `s` per unit level of full output of the cells that `pick` accepts.
template <class Pick>
double signal_of(const SpaceModel& model, std::size_t sensor, double reflected, double depreciation,
                 Pick pick) {
  const std::size_t proposal = design_index(model, Design::Role::proposal);
  double sum = 0.0;
  for (const ControlCell& cell : model.lit->cells)
    if (cell.design == proposal && pick(cell))
      sum += cell_lx(model, model.lit->sensor_rows[sensor], cell, reflected) * depreciation;
  return sum;
}

LoopSet make_loops(const SpaceModel& model, const domain::Sequence& sequence,
                   const std::vector<controls::Calibration>& calibrations, double trim, double reflected,
                   double depreciation) {
  LoopSet set;
  const Design& design = design_of(model, Design::Role::proposal);
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

/// Level that daylight leaves each loop's group, per step of the whole year, fraction of full output.
std::vector<std::vector<double>> loop_levels(const SpaceModel& model, const LoopSet& set,
                                             const ReplicateDaylight& daylight) {
  const std::size_t n = set.loops.size();
  const std::size_t instants = model.sunny->step.size();
  std::vector<std::vector<double>> lit(n, std::vector<double>(instants));
  if (n == 1) {
    controls::run_loop(set.loops[0], set.signal_matrix[0], daylight.sensors[model.rule_sensor[set.rule[0]]],
                       set.fixed_signal[0], kStep_s, lit[0]);
  } else if (n > 1) {
    std::vector<std::span<const float>> signals;
    std::vector<std::span<double>> levels;
    for (std::size_t i = 0; i < n; ++i) {
      signals.emplace_back(daylight.sensors[model.rule_sensor[set.rule[i]]]);
      levels.emplace_back(lit[i]);
    }
    controls::run_loops(set.loops, set.signal_matrix, signals, set.fixed_signal, kStep_s, levels);
  }
  std::vector<std::vector<double>> year(n);
  for (std::size_t i = 0; i < n; ++i) {
    year[i].assign(kSteps, set.loops[i].maximum_level);
    for (std::size_t k = 0; k < instants; ++k) year[i][model.sunny->step[k]] = lit[i][k];
  }
  return year;
}

// ---------------------------------------------------------------------------------------------------------

/// Energy of a timeline that nothing limits: seconds at each level are enough.
energy::LightingEnergy unlimited_energy(const controls::Timeline& timeline,
                                        std::span<const energy::PowerCurve> curves, double trim) {
  std::map<double, Seconds> at;
  for (const controls::LevelSegment& s : timeline.segments) at[s.level] += s.end - s.begin;
  energy::LightingEnergy sum;
  Seconds off = 0;
  for (const auto& [level, seconds] : at) {
    if (level <= 0.0) {
      off += seconds;
      continue;
    }
    sum.light_wh += energy::on_w(curves, level * trim) * static_cast<double>(seconds) / kSecondsPerHour;
    sum.lit_s += static_cast<double>(seconds);
  }
  sum.standby_wh = energy::standby_w(curves) * static_cast<double>(off) / kSecondsPerHour;
  return sum;
}

/// One cell's part in the power of a space.
struct Strand {
  const controls::Timeline* line = nullptr;
  std::vector<energy::PowerCurve> curves;
  std::size_t segment = 0;
  double power_w = 0.0;
};

/// Largest power that timelines call for together, by one sweep over all of them.
double largest_power(std::vector<Strand>& strands, double trim) {
  double power = 0.0;
  double largest = 0.0;
  const auto enter = [&](Strand& strand) {
    const double level = strand.line->segments[strand.segment].level;
    const double now = level > 0.0 ? energy::on_w(strand.curves, level * trim) : 0.0;
    power += now - strand.power_w;
    strand.power_w = now;
  };
  for (Strand& strand : strands) enter(strand);
  for (;;) {
    largest = std::max(largest, power);
    Seconds next = kYear;
    for (const Strand& strand : strands) next = std::min(next, strand.line->segments[strand.segment].end);
    if (next >= kYear) return largest;
    for (Strand& strand : strands) {
      if (strand.line->segments[strand.segment].end != next) continue;
      ++strand.segment;
      enter(strand);
    }
  }
}

/// A space in one replicate: what coalitions and cases share.
class Replicate {
 public:
  Replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws)
      : model_(model), draws_(draws), proposal_(design_index(model, Design::Role::proposal)) {
    const domain::Occupancy& occupancy = model.space->occupancy;
    open_as_used_ = shifted(model.open, draws.hours_shift_s);
    presence_ = people::simulate_presence(occupancy, open_as_used_, model.clock, model.seed, draws.replicate,
                                          model.space->id, draws.people_intensity);
    if (const domain::Calendar* calendar = domain::find_by_id(model.project->calendars, occupancy.calendar))
      cleaning_ = people::cleaning_visits(people::cleaning_time(*calendar, model.clock), model.seed,
                                          draws.replicate, model.space->id);
    habit_ = people::draw_habit(model.seed, draws.replicate, model.space->id, draws.passive_share);
    reflected_ = reflected_factor(*model.lit, draws.reflectance_shift);
    daylight_ = daylight_of(model, daylight, presence_.any, draws);
  }

  [[nodiscard]] const ReplicateDaylight& daylight() const { return daylight_; }
  [[nodiscard]] const IntervalSet& open_as_used() const { return open_as_used_; }
  [[nodiscard]] const people::Presence& presence() const { return presence_; }
  [[nodiscard]] double reflected() const { return reflected_; }

  /// What one way of controlling the cells of one design comes to.
  struct Outcome {
    CaseRun run;
    std::vector<float> half_hour_w;
  };

  struct Way {
    domain::Sequence sequence;
    unsigned strategies = 0;  // of the proposal; 0 for sequences of another origin
    Design::Role luminaires = Design::Role::proposal;
    bool scenes_of_design = false;  // normal scene and scenes in use are those of `luminaires`
    bool drivers_stay_powered = false;
    double device_standby_w = 0.0;
    bool schedule_as_used = true;  // open hours as people keep them; false: as the clock's calendar says
    bool of_code = false;          // the code minimum's sequence, not a mixture of as found and proposal
  };

  const controls::Timeline& timeline(const Way& way, const ControlCell& cell) {
    const Design& design = model_.project->designs[cell.design];
    const domain::Scene* normal =
        way.scenes_of_design ? scene_of(design, way.sequence.normal_scene) : nullptr;
    const double normal_level = level_in(normal, cell.scene_group, 1.0);
    std::vector<controls::SceneUse> scenes;
    if (way.scenes_of_design)
      for (const domain::Scene& scene : design.scenes)
        if (scene.space == model_.space->id && scene.id != way.sequence.normal_scene &&
            scene.use_fraction > 0.0)
          scenes.push_back({scene.use_fraction, level_in(&scene, cell.scene_group, normal_level)});
    const auto named = [](const std::vector<std::string>& groups, const std::string& group) {
      return groups.empty() || std::find(groups.begin(), groups.end(), group) != groups.end();
    };
    const bool follows_vacancy =
        way.sequence.vacancy && named(way.sequence.vacancy->groups, cell.occupancy_group);
    const bool is_swept = way.sequence.schedule && way.sequence.schedule->sweeps_off &&
                          named(way.sequence.schedule->groups, cell.schedule_group);
    // Ways that differ only in luminaires, trim or daylight share their timelines.
    std::vector<double> signature{static_cast<double>(way.strategies & (kSchedule | kOccupancy | kScenes)),
                                  way.of_code ? 1.0 : 0.0, follows_vacancy ? 1.0 : 0.0, is_swept ? 1.0 : 0.0,
                                  normal_level};
    for (const controls::SceneUse& scene : scenes) signature.push_back(scene.level);
    const auto found = timelines_.find(signature);
    if (found != timelines_.end()) return found->second;

    domain::Sequence sequence = permitted(*model_.space, way.sequence);
    if (!follows_vacancy) sequence.vacancy.reset();
    if (sequence.schedule && !is_swept) sequence.schedule->sweeps_off = false;
    const people::AutomaticOff automatic =
        sequence.vacancy ? people::AutomaticOff::sensor : people::AutomaticOff::none;
    const IntervalSet open = !sequence.schedule ? open_as_used_
                             : way.schedule_as_used
                                 ? shifted(open_of(model_, sequence.schedule->calendar), draws_.hours_shift_s)
                                 : open_of(model_, sequence.schedule->calendar);
    controls::TimelineInputs inputs{sequence, presence_.any, presence_.any, open, cleaning_};
    inputs.normal_level = normal_level;
    inputs.scenes = scenes;
    if (!daylight_.tasks.empty())
      inputs.task_daylight_lx = [this](Seconds t) {
        const std::int32_t i =
            model_.sunny
                ->index_of_step[static_cast<std::size_t>(std::clamp<Seconds>(t, 0, kYear - 1) / kStep_s)];
        if (i < 0) return 0.0;
        // People answer to the darkest place they work at.
        float least = daylight_.tasks.front()[static_cast<std::size_t>(i)];
        for (const std::vector<float>& task : daylight_.tasks)
          least = std::min(least, task[static_cast<std::size_t>(i)]);
        return static_cast<double>(least);
      };
    inputs.habits.on_at_arrival = [this](double lx) { return habit_.on_at_arrival(lx); };
    inputs.habits.off_at_departure = [this, automatic](Seconds absence) {
      return habit_.off_at_departure(absence, automatic);
    };
    inputs.key = {model_.seed, hash_name(model_.space->id)};
    inputs.replicate = draws_.replicate;
    return timelines_.emplace(std::move(signature), controls::base_timeline(inputs)).first->second;
  }

  double trim_of(const Way& way) {
    if (!way.sequence.trim) return 1.0;
    if (way.sequence.trim->high) return *way.sequence.trim->high;
    return trim_to_target(model_, way.sequence, draws_.depreciation, reflected_);
  }

  static double trim_to_target(const SpaceModel& model, const domain::Sequence& sequence, double depreciation,
                               double reflected) {
    const std::size_t proposal = design_index(model, Design::Role::proposal);
    const domain::Scene* normal = scene_of(design_of(model, Design::Role::proposal), sequence.normal_scene);
    double trim = 0.05;
    bool any = false;
    for (std::size_t t = 0; t < model.lit->task_rows.size(); ++t) {
      double lx = 0.0;
      for (const ControlCell& cell : model.lit->cells)
        if (cell.design == proposal)
          lx += level_in(normal, cell.scene_group, 1.0) *
                cell_lx(model, model.lit->task_rows[t], cell, reflected) * depreciation;
      if (lx <= 0.0) continue;
      trim = std::max(trim, model.space->task_areas[t].target_lx / lx);
      any = true;
    }
    return any ? std::min(1.0, trim) : 1.0;
  }

  /// The limit of one cell's daylight group under a way of control, or empty.
  std::span<const double> limit_of(const Way& way, const ControlCell& cell, double trim) {
    if (cell.design != proposal_ || cell.daylight_group.empty()) return {};
    const LoopsRun& run = loops_for(way, trim);
    for (std::size_t i = 0; i < run.set.loops.size(); ++i)
      if (way.sequence.daylight[run.set.rule[i]].group == cell.daylight_group) return run.levels[i];
    return {};
  }

  Outcome evaluate(const Way& way, bool with_peak, bool with_picture) {
    Outcome outcome;
    const std::size_t design = design_index(model_, way.luminaires);
    const double trim = trim_of(way);
    double rated = 0.0;
    std::vector<Strand> strands;
    if (with_picture) outcome.half_hour_w.assign(365 * 48, 0.0F);
    for (const ControlCell& cell : model_.lit->cells) {
      if (cell.design != design) continue;
      const controls::Timeline& line = timeline(way, cell);
      const std::vector<energy::PowerCurve> curves = curves_of(model_, cell, draws_);
      double cell_rated = 0.0;
      for (const energy::PowerCurve& curve : curves) cell_rated += curve.rated_w;
      const std::span<const double> limit = limit_of(way, cell, trim);
      // Coalitions that share trim and daylight share these tables; only their timelines differ.
      energy::GroupEnergy* group = nullptr;
      if (!limit.empty() || with_picture)
        group = &groups_
                     .try_emplace({&cell, limit.empty() ? nullptr : limit.data(), trim}, curves, trim, limit,
                                  kStep_s)
                     .first->second;
      const energy::LightingEnergy e =
          limit.empty() ? unlimited_energy(line, curves, trim)
                        : group->over(std::span<const controls::LevelSegment>(line.segments));
      outcome.run.light_wh += e.light_wh;
      if (way.drivers_stay_powered) outcome.run.standby_wh += e.standby_wh;
      outcome.run.lit_h += cell_rated * e.lit_s / kSecondsPerHour;
      rated += cell_rated;
      if (with_peak) strands.push_back({&line, curves, 0, 0.0});
      if (with_picture) {
        for (const controls::LevelSegment& s : line.segments) {
          if (s.level <= 0.0) continue;
          for (Seconds t = s.begin; t < s.end;) {
            const Seconds end = std::min(s.end, (t / 1800 + 1) * 1800);
            outcome.half_hour_w[static_cast<std::size_t>(t / 1800)] +=
                static_cast<float>(group->on_watt_seconds(s.level, t, end) / 1800.0);
            t = end;
          }
        }
      }
    }
    if (rated > 0.0) outcome.run.lit_h /= rated;
    outcome.run.standby_wh += way.device_standby_w * (static_cast<double>(kYear) / kSecondsPerHour);
    if (with_peak) outcome.run.peak_w = largest_power(strands, trim);
    return outcome;
  }

 private:
  struct LoopsRun {
    LoopSet set;
    std::vector<std::vector<double>> levels;
  };

  const LoopsRun& loops_for(const Way& way, double trim) {
    std::vector<double> signature{trim, way.of_code ? 1.0 : 0.0};
    for (const domain::DaylightRule& rule : way.sequence.daylight) {
      signature.push_back(rule.minimum_level);
      signature.push_back(rule.may_switch_off ? 1.0 : 0.0);
      signature.push_back(static_cast<double>(hash_name(rule.group)));
    }
    const auto found = loops_.find(signature);
    if (found != loops_.end()) return found->second;
    LoopsRun run;
    if (!daylight_.sensors.empty() && !way.sequence.daylight.empty()) {
      run.set = make_loops(model_, way.sequence, model_.calibrations, trim, reflected_, draws_.depreciation);
      run.levels = loop_levels(model_, run.set, daylight_);
    }
    return loops_.emplace(std::move(signature), std::move(run)).first->second;
  }

  const SpaceModel& model_;
  Draws draws_;
  std::size_t proposal_;
  IntervalSet open_as_used_;
  people::Presence presence_;
  IntervalSet cleaning_;
  people::Habit habit_;
  double reflected_ = 1.0;
  ReplicateDaylight daylight_;
  std::map<std::vector<double>, controls::Timeline> timelines_;
  std::map<std::vector<double>, LoopsRun> loops_;
  std::map<std::tuple<const ControlCell*, const double*, double>, energy::GroupEnergy> groups_;
};

bool differ(const std::optional<domain::ScheduleRule>& a, const std::optional<domain::ScheduleRule>& b) {
  if (!a || !b) return a.has_value() != b.has_value();
  return a->calendar != b->calendar || a->before_open_s != b->before_open_s ||
         a->after_close_s != b->after_close_s || a->sweeps_off != b->sweeps_off ||
         a->override_s != b->override_s || a->groups != b->groups;
}

/// Strategies that can make a difference here; the others are null players.
unsigned active_strategies(const SpaceModel& model) {
  const domain::Sequence& a = model.as_found.sequence;
  const domain::Sequence& p = model.proposal.sequence;
  unsigned mask = 0;
  if (differ(a.schedule, p.schedule)) mask |= kSchedule;
  if (a.vacancy || p.vacancy || a.on.by != p.on.by || a.on.level != p.on.level) mask |= kOccupancy;
  const Design& design = design_of(model, Design::Role::proposal);
  const bool scenes = std::any_of(design.scenes.begin(), design.scenes.end(), [&](const domain::Scene& s) {
    return s.space == model.space->id && (s.id == p.normal_scene || s.use_fraction > 0.0);
  });
  if (scenes || a.manual || p.manual) mask |= kScenes;
  if (a.trim || p.trim) mask |= kTrim;
  if (!a.daylight.empty() || !p.daylight.empty()) mask |= kDaylight;
  return mask;
}

Replicate::Way way_of_coalition(const SpaceModel& model, unsigned mask) {
  Replicate::Way way;
  way.sequence = controls::merged(model.as_found.sequence, model.proposal.sequence,
                                  controls::Strategies::from_mask(mask));
  way.strategies = mask;
  way.scenes_of_design = (mask & kScenes) != 0;
  way.schedule_as_used = (mask & active_strategies(model) & kSchedule) == 0;
  return way;
}

Replicate::Way way_of_proposal(const SpaceModel& model) {
  Replicate::Way way = way_of_coalition(model, 31);
  way.drivers_stay_powered = model.proposal_has_devices;
  way.device_standby_w = model.device_standby_w;
  return way;
}

}  // namespace

SpaceModel make_space_model(const domain::Project& project, const LitSpace& lit, const SunnySteps& sunny,
                            const CaseControl& code_minimum, const SpaceDaylight& daylight,
                            std::uint32_t seed) {
  SpaceModel model;
  model.project = &project;
  model.space = &project.spaces[lit.index];
  model.lit = &lit;
  model.sunny = &sunny;
  model.seed = seed;
  model.clock = CivilTime(project.site.daylight_saving, first_weekday(project.site.calendar_year));
  model.open = open_of(model, model.space->occupancy.calendar);
  model.code_minimum = code_minimum;
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
  if (proposal == nullptr) return model;
  if (const domain::Sequence* sequence = domain::find_sequence(*proposal, id))
    model.proposal.sequence = *sequence;
  model.device_standby_w = device_standby(project, *proposal, id);
  model.proposal_has_devices = has_devices(*proposal, id);

  // Commissioning: signal and task light are recorded through a year with shades as used, people as expected.
  const domain::Sequence& sequence = model.proposal.sequence;
  Draws nominal;
  const Replicate replicate(model, daylight, nominal);
  const double trim = sequence.trim
                          ? sequence.trim->high.value_or(Replicate::trim_to_target(model, sequence, 1.0, 1.0))
                          : 1.0;
  std::vector<std::size_t> occupied;
  for (std::size_t i = 0; i < sunny.step.size(); ++i)
    if (model.open.contains(static_cast<Seconds>(sunny.step[i]) * kStep_s)) occupied.push_back(i);
  for (const domain::DaylightRule& rule : sequence.daylight) {
    std::size_t sensor = lit.sensors.size();
    for (std::size_t s = 0; s < lit.sensors.size(); ++s)
      if (proposal->photosensors[lit.sensors[s]].id == rule.photosensor) sensor = s;
    std::size_t task = lit.task_rows.size();
    for (std::size_t t = 0; t < model.space->task_areas.size(); ++t)
      if (model.space->task_areas[t].id == rule.task_area) task = t;
    model.rule_sensor.push_back(sensor);
    model.rule_task.push_back(task);
    controls::Calibration calibration;
    if (sensor < lit.sensors.size() && task < lit.task_rows.size() && !replicate.daylight().sensors.empty()) {
      std::vector<float> signal;
      std::vector<float> lux;
      for (const std::size_t i : occupied) {
        signal.push_back(replicate.daylight().sensors[sensor][i]);
        lux.push_back(replicate.daylight().tasks[task][i]);
      }
      const auto mine = [&](const ControlCell& cell) { return cell.daylight_group == rule.group; };
      controls::CalibrationInputs inputs;
      inputs.method = rule.method;
      inputs.daylight_signal_lx = signal;
      inputs.daylight_task_lx = lux;
      inputs.own_signal_lx = signal_of(model, sensor, 1.0, 1.0, mine);
      for (const ControlCell& cell : lit.cells)
        if (cell.design == design_index(model, Design::Role::proposal) && mine(cell))
          inputs.own_task_lx += cell_lx(model, lit.task_rows[task], cell, 1.0);
      inputs.night_signal_lx =
          trim * signal_of(model, sensor, 1.0, 1.0, [](const ControlCell&) { return true; });
      inputs.percentile = rule.calibration_percentile;
      if (inputs.own_task_lx > 0.0) calibration = controls::calibrate(inputs);
    }
    model.calibrations.push_back(calibration);
  }
  return model;
}

double reflected_share_of_electric(const SpaceModel& model, std::size_t task) {
  const std::size_t proposal = design_index(model, Design::Role::proposal);
  const lightresponse::PointRows& rows = model.lit->task_rows[task];
  double all = 0.0;
  double reflected = 0.0;
  for (std::size_t c = 0; c < rows.columns; ++c) {
    if (model.lit->scene.columns[c].design != proposal) continue;
    for (std::size_t p = 0; p < rows.points; ++p)
      all += rows.electric_of(p)[c] / static_cast<double>(rows.points);
    reflected += rows.electric_reflected[c];
  }
  return all > 0.0 ? reflected / all : 0.0;
}

double trim_to_target(const SpaceModel& model, const domain::Sequence& sequence, double light_factor) {
  return Replicate::trim_to_target(model, sequence, light_factor, 1.0);
}

ReplicateRun run_replicate(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                           bool keep_picture) {
  Replicate replicate(model, daylight, draws);
  ReplicateRun run;

  Replicate::Way found;
  found.sequence = model.as_found.sequence;
  found.luminaires = Design::Role::as_found;
  found.scenes_of_design = !found.sequence.normal_scene.empty();
  found.device_standby_w = model.device_standby_as_found_w;
  run.cases[0] = replicate.evaluate(found, true, false).run;

  Replicate::Way relamped = way_of_coalition(model, 0);
  relamped.device_standby_w = model.device_standby_as_found_w;
  run.cases[1] = replicate.evaluate(relamped, true, false).run;

  Replicate::Way code;
  code.sequence = model.code_minimum.sequence;
  code.of_code = true;
  code.schedule_as_used = false;
  // Its sensors switch through relays, which leave the drivers without power.
  code.device_standby_w =
      code.sequence.vacancy || !code.sequence.daylight.empty() ? model.device_standby_w : 0.0;
  run.cases[2] = replicate.evaluate(code, true, false).run;

  Replicate::Outcome proposal = replicate.evaluate(way_of_proposal(model), true, keep_picture);
  run.cases[3] = proposal.run;
  run.half_hour_w = std::move(proposal.half_hour_w);

  const unsigned active = active_strategies(model);
  for (unsigned mask = 0; mask < 32; ++mask) {
    if ((mask & ~active) != 0) {
      run.coalition_wh[mask] = run.coalition_wh[mask & active];
    } else if (mask == 0) {
      run.coalition_wh[mask] = run.cases[1].light_wh;
    } else if (mask == active) {
      run.coalition_wh[mask] = run.cases[3].light_wh;
    } else {
      run.coalition_wh[mask] = replicate.evaluate(way_of_coalition(model, mask), false, false).run.light_wh;
    }
  }

  const RandomKey fault_key{model.seed, hash_name(model.space->id + "/faults")};
  const auto fails = [&](const char* what, double chance) {
    return random_uniform(fault_key, {draws.replicate, 0, hash_name(what), 0}) < chance;
  };
  unsigned works = 31;
  if (fails("daylight", kDaylightFault)) works &= ~static_cast<unsigned>(kDaylight);
  if (fails("occupancy", kOccupancyFault)) works &= ~static_cast<unsigned>(kOccupancy);
  if (fails("trim", kTrimFault)) works &= ~static_cast<unsigned>(kTrim);
  if (fails("schedule", kScheduleFault)) works &= ~static_cast<unsigned>(kSchedule);
  run.as_usually_found = run.cases[3];
  run.as_usually_found.light_wh = run.coalition_wh[works];

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

results::Moment explain_moment(const SpaceModel& model, const SpaceDaylight& daylight, const Draws& draws,
                               Seconds civil) {
  results::Moment moment;
  moment.at_civil_s = civil;
  const Seconds t = model.clock.standard(civil);
  Replicate replicate(model, daylight, draws);
  const Replicate::Way way = way_of_proposal(model);
  const double trim = replicate.trim_of(way);
  const std::size_t proposal = design_index(model, Design::Role::proposal);

  const auto& present = replicate.presence().any;
  if (present.contains(t)) {
    moment.sentences.emplace_back("Somebody is in the room.");
  } else {
    Seconds last = -1;
    for (const Interval& i : present.intervals())
      if (i.end <= t) last = i.end;
    moment.sentences.push_back(
        last < 0                 ? std::string("Nobody has been in the room yet this year.")
        : t - last < 2 * kMinute ? fmt::format("The room has been empty for {} s.", t - last)
                                 : fmt::format("The room has been empty for {} min.", (t - last) / kMinute));
  }
  const std::int32_t sunny = model.sunny->index_of_step[static_cast<std::size_t>(t / kStep_s)];
  double task_lx = 0.0;
  const double daylight_lx = sunny < 0 || replicate.daylight().tasks.empty()
                                 ? 0.0
                                 : replicate.daylight().tasks[0][static_cast<std::size_t>(sunny)];
  for (const ControlCell& cell : model.lit->cells) {
    if (cell.design != proposal) continue;
    const controls::LevelSegment& segment = replicate.timeline(way, cell).at(t);
    double level = segment.level * trim;
    const std::span<const double> limit = replicate.limit_of(way, cell, trim);
    const bool limited = !limit.empty() && limit[static_cast<std::size_t>(t / kStep_s)] < level;
    if (limited) level = limit[static_cast<std::size_t>(t / kStep_s)];
    // Cells of one scene group are told apart by what daylight does to them.
    const std::string part = cell.daylight_group.empty() ? "" : " (" + cell.daylight_group + ")";
    std::string sentence = fmt::format("Group {}{}: {}, at {:.0f} % of full output", cell.name, part,
                                       controls::words_of(segment.cause), 100.0 * level);
    if (limited && sunny >= 0) {
      for (std::size_t r = 0; r < way.sequence.daylight.size(); ++r) {
        if (way.sequence.daylight[r].group != cell.daylight_group) continue;
        if (model.rule_sensor[r] >= replicate.daylight().sensors.size()) continue;
        sentence +=
            fmt::format("; photosensor {} sees {:.0f} lx of daylight and lets it sink",
                        way.sequence.daylight[r].photosensor,
                        replicate.daylight().sensors[model.rule_sensor[r]][static_cast<std::size_t>(sunny)]);
      }
    }
    moment.sentences.push_back(sentence + ".");
    if (!model.lit->task_rows.empty())
      task_lx +=
          level * cell_lx(model, model.lit->task_rows[0], cell, replicate.reflected()) * draws.depreciation;
  }
  if (!model.lit->task_rows.empty())
    moment.sentences.push_back(
        fmt::format("{} then has {:.0f} lx: {:.0f} lx of daylight and {:.0f} lx of electric light.",
                    model.space->task_areas[0].name, daylight_lx + task_lx, daylight_lx, task_lx));
  return moment;
}

}  // namespace halflight::sim
