#include "formats/field_reader.hpp"

#include <cctype>
#include <cmath>

namespace halflight::formats {

// ---------------------------------------------------------------------------------------------------------
// ReaderState

void ReaderState::add(Diagnostic::Severity severity, const std::string& where, std::string problem,
                      std::string remedy) {
  // Each severity has its own bound: many things that are missing must not hide an error.
  if (is_full(severity)) {
    ++unsaid_;
    return;
  }
  std::string key = fmt::format("{}|{}|{}", static_cast<int>(severity), where, problem);
  if (said_.insert(std::move(key)).second) {
    ++said_of_severity_[static_cast<std::size_t>(severity)];
    diagnostics_.push_back({severity, file_, where, std::move(problem), std::move(remedy)});
  }
}

void ReaderState::report(std::string problem, std::string remedy) {
  add(Diagnostic::Severity::error, pointer, std::move(problem), std::move(remedy));
}

Diagnostics ReaderState::take_diagnostics() {
  if (unsaid_ > 0)
    diagnostics_.push_back({Diagnostic::Severity::error, file_, "", fmt::format("{} more messages", unsaid_),
                            "mend these first"});
  return std::move(diagnostics_);
}

bool ReaderState::may_inherit(const JsonNode& value, const std::string& where) {
  const auto weight_of = [](const JsonNode& node, const auto& self) -> std::size_t {
    std::size_t weight = node.kind == JsonNode::Kind::object ? 10 : 1;
    for (const JsonNode& child : node.children) weight += self(child, self);
    return weight;
  };
  if (inherited_ <= kMostInherited) inherited_ += weight_of(value, weight_of);
  if (inherited_ <= kMostInherited) return true;
  add(Diagnostic::Severity::error, where, "typicals give more than a project may have",
      "divide the building into several projects");
  return false;
}

std::string ReaderState::scope_key(Scope scope) const {
  switch (scope) {
    case Scope::project:
      return "";
    case Scope::design:
      return design_scope_;
    case Scope::space:
      return space_scope_;
    case Scope::type:
      return type_scope_;
  }
  return "";
}

void ReaderState::identify(Thing thing, std::string& id) {
  if (partial_) return;
  if (collecting_) {
    local_ids_.emplace(thing, id);
    return;
  }
  if (local_ && scope_of(thing) == Scope::design) id = local_space_ + "." + id;
  const std::string first = register_id(thing, id, pointer);
  if (first != pointer)
    report(fmt::format("the id {} already names the {} at {}", json_string(id), noun_of(thing), first),
           "give each its own id");
}

std::string ReaderState::register_id(Thing thing, const std::string& id, const std::string& where) {
  return ids_[{thing, scope_key(scope_of(thing))}].emplace(id, where).first->second;
}

void ReaderState::refer(Thing thing, std::string& id) {
  if (collecting_) return;
  if (local_ && local_ids_.contains({thing, id})) id = local_space_ + "." + id;
  uses_.push_back({thing, scope_key(scope_of(thing)), id, pointer});
}

void ReaderState::take_default(const std::string& where, std::string text, std::string_view source) {
  if (collecting_ || text.empty() || !defaulted_.insert(where).second) return;
  if (text.size() >= 2 && text.front() == '"') text = text.substr(1, text.size() - 2);
  defaults_.push_back({where, std::move(text), std::string(source), typical_});
}

void ReaderState::report_unknown_keys(const JsonNode& node, const std::string& where,
                                      const std::vector<std::string_view>& known) {
  for (const JsonNode::Key& key : node.keys) {
    if (std::find(known.begin(), known.end(), key.name) != known.end()) continue;
    if (is_full(Diagnostic::Severity::error)) {
      ++unsaid_;
      continue;
    }
    const std::vector<std::string> words(known.begin(), known.end());
    const std::vector<std::string> nearest = nearest_words(key.name, words, 1);
    std::string list;
    for (const std::string_view word : known) list += (list.empty() ? "" : ", ") + std::string(word);
    add(Diagnostic::Severity::error, where + "/" + pointer_step(key.name),
        fmt::format("{} is no key that may stand here", json_string(key.name.substr(0, 60))),
        nearest.empty() ? "the keys here are " + list
                        : fmt::format("did you mean {}?", json_string(nearest[0])));
  }
}

void ReaderState::resolve_references() {
  const auto library_ids = [&](Thing thing) {
    std::vector<std::string> ids;
    if (library_ == nullptr) return ids;
    if (thing == Thing::kind)
      for (const auto& kind : library_->kinds) ids.push_back(kind.id);
    if (thing == Thing::driver)
      for (const auto& driver : library_->drivers) ids.push_back(driver.id);
    if (thing == Thing::luminaire_type)
      for (const auto& type : library_->luminaire_types) ids.push_back(type.id);
    if (thing == Thing::device_kind)
      for (const auto& kind : library_->device_kinds) ids.push_back(kind.id);
    if (thing == Thing::electrical_rules)
      for (const auto& rules : library_->electrical_rules) ids.push_back(rules.id);
    return ids;
  };
  for (const Use& use : uses_) {
    const auto own = ids_.find({use.thing, use.scope});
    if (own != ids_.end() && own->second.contains(use.id)) continue;
    std::vector<std::string> known = library_ids(use.thing);
    if (std::find(known.begin(), known.end(), use.id) != known.end()) continue;
    if (is_full(Diagnostic::Severity::error)) {
      ++unsaid_;
      continue;
    }
    if (own != ids_.end())
      for (const auto& [id, where] : own->second) known.push_back(id);
    std::string remedy = "none is defined yet; add it or leave the reference out";
    if (!known.empty()) {
      constexpr std::size_t kShown = 8;
      std::vector<std::string> nearest = nearest_words(use.id, known, 1);
      std::string list;
      for (std::size_t i = 0; i < std::min(known.size(), kShown); ++i)
        list += (list.empty() ? "" : ", ") + json_string(known[i]);
      if (known.size() > kShown) list += fmt::format(" and {} more", known.size() - kShown);
      remedy = nearest.empty()
                   ? "known here: " + list
                   : fmt::format("did you mean {}? Known here: {}", json_string(nearest[0]), list);
    }
    add(Diagnostic::Severity::error, use.pointer,
        fmt::format("there is no {} {}", noun_of(use.thing), json_string(use.id.substr(0, 80))),
        std::move(remedy));
  }
}

// ---------------------------------------------------------------------------------------------------------
// FieldReader

void FieldReader::read(const JsonNode& root, ProjectFile& file) { read_root(root, file); }
void FieldReader::read(const JsonNode& root, LibraryFile& file) { read_root(root, file); }

std::string FieldReader::lower_first(std::string_view doc) {
  // The line that explains a key says what to give: "North positive." -> "north positive".
  std::string text(doc);
  const bool acronym = text.size() > 1 && std::isupper(static_cast<unsigned char>(text[1])) != 0;
  if (!text.empty() && !acronym)
    text[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(text[0])));
  if (text.ends_with('.')) text.pop_back();
  return "give it: " + text;
}

std::string FieldReader::source_of(const Basis& basis) const {
  if (kind_ == nullptr || basis.part == Basis::Part::field) return std::string(basis.source);
  const std::string& source = basis.part == Basis::Part::target         ? kind_->target_source
                              : basis.part == Basis::Part::reflectances ? kind_->reflectances_source
                              : basis.part == Basis::Part::occupancy    ? kind_->occupancy_source
                              : basis.part == Basis::Part::plugs        ? kind_->plug_devices_source
                                                                        : kind_->name;
  return fmt::format("kind of space {}: {}", json_string(kind_->id), source);
}

void FieldReader::kind_chosen(domain::Space& space) {
  kind_ = library_ == nullptr ? nullptr : domain::find_by_id(library_->kinds, space.kind);
  if (kind_ != nullptr) {
    space.reflectances = kind_->reflectances;
    space.occupancy = kind_->occupancy;
    space.plug_loads.devices = kind_->plug_devices;
    space.automatic_off_refused = kind_->automatic_off_refused;
  }
  if (project_ != nullptr && !project_->calendars.empty())
    space.occupancy.calendar = project_->calendars.front().id;
}

void FieldReader::plug_loads_done(domain::Space& space) {
  const auto loads_of = [](const JsonNode* node) {
    return node == nullptr ? nullptr : node->find("plug_loads");
  };
  const JsonNode* loads = loads_of(frame_->node);
  if (loads == nullptr) loads = loads_of(frame_->under);
  if (loads != nullptr && loads->find("devices") != nullptr) return;
  std::vector<domain::PlugDevice>& devices = space.plug_loads.devices;
  if (loads != nullptr && loads->find("installed") != nullptr) devices.clear();
  if (devices.empty() || kind_ == nullptr) return;
  std::string text;
  const bool has_seats = domain::has_own_seats(space.occupancy);
  for (domain::PlugDevice& device : devices) {
    if (device.at_seats && !has_seats) device.at_seats = false;
    if (device.at_seats) device.count = static_cast<int>(std::ceil(space.occupancy.people));
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", device.count, device.kind);
  }
  std::erase_if(devices, [](const domain::PlugDevice& device) { return device.count == 0; });
  take_default(frame_->pointer + "/plug_loads/devices", std::move(text), source_of(kKindPlugs));
}

void FieldReader::bookings_done(domain::Space& space) {
  domain::Occupancy& occupancy = space.occupancy;
  for (const JsonNode* node : {frame_->node, frame_->under}) {
    const JsonNode* own = node == nullptr ? nullptr : node->find("occupancy");
    if (own == nullptr) continue;
    if (own->find("divided_fraction") != nullptr) return;
    break;  // an inherited occupancy counts only where the space has none of its own
  }
  const bool can_divide =
      occupancy.pattern == domain::Occupancy::Pattern::bookings && domain::dividing_wall(space) != nullptr;
  if (!can_divide) occupancy.divided_fraction = 0.0;
  if (can_divide)
    take_default(frame_->pointer + "/occupancy/divided_fraction", Fraction{}.text(occupancy.divided_fraction),
                 source_of(kKindOccupancy));
}

void FieldReader::space_done(domain::Space& space) {
  if (!partial_) plug_loads_done(space);
  if (!partial_) bookings_done(space);
  if (partial_ || space.floor.empty()) return;
  const bool lists_task_areas = (frame_->node != nullptr && frame_->node->find("task_areas") != nullptr) ||
                                (frame_->under != nullptr && frame_->under->find("task_areas") != nullptr);
  if (signed_area(space.floor) < 0.0) {
    // Walls keep the numbers of the document in the document; here they follow the turned outline.
    const int walls = static_cast<int>(space.floor.size());
    const auto turn = [&](int& wall, double& along_m, double width_m) {
      if (wall >= walls) return;
      const Point2 from = space.floor[static_cast<std::size_t>(wall)];
      const Point2 to = space.floor[static_cast<std::size_t>((wall + 1) % walls)];
      along_m = length(to - from) - along_m - width_m;
      wall = (2 * walls - 2 - wall) % walls;
    };
    for (domain::Opening& opening : space.openings)
      if (opening.kind != domain::Opening::Kind::skylight)
        turn(opening.wall, opening.offset_m, opening.width_m);
    for (domain::Door& door : space.doors) turn(door.wall, door.offset_m, door.width_m);
    space.floor = reversed(space.floor);
    if (!space.openings.empty() || !space.doors.empty())
      add(Diagnostic::Severity::warning, frame_->pointer + "/floor",
          "the floor runs clockwise; walls are numbered as it is drawn here, and the other way round in "
          "results",
          "list the vertices counter-clockwise");
  }
  if (!lists_task_areas && kind_ != nullptr) {
    domain::TaskArea whole;
    whole.id = "whole";
    whole.name = "whole floor";
    whole.plan = space.floor;
    whole.height_m = kind_->task_height_m;
    whole.target_lx = kind_->target_lx;
    whole.uniformity = kind_->uniformity;
    const std::string where = frame_->pointer + "/task_areas";
    register_id(Thing::task_area, whole.id, where);
    take_default(where,
                 fmt::format("the whole floor, {} lx at {} m", json_number(whole.target_lx),
                             json_number(whole.height_m)),
                 source_of(kKindTarget));
    space.task_areas.push_back(std::move(whole));
  }
}

void FieldReader::read_item(const Found& found, std::string path, domain::Space& space) {
  Frame frame{found.node, found.pointer, path};
  const auto text_of = [&](std::string_view key) {
    const JsonNode* node = found.node->find(key);
    return node != nullptr && node->kind == JsonNode::Kind::string ? node->text : std::string();
  };
  typical_ = text_of("typical");
  space_scope_ = text_of("id");
  const auto source = typical_sources_.find(typical_);
  if (source != typical_sources_.end()) {
    frame.under = source->second.space;
    frame.under_pointer = source->second.pointer;
    Point2 origin;
    const JsonNode* own_origin = found.node->find("origin");
    const JsonNode* own_floor = found.node->find("floor");
    pointer = found.pointer + "/origin";
    if (own_floor != nullptr) {
      // Its mistakes are reported when the floor itself is read.
      pointer = found.pointer + "/floor";
      std::vector<Point2> floor;
      if (Vertices{}.read(*own_floor, floor, *this)) origin = bounds(floor).low;
    } else if (own_origin != nullptr) {
      Place2{}.read(*own_origin, origin, *this);
    } else if (frame.under->find("floor") != nullptr) {
      add(Diagnostic::Severity::missing, pointer, "the floor is inherited, but nothing says where it lies",
          "give \"origin\": [x, y], the place of the typical's [0, 0]");
    }
    frame.under_offset_m = origin;
    for (domain::Typical& typical : project_->typicals)
      if (typical.id == typical_) typical.spaces.push_back(space_scope_);
  }
  if (path != found.pointer) origins_[path] = found.pointer;
  read_object(std::move(frame), space);
  kind_ = nullptr;
  typical_.clear();
  space_scope_.clear();
}

void FieldReader::read_item(const Found& found, std::string path, domain::TaskArea& area) {
  const JsonNode* plane = found.node->find("plane");
  if (plane != nullptr && plane->text == Word<domain::TaskArea::Plane>::all()[1])
    area.height_m = 1.2;
  else if (kind_ != nullptr)
    area.height_m = kind_->task_height_m;
  if (kind_ != nullptr) {
    area.target_lx = kind_->target_lx;
    area.uniformity = kind_->uniformity;
  }
  read_found(found, std::move(path), area);
}

void FieldReader::read_item(const Found& found, std::string path, domain::LuminaireType& type) {
  type_scope_ = found.pointer;
  read_found(found, std::move(path), type);
}

void FieldReader::read_blocks(const Found& design) {
  const JsonNode* list = design.node->find("typicals");
  if (list == nullptr) return;
  const std::string list_pointer = design.pointer + "/typicals";
  std::vector<TypicalBlock> sketches;
  if (list->kind != JsonNode::Kind::array) {
    read_items({list, list_pointer, {}}, list_pointer, sketches);  // says that a list is expected
    return;
  }
  for (std::size_t i = 0; i < list->children.size(); ++i) {
    const JsonNode& node = list->children[i];
    Block block{&node, list_pointer + "/" + std::to_string(i), "", {}};
    if (!is_object(node, block.pointer)) continue;
    local_ = true;
    collecting_ = true;
    local_ids_.clear();
    TypicalBlock sketch;
    read_object({&node, block.pointer, block.pointer}, sketch);
    block.ids = std::move(local_ids_);
    local_ids_.clear();
    local_ = false;
    collecting_ = false;
    block.typical = sketch.typical;
    pointer = block.pointer + "/typical";
    if (!block.typical.empty()) refer(Thing::typical, block.typical);
    blocks_.push_back(std::move(block));
  }
}

void FieldReader::read_item(const Found& found, std::string path, domain::Design& design) {
  design_scope_ = found.pointer;
  read_blocks(found);
  if (path != found.pointer) origins_[path] = found.pointer;
  Frame frame{found.node, found.pointer, std::move(path)};
  Frame* const outer = std::exchange(frame_, &frame);
  design_frame_ = &frame;
  describe(*this, design);
  design_frame_ = nullptr;
  report_unknown_keys(*frame.node, frame.pointer, frame.known);
  frame_ = outer;
  blocks_.clear();
  design_scope_.clear();
  space_scope_.clear();
}

}  // namespace halflight::formats
