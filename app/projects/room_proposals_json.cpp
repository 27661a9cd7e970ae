#include "projects/room_proposals_json.hpp"

#include "projects/figures_json.hpp"

namespace halflight::projects {

namespace {

using nlohmann::json;

json as_json(const choose::FirstCost& cost) {
  json quantities = json::array();
  for (const choose::Quantity& line : cost.quantities)
    quantities.push_back(
        {{"id", line.id}, {"name", line.name}, {"count", line.count}, {"cost", figure_json(line.cost)}});
  return {{"total", figure_json(cost.cost)},
          {"set_up_h", figure_json(cost.set_up_h)},
          {"quantities", quantities},
          {"unpriced", cost.unpriced}};
}

json as_json(const choose::ReceptaclePart& part) {
  return {{"controlled", part.loads.controlled_receptacles},
          {"of", part.loads.receptacles},
          {"cost", as_json(part.cost)},
          {"saved_kwh", figure_json(part.saved_kwh)},
          {"why", part.why}};
}

json as_json(const choose::RoomDesign& design, const sim::DesignTrial& found, int scrambles) {
  return {{"name", design.name},
          {"cost", as_json(design.cost)},
          {"kwh", figure_json(design.trial.year_kwh)},
          {"saving_against_as_found", figure_json(choose::saving_of(design.trial, found, scrambles))},
          {"under_lit_h", figure_json(design.trial.under_lit_h)},
          {"taken_from_people", figure_json(design.trial.taken_from_people)},
          {"receptacles", design.receptacles ? as_json(*design.receptacles) : json()},
          {"why", design.why},
          {"gives_up", design.gives_up},
          {"refused", design.refused}};
}

}  // namespace

json proposals_json(const std::vector<std::string>& spaces, const choose::RoomProposals& found,
                    int scrambles) {
  json designs = json::array();
  for (const choose::RoomDesign& design : found.designs)
    designs.push_back(as_json(design, found.as_found, scrambles));
  for (std::size_t i = 0; i < found.designs.size(); ++i)
    if (found.front.dominated_by[i]) designs[i]["dominated_by"] = *found.front.dominated_by[i];
  json refused = json::array();
  for (const choose::RoomDesign& design : found.refused)
    refused.push_back({{"name", design.name}, {"because", design.refused}});
  json offers = json::array();
  for (const choose::RoomProposals::Offer& offer : found.offers) {
    json picked = json::array();
    for (const choose::Pick pick : offer.picked) picked.push_back(choose::name_of(pick));
    offers.push_back({{"design", offer.design}, {"picked", picked}});
  }
  return {{"spaces", spaces},
          {"as_found_kwh", figure_json(found.as_found.year_kwh)},
          {"new_luminaires_only",
           {{"kwh", figure_json(found.new_luminaires.year_kwh)},
            {"saving_against_as_found",
             figure_json(choose::saving_of(found.new_luminaires, found.as_found, scrambles))},
            {"cost", as_json(found.luminaires)}}},
          {"designs", designs},
          {"refused", refused},
          {"front", found.front.members},
          {"hull", found.front.hull},
          {"cost_per_kwh", found.front.per_kwh},
          {"offers", offers},
          {"daylight_groups_saved_kwh", found.daylight.saved_kwh}};
}

}  // namespace halflight::projects
