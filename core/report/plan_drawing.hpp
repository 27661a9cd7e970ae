#pragma once
#include "domain/project.hpp"
#include "report/markup.hpp"
#include "results/study.hpp"

#include <string_view>
#include <vector>

namespace halflight::report {

/// The range of a plan's or year's light scale, lx.
struct LightRange {
  double low_lx = 10.0;
  double high_lx = 1000.0;
};
/// Round ends (1, 2 or 5 times a power of ten) around the values of the grid that lie on the floor, without
/// those inside furniture.
LightRange light_range(const results::PlanGrid& grid, const domain::Space& space);

/// The plan of a space to scale, as one SVG: the grid's light with contours in lx (targets heavier),
/// luminaires, devices, openings, doors, furniture, task areas, daylight zones, ways out, dimensions, north,
/// scale bar. On paper the style sheet leaves out the light itself and draws the contours in ink. `grid` may
/// be null (nothing computed). `id` names the drawing within the page.
void draw_plan(Markup& page, const domain::Project& project, const domain::Design& design,
               const domain::Space& space, const results::SpaceStudy& study, const results::PlanGrid* grid,
               std::string_view id);

/// A small plan of one more grid: light and contours only.
void draw_small_plan(Markup& page, const domain::Space& space, const results::PlanGrid& grid,
                     const std::vector<double>& targets_lx, std::string_view id);

/// A figure at a place of the plan.
struct PlanValue {
  Point2 at;
  double value = 0.0;
};
/// A plan of walls, furniture and task areas with a dot at every place and, where it fits, its value in whole
/// lx; below 10 with one decimal.
void draw_point_values(Markup& page, const domain::Space& space, const std::vector<PlanValue>& values,
                       std::string_view id);

/// The colours from low to high with their figures.
void draw_light_scale(Markup& page, const LightRange& range, std::string_view what);

}  // namespace halflight::report
