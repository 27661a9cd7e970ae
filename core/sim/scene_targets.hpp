#pragma once
#include "domain/space.hpp"
#include "results/study.hpp"
#include "sim/replicate.hpp"
#include "sim/space_model.hpp"

#include <span>
#include <string>
#include <vector>

// What scenes are to give on task areas, against what their levels give.

namespace halflight::sim {

/// Most light on a matt screen that leaves a ratio of its white to its black, lx, mean; below 0 where the
/// screen has less in the dark. From (white + v) / (black + v) with the veil v = reflectance lx / pi.
double most_on_screen_lx(const domain::Screen& screen, double contrast);

/// Share of its daylit time in which more daylight than counts may stand beside a scene (assumption).
inline constexpr double kBrightest = 0.05;
/// Daylight beside each scene of the proposal: what it brings to a task area in all but the brightest
/// twentieth of the daylit steps of open hours in which the scene can be called, behind shades as the scene
/// has them.
std::vector<SceneDaylight> daylight_beside_scenes(Replicate& replicate);
/// Of one scene, as lit->task_rows; nothing where the room has no daylight.
std::span<const double> daylight_beside(const SpaceModel& model, const std::string& scene);

/// One a scene with targets, in the order of the document; `one` has the electric light of its task areas.
/// What is asked at least must hold without daylight, what is asked at most beside it.
std::vector<results::Finding> scene_target_findings(const SpaceModel& model, const results::SpaceStudy& one);

}  // namespace halflight::sim
