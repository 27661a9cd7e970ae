#pragma once
#include "domain/space.hpp"
#include "results/study.hpp"
#include "sim/space_model.hpp"

#include <vector>

// What scenes are to give on task areas, against what their levels give.

namespace halflight::sim {

/// Most light on a matt screen that leaves a ratio of its white to its black, lx, mean; below 0 where the
/// screen has less in the dark. From (white + v) / (black + v) with the veil v = reflectance lx / pi.
double most_on_screen_lx(const domain::Screen& screen, double contrast);

/// One a scene with targets, in the order of the document; `one` has the electric light of its task areas.
std::vector<results::Finding> scene_target_findings(const SpaceModel& model, const results::SpaceStudy& one);

}  // namespace halflight::sim
