#include "cli/room_proposals_output.hpp"

#include "cli/summary.hpp"
#include "domain/names.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace halflight::cli {

namespace {

std::string money(const domain::Range& range, const std::string& currency) {
  return fmt::format("{:.0f} to {:.0f} {}", range.least, range.most, currency);
}

std::string row(const std::string& name, const choose::FirstCost& cost, const sim::DesignTrial& trial,
                const sim::DesignTrial& found, int scrambles, bool has_loops) {
  return fmt::format("  {:<58} {:>7.0f} {:>9.1f}  {:<22} {:>7} {:>7.1f} {:>7.1f}\n", name, cost.middle(),
                     trial.year_kwh.mean,
                     &trial == &found ? "" : percent_text(choose::saving_of(trial, found, scrambles)),
                     has_loops ? fmt::format("{:.0f}", trial.under_lit_h.mean) : "-",
                     trial.taken_from_people.mean, cost.set_up_middle_h());
}

std::string quantities_text(const choose::FirstCost& cost) {
  std::string text;
  for (const choose::Quantity& line : cost.quantities)
    text += fmt::format("{}{} x {}", text.empty() ? "" : "; ", line.count, line.name);
  for (const std::string& what : cost.unpriced)
    text += fmt::format("{}{} (no price known)", text.empty() ? "" : "; ", what);
  return text.empty() ? "nothing to buy" : text;
}

}  // namespace

std::string proposals_text(const domain::Project& project, const std::vector<std::string>& spaces,
                           const choose::RoomProposals& found, int scrambles) {
  const std::string& currency = project.estimate.currency;
  std::string rooms;
  for (const std::string& id : spaces) {
    const domain::Space& space = *domain::find_by_id(project.spaces, id);
    rooms += fmt::format("{}{} {}", rooms.empty() ? "" : ", ", space.number, space.name);
  }
  std::string free;
  for (const choose::Part part : found.free)
    free += fmt::format("{}{}", free.empty() ? "" : ", ", choose::name_of(part));
  std::string text = fmt::format(
      "{}: {} designs tried, {} may be proposed, {} of them on the front. Open to choice: {}.\n", rooms,
      found.designs.size() + found.refused.size(), found.designs.size(), found.front.members.size(), free);
  text += fmt::format("  {:<58} {:>7} {:>9}  {:<22} {:>7} {:>7} {:>7}\n", "design", currency, "kWh/year",
                      "saves", "too", "light", "set-up");
  text +=
      fmt::format("  {:<58} {:>7} {:>9}  {:<22} {:>7} {:>7} {:>7}\n", "", "", "", "", "dark h", "taken", "h");
  text += row("as found", {}, found.as_found, found.as_found, scrambles, false);
  text +=
      row("new luminaires only", found.luminaires, found.new_luminaires, found.as_found, scrambles, false);
  for (const std::size_t i : found.front.members) {
    const choose::RoomDesign& design = found.designs[i];
    text += row(design.name, design.cost, design.trial, found.as_found, scrambles,
                !design.controls.sequence.daylight.empty());
  }
  for (std::size_t h = 1; h < found.front.hull.size(); ++h)
    text += fmt::format("  {} over {}: {:.1f} {} for each kWh a year less\n",
                        found.designs[found.front.hull[h]].name, found.designs[found.front.hull[h - 1]].name,
                        found.front.per_kwh[h - 1], currency);
  for (const choose::RoomProposals::Offer& offer : found.offers) {
    const choose::RoomDesign& design = found.designs[offer.design];
    std::string known_as;
    for (const choose::Pick pick : offer.picked)
      known_as += fmt::format("{}{}", known_as.empty() ? "" : ", ", choose::name_of(pick));
    text += fmt::format("\n  {} ({})\n    first cost {}, {:.1f} to {:.1f} h to set up: {}\n", design.name,
                        known_as, money(design.cost.cost, currency), design.cost.set_up_h.least,
                        design.cost.set_up_h.most, quantities_text(design.cost));
    for (const std::string& why : design.why) text += fmt::format("    {}\n", why);
    if (design.receptacles) {
      const choose::ReceptaclePart& outlets = *design.receptacles;
      text += fmt::format(
          "    what is plugged in: {:.0f} kWh a year less ({:.0f} to {:.0f}), first cost {}: {}\n",
          outlets.saved_kwh.mean, outlets.saved_kwh.low, outlets.saved_kwh.high,
          money(outlets.cost.cost, currency), quantities_text(outlets.cost));
      for (const std::string& why : outlets.why) text += fmt::format("      {}\n", why);
    }
    for (const std::string& gives_up : design.gives_up)
      text += fmt::format("    gives up against {}\n", gives_up);
  }
  if (found.daylight.saved_kwh.size() > 1) {
    text += "\n  What daylight groups save a year at best, by their number:";
    for (std::size_t k = 0; k < std::min<std::size_t>(found.daylight.saved_kwh.size(), 8); ++k)
      text += fmt::format(" {}: {:.0f} kWh", found.daylight.fewest + k, found.daylight.saved_kwh[k]);
    text += "\n";
  }
  for (std::size_t i = 0; i < found.designs.size(); ++i) {
    const bool is_member =
        std::find(found.front.members.begin(), found.front.members.end(), i) != found.front.members.end();
    if (is_member) continue;
    if (const auto by = found.front.dominated_by[i])
      text += fmt::format("  left out: {}: no better in anything than {}\n", found.designs[i].name,
                          found.designs[*by].name);
    else
      text += fmt::format("  not compared: {}: no price is known of {}\n", found.designs[i].name,
                          fmt::join(found.designs[i].cost.unpriced, ", "));
  }
  for (const choose::RoomDesign& design : found.refused)
    text += fmt::format(
        "  refused: {}: {}{}\n", design.name, design.refused.front(),
        design.refused.size() > 1 ? fmt::format(" (and {} more)", design.refused.size() - 1) : "");
  return text;
}

std::string building_text(const domain::Project& project, std::span<const projects::RoomsFound> rooms,
                          const choose::BuildingLine& line, int scrambles) {
  const std::string& currency = project.estimate.currency;
  std::size_t count = 0;
  for (const projects::RoomsFound& room : rooms) count += room.ids.size();
  std::string text = fmt::format("These {} rooms together, designs of their fronts:\n", count);
  text +=
      fmt::format("  {:<32} {:>20} {:>10}  {:<22} {:>10}\n", "", currency, "kWh/year", "saves", "set-up h");
  for (const auto& [name, steps] : projects::points_of(line)) {
    const choose::BuildingSum sum = choose::sum_of(projects::on_line(rooms), line.after(steps), scrambles);
    text += fmt::format("  {:<32} {:>20} {:>10.0f}  {:<22} {:>10.0f}\n", name,
                        fmt::format("{:.0f} to {:.0f}", sum.cost.cost.least, sum.cost.cost.most),
                        sum.year_kwh.mean, percent_text(sum.saving), sum.cost.set_up_middle_h());
  }
  if (line.steps.empty()) return text;
  text += "  From least cost on, where the next of the money buys most:\n";
  for (std::size_t s = 0; s < line.steps.size(); ++s) {
    const choose::BuildingLine::Step& step = line.steps[s];
    const projects::RoomsFound& room = rooms[step.room];
    const domain::Space& space = *domain::find_by_id(project.spaces, room.ids.front());
    text += fmt::format(
        "  {:>3}. {} {}{}: {} in place of {}: {:.1f} {} for each kWh a year less\n", s + 1, space.number,
        space.name, room.ids.size() > 1 ? fmt::format(" and {} alike", room.ids.size() - 1) : "",
        room.found->designs[step.design].name, room.found->designs[step.from].name, step.per_kwh(), currency);
    if (s + 1 == line.knee) text += "       ---- the knee\n";
  }
  return text;
}

std::string relays_text(const domain::Project& project, const choose::RelayProposal& relays,
                        const std::string& take) {
  std::string text = fmt::format(
      "\nRadio, with the designs known as \"{}\": {} devices; to be added: {} gateway{}, {} repeater{}. The "
      "weakest link works in {:.1f} % of all cases.\n",
      take, relays.devices, relays.gateways.size(), relays.gateways.size() == 1 ? "" : "s",
      relays.repeaters.size(), relays.repeaters.size() == 1 ? "" : "s", 100.0 * relays.weakest);
  const auto add = [&](const std::vector<domain::Infrastructure>& devices, const char* what) {
    for (const domain::Infrastructure& one : devices) {
      const domain::Space& space = *domain::find_by_id(project.spaces, one.space);
      text += fmt::format("  {} in {} {} at {:.1f}, {:.1f} m\n", what, space.number, space.name, one.at.x,
                          one.at.y);
    }
  };
  add(relays.gateways, "gateway");
  add(relays.repeaters, "repeater");
  for (const std::string& id : relays.out_of_reach) text += fmt::format("  nothing reaches {}\n", id);
  return text;
}

std::string shared_text(const domain::Project& project,
                        const std::vector<choose::SharedControllers>& shared) {
  std::string text;
  for (const choose::SharedControllers& one : shared) {
    const domain::Storey& storey = *domain::find_by_id(project.storeys, one.storey);
    text += fmt::format(
        "\n{}: {} load controller{} for the {} rooms whose loads can hang together, in place of {}: {} in "
        "place of {}{}\n",
        domain::named(storey.name, storey.id), one.controllers.size(), one.controllers.size() == 1 ? "" : "s",
        one.spaces.size(), one.replaced.size(), money(one.cost_after, project.estimate.currency),
        money(one.cost_before, project.estimate.currency),
        one.is_least ? "; no cheaper choice carries them." : ".");
    for (const std::string& why : one.why) text += fmt::format("  {}\n", why);
  }
  return text;
}

std::string contacts_text(const domain::Project& project, const choose::ContactProposal& contacts) {
  std::string text = fmt::format(
      "\nHVAC, told of {} room{} whose sensors know who is there: {} new volt-free contact{}{}.\n",
      contacts.told.size(), contacts.told.size() == 1 ? "" : "s", contacts.contacts.size(),
      contacts.contacts.size() == 1 ? "" : "s",
      contacts.contacts.empty() || !contacts.cost ? ""
                                                  : ", " + money(*contacts.cost, project.estimate.currency));
  for (const choose::ContactProposal::Told& told : contacts.told) {
    const domain::Space& space = *domain::find_by_id(project.spaces, told.space);
    text += fmt::format("  {} {} tells the zone {} by {}\n", space.number, space.name, space.hvac_zone,
                        told.contact ? "a contact of its own" : told.interface);
  }
  return text;
}

}  // namespace halflight::cli
