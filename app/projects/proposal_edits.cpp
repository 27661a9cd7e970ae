#include "projects/proposal_edits.hpp"

#include "formats/object_text.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <map>
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
  Writer(const formats::ProjectDocument& document, const std::string& space, const choose::RoomControls& has)
      : document_(document), tree_(json::parse(document.text())), rooms_{space} {
    const domain::Project& project = document.project();
    while (project.designs[design_].role != domain::Design::Role::proposal) ++design_;
    base_ = document.document_pointer(fmt::format("/designs/{}", design_));
    metres_per_unit_ = tree_.value("coordinates", "m") == "ft" ? kMetresPerFoot : 1.0;
    ids_ = choose::ids_beside(project.designs[design_], "");
    const auto take = [&](const auto& objects) {
      for (const auto& one : objects) ids_.insert(one.id);
    };
    take(has.groups);
    take(has.scenes);
    take(has.occupancy_sensors);
    take(has.photosensors);
    take(has.stations);
    take(has.load_controllers);
    take(has.partition_sensors);
    std::size_t index = 0;
    while (project.spaces[index].id != space) ++index;
    const std::string& typical = project.spaces[index].typical;
    const json& design = tree_.at(json::json_pointer(base_));
    for (std::size_t b = 0; !typical.empty() && b < design.value("typicals", json::array()).size(); ++b) {
      if (design["typicals"][b].value("typical", "") != typical) continue;
      base_ += fmt::format("/typicals/{}", b);
      prefix_ = space + ".";
      for (const domain::Space& one : project.spaces)
        if (one.typical == typical && one.id != space) rooms_.push_back(one.id);
      // As the reader has it: a floor of its own says where a room lies, else its origin.
      const json& room =
          tree_.at(json::json_pointer(document.document_pointer(fmt::format("/spaces/{}", index))));
      if (room.contains("floor"))
        origin_ = bounds(project.spaces[index].floor).low;
      else if (room.contains("origin"))
        origin_ = {room["origin"][0].get<double>() * metres_per_unit_,
                   room["origin"][1].get<double>() * metres_per_unit_};
      break;
    }
  }

  /// For gateways and repeaters, which belong to no room.
  Writer(const formats::ProjectDocument& document, const choose::RelayProposal& relays,
         std::set<std::string> taken)
      : Writer(document) {
    const auto add = [&](std::vector<domain::Infrastructure> devices, const char* stem) {
      for (domain::Infrastructure& device : devices) {
        device.id = choose::fresh_id(stem, taken);
        append("infrastructure", text(device));
      }
    };
    add(relays.gateways, "GW");
    add(relays.repeaters, "RP");
  }

  Writer(const formats::ProjectDocument& document, const choose::ContactProposal& contacts,
         std::set<std::string> taken)
      : Writer(document) {
    std::vector<std::string> ids;
    for (domain::Interface contact : contacts.contacts) {
      contact.id = choose::fresh_id("HV", taken);
      ids.push_back(contact.id);
      append("interfaces", text(contact));
    }
    for (const choose::ContactProposal::Told& told : contacts.told) {
      domain::HvacHandOff hand_off;
      hand_off.space = told.space;
      hand_off.interface = told.contact ? ids[*told.contact] : told.interface;
      append("hvac_hand_offs", text(hand_off));
    }
  }

  Writer(const formats::ProjectDocument& document, const choose::SharedControllers& shared,
         std::set<std::string> taken)
      : Writer(document, shared.replaced) {
    for (domain::LoadController device : shared.controllers) {
      device.id = choose::fresh_id("LC", taken);
      append("load_controllers", text(device));
    }
  }

  /// Takes load controllers out, whichever rooms they are of.
  Writer(const formats::ProjectDocument& document, const std::vector<std::string>& controllers)
      : Writer(document) {
    const std::vector<domain::LoadController>& all = document.project().designs[design_].load_controllers;
    // Rooms of one typical have one object; from the end of each list on, what is before keeps its number.
    std::map<std::string, std::set<std::size_t>> gone;
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (std::find(controllers.begin(), controllers.end(), all[i].id) == controllers.end()) continue;
      const std::string at =
          document.document_pointer(fmt::format("/designs/{}/load_controllers/{}", design_, i));
      const std::size_t end = at.rfind('/');
      gone[at.substr(0, end)].insert(std::stoul(at.substr(end + 1)));
    }
    for (const auto& [list, numbers] : gone)
      for (auto number = numbers.rbegin(); number != numbers.rend(); ++number)
        edits_.push_back({Operation::remove, fmt::format("{}/{}", list, *number), ""});
  }

  /// Of one list: objects that are gone or differ go, and those that are new or differ come.
  template <class T>
  void list(std::string_view name, const std::vector<T>& all, const std::vector<T>& had,
            const std::vector<T>& has) {
    std::vector<std::string> kept;
    for (std::size_t i = all.size(); i-- > 0;) {
      const bool is_own =
          std::any_of(had.begin(), had.end(), [&](const T& one) { return one.id == all[i].id; });
      if (!is_own && !idle_.contains(all[i].id)) continue;
      const T* stays = domain::find_by_id(has, all[i].id);
      if (stays != nullptr && text(*stays) == text(all[i]))
        kept.push_back(all[i].id);
      else
        edits_.push_back({Operation::remove,
                          document_.document_pointer(fmt::format("/designs/{}/{}/{}", design_, name, i)),
                          ""});
    }
    for (const T& one : has)
      if (std::find(kept.begin(), kept.end(), one.id) == kept.end()) append(name, text(one));
  }

  /// Of the rules of the space and, where it inherits, of every room beside it.
  void sequence(const domain::Sequence& has) {
    const std::vector<domain::Sequence>& all = document_.project().designs[design_].sequences;
    std::set<std::string> changed;
    for (const std::string& space : rooms_) {
      const auto own = std::find_if(all.begin(), all.end(),
                                    [&](const domain::Sequence& one) { return one.space == space; });
      if (own == all.end()) {
        if (space == rooms_.front()) append("sequences", text(has));
        continue;
      }
      const std::string pointer =
          document_.document_pointer(fmt::format("/designs/{}/sequences/{}", design_, own - all.begin()));
      if (!changed.insert(pointer).second) continue;
      const bool is_in_block = !prefix_.empty() && pointer.starts_with(base_ + "/");
      const json before = json::parse(formats::object_text(*own, metres_per_unit_));
      const json after = json::parse(formats::object_text(has, metres_per_unit_));
      if (is_in_block)
        rules(pointer, without(before, space + "."), without(after, prefix_));
      else
        rules(pointer, before, renamed(after, space + "."));
    }
  }

  /// What takes the power of plugged-in devices, of the space and, where it inherits, of every room beside it
  /// that has the same plugged in. Devices that come with the kind of space are written out. A design that
  /// was made for other devices says nothing of these.
  void plug_loads(const domain::PlugLoads& had, const domain::PlugLoads& has) {
    const bool are_same =
        std::equal(had.devices.begin(), had.devices.end(), has.devices.begin(), has.devices.end(),
                   [](const auto& a, const auto& b) { return a.kind == b.kind && a.count == b.count; });
    if (!are_same) return;
    const std::vector<domain::Space>& spaces = document_.project().spaces;
    const json before = json::parse(formats::object_text(had, metres_per_unit_));
    const json after = json::parse(formats::object_text(has, metres_per_unit_));
    if (before == after) return;
    std::set<std::string> changed;
    for (const std::string& room : rooms_) {
      const auto index =
          std::find_if(spaces.begin(), spaces.end(), [&](const auto& one) { return one.id == room; });
      if (json::parse(formats::object_text(index->plug_loads, metres_per_unit_)) != before) continue;
      const std::string base = plug_loads_pointer(*index, index - spaces.begin());
      if (!changed.insert(base).second) continue;
      const json::json_pointer where(base);
      const bool is_there = tree_.contains(where);
      const json written = is_there ? tree_.at(where) : json::object();
      if (!is_there) edits_.push_back({Operation::add, base, "{}"});
      if (!written.contains("devices") && after.contains("devices") &&
          before.value("devices", json()) != after["devices"])
        edits_.push_back({Operation::add, base + "/devices", after["devices"].dump()});
      for (std::size_t d = 0; d < written.value("devices", json::array()).size(); ++d)
        for (const char* const key : {"switched_by", "switch_draw"})
          value(fmt::format("{}/devices/{}", base, d), key, written["devices"][d], before["devices"][d],
                after["devices"][d]);
      for (const char* const key : {"controlled_receptacles", "controlled_fraction", "off_when"})
        value(base, key, written, before, after);
    }
  }

  /// Load controllers of several rooms lose what of the space, and of the rooms beside it, is gone, and all
  /// of it where the space has controllers of its own. Those that are left with nothing to drive go with the
  /// list of load controllers.
  void shared_controllers(const choose::RoomControls& has) {
    const domain::Project& project = document_.project();
    const std::vector<domain::LoadController>& all = project.designs[design_].load_controllers;
    std::vector<std::set<std::string>> gone(all.size());
    for (const std::string& room : rooms_) {
      const domain::Project with = choose::with_controls(project, room, in_space(room, has));
      for (std::size_t i = 0; i < all.size(); ++i) {
        const auto* left = domain::find_by_id(with.designs[design_].load_controllers, all[i].id);
        if (left == nullptr) continue;
        for (const auto list : {&domain::LoadController::groups, &domain::LoadController::luminaires})
          for (const std::string& id : all[i].*list)
            if (std::find((left->*list).begin(), (left->*list).end(), id) == (left->*list).end())
              gone[i].insert(id);
      }
    }
    for (std::size_t i = 0; i < all.size(); ++i) {
      const auto are_gone = [&](const std::vector<std::string>& ids) {
        return std::all_of(ids.begin(), ids.end(),
                           [&](const std::string& id) { return gone[i].contains(id); });
      };
      if (!gone[i].empty() && are_gone(all[i].groups) && are_gone(all[i].luminaires)) {
        idle_.insert(all[i].id);
        continue;
      }
      const std::string at =
          document_.document_pointer(fmt::format("/designs/{}/load_controllers/{}", design_, i));
      const auto less = [&](const char* key, const std::vector<std::string>& ids) {
        for (std::size_t k = ids.size(); k-- > 0;)
          if (gone[i].contains(ids[k]))
            edits_.push_back({Operation::remove, fmt::format("{}/{}/{}", at, key, k), ""});
      };
      less("groups", all[i].groups);
      less("luminaires", all[i].luminaires);
    }
  }

  /// What is to be removed, and stays on the list, names no group that is gone.
  template <class T>
  void removed_devices(std::string_view name, const std::vector<T>& all, const std::string& space,
                       const std::vector<domain::Group>& had, const std::vector<domain::Group>& has) {
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (all[i].space != space || all[i].status != domain::Status::remove) continue;
      const std::string at = document_.document_pointer(fmt::format("/designs/{}/{}/{}", design_, name, i));
      for (std::size_t k = all[i].groups.size(); k-- > 0;)
        if (domain::find_by_id(had, all[i].groups[k]) != nullptr &&
            domain::find_by_id(has, all[i].groups[k]) == nullptr)
          edits_.push_back({Operation::remove, fmt::format("{}/groups/{}", at, k), ""});
    }
  }

  [[nodiscard]] std::vector<DocumentEdit> done() && { return std::move(edits_); }

 private:
  /// For what belongs to no room.
  explicit Writer(const formats::ProjectDocument& document)
      : document_(document), tree_(json::parse(document.text())) {
    while (document.project().designs[design_].role != domain::Design::Role::proposal) ++design_;
    base_ = document.document_pointer(fmt::format("/designs/{}", design_));
    metres_per_unit_ = tree_.value("coordinates", "m") == "ft" ? kMetresPerFoot : 1.0;
  }

  void append(std::string_view name, const std::string& object) {
    const std::string list = base_ + "/" + std::string(name);
    const bool is_there = tree_.contains(json::json_pointer(list)) || made_.contains(list);
    if (!is_there) {
      edits_.push_back({Operation::add, list, "[]"});
      made_.insert(list);
    }
    edits_.push_back({Operation::add, list + "/-", object});
  }

  /// Where the document says, or would say, what is plugged into a space: in the space itself, or in its
  /// typical unless it has its own.
  [[nodiscard]] std::string plug_loads_pointer(const domain::Space& space, std::ptrdiff_t index) const {
    const std::string own = document_.document_pointer(fmt::format("/spaces/{}", index));
    const json typicals = tree_.value("typicals", json::array());
    for (std::size_t t = 0; t < typicals.size() && !space.typical.empty(); ++t)
      if (typicals[t].value("id", "") == space.typical && typicals[t].contains("space") &&
          !tree_.at(json::json_pointer(own)).contains("plug_loads"))
        return fmt::format("/typicals/{}/space/plug_loads", t);
    return own + "/plug_loads";
  }

  /// One key of an object that differs.
  void value(const std::string& pointer, const char* key, const json& written, const json& before,
             const json& after) {
    if (before.value(key, json()) == after.value(key, json())) return;
    const std::string at = pointer + "/" + key;
    if (after.contains(key))
      edits_.push_back({written.contains(key) ? Operation::replace : Operation::add, at, after[key].dump()});
    else if (written.contains(key))
      edits_.push_back({Operation::remove, at, ""});
  }

  /// The rules that differ.
  void rules(const std::string& pointer, const json& before, const json& after) {
    const json& written = tree_.at(json::json_pointer(pointer));
    constexpr std::array kRules = {"normal_scene", "on", "vacancy", "schedule", "trim", "daylight", "manual"};
    for (const char* const rule : kRules) value(pointer, rule, written, before, after);
  }

  /// Only as far as shared controllers ask: groups by their ids in a room like the one that was chosen for.
  [[nodiscard]] choose::RoomControls in_space(const std::string& space,
                                              const choose::RoomControls& has) const {
    choose::RoomControls there;
    there.sequence.space = space;
    for (domain::Group group : has.groups) {
      if (!prefix_.empty() && group.id.starts_with(prefix_))
        group.id = space + "." + group.id.substr(prefix_.size());
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
    return without(json::parse(written), prefix_).dump();
  }
  /// Ids as the block of a typical has them.
  [[nodiscard]] json without(json value, const std::string& prefix) const {
    if (value.is_string()) {
      const std::string word = value.get<std::string>();
      if (!prefix.empty() && word.starts_with(prefix) && is_id(word)) return word.substr(prefix.size());
    }
    if (value.is_structured())
      for (json& item : value) item = without(item, prefix);
    return value;
  }
  /// Of an object or of one of its channels: "3.2 m" in a room 3 is none.
  [[nodiscard]] bool is_id(const std::string& word) const {
    return ids_.contains(word.substr(0, word.find('/')));
  }
  /// Ids of another room that inherits.
  [[nodiscard]] json renamed(json value, const std::string& prefix) const {
    if (prefix_.empty()) return value;
    if (value.is_string()) {
      const std::string word = value.get<std::string>();
      if (word.starts_with(prefix_) && is_id(word)) return prefix + word.substr(prefix_.size());
    }
    if (value.is_structured())
      for (json& item : value) item = renamed(item, prefix);
    return value;
  }

  const formats::ProjectDocument& document_;
  json tree_;
  std::vector<std::string> rooms_;  // the space, then those that inherit as it does
  std::size_t design_ = 0;
  std::string base_;
  std::string prefix_;  // of the ids of a room that inherits; empty: it does not
  Point2 origin_{};
  double metres_per_unit_ = 1.0;
  std::set<std::string> made_;
  std::set<std::string> ids_;   // of the design and of what is proposed
  std::set<std::string> idle_;  // load controllers of several rooms that are left with nothing to drive
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

  Writer writer(document, space, controls);
  writer.sequence(controls.sequence);
  writer.plug_loads(had.plug_loads, controls.plug_loads);
  writer.shared_controllers(controls);
  writer.removed_devices("occupancy_sensors", design.occupancy_sensors, space, had.groups, controls.groups);
  writer.removed_devices("photosensors", design.photosensors, space, had.groups, controls.groups);
  writer.removed_devices("load_controllers", design.load_controllers, space, had.groups, controls.groups);
  writer.list("groups", design.groups, had.groups, controls.groups);
  writer.list("scenes", design.scenes, had.scenes, scenes);
  writer.list("occupancy_sensors", design.occupancy_sensors, had.occupancy_sensors,
              controls.occupancy_sensors);
  writer.list("photosensors", design.photosensors, had.photosensors, controls.photosensors);
  writer.list("stations", design.stations, had.stations, controls.stations);
  writer.list("load_controllers", design.load_controllers, had.load_controllers, controls.load_controllers);
  writer.list("interfaces", design.interfaces, had.partition_sensors, controls.partition_sensors);
  return std::move(writer).done();
}

std::vector<DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                    const choose::RelayProposal& relays) {
  const domain::Design& design = *domain::find_design(document.project(), domain::Design::Role::proposal);
  return Writer(document, relays, choose::ids_beside(design, "")).done();
}

std::vector<DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                    const choose::ContactProposal& contacts) {
  const domain::Design& design = *domain::find_design(document.project(), domain::Design::Role::proposal);
  return Writer(document, contacts, choose::ids_beside(design, "")).done();
}

std::vector<DocumentEdit> edits_for(const formats::ProjectDocument& document,
                                    const choose::SharedControllers& shared) {
  const domain::Design& design = *domain::find_design(document.project(), domain::Design::Role::proposal);
  return Writer(document, shared, choose::ids_beside(design, "")).done();
}

}  // namespace halflight::projects
