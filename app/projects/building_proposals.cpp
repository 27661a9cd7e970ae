#include "projects/building_proposals.hpp"

#include "projects/code_fixes.hpp"
#include "projects/figures_json.hpp"
#include "projects/proposal_edits.hpp"

#include <algorithm>
#include <mutex>

#include <fmt/format.h>

namespace halflight::projects {

namespace {

using nlohmann::json;

json as_json(const choose::BuildingSum& sum, const choose::BuildingSum& least,
             const std::vector<std::size_t>& designs, int scrambles) {
  const choose::SumsApart over = choose::apart(least, sum, scrambles);
  return {{"cost", figure_json(sum.cost.cost)},
          {"cost_over_least", figure_json(over.cost)},
          {"set_up_h", figure_json(sum.cost.set_up_h)},
          {"unpriced", sum.cost.unpriced},
          {"kwh", figure_json(sum.year_kwh)},
          {"saved_over_least_kwh", figure_json(over.saved_kwh)},
          {"saving_against_as_found", figure_json(sum.saving)},
          {"designs", designs}};
}

/// The document's own design of each room; nothing where one of them may not be proposed.
std::optional<std::vector<std::size_t>> own_designs(std::span<const RoomsFound> rooms) {
  const bool all =
      std::all_of(rooms.begin(), rooms.end(), [](const RoomsFound& room) { return room.found->has_own; });
  if (!all) return std::nullopt;
  return std::vector<std::size_t>(rooms.size(), 0);
}

}  // namespace

std::optional<NoChoice> why_no_choice(const domain::Project& project, const domain::Design& proposal,
                                      const domain::Space& space, const std::set<choose::Part>& kept) {
  if (choose::fixed_luminaires(project, proposal, space.id).empty()) return NoChoice::no_luminaires;
  if (kept.size() == choose::kParts.size()) return NoChoice::all_kept;
  return std::nullopt;
}

std::string in_words(NoChoice why, const domain::Space& space) {
  if (why == NoChoice::no_luminaires) return fmt::format("{} has no luminaires to control", space.number);
  return fmt::format("nothing is left to choose: all controls of {} stay as they are", space.number);
}

RoomsWithChoice rooms_with_choice(const domain::Project& project, const domain::Design& proposal,
                                  std::span<const std::size_t> wanted,
                                  const std::optional<std::set<choose::Part>>& kept) {
  RoomsWithChoice all;
  const auto place_among = [&](auto& list, const std::vector<std::string>& alike) {
    return std::find_if(list.begin(), list.end(), [&](const auto& one) {
      return std::find(alike.begin(), alike.end(), project.spaces[one.spaces.front()].id) != alike.end();
    });
  };
  for (const std::size_t s : wanted) {
    const domain::Space& space = project.spaces[s];
    const std::vector<std::string> alike = choose::rooms_alike(project, proposal, space);
    if (const auto same = place_among(all.rooms, alike); same != all.rooms.end()) {
      same->spaces.push_back(s);
      continue;
    }
    if (const auto same = place_among(all.without, alike); same != all.without.end()) {
      same->spaces.push_back(s);
      continue;
    }
    std::set<choose::Part> stay = kept ? *kept : choose::decided_parts(project, proposal, space.id);
    if (const auto why = why_no_choice(project, proposal, space, stay))
      all.without.push_back({{s}, in_words(*why, space)});
    else
      all.rooms.push_back({{s}, std::move(stay)});
  }
  return all;
}

choose::ProposalWish proposal_wish(const ProjectFiles& files, std::size_t space, std::set<choose::Part> kept,
                                   sim::StudyOptions options) {
  choose::ProposalWish wish{std::move(kept), std::move(options)};
  wish.options.points_per_scramble = sim::kPointsOfTrials;
  wish.mend = [&files, space](const std::vector<results::Finding>& findings) {
    return mended_controls(files.document, files.document.project().spaces[space].id, findings,
                           files.code_rules);
  };
  return wish;
}

void propose_rooms(const ProjectFiles& files, std::span<const RoomsAlike> rooms,
                   const sim::StudyOptions& options, const Context& context, lightresponse::StageLog& log,
                   const std::function<void(const RoomsAlike&, Result<choose::RoomProposals>)>& take) {
  const sim::StudyInputs inputs = study_inputs(files);
  std::vector<std::optional<Result<choose::RoomProposals>>> found(rooms.size());
  std::size_t taken = 0;
  std::mutex mutex;
  context.executor.for_each(rooms.size(), [&](std::size_t r) {
    const std::size_t space = rooms[r].spaces.front();
    Result<choose::RoomProposals> one = choose::propose_room(
        inputs, space, proposal_wish(files, space, rooms[r].kept, options), context, log);
    const std::lock_guard lock(mutex);
    found[r] = std::move(one);
    for (; taken < rooms.size() && found[taken]; ++taken) take(rooms[taken], *std::move(found[taken]));
  });
}

DesignToTake design_to_take(const RoomsFound& rooms, std::size_t design) {
  const std::vector<choose::Part>& free = rooms.found->free;
  return {rooms.ids, rooms.found->designs[design].controls,
          std::find(free.begin(), free.end(), choose::Part::controllers) != free.end()};
}

std::vector<choose::RoomsOnLine> on_line(std::span<const RoomsFound> rooms) {
  std::vector<choose::RoomsOnLine> all;
  for (const RoomsFound& room : rooms) all.push_back({room.found.get(), room.ids.size()});
  return all;
}

std::vector<std::pair<const char*, std::size_t>> points_of(const choose::BuildingLine& line) {
  std::vector<std::pair<const char*, std::size_t>> points;
  if (line.cheapest.empty()) return points;
  points.emplace_back("least cost", 0);
  if (line.knee > 0 && line.knee < line.steps.size())
    points.emplace_back(kMostForTheBuildingsMoney, line.knee);
  if (!line.steps.empty()) points.emplace_back("least energy", line.steps.size());
  return points;
}

json building_json(std::span<const RoomsFound> rooms, const choose::BuildingLine& line, int scrambles) {
  if (rooms.empty()) return nullptr;
  const std::vector<choose::RoomsOnLine> on = on_line(rooms);
  json sets = json::array();
  for (const RoomsFound& room : rooms) {
    const choose::RoomProposals& found = *room.found;
    std::vector<std::size_t> shown = found.front.hull;
    if (found.has_own && std::find(shown.begin(), shown.end(), 0) == shown.end()) shown.push_back(0);
    json designs = json::array();
    for (const std::size_t i : shown)
      designs.push_back({{"design", i},
                         {"name", found.designs[i].name},
                         {"cost", figure_json(found.designs[i].cost.cost)},
                         {"kwh", figure_json(found.designs[i].trial.year_kwh)}});
    sets.push_back({{"spaces", room.ids},
                    {"own", found.has_own ? json(0) : json()},
                    {"hull", found.front.hull},
                    {"designs", designs}});
  }
  std::vector<choose::BuildingSum> sum;
  json sums = json::array();
  for (std::size_t taken = 0; taken <= line.steps.size(); ++taken) {
    const std::vector<std::size_t> designs = line.after(taken);
    sum.push_back(choose::sum_of(on, designs, scrambles));
    sums.push_back(as_json(sum.back(), sum.front(), designs, scrambles));
  }
  json steps = json::array();
  for (std::size_t s = 0; s < line.steps.size(); ++s) {
    const choose::BuildingLine::Step& step = line.steps[s];
    const choose::SumsApart apart = choose::apart(sum[s], sum[s + 1], scrambles);
    steps.push_back({{"room", step.room},
                     {"from", step.from},
                     {"to", step.design},
                     {"cost", figure_json(apart.cost)},
                     {"saved_kwh", figure_json(apart.saved_kwh)},
                     {"cost_per_kwh", step.per_kwh()}});
  }
  json points = json::array();
  for (const auto& [name, taken] : points_of(line)) points.push_back({{"name", name}, {"steps", taken}});
  json stands;
  if (const auto own = own_designs(rooms))
    stands = as_json(choose::sum_of(on, *own, scrambles), sum.front(), *own, scrambles);
  return {{"rooms", sets}, {"steps", steps}, {"sums", sums}, {"points", points}, {"stands", stands}};
}

Result<TakenDesigns> take_designs(const formats::ProjectDocument& document, const ProjectFiles& files,
                                  std::span<const DesignToTake> designs) {
  TakenDesigns taken{document, {}, {}, {}, {}, {}};
  const domain::Library& library = *files.library;
  if (designs.empty()) return taken;
  const auto make = [&](const std::vector<formats::DocumentEdit>& edits) {
    taken.edits.insert(taken.edits.end(), edits.begin(), edits.end());
    return taken.document.apply(edits);
  };
  const auto proposal = [&]() -> const domain::Design& {
    return *domain::find_design(taken.document.project(), domain::Design::Role::proposal);
  };
  std::set<std::string> may_share;
  for (const DesignToTake& one : designs) {
    if (Diagnostics refused = make(edits_for(taken.document, one.spaces.front(), one.controls));
        !refused.empty())
      return tl::unexpected(std::move(refused));
    if (one.may_share) may_share.insert(one.spaces.begin(), one.spaces.end());
  }
  Result<std::vector<choose::SharedControllers>> shared =
      choose::shared_controllers(taken.document.project(), library, files.photometry_files, may_share);
  if (!shared) return tl::unexpected(std::move(shared.error()));
  taken.shared = *std::move(shared);
  for (const choose::SharedControllers& one : taken.shared)
    if (Diagnostics refused = make(edits_for(taken.document, one)); !refused.empty())
      return tl::unexpected(std::move(refused));
  Result<choose::RelayProposal> relays =
      choose::propose_relays(taken.document.project(), library, proposal());
  if (!relays) {
    taken.no_relays = std::move(relays.error());
  } else if (relays->devices > 0) {
    if (Diagnostics refused = make(edits_for(taken.document, *relays)); !refused.empty())
      return tl::unexpected(std::move(refused));
    taken.relays = *std::move(relays);
  }
  taken.contacts = choose::propose_contacts(taken.document.project(), library, proposal());
  if (!taken.contacts.told.empty())
    if (Diagnostics refused = make(edits_for(taken.document, taken.contacts)); !refused.empty())
      return tl::unexpected(std::move(refused));
  // Taken once more, rooms get controllers of their own and then share them again.
  if (json::parse(taken.document.text()) == json::parse(document.text())) {
    taken.document = document;
    taken.edits.clear();
  }
  return taken;
}

json shared_json(std::span<const choose::SharedControllers> shared) {
  json all = json::array();
  for (const choose::SharedControllers& one : shared)
    all.push_back({{"storey", one.storey},
                   {"spaces", one.spaces},
                   {"replaced", one.replaced.size()},
                   {"controllers", one.controllers.size()},
                   {"cost_before", figure_json(one.cost_before)},
                   {"cost_after", figure_json(one.cost_after)},
                   {"is_least", one.is_least},
                   {"why", one.why}});
  return all;
}

json relays_json(const choose::RelayProposal& relays) {
  const auto places = [](const std::vector<domain::Infrastructure>& devices) {
    json all = json::array();
    for (const domain::Infrastructure& one : devices)
      all.push_back(
          {{"space", one.space}, {"at", {one.at.x, one.at.y, one.at.z}}, {"device_kind", one.device_kind}});
    return all;
  };
  return {{"devices", relays.devices},
          {"gateways", places(relays.gateways)},
          {"repeaters", places(relays.repeaters)},
          {"out_of_reach", relays.out_of_reach},
          {"weakest_availability", relays.weakest}};
}

json contacts_json(const choose::ContactProposal& contacts) {
  json told = json::array();
  for (const choose::ContactProposal::Told& one : contacts.told)
    told.push_back({{"space", one.space}, {"by", one.contact ? "new contact" : one.interface}});
  json found = {{"new_contacts", contacts.contacts.size()}, {"told", told}};
  if (contacts.cost) found["cost"] = figure_json(*contacts.cost);
  return found;
}

}  // namespace halflight::projects
