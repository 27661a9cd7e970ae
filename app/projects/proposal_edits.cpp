#include "projects/proposal_edits.hpp"

#include "formats/object_text.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <set>
#include <string_view>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace halflight::projects {

namespace {

using formats::DocumentEdit;
using nlohmann::json;
using Operation = DocumentEdit::Operation;

constexpr double kMetresPerFoot = 0.3048;

/// Writes one space's objects where the document keeps them.
class Writer {
 public:
  Writer(const formats::ProjectDocument& document, const std::string& space)
      : document_(document), tree_(json::parse(document.text())) {
    const domain::Project& project = document.project();
    while (project.designs[design_].role != domain::Design::Role::proposal) ++design_;
    base_ = document.document_pointer(fmt::format("/designs/{}", design_));
    metres_per_unit_ = tree_.value("coordinates", "m") == "ft" ? kMetresPerFoot : 1.0;
    std::size_t index = 0;
    while (project.spaces[index].id != space) ++index;
    const std::string& typical = project.spaces[index].typical;
    const json& design = tree_.at(json::json_pointer(base_));
    for (std::size_t b = 0; !typical.empty() && b < design.value("typicals", json::array()).size(); ++b) {
      if (design["typicals"][b].value("typical", "") != typical) continue;
      base_ += fmt::format("/typicals/{}", b);
      prefix_ = space + ".";
      const json& room = tree_.at(json::json_pointer(document.document_pointer(fmt::format("/spaces/{}", index))));
      if (room.contains("origin"))
        origin_ = {room["origin"][0].get<double>() * metres_per_unit_,
                   room["origin"][1].get<double>() * metres_per_unit_};
      break;
    }
  }

  /// For gateways and repeaters, which belong to no room.
  Writer(const formats::ProjectDocument& document, const choose::RelayProposal& relays,
         std::set<std::string> taken)
      : document_(document), tree_(json::parse(document.text())) {
    while (document.project().designs[design_].role != domain::Design::Role::proposal) ++design_;
    base_ = document.document_pointer(fmt::format("/designs/{}", design_));
    metres_per_unit_ = tree_.value("coordinates", "m") == "ft" ? kMetresPerFoot : 1.0;
    const auto add = [&](std::vector<domain::Infrastructure> devices, const char* stem) {
      for (domain::Infrastructure& device : devices) {
        device.id = choose::fresh_id(stem, taken);
        append("infrastructure", text(device));
      }
    };
    add(relays.gateways, "GW");
    add(relays.repeaters, "RP");
  }

  /// Of one list: objects that are gone or differ go, and those that are new or differ come.
  template <class T>
  void list(std::string_view name, const std::vector<T>& all, const std::vector<T>& had,
            const std::vector<T>& has) {
    std::vector<std::string> kept;
    for (std::size_t i = all.size(); i-- > 0;) {
      const bool is_own = std::any_of(had.begin(), had.end(), [&](const T& one) { return one.id == all[i].id; });
      if (!is_own) continue;
      const T* stays = domain::find_by_id(has, all[i].id);
      if (stays != nullptr && text(*stays) == text(all[i]))
        kept.push_back(all[i].id);
      else
        edits_.push_back(
            {Operation::remove, document_.document_pointer(fmt::format("/designs/{}/{}/{}", design_, name, i)), ""});
    }
    for (const T& one : has)
      if (std::find(kept.begin(), kept.end(), one.id) == kept.end()) append(name, text(one));
  }

  void sequence(const domain::Sequence& had, const domain::Sequence& has) {
    const std::vector<domain::Sequence>& all = document_.project().designs[design_].sequences;
    const auto own = std::find_if(all.begin(), all.end(),
                                  [&](const domain::Sequence& one) { return one.space == has.space; });
    if (own == all.end()) {
      append("sequences", text(has));
      return;
    }
    const std::string pointer =
        document_.document_pointer(fmt::format("/designs/{}/sequences/{}", design_, own - all.begin()));
    const json& written = tree_.at(json::json_pointer(pointer));
    const json before = json::parse(text(had));
    const json after = json::parse(text(has));
    constexpr std::array kRules = {"normal_scene", "on", "vacancy", "schedule", "trim", "daylight", "manual"};
    for (const char* const rule : kRules) {
      if (before.value(rule, json()) == after.value(rule, json())) continue;
      const std::string at = pointer + "/" + rule;
      if (after.contains(rule))
        edits_.push_back({written.contains(rule) ? Operation::replace : Operation::add, at, after[rule].dump()});
      else if (written.contains(rule))
        edits_.push_back({Operation::remove, at, ""});
    }
  }

  /// Load controllers of several rooms lose what of a space is gone, and all of it where the space has
  /// controllers of its own.
  void shared_controllers(const std::string& space, const choose::RoomControls& has) {
    const domain::Project& project = document_.project();
    const std::vector<domain::LoadController>& all = project.designs[design_].load_controllers;
    const domain::Project with = choose::with_controls(project, space, in_space(space, has));
    const std::vector<domain::LoadController>& left = with.designs[design_].load_controllers;
    for (std::size_t i = 0; i < all.size(); ++i) {
      const domain::LoadController* after = domain::find_by_id(left, all[i].id);
      if (after == nullptr) continue;
      const std::string at = document_.document_pointer(fmt::format("/designs/{}/load_controllers/{}", design_, i));
      const auto less = [&](const char* key, const std::vector<std::string>& before,
                            const std::vector<std::string>& now) {
        for (std::size_t k = before.size(); k-- > 0;)
          if (std::find(now.begin(), now.end(), before[k]) == now.end() &&
              taken_.insert(fmt::format("{}/{}/{}", at, key, before[k])).second)
            edits_.push_back({Operation::remove, fmt::format("{}/{}/{}", at, key, k), ""});
      };
      less("groups", all[i].groups, after->groups);
      less("luminaires", all[i].luminaires, after->luminaires);
    }
  }

  [[nodiscard]] std::vector<DocumentEdit> done() && { return std::move(edits_); }

 private:
  void append(std::string_view name, const std::string& object) {
    const std::string list = base_ + "/" + std::string(name);
    const bool is_there = tree_.contains(json::json_pointer(list)) || made_.contains(list);
    if (!is_there) {
      edits_.push_back({Operation::add, list, "[]"});
      made_.insert(list);
    }
    edits_.push_back({Operation::add, list + "/-", object});
  }

  /// Only as far as shared controllers ask: groups by their ids in a room like the one that was chosen for.
  static choose::RoomControls in_space(const std::string& space, const choose::RoomControls& has) {
    choose::RoomControls there;
    there.sequence.space = space;
    for (domain::Group group : has.groups) {
      if (const std::size_t dot = group.id.find('.'); dot != std::string::npos)
        group.id = space + group.id.substr(dot);
      there.groups.push_back(std::move(group));
    }
    there.load_controllers = has.load_controllers;
    return there;
  }

  template <class T>
  [[nodiscard]] std::string text(T object) const {
    if constexpr (requires { object.at; }) {
      if (!prefix_.empty()) {
        object.at.x -= origin_.x;
        object.at.y -= origin_.y;
      }
    }
    if (!prefix_.empty()) object.space.clear();
    const std::string written = formats::object_text(object, metres_per_unit_);
    if (prefix_.empty()) return written;
    return without_prefix(json::parse(written)).dump();
  }
  /// Ids as the block of a typical has them.
  [[nodiscard]] json without_prefix(json value) const {
    if (value.is_string()) {
      const std::string word = value.get<std::string>();
      if (word.starts_with(prefix_)) return word.substr(prefix_.size());
    }
    if (value.is_structured())
      for (json& item : value) item = without_prefix(item);
    return value;
  }

  const formats::ProjectDocument& document_;
  json tree_;
  std::size_t design_ = 0;
  std::string base_;
  std::string prefix_;  // of the ids of a room that inherits; empty: it does not
  Point2 origin_{};
  double metres_per_unit_ = 1.0;
  std::set<std::string> made_;
  std::set<std::string> taken_;  // out of shared controllers
  std::vector<DocumentEdit> edits_;
};

}  // namespace

std::vector<DocumentEdit> edits_for(const formats::ProjectDocument& document, const std::string& space,
                                    const choose::RoomControls& controls) {
  const domain::Project& project = document.project();
  const domain::Design& design = *domain::find_design(project, domain::Design::Role::proposal);
  const choose::RoomControls had = choose::controls_of(project, design, space);
  // Scenes that stand may have got other levels since.
  std::vector<domain::Scene> scenes = had.scenes;
  for (const domain::Scene& scene : controls.scenes)
    if (domain::find_by_id(scenes, scene.id) == nullptr) scenes.push_back(scene);

  Writer writer(document, space);
  writer.sequence(had.sequence, controls.sequence);
  if (const auto typical = std::find_if(project.spaces.begin(), project.spaces.end(),
                                        [&](const domain::Space& one) { return one.id == space; });
      typical->typical.empty()) {
    writer.shared_controllers(space, controls);
  } else {
    for (const domain::Space& one : project.spaces)
      if (one.typical == typical->typical) writer.shared_controllers(one.id, controls);
  }
  writer.list("groups", design.groups, had.groups, controls.groups);
  writer.list("scenes", design.scenes, had.scenes, scenes);
  writer.list("occupancy_sensors", design.occupancy_sensors, had.occupancy_sensors, controls.occupancy_sensors);
  writer.list("photosensors", design.photosensors, had.photosensors, controls.photosensors);
  writer.list("stations", design.stations, had.stations, controls.stations);
  writer.list("load_controllers", design.load_controllers, had.load_controllers, controls.load_controllers);
  return std::move(writer).done();
}

std::vector<DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                    const choose::RelayProposal& relays) {
  const domain::Design& design = *domain::find_design(document.project(), domain::Design::Role::proposal);
  return Writer(document, relays, choose::ids_beside(design, "")).done();
}

}  // namespace halflight::projects
