#include "choose/scene_set.hpp"

#include "choose/room_scenes.hpp"
#include "domain/names.hpp"
#include "sim/electric_states.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <memory>
#include <optional>
#include <utility>
#include <variant>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

constexpr double kStep = 0.05;
/// Shares of the light on a screen nearer than this are the same: luminaires in mirror places stay together.
constexpr double kAlike = 0.02;
/// Part of the power that a group of its own must save (assumption).
constexpr double kWorthAGroup = 0.05;

bool has_shade_that_moves(const domain::Project& project, const domain::Space& space) {
  return std::any_of(space.openings.begin(), space.openings.end(), [&](const domain::Opening& opening) {
    const domain::Shade* shade = domain::find_by_id(project.shades, opening.shade);
    return shade != nullptr && domain::moves(*shade);
  });
}

bool has_screen(const domain::Space& space) {
  return std::any_of(space.task_areas.begin(), space.task_areas.end(),
                     [](const domain::TaskArea& task) { return task.screen.has_value(); });
}

std::string in_an_id(const std::string& name) {
  std::string id;
  for (const char c : name)
    id += std::isalnum(static_cast<unsigned char>(c)) != 0
              ? static_cast<char>(std::tolower(static_cast<unsigned char>(c)))
              : '-';
  return id;
}

/// Luminaires in order of how much of their light lies on screens rather than on tasks, those alike together,
/// most first.
std::vector<std::vector<std::string>> by_light_on_screens(const sim::SpaceModel& model,
                                                          const std::vector<domain::Luminaire>& luminaires) {
  const sim::LitSpace& lit = *model.lit;
  const std::size_t proposal = sim::design_index(model, domain::Design::Role::proposal);
  std::vector<std::pair<double, std::string>> shares;
  for (const domain::Luminaire& luminaire : luminaires) {
    std::vector<double> weight(lit.scene.columns.size(), 0.0);
    for (std::size_t c = 0; c < weight.size(); ++c)
      if (lit.scene.columns[c].design == proposal &&
          sim::luminaire_of(*model.project, lit.scene.columns[c]).id == luminaire.id)
        weight[c] = 1.0;
    double screens_lx = 0.0;
    double tasks_lx = 0.0;
    for (std::size_t t = 0; t < lit.task_rows.size(); ++t) {
      const domain::TaskArea& task = model.space->task_areas[t];
      const double lx = sim::mean_lx(lit.task_rows[t], weight, 1.0);
      if (task.screen) screens_lx += lx;
      if (task.plane == domain::TaskArea::Plane::horizontal) tasks_lx += lx;
    }
    const double all_lx = screens_lx + tasks_lx;
    shares.emplace_back(all_lx > 0.0 ? screens_lx / all_lx : 0.0, luminaire.id);
  }
  std::sort(shares.begin(), shares.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::vector<std::string>> alike;
  double before = std::numeric_limits<double>::infinity();
  for (const auto& [share, id] : shares) {
    if (before - share > kAlike * before || alike.empty()) alike.emplace_back();
    alike.back().push_back(id);
    before = share;
  }
  return alike;
}

/// What a way to part the luminaires makes of the scenes.
struct Parted {
  SceneSet set;
  std::size_t held = 0;  ///< scenes whose targets levels hold
  double power_w = 0.0;  ///< of these, together
};

class Maker {
 public:
  Maker(const sim::DesignTrials& trials, const domain::Project& project, const domain::SpaceKind& kind,
        const RoomControls& controls, const std::string& id_stem, const std::set<std::string>& taken)
      : trials_(trials),
        project_(project),
        kind_(kind),
        controls_(controls),
        space_(*trials.ready().models.front().space),
        stem_(id_stem),
        taken_(taken) {}

  [[nodiscard]] Parted parted(const std::vector<std::vector<std::string>>& groups) const {
    std::set<std::string> taken = taken_;
    Parted made;
    std::vector<std::string> ids;
    for (const std::vector<std::string>& luminaires : groups) {
      domain::Group& group = made.set.groups.emplace_back();
      const bool is_front = groups.size() > 1 && ids.empty();
      group.id = fresh_id(stem_ + (groups.size() == 1 ? "all-" : is_front ? "front-" : "rest-"), taken);
      group.space = space_.id;
      group.strategy = domain::Strategy::scene;
      group.name = groups.size() == 1 ? "a" : is_front ? "front" : "rest";
      group.channels = luminaires;
      std::sort(group.channels.begin(), group.channels.end());
      ids.push_back(group.id);
    }
    domain::Scene& normal = made.set.scenes.emplace_back();
    normal.id = fresh_id(stem_ + "normal-", taken);
    normal.space = space_.id;
    normal.name = "Normal";
    for (const std::string& id : ids) normal.levels.push_back({id, 1.0});
    find_levels(usual_scenes(kind_, project_, space_, ids,
                             [&](const std::string& stem) { return fresh_id(stem_ + stem, taken); }),
                made);
    return made;
  }

 private:
  void find_levels(std::vector<domain::Scene> usual, Parted& made) const {
    RoomControls with = controls_;
    with.groups.insert(with.groups.end(), made.set.groups.begin(), made.set.groups.end());
    with.scenes = made.set.scenes;
    with.scenes.insert(with.scenes.end(), usual.begin(), usual.end());
    with.sequence.normal_scene = made.set.scenes.front().id;
    if (!with.sequence.trim) with.sequence.trim.emplace();
    const domain::Project tried = with_controls(project_, space_.id, with);
    const std::unique_ptr<sim::DesignTrials::Room> room = trials_.room(tried);
    for (domain::Scene& scene : usual) {
      const SceneInRoom place{&room->model, &scene};
      const Result<RoomScene> found = propose_scene({&place, 1}, trials_.ready().rules);
      const SceneLevels* levels = found ? std::get_if<SceneLevels>(&found->found) : nullptr;
      if (levels == nullptr) {
        made.set.why.push_back(fmt::format("Scene {} is left out: no levels hold what it is for{}.",
                                           scene.name, found ? conflict_of(*found) : ""));
        continue;
      }
      scene.levels.clear();
      for (std::size_t g = 0; g < found->groups.size(); ++g)
        scene.levels.push_back({found->groups[g], std::round(100.0 * levels->level[g]) / 100.0});
      ++made.held;
      made.power_w += found->proposed_w;
      made.set.scenes.push_back(std::move(scene));
    }
  }

  static std::string conflict_of(const RoomScene& scene) {
    std::string words;
    for (const DemandAtOdds& member : std::get<SceneConflict>(scene.found).members)
      words +=
          fmt::format("{}{} comes to {}", words.empty() ? " (" : "; ", in_words(scene.demands[member.demand]),
                      figure_in_words(scene.demands[member.demand], member.attainable));
    return words.empty() ? "" : words + ")";
  }

  const sim::DesignTrials& trials_;
  const domain::Project& project_;
  const domain::SpaceKind& kind_;
  const RoomControls& controls_;
  const domain::Space& space_;
  std::string stem_;
  const std::set<std::string>& taken_;
};

}  // namespace

std::vector<domain::Scene> usual_scenes(const domain::SpaceKind& kind, const domain::Project& project,
                                        const domain::Space& space, std::span<const std::string> groups,
                                        const std::function<std::string(const std::string& stem)>& fresh) {
  std::vector<domain::Scene> scenes;
  for (const domain::UsualScene& usual : kind.start.scenes) {
    if (usual.contrast && !has_screen(space)) continue;
    domain::Scene& scene = scenes.emplace_back();
    scene.id = fresh(in_an_id(usual.name) + "-");
    scene.space = space.id;
    scene.name = usual.name;
    scene.fade_s = usual.fade_s;
    if (has_shade_that_moves(project, space)) scene.shades = usual.shades;
    scene.follows_daylight = usual.follows_daylight;
    scene.in_demand_response = usual.in_demand_response;
    const double level = std::min(1.0, std::ceil(usual.target_share / kStep - 1e-9) * kStep);
    for (const std::string& group : groups) scene.levels.push_back({group, level});
    for (const domain::TaskArea& task : space.task_areas) {
      domain::SceneTarget target;
      target.task_area = task.id;
      if (task.plane == domain::TaskArea::Plane::horizontal)
        target.least_lx = usual.target_share * task.target_lx;
      if (task.screen) target.contrast = usual.contrast;
      if (target.least_lx || target.contrast) scene.targets.push_back(std::move(target));
    }
  }
  return scenes;
}

SceneSet scene_set(const sim::DesignTrials& trials, const domain::Project& project,
                   const domain::SpaceKind& kind, const RoomControls& controls,
                   const std::vector<domain::Luminaire>& luminaires, const std::string& id_stem,
                   const std::set<std::string>& taken) {
  const Maker maker(trials, project, kind, controls, id_stem, taken);
  std::vector<std::string> all;
  for (const domain::Luminaire& luminaire : luminaires) all.push_back(luminaire.id);
  Parted best = maker.parted({all});
  const bool asks_contrast = std::any_of(kind.start.scenes.begin(), kind.start.scenes.end(),
                                         [](const domain::UsualScene& usual) { return usual.contrast; });
  if (!asks_contrast || !has_screen(*trials.ready().models.front().space)) return best.set;
  const std::vector<std::vector<std::string>> order =
      by_light_on_screens(trials.ready().models.front(), luminaires);
  for (std::size_t split = 1; split < order.size(); ++split) {
    std::vector<std::vector<std::string>> groups(2);
    for (std::size_t i = 0; i < order.size(); ++i)
      groups[i < split ? 0 : 1].insert(groups[i < split ? 0 : 1].end(), order[i].begin(), order[i].end());
    Parted other = maker.parted(groups);
    const bool is_better =
        other.held != best.held
            ? other.held > best.held
            : other.power_w < best.power_w * (best.set.groups.size() > 1 ? 1.0 - 1e-6 : 1.0 - kWorthAGroup);
    if (is_better) best = std::move(other);
  }
  if (best.set.groups.size() > 1)
    best.set.why.push_back(
        fmt::format("{} of {} luminaires light the screen most and are a scene group of their own.",
                    best.set.groups.front().channels.size(), luminaires.size()));
  return best.set;
}

}  // namespace halflight::choose
