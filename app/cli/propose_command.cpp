// Levels for scenes that say what they are for: printed, and written back into the document.
#include "base/context.hpp"
#include "choose/room_proposals.hpp"
#include "choose/room_scenes.hpp"
#include "cli/cache.hpp"
#include "cli/cancellation.hpp"
#include "cli/chosen_spaces.hpp"
#include "cli/commands.hpp"
#include "cli/diagnostics_output.hpp"
#include "cli/exit_code.hpp"
#include "cli/room_proposals_output.hpp"
#include "cli/summary.hpp"
#include "cli/terminal_progress.hpp"
#include "domain/names.hpp"
#include "files/file.hpp"
#include "projects/building_proposals.hpp"
#include "projects/project_files.hpp"
#include "projects/room_proposals_json.hpp"
#include "projects/scene_levels_json.hpp"
#include "sim/electric_states.hpp"
#include "sim/ready_spaces.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::cli {

namespace {

using nlohmann::json;

/// A scene as it stands in the document, with the rooms that share it.
struct ScenePlace {
  std::string pointer;  ///< of the scene in the document
  std::vector<choose::SceneInRoom> rooms;
};

std::vector<ScenePlace> scenes_with_targets(const formats::ProjectDocument& document,
                                            const std::vector<sim::SpaceModel>& models) {
  std::vector<ScenePlace> places;
  const domain::Project& project = document.project();
  for (const sim::SpaceModel& model : models)
    for (const domain::Scene* scene : sim::scenes_of(model)) {
      if (scene->targets.empty()) continue;
      const std::size_t d = sim::design_index(model, domain::Design::Role::proposal);
      const auto s = static_cast<std::size_t>(scene - project.designs[d].scenes.data());
      const std::string pointer = document.document_pointer(fmt::format("/designs/{}/scenes/{}", d, s));
      auto known = std::find_if(places.begin(), places.end(),
                                [&](const ScenePlace& one) { return one.pointer == pointer; });
      if (known == places.end()) known = places.insert(places.end(), {pointer, {}});
      known->rooms.push_back({&model, scene});
    }
  return places;
}

std::string percent(double level) { return fmt::format("{:.0f} %", 100.0 * level); }

std::string title_of(const ScenePlace& place) {
  std::string rooms;
  for (const choose::SceneInRoom& room : place.rooms)
    rooms += (rooms.empty() ? "" : ", ") + room.model->space->number;
  const domain::Scene& scene = *place.rooms.front().scene;
  return fmt::format("{} {}, scene {}", rooms, place.rooms.front().model->space->name,
                     domain::named(scene.name, scene.id));
}

void print_levels(const choose::RoomScene& scene, const choose::SceneLevels& levels) {
  const bool is_proved = levels.power_w - levels.bound_w <= choose::kSamePower_w;
  fmt::print("  {:.0f} W in place of {:.0f} W: {}\n", scene.proposed_w, scene.now_w,
             is_proved ? "in steps of 5 % no levels that hold it draw less"
                       : fmt::format("levels that draw {:.1f} W less are not ruled out",
                                     levels.power_w - levels.bound_w));
  for (std::size_t g = 0; g < scene.groups.size(); ++g)
    fmt::print("    {}: {}{}\n", scene.group_names[g], percent(levels.level[g]),
               std::abs(levels.level[g] - scene.now[g]) < 1e-9
                   ? ""
                   : fmt::format(" (was {})", percent(scene.now[g])));
  for (std::size_t d = 0; d < scene.demands.size(); ++d) {
    const choose::RoomDemand& demand = scene.demands[d];
    const choose::DemandKept& kept = levels.kept[d];
    fmt::print("    {}: {} (was {})", choose::in_words(demand), choose::figure_in_words(demand, kept.reached),
               choose::figure_in_words(demand, demand.now));
    const bool is_spread = demand.kind == choose::SceneDemand::Kind::level_spread;
    const bool is_ratio = is_spread || demand.kind == choose::SceneDemand::Kind::uniformity;
    if (kept.price_w > 0.0)
      fmt::print("; {} {:.1f} W",
                 is_spread  ? "10 % more would save"
                 : is_ratio ? "0.1 less would save"
                            : "10 lx of it cost",
                 kept.price_w * (is_ratio ? 0.1 : 10.0));
    fmt::print("\n");
  }
}

void print_conflict(const choose::RoomScene& scene, const choose::SceneConflict& conflict) {
  fmt::print("  no levels hold what is asked; these stand in each other's way:\n");
  for (const choose::DemandAtOdds& member : conflict.members) {
    const choose::RoomDemand& demand = scene.demands[member.demand];
    fmt::print("    {}: beside the others of these it comes to {}{}\n", choose::in_words(demand),
               choose::figure_in_words(demand, member.attainable),
               !member.attainable_with_all ? ""
               : std::abs(*member.attainable_with_all - member.attainable) < 0.5
                   ? ""
                   : fmt::format(", beside everything that is asked to {}",
                                 choose::figure_in_words(demand, *member.attainable_with_all)));
  }
}

json as_json(const ScenePlace& place, const choose::RoomScene& scene) {
  json rooms = json::array();
  for (const choose::SceneInRoom& room : place.rooms) rooms.push_back(room.model->space->id);
  json found{{"pointer", place.pointer}, {"scene", place.rooms.front().scene->id}, {"spaces", rooms}};
  found.update(projects::scene_levels_json(scene));
  return found;
}

/// A level as somebody would type it: levels are whole twentieths.
std::string typed(double level) { return fmt::format("{:g}", std::round(100.0 * level) / 100.0); }

/// Gives a scene its levels, by the ids that groups have where the scene stands, and touches no other byte.
void add_edits(const formats::ProjectDocument& document, const json& tree, const ScenePlace& place,
               const choose::RoomScene& scene, const choose::SceneLevels& levels,
               std::vector<formats::DocumentEdit>& edits) {
  using Operation = formats::DocumentEdit::Operation;
  const domain::Scene& written = *place.rooms.front().scene;
  const sim::SpaceModel& model = *place.rooms.front().model;
  const std::size_t d = sim::design_index(model, domain::Design::Role::proposal);
  const std::vector<domain::Group>& groups = document.project().designs[d].groups;
  for (std::size_t g = 0; g < scene.groups.size(); ++g) {
    if (typed(levels.level[g]) == typed(scene.now[g])) continue;
    const auto at =
        std::find_if(written.levels.begin(), written.levels.end(),
                     [&](const domain::SceneLevel& level) { return level.group == scene.groups[g]; });
    if (at != written.levels.end()) {
      edits.push_back({Operation::replace,
                       fmt::format("{}/levels/{}/level", place.pointer, at - written.levels.begin()),
                       typed(levels.level[g])});
      continue;
    }
    const auto group = std::find_if(groups.begin(), groups.end(),
                                    [&](const domain::Group& known) { return known.id == scene.groups[g]; });
    const std::string pointer =
        document.document_pointer(fmt::format("/designs/{}/groups/{}", d, group - groups.begin()));
    edits.push_back(
        {Operation::add, place.pointer + "/levels/-",
         fmt::format(R"({{"group": {}, "level": {}}})", tree.at(json::json_pointer(pointer + "/id")).dump(),
                     typed(levels.level[g]))});
  }
}

/// The parts that --keep names; nothing without it.
std::optional<std::set<choose::Part>> kept_parts(const std::vector<std::string>& keep) {
  if (keep.empty()) return std::nullopt;
  std::set<choose::Part> kept;
  for (const choose::Part part : choose::kParts)
    if (std::find(keep.begin(), keep.end(), choose::name_of(part)) != keep.end()) kept.insert(part);
  return kept;
}

/// The design that --take names, index in its room's designs; nothing where the room offers none by that
/// name.
std::optional<std::size_t> taken_design(const std::string& take, const choose::RoomProposals& found,
                                        std::size_t at_knee_of_building) {
  if (take == projects::kMostForTheBuildingsMoney) return at_knee_of_building;
  for (const choose::RoomProposals::Offer& offer : found.offers)
    for (const choose::Pick pick : offer.picked)
      if (take == choose::name_of(pick)) return offer.design;
  return std::nullopt;
}

}  // namespace

int run(const ProposeCommand& command) {
  const Cancellation cancellation;  // before any other thread
  const auto files = projects::read_project(command.project);
  if (!files) {
    print_diagnostics(files.error());
    return ExitCode::bad_input;
  }
  const domain::Project& project = files->document.project();
  const Diagnostics against = against_lighting(files->diagnostics, command.spaces, project);
  if (!against.empty()) {
    print_diagnostics(against);
    return ExitCode::bad_input;
  }
  if (command.keep.size() > 1 &&
      std::find(command.keep.begin(), command.keep.end(), "none") != command.keep.end()) {
    print_diagnostics({{Diagnostic::Severity::error, "", "--keep", "none stands beside parts that stay",
                        "write none alone, or the parts alone"}});
    return ExitCode::bad_input;
  }
  std::vector<std::size_t> wanted;
  std::vector<std::size_t> with_targets;
  const domain::Design* proposal = domain::find_design(project, domain::Design::Role::proposal);
  for (std::size_t s = 0; s < project.spaces.size(); ++s) {
    const std::string& id = project.spaces[s].id;
    if (!command.spaces.empty() &&
        std::find(command.spaces.begin(), command.spaces.end(), id) == command.spaces.end())
      continue;
    wanted.push_back(s);
    if (proposal != nullptr &&
        std::any_of(proposal->scenes.begin(), proposal->scenes.end(),
                    [&](const domain::Scene& scene) { return scene.space == id && !scene.targets.empty(); }))
      with_targets.push_back(s);
  }
  std::vector<projects::RoomsAlike> rooms;
  if (proposal != nullptr)
    rooms = projects::rooms_with_choice(project, *proposal, wanted, kept_parts(command.keep)).rooms;
  if (with_targets.empty() && rooms.empty()) {
    print_diagnostics(
        {{Diagnostic::Severity::error, command.project.string(), "",
          "nothing is left to choose: the controls of these rooms are decided, and no scene says "
          "what it is for",
          "free parts with --keep, or give a scene \"targets\" on task areas, as "
          "docs/formats/project.md has them"}});
    return ExitCode::bad_input;
  }

  const sim::StudyInputs inputs = projects::study_inputs(*files);
  sim::StudyOptions options;
  options.accuracy = command.accuracy;
  Cache cache(command.cache, command.no_cache, "the proposal");
  const auto executor = make_pool_executor(command.threads);
  auto progress = make_terminal_progress();
  lightresponse::StageLog log;
  const Context context{*executor, cache.store(), progress.get(), cancellation.token()};

  const json tree = json::parse(files->document.text());
  std::vector<formats::DocumentEdit> edits;
  json rooms_found = json::array();
  std::vector<projects::RoomsFound> all_found;
  bool all_fit = true;
  const auto take_down = [&](const projects::RoomsAlike& room, Result<choose::RoomProposals> found) {
    if (!found) {
      print_diagnostics(found.error());
      all_fit = false;
      return;
    }
    std::vector<std::string> ids;
    for (const std::size_t s : room.spaces) ids.push_back(project.spaces[s].id);
    fmt::print("{}\n", proposals_text(project, ids, *found, options.scrambles));
    rooms_found.push_back(projects::proposals_json(ids, *found, options.scrambles));
    if (found->designs.empty())
      all_fit = false;
    else
      all_found.push_back({std::move(ids), std::make_shared<const choose::RoomProposals>(*std::move(found))});
  };
  projects::propose_rooms(*files, rooms, options, context, log, take_down);
  const choose::BuildingLine line = choose::building_line(projects::on_line(all_found));
  if (all_found.size() > 1) fmt::print("{}\n", building_text(project, all_found, line, options.scrambles));

  json results = json::array();
  if (!with_targets.empty()) {
    const sim::ReadySpaces ready(inputs, options, with_targets, context, log);
    for (std::size_t i = 0; i < with_targets.size(); ++i)
      if (!ready.why_dark[i].empty())
        fmt::print(stderr, "warning: {}: {}\n", project.spaces[with_targets[i]].id, ready.why_dark[i]);
    choose::SceneLook look;
    if (command.largest_step) look.largest_step = *command.largest_step / 100.0;
    for (const ScenePlace& place : scenes_with_targets(files->document, ready.models)) {
      fmt::print("{}\n", title_of(place));
      const Result<choose::RoomScene> scene = choose::propose_scene(place.rooms, ready.rules, look);
      if (!scene) {
        print_diagnostics(scene.error());
        all_fit = false;
        continue;
      }
      results.push_back(as_json(place, *scene));
      if (const auto* levels = std::get_if<choose::SceneLevels>(&scene->found)) {
        print_levels(*scene, *levels);
        add_edits(files->document, tree, place, *scene, *levels, edits);
      } else {
        print_conflict(*scene, std::get<choose::SceneConflict>(scene->found));
        all_fit = false;
      }
    }
  }
  progress.reset();

  std::vector<projects::DesignToTake> taken;
  const std::vector<std::size_t> at_knee = line.after(line.knee);
  for (std::size_t r = 0; r < all_found.size(); ++r)
    if (const auto design = taken_design(command.take, *all_found[r].found, at_knee[r]))
      taken.push_back(projects::design_to_take(all_found[r], *design));

  // What was found, put into a copy of the document.
  formats::ProjectDocument proposed = files->document;
  Diagnostics refused = proposed.apply(edits);
  json shared = json::array();
  json radio;
  json hvac;
  if (refused.empty()) {
    Result<projects::TakenDesigns> with = projects::take_designs(proposed, *files, taken);
    if (with) {
      proposed = std::move(with->document);
      if (!with->shared.empty()) {
        fmt::print("{}", shared_text(proposed.project(), with->shared));
        shared = projects::shared_json(with->shared);
      }
      if (!with->no_relays.empty()) {
        print_diagnostics(with->no_relays);
        all_fit = false;
      }
      if (with->relays) {
        fmt::print("{}", relays_text(proposed.project(), *with->relays, command.take));
        radio = projects::relays_json(*with->relays);
        all_fit = all_fit && with->relays->out_of_reach.empty();
      }
      if (!with->contacts.told.empty()) {
        fmt::print("{}", contacts_text(proposed.project(), with->contacts));
        hvac = projects::contacts_json(with->contacts);
      }
    } else {
      refused = std::move(with.error());
    }
  }
  if (!refused.empty()) {
    print_diagnostics(refused);
    return ExitCode::internal_fault;
  }
  fmt::print("\n{}", caution_text());
  cache.warn_of_trouble();
  if (command.json) {
    if (const auto saved = files::write_file_atomically(
            *command.json,
            files::as_bytes(json{{"rooms", rooms_found},
                                 {"building", projects::building_json(all_found, line, options.scrambles)},
                                 {"scenes", results},
                                 {"shared_controllers", shared},
                                 {"radio", radio},
                                 {"hvac", hvac}}
                                .dump(2) +
                            "\n"));
        !saved) {
      print_diagnostics(saved.error());
      return ExitCode::bad_input;
    }
  }
  if (command.out) {
    if (const auto saved = files::write_file_atomically(*command.out, files::as_bytes(proposed.text()));
        !saved) {
      print_diagnostics(saved.error());
      return ExitCode::bad_input;
    }
    fmt::print("Document: {}, with {} level{} changed{}\n", command.out->string(), edits.size(),
               edits.size() == 1 ? "" : "s",
               taken.empty() ? ""
                             : fmt::format(" and the design \"{}\" in {} room{}", command.take, taken.size(),
                                           taken.size() == 1 ? "" : "s"));
  }
  return all_fit ? ExitCode::done : ExitCode::does_not_hold;
}

}  // namespace halflight::cli
