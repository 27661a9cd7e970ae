#include "projects/scene_levels_json.hpp"

#include <variant>

namespace halflight::projects {

using nlohmann::json;

json scene_levels_json(const choose::RoomScene& scene) {
  json found{{"before_w", scene.now_w}};
  json demands = json::array();
  for (const choose::RoomDemand& demand : scene.demands)
    demands.push_back({{"words", choose::in_words(demand)},
                       {"asked", demand.asked},
                       {"before", demand.now},
                       {"before_words", choose::figure_in_words(demand, demand.now)}});
  if (const auto* levels = std::get_if<choose::SceneLevels>(&scene.found)) {
    found["power_w"] = scene.proposed_w;
    const double gap_w = levels->power_w - levels->bound_w;
    found["power_gap_w"] = gap_w <= choose::kSamePower_w ? 0.0 : gap_w;
    found["levels"] = json::array();
    for (std::size_t g = 0; g < scene.groups.size(); ++g)
      found["levels"].push_back(
          {{"group", scene.groups[g]}, {"level", levels->level[g]}, {"before", scene.now[g]}});
    for (std::size_t d = 0; d < demands.size(); ++d) {
      demands[d]["reached"] = levels->kept[d].reached;
      demands[d]["reached_words"] = choose::figure_in_words(scene.demands[d], levels->kept[d].reached);
      demands[d]["price_w"] = levels->kept[d].price_w;
    }
  } else {
    found["at_odds"] = json::array();
    for (const choose::DemandAtOdds& member : std::get<choose::SceneConflict>(scene.found).members)
      found["at_odds"].push_back(
          {{"demand", member.demand},
           {"attainable", member.attainable},
           {"attainable_words", choose::figure_in_words(scene.demands[member.demand], member.attainable)}});
  }
  found["demands"] = std::move(demands);
  return found;
}

}  // namespace halflight::projects
