#include "sim/scene_targets.hpp"

#include "base/units.hpp"
#include "domain/names.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>
#include <limits>
#include <string>

#include <fmt/format.h>

namespace halflight::sim {

namespace {

/// In the first arrangement of movable partitions in which a scene is called; null where it has no light.
const results::TaskAreaLight* light_in(const results::SpaceStudy& one, const std::string& state,
                                       const std::string& task_area) {
  for (const results::GroupLight& light : one.electric)
    for (const results::TaskAreaLight& area : light.task_areas)
      if (area.id == task_area && (area.state == state || area.state.starts_with(state + ", "))) return &area;
  return nullptr;
}

/// A stated figure counts as held when only the last digits of the arithmetic are missing.
constexpr double kRounding = 1e-9;
bool at_least(double value, double asked) { return value >= asked * (1.0 - kRounding); }

}  // namespace

double most_on_screen_lx(const domain::Screen& screen, double contrast) {
  const double veil_cd_m2 = (screen.white_cd_m2 - contrast * screen.black_cd_m2) / (contrast - 1.0);
  if (screen.reflectance <= 0.0) return veil_cd_m2 < 0.0 ? -1.0 : std::numeric_limits<double>::infinity();
  return veil_cd_m2 * kPi / screen.reflectance;
}

std::vector<results::Finding> scene_target_findings(const SpaceModel& model, const results::SpaceStudy& one) {
  std::vector<results::Finding> findings;
  for (const domain::Scene* scene : scenes_of(model)) {
    std::string evidence;
    bool holds = true;
    const auto judge = [&](bool held, const std::string& words) {
      holds = holds && held;
      evidence += (evidence.empty() ? "" : "; ") + words + (held ? "" : " (fails)");
    };
    for (const domain::SceneTarget& target : scene->targets) {
      const domain::TaskArea* task = domain::find_by_id(model.space->task_areas, target.task_area);
      const results::TaskAreaLight* light = light_in(one, "scene " + scene->name, target.task_area);
      if (task == nullptr || light == nullptr) continue;
      const std::string on = "on " + domain::named(task->name, task->id);
      if (target.least_lx)
        judge(at_least(light->mean_lx, *target.least_lx),
              fmt::format("{} {:.0f} lx, at least {:.0f} lx asked", on, light->mean_lx, *target.least_lx));
      if (target.most_lx)
        judge(at_least(*target.most_lx, light->mean_lx),
              fmt::format("{} {:.0f} lx, at most {:.0f} lx asked", on, light->mean_lx, *target.most_lx));
      if (target.uniformity)
        judge(at_least(light->uniformity, *target.uniformity),
              fmt::format("{} uniformity {:.2f}, {:.2f} asked", on, light->uniformity, *target.uniformity));
      if (target.contrast && task->screen) {
        const double most_lx = most_on_screen_lx(*task->screen, *target.contrast);
        judge(at_least(most_lx, light->mean_lx),
              most_lx < 0.0
                  ? fmt::format("{} no light at all leaves a contrast of {:.0f}", on, *target.contrast)
                  : fmt::format("{} {:.0f} lx, at most {:.0f} lx leave a contrast of {:.0f}", on,
                                light->mean_lx, most_lx, *target.contrast));
      }
    }
    if (evidence.empty()) continue;
    findings.push_back(
        {"scene-holds-its-targets", "", "", "",
         "Scene " + domain::named(scene->name, scene->id) + " gives what it is for",
         holds ? results::Finding::Verdict::pass : results::Finding::Verdict::fail, evidence,
         holds ? "" : "take the levels that `halflight propose` finds, or change what is asked",
         results::Finding::Confidence::confirmed, false});
  }
  return findings;
}

}  // namespace halflight::sim
