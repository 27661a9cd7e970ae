#include "sim/live_room.hpp"

#include "sim/daylight_lines.hpp"
#include "sim/explain.hpp"
#include "sim/light_states.hpp"
#include "sim/ready_spaces.hpp"
#include "sim/space_results.hpp"

#include <algorithm>
#include <utility>

namespace halflight::sim {

namespace {

/// `kept` with its columns picked and new ones in between: column c of the result is column `from[c]` of
/// `kept`, or the next of `fresh` where that is negative.
lightresponse::PointRows with_columns(const lightresponse::PointRows& kept,
                                      const lightresponse::PointRows& fresh,
                                      const std::vector<std::ptrdiff_t>& from) {
  lightresponse::PointRows rows;
  rows.points = kept.points;
  rows.columns = from.size();
  const auto pick = [&](const std::vector<float>& old, const std::vector<float>& made) {
    std::vector<float> all;
    all.reserve(rows.points * rows.columns);
    for (std::size_t p = 0; p < rows.points; ++p) {
      std::size_t next = 0;
      for (const std::ptrdiff_t c : from)
        all.push_back(c < 0 ? made[p * fresh.columns + next++]
                            : old[p * kept.columns + static_cast<std::size_t>(c)]);
    }
    return all;
  };
  rows.electric = pick(kept.electric, fresh.electric);
  rows.electric_reflected = pick(kept.electric_reflected, fresh.electric_reflected);
  rows.mesh_step = pick(kept.mesh_step, fresh.mesh_step);
  rows.gather_error = pick(kept.gather_error, fresh.gather_error);
  rows.sample_error = pick(kept.sample_error, fresh.sample_error);
  return rows;
}

/// The level of a luminaire's channel that nobody has set yet: that of another channel in its scene group, or
/// nothing where no other is known.
std::optional<double> level_of_group(const domain::Project& project, const domain::Design& design,
                                     const std::string& channel, const std::map<std::string, double>& known) {
  for (const domain::Group& group : design.groups) {
    if (group.strategy != domain::Strategy::scene) continue;
    bool is_member = false;
    std::optional<double> level;
    for (const std::string& entry : group.channels)
      for (const std::string& member : domain::channels_of(project, design, entry)) {
        is_member = is_member || member == channel;
        if (const auto found = known.find(member); found != known.end()) level = found->second;
      }
    if (is_member) return level;
  }
  return std::nullopt;
}

/// Daylight at every point of the plan at one instant after another: the lines are made once, and what
/// changes with the instant is written where they look.
class PlanDaylight {
 public:
  PlanDaylight(const domain::Project& project, const LitSpace& lit, const lightresponse::SpaceLight& light,
               const daylight::Outside& outside, lightresponse::PointRows rows,
               lightresponse::PaneRows pane_rows, lightresponse::PointSet set)
      : project_(project),
        lit_(lit),
        light_(light),
        laws_(project, lit),
        rows_(std::move(rows)),
        pane_rows_(std::move(pane_rows)),
        set_(std::move(set)) {
    const std::size_t groups = lit.scene.window_groups.size();
    sun_.instants = 1;
    sun_.groups = groups;
    sun_.share.resize(rows_.points * groups);
    sun_on_groups_.resize(groups);
    open_.resize(rows_.points * groups);
    drawn_.resize(rows_.points * groups);
    for (std::size_t p = 0; p < rows_.points; ++p)
      for (std::size_t g = 0; g < groups; ++g) {
        lines_.emplace_back(lit, rows_, sun_, sun_on_groups_, p, g, laws_.open[g], outside,
                            &open_[p * groups + g]);
        if (laws_.has_shade[g])
          lines_.emplace_back(lit, rows_, sun_, sun_on_groups_, p, g, laws_.drawn[g], outside,
                              &drawn_[p * groups + g]);
        reflected_share_.push_back(reflected_share(rows_, p, g, outside));
      }
  }

  /// lx at each point at sunny step number `sunny` of the replicate, with its shades as in `shaded`.
  std::vector<float> at(const ReadySpaces& ready, const Replicate& replicate, const ShadedDaylight& shaded,
                        std::size_t sunny, const Context& context) {
    std::vector<float> lx(rows_.points, 0.0F);
    const std::size_t groups = lit_.scene.window_groups.size();
    if (groups > 0) {
      const Vector3 sun = ready.sunny.sun[sunny];
      // Copied over, so that the lines still find their sun where they look.
      std::ranges::copy(light_.sunlit_now(set_, {&sun, 1}).share, sun_.share.begin());
      std::ranges::copy(light_.sun_on_groups({&sun, 1}), sun_on_groups_.begin());
      DaylitInstants instant;
      instant.add(static_cast<Seconds>(ready.sunny.step[sunny]) * kStep_s + kStep_s / 2, sun);
      run_lines(project_, ready.sky, ready.weather_tracks[replicate.weather_year()], instant, lines_,
                context);
      for (std::size_t p = 0; p < rows_.points; ++p)
        for (std::size_t g = 0; g < groups; ++g) {
          const std::size_t i = p * groups + g;
          const bool is_drawn = laws_.has_shade[g] && shaded.drawn[g][sunny];
          const auto factor = static_cast<float>(1.0 + reflected_share_[i] * (replicate.reflected() - 1.0));
          lx[p] += factor * (is_drawn ? drawn_[i] : open_[i]);
        }
    }
    for (std::size_t pane = 0; pane < shaded.far_side.size(); ++pane)
      for (std::size_t p = 0; p < rows_.points; ++p) {
        const lightresponse::PaneRows::Reading& reading = pane_rows_.of(p, pane);
        const double gain = lit_.panes[pane].gain(reading) +
                            (replicate.reflected() - 1.0) * lit_.panes[pane].reflected_gain(reading);
        lx[p] += static_cast<float>(gain) * shaded.far_side[pane][sunny];
      }
    return lx;
  }

 private:
  const domain::Project& project_;
  const LitSpace& lit_;
  const lightresponse::SpaceLight& light_;
  SpaceLaws laws_;
  lightresponse::PointRows rows_;
  lightresponse::PaneRows pane_rows_;
  lightresponse::PointSet set_;
  lightresponse::SunlitShares sun_;
  std::vector<float> sun_on_groups_;
  std::vector<float> open_;
  std::vector<float> drawn_;
  std::vector<double> reflected_share_;
  std::vector<DaylightLine> lines_;
};

}  // namespace

struct LiveRoom::State {
  State(const StudyInputs& its_inputs, const StudyOptions& options, std::size_t space,
        const Context& its_context)
      : inputs(its_inputs), context(its_context), ready(inputs, options, {space}, context, log) {}

  StudyInputs inputs;
  Context context;
  lightresponse::StageLog log;
  ReadySpaces ready;
  // The rest only of a room that could be lit.
  std::optional<Replicate> replicate;
  std::optional<WayAtWork> work;
  std::optional<lightresponse::SpaceLight> light;
  std::optional<PlanDaylight> plan_daylight;  // made when first asked for
  // Of the task areas, then of the plan; made when a luminaire is first moved.
  std::vector<lightresponse::SpaceLight::ObserversOfSet> observers;

  [[nodiscard]] const SpaceModel& model() const { return ready.models.front(); }
  [[nodiscard]] const LitSpace& lit() const { return ready.lit().front(); }

  void run(const Draws& draws) {
    replicate.emplace(model(), ready.daylight_by_year[draws.weather_year].front(), draws,
                      Replicate::Causes::tell);
    work.emplace(*replicate, way_of_proposal(model()));
    light.emplace(lit().scene, ready.outside_of[lit().index], ready.light, context, log);
  }

  std::vector<float> plan_daylight_at(Seconds standard) {
    const std::optional<std::size_t> sunny = work->sunny_step(standard);
    if (!sunny || !lit().has_daylight() || lit().plan_set.points.empty()) return {};
    if (!plan_daylight) {
      lightresponse::PointSet set = lit().plan_set;
      set.wants_electric = false;
      set.wants_daylight = true;
      set.of_each_point = true;
      Result<lightresponse::PointRows> rows = light->rows(set);
      if (!rows) return {};
      lightresponse::PaneRows panes;
      if (!lit().scene.panes.empty()) {
        Result<lightresponse::PaneRows> made = light->pane_rows(set);
        if (!made) return {};
        panes = *std::move(made);
      }
      plan_daylight.emplace(inputs.project, lit(), *light, ready.outside_of[lit().index], *std::move(rows),
                            std::move(panes), std::move(set));
    }
    return plan_daylight->at(ready, *replicate, work->daylight(standard), *sunny, context);
  }

  void hold(ColumnLevels& level, const HeldLevels& held, double trim) const {
    const std::size_t proposal = design_index(model(), domain::Design::Role::proposal);
    for (const ControlCell& cell : lit().cells) {
      if (cell.design != proposal) continue;
      if (const auto found = held.find(cell.scene_group); found != held.end())
        for (const std::size_t column : cell.columns) level[column] = found->second * trim;
    }
  }

  /// Points of all task areas and of the plan have looked about. Errors as SpaceLight::rows.
  Result<void> need_observers() {
    if (!observers.empty()) return {};
    std::vector<const lightresponse::PointSet*> sets;
    for (const lightresponse::PointSet& set : lit().task_sets) sets.push_back(&set);
    sets.push_back(&lit().plan_set);
    for (const lightresponse::PointSet* set : sets) {
      auto made = light->observers(*set);
      if (!made) {
        observers.clear();
        return tl::unexpected(std::move(made.error()));
      }
      observers.push_back(*std::move(made));
    }
    return {};
  }

  /// The room's light as it is, in columns of its own scene.
  void fill(const ColumnLevels& level, RoomLight& now) const {
    fill(*model().project, lit().scene.columns, lit().task_rows, lit().plan_rows, level, now);
  }

  /// Light with such channels at `level`; `now` holds its factors and daylight.
  void fill(const domain::Project& project, std::span<const lightresponse::ChannelColumn> columns,
            const std::vector<lightresponse::PointRows>& task_rows, const lightresponse::PointRows& plan_rows,
            const ColumnLevels& level, RoomLight& now) const {
    std::vector<double> weight = light_weights(project, columns, level, true);
    for (double& w : weight) w *= now.depreciation;
    now.tasks.resize(task_rows.size());
    for (std::size_t t = 0; t < task_rows.size(); ++t) {
      RoomLight::Task& task = now.tasks[t];
      task.electric_lx = 0.0;
      task.min_lx = 0.0;
      for (std::size_t p = 0; p < task_rows[t].points; ++p) {
        const double lx = lx_at(task_rows[t], p, weight, now.reflected);
        task.electric_lx += lx / static_cast<double>(task_rows[t].points);
        task.min_lx = p == 0 ? lx : std::min(task.min_lx, lx);
      }
      task.mean_lx = task.electric_lx + task.daylight_lx;
    }
    std::vector<float> plan(plan_rows.points);
    for (std::size_t p = 0; p < plan.size(); ++p) {
      plan[p] = static_cast<float>(lx_at(plan_rows, p, weight, now.reflected));
      if (!now.plan_daylight_lx.empty()) plan[p] += now.plan_daylight_lx[p];
    }
    now.plan = plan_grid_of(lit(), model().space->floor, plan);
    now.error_lx = lightresponse::numerical_error_lx(plan_rows, weight);
    now.power_w = now.watts * power_w(project, columns, level);
    now.channels.clear();
    const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
    for (std::size_t c = 0; c < level.size(); ++c)
      if (&project.designs[columns[c].design] == proposal) now.channels[columns[c].id] = level[c];
  }
};

LiveRoom::LiveRoom(std::unique_ptr<State> state) : state_(std::move(state)) {}
LiveRoom::~LiveRoom() = default;

Result<std::unique_ptr<LiveRoom>> LiveRoom::make(const StudyInputs& inputs, const StudyOptions& options,
                                                 std::size_t space, const Context& context) {
  auto state = std::make_unique<State>(inputs, options, space, context);
  if (const std::string& why = state->ready.why_dark.front(); !why.empty())
    return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", inputs.project.spaces[space].id,
                                       "the room cannot be lit: " + why, "mend what it names"}});
  const Uncertainty uncertainty =
      draw_uncertainty(inputs.project, options.seed, options.scrambles, options.points_per_scramble,
                       state->ready.weather.size(), options.spread);
  state->run(uncertainty.draws.front());
  return std::unique_ptr<LiveRoom>(new LiveRoom(std::move(state)));
}

const SpaceModel& LiveRoom::model() const { return state_->model(); }
const WayAtWork& LiveRoom::work() const { return *state_->work; }
double LiveRoom::connected_w() const { return sim::connected_w(model(), domain::Design::Role::proposal); }

double LiveRoom::at(YearQuantity quantity, Seconds civil) const {
  const WayAtWork& work = *state_->work;
  const Seconds t = std::clamp<Seconds>(model().clock.standard(civil), 0, kYear - 1);
  const bool has_task = !state_->lit().task_rows.empty();
  switch (quantity) {
    case YearQuantity::power: {
      double watts = work.way().device_standby_w;
      for (const CellAtWork& now : work.at(t)) watts += now.light_w + now.standby_w;
      const double connected = connected_w();
      return connected > 0.0 ? watts / connected : 0.0;
    }
    case YearQuantity::presence:
      return work.replicate().presence().any.contains(t) ? 1.0 : 0.0;
    case YearQuantity::task_light:
      return has_task ? work.daylight_on_task_lx(0, t) + work.electric_on_task_lx(0, work.at(t)) : 0.0;
    case YearQuantity::daylight:
      return has_task ? work.daylight_on_task_lx(0, t) : 0.0;
  }
  return 0.0;
}

std::vector<float> LiveRoom::year(YearQuantity quantity) const {
  std::vector<float> values(kSteps);
  for (std::size_t i = 0; i < kSteps; ++i)
    values[i] = static_cast<float>(at(quantity, static_cast<Seconds>(i) * kStep_s));
  return values;
}

LiveRoom::SunHours LiveRoom::sun_hours() const {
  const SunUp sun(state_->ready.track);
  return {hours_by_the_clock(sun.rises, model().clock), hours_by_the_clock(sun.sets, model().clock)};
}

results::Moment LiveRoom::explain(Seconds civil) const {
  return explain_moment(*state_->work, std::clamp<Seconds>(model().clock.standard(civil), 0, kYear - 1));
}

RoomLight LiveRoom::light_at(Seconds civil, const HeldLevels& held) {
  const WayAtWork& work = *state_->work;
  const Seconds t = std::clamp<Seconds>(model().clock.standard(civil), 0, kYear - 1);
  ColumnLevels level = work.columns(work.at(t));
  state_->hold(level, held, work.trim());
  RoomLight now;
  now.depreciation = work.replicate().depreciation();
  now.reflected = work.replicate().reflected();
  now.watts = work.replicate().new_watts();
  now.plan_daylight_lx = state_->plan_daylight_at(t);
  now.tasks.resize(state_->lit().task_rows.size());
  for (std::size_t task = 0; task < now.tasks.size(); ++task)
    now.tasks[task].daylight_lx = work.daylight_on_task_lx(task, t);
  state_->fill(level, now);
  return now;
}

RoomLight LiveRoom::light_of_scene(const std::string& scene, const HeldLevels& held) const {
  const domain::Scene* normal = normal_scene(model());
  const domain::Scene* called = normal;
  for (const domain::Scene* one : scenes_of(model()))
    if (one->id == scene) called = one;
  const double trim = trim_in_force(model());
  ColumnLevels level = levels(model(), [&](const ControlCell& cell) {
    return high_end_of(cell, trim) *
           level_in(called, cell.scene_group, level_in(normal, cell.scene_group, 1.0));
  });
  state_->hold(level, held, trim);
  RoomLight now;
  state_->fill(level, now);
  return now;
}

Result<RoomLight> LiveRoom::light_with(const StudyInputs& changed, const RoomLight& like) {
  const LitSpace& lit = state_->lit();
  const Result<std::vector<lightresponse::ChannelColumn>> columns =
      lightresponse::channel_columns(changed.project, lit.index, changed.photometry_files);
  if (!columns) return tl::unexpected(columns.error());
  if (Result<void> looked = state_->need_observers(); !looked) return tl::unexpected(looked.error());

  // Only what shines from elsewhere than before is computed.
  std::vector<std::ptrdiff_t> from;
  std::vector<lightresponse::ChannelColumn> fresh;
  for (const lightresponse::ChannelColumn& column : *columns) {
    const auto same = std::find_if(lit.scene.columns.begin(), lit.scene.columns.end(),
                                   [&](const auto& known) { return known.key == column.key; });
    from.push_back(same == lit.scene.columns.end() ? -1 : same - lit.scene.columns.begin());
    if (from.back() < 0) fresh.push_back(column);
  }
  const std::vector<lightresponse::PointRows> fresh_rows = state_->light->rows_for(state_->observers, fresh);
  std::vector<lightresponse::PointRows> task_rows;
  for (std::size_t t = 0; t < lit.task_rows.size(); ++t)
    task_rows.push_back(with_columns(lit.task_rows[t], fresh_rows[t], from));
  const lightresponse::PointRows plan_rows = with_columns(lit.plan_rows, fresh_rows.back(), from);

  const domain::Design* proposal = domain::find_design(changed.project, domain::Design::Role::proposal);
  ColumnLevels level(columns->size(), 0.0);
  for (std::size_t c = 0; c < level.size(); ++c) {
    const lightresponse::ChannelColumn& column = (*columns)[c];
    if (&changed.project.designs[column.design] != proposal) continue;
    const auto known = like.channels.find(column.id);
    level[c] = known != like.channels.end()
                   ? known->second
                   : level_of_group(changed.project, *proposal, column.id, like.channels)
                         .value_or(trim_in_force(model()));
  }
  RoomLight now = like;
  state_->fill(changed.project, *columns, task_rows, plan_rows, level, now);
  return now;
}

Result<PhotosensorPlaces> LiveRoom::photosensor_places(std::size_t rule, const Context& context) const {
  return sim::photosensor_places(state_->ready, *state_->replicate, rule, context);
}

}  // namespace halflight::sim
