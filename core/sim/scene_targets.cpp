#include "sim/scene_targets.hpp"

#include "base/units.hpp"
#include "domain/names.hpp"
#include "sim/electric_states.hpp"
#include "sim/space_year.hpp"

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

/// "24 lx, 310 lx with daylight".
std::string with_daylight(double electric_lx, double daylight_lx) {
  return daylight_lx > 0.0
             ? fmt::format("{:.0f} lx, {:.0f} lx with daylight", electric_lx, electric_lx + daylight_lx)
             : fmt::format("{:.0f} lx", electric_lx);
}

}  // namespace

std::vector<SceneDaylight> daylight_beside_scenes(Replicate& replicate) {
  const SpaceModel& model = replicate.model();
  std::vector<SceneDaylight> all;
  if (!model.lit->has_daylight()) return all;
  const std::vector<std::size_t> open = open_steps(model);
  for (const domain::Scene* scene : scenes_of(model)) {
    const IntervalSet* when = replicate.when_called(*scene);
    const ShadedDaylight& daylight = replicate.daylight(scene->shades);
    SceneDaylight beside{scene->id, {}};
    for (const std::vector<float>& task : daylight.tasks) {
      std::vector<float> lx;
      for (const std::size_t i : open)
        if (when == nullptr || when->contains(static_cast<Seconds>(model.sunny->step[i]) * kStep_s))
          lx.push_back(task[i]);
      const auto place = static_cast<std::ptrdiff_t>(static_cast<double>(lx.size()) * (1.0 - kBrightest));
      if (!lx.empty()) std::nth_element(lx.begin(), lx.begin() + place, lx.end());
      beside.lx.push_back(lx.empty() ? 0.0 : static_cast<double>(lx[static_cast<std::size_t>(place)]));
    }
    all.push_back(std::move(beside));
  }
  return all;
}

std::span<const double> daylight_beside(const SpaceModel& model, const std::string& scene) {
  for (const SceneDaylight& one : model.by_day)
    if (one.scene == scene) return one.lx;
  return {};
}

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
    const std::span<const double> by_day = daylight_beside(model, scene->id);
    bool too_much_daylight = false;
    for (const domain::SceneTarget& target : scene->targets) {
      const domain::TaskArea* task = domain::find_by_id(model.space->task_areas, target.task_area);
      const results::TaskAreaLight* light = light_in(one, "scene " + scene->name, target.task_area);
      if (task == nullptr || light == nullptr) continue;
      const auto t = static_cast<std::size_t>(task - model.space->task_areas.data());
      const double day_lx = t < by_day.size() ? by_day[t] : 0.0;
      const auto stays_below = [&](double most_lx) {
        const bool holds_at_night = at_least(most_lx, light->mean_lx);
        const bool holds_by_day = at_least(most_lx, light->mean_lx + day_lx);
        if (holds_at_night && !holds_by_day) too_much_daylight = true;
        return holds_by_day;
      };
      const std::string on = "on " + domain::named(task->name, task->id);
      if (target.least_lx)
        judge(at_least(light->mean_lx, *target.least_lx),
              fmt::format("{} {:.0f} lx, at least {:.0f} lx asked", on, light->mean_lx, *target.least_lx));
      if (target.most_lx)
        judge(stays_below(*target.most_lx),
              fmt::format("{} {}, at most {:.0f} lx asked", on, with_daylight(light->mean_lx, day_lx),
                          *target.most_lx));
      if (target.uniformity)
        judge(at_least(light->uniformity, *target.uniformity),
              fmt::format("{} uniformity {:.2f}, {:.2f} asked", on, light->uniformity, *target.uniformity));
      if (target.contrast && task->screen) {
        const double most_lx = most_on_screen_lx(*task->screen, *target.contrast);
        judge(stays_below(most_lx),
              most_lx < 0.0
                  ? fmt::format("{} no light at all leaves a contrast of {:.0f}", on, *target.contrast)
                  : fmt::format("{} {}, at most {:.0f} lx leave a contrast of {:.0f}", on,
                                with_daylight(light->mean_lx, day_lx), most_lx, *target.contrast));
      }
    }
    if (evidence.empty()) continue;
    findings.push_back(
        {"scene-holds-its-targets", "", "", "",
         "Scene " + domain::named(scene->name, scene->id) + " gives what it is for",
         holds ? results::Finding::Verdict::pass : results::Finding::Verdict::fail, evidence,
         holds ? ""
         : too_much_daylight
             ? "let the scene draw shades that dim the daylight enough, or change what is asked"
             : "take the levels that `halflight propose` finds, or change what is asked",
         results::Finding::Confidence::confirmed, false});
  }
  return findings;
}

}  // namespace halflight::sim
