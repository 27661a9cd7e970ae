#include "service/room_json.hpp"

#include "choose/first_cost.hpp"
#include "choose/room_controls.hpp"
#include "codes/code_minimum.hpp"
#include "codes/zones.hpp"
#include "domain/names.hpp"
#include "formats/project_fields.hpp"
#include "sensing/coverage.hpp"
#include "service/radio_json.hpp"
#include "service/reach_json.hpp"
#include "wording/sequence.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <string>
#include <utility>

#include <fmt/format.h>

namespace halflight::service {

namespace {

using domain::Design;
using domain::named;
using domain::Project;
using domain::Space;

/// The word that documents use for an enumerator.
template <class E>
std::string_view word(E e) {
  return formats::Words<E>::kAll[static_cast<std::size_t>(e)];
}

/// Walks a project and knows where in its document everything stands.
class Drawing {
 public:
  explicit Drawing(const projects::ProjectFiles& files) : files_(files), project_(files.document.project()) {
    for (std::size_t d = 0; d < project_.designs.size(); ++d)
      if (project_.designs[d].role == Design::Role::proposal && proposal_ == nullptr) {
        proposal_ = &project_.designs[d];
        design_path_ = fmt::format("/designs/{}", d);
      }
    document_ = Json::parse(files.document.text(), nullptr, false);
  }

  [[nodiscard]] Json building() const {
    Json storeys = Json::array();
    for (const domain::Storey& storey : project_.storeys)
      storeys.push_back({{"id", storey.id}, {"name", named(storey.name, storey.id)}});
    Json rooms = Json::array();
    for (std::size_t s = 0; s < project_.spaces.size(); ++s) rooms.push_back(row(s));
    Json typicals = Json::array();
    for (std::size_t t = 0; t < project_.typicals.size(); ++t)
      typicals.push_back({{"id", project_.typicals[t].id},
                          {"name", named(project_.typicals[t].name, project_.typicals[t].id)},
                          {"pointer", pointer(fmt::format("/typicals/{}", t))},
                          {"rooms", project_.typicals[t].spaces}});
    Json designs = Json::array();
    for (std::size_t d = 0; d < project_.designs.size(); ++d)
      designs.push_back({{"id", project_.designs[d].id},
                         {"name", named(project_.designs[d].name, project_.designs[d].id)},
                         {"role", word(project_.designs[d].role)},
                         {"pointer", pointer(fmt::format("/designs/{}", d))}});
    Json kinds = Json::array();
    for (const domain::SpaceKind& kind : files_.library->kinds)
      kinds.push_back({{"id", kind.id}, {"name", kind.name}, {"target_lx", kind.target_lx}});
    return {{"name", project_.name},
            {"storeys", storeys},
            {"rooms", rooms},
            {"typicals", typicals},
            {"designs", designs},
            {"kinds", kinds},
            {"diagnostics", to_json(files_.diagnostics)}};
  }

  [[nodiscard]] Json room(std::size_t index) const {
    const Space& space = project_.spaces[index];
    const std::string path = fmt::format("/spaces/{}", index);
    Json out = {{"id", space.id},
                {"number", space.number},
                {"name", space.name},
                {"storey", space.storey},
                {"storey_name", storey_name(space)},
                {"kind", space.kind},
                {"kind_name", kind_name(space)},
                {"typical", space.typical.empty() ? Json() : Json(space.typical)},
                {"typical_rooms", typical_rooms(space)},
                {"typical_origin", typical_origin(space, path)},
                {"pointer", pointer(path)},
                {"proposal", proposal_ == nullptr ? Json() : Json(pointer(design_path_))},
                {"area_m2", area(space.floor)},
                {"height_m", space.height_m},
                {"plan_height_m", plan_height_m(space)},
                {"plan_north_deg", project_.site.plan_north_deg},
                {"floor", to_json(space.floor)}};
    out["openings"] = openings(space, path);
    out["doors"] = doors(space, path);
    out["partitions"] = partitions(space, path);
    out["furniture"] = furniture(space, path);
    out["task_areas"] = task_areas(space, path);
    out["egress_paths"] = egress_paths(space, path);
    out["daylight_zones"] = daylight_zones(space);
    out["luminaires"] = luminaires(space);
    out["luminaire_types"] = luminaire_types();
    out["groups"] = groups(space);
    out["devices"] = devices(space);
    out["reach"] = reach_json(project_, space);
    out["radio"] = radio_json(project_, space);
    out["decided"] = decided(space);
    out["circuits"] = circuits();
    out["scenes"] = scenes(space);
    out["sequence"] = Json();
    out["normal_scene"] = Json();
    if (proposal_ != nullptr)
      if (const domain::Sequence* sequence = domain::find_sequence(*proposal_, space.id)) {
        if (!sequence->normal_scene.empty()) out["normal_scene"] = sequence->normal_scene;
        out["sequence"] = sequence_json(*sequence);
      }
    out["diagnostics"] = to_json(diagnostics_in(pointer(path)));
    return out;
  }

 private:
  [[nodiscard]] std::string pointer(const std::string& path) const {
    return files_.document.document_pointer(path);
  }
  [[nodiscard]] std::string storey_name(const Space& space) const {
    const domain::Storey* storey = domain::find_by_id(project_.storeys, space.storey);
    return storey == nullptr ? space.storey : named(storey->name, storey->id);
  }
  [[nodiscard]] std::string kind_name(const Space& space) const {
    const domain::SpaceKind* kind = domain::find_by_id(files_.library->kinds, space.kind);
    return kind == nullptr ? space.kind : kind->name;
  }
  [[nodiscard]] Json typical_rooms(const Space& space) const {
    const domain::Typical* typical = domain::find_by_id(project_.typicals, space.typical);
    return typical == nullptr ? Json::array() : Json(typical->spaces);
  }
  /// What the document says at a pointer; null where it says nothing.
  [[nodiscard]] const Json* written(const std::string& at) const {
    const Json::json_pointer place(at);
    return document_.is_discarded() || !document_.contains(place) ? nullptr : &document_.at(place);
  }
  /// Where the typical's [0, 0] lies in the building: what its objects' coordinates are measured from.
  [[nodiscard]] Json typical_origin(const Space& space, const std::string& path) const {
    if (space.typical.empty()) return {};
    const Json* own = written(pointer(path));
    if (own != nullptr && own->contains("floor")) return to_json(bounds(space.floor).low);
    // The typical's floor, laid at the origin.
    const domain::Typical* typical = domain::find_by_id(project_.typicals, space.typical);
    if (typical == nullptr || space.floor.empty()) return {};
    const auto t = static_cast<std::size_t>(typical - project_.typicals.data());
    const Json* floor = written(fmt::format("/typicals/{}/space/floor/0", t));
    if (floor == nullptr || !floor->is_array() || floor->size() != 2 || !(*floor)[0].is_number() ||
        !(*floor)[1].is_number())
      return {};
    const bool feet = document_.value("coordinates", "m") == "ft";
    const double scale = feet ? 0.3048 : 1.0;
    return to_json(Point2{space.floor[0].x - scale * (*floor)[0].get<double>(),
                          space.floor[0].y - scale * (*floor)[1].get<double>()});
  }

  [[nodiscard]] Json row(std::size_t s) const {
    const Space& space = project_.spaces[s];
    const std::string at = pointer(fmt::format("/spaces/{}", s));
    Json overrides = Json::array();
    if (!space.typical.empty())
      if (const Json* own = written(at); own != nullptr && own->is_object())
        for (const auto& [key, value] : own->items()) {
          static constexpr std::array<std::string_view, 8> kOwn = {
              "id", "number", "number_on_door", "name", "storey", "typical", "origin", "notes"};
          if (std::find(kOwn.begin(), kOwn.end(), key) == kOwn.end()) overrides.push_back(key);
        }
    std::size_t count = 0;
    double watts = 0.0;
    if (proposal_ != nullptr)
      for (const domain::Luminaire& luminaire : proposal_->luminaires) {
        if (luminaire.space != space.id || luminaire.status == domain::Status::remove) continue;
        ++count;
        if (const auto* type = domain::find_by_id(project_.luminaire_types, luminaire.type))
          for (const domain::Channel& channel : type->channels) watts += channel.input_w;
      }
    return {{"id", space.id},
            {"number", space.number},
            {"name", space.name},
            {"storey", space.storey},
            {"kind", space.kind},
            {"kind_name", kind_name(space)},
            {"typical", space.typical.empty() ? Json() : Json(space.typical)},
            {"overrides", overrides},
            {"pointer", at},
            {"area_m2", area(space.floor)},
            {"luminaires", count},
            {"connected_w", watts}};
  }

  [[nodiscard]] static double plan_height_m(const Space& space) {
    for (const domain::TaskArea& task : space.task_areas)
      if (task.plane == domain::TaskArea::Plane::horizontal) return task.height_m;
    return 0.0;
  }

  /// A stretch of a wall; both ends at the corner where the wall does not exist.
  struct Stretch {
    Point2 from;
    Point2 to;
    Vector2 inward;
  };
  [[nodiscard]] static Stretch stretch(const Space& space, int wall, double offset_m, double width_m) {
    const auto w = static_cast<std::size_t>(std::max(0, wall));
    if (wall < 0 || w >= space.floor.size()) return {};
    const Point2 a = space.floor[w];
    const Point2 b = space.floor[(w + 1) % space.floor.size()];
    const double along_m = length(b - a);
    if (along_m <= 0.0) return {a, a, {0, 0}};
    const Vector2 along = (1.0 / along_m) * (b - a);
    return {a + offset_m * along, a + (offset_m + width_m) * along, {-along.y, along.x}};
  }

  [[nodiscard]] Json openings(const Space& space, const std::string& path) const {
    Json all = Json::array();
    for (std::size_t i = 0; i < space.openings.size(); ++i) {
      const domain::Opening& o = space.openings[i];
      Stretch on_wall = stretch(space, o.wall, o.offset_m, o.width_m);
      if (o.kind == domain::Opening::Kind::skylight && !o.plan.empty()) {
        const Box2 box = bounds(o.plan);
        on_wall = {box.low, box.high, {0, 0}};
      }
      all.push_back({{"id", o.id},
                     {"pointer", pointer(fmt::format("{}/openings/{}", path, i))},
                     {"kind", word(o.kind)},
                     {"wall", o.wall},
                     {"from", to_json(on_wall.from)},
                     {"to", to_json(on_wall.to)},
                     {"plan", to_json(o.plan)},
                     {"sill_m", o.sill_m},
                     {"height_m", o.height_m},
                     {"shade", o.shade}});
    }
    return all;
  }

  [[nodiscard]] Json doors(const Space& space, const std::string& path) const {
    Json all = Json::array();
    for (std::size_t i = 0; i < space.doors.size(); ++i) {
      const domain::Door& door = space.doors[i];
      const Stretch on_wall = stretch(space, door.wall, door.offset_m, door.width_m);
      // Seen from inside and facing the wall, left is the direction in which the floor's edge runs.
      const bool hinge_first = door.latch == domain::Door::Latch::left;
      const Point2 hinge = hinge_first ? on_wall.from : on_wall.to;
      const Point2 latch = hinge_first ? on_wall.to : on_wall.from;
      const double swing_m = door.swing == domain::Door::Swing::in ? door.width_m : -door.width_m;
      all.push_back({{"id", door.id},
                     {"pointer", pointer(fmt::format("{}/doors/{}", path, i))},
                     {"wall", door.wall},
                     {"from", to_json(on_wall.from)},
                     {"to", to_json(on_wall.to)},
                     {"hinge", to_json(hinge)},
                     {"latch", to_json(latch)},
                     {"tip", to_json(hinge + swing_m * on_wall.inward)},
                     {"height_m", door.height_m},
                     {"leads_to", door.leads_to}});
    }
    return all;
  }

  [[nodiscard]] Json partitions(const Space& space, const std::string& path) const {
    Json all = Json::array();
    for (std::size_t i = 0; i < space.partitions.size(); ++i) {
      const domain::Partition& p = space.partitions[i];
      all.push_back({{"id", p.id},
                     {"pointer", pointer(fmt::format("{}/partitions/{}", path, i))},
                     {"kind", word(p.kind)},
                     {"from", to_json(p.from)},
                     {"to", to_json(p.to)},
                     {"height_m", p.height_m},
                     {"thickness_m", p.thickness_m}});
    }
    return all;
  }

  [[nodiscard]] Json furniture(const Space& space, const std::string& path) const {
    Json all = Json::array();
    for (std::size_t i = 0; i < space.furniture.size(); ++i) {
      const domain::Furniture& f = space.furniture[i];
      all.push_back({{"id", f.id},
                     {"pointer", pointer(fmt::format("{}/furniture/{}", path, i))},
                     {"kind", f.kind},
                     {"plan", to_json(f.plan)},
                     {"bottom_m", f.bottom_m},
                     {"top_m", f.top_m}});
    }
    return all;
  }

  [[nodiscard]] Json task_areas(const Space& space, const std::string& path) const {
    Json all = Json::array();
    for (std::size_t i = 0; i < space.task_areas.size(); ++i) {
      const domain::TaskArea& t = space.task_areas[i];
      all.push_back({{"id", t.id},
                     {"name", named(t.name, t.id)},
                     {"pointer", pointer(fmt::format("{}/task_areas/{}", path, i))},
                     {"plan", to_json(t.plan)},
                     {"plane", word(t.plane)},
                     {"height_m", t.height_m},
                     {"target_lx", t.target_lx}});
    }
    return all;
  }

  [[nodiscard]] Json egress_paths(const Space& space, const std::string& path) const {
    Json all = Json::array();
    for (std::size_t i = 0; i < space.egress_paths.size(); ++i) {
      const domain::EgressPath& e = space.egress_paths[i];
      all.push_back({{"id", e.id},
                     {"pointer", pointer(fmt::format("{}/egress_paths/{}", path, i))},
                     {"centre_line", to_json(Polygon(e.centre_line))},
                     {"width_m", e.width_m}});
    }
    return all;
  }

  /// Ids of the groups of the proposal that a luminaire has a channel in, by strategy.
  [[nodiscard]] Json groups_of(const domain::Luminaire& luminaire) const {
    Json of = Json::object();
    for (const std::string_view strategy : formats::Words<domain::Strategy>::kAll)
      of[std::string(strategy)] = "";
    for (const domain::Group& group : proposal_->groups)
      for (const std::string& entry : group.channels)
        if (entry.substr(0, entry.find('/')) == luminaire.id)
          of[std::string(word(group.strategy))] = group.id;
    return of;
  }

  [[nodiscard]] Json luminaires(const Space& space) const {
    Json all = Json::array();
    if (proposal_ == nullptr) return all;
    for (std::size_t i = 0; i < proposal_->luminaires.size(); ++i) {
      const domain::Luminaire& l = proposal_->luminaires[i];
      if (l.space != space.id) continue;
      all.push_back({{"id", l.id},
                     {"tag", named(l.tag, l.id)},
                     {"pointer", pointer(fmt::format("{}/luminaires/{}", design_path_, i))},
                     {"type", l.type},
                     {"at", to_json(l.at)},
                     {"rotation_deg", l.rotation_deg},
                     {"groups", groups_of(l)},
                     {"lights_egress", l.emergency.lights_egress},
                     {"circuit", l.circuit},
                     {"status", word(l.status)}});
    }
    return all;
  }

  [[nodiscard]] Json luminaire_types() const {
    Json all = Json::array();
    const auto add = [&](const domain::LuminaireType& type) {
      double lumens = 0.0;
      double watts = 0.0;
      Json channels = Json::array();
      for (const domain::Channel& channel : type.channels) {
        lumens += channel.lumens;
        watts += channel.input_w;
        channels.push_back(channel.id);
      }
      all.push_back({{"id", type.id},
                     {"channels", std::move(channels)},
                     {"tag", named(type.tag, type.id)},
                     {"name", named(type.name, type.id)},
                     {"lumens", lumens},
                     {"input_w", watts},
                     {"length_m", type.length_m},
                     {"width_m", type.width_m},
                     {"shape", word(type.shape)}});
    };
    for (const domain::LuminaireType& type : project_.luminaire_types) add(type);
    for (const domain::LuminaireType& type : files_.library->luminaire_types)
      if (domain::find_by_id(project_.luminaire_types, type.id) == nullptr) add(type);
    return all;
  }

  [[nodiscard]] Json groups(const Space& space) const {
    Json all = Json::array();
    if (proposal_ == nullptr) return all;
    for (std::size_t i = 0; i < proposal_->groups.size(); ++i) {
      const domain::Group& g = proposal_->groups[i];
      if (g.space != space.id) continue;
      all.push_back({{"id", g.id},
                     {"pointer", pointer(fmt::format("{}/groups/{}", design_path_, i))},
                     {"strategy", word(g.strategy)},
                     {"name", named(g.name, g.id)},
                     {"channels", g.channels}});
    }
    return all;
  }

  /// A kind of device in words; empty where neither the project nor the library has it.
  [[nodiscard]] std::string type_name(const std::string& device_kind) const {
    const domain::DeviceKind* kind = choose::device_kind_of(project_, *files_.library, device_kind);
    return kind == nullptr ? "" : kind->name;
  }

  template <class Devices, class More>
  void add_devices(const Space& space, const Devices& devices, const char* kind, const char* key,
                   const More& more, Json& all) const {
    for (std::size_t i = 0; i < devices.size(); ++i) {
      const auto& d = devices[i];
      if (d.space != space.id) continue;
      Json one = {{"id", d.id},
                  {"tag", named(d.tag, d.id)},
                  {"pointer", pointer(fmt::format("{}/{}/{}", design_path_, key, i))},
                  {"kind", kind},
                  {"type", type_name(d.device_kind)},
                  {"at", to_json(d.at)},
                  {"status", word(d.status)},
                  {"link", word(d.link)},
                  {"groups", Json::array()}};
      more(d, one);
      all.push_back(std::move(one));
    }
  }

  [[nodiscard]] Json devices(const Space& space) const {
    Json all = Json::array();
    if (proposal_ == nullptr) return all;
    const auto nothing = [](const auto&, Json&) {};
    const auto its_groups = [](const auto& device, Json& one) { one["groups"] = device.groups; };
    const auto coverage = [](const domain::OccupancySensor& sensor, Json& one) {
      one["groups"] = sensor.groups;
      one["coverage"] = {{"shape", word(sensor.coverage)},
                         {"major_radius_m", sensing::reach_m(sensor, sensing::Motion::major)},
                         {"minor_radius_m", sensing::reach_m(sensor, sensing::Motion::minor)},
                         {"aim_deg", sensor.aim_deg},
                         {"sector_deg", sensor.sector_deg},
                         {"strip_width_m", sensor.strip_width_m}};
    };
    add_devices(space, proposal_->occupancy_sensors, "occupancy_sensor", "occupancy_sensors", coverage, all);
    add_devices(space, proposal_->photosensors, "photosensor", "photosensors", its_groups, all);
    add_devices(space, proposal_->stations, "station", "stations", nothing, all);
    add_devices(space, proposal_->load_controllers, "load_controller", "load_controllers", its_groups, all);
    add_devices(space, proposal_->time_clocks, "time_clock", "time_clocks", nothing, all);
    add_devices(space, proposal_->interfaces, "interface", "interfaces", nothing, all);
    add_devices(space, proposal_->infrastructure, "infrastructure", "infrastructure", nothing, all);
    return all;
  }

  /// By the energy code that the project names; without one, one and two head heights deep.
  [[nodiscard]] Json daylight_zones(const Space& space) const {
    static constexpr std::array<const char*, 3> kKinds = {"primary", "secondary", "toplit"};
    const domain::DaylightZoneRule* adopted = codes::adopted_zone_rule(project_, files_.code_rules);
    const Design nothing;
    Json all = Json::array();
    for (const results::DaylightZone& zone :
         codes::daylight_zones(project_, proposal_ == nullptr ? nothing : *proposal_, space,
                               adopted == nullptr ? domain::DaylightZoneRule{} : *adopted)) {
      Json outline = Json::array();
      for (const Polygon& piece : zone.outline) outline.push_back(to_json(piece));
      all.push_back({{"id", zone.id},
                     {"kind", kKinds[static_cast<std::size_t>(zone.kind)]},
                     {"outline", outline},
                     {"depth_m", zone.depth_m},
                     {"area_m2", zone.area_m2}});
    }
    return all;
  }

  /// The parts of the room's controls that the proposal has anything of.
  [[nodiscard]] Json decided(const Space& space) const {
    Json all = Json::array();
    if (proposal_ != nullptr)
      for (const choose::Part part : choose::decided_parts(project_, *proposal_, space.id))
        all.push_back(choose::name_of(part));
    return all;
  }

  [[nodiscard]] Json circuits() const {
    Json all = Json::array();
    if (proposal_ == nullptr) return all;
    for (const domain::Circuit& c : proposal_->circuits)
      all.push_back({{"id", c.id},
                     {"panel", c.panel},
                     {"breaker", c.breaker},
                     {"switch_leg", c.switch_leg},
                     {"supply", word(c.supply)}});
    return all;
  }

  [[nodiscard]] Json scenes(const Space& space) const {
    Json all = Json::array();
    if (proposal_ == nullptr) return all;
    for (std::size_t i = 0; i < proposal_->scenes.size(); ++i) {
      const domain::Scene& scene = proposal_->scenes[i];
      if (scene.space != space.id) continue;
      const std::string at = pointer(fmt::format("{}/scenes/{}", design_path_, i));
      Json levels = Json::array();
      for (std::size_t k = 0; k < scene.levels.size(); ++k)
        levels.push_back({{"group", scene.levels[k].group},
                          {"level", scene.levels[k].level},
                          {"pointer", fmt::format("{}/levels/{}/level", at, k)}});
      Json targets = Json::array();
      for (std::size_t k = 0; k < scene.targets.size(); ++k) {
        const domain::SceneTarget& target = scene.targets[k];
        const domain::TaskArea* task = domain::find_by_id(space.task_areas, target.task_area);
        const auto or_null = [](const std::optional<double>& value) { return value ? Json(*value) : Json(); };
        targets.push_back({{"task_area", target.task_area},
                           {"name", task == nullptr ? target.task_area : named(task->name, task->id)},
                           {"least_lx", or_null(target.least_lx)},
                           {"most_lx", or_null(target.most_lx)},
                           {"uniformity", or_null(target.uniformity)},
                           {"contrast", or_null(target.contrast)},
                           {"pointer", fmt::format("{}/targets/{}", at, k)}});
      }
      all.push_back({{"id", scene.id},
                     {"pointer", at},
                     {"name", named(scene.name, scene.id)},
                     {"levels", levels},
                     {"shades", word(scene.shades)},
                     {"follows_daylight", scene.follows_daylight},
                     {"in_demand_response", scene.in_demand_response},
                     {"called_by", scene.called_by},
                     {"targets", targets}});
    }
    return all;
  }

  [[nodiscard]] Json phrases(const std::vector<wording::Phrase>& sentence) const {
    Json all = Json::array();
    for (const wording::Phrase& phrase : sentence) {
      Json one = {{"text", phrase.text}};
      if (phrase.is_value()) one["pointer"] = pointer(phrase.pointer);
      all.push_back(std::move(one));
    }
    return all;
  }

  [[nodiscard]] Json sequence_json(const domain::Sequence& sequence) const {
    const auto index = static_cast<std::size_t>(&sequence - proposal_->sequences.data());
    const wording::SequenceMatrix matrix = wording::sequence_matrix(project_, *proposal_, sequence);
    Json rows = Json::array();
    for (const wording::SequenceMatrix::Row& one : matrix.rows) {
      Json cells = Json::array();
      for (const wording::Sentence& cell : one.cells) cells.push_back(phrases(cell));
      rows.push_back({{"event", phrases(one.event)}, {"cells", cells}});
    }
    return {{"pointer", pointer(fmt::format("{}/sequences/{}", design_path_, index))},
            {"sentence", phrases(wording::sequence_sentence(project_, *proposal_, sequence))},
            {"matrix", {{"groups", matrix.groups}, {"rows", rows}}}};
  }

  [[nodiscard]] Diagnostics diagnostics_in(const std::string& at) const {
    Diagnostics of;
    for (const Diagnostic& d : files_.diagnostics)
      if (d.where == at || d.where.starts_with(at + "/")) of.push_back(d);
    return of;
  }

  const projects::ProjectFiles& files_;
  const Project& project_;
  const Design* proposal_ = nullptr;
  std::string design_path_;
  Json document_;
};

}  // namespace

Json building_json(const projects::ProjectFiles& files) { return Drawing(files).building(); }

Json room_json(const projects::ProjectFiles& files, std::size_t space) { return Drawing(files).room(space); }

}  // namespace halflight::service
