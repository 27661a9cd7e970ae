#include "choose/starting_light.hpp"

#include "choose/lumen_method.hpp"
#include "lightresponse/response.hpp"
#include "photometry/flux.hpp"
#include "sim/lit_space.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

/// Suspension of pendants where the ceiling is high enough to walk below them.
constexpr double kSuspension_m = 0.4;
constexpr double kLeastPendant_m = 2.2;
/// Of what stands on a desk, above the floor (common practice, no source).
constexpr double kTaskLamp_m = 1.15;
/// Rows of the light response are made for one luminaire at a time and reused from grid to grid; more trials
/// than this would mean that light falls as luminaires are added.
constexpr int kMostTrials = 12;

tl::unexpected<Diagnostics> refuse(std::string problem, std::string remedy) {
  return tl::unexpected(
      Diagnostics{{Diagnostic::Severity::error, "", "", std::move(problem), std::move(remedy)}});
}

double height_of(const domain::LuminaireType& type, double ceiling_m) {
  switch (type.mounting) {
    case domain::LuminaireType::Mounting::recessed:
      return ceiling_m;
    case domain::LuminaireType::Mounting::surface:
    case domain::LuminaireType::Mounting::wall:
      return ceiling_m - type.height_m;
    case domain::LuminaireType::Mounting::plug_in:
      return std::min(kTaskLamp_m, ceiling_m);
    case domain::LuminaireType::Mounting::pendant:
      return std::max(std::min(ceiling_m - type.height_m, kLeastPendant_m), ceiling_m - kSuspension_m);
  }
  return ceiling_m;
}

}  // namespace

bool LitGrid::holds_targets() const {
  return std::all_of(tasks.begin(), tasks.end(), [](const Task& t) { return t.mean_lx >= t.target_lx; });
}

struct TrialRoom::State {
  State(const sim::StudyInputs& its_inputs, std::size_t its_space, const Context& context)
      : inputs(its_inputs),
        project(its_inputs.project),
        space(its_space),
        options(sim::light_options(sim::Accuracy::design)),
        sky(options.sky_division),
        outside(sky, daylight::Compass(project.site.plan_north_deg),
                std::span<const daylight::OutsideSolid>()),
        its_context(context) {
    project.designs.clear();
    project.designs.emplace_back().role = domain::Design::Role::proposal;
  }

  const sim::StudyInputs& inputs;
  domain::Project project;  // with one design, which holds the luminaires that are tried
  std::size_t space;
  lightresponse::LightOptions options;
  climate::SkyDivision sky;
  daylight::Outside outside;
  Context its_context;
  lightresponse::StageLog log;
  std::optional<lightresponse::SpaceScene> scene;
  std::optional<lightresponse::SpaceLight> light;
  std::vector<std::size_t> tasks;                                    // horizontal ones
  std::vector<lightresponse::SpaceLight::ObserversOfSet> observers;  // of the tasks, then of the plan
  results::PlanGrid plan;
  std::vector<std::size_t> plan_cells;

  [[nodiscard]] const domain::Space& room() const { return project.spaces[space]; }

  Result<void> prepare() {
    auto made = lightresponse::make_scene(project, space, inputs.photometry_files, options);
    if (!made) return tl::unexpected(made.error());
    scene = *std::move(made);
    light.emplace(*scene, outside, options, its_context, log);
    std::vector<lightresponse::PointSet> sets;
    for (std::size_t t = 0; t < room().task_areas.size(); ++t) {
      if (room().task_areas[t].plane != domain::TaskArea::Plane::horizontal) continue;
      tasks.push_back(t);
      sets.push_back(sim::task_points(room().task_areas[t]));
    }
    if (tasks.empty())
      return refuse("the room has no horizontal task area that a target holds on", "draw one");
    sets.push_back(plan_points());
    for (const lightresponse::PointSet& set : sets) {
      auto seen = light->observers(set);
      if (!seen) return tl::unexpected(seen.error());
      observers.push_back(*std::move(seen));
    }
    return {};
  }

  lightresponse::PointSet plan_points() {
    const Box2 box = bounds(room().floor);
    plan.step_m = std::clamp(std::sqrt(area(room().floor)) / 18.0, 0.25, 0.8);
    plan.columns = static_cast<int>(std::ceil((box.high.x - box.low.x) / plan.step_m));
    plan.rows = static_cast<int>(std::ceil((box.high.y - box.low.y) / plan.step_m));
    plan.x0_m = box.low.x + 0.5 * plan.step_m;
    plan.y0_m = box.low.y + 0.5 * plan.step_m;
    plan.values_lx.assign(static_cast<std::size_t>(plan.columns * plan.rows), -1.0F);
    lightresponse::PointSet set;
    for (int r = 0; r < plan.rows; ++r)
      for (int c = 0; c < plan.columns; ++c) {
        const Point2 p{plan.x0_m + c * plan.step_m, plan.y0_m + r * plan.step_m};
        if (!contains(room().floor, p)) continue;
        set.points.push_back({{p.x, p.y, room().task_areas[tasks.front()].height_m}, {0, 0, 1}, {}});
        plan_cells.push_back(static_cast<std::size_t>(r * plan.columns + c));
      }
    return set;
  }

  /// Index of a type in the project, which takes it from the library where it is not there yet.
  Result<std::size_t> type_of(const std::string& id) {
    for (std::size_t t = 0; t < project.luminaire_types.size(); ++t)
      if (project.luminaire_types[t].id == id) return t;
    const domain::LuminaireType* known = domain::find_by_id(inputs.library.luminaire_types, id);
    if (known == nullptr)
      return refuse(fmt::format("there is no luminaire type \"{}\"", id),
                    "choose one of the library or of the project");
    project.luminaire_types.push_back(*known);
    return project.luminaire_types.size() - 1;
  }

  GridWish wish_of(const domain::LuminaireType& type, double over_task_m,
                   const std::vector<domain::IntensityDistribution>& distributions) const {
    GridWish wish;
    wish.length_m = type.length_m;
    wish.width_m = type.width_m;
    // Of a type with several channels, the one that lights the task.
    const auto strongest =
        std::max_element(distributions.begin(), distributions.end(), [](const auto& a, const auto& b) {
          return photometry::downward_flux_lm(a) < photometry::downward_flux_lm(b);
        });
    const auto widest = [&](double plane_deg) -> std::optional<double> {
      const auto spacing = photometry::spacing_to_height(*strongest, plane_deg);
      if (!spacing) return std::nullopt;
      return *spacing * over_task_m;
    };
    wish.widest_along_m = widest(0.0);
    wish.widest_across_m = widest(90.0);
    return wish;
  }

  struct Prepared {
    const domain::LuminaireType* type = nullptr;
    double height_m = 0.0;
    double task_height_m = 0.0;
    double needed = 0.0;
    double utilisation = 0.0;
    GridWish wish;
  };

  Result<Prepared> prepared(const std::string& id) {
    const Result<std::size_t> index = type_of(id);
    if (!index) return tl::unexpected(index.error());
    Prepared p;
    p.type = &project.luminaire_types[*index];
    std::vector<domain::IntensityDistribution> distributions;
    for (const domain::Channel& channel : p.type->channels) {
      auto made = lightresponse::distribution_of(*p.type, channel, inputs.photometry_files);
      if (!made) return tl::unexpected(made.error());
      distributions.push_back(*std::move(made));
    }
    if (distributions.empty())
      return refuse(fmt::format("the luminaire type {} gives no light", id), "choose another");
    p.height_m = height_of(*p.type, room().height_m);
    const domain::TaskArea& task = room().task_areas[tasks.front()];
    p.task_height_m = task.height_m;
    const double over_task_m = p.height_m - task.height_m;
    if (over_task_m < 0.3)
      return refuse(fmt::format("the luminaires would hang {:.1f} m above the task", over_task_m),
                    "give a higher ceiling");
    p.wish = wish_of(*p.type, over_task_m, distributions);
    const Box2 box = bounds(room().floor);
    const double longer_m = std::max(box.high.x - box.low.x, box.high.y - box.low.y);
    const double floor_m2 = area(room().floor);
    const Cavity cavity{longer_m, floor_m2 / longer_m, over_task_m};
    double useful_lm = 0.0;
    double all_lm = 0.0;
    for (const domain::IntensityDistribution& d : distributions) {
      const double lumens = photometry::flux_lm(d);
      useful_lm += lumens * utilisation(cavity, d, room().reflectances);
      all_lm += lumens;
    }
    if (all_lm <= 0.0)
      return refuse(fmt::format("the luminaire type {} gives no light", id), "choose another");
    p.utilisation = useful_lm / all_lm;
    const double loss = p.type->lumen_depreciation * p.type->lamp_survival * p.type->dirt_depreciation *
                        room().surface_depreciation;
    p.needed = luminaires_needed(task.target_lx, floor_m2, all_lm, p.utilisation, loss);
    return p;
  }

  Result<LitGrid> lit(const Prepared& prepared, LuminaireGrid grid) {
    domain::Design& design = project.designs.front();
    design.luminaires.clear();
    for (std::size_t i = 0; i < grid.at.size(); ++i) {
      domain::Luminaire& one = design.luminaires.emplace_back();
      one.id = fmt::format("L{}", i + 1);
      one.type = prepared.type->id;
      one.space = room().id;
      one.at = {grid.at[i].x, grid.at[i].y, prepared.height_m};
      one.rotation_deg = grid.rotation_deg;
    }
    const auto columns = lightresponse::channel_columns(project, space, inputs.photometry_files);
    if (!columns) return tl::unexpected(columns.error());
    const std::vector<lightresponse::PointRows> rows = light->rows_for(observers, *columns);

    LitGrid answer;
    std::vector<double> weight;
    for (const lightresponse::ChannelColumn& column : *columns) {
      weight.push_back(sim::light_loss(project, column));
      answer.installed_w += sim::input_w(project, column);
    }
    answer.installed_w += static_cast<double>(grid.at.size()) * prepared.type->watts_per_luminaire_extra_w;
    const auto lx_at = [&](const lightresponse::PointRows& of, std::size_t point) {
      double lx = 0.0;
      for (std::size_t c = 0; c < weight.size(); ++c)
        lx += weight[c] * static_cast<double>(of.electric_of(point)[c]);
      return lx;
    };
    for (std::size_t t = 0; t < tasks.size(); ++t) {
      LitGrid::Task& task = answer.tasks.emplace_back();
      task.target_lx = room().task_areas[tasks[t]].target_lx;
      for (std::size_t p = 0; p < rows[t].points; ++p) {
        const double lx = lx_at(rows[t], p);
        task.mean_lx += lx / static_cast<double>(rows[t].points);
        task.min_lx = p == 0 ? lx : std::min(task.min_lx, lx);
      }
    }
    answer.plan = plan;
    answer.plan.quantity = fmt::format("maintained illuminance, all on, at {:.2f} m", prepared.task_height_m);
    for (std::size_t p = 0; p < plan_cells.size(); ++p)
      answer.plan.values_lx[plan_cells[p]] = static_cast<float>(lx_at(rows.back(), p));
    answer.error_lx = lightresponse::numerical_error_lx(rows.back(), weight);
    answer.grid = std::move(grid);
    answer.height_m = prepared.height_m;
    answer.needed = prepared.needed;
    answer.utilisation = prepared.utilisation;
    return answer;
  }
};

TrialRoom::TrialRoom(std::unique_ptr<State> state) : state_(std::move(state)) {}
TrialRoom::~TrialRoom() = default;

Result<std::unique_ptr<TrialRoom>> TrialRoom::make(const sim::StudyInputs& inputs, std::size_t space,
                                                   const Context& context) {
  auto state = std::make_unique<State>(inputs, space, context);
  if (auto ready = state->prepare(); !ready) return tl::unexpected(std::move(ready.error()));
  return std::unique_ptr<TrialRoom>(new TrialRoom(std::move(state)));
}

Result<LitGrid> TrialRoom::fewest(const std::string& luminaire_type) {
  const auto prepared = state_->prepared(luminaire_type);
  if (!prepared) return tl::unexpected(prepared.error());
  std::vector<LuminaireGrid> grids = luminaire_grids(state_->room().floor, prepared->wish);
  if (grids.empty())
    return refuse(fmt::format("not one luminaire of type {} fits into the room", luminaire_type),
                  "choose a smaller one");
  const auto nearest = [&](double count) {
    std::size_t i = 0;
    while (i + 1 < grids.size() && static_cast<double>(grids[i].at.size()) < count) ++i;
    return i;
  };
  std::map<std::size_t, LitGrid> tried;
  std::optional<std::size_t> holds;  // the fewest known to hold the targets
  std::size_t from = 0;              // everything below is known not to
  std::size_t next = nearest(prepared->needed);
  for (int trial = 0; trial < kMostTrials; ++trial) {
    auto made = state_->lit(*prepared, grids[next]);
    if (!made) return made;
    // The mean answers in proportion to the number.
    double share = 1e300;
    for (const LitGrid::Task& task : made->tasks) share = std::min(share, task.mean_lx / task.target_lx);
    const double enough = static_cast<double>(grids[next].at.size()) / std::max(share, 1e-3);
    if (made->holds_targets())
      holds = next;
    else
      from = next + 1;
    tried.emplace(next, *std::move(made));
    const std::size_t below = holds ? *holds : grids.size();
    if (from >= below) break;
    next = std::clamp(nearest(enough), from, below - 1);
  }
  if (holds) return std::move(tried.at(*holds));
  // Nothing holds the targets: what comes nearest.
  const auto brightest = std::max_element(tried.begin(), tried.end(), [](const auto& a, const auto& b) {
    return a.second.tasks.front().mean_lx < b.second.tasks.front().mean_lx;
  });
  return std::move(brightest->second);
}

Result<LitGrid> TrialRoom::of_count(const std::string& luminaire_type, std::size_t count) {
  const auto prepared = state_->prepared(luminaire_type);
  if (!prepared) return tl::unexpected(prepared.error());
  auto grid = luminaire_grid_of(state_->room().floor, prepared->wish, count);
  if (!grid)
    return refuse(fmt::format("{} luminaires of type {} do not fit into the room", count, luminaire_type),
                  "choose fewer, or smaller ones");
  return state_->lit(*prepared, *std::move(grid));
}

}  // namespace halflight::choose
