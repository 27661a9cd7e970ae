#include "sim/photosensor_siting.hpp"

#include "base/sums.hpp"
#include "base/units.hpp"
#include "photometry/spectrum.hpp"
#include "sim/daylight_limits.hpp"
#include "sim/electric_states.hpp"
#include "sim/rule_year.hpp"
#include "sim/space_year.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>
#include <string>
#include <utility>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

/// A sensor as high as a luminaire, give or take so much, cannot hang where the luminaire is.
constexpr double kSameHeight_m = 0.1;

/// Places that are worked on together: they share the skies of the year, and theirs is in memory at once,
/// about a megabyte each.
constexpr std::size_t kBatch = 80;

/// Electric light on one task from the loops' levels.
class ElectricOnTask {
 public:
  ElectricOnTask(const SpaceModel& model, std::size_t task, const LoopYear& year,
                 const DaylightLimits& limits) {
    const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
    const domain::Scene* normal = normal_scene(model);
    const lightresponse::PointRows& rows = model.lit->task_rows[task];
    for (const ControlCell& cell : model.lit->cells) {
      if (cell.design != proposal) continue;
      const auto limit =
          std::find_if(limits.groups.begin(), limits.groups.end(), [&](const DaylightLimits::Group& group) {
            return !cell.daylight_group.empty() && group.group == cell.daylight_group;
          });
      for (const std::size_t column : cell.columns) {
        Part part;
        part.asked = year.trim * level_in(normal, cell.scene_group, 1.0);
        part.least_light = least_light(*model.project, model.lit->scene.columns[column]);
        if (limit != limits.groups.end()) part.limit = &*limit;
        std::vector<double> weight(model.lit->scene.columns.size(), 0.0);
        weight[column] = light_loss(*model.project, model.lit->scene.columns[column]) * year.depreciation;
        part.full_lx = mean_lx(rows, weight, year.reflected);
        add(part);
      }
    }
  }

  /// Without daylight.
  [[nodiscard]] double night_lx() const {
    double lx = 0.0;
    for (const Part& part : parts_) lx += given(part, part.asked);
    return lx;
  }
  /// Of the groups that `accepts` a limit of, at sunny step `step`.
  template <class Accepts>
  [[nodiscard]] double at(std::size_t step, Accepts accepts) const {
    double lx = 0.0;
    for (const Part& part : parts_)
      if (accepts(part.limit))
        lx += given(part, part.limit == nullptr ? part.asked : std::min(part.asked, part.limit->level[step]));
    return lx;
  }
  /// Of one group at such a level.
  [[nodiscard]] double of_group(const DaylightLimits::Group* group, double level) const {
    double lx = 0.0;
    for (const Part& part : parts_)
      if (part.limit == group) lx += given(part, std::min(part.asked, level));
    return lx;
  }

 private:
  /// Luminaires that always do the same.
  struct Part {
    double least_light = 0.0;
    const DaylightLimits::Group* limit = nullptr;  // null: no loop moves it
    double asked = 1.0;
    double full_lx = 0.0;
  };
  static double given(const Part& part, double level) {
    return light_given(part.least_light, level) * part.full_lx;
  }
  void add(const Part& part) {
    for (Part& known : parts_)
      if (known.least_light == part.least_light && known.limit == part.limit && known.asked == part.asked) {
        known.full_lx += part.full_lx;
        return;
      }
    parts_.push_back(part);
  }

  std::vector<Part> parts_;
};

/// Reads what has been kept, and keeps what is new for a while only: rows of places that nobody may ever
/// choose.
class KeptForAWhile final : public BlobStore {
 public:
  KeptForAWhile(BlobStore& lasting, BlobStore& scratch) : lasting_(lasting), scratch_(scratch) {}
  std::optional<std::vector<std::byte>> get(const Hash& key) override {
    auto blob = scratch_.get(key);
    return blob ? std::move(blob) : lasting_.get(key);
  }
  void put(const Hash& key, std::span<const std::byte> bytes) override { scratch_.put(key, bytes); }

 private:
  BlobStore& lasting_;
  BlobStore& scratch_;
};

Diagnostics refused(const std::string& where, const std::string& problem, const std::string& remedy) {
  return {{Diagnostic::Severity::error, "", where, problem, remedy}};
}

/// Whether a luminaire of the proposal is in the way at a place.
bool luminaire_stands_at(const domain::Project& project, const LitSpace& lit, Point3 at) {
  for (const lightresponse::ChannelColumn& column : lit.scene.columns) {
    if (project.designs[column.design].role != domain::Design::Role::proposal) continue;
    const domain::Luminaire& luminaire = luminaire_of(project, column);
    if (std::abs(luminaire.at.z - at.z) >= kSameHeight_m) continue;
    const domain::LuminaireType& type = type_of(project, column);
    const double turn = luminaire.rotation_deg * kRadPerDeg;
    const double dx = at.x - luminaire.at.x;
    const double dy = at.y - luminaire.at.y;
    if (std::abs(std::cos(turn) * dx + std::sin(turn) * dy) <= 0.5 * type.length_m &&
        std::abs(std::cos(turn) * dy - std::sin(turn) * dx) <= 0.5 * type.width_m)
      return true;
  }
  return false;
}

/// Where a sensor `below_m` under the ceiling may hang, on a lattice of such spacing; breaks off beyond
/// kMostPlaces, which are too many.
std::vector<Point3> lattice(const SpaceModel& model, double below_m, double spacing_m) {
  const Box2 box = bounds(model.space->floor);
  const auto count = [&](double length) {
    return std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(length / spacing_m)));
  };
  const std::size_t columns = count(box.high.x - box.low.x);
  const std::size_t rows = count(box.high.y - box.low.y);
  const auto place = [&](double low, double high, std::size_t i, std::size_t n) {
    return 0.5 * (low + high) + (static_cast<double>(i) - 0.5 * static_cast<double>(n - 1)) * spacing_m;
  };
  std::vector<Point3> places;
  for (std::size_t row = 0; row < rows && places.size() <= kMostPlaces; ++row)
    for (std::size_t column = 0; column < columns; ++column) {
      const Point2 p{place(box.low.x, box.high.x, column, columns), place(box.low.y, box.high.y, row, rows)};
      if (const auto at = hanging_place(*model.project, *model.lit, p, below_m)) places.push_back(*at);
    }
  return places;
}

}  // namespace

std::optional<Point3> hanging_place(const domain::Project& project, const LitSpace& lit, Point2 p,
                                    double below_m) {
  const Enclosure& room = lit.scene.enclosure;
  const Surface& ceiling = room.surfaces()[room.ceiling_surface()];
  if (!contains(project.spaces[lit.index].floor, p)) return std::nullopt;
  const double ceiling_m = room.ceiling_z_at(p);
  const Vector3 from_corner = Point3{p.x, p.y, ceiling_m} - ceiling.corner;
  // No place under a skylight, in a wall that reaches the ceiling or in a luminaire.
  if (!contains(ceiling.region, {dot(from_corner, ceiling.frame.x), dot(from_corner, ceiling.frame.y)}))
    return std::nullopt;
  const Point3 at{p.x, p.y, ceiling_m - below_m};
  if (room.observation_origin(at, {0, 0, -1}).state != ObservationOrigin::State::clear) return std::nullopt;
  if (luminaire_stands_at(project, lit, at)) return std::nullopt;
  return at;
}

LightHeld light_held(std::span<const StepOnTask> steps, double target_lx, double promised_lx) {
  LightHeld held;
  if (steps.empty()) return held;
  CompensatedSum squares;
  CompensatedSum over;
  std::size_t under = 0;
  for (const StepOnTask& step : steps) {
    const double above = std::max(0.0, step.lx - step.most_lx);
    const double below = std::max(0.0, step.least_lx - step.lx);
    squares.add(above * above + below * below);
    over.add(above);
    if (step.lx < kUnderLit * promised_lx) ++under;
  }
  const auto n = static_cast<double>(steps.size());
  held.rms = std::sqrt(squares.value() / n) / target_lx;
  held.over = over.value() / n / target_lx;
  held.under_share = static_cast<double>(under) / n;
  return held;
}

bool holds_better(const LightHeld& a, const LightHeld& b) {
  const bool a_falls_short = a.under_share > kSeldom;
  const bool b_falls_short = b.under_share > kSeldom;
  if (a_falls_short != b_falls_short) return b_falls_short;
  return a_falls_short ? a.under_share < b.under_share : a.rms < b.rms;
}

RuleHeld rule_held(const SpaceModel& model, std::size_t rule, const LoopYear& year,
                   std::span<const std::size_t> occupied) {
  const domain::DaylightRule& its = model.proposal.sequence.daylight[rule];
  const std::size_t task = model.rule_task[rule];
  const DaylightLimits limits = daylight_limits(model, model.proposal.sequence, year.trim, year.reflected,
                                                year.depreciation, year.daylight);
  const auto own = std::find_if(limits.groups.begin(), limits.groups.end(),
                                [&](const DaylightLimits::Group& group) { return group.group == its.group; });
  const DaylightLimits::Group* const group = own == limits.groups.end() ? nullptr : &*own;
  const ElectricOnTask electric(model, task, year, limits);

  RuleHeld result;
  result.night_lx = electric.night_lx();
  const double lowest_lx =
      group == nullptr ? 0.0 : electric.of_group(group, std::min(its.minimum_level, year.trim));
  std::vector<StepOnTask> steps;
  for (const std::size_t i : occupied) {
    const double day_lx = year.daylight.tasks[task][i];
    if (day_lx < controls::kDaylitFrom_lx) continue;
    const double beside_lx = day_lx + electric.at(i, [&](const auto* limit) { return limit != group; });
    const double own_lx = electric.at(i, [&](const auto* limit) { return limit == group; });
    // Where daylight is more than enough the loop stands at its lowest level, or has switched off.
    steps.push_back({beside_lx + own_lx,
                     std::max(result.night_lx, beside_lx + (its.may_switch_off ? 0.0 : lowest_lx)),
                     std::max(result.night_lx, beside_lx + lowest_lx)});
  }
  result.steps = steps.size();
  const double target_lx = model.space->task_areas[task].target_lx;
  result.held = light_held(steps, target_lx, std::min(target_lx, result.night_lx));
  return result;
}

namespace {

/// Tries places in one room for one rule.
class Trial {
 public:
  Trial(const ReadySpaces& ready, const Replicate& replicate, std::size_t rule,
        const domain::Photosensor& device, const Context& context)
      : ready_(ready),
        replicate_(replicate),
        rule_(rule),
        device_(device),
        context_(context),
        kept_(context.blobs, context.scratch == nullptr ? context.blobs : *context.scratch),
        quiet_{context.executor, kept_, nullptr, context.stop, context.scratch},
        room_(ready.lit().front()),
        project_(*replicate.model().project),
        model_(replicate.model()),
        nominal_(model_, ready.daylight_by_year.front().front(), Draws{}),
        occupied_(open_steps(model_)),
        light_(room_.scene, ready.outside_of[room_.index], ready.light, quiet_, log_) {
    // The device hangs at places that are tried under a number of its own.
    const std::size_t proposal = design_index(model_, domain::Design::Role::proposal);
    project_.designs[proposal].photosensors.push_back(device);
    first_ = room_.sensors.size();
    number_ = project_.designs[proposal].photosensors.size() - 1;
    model_.project = &project_;
    model_.lit = &room_;
    scale_ = sensor_scale(project_, room_, device);
  }

  /// Errors as SpaceLight::rows.
  Result<std::vector<SensorPlace>> at(std::span<const Point3> all) {
    std::vector<SensorPlace> places;
    for (std::size_t begin = 0; begin < all.size(); begin += kBatch) {
      Result<std::vector<SensorPlace>> some =
          batch(all.subspan(begin, std::min(kBatch, all.size() - begin)), begin, all.size());
      if (!some) return some;
      places.insert(places.end(), some->begin(), some->end());
    }
    context_.report("photosensor places", all.size(), all.size());
    return places;
  }

 private:
  Result<std::vector<SensorPlace>> batch(std::span<const Point3> at, std::size_t before, std::size_t total) {
    const std::size_t n = at.size();
    const bool has_windows = !room_.scene.window_groups.empty();
    std::vector<lightresponse::PointRows> rows(n);
    std::vector<lightresponse::PaneRows> panes(n);
    std::vector<lightresponse::SunlitShares> sun(n);
    std::vector<Diagnostics> problems(n);
    std::atomic<std::size_t> done = before;
    context_.executor.for_each(n, [&](std::size_t k) {
      context_.check_cancelled();
      domain::Photosensor there = device_;
      there.at = at[k];
      const lightresponse::PointSet set = sensor_point(there);
      Result<lightresponse::PointRows> made = light_.rows(set);
      if (!made) {
        problems[k] = std::move(made.error());
        return;
      }
      rows[k] = *std::move(made);
      if (!room_.scene.panes.empty()) {
        Result<lightresponse::PaneRows> of_panes = light_.pane_rows(set);
        if (!of_panes) {
          problems[k] = std::move(of_panes.error());
          return;
        }
        panes[k] = *std::move(of_panes);
      }
      if (has_windows) sun[k] = light_.sunlit_now(set, ready_.sunny.sun);
      context_.report("photosensor places", ++done, total);
    });
    for (Diagnostics& problem : problems)
      if (!problem.empty()) return tl::unexpected(std::move(problem));

    // Commissioned in the first weather year, at work in the replicate's.
    const std::size_t year = replicate_.weather_year();
    const std::vector<RowSeries> first = through_year(0, rows, sun);
    const std::vector<RowSeries> later = year == 0 ? std::vector<RowSeries>() : through_year(year, rows, sun);
    LitSpace with_sensors = room_;
    ShadedDaylight daylight = replicate_.daylight();
    with_sensors.sensors.resize(first_ + n, number_);
    with_sensors.sensor_rows.resize(first_ + n);
    daylight.sensors.resize(first_ + n);
    SpaceModel base = model_;
    base.lit = &with_sensors;
    base.sensor_scales.resize(first_ + n, scale_);
    for (std::size_t k = 0; k < n; ++k) with_sensors.sensor_rows[first_ + k] = std::move(rows[k]);

    std::vector<controls::Calibration> calibrations(n);
    context_.executor.for_each(n, [&](std::size_t k) {
      context_.check_cancelled();
      const std::vector<float> signal =
          sensor_reading(base, scale_, first[k], panes[k], nominal_.daylight(), nominal_.reflected());
      const std::size_t task = base.rule_task[rule_];
      const std::size_t open = base.rule_open_sensor[rule_];
      const std::span<const float> open_lx = open < first_
                                                 ? std::span<const float>(nominal_.daylight().sensors[open])
                                                 : std::span<const float>();
      calibrations[k] = commissioned(base, base.proposal.sequence.daylight[rule_], first_ + k, task, signal,
                                     nominal_.daylight().tasks[task], open_lx, occupied_);
      daylight.sensors[first_ + k] = sensor_reading(base, scale_, year == 0 ? first[k] : later[k], panes[k],
                                                    replicate_.daylight(), replicate_.reflected());
    });
    const LoopYear loop_year{
        daylight,
        high_end_trim(base, base.proposal.sequence, replicate_.depreciation(), replicate_.reflected()),
        replicate_.reflected(), replicate_.depreciation()};
    std::vector<SensorPlace> places(n);
    context_.executor.for_each(n, [&](std::size_t k) {
      context_.check_cancelled();
      SpaceModel model = base;
      model.rule_sensor[rule_] = first_ + k;
      model.calibrations[rule_] = calibrations[k];
      places[k] = {at[k], calibrations[k].usable, rule_held(model, rule_, loop_year, occupied_).held};
    });
    return places;
  }

  [[nodiscard]] std::vector<RowSeries> through_year(std::size_t year,
                                                    std::span<const lightresponse::PointRows> rows,
                                                    std::span<const lightresponse::SunlitShares> sun) const {
    return rows_through_year(project_, room_, rows, sun, ready_.outside_of[room_.index], ready_.sky,
                             ready_.weather_tracks[year], ready_.sunny, quiet_, ready_.sky_keys[year]);
  }

  const ReadySpaces& ready_;
  const Replicate& replicate_;
  std::size_t rule_;
  const domain::Photosensor& device_;
  const Context& context_;
  KeptForAWhile kept_;
  Context quiet_;  // the stages of the light would report on their own
  lightresponse::StageLog log_;
  const LitSpace& room_;
  domain::Project project_;
  SpaceModel model_;
  Replicate nominal_;
  std::vector<std::size_t> occupied_;
  lightresponse::SpaceLight light_;
  std::size_t first_ = 0;   // sensor of the space that is tried
  std::size_t number_ = 0;  // of the device in the design
  SensorScale scale_;
};

}  // namespace

Result<PhotosensorPlaces> photosensor_places(const ReadySpaces& ready, const Replicate& replicate,
                                             std::size_t rule, const Context& context) {
  const SpaceModel& model = replicate.model();
  const std::vector<domain::DaylightRule>& rules = model.proposal.sequence.daylight;
  if (rule >= rules.size())
    return tl::unexpected(
        refused(model.space->id,
                fmt::format("the room has {} daylight rules; there is no number {}", rules.size(), rule),
                "add a daylight rule to its sequence, or count from 0"));
  const std::size_t task = model.rule_task[rule];
  if (task >= model.lit->task_rows.size())
    return tl::unexpected(refused(
        model.space->id,
        fmt::format("the task area {} of the daylight rule is not in the room", rules[rule].task_area),
        "name a task area of the room"));
  if (!model.lit->has_daylight())
    return tl::unexpected(
        refused(model.space->id, "no daylight reaches the room", "draw its windows and skylights"));

  PhotosensorPlaces result;
  const std::size_t sensor = model.rule_sensor[rule];
  const bool stands = sensor < model.lit->sensors.size();
  const Enclosure& room = model.lit->scene.enclosure;
  double below_m = 0.0;
  if (stands) {
    const std::size_t proposal = design_index(model, domain::Design::Role::proposal);
    result.device = model.project->designs[proposal].photosensors[model.lit->sensors[sensor]];
    below_m = room.ceiling_z_at({result.device.at.x, result.device.at.y}) - result.device.at.z;
  }
  result.target_lx = model.space->task_areas[task].target_lx;

  // As even as the room allows, in steps of 0.1 m.
  std::vector<Point3> at;
  for (int step = 0;; ++step) {
    result.spacing_m = kLeastSpacing_m + 0.1 * step;
    at = lattice(model, below_m, result.spacing_m);
    if (at.size() <= kMostPlaces) break;
  }
  if (at.empty())
    return tl::unexpected(refused(model.space->id, "the ceiling has no place for a photosensor",
                                  "hang it just below the ceiling, clear of luminaires"));
  if (stands) at.push_back(result.device.at);

  Trial trial(ready, replicate, rule, result.device, context);
  Result<std::vector<SensorPlace>> places = trial.at(at);
  if (!places) return tl::unexpected(std::move(places.error()));
  result.places = *std::move(places);
  if (stands) {
    result.present = result.places.back();
    result.places.pop_back();
  }
  for (std::size_t i = 0; i < result.places.size(); ++i)
    if (result.places[i].usable &&
        (!result.best || holds_better(result.places[i].held, result.places[*result.best].held)))
      result.best = i;
  // What does not depend on where the sensor hangs.
  const LoopYear year{
      replicate.daylight(),
      high_end_trim(model, model.proposal.sequence, replicate.depreciation(), replicate.reflected()),
      replicate.reflected(), replicate.depreciation()};
  const RuleHeld now = rule_held(model, rule, year, open_steps(model));
  result.night_lx = now.night_lx;
  result.steps = now.steps;
  return result;
}

}  // namespace halflight::sim
